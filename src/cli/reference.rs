//! The reference in Markdown: a page for each kind with its example worked, and pages of shipped limits and findings.

use std::fmt::Write;
use std::sync::Arc;

use super::arguments::Writing;
use super::work::all_edits;
use crate::blocks::{KINDS, PART};
use crate::compile::compile;
use crate::findings::{Code, codes};
use crate::model::{
    Evidence, EvidenceFault, FieldDoc, FieldSort, Kind, Needed, ROLES, ReadValue, RequirementKind,
    RequirementRow, ResultRow, Takes, Way, capital, device_accuracy, fill, in_words, own_name_sort,
    read_from,
};
use crate::quantities::read_expression;
use crate::rules::possible::sizes;
use crate::rules::rules;
use crate::rules::table;
use crate::source::{FileId, Source, Sources};

/// The page of a kind: what it takes and gives, and its example, worked. It is a journal that works when it is copied.
pub(super) fn kind(kind: &Kind) -> String {
    let text = page(kind);
    let sources = Sources(vec![Source::new("example.md", text.as_str())]);
    let mut worked = compile(&sources, &[FileId(0)], &NoFiles, None);
    let writing = Writing { overwrite_edits: false, drop_orphans: false };
    let edits = all_edits((&mut worked, &sources), &writing, None).pop().and_then(|one| one.edits);
    edits.map_or(text.clone(), |edits| edits.apply(&text))
}

fn page(kind: &Kind) -> String {
    let mut text =
        format!("# {}\n\n{}.\n\n## Example\n\n{}", kind.name, capital(kind.summary), kind.example.journal);
    text.push_str("\nThe tests hold it to:\n\n");
    for (name, value) in kind.example.expected {
        let _ = writeln!(text, "- `{name}` = {value}");
    }
    text.push_str("\n## Fields\n\n");
    text.push_str("| Field | Takes | What it is | Sort |\n|---|---|---|---|\n");
    for field in kind.fields {
        let takes = needed(field);
        let _ = writeln!(
            text,
            "| `{}` | {} | {} | {} |",
            field.name,
            cell(&takes),
            cell(field.about),
            sort(field)
        );
    }
    possible(&mut text, kind);
    results(&mut text, kind);
    requirements(&mut text, kind);
    taken(&mut text, kind);
    if kind.name == PART.name {
        read_from_parts(&mut text);
    }
    lines(&mut text, "Sources", kind.sources);
    lines(&mut text, "Not calculated", kind.limits);
    if !kind.codes.is_empty() {
        text.push_str("\n## Findings of its own\n\n");
        for code in kind.codes {
            let _ = writeln!(text, "- `{}` ({}): {}.", code.name, code.severity.word(), code.about);
        }
    }
    text
}

/// The sizes that the fields' quantities can have.
fn possible(text: &mut String, kind: &Kind) {
    let mut told: Vec<&str> = Vec::new();
    for field in kind.fields {
        let (Takes::Quantity(sort) | Takes::Quantities(sort)) = field.takes else { continue };
        if !told.contains(&sort.name) && sizes(sort.name).is_some() {
            told.push(sort.name);
        }
    }
    let words = |name: &&str| {
        let [least, most] = &sizes(name)?.texts;
        Some(format!("{name} from {least} to {most}"))
    };
    let words: Vec<String> = told.iter().filter_map(words).collect();
    if !words.is_empty() {
        let _ = writeln!(text, "\nBeyond these sizes a value is `out-of-range`: {}.", words.join("; "));
    }
    let asked = |row: &Vec<String>| {
        let field = row[0].strip_prefix(kind.name)?.strip_prefix('.')?;
        Some(format!("`{field}` from {} to {}", row[1], row[2]))
    };
    let asked: Vec<String> = table("usual_sizes").rows.iter().filter_map(asked).collect();
    if !asked.is_empty() {
        let _ = writeln!(text, "\nBeyond these it is asked about (`unusual-value`): {}.", asked.join("; "));
    }
}

