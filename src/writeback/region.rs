//! The Markdown body of a block's results region.

use std::fmt::{self, Write};

use crate::model::{NOT_AN_APPROVAL, capital};
use crate::report::{BlockReport, FamilyColumn, RequirementRow, ResultRow, Verdict};
use crate::words::{Run, Words};

/// How much of a block its region holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Detail {
    /// The outcome, what the kind calls principal, requirements, and a line for cautions.
    Short,
    /// Every result with its working, notes and cautions too.
    Full,
}

/// The body of a worked block. Lines are joined by LF, without a final one.
pub(crate) fn region(report: &BlockReport, detail: Detail) -> String {
    let mut body = String::new();
    outcome(&mut body, report);
    results(&mut body, report, detail);
    families(&mut body, report, detail);
    requirements(&mut body, report);
    if detail == Detail::Full {
        for note in &report.notes {
            let _ = writeln!(body, "\n{}", Set(note));
        }
    }
    cautions(&mut body, report, detail);
    body.truncate(body.trim_end_matches('\n').len());
    body
}

/// The block's name and its worst verdict, then what the kind says of it.
fn outcome(body: &mut String, report: &BlockReport) {
    let _ = write!(body, "**{}", Plain(&report.name));
    let due = || report.requirements.iter().filter(|row| !row.not_yet);
    let count = |verdict: Verdict| due().filter(|row| row.verdict == verdict).count();
    let later = report.requirements.len() - due().count();
    let worst =
        [Verdict::Fails, Verdict::Open, Verdict::Close].into_iter().find(|verdict| count(*verdict) > 0);
    match worst {
        Some(worst) => {
            let first = due().find(|row| row.verdict == worst);
            let label = first.map_or("", |row| row.label.as_str());
            let _ = write!(body, ": {} {}**", Plain(label), worst.word());
            let rest = [Verdict::Fails, Verdict::Open, Verdict::Close].into_iter().filter_map(|verdict| {
                let more = count(verdict) - usize::from(verdict == worst);
                let word = if verdict == worst { "more" } else { verdict.word() };
                (more > 0).then(|| format!("{more} {word}"))
            });
            for more in rest {
                let _ = write!(body, ", {more}");
            }
            if later > 0 {
                let _ = write!(body, ", {later} not yet");
            }
            body.push('.');
        }
        None if later > 0 => {
            let _ = write!(body, ": open, not yet**, {later} of {}.", report.requirements.len());
        }
        None => body.push_str(if report.requirements.is_empty() { "**:" } else { ": meets**." }),
    }
    let (bold, rest) = &report.sentence;
    if bold.is_empty() {
        let _ = writeln!(body, " {} is worked.", capital(report.kind));
    } else {
        let _ = writeln!(body, " {}{}", Set(bold), Set(rest));
    }
}

fn results(body: &mut String, report: &BlockReport, detail: Detail) {
    let wanted = |row: &&ResultRow| match detail {
        Detail::Full => true,
        // Steps of the author's own are all that a worksheet is for.
        Detail::Short => !in_family(row) && row.row.is_none_or(|row| row.principal),
    };
    let rows: Vec<&ResultRow> = report.results.iter().filter(wanted).collect();
    if rows.is_empty() {
        return;
    }
    let spread = rows.iter().any(|row| row.expanded.is_some());
    let head = if spread { "Value (± is k = 2)" } else { "Value" };
    let _ = match detail {
        Detail::Short => write!(body, "\n| Result | {head} |\n|---|---|\n"),
        Detail::Full => write!(body, "\n| Result | {head} | Working |\n|---|---|---|\n"),
    };
    for row in rows {
        let _ = write!(body, "| `{}` | {} |", row.name, Plain(&row.full));
        if detail == Detail::Full {
            let _ = write!(body, " {} |", Plain(&row.working));
        }
        body.push('\n');
    }
}

fn families(body: &mut String, report: &BlockReport, detail: Detail) {
    for table in &report.families {
        let any = table.columns.iter().any(|column| column.principal);
        let wanted = |column: &&FamilyColumn| detail == Detail::Full || column.principal || !any;
        let columns: Vec<&FamilyColumn> = table.columns.iter().filter(wanted).collect();
        let _ = write!(body, "\n| {} |", Plain(table.family.label));
        for column in &columns {
            let _ = write!(body, " {} |", Plain(&capital(column.label)));
        }
        let _ = writeln!(body, "\n|{}", "---|".repeat(1 + columns.len()));
        for (at, case) in table.cases.iter().enumerate() {
            let _ = write!(body, "| {} |", Plain(&case.title));
            for column in &columns {
                let shown = column.cells[at].map_or("", |at| report.results[at].full.as_str());
                let _ = write!(body, " {} |", Plain(shown));
            }
            body.push('\n');
        }
    }
}

fn requirements(body: &mut String, report: &BlockReport) {
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
    let doubted =
        |row: &&RequirementRow| matches!(row.verdict, Verdict::Close | Verdict::Open) && !row.not_yet;
    for row in report.requirements.iter().filter(doubted) {
        let _ = writeln!(body, "\n{}: {}, {}.", Plain(&row.label), row.verdict.word(), Set(&row.reason));
    }
}

fn cautions(body: &mut String, report: &BlockReport, detail: Detail) {
    if detail == Detail::Short {
        let titles: Vec<&str> = report.cautions.iter().map(|caution| caution.title()).collect();
        if !titles.is_empty() {
            let _ = writeln!(body, "\n> **{}.** The dossier says how to go about it.", titles.join(". "));
        }
        return;
    }
    for caution in &report.cautions {
        let _ = writeln!(body, "\n> **{}.**", caution.title());
        body.push_str(">\n");
        for line in caution.lines() {
            let _ = writeln!(body, "> - {line}");
        }
        let _ = writeln!(body, ">\n> {NOT_AN_APPROVAL}");
    }
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

/// Text that Markdown must not read as marks.
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
                // Narrow, and never the end of a line.
                '\u{a0}' => f.write_char('\u{202f}')?,
                '\n' | '\r' => f.write_char(' ')?,
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
        assert_eq!(Plain("a|b *c* 1\u{a0}kg").to_string(), "a\\|b \\*c\\* 1\u{202f}kg");
    }
}
