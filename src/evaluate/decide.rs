//! Decides a requirement from its numbers (JCGM 106:2012): met nominally is not enough where the value may as well miss
//! its limit.

use std::collections::HashSet;

use super::Results;
use super::conformity::conformity;
use super::draws::{Asked, Odds, Sides, slack};
use super::verdict::{Doubt, Judged, Verdict};
use super::width::{Width, Widths};
use crate::graph::Plan;
use crate::model::{
    Claim, Computed, FieldSort, NodeDecl, Notebook, Origin, Requirement, RequirementKind, Role, Status,
    percent,
};
use crate::quantities::{Unit, show_number, show_operand};
use crate::words::{Words, words};

/// What a requirement is decided from.
#[derive(Clone, Copy)]
pub(super) struct Case<'a> {
    pub(super) notebook: &'a Notebook,
    pub(super) plan: &'a Plan,
    pub(super) results: &'a Results,
    pub(super) requirement: &'a Requirement,
}

/// Above this probability of conformity a value that misses its limit nominally does not do so for certain.
pub(super) const CERTAIN: f64 = 0.05;

/// Under this probability of conformity a met requirement is only `close`.
pub(super) fn enough(kind: RequirementKind) -> f64 {
    match kind {
        RequirementKind::Safety | RequirementKind::Legal => 0.95,
        RequirementKind::Wish => 0.8,
    }
}

/// How many standard uncertainties away a limit has to be for that (Φ(1.645) = 0.95, Φ(0.842) = 0.8).
fn distance_enough(kind: RequirementKind) -> f64 {
    match kind {
        RequirementKind::Safety | RequirementKind::Legal => 1.645,
        RequirementKind::Wish => 0.842,
    }
}

impl Judged {
    pub(super) fn asked(&self, requirement: &Requirement, threshold: f64) -> Asked {
        Asked { sides: self.sides(requirement), kind: self.kind, threshold }
    }

    pub(super) fn sides(&self, requirement: &Requirement) -> Sides {
        Sides { actual: self.actual, low: self.low, high: self.high, strict: requirement.strict }
    }

    /// `odds` is what the draws say, where first order was not enough.
    pub(super) fn decide(&mut self, case: &Case<'_>, odds: Option<Odds>, widths: &Widths<'_>) {
        let values = &case.results.values;
        let actual = values[self.actual];
        let share = |room: f64, limit: f64| (limit != 0.0).then(|| room / limit.abs());
        let margins = [
            self.low.and_then(|limit| share(actual - values[limit], values[limit])),
            self.high.and_then(|limit| share(values[limit] - actual, values[limit])),
        ];
        self.margin = margins.into_iter().flatten().reduce(f64::min);
        let asked = self.asked(case.requirement, enough(self.kind));
        self.conformity = match odds {
            Some(odds) if odds.draws > 0 => Some(odds.probability),
            _ => conformity(&asked, values, &case.results.budget),
        };
        self.draws = odds.map(|odds| odds.draws);
        let missed = self.sides(case.requirement).missed(values);
        (self.verdict, self.reason) = if case.requirement.status == Status::Memory {
            let words = match missed {
                Some(_) => "its limit is from memory, unverified; as remembered, it fails",
                None => "its limit is from memory, unverified",
            };
            (Verdict::Open, words.into())
        } else if let Some(missed) = missed {
            self.missed(case, missed)
        } else {
            match self.in_doubt(case, odds, widths) {
                Some((doubt, reason)) => {
                    self.doubt = Some(doubt);
                    (Verdict::Close, reason)
                }
                None => (Verdict::Meets, self.certainty()),
            }
        };
        if let Some(by) = &case.requirement.confirmed_by {
            self.reason.append(words!("; limit confirmed by {}", by));
        }
    }

