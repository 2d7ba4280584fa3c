//! A requirement in words: value, limit and margin in one unit, and why the verdict is what it is.

use super::Told;
use crate::evaluate::{Judged, Verdict};
use crate::model::{RequirementKind, percent};
use crate::quantities::show_number;
use crate::words::Words;

pub(crate) struct RequirementRow {
    pub block: String,
    pub name: String,
    pub label: String,
    /// The name of what it judges, where that is the block's own.
    pub judges: Option<String>,
    pub kind: RequirementKind,
    pub actual: String,
    /// `at most 12 000 rpm`.
    pub limit: String,
    pub margin: Option<f64>,
    /// The margin as it is printed; empty where there is none.
    pub margin_shown: String,
    pub verdict: Verdict,
    /// Met, and nothing is uncertain about it that a reader must be told.
    pub sure: bool,
    pub reason: Words,
    pub source: String,
    pub status: &'static str,
}

/// A requirement that is met with a higher probability is told without it.
const SURE: f64 = 0.999;

impl Told<'_> {
    pub(super) fn requirement(&self, judged: &Judged) -> RequirementRow {
        let block = &self.notebook.blocks[judged.block];
        let requirement = &block.requirements[judged.number];
        // Actual and limit are shown in one unit, the actual's; where that is hidden work, the limit's own.
        let unit = [Some(judged.actual), judged.high, judged.low]
            .into_iter()
            .flatten()
            .map(|global| &self.results.units[global])
            .find(|unit| !unit.is_one())
            .unwrap_or(&self.results.units[judged.actual]);
        let show = |global: usize| {
            if self.results.is_known(global) {
                self.results.shown_in(global, unit)
            } else {
                "not known".to_owned()
            }
        };
        let (least, most) =
            if requirement.strict { ("more than", "less than") } else { ("at least", "at most") };
        let known = [judged.low, judged.high].into_iter().flatten().all(|limit| self.results.is_known(limit));
        let limit = match (judged.low, judged.high) {
            _ if !known => "not known".to_owned(),
            (Some(low), Some(high))
                if low == high || self.results.values[low] == self.results.values[high] =>
            {
                format!("exactly {}", show(low))
            }
            (Some(low), Some(high)) => format!("{} to {}", show(low), show(high)),
            (Some(low), None) => format!("{least} {}", show(low)),
            (None, Some(high)) => format!("{most} {}", show(high)),
            (None, None) => String::new(),
        };
        RequirementRow {
            block: block.name.clone(),
            name: requirement.name.clone(),
            label: requirement.label(&block.nodes),
            judges: self.own(judged),
            kind: judged.kind,
            actual: show(judged.actual),
            limit,
            margin: judged.margin.filter(|_| !self.is_point(judged.actual)),
            margin_shown: self.margin_shown(judged),
            verdict: judged.verdict,
            sure: judged.verdict == Verdict::Meets && judged.conformity.is_none_or(|likely| likely > SURE),
            reason: judged.reason.clone(),
            source: requirement.source.clone(),
            status: requirement.status.word(),
        }
    }

    fn own(&self, judged: &Judged) -> Option<String> {
        let (block, index) = self.plan.local(judged.actual);
        (block == judged.block).then(|| self.notebook.blocks[block].nodes[index].name.clone())
    }

    /// Whether a value is a point on the temperature scale.
    fn is_point(&self, global: usize) -> bool {
        let (block, index) = self.plan.local(global);
        self.notebook.blocks[block].nodes[index].sort.is_some_and(|sort| sort.point)
    }

    /// A share of the limit; of a temperature, whose share says nothing, the distance from it.
    fn margin_shown(&self, judged: &Judged) -> String {
        if !self.is_point(judged.actual) {
            return judged.margin.map(percent).unwrap_or_default();
        }
        let known = |global: usize| Some(self.results.values[global]).filter(|value| value.is_finite());
        let rooms = [
            judged.low.and_then(|limit| Some(known(judged.actual)? - known(limit)?)),
            judged.high.and_then(|limit| Some(known(limit)? - known(judged.actual)?)),
        ];
        match rooms.into_iter().flatten().reduce(f64::min) {
            Some(room) => format!("{}\u{a0}K", show_number(room, 2)),
            None => String::new(),
        }
    }
}
