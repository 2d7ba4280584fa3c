//! Measured isolation between the high-voltage bus and the chassis, against what the working voltage asks.

mod reading;

use self::reading::{Method, Reading, Test, read_reading};
use crate::blocks::shared::high_voltage::caution_dc;
use crate::blocks::shared::invalid_test::INVALID_TEST;
use crate::findings::{Code, Severity, codes};
use crate::model::{
    Bench, Block, Entry, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind, ResultDoc, Slot,
    Stage, Status, Takes,
};
use crate::quantities::si::{ElectricPotential, ElectricalResistance, Measure, Ratio, ResistancePerVoltage};
use crate::quantities::sort;
use crate::rules::limit;

pub(super) static VOLTAGES_DISAGREE: Code = Code {
    name: "voltages-disagree",
    severity: Severity::Warning,
    about: "the two voltages of an isolation reading don't add up to what the pack can have; its verdict stays open",
};

pub(super) static KIND: Kind = Kind {
    name: "isolation",
    summary: "whether the measured isolation of the high-voltage bus is enough for its working voltage",
    subsystem: "tests",
    fields: &[
        FieldDoc::new("working_voltage", Takes::Quantity(&sort::VOLTAGE), "the highest that can occur; or `pack`")
            .either()
            .range(Range::Positive),
        FieldDoc::new("pack", Takes::BlockName, "whose full voltage is the working voltage").either(),
        FieldDoc::new(
            "buses",
            Takes::Text,
            "`joined` where the inverter ties the AC side to the DC bus, as most do; `separate` where they are isolated from each other",
        ),
        FieldDoc::new("ac_voltage", Takes::Quantity(&sort::VOLTAGE), "of a separate AC bus, rms")
            .optional()
            .range(Range::Positive),
        FieldDoc::new(
            "joined_at_100_because",
            Takes::Text,
            "why the lower limit holds for joined buses: two or more independent layers of insulation on the AC side, or robust housings",
        )
        .optional(),
        FieldDoc::new("readings", Takes::List, "one for each place; what they share may stand beside the list"),
        FieldDoc::new("readings.place", Takes::Text, "between what it was measured"),
        FieldDoc::new("readings.bus", Takes::Text, "`dc` or `ac`, of separate buses; left out, the higher limit holds")
            .optional(),
        FieldDoc::new("readings.resistance", Takes::Quantity(&sort::INSULATION), "as a tester shows it; or the voltages")
            .either()
            .range(Range::NotNegative),
        FieldDoc::new("readings.v1", Takes::Quantity(&sort::VOLTAGE), "negative bus to chassis, before the shunt")
            .either()
            .range(Range::NotNegative),
        FieldDoc::new("readings.v2", Takes::Quantity(&sort::VOLTAGE), "positive bus to chassis, before the shunt")
            .either()
            .range(Range::NotNegative),
        FieldDoc::new(
            "readings.shunt",
            Takes::Quantity(&sort::INSULATION),
            "the known resistor, put between chassis and the pole with the larger voltage",
        )
        .either()
        .range(Range::Positive),
        FieldDoc::new("readings.shunt_side", Takes::Text, "`negative` or `positive`").either(),
        FieldDoc::new("readings.v_shunted", Takes::Quantity(&sort::VOLTAGE), "on that side, with the shunt")
            .either()
            .range(Range::Positive),
        FieldDoc::new(
            "readings.test_voltage",
            Takes::Quantity(&sort::VOLTAGE),
            "of the tester; with v1 and v2 it is their sum",
        )
        .either()
        .range(Range::Positive),
        FieldDoc::new("readings.instrument", Takes::Text, "what it was measured with").either(),
        FieldDoc::new("readings.serial", Takes::Text, "its serial number, for the calibration").optional(),
        FieldDoc::new("readings.date", Takes::Text, "of the measurement").either(),
        FieldDoc::new("readings.state", Takes::Text, "contactors, charger, wet or dry").either(),
        FieldDoc::new("test_voltage", Takes::Quantity(&sort::VOLTAGE), "of all readings without one of their own")
            .either()
            .range(Range::Positive),
        FieldDoc::new("instrument", Takes::Text, "of all readings without one of their own").either(),
        FieldDoc::new("serial", Takes::Text, "of that instrument").optional(),
        FieldDoc::new("date", Takes::Text, "of all readings without one of their own").either(),
        FieldDoc::new("state", Takes::Text, "of all readings without one of their own").either(),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "required_dc", about: "of the DC bus, where a separate AC bus is there too" },
        ResultDoc { name: "required_ac", about: "of the separate AC bus" },
        ResultDoc { name: "required", about: "what the readings must show; of separate buses the higher limit" },
        ResultDoc { name: "resistance_PLACE", about: "from the two-voltage method: of the pole with less isolation" },
        ResultDoc { name: "lowest", about: "of all readings" },
        ResultDoc { name: "lowest_per_volt", about: "for each volt of working voltage" },
    ],
    example: Example {
        journal: "\
```yaml isolation bus
working_voltage: 400 V
buses: separate
instrument: insulation meter of 10 MΩ
date: 2026-03-02
state: contactors closed, charger unplugged, dry
readings:
  - {place: battery, v1: 210 V, v2: 190 V, shunt: 200 kohm, shunt_side: negative, v_shunted: 150 V}
  - {place: heater, resistance: 2.4 Mohm, test_voltage: 500 V}
```
",
        expected: &[
            ("bus.required", "40 kΩ"),
            ("bus.resistance_battery", "152.380952381 kΩ"),
            ("bus.lowest", "152.380952381 kΩ"),
            ("bus.lowest_per_volt", "380.952380952 Ω/V"),
        ],
    },
    sources: &[
        "limits: UN R100, 5.1.3.1 and 5.1.3.2 (read)",
        "two-voltage method, Ri = Ro (Vb/V′ − Vb/V) with the shunt on the pole that shows the larger voltage: UN R100, revision 2, 1.2.3.4 (read); written here with the larger of both voltages in the divisor, so that a shunt on the wrong pole never gives more than the weaker pole has",
        "test voltage: AS ISO 6469.3 (2014), 8.2.2 (read)",
    ],
    inspector: &["required", "lowest", "lowest_per_volt"],
    limits: &[
        "a reading holds for its day and state: dry and cold it says nothing of wet and hot",
        "whether the voltmeter loads the circuit is not calculated: it needs 10 MΩ or more",
    ],
    codes: &[&INVALID_TEST, &VOLTAGES_DISAGREE],
    read,
};

struct Isolation {
    working_voltage: Slot<ElectricPotential>,
    empty_voltage: Option<Slot<ElectricPotential>>,
    per_volt: Slot<ResistancePerVoltage>,
    ac: Option<Ac>,
    required: Slot<ElectricalResistance>,
    least_share: Slot<Ratio>,
    share: Slot<Ratio>,
    readings: Vec<Entry<Reading>>,
    lowest: Slot<ElectricalResistance>,
    lowest_per_volt: Slot<ResistancePerVoltage>,
    notes: Vec<String>,
}

/// A separate AC bus.
struct Ac {
    voltage: Slot<ElectricPotential>,
    per_volt: Slot<ResistancePerVoltage>,
    required_dc: Slot<ElectricalResistance>,
    required_ac: Slot<ElectricalResistance>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let mut notes = Vec::new();
    let pack = form.block_name("pack");
    let working_voltage = match (&pack, form.has("working_voltage") || !form.has("pack")) {
        (_, true) => form.required("working_voltage"),
        (pack, false) => form.of_block_named("working_voltage", pack.as_ref(), "full_voltage"),
    };
    if form.has("pack") && form.has("working_voltage") {
        let message = "both `pack` and `working_voltage`";
        form.report(&codes::BAD_VALUE, form.place_of("working_voltage"), message, "keep one of them");
    }
    let empty_voltage = pack.as_ref().map(|pack| form.of_block(Some(pack), "empty_voltage"));
    if !form.has("buses") {
        form.missing("buses");
    }
    let buses = form.choice("buses", &["separate", "joined"]);
    let separate = buses == Some("separate");
    let because = form.text("joined_at_100_because");
    let rule = match (separate, &because) {
        (true, _) => "isolation_dc",
        (false, None) => "isolation_joined",
        (false, Some((why, _))) => {
            notes.push(format!(
                "The lower limit for joined buses is taken because: {}.",
                why.trim_end_matches('.')
            ));
            "isolation_joined_protected"
        }
    };
    let per_volt = form.limit("required_per_volt", rule);
    let ac_voltage = form.optional("ac_voltage");
    if ac_voltage.is_some() && !separate {
        notes.push(
            "Joined buses are judged by the DC working voltage; the AC voltage was not used.".to_owned(),
        );
    }
    let ac = ac_voltage.filter(|_| separate).map(|voltage| Ac {
        voltage,
        per_volt: form.limit("required_per_volt_ac", "isolation_ac"),
        required_dc: form.step("required_dc", "kΩ", "required_per_volt * working_voltage"),
        required_ac: form.step("required_ac", "kΩ", "required_per_volt_ac * ac_voltage"),
    });
    let required = match ac {
        Some(_) => form.step("required", "kΩ", "max(required_dc, required_ac)"),
        None => form.step("required", "kΩ", "required_per_volt * working_voltage"),
    };
    let least_share = form.limit("least_test_share", "isolation_test_voltage_least");
    let share = form.limit("test_share", "isolation_test_voltage");
    let readings = read_readings(form);
    let lowest = match minimum(form, &readings) {
        Some(formula) => form.step("lowest", "kΩ", &formula),
        None => form.unknown_step("lowest"),
    };
    let lowest_per_volt = form.step("lowest_per_volt", "Ω/V", "lowest / working_voltage");
    let (source, status) = form.grounds(per_volt);
    let asked = Asked { source, status, ac: ac.is_some() };
    for reading in &readings {
        require(form, reading, &asked);
    }
    Box::new(Isolation {
        working_voltage,
        empty_voltage,
        per_volt,
        ac,
        required,
        least_share,
        share,
        readings,
        lowest,
        lowest_per_volt,
        notes,
    })
}

fn read_readings(form: &mut Form<'_, '_>) -> Vec<Entry<Reading>> {
    form.as_measured();
    let test = Test {
        voltage: form.optional("test_voltage"),
        given: ["instrument", "date", "state"].map(|key| form.text(key).is_some()),
    };
    form.text("serial");
    if !form.has("readings") {
        form.missing("readings");
    }
    let mut readings = form.list("readings", &["place"], |form, _| read_reading(form, &test));
    form.needs_items("readings", &readings, "type one `{place: …, resistance: …}` for each place");
    for reading in &mut readings {
        reading.read.declare(form, &reading.slug);
    }
    readings
}

/// The smallest of the readings, as a formula.
fn minimum(form: &Form<'_, '_>, readings: &[Entry<Reading>]) -> Option<String> {
    let names: Vec<String> = readings.iter().map(|reading| form.name_of(reading.read.resistance)).collect();
    (!names.is_empty()).then(|| format!("min({})", names.join(", ")))
}

/// What the readings are asked for, and by whom.
struct Asked {
    source: String,
    status: Status,
    ac: bool,
}

fn require(form: &mut Form<'_, '_>, reading: &Entry<Reading>, asked: &Asked) {
    let actual = form.name_of(reading.read.resistance);
    let low = match reading.read.bus {
        Some("dc") if asked.ac => "required_dc",
        Some("ac") if asked.ac => "required_ac",
        _ => "required",
    };
    form.require(Limit {
        name: &reading.slug,
        kind: RequirementKind::Safety,
        actual: &actual,
        low: Some(low),
        high: None,
        source: &asked.source,
        status: asked.status,
        span: None,
    });
}

impl Block for Isolation {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let working = bench.get(self.working_voltage);
        let dc: ElectricalResistance = bench.get(self.per_volt) * working;
        let mut required = dc;
        if let Some(ac) = &self.ac {
            let of_ac: ElectricalResistance = bench.get(ac.per_volt) * bench.get(ac.voltage);
            bench.set(ac.required_dc, dc);
            bench.set(ac.required_ac, of_ac);
            // What is not known stays so.
            required = if dc.si().is_nan() || dc >= of_ac { dc } else { of_ac };
        }
        bench.set(self.required, required);
        let mut lowest = f64::INFINITY;
        for reading in &self.readings {
            let resistance = reading.read.evaluate(bench).si();
            lowest = if resistance >= lowest { lowest } else { resistance };
        }
        bench.set(self.lowest, ElectricalResistance::from_si(lowest));
        bench.set(self.lowest_per_volt, ElectricalResistance::from_si(lowest) / working);
    }

    fn present(&self, page: &mut Page<'_>) {
        for reading in &self.readings {
            self.judge(page, reading);
        }
        let count = match (self.readings.len(), page.said.held.len()) {
            (1, 0) => "one reading".to_owned(),
            (1, _) => "one that proves nothing".to_owned(),
            (count, held) if count == held => format!("{count} that prove nothing"),
            (count, 0) => format!("{count} readings"),
            (count, held) => format!("{count} readings, {held} of which prove nothing"),
        };
        let asked = format!(
            "{} are asked at a working voltage of {}.",
            page.shown(self.required),
            page.shown(self.working_voltage)
        );
        if page.said.held.len() == self.readings.len() {
            // A number that proves nothing is not set in large type.
            page.sentence("No valid reading".to_owned(), format!(", of {count}; {asked}"));
        } else {
            page.sentence(
                format!("Lowest measured isolation {}", page.shown(self.lowest)),
                format!(", {}, of {count}; {asked}", page.shown(self.lowest_per_volt)),
            );
            page.headline(self.lowest);
        }
        page.headline(self.required);
        for note in &self.notes {
            page.note(note.clone());
        }
        caution_dc(page, self.working_voltage);
    }
}

impl Isolation {
    /// Holds a reading open where it proves nothing, and says why.
    fn judge(&self, page: &mut Page<'_>, reading: &Entry<Reading>) {
        let (name, place) = (reading.slug.as_str(), reading.title.as_str());
        if let Method::TwoVoltages(method) = &reading.read.method {
            if !method.judge(page, (name, place)) {
                return;
            }
            let sum = page.get(method.v1).zip(page.get(method.v2)).map(|(v1, v2)| v1 + v2);
            if let Some(sum) = sum
                && self.disagrees(page, sum)
            {
                let message = format!(
                    "v1 and v2 of `{place}` add up to {}, more than 5 % outside what the bus can have",
                    page.shown_as(method.v1, sum.si())
                );
                let help = "measure again: both from the same moment, with a meter of 10 MΩ or more";
                page.find(&VOLTAGES_DISAGREE, method.v1.index(), message, help);
                page.hold_open(name, Stage::Test, "its voltages don't add up to what the bus can have");
                return;
            }
        }
        let Some(test) = reading.read.test_voltage(page) else { return };
        let (Some(working), Some(least), Some(share)) =
            (page.get(self.working_voltage), page.get(self.least_share), page.get(self.share))
        else {
            return;
        };
        let shown = page.shown_as(self.working_voltage, test.si());
        if test < working * least {
            let message = format!(
                "`{place}` was tested at {shown}, less than half of the working voltage of {}",
                page.shown(self.working_voltage)
            );
            let help = "test at the highest working voltage";
            page.find(&INVALID_TEST, reading.read.at, message, help);
            page.hold_open(name, Stage::Test, "the test voltage was too low");
        } else if test < working * share {
            let asks = limit("isolation_test_voltage").source.words();
            page.note(format!(
                "`{place}` was tested at {shown}; {asks} asks for the highest working voltage."
            ));
        }
    }

    /// More than the bus can have, or less than the pack has when empty; a twentieth is left for the meters.
    fn disagrees(&self, page: &Page<'_>, sum: ElectricPotential) -> bool {
        let above = page.get(self.working_voltage).is_some_and(|working| sum > 1.05 * working);
        let empty = self.empty_voltage.and_then(|slot| page.get(slot));
        above || empty.is_some_and(|empty| sum < 0.95 * empty)
    }
}
