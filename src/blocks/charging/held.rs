//! The constant-voltage part of a charge: declared, worked and checked.

use super::phases::{Drive, Phases};
use super::supply::Supply;
use crate::blocks::shared::charged_pack::ChargedPack;
use crate::findings::codes;
use crate::model::{Bench, Form, Page, RequirementRow, Row, Slot};
use crate::quantities::Curve;
use crate::quantities::si::{ElectricCurrent, ElectricPotential, Energy, Measure, Power, Ratio, Time};
use crate::words::words;

pub(super) static SWITCH_SHARE: Row<Ratio> = Row::procedure(
    "switch_share",
    "share at which the limit voltage is reached",
    "%",
    "where the cells' curve, with the sag of the charging current, comes to the limit voltage",
)
.when("with `constant_voltage`");
pub(super) static END_SHARE: Row<Ratio> = Row::procedure(
    "end_share",
    "share at which the charge ends",
    "%",
    "the wanted share, or where the current at the limit voltage has fallen to the cut-off",
)
.when("with `constant_voltage`");
pub(super) static TIME_CONSTANT_CURRENT: Row<Time> = Row::procedure(
    "time_constant_current",
    "time until the limit voltage",
    "h",
    "capacity / current, summed over the share to the limit voltage by Simpson's rule between the points of the curve",
)
.about("at what the charger gives: from the wall a constant power")
.when("with `constant_voltage`");
pub(super) static TIME_CONSTANT_VOLTAGE: Row<Time> = Row::procedure(
    "time_constant_voltage",
    "time at the limit voltage",
    "h",
    "capacity / current, with current = (limit − voltage at rest) / resistance, over the share to the end: a logarithm between the points of the curve",
)
.about("with a falling current")
.when("with `constant_voltage`");
pub(super) static ENERGY_OF_CURRENT: Row<Energy> = Row::procedure(
    "energy_constant_current",
    "energy until the limit voltage",
    "kWh",
    "the terminals' voltage over the charge, to the limit voltage",
)
.about("into the pack")
.when("with `constant_voltage`");
pub(super) static ENERGY_OF_POWER: Row<Energy> = ENERGY_OF_CURRENT.by("pack_power * time_constant_current");
pub(super) static ENERGY_CONSTANT_VOLTAGE: Row<Energy> = Row::formula(
    "energy_constant_voltage",
    "energy at the limit voltage",
    "kWh",
    "constant_voltage.limit * pack.capacity * (end_share - switch_share)",
)
.about("into the pack")
.when("with `constant_voltage`");

pub(super) static LIMIT: RequirementRow =
    RequirementRow::safety("constant_voltage.limit", "constant_voltage.limit")
        .at_most("pack.full_voltage")
        .source("the full voltage of the cell")
        .only_with(&["constant_voltage.limit"]);

/// Charging with a limit voltage, after the cells' curve.
pub(super) struct Held {
    limit: Slot<ElectricPotential>,
    cut_off: Slot<ElectricCurrent>,
    curve: Slot<Curve>,
    switch_share: Slot<Ratio>,
    end_share: Slot<Ratio>,
    time_constant_current: Slot<Time>,
    time_constant_voltage: Slot<Time>,
    energy_constant_current: Slot<Energy>,
    energy_constant_voltage: Slot<Energy>,
}

/// The slots of a charge that this part of it works from.
pub(super) struct Given<'a> {
    pub pack: &'a ChargedPack,
    pub supply: &'a Supply,
    pub pack_power: Slot<Power>,
    pub from: Slot<Ratio>,
    pub to: Slot<Ratio>,
}

/// The two fields of `constant_voltage`.
pub(super) type Ends = (Slot<ElectricPotential>, Slot<ElectricCurrent>);

/// Reads `constant_voltage`.
pub(super) fn read(form: &mut Form<'_, '_>) -> Option<Ends> {
    form.group("constant_voltage", |form| (form.required("limit"), form.required("cut_off_current")))
}

impl Held {
    pub(super) fn declare(form: &mut Form<'_, '_>, ends: Ends, given: &Given<'_>) -> Held {
        let (limit, cut_off) = ends;
        let curve = given.pack.needed_curve(form);
        let mut uses = vec![
            limit.index(),
            cut_off.index(),
            curve.index(),
            given.pack.series.index(),
            given.pack.resistance.index(),
            given.pack.capacity.index(),
            given.from.index(),
            given.to.index(),
        ];
        uses.push(match given.supply {
            Supply::Mains(_) => given.pack_power.index(),
            Supply::Direct(current) => current.index(),
        });
        let mut out = form.outcomes();
        let switch_share = out.procedure(&SWITCH_SHARE, &uses);
        uses.push(switch_share.index());
        let end_share = out.procedure(&END_SHARE, &uses);
        uses.push(end_share.index());
        let time_constant_current = out.procedure(&TIME_CONSTANT_CURRENT, &uses);
        let time_constant_voltage = out.procedure(&TIME_CONSTANT_VOLTAGE, &uses);
        let energy_constant_current = match given.supply {
            Supply::Mains(_) => out.result(&ENERGY_OF_POWER),
            Supply::Direct(_) => out.procedure(&ENERGY_OF_CURRENT, &uses),
        };
        let energy_constant_voltage = out.result(&ENERGY_CONSTANT_VOLTAGE);
        Held {
            limit,
            cut_off,
            curve,
            switch_share,
            end_share,
            time_constant_current,
            time_constant_voltage,
            energy_constant_current,
            energy_constant_voltage,
        }
    }

