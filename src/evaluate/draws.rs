//! Verdicts by draws (JCGM 101:2008): one set for all requirements, of which only what they need is run, until the
//! probability is sure enough.

use super::fixed::Fixed;
use super::monte_carlo::Lottery;
use super::replay::{Reaches, Replay, Search};
use super::uncertainty::Budget;
use crate::model::RequirementKind;
use crate::parallel;

/// What is held against what.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sides {
    pub(super) actual: usize,
    pub(super) low: Option<usize>,
    pub(super) high: Option<usize>,
    /// Equality misses the limit.
    pub(super) strict: bool,
}

impl Sides {
    pub(super) fn limits(self) -> impl Iterator<Item = usize> {
        self.low.into_iter().chain(self.high)
    }

    /// The limit that is missed, and on which side of it the value is. What is no number misses it.
    pub(super) fn missed(self, values: &[f64]) -> Option<(usize, &'static str)> {
        let actual = values[self.actual];
        let within = |room: f64, limit: f64| {
            let slack = slack(actual, limit);
            if self.strict { room > slack } else { room >= -slack }
        };
        let low = self.low.filter(|low| !within(actual - values[*low], values[*low]));
        let high = self.high.filter(|high| !within(values[*high] - actual, values[*high]));
        low.map(|low| (low, "below")).or(high.map(|high| (high, "above")))
    }
}

pub(super) fn slack(actual: f64, limit: f64) -> f64 {
    WITHIN * limit.abs().max(actual.abs())
}

/// Limits are held within this share of themselves.
const WITHIN: f64 = 1e-9;

/// A requirement that numbers decide.
pub(super) struct Asked {
    pub(super) sides: Sides,
    pub(super) kind: RequirementKind,
    /// The probability of conformity that its verdict turns at.
    pub(super) threshold: f64,
}

/// What the draws say of a requirement.
#[derive(Clone, Copy, Debug)]
pub(super) struct Odds {
    /// The probability of conformity.
    pub(super) probability: f64,
    pub(super) draws: usize,
    /// Its verdict would be the same with more draws.
    pub(super) settled: bool,
}

/// The draws of the first round; each later one doubles what there is.
const FIRST: usize = 250;
const MOST: usize = 20_000;

/// Draws that a core takes at once.
const AT_ONCE: usize = 50;

/// A probability with a smaller standard error than this, or further from the threshold than so many of them, is sure.
const SURE: f64 = 0.0025;
const AWAY: f64 = 3.0;

/// The odds of the requirements with these numbers.
pub(super) fn drawn(
    fixed: Fixed<'_>,
    budget: &Budget,
    asked: &[Asked],
    numbers: &[usize],
) -> Vec<Option<Odds>> {
    let mut odds = vec![None; asked.len()];
    // What counts differs by kind, what is drawn of a leaf does not.
    for kind in [RequirementKind::Safety, RequirementKind::Legal, RequirementKind::Wish] {
        let mut left: Vec<(usize, usize)> =
            numbers.iter().filter(|number| asked[**number].kind == kind).map(|number| (*number, 0)).collect();
        let mut done = 0;
        while !left.is_empty() {
            let until = (2 * done).clamp(FIRST, MOST);
            let sides: Vec<&Sides> = left.iter().map(|(number, _)| &asked[*number].sides).collect();
            let held = held(fixed, (budget, kind), &sides, done..until);
            done = until;
            for ((number, count), held) in left.iter_mut().zip(held) {
                *count += held;
                let settled = settled(*count, done, asked[*number].threshold);
                if settled || done == MOST {
                    let probability = *count as f64 / done as f64;
                    odds[*number] = Some(Odds { probability, draws: done, settled });
                }
            }
            left.retain(|(number, _)| odds[*number].is_none());
        }
    }
    odds
}

/// The requirements with these numbers while nothing is drawn yet.
pub(super) fn put_off(count: usize, numbers: &[usize]) -> Vec<Option<Odds>> {
    let mut odds = vec![None; count];
    let none = Odds { probability: f64::NAN, draws: 0, settled: false };
    numbers.iter().for_each(|number| odds[*number] = Some(none));
    odds
}

/// In how many of some draws each requirement is met. Where it can't be worked it is not.
fn held(
    fixed: Fixed<'_>,
    (budget, kind): (&Budget, RequirementKind),
    sides: &[&Sides],
    draws: std::ops::Range<usize>,
) -> Vec<usize> {
    let wanted =
        fixed.needed_for(sides.iter().flat_map(|sides| sides.limits().chain([sides.actual])).collect());
    let lottery = Lottery::new(&fixed, budget, (Some(kind), Some(&wanted)));
    let reach = Search::new(fixed, &Reaches::new(&fixed)).within(&lottery.roots(), Some(&wanted));
    let met = parallel::each_with(
        draws.len(),
        AT_ONCE,
        || Replay::new(fixed),
        |replay, at| {
            lottery.put(&mut replay.values, (draws.start + at) as u64);
            replay.work(&reach);
            sides.iter().map(|sides| sides.missed(&replay.values).is_none()).collect::<Vec<bool>>()
        },
    );
    (0..sides.len()).map(|at| met.iter().filter(|met| met[at]).count()).collect()
}

/// Whether the verdict is sure, by the standard error of a share (with two more of each outcome, so that a share of 1 is
/// not taken as certain).
fn settled(count: usize, draws: usize, threshold: f64) -> bool {
    let share = (count as f64 + 2.0) / (draws as f64 + 4.0);
    let error = (share * (1.0 - share) / draws as f64).sqrt();
    error < SURE || (share - threshold).abs() > AWAY * error
}

#[cfg(test)]
mod tests {
    use super::settled;

    #[test]
    fn draws_end_when_the_verdict_is_sure() {
        assert!(settled(500, 500, 0.95), "all of five hundred");
        assert!(!settled(480, 500, 0.95), "96 % may be 94 %");
        assert!(settled(400, 500, 0.95), "80 % is far away");
        assert!(settled(7_700, 8_000, 0.95), "a standard error of 0.2 %");
        assert!(!settled(16_000, 20_000, 0.8), "one of 0.28 %, and at the threshold");
    }
}
