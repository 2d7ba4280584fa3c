//! What of motor, pack and gearing falls behind what is to be driven, in words.

use super::drive::{Drive, Load};
use super::follow::{Behind, Weak};
use super::{AtSpeed, EnergyUse, OverCycle};
use crate::model::{Page, Slot};
use crate::quantities::si::{Measure, Power};
use crate::words::{Shown, Words, words};

impl EnergyUse {
    /// Whether motor, pack or gearing don't do a speed, and why.
    pub(super) fn falls_behind_at(
        &self,
        at: &AtSpeed,
        (load, drive): (&Load, &Drive<'_>),
        page: &mut Page<'_>,
    ) -> bool {
        let Some(speed) = page.get(at.speed).map(Measure::si) else { return false };
        let limits = self.limits(&|index| page.values[index], self.torque_on(page));
        let lasting = self.lasting.in_si(&|index| page.values[index], |slot| page.curve(slot));
        let mut falls = false;
        for (steady, (load, drive)) in self.seasons((at, (load, drive)), page) {
            let behind = limits.steady((&load, &drive), speed);
            let behind = behind.or_else(|| lasting.behind(&limits, (&load, &drive), speed));
            let Some(behind) = behind else { continue };
            let usual = std::ptr::eq(steady, &at.usual);
            let what = if usual { "not driven: " } else { "not driven in winter: " };
            page.not_there(
                steady.voltage,
                words!("{}{}", what, self.not_driven(&behind, steady.power, page)),
            );
            falls |= usual;
        }
        falls
    }

    /// Whether motor, pack or gearing don't follow, where, and why; or what else can't be worked.
    pub(super) fn falls_behind(
        &self,
        cycle: &OverCycle,
        (load, drive): (&Load, &Drive<'_>),
        page: &mut Page<'_>,
    ) -> bool {
        let limits = self.limits(&|index| page.values[index], self.torque_on(page));
        if let Some(winter) = &self.winter
            && page.get(cycle.in_winter).is_none()
        {
            let (load, drive) = self.in_winter(winter, (load, drive), &|index| page.values[index]);
            if let Some(behind) = limits.behind(&cycle.course, &load, &drive) {
                let reason = words!("not driven in winter: {}", self.not_driven_on(&behind, cycle, page));
                page.not_there(cycle.in_winter, reason);
            }
        }
        if page.get(cycle.rms_current).is_none()
            && let Some(behind) = limits.behind(&cycle.course, load, drive)
        {
            let reason = words!("not driven: {}", self.not_driven_on(&behind, cycle, page));
            page.not_there(cycle.drawn, &reason);
            if self.full.is_some() {
                page.not_there(cycle.on_full_pack, &reason);
            }
            page.not_there(cycle.rms_current, reason);
            return true;
        }
        if page.get(cycle.at_wheel).is_some() && page.get(cycle.consumption).is_none() {
            let needed = cycle.course.moments(load).map(|(_, speed, force)| (speed, force));
            self.beyond_map(&cycle.title, cycle.consumption, needed, page);
        } else {
            self.no_end(cycle.consumption, words!("over {}", cycle.title), page);
        }
        false
    }

    /// What falls behind over a course, where, and by how much.
    fn not_driven_on(&self, behind: &Behind, cycle: &OverCycle, page: &Page<'_>) -> Words {
        let seconds = |time: f64| format!("{time:.0}\u{a0}s");
        let place = match behind.first == behind.time {
            true => words!("at {}", seconds(behind.time)),
            false => words!("from {} on, most at {}", seconds(behind.first), seconds(behind.time)),
        };
        words!("{}, {}", place, self.not_driven(behind, cycle.peak_power, page))
    }

    /// What falls behind, and by how much; powers in the unit of a slot.
    pub(super) fn not_driven(&self, behind: &Behind, power: Slot<Power>, page: &Page<'_>) -> Words {
        let unit = self.limits.gears.first().and_then(|gear| gear.top_speed);
        let speed = |si: f64| match unit.or(self.speeds.first().map(|at| at.speed)) {
            Some(slot) => page.shown_as(slot, si),
            None => format!("{:.0}\u{a0}km/h", si * 3.6),
        };
        let show = |si: f64| match behind.weak {
            Weak::Gearing => speed(si),
            Weak::MotorTorque | Weak::LastingTorque => page.shown_as(self.road.f0, si),
            _ => page.shown_as(power, si),
        };
        let (asked, given) = (Shown(show(behind.asked)), Shown(show(behind.given)));
        let at = Shown(speed(behind.speed));
        match behind.weak {
            Weak::Gearing => words!("{} is asked, and the gearing allows {}", asked, given),
            Weak::MotorTorque | Weak::MotorPower => {
                words!("{} are asked at the wheels at {}, and the motor gives {}", asked, at, given)
            }
            Weak::LastingTorque | Weak::LastingPower => {
                words!("{} are asked at the wheels at {}, and for long the motor gives {}", asked, at, given)
            }
            Weak::LastingCurrent => words!(
                "{} are asked of the pack at {}, and for long its cells' rating allows {}",
                asked,
                at,
                given
            ),
            Weak::PackRating => {
                words!(
                    "{} are asked of the pack at {}, and its cells' peak rating allows {}",
                    asked,
                    at,
                    given
                )
            }
            Weak::PackCollapse => {
                words!("{} are asked of the pack at {}, and its voltage collapses at {}", asked, at, given)
            }
        }
    }
}
