//! A worked block as an entry of the logbook: outcome, what was given, what came out, requirements, algebra last.

use super::super::charts;
use super::super::piece::{
    Align, Column, Face, HeadlineFigure, Item, Piece, Rich, Row, Run, Style, Table, Target,
};
use super::given::{anchor, inputs, words};
use super::outcome::{families, results, short, whole_percent};
use super::rich::{self, block_id};
use super::{Scene, item};
use crate::model::{Caution, Chart, NOT_AN_APPROVAL, capital};
use crate::report::{BlockReport, RequirementRow};
use crate::words::{self, Words};

/// All items of a block.
pub(super) fn block(scene: &Scene<'_>, number: usize) -> Vec<Item> {
    let report = &scene.reports[number];
    let entry = &scene.given.worked.notebook.blocks[number];
    let place = scene.given.sources.place(entry.name_span);
    let file = scene.path(entry.name_span.file);
    let mut items = vec![Item {
        id: Some(block_id(&report.name)),
        log: vec![rich::one(format!("{file}, line {}", place.line), Face::Quiet)],
        piece: Piece::Opening {
            kind: report.kind.to_owned(),
            name: report.name.clone(),
            words: words(report),
            sentence: sentence(report),
        },
    }];
    if report.worked {
        items.extend(headline(scene, report));
    }
    items.extend(inputs(report));
    if report.worked {
        items.extend(families(report));
        items.extend(results(report));
        items.extend(requirements(&report.requirements, Blocks::Own));
        items.extend(report.charts.iter().map(chart));
        items.extend(movers(scene, number));
        items.extend(notes(report));
        items.extend(cautions(report));
    }
    items
}

fn sentence(report: &BlockReport) -> Rich {
    if !report.worked {
        return rich::join([
            rich::one("Not worked", Face::Strong),
            Rich::plain(": see "),
            rich::link("the findings", "findings"),
            Rich::plain("."),
        ]);
    }
    let (bold, rest) = &report.sentence;
    // What only states values has them all in its table.
    let states = report.results.is_empty() && report.requirements.is_empty();
    if states && report.inputs.iter().any(|input| !input.text) {
        return rich::one(format!("{bold}."), Face::Strong);
    }
    rich::join([Rich(rich::set(bold, Face::Strong)), Rich(rich::set(rest, Face::Plain))])
}

fn headline(scene: &Scene<'_>, report: &BlockReport) -> Option<Item> {
    let told = scene.given.worked.told();
    let figures: Vec<HeadlineFigure> = report
        .headline
        .iter()
        .filter_map(|global| {
            let (_, node) = told.node(*global);
            Some(HeadlineFigure {
                label: capital(&node.label()),
                value: told.shown(*global)?,
                target: Some(Target::Inner { id: anchor(&told.full_name(*global)) }),
            })
        })
        .collect();
    (!figures.is_empty()).then(|| item(Piece::Headline { figures }))
}

/// Whether a table of requirements names the block of each.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Blocks {
    Own,
    Named,
}

/// Requirements with their margin as a bar; the log says where each limit comes from.
pub(super) fn requirements<'r>(
    rows: impl IntoIterator<Item = &'r RequirementRow>,
    blocks: Blocks,
) -> Option<Item> {
    let (mut table_rows, mut reasons) = (Vec::new(), Vec::new());
    for row in rows {
        table_rows.push(requirement_row(row, blocks));
        reasons.push(Rich(reason(&row.reason, &row.block)));
    }
    (!table_rows.is_empty()).then(|| {
        let columns = vec![
            column("Requirement", Align::Left, 4),
            column("Actual", Align::Decimal, 3),
            column("Limit", Align::Left, 4),
            column("", Align::Left, 2),
            column("Margin", Align::Right, 2),
            column("Verdict", Align::Left, 2),
        ];
        let table = Table { columns, rows: table_rows, caption: None };
        item(Piece::Requirements { table, reasons })
    })
}

