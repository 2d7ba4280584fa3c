//! What a kind of block says of itself: the one source of look-up, `kinds`, the schema and the reference.

use super::block::Block;
use super::field::FieldDoc;
use super::form::Form;
use super::requirement_row::RequirementRow;
use super::row::{ResultRow, TakenRow};
use crate::findings::Code;
use crate::words::Words;

/// A kind of block. One file and one line of registration each.
pub(crate) struct Kind {
    pub name: &'static str,
    /// One sentence: what question it answers.
    pub summary: &'static str,
    /// The subsystem that the dossier's index lists it under.
    pub subsystem: &'static str,
    pub fields: &'static [FieldDoc],
    /// Every result, each variant of one as a row of its own.
    pub rows: &'static [&'static ResultRow],
    /// What it takes from blocks that its fields name.
    pub takes: &'static [&'static TakenRow],
    pub requires: &'static [&'static RequirementRow],
    pub example: Example,
    /// Where its formulas come from.
    pub sources: &'static [&'static str],
    /// What it does not calculate, in words for the dossier.
    pub limits: &'static [&'static str],
    /// The findings that only this kind gives.
    pub codes: &'static [&'static Code],
    pub read: fn(&mut Form<'_, '_>) -> Box<dyn Block>,
}

/// A journal that works, with results that it must give: tests run it, `kinds` shows it.
pub(crate) struct Example {
    pub journal: &'static str,
    /// Result name, value and unit as text that the language reads.
    pub expected: &'static [(&'static str, &'static str)],
}

impl Kind {
    /// Whether a result has that name.
    pub(crate) fn gives(&self, name: &str) -> bool {
        self.rows.iter().any(|row| row.name == name)
    }

    /// With what it has a result that it does not always have: `with \`peak_power\``, all ways to it.
    pub(crate) fn gives_when(&self, name: &str) -> Option<Words> {
        let mut ways: Vec<&'static str> = Vec::new();
        for row in self.rows.iter().filter(|row| row.name == name && !row.when.is_empty()) {
            if !ways.contains(&row.when) {
                ways.push(row.when);
            }
        }
        (!ways.is_empty()).then(|| Words::joined(ways.into_iter().map(Words::from), ", or "))
    }
}
