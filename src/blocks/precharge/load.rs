//! What draws behind a precharge resistor, and how the capacitors' voltage rises with it.

use super::rows;
use crate::findings::codes;
use crate::model::{Bench, Form, Page, Slot};
use crate::quantities::si::{
    Capacitance, ElectricCharge, ElectricPotential, ElectricalResistance, Energy, Measure, Power, Ratio,
    Time, ratio,
};
use crate::quantities::{looks_like_number, read_literal, sort};
use crate::words::Words;

/// A load as it is written.
#[derive(Clone, Copy)]
pub(super) enum Load {
    Nothing,
    Resistance(Slot<ElectricalResistance>),
    Power {
        power: Slot<Power>,
        from: Slot<Ratio>,
    },
    /// It could not be read; the finding has been made.
    Unreadable,
}

/// What a load bears on.
pub(super) struct Results {
    pub settles_at: Slot<ElectricPotential>,
    pub target: Slot<ElectricPotential>,
    pub time_constant: Slot<Time>,
    pub time_to_target: Slot<Time>,
    pub resistor_energy: Slot<Energy>,
    drawn: Option<(Slot<ElectricCharge>, Slot<Energy>)>,
    late: Option<Late>,
}

/// Of a load that starts at some voltage.
struct Late {
    starts_at: Slot<ElectricPotential>,
    stalls_below: Slot<ElectricPotential>,
    time_until: Slot<Time>,
    upper: Slot<Ratio>,
    lower: Slot<Ratio>,
    time_with: Slot<Time>,
}

pub(super) struct Circuit {
    pub voltage: ElectricPotential,
    pub capacitance: Capacitance,
    pub resistance: ElectricalResistance,
}

/// How the voltage rises from empty capacitors.
pub(super) struct Rise {
    voltage: ElectricPotential,
    settles_at: ElectricPotential,
    /// With a load that is a resistance that of both in parallel, else of the resistor alone.
    pub time_constant: Time,
    /// The voltage at which a load of constant power starts.
    starts_at: Option<ElectricPotential>,
}

/// Reads `load`, and `load_from` where it is a power.
pub(super) fn read(form: &mut Form<'_, '_>) -> Load {
    let Some(value) = form.take("load") else { return Load::Nothing };
    match value.text() {
        Some(text) => read_scalar(form, text.trim()),
        None => read_group(form),
    }
}

fn read_scalar(form: &mut Form<'_, '_>, text: &str) -> Load {
    if !looks_like_number(text) {
        let message = "`load` from elsewhere, which could be a power or a resistance";
        let help = "type `load: {power: from …}` or `load: {resistance: from …}`";
        form.report(&codes::BAD_VALUE, form.place_of("load"), message, help);
        return Load::Unreadable;
    }
    let resistance =
        read_literal(text).is_ok_and(|literal| literal.quantity.dimension.same(sort::RESISTANCE.dimension));
    if resistance { Load::Resistance(form.required("load")) } else { power(form, "load") }
}

fn read_group(form: &mut Form<'_, '_>) -> Load {
    let read = form.group("load", |form| match form.one_of(&["power", "resistance"])? {
        "power" => Some(Ok(form.required::<Power>("power"))),
        _ => Some(Err(form.required::<ElectricalResistance>("resistance"))),
    });
    match read.flatten() {
        Some(Ok(power)) => Load::Power { power, from: form.assumed("load_from") },
        Some(Err(resistance)) => Load::Resistance(resistance),
        None => Load::Unreadable,
    }
}

fn power(form: &mut Form<'_, '_>, key: &str) -> Load {
    Load::Power { power: form.required(key), from: form.assumed("load_from") }
}

impl Load {
    /// The field that states it.
    pub(super) fn slot(self) -> Option<usize> {
        match self {
            Load::Nothing | Load::Unreadable => None,
            Load::Resistance(slot) => Some(slot.index()),
            Load::Power { power, .. } => Some(power.index()),
        }
    }
}

