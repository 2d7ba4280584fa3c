//! What comes out of the wall: the least of what the station, the cable and the charger allow.

use super::rows::INTO_THE_PACK;
use super::signals::{Cables, Pilot};
use crate::findings::{Code, Severity, codes};
use crate::model::{Bench, BlockName, Form, Page, RequirementRow, Row, Slot, Stage, Status, Taken};
use crate::quantities::si::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Measure, Power, Ratio,
};
use crate::rules::{literal, table};
use crate::words::words;

pub(super) static PILOT_DUTY: Code = Code {
    name: "pilot-duty",
    severity: Severity::Error,
    about: "a duty of the control pilot that allows no charging current",
};

pub(super) static CABLE_CODE: Code = Code {
    name: "cable-code",
    severity: Severity::Error,
    about: "a resistor in a cable's plug that stands for no current",
};

pub(super) static PHASE_VOLTAGE: Code = Code {
    name: "phase-voltage",
    severity: Severity::Warning,
    about: "a voltage that looks like that between two phases where that between a phase and neutral is expected",
};

pub(super) static EFFICIENCY: Taken<Ratio> = Taken::new("charger", "efficiency");
pub(super) static POWER_LIMIT: Taken<Power> = Taken::new("charger", "power_limit").about("at its output");
pub(super) static CURRENT_LIMIT: Taken<ElectricCurrent> =
    Taken::new("charger", "current_limit").about("of each phase");

pub(super) static CHARGE_END_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("charger", "charge_end_voltage").stands_for("charge_end_voltage");

pub(super) static PILOT_CURRENT: Row<ElectricCurrent> = Row::procedure(
    "pilot_current",
    "current that the station allows",
    "A",
    "slope × duty + offset of the band that the duty lies in, by the pilot's table",
)
.looks_up(&["control_pilot"])
.when("with `supply.duty`");
pub(super) static CABLE_CURRENT: Row<ElectricCurrent> = Row::procedure(
    "cable_current",
    "current that the cable may carry",
    "A",
    "the current that the plug's resistor stands for, by the table; between two codes the lower",
)
.looks_up(&["type_2_proximity", "proximity_reach"])
.when("with `cable_resistor`");
pub(super) static AT_POWER_LIMIT: Row<ElectricCurrent> = Row::formula(
    "current_at_power_limit",
    "current at the charger's power limit",
    "A",
    "charger.power_limit / (charger.efficiency * supply.phases * supply.phase_voltage)",
)
.about("of each phase")
.when("with `supply` and a charger with `power_limit`");
pub(super) static CURRENT: Row<ElectricCurrent> =
    Row::formula("current", "current of each phase", "A", "min(EACH)")
        .each(&[("EACH", "pilot_current, cable_current, charger.current_limit")])
        .about("the least of what station, cable and charger allow")
        .when("with `supply`")
        .principal();

/// Over its breaker a current is too large in any country.
pub(super) static ON_THE_BREAKER: RequirementRow = RequirementRow::safety("breaker", "current")
    .label("current on the breaker")
    .at_most("breaker")
    .source("the breaker's rating")
    .only_with(&["breaker_share"]);
pub(super) static CONTINUOUSLY: RequirementRow = RequirementRow::safety("current", "current")
    .label("current that is drawn for hours")
    .at_most("breaker_share * breaker")
    .only_with(&["breaker_share"]);

/// The charger's sheet; its power limit is that of its output.
pub(super) struct Charger {
    name: Option<BlockName>,
    pub efficiency: Slot<Ratio>,
    pub power_limit: Option<Slot<Power>>,
    pub current_limit: Option<Slot<ElectricCurrent>>,
}

pub(super) enum Supply {
    Mains(Box<Mains>),
    /// Direct current into the pack.
    Direct(Slot<ElectricCurrent>),
}

pub(super) struct Mains {
    phase_voltage: Slot<ElectricPotential>,
    phases: Slot<f64>,
    pilot: Option<Station>,
    cable: Option<Cable>,
    at_power_limit: Slot<ElectricCurrent>,
    /// What the current is the least of.
    least: Vec<Slot<ElectricCurrent>>,
    current: Slot<ElectricCurrent>,
}

