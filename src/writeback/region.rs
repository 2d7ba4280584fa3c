//! The Markdown body of a block's results region.

use std::collections::BTreeMap;
use std::fmt::{self, Write};

use crate::model::{Grid, NOT_AN_APPROVAL, RequirementKind, capital};
use crate::report::{BlockReport, FamilyColumn, Missing, RequirementRow, ResultRow, Verdict};
use crate::words::{Run, Words};

/// How much of a block its region holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Detail {
    /// The outcome, what the kind calls principal, requirements, and a line for cautions.
    Short,
    /// Every result with its working, notes and cautions too.
    Full,
}

/// What an earlier revision said.
pub(crate) struct Earlier {
    pub revision: String,
    /// Results as they were shown, by full name.
    pub shown: BTreeMap<String, String>,
}

/// The body of a worked block. Lines are joined by LF, without a final one. With an earlier revision it says what the
/// results were there that are something else now.
pub(crate) fn region(report: &BlockReport, detail: Detail, earlier: Option<&Earlier>) -> String {
    let mut body = String::new();
    outcome(&mut body, report);
    results(&mut body, report, detail);
    families(&mut body, report, detail);
    missing(&mut body, report, detail);
    for table in &report.tables {
        body.push('\n');
        grid(&mut body, table);
    }
    requirements(&mut body, report, detail);
    if let Some(earlier) = earlier {
        moved(&mut body, report, (detail, earlier));
    }
    if detail == Detail::Full {
        for note in &report.notes {
            let _ = writeln!(body, "\n{}", Set(note));
        }
    }
    cautions(&mut body, report, detail);
    body.truncate(body.trim_end_matches('\n').len());
    body
}

/// What is told of in the first line, worst first.
const WANTING: [Verdict; 3] = [Verdict::Fails, Verdict::Open, Verdict::Close];

/// The requirement that the region opens with: the first of the worst.
fn worst(report: &BlockReport) -> Option<&RequirementRow> {
    WANTING.into_iter().find_map(|verdict| due(report).find(|row| row.verdict == verdict))
}

/// What has to be met by now.
fn due(report: &BlockReport) -> impl Iterator<Item = &RequirementRow> {
    report.requirements.iter().filter(|row| !row.not_yet)
}