impl Results {
    pub(super) fn declare(form: &mut Form<'_, '_>, load: Load) -> Results {
        let mut out = form.outcomes();
        let name = match load {
            Load::Nothing | Load::Unreadable => String::new(),
            Load::Resistance(slot) => out.names_of([slot]),
            Load::Power { power, .. } => out.names_of([power]),
        };
        let name = || name.clone();
        let target = out.result(&rows::TARGET_VOLTAGE);
        let settles_at = match load {
            Load::Nothing => out.result(&rows::SETTLES_ALONE),
            Load::Resistance(_) => out.result(rows::SETTLES_BESIDE.with("LOAD", name())),
            Load::Power { .. } => out.result(rows::SETTLES_FEEDING.with("LOAD", name())),
            Load::Unreadable => out.unknown(&rows::SETTLES_ALONE),
        };
        let time_constant = match load {
            Load::Resistance(_) => out.result(rows::TIME_CONSTANT_BESIDE.with("LOAD", name())),
            _ => out.result(&rows::TIME_CONSTANT),
        };
        let late = matches!(load, Load::Power { .. }).then(|| Late {
            starts_at: out.result(&rows::LOAD_STARTS_AT),
            stalls_below: out.result(&rows::LOAD_STALLS_BELOW),
            time_until: out.result(&rows::TIME_UNTIL_LOAD),
            upper: out.result(&rows::UPPER_LOGARITHM),
            lower: out.result(&rows::LOWER_LOGARITHM),
            time_with: out.result(&rows::TIME_WITH_LOAD),
        });
        let time_to_target = match load {
            Load::Nothing => out.result(&rows::TIME_ALONE),
            Load::Power { .. } => out.result(&rows::TIME_FEEDING),
            // Not there either where the load could not be read: it rests on where the voltage settles.
            Load::Resistance(_) | Load::Unreadable => out.result(&rows::TIME_BESIDE),
        };
        let drawn = match load {
            Load::Nothing | Load::Unreadable => None,
            Load::Resistance(_) => Some((
                out.result(rows::CHARGE_BESIDE.with("LOAD", name())),
                out.result(rows::ENERGY_BESIDE.with("LOAD", name())),
            )),
            Load::Power { .. } => Some((
                out.result(rows::CHARGE_FEEDING.with("LOAD", name())),
                out.result(rows::ENERGY_FEEDING.with("LOAD", name())),
            )),
        };
        let resistor_energy = match load {
            Load::Nothing => out.result(&rows::RESISTOR_ENERGY),
            _ => out.result(&rows::RESISTOR_ENERGY_WITH_LOAD),
        };
        Results { settles_at, target, time_constant, time_to_target, resistor_energy, drawn, late }
    }

    pub(super) fn set(&self, load: Load, circuit: &Circuit, share: Ratio, bench: &mut Bench<'_>) {
        let target = share * circuit.voltage;
        let rise = match load {
            Load::Nothing | Load::Unreadable => circuit.alone(),
            Load::Resistance(load) => circuit.beside(bench.get(load)),
            Load::Power { power, from } => circuit.feeding(bench.get(power), bench.get(from)),
        };
        bench.set(self.target, target);
        set_or_gone(bench, self.settles_at, rise.settles_at);
        bench.set(self.time_constant, rise.time_constant);
        let time = match load {
            // Without a load it depends on no voltage.
            Load::Nothing => -rise.time_constant * (ratio(1.0) - share).ln(),
            _ => rise.time_to(target),
        };
        set_or_gone(bench, self.time_to_target, time);
        if let Some(late) = &self.late {
            late.set(&rise, target, bench);
        }
        let (charge, energy): (ElectricCharge, Energy) = match load {
            Load::Nothing | Load::Unreadable => (ElectricCharge::default(), Energy::default()),
            Load::Resistance(load) => {
                let load = bench.get(load);
                let (tau, settles) = (rise.time_constant, rise.settles_at);
                let area = settles * time - tau * target;
                (area / load, (settles * area - tau * target * target / 2.0) / load)
            }
            Load::Power { power, .. } => {
                let (power, start) = (bench.get(power), rise.start(target));
                let (upper, lower) = rise.logarithms(target);
                let spread = rise.settles_at - rise.lower();
                (
                    power * rise.time_constant / spread * (upper + lower),
                    power * (time - rise.time_alone(start)),
                )
            }
        };
        if let Some(drawn) = self.drawn {
            bench.set(drawn.0, charge);
            bench.set(drawn.1, energy);
        }
        let stored: Energy = circuit.capacitance * circuit.voltage * circuit.voltage / 2.0;
        bench.set(self.resistor_energy, stored + circuit.voltage * charge - energy);
    }

