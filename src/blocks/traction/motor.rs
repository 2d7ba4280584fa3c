//! The motor as a part states it: a curve or ratings, what caps them, and what it bears for long.

use super::takes::{
    CONTINUOUS_CURVE, CONTINUOUS_POWER, CONTINUOUS_TORQUE, CURVE_VOLTAGE, EFFICIENCY, MAX_SPEED, PEAK_POWER,
    PEAK_TIME, PEAK_TORQUE, ROTOR_INERTIA, STALL_TIME, STALL_TORQUE, TORQUE_CURVE, TORQUE_OVER_TIME,
    VOLTAGE_LOW,
};
use crate::blocks::shared::pieces::{
    Piece, capped, curve_fault, curve_pieces, over_time_fault, rating_pieces,
};
use crate::model::{Bench, BlockName, Form, Leaf, Range, Slot};
use crate::quantities::Curve;
use crate::quantities::si::{
    AngularVelocity, ElectricPotential, Measure, MomentOfInertia, Power, Ratio, Time, Torque,
};

pub(super) struct MotorOf {
    pub(super) shape: ShapeOf,
    pub(super) max_speed: Option<Slot<AngularVelocity>>,
    pub(super) efficiency: Slot<Ratio>,
    pub(super) efficiency_is_assumed: bool,
    pub(super) curve_voltage: Option<Slot<ElectricPotential>>,
    pub(super) continuous: Option<ContinuousOf>,
    pub(super) peak_time: Option<Slot<Time>>,
    /// What it gives after a time.
    pub(super) derating: Option<Slot<Curve>>,
    pub(super) stall_torque: Option<Slot<Torque>>,
    pub(super) rotor_inertia: Option<Slot<MomentOfInertia>>,
}

#[derive(Clone, Copy)]
pub(super) enum ShapeOf {
    /// With the ratings beside it, where the part states them too. The power caps it.
    Curve {
        curve: Slot<Curve>,
        torque: Option<Slot<Torque>>,
        power: Option<Slot<Power>>,
    },
    Peak {
        torque: Slot<Torque>,
        power: Slot<Power>,
        max_speed: Slot<AngularVelocity>,
    },
}

#[derive(Clone, Copy)]
pub(super) enum ContinuousOf {
    Curve(Slot<Curve>),
    Ratings { torque: Option<Slot<Torque>>, power: Option<Slot<Power>> },
}

impl MotorOf {
    pub(super) fn read(form: &mut Form<'_, '_>, motor: Option<&BlockName>) -> MotorOf {
        let curve = form.lookup().has(motor, "torque_curve");
        let rated_curve = form.lookup().has(motor, "continuous_torque_curve");
        let derates = form.lookup().has(motor, "torque_over_time");
        let mut lookup = form.lookup();
        let shape = if curve {
            ShapeOf::Curve {
                curve: lookup.taken(&TORQUE_CURVE, motor),
                torque: lookup.if_there(&PEAK_TORQUE, motor),
                power: lookup.if_there(&PEAK_POWER, motor),
            }
        } else {
            ShapeOf::Peak {
                torque: lookup.taken(&PEAK_TORQUE, motor),
                power: lookup.taken(&PEAK_POWER, motor),
                max_speed: lookup.taken(&MAX_SPEED, motor),
            }
        };
        let max_speed = match shape {
            ShapeOf::Curve { .. } => lookup.if_there(&MAX_SPEED, motor),
            ShapeOf::Peak { max_speed, .. } => Some(max_speed),
        };
        let continuous = if rated_curve {
            Some(ContinuousOf::Curve(lookup.taken(&CONTINUOUS_CURVE, motor)))
        } else {
            let torque = lookup.if_there(&CONTINUOUS_TORQUE, motor);
            let power = lookup.if_there(&CONTINUOUS_POWER, motor);
            (torque.is_some() || power.is_some()).then_some(ContinuousOf::Ratings { torque, power })
        };
        let curve_voltage = lookup.if_there(&CURVE_VOLTAGE, motor);
        let peak_time = lookup.if_there(&PEAK_TIME, motor);
        let derating = derates.then(|| lookup.taken(&TORQUE_OVER_TIME, motor));
        let rotor_inertia = lookup.if_there(&ROTOR_INERTIA, motor);
        let stall_torque = lookup.if_there(&STALL_TORQUE, motor);
        // Requirements name them.
        lookup.if_there(&STALL_TIME, motor);
        lookup.if_there(&VOLTAGE_LOW, motor);
        let efficiency: Option<Slot<Ratio>> = lookup.if_there(&EFFICIENCY, motor);
        let efficiency_is_assumed = efficiency.is_none();
        let efficiency =
            efficiency.unwrap_or_else(|| form.put("motor.efficiency", form.place, Leaf::assumed("100 %")));
        MotorOf {
            shape,
            max_speed,
            efficiency,
            efficiency_is_assumed,
            curve_voltage,
            continuous,
            peak_time,
            derating,
            stall_torque,
            rotor_inertia,
        }
    }

    /// What its drive is made of.
    pub(super) fn uses(&self) -> Vec<usize> {
        let mut uses = vec![self.efficiency.index()];
        match self.shape {
            ShapeOf::Curve { curve, power, .. } => {
                uses.push(curve.index());
                uses.extend(power.map(Slot::index));
            }
            ShapeOf::Peak { torque, power, max_speed } => {
                uses.extend([torque.index(), power.index(), max_speed.index()]);
            }
        }
        uses.extend(self.max_speed.map(Slot::index));
        uses.extend(self.stall_torque.map(Slot::index));
        uses
    }

