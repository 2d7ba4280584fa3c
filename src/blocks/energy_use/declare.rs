//! Declares the results of an energy-use block over its cycles and speeds.

use super::cycle::Course;
use super::{AtSpeed, DriveEfficiency, EnergyUse, OverCycle, Ranges, Recovered, Steady, Written, rows};
use crate::model::{Case, Entry, Form, Outcomes, Row, Slot};
use crate::quantities::si::{Measure, Velocity};

/// Declares results of one cycle or speed.
struct OfCase<'c, 'f, 'd, 'n> {
    out: Outcomes<'f, 'd, 'n>,
    case: &'c Case,
    /// Whether what is driven could be read.
    readable: bool,
}

impl OfCase<'_, '_, '_, '_> {
    fn result<T: Measure>(&mut self, row: &'static Row<T>) -> Slot<T> {
        match self.readable {
            true => self.out.result(row.of(self.case)),
            false => self.out.unknown(row.of(self.case)),
        }
    }

    /// `uses` is `None` where this block does not have what the method needs.
    fn procedure<T: Measure>(&mut self, row: &'static Row<T>, uses: Option<&[usize]>) -> Slot<T> {
        match uses {
            Some(uses) if self.readable => self.out.procedure(row.of(self.case), uses),
            _ => self.out.unknown(row.of(self.case)),
        }
    }
}

impl EnergyUse {
    fn load_uses(&self) -> Vec<usize> {
        let road = &self.road;
        vec![road.f0.index(), road.f1.index(), road.f2.index(), road.mass.index()]
    }

    fn drive_uses(&self) -> Option<Vec<usize>> {
        let mut uses = self.load_uses();
        match &self.efficiency {
            DriveEfficiency::Constant(slot) => uses.push(slot.index()),
            DriveEfficiency::Map { ratio, circumference, efficiency, .. } => {
                uses.extend([ratio.index(), circumference.index(), efficiency.index()]);
            }
            DriveEfficiency::Unknown => return None,
        }
        Some(uses)
    }

    fn regeneration_uses(&self) -> Vec<usize> {
        let Some(back) = &self.regeneration else { return Vec::new() };
        let limits = [back.power_limit.map(Slot::index), back.minimum_speed.map(Slot::index)];
        [back.share.index(), back.efficiency.index()]
            .into_iter()
            .chain(limits.into_iter().flatten())
            .collect()
    }

    /// `None` where nothing is said of the winter.
    fn winter_uses(&self) -> Option<Vec<usize>> {
        let winter = self.winter.as_ref()?;
        let mut uses = vec![winter.power.index()];
        uses.extend(winter.load_increase.map(Slot::index));
        Some(uses)
    }

