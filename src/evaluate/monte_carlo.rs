//! Propagation of distributions by Monte Carlo (JCGM 101:2008).
//!
//! Each leaf's number of each draw comes from a counter, not from what was drawn before; draws are worked in chunks of
//! fixed size whose sums are added in order. So the outcome is the same on any number of cores.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use super::causes::Uncertain;
use super::fixed::Fixed;
use super::random::Stream;
use super::replay::{Reach, Reaches, Replay, Search};
use super::stable::{awaited, stable, tolerance};
use super::student::coverage;
use super::tally::{Place, Sums, Tallies};
use super::uncertainty::Budget;
use crate::model::RequirementKind;
use crate::quantities::{Shape, cholesky};

/// How many draws are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Draws {
    Count(usize),
    /// Until mean, uncertainty and interval of what is judged are stable to two digits (JCGM 101:2008, 7.9), or
    /// [`MOST`] draws are made.
    Auto,
    /// None yet, not even for verdicts that first order does not settle: none of these is better than `close`.
    Later,
}

/// What the draws say of one value, in SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spread {
    /// Mean and standard deviation; `None` where it rests on readings with 2 degrees of freedom or fewer, whose
    /// distribution has no standard deviation.
    pub moments: Option<(f64, f64)>,
    /// The probabilistically symmetric 95 % coverage interval.
    pub low: f64,
    pub high: f64,
    /// Draws for which the value could be worked, and for which it could not.
    pub count: usize,
    pub lost: usize,
}

/// The outcome by the plan's table of values; `None` for what no uncertain leaf moves, and for hidden work.
pub(crate) struct Drawn {
    /// Of the values that most were made for: with `auto` the others were stable before.
    pub draws: usize,
    pub spreads: Vec<Option<Spread>>,
    /// With `auto`: the values waited for that were not stable when it ended.
    pub unstable: Vec<usize>,
}

