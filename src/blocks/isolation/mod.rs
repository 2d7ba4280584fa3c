//! Measured isolation between the high-voltage bus and the chassis, against what the working voltage asks.

mod judge;
mod reading;
mod rows;
mod sections;
mod texts;

use self::reading::{Against, Bus, Reading, Test, read_reading};
use self::sections::Sections;
use self::texts::text_with_document;
use crate::blocks::shared::date::read_test_day;
use crate::blocks::shared::high_voltage::caution_dc;
use crate::blocks::shared::invalid_test::INVALID_TEST;
use crate::blocks::shared::known_parts::{KnownPart, known_as};
use crate::blocks::shared::lists::words_of;
use crate::blocks::shared::record::RECORD;
use crate::blocks::shared::working_voltage::WorkingVoltage;
use crate::findings::{Code, Severity};
use crate::model::{
    Bench, Block, Detail, Entry, Example, FieldDoc, FieldSort, Form, Kind, Page, Purpose, Range, Regard,
    Slot, Stage, Takes,
};
use crate::quantities::si::{ElectricPotential, ElectricalResistance, Measure, Ratio, ResistancePerVoltage};
use crate::quantities::{slug, sort};
use crate::words::{Words, words};

pub(super) static VOLTAGES_DISAGREE: Code = Code {
    name: "voltages-disagree",
    severity: Severity::Warning,
    about: "the two voltages of an isolation reading don't add up to what the pack can have; its verdict stays open",
};

