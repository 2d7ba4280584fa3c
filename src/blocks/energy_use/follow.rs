//! Whether motor, pack and gearing follow what is to be driven, and where they fall behind.

use super::cycle::Course;
use super::drive::{Drive, Load};
use super::map::Gearing;
use super::rows;
use crate::blocks::shared::gears::combinations_of;
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
    /// All gears of the chain; the one in use where the efficiency is a map's, which is read in it.
    pub(super) gears: Vec<GearOf>,
    /// At the cells' peak rating.
    pub(super) pack_power: Option<Slot<Power>>,
}

#[derive(Clone, Copy)]
pub(super) struct Chain {
    pub(super) ratio: Slot<Ratio>,
    pub(super) circumference: Slot<Length>,
    pub(super) efficiency: Slot<Ratio>,
}

pub(super) struct GearOf {
    pub(super) ratio: Slot<Ratio>,
    pub(super) top_speed: Option<Slot<Velocity>>,
}

/// A gear, and the speed at the wheels (m/s) that it ends at.
pub(super) struct Gear {
    pub(super) gearing: Gearing,
    pub(super) top_speed: f64,
}

/// The same in SI, infinite where nothing is known.
pub(super) struct Limits<'a> {
    /// Of the motor, at the wheels.
    pub(super) wheel_power: f64,
    /// The motor's torque over its speed, times a scale.
    pub(super) torque: Option<(&'a Curve, f64)>,
    /// What may stand between motor and wheel; none where nothing is known of it.
    pub(super) gears: Vec<Gear>,
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
    /// For as long as a steady speed lasts.
    LastingTorque,
    LastingPower,
    LastingCurrent,
}

/// Where what is asked is most above what is given, both in the unit of what falls behind: m/s, N or W.
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
pub(super) const SLACK: f64 = 1e-9;

impl LimitFields {
    pub(super) fn read(
        form: &mut Form<'_, '_>,
        (motor, chain): (Option<&BlockName>, Option<&BlockName>),
        pack: Option<&BlockName>,
    ) -> LimitFields {
        let by_curve = form.lookup().has(motor, "torque_curve") && chain.is_some();
        let one_gear = form.has("efficiency_map");
        let mut gears = Vec::new();
        let named = if one_gear { Vec::new() } else { combinations_of(form, chain) };
        let mut lookup = form.lookup();
        for gear in named.iter().filter(|_| named.len() > 1).map(|gear| gear.case.slug.as_str()) {
            gears.push(GearOf {
                ratio: lookup.taken(rows::RATIO_OF_GEAR.with("GEAR", gear), chain),
                top_speed: Some(lookup.taken(rows::HIGHEST_SPEED_OF_GEAR.with("GEAR", gear), chain)),
            });
        }
        let chain = chain.map(|name| {
            let ratio = lookup.taken(&rows::OVERALL_RATIO, Some(name));
            if gears.is_empty() {
                let top_speed = lookup.if_there(&rows::HIGHEST_SPEED, Some(name));
                gears.push(GearOf { ratio, top_speed });
            }
            Chain {
                ratio,
                circumference: lookup.taken(&rows::CIRCUMFERENCE, Some(name)),
                efficiency: lookup.taken(&rows::CHAIN_EFFICIENCY, Some(name)),
            }
        });
        LimitFields {
            motor_power: motor.map(|motor| lookup.taken(&rows::MOTOR_PEAK_POWER, Some(motor))),
            torque_curve: by_curve.then(|| lookup.taken(&rows::TORQUE_CURVE, motor)),
            chain,
            gears,
            pack_power: lookup.if_there(&rows::PACK_RATED_POWER, pack),
        }
    }

    /// All that must be known before anything is said to be driven.
    pub(super) fn uses(&self) -> Vec<usize> {
        let chain = self.chain.map(|chain| [chain.circumference.index(), chain.efficiency.index()]);
        let gears = self.gears.iter().map(|gear| gear.ratio.index());
        let others = [
            self.motor_power.map(Slot::index),
            self.torque_curve.map(Slot::index),
            self.pack_power.map(Slot::index),
        ];
        chain.into_iter().flatten().chain(gears).chain(others.into_iter().flatten()).collect()
    }
}

impl Chain {
    /// With the ratio of a gear.
    pub(super) fn gearing(&self, ratio: Slot<Ratio>, value: Values<'_>) -> Gearing {
        Gearing {
            ratio: value(ratio.index()),
            circumference: value(self.circumference.index()),
            efficiency: value(self.efficiency.index()),
        }
    }
}

