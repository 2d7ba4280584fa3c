//! First-order uncertainty (JCGM 100:2008): each uncertain leaf is nudged both ways by a two-hundredth of its standard
//! uncertainty, what depends on it is worked again, and the contributions add in quadrature.

use std::collections::{BTreeMap, BTreeSet};

use super::causes::{Member, Uncertain, causes, correlations};
use super::fixed::Fixed;
use super::narrows::{Narrow, Narrows};
use super::replay::{Reach, Reaches, Replay, Search};
use super::student::coverage;
use crate::model::{Claim, RequirementKind};
use crate::parallel;

/// What each value's uncertainty is made of.
pub(crate) struct Budget {
    pub leaves: Vec<Uncertain>,
    /// For each value, `(cause, cᵢ uᵢ)` in the order of the causes: the sensitivity times the cause's standard
    /// uncertainty, with its sign. Causes are numbered as the leaves, then the narrows.
    parts: Vec<Vec<(u32, f64)>>,
    narrows: Vec<Narrowed>,
    /// Correlation coefficients of leaves that were read together, the smaller number first.
    pub(super) correlations: BTreeMap<(u32, u32), f64>,
}

/// Leaves that reach all further values through one alone. Its variance, and each leaf's share of it, are those of what
/// ends there.
struct Narrowed {
    claim: Claim,
    standard: f64,
    /// What ends there, and it may be narrows too.
    parts: Vec<(u32, f64)>,
    /// The leaves with the largest parts.
    largest: Vec<(u32, f64)>,
}

/// A share of a leaf's standard uncertainty that is small against it and large against rounding.
const NUDGE: f64 = 0.005;

/// How many leaves a core takes at once. A leaf may move whole drive cycles, or one sum.
const SHARE: usize = 8;

/// So many of a narrow's leaves are at hand without looking at all.
const LARGEST: usize = 8;

impl Budget {
    pub(super) fn work(fixed: Fixed<'_>) -> Budget {
        let leaves = causes(&fixed);
        let correlations = correlations(&fixed, &leaves);
        let correlated: BTreeSet<u32> = correlations.keys().flat_map(|(a, b)| [*a, *b]).collect();
        let Narrows { ends, narrows } = Narrows::find(&fixed, &leaves, |leaf| correlated.contains(&leaf));
        let parts = vec![Vec::new(); fixed.plan.len()];
        let mut budget = Budget { leaves, parts, narrows: Vec::new(), correlations };
        if budget.leaves.is_empty() {
            return budget;
        }
        let reaches = Reaches::new(&fixed);
        let begin = || (Search::new(fixed, &reaches), Replay::new(fixed));
        // Each leaf is nudged alone, so that it makes no difference on which core.
        let leaves = &budget.leaves;
        let moved = parallel::each_with(leaves.len(), SHARE, begin, |(search, replay), number| {
            let leaf = &leaves[number];
            let roots: Vec<usize> = leaf.members.iter().map(|member| member.global).collect();
            nudged(&fixed, leaf, &search.up_to(ends[number], &roots), replay)
        });
        for (number, (leaf, moved)) in budget.leaves.iter().zip(moved).enumerate() {
            for member in &leaf.members {
                budget.parts[member.global].push((number as u32, member.standard));
            }
            for (global, part) in moved {
                budget.parts[global].push((number as u32, part));
            }
        }
        let (mut search, mut replay) = begin();
        for (narrow, end) in narrows.into_iter().zip(&ends[budget.leaves.len()..]) {
            let at = narrow.at;
            let narrowed = budget.narrowed(narrow);
            let reach = search.up_to(*end, &[at]);
            let number = (budget.leaves.len() + budget.narrows.len()) as u32;
            for (global, part) in
                nudged(&fixed, &Uncertain::alone(at, narrowed.standard), &reach, &mut replay)
            {
                budget.parts[global].push((number, part));
            }
            budget.narrows.push(narrowed);
        }
        budget
    }

