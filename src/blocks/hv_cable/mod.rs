//! What a cable run loses at its temperature, and what it may carry where it lies.

mod conductor;
mod fields;
mod results;
mod short_circuit;

use self::conductor::{Conductor, GAUGE_NUMBER, read_conductor};
use self::fields::FIELDS;
use self::results::{
    AMPACITY, AMPACITY_HERE, AMPACITY_ROOM, CHAINED_DROP_SHARE, DROP, DROP_SHARE, LOSS, LOSS_OF_PHASES, PEAK,
    PEAK_AS_CONTINUOUS, PEAK_LASTS, PEAK_RATING_HERE, PEAK_VOLTAGE_DROP, PHASE_RESISTANCE_20, RESISTANCE,
    RESISTANCE_20, RESULTS, TEMPERATURE, VOLTAGE_DROP,
};
use self::short_circuit::{COPPER_HEAT, ShortCircuit, read_short_circuit};
use crate::blocks::shared::high_voltage::{is_high_ac, is_high_dc};
use crate::findings::{Code, Severity, codes};
use crate::model::{Bench, Block, Caution, Example, Form, Kind, Looked, Page, Slot, Stage};
use crate::quantities::si::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Length, Measure, Power, Ratio,
    ThermodynamicTemperature, Time,
};
use crate::words::{Words, words};

/// The circuit behind an inverter.
pub(crate) const THREE_PHASE: &str = "three-phase";

