//! Propagation of distributions by Monte Carlo (JCGM 101:2008).
//!
//! Each leaf's number of each draw comes from a counter, not from what was drawn before; draws are worked in chunks of
//! fixed size whose sums are added in order. So the outcome is the same on any number of cores.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use super::random::Stream;
use super::replay::{Fixed, Reach, Reaches, Replay};
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
    /// Draws for which the value could not be worked.
    pub lost: usize,
}

/// The outcome by the plan's table of values; `None` for what no uncertain leaf moves.
pub(crate) struct Drawn {
    pub draws: usize,
    pub spreads: Vec<Option<Spread>>,
}

impl Spread {
    /// Whether first order says something else by more than two digits of the uncertainty show: another middle, another
    /// uncertainty, or an interval that the expanded uncertainty does not cover.
    pub(super) fn differs(&self, value: f64, standard: f64) -> bool {
        let allowed = tolerance(self.standard.max(standard));
        let reach = super::show::COVERAGE * standard;
        self.lost > 0
            || (self.mean - value).abs() > allowed
            || (self.standard - standard).abs() > allowed
            || self.low < value - reach - allowed
            || self.high > value + reach + allowed
    }
}

const CHUNK: usize = 1_000;
/// Chunks between two looks at whether `auto` is stable: 10⁴ draws, as JCGM 101:2008, 7.9.4 says.
const BATCH: usize = 10;
const MOST: usize = 1_000_000;
/// Bins of a value's histogram, over so many standard deviations to both sides of the pilot's mean.
const BINS: usize = 4_000;
const SIDES: f64 = 12.0;

pub(super) fn draw(fixed: Fixed<'_>, budget: &Budget, draws: Draws) -> Drawn {
    let mut spreads = vec![None; fixed.plan.len()];
    if budget.leaves.is_empty() {
        return Drawn { draws: 0, spreads };
    }
    let roots: Vec<usize> = budget.leaves.iter().map(|leaf| leaf.global).collect();
    let reach = Reaches::new(&fixed).of(&fixed, &roots);
    let lottery = Lottery::new(&fixed, budget);
    let pilot = lottery.pilot(fixed, &reach);
    let wanted = match draws {
        Draws::Count(count) => count,
        Draws::Auto => MOST,
    };
    let chunks = wanted.div_ceil(CHUNK);
    let mut total: Vec<Tally> = pilot.iter().map(Tally::new).collect();
    let mut batches: Vec<Vec<[f64; 4]>> = vec![Vec::new(); reach.values.len()];
    let mut done = 0;
    while done < chunks {
        let until = (done + BATCH).min(chunks);
        let batch = lottery.chunks(fixed, &reach, &pilot, (done..until, wanted));
        for (at, tally) in batch.into_iter().enumerate() {
            if draws == Draws::Auto {
                batches[at].push(tally.figures());
            }
            total[at].add(&tally);
        }
        done = until;
        if draws == Draws::Auto && stable(&batches) {
            break;
        }
    }
    for (global, tally) in reach.values.iter().zip(&total) {
        let [mean, standard, low, high] = tally.figures();
        spreads[*global] =
            (tally.count > 1).then_some(Spread { mean, standard, low, high, lost: tally.lost });
    }
    Drawn { draws: (done * CHUNK).min(wanted), spreads }
}

