//! What a traction block can't reach: what ends it, and where.

use super::gears::{Drives, Plan};
use super::given::Model;
use super::hill::Hill;
use super::motor::{ContinuousOf, ShapeOf};
use super::results::{AtSpeed, Pull, SprintOf};
use super::travel::{Stop, Why};
use super::{
    CANNOT_START, HIGH_ADHESION, HILL_NOT_CLIMBED, MOST_ADHESION, PACK_COLLAPSES, PACK_TOO_WEAK,
    SPEED_NOT_REACHED, Traction,
};
use crate::blocks::shared::drive::{Drive, End, Trouble};
use crate::blocks::shared::pieces::{curve_fault, over_time_fault};
use crate::findings::codes;
use crate::model::{Bench, Page};
use crate::quantities::si::{Force, Measure};
use crate::quantities::{Curve, Fault};
use crate::words::{Words, words};

/// Why a curve is none of its kind.
type Check = fn(&Curve) -> Option<Fault>;

impl Traction {
    /// Where full drive from rest ends; `None`, with its finding, where there is no drive or it does not start.
    pub(super) fn starts(&self, page: &mut Page<'_>, drives: &Drives) -> Option<Plan> {
        let model = drives.starting();
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
        let plan = drives.top()?;
        let stalls = page.get(self.start.force).is_some_and(|force| force.si() <= model.road.force(0.0));
        if plan.stop.why == Why::NoStart || stalls {
            let message = words!(
                "at standstill the drive gives {}, and the road takes {}",
                page.value(self.start.force),
                page.value_as(self.start.force, model.road.force(0.0))
            );
            let help = "look at the grade of the road, the motor's torque at 0 rpm and the chain's ratio";
            page.find_here(&CANNOT_START, message, help);
            return None;
        }
        Some(plan)
    }

