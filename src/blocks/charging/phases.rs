//! Charging in two phases: as fast as the charger can, then at the limit voltage with a falling current.
//!
//! The cells' voltage at rest follows straight lines between the points of their curve, so the mesh is parted there and
//! stays the same when an input is nudged. All numbers are in SI units.

use crate::quantities::Curve;

/// What drives the first phase.
#[derive(Clone, Copy)]
pub(super) enum Drive {
    /// The same power at every voltage.
    Power(f64),
    /// The same current at every voltage.
    Current(f64),
}

/// A pack that is charged from one share of its charge to another.
pub(super) struct Phases<'a> {
    /// Voltage of one cell at rest against the share.
    pub curve: &'a Curve,
    /// Cells in series × the curve's own scale.
    pub scale: f64,
    pub resistance: f64,
    pub capacity: f64,
    pub drive: Drive,
    /// The voltage at the terminals that is not passed.
    pub limit: f64,
    /// The current under which charging ends.
    pub cut_off: f64,
    pub from: f64,
    pub to: f64,
}

/// Parts of a piece in Simpson's rule; even.
const PARTS: u32 = 16;

impl Phases<'_> {
    /// The pack's voltage at rest; NaN outside the curve.
    pub(super) fn rest(&self, share: f64) -> f64 {
        self.scale * self.curve.at(share).unwrap_or(f64::NAN)
    }

    /// The current of the first phase at a voltage at rest.
    pub(super) fn driven(&self, rest: f64) -> f64 {
        match self.drive {
            Drive::Power(power) => {
                2.0 * power / (rest + (rest * rest + 4.0 * self.resistance * power).sqrt())
            }
            Drive::Current(current) => current,
        }
    }

    /// The voltage at rest at which the terminals come to the limit in the first phase.
    pub(super) fn rest_at_switch(&self) -> f64 {
        let current = match self.drive {
            Drive::Power(power) => power / self.limit,
            Drive::Current(current) => current,
        };
        self.limit - current * self.resistance
    }

    /// The voltage at rest at which the current of the second phase has fallen to the cut-off.
    pub(super) fn rest_at_end(&self) -> f64 {
        self.limit - self.cut_off * self.resistance
    }

    /// The share at which the second phase begins; the last share where it never does.
    pub(super) fn switch_share(&self) -> f64 {
        self.reaches(self.rest_at_switch(), self.from)
    }

    /// The share at which charging ends: the wanted one, or where the current has fallen to the cut-off.
    pub(super) fn end_share(&self) -> f64 {
        self.reaches(self.rest_at_end(), self.switch_share())
    }

    /// The first share from `after` on whose voltage at rest is at least that; the last share where none is. It is
    /// found on the curve's own pieces, so that it moves with nothing but what it depends on.
    fn reaches(&self, voltage: f64, after: f64) -> f64 {
        if !(voltage + after + self.rest(after) + self.rest(self.to)).is_finite() {
            return f64::NAN;
        }
        if self.rest(after) >= voltage {
            return after;
        }
        let pieces = self.curve.points().windows(2).filter(|piece| piece[1].0 > after);
        let found = pieces.map(|piece| (piece[0], piece[1])).find(|(_, last)| self.scale * last.1 >= voltage);
        found.map_or(self.to, |((x, low), (last, high))| {
            (x + (last - x) * (voltage / self.scale - low) / (high - low)).min(self.to)
        })
    }

    /// How far a share misses the voltage at rest that it was sought for, as a part of it; 0 where it is rightly the
    /// first or the last one. The check of [`Phases::switch_share`] and [`Phases::end_share`].
    pub(super) fn missed(&self, (share, first): (f64, f64), voltage: f64) -> f64 {
        let rest = self.rest(share);
        let above = rest / voltage - 1.0;
        if share == first && above > 0.0 || share == self.to && above < 0.0 { 0.0 } else { above }
    }

    /// The pieces of a range on each of which the curve is straight.
    fn pieces(&self, from: f64, to: f64) -> impl Iterator<Item = (f64, f64)> {
        let kinks = self.curve.points().iter().map(|point| point.0);
        let inner = kinks.filter(move |share| *share > from && *share < to);
        let mut before = from;
        inner.chain(std::iter::once(to)).map(move |next| (std::mem::replace(&mut before, next), next))
    }

    /// The time from the first share to the switch.
    pub(super) fn time_driven(&self, switch: f64) -> f64 {
        self.sum(switch, PARTS)
    }

    /// The same on half the mesh, for its check.
    pub(super) fn time_driven_on_half_the_mesh(&self, switch: f64) -> f64 {
        self.sum(switch, PARTS / 2)
    }

    /// ∫ capacity/current over the share, by Simpson's rule on each piece.
    fn sum(&self, switch: f64, parts: u32) -> f64 {
        if switch.is_nan() {
            return f64::NAN;
        }
        let slow = |share: f64| self.capacity / self.driven(self.rest(share));
        self.pieces(self.from, switch).map(|(first, last)| simpson((first, last), parts, &slow)).sum()
    }

    /// The energy into the terminals from the first share to the switch, at constant current: its integral over
    /// straight pieces, where the mean of the ends is exact.
    pub(super) fn energy_driven(&self, switch: f64) -> f64 {
        if switch.is_nan() {
            return f64::NAN;
        }
        let terminals = |share: f64| {
            let rest = self.rest(share);
            rest + self.driven(rest) * self.resistance
        };
        let pieces = self.pieces(self.from, switch);
        pieces.map(|(a, b)| self.capacity * (b - a) * (terminals(a) + terminals(b)) / 2.0).sum()
    }

    /// The same by Simpson's rule, for its check.
    pub(super) fn energy_driven_again(&self, switch: f64) -> f64 {
        let terminals = |share: f64| {
            let rest = self.rest(share);
            self.capacity * (rest + self.driven(rest) * self.resistance)
        };
        self.pieces(self.from, switch).map(|piece| simpson(piece, PARTS, &terminals)).sum()
    }

    /// The time at the limit voltage, with current = (limit − rest)/resistance: on a straight piece a logarithm.
    pub(super) fn time_held(&self, (switch, end): (f64, f64)) -> f64 {
        if (switch + end).is_nan() {
            return f64::NAN;
        }
        self.pieces(switch, end).filter(|(first, last)| last > first).map(|piece| self.held(piece)).sum()
    }

    fn held(&self, (first, last): (f64, f64)) -> f64 {
        let (room, left) = (self.limit - self.rest(first), self.limit - self.rest(last));
        let mean = (room + left) / 2.0;
        let bend = (room - left) / mean;
        // ln(room/left)/(room − left), by its series where the two are nearly equal.
        let over = if bend.abs() < 1e-4 {
            (1.0 + bend * bend / 12.0) / mean
        } else {
            (room / left).ln() / (room - left)
        };
        self.capacity * self.resistance * (last - first) * over
    }

    /// The same by Simpson's rule on a fine mesh, for its check.
    pub(super) fn time_held_again(&self, (switch, end): (f64, f64)) -> f64 {
        let slow = |share: f64| self.capacity * self.resistance / (self.limit - self.rest(share));
        let pieces = self.pieces(switch, end).filter(|(first, last)| last > first);
        pieces.map(|piece| simpson(piece, 40 * PARTS, &slow)).sum()
    }
}

