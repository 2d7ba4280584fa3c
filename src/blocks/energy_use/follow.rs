//! Whether motor, pack and gearing follow what is to be driven, and where they fall behind.

use super::cycle::Course;
use super::drive::{Drive, Load};
use super::map::Gearing;
use super::rows;
use crate::model::{BlockName, Form, Slot};
use crate::quantities::Curve;
use crate::quantities::si::{Length, Power, Ratio, Velocity};

/// Numbers of the block by slot, in SI: of the nominal run or of a nudged one.
pub(super) type Values<'a> = &'a dyn Fn(usize) -> f64;

/// What the blocks that the author named can give.
pub(super) struct LimitFields {
    pub(super) motor_power: Option<Slot<Power>>,
    pub(super) torque_curve: Option<Slot<Curve>>,
    pub(super) chain: Option<Chain>,
    /// At the cells' peak rating.
    pub(super) pack_power: Option<Slot<Power>>,
}

#[derive(Clone, Copy)]
pub(super) struct Chain {
    pub(super) ratio: Slot<Ratio>,
    pub(super) circumference: Slot<Length>,
    pub(super) efficiency: Slot<Ratio>,
    pub(super) top_speed: Option<Slot<Velocity>>,
}

/// The same in SI, infinite where nothing is known.
pub(super) struct Limits<'a> {
    /// Of the motor, at the wheels.
    pub(super) wheel_power: f64,
    /// The motor's torque over its speed, times a scale, and what stands between motor and wheel.
    pub(super) torque: Option<(&'a Curve, f64, Gearing)>,
    pub(super) top_speed: f64,
    /// At the battery's terminals.
    pub(super) pack_power: f64,
}

/// What falls behind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Weak {
    Gearing,
    MotorPower,
    MotorTorque,
    PackRating,
    PackCollapse,
}

/// Where what is asked is most above what is given, both in the unit of what falls behind: m/s, W, N, W, W.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Behind {
    pub(super) weak: Weak,
    /// Since the beginning, in s, and at a speed in m/s.
    pub(super) time: f64,
    pub(super) speed: f64,
    pub(super) asked: f64,
    pub(super) given: f64,
    /// When it first falls behind.
    pub(super) first: f64,
}

/// How much more than is given may be asked: rounding.
const SLACK: f64 = 1e-9;

impl LimitFields {
    pub(super) fn read(
        form: &mut Form<'_, '_>,
        (motor, chain): (Option<&BlockName>, Option<&BlockName>),
        pack: Option<&BlockName>,
    ) -> LimitFields {
        let by_curve = form.lookup().has(motor, "torque_curve") && chain.is_some();
        let mut lookup = form.lookup();
        LimitFields {
            motor_power: motor.map(|motor| lookup.taken(&rows::MOTOR_PEAK_POWER, Some(motor))),
            torque_curve: by_curve.then(|| lookup.taken(&rows::TORQUE_CURVE, motor)),
            chain: chain.map(|chain| Chain {
                ratio: lookup.taken(&rows::OVERALL_RATIO, Some(chain)),
                circumference: lookup.taken(&rows::CIRCUMFERENCE, Some(chain)),
                efficiency: lookup.taken(&rows::CHAIN_EFFICIENCY, Some(chain)),
                top_speed: lookup.if_there(&rows::HIGHEST_SPEED, Some(chain)),
            }),
            pack_power: lookup.if_there(&rows::PACK_RATED_POWER, pack),
        }
    }

    /// All that must be known before anything is said to be driven.
    pub(super) fn uses(&self) -> Vec<usize> {
        let chain = self
            .chain
            .map(|chain| [chain.ratio.index(), chain.circumference.index(), chain.efficiency.index()]);
        let others = [
            self.motor_power.map(Slot::index),
            self.torque_curve.map(Slot::index),
            self.pack_power.map(Slot::index),
        ];
        chain.into_iter().flatten().chain(others.into_iter().flatten()).collect()
    }
}

impl Chain {
    pub(super) fn gearing(&self, value: Values<'_>) -> Gearing {
        Gearing {
            ratio: value(self.ratio.index()),
            circumference: value(self.circumference.index()),
            efficiency: value(self.efficiency.index()),
        }
    }
}

