//! The requirements that fail or that something is missing for, a line each, with place, value, limit and reason.

use super::arguments::Format;
use crate::compile::Worked;
use crate::evaluate::Verdict;
use crate::report::RequirementRow;
use crate::source::Sources;

/// What fails first: `kerb.laden_mass fails, 1 802 kg, at most 1 750 kg: above the limit (journal.md:12:1)`; for an
/// editor the place is first. What is not due yet is left out.
pub(super) fn wanting(worked: &Worked, sources: &Sources, format: Format) -> String {
    let rows = worked.told().requirements();
    let mut text = String::new();
    for verdict in [Verdict::Fails, Verdict::Open] {
        let wanting = |row: &RequirementRow| row.verdict == verdict && !row.not_yet;
        for (row, judged) in rows.iter().zip(&worked.results.judged).filter(|(row, _)| wanting(row)) {
            let span = worked.notebook.blocks[judged.block].requirements[judged.number].span;
            let place = sources.place(span);
            let place = format!("{}:{}:{}", sources.get(span.file).path, place.line, place.column);
            let word = verdict.word();
            let said =
                format!("{}.{} {word}, {}, {}: {}", row.block, row.name, row.actual, row.limit, row.reason);
            let severity = if verdict == Verdict::Fails { "error" } else { "warning" };
            let line = match format {
                Format::Text => format!("{said} ({place})\n"),
                Format::Lines => format!("{place}: {severity}: {said} [{word}]\n"),
            };
            text.push_str(&line.replace('\u{a0}', " "));
        }
    }
    text
}
