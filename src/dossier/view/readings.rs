//! Readings on the vehicle, each with its instrument, date and state: what an inspector measures again.

use super::super::piece::{Align, Face, Item, Rich, Row};
use super::places::{Places, page, table};
use super::{Scene, heading, item, rich, with_id};
use crate::report::{BlockReport, InputRow, spaced};

/// The kinds whose values are read on the vehicle.
const KINDS: [&str; 2] = ["isolation", "bonding"];

/// What is told of a reading beside its values: of the reading itself, else of all of its block.
const ABOUT: [&str; 4] = ["instrument", "serial", "date", "state"];

/// A line for each reading of the blocks that are not replaced.
pub(super) fn readings(scene: &Scene<'_>, places: &Places) -> Vec<Item> {
    let blocks = scene.given.worked.notebook.blocks.iter().zip(scene.reports);
    let current =
        blocks.filter(|(block, report)| block.replaced_by.is_none() && KINDS.contains(&report.kind));
    let rows: Vec<Row> = current.flat_map(|(_, report)| of_block(report, places)).collect();
    if rows.is_empty() {
        return Vec::new();
    }
    let columns = [
        ("Reading", Align::Left),
        ("Read", Align::Left),
        ("Instrument, date and state", Align::Left),
        ("Page", Align::Right),
    ];
    vec![with_id("readings", heading(3, "Readings on the vehicle")), item(table(&columns, rows))]
}

fn of_block(report: &BlockReport, places: &Places) -> Vec<Row> {
    let mut names: Vec<&str> = Vec::new();
    for input in &report.inputs {
        if let Some((name, _)) = input.name.strip_prefix("readings.").and_then(|rest| rest.split_once('.'))
            && !names.contains(&name)
        {
            names.push(name);
        }
    }
    // What is the same for all is told with the first.
    let mut before = Vec::new();
    let mut rows = Vec::new();
    for name in names {
        let start = format!("readings.{name}.");
        let own: Vec<&InputRow> =
            report.inputs.iter().filter(|input| input.name.starts_with(&start)).collect();
        let values: Vec<String> = own
            .iter()
            .filter(|input| !input.text)
            .map(|input| format!("{} {}", field(&input.name), input.shown))
            .collect();
        let about: Vec<&str> = ABOUT.iter().filter_map(|field| told(report, &start, field)).collect();
        let said = if about == before { String::new() } else { about.join("; ") };
        before = about;
        let title = own.iter().find_map(|input| input.item.clone()).unwrap_or_else(|| spaced(name));
        rows.push(Row {
            id: None,
            cells: vec![
                rich::join([rich::label(&format!("{title} ")), rich::one(spaced(&report.name), Face::Quiet)]),
                Rich::plain(values.join("; ")),
                Rich::plain(said),
                page(places, &rich::block_id(&report.name)),
            ],
            log: Vec::new(),
            strong: false,
        });
    }
    rows
}

fn field(name: &str) -> String {
    name.rsplit('.').next().unwrap_or_default().replace('_', " ")
}

fn told<'a>(report: &'a BlockReport, start: &str, field: &str) -> Option<&'a str> {
    let find = |name: &str| report.inputs.iter().find(|input| input.name == name);
    find(&format!("{start}{field}")).or_else(|| find(field)).map(|input| input.shown.as_str())
}
