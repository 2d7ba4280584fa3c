//! Why a verdict is no better than it is, and inputs that don't fit each other.

use super::given::Model;
use super::grip::Driven;
use super::hill::Hill;
use super::motor::ShapeOf;
use super::{
    CURVE_ABOVE_RATING, MASS_APART, MOST_ADHESION, NO_CURVE_VOLTAGE, STEEP_HILL, STEEPEST, Traction,
};
use crate::blocks::shared::drive::Trouble;
use crate::findings::codes;
use crate::model::{Page, Stage};
use crate::quantities::show_operand;
use crate::quantities::si::Measure;
use crate::words::{Words, words};

/// How far a curve may lie above the rating beside it: both are rounded.
const ROUNDED: f64 = 1.01;

/// How much lighter than the converted vehicle a road's mass may be.
const LIGHTER: f64 = 0.99;

/// A torque over time that reaches as far, in s, is taken for what lasts.
const FOR_LONG: f64 = 1800.0;

impl Traction {
    /// What was not given, or does not fit.
    pub(super) fn doubt(&self, page: &mut Page<'_>) {
        let too_high = page.get(self.grip.adhesion).is_some_and(|adhesion| adhesion.si() > MOST_ADHESION);
        let grip = match self.grip.driven {
            _ if too_high => Some("road tyres don't have that `adhesion`"),
            Driven::NotSaid => Some("which wheels drive is not said: `driven`"),
            Driven::NoLedger => Some("the load on the driven axle is not known without a `ledger`"),
            Driven::Both | Driven::Front | Driven::Rear => None,
        };
        if let Some(reason) = grip {
            page.unfit(self.held.force, reason);
            if let Some(hill) = &self.hill {
                page.unfit(hill.adhesion_force, reason);
            }
        }
        self.compare_masses(page);
        self.compare_curve(page);
        self.doubt_continuous(page);
        self.doubt_battery(page);
        if let Some(hill) = &self.hill {
            self.doubt_hill(page, hill);
        }
    }

    /// A mass that the ledger's vehicle can't have.
    fn compare_masses(&self, page: &mut Page<'_>) {
        let Some(masses) = self.grip.masses else { return };
        let (Some(mass), Some(converted)) = (page.get(self.given.road.mass), page.get(masses.converted))
        else {
            return;
        };
        if mass < LIGHTER * converted {
            let message = words!(
                "the road's mass is {}, and the ledger's converted vehicle has {}",
                page.value(self.given.road.mass),
                page.value(masses.converted)
            );
            let help = "take the road's mass from the ledger: `mass: from NAME.laden_mass`";
            page.find(&MASS_APART, masses.converted.index(), message, help);
            page.unfit(self.given.road.mass, "the road's mass is less than that of the ledger's vehicle");
        }
    }

    /// The curve's own points against the ratings that stand beside it. Between them a straight line may lie above a
    /// constant power: that is cut off in silence.
    fn compare_curve(&self, page: &mut Page<'_>) {
        let ShapeOf::Curve { curve, torque, power } = self.given.motor.shape else { return };
        let Some((points, scale)) = page.curve(curve) else { return };
        let most = |of: fn(f64, f64) -> f64| {
            points.points().iter().map(|(x, y)| scale * of(*x, *y)).fold(f64::NEG_INFINITY, f64::max)
        };
        let (most_torque, most_power) = (most(|_, torque| torque), most(|speed, torque| speed * torque));
        let torque = torque.filter(|slot| page.get(*slot).is_some_and(|it| most_torque > ROUNDED * it.si()));
        let power = power.filter(|slot| page.get(*slot).is_some_and(|it| most_power > ROUNDED * it.si()));
        if let Some(slot) = torque {
            let (most, rating) = (page.value_as(slot, most_torque), page.value(slot));
            let message = words!("the torque curve goes up to {}, beside a peak torque of {}", most, rating);
            let help = "look at both in the motor's part, and take the wrong one away";
            page.find(&CURVE_ABOVE_RATING, curve.index(), message, help);
            page.unfit(curve, "the motor's torque curve goes above its peak torque");
        } else if let Some(slot) = power {
            let (most, rating) = (page.value_as(slot, most_power), page.value(slot));
            let message = words!(
                "the torque curve goes up to {}, beside a peak power of {}, which caps it",
                most,
                rating
            );
            let help = "look at both in the motor's part, and take the wrong one away";
            page.find(&CURVE_ABOVE_RATING, curve.index(), message, help);
        }
    }

    /// A torque over time that ends soon says nothing of what lasts.
    fn doubt_continuous(&self, page: &mut Page<'_>) {
        let motor = &self.given.motor;
        let Some(slot) = motor.derating.filter(|_| motor.continuous.is_none()) else { return };
        let ends =
            page.curve(slot).and_then(|(curve, _)| curve.points().last().map(|point| (point.0, &curve.x)));
        if let Some((ends, unit)) = ends.filter(|(ends, _)| *ends < FOR_LONG) {
            let ends = show_operand(ends, unit, 3);
            let reason = words!(
                "the motor states no continuous torque or power, and its torque over time ends at {}, before half an hour",
                ends
            );
            self.continuous_is_unfit(page, reason);
        }
    }

