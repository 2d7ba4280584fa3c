//! Propagation of distributions by Monte Carlo (JCGM 101:2008).
//!
//! Each leaf's number of each draw comes from a counter, not from what was drawn before; draws are worked in chunks of
//! fixed size whose sums are added in order. So the outcome is the same on any number of cores.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use super::random::Stream;
use super::replay::{Fixed, Reach, Reaches, Replay, Search};
use super::tally::{Place, Sums, Tallies};
use super::uncertainty::{Budget, Uncertain};
use crate::model::{Leaf, Readings};
use crate::quantities::Shape;

/// How many draws are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Draws {
    Count(usize),
    /// Until mean, uncertainty and interval are stable to two digits (JCGM 101:2008, 7.9), a million at most.
    Auto,
}

/// What the draws say of one value, in SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spread {
    pub mean: f64,
    pub standard: f64,
    /// The probabilistically symmetric 95 % coverage interval.
    pub low: f64,
    pub high: f64,
    /// Draws for which the value could be worked, and for which it could not.
    pub count: usize,
    pub lost: usize,
}

/// The outcome by the plan's table of values; `None` for what no uncertain leaf moves, and for hidden work.
pub(crate) struct Drawn {
    pub draws: usize,
    pub spreads: Vec<Option<Spread>>,
}

impl Spread {
    /// Whether first order says something else by more than two digits of the uncertainty show: another middle, another
    /// uncertainty, or an interval that the expanded uncertainty does not cover. Few draws scatter by themselves; four
    /// standard errors of each figure are allowed for that (of a quantile at 2.5 %, near three times that of the mean).
    pub(super) fn differs(&self, value: f64, standard: f64) -> bool {
        let larger = self.standard.max(standard);
        let scatter = 4.0 * larger / (self.count.max(1) as f64).sqrt();
        let allowed = tolerance(larger);
        let reach = super::show::COVERAGE * standard;
        let beyond = allowed + 3.0 * scatter;
        self.lost > 0
            || (self.mean - value).abs() > allowed + scatter
            || (self.standard - standard).abs() > allowed + scatter
            || self.low < value - reach - beyond
            || self.high > value + reach + beyond
    }
}

/// How many draws this process has worked.
static WORKED: AtomicUsize = AtomicUsize::new(0);

/// How many draws have been worked so far, for whoever waits.
pub(crate) fn drawn() -> usize {
    WORKED.load(Ordering::Relaxed)
}

const CHUNK: usize = 1_000;
/// Chunks between two looks at whether `auto` is stable: 10⁴ draws, as JCGM 101:2008, 7.9.4 says.
const BATCH: usize = 10;
/// Chunks that are worked at once where their number is given.
const MANY: usize = 64;
const MOST: usize = 1_000_000;

pub(super) fn draw(fixed: Fixed<'_>, budget: &Budget, draws: Draws) -> Drawn {
    let mut spreads = vec![None; fixed.plan.len()];
    if budget.leaves.is_empty() {
        return Drawn { draws: 0, spreads };
    }
    let roots: Vec<usize> = budget.leaves.iter().map(|leaf| leaf.global).collect();
    let mut reach = Search::new(fixed, &Reaches::new(&fixed)).of(&roots);
    let node = |global: usize| {
        let (block, index) = fixed.plan.local(global);
        &fixed.notebook.blocks[block].nodes[index]
    };
    reach.values.retain(|global| !node(*global).hidden && !node(*global).is_text());
    let results: Vec<bool> = reach.values.iter().map(|global| node(*global).is_result()).collect();
    let lottery = Lottery::new(&fixed, budget);
    let places = lottery.pilot(fixed, &reach);
    let (wanted, at_once) = match draws {
        Draws::Count(count) => (count, MANY),
        Draws::Auto => (MOST, BATCH),
    };
    let chunks = wanted.div_ceil(CHUNK);
    let mut total = Tallies::new(reach.values.len());
    let mut batches: Vec<Vec<[f64; 4]>> = vec![Vec::new(); reach.values.len()];
    let mut done = 0;
    while done < chunks {
        let until = (done + at_once).min(chunks);
        let batch = lottery.chunks(fixed, &reach, &places, (done..until, wanted));
        if draws == Draws::Auto {
            for (at, figures) in batches.iter_mut().enumerate().filter(|(at, _)| results[*at]) {
                figures.extend(batch.figures(at, places[at]));
            }
        }
        total.add(&batch);
        done = until;
        if draws == Draws::Auto && stable(&batches, done / BATCH) {
            break;
        }
    }
    for (at, global) in reach.values.iter().enumerate() {
        spreads[*global] = total.figures(at, places[at]).map(|[mean, standard, low, high]| {
            let Sums { count, lost, .. } = total.sums[at];
            Spread { mean, standard, low, high, count, lost }
        });
    }
    Drawn { draws: (done * CHUNK).min(wanted), spreads }
}