pub(crate) static KIND: Kind = Kind {
    name: "hv-cable",
    summary: "what voltage and power a cable run loses, and what it may carry in its bundle and heat",
    subsystem: "high voltage",
    fields: FIELDS,
    rows: RESULTS,
    takes: &[&GAUGE_NUMBER.row, &COPPER_HEAT.row],
    requires: &[&AMPACITY, &TEMPERATURE, &PEAK, &PEAK_AS_CONTINUOUS, &PEAK_LASTS, &DROP],
    example: Example {
        journal: "\
```yaml hv-cable main
current: 200 A
length: 3 m
area: 70 mm^2
conductor_temperature: 90 °C
ampacity_rating: 300 A (datasheet)
insulation_limit: 125 °C (datasheet)
ambient_temperature: 60 °C
system_voltage: 355 V
drop_limit: 1 %
```
",
        expected: &[
            ("main.resistance_20", "1.632 mΩ"),
            ("main.resistance", "2.080880157 mΩ"),
            ("main.voltage_drop", "0.4161760314 V"),
            ("main.loss", "83.23520629 W"),
            ("main.ampacity_here", "248.1510576 A"),
        ],
    },
    sources: &[
        "resistance of flexible copper conductors: IEC 60228, class 5 (second-hand, three agreeing copies)",
        "diameter of a gauge: ASTM B258 (second-hand)",
        "copper against temperature, R2 = R20 (234.5 + T)/254.5: FAA AC 43.13-1B, 11-66 (read)",
        "a peak is held against the sheet's short-time rating, taken down as the ampacity is; common practice, no source",
        "short circuit: the conductor keeps all its heat, I²t = K² S² ln((limit − zero)/(temperature − zero)): IEC 60949 (second-hand)",
        "ampacity against ambient: the heat that flows off is in proportion to the rise, the current squared goes with it",
    ],
    limits: &[
        "the temperature that a cable really reaches, terminals and crimps, skin effect, and how warm a short peak makes it are not calculated",
        "published ampacities of building wire and of portable cable differ by half: the cable maker's sheet comes first",
    ],
    codes: &[&UNPROTECTED_CABLE],
    read,
};

static UNPROTECTED_CABLE: Code = Code {
    name: "unprotected-cable",
    severity: Severity::Warning,
    about: "a cable that none of the journal's fuses names",
};

struct HvCable {
    circuit: Circuit,
    current: Slot<ElectricCurrent>,
    peak_current: Slot<ElectricCurrent>,
    length: Slot<Length>,
    conductor: Conductor,
    temperature: Slot<ThermodynamicTemperature>,
    copper: [Slot<ThermodynamicTemperature>; 2],
    system_voltage: Slot<ElectricPotential>,
    ampacity: Ampacity,
    short_circuit: ShortCircuit,
    results: Results,
    note: Option<Words>,
    /// The journal has fuses, and none of them names it.
    unprotected: bool,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Circuit {
    Dc,
    ThreePhase,
}

/// What the cable's sheet rates it for, and where it lies.
struct Ampacity {
    rated: Slot<ElectricCurrent>,
    ampacity_temperature: Slot<ThermodynamicTemperature>,
    insulation_limit: Slot<ThermodynamicTemperature>,
    ambient: Slot<ThermodynamicTemperature>,
    bundle_factor: Slot<Ratio>,
    /// For a short time.
    peak_rating: Slot<ElectricCurrent>,
}

struct Results {
    resistance_20: Slot<ElectricalResistance>,
    resistance: Slot<ElectricalResistance>,
    voltage_drop: Slot<ElectricPotential>,
    peak_voltage_drop: Slot<ElectricPotential>,
    drop_share: Slot<Ratio>,
    loss: Slot<Power>,
    ampacity_here: Slot<ElectricCurrent>,
    ampacity_room: Slot<ElectricCurrent>,
    peak_rating_here: Slot<ElectricCurrent>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let circuit = match form.choice("circuit", &["dc", THREE_PHASE]) {
        Some(THREE_PHASE) => Circuit::ThreePhase,
        _ => Circuit::Dc,
    };
    let current = form.required("current");
    let length = form.required("length");
    let (conductor, note) = read_conductor(form);
    let own_temperature = form.has("conductor_temperature");
    let temperature = form.assumed("conductor_temperature");
    let copper =
        [form.limit("copper_zero", "copper_zero"), form.limit("copper_reference", "copper_reference")];
    let peak_current = form.if_given("peak_current");
    let system_voltage = form.if_given("system_voltage");
    form.if_given::<Ratio>("drop_limit");
    form.if_given::<Time>("peak_duration");
    form.if_given::<Time>("peak_time");
    let has_peak_rating = form.has("peak_rating");
    let ampacity = read_ampacity(form);
    let short_circuit = read_short_circuit(form);
    let unprotected = circuit == Circuit::Dc && is_unprotected(form);
    let mut out = form.outcomes();
    let phases = circuit == Circuit::ThreePhase;
    let results = Results {
        resistance_20: out.result(if phases { &PHASE_RESISTANCE_20 } else { &RESISTANCE_20 }),
        resistance: out.result(&RESISTANCE),
        voltage_drop: out.result(&VOLTAGE_DROP),
        peak_voltage_drop: out.result(&PEAK_VOLTAGE_DROP),
        drop_share: out.result(if phases { &CHAINED_DROP_SHARE } else { &DROP_SHARE }),
        loss: out.result(if phases { &LOSS_OF_PHASES } else { &LOSS }),
        ampacity_here: out.result(&AMPACITY_HERE),
        ampacity_room: out.result(&AMPACITY_ROOM),
        peak_rating_here: out.result(&PEAK_RATING_HERE),
    };
    out.require(&AMPACITY);
    // The assumed temperature is for the resistance; nobody says that the cable stays at it.
    if own_temperature {
        out.require(&TEMPERATURE);
    }
    out.require(if has_peak_rating { &PEAK } else { &PEAK_AS_CONTINUOUS });
    out.require(&PEAK_LASTS);
    out.require(&DROP);
    Box::new(HvCable {
        circuit,
        current,
        peak_current,
        length,
        conductor,
        temperature,
        copper,
        system_voltage,
        ampacity,
        short_circuit,
        results,
        note,
        unprotected,
    })
}

/// Whether the journal has fuses, and none of them protects this cable by its name.
fn is_unprotected(form: &mut Form<'_, '_>) -> bool {
    let any = !form.lookup().blocks(&["fuse"], Looked::Whole).is_empty();
    any && form.lookup().blocks(&["fuse"], Looked::Naming("protects")).is_empty()
}

/// Without a rating nothing is assumed of where it holds.
fn read_ampacity(form: &mut Form<'_, '_>) -> Ampacity {
    let rated = form.has("ampacity_rating");
    Ampacity {
        rated: form.if_given("ampacity_rating"),
        ambient: form.if_given("ambient_temperature"),
        insulation_limit: form.if_given("insulation_limit"),
        ampacity_temperature: if rated {
            form.assumed("ampacity_temperature")
        } else {
            form.if_given("ampacity_temperature")
        },
        peak_rating: form.if_given("peak_rating"),
        bundle_factor: if rated { form.assumed("bundle_factor") } else { form.if_given("bundle_factor") },
    }
}

impl Block for HvCable {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let results = &self.results;
        let (ways, conductors, chained) = match self.circuit {
            Circuit::Dc => (2.0, 1.0, 1.0),
            Circuit::ThreePhase => (1.0, 3.0, 3f64.sqrt()),
        };
        let per_length = self.conductor.evaluate(bench);
        let start = (self.temperature, self.copper[0]);
        self.short_circuit.evaluate(bench, (self.conductor.area(bench), start));
        let resistance_20: ElectricalResistance = ways * bench.get(self.length) * per_length;
        bench.set(results.resistance_20, resistance_20);
        // All three are points of one scale, in kelvins.
        let [zero, reference] = self.copper.map(|slot| bench.get(slot).si());
        let resistance = resistance_20 * ((bench.get(self.temperature).si() - zero) / (reference - zero));
        bench.set(results.resistance, resistance);
        let current = bench.get(self.current);
        let drop = current * resistance;
        bench.set(results.voltage_drop, drop);
        bench.set(results.peak_voltage_drop, bench.get(self.peak_current) * resistance);
        bench.set(results.drop_share, chained * drop / bench.get(self.system_voltage));
        bench.set(results.loss, conductors * current * drop);
        let here = self.ampacity.here(bench);
        bench.set(results.ampacity_here, here);
        bench.set(results.ampacity_room, here - current);
        let taken_down = here / bench.get(self.ampacity.rated);
        bench.set(results.peak_rating_here, bench.get(self.ampacity.peak_rating) * taken_down);
    }

    fn present(&self, page: &mut Page<'_>) {
        let results = &self.results;
        let of = if self.circuit == Circuit::Dc { "the loop" } else { "each phase" };
        page.sentence(
            words!(
                "{} lost along {}, {} of heat",
                page.value(results.voltage_drop),
                of,
                page.value(results.loss)
            ),
            words!(
                " at {}: {} with the conductor at {}.",
                page.value(self.current),
                page.value(results.resistance),
                page.value(self.temperature)
            ),
        );
        self.note.iter().for_each(|note| page.note(note));
        if self.unprotected {
            let help = "name it under `protects` of the fuse that it lies behind: `{cable: …}`";
            page.find_here(&UNPROTECTED_CABLE, "no fuse of this journal protects this cable", help);
        }
        let high = page.get(self.system_voltage).is_some_and(|volts| match self.circuit {
            Circuit::Dc => is_high_dc(volts),
            Circuit::ThreePhase => is_high_ac(volts),
        });
        if high {
            page.caution(Caution::HighVoltage);
        }
        self.ampacity.too_hot(page);
        self.cooler_than_around(page);
        self.short_circuit.present(page, self.temperature);
        self.doubts(page);
    }
}

impl HvCable {
    /// A conductor that carries current is not colder than what it lies in.
    fn cooler_than_around(&self, page: &mut Page<'_>) {
        let at = self.temperature;
        let (Some(copper), Some(around)) = (page.get(at), page.get(self.ampacity.ambient)) else { return };
        if copper.si() < around.si() && !page.is_assumed(at) {
            let message = words!(
                "a conductor of {} in an ambient of {}",
                page.value(at),
                page.value(self.ampacity.ambient)
            );
            let help = "give the temperature of the copper as it carries that current";
            page.find(&codes::OUT_OF_RANGE, at.index(), message, help);
        }
    }

    /// What nobody gave earns no verdict: a cable alone in the air, and a peak that no sheet speaks of.
    fn doubts(&self, page: &mut Page<'_>) {
        let ampacity = &self.ampacity;
        let assumed = [
            ("ampacity_temperature", page.is_assumed(ampacity.ampacity_temperature)),
            ("bundle_factor", page.is_assumed(ampacity.bundle_factor)),
        ];
        for (key, _) in assumed.iter().filter(|(_, assumed)| *assumed) {
            for requirement in [AMPACITY.name, PEAK.name] {
                page.hold_close(requirement, words!("`{}` is assumed", *key));
            }
        }
        let peak = page.get(self.peak_current).zip(page.get(self.results.ampacity_here));
        let rated = page.get(self.ampacity.peak_rating).is_some();
        if peak.is_some_and(|(peak, here)| peak.si() > here.si() * (1.0 + 1e-9)) && !rated {
            let reason = "it is more than the cable carries continuously, and `peak_rating` is not given";
            page.hold_open(PEAK.name, Stage::Plan, reason);
        }
    }
}

impl Ampacity {
    fn here(&self, bench: &Bench<'_>) -> ElectricCurrent {
        let hot = bench.get(self.insulation_limit).si();
        let rise = hot - bench.get(self.ambient).si();
        let rated_rise = hot - bench.get(self.ampacity_temperature).si();
        bench.get(self.rated) * bench.get(self.bundle_factor).si() * (rise / rated_rise).sqrt()
    }

    fn too_hot(&self, page: &mut Page<'_>) {
        let Some(hot) = page.get(self.insulation_limit) else { return };
        let hotter = [self.ambient, self.ampacity_temperature]
            .into_iter()
            .find(|slot| page.get(*slot).is_some_and(|ambient| ambient.si() >= hot.si()));
        if let Some(slot) = hotter {
            let message = words!(
                "{} of {}, where the insulation bears {}",
                page.nodes[slot.index()].label(),
                page.value(slot),
                page.value(self.insulation_limit)
            );
            let help =
                "the cable can't shed heat there: look at both temperatures, or choose a better insulation";
            page.find(&codes::OUT_OF_RANGE, slot.index(), message, help);
        }
    }
}
