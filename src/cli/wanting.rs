//! The requirements that fail or that something is missing for, a line each, with place, value and limit.

use crate::compile::Worked;
use crate::evaluate::Verdict;
use crate::report::RequirementRow;
use crate::source::Sources;

/// `kerb.laden_mass fails, 1 802 kg, at most 1 750 kg: above the limit (journal.md:12)`. What is not due yet is left out.
pub(super) fn wanting(worked: &Worked, sources: &Sources) -> String {
    let rows = worked.told().requirements();
    let wanting =
        |row: &RequirementRow| matches!(row.verdict, Verdict::Fails | Verdict::Open) && !row.not_yet;
    let mut text = String::new();
    for (row, judged) in rows.iter().zip(&worked.results.judged).filter(|(row, _)| wanting(row)) {
        let place = sources.place(worked.notebook.blocks[judged.block].requirements[judged.number].span);
        let values = format!("{}, {}", row.actual, row.limit);
        let line = format!(
            "{}.{} {}, {values}: {} ({}:{})\n",
            row.block,
            row.name,
            row.verdict.word(),
            row.reason,
            sources.get(worked.notebook.blocks[judged.block].requirements[judged.number].span.file).path,
            place.line,
        );
        text.push_str(&line.replace('\u{a0}', " "));
    }
    text
}
