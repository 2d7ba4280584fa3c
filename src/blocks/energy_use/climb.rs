//! One hill at a steady speed: what it takes from the cells on the way up, and what comes back on the way down.

use super::climb_rows::{
    DOWNHILL, DOWNHILL_IN_WINTER, ENERGY, ENERGY_IN_WINTER, LENGTH, LEVEL, LEVEL_IN_MILD_WINTER,
    LEVEL_IN_WINTER, POWER, POWER_BY_MAP, POWER_IN_WINTER, POWER_IN_WINTER_BY_MAP, RECOVERED,
    RECOVERED_IN_WINTER, RECOVERED_ON_FULL_PACK, SLOPE, SLOPE_FORCE, UPHILL, UPHILL_IN_WINTER,
};
use super::cycle::Course;
use super::drive::{Drive, Load};
use super::map::Efficiency;
use super::{DriveEfficiency, EnergyUse};
use crate::model::{Bench, Form, Page, Row, Slot};
use crate::quantities::si::{Angle, Energy, Force, Length, Measure, Power, Ratio, Velocity};
use crate::words::words;

/// The rows of one season; of the power with one efficiency, and from a map.
struct HillRows {
    level: &'static Row<Force>,
    uphill: &'static Row<Force>,
    downhill: &'static Row<Force>,
    power: [&'static Row<Power>; 2],
    energy: &'static Row<Energy>,
    recovered: &'static Row<Energy>,
}

const USUAL: HillRows = HillRows {
    level: &LEVEL,
    uphill: &UPHILL,
    downhill: &DOWNHILL,
    power: [&POWER, &POWER_BY_MAP],
    energy: &ENERGY,
    recovered: &RECOVERED,
};
const WINTER: HillRows = HillRows {
    level: &LEVEL_IN_WINTER,
    uphill: &UPHILL_IN_WINTER,
    downhill: &DOWNHILL_IN_WINTER,
    power: [&POWER_IN_WINTER, &POWER_IN_WINTER_BY_MAP],
    energy: &ENERGY_IN_WINTER,
    recovered: &RECOVERED_IN_WINTER,
};

pub(super) struct Climb {
    height: Slot<Length>,
    speed: Slot<Velocity>,
    grade: Slot<Ratio>,
    slope: Slot<Angle>,
    length: Slot<Length>,
    slope_force: Slot<Force>,
    usual: Hill,
    in_winter: Option<Hill>,
    recovered_on_full_pack: Option<Slot<Energy>>,
}

/// The hill in one season.
struct Hill {
    level: Slot<Force>,
    uphill: Slot<Force>,
    downhill: Slot<Force>,
    power: Slot<Power>,
    energy: Slot<Energy>,
    recovered: Option<Slot<Energy>>,
}

/// What a season came to.
struct Season {
    level: Force,
    uphill: Force,
    downhill: Force,
    power: Power,
    energy: Energy,
    driven: bool,
    recovered: Energy,
}

impl Hill {
    fn set(&self, came: &Season, bench: &mut Bench<'_>) {
        bench.set(self.level, came.level);
        bench.set(self.uphill, came.uphill);
        bench.set(self.downhill, came.downhill);
        bench.set(self.power, came.power);
        bench.set(self.energy, came.energy);
        if !came.driven {
            bench.not_there(self.energy);
        }
        if let Some(slot) = self.recovered {
            bench.set(slot, came.recovered);
        }
    }
}

impl EnergyUse {
    pub(super) fn read_climb(&self, form: &mut Form<'_, '_>) -> Option<Climb> {
        let (height, speed, grade) = form.group("climb", |form| {
            (form.required("height"), form.required("speed"), form.assumed("grade"))
        })?;
        let mut out = form.outcomes();
        let (slope, length) = (out.result(&SLOPE), out.result(&LENGTH));
        let slope_force = out.result(&SLOPE_FORCE);
        let along = [length.index(), speed.index()];
        let auxiliary = [self.auxiliary.index()];
        let usual = self.hill(form, (&USUAL, &along), (&auxiliary, &[]));
        let in_winter = self.winter.as_ref().map(|winter| {
            let kept: Vec<usize> = winter.regeneration_share.map(Slot::index).into_iter().collect();
            let rows = match winter.load_increase {
                Some(_) => WINTER,
                None => HillRows { level: &LEVEL_IN_MILD_WINTER, ..WINTER },
            };
            self.hill(form, (&rows, &along), (&[winter.power.index()], &kept))
        });
        let back = self.regeneration_uses();
        let recovered_on_full_pack = usual.recovered.and(self.full).map(|share| {
            let down = [back.as_slice(), &along, &[usual.downhill.index(), share.index()]];
            form.outcomes().procedure(&RECOVERED_ON_FULL_PACK, &down.concat())
        });
        Some(Climb {
            height,
            speed,
            grade,
            slope,
            length,
            slope_force,
            usual,
            in_winter,
            recovered_on_full_pack,
        })
    }

