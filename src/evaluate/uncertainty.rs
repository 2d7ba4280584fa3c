//! First-order uncertainty (JCGM 100:2008): each uncertain leaf is nudged both ways by a hundredth of its standard
//! uncertainty, what depends on it is worked again, and the contributions add in quadrature.

use std::collections::BTreeMap;

use super::replay::{Fixed, Reach, Reaches, Replay, Search};
use crate::model::{Leaf, NodeDecl};
use crate::parallel;

/// An uncertain leaf.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Uncertain {
    /// Its place in the table of values.
    pub global: usize,
    /// Standard uncertainty in SI units; of a curve, of its scale.
    pub standard: f64,
}

/// What each value's uncertainty is made of.
pub(crate) struct Budget {
    pub leaves: Vec<Uncertain>,
    /// For each value, `(leaf, cᵢ uᵢ)` in the order of the leaves: the sensitivity times the leaf's standard
    /// uncertainty, with its sign.
    pub parts: Vec<Vec<(u32, f64)>>,
    /// Correlation coefficients of leaves that were read together, the smaller number first.
    pub correlations: BTreeMap<(u32, u32), f64>,
}

/// A share of a leaf's standard uncertainty that is small against it and large against rounding.
const NUDGE: f64 = 0.01;

/// How many leaves a core takes at once. A leaf may move whole drive cycles, or one sum.
const SHARE: usize = 8;

impl Budget {
    pub(super) fn work(fixed: Fixed<'_>) -> Budget {
        let leaves = uncertain(&fixed);
        let mut parts: Vec<Vec<(u32, f64)>> = vec![Vec::new(); fixed.plan.len()];
        if leaves.is_empty() {
            return Budget { leaves, parts, correlations: BTreeMap::new() };
        }
        let reaches = Reaches::new(&fixed);
        let begin = || (Search::new(fixed, &reaches), Replay::new(fixed));
        // Each leaf is nudged alone, so that it makes no difference on which core.
        let moved = parallel::each_with(leaves.len(), SHARE, begin, |(search, replay), number| {
            let leaf = leaves[number];
            nudged(&fixed, leaf, &search.of(&[leaf.global]), replay)
        });
        for (number, (leaf, moved)) in leaves.iter().zip(moved).enumerate() {
            parts[leaf.global].push((number as u32, leaf.standard));
            for (global, part) in moved {
                parts[global].push((number as u32, part));
            }
        }
        let correlations = correlations(&fixed, &leaves);
        Budget { leaves, parts, correlations }
    }

    /// The combined standard uncertainty of a value (JCGM 100:2008, 5.1.2 and 5.2.2).
    pub(crate) fn standard(&self, global: usize) -> f64 {
        self.combine(&self.parts[global])
    }

    /// That of a difference of two values, which share leaves.
    pub(crate) fn of_difference(&self, left: usize, right: usize) -> f64 {
        self.combine(&self.difference(left, right))
    }

    /// What the uncertainty of a difference of two values is made of, in the order of the leaves.
    pub(super) fn difference(&self, left: usize, right: usize) -> Vec<(u32, f64)> {
        let less = self.parts[right].iter().map(|(leaf, part)| (*leaf, -part));
        let mut joined: Vec<(u32, f64)> = self.parts[left].iter().copied().chain(less).collect();
        joined.sort_by_key(|(leaf, _)| *leaf);
        joined.dedup_by(|next, kept| {
            let same = next.0 == kept.0;
            kept.1 += if same { next.1 } else { 0.0 };
            same
        });
        joined
    }

    /// Parts stand in the order of their leaves.
    fn combine(&self, parts: &[(u32, f64)]) -> f64 {
        // `sum` of nothing is -0, and the larger of -0 and 0 is either.
        let mut variance = parts.iter().fold(0.0, |sum, (_, part)| sum + part * part);
        for ((first, second), correlation) in &self.correlations {
            variance += 2.0 * correlation * part_of(parts, *first) * part_of(parts, *second);
        }
        variance.max(0.0).sqrt()
    }

    pub(crate) fn correlation(&self, first: u32, second: u32) -> f64 {
        if first == second {
            return 1.0;
        }
        self.correlations.get(&(first.min(second), first.max(second))).copied().unwrap_or(0.0)
    }

    /// The leaves that a value's variance comes from, with their shares of it, largest first. What leaves that were
    /// read together have in common is parted between them.
    pub(crate) fn shares(&self, global: usize) -> Vec<(Uncertain, f64)> {
        let parts = &self.parts[global];
        let variance = self.combine(parts).powi(2);
        if variance == 0.0 {
            return Vec::new();
        }
        let mut own: Vec<f64> = parts.iter().map(|(_, part)| part * part).collect();
        for ((first, second), correlation) in &self.correlations {
            let place = |leaf: u32| parts.binary_search_by_key(&leaf, |(known, _)| *known);
            if let (Ok(first), Ok(second)) = (place(*first), place(*second)) {
                let common = correlation * parts[first].1 * parts[second].1;
                own[first] += common;
                own[second] += common;
            }
        }
        let mut shares: Vec<(Uncertain, f64)> = parts
            .iter()
            .zip(own)
            .map(|((leaf, _), own)| (self.leaves[*leaf as usize], own / variance))
            .collect();
        shares.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.global.cmp(&b.0.global)));
        shares
    }
}

