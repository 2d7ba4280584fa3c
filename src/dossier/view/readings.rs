//! Readings on the vehicle, each with its instrument, date and state, and a box: what an inspector measures again.

use super::super::piece::{Align, Item, Rich, Row, Run};
use super::places::{Places, page, table};
use super::{Scene, heading, item, rich, with_id};
use crate::model::{Detail, FieldDoc, Kind, Purpose, Takes, capital};
use crate::report::{BlockReport, InputRow, spaced};

/// A line for each reading of the blocks that are not replaced.
pub(super) fn readings(scene: &Scene<'_>, places: &Places) -> Vec<Item> {
    let blocks = scene.given.worked.notebook.blocks.iter().zip(scene.reports);
    let rows: Vec<Row> = blocks
        .filter(|(block, report)| block.replaced_by.is_none() && report.worked)
        .filter_map(|(block, report)| {
            let read = block.kind.fields.iter().find(|doc| doc.purpose == Some(Purpose::Reading))?;
            Some(of_block((block.kind, report), read, places))
        })
        .flatten()
        .collect();
    if rows.is_empty() {
        return Vec::new();
    }
    let columns = [
        ("Reading", Align::Left),
        ("Read", Align::Left),
        ("Instrument, date and state", Align::Left),
        ("Page", Align::Right),
        ("Measured here", Align::Left),
    ];
    vec![with_id("readings", heading(3, "Readings on the vehicle")), item(table(&columns, rows))]
}

fn of_block((kind, report): (&Kind, &BlockReport), read: &FieldDoc, places: &Places) -> Vec<Row> {
    // What names the one reading that a block is, is no list.
    let list = matches!(read.takes, Takes::List).then(|| format!("{}.", read.name));
    let mut starts: Vec<String> = list.is_none().then(String::new).into_iter().collect();
    for input in list.iter().flat_map(|list| report.inputs.iter().map(move |input| (input, list))) {
        let (input, list) = input;
        if let Some((name, _)) = input.name.strip_prefix(list).and_then(|rest| rest.split_once('.')) {
            let start = format!("{list}{name}.");
            starts.extend((!starts.contains(&start)).then_some(start));
        }
    }
    let shared = kind.fields.iter().find(|doc| doc.purpose == Some(Purpose::OfAllReadings));
    let details = details(kind, list.as_deref().unwrap_or_default());
    // What is the same for all is told with the first.
    let mut before = Vec::new();
    let mut rows = Vec::new();
    for start in starts {
        let own: Vec<&InputRow> =
            report.inputs.iter().filter(|input| input.name.starts_with(&start)).collect();
        let mut values: Vec<&InputRow> = own.iter().copied().filter(|input| !input.text).collect();
        // Of all readings without one of their own.
        if let Some(shared) = shared.filter(|doc| !own.iter().any(|input| last(&input.name) == doc.name)) {
            values.extend(report.inputs.iter().find(|input| input.name == shared.name));
        }
        let values: Vec<String> =
            values.iter().map(|input| spaced(&format!("{} {}", field(input), input.shown))).collect();
        let about: Vec<String> = details.iter().filter_map(|of| told(report, &start, *of)).collect();
        let said = if about == before { "as above".to_owned() } else { about.join("; ") };
        before = about;
        let title = own.iter().find_map(|input| input.item.clone());
        let title =
            title.or_else(|| told(report, "", (read.name, ""))).unwrap_or_else(|| report.name.clone());
        let mut name = rich::label(&format!("{} ", capital(&title))).0;
        name.extend(rich::link(spaced(&report.name), rich::block_id(&report.name)).0);
        rows.push(Row {
            id: None,
            cells: vec![
                Rich(name),
                Rich::plain(values.join("; ")),
                Rich::plain(said),
                page(places, &rich::block_id(&report.name)),
                Rich(vec![Run::Blank]),
            ],
            log: Vec::new(),
            strong: false,
        });
    }
    rows
}

/// What a value is called within its reading.
fn field(input: &InputRow) -> &str {
    match input.item.as_deref() {
        Some(item) => input.field.strip_prefix(item).unwrap_or(&input.field).trim_start(),
        None => &input.field,
    }
}

/// What a kind tells of a reading, in order, and behind which word.
fn details(kind: &Kind, list: &str) -> Vec<(&'static str, &'static str)> {
    let named = |doc: &FieldDoc| match doc.purpose {
        Some(Purpose::About(detail)) => Some((detail, doc.name.strip_prefix(list).unwrap_or(doc.name))),
        _ => None,
    };
    let mut found: Vec<(Detail, &'static str)> = kind.fields.iter().filter_map(named).collect();
    found.sort_unstable();
    found.dedup();
    let word = |detail| match detail {
        Detail::Serial => "serial ",
        Detail::CalibratedUntil => "calibrated until ",
        Detail::By => "by ",
        Detail::Instrument | Detail::Date | Detail::Place | Detail::State => "",
    };
    found.into_iter().map(|(detail, name)| (name, word(detail))).collect()
}

/// Of a reading itself, else of all of its block.
fn told(report: &BlockReport, start: &str, (field, word): (&str, &str)) -> Option<String> {
    let find = |name: &str| report.inputs.iter().find(|input| input.name == name);
    let input = find(&format!("{start}{field}")).or_else(|| find(field))?;
    Some(format!("{word}{}", input.shown))
}

fn last(name: &str) -> &str {
    name.rsplit('.').next().unwrap_or(name)
}
