//! What a block gives: each result with its uncertainty, what it rests on, and what its draws say.

use super::super::piece::{Align, Face, Item, Piece, Rich, Row, Run, Table, Working};
use super::block::column;
use super::given::anchor;
use super::{item, rich};
use crate::model::capital;
use crate::report::{BlockReport, FamilyColumn, FamilyTable, Nature, ResultRow};

/// Results over a list: a case in each row, each value leading to where it was worked.
pub(super) fn families(report: &BlockReport) -> Vec<Item> {
    report.families.iter().map(|table| family(report, table)).collect()
}

fn family(report: &BlockReport, table: &FamilyTable) -> Item {
    let mut columns = vec![column(table.family.label, Align::Left, 4)];
    columns.extend(table.columns.iter().map(|of| column(&capital(of.label), Align::Decimal, 3)));
    let rows = table.cases.iter().enumerate().map(|(at, case)| {
        let cell = |of: &FamilyColumn| match of.cells[at].map(|at| &report.results[at]) {
            Some(result) => {
                let id = anchor(&format!("{}.{}", report.name, result.name));
                rich::link(result.shown.clone(), id)
            }
            None => Rich::default(),
        };
        let cells = std::iter::once(Rich::plain(case.title.clone())).chain(table.columns.iter().map(cell));
        Row { id: None, cells: cells.collect(), log: Vec::new(), strong: false }
    });
    let rows = rows.collect();
    item(Piece::Table(Table { columns, rows, caption: None }))
}

/// Values with their expanded uncertainty apart, so that both line up, and what each was worked from.
pub(super) fn results(report: &BlockReport) -> Option<Item> {
    let spread = report.results.iter().any(|result| result.expanded.is_some());
    let rows: Vec<Row> = report.results.iter().map(|result| result_row(report, result, spread)).collect();
    if rows.is_empty() {
        return None;
    }
    let mut columns = vec![column("Result", Align::Left, 5), column("Value", Align::Decimal, 4)];
    if spread {
        columns.push(column("± (k = 2)", Align::Decimal, 3));
    }
    let workings: Vec<Working> = report
        .results
        .iter()
        .map(|result| Working {
            from: if result.working.is_empty() {
                Rich::default()
            } else {
                Rich::plain(result.working.clone())
            },
            result: Rich::plain(result.full.clone()),
        })
        .collect();
    let worked = workings.iter().filter(|working| !working.from.is_empty()).count();
    let summary = format!("Working of {worked} result{}", if worked == 1 { "" } else { "s" });
    let table = Table { columns, rows, caption: None };
    let calculated = Nature::Calculated.word();
    let calculated = rich::one(format!("{calculated}; the weakest basis, and what moves it"), Face::Quiet);
    Some(Item { id: None, log: vec![calculated], piece: Piece::Results { summary, table, workings } })
}

fn result_row(report: &BlockReport, result: &ResultRow, spread: bool) -> Row {
    let mut cells = vec![Rich::plain(result.label.clone()), Rich::plain(result.shown.clone())];
    if spread {
        cells.push(
            result
                .expanded
                .as_ref()
                .map_or_else(Rich::default, |width| Rich::plain(format!("±\u{a0}{width}"))),
        );
    }
    Row {
        id: Some(format!("{}.{}", report.name, result.name)),
        cells,
        log: grounds(report, result),
        strong: false,
    }
}

/// The weakest basis under a result, and the inputs that move it most; those of its own block by their short names.
fn grounds(report: &BlockReport, result: &ResultRow) -> Vec<Rich> {
    let mut words: Vec<Run> =
        result.weakest.map(|basis| rich::text(basis.word(), Face::Quiet)).into_iter().collect();
    // Below half a percent nothing is left of a share that is printed without decimals.
    for one in result.contributors.iter().filter(|one| one.share.abs() >= 0.005) {
        if !words.is_empty() {
            words.push(rich::text(", ", Face::Quiet));
        }
        let name = one.words();
        words.extend(rich::link(short(&name, &report.name), anchor(&one.name)).0);
        words.push(rich::text(format!("\u{a0}{}", whole_percent(one.share)), Face::Quiet));
    }
    let mut lines = if words.is_empty() { Vec::new() } else { vec![Rich(words)] };
    lines.extend(result.drawn.iter().map(|drawn| rich::one(format!("draws: {drawn}"), Face::Quiet)));
    lines
}

/// A full name as it is said within a block: without the block's own name.
pub(super) fn short<'n>(name: &'n str, block: &str) -> &'n str {
    name.strip_prefix(block).and_then(|rest| rest.strip_prefix('.')).unwrap_or(name)
}

/// A share of variance without decimals.
pub(super) fn whole_percent(share: f64) -> String {
    format!("{:.0}\u{a0}%", share * 100.0).replace('-', "−")
}
