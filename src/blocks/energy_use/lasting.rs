//! What motor and pack bear for as long as a steady speed lasts, by their continuous ratings.

use super::drive::{Drive, Load};
use super::follow::{Behind, Limits, SLACK, Values, Weak};
use super::rows;
use crate::blocks::shared::cell_of::cell_of;
use crate::model::{BlockName, Form, Slot};
use crate::quantities::Curve;
use crate::quantities::si::{ElectricCurrent, Power, Torque};

/// What is stated of it.
pub(super) struct LastingFields {
    motor_power: Option<Slot<Power>>,
    motor_torque: Option<Slot<Torque>>,
    torque_curve: Option<Slot<Curve>>,
    cell_current: Option<Slot<ElectricCurrent>>,
    parallel: Option<Slot<f64>>,
}

/// The same in SI, infinite where nothing is known.
pub(super) struct Lasting<'a> {
    motor_power: f64,
    motor_torque: f64,
    /// The torque over the motor's speed, times a scale.
    torque: Option<(&'a Curve, f64)>,
    /// Of the pack.
    current: f64,
}

impl LastingFields {
    pub(super) fn read(
        form: &mut Form<'_, '_>,
        (motor, chain): (Option<&BlockName>, Option<&BlockName>),
        pack: Option<&BlockName>,
    ) -> LastingFields {
        let cell = cell_of(form, pack);
        let by_curve = form.lookup().has(motor, "continuous_torque_curve") && chain.is_some();
        let mut lookup = form.lookup();
        let cell_current = lookup.if_there(&rows::CELL_CONTINUOUS, cell.as_ref());
        LastingFields {
            motor_power: lookup.if_there(&rows::CONTINUOUS_POWER, motor),
            motor_torque: lookup.if_there(&rows::CONTINUOUS_TORQUE, motor),
            torque_curve: by_curve.then(|| lookup.taken(&rows::CONTINUOUS_CURVE, motor)),
            parallel: cell_current.map(|_| lookup.taken(&rows::PARALLEL, pack)),
            cell_current,
        }
    }

    pub(super) fn uses(&self) -> Vec<usize> {
        let of_motor = [self.motor_power.map(Slot::index), self.motor_torque.map(Slot::index)];
        let others = [
            self.torque_curve.map(Slot::index),
            self.cell_current.map(Slot::index),
            self.parallel.map(Slot::index),
        ];
        of_motor.into_iter().chain(others).flatten().collect()
    }

    pub(super) fn in_si<'c>(
        &self,
        value: Values<'_>,
        curve: impl Fn(Slot<Curve>) -> Option<(&'c Curve, f64)>,
    ) -> Lasting<'c> {
        // A value that is not there limits nothing.
        let or_none = |limit: f64| if limit.is_nan() { f64::INFINITY } else { limit };
        let of = |slot: Option<usize>| slot.map_or(f64::INFINITY, |slot| or_none(value(slot)));
        let parallel = self.parallel.map_or(f64::INFINITY, |slot| value(slot.index()));
        Lasting {
            motor_power: of(self.motor_power.map(Slot::index)),
            motor_torque: of(self.motor_torque.map(Slot::index)),
            torque: self.torque_curve.and_then(curve),
            current: or_none(of(self.cell_current.map(Slot::index)) * parallel),
        }
    }
}