fn requirement_row(row: &RequirementRow, blocks: Blocks) -> Row {
    let name = match blocks {
        Blocks::Own => Rich::plain(row.label.clone()),
        Blocks::Named => rich::join([
            Rich::plain(format!("{} ", row.label)),
            Rich(vec![Run::Link {
                text: rich::one(row.block.clone(), Face::Quiet),
                target: Target::Inner { id: block_id(&row.block) },
            }]),
        ]),
    };
    let log = vec![
        rich::text(format!("{}: {}", row.kind.word(), row.source), Face::Plain),
        rich::text(format!("; {}", row.status), Face::Quiet),
    ];
    Row {
        id: None,
        cells: vec![
            name,
            Rich::plain(row.actual.clone()),
            Rich::plain(row.limit.clone()),
            rich::margin(row.margin),
            Rich::plain(row.margin_shown.clone()),
            rich::verdict(row.verdict),
        ],
        log: vec![Rich(log)],
        strong: false,
    }
}

/// A reason with the names of values as links to them.
fn reason(words: &Words, block: &str) -> Vec<Run> {
    let run = |run: &words::Run| match run {
        words::Run::Name(name) if name.contains('.') => rich::link(short(name, block), anchor(name)).0,
        words::Run::Name(name) => vec![rich::text(name.as_str(), Face::Code)],
        words::Run::Text(_) | words::Run::Value(_) => vec![rich::text(run.text(), Face::Plain)],
    };
    words.runs().iter().flat_map(run).collect()
}

fn chart(chart: &Chart) -> Item {
    let (drawing, caption) = charts::draw(chart);
    item(Piece::Figure { drawing, caption: Rich::plain(caption) })
}

/// For each target, the inputs that move it, ordered.
fn movers(scene: &Scene<'_>, number: usize) -> Option<Item> {
    const MOST: usize = 5;
    let report = &scene.reports[number];
    if report.subsystem != "targets" {
        return None;
    }
    let told = scene.given.worked.told();
    let judged = scene.given.worked.results.judged.iter().filter(|judged| judged.block == number);
    let groups: Vec<charts::Group> = judged
        .zip(&report.requirements)
        .map(|(judged, row)| {
            let shares = told.contributors(judged.actual, MOST);
            let bars = shares.iter().map(|one| (one.words(), whole_percent(one.share), one.share));
            (row.label.clone(), bars.collect())
        })
        .filter(|(_, bars): &charts::Group| !bars.is_empty())
        .collect();
    (!groups.is_empty()).then(|| {
        let caption = "The inputs that move each target, by their share of its variance.";
        item(Piece::Figure { drawing: charts::shares(&groups), caption: Rich::plain(caption) })
    })
}

fn notes(report: &BlockReport) -> impl Iterator<Item = Item> {
    report
        .notes
        .iter()
        .map(|note| item(Piece::Paragraph { style: Style::Small, text: Rich(rich::set(note, Face::Plain)) }))
}

/// One line that leads to the cautions, which stand in full before the journal.
fn cautions(report: &BlockReport) -> impl Iterator<Item = Item> {
    report.cautions.iter().map(|caution| {
        item(Piece::CautionNote {
            high_voltage: *caution == Caution::HighVoltage,
            text: rich::join([
                rich::one(format!("{}.", caution.title()), Face::Strong),
                Rich::plain(" See "),
                rich::link("Cautions", "cautions"),
                Rich::plain(", before the journal."),
            ]),
        })
    })
}

/// A caution in its ruled box.
pub(super) fn caution_piece(caution: Caution) -> Piece {
    let mut lines: Vec<Rich> = caution.lines().iter().map(|line| Rich::plain(*line)).collect();
    lines.push(Rich::plain(NOT_AN_APPROVAL));
    Piece::Caution { high_voltage: caution == Caution::HighVoltage, title: caution.title().to_owned(), lines }
}

pub(super) fn column(head: &str, align: Align, share: u16) -> Column {
    Column { head: Rich::plain(head), align, share }
}