/// What a leaf's nudges move, and by how much for each of its standard uncertainties.
fn nudged(fixed: &Fixed<'_>, leaf: Uncertain, reach: &Reach, replay: &mut Replay<'_>) -> Vec<(usize, f64)> {
    let nominal = fixed.nominal[leaf.global];
    let step = NUDGE * leaf.standard;
    let range = node(fixed, leaf.global).range;
    let mut run = |value: f64| {
        if !range.holds(value) {
            return None;
        }
        replay.values[leaf.global] = value;
        replay.work(&reach.actions);
        let found: Vec<f64> = reach.values.iter().map(|global| replay.values[*global]).collect();
        replay.restore(&reach.values);
        replay.values[leaf.global] = nominal;
        Some(found)
    };
    let up = run(nominal + step);
    let down = run(nominal - step);
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

fn node<'a>(fixed: &Fixed<'a>, global: usize) -> &'a NodeDecl {
    let (block, index) = fixed.plan.local(global);
    &fixed.notebook.blocks[block].nodes[index]
}

/// Every leaf with a tolerance or with readings, in the order of the journal.
fn uncertain(fixed: &Fixed<'_>) -> Vec<Uncertain> {
    (0..fixed.plan.len())
        .filter_map(|global| {
            let standard = standard_of(node(fixed, global).leaf()?);
            (standard > 0.0).then_some(Uncertain { global, standard })
        })
        .collect()
}

/// Type A for readings, s/√n (JCGM 100:2008, 4.2.3); else by the tolerance's shape (4.3).
pub(crate) fn standard_of(leaf: &Leaf) -> f64 {
    match &leaf.readings {
        Some(readings) => {
            let n = readings.values.len() as f64;
            (covariance(&readings.values, &readings.values) / n).sqrt()
        }
        None => leaf.literal.tolerance.as_ref().map_or(0.0, |tolerance| tolerance.standard_uncertainty()),
    }
}

/// The experimental covariance of two lists of equal length (JCGM 100:2008, 5.2.3, without the division by n).
fn covariance(x: &[f64], y: &[f64]) -> f64 {
    let n = x.len().min(y.len());
    let mean = |values: &[f64]| values[..n].iter().sum::<f64>() / n as f64;
    let (mean_x, mean_y) = (mean(x), mean(y));
    let sum: f64 = x.iter().zip(y).map(|(x, y)| (x - mean_x) * (y - mean_y)).sum();
    sum / (n as f64 - 1.0)
}

fn correlations(fixed: &Fixed<'_>, leaves: &[Uncertain]) -> BTreeMap<(u32, u32), f64> {
    let mut groups: BTreeMap<&str, Vec<(u32, &[f64])>> = BTreeMap::new();
    for (number, leaf) in leaves.iter().enumerate() {
        let readings = node(fixed, leaf.global).leaf().and_then(|leaf| leaf.readings.as_ref());
        if let Some(readings) = readings
            && let Some((together, _)) = &readings.together
        {
            groups.entry(together.as_str()).or_default().push((number as u32, &readings.values));
        }
    }
    let mut found = BTreeMap::new();
    for members in groups.values() {
        for (at, (first, x)) in members.iter().enumerate() {
            for (second, y) in &members[at + 1..] {
                let spread = (covariance(x, x) * covariance(y, y)).sqrt();
                if spread > 0.0 {
                    found.insert((*first, *second), (covariance(x, y) / spread).clamp(-1.0, 1.0));
                }
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::{Budget, Uncertain};
    use std::collections::BTreeMap;

    #[test]
    fn what_is_exact_has_an_uncertainty_of_plain_zero() {
        let budget = Budget { leaves: Vec::new(), parts: vec![Vec::new()], correlations: BTreeMap::new() };
        assert_eq!(budget.standard(0).to_bits(), 0.0f64.to_bits());
        assert_eq!(budget.of_difference(0, 0).to_bits(), 0.0f64.to_bits());
    }

    /// JCGM 100:2008, H.2, table H.3 and H.4: V, I, φ with the printed correlations; R = V/I cos φ and the like.
    #[test]
    fn correlated_inputs_give_the_printed_uncertainties() {
        let (v, i, phi) = (4.999, 0.019661, 1.04446f64);
        let u = [0.0032, 9.5e-6, 7.5e-4];
        let leaves = u
            .iter()
            .enumerate()
            .map(|(global, standard)| Uncertain { global, standard: *standard })
            .collect();
        let derivatives = [
            [phi.cos() / i, -v * phi.cos() / (i * i), -v * phi.sin() / i],
            [phi.sin() / i, -v * phi.sin() / (i * i), v * phi.cos() / i],
            [1.0 / i, -v / (i * i), 0.0],
        ];
        let parts =
            derivatives.iter().map(|row| (0..3).map(|k| (k as u32, row[k] * u[k])).collect()).collect();
        let correlations = BTreeMap::from([((0, 1), -0.36), ((0, 2), 0.86), ((1, 2), -0.65)]);
        let budget = Budget { leaves, parts, correlations };
        // Recomputed from the printed inputs with the PyPI package GTC 1.5.1; printed: 0.07, 0.30, 0.24.
        for (global, expected) in [(0, 0.069978728), (1, 0.295716827), (2, 0.236602972)] {
            let found = budget.standard(global);
            assert!((found - expected).abs() < 1e-6 * expected, "{global}: {found}");
        }
        let shares: f64 = budget.shares(0).iter().map(|(_, share)| share).sum();
        assert!((shares - 1.0).abs() < 1e-12);
    }
}