    pub(super) fn over_cycle(&self, form: &mut Form<'_, '_>, entry: Entry<Written>) -> Option<OverCycle> {
        let title = entry.read.title.map_or(entry.title, str::to_owned);
        let case = Case { slug: entry.slug, title: title.clone() };
        let trace = entry.read.trace;
        let mut of = OfCase { out: form.outcomes(), case: &case, readable: trace.is_some() };
        let load = self.load_uses();
        let back = self.regeneration_uses();
        let drive = self.drive_uses().map(|uses| [uses, back.clone()].concat());
        let with = |more: &[usize]| drive.as_ref().map(|uses| [uses.as_slice(), more].concat());
        let duration = of.procedure(&rows::DURATION, Some(&[]));
        let distance = of.procedure(&rows::DISTANCE, Some(&[]));
        let at_wheel = of.procedure(&rows::AT_WHEEL, Some(&load));
        let braking = of.procedure(&rows::BRAKING, Some(&load));
        let drawn = match &self.efficiency {
            DriveEfficiency::Constant(_) => of.result(&rows::DRAWN),
            _ => of.procedure(&rows::DRAWN_BY_MAP, self.drive_uses().as_deref()),
        };
        let recovered = self.regeneration.as_ref().map(|fields| {
            match fields.power_limit.is_none() && fields.minimum_speed.is_none() {
                true => Recovered::Plain(of.result(&rows::RECOVERED)),
                false => {
                    let uses = [load.as_slice(), &back].concat();
                    Recovered::Limited(of.procedure(&rows::RECOVERED_WITHIN_LIMITS, Some(&uses)))
                }
            }
        });
        let auxiliaries = of.result(&rows::AUXILIARIES);
        let consumption = match recovered {
            Some(_) => of.result(&rows::CONSUMPTION),
            None => of.result(&rows::CONSUMPTION_WITHOUT_RECOVERY),
        };
        let peak_power = of.procedure(&rows::PEAK_POWER, Some(&load));
        let pack = [self.pack.voltage.index(), self.pack.resistance.index(), self.auxiliary.index()];
        let rms_current = of.procedure(&rows::RMS_CURRENT, with(&pack).as_deref());
        let winter = self.winter_uses().and_then(|uses| with(&uses));
        let in_winter = of.procedure(&rows::CONSUMPTION_IN_WINTER, winter.as_deref());
        let ranges = Ranges {
            usual: of.result(&rows::RANGE),
            winter: of.result(&rows::RANGE_IN_WINTER),
            aged: of.result(&rows::RANGE_AGED),
        };
        let trace = trace?;
        Some(OverCycle {
            title,
            course: Course::new(&trace),
            trace,
            source: entry.read.source,
            duration,
            distance,
            at_wheel,
            braking,
            drawn,
            recovered,
            auxiliaries,
            consumption,
            peak_power,
            rms_current,
            in_winter,
            ranges,
        })
    }

    pub(super) fn at_speed(&self, form: &mut Form<'_, '_>, entry: &Entry<Slot<Velocity>>) -> AtSpeed {
        let case = entry.case();
        let mut of = OfCase { out: form.outcomes(), case: &case, readable: true };
        let by_map = !matches!(self.efficiency, DriveEfficiency::Constant(_));
        let speed = entry.read.index();
        let uses = self.drive_uses().map(|uses| [uses.as_slice(), &[speed]].concat());
        let drag = of.result(&rows::DRAG_AT);
        let usual = Steady {
            drag,
            efficiency: by_map.then(|| of.procedure(&rows::EFFICIENCY_AT, uses.as_deref())),
            consumption: match by_map {
                false => of.result(&rows::CONSUMPTION_AT),
                true => of.result(&rows::CONSUMPTION_AT_BY_MAP),
            },
        };
        let ranges_usual = of.result(&rows::RANGE_AT);
        let winter = self.winter_uses().zip(uses).map(|(winter, uses)| [uses, winter].concat());
        let colder = self.winter.as_ref().is_some_and(|winter| winter.load_increase.is_some());
        let in_winter = Steady {
            drag: match (colder, &self.winter) {
                (true, _) => of.result(&rows::DRAG_IN_WINTER_AT),
                (false, Some(_)) => of.result(&rows::DRAG_IN_MILD_WINTER_AT),
                (false, None) => of.out.unknown(rows::DRAG_IN_WINTER_AT.of(&case)),
            },
            efficiency: by_map.then(|| of.procedure(&rows::EFFICIENCY_IN_WINTER_AT, winter.as_deref())),
            consumption: match by_map {
                false => of.result(&rows::CONSUMPTION_IN_WINTER_AT),
                true => of.result(&rows::CONSUMPTION_IN_WINTER_AT_BY_MAP),
            },
        };
        let ranges = Ranges {
            usual: ranges_usual,
            winter: of.result(&rows::RANGE_IN_WINTER_AT),
            aged: of.result(&rows::RANGE_AGED_AT),
        };
        AtSpeed { title: entry.title.clone(), speed: entry.read, usual, in_winter, ranges }
    }
}