/// JCGM 101:2008, 7.9.4: twice the standard deviation of the averages of all four figures over the batches is under
/// the numerical tolerance of two digits of the uncertainty. What never has figures is not waited for.
fn stable(batches: &[Vec<[f64; 4]>], done: usize) -> bool {
    let waiting = |of_value: &Vec<[f64; 4]>| {
        let h = of_value.len() as f64;
        let mean = |k: usize| of_value.iter().map(|figures| figures[k]).sum::<f64>() / h;
        let allowed = tolerance(mean(1));
        (0..4).any(|k| {
            let middle = mean(k);
            let variance =
                of_value.iter().map(|figures| (figures[k] - middle).powi(2)).sum::<f64>() / (h * (h - 1.0));
            2.0 * variance.sqrt() > allowed
        })
    };
    done >= 2 && !batches.iter().filter(|of_value| of_value.len() >= 2).any(waiting)
}

/// Half of the last of two significant digits of a standard uncertainty (JCGM 101:2008, 7.9.2).
pub(super) fn tolerance(standard: f64) -> f64 {
    if standard == 0.0 || !standard.is_finite() {
        return 0.0;
    }
    0.5 * 10f64.powi(standard.abs().log10().floor() as i32 - 1)
}

/// How every leaf is drawn.
struct Lottery<'a> {
    leaves: Vec<(Uncertain, &'a Leaf, f64)>,
    /// Groups of readings taken together: members by number, and the lower triangle that correlates them.
    groups: Vec<(Vec<usize>, Vec<Vec<f64>>)>,
}