    /// The rise of the nominal values; `None` where the load draws more than the resistor brings at any voltage.
    pub(super) fn rise(&self, load: Load, voltage: ElectricPotential, page: &Page<'_>) -> Option<Rise> {
        let starts_at = match load {
            Load::Power { from, .. } => Some(page.get(from)? * voltage),
            _ => None,
        };
        let (settles_at, time_constant) = (page.get(self.settles_at)?, page.get(self.time_constant)?);
        Some(Rise { voltage, settles_at, time_constant, starts_at })
    }

    /// The results that a target out of reach leaves out, first of all.
    pub(super) fn out_of_reach(&self, page: &mut Page<'_>, reason: &Words) {
        let late = self.late.iter().flat_map(|late| [late.upper, late.lower]);
        late.for_each(|slot| page.not_there(slot, reason));
        page.not_there(self.settles_at, reason);
        page.not_there(self.time_to_target, reason);
    }
}

impl Late {
    fn set(&self, rise: &Rise, target: ElectricPotential, bench: &mut Bench<'_>) {
        let start = rise.start(target);
        let (upper, lower) = rise.logarithms(target);
        bench.set(self.starts_at, start);
        bench.set(self.stalls_below, rise.lower());
        bench.set(self.time_until, rise.time_alone(start));
        set_or_gone(bench, self.upper, upper);
        set_or_gone(bench, self.lower, lower);
        bench.set(self.time_with, rise.time_to(target) - rise.time_alone(start));
    }
}

/// A voltage that is never reached gives no finite number.
fn set_or_gone<T: Measure>(bench: &mut Bench<'_>, slot: Slot<T>, value: T) {
    match value.si().is_finite() {
        true => bench.set(slot, value),
        false => bench.not_there(slot),
    }
}

impl Circuit {
    fn alone(&self) -> Rise {
        Rise {
            voltage: self.voltage,
            settles_at: self.voltage,
            time_constant: self.resistance * self.capacitance,
            starts_at: None,
        }
    }

    fn beside(&self, load: ElectricalResistance) -> Rise {
        let share = load / (self.resistance + load);
        Rise {
            voltage: self.voltage,
            settles_at: self.voltage * share,
            time_constant: self.resistance * self.capacitance * share,
            starts_at: None,
        }
    }

    /// At constant power the current of the resistor and of the load are equal at two voltages: the upper one is where
    /// it settles, and below the lower one the load draws more than the resistor brings.
    fn feeding(&self, load: Power, from: Ratio) -> Rise {
        let root = (self.voltage * self.voltage - 4.0 * self.resistance * load).sqrt();
        Rise {
            voltage: self.voltage,
            settles_at: (self.voltage + root) / 2.0,
            time_constant: self.resistance * self.capacitance,
            starts_at: Some(from * self.voltage),
        }
    }
}

impl Rise {
    /// From empty capacitors; NaN or infinite for a voltage that is never reached.
    pub(super) fn time_to(&self, voltage: ElectricPotential) -> Time {
        if self.starts_at.is_none() {
            return -self.time_constant * (ratio(1.0) - voltage / self.settles_at).ln();
        }
        let (start, below) = (self.start(voltage), self.lower());
        let (upper, lower) = self.logarithms(voltage);
        let with_load =
            self.time_constant * (self.settles_at * upper + below * lower) / (self.settles_at - below);
        self.time_alone(start) + with_load
    }

    /// The way to where it settles, and from where the load stalls it, as the closed form has them; NaN or infinite where
    /// the voltage never comes there, whatever the load does until it starts.
    fn logarithms(&self, voltage: ElectricPotential) -> (Ratio, Ratio) {
        let (start, upper, lower) = (self.start(voltage), self.settles_at, self.lower());
        if voltage >= upper {
            return (ratio(f64::NAN), ratio(f64::NAN));
        }
        (((upper - start) / (upper - voltage)).ln(), ((voltage - lower) / (start - lower)).ln())
    }