    /// A limit that nobody stated can't be missed for certain.
    fn missed(&self, case: &Case<'_>, (limit, side): (usize, &'static str)) -> (Verdict, Words) {
        if case.assumed(limit) {
            let reason = words!("{} a limit that the program assumed; as assumed, it fails", side);
            return (Verdict::Open, reason);
        }
        let reason = match (self.conformity.filter(|probability| *probability > CERTAIN), self.margin) {
            (Some(probability), Some(margin)) => words!(
                "{} the limit by {}, not certain: {}",
                side,
                percent(margin.abs()),
                self.conformity_words(probability)
            ),
            (Some(probability), None) => {
                words!("{} the limit, not certain: {}", side, self.conformity_words(probability))
            }
            (None, _) => words!("{} the limit", side),
        };
        (Verdict::Fails, reason)
    }

    /// Why a value that meets its limit nominally is only `close` to it. The narrow margin is told first: reading the
    /// limit does not mend it.
    fn in_doubt(&self, case: &Case<'_>, odds: Option<Odds>, widths: &Widths<'_>) -> Option<(Doubt, Words)> {
        let second_hand = case.requirement.status == Status::SecondHand;
        let values = &case.results.values;
        let actual = values[self.actual];
        let equal = self.limits().any(|limit| (values[limit] - actual).abs() <= slack(actual, values[limit]));
        let unsettled = odds.is_some_and(|odds| !odds.settled);
        let narrow = match self.conformity.filter(|sure| unsettled || *sure < enough(self.kind)) {
            Some(probability) => {
                let mut reason = self.conformity_words(probability);
                if unsettled && self.draws > Some(0) {
                    reason.append(", which more draws may change".into());
                }
                reason.append(self.decisive(case, widths));
                Some(reason)
            }
            // What a device is set to is not what it does.
            None if equal && self.is_setting(case) => Some("it is set to the limit itself".into()),
            None => None,
        };
        match narrow {
            Some(mut reason) => {
                if second_hand {
                    reason.append("; its limit is second-hand".into());
                }
                Some((Doubt::Narrow, reason))
            }
            None if second_hand => Some((Doubt::Unread, "its limit is second-hand".into())),
            None if self.kind != RequirementKind::Wish && self.limits().any(|limit| case.assumed(limit)) => {
                Some((Doubt::Unread, "its limit is one that the program assumed".into()))
            }
            None => None,
        }
    }

    /// The input that most of the doubt comes from; where that is mostly supposed, also how well it would have to be known.
    fn decisive(&self, case: &Case<'_>, widths: &Widths<'_>) -> Words {
        let (results, budget) = (case.results, &case.results.budget);
        let room = |limit: usize| (results.values[limit] - results.values[self.actual]).abs();
        let Some(near) = self.limits().min_by(|a, b| room(*a).total_cmp(&room(*b))) else {
            return Words::default();
        };
        let asked = self.asked(case.requirement, enough(self.kind));
        let searching = widths.may_search();
        let mut shares = match self.draws {
            Some(draws) if draws > 0 && searching => widths.shares_of_swings(&asked),
            _ => Vec::new(),
        };
        let straight = shares.is_empty();
        if straight {
            shares = widths.shares(&asked, (near, self.actual));
        }
        let first = shares.first();
        let decider = first.and_then(|(leaf, _)| match searching {
            true => widths.decider(leaf, (near, self.actual)),
            false => widths.first(leaf),
        });
        let (Some((leaf, share)), Some(decider)) = (first, decider) else { return Words::default() };
        let value = widths.value(&decider);
        let (block, node) = case.node(value);
        let mut words = words!(", which `{}.{}` decides", case.notebook.blocks[block].name, node.name);
        let supposed: f64 = shares.iter().filter(|(leaf, _)| leaf.supposed).map(|(_, share)| share).sum();
        if supposed <= 0.5 || !leaf.supposed || self.draws == Some(0) {
            return words;
        }
        // The variance that would do, less that of the others.
        let variance = budget.of_difference((near, self.actual), self.kind).0.powi(2);
        let left = (room(near) / distance_enough(self.kind)).powi(2) - variance * (1.0 - share);
        let now = 3f64.sqrt() * leaf.members[0].standard;
        // Of draws first order says nothing.
        let straight = straight && self.draws.is_none();
        let guess = (straight && leaf.members.len() == 1 && left > 0.0)
            .then(|| now * (left / (variance * share)).sqrt());
        let width = match searching {
            true => widths.of(&asked, &decider, guess),
            false => guess.map_or(Width::Untold, Width::Enough),
        };
        match width {
            Width::Untold => {}
            Width::NotAlone => words.append(
                " with its supposed width; not by that value alone: known exactly it would still be close"
                    .into(),
            ),
            Width::Enough(half) => {
                let known = match leaf.claim {
                    Claim::DeviceAccuracy => "with an accuracy of",
                    _ => "known to",
                };
                let does = if self.has_another_doubt(case) { "the margin would do" } else { "it would meet" };
                let width = width_words(half, results.curves[value].is_some(), &results.units[value]);
                words.append(words!(" with its supposed width; {} ± {} {}", known, width, does));
            }
        }
        words
    }

    /// Whether it would be `close` with any margin.
    fn has_another_doubt(&self, case: &Case<'_>) -> bool {
        let mut held = case.results.said[self.block].held.iter();
        case.requirement.status == Status::SecondHand
            || self.kind != RequirementKind::Wish && self.limits().any(|limit| case.assumed(limit))
            || held.any(|held| held.requirement == case.requirement.name)
    }

    /// Whether value or limit is what a device is set to.
    fn is_setting(&self, case: &Case<'_>) -> bool {
        let setting = |node: &NodeDecl| node.doc.is_some_and(|doc| doc.sort == FieldSort::Setting);
        std::iter::once(self.actual).chain(self.limits()).any(|part| case.stands_on(part, setting))
    }

    fn certainty(&self) -> Words {
        self.conformity.map_or_else(|| "within the limit".into(), |sure| self.conformity_words(sure))
    }

    /// `probability of conformity 97.2 %`, and how it was found where not by first order.
    fn conformity_words(&self, probability: f64) -> Words {
        match self.draws {
            Some(0) => {
                words!(
                    "probability of conformity {} by first order, draws to come",
                    conformity_text(probability)
                )
            }
            Some(draws) => {
                // Where none of n draws misses, 1 − 3/n is what they show with 95 % confidence, and no more.
                let shown = 1.0 - 3.0 / draws as f64;
                let text = if probability > shown {
                    format!("over {}", percent(shown))
                } else {
                    percent(probability)
                };
                words!("probability of conformity {} by {} draws", text, show_number(draws as f64, 1))
            }
            None => words!("probability of conformity {}", conformity_text(probability)),
        }
    }
}

