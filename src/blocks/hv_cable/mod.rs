//! What a cable run loses at its temperature, and what it may carry where it lies.

mod conductor;

use self::conductor::{Conductor, read_conductor};
use crate::blocks::shared::high_voltage::{is_high_ac, is_high_dc};
use crate::findings::codes;
use crate::model::{
    Bench, Block, Caution, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind, ResultDoc,
    Slot, Status, Takes,
};
use crate::quantities::si::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Length, Measure, Power, Ratio,
    ThermodynamicTemperature,
};
use crate::quantities::sort;

pub(super) static KIND: Kind = Kind {
    name: "hv-cable",
    summary: "what voltage and power a cable run loses, and what it may carry in its bundle and heat",
    subsystem: "high voltage",
    fields: &[
        FieldDoc::new("current", Takes::Quantity(&sort::CURRENT), "continuous; rms with three phases")
            .range(Range::Positive),
        FieldDoc::new("length", Takes::Quantity(&sort::LENGTH), "one way").range(Range::Positive),
        FieldDoc::new(
            "area",
            Takes::Quantity(&sort::AREA),
            "of one conductor: a size of the table of flexible copper conductors; or `gauge`",
        )
        .either()
        .range(Range::Positive),
        FieldDoc::new("gauge", Takes::Text, "AWG, as it is printed: `2/0`, `4`; instead of `area`").either(),
        FieldDoc::new(
            "conductor_resistance",
            Takes::Quantity(&sort::RESISTANCE_PER_LENGTH),
            "of one conductor at 20 °C from the cable's sheet, instead of the table's",
        )
        .optional()
        .range(Range::Positive),
        FieldDoc::new(
            "stranding_factor",
            Takes::Quantity(&sort::RATIO),
            "of a gauge: its resistance against a solid conductor of that area; fine strands are a few per cent higher",
        )
        .assumed("1")
        .range(Range::AtLeastOne),
        FieldDoc::new(
            "circuit",
            Takes::Text,
            "`dc`, there and back; or `three_phase`: motor phases, which have no way back. Left out it is `dc`",
        )
        .optional(),
        FieldDoc::new("peak_current", Takes::Quantity(&sort::CURRENT), "for some seconds")
            .optional()
            .range(Range::Positive),
        FieldDoc::new(
            "conductor_temperature",
            Takes::Quantity(&sort::TEMPERATURE),
            "of the copper at that current",
        )
        .assumed("70 °C"),
        FieldDoc::new("ambient", Takes::Quantity(&sort::TEMPERATURE), "where the cable lies, at its hottest")
            .optional(),
        FieldDoc::new(
            "rated_ampacity",
            Takes::Quantity(&sort::CURRENT),
            "from the cable's sheet, at `rated_ambient`",
        )
        .optional()
        .range(Range::Positive),
        FieldDoc::new("rated_ambient", Takes::Quantity(&sort::TEMPERATURE), "that the ampacity is rated in")
            .assumed("30 °C"),
        FieldDoc::new(
            "insulation_limit",
            Takes::Quantity(&sort::TEMPERATURE),
            "the conductor temperature that the ampacity is rated for",
        )
        .optional(),
        FieldDoc::new(
            "bundle_factor",
            Takes::Quantity(&sort::RATIO),
            "what is left of the ampacity among other loaded cables",
        )
        .assumed("1")
        .range(Range::Share),
        FieldDoc::new(
            "system_voltage",
            Takes::Quantity(&sort::VOLTAGE),
            "between the conductors; rms with three phases",
        )
        .optional()
        .range(Range::Positive),
        FieldDoc::new(
            "drop_limit",
            Takes::Quantity(&sort::SHARE),
            "the builder's own, of the system voltage",
        )
        .optional()
        .range(Range::Positive),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "area", about: "of one conductor" },
        ResultDoc { name: "conductor_resistance", about: "of one conductor at 20 °C, for its length" },
        ResultDoc { name: "resistance_20", about: "of the loop (of one phase) at 20 °C" },
        ResultDoc { name: "resistance", about: "of the loop (of one phase) at the conductor's temperature" },
        ResultDoc { name: "voltage_drop", about: "over the loop; with three phases along one of them" },
        ResultDoc { name: "peak_voltage_drop", about: "the same at the peak current" },
        ResultDoc { name: "drop_share", about: "of the system voltage" },
        ResultDoc { name: "loss", about: "heat of all conductors" },
        ResultDoc { name: "ampacity_here", about: "in this ambient and bundle" },
        ResultDoc { name: "ampacity_room", about: "ampacity here − current" },
    ],
    example: Example {
        journal: "\
```yaml hv-cable main
current: 200 A
length: 3 m
area: 70 mm^2
conductor_temperature: 90 °C
rated_ampacity: 300 A (datasheet)
insulation_limit: 125 °C (datasheet)
ambient: 60 °C
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
        "ampacity against ambient: the heat that flows off is in proportion to the rise, I² ∝ T − T_ambient",
    ],
    inspector: &["current", "area", "length", "voltage_drop", "loss", "ampacity_here"],
    limits: &[
        "the temperature that a cable really reaches, terminals and crimps, skin effect, and short peaks against its heat capacity are not calculated",
        "ratings of building wire hold for building wire: the cable maker's sheet comes first",
    ],
    codes: &[],
    read,
};