impl<'a> Lottery<'a> {
    fn new(fixed: &Fixed<'a>, budget: &Budget) -> Lottery<'a> {
        let leaves: Vec<(Uncertain, &Leaf, f64)> = budget
            .leaves
            .iter()
            .filter_map(|leaf| {
                let (block, index) = fixed.plan.local(leaf.global);
                let written = fixed.notebook.blocks[block].nodes[index].leaf()?;
                Some((*leaf, written, fixed.nominal[leaf.global]))
            })
            .collect();
        let mut together: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (number, (_, leaf, _)) in leaves.iter().enumerate() {
            if let Some(Readings { together: Some((name, _)), .. }) = &leaf.readings {
                together.entry(name.as_str()).or_default().push(number);
            }
        }
        let groups = together
            .into_values()
            .filter(|members| members.len() > 1)
            .map(|members| {
                let correlation = |a: &usize, b: &usize| budget.correlation(*a as u32, *b as u32);
                let matrix: Vec<Vec<f64>> =
                    members.iter().map(|a| members.iter().map(|b| correlation(a, b)).collect()).collect();
                let lower = cholesky(&matrix);
                (members, lower)
            })
            .collect();
        Lottery { leaves, groups }
    }

    /// Puts one draw's numbers into the table.
    fn put(&self, values: &mut [f64], draw: u64) {
        for (number, (leaf, written, nominal)) in self.leaves.iter().enumerate() {
            let mut stream = Stream::new(draw, number as u64);
            values[leaf.global] = nominal + leaf.standard * standard_draw(written, &mut stream);
        }
        for (members, lower) in &self.groups {
            let raw: Vec<f64> =
                members.iter().map(|member| Stream::new(draw, *member as u64).normal()).collect();
            for (row, member) in lower.iter().zip(members) {
                let (leaf, _, nominal) = self.leaves[*member];
                let mixed: f64 = row.iter().zip(&raw).map(|(weight, raw)| weight * raw).sum();
                values[leaf.global] = nominal + leaf.standard * mixed;
            }
        }
    }

    /// Where the histograms lie, from mean and standard deviation of the first chunk.
    fn pilot(&self, fixed: Fixed<'_>, reach: &Reach) -> Vec<Place> {
        let mut replay = Replay::new(fixed);
        let mut sums = vec![(0.0, 0.0, 0usize); reach.values.len()];
        for draw in 0..CHUNK as u64 {
            self.put(&mut replay.values, draw);
            replay.work(&reach.actions);
            for (sum, global) in sums.iter_mut().zip(&reach.values) {
                let off = replay.values[*global] - fixed.nominal[*global];
                if off.is_finite() {
                    *sum = (sum.0 + off, sum.1 + off * off, sum.2 + 1);
                }
            }
        }
        let place = |((sum, squares, count), global): (&(f64, f64, usize), &usize)| {
            let n = (*count).max(1) as f64;
            let mean = sum / n;
            Place::new(fixed.nominal[*global] + mean, (squares / n - mean * mean).max(0.0).sqrt())
        };
        sums.iter().zip(&reach.values).map(place).collect()
    }

    /// The tallies of a run of chunks, worked on all cores: sums are added in the order of the chunks, and counts don't
    /// mind the order.
    fn chunks(
        &self,
        fixed: Fixed<'_>,
        reach: &Reach,
        places: &[Place],
        (run, wanted): (std::ops::Range<usize>, usize),
    ) -> Tallies {
        let next = AtomicUsize::new(run.start);
        let cores = thread::available_parallelism().map_or(1, usize::from).min(run.len().max(1));
        let worker = || {
            let mut replay = Replay::new(fixed);
            let mut bins = Tallies::bins(places.len());
            let mut made: Vec<(usize, Vec<Sums>)> = Vec::new();
            loop {
                let chunk = next.fetch_add(1, Ordering::Relaxed);
                if chunk >= run.end {
                    return (bins, made);
                }
                let mut sums = vec![Sums::default(); places.len()];
                for draw in chunk * CHUNK..((chunk + 1) * CHUNK).min(wanted) {
                    self.put(&mut replay.values, draw as u64);
                    replay.work(&reach.actions);
                    for (at, global) in reach.values.iter().enumerate() {
                        if let Some(bin) = sums[at].take(replay.values[*global], places[at]) {
                            bins[Tallies::bin(at, bin)] += 1;
                        }
                    }
                }
                made.push((chunk, sums));
                WORKED.fetch_add(CHUNK, Ordering::Relaxed);
            }
        };
        let mut total = Tallies::new(places.len());
        let mut all: Vec<(usize, Vec<Sums>)> = Vec::new();
        thread::scope(|scope| {
            let hands: Vec<_> = (0..cores).map(|_| scope.spawn(worker)).collect();
            for hand in hands {
                // A panic in a hand is ours, and must not look like fewer draws.
                let (bins, made) = hand.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault));
                total.count(&bins);
                all.extend(made);
            }
        });
        all.sort_by_key(|(chunk, _)| *chunk);
        for (_, sums) in &all {
            total.sum(sums);
        }
        total
    }
}

/// A number of mean 0 and standard deviation 1 of the leaf's distribution (JCGM 101:2008, 6.4). Readings are drawn
/// from the scaled t distribution (6.4.9), whose uncertainty is larger than s/√n; below four of them it has none, and
/// the normal one is taken.
fn standard_draw(leaf: &Leaf, stream: &mut Stream) -> f64 {
    if let Some(readings) = &leaf.readings {
        let n = readings.values.len();
        return if n >= 4 { stream.student(n - 1) } else { stream.normal() };
    }
    match leaf.literal.tolerance.as_ref().map(|tolerance| tolerance.shape) {
        Some(Shape::Rectangular) | None => 3f64.sqrt() * (2.0 * stream.unit() - 1.0),
        Some(Shape::Triangular) => 6f64.sqrt() * (stream.unit() + stream.unit() - 1.0),
        Some(Shape::Normal { .. }) => stream.normal(),
    }
}

/// The lower triangle L with L Lᵀ = the matrix; a singular one (as many quantities as readings) is taken as it comes.
fn cholesky(matrix: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let n = matrix.len();
    let mut lower = vec![vec![0.0; n]; n];
    for row in 0..n {
        for column in 0..=row {
            let sum: f64 = (0..column).map(|k| lower[row][k] * lower[column][k]).sum();
            let rest = matrix[row][column] - sum;
            lower[row][column] = if row == column {
                rest.max(0.0).sqrt()
            } else if lower[column][column] > 0.0 {
                rest / lower[column][column]
            } else {
                0.0
            };
        }
    }
    lower
}
