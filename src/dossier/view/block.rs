//! A worked block as an entry of the logbook: outcome, what was given, what came out, requirements, algebra last.

use super::super::charts;
use super::super::piece::{
    Align, Column, Face, HeadlineFigure, Item, Piece, Rich, Row, Run, Style, Table, Target,
};
use super::rich::{self, block_id};
use super::{Scene, item};
use crate::model::{Chart, NOT_AN_APPROVAL, capital};
use crate::report::{BlockReport, InputRow, RequirementRow, ResultRow};

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
            sentence: sentence(report),
        },
    }];
    if report.worked {
        items.extend(headline(scene, report));
    }
    items.extend(inputs(report));
    if report.worked {
        items.extend(results(report));
        items.extend(requirements(&report.requirements, Blocks::Own));
        items.extend(report.charts.iter().map(chart));
        items.extend(movers(scene, number));
        items.extend(notes(report));
        items.extend(working(report));
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
    rich::join([rich::one(bold.clone(), Face::Strong), Rich::plain(rest.clone())])
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

/// Words in one line, then the values as a table. An item's own words stand there
/// only where the names of its values don't show them.
fn inputs(report: &BlockReport) -> Vec<Item> {
    let (words, values): (Vec<&InputRow>, Vec<&InputRow>) =
        report.inputs.iter().partition(|input| input.text);
    let mut items = Vec::new();
    let mut line = Vec::new();
    for input in words {
        let names_an_item = input.name.ends_with(".name") || input.name.ends_with(".item");
        if names_an_item && input.label.contains(&input.shown) {
            continue;
        }
        if !line.is_empty() {
            line.push(rich::text("; ", Face::Quiet));
        }
        line.push(rich::text(format!("{} ", input.label), Face::Quiet));
        line.extend(rich::one(input.shown.clone(), Face::Plain).0);
    }
    if !line.is_empty() {
        items.push(item(Piece::Paragraph { style: Style::Small, text: Rich(line) }));
    }
    let (listed, single): (Vec<&InputRow>, Vec<&InputRow>) =
        values.into_iter().partition(|input| item_of(&input.name).is_some());
    if !single.is_empty() {
        items.push(item(Piece::Table(Table {
            columns: vec![column("Given", Align::Left, 5), column("Value", Align::Decimal, 5)],
            rows: single.into_iter().map(|input| input_row(report, input)).collect(),
            caption: None,
        })));
    }
    items.extend(lists(report, &listed));
    items
}

/// `list.item.field` parted, for values that belong to an item of a list.
fn item_of(name: &str) -> Option<(&str, &str, &str)> {
    let (list, rest) = name.split_once('.')?;
    let (item, field) = rest.split_once('.')?;
    Some((list, item, field))
}

/// The id of a value's row: those of a list's item stand in one row.
pub(super) fn anchor(full_name: &str) -> String {
    match full_name.split_once('.').and_then(|(block, name)| Some((block, item_of(name)?))) {
        Some((block, (list, item, _))) => format!("{block}.{list}.{item}"),
        None => full_name.to_owned(),
    }
}

/// One table for each list: an item in each row, its fields in columns.
fn lists(report: &BlockReport, inputs: &[&InputRow]) -> Vec<Item> {
    let mut lists: Vec<&str> = Vec::new();
    for (list, _, _) in inputs.iter().filter_map(|input| item_of(&input.name)) {
        if !lists.contains(&list) {
            lists.push(list);
        }
    }
    lists.into_iter().map(|list| list_table(report, inputs, list)).collect()
}

fn list_table(report: &BlockReport, inputs: &[&InputRow], list: &str) -> Item {
    let mut fields: Vec<&str> = Vec::new();
    let mut names: Vec<&str> = Vec::new();
    for (of, item, field) in inputs.iter().filter_map(|input| item_of(&input.name)) {
        if of == list {
            if !fields.contains(&field) {
                fields.push(field);
            }
            if !names.contains(&item) {
                names.push(item);
            }
        }
    }
    let rows = names.iter().map(|name| {
        let of_item: Vec<&&InputRow> = inputs
            .iter()
            .filter(|input| item_of(&input.name).is_some_and(|(of, item, _)| of == list && item == *name))
            .collect();
        let mut cells = vec![Rich::plain(name.replace('_', " "))];
        for field in &fields {
            let value =
                of_item.iter().find(|input| item_of(&input.name).is_some_and(|(_, _, own)| own == *field));
            cells.push(value.map_or_else(Rich::default, |input| Rich::plain(input.shown.clone())));
        }
        // The same basis for several fields is said once.
        let mut log: Vec<Rich> = Vec::new();
        for line in of_item.iter().flat_map(|input| basis(input)) {
            if !log.contains(&line) {
                log.push(line);
            }
        }
        Row { id: Some(format!("{}.{list}.{name}", report.name)), cells, log, strong: false }
    });
    let rows = rows.collect();
    let mut columns = vec![column(&capital(&list.replace('_', " ")), Align::Left, 4)];
    let heads = fields.iter().map(|field| column(&field.replace(['_', '.'], " "), Align::Decimal, 3));
    columns.extend(heads);
    item(Piece::Table(Table { columns, rows, caption: None }))
}

fn input_row(report: &BlockReport, input: &InputRow) -> Row {
    Row {
        id: Some(format!("{}.{}", report.name, input.name)),
        cells: vec![Rich::plain(input.label.clone()), Rich::plain(input.shown.clone())],
        log: basis(input),
        strong: false,
    }
}

/// Basis and source of an input, or where it is taken from.
fn basis(input: &InputRow) -> Vec<Rich> {
    let mut lines = Vec::new();
    if let Some(from) = &input.from {
        lines.push(rich::join([Rich::plain("from "), rich::link(from.clone(), anchor(from))]));
    } else if !input.basis.is_empty() {
        let basis = if input.assumed { "assumed, a default".to_owned() } else { input.basis.to_owned() };
        let mut line = vec![rich::one(basis, Face::Plain)];
        if let Some(source) = &input.source {
            line.push(Rich::plain(" "));
            line.push(rich::link(source.clone(), source_id(source)));
        }
        lines.push(rich::join(line));
    }
    if let Some(remark) = &input.remark {
        lines.push(rich::one(remark.clone(), Face::Quiet));
    }
    lines
}

/// The id of a source's row.
pub(super) fn source_id(source: &str) -> String {
    let safe: String = source
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || matches!(c, '-' | '.' | '_') { c } else { '_' })
        .collect();
    format!("source.{safe}")
}

