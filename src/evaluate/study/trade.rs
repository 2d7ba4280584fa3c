//! Works every combination of a trade study nominally, drops what misses a condition, and runs the best whole.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::super::changed::try_all;
use super::asking::Asking;
use super::candidates::{Tried, Whole, Work};
use super::firm::FEW;
use crate::findings::{Finding, codes};
use crate::model::{Change, Dropped, Preferred, Refusal, Trade, Traded};
use crate::parallel;
use crate::quantities::{Unit, show_number, show_quantity};
use crate::words::{Shown, Words, words};

/// Most candidates of a study.
const MOST: usize = 1_000_000;

/// Candidates that are worked before the next ones are made.
const AT_ONCE: usize = 20_000;

/// How many candidates are run whole for each row, at most: those that fail for safety then are dropped.
const RUNS: usize = 4;

/// Candidates of the study that is worked now, and how many of them are done.
static ALL: AtomicUsize = AtomicUsize::new(0);
static DONE: AtomicUsize = AtomicUsize::new(0);

/// How many candidates are done, and of how many, for whoever waits. 0 where none is worked.
pub(crate) fn tried() -> (usize, usize) {
    (DONE.load(Ordering::Relaxed), ALL.load(Ordering::Relaxed))
}

pub(super) fn trade(asking: &Asking<'_>, asked: &Trade) -> Result<Traded, Vec<Finding>> {
    let count = asked.varied.iter().try_fold(1_usize, |count, varied| count.checked_mul(varied.to.len()));
    let Some(count) = count.filter(|count| *count <= MOST) else {
        let counts = asked.varied.iter().map(|varied| words!("{} of `{}`", varied.to.len(), varied.name));
        let all: f64 = asked.varied.iter().map(|varied| varied.to.len() as f64).product();
        let (all, most) = (show_number(all, 7), show_number(MOST as f64, 7));
        let message = words!("too many candidates: {}, {}", Shown(all), Words::joined(counts, " times "));
        let help = words!("at most {} are worked: take longer steps, or leave some out", Shown(most));
        return Err(vec![Finding::new(&codes::BAD_VALUE, asked.varied_span, message, help)]);
    };
    inputs_can_be_set(asking, asked)?;
    let work = Work::new(asking, asked);
    work.same_sorts()?;
    let mut tried = Vec::with_capacity(count);
    DONE.store(0, Ordering::Relaxed);
    ALL.store(count, Ordering::Relaxed);
    for from in (0..count).step_by(AT_ONCE) {
        let changes: Vec<Vec<Change>> =
            (from..(from + AT_ONCE).min(count)).map(|number| work.changes(number)).collect();
        let (found, _) = try_all(
            asking.changeable,
            &changes,
            |variant| work.wanted(variant),
            |nominal| {
                DONE.fetch_add(1, Ordering::Relaxed);
                work.look(nominal)
            },
        );
        tried.extend(found);
        DONE.store(tried.len(), Ordering::Relaxed);
    }
    ALL.store(0, Ordering::Relaxed);
    Ok(work.sorted(&tried))
}

/// Each input must be one that can be set at all.
fn inputs_can_be_set(asking: &Asking<'_>, asked: &Trade) -> Result<(), Vec<Finding>> {
    let mut findings = Vec::new();
    for varied in &asked.varied {
        for (at, input) in varied.inputs.iter().enumerate() {
            let change = Change { set: input.set.clone(), to: varied.to[0][at].clone() };
            let Err(refused) = asking.changeable.with(&[change]) else { continue };
            let none = |refusal: &&Refusal| {
                !matches!(refusal, Refusal::Lacks { .. } | Refusal::Wrong(_) | Refusal::Nothing { .. })
            };
            let refused: Vec<Refusal> = refused.iter().filter(none).cloned().collect();
            findings.extend(Asking::refused(&refused, input.span));
        }
    }
    if findings.is_empty() { Ok(()) } else { Err(findings) }
}