impl Limits<'_> {
    /// What falls behind at a speed (m/s) and a force at the wheels (N), with what is asked and what is given.
    fn at(&self, drive: &Drive<'_>, speed: f64, force: f64) -> Option<(Weak, f64, f64)> {
        let over = |asked: f64, given: f64| asked > given * (1.0 + SLACK);
        if over(speed, self.top_speed) {
            return Some((Weak::Gearing, speed, self.top_speed));
        }
        if force <= 0.0 {
            return None;
        }
        if let Some((curve, scale, gearing)) = &self.torque {
            let (turning, _) = gearing.motor(speed, force);
            // Beyond its points the motor is said to give nothing.
            let torque = curve.at(turning).unwrap_or(0.0) * scale;
            let given = gearing.force(torque);
            if over(force, given) {
                return Some((Weak::MotorTorque, force, given));
            }
        }
        if over(force * speed, self.wheel_power) {
            return Some((Weak::MotorPower, force * speed, self.wheel_power));
        }
        let asked = drive.at_terminals(speed, force);
        let collapse = drive.voltage * drive.voltage / (4.0 * drive.resistance);
        if over(asked, self.pack_power.min(collapse)) {
            let weak = if self.pack_power < collapse { Weak::PackRating } else { Weak::PackCollapse };
            return Some((weak, asked, self.pack_power.min(collapse)));
        }
        None
    }

    /// At a steady speed.
    pub(super) fn steady(&self, (load, drive): (&Load, &Drive<'_>), speed: f64) -> Option<Behind> {
        let (weak, asked, given) = self.at(drive, speed, load.force(speed))?;
        Some(Behind { weak, time: 0.0, speed, asked, given, first: 0.0 })
    }

    /// Looks where most is asked alone; whoever falls behind there does so by [`Limits::behind`] too. On hills that is
    /// where the load says.
    pub(super) fn follow(&self, course: &Course, load: &Load, drive: &Drive<'_>) -> bool {
        if course.heights.is_some() {
            return course.moments(load).all(|(_, speed, force)| self.at(drive, speed, force).is_none());
        }
        course.hardest(load).all(|(speed, force)| self.at(drive, speed, force).is_none())
    }

    /// Where a course is fallen behind most.
    pub(super) fn behind(&self, course: &Course, load: &Load, drive: &Drive<'_>) -> Option<Behind> {
        let mut worst: Option<Behind> = None;
        for (time, speed, force) in course.moments(load) {
            let Some((weak, asked, given)) = self.at(drive, speed, force) else { continue };
            let first = worst.map_or(time, |worst| worst.first);
            let more = worst.is_none_or(|worst| asked * worst.given > worst.asked * given);
            match &mut worst {
                Some(worst) if !more => worst.first = first,
                worst => *worst = Some(Behind { weak, time, speed, asked, given, first }),
            }
        }
        worst
    }
}

#[cfg(test)]
mod tests {
    use super::{Limits, Weak};
    use crate::blocks::energy_use::cycle::Course;
    use crate::blocks::energy_use::drive::{Drive, Load};
    use crate::blocks::energy_use::map::Efficiency;
    use crate::rules::cycles;

    const LOAD: Load = Load { f0: 176.58, f1: 0.0, f2: 0.413, mass: 1500.0, weight: 0.0 };
    const DRIVE: Drive<'static> = Drive {
        efficiency: Efficiency::Constant(0.88),
        regeneration: None,
        auxiliary: 300.0,
        voltage: 370.0,
        resistance: 0.06,
    };
    const NONE: Limits<'static> = Limits {
        wheel_power: f64::INFINITY,
        torque: None,
        top_speed: f64::INFINITY,
        pack_power: f64::INFINITY,
    };

    #[test]
    fn where_most_is_asked_is_where_a_cycle_falls_behind() {
        for name in cycles::names() {
            let course = Course::new(&cycles::cycle(name).expect(name).trace);
            let peak = course.wheel(&LOAD).peak;
            for share in [0.2, 0.5, 0.9, 0.999_999, 1.0, 1.1] {
                let motor = Limits { wheel_power: share * peak, ..NONE };
                let pack = Limits { pack_power: share * (peak / 0.88 + 300.0), ..NONE };
                for limits in [motor, pack] {
                    let follows = limits.follow(&course, &LOAD, &DRIVE);
                    assert_eq!(follows, share >= 1.0, "{name} at {share}");
                    assert_eq!(follows, limits.behind(&course, &LOAD, &DRIVE).is_none(), "{name} at {share}");
                }
            }
        }
    }

    #[test]
    fn the_place_told_is_the_worst_and_the_first_is_told_too() {
        let course = Course::new(&cycles::cycle("nedc").expect("a cycle").trace);
        let peak = course.wheel(&LOAD).peak;
        let behind =
            Limits { wheel_power: peak / 4.0, ..NONE }.behind(&course, &LOAD, &DRIVE).expect("behind");
        assert_eq!(behind.weak, Weak::MotorPower);
        assert!((behind.asked - peak).abs() < 1e-9 * peak, "{behind:?}");
        assert!((behind.speed - 120.0 / 3.6).abs() < 1e-9, "{behind:?}");
        assert!(behind.first < 100.0 && behind.time > 1000.0, "{behind:?}");
        let slow = Limits { top_speed: 30.0, ..NONE }.behind(&course, &LOAD, &DRIVE).expect("behind");
        assert_eq!((slow.weak, slow.given), (Weak::Gearing, 30.0));
        let weak = Drive { resistance: 3.0, ..DRIVE };
        let behind = NONE.behind(&course, &LOAD, &weak).expect("behind");
        assert_eq!(behind.weak, Weak::PackCollapse);
        assert!((behind.given - 370.0 * 370.0 / 12.0).abs() < 1e-9, "{behind:?}");
    }
}
