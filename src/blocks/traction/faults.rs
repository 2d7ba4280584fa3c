//! What a traction block can't reach: what ends it, and where.

use super::drive::{Drive, End, Trouble};
use super::given::{ContinuousOf, Model, ShapeOf, curve_fault};
use super::hill::Hill;
use super::results::{Pull, SprintOf, steepest};
use super::travel::{Stop, Why};
use super::{
    CANNOT_START, HIGH_ADHESION, HILL_NOT_CLIMBED, PACK_COLLAPSES, PACK_TOO_WEAK, SPEED_NOT_REACHED, Traction,
};
use crate::findings::codes;
use crate::model::{Bench, Page, Slot};
use crate::quantities::Curve;
use crate::quantities::si::{Force, Measure};

/// Above this a road tyre is not believed.
const MOST_ADHESION: f64 = 1.2;

impl Traction {
    /// Where full drive from rest ends; `None`, with its finding, where there is no drive or it does not start.
    pub(super) fn starts(&self, page: &mut Page<'_>, model: &Model) -> Option<Stop> {
        if self.curves_are_wrong(page) {
            return None;
        }
        if self.ratings_are_wrong(page) {
            return None;
        }
        if let Some(trouble) = model.held.as_ref().err().or(model.free.as_ref().err()) {
            self.no_drive(page, *trouble);
            return None;
        }
        if let Some(Err(Trouble::BeginsLate)) = model.continuous {
            self.begins_late(page, "continuous torque curve");
        }
        let stop = model.top()?;
        if stop.why == Why::NoStart {
            let message = format!(
                "at standstill the drive gives {}, and the road takes {}",
                page.shown(self.start.force),
                page.shown_as(self.start.force, model.road.force(0.0))
            );
            let help = "look at the grade of the road, the motor's torque at 0 rpm and the chain's ratio";
            page.find_here(&CANNOT_START, message, help);
            return None;
        }
        if model.continuous_top().is_some_and(|stop| stop.why == Why::NoStart) {
            let message =
                "within its continuous rating the motor gives less than the road takes at standstill";
            let help = "look at the grade of the road and the motor's continuous rating";
            page.find_here(&CANNOT_START, message.to_owned(), help);
        }
        Some(stop)
    }

    /// A curve that is no torque over motor speed.
    fn curves_are_wrong(&self, page: &mut Page<'_>) -> bool {
        let peak = match self.given.motor.shape {
            ShapeOf::Curve(slot) => Some(slot),
            ShapeOf::Peak { .. } => None,
        };
        let continuous = match self.given.motor.continuous {
            Some(ContinuousOf::Curve(slot)) => Some(slot),
            _ => None,
        };
        let slots: Vec<Slot<Curve>> = peak.into_iter().chain(continuous).collect();
        for slot in &slots {
            if let Some(fault) = page.curves[slot.index()].as_deref().and_then(curve_fault) {
                let message = format!("{}: {}", page.nodes[slot.index()].label(), fault.message);
                let help = "a torque curve is a list of points `[3 000 rpm, 160 N m]`";
                page.find(fault.code, slot.index(), message, help);
                return true;
            }
        }
        false
    }

    /// A value of the motor that no motor has.
    fn ratings_are_wrong(&self, page: &mut Page<'_>) -> bool {
        let wrong = self.given.motor.ranges().into_iter().find(|(slot, range)| {
            let value = page.values[*slot];
            page.known[*slot] && !range.holds(value)
        });
        let Some((slot, range)) = wrong else { return false };
        let shown = (page.show)(slot).unwrap_or_default();
        let message =
            format!("{} of `{shown}`, where it must be {}", page.nodes[slot].label(), range.words());
        page.find(&codes::OUT_OF_RANGE, slot, message, "look at the number in the motor's part");
        true
    }

    fn no_drive(&self, page: &mut Page<'_>, trouble: Trouble) {
        match trouble {
            // The engine tells what is no finite number.
            Trouble::NotKnown => {}
            Trouble::BeginsLate => self.begins_late(page, "torque curve"),
            Trouble::Collapses => self.collapses(page),
        }
    }

    fn begins_late(&self, page: &mut Page<'_>, which: &str) {
        let at = match self.given.motor.shape {
            ShapeOf::Curve(slot) => slot.index(),
            ShapeOf::Peak { torque, .. } => torque.index(),
        };
        let message = format!("the {which} of the motor does not begin at 0 rpm, where a launch does");
        page.find(&codes::OUTSIDE_CURVE, at, message, "add its point at 0 rpm");
    }

    fn collapses(&self, page: &mut Page<'_>) {
        let Some(pack) = &self.given.pack else { return };
        let message = format!(
            "the drive asks more than the pack can give: its voltage collapses at {}",
            page.shown(pack.collapse_power)
        );
        let help = "limit it with `battery_power`, or choose more cells, or cells of lower resistance";
        page.find(&PACK_COLLAPSES, pack.nominal_voltage.index(), message, help);
    }

