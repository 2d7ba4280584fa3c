//! The torque that a motor gives after a time, where its sheet has a curve of that.

use super::grip::{known, set};
use crate::blocks::shared::pieces::over_time_fault;
use crate::model::{Bench, Page, RequirementRow, Row, Slot};
use crate::quantities::Curve;
use crate::quantities::si::{Measure, Time, Torque};

const BY_SHEET: &str = "with a `hill` and the motor's `torque_over_time`";

pub(super) static SUSTAINED: Row<Torque> = Row::procedure(
    "hill_sustained_torque",
    "torque of the motor after the time of the hill",
    "N·m",
    "the motor's torque over time, read at the hill's time",
)
.when("with a `hill.time` and the motor's `torque_over_time`");
pub(super) static TIME: Row<Time> = Row::procedure(
    "hill_time",
    "time that the motor bears the hill",
    "s",
    "the first time at which the motor's torque over time falls under what the hill asks",
)
.about("there is none where the curve does not fall that far, or begins under it")
.when(BY_SHEET)
.principal();

/// In place of the heat between two ratings.
pub(super) static SUSTAINS: RequirementRow = RequirementRow::wish("hill_time", "hill_motor_torque")
    .label("motor torque over the time of the hill")
    .at_most("hill_sustained_torque")
    .source("the motor's torque over time")
    .only_with(&["hill.time"]);

pub(super) struct Derating {
    pub(super) curve: Slot<Curve>,
    pub(super) sustained: Slot<Torque>,
    /// How long it bears the hill.
    pub(super) time: Slot<Time>,
    pub(super) motor_torque: Slot<Torque>,
    /// How long the hill lasts.
    pub(super) lasts: Option<Slot<Time>>,
}

impl Derating {
    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, torque: Torque) {
        let lasts = known(bench, self.lasts);
        let fits = bench.curve(self.curve).is_some_and(|(curve, _)| over_time_fault(curve).is_none());
        let sustained = if fits { least_until(bench, self.curve, lasts.si()) } else { f64::NAN };
        set(bench, self.sustained, Some(Torque::from_si(sustained)));
        let falls = if fits { falls_under(bench, self.curve, torque.si()) } else { f64::NAN };
        set(bench, self.time, Some(Time::from_si(falls)));
    }

    /// The curve read again: at the time that was found, and at each of its points up to the hill's time.
    pub(super) fn check(&self, page: &mut Page<'_>) {
        let Some((curve, scale)) =
            page.curve(self.curve).filter(|(curve, _)| over_time_fault(curve).is_none())
        else {
            return;
        };
        let at = |time: f64| curve.at(time).unwrap_or(f64::NAN) * scale;
        let falls = page.get(self.time).zip(page.get(self.motor_torque));
        // Nothing of nothing is no difference.
        let apart = |worked: f64, told: f64| if worked == told { 0.0 } else { worked / told - 1.0 };
        let falls = falls.map(|(time, torque)| apart(at(time.si()), torque.si()));
        let lasts = self.lasts.and_then(|slot| page.get(slot)).map(Measure::si);
        let kept = page.get(self.sustained).zip(lasts).map(|(kept, lasts)| {
            let times = curve.points().iter().map(|point| point.0.min(lasts));
            apart(times.map(at).fold(at(lasts), f64::min), kept.si())
        });
        for (slot, residual) in [(self.time.index(), falls), (self.sustained.index(), kept)] {
            if let Some(residual) = residual {
                page.checked(Slot::<f64>::new(slot), residual, 1e-9);
            }
        }
    }

    /// What is not there, and why.
    pub(super) fn tell(&self, page: &mut Page<'_>) {
        if page.get(self.time).is_none() {
            page.not_there(
                self.time,
                "the motor's torque over time does not fall from above to under what the hill asks",
            );
        }
        if page.get(self.sustained).is_none() {
            page.not_there(
                self.sustained,
                "the motor's torque over time does not reach as far as the hill's time",
            );
        }
    }
}

/// The least of a curve up to a time; NaN where it does not reach that far.
fn least_until(bench: &Bench<'_>, slot: Slot<Curve>, time: f64) -> f64 {
    let last = bench.read_curve(slot, time);
    let Some((curve, scale)) = bench.curve(slot) else { return f64::NAN };
    let before = curve.points().iter().filter(|point| point.0 < time).map(|point| point.1 * scale);
    if last.is_nan() { last } else { before.fold(last, f64::min) }
}

/// Where a curve first falls from above a level to it; NaN where it does not.
fn falls_under(bench: &Bench<'_>, slot: Slot<Curve>, level: f64) -> f64 {
    let Some((curve, scale)) = bench.curve(slot) else { return f64::NAN };
    let points = curve.points();
    if points.first().is_none_or(|first| first.1 * scale < level) {
        return f64::NAN;
    }
    let crossing = points.windows(2).find(|pair| pair[1].1 * scale < level);
    crossing.map_or(f64::NAN, |pair| {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        x0 + (x1 - x0) * (level / scale - y0) / (y1 - y0)
    })
}
