//! One hill at a steady speed: what it takes from the cells on the way up, and what comes back on the way down.

use super::cycle::Course;
use super::drive::{Drive, Load};
use super::follow::Behind;
use super::map::Efficiency;
use super::{DriveEfficiency, EnergyUse};
use crate::model::{Bench, Form, Page, Row, Slot};
use crate::quantities::si::{Angle, Energy, Force, Length, Measure, Power, Ratio, Velocity};
use crate::words::words;

const WHEN: &str = "with `climb`";

pub(super) static SLOPE: Row<Angle> =
    Row::formula("climb_slope", "angle of the climb", "deg", "atan(climb.grade)").when(WHEN);
pub(super) static LENGTH: Row<Length> =
    Row::formula("climb_length", "length of the climb", "km", "climb.height / sin(climb_slope)").when(WHEN);
pub(super) static SLOPE_FORCE: Row<Force> = Row::formula(
    "climb_slope_force",
    "part of the weight along the slope",
    "N",
    "road.mass * 9.80665 m/s^2 * sin(climb_slope)",
)
.when(WHEN);
pub(super) static UPHILL: Row<Force> = Row::formula(
    "climb_force",
    "force at the wheels uphill",
    "N",
    "road.f0 * cos(climb_slope) + road.f1 * climb.speed + road.f2 * climb.speed^2 + climb_slope_force",
)
.when(WHEN);
pub(super) static DOWNHILL: Row<Force> =
    Row::formula("descent_force", "force at the wheels downhill", "N", "climb_force - 2 * climb_slope_force")
        .about("below 0 it pushes")
        .when(WHEN);
pub(super) static POWER: Row<Power> = Row::formula(
    "climb_power",
    "power at the battery's terminals uphill",
    "kW",
    "climb_force * climb.speed / drive_efficiency + auxiliary_power",
)
.when(WHEN);
pub(super) static POWER_BY_MAP: Row<Power> = Row::procedure(
    "climb_power",
    "power at the battery's terminals uphill",
    "kW",
    "force × speed / efficiency from the map, with the auxiliaries",
)
.when("with `climb` and `efficiency_map`");
pub(super) static ENERGY: Row<Energy> = Row::procedure(
    "climb_energy",
    "energy for the climb",
    "kWh",
    "power at the terminals and the pack's own loss × the time uphill × model_factor",
)
.about("from the cells")
.when(WHEN)
.principal();
pub(super) static RECOVERED: Row<Energy> = Row::procedure(
    "descent_recovered",
    "energy recovered on the way down",
    "kWh",
    "what is recovered, within its limits of power and speed, × the time downhill",
)
.about("at the battery's terminals, before auxiliaries")
.when("with `climb` and `regeneration`")
.principal();
pub(super) static RECOVERED_ON_FULL_PACK: Row<Energy> = Row::procedure(
    "descent_recovered_full",
    "energy recovered on the way down, the pack full",
    "kWh",
    "the same with what a full pack takes",
)
.when("with `climb`, `regeneration` and `full`");

pub(super) struct Climb {
    height: Slot<Length>,
    speed: Slot<Velocity>,
    grade: Slot<Ratio>,
    slope: Slot<Angle>,
    length: Slot<Length>,
    slope_force: Slot<Force>,
    uphill: Slot<Force>,
    downhill: Slot<Force>,
    power: Slot<Power>,
    energy: Slot<Energy>,
    recovered: Option<Slot<Energy>>,
    recovered_on_full_pack: Option<Slot<Energy>>,
}

impl EnergyUse {
    pub(super) fn read_climb(&self, form: &mut Form<'_, '_>) -> Option<Climb> {
        let (height, speed, grade) = form.group("climb", |form| {
            (form.required("height"), form.required("speed"), form.assumed("grade"))
        })?;
        let drive = self.drive_uses();
        let back = self.regeneration_uses();
        let mut out = form.outcomes();
        let (slope, length) = (out.result(&SLOPE), out.result(&LENGTH));
        let slope_force = out.result(&SLOPE_FORCE);
        let (uphill, downhill) = (out.result(&UPHILL), out.result(&DOWNHILL));
        let own = [uphill.index(), speed.index(), self.auxiliary.index()];
        let power = match (&self.efficiency, &drive) {
            (DriveEfficiency::Constant(_), _) => out.result(&POWER),
            (_, Some(drive)) => out.procedure(&POWER_BY_MAP, &[drive.as_slice(), &own].concat()),
            (_, None) => out.unknown(&POWER_BY_MAP),
        };
        let pack = [self.pack.voltage.index(), self.pack.resistance.index(), self.model_factor.index()];
        let uses = [pack.as_slice(), &self.limits.uses(), &[power.index(), length.index(), speed.index()]];
        let energy = out.procedure(&ENERGY, &uses.concat());
        let down = [&[downhill.index(), length.index(), speed.index()], back.as_slice()].concat();
        let recovered = self.regeneration.as_ref().map(|_| out.procedure(&RECOVERED, &down));
        let recovered_on_full_pack = recovered.and(self.full).map(|share| {
            out.procedure(&RECOVERED_ON_FULL_PACK, &[down.as_slice(), &[share.index()]].concat())
        });
        Some(Climb {
            height,
            speed,
            grade,
            slope,
            length,
            slope_force,
            uphill,
            downhill,
            power,
            energy,
            recovered,
            recovered_on_full_pack,
        })
    }

