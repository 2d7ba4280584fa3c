//! Declares the results of an energy-use block: those of each cycle and of each speed.

use super::cycle::Course;
use super::{AtSpeed, DriveEfficiency, EnergyUse, OverCycle, Ranges, Recovered, Written};
use crate::model::{Entry, Form, Slot};
use crate::quantities::si::{Consumption, Ratio, Velocity};

/// What the consumption and the range of a cycle or speed are called; others end with `_winter` or `_aged`.
struct Names {
    consumption: String,
    range: String,
}

impl EnergyUse {
    fn load_uses(&self) -> Vec<usize> {
        let road = &self.road;
        vec![road.f0.index(), road.f1.index(), road.f2.index(), road.mass.index()]
    }

    fn drive_uses(&self) -> Vec<usize> {
        let mut uses = self.load_uses();
        match &self.efficiency {
            DriveEfficiency::Constant(slot) => uses.push(slot.index()),
            DriveEfficiency::Map { ratio, circumference, efficiency, .. } => {
                uses.extend([ratio.index(), circumference.index(), efficiency.index()]);
            }
            DriveEfficiency::Unknown(slot) => uses.push(slot.index()),
        }
        uses
    }

    fn regeneration_uses(&self) -> Vec<usize> {
        let Some(back) = &self.regeneration else { return Vec::new() };
        let limits = [back.power_limit.map(Slot::index), back.minimum_speed.map(Slot::index)];
        [back.share.index(), back.efficiency.index()]
            .into_iter()
            .chain(limits.into_iter().flatten())
            .collect()
    }

    fn winter_uses(&self) -> Vec<usize> {
        let Some(winter) = &self.winter else { return Vec::new() };
        let mut uses = vec![self.auxiliary.index()];
        uses.extend(winter.load_increase.map(Slot::index));
        uses.extend(winter.heater.map(Slot::index));
        uses
    }

    pub(super) fn over_cycle(
        &self,
        form: &mut Form<'_, '_>,
        entry: Entry<Written>,
        life_share: Option<Slot<Ratio>>,
    ) -> Option<OverCycle> {
        let slug = &entry.slug;
        let name = |what: &str| format!("{slug}_{what}");
        let Some(trace) = entry.read.trace else {
            // What refers to its results waits in silence: the finding stands at the trace.
            for what in
                ["duration", "distance", "at_wheel", "consumption", "range", "peak_power", "rms_current"]
            {
                form.failed_result::<Consumption>(&name(what));
            }
            return None;
        };
        let load = self.load_uses();
        let drive = self.drive_uses();
        let back = self.regeneration_uses();
        let duration = form.procedure(&name("duration"), "s", "last time less first time", &[]);
        let distance = form.procedure(&name("distance"), "km", "sum of mean speed × step", &[]);
        let at_wheel = form.procedure(
            &name("at_wheel"),
            "Wh/km",
            "∫ of the driving power at the wheels over the distance, in closed form between samples, split where the force changes sign",
            &load,
        );
        let braking = form.procedure(
            &name("braking"),
            "Wh/km",
            "∫ of the braking power at the wheels over the distance, in closed form between samples, split where the force changes sign",
            &load,
        );
        let drawn = match &self.efficiency {
            DriveEfficiency::Constant(_) => None,
            _ => Some(form.procedure(
                &name("drawn"),
                "Wh/km",
                "∫ of driving power / efficiency from the map over the distance, by Gauss's points between samples",
                &drive,
            )),
        };
        let recovered = self.regeneration.as_ref().map(|fields| {
            if fields.power_limit.is_none() && fields.minimum_speed.is_none() {
                let formula = format!("{slug}_braking * regeneration.share * regeneration.efficiency");
                return Recovered::Plain(form.step(&name("recovered"), "Wh/km", &formula));
            }
            let uses = [load.as_slice(), &back].concat();
            Recovered::Limited(form.procedure(
                &name("recovered"),
                "Wh/km",
                "∫ of the recovered power, within its limits of power and speed, over the distance, in closed form between samples",
                &uses,
            ))
        });
        let drive_part = match drawn {
            None => format!("{slug}_at_wheel / drive_efficiency"),
            Some(_) => format!("{slug}_drawn"),
        };
        let recovered_part = recovered.map_or_else(String::new, |_| format!(" - {slug}_recovered"));
        let consumption = form.step(
            &name("consumption"),
            "Wh/km",
            &format!("{drive_part}{recovered_part} + auxiliary_power * {slug}_duration / {slug}_distance"),
        );
        let peak_power = form.procedure(
            &name("peak_power"),
            "kW",
            "largest driving power at the wheels, at the ends of the steps and where it turns",
            &load,
        );
        let pack = &self.pack;
        let electric = [pack.voltage.index(), pack.resistance.index(), self.auxiliary.index()];
        let rms_current = form.procedure(
            &name("rms_current"),
            "A",
            "root of the mean square over the duration, each current from the power at the terminals through the pack's resistance, by Gauss's points between samples",
            &[drive.as_slice(), &back, &electric].concat(),
        );
        let winter_uses = [drive.as_slice(), &back, &self.winter_uses()].concat();
        let winter = self.winter.as_ref().map(|_| {
            let method = "as the consumption, with the road load in the cold and the heater";
            form.procedure(&name("consumption_winter"), "Wh/km", method, &winter_uses)
        });
        let names = Names { consumption: name("consumption"), range: name("range") };
        let ranges = self.ranges(form, &names, winter, life_share);
        Some(OverCycle {
            title: entry.read.title.map_or(entry.title, str::to_owned),
            course: Course::new(&trace),
            trace,
            source: entry.read.source,
            duration,
            distance,
            at_wheel,
            braking,
            drawn,
            recovered,
            consumption,
            peak_power,
            rms_current,
            ranges,
        })
    }