    fn continuous_is_unfit(&self, page: &mut Page<'_>, reason: Words) {
        let forces = self.grades.iter().filter_map(|at| Some(at.continuous.as_ref()?.force));
        forces.for_each(|slot| page.unfit(slot, reason.clone()));
        if let Some(slot) = self.top.continuous {
            page.unfit(slot, reason.clone());
        }
    }

    /// What the drive gives beyond standstill: the pack leaves less of it than is worked.
    fn question_the_drive(&self, page: &mut Page<'_>) {
        page.question(self.top.speed);
        self.top.worst.into_iter().chain(self.top.continuous).for_each(|slot| page.question(slot));
        for sprint in &self.sprints {
            page.question(sprint.time);
            page.question(sprint.distance);
        }
        for at in &self.grades {
            let rated = at.continuous.as_ref().map(|at| at.force);
            let forces = at.gears.iter().map(|gear| gear.force).chain([at.drive]).chain(rated);
            forces.for_each(|slot| page.question(slot));
        }
    }

    fn doubt_battery(&self, page: &mut Page<'_>) {
        let Some(pack) = &self.given.pack else { return };
        if self.given.motor.curve_voltage.is_none() {
            let message = "the motor states no `curve_voltage`: its torque is taken as if the pack's voltage never fell";
            let help =
                "type in the motor's part the battery voltage that its sheet holds for: `curve_voltage: …`";
            page.find(&NO_CURVE_VOLTAGE, pack.nominal_voltage.index(), message, help);
        }
        if self.given.motor.curve_voltage.is_none() || self.given.motor.efficiency_is_assumed {
            self.question_the_drive(page);
        }
        if pack.cell_current.is_none() {
            let reason = "what the pack bears for long is not known: `continuous_discharge` of its cell";
            self.continuous_is_unfit(page, reason.into());
        }
        let fits = page.get(self.battery.power).zip(page.get(pack.rated_power));
        if self.given.motor.efficiency_is_assumed && fits.is_some_and(|(power, rated)| power <= rated) {
            let reason = "the motor states no `efficiency`, and with its losses the battery has to give more";
            page.hold_open("peak_pack_power", Stage::Plan, reason);
        }
    }

    fn doubt_hill(&self, page: &mut Page<'_>, hill: &Hill) {
        if let Some(masses) = self.grip.masses.filter(|_| hill.written.laden)
            && page.get(masses.laden).zip(page.get(masses.converted)).is_some_and(|(it, empty)| it <= empty)
        {
            page.unfit(hill.weight, "the ledger has no load to be laden with");
        }
        let grade = hill.written.grade;
        if let Some(steep) = page.get(grade).filter(|grade| grade.si() > STEEPEST) {
            let message = words!("a hill of {}", page.percent(steep.si()));
            let help = match steep.si() < 100.0 {
                true => words!("did you mean `grade: {} %`?", steep.si().to_string()),
                false => "type the rise over the level distance: `grade: 20 %`".into(),
            };
            page.find(&STEEP_HILL, grade.index(), message, help);
        }
        if page.get(grade).is_some_and(|grade| grade.si() <= 0.0) {
            let message = words!("a hill of {}, which does not climb", page.value(grade));
            page.find(
                &codes::OUT_OF_RANGE,
                grade.index(),
                message,
                "type the grade that it climbs: `grade: 20 %`",
            );
        }
        let continuous = page.get(hill.continuous_torque);
        let beyond = page
            .get(hill.motor_torque)
            .is_some_and(|torque| continuous.is_none_or(|continuous| torque > continuous));
        let starts = page.get(hill.written.speed).is_some_and(|speed| speed.si() == 0.0);
        if starts && beyond && self.given.motor.stall_torque.is_none() {
            let reason = "what the motor bears at standstill is not known: `stall_torque`";
            page.hold_close("hill_motor_torque", reason);
        }
        let sags = self.given.pack.is_some() && self.given.motor.curve_voltage.is_some();
        if self.given.motor.efficiency_is_assumed && (sags || self.given.pack_power_limit.is_some()) {
            let reason = "the motor states no `efficiency`, and with its losses the battery gives it less";
            page.hold_close("hill_motor_torque", reason);
        }
        if self.given.pack.is_some() && self.given.motor.curve_voltage.is_none() {
            let reason = "the motor states no `curve_voltage`, so the pack's sag is left out";
            page.hold_close("hill_motor_torque", reason);
        }
    }

    /// A pack that can't carry the drive when it is low and cold.
    pub(super) fn look_at_worst(&self, page: &mut Page<'_>, worst: &Model) {
        if !matches!(worst.free, Err(Trouble::Collapses)) {
            return;
        }
        let reason = "with the pack low and cold the drive asks more than it can give: its voltage collapses";
        if let Some((power, voltage)) = self.battery.worst {
            page.not_there(power, reason);
            page.not_there(voltage, reason);
        }
        if let Some(slot) = self.top.worst {
            page.not_there(slot, reason);
        }
        if let Some(slot) = self.hill.as_ref().and_then(|hill| hill.worst_torque) {
            page.not_there(slot, reason);
        }
    }
}
