//! What a block was given: words, single values, and the items of its lists, each with how it is known.

use super::super::piece::{Align, Face, Item, Piece, Rich, Row, Table};
use super::item;
use super::rich::{self, column};
use crate::model::{Purpose, capital, in_words};
use crate::report::{BlockReport, InputRow, spaced};

/// What a block was given in words, in one line. An item's own words stand there only where the names of its values
/// don't show them.
pub(super) fn words(report: &BlockReport) -> Rich {
    let mut line = Vec::new();
    let said = format!("{}{}", report.sentence.0.bare(), report.sentence.1.bare());
    for input in report.inputs.iter().filter(|input| input.text && !told_elsewhere(input)) {
        let names_an_item = input.name.ends_with(".name") || input.name.ends_with(".item");
        // Its table names it.
        let listed = || report.inputs.iter().any(|other| !other.text && other.item == input.item);
        if names_an_item && input.item.as_ref() == Some(&input.shown) && listed() {
            continue;
        }
        // Nor is said again what the sentence says.
        if says(&said, &input.shown) {
            continue;
        }
        if !line.is_empty() {
            line.push(rich::text("; ", Face::Quiet));
        }
        // An answer is known by its subject.
        let answer = matches!(input.purpose, Some(Purpose::Answer | Purpose::AnswerReason));
        let label = match item_of(&input.name) {
            Some((_, subject, _)) if answer => subject.replace('_', " "),
            _ => spaced(&input.label),
        };
        // What is called by its own name is named once.
        let itself =
            label == spaced(&input.shown) || (names_an_item && input.item.as_ref() == Some(&input.shown));
        line.extend((!itself).then(|| rich::text(format!("{label} "), Face::Quiet)));
        // A file, a block, a word that is typed with a line.
        let named = input.shown.contains('_').then(|| rich::name(&input.shown));
        line.push(named.unwrap_or_else(|| rich::text(input.shown.clone(), Face::Plain)));
    }
    Rich(line)
}

/// Whether the words stand in a text, whole.
fn says(text: &str, words: &str) -> bool {
    let inside = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
    words.len() >= TOLD_FROM
        && text.match_indices(words).any(|(at, _)| {
            !inside(text[..at].chars().next_back()) && !inside(text[at + words.len()..].chars().next())
        })
}

/// Shorter words than this may stand in a sentence by chance.
const TOLD_FROM: usize = 4;

/// The answers to an inspection stand subject by subject in a chapter of their own: here is what explains them.
fn told_elsewhere(input: &InputRow) -> bool {
    input.purpose == Some(Purpose::Answer)
}

/// The values as a table, and a table for each list.
pub(super) fn inputs(report: &BlockReport) -> Vec<Item> {
    let values = report.inputs.iter().filter(|input| !input.text);
    let mut items = Vec::new();
    let (listed, single): (Vec<&InputRow>, Vec<&InputRow>) =
        values.partition(|input| item_of(&input.name).is_some());
    let (taken, own): (Vec<&InputRow>, Vec<&InputRow>) =
        single.into_iter().partition(|input| input.from.as_ref().is_some_and(|from| from.label.is_some()));
    let table = |inputs: Vec<&InputRow>| Table {
        columns: vec![column("Given", Align::Left, 5), column("Value", Align::Decimal, 5)],
        rows: inputs.into_iter().map(|input| input_row(report, input)).collect(),
        caption: None,
    };
    if !own.is_empty() {
        items.push(item(Piece::Values(table(own))));
    }
    if !taken.is_empty() {
        items.push(item(Piece::Taken(table(taken))));
    }
    items.extend(lists(report, &listed));
    items
}

/// `list.item.field` parted, for values that belong to an item of a list.
fn item_of(name: &str) -> Option<(&str, &str, &str)> {
    let (list, rest) = name.split_once('.')?;
    let (item, field) = rest.split_once('.')?;
    Some((list, item, field))
}

/// The id of a value's row: those of a list's item stand in one row.
pub(super) fn anchor(full_name: &str) -> String {
    match full_name.split_once('.').and_then(|(block, name)| Some((block, item_of(name)?))) {
        Some((block, (list, item, _))) => format!("{block}.{list}.{item}"),
        None => full_name.to_owned(),
    }
}

/// One table for each list: an item in each row, its fields in columns.
fn lists(report: &BlockReport, inputs: &[&InputRow]) -> Vec<Item> {
    let mut lists: Vec<&str> = Vec::new();
    for (list, _, _) in inputs.iter().filter_map(|input| item_of(&input.name)) {
        if !lists.contains(&list) {
            lists.push(list);
        }
    }
    lists.into_iter().map(|list| list_table(report, inputs, list)).collect()
}

