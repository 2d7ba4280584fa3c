//! A worked block as an entry of the logbook: outcome, what was given, what came out, requirements, algebra last.

use super::super::charts;
use super::super::piece::{Align, Face, HeadlineFigure, Item, Piece, Rich, Row, Run, Style, Table, Target};
use super::cautions::before_block;
use super::given::{anchor, inputs, words};
use super::outcome::{NOTHING_LEFT, families, grid, results, whole_percent};
use super::rich::{self, block_id, column};
use super::{Scene, item, replaced};
use crate::blocks::TARGETS;
use crate::model::{Chart, Status, capital};
use crate::report::{BlockReport, Contributor, RequirementRow, spaced};
use crate::words;

/// All items of a block.
pub(super) fn block(scene: &Scene<'_>, number: usize) -> Vec<Item> {
    if let Some(items) = replaced::collapsed(scene, number) {
        return items;
    }
    let report = &scene.reports[number];
    let entry = &scene.given.worked.notebook.blocks[number];
    let place = scene.given.sources.place(entry.name_span);
    let file = scene.path(entry.name_span.file);
    // The caution before what it is about.
    let mut items: Vec<Item> = if report.worked { before_block(report).collect() } else { Vec::new() };
    items.push(Item {
        id: Some(block_id(&report.name)),
        log: vec![rich::one(format!("{file}, line {}", place.line), Face::Quiet)],
        piece: Piece::Opening {
            kind: report.kind.to_owned(),
            name: report.name.clone(),
            words: words(report),
            sentence: sentence(report),
        },
    });
    if report.worked {
        items.extend(headline(scene, report));
    }
    items.extend(inputs(report));
    if report.worked {
        items.extend(families(report));
        items.extend(report.tables.iter().map(grid));
        items.extend(results(scene, number));
        items.extend(requirements(scene, report.requirements.iter().map(|row| (row, 0)), Blocks::Own));
        items.extend(report.charts.iter().map(chart));
        items.extend(movers(scene, number));
        items.extend(replaced::history(scene, number));
        items.extend(notes(report));
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

/// How many results are set large.
const LARGE: usize = 3;

fn headline(scene: &Scene<'_>, report: &BlockReport) -> Option<Item> {
    let told = scene.given.worked.told();
    let figures: Vec<HeadlineFigure> = report
        .headline
        .iter()
        .filter(|global| told.node(**global).1.case.is_none())
        .take(LARGE)
        .filter_map(|global| {
            let (_, node) = told.node(*global);
            Some(HeadlineFigure {
                label: spaced(&capital(&node.label())),
                value: spaced(&told.shown(*global)?),
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

/// Requirements with their margin as a bar; the log says where each limit comes from. Each comes with the number of
/// others of its block that it stands for.
pub(super) fn requirements<'r>(
    scene: &Scene<'_>,
    rows: impl IntoIterator<Item = (&'r RequirementRow, usize)>,
    blocks: Blocks,
) -> Option<Item> {
    let (mut table_rows, mut reasons) = (Vec::new(), Vec::new());
    let mut above: &[String] = &[];
    let mut told: Vec<&RequirementRow> = Vec::new();
    for (row, alike) in rows {
        let same = blocks == Blocks::Own && above == row.conditions;
        let mut set = requirement_row(row, (blocks, same));
        above = &row.conditions;
        let mut why = if row.sure { Vec::new() } else { reason(scene, row) };
        let length = |rich: &Rich| rich.words().chars().count();
        let first = told
            .iter()
            .find(|known| blocks == Blocks::Own && told_alike(known, row))
            .map(|first| alike_to(first));
        match first {
            Some(first) if set.log.iter().map(length).sum::<usize>() > 2 * length(&first) => {
                set.log = vec![first];
                why.clear();
            }
            _ => told.push(row),
        }
        table_rows.push(set);
        if alike > 0 {
            why.push(rich::text(format!("; {alike} more of this block alike"), Face::Plain));
        }
        reasons.push(Rich(why));
    }
    (!table_rows.is_empty()).then(|| {
        let columns = vec![
            column("Requirement", Align::Left, 0),
            column("Actual", Align::Decimal, 0),
            column("Limit", Align::Left, 0),
            column("", Align::Left, 0),
            column("Margin", Align::Right, 0),
            column("Verdict", Align::Left, 0),
        ];
        let table = Table { columns, rows: table_rows, caption: None };
        item(Piece::Requirements { table, reasons })
    })
}

/// Whether the log says the same of both, and why their verdicts are not better.
fn told_alike(a: &RequirementRow, b: &RequirementRow) -> bool {
    let told = |row: &RequirementRow| (row.kind, row.status, row.sure);
    told(a) == told(b) && (&a.source, &a.conditions, &a.reason) == (&b.source, &b.conditions, &b.reason)
}

/// What the log says of a requirement of which an earlier one tells all: where a long clause stands once, a reader
/// sees that it is one.
fn alike_to(first: &RequirementRow) -> Rich {
    rich::one(format!("as for {}", first.label), Face::Quiet)
}

/// Conditions that are the same as above are not told again.
fn requirement_row(row: &RequirementRow, (blocks, same): (Blocks, bool)) -> Row {
    let name = match blocks {
        Blocks::Own => rich::label(&row.label),
        Blocks::Named => {
            rich::join([rich::label(&format!("{} ", row.label)), Rich(vec![rich::block(&row.block)])])
        }
    };
    let mut log = vec![rich::text(format!("{}: {}", row.kind.word(), row.source), Face::Plain)];
    // The first page says what is meant where nothing is said.
    let known = row.status != Status::Derived.word();
    log.extend(known.then(|| rich::text(format!("; {}", row.status), Face::Quiet)));
    match &row.conditions[..] {
        [] => {}
        _ if same => log.push(rich::text("; at the same", Face::Plain)),
        conditions => log.push(rich::text(format!("; at {}", conditions.join(", ")), Face::Plain)),
    }
    Row {
        id: None,
        cells: vec![
            name,
            rich::link(row.actual.clone(), anchor(&row.of)),
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
fn reason(scene: &Scene<'_>, row: &RequirementRow) -> Vec<Run> {
    let worked = scene.given.worked;
    let within = worked.notebook.blocks.iter().position(|block| block.name == row.block);
    let run = |run: &words::Run| match run {
        words::Run::Name(name) if name.contains('.') => {
            match worked.plan.find(&worked.notebook, name).zip(within) {
                Some((global, within)) => scene.said(global, within).0,
                None => vec![rich::name(name)],
            }
        }
        words::Run::Name(name) => vec![rich::name(name)],
        words::Run::Text(_) | words::Run::Value(_) => vec![rich::text(run.text(), Face::Plain)],
    };
    row.reason.runs().iter().flat_map(run).collect()
}

fn chart(chart: &Chart) -> Item {
    let (drawing, caption) = charts::draw(chart);
    item(Piece::Figure { drawing, caption: Rich::plain(caption) })
}

/// For each target, the inputs that move it, ordered.
fn movers(scene: &Scene<'_>, number: usize) -> Option<Item> {
    const MOST: usize = 3;
    let report = &scene.reports[number];
    if report.kind != TARGETS.name {
        return None;
    }
    let told = scene.given.worked.told();
    let judged = scene.given.worked.results.judged.iter().filter(|judged| judged.block == number);
    let groups: Vec<charts::Group> = judged
        .zip(&report.requirements)
        .map(|(judged, row)| {
            let shares = told.contributors(judged.actual, MOST);
            let bar = |one: &Contributor| (told.mover(one, number), whole_percent(one.share), one.share);
            let told = shares.iter().filter(|one| one.share.abs() >= NOTHING_LEFT);
            (spaced(&row.label), told.map(bar).collect())
        })
        .filter(|(_, bars): &charts::Group| !bars.is_empty())
        .collect();
    (!groups.is_empty()).then(|| {
        let caption = "The inputs that move each target, by their share of its variance.";
        item(Piece::Figure { drawing: charts::shares(&groups), caption: Rich::plain(caption) })
    })
}

/// Up to how many characters notes stand in one paragraph.
const NOTES_TOGETHER: usize = 480;

fn notes(report: &BlockReport) -> impl Iterator<Item = Item> {
    let small = |runs| item(Piece::Paragraph { style: Style::Small, text: Rich(runs) });
    let missing = report.missing.iter().map(|missing| rich::set(&missing.whole(), Face::Plain));
    // Short ones that are whole sentences stand in one paragraph; an author's words stand for themselves.
    let mut said: Vec<(usize, Vec<Run>)> = Vec::new();
    for note in &report.notes {
        let (length, runs) = (note.to_string().chars().count(), rich::set(note, Face::Plain));
        let whole = note.to_string().ends_with('.');
        match said.last_mut().filter(|(before, _)| whole && before + length <= NOTES_TOGETHER) {
            Some((before, paragraph)) => {
                *before += length;
                paragraph.push(rich::text(" ", Face::Plain));
                paragraph.extend(runs);
            }
            None => said.push((if whole { length } else { NOTES_TOGETHER }, runs)),
        }
    }
    missing.chain(said.into_iter().map(|(_, runs)| runs)).map(small)
}
