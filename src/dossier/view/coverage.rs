//! What an inspection asks, subject by subject and item by item, and all that is open, what would fail it first.

use super::super::piece::{Align, Face, Item, Piece, Rich, Row, Style, Table};
use super::rich::{self, column, text};
use super::{Scene, heading, item, with_id};
use crate::model::{RequirementKind, capital};
use crate::report::{Coverage, ItemRow, OpenItem, Outcome};

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
    let columns = [(head, 5), ("Verdict", 3), ("What it rests on, or lacks", 4)];
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
    let items = told.open_items(Some(coverage));
    let told_alike = |a: &OpenItem, b: &OpenItem| {
        (a.kind, a.word, &a.block, &a.reason, a.not_yet) == (b.kind, b.word, &b.block, &b.reason, b.not_yet)
    };
    let rows: Vec<Row> = items.chunk_by(told_alike).map(|alike| open_row(scene, alike)).collect();
    if rows.is_empty() {
        return Vec::new();
    }
    let heads = [("Kind", 2), ("What", 2), ("Of what, and where", 5), ("Why", 4)];
    vec![
        with_id("open-first", heading(3, "What is open, what would fail an inspection first")),
        item(Piece::Table(Table {
            columns: heads.map(|(head, share)| column(head, Align::Left, share)).into(),
            rows,
            caption: None,
        })),
    ]
}

/// Of one block, for one reason.
fn open_row(scene: &Scene<'_>, alike: &[OpenItem]) -> Row {
    let first = &alike[0];
    let place = first.place.map_or_else(String::new, |span| {
        format!("{}:{}", scene.path(span.file), scene.given.sources.place(span).line)
    });
    let word = if first.not_yet { format!("{}, not yet", first.word) } else { first.word.to_owned() };
    let labels: Vec<&str> = alike.iter().map(|open| open.label.as_str()).collect();
    let mut what = rich::label(&capital(&labels.join("; "))).0;
    if let Some(block) = &first.block {
        what.push(text(" ", Face::Plain));
        what.push(rich::block(block));
    }
    what.push(text(format!(" {place}"), Face::Quiet));
    let cells = vec![
        Rich::plain(first.kind.word()),
        rich::one(word, Face::Strong),
        Rich(what),
        Rich(rich::set(&first.reason, Face::Plain)),
    ];
    Row { id: None, cells, log: Vec::new(), strong: false }
}

fn said(words: &str) -> Item {
    item(Piece::Paragraph { style: Style::Body, text: Rich::plain(words) })
}
