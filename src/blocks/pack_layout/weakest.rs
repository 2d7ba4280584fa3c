//! What a string of unequal cells holds: as much as its weakest group, which is expected below the mean.

use std::sync::OnceLock;

use crate::findings::codes;
use crate::model::{Bench, BlockName, Form, Page, Row, Slot, Taken};
use crate::quantities::si::{ElectricCharge, Measure};
use crate::words::words;

pub(super) static CAPACITY_SPREAD: Taken<ElectricCharge> = Taken::new("cell", "capacity_spread")
    .about("if known: the standard deviation between cells, by itself where `capacity` is `of: pieces`");
pub(super) static MODULE_SPREAD: Taken<ElectricCharge> = Taken::new("module", "capacity_spread")
    .about("if known: the standard deviation between modules, likewise");
pub(super) static WEAKEST_BELOW_MEAN: Row<f64> = Row::procedure(
    "weakest_below_mean",
    "weakest of the groups in series, expected",
    "1",
    "the expected least of N normal values, N being how many cells or modules stand in series, in standard deviations below their mean: integral of 1 − Φ(x)^N − (1 − Φ(x))^N over x from 0, by Simpson's rule",
)
.about("in standard deviations of a group below the mean of all")
.when(PIECES);
pub(super) const PIECES: &str = "with a cell or module whose `capacity` is `of: pieces`";

/// Where the cell's capacity is of pieces, by what they differ, and how far down the weakest of them is expected.
pub(super) struct Weakest {
    series: Slot<f64>,
    parallel: Slot<f64>,
    spread: Slot<ElectricCharge>,
    below_mean: Slot<f64>,
    /// A number of groups with its factor: no leaf that is nudged moves it.
    known: OnceLock<(f64, f64)>,
}

impl Weakest {
    /// The pieces are cells or modules; how many of them stand in series comes first, then how many side by side.
    pub(super) fn read(
        form: &mut Form<'_, '_>,
        (spread, piece, [series, parallel]): (
            &'static Taken<ElectricCharge>,
            Option<&BlockName>,
            [Slot<f64>; 2],
        ),
    ) -> Option<Weakest> {
        let spread = form.lookup().if_there(spread, piece)?;
        let below_mean = form.outcomes().procedure(&WEAKEST_BELOW_MEAN, &[series.index()]);
        Some(Weakest { series, parallel, spread, below_mean, known: OnceLock::new() })
    }

    /// What the weakest group of the string lacks to the mean of all groups.
    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) -> ElectricCharge {
        let series = bench.get(self.series);
        let below_mean = match self.known.get() {
            Some((known, factor)) if *known == series => *factor,
            _ => {
                let factor = expected_greatest(series, STEPS);
                if series.is_finite() {
                    let _ = self.known.set((series, factor));
                }
                factor
            }
        };
        bench.set(self.below_mean, below_mean);
        // Cells in parallel err apart: the spread of their sum grows with the root of their number.
        below_mean * bench.get(self.parallel).sqrt() * bench.get(self.spread)
    }

    pub(super) fn present(&self, page: &mut Page<'_>, capacity: Slot<ElectricCharge>) {
        let (Some(series), Some(below_mean)) = (page.get(self.series), page.get(self.below_mean)) else {
            return;
        };
        page.checked(self.below_mean, expected_greatest(series, 2 * STEPS) - below_mean, 1e-7);
        if page.get(capacity).is_some_and(|capacity| capacity.si() <= 0.0) {
            let message = words!(
                "pieces that differ by {} leave nothing of the weakest of {} in series",
                page.value(self.spread),
                page.value(self.series)
            );
            page.find(
                &codes::OUT_OF_RANGE,
                self.spread.index(),
                message,
                "look at the readings of their capacity",
            );
            return;
        }
        page.note(words!(
            "The capacity is that of the weakest of {}, expected: {} standard deviations of a group below the mean, as their `capacity` is of pieces that differ.",
            page.value(self.series),
            page.value(self.below_mean)
        ));
    }
}

/// Of the integral.
const STEPS: usize = 500;

/// Beyond this many standard deviations nothing of a thousand pieces is left.
const FAR: f64 = 10.0;

/// The expected value of the greatest of `n` values that are normal, in standard deviations above their mean; of the
/// least as far below it. E = ∫₀^∞ (1 − Φ(x)ⁿ − (1 − Φ(x))ⁿ) dx, both integrals by Simpson's rule.
fn expected_greatest(n: f64, steps: usize) -> f64 {
    let step = FAR / steps as f64;
    let density = |x: f64| (-0.5 * x * x).exp() / std::f64::consts::TAU.sqrt();
    let outside = |below: f64| 1.0 - below.powf(n) - (1.0 - below).max(0.0).powf(n);
    let share = |from: f64, to: f64| {
        (to - from) / 6.0 * (density(from) + 4.0 * density(0.5 * (from + to)) + density(to))
    };
    let (mut below, mut sum) = (0.5, 0.0);
    for at in 0..steps {
        let from = at as f64 * step;
        let (middle, to) = (from + 0.5 * step, from + step);
        let half = below + share(from, middle);
        let whole = half + share(middle, to);
        sum += step / 6.0 * (outside(below) + 4.0 * outside(half) + outside(whole));
        below = whole;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::{STEPS, expected_greatest};

    /// Closed forms for two and three; the others by scipy 1.17.1, ∫ x n φ(x) Φ(x)ⁿ⁻¹ dx.
    #[test]
    fn the_greatest_of_normal_values_is_expected_where_it_is_known_to_be() {
        let root = std::f64::consts::PI.sqrt();
        for (n, expected) in [
            (1.0, 0.0),
            (2.0, 1.0 / root),
            (3.0, 1.5 / root),
            (4.0, 1.029_375_373_003_964),
            (10.0, 1.538_752_730_835_173),
            (96.0, 2.492_967_470_383_389),
            (1000.0, 3.241_435_769_133_449),
        ] {
            let found = expected_greatest(n, STEPS);
            assert!((found - expected).abs() < 1e-8, "{n}: {found}, not {expected}");
        }
    }
}
