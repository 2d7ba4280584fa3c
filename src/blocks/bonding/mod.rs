//! Measured resistance between exposed conductive parts and the chassis.

mod judge;

use crate::blocks::shared::date::{TestDay, read_test_day};
use crate::blocks::shared::invalid_test::INVALID_TEST;
use crate::blocks::shared::known_parts::{KnownPart, known_as};
use crate::blocks::shared::noted::refuse_guess;
use crate::blocks::shared::record::{RECORD, Recorded, Wanted, from_record};
use crate::findings::codes;
use crate::model::{
    Bench, Block, Detail, Entry, Example, Family, FieldDoc, Form, Kind, Page, Purpose, Range, Regard,
    RequirementRow, Row, Slot, Stage, Taken, Takes,
};
use crate::quantities::si::{ElectricCurrent, ElectricPotential, ElectricalResistance, Measure};
use crate::quantities::sort;
use crate::words::words;

pub(super) static KIND: Kind = Kind {
    name: "bonding",
    summary: "whether every part that can be touched is bonded to the chassis well enough",
    subsystem: "tests",
    fields: &[
        FieldDoc::new("readings", Takes::List, "one for each part")
            .purpose(Purpose::Reading)
            .with_items(
                "type one `{part: …, current: …, voltage: …}` for each part, or `name` where it has no block",
            )
            .due(Stage::Test),
        FieldDoc::new("readings.name", Takes::Text, "what was measured, where it has no block").either(),
        FieldDoc::new("readings.part", Takes::Text, "the block of what was measured: `inverter`")
            .instead_of("name"),
        FieldDoc::new("readings.record", Takes::BlockName, RECORD).optional().due(Stage::Test),
        FieldDoc::new("readings.current", Takes::Quantity(&sort::CURRENT), "of the test")
            .range(Range::Positive),
        FieldDoc::new("readings.voltage", Takes::Quantity(&sort::VOLTAGE), "across the bond at that current")
            .either()
            .range(Range::NotNegative),
        FieldDoc::new(
            "readings.resistance",
            Takes::Quantity(&sort::RESISTANCE),
            "as the tester shows it; or `voltage`",
        )
        .instead_of("voltage")
        .range(Range::NotNegative),
        FieldDoc::new(
            "instrument",
            Takes::Text,
            "what it was measured with; without it and a date the whole is close at best",
        )
        .purpose(Purpose::About(Detail::Instrument))
        .optional(),
        FieldDoc::new("serial", Takes::Text, "its serial number, for the calibration")
            .purpose(Purpose::About(Detail::Serial))
            .optional(),
        FieldDoc::new(
            "date",
            Takes::Text,
            "of the measurement: `2025-06-14`; readings of a day that is still to come prove nothing",
        )
        .purpose(Purpose::About(Detail::Date))
        .optional(),
    ],
    rows: &[&RESISTANCE.row, &HIGHEST.row, &NOT_MEASURED.row],
    takes: &[&HIGHEST_ALLOWED.row],
    requires: &[&BONDED, &EVERY_PART],
    example: Example {
        journal: "\
```yaml bonding bonds
instrument: four-wire ohmmeter
date: 2026-03-02
readings:
  - {name: battery box, current: 25 A, voltage: 1.8 V}
  - {part: inverter, current: 10 A, resistance: 12 mohm}
```
",
        expected: &[("bonds.resistance_battery_box", "72 mΩ"), ("bonds.highest", "72 mΩ")],
    },
    sources: &[
        "under 0.1 Ω at 0.2 A or more: draft of an R100-type national text, 5.1.2.2 (read); of UN R100 itself from memory",
    ],
    limits: &[
        "whether a bond carries a fault's current, and keeps doing so when it corrodes, is not calculated",
    ],
    codes: &[&INVALID_TEST],
    read,
};

static HIGHEST_ALLOWED: Taken<ElectricalResistance> = Taken::new("", "highest_allowed");

static READINGS: Family = Family { name: "readings", label: "Part", case: "PART" };

static RESISTANCE: Row<ElectricalResistance> = Row::formula(
    "resistance_PART",
    "bonding resistance",
    "mΩ",
    "readings.PART.voltage / readings.PART.current",
)
.when("with a voltage as reading")
.family(&READINGS);
static HIGHEST: Row<ElectricalResistance> = Row::procedure(
    "highest",
    "highest bonding resistance",
    "mΩ",
    "the highest of the readings that prove something",
)
.principal();
static NOT_MEASURED: Row<String> = Row::words("not_measured", "parts not measured")
    .about("of those that the journal knows with a conductive case")
    .when("where there are any");

static BONDED: RequirementRow = RequirementRow::safety("PART", "READING")
    .label("bonding")
    .at_most("highest_allowed")
    .strictly()
    .due(Stage::Test)
    .family(&READINGS)
    .each(&[("READING", "readings.PART.resistance")]);

/// One part is not all.
static EVERY_PART: RequirementRow = RequirementRow::safety("every_part", "highest")
    .label("every part with a conductive case")
    .at_most("highest_allowed")
    .strictly()
    .due(Stage::Test);

struct Bonding {
    readings: Vec<Entry<Reading>>,
    /// Of the readings that no record is of: the day, and whether their instrument is told.
    day: TestDay,
    with_instrument: bool,
    least_current: Slot<ElectricCurrent>,
    limit: Slot<ElectricalResistance>,
    highest: Slot<ElectricalResistance>,
    /// Whether the journal knows any part with a conductive case, and those that no reading is of.
    knows_parts: bool,
    left: Vec<String>,
    not_measured: Option<Slot<String>>,
}

const RECORDED: Wanted = Wanted {
    values: &["current", "voltage", "resistance"],
    needed: &[("current", &[]), ("resistance", &["voltage"])],
    texts: &[],
};

struct Reading {
    current: Slot<ElectricCurrent>,
    value: Value,
    record: Option<Recorded>,
}

/// How a resistance was found.
enum Value {
    /// The tester showed it.
    Shown(Slot<ElectricalResistance>),
    /// Worked from the voltage; the result is declared when all readings are there.
    Worked(Slot<ElectricPotential>, Option<Slot<ElectricalResistance>>),
    /// It could not be read; the finding has been made.
    Unreadable,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let [instrument, _] = ["instrument", "serial"].map(|key| form.text(key));
    let with_instrument = instrument.is_some();
    let day = read_test_day(form, "date");
    form.regard(Regard::Measured(None));
    let limit = form.limit("highest_allowed", "bonding_resistance");
    let least_current: Slot<ElectricCurrent> = form.limit("least_current", "bonding_current");
    let mut readings = form.list("readings", &["name", "part"], |form, _| read_reading(form));
    let cased: Vec<String> = KnownPart::all(form)
        .into_iter()
        .filter(KnownPart::has_conductive_case)
        .map(|part| part.name)
        .collect();
    let measured: Vec<&str> = readings.iter().map(|entry| known_as(form, &entry.slug)).collect();
    let left: Vec<String> = cased.iter().filter(|name| !measured.contains(&name.as_str())).cloned().collect();
    let mut out = form.outcomes();
    for entry in &mut readings {
        let case = entry.case();
        if let Value::Worked(_, resistance) = &mut entry.read.value {
            *resistance = Some(out.result(RESISTANCE.of(&case)));
        }
    }
    let mut uses = vec![least_current.index()];
    uses.extend(
        readings.iter().flat_map(|entry| [entry.read.current.index()].into_iter().chain(entry.read.field())),
    );
    let highest = match readings.is_empty() {
        true => out.unknown(&HIGHEST),
        false => out.procedure(&HIGHEST, &uses),
    };
    for entry in &readings {
        let reading = entry.read.resistance().map(|slot| out.names_of([slot])).unwrap_or_default();
        out.require(BONDED.of(&entry.case()).with("READING", reading));
    }
    out.require(&EVERY_PART);
    let not_measured = (!left.is_empty()).then(|| out.procedure(&NOT_MEASURED, &[]));
    let knows_parts = !cased.is_empty();
    Box::new(Bonding {
        readings,
        day,
        with_instrument,
        least_current,
        limit,
        highest,
        knows_parts,
        left,
        not_measured,
    })
}

fn read_reading(form: &mut Form<'_, '_>) -> Reading {
    form.text("name");
    if let Some((part, at)) = form.text("part")
        && form.lookup().block(&part, "").is_none()
    {
        let message = words!("`{}` is no block of this journal, and `part` is the name of one", part);
        form.report(&codes::OLD_NAME, at, message, words!("type `name: {}`", part));
    }
    let record = from_record(form, &RECORDED);
    let current = form.required("current");
    refuse_guess(form, current);
    let value = match form.one_of(&["voltage", "resistance"]) {
        Some("resistance") => {
            let shown = form.required("resistance");
            refuse_guess(form, shown);
            Value::Shown(shown)
        }
        Some(_) => {
            let voltage = form.required("voltage");
            refuse_guess(form, voltage);
            Value::Worked(voltage, None)
        }
        None => Value::Unreadable,
    };
    Reading { current, value, record }
}

impl Reading {
    fn resistance(&self) -> Option<Slot<ElectricalResistance>> {
        match self.value {
            Value::Shown(slot) => Some(slot),
            Value::Worked(_, slot) => slot,
            Value::Unreadable => None,
        }
    }

    /// What was measured beside the current.
    fn field(&self) -> Option<usize> {
        match self.value {
            Value::Shown(slot) => Some(slot.index()),
            Value::Worked(slot, _) => Some(slot.index()),
            Value::Unreadable => None,
        }
    }
}

/// Within rounding of the limit a current is enough.
fn too_small(current: ElectricCurrent, least: ElectricCurrent) -> bool {
    current < least * (1.0 - 1e-9)
}

impl Block for Bonding {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let least = bench.get(self.least_current);
        let mut highest = f64::NAN;
        for Entry { read, .. } in &self.readings {
            let current = bench.get(read.current);
            let invalid = self.is_to_come() || too_small(current, least);
            let resistance: ElectricalResistance = match read.value {
                Value::Shown(slot) => bench.get(slot),
                Value::Worked(voltage, _) => bench.get(voltage) / current,
                Value::Unreadable => continue,
            };
            if let Value::Worked(_, Some(slot)) = read.value {
                match invalid {
                    true => bench.not_there(slot),
                    false => bench.set(slot, resistance),
                }
            }
            if !invalid {
                // `f64::max` passes over what is not known; then the result is not worked at all.
                highest = highest.max(resistance.si());
            }
        }
        match highest.is_finite() {
            true => bench.set(self.highest, ElectricalResistance::from_si(highest)),
            false => bench.not_there(self.highest),
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let invalid = self.judge(page);
        self.judge_all(page, invalid);
        self.check(page);
        let count = match (self.readings.len(), invalid) {
            (1, 0) => words!("one reading"),
            (1, _) => words!("one reading, which proves nothing"),
            (count, 0) => words!("{} readings", count),
            (count, held) => words!("{} readings, {} of which prove nothing", count, held),
        };
        let asked = words!("under {} is asked.", page.value(self.limit));
        match page.get(self.highest) {
            Some(_) => page.sentence(
                words!("Highest bonding resistance {}", page.value(self.highest)),
                words!(" of {}; {}", count, asked),
            ),
            None => page.sentence("No valid reading", words!(", of {}; {}", count, asked)),
        }
    }
}
