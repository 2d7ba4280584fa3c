//! The torque that each stage bears at the motor's greatest torque.

use super::Written;
use super::results::{
    BRAKING_AS_DRIVING, BRAKING_AT_PEAK, BRAKING_INTO, BRAKING_INTO_LAST, BRAKING_ON_CURVE, BRAKING_POWER,
    BRAKING_POWER_INTO, BRAKING_POWER_INTO_LAST, BRAKING_TORQUE, GREATEST_TORQUE, LARGEST_RATIO, TORQUE_INTO,
    TORQUE_INTO_LAST, TORQUE_OF_CURVE,
};
use crate::model::{Bench, BlockName, Entry, Form, Outcomes, Page, Slot, Taken};
use crate::quantities::si::{Measure, Power, Ratio, Torque};
use crate::quantities::{Curve, sort};

pub(super) static PEAK_TORQUE: Taken<Torque> = Taken::new("motor", "peak_torque").stands_for("motor_torque");
pub(super) static REGENERATION_TORQUE: Taken<Torque> = Taken::new("motor", "regeneration_torque")
    .about("the most with which it brakes; else that with which it drives");
pub(super) static REGENERATION_POWER: Taken<Power> = Taken::new("motor", "regeneration_power")
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
    regeneration_power: Option<Slot<Power>>,
    pub(super) power: Option<Slot<Power>>,
}

pub(super) struct Torques {
    motor: MotorTorque,
    greatest: Slot<Torque>,
    braking: Slot<Torque>,
    /// `None` where no power is known.
    braking_power: Option<Slot<Power>>,
    /// From the motor to the wheel.
    stages: Vec<Into>,
    /// Ratios of the stage at the wheel.
    first: Vec<Slot<Ratio>>,
}

/// What comes into a stage on its motor's side.
struct Into {
    driving: Slot<Torque>,
    braking: Slot<Torque>,
    braking_power: Option<Slot<Power>>,
    /// The stage behind it, towards the motor; `None` for the last one.
    behind: Option<Behind>,
}

struct Behind {
    /// Of which the largest counts.
    ratios: Vec<Slot<Ratio>>,
    efficiency: Slot<Ratio>,
    /// Where there are several.
    largest: Option<Slot<Ratio>>,
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
        let power = |form: &mut Form<'_, '_>, key, taken| {
            (motor.is_some() && form.lookup().has(motor, key)).then(|| form.lookup().taken(taken, motor))
        };
        MotorTorque {
            stated,
            beside,
            curve,
            regeneration,
            regeneration_power: power(form, "regeneration_power", &REGENERATION_POWER),
            power: power(form, "peak_power", &PEAK_POWER),
        }
    }
}

impl MotorTorque {
    /// Of which the power while it brakes is known.
    fn declare_power(&self, out: &mut Outcomes<'_, '_, '_>) -> Option<Slot<Power>> {
        match (self.regeneration_power, self.power, self.curve) {
            (Some(_), _, _) => Some(out.result(&BRAKING_POWER)),
            (None, Some(_), _) => Some(out.result(&BRAKING_AT_PEAK)),
            (None, None, Some(curve)) => Some(out.procedure(&BRAKING_ON_CURVE, &[curve.index()])),
            (None, None, None) => None,
        }
    }

    fn most_power(&self, bench: &Bench<'_>) -> Power {
        match (self.regeneration_power.or(self.power), self.curve.and_then(|slot| bench.curve(slot))) {
            (Some(slot), _) => bench.get(slot),
            (None, Some((curve, scale))) => Power::from_si(most_power(curve) * scale),
            (None, None) => Power::from_si(f64::NAN),
        }
    }
}

