//! What is asked of a vehicle and what is open, as data; and the sheet for a rescue crew.

use serde::Serialize;

use crate::report::{ItemRow, OpenItem, Outcome, Rescue};
use crate::source::Sources;

/// A subject, or an item of a pack.
#[derive(Serialize)]
pub(super) struct ItemEntry {
    asks: &'static str,
    by: Vec<String>,
    item: &'static str,
    kind: &'static str,
    /// `coverage` of a subject.
    pack: &'static str,
    reason: String,
    source: String,
    status: &'static str,
    theme: &'static str,
    verdict: &'static str,
    /// Of what is open or not there: whether it is due at the journal's stage.
    #[serde(skip_serializing_if = "Option::is_none")]
    yet: Option<bool>,
}

#[derive(Serialize)]
pub(super) struct OpenEntry {
    file: Option<String>,
    kind: &'static str,
    line: Option<usize>,
    reason: String,
    what: String,
    word: &'static str,
    yet: bool,
}

/// Lengths are in metres: behind the front axle, right of the middle, above the ground.
#[derive(Serialize)]
pub(super) struct RescueEntry {
    block: String,
    fire: String,
    make_safe: Vec<String>,
    /// Length, width, height, wheelbase.
    outline_si: Option<[f64; 4]>,
    places: Vec<PlaceEntry>,
}

#[derive(Serialize)]
struct PlaceEntry {
    at_si: [f64; 3],
    name: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    note: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to_si: Option<[f64; 3]>,
    what: &'static str,
}

pub(super) fn item(row: &ItemRow) -> ItemEntry {
    let waits = matches!(row.outcome, Outcome::Open | Outcome::Missing);
    ItemEntry {
        asks: row.asks,
        by: row.by.clone(),
        item: row.id,
        kind: row.kind.word(),
        pack: row.pack,
        reason: row.reason.to_string(),
        source: row.source.clone(),
        status: row.status,
        theme: row.theme,
        verdict: row.outcome.word(),
        yet: waits.then_some(!row.not_yet),
    }
}

pub(super) fn open_entry(open: &OpenItem, sources: &Sources) -> OpenEntry {
    OpenEntry {
        file: open.place.map(|span| sources.get(span.file).path.clone()),
        kind: open.kind.word(),
        line: open.place.map(|span| sources.place(span).line),
        reason: open.reason.to_string(),
        what: open.what.clone(),
        word: open.word,
        yet: !open.not_yet,
    }
}

pub(super) fn rescue_entry(sheet: Rescue) -> RescueEntry {
    let places = sheet.places.into_iter().map(|place| PlaceEntry {
        at_si: place.at,
        name: place.name,
        note: place.note,
        to_si: place.to,
        what: place.what.word(),
    });
    RescueEntry {
        block: sheet.block,
        fire: sheet.fire,
        make_safe: sheet.make_safe,
        outline_si: sheet.outline,
        places: places.collect(),
    }
}
