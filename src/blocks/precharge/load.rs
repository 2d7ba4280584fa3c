//! What draws behind a precharge resistor, and how the capacitors' voltage rises with it.

use crate::findings::codes;
use crate::model::{Bench, Form, Page, Slot};
use crate::quantities::si::{
    Capacitance, ElectricCharge, ElectricPotential, ElectricalResistance, Energy, Power, Ratio, Time, ratio,
};
use crate::quantities::{looks_like_number, read_literal, sort};

/// A load as it is written, and the results that only a block with a load has.
pub(super) struct Load {
    draws: Draws,
    settles_at: Option<Slot<ElectricPotential>>,
    target: Option<Slot<ElectricPotential>>,
    starts_at: Option<Slot<ElectricPotential>>,
    stalls_below: Option<Slot<ElectricPotential>>,
    time_until_load: Option<Slot<Time>>,
    charge: Option<Slot<ElectricCharge>>,
    energy: Option<Slot<Energy>>,
}

#[derive(Clone, Copy)]
enum Draws {
    Nothing,
    Resistance(Slot<ElectricalResistance>),
    Power { power: Slot<Power>, from: Slot<Ratio> },
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
    let draws = match form.raw("load") {
        Some((text, _)) => read_scalar(form, &text),
        None if form.has("load") => read_group(form),
        None => Draws::Nothing,
    };
    Load {
        draws,
        settles_at: None,
        target: None,
        starts_at: None,
        stalls_below: None,
        time_until_load: None,
        charge: None,
        energy: None,
    }
}

fn read_scalar(form: &mut Form<'_, '_>, text: &str) -> Draws {
    if !looks_like_number(text) {
        let message = "`load` from elsewhere, which could be a power or a resistance";
        let help = "type `load: {power: from …}` or `load: {resistance: from …}`";
        form.report(&codes::BAD_VALUE, form.place_of("load"), message, help);
        return Draws::Resistance(form.unknown_step("load"));
    }
    let resistance =
        read_literal(text).is_ok_and(|literal| literal.quantity.dimension.same(sort::RESISTANCE.dimension));
    if resistance { Draws::Resistance(form.required("load")) } else { power(form, "load") }
}

fn read_group(form: &mut Form<'_, '_>) -> Draws {
    let read = form.group("load", |form| match (form.has("power"), form.has("resistance")) {
        (true, false) => Some(Ok(form.required::<Power>("power"))),
        (false, true) => Some(Err(form.required::<ElectricalResistance>("resistance"))),
        _ => {
            let message = "`load` needs either a power or a resistance";
            form.report(&codes::BAD_VALUE, form.place(), message, "type one of them: `load: {power: 12 W}`");
            None
        }
    });
    match read.flatten() {
        Some(Ok(power)) => Draws::Power { power, from: form.assumed("load_from") },
        Some(Err(resistance)) => Draws::Resistance(resistance),
        // Unknown, and with it all that the load bears on.
        None => Draws::Resistance(form.unknown_step("load.resistance")),
    }
}

fn power(form: &mut Form<'_, '_>, key: &str) -> Draws {
    Draws::Power { power: form.required(key), from: form.assumed("load_from") }
}

impl Load {
    /// The field that states it.
    pub(super) fn slot(&self) -> Option<usize> {
        match self.draws {
            Draws::Nothing => None,
            Draws::Resistance(slot) => Some(slot.index()),
            Draws::Power { power, .. } => Some(power.index()),
        }
    }

    fn name(&self, form: &Form<'_, '_>) -> String {
        match self.draws {
            Draws::Nothing => String::new(),
            Draws::Resistance(slot) => form.name_of(slot),
            Draws::Power { power, .. } => form.name_of(power),
        }
    }

    /// Declares where the voltage settles and the time constant.
    pub(super) fn declare_rise(&mut self, form: &mut Form<'_, '_>, voltage: &str) -> Slot<Time> {
        let load = self.name(form);
        let settles = match self.draws {
            Draws::Nothing => None,
            Draws::Resistance(_) => Some(format!("{voltage} * {load} / (resistance + {load})")),
            Draws::Power { .. } => {
                Some(format!("({voltage} + sqrt({voltage}^2 - 4 * resistance * {load})) / 2"))
            }
        };
        self.settles_at = settles.map(|formula| form.step("settles_at", "V", &formula));
        match self.draws {
            Draws::Resistance(_) => {
                let formula = format!("capacitance * resistance * {load} / (resistance + {load})");
                form.step("time_constant", "ms", &formula)
            }
            _ => form.step("time_constant", "ms", "resistance * capacitance"),
        }
    }