/// The pilot's duty, and the current that it allows.
struct Station {
    duty: Slot<Ratio>,
    current: Slot<ElectricCurrent>,
    bands: Pilot,
}

struct Cable {
    resistor: Slot<ElectricalResistance>,
    current: Slot<ElectricCurrent>,
    codes: Cables,
}

impl Charger {
    /// Reads the charger's part. One with neither limit is `missing-field`, unless the current is stated as the pack's.
    pub(super) fn read(form: &mut Form<'_, '_>) -> Charger {
        let name = form.lookup().block_name("charger");
        let mut lookup = form.lookup();
        let charger = Charger {
            efficiency: lookup.taken(&EFFICIENCY, name.as_ref()),
            power_limit: lookup.if_there(&POWER_LIMIT, name.as_ref()),
            current_limit: lookup.if_there(&CURRENT_LIMIT, name.as_ref()),
            name,
        };
        if let Some(BlockName { name, span, .. }) = &charger.name
            && form.has("supply")
            && !name.is_empty()
            && charger.power_limit.is_none()
            && charger.current_limit.is_none()
        {
            let message = words!("`{}` has neither `power_limit` nor `current_limit`", name);
            let help = words!(
                "type one of them in `{}`, or both: `power_limit` at its output, `current_limit` at its plug",
                name
            );
            form.report(&codes::MISSING_FIELD, *span, message, help);
        }
        charger
    }

    /// The voltage that it ends at: the block's own, or that of its part.
    pub(super) fn end_voltage(&self, form: &mut Form<'_, '_>) -> Option<Slot<ElectricPotential>> {
        let own = form.optional("charge_end_voltage");
        own.or_else(|| form.lookup().if_there(&CHARGE_END_VOLTAGE, self.name.as_ref()))
    }

    /// No charger gives more than it takes: `93` was meant as `93 %`.
    pub(super) fn present(&self, page: &mut Page<'_>) {
        let Some(efficiency) = page.get(self.efficiency).map(|efficiency| efficiency.value) else { return };
        if efficiency > 1.0 || efficiency <= 0.0 {
            let message = words!("a charger with an efficiency of {}", page.value(self.efficiency));
            let help = "an efficiency is more than 0 and at most 1: type `93 %`";
            page.find(&codes::OUT_OF_RANGE, self.efficiency.index(), message, help);
        }
    }
}

/// What stands under `supply`: the voltage of a phase, their number, and the duty or the current.
type Written = (Slot<ElectricPotential>, Slot<f64>, Option<Slot<Ratio>>, Option<Slot<ElectricCurrent>>);

impl Supply {
    /// Reads `supply`, `current`, `cable_resistor` and `breaker`, and declares the currents.
    pub(super) fn read(form: &mut Form<'_, '_>, charger: &Charger) -> Supply {
        if form.has("supply") {
            return match Supply::group(form) {
                Some(written) => Supply::Mains(Box::new(Mains::read(form, written, charger))),
                None => Supply::Direct(form.outcomes().unknown(&CURRENT)),
            };
        }
        for key in ["cable_resistor", "breaker", "breaker_share"] {
            if form.has(key) {
                let message = words!("`{}` without a `supply` that it belongs to", key);
                let help = "type `supply: {phase_voltage: 230 V, phases: 1, duty: 53 %}`";
                form.report(&codes::BAD_VALUE, form.place_of(key), message, help);
            }
        }
        if form.has("current") {
            return Supply::Direct(form.required("current"));
        }
        form.missing("supply");
        Supply::Direct(form.outcomes().unknown(&CURRENT))
    }