impl Lasting<'_> {
    /// What does not last at a steady speed (m/s) that is reached.
    pub(super) fn behind(
        &self,
        limits: &Limits<'_>,
        (load, drive): (&Load, &Drive<'_>),
        speed: f64,
    ) -> Option<Behind> {
        let force = load.force(speed);
        let found = |weak, asked: f64, given: f64| {
            let over = asked > given * (1.0 + SLACK);
            over.then_some(Behind { weak, time: 0.0, speed, asked, given, first: 0.0 })
        };
        // All gears lose the same.
        let through = limits.gears.first().map_or(1.0, |gear| gear.gearing.efficiency);
        let power = self.motor_power * through;
        // At that current; infinite where none is known.
        let of_pack = match self.current.is_finite() {
            true => (drive.voltage - drive.resistance * self.current) * self.current,
            false => f64::INFINITY,
        };
        found(Weak::LastingTorque, force, self.force(limits, speed))
            .or_else(|| found(Weak::LastingPower, force * speed, power))
            .or_else(|| found(Weak::LastingCurrent, drive.at_terminals(speed, force), of_pack))
    }

    /// The most force at the wheels that the continuous torque gives in any gear; infinite where none is known.
    fn force(&self, limits: &Limits<'_>, speed: f64) -> f64 {
        if limits.gears.is_empty() || self.torque.is_none() && self.motor_torque.is_infinite() {
            return f64::INFINITY;
        }
        let able = limits.gears.iter().filter(|gear| speed <= gear.top_speed * (1.0 + SLACK));
        let pulls = able.map(|gear| {
            let (turning, _) = gear.gearing.motor(speed, 0.0);
            let on = |curve: Option<(&Curve, f64)>| {
                curve.map_or(f64::INFINITY, |(curve, scale)| curve.within(turning).unwrap_or(0.0) * scale)
            };
            gear.gearing.force(self.motor_torque.min(on(self.torque)).min(on(limits.torque)))
        });
        pulls.fold(0.0, f64::max)
    }
}

#[cfg(test)]
mod tests {
    use super::super::follow::Gear;
    use super::super::map::{Efficiency, Gearing};
    use super::{Drive, Lasting, Limits, Load, Weak};

    const LOAD: Load = Load { f0: 200.0, f1: 0.0, f2: 0.5, mass: 1500.0, weight: 0.0 };
    const DRIVE: Drive<'static> = Drive {
        efficiency: Efficiency::Constant(0.8),
        regeneration: None,
        auxiliary: 500.0,
        voltage: 400.0,
        resistance: 0.1,
    };
    const FREE: Lasting<'static> = Lasting {
        motor_power: f64::INFINITY,
        motor_torque: f64::INFINITY,
        torque: None,
        current: f64::INFINITY,
    };

    fn limits() -> Limits<'static> {
        let gear = |ratio| Gear {
            gearing: Gearing { ratio, circumference: std::f64::consts::TAU, efficiency: 0.9 },
            top_speed: 300.0 / ratio,
        };
        Limits {
            wheel_power: f64::INFINITY,
            torque: None,
            gears: vec![gear(10.0), gear(5.0)],
            pack_power: f64::INFINITY,
        }
    }

    // 400 N and 8 kW at 20 m/s, 10.5 kW at the battery; by hand.
    #[track_caller]
    fn check(lasting: &Lasting<'_>, expected: Option<(Weak, f64, f64)>) {
        let found = lasting.behind(&limits(), (&LOAD, &DRIVE), 20.0);
        let near = |a: f64, b: f64| (a - b).abs() < 1e-9 * b;
        match (found, expected) {
            (Some(found), Some((weak, asked, given))) => {
                assert!(
                    found.weak == weak && near(found.asked, asked) && near(found.given, given),
                    "{found:?}"
                );
            }
            (found, expected) => assert!(found.is_none() && expected.is_none(), "{found:?}"),
        }
    }

    #[test]
    fn a_steady_speed_goes_by_what_lasts() {
        check(&FREE, None);
        check(&Lasting { motor_power: 8.9e3, ..FREE }, None);
        check(&Lasting { motor_power: 8e3, ..FREE }, Some((Weak::LastingPower, 8000.0, 7200.0)));
        // In the lower gear, which still turns so fast.
        check(&Lasting { motor_torque: 45.0, ..FREE }, None);
        check(&Lasting { motor_torque: 43.0, ..FREE }, Some((Weak::LastingTorque, 400.0, 387.0)));
        check(&Lasting { current: 27.0, ..FREE }, None);
        check(&Lasting { current: 20.0, ..FREE }, Some((Weak::LastingCurrent, 10_500.0, 398.0 * 20.0)));
    }
}
