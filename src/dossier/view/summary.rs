//! One or two pages for the inspector's clipboard.

use super::super::piece::{Align, Document, Face, Item, Piece, Rich, Row, SignatureBox, Style, Table};
use super::cover::{Size, WHO_DECIDES};
use super::rich::{self, column};
use super::{Scene, cover, heading, item, supposed, with_id};
use crate::evaluate::Verdict;
use crate::model::{BlockEntry, Caution, NOT_AN_APPROVAL, capital};
use crate::quantities::Basis;
use crate::report::{BlockReport, Nature, spaced};

/// The kinds whose figures are all told; of others a line each.
const WHOLE: [&str; 3] = ["mass-ledger", "ratio-chain", "pack-layout"];

/// How many open items are listed.
const OPEN: usize = 4;

/// Behind a figure that is not calculated.
const MEASURED: &str = "m";
const STATED: &str = "s";

/// How long the line of any other block may be, in characters.
const IN_A_LINE: usize = 64;

/// Identity, the figures that are checked first, requirements, what is open, cautions, and where to sign.
pub(in crate::dossier) fn summary(scene: &Scene<'_>) -> Document {
    let title = Piece::Heading { level: 1, text: Rich::plain(scene.title.clone()), listed: false };
    let mut items = vec![with_id("top", title)];
    items.push(item(Piece::Paragraph {
        style: Style::Small,
        text: Rich(vec![
            rich::text("Summary for the inspector. Figures are calculated; ", Face::Plain),
            rich::text(MEASURED, Face::Sup),
            rich::text(" is measured on this vehicle, ", Face::Plain),
            rich::text(STATED, Face::Sup),
            rich::text(" stated by a document or the builder.", Face::Plain),
        ]),
    }));
    // Two to a line where they are short.
    if let Piece::Table(table) = cover::identity(scene).piece {
        items.push(item(Piece::Values(table)));
    }
    items.extend(cover::despite(scene));
    items.extend(cover::not_worked(scene));
    items.extend(figures(scene));
    items.extend(lines(scene));
    items.extend(cover::verdicts(scene, Size::Summary));
    items.extend(supposed::narrowed(scene));
    items.extend(open(scene));
    for caution in scene.given.worked.told().cautions() {
        items.push(item(caution_in_short(caution)));
    }
    let text = Rich::plain(format!("{NOT_AN_APPROVAL} {WHO_DECIDES}"));
    items.push(item(Piece::Paragraph { style: Style::Small, text }));
    let to_sign = || ["Name", "Date and signature"].map(str::to_owned).to_vec();
    items.push(item(Piece::Signatures {
        boxes: vec![
            SignatureBox { title: "Declared by the builder".to_owned(), lines: to_sign() },
            SignatureBox { title: "Approved by the inspector".to_owned(), lines: to_sign() },
        ],
    }));
    let mut document = scene.document(items);
    document.items.iter_mut().for_each(unlink);
    document
}

/// The last block of each kind that has figures for an inspector, each under a line that names it.
fn figures(scene: &Scene<'_>) -> Option<Item> {
    let blocks = &scene.given.worked.notebook.blocks;
    let mut all = Vec::new();
    let mut seen: Vec<&str> = Vec::new();
    for block in blocks {
        if !WHOLE.contains(&block.kind.name) || seen.contains(&block.kind.name) {
            continue;
        }
        seen.push(block.kind.name);
        let same: Vec<usize> =
            (0..blocks.len()).filter(|number| blocks[*number].kind.name == block.kind.name).collect();
        let Some((last, earlier)) = same.split_last() else { continue };
        let report = &scene.reports[*last];
        let rows = rows(report, &block.kind.shown_first());
        if rows.is_empty() {
            continue;
        }
        all.push(Row {
            id: None,
            cells: vec![Rich::plain(format!("{}, from {}", capital(report.subsystem), spaced(&report.name)))],
            log: others(scene, earlier).into_iter().collect(),
            strong: true,
        });
        all.extend(rows);
    }
    (!all.is_empty()).then(|| {
        let columns = vec![column("", Align::Left, 5), column("", Align::Decimal, 5)];
        item(Piece::Values(Table { columns, rows: all, caption: None }))
    })
}