    fn narrowed(&self, narrow: Narrow) -> Narrowed {
        let ends = |cause: &u32| narrow.causes.binary_search(cause).is_ok();
        let parts: Vec<(u32, f64)> =
            self.parts[narrow.at].iter().copied().filter(|(cause, _)| ends(cause)).collect();
        let mut largest = self.opened(&parts, LARGEST);
        largest.sort_by(|(_, a), (_, b)| b.abs().total_cmp(&a.abs()));
        largest.truncate(LARGEST);
        Narrowed { claim: narrow.claim, standard: self.combine(&parts), parts, largest }
    }

    /// Leaves instead of narrows, in their order: all of them, or of each narrow at least the largest `most`.
    fn opened(&self, parts: &[(u32, f64)], most: usize) -> Vec<(u32, f64)> {
        let mut leaves = Vec::with_capacity(parts.len());
        let mut open: Vec<(u32, f64)> = parts.to_vec();
        while let Some((cause, part)) = open.pop() {
            let Some(narrow) = self.narrow(cause) else {
                leaves.push((cause, part));
                continue;
            };
            let within = if most > LARGEST { &narrow.parts } else { &narrow.largest };
            open.extend(within.iter().map(|(cause, own)| (*cause, own * (part / narrow.standard))));
        }
        leaves.sort_unstable_by_key(|(leaf, _)| *leaf);
        leaves
    }

    /// `None` of a leaf.
    fn narrow(&self, cause: u32) -> Option<&Narrowed> {
        self.narrows.get((cause as usize).checked_sub(self.leaves.len())?)
    }

    /// Whether no value carries many causes on as one.
    pub(super) fn is_plain(&self) -> bool {
        self.narrows.is_empty()
    }

    /// What a leaf moves, itself included.
    pub(super) fn moved_by(&self, leaf: u32) -> Vec<(usize, f64)> {
        let part = |parts: &[(u32, f64)]| Some(part_of(parts, leaf)).filter(|part| *part != 0.0);
        self.parts.iter().enumerate().filter_map(|(global, parts)| Some((global, part(parts)?))).collect()
    }

    /// What one value moves by itself, of several that err together.
    pub(super) fn moved_by_alone(fixed: &Fixed<'_>, member: &Member) -> Vec<(usize, f64)> {
        let reaches = Reaches::new(fixed);
        let reach = Search::new(*fixed, &reaches).of(&[member.global]);
        let alone = Uncertain::alone(member.global, member.standard);
        let mut own = nudged(fixed, &alone, &reach, &mut Replay::new(*fixed));
        own.push((member.global, member.standard));
        own
    }

    /// The same with one value known to ± `half` and erring by itself; `own` is what it moves. Of a budget without narrows.
    pub(super) fn known_to(&self, (leaf, member): (usize, usize), own: &[(usize, f64)], half: f64) -> Budget {
        let (mut leaves, mut parts) = (self.leaves.clone(), self.parts.clone());
        let Member { global, standard: before, .. } = leaves[leaf].members[member];
        let standard = half / 3f64.sqrt();
        let claim = match leaves[leaf].claim {
            Claim::Everywhere | Claim::DoubtedExact => Claim::Everywhere,
            Claim::DeviceAccuracy | Claim::SaidAccuracy => Claim::SaidAccuracy,
        };
        let alone = Uncertain { claim, ..Uncertain::alone(global, standard) };
        let number = if leaves[leaf].members.len() == 1 {
            leaves[leaf] = alone;
            leaf
        } else {
            leaves[leaf].members.remove(member);
            leaves.push(alone);
            leaves.len() - 1
        };
        for (global, part) in own {
            let list = &mut parts[*global];
            if let Ok(at) = list.binary_search_by_key(&(leaf as u32), |(known, _)| *known) {
                list[at].1 -= part;
            }
            match list.binary_search_by_key(&(number as u32), |(known, _)| *known) {
                Ok(at) => list[at].1 += part * standard / before,
                Err(at) => list.insert(at, (number as u32, part * standard / before)),
            }
        }
        Budget { leaves, parts, narrows: Vec::new(), correlations: self.correlations.clone() }
    }

    /// How many parts it holds.
    #[cfg(test)]
    pub(super) fn size(&self) -> usize {
        self.parts.iter().map(Vec::len).sum()
    }

    /// Whether so few readings move a value that its draws have no standard deviation.
    pub(super) fn is_heavy(&self, global: usize) -> bool {
        self.parts[global].iter().any(|(cause, _)| self.freedom_of(*cause) <= 2.0)
    }

