//! How firm a choice is: all that is uncertain is drawn together for the best few candidates, the same draws for each.

use std::sync::atomic::AtomicUsize;

use super::super::monte_carlo::Lottery;
use super::super::replay::{Reaches, Replay, Search};
use super::candidates::{Whole, Work};
use crate::model::{Firm, Preferred};
use crate::parallel;
use crate::quantities::Quantity;

/// How many of the best are held against each other.
pub(super) const FEW: usize = 5;

/// A share that is worked from so many draws has a standard error of 1.6 % at most.
const DRAWS: usize = 1_000;

/// Draws that a core takes at once.
const AT_ONCE: usize = 25;

/// What one draw makes of a candidate: its preferences, less being better; `None` where it is not kept.
type Draw = Option<Vec<f64>>;

impl Work<'_> {
    /// Of each of the best few. None where nothing of them is uncertain.
    pub(super) fn firm(&self, few: &[Whole]) -> Vec<Firm> {
        if few.iter().all(|whole| whole.results.budget.leaves.is_empty()) {
            return Vec::new();
        }
        let drawn: Vec<Vec<Draw>> = few.iter().map(|whole| self.drawn(whole)).collect();
        let share = |holds: &dyn Fn(usize) -> bool| {
            (0..DRAWS).filter(|draw| holds(*draw)).count() as f64 / DRAWS as f64
        };
        let firm = |at: usize| Firm {
            best: share(&|draw| {
                let others = drawn.iter().map(|of| &of[draw]);
                drawn[at][draw].as_ref().is_some_and(|own| others.flatten().all(|other| !beats(other, own)))
            }),
            kept: share(&|draw| drawn[at][draw].is_some()),
            draws: DRAWS,
        };
        (0..few.len()).map(firm).collect()
    }

    fn drawn(&self, Whole { variant, results, .. }: &Whole) -> Vec<Draw> {
        let runs = AtomicUsize::new(0);
        let fixed = results.fixed(&variant.notebook, &variant.plan, &runs);
        let mut wanted = vec![false; variant.plan.len()];
        let mut open = self.wanted(variant);
        while let Some(at) = open.pop() {
            if !std::mem::replace(&mut wanted[at], true) {
                open.extend(variant.plan.needs(at));
            }
        }
        let lottery = Lottery::new(&fixed, &results.budget, (None, Some(&wanted))).by_name(&fixed);
        let reach = Search::new(fixed, &Reaches::new(&fixed)).within(&lottery.roots(), Some(&wanted));
        let look = |values: &[f64]| {
            self.look_at(variant, &|at| {
                let there = results.is_known(at) && values[at].is_finite();
                let (dimension, point) = (results.dimensions[at], results.points[at]);
                there.then(|| Quantity { si: values[at], dimension, point })
            })
        };
        // What is not known of it without any draw is not held against it.
        let nominal = look(&results.values);
        parallel::each_with(
            DRAWS,
            AT_ONCE,
            || Replay::new(fixed),
            |replay, draw| {
                lottery.put(&mut replay.values, draw as u64);
                replay.work(&reach);
                let one = look(&replay.values);
                let lost = nominal.kept.iter().zip(&one.kept).any(|(was, is)| was.is_some() && is.is_none());
                let each = one.prefer.iter().zip(&self.asked.prefer);
                let wanted = each.map(|(value, of)| match of.way {
                    Preferred::Lowest => *value,
                    Preferred::Highest => value.map(|value| -value),
                });
                let wanted: Option<Vec<f64>> = wanted.collect();
                wanted.filter(|_| !lost && self.keeps(&one))
            },
        )
    }
}

/// Whether a candidate is better: in one preference, and as good at least in the others.
fn beats(one: &[f64], other: &[f64]) -> bool {
    one != other && one.iter().zip(other).all(|(one, other)| one <= other)
}