    pub(super) fn climb(&self, climb: &Climb, bench: &mut Bench<'_>) {
        let value = |index: usize| bench.get(Slot::<f64>::new(index));
        let (load, drive) = (self.load(&value), self.drive(&value));
        let full = self.full.map(|share| EnergyUse::on_full_pack(share, &drive, &value));
        let limits = self.limits(&value, self.limits.torque_curve.and_then(|slot| bench.curve(slot)));
        let slope = bench.get(climb.grade).atan();
        let sine = slope.si().sin();
        let length = bench.get(climb.height).si() / sine;
        let speed = bench.get(climb.speed).si();
        let up = Course::steady(length, speed, sine);
        let down = Course::steady(length, speed, -sine);
        let (uphill, downhill) = (force_on(&up, &load), force_on(&down, &load));
        let driven = limits.follow(&up, &load, &drive);
        let used = up.battery(&load, &drive).cells_give(&drive, up.duration);
        let factor = bench.get(self.model_factor).value;
        bench.set(climb.slope, slope);
        bench.set(climb.length, Length::from_si(length));
        bench.set(climb.slope_force, Force::from_si(load.weight * sine));
        bench.set(climb.uphill, Force::from_si(uphill));
        bench.set(climb.downhill, Force::from_si(downhill));
        bench.set(climb.power, Power::from_si(drive.at_terminals(speed, uphill)));
        bench.set(climb.energy, Energy::from_si(used * factor));
        if !driven {
            bench.not_there(climb.energy);
        }
        let back = |drive: &Drive<'_>| Energy::from_si(down.battery(&load, drive).recovered);
        let (usual, on_full) = (back(&drive), full.as_ref().map(back));
        if let Some(slot) = climb.recovered {
            bench.set(slot, usual);
        }
        if let (Some(slot), Some(energy)) = (climb.recovered_on_full_pack, on_full) {
            bench.set(slot, energy);
        }
    }

    pub(super) fn tell_climb(&self, (load, drive): (&Load, &Drive<'_>), page: &mut Page<'_>) {
        let Some(climb) = &self.climb else { return };
        let (Some(length), Some(speed)) = (page.get(climb.length), page.get(climb.speed)) else { return };
        let Some(slope) = page.get(climb.slope) else { return };
        let sine = slope.si().sin();
        let up = Course::steady(length.si(), speed.si(), sine);
        self.check_climb(climb, drive, page);
        if page.get(climb.energy).is_none() {
            if let Some(behind) = self.behind_on(&up, (load, drive), page) {
                let reason = words!("not driven: {}", self.not_driven(&behind, climb.power, page));
                page.not_there(climb.energy, reason);
            }
            return;
        }
        let recovered = match (climb.recovered, climb.recovered_on_full_pack) {
            (None, _) => words!("nothing comes back on the way down"),
            (Some(usual), None) => words!("{} come back on the way down", page.value(usual)),
            (Some(usual), Some(full)) => words!(
                "{} come back on the way down, {} where the pack is full",
                page.value(usual),
                page.value(full)
            ),
        };
        page.note(words!(
            "A climb of {} at {} takes {} from the cells; {}.",
            page.value(climb.height),
            page.value(climb.speed),
            page.value(climb.energy),
            recovered
        ));
    }

    fn behind_on(
        &self,
        course: &Course,
        (load, drive): (&Load, &Drive<'_>),
        page: &Page<'_>,
    ) -> Option<Behind> {
        let limits = self.limits(&|index| page.values[index], self.torque_on(page));
        limits.behind(course, load, drive)
    }

    /// Energy is power × time and the current's loss; what comes back is the pushing force's work, within its limits.
    fn check_climb(&self, climb: &Climb, drive: &Drive<'_>, page: &mut Page<'_>) {
        const CLOSE: f64 = 1e-9;
        let values = page.values;
        let of = |index: usize| values[index];
        let time = of(climb.length.index()) / of(climb.speed.index());
        let (power, speed) = (of(climb.power.index()), of(climb.speed.index()));
        let again = power + drive.resistance * drive.current(power).powi(2);
        let factor = of(self.model_factor.index());
        let off = |value: f64, again: f64| (value - again) / again.abs().max(1.0);
        if page.get(climb.energy).is_some() {
            page.checked(climb.energy, off(of(climb.energy.index()), again * time * factor), CLOSE);
        }
        if let Efficiency::Map(..) = drive.efficiency {
            let force = of(climb.uphill.index());
            let again = force * speed / drive.efficiency.again(speed, force) + drive.auxiliary;
            page.checked(climb.power, off(power, again), CLOSE);
        }
        let Some(slot) = climb.recovered else { return };
        let pushing = (-of(climb.downhill.index())).max(0.0);
        let back = |kept: f64| match &drive.regeneration {
            Some(back) if speed >= back.minimum_speed => {
                (pushing * speed * back.share * kept * back.efficiency).min(back.power_limit) * time
            }
            _ => 0.0,
        };
        page.checked(slot, off(of(slot.index()), back(1.0)), CLOSE);
        if let (Some(slot), Some(share)) = (climb.recovered_on_full_pack, self.full) {
            page.checked(slot, off(of(slot.index()), back(of(share.index()))), CLOSE);
        }
    }
}

/// At the wheels, on the one stretch of a steady course.
fn force_on(course: &Course, load: &Load) -> f64 {
    course.moments(load).next().map_or(f64::NAN, |(_, _, force)| force)
}