    /// Narrows hold tolerances alone.
    fn freedom_of(&self, cause: u32) -> f64 {
        self.leaves.get(cause as usize).map_or(f64::INFINITY, |leaf| leaf.freedom)
    }

    fn claim_of(&self, cause: u32) -> Claim {
        self.narrow(cause).map_or_else(|| self.leaves[cause as usize].claim, |narrow| narrow.claim)
    }

    /// The combined standard uncertainty of a value (JCGM 100:2008, 5.1.2 and 5.2.2), as its author's words have it.
    pub(crate) fn standard(&self, global: usize) -> f64 {
        self.combine(&self.counting(&self.parts[global], None))
    }

    /// The effective degrees of freedom of the same (Welch and Satterthwaite; JCGM 100:2008, G.4.1), not cut to a whole
    /// number; infinite where nothing of it is from readings.
    pub(crate) fn freedom(&self, global: usize) -> f64 {
        self.effective(&self.counting(&self.parts[global], None))
    }

    /// The expanded uncertainty of a difference of two values, which share leaves.
    pub(crate) fn expanded_difference(&self, left: usize, right: usize) -> f64 {
        let joined = self.counting(&self.difference(left, right), None);
        coverage(self.effective(&joined)) * self.combine(&joined)
    }

    /// The standard uncertainty of a difference of two values for a verdict of that kind, and its degrees of freedom.
    pub(crate) fn of_difference(&self, (left, right): (usize, usize), kind: RequirementKind) -> (f64, f64) {
        let joined = self.counting(&self.difference(left, right), Some(kind));
        (self.combine(&joined), self.effective(&joined))
    }

    /// What each leaf gives to a difference of two values, in the order of the leaves.
    pub(crate) fn difference(&self, left: usize, right: usize) -> Vec<(u32, f64)> {
        // A narrow of one side may hold what moves the other by itself.
        let of = |side: usize| self.opened(&self.parts[side], usize::MAX);
        let less = of(right).into_iter().map(|(leaf, part)| (leaf, -part));
        let mut joined: Vec<(u32, f64)> = of(left).into_iter().chain(less).collect();
        joined.sort_by_key(|(leaf, _)| *leaf);
        joined.dedup_by(|next, kept| {
            let same = next.0 == kept.0;
            kept.1 += if same { next.1 } else { 0.0 };
            same
        });
        joined
    }

    /// The parts that count for a verdict of that kind; `None` for what is printed beside a value.
    pub(crate) fn counting(&self, parts: &[(u32, f64)], kind: Option<RequirementKind>) -> Vec<(u32, f64)> {
        let counts = |cause: &u32| match self.claim_of(*cause) {
            Claim::Everywhere => true,
            Claim::DoubtedExact => kind.is_some_and(|kind| kind != RequirementKind::Wish),
            Claim::DeviceAccuracy | Claim::SaidAccuracy => kind == Some(RequirementKind::Safety),
        };
        parts.iter().copied().filter(|(cause, _)| counts(cause)).collect()
    }

    /// Parts stand in the order of their leaves.
    pub(crate) fn combine(&self, parts: &[(u32, f64)]) -> f64 {
        // `sum` of nothing is -0, and the larger of -0 and 0 is either.
        let mut variance = parts.iter().fold(0.0, |sum, (_, part)| sum + part * part);
        for ((first, second), correlation) in &self.correlations {
            variance += 2.0 * correlation * part_of(parts, *first) * part_of(parts, *second);
        }
        variance.max(0.0).sqrt()
    }

    /// What was read together is one part of the sum: its scatters are not independent.
    fn effective(&self, parts: &[(u32, f64)]) -> f64 {
        let freedom = |cause: u32| self.freedom_of(cause);
        let few: Vec<(u32, f64)> =
            parts.iter().copied().filter(|(leaf, _)| freedom(*leaf).is_finite()).collect();
        let mut left = few.as_slice();
        let mut sum = 0.0;
        let mut done: Vec<u32> = Vec::new();
        while let [(leaf, _), rest @ ..] = left {
            if !done.contains(leaf) {
                let with = |(other, _): &(u32, f64)| self.correlation(*leaf, *other) != 0.0;
                let own: Vec<(u32, f64)> = few.iter().copied().filter(with).collect();
                done.extend(own.iter().map(|(leaf, _)| *leaf));
                sum += self.combine(&own).powi(4) / freedom(*leaf);
            }
            left = rest;
        }
        if sum > 0.0 { self.combine(parts).powi(4) / sum } else { f64::INFINITY }
    }

