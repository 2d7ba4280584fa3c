//! The Markdown body of a block's results region.

use std::fmt::{self, Write};

use crate::model::{NOT_AN_APPROVAL, capital};
use crate::report::{BlockReport, RequirementRow, ResultRow, Verdict};
use crate::words::{Run, Words};

/// The body of a worked block: the outcome in one sentence, results with their working, requirements, cautions.
/// Lines are joined by LF, without a final one.
pub(crate) fn region(report: &BlockReport) -> String {
    let mut body = String::new();
    let (bold, rest) = &report.sentence;
    if bold.is_empty() {
        let _ = writeln!(body, "{} `{}` is worked.", report.kind, report.name);
    } else {
        let _ = writeln!(body, "**{}**{}", Set(bold), Set(rest));
    }
    let single: Vec<&ResultRow> = report.results.iter().filter(|row| !in_family(row)).collect();
    if !single.is_empty() {
        let spread = report.results.iter().any(|row| row.expanded.is_some());
        let head = if spread { "Value (± is k = 2)" } else { "Value" };
        let _ = write!(body, "\n| Result | {head} | Working |\n|---|---|---|\n");
        for row in single {
            let _ = writeln!(body, "| `{}` | {} | {} |", row.name, Plain(&row.full), Plain(&row.working));
        }
    }
    for table in &report.families {
        let _ = write!(body, "\n| {} |", Plain(table.family.label));
        for column in &table.columns {
            let _ = write!(body, " {} |", Plain(&capital(column.label)));
        }
        let _ = writeln!(body, "\n|{}", "---|".repeat(1 + table.columns.len()));
        for (at, case) in table.cases.iter().enumerate() {
            let _ = write!(body, "| {} |", Plain(&case.title));
            for column in &table.columns {
                let shown = column.cells[at].map_or("", |at| report.results[at].full.as_str());
                let _ = write!(body, " {} |", Plain(shown));
            }
            body.push('\n');
        }
    }
    if !report.requirements.is_empty() {
        body.push_str("\n| Requirement | Actual | Limit | Margin | Verdict |\n|---|---|---|---|---|\n");
        for row in &report.requirements {
            let _ = writeln!(
                body,
                "| {} | {} | {} | {} | {} |",
                Plain(&row.label),
                Plain(&row.actual),
                Plain(&row.limit),
                Plain(&row.margin_shown),
                row.verdict_words()
            );
        }
    }
    let doubted = |row: &&RequirementRow| matches!(row.verdict, Verdict::Close | Verdict::Open) && !row.not_yet;
    for row in report.requirements.iter().filter(doubted) {
        let _ = writeln!(body, "\n{}: {}, {}.", Plain(&row.label), row.verdict.word(), Set(&row.reason));
    }
    for note in &report.notes {
        let _ = writeln!(body, "\n{}", Set(note));
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
struct Set<'a>(&'a Words);

impl fmt::Display for Set<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.runs().iter().try_for_each(|run| match run {
            Run::Name(name) => write!(f, "`{}`", name.replace('\u{a0}', " ").replace('`', "'")),
            Run::Text(_) | Run::Value(_) => Plain(run.text()).fmt(f),
        })
    }
}

/// Text that Markdown must not read as marks, with plain spaces.
struct Plain<'a>(&'a str);

impl fmt::Display for Plain<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let marks = "\u{a0}\n\r|*_`<[]\\~&";
        let mut rest = self.0;
        while let Some((at, mark)) =
            rest.char_indices().find(|(_, c)| !c.is_alphanumeric() && marks.contains(*c))
        {
            f.write_str(&rest[..at])?;
            match mark {
                '\u{a0}' | '\n' | '\r' => f.write_char(' ')?,
                _ => write!(f, "\\{mark}")?,
            }
            rest = &rest[at + mark.len_utf8()..];
        }
        f.write_str(rest)
    }
}

#[cfg(test)]
mod tests {
    use super::Plain;

    #[test]
    fn marks_in_a_text_are_escaped() {
        assert_eq!(Plain("a|b *c* 1\u{a0}kg").to_string(), "a\\|b \\*c\\* 1 kg");
    }
}