pub(crate) static KIND: Kind = Kind {
    name: "isolation",
    summary: "whether the measured isolation of the high-voltage bus is enough for its working voltage",
    subsystem: "tests",
    fields: &[
        FieldDoc::new("working_voltage", Takes::Quantity(&sort::VOLTAGE), "the highest that can occur; or `pack`, beside which it is held against the pack's full voltage").purpose(Purpose::Dc).usual(12.0, 2_000.0)
            .either()
            .range(Range::Positive)
            .sort(FieldSort::Condition),
        FieldDoc::new("pack", Takes::BlockName, "whose full voltage is the working voltage where none is typed").either(),
        FieldDoc::new(
            "buses",
            Takes::Text,
            "`joined` where the inverter ties the AC side to the DC bus, as most do; `separate` where they are isolated from each other",
        ),
        FieldDoc::new("ac_voltage", Takes::Quantity(&sort::VOLTAGE), "of a separate AC bus, rms").purpose(Purpose::Ac).label("voltage of the AC bus")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Condition),
        FieldDoc::new(
            "joined_at_100_because",
            Takes::Text,
            "why the lower limit holds for joined buses, with the document that shows it: `two layers of insulation on all of the AC side (datasheet MOTOR)`; without a document the higher one stands",
        ).label("why 100 Ω/V holds for joined buses")
        .optional(),
        FieldDoc::new("readings", Takes::List, "one for each place; what they share may stand beside the list").purpose(Purpose::Reading).with_items("type one `{place: …, resistance: …}` for each place").due(Stage::Test),
        FieldDoc::new("readings.name", Takes::Text, "between what it was measured"),
        FieldDoc::new("readings.record", Takes::BlockName, RECORD).optional().due(Stage::Test),
        FieldDoc::new("readings.covers", Takes::Special, COVERS).optional().due(Stage::Test),
        FieldDoc::new("readings.bus", Takes::Text, BUS).optional(),
        FieldDoc::new("readings.resistance", Takes::Quantity(&sort::INSULATION), "as a tester shows it; or the voltages").usual(10_000.0, 1e12)
            .either()
            .range(Range::NotNegative),
        FieldDoc::new("readings.v1", Takes::Quantity(&sort::VOLTAGE), "negative bus to chassis, before the shunt").label("voltage from negative bus to chassis")
            .either()
            .range(Range::NotNegative),
        FieldDoc::new("readings.v2", Takes::Quantity(&sort::VOLTAGE), "positive bus to chassis, before the shunt").label("voltage from positive bus to chassis")
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
        FieldDoc::new("readings.v_shunted", Takes::Quantity(&sort::VOLTAGE), "on that side, with the shunt").label("voltage with the shunt")
            .either()
            .range(Range::Positive),
        FieldDoc::new(
            "readings.test_voltage",
            Takes::Quantity(&sort::VOLTAGE),
            "of the tester; with v1 and v2 it is their sum",
        ).usual(12.0, 5_000.0)
        .either()
        .range(Range::Positive)
        .sort(FieldSort::Condition),
        FieldDoc::new("readings.instrument", Takes::Text, "what it was measured with").purpose(Purpose::About(Detail::Instrument)).either(),
        FieldDoc::new("readings.serial", Takes::Text, "its serial number, for the calibration").purpose(Purpose::About(Detail::Serial)).optional(),
        FieldDoc::new("readings.date", Takes::Text, "of the measurement: `2025-06-14`; a reading of a day that is still to come proves nothing").purpose(Purpose::About(Detail::Date)).either(),
        FieldDoc::new("readings.state", Takes::Special, STATE).purpose(Purpose::About(Detail::State)).either(),
        FieldDoc::new("test_voltage", Takes::Quantity(&sort::VOLTAGE), "of all readings without one of their own").purpose(Purpose::OfAllReadings).usual(12.0, 5_000.0)
            .either()
            .range(Range::Positive)
            .sort(FieldSort::Condition),
        FieldDoc::new("instrument", Takes::Text, "of all readings without one of their own").purpose(Purpose::About(Detail::Instrument)).either(),
        FieldDoc::new("serial", Takes::Text, "of that instrument").purpose(Purpose::About(Detail::Serial)).optional(),
        FieldDoc::new("date", Takes::Text, "of all readings without one of their own").purpose(Purpose::About(Detail::Date)).either(),
        FieldDoc::new("state", Takes::Special, "of all readings without one of their own").purpose(Purpose::About(Detail::State)).either(),
    ],
    rows: rows::ALL,
    takes: rows::TAKES,
    requires: rows::REQUIRES,
    example: Example {
        journal: "\
```yaml isolation bus
working_voltage: 400 V
buses: separate
instrument: insulation meter of 10 MΩ
date: 2026-03-02
state: contactors open, charger unplugged, dry
readings:
  - {name: battery, covers: [battery], v1: 210 V, v2: 190 V, shunt: 200 kohm, shunt_side: negative, v_shunted: 150 V}
  - {name: heater, covers: [heater], resistance: 2.4 Mohm, test_voltage: 500 V}
```
",
        expected: &[
            ("bus.required", "40 kΩ"),
            ("bus.resistance_battery", "152.380952381 kΩ"),
            ("bus.lowest", "152.380952381 kΩ"),
            ("bus.lowest_per_volt", "380.952380952 Ω/V"),
            ("bus.whole", "143.283582089552 kΩ"),
            ("bus.whole_per_volt", "358.208955223881 Ω/V"),
        ],
    },
    sources: &[
        "limits: UN R100, 5.1.3.1 and 5.1.3.2 (read; of series 03 an unofficial copy); of the inlet: draft of an R100-type national text (read)",
        "two-voltage method, Ri = Ro (Vb/V′ − Vb/V) with the shunt on the pole that shows the larger voltage: UN R100, revision 2, 1.2.3.4 (read)",
        "sections in parallel: Ohm's law; that readings of one section may differ by twice, for a tester sees both poles in parallel and the two-voltage method one: common practice, no source",
        "test voltage: AS ISO 6469.3 (2014), 8.2.2 (read)",
    ],
    limits: &[
        "a reading holds for its day and state: dry and cold it says nothing of wet and hot",
        "whether the voltmeter loads the circuit is not calculated: it needs 10 MΩ or more",
    ],
    codes: &[&INVALID_TEST, &VOLTAGES_DISAGREE],
    read,
};

const COVERS: &str = "names of what was connected: `[pack]`. Readings of disjoint sections lie in parallel; without it the whole is open";
const BUS: &str = "`dc` or `ac`, of separate buses, or `inlet`, which a place called inlet, port or socket is; left out, the higher limit of both buses holds";
const STATE: &str =
    "text or a list of words: `wet` or `dry`, `contactors-closed` or `contactors-open`, `charging`";

struct Isolation {
    working: WorkingVoltage,
    against: Against,
    per_volt: Slot<ResistancePerVoltage>,
    ac: Option<Ac>,
    required: Slot<ElectricalResistance>,
    share: Slot<Ratio>,
    least_fall: Slot<Ratio>,
    most_difference: Slot<Ratio>,
    /// With the limit of each.
    readings: Vec<(Entry<Reading>, Slot<ElectricalResistance>)>,
    lowest: Slot<ElectricalResistance>,
    lowest_per_volt: Slot<ResistancePerVoltage>,
    whole: Slot<ElectricalResistance>,
    whole_per_volt: Slot<ResistancePerVoltage>,
    whole_limit: Slot<ElectricalResistance>,
    /// `None` where a reading does not say what it covers.
    sections: Option<Sections>,
    /// What some state must have readings of.
    wanted: Vec<String>,
    notes: Vec<Words>,
}

/// A separate AC bus.
struct Ac {
    voltage: Option<Slot<ElectricPotential>>,
    per_volt: Slot<ResistancePerVoltage>,
    required_dc: Slot<ElectricalResistance>,
    required_ac: Slot<ElectricalResistance>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let mut notes = Vec::new();
    let working = WorkingVoltage::read(form, "working_voltage", &rows::FULL_VOLTAGE);
    let empty =
        working.pack.as_ref().and_then(|pack| form.lookup().if_there(&rows::EMPTY_VOLTAGE, Some(pack)));
    let separate = form.choice("buses", &["separate", "joined"]) == Some("separate");
    let rule = rule(form, separate, &mut notes);
    let per_volt = form.limit("required_per_volt", rule);
    let ac_voltage = form.optional("ac_voltage");
    let least_share = form.limit("least_test_share", "isolation_test_voltage_least");
    let share = form.limit("test_share", "isolation_test_voltage");
    let least_fall = form.limit("least_fall", "isolation_least_fall");
    let most_difference = form.limit("most_difference", "isolation_difference");
    let against = Against { working: working.slot, empty, least_share };
    let mut readings = read_readings(form);
    let parts = KnownPart::all(form);
    readings.iter_mut().for_each(|reading| reading.read.doubt_dc(&parts));
    let of_ac = |reading: &Entry<Reading>| reading.read.is_of_ac(&parts);
    if ac_voltage.is_some() && !separate {
        notes.push("Joined buses are judged by the DC working voltage; the AC voltage was not used.".into());
    }
    let ac = (separate && (ac_voltage.is_some() || readings.iter().any(of_ac))).then(|| Ac {
        voltage: ac_voltage,
        per_volt: form.limit("required_per_volt_ac", "isolation_ac"),
        required_dc: form.outcomes().result(&rows::REQUIRED_DC),
        required_ac: form.outcomes().result(&rows::REQUIRED_AC),
    });
    let inlet = readings.iter().any(|reading| reading.read.bus == Some(Bus::Inlet));
    let inlet = inlet.then(|| form.limit("required_inlet", "inlet_isolation"));
    let required =
        form.outcomes().result(if ac.is_some() { &rows::REQUIRED_OF_BOTH } else { &rows::REQUIRED });
    for reading in &mut readings {
        let case = reading.case();
        reading.read.declare(form, &case);
    }
    let limit_of = |reading: &Entry<Reading>| match (reading.read.bus, &ac) {
        (Some(Bus::Inlet), _) => inlet.unwrap_or(required),
        (Some(Bus::Dc), Some(ac)) => ac.required_dc,
        (Some(Bus::Ac), Some(ac)) => ac.required_ac,
        _ => required,
    };
    let on_bus = |reading: &&Entry<Reading>| reading.read.bus != Some(Bus::Inlet);
    let limits: Vec<_> = readings.iter().map(limit_of).collect();
    let first = readings.iter().filter(on_bus).map(limit_of).next();
    let alike = first
        .filter(|first| readings.iter().filter(on_bus).all(|one| limit_of(one).index() == first.index()));
    let whole_limit = alike.unwrap_or(required);
    let sections = read_sections(&readings);

    let mut out = form.outcomes();
    let mut uses: Vec<usize> =
        readings.iter().filter(on_bus).flat_map(|reading| reading.read.uses()).collect();
    uses.extend([against.working.index(), against.least_share.index()]);
    uses.extend(against.empty.map(Slot::index));
    let lowest =
        if first.is_some() { out.procedure(&rows::LOWEST, &uses) } else { out.unknown(&rows::LOWEST) };
    let lowest_per_volt = out.result(&rows::LOWEST_PER_VOLT);
    let whole = match sections {
        Some(_) => out.procedure(&rows::WHOLE, &uses),
        None => out.unknown(&rows::WHOLE),
    };
    let whole_per_volt = out.result(&rows::WHOLE_PER_VOLT);
    out.require(&rows::NOT_UNDER_PACK);
    for (reading, limit) in readings.iter().zip(&limits) {
        let row = if on_bus(&reading) { &rows::ENOUGH } else { &rows::INLET_ENOUGH };
        let (resistance, limit) = (out.names_of([reading.read.resistance]), out.names_of([*limit]));
        out.require(row.of(&reading.case()).with("READING", resistance).with("LIMIT", limit));
    }
    out.require(rows::WHOLE_ENOUGH.with("LIMIT", out.names_of([whole_limit])));
    let wanted = wanted(form, &working, (&readings, &parts));
    Box::new(Isolation {
        working,
        against,
        per_volt,
        ac,
        required,
        share,
        least_fall,
        most_difference,
        readings: readings.into_iter().zip(limits).collect(),
        lowest,
        lowest_per_volt,
        whole,
        whole_per_volt,
        whole_limit,
        sections,
        wanted,
        notes,
    })
}

/// Which limit of the rules holds for each volt: the lower one of joined buses takes a document, not a word.
fn rule(form: &mut Form<'_, '_>, separate: bool, notes: &mut Vec<Words>) -> &'static str {
    let because = text_with_document(form, "joined_at_100_because");
    match (separate, because) {
        (true, _) => "isolation_dc",
        (false, None) => "isolation_joined",
        (false, Some((_, None))) => {
            notes.push("The higher limit for joined buses stands: what `joined_at_100_because` says names no document, as `two layers of insulation (datasheet MOTOR)` does.".into());
            "isolation_joined"
        }
        (false, Some((why, Some(document)))) => {
            let why = why.trim_end_matches('.');
            notes.push(words!("The lower limit for joined buses is taken because: {} ({}).", why, document));
            "isolation_joined_protected"
        }
    }
}

fn read_readings(form: &mut Form<'_, '_>) -> Vec<Entry<Reading>> {
    form.regard(Regard::Measured(None));
    let test = Test {
        voltage: form.optional("test_voltage"),
        given: ["instrument", "date", "state"].map(|key| form.has(key)),
        day: read_test_day(form, "date"),
        state: words_of(form, "state"),
    };
    for key in ["instrument", "serial"] {
        form.text(key);
    }
    form.list("readings", &["name"], |form, slug| read_reading(form, slug, &test))
}

/// The sections of all readings but those of the inlet; `None` where one does not say what it covers.
fn read_sections(readings: &[Entry<Reading>]) -> Option<Sections> {
    let numbered = readings.iter().enumerate().filter(|(_, reading)| reading.read.bus != Some(Bus::Inlet));
    let taken: Vec<_> = numbered.map(|(at, reading)| (at, &reading.read.taken)).collect();
    let said = taken.iter().all(|(_, taken)| !taken.covers.is_empty());
    (said && !taken.is_empty()).then(|| Sections::of(&taken))
}

/// What the whole is made of, as far as the journal knows: the pack, what any reading names, and, where all of them name
/// blocks alone, the parts that carry high voltage.
fn wanted(
    form: &mut Form<'_, '_>,
    working: &WorkingVoltage,
    (readings, parts): (&[Entry<Reading>], &[KnownPart]),
) -> Vec<String> {
    let mut wanted: Vec<String> = working.pack.iter().map(|pack| slug(known_as(form, &pack.name))).collect();
    wanted.extend(readings.iter().flat_map(|reading| reading.read.taken.covers.iter().cloned()));
    // Words such as `bus` may stand for several parts.
    let plain = wanted.iter().all(|name| form.lookup().block(name, "").is_some());
    let live = parts.iter().filter(|part| plain && part.carries_high_voltage());
    wanted.extend(live.map(|part| part.name.clone()));
    wanted.sort_unstable();
    wanted.dedup();
    wanted
}

impl Block for Isolation {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let working = bench.get(self.working.slot);
        let dc: ElectricalResistance = bench.get(self.per_volt) * working;
        let mut required = dc;
        if let Some(ac) = &self.ac {
            let voltage = ac.voltage.map_or(ElectricPotential::from_si(f64::NAN), |slot| bench.get(slot));
            let of_ac: ElectricalResistance = bench.get(ac.per_volt) * voltage;
            bench.set(ac.required_dc, dc);
            bench.set(ac.required_ac, of_ac);
            // What is not known stays so.
            required = if dc.si().is_nan() || dc >= of_ac { dc } else { of_ac };
        }
        bench.set(self.required, required);
        let mut values = Vec::new();
        for (reading, _) in &self.readings {
            values.push(reading.read.evaluate(&self.against, bench));
        }
        let on_bus = self
            .readings
            .iter()
            .zip(&values)
            .filter(|((reading, _), _)| reading.read.bus != Some(Bus::Inlet));
        // `f64::min` passes over what proves nothing.
        let lowest = on_bus.map(|(_, value)| *value).fold(f64::NAN, f64::min);
        let whole = self.sections.as_ref().map_or(f64::NAN, |sections| sections.together(|at| values[at]));
        for (slot, per_volt, value) in
            [(self.lowest, self.lowest_per_volt, lowest), (self.whole, self.whole_per_volt, whole)]
        {
            match value.is_finite() {
                true => bench.set(slot, ElectricalResistance::from_si(value)),
                false => bench.not_there(slot),
            }
            bench.set(per_volt, ElectricalResistance::from_si(value) / working);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let invalid = self.judge(page);
        let count = match (self.readings.len(), invalid) {
            (1, 0) => words!("one reading"),
            (1, _) => words!("one that proves nothing"),
            (count, held) if count == held => words!("{} that prove nothing", count),
            (count, 0) => words!("{} readings", count),
            (count, held) => words!("{} readings, {} of which prove nothing", count, held),
        };
        let asked = words!(
            "{} are asked at a working voltage of {}.",
            page.value(self.required),
            page.value(self.working.slot)
        );
        if invalid == self.readings.len() {
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
        caution_dc(page, self.working.slot);
    }
}
