//! One or two pages for the inspector's clipboard.

use super::super::Given;
use super::super::piece::{Align, Document, Face, Item, Piece, Rich, Row, SignatureBox, Style, Table};
use super::block::{caution_piece, column};
use super::rich;
use super::{Scene, cover, heading, item, with_id};
use crate::model::{NOT_AN_APPROVAL, capital};
use crate::report::BlockReport;

/// Identity, the figures that are checked first, requirements, what is open, cautions, and where to sign.
pub(in crate::dossier) fn summary(given: &Given<'_>) -> Document {
    let scene = Scene::new(given);
    let title = format!("{}: summary", scene.title);
    let mut items =
        vec![with_id("top", Piece::Heading { level: 1, text: Rich::plain(title), listed: false })];
    items.push(cover::identity(&scene));
    items.extend(cover::not_worked(&scene));
    items.extend(figures(&scene));
    items.extend(cover::verdicts(&scene));
    items.extend(open(&scene));
    for caution in given.worked.told().cautions() {
        items.push(item(caution_piece(caution)));
    }
    items.push(item(Piece::Paragraph { style: Style::Small, text: Rich::plain(NOT_AN_APPROVAL) }));
    let lines = || ["Name", "Date", "Signature"].map(str::to_owned).to_vec();
    items.push(item(Piece::Signatures {
        boxes: vec![
            SignatureBox { title: "Declared by the builder".to_owned(), lines: lines() },
            SignatureBox { title: "Approved by the inspector".to_owned(), lines: lines() },
        ],
    }));
    let mut document = scene.document(items);
    document.items.iter_mut().for_each(unlink);
    document
}

/// The last block of each kind that has figures for an inspector.
fn figures(scene: &Scene<'_>) -> Vec<Item> {
    let blocks = &scene.given.worked.notebook.blocks;
    let mut items = Vec::new();
    let mut seen: Vec<&str> = Vec::new();
    for (number, block) in blocks.iter().enumerate() {
        if block.kind.inspector.is_empty() || seen.contains(&block.kind.name) {
            continue;
        }
        seen.push(block.kind.name);
        let last = blocks.iter().rposition(|other| other.kind.name == block.kind.name).unwrap_or(number);
        let earlier: Vec<&str> = blocks[..last]
            .iter()
            .filter(|other| other.kind.name == block.kind.name)
            .map(|other| other.name.as_str())
            .collect();
        let report = &scene.reports[last];
        let rows = rows(report, blocks[last].kind.inspector);
        if rows.is_empty() {
            continue;
        }
        items.push(item(heading(3, &capital(report.subsystem))));
        let mut from = format!("From `{}`", report.name).replace('`', "");
        if !earlier.is_empty() {
            from = format!("{from}, the last of its kind; the dossier also has {}", earlier.join(", "));
        }
        let columns = vec![column("", Align::Left, 5), column("Value", Align::Decimal, 5)];
        let caption = Some(Rich::plain(format!("{from}.")));
        items.push(item(Piece::Table(Table { columns, rows, caption })));
    }
    items
}

fn rows(report: &BlockReport, names: &[&str]) -> Vec<Row> {
    if !report.worked {
        return vec![Row {
            id: None,
            cells: vec![Rich::plain("not worked"), Rich::default()],
            log: Vec::new(),
            strong: false,
        }];
    }
    let line = |label: &str, shown: &str, log: &str| Row {
        id: None,
        cells: vec![Rich::plain(capital(label)), Rich::plain(shown)],
        log: vec![rich::one(log, Face::Quiet)],
        strong: false,
    };
    names
        .iter()
        .filter_map(|name| {
            let result = report.results.iter().find(|row| row.name == *name);
            let result = result.map(|row| line(&row.label, &row.shown, row.nature.word()));
            result.or_else(|| {
                let row = report.inputs.iter().find(|row| row.name == *name)?;
                Some(line(&row.label, &row.shown, row.basis))
            })
        })
        .collect()
}

fn open(scene: &Scene<'_>) -> Vec<Item> {
    let open: Vec<&str> = scene
        .given
        .worked
        .journals
        .iter()
        .flat_map(|journal| &journal.tasks)
        .filter(|task| !task.done)
        .map(|task| task.text.as_str())
        .collect();
    if open.is_empty() {
        return Vec::new();
    }
    let entries = open
        .into_iter()
        .map(|words| super::super::piece::Entry {
            task: Some(false),
            items: vec![item(Piece::Paragraph { style: Style::Small, text: Rich::plain(words) })],
        })
        .collect();
    vec![item(heading(3, "Open items")), item(Piece::List { start: None, entries })]
}

/// The summary stands alone: what leads into the dossier is plain text here.
fn unlink(item: &mut Item) {
    let plain = |rich: &mut Rich| {
        let runs = std::mem::take(&mut rich.0);
        rich.0 = runs
            .into_iter()
            .flat_map(|run| match run {
                super::super::piece::Run::Link {
                    text,
                    target: super::super::piece::Target::Inner { .. },
                } => text.0,
                other => vec![other],
            })
            .collect();
    };
    match &mut item.piece {
        Piece::Paragraph { text, .. } => plain(text),
        Piece::Table(table) => {
            for row in &mut table.rows {
                row.cells.iter_mut().chain(&mut row.log).for_each(plain);
            }
        }
        _ => {}
    }
}
