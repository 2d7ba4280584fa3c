//! What was decided in a trade study: an option of each name.

use crate::findings::codes;
use crate::model::{Form, Node, Varied};
use crate::quantities::read_literal;
use crate::source::Span;
use crate::words::{Words, words};

/// The number of the option of each name. `None` where nothing is chosen, and after a finding.
pub(super) fn read(form: &mut Form<'_, '_>, varied: &[Varied]) -> Option<(Vec<usize>, Span)> {
    let node = form.take("chosen")?;
    let one = [node.clone()];
    let items: &[Node] = node.items().unwrap_or(&one);
    let mut options: Vec<Option<usize>> = vec![None; varied.len()];
    for (key, value) in items.iter().flat_map(|item| item.entries().unwrap_or_default()) {
        let Some((name, option)) = key.text().zip(text(value)) else {
            form.wrong_shape("chosen", value, "an option");
            return None;
        };
        let Some(at) = varied.iter().position(|varied| varied.name == name) else {
            let message = words!("`{}` is not varied", name);
            let help = words!("varied are {}", Words::names(varied.iter().map(|one| one.name.as_str())));
            form.report(&codes::BAD_VALUE, key.span, message, help);
            return None;
        };
        let found = varied[at].labels.iter().position(|label| is_option(label, &option));
        if found.is_none() {
            let labels = Words::names(varied[at].labels.iter().take(SHOWN).map(String::as_str));
            let message = words!("`{}` is no option of `{}`", option, name);
            form.report(&codes::BAD_VALUE, value.span, message, words!("the options begin with {}", labels));
            return None;
        }
        options[at] = found;
    }
    let left: Vec<&str> =
        varied.iter().zip(&options).filter(|(_, option)| option.is_none()).map(name).collect();
    if !left.is_empty() {
        let message = words!("no option is chosen for {}", Words::names(left.iter().copied()));
        form.report(&codes::BAD_VALUE, node.span, message, "type one for each name: `chosen: [motor: m2]`");
        return None;
    }
    Some((options.into_iter().flatten().collect(), node.span))
}

/// How many options are named where none fits.
const SHOWN: usize = 8;

fn name<'v>((varied, _): (&'v Varied, &Option<usize>)) -> &'v str {
    &varied.name
}

/// An option of several inputs is a list, as in `to`.
fn text(value: &Node) -> Option<String> {
    match value.items() {
        Some(items) => {
            let texts: Option<Vec<&str>> = items.iter().map(|item| item.text().map(str::trim)).collect();
            texts.map(|texts| texts.join(" / "))
        }
        None => value.text().map(|text| text.trim().to_owned()),
    }
}

/// The same text, or the same number.
fn is_option(label: &str, option: &str) -> bool {
    let same = || {
        let (one, other) = (read_literal(label).ok()?.quantity, read_literal(option).ok()?.quantity);
        let near = (one.si - other.si).abs() <= 1e-9 * one.si.abs();
        Some(one.dimension.same(other.dimension) && near)
    };
    label == option || same().unwrap_or(false)
}