/// Values with their expanded uncertainty apart, so that both line up.
fn results(report: &BlockReport) -> Option<Item> {
    let spread = report.results.iter().any(|result| result.expanded.is_some());
    let rows: Vec<Row> = report.results.iter().map(|result| result_row(report, result, spread)).collect();
    (!rows.is_empty()).then(|| {
        let mut columns = vec![column("Result", Align::Left, 5), column("Value", Align::Decimal, 4)];
        if spread {
            columns.push(column("± (k = 2)", Align::Decimal, 3));
        }
        item(Piece::Table(Table { columns, rows, caption: None }))
    })
}

fn result_row(report: &BlockReport, result: &ResultRow, spread: bool) -> Row {
    let id = format!("{}.{}", report.name, result.name);
    let label = if result.working.is_empty() {
        Rich::plain(result.label.clone())
    } else {
        rich::link(result.label.clone(), id.clone())
    };
    let mut cells = vec![label, Rich::plain(result.shown.clone())];
    if spread {
        cells.push(
            result
                .expanded
                .as_ref()
                .map_or_else(Rich::default, |width| Rich::plain(format!("±\u{a0}{width}"))),
        );
    }
    Row {
        // Where there is a working, that is the place to land on.
        id: result.working.is_empty().then_some(id),
        cells,
        log: grounds(result),
        strong: false,
    }
}