    /// Declares the time to the target.
    pub(super) fn declare_time(&mut self, form: &mut Form<'_, '_>, voltage: &str) -> Slot<Time> {
        let formula = match self.draws {
            Draws::Nothing => "-time_constant * ln(1 - target_share)".to_owned(),
            Draws::Resistance(_) => {
                self.target(form, voltage);
                "-time_constant * ln(1 - target_voltage / settles_at)".to_owned()
            }
            Draws::Power { .. } => {
                self.target(form, voltage);
                let start = format!("min(load_from, target_share) * {voltage}");
                self.starts_at = Some(form.step("load_starts_at", "V", &start));
                self.stalls_below =
                    Some(form.step("load_stalls_below", "V", &format!("{voltage} - settles_at")));
                let until = format!("-time_constant * ln(1 - load_starts_at / {voltage})");
                self.time_until_load = Some(form.step("time_until_load", "ms", &until));
                "time_until_load + time_constant / (settles_at - load_stalls_below) * \
                 (settles_at * ln((settles_at - load_starts_at) / (settles_at - target_voltage)) + \
                 load_stalls_below * ln((target_voltage - load_stalls_below) / (load_starts_at - load_stalls_below)))"
                    .to_owned()
            }
        };
        form.step("time_to_target", "ms", &formula)
    }

    fn target(&mut self, form: &mut Form<'_, '_>, voltage: &str) {
        self.target = Some(form.step("target_voltage", "V", &format!("target_share * {voltage}")));
    }

    /// Declares what the load draws until the target, and the resistor's energy with it.
    pub(super) fn declare_energy(&mut self, form: &mut Form<'_, '_>, voltage: &str) -> Slot<Energy> {
        let load = self.name(form);
        let stored = format!("capacitance * {voltage}^2 / 2");
        let (charge, energy) = match self.draws {
            Draws::Nothing => return form.step("resistor_energy", "J", &stored),
            Draws::Resistance(_) => (
                format!("(settles_at * time_to_target - time_constant * target_voltage) / {load}"),
                format!("settles_at * load_charge - time_constant * target_voltage^2 / (2 * {load})"),
            ),
            Draws::Power { .. } => (
                format!(
                    "{load} * time_constant / (settles_at - load_stalls_below) * \
                     (ln((target_voltage - load_stalls_below) / (load_starts_at - load_stalls_below)) + \
                     ln((settles_at - load_starts_at) / (settles_at - target_voltage)))"
                ),
                format!("{load} * (time_to_target - time_until_load)"),
            ),
        };
        self.charge = Some(form.step("load_charge", "mA s", &charge));
        self.energy = Some(form.step("load_energy", "J", &energy));
        form.step("resistor_energy", "J", &format!("{stored} + {voltage} * load_charge - load_energy"))
    }

    /// The time to a share of the source's voltage. Without a load it depends on no voltage.
    pub(super) fn time_to_share(&self, rise: &Rise, share: Ratio) -> Time {
        match self.draws {
            Draws::Nothing => -rise.time_constant * (ratio(1.0) - share).ln(),
            _ => rise.time_to(rise.voltage * share),
        }
    }

    pub(super) fn rise(&self, circuit: &Circuit, bench: &Bench<'_>) -> Rise {
        match self.draws {
            Draws::Nothing => circuit.alone(),
            Draws::Resistance(load) => circuit.beside(bench.get(load)),
            Draws::Power { power, from } => circuit.feeding(bench.get(power), bench.get(from)),
        }
    }

    pub(super) fn rise_shown(&self, circuit: &Circuit, page: &Page<'_>) -> Option<Rise> {
        Some(match self.draws {
            Draws::Nothing => circuit.alone(),
            Draws::Resistance(load) => circuit.beside(page.get(load)?),
            Draws::Power { power, from } => circuit.feeding(page.get(power)?, page.get(from)?),
        })
    }

    /// Sets what only a block with a load has; the resistor's energy beyond what the capacitors take.
    pub(super) fn draw(&self, rise: &Rise, target: ElectricPotential, bench: &mut Bench<'_>) -> Energy {
        let time = rise.time_to(target);
        let (charge, energy): (ElectricCharge, Energy) = match self.draws {
            Draws::Nothing => return Energy::default(),
            Draws::Resistance(load) => {
                let load = bench.get(load);
                let (tau, settles) = (rise.time_constant, rise.settles_at);
                let area = settles * time - tau * target;
                (area / load, (settles * area - tau * target * target / 2.0) / load)
            }
            Draws::Power { power, .. } => {
                let power = bench.get(power);
                let start = rise.start(target);
                let (upper, lower) = (rise.settles_at, rise.lower());
                let logs =
                    ((target - lower) / (start - lower)).ln() + ((upper - start) / (upper - target)).ln();
                let until = rise.time_alone(start);
                self.time_until_load.into_iter().for_each(|slot| bench.set(slot, until));
                self.starts_at.into_iter().for_each(|slot| bench.set(slot, start));
                self.stalls_below.into_iter().for_each(|slot| bench.set(slot, lower));
                (power * rise.time_constant / (upper - lower) * logs, power * (time - until))
            }
        };
        self.settles_at.into_iter().for_each(|slot| bench.set(slot, rise.settles_at));
        self.target.into_iter().for_each(|slot| bench.set(slot, target));
        self.charge.into_iter().for_each(|slot| bench.set(slot, charge));
        self.energy.into_iter().for_each(|slot| bench.set(slot, energy));
        rise.voltage * charge - energy
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
        let start = self.start(voltage);
        let (upper, lower) = (self.settles_at, self.lower());
        let rising = upper * ((upper - start) / (upper - voltage)).ln();
        let falling = lower * ((voltage - lower) / (start - lower)).ln();
        self.time_alone(start) + self.time_constant * (rising + falling) / (upper - lower)
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