pub(super) struct HvCable {
    circuit: Circuit,
    current: Slot<ElectricCurrent>,
    length: Slot<Length>,
    conductor: Conductor,
    temperature: Slot<ThermodynamicTemperature>,
    copper: [Slot<ThermodynamicTemperature>; 2],
    resistance_20: Slot<ElectricalResistance>,
    resistance: Slot<ElectricalResistance>,
    voltage_drop: Slot<ElectricPotential>,
    loss: Slot<Power>,
    peak: Option<(Slot<ElectricCurrent>, Slot<ElectricPotential>)>,
    system: Option<(Slot<ElectricPotential>, Slot<Ratio>)>,
    ampacity: Option<Ampacity>,
    notes: Vec<String>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Circuit {
    Dc,
    ThreePhase,
}

struct Ampacity {
    rated: Slot<ElectricCurrent>,
    rated_ambient: Slot<ThermodynamicTemperature>,
    insulation_limit: Slot<ThermodynamicTemperature>,
    ambient: Slot<ThermodynamicTemperature>,
    bundle_factor: Slot<Ratio>,
    here: Slot<ElectricCurrent>,
    room: Slot<ElectricCurrent>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let circuit = match form.choice("circuit", &["dc", "three_phase"]) {
        Some("three_phase") => Circuit::ThreePhase,
        _ => Circuit::Dc,
    };
    let current = form.required("current");
    let length = form.required("length");
    let (conductor, mut notes) = read_conductor(form);
    let own_temperature = form.has("conductor_temperature");
    let temperature = form.assumed("conductor_temperature");
    let copper =
        [form.limit("copper_zero", "copper_zero"), form.limit("copper_reference", "copper_reference")];
    let (of_loop, heat) = match circuit {
        Circuit::Dc => ("2 * length * conductor_resistance", "current^2 * resistance"),
        Circuit::ThreePhase => ("length * conductor_resistance", "3 * current^2 * resistance"),
    };
    let resistance_20 = form.step("resistance_20", "mΩ", of_loop);
    let warm = "resistance_20 * (conductor_temperature - copper_zero) / (copper_reference - copper_zero)";
    let resistance = form.step("resistance", "mΩ", warm);
    let voltage_drop = form.step("voltage_drop", "V", "current * resistance");
    let peak = form
        .optional("peak_current")
        .map(|peak| (peak, form.step("peak_voltage_drop", "V", "peak_current * resistance")));
    let system = form.optional("system_voltage").map(|voltage| {
        let share = match circuit {
            Circuit::Dc => "voltage_drop / system_voltage",
            Circuit::ThreePhase => "sqrt(3) * voltage_drop / system_voltage",
        };
        (voltage, form.step("drop_share", "%", share))
    });
    let loss = form.step("loss", "W", heat);
    let ambient = form.optional("ambient");
    let insulation_limit = form.optional("insulation_limit");
    let ampacity = read_ampacity(form, (ambient, insulation_limit), &mut notes);
    if own_temperature && insulation_limit.is_some() {
        let high = Some("insulation_limit");
        form.require(Limit { high, source: "the cable's insulation", status: Status::Stated, ..TEMPERATURE });
    }
    match (form.optional::<Ratio>("drop_limit"), &system) {
        (Some(_), Some(_)) => form.require(DROP),
        (Some(_), None) => {
            notes.push("The drop was not held against its limit: give `system_voltage` for that.".to_owned());
        }
        (None, _) => {}
    }
    Box::new(HvCable {
        circuit,
        current,
        length,
        conductor,
        temperature,
        copper,
        resistance_20,
        resistance,
        voltage_drop,
        loss,
        peak,
        system,
        ampacity,
        notes,
    })
}

const TEMPERATURE: Limit<'static> = Limit {
    name: "conductor_temperature",
    kind: RequirementKind::Safety,
    actual: "conductor_temperature",
    low: None,
    high: None,
    source: "",
    status: Status::Stated,
    span: None,
};

const DROP: Limit<'static> = Limit {
    name: "drop_share",
    kind: RequirementKind::Wish,
    actual: "drop_share",
    high: Some("drop_limit"),
    source: "the builder's own",
    ..TEMPERATURE
};

