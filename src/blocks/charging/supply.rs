//! What comes out of the wall: the least of what the station, the cable and the charger allow.

use super::signals::{Cables, Pilot};
use crate::findings::{Code, Severity, codes};
use crate::model::{Bench, BlockName, Form, Limit, Page, RequirementKind, Slot, Status};
use crate::quantities::si::{ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Ratio};

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

/// The charger's sheet; its power limit is that of its output.
pub(super) struct Charger {
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
    /// A stated current, or the pilot's duty with the current that it allows.
    station: Station,
    cable: Option<Cable>,
    current: Slot<ElectricCurrent>,
}

enum Station {
    Stated(Slot<ElectricCurrent>),
    Pilot { duty: Slot<Ratio>, current: Slot<ElectricCurrent>, bands: Pilot },
}

struct Cable {
    resistor: Slot<ElectricalResistance>,
    current: Slot<ElectricCurrent>,
    codes: Cables,
}

/// The fields of a supply as they are written.
pub(super) enum Written {
    Mains {
        phase_voltage: Slot<ElectricPotential>,
        phases: Slot<f64>,
        duty: Option<Slot<Ratio>>,
        stated: Option<Slot<ElectricCurrent>>,
        resistor: Option<Slot<ElectricalResistance>>,
        breaker: bool,
    },
    Direct(Slot<ElectricCurrent>),
}

/// Reads `supply`, `current`, `cable_resistor` and `breaker`.
pub(super) fn read(form: &mut Form<'_, '_>) -> Written {
    let outside = form.has("current");
    let supply = form.group("supply", |form| {
        let phase_voltage = form.required("phase_voltage");
        let phases = form.required_count("phases");
        let stated = form.optional::<ElectricCurrent>("current");
        let elsewhere = outside || stated.is_some();
        if elsewhere && form.has("duty") {
            let message = "both a `duty` and a `current` of the supply";
            form.report(&codes::BAD_VALUE, form.place(), message, "keep one of them");
        }
        let duty = if elsewhere { None } else { Some(form.required("duty")) };
        (phase_voltage, phases, duty, stated)
    });
    let Some((phase_voltage, phases, duty, stated)) = supply else {
        for key in ["cable_resistor", "breaker"] {
            if form.has(key) {
                let message = format!("`{key}` without a `supply` that it belongs to");
                let help = "type `supply: {phase_voltage: 230 V, phases: 1, duty: 53 %}`";
                form.report(&codes::BAD_VALUE, form.place_of(key), message, help);
            }
        }
        if !outside && !form.has("supply") {
            form.missing("supply");
        }
        let current = form.optional("current");
        return Written::Direct(current.unwrap_or_else(|| form.unknown_step("current")));
    };
    let outer = form.optional_as::<ElectricCurrent>("current", "supply.current");
    Written::Mains {
        phase_voltage,
        phases,
        duty,
        stated: stated.or(outer),
        resistor: form.optional("cable_resistor"),
        breaker: form.optional::<ElectricCurrent>("breaker").is_some(),
    }
}

impl Charger {
    /// Reads the charger's part. One with neither limit is `missing-field`, unless the current is stated as the pack's.
    pub(super) fn read(form: &mut Form<'_, '_>, supply: &Written) -> Charger {
        let name = form.required_block("charger");
        let charger = Charger {
            efficiency: form.of_block(name.as_ref(), "efficiency"),
            power_limit: form.of_block_if_there(name.as_ref(), "power_limit"),
            current_limit: form.of_block_if_there(name.as_ref(), "current_limit"),
        };
        if let (Some(BlockName { name, span, .. }), Written::Mains { .. }) = (&name, supply)
            && !name.is_empty()
            && charger.power_limit.is_none()
            && charger.current_limit.is_none()
        {
            let message = format!("`{name}` has neither `power_limit` nor `current_limit`");
            let help = format!(
                "type one of them in `{name}`, or both: `power_limit` at its output, `current_limit` at its plug"
            );
            form.report(&codes::MISSING_FIELD, *span, message, help);
        }
        charger
    }
}

