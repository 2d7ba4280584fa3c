//! What a block gives: each result with its uncertainty, what it rests on, and what its draws say.

use super::super::piece::{Align, Face, Item, Member, Piece, Rich, Row, Run, Table, WorkedLine, Working};
use super::documents::{documents, source_of};
use super::given::anchor;
use super::rich::column;
use super::{Scene, item, rich};
use crate::model::{Grid, capital};
use crate::report::{BlockReport, FamilyColumn, FamilyTable, Nature, ResultRow, spaced};

/// Results over a list: a case in each row, each value leading to where it was worked.
pub(super) fn families(report: &BlockReport) -> Vec<Item> {
    let parted = |table: &FamilyTable| {
        // As many to each part, so that none is left alone.
        let parts = table.columns.len().div_ceil(ABREAST).max(1);
        let size = table.columns.len().div_ceil(parts).max(1);
        table.columns.chunks(size).map(|columns| family((report, table), columns)).collect::<Vec<Item>>()
    };
    report.families.iter().flat_map(parted).collect()
}

/// How many values with their units stand beside each other on paper and screen.
const ABREAST: usize = 8;

fn family((report, table): (&BlockReport, &FamilyTable), of: &[FamilyColumn]) -> Item {
    let mut columns = vec![column(table.family.label, Align::Left, 4)];
    columns.extend(of.iter().map(|of| column(&capital(of.label), Align::Decimal, 3)));
    let rows = table.cases.iter().enumerate().map(|(at, case)| {
        let cell = |of: &FamilyColumn| match of.cells[at].map(|at| &report.results[at]) {
            Some(result) => {
                let id = anchor(&format!("{}.{}", report.name, result.name));
                rich::link(result.full.clone(), id)
            }
            None => Rich::plain("—"),
        };
        let cells = std::iter::once(rich::label(&case.title)).chain(of.iter().map(cell));
        Row { id: None, cells: cells.collect(), log: Vec::new(), strong: false }
    });
    let rows = rows.collect();
    item(Piece::Table(Table { columns, rows, caption: None }))
}

/// A table of words: the first columns are names.
pub(super) fn grid(table: &Grid) -> Item {
    let columns = table.head.iter().map(|head| column(head, Align::Left, 3)).collect();
    let row = |cells: &Vec<String>| Row {
        id: None,
        cells: cells.iter().map(|cell| rich::label(cell)).collect(),
        log: Vec::new(),
        strong: false,
    };
    item(Piece::Table(Table { columns, rows: table.rows.iter().map(row).collect(), caption: None }))
}

/// Values with their expanded uncertainty apart, so that both line up, and what each was worked from; of what stands
/// in the table of a family the working alone.
pub(super) fn results(scene: &Scene<'_>, number: usize) -> Option<Item> {
    let report = &scene.reports[number];
    if report.results.is_empty() {
        return None;
    }
    let (members, own): (Vec<&ResultRow>, Vec<&ResultRow>) =
        report.results.iter().partition(|result| in_family(report, result));
    let spread = own.iter().any(|result| result.expanded.is_some());
    let rows: Vec<Row> = own.iter().map(|result| result_row((scene, number), result, spread)).collect();
    let mut columns = vec![column("Result", Align::Left, 5), column("Value", Align::Decimal, 4)];
    if spread {
        columns.push(column("± (k = 2)", Align::Decimal, 3));
    }
    if rows.is_empty() {
        columns = vec![column("Working", Align::Left, 1)];
    }
    let workings = own.iter().map(|result| working(report, result)).collect();
    let lines = worked_lines((scene, number));
    let members: Vec<Member> = members
        .into_iter()
        .map(|result| Member {
            id: Some(format!("{}.{}", report.name, result.name)),
            label: rich::label(&result.label),
            working: working(report, result),
            log: grounds((scene, number), result),
        })
        .collect();
    let count = members.len();
    let summary = format!("Working of the {count} value{} above", if count == 1 { "" } else { "s" });
    let table = Table { columns, rows, caption: None };
    let calculated = Nature::Calculated.word();
    let calculated = rich::one(format!("{calculated}; weakest basis, movers"), Face::Quiet);
    let piece = Piece::Results { summary, table, workings, members, lines };
    Some(Item { id: None, log: vec![calculated], piece })
}

