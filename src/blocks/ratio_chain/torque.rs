//! The torque that each stage bears at the motor's greatest torque.

use super::Written;
use super::results::{GREATEST_TORQUE, TORQUE_INTO, TORQUE_INTO_LAST, TORQUE_OF_BOTH, TORQUE_OF_CURVE};
use crate::model::{Bench, BlockName, Entry, Form, Outcomes, Page, Slot, Taken};
use crate::quantities::si::{Measure, Power, Ratio, Torque};
use crate::quantities::{Curve, sort};

pub(super) static PEAK_TORQUE: Taken<Torque> = Taken::new("motor", "peak_torque").stands_for("motor_torque");
/// Beside a torque of the chain's own.
pub(super) static PULL: Taken<Torque> =
    Taken::new("motor", "peak_torque").about("for the gear in use, of a traction block's motor");
pub(super) static REGENERATION_TORQUE: Taken<Torque> = Taken::new("motor", "regeneration_torque")
    .about("the most with which it brakes; else that with which it drives");
pub(super) static PEAK_POWER: Taken<Power> = Taken::new("motor", "peak_power");
pub(super) static TORQUE_CURVE: Taken<Curve> =
    Taken::curve("motor", "torque_curve", (&sort::ANGULAR_SPEED, &sort::TORQUE));

/// Where the motor's torque comes from.
pub(super) struct MotorTorque {
    stated: Slot<Torque>,

    /// That of the motor, where it has one.
    pub(super) beside: Option<Slot<Torque>>,
    pub(super) curve: Option<Slot<Curve>>,
    /// With which it brakes.
    regeneration: Option<Slot<Torque>>,
}

pub(super) struct Torques {
    motor: MotorTorque,
    greatest: Slot<Torque>,
    /// From the motor to the wheel: what comes out, and the ratios of the stage behind it, of which the largest counts.
    stages: Vec<(Slot<Torque>, Vec<Slot<Ratio>>)>,
    /// Of the stage at the wheel.
    first: Vec<Slot<Ratio>>,
}

impl MotorTorque {
    /// The torque that is typed, or that of the motor that is named.
    pub(super) fn read(form: &mut Form<'_, '_>, motor: Option<&BlockName>) -> MotorTorque {
        if motor.is_some() && form.has("motor_torque") {
            form.one_of(&["motor", "motor_torque"]);
        }
        let there = |form: &mut Form<'_, '_>, key| {
            motor.is_some() && !form.has("motor_torque") && form.lookup().has(motor, key)
        };
        let beside = there(form, "peak_torque").then(|| form.lookup().taken(&PEAK_TORQUE, motor));
        let stated = beside.unwrap_or_else(|| form.if_given("motor_torque"));
        let curve = there(form, "torque_curve").then(|| form.lookup().taken(&TORQUE_CURVE, motor));
        let regeneration =
            there(form, "regeneration_torque").then(|| form.lookup().taken(&REGENERATION_TORQUE, motor));
        MotorTorque { stated, beside, curve, regeneration }
    }
}

impl Torques {
    pub(super) fn declare(
        out: &mut Outcomes<'_, '_, '_>,
        motor: MotorTorque,
        written: &[Entry<Written>],
    ) -> Torques {
        let greatest = match motor.curve {
            Some(curve) => {
                let stated = motor.beside.map(Slot::index);
                let braking = motor.regeneration.map(Slot::index);
                let uses: Vec<usize> = [curve.index()].into_iter().chain(stated).chain(braking).collect();
                out.procedure(&TORQUE_OF_CURVE, &uses)
            }
            None if motor.regeneration.is_some() => out.result(&TORQUE_OF_BOTH),
            None => out.result(&GREATEST_TORQUE),
        };
        let mut stages: Vec<(Slot<Torque>, Vec<Slot<Ratio>>)> = Vec::new();
        let mut behind: Option<(Slot<Torque>, &Entry<Written>)> = None;
        for entry in written.iter().rev() {
            let case = entry.case();
            let (slot, ratios) = match behind {
                None => (out.result(TORQUE_INTO_LAST.of(&case)), Vec::new()),
                Some((after, stage)) => {
                    let ratios = stage.read.all_ratios();
                    let names = out.names_of(ratios.iter().copied());
                    let ratio = if ratios.len() > 1 { format!("max({names})") } else { names };
                    let row = TORQUE_INTO.of(&case).with("AFTER", out.names_of([after])).with("RATIO", ratio);
                    (out.result(row), ratios)
                }
            };
            stages.push((slot, ratios));
            behind = Some((slot, entry));
        }
        let first = written.first().map(|entry| entry.read.all_ratios()).unwrap_or_default();
        Torques { motor, greatest, stages, first }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) {
        let greatest = match self.motor.curve {
            Some(curve) => match bench.curve(curve) {
                Some((curve, scale)) => {
                    let most = curve.points().iter().map(|point| point.1).fold(f64::NEG_INFINITY, f64::max);
                    // A `peak_torque` beside the curve counts where it is more; one that is not there is passed over.
                    Torque::from_si((most * scale).max(bench.get(self.motor.stated).si()))
                }
                None => Torque::from_si(f64::NAN),
            },
            None => bench.get(self.motor.stated),
        };
        let braking = self.motor.regeneration.map(|slot| bench.get(slot));
        // NaN stays.
        let greatest =
            braking.filter(|braking| *braking > greatest || braking.si().is_nan()).unwrap_or(greatest);
        bench.set(self.greatest, greatest);
        let mut torque = greatest;
        for (slot, ratios) in &self.stages {
            let most = ratios.iter().map(|ratio| bench.get(*ratio).value).fold(f64::NEG_INFINITY, f64::max);
            torque = if ratios.is_empty() { torque } else { torque * most };
            bench.set(*slot, torque);
        }
    }

    /// The torque into each stage, from the wheel to the motor.
    pub(super) fn of_each(&self) -> impl Iterator<Item = Slot<Torque>> {
        self.stages.iter().rev().map(|(slot, _)| *slot)
    }

    /// What comes out at the wheel, as the others are worked: by the largest ratio, without losses.
    pub(super) fn at_wheel(&self, page: &Page<'_>) -> Option<String> {
        let (slot, _) = self.stages.last()?;
        let ratios = self.first.iter().map(|ratio| page.get(*ratio).map(|ratio| ratio.value));
        let most = ratios.collect::<Option<Vec<f64>>>()?.into_iter().fold(f64::NEG_INFINITY, f64::max);
        Some(page.shown_as(*slot, page.get(*slot)?.si() * most))
    }

    /// The curve is read again where it has its greatest value.
    pub(super) fn present(&self, page: &mut Page<'_>) {
        let (Some(slot), Some(greatest)) = (self.motor.curve, page.get(self.greatest)) else { return };
        let Some((curve, scale)) = page.curve(slot) else { return };
        let readings = curve.points().iter().filter_map(|point| curve.at(point.0).ok());
        let again = readings.fold(f64::NEG_INFINITY, f64::max) * scale;
        let again = page.get(self.motor.stated).map_or(again, |stated| again.max(stated.si()));
        let braking = self.motor.regeneration.and_then(|slot| page.get(slot));
        let again = braking.map_or(again, |braking| again.max(braking.si()));
        page.checked(self.greatest, again / greatest.si() - 1.0, 1e-9);
    }
}
