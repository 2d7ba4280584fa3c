//! Declares the results of an energy-use block over its cycles and speeds.

use super::cycle::Course;
use super::{
    AtSpeed, DriveEfficiency, EnergyUse, OverCycle, Ranges, Recovered, Steady, Winter, Written, rows,
};
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

    pub(super) fn drive_uses(&self) -> Option<Vec<usize>> {
        let mut uses = self.load_uses();
        match &self.efficiency {
            DriveEfficiency::Constant(slot) => uses.push(slot.index()),
            DriveEfficiency::Map(_, chain) => {
                uses.extend([chain.ratio.index(), chain.circumference.index(), chain.efficiency.index()]);
            }
            DriveEfficiency::Unknown => return None,
        }
        Some(uses)
    }

    pub(super) fn regeneration_uses(&self) -> Vec<usize> {
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
        uses.extend([winter.load_increase, winter.regeneration_share].into_iter().flatten().map(Slot::index));
        Some(uses)
    }

    pub(super) fn over_cycle(&self, form: &mut Form<'_, '_>, entry: Entry<Written>) -> Option<OverCycle> {
        let title = entry.read.title.map_or(entry.title, str::to_owned);
        let case = Case { slug: entry.slug, title: title.clone() };
        let trace = entry.read.trace;
        let mut of = OfCase { out: form.outcomes(), case: &case, readable: trace.is_some() };
        let heights = trace.as_ref().and_then(|trace| trace.heights());
        let lifted: Vec<usize> = heights.and(self.road.lifted).map(Slot::index).into_iter().collect();
        let load = [self.load_uses(), lifted.clone()].concat();
        let back = self.regeneration_uses();
        let by_map = self.drive_uses().map(|uses| [uses, lifted].concat());
        let drive = by_map.as_ref().map(|uses| [uses.as_slice(), &back].concat());
        let with = |more: &[usize]| drive.as_ref().map(|uses| [uses.as_slice(), more].concat());
        let duration = of.procedure(&rows::DURATION, Some(&[]));
        let distance = of.procedure(&rows::DISTANCE, Some(&[]));
        let at_wheel = of.procedure(&rows::AT_WHEEL, Some(&load));
        let braking = of.procedure(&rows::BRAKING, Some(&load));
        let drawn = match &self.efficiency {
            DriveEfficiency::Constant(_) => of.result(&rows::DRAWN),
            _ => of.procedure(&rows::DRAWN_BY_MAP, by_map.as_deref()),
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
        let at_terminals = match recovered {
            Some(_) => of.result(&rows::AT_TERMINALS),
            None => of.result(&rows::AT_TERMINALS_WITHOUT_RECOVERY),
        };
        let peak_power = of.procedure(&rows::PEAK_POWER, Some(&load));
        let pack = [self.pack.voltage.index(), self.pack.resistance.index(), self.auxiliary.index()];
        let pack_power = match &self.efficiency {
            DriveEfficiency::Constant(_) => of.result(&rows::PACK_POWER),
            _ => of.procedure(&rows::BATTERY_POWER_BY_MAP, with(&pack[2..]).as_deref()),
        };
        let electric = with(&[pack.as_slice(), &self.limits.uses()].concat());
        let rms_current = of.procedure(&rows::RMS_CURRENT, electric.as_deref());
        let pack_loss = of.result(&rows::PACK_LOSS);
        let consumption = of.result(&rows::CONSUMPTION);
        let full = electric.as_ref().zip(self.full).map(|(electric, share)| {
            [electric.as_slice(), &[share.index(), self.model_factor.index()]].concat()
        });
        let on_full_pack = of.procedure(&rows::CONSUMPTION_ON_FULL_PACK, full.as_deref());
        let climbed = of.procedure(&rows::CLIMBED, heights.map(|_| [].as_slice()));
        let climbing = match heights {
            Some(_) => of.result(&rows::CLIMBING),
            None => of.out.unknown(rows::CLIMBING.of(&case)),
        };
        let winter = self.winter_uses().zip(electric);
        let winter =
            winter.map(|(uses, electric)| [electric, uses, vec![self.model_factor.index()]].concat());
        let in_winter = of.procedure(&rows::CONSUMPTION_IN_WINTER, winter.as_deref());
        let ranges = Ranges {
            usual: of.result(&rows::RANGE),
            winter: of.result(&rows::RANGE_IN_WINTER),
            aged: of.result(&rows::RANGE_AGED),
            winter_aged: of.result(&rows::RANGE_IN_WINTER_AGED),
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
            at_terminals,
            pack_loss,
            consumption,
            peak_power,
            pack_power,
            rms_current,
            in_winter,
            climbed,
            climbing,
            on_full_pack,
            ranges,
            memos: Default::default(),
        })
    }

    pub(super) fn at_speed(&self, form: &mut Form<'_, '_>, entry: &Entry<Slot<Velocity>>) -> AtSpeed {
        let case = entry.case();
        let mut of = OfCase { out: form.outcomes(), case: &case, readable: true };
        let by_map = !matches!(self.efficiency, DriveEfficiency::Constant(_));
        let uses = self.drive_uses().map(|uses| [uses.as_slice(), &[entry.read.index()]].concat());
        let pack = [self.pack.voltage.index(), self.pack.resistance.index()];
        let behind =
            [pack.as_slice(), &self.limits.uses(), &self.lasting.uses(), &[entry.read.index()]].concat();
        let drag = of.result(&rows::DRAG_AT);
        let efficiency = by_map.then(|| of.procedure(&rows::EFFICIENCY_AT, uses.as_deref()));
        let power = of.result(if by_map { &rows::POWER_AT_BY_MAP } else { &rows::POWER_AT });
        let under = [behind.as_slice(), &[power.index()]].concat();
        let voltage = of.procedure(&rows::VOLTAGE_AT, Some(&under));
        let cell_power = of.result(&rows::CELL_POWER_AT);
        let consumption = of.result(&rows::CONSUMPTION_AT);
        let usual = Steady { drag, efficiency, power, voltage, cell_power, consumption };
        let usual_range = of.result(&rows::RANGE_AT);
        let drag = match &self.winter {
            Some(Winter { load_increase: Some(_), .. }) => of.result(&rows::DRAG_IN_WINTER_AT),
            Some(_) => of.result(&rows::DRAG_IN_MILD_WINTER_AT),
            None => of.out.unknown(rows::DRAG_IN_WINTER_AT.of(&case)),
        };
        let winter = self.winter_uses().zip(uses).map(|(winter, uses)| [uses, winter].concat());
        let efficiency = by_map.then(|| of.procedure(&rows::EFFICIENCY_IN_WINTER_AT, winter.as_deref()));
        let power =
            of.result(if by_map { &rows::POWER_IN_WINTER_AT_BY_MAP } else { &rows::POWER_IN_WINTER_AT });
        let under = self.winter.as_ref().map(|_| [behind.as_slice(), &[power.index()]].concat());
        let voltage = of.procedure(&rows::VOLTAGE_IN_WINTER_AT, under.as_deref());
        let cell_power = of.result(&rows::CELL_POWER_IN_WINTER_AT);
        let consumption = of.result(&rows::CONSUMPTION_IN_WINTER_AT);
        let in_winter = Steady { drag, efficiency, power, voltage, cell_power, consumption };
        let ranges = Ranges {
            usual: usual_range,
            winter: of.result(&rows::RANGE_IN_WINTER_AT),
            aged: of.result(&rows::RANGE_AGED_AT),
            winter_aged: of.result(&rows::RANGE_IN_WINTER_AGED_AT),
        };
        AtSpeed { title: entry.title.clone(), speed: entry.read, usual, in_winter, ranges }
    }
}