    fn group(form: &mut Form<'_, '_>) -> Option<Written> {
        let outside = form.has("current");
        let (phase_voltage, phases, duty, stated) = form.group("supply", |form| {
            let (phase_voltage, phases) = (form.required("phase_voltage"), form.required("phases"));
            if form.node(phases).si().is_some_and(|phases| phases > 3.0) {
                let message = "a supply of more than three phases";
                form.report(&codes::OUT_OF_RANGE, form.place_of("phases"), message, "type 1, 2 or 3");
            }
            if !outside {
                form.one_of(&["duty", "current"]);
            } else if form.has("duty") {
                let message = "both a `duty` and a `current` of the supply";
                form.report(&codes::BAD_VALUE, form.place, message, "keep one of them");
            }
            (phase_voltage, phases, form.optional("duty"), form.optional("current"))
        })?;
        let outer = form.take("current").map(|value| form.value(("current", "supply.current"), &value));
        Some((phase_voltage, phases, duty, stated.or(outer)))
    }

    /// Sets the currents. Gives the power from the wall and the power into the pack.
    pub(super) fn evaluate(
        &self,
        charger: &Charger,
        nominal: ElectricPotential,
        bench: &mut Bench<'_>,
    ) -> (Power, Power) {
        let efficiency = bench.get(charger.efficiency);
        match self {
            Supply::Direct(current) => {
                let pack = bench.get(*current) * nominal;
                (pack / efficiency, pack)
            }
            Supply::Mains(mains) => {
                let wall = mains.evaluate(charger, bench);
                (wall, wall * efficiency)
            }
        }
    }

    /// The current as it is told: of each phase, or into the pack.
    pub(super) fn current(&self) -> Slot<ElectricCurrent> {
        match self {
            Supply::Direct(current) => *current,
            Supply::Mains(mains) => mains.current,
        }
    }

    pub(super) fn present(&self, page: &mut Page<'_>) {
        let Supply::Mains(mains) = self else { return };
        mains.present_phases(page);
        mains.present_station(page);
        mains.present_cable(page);
        page.note(
            "Outlet, wiring, protective device and earth are for a licensed electrician, by the local code.",
        );
    }
}

/// The lesser of two, and no number where one is none.
fn lesser(a: ElectricCurrent, b: ElectricCurrent) -> ElectricCurrent {
    if b < a || b.is_nan() { b } else { a }
}

impl Mains {
    fn read(form: &mut Form<'_, '_>, written: Written, charger: &Charger) -> Mains {
        let (phase_voltage, phases, duty, stated) = written;
        let resistor = form.optional("cable_resistor");
        if form.optional::<ElectricCurrent>("breaker").is_some() || form.has("breaker_share") {
            form.limit::<Ratio>("breaker_share", "continuous_load_share");
        }
        let mut out = form.outcomes();
        let pilot = duty.map(|duty| Station {
            duty,
            current: out.procedure(&PILOT_CURRENT, &[duty.index()]),
            bands: Pilot::published(),
        });
        let cable = resistor.map(|resistor: Slot<ElectricalResistance>| Cable {
            resistor,
            current: out.procedure(&CABLE_CURRENT, &[resistor.index()]),
            codes: Cables::published(),
        });
        let at_power_limit = out.result(&AT_POWER_LIMIT);
        let station = stated.or(pilot.as_ref().map(|pilot| pilot.current));
        let least: Vec<_> = [
            station,
            cable.as_ref().map(|cable| cable.current),
            charger.current_limit,
            charger.power_limit.map(|_| at_power_limit),
        ]
        .into_iter()
        .flatten()
        .collect();
        let each = out.names_of(least.iter().copied());
        let current = out.result(CURRENT.with("EACH", each));
        out.require(&ON_THE_BREAKER);
        out.require(&CONTINUOUSLY);
        Mains { phase_voltage, phases, pilot, cable, at_power_limit, least, current }
    }