/// Half of a width, rounded so that it is never wider than it was found to be.
fn width_words(half: f64, of_curve: bool, unit: &Unit) -> String {
    // Within rounding a width of 4.9 is not one of 4.8.
    let lower = |value: f64| {
        let step = 10f64.powi(value.log10().floor() as i32 - 1);
        (value / step + 1e-9).floor() * step
    };
    if of_curve {
        return format!("{}\u{a0}%", show_number(lower(100.0 * half), 2));
    }
    if unit.is_point() {
        return format!("{}\u{a0}K", show_number(lower(half), 2));
    }
    let value = unit.value_of(half);
    show_operand(half * lower(value) / value, unit, 2)
}

impl<'a> Case<'a> {
    pub(super) fn node(&self, global: usize) -> (usize, &'a NodeDecl) {
        let (block, index) = self.plan.local(global);
        (block, &self.notebook.blocks[block].nodes[index])
    }

    /// Whether a limit is a default of the kind: the limit itself, the value that it takes over, or part of its formula.
    fn assumed(&self, limit: usize) -> bool {
        self.stands_on(limit, |node| node.leaf().is_some_and(|leaf| leaf.default))
    }

    /// Whether a value is of that sort, or takes over or is hidden work from one that is.
    fn stands_on(&self, value: usize, sort: impl Fn(&NodeDecl) -> bool) -> bool {
        let mut open = vec![value];
        let mut seen = HashSet::new();
        while let Some(at) = open.pop() {
            let (_, node) = self.node(at);
            if sort(node) {
                return true;
            }
            let passes_on = match &node.role {
                Role::Field(Origin::Reference(_)) => true,
                Role::Step(Computed::Engine { .. }) => node.hidden,
                Role::Step(_) | Role::Field(_) => false,
            };
            if passes_on && seen.insert(at) {
                open.extend(self.plan.needs(at));
            }
        }
        false
    }
}

fn conformity_text(probability: f64) -> String {
    if probability > 0.999 { "over 99.9\u{a0}%".to_owned() } else { percent(probability) }
}