    /// Declares one season. `kept` is what takes from what is recovered.
    fn hill(
        &self,
        form: &mut Form<'_, '_>,
        (rows, along): (&HillRows, &[usize]),
        (auxiliary, kept): (&[usize], &[usize]),
    ) -> Hill {
        let drive = self.drive_uses();
        let mut out = form.outcomes();
        let level = out.result(rows.level);
        let (uphill, downhill) = (out.result(rows.uphill), out.result(rows.downhill));
        let [by_number, by_map] = rows.power;
        let power = match (&self.efficiency, &drive) {
            (DriveEfficiency::Constant(_), _) => out.result(by_number),
            (_, Some(drive)) => {
                let uses = [drive.as_slice(), along, auxiliary, &[uphill.index()]];
                out.procedure(by_map, &uses.concat())
            }
            (_, None) => out.unknown(by_map),
        };
        let pack = [self.pack.voltage.index(), self.pack.resistance.index(), self.model_factor.index()];
        let uses = [pack.as_slice(), &self.limits.uses(), along, &[power.index()]];
        let energy = out.procedure(rows.energy, &uses.concat());
        let back = self.regeneration_uses();
        let down = [back.as_slice(), kept, along, &[downhill.index()]];
        let recovered = self.regeneration.as_ref().map(|_| out.procedure(rows.recovered, &down.concat()));
        Hill { level, uphill, downhill, power, energy, recovered }
    }

    pub(super) fn climb(&self, climb: &Climb, bench: &mut Bench<'_>) {
        let value = |index: usize| bench.get(Slot::<f64>::new(index));
        let (load, drive) = (self.load(&value), self.drive(&value));
        let cold = self.winter.as_ref().map(|winter| self.in_winter(winter, (&load, &drive), &value));
        let full = self.full.map(|share| EnergyUse::on_full_pack(share, &drive, &value));
        let limits = self.limits(&value, self.limits.torque_curve.and_then(|slot| bench.curve(slot)));
        let slope = bench.get(climb.grade).atan();
        let sine = slope.si().sin();
        let length = bench.get(climb.height).si() / sine;
        let speed = bench.get(climb.speed).si();
        let factor = bench.get(self.model_factor).value;
        let up = Course::steady(length, speed, sine);
        let down = Course::steady(length, speed, -sine);
        let back = |load: &Load, drive: &Drive<'_>| Energy::from_si(down.battery(load, drive).recovered);
        let work = |load: &Load, drive: &Drive<'_>| {
            let uphill = force_on(&up, load);
            let downhill = force_on(&down, load);
            let used = up.battery(load, drive).cells_give(drive, up.duration);
            Season {
                level: Force::from_si((uphill + downhill) / 2.0),
                uphill: Force::from_si(uphill),
                downhill: Force::from_si(downhill),
                power: Power::from_si(drive.at_terminals(speed, uphill)),
                energy: Energy::from_si(used * factor),
                driven: limits.follow(&up, load, drive),
                recovered: back(load, drive),
            }
        };
        let usual = work(&load, &drive);
        let in_winter = cold.as_ref().map(|(load, drive)| work(load, drive));
        let on_full = full.as_ref().map(|full| back(&load, full));
        bench.set(climb.slope, slope);
        bench.set(climb.length, Length::from_si(length));
        bench.set(climb.slope_force, Force::from_si(load.weight * sine));
        climb.usual.set(&usual, bench);
        if let (Some(hill), Some(came)) = (&climb.in_winter, &in_winter) {
            hill.set(came, bench);
        }
        if let (Some(slot), Some(energy)) = (climb.recovered_on_full_pack, on_full) {
            bench.set(slot, energy);
        }
    }