fn results(text: &mut String, kind: &Kind) {
    if kind.rows.is_empty() {
        return;
    }
    text.push_str("\n## Results\n\n| Result | What it is | Unit | Formula or method |\n|---|---|---|---|\n");
    for row in kind.rows {
        let about = match row.about {
            "" => row.label.to_owned(),
            about => format!("{}: {about}", row.label),
        };
        let when = if row.when.is_empty() { String::new() } else { format!("; {}", row.when) };
        let unit = if row.sort.is_none() { "words" } else { row.unit };
        let _ = writeln!(
            text,
            "| `{}` | {}{} | {} | {} |",
            row.name,
            cell(&about),
            cell(&when),
            cell(unit),
            cell(&way(row))
        );
    }
}

/// The formula as an inspector reads it, or the method.
pub(super) fn way(row: &ResultRow) -> String {
    match row.way {
        Way::Formula(formula) => shown(formula),
        Way::Procedure(method) => method.to_owned(),
        Way::Words => String::new(),
    }
}

fn shown(formula: &str) -> String {
    match read_expression(formula) {
        Ok(expression) => expression.show(&mut |name| in_words(&name.text())).replace('\u{a0}', " "),
        Err(_) => formula.to_owned(),
    }
}

fn requirements(text: &mut String, kind: &Kind) {
    if kind.requires.is_empty() {
        return;
    }
    text.push_str(
        "\n## Requirements\n\n| Requirement | Kind | Limit | From | Without it |\n|---|---|---|---|---|\n",
    );
    for row in kind.requires {
        let source = if row.source.is_empty() { "the rules" } else { row.source };
        let without = match row.optional {
            [] => "open".to_owned(),
            names => format!("nothing is required without {}", names.join(", ").replace(['.', '_'], " ")),
        };
        let kind = match row.kind {
            RequirementKind::Safety => "safety",
            RequirementKind::Legal => "legal",
            RequirementKind::Wish => "wish",
        };
        let _ = writeln!(
            text,
            "| `{}` | {kind} | {} | {} | {without} |",
            row.name,
            cell(&limit(row)),
            cell(source)
        );
    }
}

fn limit(row: &RequirementRow) -> String {
    let (least, most) = if row.strict { ("more than", "less than") } else { ("at least", "at most") };
    let shown = |formula: &str| shown(&fill(formula, row.each));
    match (row.low, row.high) {
        (Some(low), Some(high)) => format!("{} to {}", shown(low), shown(high)),
        (Some(low), None) => format!("{least} {}", shown(low)),
        (None, Some(high)) => format!("{most} {}", shown(high)),
        (None, None) => String::new(),
    }
}

fn taken(text: &mut String, kind: &Kind) {
    // What a kind takes from the rules stands under no field.
    let takes = || kind.takes.iter().filter(|row| !row.field.is_empty());
    if takes().next().is_none() {
        return;
    }
    text.push_str("\n## Taken from other blocks\n\n| Named under | Field or result |\n|---|---|\n");
    let mut told: Vec<(&str, Vec<&str>)> = Vec::new();
    for row in takes() {
        match told.iter_mut().find(|(field, _)| *field == row.field) {
            Some((_, names)) if !names.contains(&row.name) => names.push(row.name),
            Some(_) => {}
            None => told.push((row.field, vec![row.name])),
        }
    }
    for (field, names) in told {
        let _ = writeln!(text, "| `{field}` | `{}` |", names.join("`, `"));
    }
}

/// What the kinds read from a part of each role, from what each of them takes.
fn read_from_parts(text: &mut String) {
    text.push_str("\n## Read from a part, by its role\n\nThe last word of `role` counts: a `drive motor` is a motor. Of a module all values are those of the whole module. Names that end in `_rating` or `_limit`, or begin with `rated_`, `max_` or `nominal_`, are ratings, as what is listed as stated: exact. The rest are physical, and worked with a supposed tolerance where you say none.\n\n| Role | Value | Takes | Sort | Read by |\n|---|---|---|---|---|\n");
    let roles = ROLES.iter().map(|(role, _)| (*role, *role));
    for (role, title) in [("", "any")].into_iter().chain(roles) {
        let mut told: Vec<(&str, String, Vec<&str>)> = Vec::new();
        for ReadValue { kind, row } in read_from(role, KINDS) {
            let takes = match (row.sort, row.axes) {
                (Some(sort), _) => sort.words(),
                (None, Some((x, y))) => format!("a curve: {} against {}", y.name, x.name),
                (None, None) => "a curve".to_owned(),
            };
            match told.iter_mut().find(|(name, ..)| *name == row.name) {
                Some((.., kinds)) if kinds.contains(&kind.name) => {}
                Some((.., kinds)) => kinds.push(kind.name),
                None => told.push((row.name, takes, vec![kind.name])),
            }
        }
        if told.is_empty() {
            let _ = writeln!(text, "| {title} | what is read from any part | | | |");
        }
        for (name, takes, kinds) in told {
            let _ = writeln!(
                text,
                "| {title} | `{name}` | {takes} | {} | `{}` |",
                own_name_sort(name).word(),
                kinds.join("`, `")
            );
        }
    }
}