impl Work<'_> {
    fn sorted(&self, tried: &[Result<Tried, Vec<Refusal>>]) -> Traded {
        let mut traded = Traded { candidates: tried.len(), ..Traded::default() };
        let mut kept: Vec<usize> = Vec::new();
        for (number, outcome) in tried.iter().enumerate() {
            match outcome {
                Ok(one) if self.keeps(one) => kept.push(number),
                Ok(one) if one.prefer.contains(&None) && self.missed(one).is_empty() => {
                    add(&mut traded.refused, "what is preferred could not be worked".into());
                }
                Ok(_) => {}
                Err(refused) => add(
                    &mut traded.refused,
                    refused.first().map_or_else(Words::default, |first| first.words()),
                ),
            }
        }
        let one = |number: &usize| tried[*number].as_ref().expect("kept ones are worked");
        let open = |number: &usize| one(number).kept.contains(&None);
        traded.kept = kept.len();
        traded.open = kept.iter().filter(|number| open(number)).count();
        let wanted = |number: &usize| -> Vec<f64> {
            let each = one(number).prefer.iter().zip(&self.asked.prefer);
            each.map(|(value, of)| match of.way {
                Preferred::Lowest => value.unwrap_or(f64::NAN),
                Preferred::Highest => -value.unwrap_or(f64::NAN),
            })
            .collect()
        };
        let order = |a: &usize, b: &usize| {
            let (one, other) = (wanted(a), wanted(b));
            let by = one.iter().zip(&other).map(|(one, other)| one.total_cmp(other));
            open(a)
                .cmp(&open(b))
                .then(by.fold(std::cmp::Ordering::Equal, std::cmp::Ordering::then))
                .then(a.cmp(b))
        };
        kept.sort_by(order);
        if self.asked.prefer.len() > 1 {
            let points: Vec<[f64; 2]> =
                kept.iter().map(|number| [wanted(number)[0], wanted(number)[1]]).collect();
            let set = best_of_both(&points);
            kept = set.into_iter().map(|at| kept[at]).collect();
            let point = |number: &usize| {
                let both = &one(number).prefer;
                (self.options(*number), [both[0].unwrap_or(f64::NAN), both[1].unwrap_or(f64::NAN)])
            };
            traded.points = kept.iter().map(point).collect();
        }
        traded.set = kept.len();
        let whole = self.run_best(&kept, &mut traded, one);
        traded.firm = self.firm(&whole);
        traded.decided = self.asked.chosen.as_ref().map(|(options, _)| self.decided(tried, options));
        traded.astray = self.astray();
        let over = |(at, index): (usize, &usize)| {
            let value = |tried: &Result<Tried, _>| tried.as_ref().map_or(f64::NAN, |one| one.over[at]);
            (*index, tried.iter().map(value).collect())
        };
        traded.over = self.over.iter().enumerate().map(over).collect();
        if traded.units.is_empty() && !self.over.is_empty() {
            traded.units = self.row(0).map_or_else(Vec::new, |(_, whole)| whole.units);
        }
        traded.dropped = self.dropped(tried, &traded.units);
        traded
    }

    /// How many candidates each condition drops.
    fn dropped(&self, tried: &[Result<Tried, Vec<Refusal>>], units: &[(usize, Unit)]) -> Vec<Dropped> {
        let texts = self.asked.keep.iter().map(|condition| condition.text.clone());
        let safety = self.asked.safety.then(|| "safety: yes".to_owned());
        let mut dropped: Vec<Dropped> =
            texts.chain(safety).map(|what| Dropped { what, together: 0, alone: 0, nearest: None }).collect();
        // Of each the one that misses by least; first of those that miss nothing else.
        let mut nearest: Vec<Option<(bool, f64, usize)>> = vec![None; dropped.len()];
        for (number, outcome) in tried.iter().enumerate() {
            let Ok(one) = outcome else { continue };
            let missed = self.missed(one);
            for at in &missed {
                let alone = missed.len() == 1;
                dropped[*at].together += 1;
                dropped[*at].alone += usize::from(alone);
                let Some(Some((room, _))) = one.kept.get(*at) else { continue };
                let closer = nearest[*at]
                    .is_none_or(|(before, miss, _)| alone && !before || alone == before && -room < miss);
                if closer {
                    nearest[*at] = Some((alone, -room, number));
                }
            }
        }
        for (at, found) in nearest.into_iter().enumerate() {
            let Some((_, miss, number)) = found else { continue };
            let actual = self.asked.keep[at].actual;
            let known = |units: &[(usize, Unit)]| {
                units.iter().find(|(index, _)| *index == actual).map(|(_, unit)| unit.clone())
            };
            let unit = known(units).or_else(|| known(&self.row(number)?.1.units));
            let shown = unit.map_or_else(String::new, |unit| difference(miss, &unit));
            dropped[at].nearest = Some((self.options(number), shown));
        }
        dropped
    }

    /// Runs the best candidates whole, and makes rows of those that fail no requirement of safety where that is asked. Gives
    /// the runs of the first few.
    fn run_best<'t>(
        &self,
        kept: &[usize],
        traded: &mut Traded,
        one: impl Fn(&usize) -> &'t Tried + Sync,
    ) -> Vec<Whole> {
        let mut few: Vec<Whole> = Vec::new();
        let rows = self.asked.rows;
        let most = kept.len().min(rows.saturating_mul(RUNS));
        let mut from = 0;
        while from < most && traded.rows.len() < rows {
            let until = (from + rows).min(most);
            let made = parallel::each(until - from, 1, |at| self.row(kept[from + at]));
            for (number, made) in kept[from..until].iter().zip(made) {
                let Some((row, whole)) = made else { continue };
                if traded.units.is_empty() {
                    traded.units.clone_from(&whole.units);
                }
                if self.asked.safety && whole.unsafe_fails {
                    traded.kept -= 1;
                    traded.set -= 1;
                    add(&mut traded.refused, "run whole, a requirement of safety or law fails".into());
                    continue;
                }
                for item in &whole.variant.followed {
                    if !traded.followed.contains(item) {
                        traded.followed.push(item.clone());
                    }
                }
                if traded.best.is_none() {
                    let apart = |(was, is): (&Option<f64>, &f64)| {
                        was.map_or(f64::INFINITY, |was| (was - is).abs() / was.abs().max(f64::MIN_POSITIVE))
                    };
                    let was = &one(number).prefer;
                    traded.apart = was.iter().zip(&whole.prefer).map(apart).fold(0.0, f64::max);
                    traded.best = Some((row.options.clone(), whole.shown.clone()));
                }
                if traded.rows.len() < rows {
                    traded.rows.push(row);
                    if few.len() < FEW {
                        few.push(whole);
                    }
                }
            }
            from = until;
        }
        few
    }
}