    pub(crate) fn correlation(&self, first: u32, second: u32) -> f64 {
        if first == second {
            return 1.0;
        }
        self.correlations.get(&(first.min(second), first.max(second))).copied().unwrap_or(0.0)
    }

    /// The leaves that a value's variance comes from, with their shares of it, largest first: at least `most`, if there are
    /// so many.
    pub(crate) fn shares(&self, global: usize, most: usize) -> Vec<(&Uncertain, f64)> {
        self.shares_of(&self.counting(&self.parts[global], None), most)
    }

    /// The same of any parts. What leaves that were read together have in common is parted between them; what one value
    /// has from scatter, instrument and step is one share.
    pub(crate) fn shares_of(&self, parts: &[(u32, f64)], most: usize) -> Vec<(&Uncertain, f64)> {
        let variance = self.combine(parts).powi(2);
        if variance == 0.0 {
            return Vec::new();
        }
        let parts = &self.opened(parts, most);
        let mut own: Vec<f64> = parts.iter().map(|(_, part)| part * part).collect();
        for ((first, second), correlation) in &self.correlations {
            let place = |leaf: u32| parts.binary_search_by_key(&leaf, |(known, _)| *known);
            if let (Ok(first), Ok(second)) = (place(*first), place(*second)) {
                let common = correlation * parts[first].1 * parts[second].1;
                own[first] += common;
                own[second] += common;
            }
        }
        let mut shares: Vec<(&Uncertain, f64)> = Vec::with_capacity(parts.len());
        for ((leaf, _), own) in parts.iter().zip(own) {
            let leaf = &self.leaves[*leaf as usize];
            // Those of one value follow each other.
            match shares.last_mut().filter(|(last, _)| last.members.len() == 1 && leaf.members.len() == 1) {
                Some((last, share)) if last.global() == leaf.global() => *share += own / variance,
                _ => shares.push((leaf, own / variance)),
            }
        }
        shares.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.global().cmp(&b.0.global())));
        shares
    }
}

/// What a leaf's nudges move, and by how much for each of its standard uncertainties.
fn nudged(fixed: &Fixed<'_>, leaf: &Uncertain, reach: &Reach, replay: &mut Replay<'_>) -> Vec<(usize, f64)> {
    let mut run = |nudge: f64| {
        let moved = |nominal: f64, standard: f64| nominal + nudge * standard;
        let possible = leaf.members.iter().all(|member| {
            let nominal = fixed.nominal[member.global];
            fixed.node(member.global).range.holds(moved(nominal, member.standard))
        });
        if !possible {
            return None;
        }
        for member in &leaf.members {
            replay.values[member.global] = moved(fixed.nominal[member.global], member.standard);
        }
        replay.work(reach);
        let found: Vec<f64> = reach.values.iter().map(|global| replay.values[*global]).collect();
        replay.restore(&reach.values);
        for member in &leaf.members {
            replay.values[member.global] = fixed.nominal[member.global];
        }
        Some(found)
    };
    let up = run(NUDGE);
    let down = run(-NUDGE);
    let mut moved = Vec::with_capacity(reach.values.len());
    for (at, global) in reach.values.iter().enumerate() {
        let side = |found: &Option<Vec<f64>>| {
            found.as_ref().map(|found| found[at]).filter(|value| value.is_finite())
        };
        let part = match (side(&up), side(&down)) {
            (Some(up), Some(down)) => (up - down) / (2.0 * NUDGE),
            (Some(up), None) => (up - fixed.nominal[*global]) / NUDGE,
            (None, Some(down)) => (fixed.nominal[*global] - down) / NUDGE,
            (None, None) => 0.0,
        };
        if part != 0.0 {
            moved.push((*global, part));
        }
    }
    moved
}