    pub(super) fn evaluate(&self, given: &Given<'_>, power: Power, bench: &mut Bench<'_>) {
        let Some((curve, scale)) = bench.curve(self.curve) else { return };
        let value = |slot: Slot<Ratio>| bench.get(slot).value;
        let phases = Phases {
            curve,
            scale: scale * bench.get(given.pack.series),
            resistance: bench.get(given.pack.resistance).si(),
            capacity: bench.get(given.pack.capacity).si(),
            drive: match given.supply {
                Supply::Mains(_) => Drive::Power(power.si()),
                Supply::Direct(current) => Drive::Current(bench.get(*current).si()),
            },
            limit: bench.get(self.limit).si(),
            cut_off: bench.get(self.cut_off).si(),
            from: value(given.from),
            to: value(given.to),
        };
        let (switch, end) = (phases.switch_share(), phases.end_share());
        let (driven, held) = (phases.time_driven(switch), phases.time_held((switch, end)));
        let energy = match phases.drive {
            Drive::Power(power) => power * driven,
            Drive::Current(_) => phases.energy_driven(switch),
        };
        let at_limit = phases.limit * phases.capacity * (end - switch);
        bench.set(self.switch_share, Ratio::from_si(switch));
        bench.set(self.end_share, Ratio::from_si(end));
        bench.set(self.time_constant_current, Time::from_si(driven));
        bench.set(self.time_constant_voltage, Time::from_si(held));
        bench.set(self.energy_constant_current, Energy::from_si(energy));
        bench.set(self.energy_constant_voltage, Energy::from_si(at_limit));
    }

    /// The whole time, and the energy into the terminals; set after [`Held::evaluate`].
    pub(super) fn sums(&self, bench: &Bench<'_>) -> (Time, Energy) {
        let time = bench.get(self.time_constant_current) + bench.get(self.time_constant_voltage);
        (time, bench.get(self.energy_constant_current) + bench.get(self.energy_constant_voltage))
    }

    /// The checks of the methods, what ends the charge, and a curve that does not reach.
    pub(super) fn present(&self, given: &Given<'_>, page: &mut Page<'_>) {
        if let Some((phases, switch, end)) = self.shown(given, page) {
            if end <= phases.from {
                let message = words!(
                    "the pack's voltage is at the limit of {} from the start: nothing is charged",
                    page.value(self.limit)
                );
                let help = "look at `limit`: it is that of the whole pack";
                page.find(&codes::OUT_OF_RANGE, self.limit.index(), message, help);
            }
            self.check(given, &(phases, switch, end), page);
            return;
        }
        let (Some(from), Some(to)) = (page.get(given.from), page.get(given.to)) else { return };
        let Some((curve, _)) = page.curve(self.curve) else { return };
        let outside = [(from, given.from), (to, given.to)]
            .into_iter()
            .find(|(share, _)| curve.at(share.value).is_err());
        if let (Some((_, slot)), true) = (outside, to > from) {
            let message =
                words!("{} of the charge is outside the cell's `open_circuit_curve`", page.value(slot));
            let help = "add points to the curve, best from 0 % to 100 %";
            page.find(&codes::OUTSIDE_CURVE, slot.index(), message, help);
        }
    }

    /// The voltage that is not passed.
    pub(super) fn limit(&self) -> Slot<ElectricPotential> {
        self.limit
    }

    /// Where the charge ends.
    pub(super) fn end(&self) -> Slot<Ratio> {
        self.end_share
    }

    fn shown<'p>(&self, given: &Given<'_>, page: &Page<'p>) -> Option<(Phases<'p>, f64, f64)> {
        let (curve, scale) = page.curve(self.curve)?;
        let phases = Phases {
            curve,
            scale: scale * page.get(given.pack.series)?,
            resistance: page.get(given.pack.resistance)?.si(),
            capacity: page.get(given.pack.capacity)?.si(),
            drive: match given.supply {
                Supply::Mains(_) => Drive::Power(page.get(given.pack_power)?.si()),
                Supply::Direct(current) => Drive::Current(page.get(*current)?.si()),
            },
            limit: page.get(self.limit)?.si(),
            cut_off: page.get(self.cut_off)?.si(),
            from: page.get(given.from)?.value,
            to: page.get(given.to)?.value,
        };
        Some((phases, page.get(self.switch_share)?.value, page.get(self.end_share)?.value))
    }

    fn check(&self, given: &Given<'_>, (phases, switch, end): &(Phases<'_>, f64, f64), page: &mut Page<'_>) {
        let relative = |value: f64, again: f64| if value == again { 0.0 } else { value / again - 1.0 };
        let checks = [
            (self.switch_share.index(), phases.missed((*switch, phases.from), phases.rest_at_switch()), 1e-9),
            (self.end_share.index(), phases.missed((*end, *switch), phases.rest_at_end()), 1e-9),
        ];
        let driven = relative(phases.time_driven(*switch), phases.time_driven_on_half_the_mesh(*switch));
        let held = relative(phases.time_held((*switch, *end)), phases.time_held_again((*switch, *end)));
        let energy = relative(phases.energy_driven(*switch), phases.energy_driven_again(*switch));
        let direct = matches!(given.supply, Supply::Direct(_));
        for (index, residual, allowed) in checks {
            page.checked(Slot::<Ratio>::new(index), residual, allowed);
        }
        page.checked(self.time_constant_current, driven, 1e-7);
        page.checked(self.time_constant_voltage, held, 1e-3);
        if direct {
            page.checked(self.energy_constant_current, energy, 1e-9);
        }
        if *end < phases.to {
            page.note(words!(
                "The current falls to {} at {} of the charge: charging ends there, before the wanted {}.",
                page.value(self.cut_off),
                page.value(self.end_share),
                page.value(given.to)
            ));
        }
    }
}
