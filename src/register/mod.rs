//! The register: every finding, requirement and result of a journal, for programs to read.

mod asked;
mod earlier;

pub(crate) use earlier::{judged_of, results_of, set_of};

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::Value;

use self::asked::{ItemEntry, OpenEntry, RescueEntry, item, open_entry, rescue_entry};
use crate::evaluate::{Doubt, Verdict};
use crate::findings::{Finding, is_hidden};
use crate::model::{Grid, Origin, Role, Stage};
use crate::report::{Extent, FamilyColumn, Nature, Told};
use crate::source::Sources;

#[derive(Serialize)]
pub(crate) struct Register {
    /// What every journal of a vehicle is asked about, then the items of its rule packs.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    coverage: Vec<ItemEntry>,
    /// Results over lists, by `block.family`.
    families: BTreeMap<String, FamilyEntry>,
    findings: Vec<FindingEntry>,
    journal: String,
    /// What is open, what would fail an inspection first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    open_items: Vec<OpenEntry>,
    requirements: Vec<RequirementEntry>,
    /// The sheets for rescue crews.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    rescue: Vec<RescueEntry>,
    results: BTreeMap<String, ResultEntry>,
    revision: Option<String>,
    /// The SHA-256 of each file that was written beside this one, by name; none where no dossier was.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    set: BTreeMap<String, String>,
    stale: Vec<String>,
    /// Tables of words that a block says beside its results, by its name.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    tables: BTreeMap<String, Vec<TableEntry>>,
}

/// A table of words, as it is printed.
#[derive(Serialize)]
struct TableEntry {
    head: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// A table with a row for each case.
#[derive(Serialize)]
struct FamilyEntry {
    cases: Vec<String>,
    /// The names of the results of each case, in the order of the cases; null where a case has none.
    columns: BTreeMap<String, Vec<Option<String>>>,
}

#[derive(Serialize)]
struct FindingEntry {
    block: String,
    code: &'static str,
    column: Option<usize>,
    file: Option<String>,
    help: String,
    line: Option<usize>,
    message: String,
    severity: &'static str,
}

#[derive(Serialize)]
struct RequirementEntry {
    #[serde(skip_serializing_if = "Option::is_none")]
    actual_si: Option<f64>,
    /// The conditions that it is judged at.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    at: Vec<String>,
    block: String,
    /// Of what is `close`: which doubt.
    #[serde(skip_serializing_if = "Option::is_none")]
    close: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    conformity: Option<f64>,
    /// Of what is `open`: the stage at which what is missing is due.
    #[serde(skip_serializing_if = "Option::is_none")]
    due: Option<&'static str>,
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit_high_si: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit_low_si: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    margin: Option<f64>,
    name: String,
    reason: String,
    source: String,
    status: &'static str,
    verdict: &'static str,
    /// Of what is `open`: whether it is due at the journal's stage.
    #[serde(skip_serializing_if = "Option::is_none")]
    yet: Option<bool>,
}

#[derive(Serialize)]
struct DrawnEntry {
    draws: usize,
    high_si: f64,
    low_si: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    mean_si: Option<f64>,
    /// Left out where few readings leave none.
    #[serde(skip_serializing_if = "Option::is_none")]
    uncertainty_si: Option<f64>,
}

#[derive(Serialize, Default)]
struct ResultEntry {
    basis: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    monte_carlo: Option<DrawnEntry>,
    shown: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    si: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    si_unit: Option<String>,
    /// The document of a value of the rules, and how well it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    source: Option<String>,
    /// Nobody wrote its tolerance.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    supposed: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    uncertainty_si: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    value: Option<f64>,
}

/// Gathers the register. `stale` names the files whose results are not as worked.
pub(crate) fn register(
    told: Told<'_>,
    title: &str,
    stale: Vec<String>,
    findings: (&[Finding], &Sources),
) -> Register {
    let (found, sources) = findings;
    let coverage = told.coverage();
    Register {
        coverage: coverage.iter().flat_map(|coverage| coverage.rows()).map(item).collect(),
        open_items: told.open_items(coverage.as_ref()).iter().map(|open| open_entry(open, sources)).collect(),
        families: families(told),
        findings: found.iter().map(|finding| entry(finding, sources, &told.notebook.titles)).collect(),
        journal: title.to_owned(),
        requirements: requirements(told),
        rescue: told.rescue().into_iter().map(rescue_entry).collect(),
        results: results(told),
        revision: told.notebook.front.revision.clone(),
        set: BTreeMap::new(),
        stale,
        tables: tables(told),
    }
}

impl Register {
    /// With the marks of the files that it stands beside.
    pub(crate) fn beside(self, set: BTreeMap<String, String>) -> Register {
        Register { set, ..self }
    }