/// The most of torque × speed; between two points it is a parabola.
fn most_power(curve: &Curve) -> f64 {
    let of = |pair: &[(f64, f64)]| {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        let slope = (y1 - y0) / (x1 - x0);
        let top = ((slope * x0 - y0) / (2.0 * slope)).clamp(x0, x1);
        let top = if top.is_nan() { x1 } else { top };
        (x0 * y0).max(x1 * y1).max(top * (y0 + slope * (top - x0)))
    };
    curve.points().windows(2).map(of).fold(f64::NEG_INFINITY, f64::max)
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
        let braking_power = motor.declare_power(out);
        let mut stages: Vec<Into> = Vec::new();
        let mut after: Option<&Entry<Written>> = None;
        for entry in written.iter().rev() {
            let case = entry.case();
            let into = match (stages.last(), after) {
                (Some(last), Some(stage)) => {
                    let ratios = stage.read.all_ratios();
                    let uses: Vec<usize> = ratios.iter().map(|slot| slot.index()).collect();
                    let largest =
                        (ratios.len() > 1).then(|| out.procedure(LARGEST_RATIO.of(&stage.case()), &uses));
                    let behind = Behind { efficiency: stage.read.efficiency, largest, ratios };
                    let ratio = out.names_of([largest.unwrap_or(behind.ratios[0])]);
                    let driving = TORQUE_INTO.of(&case).with("AFTER", out.names_of([last.driving]));
                    let braking = BRAKING_INTO.of(&case).with("AFTER", out.names_of([last.braking]));
                    let efficiency = out.names_of([behind.efficiency]);
                    Into {
                        driving: out.result(driving.with("RATIO", ratio.clone())),
                        braking: out.result(braking.with("RATIO", ratio).with("EFFICIENCY", &*efficiency)),
                        braking_power: last.braking_power.map(|after| {
                            let row = BRAKING_POWER_INTO.of(&case).with("AFTER", out.names_of([after]));
                            out.result(row.with("EFFICIENCY", efficiency))
                        }),
                        behind: Some(behind),
                    }
                }
                _ => Into {
                    driving: out.result(TORQUE_INTO_LAST.of(&case)),
                    braking: out.result(BRAKING_INTO_LAST.of(&case)),
                    braking_power: braking_power.map(|_| out.result(BRAKING_POWER_INTO_LAST.of(&case))),
                    behind: None,
                },
            };
            stages.push(into);
            after = Some(entry);
        }
        let first = written.first().map(|entry| entry.read.all_ratios()).unwrap_or_default();
        Torques { motor, greatest, braking, braking_power, stages, first }
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
        let mut power = self.motor.most_power(bench);
        if let Some(slot) = self.braking_power {
            bench.set(slot, power);
        }
        let (mut driving, mut braking) = (greatest, braking);
        for into in &self.stages {
            if let Some(Behind { ratios, largest, efficiency }) = &into.behind {
                let most =
                    ratios.iter().map(|ratio| bench.get(*ratio).value).fold(f64::NEG_INFINITY, f64::max);
                if let Some(slot) = largest {
                    bench.set(*slot, Ratio::from_si(most));
                }
                driving *= most;
                let efficiency = bench.get(*efficiency).value;
                braking = braking * most / efficiency;
                power /= efficiency;
            }
            if let Some(slot) = into.braking_power {
                bench.set(slot, power);
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

    /// The most of the powers at many speeds: the greatest of them lies within a part of one.
    fn check_power(&self, page: &mut Page<'_>) {
        const PARTS: u32 = 4000;
        let (Some(slot), Some(power)) = (self.motor.curve, self.braking_power) else { return };
        if self.motor.regeneration_power.or(self.motor.power).is_some() {
            return;
        }
        let (Some(power_si), Some((curve, scale))) = (page.get(power).map(Measure::si), page.curve(slot))
        else {
            return;
        };
        let last = curve.points().last().map_or(0.0, |point| point.0);
        let at = |part: u32| last * f64::from(part) / f64::from(PARTS);
        let most = (1..=PARTS).filter_map(|part| Some(at(part) * curve.at(at(part)).ok()?));
        let most = most.fold(f64::NEG_INFINITY, f64::max) * scale;
        page.checked(power, most / power_si - 1.0, 1e-3);
    }

    /// The curve is read again where it has its greatest value.
    pub(super) fn present(&self, page: &mut Page<'_>) {
        self.check_power(page);
        for behind in self.stages.iter().filter_map(|into| into.behind.as_ref()) {
            // None is larger, and it is one of them.
            let Some((slot, largest)) = behind.largest.and_then(|slot| Some((slot, page.get(slot)?))) else {
                continue;
            };
            let off = |ratio: &Slot<Ratio>| page.get(*ratio).map_or(f64::NAN, |it| largest.value - it.value);
            let least = behind.ratios.iter().map(off).fold(f64::INFINITY, f64::min);
            page.checked(slot, least / largest.value, 0.0);
        }
        let (Some(slot), Some(greatest)) = (self.motor.curve, page.get(self.greatest)) else { return };
        let Some((curve, scale)) = page.curve(slot) else { return };
        let readings = curve.points().iter().filter_map(|point| curve.at(point.0).ok());
        let again = readings.fold(f64::NEG_INFINITY, f64::max) * scale;
        let again = page.get(self.motor.stated).map_or(again, |stated| again.max(stated.si()));
        page.checked(self.greatest, again / greatest.si() - 1.0, 1e-9);
    }
}
