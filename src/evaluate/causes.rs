//! What is uncertain: each leaf alone, or what errs together, with its standard uncertainty and how surely that is known.

use std::collections::BTreeMap;

use super::fixed::Fixed;
use crate::model::{Claim, Leaf, Readings};
use crate::quantities::Shape;

/// One cause of error: a leaf, or several that one scale moves.
#[derive(Clone, Debug)]
pub(crate) struct Uncertain {
    /// What it moves, at least one value; more where they err together.
    pub members: Vec<Member>,
    pub shape: Shape,
    /// Degrees of freedom of its standard uncertainty; infinite where it is not from readings.
    pub freedom: f64,
    /// Nobody wrote it.
    pub supposed: bool,
    pub claim: Claim,
    /// From repeated readings: it may be correlated with others that were read together.
    pub scatter: bool,
}

/// A value that a cause moves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Member {
    /// Its place in the table of values.
    pub global: usize,
    /// Standard uncertainty in SI units; of a curve, of its scale.
    pub standard: f64,
    /// How far the middle of its distribution is from the nominal value, where the range of what is possible cuts one
    /// side.
    pub off: f64,
}

impl Uncertain {
    pub(super) fn alone(global: usize, standard: f64) -> Uncertain {
        Uncertain {
            members: vec![Member { global, standard, off: 0.0 }],
            shape: Shape::Rectangular,
            freedom: f64::INFINITY,
            supposed: false,
            claim: Claim::Everywhere,
            scatter: false,
        }
    }

    /// The value that names it: the first.
    pub(crate) fn global(&self) -> usize {
        self.members[0].global
    }

    /// How many standard uncertainties its distribution reaches, to 95 % where it has no end.
    pub(crate) fn reach(&self) -> f64 {
        match self.shape {
            Shape::Rectangular => 3f64.sqrt(),
            Shape::Triangular => 6f64.sqrt(),
            Shape::Normal { .. } => 2.0,
        }
    }

    /// Moves its values by so many standard uncertainties, from what they are in the table.
    pub(super) fn shift(&self, values: &mut [f64], standards: f64) {
        for member in &self.members {
            values[member.global] += member.off + standards * member.standard;
        }
    }
}

/// Every cause, in the order of the journal.
pub(super) fn causes(fixed: &Fixed<'_>) -> Vec<Uncertain> {
    let mut found: Vec<Uncertain> = Vec::new();
    let mut groups: BTreeMap<(u32, bool), usize> = BTreeMap::new();
    for global in 0..fixed.plan.len() {
        let Some(leaf) = fixed.node(global).leaf() else { continue };
        found.extend(written(global, leaf));
        let Some(supposed) = &leaf.supposed else { continue };
        let half = 0.5 * (supposed.high - supposed.low);
        let member = Member {
            global,
            standard: half / 3f64.sqrt(),
            off: 0.5 * (supposed.high + supposed.low) - leaf.literal.quantity.si,
        };
        let key = supposed.together.map(|number| (number, supposed.claim == Claim::Everywhere));
        match key.and_then(|key| groups.get(&key)) {
            Some(at) => found[*at].members.push(member),
            None => {
                let cause = Uncertain {
                    supposed: leaf.is_supposed(),
                    claim: supposed.claim,
                    ..Uncertain::alone(global, 0.0)
                };
                found.push(Uncertain { members: vec![member], ..cause });
                groups.extend(key.map(|key| (key, found.len() - 1)));
            }
        }
    }
    found
}

/// What the author's own words make uncertain: a tolerance by its shape (JCGM 100:2008, 4.3), the scatter of readings
/// (4.2), and the step of their instrument (F.2.2.1).
fn written(global: usize, leaf: &Leaf) -> impl Iterator<Item = Uncertain> {
    let scatter = leaf.readings.as_ref().map(|readings| Uncertain {
        shape: Shape::Normal { coverage: 1.0 },
        freedom: readings.values.len() as f64 - 1.0,
        scatter: true,
        ..Uncertain::alone(global, standard_of(readings))
    });
    let tolerance = leaf.literal.tolerance.as_ref().map(|tolerance| Uncertain {
        shape: tolerance.shape,
        ..Uncertain::alone(global, tolerance.standard_uncertainty())
    });
    let step = leaf.readings.as_ref().and_then(|readings| readings.resolution);
    let step = step.map(|step| Uncertain::alone(global, step / 12f64.sqrt()));
    [scatter, tolerance, step].into_iter().flatten().filter(|cause| cause.members[0].standard > 0.0)
}

/// Type A, of the mean s/√n (JCGM 100:2008, 4.2.3), of one piece s (4.2.2).
fn standard_of(readings: &Readings) -> f64 {
    let n = if readings.pieces { 1.0 } else { readings.values.len() as f64 };
    (covariance(&readings.values, &readings.values) / n).sqrt()
}

/// The experimental covariance of two lists of equal length (JCGM 100:2008, 5.2.3, without the division by n).
fn covariance(x: &[f64], y: &[f64]) -> f64 {
    let n = x.len().min(y.len());
    let mean = |values: &[f64]| values[..n].iter().sum::<f64>() / n as f64;
    let (mean_x, mean_y) = (mean(x), mean(y));
    let sum: f64 = x.iter().zip(y).map(|(x, y)| (x - mean_x) * (y - mean_y)).sum();
    sum / (n as f64 - 1.0)
}

/// Correlation coefficients of what was read together, the smaller number first.
pub(super) fn correlations(fixed: &Fixed<'_>, leaves: &[Uncertain]) -> BTreeMap<(u32, u32), f64> {
    let mut groups: BTreeMap<&str, Vec<(u32, &[f64])>> = BTreeMap::new();
    for (number, leaf) in leaves.iter().enumerate().filter(|(_, leaf)| leaf.scatter) {
        let readings = fixed.node(leaf.global()).leaf().and_then(|leaf| leaf.readings.as_ref());
        if let Some(Readings { values, together: Some((together, _)), .. }) = readings {
            groups.entry(together.as_str()).or_default().push((number as u32, values));
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