    /// Pretty JSON with a final line end.
    pub(crate) fn json(&self) -> String {
        json(self)
    }
}

/// Pretty JSON with sorted keys and a final line end; a zero has no sign. What a terminal would obey or hide is
/// written by its number.
pub(crate) fn json(value: &impl Serialize) -> String {
    let mut value = serde_json::to_value(value).unwrap_or_default();
    unsigned_zeros(&mut value);
    let mut text = serde_json::to_string_pretty(&value).unwrap_or_default();
    text.push('\n');
    if !text.contains(|c| is_hidden(c) && c != '\n') {
        return text;
    }
    let mut seen = String::with_capacity(text.len());
    for c in text.chars() {
        if is_hidden(c) && c != '\n' {
            let mut units = [0; 2];
            seen.extend(c.encode_utf16(&mut units).iter().map(|unit| format!("\\u{unit:04x}")));
        } else {
            seen.push(c);
        }
    }
    seen
}

/// Whether a zero is negative depends on how the program was built, and means nothing.
fn unsigned_zeros(value: &mut Value) {
    match value {
        Value::Number(number) if number.as_f64() == Some(0.0) && number.is_f64() => *value = Value::from(0.0),
        Value::Array(items) => items.iter_mut().for_each(unsigned_zeros),
        Value::Object(entries) => entries.values_mut().for_each(unsigned_zeros),
        _ => {}
    }
}

fn entry(finding: &Finding, sources: &Sources, titles: &[String]) -> FindingEntry {
    let place = finding.span.map(|span| sources.place(span));
    FindingEntry {
        block: finding.title(titles).to_owned(),
        code: finding.code.name,
        column: place.map(|place| place.column),
        file: finding.span.map(|span| sources.get(span.file).path.clone()),
        help: plain(&finding.help.to_string()),
        line: place.map(|place| place.line),
        message: plain(&finding.message.to_string()),
        severity: finding.code.severity.word(),
    }
}

fn families(told: Told<'_>) -> BTreeMap<String, FamilyEntry> {
    let mut entries = BTreeMap::new();
    for number in 0..told.notebook.blocks.len() {
        let block = &told.notebook.blocks[number];
        // Most blocks have none, and telling a block takes time.
        if !block.nodes.iter().any(|node| node.row.is_some_and(|row| row.family.is_some())) {
            continue;
        }
        let report = told.block(number, Extent::Region);
        for table in &report.families {
            let name =
                |at: &Option<usize>| at.map(|at| format!("{}.{}", report.name, report.results[at].name));
            let column = |of: &FamilyColumn| (of.name.clone(), of.cells.iter().map(name).collect());
            let cases = table.cases.iter().map(|case| case.title.clone()).collect();
            let entry = FamilyEntry { cases, columns: table.columns.iter().map(column).collect() };
            entries.insert(format!("{}.{}", report.name, table.family.name), entry);
        }
    }
    entries
}

fn tables(told: Told<'_>) -> BTreeMap<String, Vec<TableEntry>> {
    let words = |cells: &Vec<String>| cells.iter().map(|cell| plain(cell)).collect();
    let blocks = told.notebook.blocks.iter().zip(&told.results.said);
    let of_block =
        blocks.zip(&told.results.worked).filter(|((_, said), worked)| **worked && !said.tables.is_empty());
    of_block
        .map(|((block, said), _)| {
            let entry = |table: &Grid| TableEntry {
                head: words(&table.head),
                rows: table.rows.iter().map(words).collect(),
            };
            (block.name.clone(), said.tables.iter().map(entry).collect())
        })
        .collect()
}

fn requirements(told: Told<'_>) -> Vec<RequirementEntry> {
    let rows = told.requirements();
    let known = |global: usize| Some(told.results.values[global]).filter(|value| value.is_finite());
    rows.into_iter()
        .zip(&told.results.judged)
        .map(|(row, judged)| RequirementEntry {
            actual_si: known(judged.actual),
            at: row.conditions.iter().map(|condition| plain(condition)).collect(),
            block: row.block,
            close: judged.doubt.map(Doubt::word),
            conformity: judged.conformity,
            due: judged.due.map(Stage::word),
            kind: row.kind.word(),
            limit_high_si: judged.high.and_then(known),
            limit_low_si: judged.low.and_then(known),
            margin: judged.margin,
            name: row.name,
            reason: plain(&row.reason.to_string()),
            source: plain(&row.source),
            status: row.status,
            verdict: row.verdict.word(),
            yet: (judged.verdict == Verdict::Open).then_some(!judged.not_yet),
        })
        .collect()
}

fn results(told: Told<'_>) -> BTreeMap<String, ResultEntry> {
    let mut entries = BTreeMap::new();
    for (number, block) in told.notebook.blocks.iter().enumerate() {
        for (index, node) in block.nodes.iter().enumerate() {
            let global = told.plan.first[number] + index;
            let Some(shown) = as_printed(told, global).filter(|_| !node.hidden) else { continue };
            let shown = plain(&shown);
            let mut entry =
                ResultEntry { basis: basis(told, global), shown: shown.clone(), ..ResultEntry::default() };
            entry.source =
                node.leaf().filter(|leaf| leaf.rule.is_some()).and_then(|leaf| leaf.remark.clone());
            entry.supposed = node.leaf().is_some_and(|leaf| leaf.is_supposed());
            if node.is_text() || told.results.curves[global].is_some() {
                entry.text = Some(shown);
            } else {
                let si = told.results.values[global];
                let unit = &told.results.units[global];
                entry.value = Some(unit.value_of(si));
                entry.unit = Some(unit.symbol);
                entry.si = Some(si);
                entry.si_unit = Some(told.results.si_unit(node, global));
                entry.uncertainty_si = Some(told.results.standard[global]);
                entry.monte_carlo =
                    told.results.drawn.as_ref().and_then(|drawn| drawn.spreads[global]).map(|spread| {
                        DrawnEntry {
                            draws: spread.count,
                            high_si: spread.high,
                            low_si: spread.low,
                            mean_si: spread.moments.map(|(mean, _)| mean),
                            uncertainty_si: spread.moments.map(|(_, standard)| standard),
                        }
                    });
            }
            entries.insert(format!("{}.{}", block.name, node.name), entry);
        }
    }
    entries
}

/// Text for programs and terminals: what must stay together on a page has plain spaces there.
fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ")
}

