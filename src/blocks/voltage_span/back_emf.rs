//! The voltage that a motor with permanent magnets makes by itself, held against what the journal knows of the motor.

use super::{BACK_EMF_BORNE, BACK_EMF_BORNE_TOWED};
use crate::blocks::shared::known_parts::KnownPart;
use crate::model::{BlockName, Form, Page, Row, Slot, Stage, Taken};
use crate::quantities::si::{
    AngularVelocity, BackEmfConstant, ElectricPotential, Measure, Power, Torque, TorquePerCurrent,
};
use crate::quantities::{Curve, sort};
use crate::words::{Words, words};

pub(super) static TORQUE_CURVE: Taken<Curve> =
    Taken::curve("motor", "torque_curve", (&sort::ANGULAR_SPEED, &sort::TORQUE));
pub(super) static PEAK_TORQUE: Taken<Torque> = Taken::new("motor", "peak_torque");
pub(super) static PEAK_POWER: Taken<Power> = Taken::new("motor", "peak_power");
pub(super) static MAX_SPEED: Taken<AngularVelocity> = Taken::new("motor", "max_speed");
pub(super) static CURVE_VOLTAGE: Taken<ElectricPotential> = Taken::new("motor", "curve_voltage");

pub(super) static TORQUE_CONSTANT: Taken<TorquePerCurrent> = Taken::new("motor", "torque_constant");

pub(super) static OF_LINE_PEAK: Row<BackEmfConstant> = Row::formula(
    "back_emf_constant",
    "the motor's voltage for its speed, peak between two phases",
    "V/rpm",
    "back_emf.constant",
)
.when("with `back_emf`");
pub(super) static OF_LINE_RMS: Row<BackEmfConstant> = OF_LINE_PEAK.by("sqrt(2) * back_emf.constant");
pub(super) static OF_PHASE_PEAK: Row<BackEmfConstant> = OF_LINE_PEAK.by("sqrt(3) * back_emf.constant");
pub(super) static OF_PHASE_RMS: Row<BackEmfConstant> = OF_LINE_PEAK.by("sqrt(6) * back_emf.constant");

/// What a constant may be of, how many times as much the peak between two phases is, and the row that says so.
static MEANINGS: [(&str, f64, &Row<BackEmfConstant>); 4] = [
    ("line-peak", 1.0, &OF_LINE_PEAK),
    ("line-rms", 2.0, &OF_LINE_RMS),
    ("phase-peak", 3.0, &OF_PHASE_PEAK),
    ("phase-rms", 6.0, &OF_PHASE_RMS),
];

pub(super) struct BackEmf {
    pub constant: Slot<BackEmfConstant>,
    /// Among the meanings; `None` where nobody says.
    of: Option<usize>,
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
    torque_constant: Option<Slot<TorquePerCurrent>>,
}

/// A motor's own voltage where its torque begins to fall is a third of the battery's and more, for that is what makes it
/// fall; under an eighth a digit is wrong. Common practice, no source.
const LEAST_SHARE: f64 = 0.125;

/// A constant and a torque for each ampere that are this many times apart, and more, are not of one motor: √2 is the least
/// that a wrong meaning makes, and sheets round. No source.
const AGREES: f64 = 1.2;

/// A curve falls where it gives less than this share of its most.
const FALLS: f64 = 0.95;

impl BackEmf {
    pub(super) fn read(form: &mut Form<'_, '_>) -> Option<BackEmf> {
        form.group("back_emf", |form| BackEmf {
            constant: form.required("constant"),
            of: form
                .choice("constant_of", &MEANINGS.map(|(word, ..)| word))
                .and_then(|word| MEANINGS.iter().position(|(known, ..)| *known == word)),
            speed: form.required("speed"),
            towed: form.required("motor_speed_towed"),
            motor: Motor::read(form),
        })
    }

    pub(super) fn row(&self) -> &'static Row<BackEmfConstant> {
        MEANINGS[self.of.unwrap_or(0)].2
    }

    /// Peak between two phases.
    pub(super) fn line_peak(&self, constant: BackEmfConstant) -> BackEmfConstant {
        constant * MEANINGS[self.of.unwrap_or(0)].1.sqrt()
    }

    /// Where nobody says what the constant is of, it may be of what makes most of it.
    pub(super) fn hold_unsaid(
        &self,
        page: &mut Page<'_>,
        made: [Slot<ElectricPotential>; 2],
        borne: Slot<ElectricPotential>,
    ) {
        let agrees = self.motor.as_ref().and_then(|motor| self.against_torque(page, motor));
        // A torque for each ampere that belongs to the constant as it was read says it too.
        if self.of.is_some() || agrees.is_some_and(|times| times < AGREES && times > 1.0 / AGREES) {
            return;
        }
        for (name, made) in [BACK_EMF_BORNE.name, BACK_EMF_BORNE_TOWED.name].into_iter().zip(made) {
            let (Some(volts), Some(most)) = (page.get(made), page.get(borne)) else { continue };
            let worst = volts * MEANINGS[3].1.sqrt();
            if worst > most {
                let reason = words!(
                    "it is not said what the constant is of; as rms of one phase it makes {}: type `constant_of`, one of {}",
                    page.value_as(made, worst.si()),
                    Words::names(MEANINGS.map(|(word, ..)| word))
                );
                page.hold_close(name, reason);
            }
        }
    }

    /// How many times the constant the motor's torque for each ampere asks for, with all torque from its magnets.
    fn against_torque(&self, page: &Page<'_>, motor: &Motor) -> Option<f64> {
        let torque = page.get(motor.torque_constant?)?;
        let constant = self.line_peak(page.get(self.constant)?);
        Some(torque.si() / 1.5f64.sqrt() / constant.si())
    }

    /// What is not held against a motor may be wrong by any factor. `borne` is what the parts bear.
    pub(super) fn hold(
        &self,
        page: &mut Page<'_>,
        constant: Slot<BackEmfConstant>,
        [of_pack, borne]: [Slot<ElectricPotential>; 2],
    ) {
        let names = [BACK_EMF_BORNE.name, BACK_EMF_BORNE_TOWED.name];
        let Some(motor) = &self.motor else {
            let reason =
                "the journal has no motor to hold the constant against, or several: name it with `motor`";
            names.iter().for_each(|name| page.hold_close(name, reason));
            return;
        };
        if let Some((limit, speed)) = motor.max_speed.zip(page.get(self.speed))
            && page.get(limit).is_some_and(|limit| speed < limit * (1.0 - 1e-9))
            && !page.get(constant).zip(page.get(borne)).is_some_and(|(each, most)| each.at(speed) > most)
        {
            let reason = words!(
                "it was judged at {}, and `{}` turns up to {}",
                page.value(self.speed),
                motor.name.as_str(),
                page.value(limit)
            );
            page.hold_open(BACK_EMF_BORNE.name, Stage::Plan, reason);
        }
        if let Some(times) = self.against_torque(page, motor).filter(|times| *times > AGREES) {
            let reason = words!(
                "the torque for each ampere of `{}` asks for {}, if all of it is its magnets': look at what the constant is of",
                motor.name.as_str(),
                page.value_as(constant, times * page.get(constant).map_or(0.0, BackEmfConstant::si))
            );
            names.iter().for_each(|name| page.hold_close(name, reason.clone()));
        }
        let voltage = motor.voltage.unwrap_or(of_pack);
        let (Some(base), Some(at), Some(constant)) =
            (motor.base_speed(page), page.get(voltage), page.get(constant))
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
            torque_constant: lookup.if_there(&TORQUE_CONSTANT, Some(&motor)),
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