/// What kind of statement a result is, the weakest basis under it, and the inputs that move it most.
fn grounds(result: &ResultRow) -> Vec<Rich> {
    let mut line = result.nature.word().to_owned();
    if let Some(basis) = result.weakest {
        line = format!("{line}, rests on {}", basis.word());
    }
    let mut lines = vec![rich::one(line, Face::Quiet)];
    if !result.contributors.is_empty() {
        let mut words = vec![rich::text("moved by ", Face::Quiet)];
        for (at, (name, share)) in result.contributors.iter().enumerate() {
            if at > 0 {
                words.push(rich::text(", ", Face::Quiet));
            }
            words.extend(rich::link(name.clone(), anchor(name)).0);
            words.push(rich::text(format!("\u{a0}{}", whole_percent(*share)), Face::Quiet));
        }
        lines.push(Rich(words));
    }
    lines
}

/// A share of variance without decimals.
fn whole_percent(share: f64) -> String {
    format!("{:.0}\u{a0}%", share * 100.0).replace('-', "−")
}

/// Whether a table of requirements names the block of each.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Blocks {
    Own,
    Named,
}

/// Requirements with their margin as a bar; the log says where each limit comes from.
pub(super) fn requirements(rows: &[RequirementRow], blocks: Blocks) -> Option<Item> {
    let rows: Vec<Row> = rows.iter().map(|row| requirement_row(row, blocks)).collect();
    (!rows.is_empty()).then(|| {
        item(Piece::Table(Table {
            columns: vec![
                column("Requirement", Align::Left, 4),
                column("Actual", Align::Decimal, 3),
                column("Limit", Align::Left, 4),
                column("", Align::Left, 2),
                column("Margin", Align::Right, 2),
                column("Verdict", Align::Left, 2),
            ],
            rows,
            caption: None,
        }))
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
        log: vec![
            rich::one(format!("{}: {}", row.kind.word(), row.source), Face::Plain),
            rich::one(
                if row.reason.is_empty() {
                    row.status.to_owned()
                } else {
                    format!("{}; {}", row.status, row.reason)
                },
                Face::Quiet,
            ),
        ],
        strong: false,
    }
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
    let groups: Vec<(String, Vec<(String, String, f64)>)> = judged
        .zip(&report.requirements)
        .map(|(judged, row)| {
            let shares = told.contributors(judged.actual, MOST);
            let bars = shares.into_iter().map(|(name, share)| (name, whole_percent(share), share));
            (row.label.clone(), bars.collect())
        })
        .filter(|(_, bars): &(String, Vec<_>)| !bars.is_empty())
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
        .map(|note| item(Piece::Paragraph { style: Style::Small, text: Rich::plain(note.clone()) }))
}

fn working(report: &BlockReport) -> Option<Item> {
    let rows: Vec<Row> = report
        .results
        .iter()
        .filter(|result| !result.working.is_empty())
        .map(|result| Row {
            id: Some(format!("{}.{}", report.name, result.name)),
            cells: vec![
                Rich::plain(result.label.clone()),
                Rich::plain(format!("{} = {}", result.working, result.full)),
            ],
            log: Vec::new(),
            strong: false,
        })
        .collect();
    (!rows.is_empty()).then(|| {
        let n = rows.len();
        item(Piece::Working {
            summary: format!("Working of {n} result{}", if n == 1 { "" } else { "s" }),
            table: Table {
                columns: vec![column("Result", Align::Left, 2), column("Working", Align::Left, 7)],
                rows,
                caption: None,
            },
        })
    })
}

fn cautions(report: &BlockReport) -> impl Iterator<Item = Item> {
    report.cautions.iter().map(|caution| item(caution_piece(*caution)))
}

/// A caution in its ruled box.
pub(super) fn caution_piece(caution: crate::model::Caution) -> Piece {
    let mut lines: Vec<Rich> = caution.lines().iter().map(|line| Rich::plain(*line)).collect();
    lines.push(Rich::plain(NOT_AN_APPROVAL));
    Piece::Caution {
        high_voltage: caution == crate::model::Caution::HighVoltage,
        title: caution.title().to_owned(),
        lines,
    }
}

pub(super) fn column(head: &str, align: Align, share: u16) -> Column {
    Column { head: Rich::plain(head), align, share }
}