impl Written {
    /// Declares the currents, and the requirement on the breaker.
    pub(super) fn declare(self, form: &mut Form<'_, '_>, charger: &Charger) -> Supply {
        let (phase_voltage, phases, duty, stated, resistor, breaker) = match self {
            Written::Direct(current) => return Supply::Direct(current),
            Written::Mains { phase_voltage, phases, duty, stated, resistor, breaker } => {
                (phase_voltage, phases, duty, stated, resistor, breaker)
            }
        };
        let mut least = Vec::new();
        let station = match (stated, duty) {
            (Some(current), _) => {
                least.push(form.name_of(current));
                Station::Stated(current)
            }
            (None, duty) => {
                let duty = duty.unwrap_or_else(|| form.unknown_step("supply.duty"));
                let method = "slope × duty + offset of the band that the duty lies in, by the pilot's table";
                let current = form.procedure("pilot_current", "A", method, &[duty.index()]);
                least.push("pilot_current".to_owned());
                Station::Pilot { duty, current, bands: Pilot::published() }
            }
        };
        let cable = resistor.map(|resistor| {
            let method =
                "the current that the plug's resistor stands for, by the table; between two codes the lower";
            let current = form.procedure("cable_current", "A", method, &[resistor.index()]);
            least.push("cable_current".to_owned());
            Cable { resistor, current, codes: Cables::published() }
        });
        if charger.current_limit.is_some() {
            least.push("charger.current_limit".to_owned());
        }
        if charger.power_limit.is_some() {
            let each = "charger.power_limit / (charger.efficiency * supply.phases * supply.phase_voltage)";
            least.push(each.to_owned());
        }
        let formula = match least.as_slice() {
            [one] => one.clone(),
            _ => format!("min({})", least.join(", ")),
        };
        let current = form.step("current", "A", &formula);
        if breaker {
            require_breaker(form);
        }
        Supply::Mains(Box::new(Mains { phase_voltage, phases, station, cable, current }))
    }
}

fn require_breaker(form: &mut Form<'_, '_>) {
    let share = form.limit::<Ratio>("breaker_share", "continuous_load_share");
    let (source, status) = form.grounds(share);
    form.require(Limit {
        name: "current",
        kind: RequirementKind::Safety,
        actual: "current",
        low: None,
        high: Some("breaker_share * breaker"),
        source: &source,
        status,
        span: None,
    });
}

impl Supply {
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
    fn evaluate(&self, charger: &Charger, bench: &mut Bench<'_>) -> Power {
        let mut current = match &self.station {
            Station::Stated(slot) => bench.get(*slot),
            Station::Pilot { duty, current, bands } => {
                let allowed = bands.current(bench.get(*duty));
                bench.set(*current, allowed);
                allowed
            }
        };
        if let Some(cable) = &self.cable {
            let carried = cable.codes.current(bench.get(cable.resistor));
            bench.set(cable.current, carried);
            current = lesser(current, carried);
        }
        if let Some(limit) = charger.current_limit {
            current = lesser(current, bench.get(limit));
        }
        let each = bench.get(self.phases) * bench.get(self.phase_voltage);
        if let Some(limit) = charger.power_limit {
            current = lesser(current, bench.get(limit) / (bench.get(charger.efficiency) * each));
        }
        bench.set(self.current, current);
        current * each
    }

    fn present_station(&self, page: &mut Page<'_>) {
        let Station::Pilot { duty, current, bands } = &self.station else { return };
        let Some(given) = page.get(*duty) else { return };
        match page.get(*current) {
            Some(allowed) => {
                let residual = (bands.duty_for(allowed, given) / given).value - 1.0;
                page.checked(*current, if residual.is_nan() { 1.0 } else { residual }, 1e-9);
            }
            None => {
                let message = format!(
                    "a duty of {} says {}, not a charging current",
                    page.shown(*duty),
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
                page.note(format!(
                    "The resistors of cables are {}: {} ({}).",
                    Cables::codes(),
                    source.words(),
                    Status::from(source.standing).word()
                ));
            }
            None => {
                let message = format!("{} in the plug stands for no cable", page.shown(cable.resistor));
                let help =
                    format!("the resistors are {}: measure between proximity and earth", Cables::codes());
                page.find(&CABLE_CODE, cable.resistor.index(), message, help);
            }
        }
    }
}