    /// While the load is off.
    fn time_alone(&self, voltage: ElectricPotential) -> Time {
        -self.time_constant * (ratio(1.0) - voltage / self.voltage).ln()
    }

    fn start(&self, target: ElectricPotential) -> ElectricPotential {
        self.starts_at.map_or(target, |start| if start < target { start } else { target })
    }

    fn lower(&self) -> ElectricPotential {
        self.voltage - self.settles_at
    }

    /// Where it stays for ever; `None` where the load pulls it down from anywhere.
    pub(super) fn held_at(&self) -> Option<ElectricPotential> {
        match self.starts_at {
            _ if self.settles_at.is_nan() => None,
            Some(start) if start < self.lower() => Some(start),
            _ => Some(self.settles_at),
        }
    }

    /// Points of time and voltage from empty to somewhat above the target, nearly even in time.
    pub(super) fn drawn(&self, target: ElectricPotential) -> Vec<(Time, ElectricPotential)> {
        const POINTS: u32 = 80;
        let end = target + (self.settles_at - target) * 0.75;
        let left = ratio(1.0) - end / self.settles_at;
        (0..=POINTS)
            .map(|at| {
                let part = f64::from(at) / f64::from(POINTS);
                let voltage = self.settles_at * (1.0 - left.value.powf(part));
                (self.time_to(voltage), voltage)
            })
            .filter(|(time, _)| time.is_finite())
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::{Circuit, Rise};
    use crate::quantities::si::{
        Capacitance, ElectricPotential, ElectricalResistance, Measure, Power, ratio,
    };

    fn circuit() -> Circuit {
        Circuit {
            voltage: ElectricPotential::from_si(400.0),
            capacitance: Capacitance::from_si(1e-3),
            resistance: ElectricalResistance::from_si(50.0),
        }
    }

    /// The time to a voltage by small steps of Heun's rule, as another way to the closed form.
    fn stepped(to: f64, load: impl Fn(f64) -> f64) -> f64 {
        let (mut time, mut voltage, step) = (0.0, 0.0, 1e-6);
        let slope = |v: f64| ((400.0 - v) / 50.0 - load(v)) / 1e-3;
        while voltage < to && time < 10.0 {
            let first = slope(voltage);
            voltage += step * (first + slope(voltage + step * first)) / 2.0;
            time += step;
        }
        time
    }

    #[track_caller]
    fn check(rise: &Rise, to: f64, load: impl Fn(f64) -> f64) {
        let closed = rise.time_to(ElectricPotential::from_si(to)).si();
        let stepped = stepped(to, load);
        assert!((closed - stepped).abs() < 3e-6, "{closed} and {stepped}");
    }

    #[test]
    fn closed_forms_agree_with_small_steps() {
        check(&circuit().alone(), 380.0, |_| 0.0);
        check(&circuit().beside(ElectricalResistance::from_si(2e3)), 380.0, |v| v / 2e3);
        check(&circuit().feeding(Power::from_si(80.0), ratio(0.5)), 380.0, |v| {
            if v < 200.0 { 0.0 } else { 80.0 / v }
        });
    }

    /// Standards, check case 19: after 250 ms 397.3 V (closed form).
    #[test]
    fn after_five_time_constants_all_but_a_hundred_and_fiftieth_is_there() {
        let time = circuit().alone().time_to(ElectricPotential::from_si(397.304_8)).si();
        assert!((time - 0.25).abs() < 1e-6, "{time}");
    }

    #[test]
    fn a_load_that_the_resistor_can_t_feed_is_never_passed() {
        let target = ElectricPotential::from_si(380.0);
        for rise in [
            circuit().beside(ElectricalResistance::from_si(500.0)),
            circuit().feeding(Power::from_si(500.0), ratio(0.5)),
            circuit().feeding(Power::from_si(900.0), ratio(0.5)),
            circuit().feeding(Power::from_si(150.0), ratio(0.01)),
        ] {
            assert!(!rise.time_to(target).is_finite());
            assert!(rise.held_at().is_none_or(|held| held < target));
        }
    }
}
