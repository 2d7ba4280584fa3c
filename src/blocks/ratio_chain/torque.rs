//! The torque that each stage bears at the motor's greatest torque.

use super::Written;
use super::results::{
    BRAKING_AS_DRIVING, BRAKING_INTO, BRAKING_INTO_LAST, BRAKING_TORQUE, GREATEST_TORQUE, TORQUE_INTO,
    TORQUE_INTO_LAST, TORQUE_OF_CURVE,
};
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
    braking: Slot<Torque>,
    /// From the motor to the wheel.
    stages: Vec<Into>,
    /// Ratios of the stage at the wheel.
    first: Vec<Slot<Ratio>>,
}

/// What comes into a stage on its motor's side.
struct Into {
    driving: Slot<Torque>,
    braking: Slot<Torque>,
    /// The stage behind it, towards the motor; `None` for the last one.
    behind: Option<Behind>,
}

struct Behind {
    /// Of which the largest counts.
    ratios: Vec<Slot<Ratio>>,
    efficiency: Slot<Ratio>,
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
                let uses: Vec<usize> = [curve.index()].into_iter().chain(stated).collect();
                out.procedure(&TORQUE_OF_CURVE, &uses)
            }
            None => out.result(&GREATEST_TORQUE),
        };
        let braking = out.result(match motor.regeneration {
            Some(_) => &BRAKING_TORQUE,
            None => &BRAKING_AS_DRIVING,
        });
        let mut stages: Vec<Into> = Vec::new();
        let mut after: Option<&Entry<Written>> = None;
        for entry in written.iter().rev() {
            let case = entry.case();
            let into = match (stages.last(), after) {
                (Some(last), Some(stage)) => {
                    let behind =
                        Behind { ratios: stage.read.all_ratios(), efficiency: stage.read.efficiency };
                    let names = out.names_of(behind.ratios.iter().copied());
                    let ratio = if behind.ratios.len() > 1 { format!("max({names})") } else { names };
                    let driving = TORQUE_INTO.of(&case).with("AFTER", out.names_of([last.driving]));
                    let braking = BRAKING_INTO.of(&case).with("AFTER", out.names_of([last.braking]));
                    let efficiency = out.names_of([behind.efficiency]);
                    Into {
                        driving: out.result(driving.with("RATIO", ratio.clone())),
                        braking: out.result(braking.with("RATIO", ratio).with("EFFICIENCY", efficiency)),
                        behind: Some(behind),
                    }
                }
                _ => Into {
                    driving: out.result(TORQUE_INTO_LAST.of(&case)),
                    braking: out.result(BRAKING_INTO_LAST.of(&case)),
                    behind: None,
                },
            };
            stages.push(into);
            after = Some(entry);
        }
        let first = written.first().map(|entry| entry.read.all_ratios()).unwrap_or_default();
        Torques { motor, greatest, braking, stages, first }
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
        bench.set(self.greatest, greatest);
        let braking = self.motor.regeneration.map_or(greatest, |slot| bench.get(slot));
        bench.set(self.braking, braking);
        let (mut driving, mut braking) = (greatest, braking);
        for into in &self.stages {
            if let Some(Behind { ratios, efficiency }) = &into.behind {
                let most =
                    ratios.iter().map(|ratio| bench.get(*ratio).value).fold(f64::NEG_INFINITY, f64::max);
                driving *= most;
                braking = braking * most / bench.get(*efficiency).value;
            }
            bench.set(into.driving, driving);
            bench.set(into.braking, braking);
        }
    }

    /// The torque into each stage, from the wheel to the motor.
    pub(super) fn of_each(&self) -> impl Iterator<Item = Slot<Torque>> {
        self.stages.iter().rev().map(|into| into.driving)
    }

    /// What comes out at the wheel, as the others are worked: by the largest ratio, without losses.
    pub(super) fn at_wheel(&self, page: &Page<'_>) -> Option<String> {
        let slot = self.stages.last()?.driving;
        let ratios = self.first.iter().map(|ratio| page.get(*ratio).map(|ratio| ratio.value));
        let most = ratios.collect::<Option<Vec<f64>>>()?.into_iter().fold(f64::NEG_INFINITY, f64::max);
        Some(page.shown_as(slot, page.get(slot)?.si() * most))
    }

    /// The curve is read again where it has its greatest value.
    pub(super) fn present(&self, page: &mut Page<'_>) {
        let (Some(slot), Some(greatest)) = (self.motor.curve, page.get(self.greatest)) else { return };
        let Some((curve, scale)) = page.curve(slot) else { return };
        let readings = curve.points().iter().filter_map(|point| curve.at(point.0).ok());
        let again = readings.fold(f64::NEG_INFINITY, f64::max) * scale;
        let again = page.get(self.motor.stated).map_or(again, |stated| again.max(stated.si()));
        page.checked(self.greatest, again / greatest.si() - 1.0, 1e-9);
    }
}