/// A result alone, for its uncertainty stands apart; an input with its tolerance, as it was given or as it follows.
fn as_printed(told: Told<'_>, global: usize) -> Option<String> {
    match told.node(global).1.role {
        Role::Field(_) => told.results.shown_with_uncertainty(told.notebook, told.plan, global),
        Role::Step(_) => told.shown(global),
    }
}

/// The word for how a value is known, `worked` for what is worked from others.
pub(crate) fn basis(told: Told<'_>, global: usize) -> String {
    let (_, node) = told.node(global);
    match &node.role {
        Role::Field(Origin::Reference(_)) if told.nature(global) != Nature::Calculated => {
            told.plan.targets[global].first().map_or_else(String::new, |target| basis(told, *target))
        }
        Role::Field(Origin::Text(_)) => "stated".to_owned(),
        Role::Field(Origin::Reference(_)) | Role::Step(_) => "worked".to_owned(),
        Role::Field(_) => match node.leaf() {
            Some(leaf) if leaf.rule.is_some() => "rule".to_owned(),
            Some(leaf) if leaf.stated || node.count && leaf.basis.is_none() => "stated".to_owned(),
            Some(leaf) => match leaf.known_as() {
                "as stated" => "stated".to_owned(),
                word => word.to_owned(),
            },
            None => "assumed".to_owned(),
        },
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::json;

    #[test]
    fn a_zero_has_no_sign() {
        let values = BTreeMap::from([("a", vec![-0.0, 0.0, -1.5, -1e-300]), ("b", vec![])]);
        let text: String = json(&values).split_whitespace().collect();
        assert_eq!(text, r#"{"a":[0.0,0.0,-1.5,-1e-300],"b":[]}"#);
        assert!(json(&3).starts_with('3'), "whole numbers stay whole");
    }

    #[test]
    fn what_a_terminal_would_obey_is_written_by_its_number() {
        let text = "a\u{9b}31m \u{202e}b \u{e0041}\u{1b}\n é";
        assert_eq!(json(&text), "\"a\\u009b31m \\u202eb \\udb40\\udc41\\u001b\\n é\"\n");
        assert_eq!(serde_json::from_str::<String>(&json(&text)).unwrap(), text);
    }
}