/// 0 for a leaf that has no part.
fn part_of(parts: &[(u32, f64)], leaf: u32) -> f64 {
    parts.binary_search_by_key(&leaf, |(known, _)| *known).map_or(0.0, |at| parts[at].1)
}

#[cfg(test)]
mod tests {
    use super::Budget;
    use crate::evaluate::causes::Uncertain;
    use crate::model::RequirementKind;
    use std::collections::BTreeMap;

    #[test]
    fn what_is_exact_has_an_uncertainty_of_plain_zero() {
        let budget = Budget {
            leaves: Vec::new(),
            parts: vec![Vec::new()],
            narrows: Vec::new(),
            correlations: BTreeMap::new(),
        };
        assert_eq!(budget.standard(0).to_bits(), 0.0f64.to_bits());
        let (standard, freedom) = budget.of_difference((0, 0), RequirementKind::Safety);
        assert_eq!((standard.to_bits(), freedom), (0.0f64.to_bits(), f64::INFINITY));
    }

    /// JCGM 100:2008, H.2, table H.3 and H.4: V, I, φ with the printed correlations; R = V/I cos φ and the like.
    #[test]
    fn correlated_inputs_give_the_printed_uncertainties() {
        let (v, i, phi) = (4.999, 0.019661, 1.04446f64);
        let u = [0.0032, 9.5e-6, 7.5e-4];
        let leaves =
            u.iter().enumerate().map(|(global, standard)| Uncertain::alone(global, *standard)).collect();
        let derivatives = [
            [phi.cos() / i, -v * phi.cos() / (i * i), -v * phi.sin() / i],
            [phi.sin() / i, -v * phi.sin() / (i * i), v * phi.cos() / i],
            [1.0 / i, -v / (i * i), 0.0],
        ];
        let parts =
            derivatives.iter().map(|row| (0..3).map(|k| (k as u32, row[k] * u[k])).collect()).collect();
        let correlations = BTreeMap::from([((0, 1), -0.36), ((0, 2), 0.86), ((1, 2), -0.65)]);
        let budget = Budget { leaves, parts, narrows: Vec::new(), correlations };
        // Recomputed from the printed inputs with the PyPI package GTC 1.5.1; printed: 0.07, 0.30, 0.24.
        for (global, expected) in [(0, 0.069978728), (1, 0.295716827), (2, 0.236602972)] {
            let found = budget.standard(global);
            assert!((found - expected).abs() < 1e-6 * expected, "{global}: {found}");
        }
        let shares: f64 = budget.shares(0, usize::MAX).iter().map(|(_, share)| share).sum();
        assert!((shares - 1.0).abs() < 1e-12);
    }

    /// JCGM 100:2008, G.4.1: three parts of 0.25 %, 0.57 % and 0.82 % with 10, 5 and 15 readings; the Guide prints 19.0.
    /// And case WS of the same method: three weighings and an instrument's limit of 0.5 kg.
    #[test]
    fn degrees_of_freedom_are_those_of_welch_and_satterthwaite() {
        let few = |standard: f64, freedom: f64| Uncertain { freedom, ..Uncertain::alone(0, standard) };
        let check = |leaves: Vec<Uncertain>, standard: f64, freedom: f64| {
            let parts = leaves.iter().enumerate();
            let parts = vec![parts.map(|(at, leaf)| (at as u32, leaf.members[0].standard)).collect()];
            let budget = Budget { leaves, parts, narrows: Vec::new(), correlations: BTreeMap::new() };
            assert!((budget.standard(0) / standard - 1.0).abs() < 1e-6, "{}", budget.standard(0));
            let found = budget.freedom(0);
            assert!(found == freedom || (found / freedom - 1.0).abs() < 1e-4, "{found}");
        };
        // Recomputed with GTC 1.5.1 and scipy 1.17.1.
        check(vec![few(0.25, 9.0), few(0.57, 4.0), few(0.82, 14.0)], 1.029_465_88, 18.998_742_3);
        check(vec![few(0.145_296_631, 2.0), Uncertain::alone(0, 0.288_675_135)], 0.323_178_657, 48.952_908_6);
        check(vec![Uncertain::alone(0, 2.0)], 2.0, f64::INFINITY);
    }
}