/// Counts a reason.
fn add(reasons: &mut Vec<(Words, usize)>, reason: Words) {
    match reasons.iter_mut().find(|(known, _)| *known == reason) {
        Some((_, count)) => *count += 1,
        None => reasons.push((reason, 1)),
    }
}

/// What lies between two values, as it is shown.
pub(super) fn difference(si: f64, unit: &Unit) -> String {
    let unit = if unit.is_point() { Unit::coherent(unit.dimension) } else { unit.clone() };
    show_quantity(si, &unit, 3)
}

/// Of points, less being better in both ways, those that no other one is better than: as good in both, and better in one.
/// In rising order of the first, equal ones in the order given.
pub(super) fn best_of_both(points: &[[f64; 2]]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|a, b| {
        let (one, other) = (points[*a], points[*b]);
        one[0].total_cmp(&other[0]).then(one[1].total_cmp(&other[1])).then(a.cmp(b))
    });
    let mut least: Option<[f64; 2]> = None;
    order.retain(|at| {
        let point = points[*at];
        let stays = least.is_none_or(|least| point[1] < least[1] || point == least);
        if stays {
            least = Some(point);
        }
        stays
    });
    order
}

#[cfg(test)]
mod tests {
    use super::best_of_both;

    /// The definition, over every pair.
    fn beaten_by_none(points: &[[f64; 2]]) -> Vec<usize> {
        let beats =
            |one: &[f64; 2], other: &[f64; 2]| one[0] <= other[0] && one[1] <= other[1] && one != other;
        (0..points.len()).filter(|at| !points.iter().any(|one| beats(one, &points[*at]))).collect()
    }

    #[test]
    fn the_set_is_that_of_its_definition_on_random_points() {
        let mut state = 0x9e37_79b9_7f4a_7c15_u64;
        let mut next = |most: u64| {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            state % most
        };
        for round in 0..2_000_u64 {
            // Few values, so that many are equal.
            let most = 2 + round % 40;
            let count = next(30) as usize;
            let points: Vec<[f64; 2]> = (0..count).map(|_| [next(most) as f64, next(most) as f64]).collect();
            let mut found = best_of_both(&points);
            found.sort_unstable();
            assert_eq!(found, beaten_by_none(&points), "{points:?}");
        }
    }
}
