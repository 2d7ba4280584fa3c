//! Everything that is open in one list, what would fail an inspection first.

use super::Told;
use super::asked::Outcome;
use super::coverage::Coverage;
use crate::evaluate::{Doubt, Verdict};
use crate::model::RequirementKind;
use crate::source::Span;
use crate::words::{Words, words};

/// One thing that is still to do, or that an inspection would fail on.
pub(crate) struct OpenItem {
    pub kind: RequirementKind,
    /// `fails`, `open`, `not in this journal`, `limit unread`, `calibration ended`.
    pub word: &'static str,
    pub what: String,
    /// The same for people, without the block.
    pub label: String,
    /// Whose it is, if a block's.
    pub block: Option<String>,
    pub reason: Words,
    pub place: Option<Span>,
    pub not_yet: bool,
    /// Of a requirement, its number among all that are judged.
    pub judged: Option<usize>,
}

impl Told<'_> {
    /// Everything that is open, what would fail an inspection first: what fails before what is missing before limits that
    /// nobody read; safety before law before wishes; what is not due yet last.
    pub(crate) fn open_items(self, coverage: Option<&Coverage>) -> Vec<OpenItem> {
        let mut items = Vec::new();
        for (number, judged) in self.results.judged.iter().enumerate() {
            let block = &self.notebook.blocks[judged.block];
            let requirement = &block.requirements[judged.number];
            let word = match (judged.verdict, judged.doubt) {
                (Verdict::Fails, _) => "fails",
                (Verdict::Open, _) => "open",
                (Verdict::Close, Some(Doubt::Unread)) => "limit unread",
                _ => continue,
            };
            items.push(OpenItem {
                kind: judged.kind,
                word,
                what: format!("{}.{}", block.name, requirement.name),
                label: requirement.label(&block.nodes),
                block: Some(block.name.clone()),
                reason: judged.reason.clone(),
                place: Some(requirement.span),
                not_yet: judged.not_yet,
                judged: Some(number),
            });
        }
        for row in coverage.iter().flat_map(|coverage| coverage.rows()) {
            // What a requirement tells stands there already.
            let wanting = row.own && matches!(row.outcome, Outcome::Fails | Outcome::Open | Outcome::Missing);
            if wanting || row.unread {
                let subject = row.source.is_empty();
                let what = match subject {
                    true => row.theme.to_owned(),
                    false => format!("{}.{}", row.pack, row.id),
                };
                let label = match subject {
                    true => row.theme.to_owned(),
                    false => format!("{} by {}: {}", row.theme, row.pack, row.asks),
                };
                items.push(OpenItem {
                    kind: row.kind,
                    word: if row.unread { "limit unread" } else { row.outcome.word() },
                    what,
                    label,
                    block: None,
                    reason: if row.unread {
                        "what is asked is second-hand".into()
                    } else {
                        row.reason.clone()
                    },
                    place: row.place.or_else(|| self.answered_at(row.pack)),
                    not_yet: row.not_yet,
                    judged: None,
                });
            }
        }
        for (_, block) in self.current() {
            for calibration in block.block.calibrations().iter().filter(|calibration| !calibration.held()) {
                let reason = match &calibration.until {
                    Some(until) => words!("`{}` until {}", calibration.instrument, until),
                    None => words!("`{}` was never calibrated", calibration.instrument),
                };
                items.push(OpenItem {
                    kind: RequirementKind::Safety,
                    word: "calibration ended",
                    what: block.name.clone(),
                    label: "calibration".to_owned(),
                    block: Some(block.name.clone()),
                    reason,
                    place: Some(calibration.at),
                    not_yet: false,
                    judged: None,
                });
            }
        }
        let rank = |word: &str| {
            let order = ["fails", "calibration ended", "not in this journal", "open", "limit unread"];
            order.iter().position(|one| *one == word)
        };
        items.sort_by_key(|item| {
            (item.not_yet, item.kind == RequirementKind::Wish, rank(item.word), item.kind)
        });
        items
    }

    /// Where an item that nothing is there of would be answered: the newest inspection, else where its pack is asked for.
    fn answered_at(self, pack: &str) -> Option<Span> {
        let answers = self.current().filter(|(_, block)| !block.block.statements().is_empty());
        let asked = self.notebook.front.rules.iter().find(|(name, _)| name == pack);
        answers.last().map(|(_, block)| block.name_span).or(asked.map(|(_, span)| *span))
    }
}