/// What else an inspector looks at: a line for each block that is held against a limit.
fn lines(scene: &Scene<'_>) -> Option<Item> {
    let blocks = &scene.given.worked.notebook.blocks;
    let told = |(number, block): (usize, &BlockEntry)| {
        if WHOLE.contains(&block.kind.name) || block.kind.shown_first().is_empty() {
            return None;
        }
        let report = &scene.reports[number];
        if report.requirements.is_empty() {
            return None;
        }
        let first = block.kind.shown_first();
        let results = first.iter().filter_map(|name| {
            let row = report.results.iter().find(|row| row.name == *name)?;
            Some(spaced(&format!("{} {}", row.label, row.shown)))
        });
        let mut words = String::new();
        for figure in results {
            if !words.is_empty() && words.chars().count() + figure.chars().count() > IN_A_LINE {
                break;
            }
            words = if words.is_empty() { figure } else { format!("{words}; {figure}") };
        }
        let words = if report.worked { words } else { "not worked".to_owned() };
        let verdicts = report.requirements.iter().map(|row| row.verdict);
        let worst = verdicts.max_by_key(|verdict| rich::gravity(*verdict)).unwrap_or(Verdict::Open);
        // What a test that proves nothing has shown is no figure for an inspector.
        let words = if worst == Verdict::Open { "not judged: see the requirement".to_owned() } else { words };
        (!words.is_empty()).then(|| Row {
            id: None,
            cells: vec![
                rich::one(report.name.replace('_', " "), Face::Quiet),
                rich::join([rich::verdict(worst), Rich::plain(format!(" {words}"))]),
            ],
            log: Vec::new(),
            strong: false,
        })
    };
    let rows: Vec<Row> = blocks.iter().enumerate().filter_map(told).collect();
    (!rows.is_empty()).then(|| {
        let columns = vec![column("", Align::Left, 2), column("", Align::Left, 8)];
        item(Piece::Values(Table { columns, rows, caption: None }))
    })
}

/// That a block is the last of several.
fn others(scene: &Scene<'_>, earlier: &[usize]) -> Option<Rich> {
    const MOST: usize = 3;
    let names: Vec<&str> =
        earlier.iter().rev().take(MOST).map(|number| scene.reports[*number].name.as_str()).collect();
    let more =
        if earlier.len() > MOST { format!(" and {} more", earlier.len() - MOST) } else { String::new() };
    let words = spaced(&format!("the last of its kind; the dossier also has {}{more}", names.join(", ")));
    (!names.is_empty()).then(|| rich::one(words, Face::Quiet))
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
    let line = |label: &str, shown: &str, nature: Nature| {
        let mark = match nature {
            Nature::Calculated => Vec::new(),
            Nature::Measured => vec![rich::text(MEASURED, Face::Sup)],
            Nature::Stated => vec![rich::text(STATED, Face::Sup)],
        };
        let value = rich::join([rich::label(shown), Rich(mark)]);
        let cells = vec![rich::label(&capital(label)), value];
        Row { id: None, cells, log: Vec::new(), strong: false }
    };
    names
        .iter()
        .filter_map(|name| {
            let result = report.results.iter().find(|row| row.name == *name);
            let result = result.map(|row| line(&row.label, &row.full, row.nature));
            result.or_else(|| {
                let row = report.inputs.iter().find(|row| row.name == *name)?;
                let measured = row.basis == Basis::Measured.word();
                Some(line(&row.label, &row.shown, if measured { Nature::Measured } else { Nature::Stated }))
            })
        })
        .collect()
}

/// What is still to be done, two to a line.
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
    let rest = open.len().saturating_sub(OPEN);
    let rows = open[..open.len() - rest]
        .chunks(2)
        .map(|pair| Row {
            id: None,
            cells: pair.iter().map(|words| Rich::plain(format!("☐\u{a0}{words}"))).collect(),
            log: Vec::new(),
            strong: false,
        })
        .collect();
    let columns = vec![column("", Align::Left, 1), column("", Align::Left, 1)];
    let head = match rest {
        0 => "Open items".to_owned(),
        rest => format!("Open items: {} of {}, the others in the dossier", open.len() - rest, open.len()),
    };
    vec![item(heading(3, &head)), item(Piece::Table(Table { columns, rows, caption: None }))]
}

/// A caution with its own lines run together.
fn caution_in_short(caution: Caution) -> Piece {
    // Who decides is said once, under the last of them.
    let own: Vec<&str> =
        caution.lines().iter().copied().filter(|line| !line.starts_with("Local codes")).collect();
    Piece::CautionNote {
        high_voltage: caution == Caution::HighVoltage,
        text: rich::join([
            rich::one(format!("{}.", caution.title()), Face::Strong),
            Rich::plain(format!(" {}", own.join(" "))),
        ]),
    }
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
        Piece::Requirements { table, reasons } => {
            for row in &mut table.rows {
                row.cells.iter_mut().chain(&mut row.log).for_each(plain);
            }
            reasons.iter_mut().for_each(plain);
        }
        Piece::Table(table) | Piece::Values(table) => {
            for row in &mut table.rows {
                row.cells.iter_mut().chain(&mut row.log).for_each(plain);
            }
        }
        _ => {}
    }
}