impl Limits<'_> {
    /// In the fastest gear, in m/s.
    pub(super) fn top_speed(&self) -> f64 {
        let fastest = self.gears.iter().map(|gear| gear.top_speed).fold(0.0, f64::max);
        if self.gears.is_empty() { f64::INFINITY } else { fastest }
    }

    /// What falls behind at a speed (m/s) and a force at the wheels (N), with what is asked and what is given.
    fn at(&self, drive: &Drive<'_>, speed: f64, force: f64) -> Option<(Weak, f64, f64)> {
        let over = |asked: f64, given: f64| asked > given * (1.0 + SLACK);
        let top_speed = self.top_speed();
        if over(speed, top_speed) {
            return Some((Weak::Gearing, speed, top_speed));
        }
        if force <= 0.0 {
            return None;
        }
        if let (Some((curve, scale)), false) = (self.torque, self.gears.is_empty()) {
            let able = self.gears.iter().filter(|gear| !over(speed, gear.top_speed));
            // Beyond its points the motor is said to give nothing.
            let pulls = able.map(|gear| {
                let (turning, _) = gear.gearing.motor(speed, force);
                gear.gearing.force(curve.within(turning).unwrap_or(0.0) * scale)
            });
            let given = pulls.fold(0.0, f64::max);
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

    /// Looks where most is asked alone; whoever falls behind there does so by [`Limits::behind`] too.
    pub(super) fn follow(&self, course: &Course, load: &Load, drive: &Drive<'_>) -> bool {
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
    use super::{Gear, Limits, Weak};
    use crate::blocks::energy_use::cycle::Course;
    use crate::blocks::energy_use::drive::{Drive, Load};
    use crate::blocks::energy_use::map::{Efficiency, Gearing};
    use crate::quantities::{Curve, Trace, read_unit};
    use crate::rules::cycles;

    const LOAD: Load = Load { f0: 176.58, f1: 0.0, f2: 0.413, mass: 1500.0, weight: 14_000.0 };
    const DRIVE: Drive<'static> = Drive {
        efficiency: Efficiency::Constant(0.88),
        regeneration: None,
        auxiliary: 300.0,
        voltage: 370.0,
        resistance: 0.06,
    };
    const NONE: Limits<'static> =
        Limits { wheel_power: f64::INFINITY, torque: None, gears: Vec::new(), pack_power: f64::INFINITY };

    fn geared(ratio: f64, top_speed: f64) -> Gear {
        Gear { gearing: Gearing { ratio, circumference: 2.0, efficiency: 1.0 }, top_speed }
    }

    #[test]
    fn each_speed_is_driven_in_the_gear_that_pulls_most() {
        let unit = |text: &str| read_unit(text).expect("a unit");
        let curve = Curve::new(vec![(0.0, 100.0), (1000.0, 100.0)], unit("rad/s"), unit("N m"));
        let curve = curve.expect("a curve");
        let with = |gears: Vec<Gear>| Limits { torque: Some((&curve, 1.0)), gears, ..NONE };
        let both = with(vec![geared(10.0, 30.0), geared(5.0, 60.0)]);
        // 100 N m × 10 × 2π / 2 m in the lower gear up to 30 m/s, half of it in the higher one up to 60 m/s.
        let given = |speed: f64| both.at(&DRIVE, speed, 1e6).map(|(weak, _, given)| (weak, given));
        let lower = 1000.0 * std::f64::consts::PI;
        let near = |found: Option<(Weak, f64)>, weak: Weak, expected: f64| {
            let (found, given) = found.expect("behind");
            assert!(found == weak && (given - expected).abs() < 1e-9 * expected, "{found:?} {given}");
        };
        near(given(29.0), Weak::MotorTorque, lower);
        near(given(31.0), Weak::MotorTorque, lower / 2.0);
        near(given(61.0), Weak::Gearing, 60.0);
        assert_eq!(both.at(&DRIVE, 45.0, 1000.0), None);
        assert!(with(vec![geared(10.0, 30.0)]).at(&DRIVE, 45.0, 1000.0).is_some());
    }

    #[test]
    fn where_most_is_asked_is_where_a_cycle_falls_behind() {
        for (name, course) in cycles::names().flat_map(|name| {
            let trace = &cycles::cycle(name).expect(name).trace;
            [(name, Course::new(trace)), (name, hilly(trace, 1.0)), (name, hilly(trace, -1.0))]
        }) {
            let peak = course.moments(&LOAD).map(|(_, speed, force)| speed * force).fold(0.0, f64::max);
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

    /// Up and down by turns, up to 8 %.
    fn hilly(trace: &Trace, sign: f64) -> Course {
        let mut distance = 0.0;
        let mut heights = vec![0.0];
        for pair in trace.samples().windows(2) {
            distance += (pair[1].0 - pair[0].0) * (pair[0].1 + pair[1].1) / 2.0;
            heights.push(sign * 40.0 * (distance / 500.0_f64).sin());
        }
        Course::new(&trace.clone().with_heights(heights).expect("heights"))
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
        let slow =
            Limits { gears: vec![geared(8.0, 30.0)], ..NONE }.behind(&course, &LOAD, &DRIVE).expect("behind");
        assert_eq!((slow.weak, slow.given), (Weak::Gearing, 30.0));
        let weak = Drive { resistance: 3.0, ..DRIVE };
        let behind = NONE.behind(&course, &LOAD, &weak).expect("behind");
        assert_eq!(behind.weak, Weak::PackCollapse);
        assert!((behind.given - 370.0 * 370.0 / 12.0).abs() < 1e-9, "{behind:?}");
    }
}