fn list_table(report: &BlockReport, inputs: &[&InputRow], list: &str) -> Item {
    let mut fields: Vec<&str> = Vec::new();
    let mut names: Vec<&str> = Vec::new();
    for (of, item, field) in inputs.iter().filter_map(|input| item_of(&input.name)) {
        if of == list {
            if !fields.contains(&field) {
                fields.push(field);
            }
            if !names.contains(&item) {
                names.push(item);
            }
        }
    }
    let rows = names.iter().map(|name| {
        let of_item: Vec<&&InputRow> = inputs
            .iter()
            .filter(|input| item_of(&input.name).is_some_and(|(of, item, _)| of == list && item == *name))
            .collect();
        let title = of_item.iter().find_map(|input| input.item.clone());
        let title = title.map_or_else(|| in_words(name), |title| spaced(&title));
        let mut cells = vec![Rich::plain(title)];
        for field in &fields {
            let found =
                of_item.iter().find(|input| item_of(&input.name).is_some_and(|(_, _, own)| own == *field));
            cells.push(found.map_or_else(Rich::default, |input| value(input)));
        }
        let log = list_log(&of_item);
        Row { id: Some(format!("{}.{list}.{name}", report.name)), cells, log, strong: false }
    });
    let rows = rows.collect();
    let mut columns = vec![column(&capital(&list.replace('_', " ")), Align::Left, 4)];
    let head = |field: &&str| {
        let own =
            |input: &&&InputRow| item_of(&input.name).is_some_and(|(of, _, own)| of == list && own == *field);
        let known = inputs.iter().find(own).filter(|input| input.item.is_some());
        let label = known.map_or_else(
            || in_words(field),
            // What an item takes from another block is named after the item too.
            |input| match input.item.as_deref().map(|item| format!("{} ", spaced(item))) {
                Some(item) => input.field.strip_prefix(&item).unwrap_or(&input.field).to_owned(),
                None => input.field.clone(),
            },
        );
        column(&label, Align::Decimal, 3)
    };
    let heads = fields.iter().map(head);
    columns.extend(heads);
    item(Piece::Table(Table { columns, rows, caption: None }))
}

/// How the fields of one item are known: said once where it is the same for all, else each after its field.
fn list_log(of_item: &[&&InputRow]) -> Vec<Rich> {
    let mut said: Vec<(Vec<&str>, Vec<Rich>)> = Vec::new();
    for input in of_item {
        let Some((_, _, field)) = item_of(&input.name) else { continue };
        let lines = basis(input);
        match said.iter_mut().find(|(_, known)| *known == lines) {
            Some((fields, _)) => fields.push(field),
            None => said.push((vec![field], lines)),
        }
    }
    if let [(_, lines)] = &mut said[..] {
        return std::mem::take(lines);
    }
    let mut all = Vec::new();
    for (fields, lines) in said.into_iter().filter(|(_, lines)| !lines.is_empty()) {
        if !all.is_empty() {
            all.push(rich::text("; ", Face::Quiet));
        }
        let fields: Vec<String> = fields.iter().map(|field| field.replace(['_', '.'], " ")).collect();
        all.push(rich::text(format!("{}: ", fields.join(", ")), Face::Plain));
        for (at, line) in lines.into_iter().enumerate() {
            if at > 0 {
                all.push(rich::text("; ", Face::Quiet));
            }
            all.extend(line.0);
        }
    }
    if all.is_empty() { Vec::new() } else { vec![Rich(all)] }
}

fn input_row(report: &BlockReport, input: &InputRow) -> Row {
    Row {
        id: Some(format!("{}.{}", report.name, input.name)),
        cells: vec![rich::label(&input.label), value(input)],
        log: basis(input),
        strong: false,
    }
}

/// A value; one that is taken from elsewhere leads there, and says what it is called there if not the same.
fn value(input: &InputRow) -> Rich {
    let Some((from, label)) = input.from.as_ref().and_then(|from| Some((from, from.label.as_ref()?))) else {
        return Rich::plain(input.shown.clone());
    };
    let mut value = rich::link(input.shown.clone(), anchor(&from.name)).0;
    let listed = item_of(&input.name).is_some();
    if let Some((block, _)) = from.name.split_once('.').filter(|_| taken_over(input).is_none() && !listed) {
        let label = label.strip_suffix(&format!(" of {}", spaced(block))).unwrap_or(label);
        value.push(rich::text(format!(" ({label})"), Face::Quiet));
    }
    Rich(value)
}

/// The block that a value is taken from, if it has the same name there.
fn taken_over(input: &InputRow) -> Option<&str> {
    let (block, field) = input.from.as_ref()?.name.split_once('.')?;
    let same = input.name.strip_suffix(field).is_some_and(|before| before.ends_with('.'));
    same.then_some(block)
}

/// Basis and source of an input, or where it is taken from.
fn basis(input: &InputRow) -> Vec<Rich> {
    let mut lines = Vec::new();
    if let Some(block) = taken_over(input) {
        lines.push(rich::join([Rich::plain("from "), Rich(vec![rich::block(block)])]));
    } else if let Some(from) = &input.from {
        let from = match (&from.label, from.name.split_once('.')) {
            (Some(_), Some((block, _))) if item_of(&input.name).is_none() => Rich(vec![rich::block(block)]),
            (Some(label), _) => rich::link(label.clone(), anchor(&from.name)),
            (None, _) => rich::one(from.name.clone(), Face::Code),
        };
        lines.push(rich::join([Rich::plain("from "), from]));
    } else if !input.basis.is_empty() {
        let basis = if input.assumed { "assumed, a default".to_owned() } else { input.basis.to_owned() };
        let mut line = vec![rich::one(basis, Face::Plain)];
        if let Some(source) = &input.source {
            line.push(Rich::plain(" "));
            line.push(rich::link(source.clone(), source_id(source)));
        }
        if let Some(supposed) = &input.supposed {
            line.push(Rich::plain(format!(", {supposed}")));
        }
        lines.push(rich::join(line));
    }
    if let Some(clause) = &input.clause {
        // What it is about stands in the table of standards.
        lines.push(rich::link(clause.clone(), STANDARDS));
    } else if let Some(remark) = &input.remark {
        lines.push(rich::one(remark.clone(), Face::Quiet));
    }
    lines
}

/// The id of the chapter of standards.
pub(super) const STANDARDS: &str = "standards";

/// The id of a source's row.
pub(super) fn source_id(source: &str) -> String {
    let safe: String = source
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || matches!(c, '-' | '.' | '_') { c } else { '_' })
        .collect();
    format!("source.{safe}")
}