    /// A curve that is no torque over motor speed, or over time.
    fn curves_are_wrong(&self, page: &mut Page<'_>) -> bool {
        let peak = match self.given.motor.shape {
            ShapeOf::Curve { curve, .. } => Some(curve),
            ShapeOf::Peak { .. } => None,
        };
        let continuous = match self.given.motor.continuous {
            Some(ContinuousOf::Curve(slot)) => Some(slot),
            _ => None,
        };
        let over_speed = "a torque curve is a list of points `[3 000 rpm, 160 N m]`";
        let over_time = "a torque over time is a list of points `[30 s, 160 N m]`, each torque no greater than the one before";
        let over_speed =
            peak.into_iter().chain(continuous).map(|slot| (slot, curve_fault as Check, over_speed));
        let over_time = self.given.motor.derating.map(|slot| (slot, over_time_fault as Check, over_time));
        for (slot, check, help) in over_speed.chain(over_time) {
            if let Some(fault) = page.curves[slot.index()].as_deref().and_then(check) {
                let message = words!("{}: {}", page.nodes[slot.index()].label(), fault.message);
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
        let label = page.nodes[slot].label();
        let message = words!("{} of `{}`, where it must be {}", label, shown, range.words());
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
            ShapeOf::Curve { curve, .. } => curve.index(),
            ShapeOf::Peak { torque, .. } => torque.index(),
        };
        let message = words!("the {} of the motor does not begin at 0 rpm, where a launch does", which);
        page.find(&codes::OUTSIDE_CURVE, at, message, "add its point at 0 rpm");
    }

    fn collapses(&self, page: &mut Page<'_>) {
        let Some(pack) = &self.given.pack else { return };
        let message = words!(
            "the drive asks more than the pack can give: its voltage collapses at {}",
            page.value(pack.collapse_power)
        );
        let help = "limit it with `pack_power_limit`, or choose more cells, or cells of lower resistance";
        page.find(&PACK_COLLAPSES, pack.nominal_voltage.index(), message, help);
    }

    /// All that is not reached, each once, and why what needs it is not there.
    pub(super) fn look(&self, page: &mut Page<'_>, bench: &Bench<'_>, drives: &Drives) {
        if page.get(self.grip.adhesion).is_some_and(|adhesion| adhesion.si() > MOST_ADHESION) {
            let message = words!(
                "an adhesion of {}, where road tyres have 1.2 at most",
                page.value(self.grip.adhesion)
            );
            let help = "type about 0.8 for dry and 0.5 for wet asphalt";
            page.find(&HIGH_ADHESION, self.grip.adhesion.index(), message, help);
        }
        self.ask_the_pack(page);
        if let Some(slot) = self.top.continuous.filter(|slot| page.get(*slot).is_none()) {
            page.not_there(slot, "within its continuous rating the motor does not start on the road's grade");
        }
        for sprint in &self.sprints {
            self.look_at_sprint(page, bench, (sprint, drives));
        }
        let Ok(drive) = &drives.fastest().free else { return };
        for at in &self.grades {
            self.look_at_grade(page, bench.get(at.speed).si(), (at, drive));
            for slot in at.gears.iter().map(|gear| gear.force) {
                if page.get(slot).is_some() {
                    continue;
                }
                page.not_there(slot, "in that gear the motor does not turn so fast");
            }
        }
        if let Some(hill) = &self.hill {
            let gear = hill.gear(bench, &self.given, drives);
            self.look_at_hill(page, bench, (hill, &drives.each[gear]));
        }
    }

    fn ask_the_pack(&self, page: &mut Page<'_>) {
        let Some(pack) = &self.given.pack else { return };
        let Some(power) = page.get(self.battery.power) else { return };
        if page.get(pack.collapse_power).is_some_and(|most| power > most) {
            self.collapses(page);
        } else if page.get(pack.rated_power).is_some_and(|rated| power > rated) {
            let message = words!(
                "the drive draws {}, and the pack is rated for {}",
                page.value(self.battery.power),
                page.value(pack.rated_power)
            );
            let help = "limit it with `pack_power_limit`, or choose more cells, or cells of a higher rating";
            page.find(&PACK_TOO_WEAK, pack.nominal_voltage.index(), message, help);
        }
    }

    fn look_at_sprint(&self, page: &mut Page<'_>, bench: &Bench<'_>, (sprint, drives): (&SprintOf, &Drives)) {
        let (from, to) = (bench.get(sprint.from).si(), bench.get(sprint.to).si());
        if !(from.is_finite() && to.is_finite()) || page.get(sprint.time).is_some() {
            return;
        }
        if to <= from {
            let message = words!("a sprint from {} to {}", page.value(sprint.from), page.value(sprint.to));
            let help = "a sprint goes from a lower speed to a higher one";
            page.find(&codes::OUT_OF_RANGE, sprint.to.index(), message, help);
            return;
        }
        let Some(plan) = drives.plan_from(from) else { return };
        let last = &drives.each[plan.gear().unwrap_or(drives.launch)];
        let (stop, Ok(drive)) = (plan.stop, &last.held) else { return };
        let why = match (drives.reaches(from, to), self.given.motor.derating) {
            (true, Some(_)) => {
                "the motor's torque over time falls to what the road takes, or ends, before".into()
            }
            (true, None) => "after a change of gear it gains no more speed".into(),
            (false, _) => self.ends(page, stop, drive),
        };
        let message = words!("{} is not reached: {}", page.value(sprint.to), why);
        page.not_there(sprint.time, &message);
        page.not_there(sprint.distance, &message);
        let help = match (stop.why, drive.end) {
            (Why::LastSpeed, End::Curve) => {
                "add points to the torque curve up to the motor's speed limit, or ask a lower speed"
            }
            _ => "ask a lower speed, or look at motor, gearing and battery",
        };
        page.find(&SPEED_NOT_REACHED, sprint.to.index(), message, help);
    }

    /// Where the drive ends, and why.
    fn ends(&self, page: &Page<'_>, stop: Stop, drive: &Drive) -> Words {
        let why = match (stop.why, drive.end) {
            (Why::Balance, _) => "the drive gives no more than the road takes",
            (Why::NoStart, _) => "the drive gives less than the road takes",
            (Why::LastSpeed, End::Motor) => "the motor is at its speed limit",
            (Why::LastSpeed, End::Curve) => "the torque curve ends",
            (Why::LastSpeed, End::Chain) => "the motor is at the speed limit that the chain states",
            (Why::LastSpeed, End::Stage) => "a stage of the chain is at its speed limit",
        };
        words!("at {} {}", page.value_as(self.top.speed, stop.speed), why)
    }

    /// Why a steady speed is beyond the last one of the drive, with its finding.
    fn beyond(&self, page: &mut Page<'_>, (slot, speed): (usize, f64), drive: &Drive) -> Option<Words> {
        if !(speed.is_finite() && drive.force_at(speed).is_nan()) {
            return None;
        }
        let stop = Stop { speed: drive.last_speed(), why: Why::LastSpeed };
        let asked = page.value_as(self.top.speed, speed);
        let message = words!("{} is not reached: {}", asked, self.ends(page, stop, drive));
        page.find(&SPEED_NOT_REACHED, slot, &message, "ask a lower speed, or look at the gearing");
        Some(message)
    }

    fn look_at_grade(&self, page: &mut Page<'_>, speed: f64, (at, drive): (&AtSpeed, &Drive)) {
        if let Some(reason) = self.beyond(page, (at.speed.index(), speed), drive) {
            page.not_there(at.drive, &reason);
            if let Some(continuous) = &at.continuous {
                page.not_there(continuous.force, &reason);
            }
        }
    }

    fn look_at_hill(&self, page: &mut Page<'_>, bench: &Bench<'_>, (hill, model): (&Hill, &Model)) {
        let Hill { written, motor_torque, peak_torque, .. } = hill;
        if !self.given.motor.is_rated() {
            page.not_there(hill.continuous_torque, "the motor states no continuous torque or power");
        }
        if let Ok(drive) = &model.free {
            let asked = (written.speed.index(), bench.get(written.speed).si());
            if let Some(reason) = self.beyond(page, asked, drive) {
                page.not_there(hill.peak_torque, &reason);
                page.not_there(hill.continuous_torque, reason);
            }
        }
        if let Some(derating) = &hill.derating {
            derating.tell(page);
        }
        let (Some(torque), Some(peak)) = (page.get(*motor_torque), page.get(*peak_torque)) else {
            return;
        };
        let pull = Pull {
            weight: bench.get(hill.weight),
            rolling: bench.get(hill.rolling),
            adhesion: bench.get(hill.adhesion_force),
            drag: bench.get(hill.drag),
        };
        let most = pull.climbing_force(Force::from_si(peak.si() * model.motor.gear.force));
        let ends = page.value_as(self.start.grade, pull.grade(most).si());
        if hill.derating.is_none() && page.get(hill.heat_room).is_some() && page.get(hill.time).is_none() {
            page.not_there(
                hill.time,
                match torque > peak {
                    true => "the motor does not have the torque that the hill asks",
                    false => "the motor bears the hill without end",
                },
            );
        }
        let message = if torque > peak {
            words!(
                "the hill asks {} of the motor, which has {} at that speed: it climbs {} at most",
                page.value(*motor_torque),
                page.value(*peak_torque),
                ends
            )
        } else {
            if page.get(hill.force).zip(page.get(hill.held_force)).is_none_or(|(asked, held)| asked <= held) {
                return;
            }
            words!(
                "the hill asks {} of {}, which hold {}: it climbs {} at most",
                page.value(hill.force),
                self.grip.driven.wheels(),
                page.value(hill.held_force),
                ends
            )
        };
        let help = "look at the gearing, the motor, the load, or the hill";
        page.find(&HILL_NOT_CLIMBED, written.grade.index(), message, help);
    }
}