fn read_ampacity(
    form: &mut Form<'_, '_>,
    (ambient, insulation_limit): (
        Option<Slot<ThermodynamicTemperature>>,
        Option<Slot<ThermodynamicTemperature>>,
    ),
    notes: &mut Vec<String>,
) -> Option<Ampacity> {
    let rated = form.optional("rated_ampacity")?;
    let (Some(ambient), Some(insulation_limit)) = (ambient, insulation_limit) else {
        notes.push(
            "What the cable may carry here was not worked: give `ambient` and `insulation_limit` with its rated ampacity."
                .to_owned(),
        );
        return None;
    };
    let rated_ambient = form.assumed("rated_ambient");
    let bundle_factor = form.assumed("bundle_factor");
    let formula = "rated_ampacity * bundle_factor * sqrt((insulation_limit - ambient) / (insulation_limit - rated_ambient))";
    let here = form.step("ampacity_here", "A", formula);
    let room = form.step("ampacity_room", "A", "ampacity_here - current");
    form.require(Limit {
        name: "ampacity_here",
        actual: "ampacity_here",
        low: Some("current"),
        source: "the current of this cable",
        status: Status::Derived,
        ..TEMPERATURE
    });
    Some(Ampacity { rated, rated_ambient, insulation_limit, ambient, bundle_factor, here, room })
}

impl Block for HvCable {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let per_length = self.conductor.evaluate(bench);
        let length = bench.get(self.length);
        let ways = if self.circuit == Circuit::Dc { 2.0 } else { 1.0 };
        let resistance_20: ElectricalResistance = ways * length * per_length;
        bench.set(self.resistance_20, resistance_20);
        // All three are points of one scale, in kelvins.
        let [zero, reference] = self.copper.map(|slot| bench.get(slot).si());
        let resistance = resistance_20 * ((bench.get(self.temperature).si() - zero) / (reference - zero));
        bench.set(self.resistance, resistance);
        let current = bench.get(self.current);
        let drop = current * resistance;
        bench.set(self.voltage_drop, drop);
        if let Some((peak, drop)) = self.peak {
            bench.set(drop, bench.get(peak) * resistance);
        }
        let (conductors, chained) = if self.circuit == Circuit::Dc { (1.0, 1.0) } else { (3.0, 3f64.sqrt()) };
        if let Some((voltage, share)) = self.system {
            bench.set(share, chained * drop / bench.get(voltage));
        }
        bench.set(self.loss, conductors * current * drop);
        if let Some(ampacity) = &self.ampacity {
            let hot = bench.get(ampacity.insulation_limit).si();
            let rise = hot - bench.get(ampacity.ambient).si();
            let rated_rise = hot - bench.get(ampacity.rated_ambient).si();
            let factor = bench.get(ampacity.bundle_factor).si() * (rise / rated_rise).sqrt();
            let here = bench.get(ampacity.rated) * factor;
            bench.set(ampacity.here, here);
            bench.set(ampacity.room, here - current);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let what = if self.circuit == Circuit::Dc { "the loop" } else { "each phase" };
        page.sentence(
            format!("{} lost along {what}, {} of heat", page.shown(self.voltage_drop), page.shown(self.loss)),
            format!(
                " at {}: {} with the conductor at {}.",
                page.shown(self.current),
                page.shown(self.resistance),
                page.shown(self.temperature)
            ),
        );
        page.headline(self.voltage_drop);
        page.headline(self.loss);
        for note in &self.notes {
            page.note(note.clone());
        }
        if let Some((voltage, _)) = self.system
            && let Some(volts) = page.get(voltage)
            && (if self.circuit == Circuit::Dc { is_high_dc(volts) } else { is_high_ac(volts) })
        {
            page.caution(Caution::HighVoltage);
        }
        self.too_hot(page);
    }
}

impl HvCable {
    fn too_hot(&self, page: &mut Page<'_>) {
        let Some(ampacity) = &self.ampacity else { return };
        let Some(hot) = page.get(ampacity.insulation_limit).map(Measure::si) else { return };
        for slot in [ampacity.ambient, ampacity.rated_ambient] {
            if page.get(slot).is_some_and(|ambient| ambient.si() >= hot) {
                let message = format!(
                    "{} of {}, where the insulation bears {}",
                    page.nodes[slot.index()].label(),
                    page.shown(slot),
                    page.shown(ampacity.insulation_limit)
                );
                let help = "the cable can't shed heat there: look at both temperatures, or choose a better insulation";
                page.find(&codes::OUT_OF_RANGE, slot.index(), message, help);
                return;
            }
        }
    }
}