    pub(super) fn tell_climb(&self, (load, drive): (&Load, &Drive<'_>), page: &mut Page<'_>) {
        let Some(climb) = &self.climb else { return };
        let (Some(length), Some(speed)) = (page.get(climb.length), page.get(climb.speed)) else { return };
        let Some(slope) = page.get(climb.slope) else { return };
        let values = page.values;
        let up = Course::steady(length.si(), speed.si(), slope.si().sin());
        let cold = self.winter.as_ref().map(|winter| self.in_winter(winter, (load, drive), &|at| values[at]));
        let seasons = [Some((&climb.usual, (*load, *drive))), climb.in_winter.as_ref().zip(cold)];
        for (hill, (load, drive)) in seasons.into_iter().flatten() {
            self.check_hill(climb, (hill, &drive), page);
            let limits = self.limits(&|at| values[at], self.torque_on(page));
            if page.get(hill.energy).is_none()
                && let Some(behind) = limits.behind(&up, &load, &drive)
            {
                let reason = words!("not driven: {}", self.not_driven(&behind, hill.power, page));
                page.not_there(hill.energy, reason);
            }
        }
        if let (Some(slot), Some(share)) = (climb.recovered_on_full_pack, self.full) {
            let full = EnergyUse::on_full_pack(share, drive, &|at| values[at]);
            page.checked(
                slot,
                off(values[slot.index()], self.back(climb, (&climb.usual, &full), page)),
                CLOSE,
            );
        }
        let hill = &climb.usual;
        if page.get(hill.energy).is_none() {
            return;
        }
        let recovered = match (hill.recovered, climb.recovered_on_full_pack) {
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
            page.value(hill.energy),
            recovered
        ));
    }

    /// J that come back: the pushing force's work, within its limits.
    fn back(&self, climb: &Climb, (hill, drive): (&Hill, &Drive<'_>), page: &Page<'_>) -> f64 {
        let of = |index: usize| page.values[index];
        let (length, speed) = (of(climb.length.index()), of(climb.speed.index()));
        let pushing = (-of(hill.downhill.index())).max(0.0);
        match &drive.regeneration {
            Some(back) if speed >= back.minimum_speed => {
                (pushing * speed * back.share * back.efficiency).min(back.power_limit) * length / speed
            }
            _ => 0.0,
        }
    }

    /// Energy is power × time and the current's loss.
    fn check_hill(&self, climb: &Climb, (hill, drive): (&Hill, &Drive<'_>), page: &mut Page<'_>) {
        let values = page.values;
        let of = |index: usize| values[index];
        let speed = of(climb.speed.index());
        let time = of(climb.length.index()) / speed;
        let power = of(hill.power.index());
        let again = power + drive.resistance * drive.current(power).powi(2);
        let factor = of(self.model_factor.index());
        if page.get(hill.energy).is_some() {
            page.checked(hill.energy, off(of(hill.energy.index()), again * time * factor), CLOSE);
        }
        if let Efficiency::Map(..) = drive.efficiency {
            let force = of(hill.uphill.index());
            let again = force * speed / drive.efficiency.again(speed, force) + drive.auxiliary;
            page.checked(hill.power, off(power, again), CLOSE);
        }
        if let Some(slot) = hill.recovered {
            page.checked(slot, off(of(slot.index()), self.back(climb, (hill, drive), page)), CLOSE);
        }
    }
}

const CLOSE: f64 = 1e-9;

fn off(value: f64, again: f64) -> f64 {
    (value - again) / again.abs().max(1.0)
}

/// At the wheels, on the one stretch of a steady course.
fn force_on(course: &Course, load: &Load) -> f64 {
    course.moments(load).next().map_or(f64::NAN, |(_, _, force)| force)
}