    /// Whether anything is known of what it gives for long.
    pub(super) fn is_rated(&self) -> bool {
        self.continuous.is_some() || self.derating.is_some()
    }

    pub(super) fn continuous_uses(&self) -> Vec<usize> {
        let mut uses: Vec<usize> = self.derating.map(Slot::index).into_iter().collect();
        match self.continuous {
            Some(ContinuousOf::Curve(curve)) => uses.push(curve.index()),
            Some(ContinuousOf::Ratings { torque, power }) => {
                uses.extend(torque.map(Slot::index).into_iter().chain(power.map(Slot::index)));
            }
            None => {}
        }
        uses
    }

    /// Within its continuous rating and the least of its torque over time, up to a speed; `None` where it states
    /// neither.
    pub(super) fn continuous_pieces(&self, bench: &Bench<'_>, last: f64) -> Option<Vec<Piece>> {
        let rated = self.continuous.map(|continuous| continuous.pieces(bench, last));
        let Some(curve) = self.derating else { return rated };
        let least = least_of(bench, curve);
        Some(match rated {
            Some(_) if least.is_nan() => Vec::new(),
            Some(pieces) => capped(&pieces, least, f64::INFINITY),
            None => rating_pieces(Some(least), None, last),
        })
    }

    /// The names that a formula has for all that holds the torque at standstill, of which the least is given.
    pub(super) fn launch_names(&self) -> Vec<&'static str> {
        let of_shape = match self.shape {
            ShapeOf::Curve { .. } => "motor.torque_curve(0 rpm)",
            ShapeOf::Peak { .. } => "motor.peak_torque",
        };
        let stall = self.stall_torque.map(|_| "motor.stall_torque");
        [of_shape].into_iter().chain(stall).collect()
    }

    /// At standstill.
    pub(super) fn launch_torque(&self, bench: &Bench<'_>) -> Torque {
        let rated = match self.shape {
            ShapeOf::Curve { curve, .. } => {
                let fits = bench.curve(curve).is_some_and(|(points, _)| curve_fault(points).is_none());
                Torque::from_si(if fits { bench.read_curve(curve, 0.0) } else { f64::NAN })
            }
            ShapeOf::Peak { torque, .. } => bench.get(torque),
        };
        match self.stall_torque.map(|slot| bench.get(slot)) {
            // NaN stays.
            Some(stall) if stall < rated || stall.is_nan() => stall,
            _ => rated,
        }
    }

    pub(super) fn pieces(&self, bench: &Bench<'_>) -> Vec<Piece> {
        match self.shape {
            ShapeOf::Curve { curve, power, .. } => {
                let power = power.map_or(f64::INFINITY, |slot| bench.get(slot).si());
                let pieces = curve_pieces(bench, curve);
                if power > 0.0 { capped(&pieces, f64::INFINITY, power) } else { Vec::new() }
            }
            ShapeOf::Peak { torque, power, max_speed } => {
                let (torque, power) = (bench.get(torque).si(), bench.get(power).si());
                rating_pieces(Some(torque), Some(power), bench.get(max_speed).si())
            }
        }
    }

    /// Its single values, each with what is possible.
    pub(super) fn ranges(&self) -> Vec<(usize, Range)> {
        let mut ranges = vec![(self.efficiency.index(), Range::Share)];
        let (torque, power) = match self.shape {
            ShapeOf::Curve { torque, power, .. } => (torque, power),
            ShapeOf::Peak { torque, power, .. } => (Some(torque), Some(power)),
        };
        let (rated_torque, rated_power) = match self.continuous {
            Some(ContinuousOf::Ratings { torque, power }) => (torque, power),
            _ => (None, None),
        };
        let others = [
            torque.map(Slot::index),
            power.map(Slot::index),
            rated_torque.map(Slot::index),
            rated_power.map(Slot::index),
            self.max_speed.map(Slot::index),
            self.curve_voltage.map(Slot::index),
            self.peak_time.map(Slot::index),
            self.stall_torque.map(Slot::index),
            self.rotor_inertia.map(Slot::index),
        ];
        ranges.extend(others.into_iter().flatten().map(|slot| (slot, Range::Positive)));
        ranges
    }
}

/// The least of a torque over time; NaN where it is none.
fn least_of(bench: &Bench<'_>, slot: Slot<Curve>) -> f64 {
    let Some((curve, scale)) = bench.curve(slot) else { return f64::NAN };
    let torques = curve.points().iter().map(|point| point.1 * scale);
    if over_time_fault(curve).is_some() { f64::NAN } else { torques.fold(f64::INFINITY, f64::min) }
}

impl ContinuousOf {
    fn pieces(self, bench: &Bench<'_>, last: f64) -> Vec<Piece> {
        match self {
            ContinuousOf::Curve(slot) => curve_pieces(bench, slot),
            ContinuousOf::Ratings { torque, power } => {
                let (torque, power) = (torque.map(|t| bench.get(t).si()), power.map(|p| bench.get(p).si()));
                rating_pieces(torque, power, last)
            }
        }
    }
}
