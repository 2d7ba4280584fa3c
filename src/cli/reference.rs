//! The reference in Markdown, as the README holds it: kinds, shipped limits, findings.

use std::fmt::Write;

use super::kinds::{Formulas, needed};
use crate::blocks::KINDS;
use crate::findings::{Code, codes};
use crate::model::{Kind, capital};
use crate::rules::rules;

/// The reference of all kinds, as the README holds it.
pub(super) fn all() -> String {
    let mut parts: Vec<String> = KINDS.iter().map(|one| kind(one)).collect();
    parts.push(limits());
    parts.push(codes());
    parts.join("\n")
}

pub(super) fn kind(kind: &Kind) -> String {
    let mut text = format!("### {}\n\n{}.\n\n", kind.name, capital(kind.summary));
    text.push_str("| Field | Takes | What it is |\n|---|---|---|\n");
    for field in kind.fields {
        let takes = needed(field.needed, &field.takes.words());
        let _ = writeln!(text, "| `{}` | {} | {} |", field.name, cell(&takes), cell(field.about));
    }
    if !kind.results.is_empty() {
        text.push_str("\n| Result | What it is | Formula |\n|---|---|---|\n");
        let formulas = Formulas::of(kind);
        for result in kind.results {
            let formula = formulas.of_result(result.name).unwrap_or_default();
            let _ = writeln!(text, "| `{}` | {} | {} |", result.name, cell(result.about), cell(&formula));
        }
    }
    for line in kind.sources {
        let _ = writeln!(text, "\nSource: {line}.");
    }
    for line in kind.limits {
        let _ = writeln!(text, "\nNot calculated: {line}.");
    }
    text
}

fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('*', "\\*")
}

/// The limits and tables that the program ships, each with its source and status.
fn limits() -> String {
    let mut text = "### Limits and tables\n\n".to_owned();
    text.push_str("| Limit | Value | What it is | Source | Status |\n|---|---|---|---|---|\n");
    for rule in &rules().limits {
        let source = &rule.source;
        let _ = writeln!(
            text,
            "| `{}` | {} | {} | {} | {} |",
            rule.name,
            cell(&rule.value),
            cell(&rule.source.about),
            cell(&source.words()),
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
            cell(&table.source.about),
            cell(&source.words()),
            source.standing.word()
        );
    }
    text
}

/// Every code of a finding: the language's, then the kinds' own.
fn codes() -> String {
    let mut text = "### Codes of findings\n\n| Code | Severity | When |\n|---|---|---|\n".to_owned();
    let mut line = |code: &Code| {
        let _ = writeln!(text, "| `{}` | {} | {} |", code.name, code.severity.word(), cell(code.about));
    };
    codes::ALL.iter().for_each(|code| line(code));
    KINDS.iter().flat_map(|kind| kind.codes).for_each(|code| line(code));
    text
}
