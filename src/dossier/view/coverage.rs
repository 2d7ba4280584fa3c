//! What an inspection asks, subject by subject and item by item, and all that is open, what would fail it first.

use super::super::piece::{Align, Face, Item, Piece, Rich, Row, Style, Table};
use super::rich::{self, column, text};
use super::{Scene, heading, item, with_id};
use crate::model::{RequirementKind, capital};
use crate::report::{Coverage, ItemRow, Outcome};

/// Nothing of a journal that is of no vehicle.
pub(super) fn coverage(scene: &Scene<'_>) -> Vec<Item> {
    let told = scene.given.worked.told();
    let Some(coverage) = told.coverage() else { return Vec::new() };
    let mut items = vec![
        with_id("coverage", heading(2, "What an inspection asks")),
        said(
            "Every journal of a vehicle is asked about these subjects. Each is judged by its blocks, answered by somebody who is named and shows something, or is not in this journal. “Answered” is no verdict of this program, and nothing here is an approval.",
        ),
        counted(&coverage.subjects),
        table(&coverage.subjects, "Subject"),
    ];
    for pack in &coverage.packs {
        items.push(item(heading(3, &format!("Rules: {}", pack.name))));
        items.push(said(pack.about));
        items.push(counted(&pack.items));
        items.push(table(&pack.items, "Item"));
    }
    items.extend(open(scene, &coverage));
    items
}

/// The subjects for the clipboard, two to a line, with the counts of each kind; of the rules the counts alone.
pub(super) fn in_short(scene: &Scene<'_>) -> Vec<Item> {
    let Some(coverage) = scene.given.worked.told().coverage() else { return Vec::new() };
    let mut counts = Vec::new();
    let kinds = [RequirementKind::Safety, RequirementKind::Legal, RequirementKind::Wish];
    for kind in kinds {
        let items = coverage.packs.iter().flat_map(|pack| &pack.items);
        let told = Coverage::counts(coverage.subjects.iter().chain(items).filter(|row| row.kind == kind));
        if !told.is_empty() {
            counts.push(format!("{}: {told}", capital(kind.word())));
        }
    }
    let cells =
        |row: &ItemRow| [Rich::plain(capital(row.theme)), rich::one(row.outcome.word(), Face::Strong)];
    let rows = coverage.subjects.chunks(2).map(|pair| Row {
        id: None,
        cells: pair.iter().flat_map(cells).collect(),
        log: Vec::new(),
        strong: false,
    });
    let columns = ["Subject", "", "Subject", ""].map(|head| column(head, Align::Left, 0)).into();
    vec![
        with_id("coverage", heading(3, "What an inspection asks")),
        item(Piece::Paragraph {
            style: Style::Small,
            text: Rich::plain(format!("{}. “Answered” is no verdict of this program.", counts.join(". "))),
        }),
        item(Piece::Table(Table { columns, rows: rows.collect(), caption: None })),
    ]
}

fn counted(rows: &[ItemRow]) -> Item {
    let text = format!("{} asked: {}.", rows.len(), Coverage::counts(rows.iter()));
    item(Piece::Paragraph { style: Style::Small, text: rich::one(text, Face::Strong) })
}

fn table(rows: &[ItemRow], head: &str) -> Item {
    let columns = [(head, 4), ("Verdict", 2), ("What it rests on, or lacks", 4)];
    let columns = columns.map(|(head, share)| column(head, Align::Left, share)).into();
    item(Piece::Table(Table { columns, rows: rows.iter().map(row).collect(), caption: None }))
}

fn row(row: &ItemRow) -> Row {
    let mut what = vec![text(capital(row.theme), Face::Strong), text(format!(": {}", row.asks), Face::Quiet)];
    if !row.source.is_empty() {
        what.push(text(format!("; {}; {}", row.source, row.status), Face::Quiet));
    }
    let waits = matches!(row.outcome, Outcome::Open | Outcome::Missing) && row.not_yet;
    let verdict =
        if waits { format!("{}, not yet", row.outcome.word()) } else { row.outcome.word().to_owned() };
    let verdict = rich::join([
        rich::one(verdict, Face::Strong),
        rich::one(format!(", {}", row.kind.word()), Face::Quiet),
    ]);
    let mut grounds = rich::set(&row.reason, Face::Plain);
    for name in &row.by {
        grounds.push(text(" ", Face::Plain));
        grounds.push(rich::block(name));
    }
    Row { id: None, cells: vec![Rich(what), verdict, Rich(grounds)], log: Vec::new(), strong: false }
}

/// With file and line.
fn open(scene: &Scene<'_>, coverage: &Coverage) -> Vec<Item> {
    let told = scene.given.worked.told();
    let rows: Vec<Row> = told
        .open_items(Some(coverage))
        .iter()
        .map(|open| {
            let place = open.place.map_or_else(String::new, |span| {
                format!("{}:{}", scene.path(span.file), scene.given.sources.place(span).line)
            });
            let word = if open.not_yet { format!("{}, not yet", open.word) } else { open.word.to_owned() };
            let cells = vec![
                Rich::plain(open.kind.word()),
                rich::one(word, Face::Strong),
                Rich(vec![text(open.what.clone(), Face::Code), text(format!(" {place}"), Face::Quiet)]),
                Rich(rich::set(&open.reason, Face::Plain)),
            ];
            Row { id: None, cells, log: Vec::new(), strong: false }
        })
        .collect();
    if rows.is_empty() {
        return Vec::new();
    }
    let heads = [("Kind", 0), ("What", 0), ("Of what, and where", 0), ("Why", 0)];
    vec![
        with_id("open-first", heading(3, "What is open, what would fail an inspection first")),
        item(Piece::Table(Table {
            columns: heads.map(|(head, share)| column(head, Align::Left, share)).into(),
            rows,
            caption: None,
        })),
    ]
}

fn said(words: &str) -> Item {
    item(Piece::Paragraph { style: Style::Body, text: Rich::plain(words) })
}