    fn evaluate(&self, charger: &Charger, bench: &mut Bench<'_>) -> Power {
        if let Some(Station { duty, current, bands }) = &self.pilot {
            bench.set(*current, bands.current(bench.get(*duty)));
        }
        if let Some(cable) = &self.cable {
            bench.set(cable.current, cable.codes.current(bench.get(cable.resistor)));
        }
        let each = bench.get(self.phases) * bench.get(self.phase_voltage);
        if let Some(limit) = charger.power_limit {
            bench.set(self.at_power_limit, bench.get(limit) / (bench.get(charger.efficiency) * each));
        }
        let all = self.least.iter().map(|slot| bench.get(*slot));
        let current = all.reduce(lesser).unwrap_or_default();
        bench.set(self.current, current);
        current * each
    }

    /// A voltage between two phases in the place of that of one makes power, and shortens the time. A single phase may
    /// be one of two that a socket has, so it is asked about outside all that there is.
    fn present_phases(&self, page: &mut Page<'_>) {
        let (Some(voltage), Some(phases)) = (page.get(self.phase_voltage), page.get(self.phases)) else {
            return;
        };
        let table = table("phase_voltages");
        let si = |row: &[String], title: &str| literal(table.cell(row, title)).quantity.si;
        let from = |row: &Vec<String>| si(row, "from") <= voltage.si();
        let to = |row: &Vec<String>| voltage.si() <= si(row, "to");
        let usual = match phases < 2.0 {
            true => table.rows.iter().any(from) && table.rows.iter().any(to),
            false => table.rows.iter().any(|row| from(row) && to(row)),
        };
        if usual {
            return;
        }
        let message = words!(
            "{} between a phase and neutral, with {}, is not usual",
            page.value(self.phase_voltage),
            if phases < 2.0 { words!("one phase") } else { words!("{} phases", page.value(self.phases)) }
        );
        let between = page.value_as(self.phase_voltage, voltage.si() / 3f64.sqrt());
        let help = match phases < 2.0 {
            true => words!("look at its digits: `phase_voltage: 230 V`"),
            false => words!("if it was measured between two phases, type {}", between),
        };
        page.find(&PHASE_VOLTAGE, self.phase_voltage.index(), message, help);
        // With too small a voltage the current into the pack comes out too small, with too large a one that of the supply.
        let reason = "the voltage of a phase is not usual";
        if table.rows.iter().all(|row| !from(row)) {
            page.hold_open(INTO_THE_PACK.name, Stage::Plan, reason);
        } else {
            [&ON_THE_BREAKER, &CONTINUOUSLY]
                .iter()
                .for_each(|row| page.hold_open(row.name, Stage::Plan, reason));
        }
    }

    fn present_station(&self, page: &mut Page<'_>) {
        let Some(Station { duty, current, bands }) = &self.pilot else { return };
        let Some(given) = page.get(*duty) else { return };
        match page.get(*current) {
            Some(allowed) => {
                let residual = (bands.duty_for(allowed, given) / given).value - 1.0;
                page.checked(*current, if residual.is_nan() { 1.0 } else { residual }, 1e-9);
            }
            None => {
                let message = words!(
                    "a duty of {} says {}, not a charging current",
                    page.value(*duty),
                    bands.refusal(given)
                );
                let help =
                    "a current is told by 8 % to 97 %: measure the pilot again, or look at the station";
                page.find(&PILOT_DUTY, duty.index(), message, help);
            }
        }
    }

    fn present_cable(&self, page: &mut Page<'_>) {
        let Some(cable) = &self.cable else { return };
        let Some(resistor) = page.get(cable.resistor) else { return };
        match page.get(cable.current) {
            Some(current) => {
                let agrees = cable.codes.agrees(resistor, current);
                page.checked(cable.current, if agrees { 0.0 } else { 1.0 }, 0.0);
                let source = Cables::source();
                page.note(words!(
                    "The resistors of cables are {}: {} ({}).",
                    Cables::codes(),
                    source.words(),
                    Status::from(source.standing).word()
                ));
            }
            None => {
                let message = words!("{} in the plug stands for no cable", page.value(cable.resistor));
                let help =
                    words!("the resistors are {}: measure between proximity and earth", Cables::codes());
                page.find(&CABLE_CODE, cable.resistor.index(), message, help);
            }
        }
    }
}