/// The block's name and its worst verdict with value, limit and reason, then what the kind says of it.
fn outcome(body: &mut String, report: &BlockReport) {
    let _ = write!(body, "**{}", Plain(&report.name));
    let later = report.requirements.iter().filter(|row| row.not_yet).count();
    match worst(report) {
        Some(row) => {
            let word = row.verdict.word();
            let _ = write!(
                body,
                ": {} {word}**, {} ({})",
                Plain(&row.label),
                Plain(&row.actual),
                Plain(&row.limit)
            );
            if row.verdict != Verdict::Fails {
                let _ = write!(body, ": {}", Set(&row.reason));
            }
            for verdict in WANTING {
                let all = due(report).filter(|other| other.verdict == verdict).count();
                let more = all - usize::from(verdict == row.verdict);
                let also = if verdict == row.verdict { "more" } else { verdict.word() };
                if more > 0 {
                    let _ = write!(body, "; {more} {also}");
                }
            }
            if later > 0 {
                let _ = write!(body, "; {later} not yet");
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
        Detail::Short => !in_family(row) && !told(report, row) && row.row.is_none_or(|row| row.principal),
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
        let short = |column: &FamilyColumn| column.principal && !judged(report, column);
        let wanted = |column: &&FamilyColumn| detail == Detail::Full || short(column);
        let columns: Vec<&FamilyColumn> = table.columns.iter().filter(wanted).collect();
        if columns.is_empty() {
            continue;
        }
        let _ = write!(body, "\n| {} |", Plain(table.family.label));
        for column in &columns {
            let _ = write!(body, " {} |", Plain(&capital(column.label)));
        }
        let _ = writeln!(body, "\n|{}", "---|".repeat(1 + columns.len()));
        for (at, case) in table.cases.iter().enumerate() {
            let _ = write!(body, "| {} |", Plain(&case.title));
            for column in &columns {
                let shown = column.cells[at].map_or("—", |at| report.results[at].full.as_str());
                let _ = write!(body, " {} |", Plain(shown));
            }
            body.push('\n');
        }
    }
}

fn grid(body: &mut String, table: &Grid) {
    for (at, cells) in std::iter::once(&table.head).chain(&table.rows).enumerate() {
        body.push_str(if at == 0 { "|" } else { "\n|" });
        for cell in cells {
            let _ = write!(body, " {} |", Plain(cell));
        }
        if at == 0 {
            let _ = write!(body, "\n|{}", "---|".repeat(cells.len()));
        }
    }
    body.push('\n');
}

fn requirements(body: &mut String, report: &BlockReport, detail: Detail) {
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
    reasons(body, report);
    match detail {
        Detail::Full => conditions(body, report),
        Detail::Short => conditions_from_elsewhere(body, report),
    }
}

/// At what verdicts of safety and law are judged and no reader of the block above sees; in one line, for it is short.
fn conditions_from_elsewhere(body: &mut String, report: &BlockReport) {
    let weighty = report.requirements.iter().filter(|row| row.kind != RequirementKind::Wish);
    let judged = weighty.filter(|row| row.verdict != Verdict::Open);
    let mut told: Vec<&str> = Vec::new();
    for condition in judged.flat_map(|row| &row.from_elsewhere) {
        if !told.contains(&condition.as_str()) {
            told.push(condition);
        }
    }
    if !told.is_empty() {
        let _ = writeln!(body, "\nJudged at {}.", Plain(&told.join(", ")));
    }
}

/// At what requirements are judged, each set of conditions once.
fn conditions(body: &mut String, report: &BlockReport) {
    let mut told: Vec<(&[String], Vec<&str>)> = Vec::new();
    for row in report.requirements.iter().filter(|row| !row.conditions.is_empty()) {
        match told.iter_mut().find(|(conditions, _)| *conditions == row.conditions) {
            Some((_, labels)) => labels.push(&row.label),
            None => told.push((&row.conditions, vec![&row.label])),
        }
    }
    let all = report.requirements.len();
    for (conditions, labels) in told {
        let conditions = Plain(&conditions.join(", ")).to_string();
        let _ = match labels.len() == all {
            true => writeln!(body, "\nJudged at {conditions}."),
            false => writeln!(body, "\n{}: at {conditions}.", Plain(&labels.join("; "))),
        };
    }
}

/// Why verdicts are not better, each reason once; the one of the first line is not said again.
fn reasons(body: &mut String, report: &BlockReport) {
    let told = worst(report).filter(|row| row.verdict != Verdict::Fails);
    let mut reasons: Vec<(&RequirementRow, Vec<&str>)> = Vec::new();
    for row in due(report) {
        let same = |other: &RequirementRow| other.verdict == row.verdict && other.reason == row.reason;
        if !matches!(row.verdict, Verdict::Close | Verdict::Open) || told.is_some_and(same) {
            continue;
        }
        match reasons.iter_mut().find(|(first, _)| same(first)) {
            Some((_, labels)) => labels.push(&row.label),
            None => reasons.push((row, vec![&row.label])),
        }
    }
    for (row, labels) in reasons {
        let (labels, word) = (labels.join("; "), row.verdict.word());
        let _ = writeln!(body, "\n{}: {word}, {}.", Plain(&labels), Set(&row.reason));
    }
}

fn cautions(body: &mut String, report: &BlockReport, detail: Detail) {
    if detail == Detail::Short {
        let titles: Vec<&str> = report.cautions.iter().map(|caution| caution.title()).collect();
        if !titles.is_empty() {
            let _ = writeln!(body, "\n> **{}.** See the dossier.", titles.join(". "));
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

/// Why results are not there. In short a case is told once, cases of one reason
/// together, and not what a requirement tells too.
fn missing(body: &mut String, report: &BlockReport, detail: Detail) {
    if detail == Detail::Full {
        for missing in &report.missing {
            let _ = writeln!(body, "\n{}", Set(&missing.whole()));
        }
        return;
    }
    let mut told: Vec<&str> = Vec::new();
    let mut lines: Vec<(&Missing, Vec<&str>)> = Vec::new();
    for missing in report.missing.iter().filter(|missing| missing.principal) {
        let judged = report.requirements.iter().any(|row| row.reason == missing.reason);
        if judged || missing.case.as_ref().is_some_and(|case| told.contains(&case.as_str())) {
            continue;
        }
        told.extend(missing.case.as_deref());
        let line = missing.case.as_ref().and_then(|_| {
            lines.iter_mut().find(|(first, cases)| !cases.is_empty() && first.reason == missing.reason)
        });
        match line {
            Some((_, cases)) => cases.extend(missing.case.as_deref()),
            None => lines.push((missing, missing.case.as_deref().into_iter().collect())),
        }
    }
    for (missing, cases) in lines {
        let _ = writeln!(body, "\n{}", Set(&missing.short(&cases)));
    }
}

/// One line of the results that the region tells and that were something else at a revision.
fn moved(body: &mut String, report: &BlockReport, (detail, earlier): (Detail, &Earlier)) {
    let told = |row: &&ResultRow| {
        detail == Detail::Full || row.row.is_none_or(|of| of.principal) || told(report, row)
    };
    let was = |row: &ResultRow| {
        // Number and unit stay together, as in what is worked.
        let was = earlier.shown.get(&format!("{}.{}", report.name, row.name))?.replace(' ', "\u{a0}");
        let same = was == row.shown.replace(' ', "\u{a0}");
        (!same).then(|| format!("`{}` was {} at {}", row.name, Plain(&was), Plain(&earlier.revision)))
    };
    let all: Vec<String> = report.results.iter().filter(told).filter_map(was).collect();
    if !all.is_empty() {
        let _ = writeln!(body, "\n{}.", all.join("; "));
    }
}

/// Whether the requirements tell each value of a column already.
fn judged(report: &BlockReport, column: &FamilyColumn) -> bool {
    let told = |at: &usize| {
        report.requirements.iter().any(|row| row.judges.as_deref() == Some(&report.results[*at].name))
    };
    column.cells.iter().flatten().all(told)
}

/// Whether a requirement tells all of a result, which is exact.
fn told(report: &BlockReport, result: &ResultRow) -> bool {
    let judges = |row: &RequirementRow| {
        row.judges.as_deref() == Some(&result.name) && row.actual == result.full && result.row.is_some()
    };
    report.requirements.iter().any(judges)
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
        // No line ends within a value.
        let text = &self.0.replace(" ± ", "\u{a0}±\u{a0}");
        let mut from = 0;
        for (at, mark) in text.char_indices().filter(|(_, mark)| marks.contains(*mark)) {
            let end = at + mark.len_utf8();
            if mark == '_' && within_a_word(&text[..at], &text[end..]) {
                continue;
            }
            f.write_str(&text[from..at])?;
            match mark {
                // Narrow, and never the end of a line.
                '\u{a0}' => f.write_char('\u{202f}')?,
                '\n' | '\r' => f.write_char(' ')?,
                _ => write!(f, "\\{mark}")?,
            }
            from = end;
        }
        f.write_str(&text[from..])
    }
}

/// Whether a `_` between two texts marks nothing in Markdown, so that a name can be read as it is typed.
fn within_a_word(before: &str, after: &str) -> bool {
    before.ends_with(char::is_alphanumeric) && after.starts_with(char::is_alphanumeric)
}

#[cfg(test)]
mod tests {
    use super::Plain;

    #[test]
    fn a_name_stays_as_it_is_typed() {
        assert_eq!(Plain("drive_first, _not_ a_").to_string(), "drive_first, \\_not\\_ a\\_");
    }

    #[test]
    fn marks_in_a_text_are_escaped() {
        assert_eq!(Plain("a|b *c* 1\u{a0}kg").to_string(), "a\\|b \\*c\\* 1\u{202f}kg");
        assert_eq!(Plain("1 ± 2 to ±").to_string(), "1\u{202f}±\u{202f}2 to ±");
    }
}
