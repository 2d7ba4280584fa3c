//! The Markdown body of a block's results region.

use std::fmt::Write;

use crate::model::{NOT_AN_APPROVAL, capital};
use crate::report::{BlockReport, FamilyColumn, ResultRow, Verdict};
use crate::words::{Run, Words};

/// The body of a worked block: the outcome in one sentence, results with their working, requirements, cautions.
/// Lines are joined by LF, without a final one.
pub(crate) fn region(report: &BlockReport) -> String {
    let mut body = String::new();
    let (bold, rest) = &report.sentence;
    if bold.is_empty() {
        let _ = writeln!(body, "{} `{}` is worked.", report.kind, report.name);
    } else {
        let _ = writeln!(body, "**{}**{}", set(bold), set(rest));
    }
    let single: Vec<&ResultRow> = report.results.iter().filter(|row| !in_family(row)).collect();
    if !single.is_empty() {
        let spread = report.results.iter().any(|row| row.expanded.is_some());
        let head = if spread { "Value (± is k = 2)" } else { "Value" };
        let _ = write!(body, "\n| Result | {head} | Working |\n|---|---|---|\n");
        for row in single {
            let _ = writeln!(body, "| `{}` | {} | {} |", row.name, plain(&row.full), plain(&row.working));
        }
    }
    for table in &report.families {
        let heads = table.columns.iter().map(|column| plain(&capital(column.label)));
        let head: Vec<String> = std::iter::once(plain(table.family.label)).chain(heads).collect();
        let _ = write!(body, "\n| {} |\n|{}\n", head.join(" | "), "---|".repeat(head.len()));
        for (at, case) in table.cases.iter().enumerate() {
            let cell = |column: &FamilyColumn| {
                column.cells[at].map_or_else(String::new, |at| plain(&report.results[at].full))
            };
            let cells: Vec<String> =
                std::iter::once(plain(&case.title)).chain(table.columns.iter().map(cell)).collect();
            let _ = writeln!(body, "| {} |", cells.join(" | "));
        }
    }
    if !report.requirements.is_empty() {
        body.push_str("\n| Requirement | Actual | Limit | Margin | Verdict |\n|---|---|---|---|---|\n");
        for row in &report.requirements {
            let _ = writeln!(
                body,
                "| {} | {} | {} | {} | {} |",
                plain(&row.label),
                plain(&row.actual),
                plain(&row.limit),
                plain(&row.margin_shown),
                row.verdict.word()
            );
        }
    }
    for row in report.requirements.iter().filter(|row| matches!(row.verdict, Verdict::Close | Verdict::Open))
    {
        let _ = writeln!(body, "\n{}: {}, {}.", plain(&row.label), row.verdict.word(), set(&row.reason));
    }
    for note in &report.notes {
        let _ = writeln!(body, "\n{}", set(note));
    }
    for caution in &report.cautions {
        let _ = writeln!(body, "\n> **{}.**", caution.title());
        body.push_str(">\n");
        for line in caution.lines() {
            let _ = writeln!(body, "> - {line}");
        }
        let _ = writeln!(body, ">\n> {NOT_AN_APPROVAL}");
    }
    body.truncate(body.trim_end_matches('\n').len());
    body
}

/// Whether a result stands in a table of its family.
fn in_family(row: &ResultRow) -> bool {
    row.case.is_some() && row.row.is_some_and(|row| row.family.is_some())
}

/// Words with their names as code.
fn set(words: &Words) -> String {
    let told = |run: &Run| match run {
        Run::Name(name) => format!("`{}`", name.replace('\u{a0}', " ").replace('`', "'")),
        Run::Text(_) | Run::Value(_) => plain(run.text()),
    };
    words.runs().iter().map(told).collect()
}

/// Text that Markdown must not read as marks, with plain spaces.
fn plain(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\u{a0}' => safe.push(' '),
            '\n' | '\r' => safe.push(' '),
            '|' | '*' | '_' | '`' | '<' | '[' | ']' | '\\' | '~' | '&' => {
                safe.push('\\');
                safe.push(c);
            }
            _ => safe.push(c),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::plain;

    #[test]
    fn marks_in_a_text_are_escaped() {
        assert_eq!(plain("a|b *c* 1\u{a0}kg"), "a\\|b \\*c\\* 1 kg");
    }
}
