//! What an inspection asks, subject by subject and item by item, and all that is open, what would fail it first.

use super::super::piece::{Align, Column, Face, Item, Piece, Rich, Row, Style, Table};
use super::places::{Places, page};
use super::rich::{self, column, text};
use super::{Scene, heading, item, with_id};
use crate::model::{RequirementKind, capital};
use crate::report::{Coverage, ItemRow, OpenItem, Outcome, spaced};

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
        if pack.own {
            items.push(said(
                "These rules are the journal's own: that a document was read is its author's word.",
            ));
        }
        items.push(counted(&pack.items));
        items.push(table(&pack.items, "Item"));
    }
    items.extend(open(scene, &coverage));
    items
}

/// The subjects for the clipboard, two to a line, with the counts of each kind; of the rules the counts alone.
pub(super) fn in_short(scene: &Scene<'_>) -> Vec<Item> {
    let Some(coverage) = scene.given.worked.told().coverage() else { return Vec::new() };
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
            text: Rich::plain(format!("{} “Answered” is no verdict of this program.", by_kind(&coverage))),
        }),
        item(Piece::Table(Table { columns, rows: rows.collect(), caption: None })),
    ]
}

/// For the dossier's first page: the counts of each kind, and the subjects that fail, are open or are not there, by name.
pub(super) fn at_first(scene: &Scene<'_>) -> Vec<Item> {
    let Some(coverage) = scene.given.worked.told().coverage() else { return Vec::new() };
    let mut words = format!(" {}", by_kind(&coverage));
    for outcome in [Outcome::Fails, Outcome::Open, Outcome::Missing] {
        let of = coverage.subjects.iter().filter(|row| row.outcome == outcome);
        let themes: Vec<&str> = of.map(|row| row.theme).collect();
        if !themes.is_empty() {
            words.push_str(&format!(" {}: {}.", capital(outcome.word()), themes.join("; ")));
        }
    }
    let head = rich::link("What an inspection asks.".to_owned(), "coverage".to_owned());
    let text = rich::join([head, Rich::plain(words)]);
    vec![item(Piece::Paragraph { style: Style::Small, text })]
}

/// `Safety: 1 fails, 2 open. Legal: 3 answered.`
fn by_kind(coverage: &Coverage) -> String {
    let of = |kind: RequirementKind| {
        let told = Coverage::counts(coverage.rows().filter(move |row| row.kind == kind));
        (!told.is_empty()).then(|| format!("{}: {told}.", capital(kind.word())))
    };
    let kinds = [RequirementKind::Safety, RequirementKind::Legal, RequirementKind::Wish];
    kinds.into_iter().filter_map(of).collect::<Vec<_>>().join(" ")
}

fn counted(rows: &[ItemRow]) -> Item {
    let text = format!("{} asked: {}.", rows.len(), Coverage::counts(rows.iter()));
    item(Piece::Paragraph { style: Style::Small, text: rich::one(text, Face::Strong) })
}

fn table(rows: &[ItemRow], head: &str) -> Item {
    let columns = [(head, 11), ("Verdict", 0), ("What it rests on, or lacks", 9)];
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
    let head = with_id("open-first", heading(3, "What is open, what would fail an inspection first"));
    open_table(scene, Some(coverage), None).map_or_else(Vec::new, |table| vec![head, table])
}

/// Everything that fails or is open, in one table: with file and line, or with the page of the dossier.
pub(super) fn open_table(
    scene: &Scene<'_>,
    coverage: Option<&Coverage>,
    places: Option<&Places>,
) -> Option<Item> {
    let items = scene.given.worked.told().open_items(coverage);
    let told_alike = |a: &OpenItem, b: &OpenItem| {
        (a.kind, a.word, &a.block, &a.reason, a.not_yet) == (b.kind, b.word, &b.block, &b.reason, b.not_yet)
    };
    let rows: Vec<Row> = items.chunk_by(told_alike).map(|alike| open_row(scene, alike, places)).collect();
    let mut columns: Vec<Column> = [
        ("Kind", 0),
        ("What", 0),
        (if places.is_some() { "Of what" } else { "Of what, and where" }, 5),
        ("Why", 4),
    ]
    .map(|(head, share)| column(head, Align::Left, share))
    .into();
    columns.extend(places.map(|_| column("Page", Align::Right, 0)));
    (!rows.is_empty()).then(|| item(Piece::Table(Table { columns, rows, caption: None })))
}

/// Of one block, for one reason.
fn open_row(scene: &Scene<'_>, alike: &[OpenItem], places: Option<&Places>) -> Row {
    let first = &alike[0];
    let word = if first.not_yet { format!("{}, not yet", first.word) } else { first.word.to_owned() };
    let labels: Vec<&str> = alike.iter().map(|open| open.label.as_str()).collect();
    let labels = match labels.len() {
        // The form counts what the dossier names.
        many if many > 2 && places.is_some() && first.block.is_none() => format!("{many} items of packs"),
        many if many > 2 && places.is_some() => format!("{many} requirements"),
        _ => labels.join("; "),
    };
    let mut what = rich::label(&capital(&labels)).0;
    if let Some(block) = &first.block {
        what.push(text(" of ", Face::Plain));
        what.extend(rich::link(spaced(block), rich::block_id(block)).0);
    }
    let row = scene.reports.iter().flat_map(|report| &report.requirements);
    let judged = { row }.find(|row| format!("{}.{}", row.block, row.name) == first.what);
    if let ([_], Some(row)) = (alike, judged) {
        let case = row.case.as_ref().map_or_else(String::new, |case| format!(" {case}"));
        what.push(text(format!("{case}: {}, {}", row.actual, row.limit), Face::Plain));
    }
    if places.is_none() {
        let place = first.place.map_or_else(String::new, |span| {
            format!(" {}:{}", scene.path(span.file), scene.given.sources.place(span).line)
        });
        what.push(text(place, Face::Quiet));
    }
    let mut cells = vec![
        Rich::plain(first.kind.word()),
        rich::one(word, Face::Strong),
        Rich(what),
        Rich(rich::set(&first.reason, Face::Plain)),
    ];
    cells.extend(places.map(|places| {
        let id = first.block.as_ref().map_or_else(|| "coverage".to_owned(), |block| rich::block_id(block));
        page(places, &id)
    }));
    Row { id: None, cells, log: Vec::new(), strong: false }
}

fn said(words: &str) -> Item {
    item(Piece::Paragraph { style: Style::Body, text: Rich::plain(words) })
}
