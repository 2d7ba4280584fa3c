//! Measured isolation between the high-voltage bus and the chassis, against what the working voltage asks.

mod reading;
mod rows;

use self::reading::{Method, Reading, Test, read_reading};
use crate::blocks::shared::high_voltage::caution_dc;
use crate::blocks::shared::invalid_test::INVALID_TEST;
use crate::findings::{Code, Severity};
use crate::model::{
    Bench, Block, Entry, Example, FieldDoc, FieldSort, Form, Kind, Page, Range, Slot, Stage, Takes,
};
use crate::quantities::si::{ElectricPotential, ElectricalResistance, Measure, Ratio, ResistancePerVoltage};
use crate::quantities::sort;
use crate::rules::limit;
use crate::words::{Words, words};

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
            .range(Range::Positive)
            .sort(FieldSort::Condition),
        FieldDoc::new("pack", Takes::BlockName, "whose full voltage is the working voltage").either(),
        FieldDoc::new(
            "buses",
            Takes::Text,
            "`joined` where the inverter ties the AC side to the DC bus, as most do; `separate` where they are isolated from each other",
        ),
        FieldDoc::new("ac_voltage", Takes::Quantity(&sort::VOLTAGE), "of a separate AC bus, rms")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Condition),
        FieldDoc::new(
            "joined_at_100_because",
            Takes::Text,
            "why the lower limit holds for joined buses: two or more independent layers of insulation on the AC side, or robust housings",
        )
        .optional(),
        FieldDoc::new("readings", Takes::List, "one for each place; what they share may stand beside the list").due(Stage::Test),
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
        .range(Range::Positive)
        .sort(FieldSort::Condition),
        FieldDoc::new("readings.instrument", Takes::Text, "what it was measured with").either(),
        FieldDoc::new("readings.serial", Takes::Text, "its serial number, for the calibration").optional(),
        FieldDoc::new("readings.date", Takes::Text, "of the measurement").either(),
        FieldDoc::new("readings.state", Takes::Text, "contactors, charger, wet or dry").either(),
        FieldDoc::new("test_voltage", Takes::Quantity(&sort::VOLTAGE), "of all readings without one of their own")
            .either()
            .range(Range::Positive)
            .sort(FieldSort::Condition),
        FieldDoc::new("instrument", Takes::Text, "of all readings without one of their own").either(),
        FieldDoc::new("serial", Takes::Text, "of that instrument").optional(),
        FieldDoc::new("date", Takes::Text, "of all readings without one of their own").either(),
        FieldDoc::new("state", Takes::Text, "of all readings without one of their own").either(),
    ],
    rows: rows::ALL,
    takes: &[&rows::FULL_VOLTAGE.row, &rows::EMPTY_VOLTAGE.row, &rows::PER_VOLT.row, &rows::PER_VOLT_AC.row],
    requires: &[&rows::ENOUGH],
    results: &[],
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
    inspector: &[],
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
    notes: Vec<Words>,
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
    let (working_voltage, empty_voltage) = read_working_voltage(form);
    let separate = form.required_choice("buses", &["separate", "joined"]) == Some("separate");
    let because = form.text("joined_at_100_because");
    let rule = match (separate, &because) {
        (true, _) => "isolation_dc",
        (false, None) => "isolation_joined",
        (false, Some((why, _))) => {
            notes.push(words!(
                "The lower limit for joined buses is taken because: {}.",
                why.trim_end_matches('.')
            ));
            "isolation_joined_protected"
        }
    };
    let per_volt = form.limit("required_per_volt", rule);
    let ac_voltage = form.optional("ac_voltage");
    if ac_voltage.is_some() && !separate {
        notes.push("Joined buses are judged by the DC working voltage; the AC voltage was not used.".into());
    }
    let ac = ac_voltage.filter(|_| separate).map(|voltage| Ac {
        voltage,
        per_volt: form.limit("required_per_volt_ac", "isolation_ac"),
        required_dc: form.outcomes().result(&rows::REQUIRED_DC),
        required_ac: form.outcomes().result(&rows::REQUIRED_AC),
    });
    let required =
        form.outcomes().result(if ac.is_some() { &rows::REQUIRED_OF_BOTH } else { &rows::REQUIRED });
    let least_share = form.limit("least_test_share", "isolation_test_voltage_least");
    let share = form.limit("test_share", "isolation_test_voltage");
    let readings = read_readings(form);
    let mut out = form.outcomes();
    let resistances = out.names_of(readings.iter().map(|reading| reading.read.resistance));
    let lowest = out.result(rows::LOWEST.with("EACH", resistances));
    let lowest_per_volt = out.result(&rows::LOWEST_PER_VOLT);
    for reading in &readings {
        let limit = match reading.read.bus {
            Some("dc") if ac.is_some() => "required_dc",
            Some("ac") if ac.is_some() => "required_ac",
            _ => "required",
        };
        let resistance = out.name_of(reading.read.resistance);
        out.require(rows::ENOUGH.of(&reading.case()).with("READING", resistance).with("LIMIT", limit));
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

/// The working voltage, and of a pack its voltage when empty.
fn read_working_voltage(
    form: &mut Form<'_, '_>,
) -> (Slot<ElectricPotential>, Option<Slot<ElectricPotential>>) {
    if form.one_of(&["working_voltage", "pack"]) == Some("working_voltage") {
        return (form.required("working_voltage"), None);
    }
    let pack = form.block_name("pack");
    let mut lookup = form.lookup();
    let full = lookup.taken(&rows::FULL_VOLTAGE, pack.as_ref());
    (full, pack.as_ref().map(|pack| lookup.taken(&rows::EMPTY_VOLTAGE, Some(pack))))
}

fn read_readings(form: &mut Form<'_, '_>) -> Vec<Entry<Reading>> {
    form.as_measured();
    let test = Test {
        voltage: form.optional("test_voltage"),
        given: ["instrument", "date", "state"].map(|key| form.text(key).is_some()),
    };
    form.text("serial");
    let help = "type one `{place: …, resistance: …}` for each place";
    let mut readings =
        form.required_list(("readings", help), &["place"], |form, _| read_reading(form, &test));
    for reading in &mut readings {
        let case = reading.case();
        reading.read.declare(form, &case);
    }
    readings
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
            (1, 0) => words!("one reading"),
            (1, _) => words!("one that proves nothing"),
            (count, held) if count == held => words!("{} that prove nothing", count),
            (count, 0) => words!("{} readings", count),
            (count, held) => words!("{} readings, {} of which prove nothing", count, held),
        };
        let asked = words!(
            "{} are asked at a working voltage of {}.",
            page.value(self.required),
            page.value(self.working_voltage)
        );
        if page.said.held.len() == self.readings.len() {
            page.sentence("No valid reading", words!(", of {}; {}", count, asked));
        } else {
            page.sentence(
                words!("Lowest measured isolation {}", page.value(self.lowest)),
                words!(", {}, of {}; {}", page.value(self.lowest_per_volt), count, asked),
            );
        }
        for note in &self.notes {
            page.note(note);
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
                let message = words!(
                    "v1 and v2 of `{}` add up to {}, more than 5 % outside what the bus can have",
                    place,
                    page.value_as(method.v1, sum.si())
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
        let shown = page.value_as(self.working_voltage, test.si());
        if test < working * least {
            let message = words!(
                "`{}` was tested at {}, less than half of the working voltage of {}",
                place,
                shown,
                page.value(self.working_voltage)
            );
            let help = "test at the highest working voltage";
            page.find(&INVALID_TEST, reading.read.at, message, help);
            page.hold_open(name, Stage::Test, "the test voltage was too low");
        } else if test < working * share {
            let asks = limit("isolation_test_voltage").source.words();
            page.note(words!(
                "`{}` was tested at {}; {} asks for the highest working voltage.",
                place,
                shown,
                asks
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
