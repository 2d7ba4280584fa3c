//! What a trade study varies: inputs, and the options of each.

use crate::blocks::shared::lists::plain_text;
use crate::findings::codes;
use crate::model::{Form, Input, Node, Varied};
use crate::quantities::{Literal, Unit, read_literal};
use crate::words::words;

/// Most options of one name.
const MOST: f64 = 1_000_000.0;

/// An item of `vary`, before its result has a place.
pub(super) struct Read {
    inputs: Vec<Input>,
    to: Vec<Vec<String>>,
    labels: Vec<String>,
    pub(super) numbers: Option<(Vec<f64>, Unit)>,
}

impl Read {
    pub(super) fn varied(self, name: String, best: usize) -> Varied {
        let Read { inputs, to, labels, numbers } = self;
        Varied { name, inputs, to, labels, numbers, best }
    }
}

/// `None` after a finding.
pub(super) fn read(form: &mut Form<'_, '_>) -> Option<Read> {
    let place = form.place_of("to");
    let (set, node) = (read_set(form), form.take("to"));
    let (set, node) = (set?, node?);
    let options = match (node.items(), node.entries()) {
        (Some(items), _) => options(form, items, &set)?,
        (None, Some(_)) => {
            let texts = form.group("to", steps)??;
            texts
                .into_iter()
                .map(|text| (set.iter().map(|(_, field)| typed(&text, field)).collect(), text))
                .collect()
        }
        _ => {
            form.wrong_shape("to", &node, "a list of options, or `{from: …, to: …, step: …}`");
            return None;
        }
    };
    let (to, labels): (Vec<Vec<String>>, Vec<String>) = options.into_iter().unzip();
    let inputs = set.into_iter().map(|(input, _)| input).collect();
    if to.is_empty() {
        let help = "type what is to be tried: `to: [m1, m2]`";
        form.report(&codes::BAD_VALUE, place, "nothing to choose from", help);
        return None;
    }
    let numbers = numbers(&to);
    Some(Read { inputs, to, labels, numbers })
}

/// The inputs, each with the field of the part that it takes where it takes one: `{buy.weeks: lead_time}`.
fn read_set(form: &mut Form<'_, '_>) -> Option<Vec<(Input, Option<String>)>> {
    let node = form.take("set")?;
    let one = [node.clone()];
    let items: &[Node] = node.items().unwrap_or(&one);
    let mut inputs = Vec::new();
    for item in items {
        let (name, field) = match item.entries() {
            Some([(name, field)]) => (name, Some(field)),
            _ => (item, None),
        };
        let plain = |node: &Node| Some(node.text()?.trim().to_owned()).filter(|text| !text.is_empty());
        let (Some(set), Some(field)) = (plain(name), field.map_or(Some(None), |node| plain(node).map(Some)))
        else {
            form.wrong_shape("set", item, "the full name of an input");
            return None;
        };
        inputs.push((Input { set, span: name.span }, field));
    }
    if inputs.is_empty() {
        form.report(&codes::BAD_VALUE, node.span, "no input is named", "type `set: drive.motor`");
        return None;
    }
    Some(inputs)
}

/// What an option puts into an input: itself, or a field of the part that it names.
fn typed(option: &str, field: &Option<String>) -> String {
    match field {
        Some(field) => format!("from {option}.{field}"),
        None => option.to_owned(),
    }
}

/// Each option as it is typed in each input, and as it is called. Of several inputs it is one text for all, or a list
/// with one for each.
fn options(
    form: &mut Form<'_, '_>,
    items: &[Node],
    set: &[(Input, Option<String>)],
) -> Option<Vec<(Vec<String>, String)>> {
    let mut options = Vec::new();
    for item in items {
        let texts: Vec<Option<&str>> = match item.items() {
            Some(each) => each.iter().map(Node::text).collect(),
            None => vec![item.text(); set.len()],
        };
        if texts.len() != set.len() {
            let message = words!("{} values for {} inputs", texts.len(), set.len());
            form.report(&codes::BAD_VALUE, item.span, message, "type one for each input, in their order");
            return None;
        }
        let plain = |text: Option<&str>| Some(text?.trim().to_owned()).filter(|text| !text.is_empty());
        let Some(texts) = texts.into_iter().map(plain).collect::<Option<Vec<String>>>() else {
            form.wrong_shape("to", item, "a part, a number or a quantity");
            return None;
        };
        let label = if item.items().is_some() { texts.join(" / ") } else { texts[0].clone() };
        options.push((texts.iter().zip(set).map(|(text, (_, field))| typed(text, field)).collect(), label));
    }
    Some(options)
}

/// `{from: 80, to: 120, step: 4}` as texts.
fn steps(form: &mut Form<'_, '_>) -> Option<Vec<String>> {
    let mut ends: Vec<Literal> = Vec::new();
    for key in ["from", "to", "step"] {
        let (text, span) = plain_text(form, key)?;
        match read_literal(&text) {
            Ok(literal) => ends.push(literal),
            Err(fault) => {
                form.report(fault.code, span, fault.message, fault.help);
                return None;
            }
        }
    }
    let [from, to, step] = ends.as_slice() else { return None };
    let place = form.place;
    for other in [to, step] {
        if !other.unit.dimension.same(from.unit.dimension) {
            let help = "type the three in one unit";
            form.report(&codes::UNIT_MISMATCH, place, "values of different kinds in one range", help);
            return None;
        }
    }
    // A step between two temperatures is none of them.
    let width = step.unit.value_of(step.quantity.si) * step.unit.factor;
    let count = ((to.quantity.si - from.quantity.si) / width + 1e-9).floor() + 1.0;
    if !(1.0..=MOST).contains(&count) {
        let message = words!("a range of {} values", if count.is_finite() { count.max(0.0) } else { 0.0 });
        let help = words!("let the steps lead from one end to the other, in {} at most", MOST);
        form.report(&codes::BAD_VALUE, place, message, help);
        return None;
    }
    let unit = &from.unit;
    let finest = [from, step].iter().filter_map(|end| end.digit_si).fold(f64::INFINITY, f64::min);
    let places = (-(finest / unit.factor).log10()).round().clamp(0.0, 9.0) as usize;
    let text = |step: usize| {
        let value = unit.value_of(from.quantity.si + width * step as f64);
        // Without what adding leaves in the last digits, but as fine as the range is typed: `2.0` among `1.8` and `2.2`.
        let digits = format!("{value:.9}");
        let digits = digits.trim_end_matches('0').trim_end_matches('.').to_owned();
        let decimals = digits.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        let digits = if decimals < places { format!("{value:.places$}") } else { digits };
        if unit.is_one() { digits } else { format!("{digits} {}", unit.symbol) }
    };
    Some((0..count as usize).map(text).collect())
}

/// The options as numbers, where all of them are of one input, and one dimension.
fn numbers(to: &[Vec<String>]) -> Option<(Vec<f64>, Unit)> {
    let read = |texts: &Vec<String>| {
        read_literal(texts.first()?).ok().filter(|_| texts.iter().all(|text| *text == texts[0]))
    };
    let literals: Vec<Literal> = to.iter().map(read).collect::<Option<_>>()?;
    let unit = literals.first()?.unit.clone();
    let same = literals.iter().all(|literal| literal.unit.dimension.same(unit.dimension));
    same.then(|| (literals.iter().map(|literal| literal.quantity.si).collect(), unit))
}