/// JCGM 101:2008, 7.9.4: twice the standard deviation of the averages of all four figures over the batches is under
/// the numerical tolerance of two digits of the uncertainty.
fn stable(batches: &[Vec<[f64; 4]>]) -> bool {
    batches.iter().all(|of_value| {
        let h = of_value.len() as f64;
        if h < 2.0 {
            return false;
        }
        let mean = |k: usize| of_value.iter().map(|figures| figures[k]).sum::<f64>() / h;
        let allowed = tolerance(mean(1));
        (0..4).all(|k| {
            let middle = mean(k);
            let variance =
                of_value.iter().map(|figures| (figures[k] - middle).powi(2)).sum::<f64>() / (h * (h - 1.0));
            2.0 * variance.sqrt() <= allowed
        })
    })
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
            if let Some(Readings { together: Some(name), .. }) = &leaf.readings {
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

    /// Mean and standard deviation of the first chunk, which place the histograms.
    fn pilot(&self, fixed: Fixed<'_>, reach: &Reach) -> Vec<(f64, f64)> {
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
            (fixed.nominal[*global] + mean, (squares / n - mean * mean).max(0.0).sqrt())
        };
        sums.iter().zip(&reach.values).map(place).collect()
    }

    /// The tallies of a run of chunks, worked on all cores and added in order.
    fn chunks(
        &self,
        fixed: Fixed<'_>,
        reach: &Reach,
        pilot: &[(f64, f64)],
        (run, wanted): (std::ops::Range<usize>, usize),
    ) -> Vec<Tally> {
        let next = AtomicUsize::new(run.start);
        let cores = thread::available_parallelism().map_or(1, usize::from).min(run.len().max(1));
        let worker = || {
            let mut replay = Replay::new(fixed);
            let mut made: Vec<(usize, Vec<Tally>)> = Vec::new();
            loop {
                let chunk = next.fetch_add(1, Ordering::Relaxed);
                if chunk >= run.end {
                    return made;
                }
                let mut tallies: Vec<Tally> = pilot.iter().map(Tally::new).collect();
                for draw in chunk * CHUNK..((chunk + 1) * CHUNK).min(wanted) {
                    self.put(&mut replay.values, draw as u64);
                    replay.work(&reach.actions);
                    for (tally, global) in tallies.iter_mut().zip(&reach.values) {
                        tally.take(replay.values[*global]);
                    }
                }
                made.push((chunk, tallies));
            }
        };
        let mut all: Vec<(usize, Vec<Tally>)> = thread::scope(|scope| {
            let hands: Vec<_> = (0..cores).map(|_| scope.spawn(worker)).collect();
            hands.into_iter().flat_map(|hand| hand.join().unwrap_or_default()).collect()
        });
        all.sort_by_key(|(chunk, _)| *chunk);
        let mut sum: Vec<Tally> = pilot.iter().map(Tally::new).collect();
        for (_, tallies) in &all {
            for (total, tally) in sum.iter_mut().zip(tallies) {
                total.add(tally);
            }
        }
        sum
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

/// Sums and a histogram of one value.
#[derive(Clone, Default)]
struct Tally {
    middle: f64,
    width: f64,
    count: usize,
    lost: usize,
    sum: f64,
    squares: f64,
    least: f64,
    most: f64,
    bins: Vec<u32>,
}

impl Tally {
    fn new((mean, deviation): &(f64, f64)) -> Tally {
        let width = 2.0 * SIDES * deviation.max(f64::MIN_POSITIVE) / BINS as f64;
        let (least, most) = (f64::INFINITY, f64::NEG_INFINITY);
        Tally { middle: *mean, width, least, most, bins: vec![0; BINS], ..Tally::default() }
    }

    fn take(&mut self, value: f64) {
        if !value.is_finite() {
            self.lost += 1;
            return;
        }
        let off = value - self.middle;
        self.count += 1;
        self.sum += off;
        self.squares += off * off;
        self.least = self.least.min(off);
        self.most = self.most.max(off);
        let bin = (off / self.width + BINS as f64 / 2.0).clamp(0.0, BINS as f64 - 1.0);
        self.bins[bin as usize] += 1;
    }

    fn add(&mut self, other: &Tally) {
        self.count += other.count;
        self.lost += other.lost;
        self.sum += other.sum;
        self.squares += other.squares;
        self.least = self.least.min(other.least);
        self.most = self.most.max(other.most);
        for (own, its) in self.bins.iter_mut().zip(&other.bins) {
            *own += its;
        }
    }

    /// Mean, standard deviation, and the ends of the 95 % interval.
    fn figures(&self) -> [f64; 4] {
        let n = self.count.max(1) as f64;
        let mean = self.sum / n;
        let variance = (self.squares - n * mean * mean).max(0.0) / (n - 1.0).max(1.0);
        [self.middle + mean, variance.sqrt(), self.quantile(0.025), self.quantile(0.975)]
    }

    /// By the histogram, straight within a bin.
    fn quantile(&self, share: f64) -> f64 {
        let wanted = share * self.count as f64;
        let mut before = 0.0;
        for (bin, count) in self.bins.iter().enumerate() {
            let count = f64::from(*count);
            if count > 0.0 && before + count >= wanted {
                let inside = (wanted - before) / count;
                let off = (bin as f64 + inside - BINS as f64 / 2.0) * self.width;
                return self.middle + off.clamp(self.least, self.most);
            }
            before += count;
        }
        self.middle + self.most
    }
}
