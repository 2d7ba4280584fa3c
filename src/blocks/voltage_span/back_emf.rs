//! The voltage that a motor with permanent magnets makes by itself, held against what the journal knows of the motor.

use super::{BACK_EMF_BORNE, BACK_EMF_BORNE_TOWED};
use crate::blocks::shared::known_parts::KnownPart;
use crate::model::{BlockName, Form, Page, Slot, Stage, Taken};
use crate::quantities::si::{AngularVelocity, BackEmfConstant, ElectricPotential, Measure, Power, Torque};
use crate::quantities::{Curve, sort};
use crate::words::{Words, words};

pub(super) static TORQUE_CURVE: Taken<Curve> =
    Taken::curve("motor", "torque_curve", (&sort::ANGULAR_SPEED, &sort::TORQUE));
pub(super) static PEAK_TORQUE: Taken<Torque> = Taken::new("motor", "peak_torque");
pub(super) static PEAK_POWER: Taken<Power> = Taken::new("motor", "peak_power");
pub(super) static MAX_SPEED: Taken<AngularVelocity> = Taken::new("motor", "max_speed");
pub(super) static CURVE_VOLTAGE: Taken<ElectricPotential> = Taken::new("motor", "curve_voltage");

pub(super) struct BackEmf {
    pub constant: Slot<BackEmfConstant>,
    pub speed: Slot<AngularVelocity>,
    pub towed: Slot<AngularVelocity>,
    /// `None` where the journal knows no motor, or several.
    motor: Option<Motor>,
}

/// What tells at which speed the motor's own voltage has come near the battery's.
struct Motor {
    name: String,
    curve: Option<Slot<Curve>>,
    torque: Option<Slot<Torque>>,
    power: Option<Slot<Power>>,
    max_speed: Option<Slot<AngularVelocity>>,
    voltage: Option<Slot<ElectricPotential>>,
}

/// A motor's own voltage where its torque begins to fall is a third of the battery's and more, for that is what makes it
/// fall; under an eighth a digit is wrong. Common practice, no source.
const LEAST_SHARE: f64 = 0.125;

/// A curve falls where it gives less than this share of its most.
const FALLS: f64 = 0.95;

impl BackEmf {
    pub(super) fn read(form: &mut Form<'_, '_>) -> Option<BackEmf> {
        form.group("back_emf", |form| BackEmf {
            constant: form.required("constant"),
            speed: form.required("speed"),
            towed: form.required("motor_speed_towed"),
            motor: Motor::read(form),
        })
    }

    /// What is not held against a motor may be wrong by any factor. `borne` is what the parts bear.
    pub(super) fn hold(&self, page: &mut Page<'_>, [of_pack, borne]: [Slot<ElectricPotential>; 2]) {
        let names = [BACK_EMF_BORNE.name, BACK_EMF_BORNE_TOWED.name];
        let Some(motor) = &self.motor else {
            let reason =
                "the journal has no motor to hold the constant against, or several: name it with `motor`";
            names.iter().for_each(|name| page.hold_close(name, reason));
            return;
        };
        if let Some((limit, speed)) = motor.max_speed.zip(page.get(self.speed))
            && page.get(limit).is_some_and(|limit| speed < limit * (1.0 - 1e-9))
            && !page.get(self.constant).zip(page.get(borne)).is_some_and(|(each, most)| each.at(speed) > most)
        {
            let reason = words!(
                "it was judged at {}, and `{}` turns up to {}",
                page.value(self.speed),
                motor.name.as_str(),
                page.value(limit)
            );
            page.hold_open(BACK_EMF_BORNE.name, Stage::Plan, reason);
        }
        let voltage = motor.voltage.unwrap_or(of_pack);
        let (Some(base), Some(at), Some(constant)) =
            (motor.base_speed(page), page.get(voltage), page.get(self.constant))
        else {
            let reason = words!(
                "`{}` states no torque and power, nor a curve of it, to hold the constant against",
                motor.name.as_str()
            );
            names.iter().for_each(|name| page.hold_close(name, reason.clone()));
            return;
        };
        let made = constant.at(base);
        if made < at * LEAST_SHARE {
            let reason: Words = words!(
                "at {}, where the torque of `{}` begins to fall, the motor would make {} of {} by itself: look at the constant's digits and unit",
                page.value_as(self.speed, base.si()),
                motor.name.as_str(),
                page.value_as(voltage, made.si()),
                page.value(voltage)
            );
            names.iter().for_each(|name| page.hold_open(name, Stage::Plan, reason.clone()));
        }
    }
}

impl Motor {
    /// The one that is named, or the journal's only one.
    fn read(form: &mut Form<'_, '_>) -> Option<Motor> {
        let place = form.place;
        let motor = form.lookup().block_name("motor").or_else(|| {
            let mut motors = KnownPart::all(form).into_iter().filter(|part| part.role == "motor");
            let only = motors.next().filter(|_| motors.next().is_none())?;
            Some(BlockName { field: "motor".to_owned(), ..BlockName::found(&only.name, place) })
        })?;
        let curve = form.lookup().has(Some(&motor), "torque_curve");
        let mut lookup = form.lookup();
        Some(Motor {
            curve: curve.then(|| lookup.taken(&TORQUE_CURVE, Some(&motor))),
            torque: lookup.if_there(&PEAK_TORQUE, Some(&motor)),
            power: lookup.if_there(&PEAK_POWER, Some(&motor)),
            max_speed: lookup.if_there(&MAX_SPEED, Some(&motor)),
            voltage: lookup.if_there(&CURVE_VOLTAGE, Some(&motor)),
            name: motor.name,
        })
    }

    /// The highest speed at which it still gives its full torque.
    fn base_speed(&self, page: &Page<'_>) -> Option<AngularVelocity> {
        if let Some((curve, _)) = self.curve.and_then(|curve| page.curve(curve)) {
            let most = curve.points().iter().map(|point| point.1).fold(0.0, f64::max);
            let full = curve.points().iter().filter(|point| point.1 >= FALLS * most);
            return Some(AngularVelocity::from_si(full.map(|point| point.0).fold(0.0, f64::max)));
        }
        let (torque, power) = (page.get(self.torque?)?, page.get(self.power?)?);
        Some(AngularVelocity::from_si(power.si() / torque.si()))
    }
}