    /// All that is not reached, each once.
    pub(super) fn look(&self, page: &mut Page<'_>, bench: &Bench<'_>, model: &Model) {
        if page.get(self.grip.adhesion).is_some_and(|adhesion| adhesion.si() > MOST_ADHESION) {
            let message = format!(
                "an adhesion of {}, where road tyres have 1.2 at most",
                page.shown(self.grip.adhesion)
            );
            let help = "type about 0.8 for dry and 0.5 for wet asphalt";
            page.find(&HIGH_ADHESION, self.grip.adhesion.index(), message, help);
        }
        self.ask_the_pack(page);
        for sprint in &self.sprints {
            self.look_at_sprint(page, bench, (sprint, model));
        }
        if let Ok(drive) = &model.free {
            for at in &self.grades {
                self.look_at_speed(page, (at.speed.index(), bench.get(at.speed).si()), drive);
            }
            if let Some(hill) = &self.hill {
                self.look_at_speed(page, (hill.speed.index(), bench.get(hill.speed).si()), drive);
                self.look_at_hill(page, bench, (hill, model));
            }
        }
    }

    fn ask_the_pack(&self, page: &mut Page<'_>) {
        let Some(pack) = &self.given.pack else { return };
        let Some(power) = page.get(self.peak_battery_power) else { return };
        if page.get(pack.collapse_power).is_some_and(|most| power > most) {
            self.collapses(page);
        } else if page.get(pack.rated_power).is_some_and(|rated| power > rated) {
            let message = format!(
                "the drive draws {}, and the pack is rated for {}",
                page.shown(self.peak_battery_power),
                page.shown(pack.rated_power)
            );
            let help = "limit it with `battery_power`, or choose more cells, or cells of a higher rating";
            page.find(&PACK_TOO_WEAK, pack.nominal_voltage.index(), message, help);
        }
    }

    fn look_at_sprint(&self, page: &mut Page<'_>, bench: &Bench<'_>, (sprint, model): (&SprintOf, &Model)) {
        let (from, to) = (bench.get(sprint.from).si(), bench.get(sprint.to).si());
        if !(from.is_finite() && to.is_finite()) || model.reaches(from, to) {
            return;
        }
        if to <= from {
            let message = format!("a sprint from {} to {}", page.shown(sprint.from), page.shown(sprint.to));
            let help = "a sprint goes from a lower speed to a higher one";
            page.find(&codes::OUT_OF_RANGE, sprint.to.index(), message, help);
            return;
        }
        let (Some(stop), Ok(drive)) = (model.stop_from(from), &model.held) else { return };
        let ends = self.ends(page, stop, drive);
        let message = format!("{} is not reached: {ends}", page.shown(sprint.to));
        let beyond_curve = stop.why == Why::LastSpeed && drive.end == End::Curve;
        if beyond_curve {
            let help = "add points to the torque curve up to the motor's speed limit, or ask a lower speed";
            page.find(&codes::OUTSIDE_CURVE, sprint.to.index(), message, help);
        } else {
            let help = "ask a lower speed, or look at motor, gearing and battery";
            page.find(&SPEED_NOT_REACHED, sprint.to.index(), message, help);
        }
    }

    /// Where the drive ends, and why.
    fn ends(&self, page: &Page<'_>, stop: Stop, drive: &Drive) -> String {
        let at = page.shown_as(self.top.speed, stop.speed);
        match (stop.why, drive.end) {
            (Why::Balance, _) => format!("at {at} the drive gives no more than the road takes"),
            (Why::NoStart, _) => format!("at {at} the drive gives less than the road takes"),
            (Why::LastSpeed, End::Motor) => format!("at {at} the motor is at its speed limit"),
            (Why::LastSpeed, End::Curve) => format!("at {at} the torque curve ends"),
            (Why::LastSpeed, End::Chain) => {
                format!("at {at} the motor is at the speed limit that the chain states")
            }
        }
    }

    /// A steady speed beyond the last one of the drive.
    fn look_at_speed(&self, page: &mut Page<'_>, (slot, speed): (usize, f64), drive: &Drive) {
        if speed.is_finite() && drive.force_at(speed).is_nan() {
            let stop = Stop { speed: drive.last_speed(), why: Why::LastSpeed };
            let asked = page.shown_as(self.top.speed, speed);
            let message = format!("{asked} is not reached: {}", self.ends(page, stop, drive));
            let help = "ask a lower speed, or look at the gearing";
            page.find(&SPEED_NOT_REACHED, slot, message, help);
        }
    }

    fn look_at_hill(&self, page: &mut Page<'_>, bench: &Bench<'_>, (hill, model): (&Hill, &Model)) {
        let (Some(torque), Some(peak)) = (page.get(hill.motor_torque), page.get(hill.peak_torque)) else {
            return;
        };
        let (force, weight) = (bench.get(hill.force), bench.get(hill.weight));
        let held = bench.get(hill.adhesion_force) * bench.get(hill.grade).atan().cos();
        let pull = Pull {
            weight,
            rolling: bench.get(hill.rolling),
            adhesion: bench.get(hill.adhesion_force),
            drag: bench.get(hill.drag),
        };
        let steepest = steepest(Force::from_si(peak.si() * model.motor.gear.force), &pull);
        let ends = page.shown_as(self.start.grade, steepest.si());
        let message = if torque > peak {
            format!(
                "the hill asks {} of the motor, which has {} at that speed: it climbs {ends} at most",
                page.shown(hill.motor_torque),
                page.shown(hill.peak_torque)
            )
        } else if force > held {
            format!(
                "the hill asks {} of {}, which hold {}: it climbs {ends} at most",
                page.shown(hill.force),
                self.grip.wheels(),
                page.shown_as(hill.force, held.si())
            )
        } else {
            return;
        };
        let help = "look at the gearing, the motor, the load, or the hill";
        page.find(&HILL_NOT_CLIMBED, hill.grade.index(), message, help);
    }
}