fn simpson((first, last): (f64, f64), parts: u32, of: &dyn Fn(f64) -> f64) -> f64 {
    let width = (last - first) / f64::from(parts);
    let inner: f64 = (1..parts)
        .map(|at| f64::from(if at % 2 == 1 { 4 } else { 2 }) * of(first + width * f64::from(at)))
        .sum();
    width / 3.0 * (of(first) + inner + of(last))
}

#[cfg(test)]
mod tests {
    use super::{Drive, Phases};
    use crate::quantities::{Curve, Unit};

    fn curve() -> Curve {
        let points = vec![(0.0, 2.7), (0.2, 3.2), (0.8, 3.35), (1.0, 3.6)];
        Curve::new(points, Unit::one(), Unit::one()).expect("a curve")
    }

    fn phases(curve: &Curve, drive: Drive) -> Phases<'_> {
        Phases {
            curve,
            scale: 100.0,
            resistance: 0.1,
            capacity: 360_000.0,
            drive,
            limit: 358.0,
            cut_off: 5.0,
            from: 0.1,
            to: 1.0,
        }
    }

    /// The charge by small steps of time, as another way: voltage at rest, current, limit, cut-off. SI units.
    fn stepped(phases: &Phases<'_>) -> (f64, f64, f64) {
        let (mut share, mut driven, mut held, step) = (phases.from, 0.0, 0.0, 0.05);
        loop {
            let rest = phases.rest(share.min(1.0));
            let most = (phases.limit - rest) / phases.resistance;
            let current = phases.driven(rest).min(most);
            if current <= phases.cut_off || share >= phases.to {
                return (share, driven, held);
            }
            if current < most {
                driven += step
            } else {
                held += step
            }
            share += current * step / phases.capacity;
        }
    }

    #[track_caller]
    fn check(phases: &Phases<'_>) {
        let (switch, end) = (phases.switch_share(), phases.end_share());
        let (share, driven, held) = stepped(phases);
        let near = |a: f64, b: f64, within: f64| assert!((a - b).abs() <= within, "{a} and {b}");
        near(end, share, 1e-4);
        near(phases.time_driven(switch), driven, 1.0);
        near(phases.time_held((switch, end)), held, 5.0);
        near(phases.time_driven(switch), phases.time_driven_on_half_the_mesh(switch), 1e-6);
        let again = phases.time_held_again((switch, end));
        near(phases.time_held((switch, end)), again, 1e-5 * again);
    }

    #[test]
    fn both_phases_agree_with_small_steps() {
        let curve = curve();
        check(&phases(&curve, Drive::Power(7_000.0)));
        check(&phases(&curve, Drive::Current(60.0)));
        check(&Phases { to: 0.7, ..phases(&curve, Drive::Power(7_000.0)) });
        check(&Phases { limit: 330.0, ..phases(&curve, Drive::Power(7_000.0)) });
    }

    #[test]
    fn at_one_current_without_a_limit_the_time_is_charge_over_current() {
        let curve = curve();
        let phases = Phases { limit: 500.0, ..phases(&curve, Drive::Current(50.0)) };
        let (switch, end) = (phases.switch_share(), phases.end_share());
        assert_eq!((switch, end), (1.0, 1.0));
        assert!((phases.time_driven(switch) - 0.9 * 360_000.0 / 50.0).abs() < 1e-9);
        assert_eq!(phases.time_held((switch, end)), 0.0);
    }

    #[test]
    fn outside_the_curve_there_is_no_time() {
        let curve = Curve::new(vec![(0.2, 3.0), (0.9, 3.4)], Unit::one(), Unit::one()).expect("a curve");
        let phases = phases(&curve, Drive::Power(7_000.0));
        assert!(phases.switch_share().is_nan() && phases.time_driven(phases.switch_share()).is_nan());
    }

    #[test]
    fn a_pack_without_resistance_ends_where_it_comes_to_its_limit() {
        let curve = curve();
        let phases = Phases { resistance: 0.0, limit: 335.0, ..phases(&curve, Drive::Power(7_000.0)) };
        let (switch, end) = (phases.switch_share(), phases.end_share());
        assert!((switch - 0.8).abs() < 1e-12 && switch == end);
        assert_eq!(phases.time_held((switch, end)), 0.0);
    }
}