/// The workings of the values in tables of families, those of one column and one formula in one line: the formula
/// without the cases' names, then for each case its numbers and what came out.
fn worked_lines((scene, number): (&Scene<'_>, usize)) -> Vec<WorkedLine> {
    let report = &scene.reports[number];
    let mut lines: Vec<WorkedLine> = Vec::new();
    for (table, column) in
        report.families.iter().flat_map(|table| table.columns.iter().map(move |of| (table, of)))
    {
        // Formula without the case and as it stands, then the results and what is said of each case.
        let mut told: Vec<([String; 2], Vec<&ResultRow>, Vec<Run>)> = Vec::new();
        for (case, at) in table.cases.iter().zip(&column.cells) {
            let Some(result) = at.map(|at| &report.results[at]) else { continue };
            let (formula, numbers) = match result.working.rsplit_once(" = ") {
                Some((formula, numbers)) => (formula, Some(numbers)),
                None => (result.working.as_str(), None),
            };
            let formula = summed(report, formula).unwrap_or_else(|| formula.to_owned());
            let formula = formula.replace(&format!(", {}", case.title), "");
            let of_all = match numbers {
                Some(_) => without_case(&formula, &case.title),
                None => formula.clone(),
            };
            if !told.iter().any(|(known, ..)| known[0] == of_all) {
                told.push(([of_all.clone(), formula], Vec::new(), Vec::new()));
            }
            let Some((_, results, said)) = told.iter_mut().find(|(known, ..)| known[0] == of_all) else {
                continue;
            };
            results.push(result);
            // Of a method without numbers the table says all.
            let Some(numbers) = numbers else { continue };
            if !said.is_empty() {
                said.push(rich::text("; ", Face::Plain));
            }
            said.push(rich::text(format!("{} ", spaced(&case.title)), Face::Quiet));
            said.push(rich::text(spaced(&format!("{numbers} = {}", result.full)), Face::Plain));
        }
        for ([of_all, own], results, said) in told {
            // Of one case alone nothing is to be left out.
            let formula = if results.len() > 1 { of_all } else { own };
            let mut ids: Vec<String> =
                results.iter().map(|result| format!("{}.{}", report.name, result.name)).collect();
            if let Some(above) = lines.last_mut().filter(|_| formula.is_empty() && said.is_empty()) {
                // Of what has no working there is nothing to tell.
                above.ids.append(&mut ids);
                continue;
            }
            let mut text = vec![rich::text(spaced(column.label), Face::Strong)];
            if !formula.is_empty() {
                text.push(rich::text(format!(" = {}", spaced(&formula)), Face::Plain));
            }
            text.push(rich::text(if said.is_empty() { "." } else { ". " }, Face::Plain));
            text.extend(said);
            if let Some(first) = results.iter().find(|result| told_of((scene, number), result)) {
                text.extend(rests_on((scene, number), &first.name, " Rests on "));
            }
            lines.push(WorkedLine { ids, text: Rich(text) });
        }
    }
    lines
}

/// A formula without the name of the case at the end of a name: the ratios of first and of second gear are ratios.
fn without_case(formula: &str, case: &str) -> String {
    // Of `80 km/h` a list's entry has the number alone in its name.
    let number = case.split([' ', '\u{a0}']).next().filter(|word| word.parse::<f64>().is_ok());
    let mut formula = formula.to_owned();
    let titles = [case.to_owned(), case.replace(' ', "\u{a0}"), case.replace('\u{a0}', " ")];
    for title in titles.iter().map(String::as_str).chain(number) {
        let sought = format!(" {title}");
        let mut from = 0;
        while let Some(at) = formula[from..].find(&sought).map(|at| from + at) {
            let (before, after) = (&formula[..at], &formula[at + sought.len()..]);
            let of_a_name = before.ends_with(char::is_alphabetic);
            let at_its_end = match after.strip_prefix(' ') {
                Some(next) => !next.starts_with(char::is_alphanumeric),
                None => after.is_empty() || after.starts_with([')', ',']),
            };
            from = at;
            if of_a_name && at_its_end {
                formula.replace_range(at..at + sought.len(), "");
            } else {
                from += sought.len();
            }
        }
    }
    formula
}

/// Whether a result stands in a table of its family.
fn in_family(report: &BlockReport, result: &ResultRow) -> bool {
    let columns = report.families.iter().flat_map(|table| &table.columns);
    let mut cells = columns.flat_map(|column| column.cells.iter().flatten());
    cells.any(|at| std::ptr::eq(&report.results[*at], result))
}

fn working(report: &BlockReport, result: &ResultRow) -> Working {
    let from = match result.working.rsplit_once(" = ") {
        _ if result.working.is_empty() => Rich::default(),
        Some((formula, numbers)) => {
            let formula = summed(report, formula).unwrap_or_else(|| formula.to_owned());
            rich::label(&format!("{formula} = {numbers}"))
        }
        None => rich::label(&result.working),
    };
    Working { from, result: rich::label(&result.full) }
}

/// From how many terms on a sum over the items of a list is told as one.
const TERMS: usize = 4;

/// A sum whose terms differ in nothing but the item of a list that they are of.
fn summed(report: &BlockReport, formula: &str) -> Option<String> {
    let terms: Vec<&str> = formula.split(" + ").collect();
    if terms.len() < TERMS {
        return None;
    }
    let mut items: Vec<(&str, String)> = Vec::new();
    for input in &report.inputs {
        let Some((list, title)) = input.name.split_once('.').zip(input.item.as_deref()) else { continue };
        let start = format!("{title} ");
        if !items.iter().any(|(_, known)| *known == start) {
            items.push((list.0, start));
        }
    }
    let parted = |term: &str| {
        let of = items.iter().filter(|(_, start)| term.starts_with(start.as_str()));
        let (list, start) = of.max_by_key(|(_, start)| start.len())?;
        let bare: Vec<&str> =
            term.split(" × ").map(|part| part.strip_prefix(start.as_str()).unwrap_or(part)).collect();
        Some((*list, bare.join(" × ")))
    };
    let (list, term) = parted(terms[0])?;
    let alike = terms.iter().all(|other| parted(other).is_some_and(|(_, bare)| bare == term));
    alike.then(|| format!("sum of {term} over the {} items of {}", terms.len(), list.replace('_', " ")))
}

fn result_row((scene, number): (&Scene<'_>, usize), result: &ResultRow, spread: bool) -> Row {
    let report = &scene.reports[number];
    let mut cells = vec![rich::label(&result.label), rich::label(&result.shown)];
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
        log: grounds((scene, number), result),
        strong: false,
    }
}

/// Below this nothing is left of a share that is printed without decimals.
pub(super) const NOTHING_LEFT: f64 = 0.005;

/// From this share of the variance on no further input is named, and never more than two: `trace` and the register have
/// them all.
const MOST_OF_IT: f64 = 0.5;

/// The weakest basis under a result, and the inputs that move it most; those of its own block by their short names.
fn grounds((scene, number): (&Scene<'_>, usize), result: &ResultRow) -> Vec<Rich> {
    let mut words: Vec<Run> =
        result.weakest.map(|basis| rich::text(basis.word(), Face::Quiet)).into_iter().collect();
    let (mut told, mut sourced) = (0.0, false);
    for one in result.contributors.iter().take(2) {
        if told >= MOST_OF_IT || one.share.abs() < NOTHING_LEFT {
            break;
        }
        told += one.share;
        sourced |= source_of(scene.given.worked, one.global).is_some();
        if !words.is_empty() {
            words.push(rich::text(", ", Face::Quiet));
        }
        words.extend(scene.mover(one, number).0);
        words.push(rich::text(format!("\u{a0}{}", whole_percent(one.share)), Face::Quiet));
    }
    // From there a reader comes no further: the documents under all that it rests on.
    if !sourced && told_of((scene, number), result) {
        words.extend(rests_on((scene, number), &result.name, "; "));
    }
    let mut lines = if words.is_empty() { Vec::new() } else { vec![Rich(words)] };
    lines.extend(result.drawn.iter().map(|drawn| rich::one(format!("draws: {drawn}"), Face::Quiet)));
    lines
}

/// Whether anything is required of a result, or it stands for its block.
fn told_of((scene, number): (&Scene<'_>, usize), result: &ResultRow) -> bool {
    let name = format!("{}.{}", scene.reports[number].name, result.name);
    let mut required = scene.reports.iter().flat_map(|report| &report.requirements);
    result.row.is_some_and(|row| row.principal) || required.any(|row| row.of == name)
}

/// The documents that a result rests on, if any.
fn rests_on((scene, number): (&Scene<'_>, usize), name: &str, before: &str) -> Vec<Run> {
    let worked = scene.given.worked;
    let global = worked.plan.find(&worked.notebook, &format!("{}.{name}", scene.reports[number].name));
    let named = global.map(|global| documents(scene, [global].into_iter()).0).unwrap_or_default();
    match named.is_empty() {
        true => Vec::new(),
        false => std::iter::once(rich::text(before, Face::Quiet)).chain(named).collect(),
    }
}

/// A share of variance without decimals.
pub(super) fn whole_percent(share: f64) -> String {
    format!("{:.0}\u{a0}%", share * 100.0).replace('-', "−")
}

#[cfg(test)]
mod tests {
    use super::without_case;

    #[track_caller]
    fn check(formula: &str, case: &str, expected: &str) {
        assert_eq!(without_case(formula, case), expected);
    }

    #[test]
    fn a_formula_of_several_cases_is_told_without_their_names() {
        check("axle ratio × box ratios first", "first", "axle ratio × box ratios");
        check("(grade speeds 12\u{a0}km/h + headwind) / 2", "12 km/h", "(grade speeds + headwind) / 2");
        check("cells × curve(shares 20)", "20 %", "cells × curve(shares)");
    }

    #[test]
    fn a_name_that_only_holds_the_case_keeps_it() {
        check("speed at the first limit × 2", "first", "speed at the first limit × 2");
        check("mass × 20", "20 %", "mass × 20");
        check("ratios first gear", "first", "ratios first gear");
    }
}
