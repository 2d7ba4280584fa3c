//! Holds results against limits.

use super::{Results, State};
use crate::findings::{Finding, codes};
use crate::graph::Plan;
use crate::model::{BlockEntry, Notebook, Requirement, RequirementKind};
use crate::quantities::Dimension;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Verdict {
    Meets,
    Close,
    Fails,
    /// It can't be judged.
    Open,
}

/// One requirement with its verdict.
#[derive(Clone, Debug)]
pub(crate) struct Judged {
    pub block: usize,
    /// Its number in the block.
    pub number: usize,
    pub kind: RequirementKind,
    /// Indices into the table of values.
    pub actual: usize,
    pub low: Option<usize>,
    pub high: Option<usize>,
    /// (limit − actual)/limit for an upper limit, (actual − limit)/limit for a lower one, the smaller of both;
    /// positive when met. `None` where the limit is 0 or not known.
    pub margin: Option<f64>,
    pub verdict: Verdict,
    pub reason: String,
}

/// Limits are held within this share of themselves.
const WITHIN: f64 = 1e-9;

impl Verdict {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Verdict::Meets => "meets",
            Verdict::Close => "close",
            Verdict::Fails => "fails",
            Verdict::Open => "open",
        }
    }
}

pub(super) fn judge(
    notebook: &Notebook,
    plan: &Plan,
    results: &Results,
    dimensions: &[Dimension],
    findings: &mut Vec<Finding>,
) -> Vec<Judged> {
    let mut judged = Vec::new();
    for (number, block) in notebook.blocks.iter().enumerate() {
        for (at, requirement) in block.requirements.iter().enumerate() {
            let start = plan.first[number];
            let global = |index: u32| start + index as usize;
            let mut one = Judged {
                block: number,
                number: at,
                kind: requirement.kind,
                actual: global(requirement.actual),
                low: requirement.low.map(global),
                high: requirement.high.map(global),
                margin: None,
                verdict: Verdict::Open,
                reason: String::new(),
            };
            let parts: Vec<usize> = [Some(one.actual), one.low, one.high].into_iter().flatten().collect();
            if parts.iter().any(|part| results.states[*part] == State::Absent) {
                continue;
            }
            if parts.iter().all(|part| results.is_known(*part)) {
                let held = results.said[number].open.iter().find(|(name, _)| *name == requirement.name);
                match comparable(results, dimensions, &one) {
                    _ if held.is_some() => {
                        one.reason = held.map_or_else(String::new, |(_, reason)| reason.clone())
                    }
                    Ok(()) => one.decide(results, requirement),
                    Err((found, expected)) => {
                        findings.push(unlike(block, requirement, found, expected));
                        one.reason = "actual and limit are of unlike dimensions".to_owned();
                    }
                }
            } else {
                one.reason = "it could not be worked: see the findings".to_owned();
            }
            judged.push(one);
        }
    }
    judged
}

/// A bare 0 compares with any dimension.
fn comparable(
    results: &Results,
    dimensions: &[Dimension],
    one: &Judged,
) -> Result<(), (Dimension, Dimension)> {
    let actual = dimensions[one.actual];
    for limit in [one.low, one.high].into_iter().flatten() {
        let zero = results.values[limit] == 0.0 && dimensions[limit] == Dimension::NONE;
        if !zero && !dimensions[limit].same(actual) {
            return Err((dimensions[limit], actual));
        }
    }
    Ok(())
}

fn unlike(block: &BlockEntry, requirement: &Requirement, found: Dimension, expected: Dimension) -> Finding {
    let message = format!("the limit of `{}` is in {found}, its value in {expected}", requirement.name);
    let help = "give the limit a unit of the value's dimension";
    Finding::new(&codes::UNIT_MISMATCH, requirement.span, message, help)
        .in_block(&format!("{} {}", block.kind.name, block.name))
}

impl Judged {
    fn decide(&mut self, results: &Results, requirement: &Requirement) {
        let actual = results.values[self.actual];
        let low = self.low.map(|limit| results.values[limit]);
        let high = self.high.map(|limit| results.values[limit]);
        let slack = |limit: f64| WITHIN * limit.abs().max(actual.abs());
        let within = |room: f64, limit: f64| {
            if requirement.strict { room > slack(limit) } else { room >= -slack(limit) }
        };
        let above = low.is_none_or(|limit| within(actual - limit, limit));
        let below = high.is_none_or(|limit| within(limit - actual, limit));
        let share = |room: f64, limit: f64| (limit != 0.0).then(|| room / limit.abs());
        let margins = [
            low.and_then(|limit| share(actual - limit, limit)),
            high.and_then(|limit| share(limit - actual, limit)),
        ];
        self.margin = margins.into_iter().flatten().reduce(f64::min);
        self.verdict = if above && below { Verdict::Meets } else { Verdict::Fails };
        self.reason = match (above, below) {
            (true, true) => "within the limit".to_owned(),
            (false, _) => "below the limit".to_owned(),
            (_, false) => "above the limit".to_owned(),
        };
    }
}
