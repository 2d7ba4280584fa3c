//! Readings on the vehicle, each with its instrument, date and state, and a box: what an inspector measures again.

use super::super::piece::{Align, Item, Rich, Row, Run};
use super::places::{Places, page, table};
use super::{Scene, heading, item, rich, with_id};
use crate::model::capital;
use crate::report::{BlockReport, InputRow, spaced};

/// The kinds whose values are read on the vehicle, each with the list of its readings; `None` for a kind that is one
/// reading.
const KINDS: [(&str, Option<&str>); 4] = [
    ("isolation", Some("readings.")),
    ("bonding", Some("readings.")),
    ("tightening", Some("joints.")),
    ("test-record", None),
];

/// What is told of a reading beside its values, and by which word: of the reading itself, else of all of its block.
const ABOUT: [(&str, &str); 8] = [
    ("instrument", ""),
    ("tool", ""),
    ("serial", "serial "),
    ("calibrated_until", "calibrated until "),
    ("date", ""),
    ("by", "by "),
    ("place", ""),
    ("state", ""),
];

/// A line for each reading of the blocks that are not replaced.
pub(super) fn readings(scene: &Scene<'_>, places: &Places) -> Vec<Item> {
    let blocks = scene.given.worked.notebook.blocks.iter().zip(scene.reports);
    let rows: Vec<Row> = blocks
        .filter(|(block, report)| block.replaced_by.is_none() && report.worked)
        .filter_map(|(_, report)| Some((report, KINDS.iter().find(|(kind, _)| *kind == report.kind)?.1)))
        .flat_map(|(report, list)| of_block(report, list, places))
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

fn of_block(report: &BlockReport, list: Option<&str>, places: &Places) -> Vec<Row> {
    let mut starts: Vec<String> = list.is_none().then(String::new).into_iter().collect();
    for input in list.iter().flat_map(|list| report.inputs.iter().map(move |input| (input, list))) {
        let (input, list) = input;
        if let Some((name, _)) = input.name.strip_prefix(list).and_then(|rest| rest.split_once('.')) {
            let start = format!("{list}{name}.");
            starts.extend((!starts.contains(&start)).then_some(start));
        }
    }
    // What is the same for all is told with the first.
    let mut before = Vec::new();
    let mut rows = Vec::new();
    for start in starts {
        let own: Vec<&InputRow> =
            report.inputs.iter().filter(|input| input.name.starts_with(&start)).collect();
        let mut values: Vec<&InputRow> = own.iter().copied().filter(|input| !input.text).collect();
        // Of all readings without one of their own.
        let shared = |input: &&InputRow| list.is_some() && input.name == "test_voltage";
        if !values.iter().any(|input| input.name.ends_with(".test_voltage")) {
            values.extend(report.inputs.iter().find(shared));
        }
        let values: Vec<String> =
            values.iter().map(|input| spaced(&format!("{} {}", field(input), input.shown))).collect();
        let about: Vec<String> = ABOUT.iter().filter_map(|of| told(report, &start, of)).collect();
        let said = if about == before { "as above".to_owned() } else { about.join("; ") };
        before = about;
        let title = own.iter().find_map(|input| input.item.clone());
        let title = title.or_else(|| told(report, "", &("test", ""))).unwrap_or_else(|| report.name.clone());
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

fn told(report: &BlockReport, start: &str, (field, word): &(&str, &str)) -> Option<String> {
    let find = |name: &str| report.inputs.iter().find(|input| input.name == name);
    let input = find(&format!("{start}{field}")).or_else(|| find(field))?;
    Some(format!("{word}{}", input.shown))
}