impl Spread {
    /// Whether first order says something else by more than two digits of the uncertainty show: another middle, another
    /// uncertainty, or an interval that the expanded uncertainty does not cover. Few draws scatter by themselves; four
    /// standard errors of each figure are allowed for that (of a quantile at 2.5 %, near three times that of the mean).
    /// Where degrees of freedom are few, the drawn deviation is larger than the standard uncertainty by itself, and the
    /// interval alone is held against it.
    pub(super) fn differs(&self, value: f64, standard: f64, freedom: f64) -> bool {
        let (mean, drawn) = self.moments.unwrap_or((value, standard));
        let larger = drawn.max(standard);
        let scatter = 4.0 * larger / (self.count.max(1) as f64).sqrt();
        let allowed = tolerance(larger);
        let reach = coverage(freedom) * standard;
        let beyond = allowed + 3.0 * scatter;
        self.lost > 0
            || freedom.is_infinite() && (mean - value).abs() > allowed + scatter
            || freedom.is_infinite() && (drawn - standard).abs() > allowed + scatter
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
/// Of `auto`: more would be waited for longer than anybody wants, where driving cycles are drawn.
const MOST: usize = 50_000;

/// `None` where none are asked for yet.
pub(super) fn draw(fixed: Fixed<'_>, budget: &Budget, draws: Draws) -> Option<Drawn> {
    let mut spreads = vec![None; fixed.plan.len()];
    if budget.leaves.is_empty() {
        return (draws != Draws::Later).then(|| Drawn { draws: 0, spreads, unstable: Vec::new() });
    }
    let (wanted, at_once) = match draws {
        Draws::Count(count) => (count, MANY),
        Draws::Auto => (MOST, BATCH),
        Draws::Later => return None,
    };
    let lottery = Lottery::new(&fixed, budget, (None, None));
    let reaches = Reaches::new(&fixed);
    let mut search = Search::new(fixed, &reaches);
    let mut reach = search.of(&lottery.roots());
    let shown = |global: &usize| !fixed.node(*global).hidden && !fixed.node(*global).is_text();
    reach.values.retain(shown);
    let values = reach.values.clone();
    let awaited = awaited(&fixed, &values);
    let heavy: Vec<bool> = values.iter().map(|global| budget.is_heavy(*global)).collect();
    let places = lottery.pilot(fixed, &reach, &heavy);
    let chunks = wanted.div_ceil(CHUNK);
    let mut total = Tallies::new(values.len());
    let mut batches: Vec<Vec<[f64; 4]>> = vec![Vec::new(); values.len()];
    let unstable = |batches: &[Vec<[f64; 4]>]| -> Vec<usize> {
        values
            .iter()
            .zip(batches)
            .filter(|(_, figures)| !stable(figures))
            .map(|(global, _)| *global)
            .collect()
    };
    // What is still drawn, by number.
    let mut left: Vec<usize> = (0..values.len()).collect();
    let mut done = 0;
    while done < chunks {
        let until = (done + at_once).min(chunks);
        let lie: Vec<Place> = left.iter().map(|at| places[*at]).collect();
        let batch = lottery.chunks(fixed, &reach, &lie, (done..until, wanted));
        total.add(&batch, &left);
        done = until;
        if draws != Draws::Auto {
            continue;
        }
        for (own, at) in left.iter().copied().enumerate().filter(|(_, at)| awaited[*at]) {
            // A mean that never settles is not waited for.
            batches[at].extend(batch.figures(own, places[at]).map(|[mean, standard, low, high]| {
                if heavy[at] { [low, high - low, low, high] } else { [mean, standard, low, high] }
            }));
        }
        if done >= 2 * BATCH {
            let waited = unstable(&batches);
            if waited.is_empty() {
                break;
            }
            // What is stable needs no more of them.
            reach = search.within(&lottery.roots(), Some(&fixed.needed_for(waited)));
            reach.values.retain(shown);
            left = reach.values.iter().filter_map(|global| values.binary_search(global).ok()).collect();
        }
    }
    for (at, global) in values.iter().enumerate() {
        spreads[*global] = total.figures(at, places[at]).map(|[mean, standard, low, high]| {
            let Sums { count, lost, .. } = total.sums[at];
            Spread { moments: (!heavy[at]).then_some((mean, standard)), low, high, count, lost }
        });
    }
    Some(Drawn { draws: (done * CHUNK).min(wanted), spreads, unstable: unstable(&batches) })
}

/// How every leaf is drawn.
pub(super) struct Lottery<'a> {
    /// Each with its number in the budget, which its numbers come from.
    leaves: Vec<(u64, &'a Uncertain)>,
    /// The values that any of them moves, and their nominal numbers.
    begin: Vec<(usize, f64)>,
    /// Groups of readings taken together: places in `leaves`, and the lower triangle that correlates them.
    groups: Vec<(Vec<usize>, Vec<Vec<f64>>)>,
}

impl<'a> Lottery<'a> {
    /// Of what counts for verdicts of that kind; `None` for what is printed beside a value. Only what moves a wanted value
    /// is drawn.
    pub(super) fn new(
        fixed: &Fixed<'_>,
        budget: &'a Budget,
        (kind, wanted): (Option<RequirementKind>, Option<&[bool]>),
    ) -> Lottery<'a> {
        let all: Vec<(u32, f64)> = (0..budget.leaves.len()).map(|leaf| (leaf as u32, 1.0)).collect();
        let counting = budget.counting(&all, kind);
        let leaves: Vec<(u64, &Uncertain)> = counting
            .iter()
            .map(|(number, _)| (u64::from(*number), &budget.leaves[*number as usize]))
            .filter(|(_, leaf)| {
                wanted.is_none_or(|wanted| leaf.members.iter().any(|member| wanted[member.global]))
            })
            .collect();
        let members = leaves.iter().flat_map(|(_, leaf)| &leaf.members);
        let mut begin: Vec<(usize, f64)> =
            members.map(|member| (member.global, fixed.nominal[member.global])).collect();
        begin.sort_unstable_by_key(|(global, _)| *global);
        begin.dedup_by_key(|(global, _)| *global);
        let mut groups: Vec<(Vec<usize>, Vec<Vec<f64>>)> = Vec::new();
        let correlation = |a: usize, b: usize| budget.correlation(leaves[a].0 as u32, leaves[b].0 as u32);
        let paired =
            |at: usize| budget.correlations.keys().any(|(a, b)| [*a, *b].contains(&(leaves[at].0 as u32)));
        let mut open: Vec<usize> =
            (0..leaves.len()).filter(|at| leaves[*at].1.scatter && paired(*at)).collect();
        while let Some(first) = open.first().copied() {
            let (members, rest) = open.iter().copied().partition(|at| correlation(first, *at) != 0.0);
            let members: Vec<usize> = members;
            let row = |a: &usize| members.iter().map(|b| correlation(*a, *b)).collect();
            let matrix: Vec<Vec<f64>> = members.iter().map(row).collect();
            groups.push((members, cholesky(&matrix)));
            open = rest;
        }
        Lottery { leaves, begin, groups }
    }

    /// The same with numbers that come from the names of the leaves: two journals that share some of them draw the same
    /// of those.
    pub(super) fn by_name(mut self, fixed: &Fixed<'_>) -> Lottery<'a> {
        let mut last = (usize::MAX, 0);
        for (number, leaf) in &mut self.leaves {
            // A reading has several causes.
            let global = leaf.global();
            last = (global, if last.0 == global { last.1 + 1 } else { 0 });
            let block = &fixed.notebook.blocks[fixed.plan.block_of(global)].name;
            *number = key(&[block, &fixed.node(global).name, &last.1.to_string()]);
        }
        self
    }

    /// The values that it puts numbers to.
    pub(super) fn roots(&self) -> Vec<usize> {
        self.begin.iter().map(|(global, _)| *global).collect()
    }

    /// Puts one draw's numbers into the table.
    pub(super) fn put(&self, values: &mut [f64], draw: u64) {
        for (global, nominal) in &self.begin {
            values[*global] = *nominal;
        }
        let mut together: Vec<Option<f64>> = Vec::new();
        if !self.groups.is_empty() {
            together = self.of_groups(draw);
        }
        for (at, (number, leaf)) in self.leaves.iter().enumerate() {
            let drawn = together.get(at).copied().flatten();
            let drawn = drawn.unwrap_or_else(|| standard_draw(leaf, &mut Stream::new(draw, *number)));
            leaf.shift(values, drawn);
        }
    }

    /// What was read together scatters by one t distribution of several numbers: correlated normal ones over the root of
    /// one mean of squares, the first member's.
    fn of_groups(&self, draw: u64) -> Vec<Option<f64>> {
        let mut drawn = vec![None; self.leaves.len()];
        for (members, lower) in &self.groups {
            let mut streams: Vec<Stream> =
                members.iter().map(|at| Stream::new(draw, self.leaves[*at].0)).collect();
            let raw: Vec<f64> = streams.iter_mut().map(Stream::normal).collect();
            let scale = streams[0].scale(self.leaves[members[0]].1.freedom as usize);
            for (row, at) in lower.iter().zip(members) {
                let mixed: f64 = row.iter().zip(&raw).map(|(weight, raw)| weight * raw).sum();
                drawn[*at] = Some(mixed / scale);
            }
        }
        drawn
    }

    /// Where the histograms lie, from mean and standard deviation of the first chunk; where that has no meaning, from
    /// all but its outermost hundredth.
    fn pilot(&self, fixed: Fixed<'_>, reach: &Reach, heavy: &[bool]) -> Vec<Place> {
        let mut replay = Replay::new(fixed);
        let mut sums = vec![(0.0, 0.0, 0usize); reach.values.len()];
        let mut all: Vec<Vec<f64>> = vec![Vec::new(); reach.values.len()];
        for draw in 0..CHUNK as u64 {
            self.put(&mut replay.values, draw);
            replay.work(reach);
            for (at, global) in reach.values.iter().enumerate() {
                let off = replay.values[*global] - fixed.nominal[*global];
                if off.is_finite() {
                    let sum = &mut sums[at];
                    *sum = (sum.0 + off, sum.1 + off * off, sum.2 + 1);
                    if heavy[at] {
                        all[at].push(off);
                    }
                }
            }
        }
        let place = |at: usize| {
            let nominal = fixed.nominal[reach.values[at]];
            let offs = &mut all[at];
            if !offs.is_empty() {
                offs.sort_unstable_by(f64::total_cmp);
                let of = |share: f64| offs[(share * (offs.len() - 1) as f64) as usize];
                return Place::new(nominal + of(0.5), (of(0.995) - of(0.005)) / 7.0);
            }
            let (sum, squares, count) = sums[at];
            let n = count.max(1) as f64;
            let mean = sum / n;
            Place::new(nominal + mean, (squares / n - mean * mean).max(0.0).sqrt())
        };
        (0..reach.values.len()).map(place).collect()
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
                    replay.work(reach);
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

/// A number for some names (FNV-1a, with a byte between them that no name has).
fn key(names: &[&str]) -> u64 {
    let bytes = names.iter().flat_map(|name| name.bytes().chain([0xff]));
    bytes.fold(0xcbf2_9ce4_8422_2325, |key, byte| (key ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// A number of mean 0 and standard deviation 1 of the leaf's distribution (JCGM 101:2008, 6.4); of readings, from the t
/// distribution (6.4.9), whose deviation is larger, or is none below four of them.
fn standard_draw(leaf: &Uncertain, stream: &mut Stream) -> f64 {
    if leaf.scatter {
        return stream.student(leaf.freedom as usize);
    }
    match leaf.shape {
        Shape::Rectangular => 3f64.sqrt() * (2.0 * stream.unit() - 1.0),
        Shape::Triangular => 6f64.sqrt() * (stream.unit() + stream.unit() - 1.0),
        Shape::Normal { .. } => stream.normal(),
    }
}
