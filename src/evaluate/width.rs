//! How well the value that decides would have to be known for a narrow verdict to meet: found by judging it again with
//! that width, first order, probes and draws as ever.

use std::cell::Cell;

use super::causes::Uncertain;
use super::conformity::conformity;
use super::draws::{Asked, drawn};
use super::fixed::Fixed;
use super::probe::{doubtful, swings};
use super::uncertainty::Budget;

/// How many draws a journal's widths cost at most. After that a width is still true, and no longer the widest.
const MOST: usize = 60_000;

/// How many values all of a journal's searches look at together, at most: each step looks at every value. What comes
/// after has the width of first order alone, or none where draws decide, so that thousands of narrow verdicts cost what
/// they are, and not their square.
const LOOKED_AT: usize = 1_000_000;

/// Steps that halve what the width may be; and how near the ends of the last are.
const STEPS: usize = 12;
const NEAR: f64 = 1.02;

/// So many values that err together are looked at one by one.
const MANY: usize = 100;

/// Finds widths.
pub(super) struct Widths<'a> {
    /// For probes and nudges.
    fixed: Fixed<'a>,
    /// The same for draws, which are counted apart.
    drawing: Fixed<'a>,
    budget: &'a Budget,
    /// Draws that may still be made; `None` where none are made at all yet.
    left: Option<Cell<usize>>,
    /// Values that may still be looked at.
    to_look_at: Cell<usize>,
}

/// One value of a cause.
pub(super) struct Decider {
    leaf: usize,
    member: usize,
    /// What it alone moves, and by how much for one of its standard uncertainties; `None` where that was not asked.
    own: Option<Vec<(usize, f64)>>,
}

/// What would do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Width {
    /// Half of it, in SI.
    Enough(f64),
    /// Known exactly it would not do.
    NotAlone,
    /// Nobody looked.
    Untold,
}

impl<'a> Widths<'a> {
    pub(super) fn new([fixed, drawing]: [Fixed<'a>; 2], budget: &'a Budget, makes_draws: bool) -> Widths<'a> {
        let left = makes_draws.then(|| Cell::new(MOST));
        Widths { fixed, drawing, budget, left, to_look_at: Cell::new(LOOKED_AT) }
    }

    /// Whether another search may be made; it is counted then.
    pub(super) fn may_search(&self) -> bool {
        let cost = self.fixed.plan.len() * (STEPS + 2);
        let left = self.to_look_at.get().checked_sub(cost);
        self.to_look_at.set(left.unwrap_or(0));
        left.is_some()
    }

    /// The value of a cause that stands for it where none is searched for.
    pub(super) fn first(&self, cause: &Uncertain) -> Option<Decider> {
        let leaf = self.budget.leaves.iter().position(|leaf| std::ptr::eq(leaf, cause))?;
        Some(Decider { leaf, member: 0, own: None })
    }

    /// The causes of a doubt with their shares of it, largest first.
    pub(super) fn shares(&self, asked: &Asked, (limit, actual): (usize, usize)) -> Vec<(&'a Uncertain, f64)> {
        let parts = self.budget.counting(&self.budget.difference(limit, actual), Some(asked.kind));
        self.budget.shares_of(&parts, usize::MAX)
    }

    /// The same where draws decide, and first order may not see what does.
    pub(super) fn shares_of_swings(&self, asked: &Asked) -> Vec<(&'a Uncertain, f64)> {
        let mut swings = swings(self.fixed, self.budget, asked);
        let sum: f64 = swings.iter().map(|(_, square)| square).sum();
        swings.retain(|(_, square)| *square > 0.0);
        swings.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        swings.iter().map(|(leaf, square)| (&self.budget.leaves[*leaf as usize], square / sum)).collect()
    }

    /// Of the values that a cause moves the one that alone moves limit − actual most.
    pub(super) fn decider(&self, cause: &Uncertain, (limit, actual): (usize, usize)) -> Option<Decider> {
        let leaf = self.budget.leaves.iter().position(|leaf| std::ptr::eq(leaf, cause))?;
        let members = cause.members.len();
        // What passes through a narrow is not parted again.
        if members > MANY || !self.budget.is_plain() {
            return Some(Decider { leaf, member: 0, own: None });
        }
        let ways = (0..members).map(|member| {
            let own = match members {
                1 => self.budget.moved_by(leaf as u32),
                _ => Budget::moved_by_alone(&self.fixed, &cause.members[member]),
            };
            let part =
                |at: usize| own.iter().find(|(global, _)| *global == at).map_or(0.0, |(_, part)| *part);
            ((part(limit) - part(actual)).abs(), Decider { leaf, member, own: Some(own) })
        });
        ways.reduce(|most, way| if way.0 > most.0 { way } else { most }).map(|(_, decider)| decider)
    }

    /// The value's place in the table.
    pub(super) fn value(&self, decider: &Decider) -> usize {
        self.budget.leaves[decider.leaf].members[decider.member].global
    }

    /// The widest that would do; `guess` is what first order says of it.
    pub(super) fn of(&self, asked: &Asked, decider: &Decider, guess: Option<f64>) -> Width {
        if !matches!(self.meets(asked, decider, 0.0), Some(true)) {
            return self.meets(asked, decider, 0.0).map_or(Width::Untold, |_| Width::NotAlone);
        }
        let cause = &self.budget.leaves[decider.leaf];
        let now = 3f64.sqrt() * cause.members[decider.member].standard;
        let (mut low, mut high) = (0.0, now);
        let mut tries = guess.map_or(Vec::new(), |guess| vec![guess / NEAR.sqrt(), guess * NEAR.sqrt()]);
        for _ in 0..STEPS {
            if low > 0.0 && high < NEAR * low {
                break;
            }
            let middle =
                tries.pop().filter(|guess| low < *guess && *guess < high).unwrap_or(0.5 * (low + high));
            match self.meets(asked, decider, middle) {
                Some(true) => low = middle,
                Some(false) => high = middle,
                None => break,
            }
        }
        if low > 0.0 { Width::Enough(low) } else { Width::Untold }
    }

    /// `None` where it would take more draws than there are left.
    fn meets(&self, asked: &Asked, decider: &Decider, half: f64) -> Option<bool> {
        let own = decider.own.as_ref()?;
        let budget = self.budget.known_to((decider.leaf, decider.member), own, half);
        let one = std::slice::from_ref(asked);
        if doubtful(self.fixed, &budget, one).is_empty() {
            let sure = conformity(asked, self.fixed.nominal, &budget);
            return Some(sure.is_none_or(|sure| sure >= asked.threshold));
        }
        let left = self.left.as_ref().filter(|left| left.get() > 0)?;
        let odds = drawn(self.drawing, &budget, one, &[0])[0]?;
        left.set(left.get().saturating_sub(odds.draws));
        Some(odds.settled && odds.probability >= asked.threshold)
    }
}