fn lines(text: &mut String, title: &str, lines: &[&str]) {
    if lines.is_empty() {
        return;
    }
    let _ = writeln!(text, "\n## {title}\n");
    for line in lines {
        let _ = writeln!(text, "- {}.", capital(line));
    }
}

/// What a field takes, and whether it may be left out.
fn needed(field: &FieldDoc) -> String {
    let takes = field.takes.words();
    match field.needed {
        Needed::Required => takes,
        Needed::Optional => format!("{takes}, may be left out"),
        Needed::Either => format!("{takes}, or another field in its place"),
        Needed::Assumed(default) => format!("{takes}, assumed {default}"),
    }
}

fn sort(field: &FieldDoc) -> String {
    if !field.takes.is_quantity() {
        return String::new();
    }
    match field.sort {
        FieldSort::Setting => {
            let own = field.name.rsplit('.').next().unwrap_or(field.name);
            let accuracy = match field.takes {
                Takes::Quantity(sort) | Takes::Quantities(sort) => {
                    device_accuracy(sort.name, [own, field.name])
                }
                _ => None,
            };
            format!("setting, ± {}", accuracy.unwrap_or_default())
        }
        sort => sort.word().to_owned(),
    }
}

/// What in a table cell Markdown would take for marks.
fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('*', "\\*")
}

/// The limits and tables that the program ships, each with its source and status.
pub(super) fn limits() -> String {
    let mut text = "# Limits and tables\n\nWhat the program ships, with the document that each comes from and how well that is known: *read* (the text, or an official extract of it), *second-hand* (another document states it; a verdict on it is at best `close`), *memory* (unverified; a verdict on it is `open`).\n\n".to_owned();
    text.push_str("| Limit | Value | What it is | Source | Status |\n|---|---|---|---|---|\n");
    for rule in &rules().limits {
        let source = &rule.source;
        let _ = writeln!(
            text,
            "| `{}` | {} | {} | {} | {} |",
            rule.name,
            cell(&rule.value.replace("g_n", "gₙ")),
            cell(&source.about),
            cell(&source.whole()),
            source.standing.word()
        );
    }
    text.push_str("\n| Table | Rows | What it is | Source | Status |\n|---|---|---|---|---|\n");
    for table in &rules().tables {
        let source = &table.source;
        let _ = writeln!(
            text,
            "| `{}` | {} | {} | {} | {} |",
            table.name,
            table.rows.len(),
            cell(&source.about),
            cell(&source.whole()),
            source.standing.word()
        );
    }
    text
}

/// Every code of a finding: the language's, then the kinds' own.
pub(super) fn findings() -> String {
    let mut text = "# Findings\n\nEvery mistake is a finding, with a code that names the fault and never changes. `voltwright check` prints each with its place and what to type.\n\n| Code | Severity | When |\n|---|---|---|\n".to_owned();
    let mut told: Vec<&str> = Vec::new();
    let own = KINDS.iter().flat_map(|kind| kind.codes).copied();
    for code in codes::ALL.iter().copied().chain(own) {
        let Code { name, severity, about } = code;
        if !told.contains(name) {
            told.push(name);
            let _ = writeln!(text, "| `{name}` | {} | {} |", severity.word(), cell(about));
        }
    }
    text
}

/// Examples name no files.
pub(super) struct NoFiles;

impl Evidence for NoFiles {
    fn read(&self, _path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        Err(EvidenceFault::Missing)
    }
}