    pub(super) fn at_speed(
        &self,
        form: &mut Form<'_, '_>,
        entry: Entry<Slot<Velocity>>,
        life_share: Option<Slot<Ratio>>,
    ) -> AtSpeed {
        let speed = format!("speeds.{}", entry.slug);
        let names = Names {
            consumption: format!("consumption_at_{}", entry.slug),
            range: format!("range_at_{}", entry.slug),
        };
        let force = format!("(road.f0 + road.f1 * {speed} + road.f2 * {speed}^2)");
        let constant = matches!(self.efficiency, DriveEfficiency::Constant(_));
        let method = "road load / efficiency from the map + auxiliary power / speed";
        let uses = [self.drive_uses().as_slice(), &[entry.read.index(), self.auxiliary.index()]].concat();
        let consumption = if constant {
            let formula = format!("{force} / drive_efficiency + auxiliary_power / {speed}");
            form.step(&names.consumption, "Wh/km", &formula)
        } else {
            form.procedure(&names.consumption, "Wh/km", method, &uses)
        };
        let winter = self.winter.as_ref().map(|winter| {
            let name = format!("{}_winter", names.consumption);
            if !constant {
                let uses = [uses.as_slice(), &self.winter_uses()].concat();
                return form.procedure(&name, "Wh/km", method, &uses);
            }
            let more = winter.load_increase.map_or("", |_| " * (1 + cold.load_increase)");
            let heater = winter.heater.map_or("auxiliary_power", |_| "(auxiliary_power + heater_power)");
            form.step(&name, "Wh/km", &format!("{force}{more} / drive_efficiency + {heater} / {speed}"))
        });
        let ranges = self.ranges(form, &names, winter, life_share);
        AtSpeed { title: entry.title, speed: entry.read, consumption, ranges }
    }

    fn ranges(
        &self,
        form: &mut Form<'_, '_>,
        names: &Names,
        winter: Option<Slot<Consumption>>,
        life_share: Option<Slot<Ratio>>,
    ) -> Ranges {
        let Names { consumption, range } = names;
        let usual = form.step(range, "km", &format!("pack.usable_energy / {consumption}"));
        let winter = winter.map(|used| {
            let cold = self.winter.as_ref().and_then(|winter| winter.energy_share);
            let share = cold.map_or("", |_| " * cold.energy_share");
            let formula = format!("pack.usable_energy{share} / {consumption}_winter");
            (used, form.step(&format!("{range}_winter"), "km", &formula))
        });
        let aged = life_share
            .map(|life| (life, form.step(&format!("{range}_aged"), "km", &format!("{range} * life_share"))));
        Ranges { usual, winter, aged }
    }
}
