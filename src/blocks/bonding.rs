//! Measured resistance between exposed conductive parts and the chassis.

use crate::blocks::shared::invalid_test::INVALID_TEST;
use crate::model::{
    Bench, Block, Entry, Example, Family, FieldDoc, Form, Kind, Page, Range, RequirementRow, Row, Slot,
    Stage, Taken, Takes,
};
use crate::quantities::si::{ElectricCurrent, ElectricPotential, ElectricalResistance, Measure};
use crate::quantities::sort;
use crate::words::words;

pub(super) static KIND: Kind = Kind {
    name: "bonding",
    summary: "whether every part that can be touched is bonded to the chassis well enough",
    subsystem: "tests",
    fields: &[
        FieldDoc::new("readings", Takes::List, "one for each part").due(Stage::Test),
        FieldDoc::new("readings.part", Takes::Text, "from where to where"),
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
        .either()
        .range(Range::NotNegative),
        FieldDoc::new("instrument", Takes::Text, "what it was measured with").optional(),
        FieldDoc::new("serial", Takes::Text, "its serial number, for the calibration").optional(),
        FieldDoc::new("date", Takes::Text, "of the measurement").optional(),
    ],
    rows: &[&RESISTANCE.row, &HIGHEST.row],
    takes: &[&HIGHEST_ALLOWED.row],
    requires: &[&BONDED],
    results: &[],
    example: Example {
        journal: "\
```yaml bonding bonds
instrument: four-wire ohmmeter
date: 2026-03-02
readings:
  - {part: battery box, current: 25 A, voltage: 1.8 V}
  - {part: inverter, current: 10 A, resistance: 12 mohm}
```
",
        expected: &[("bonds.resistance_battery_box", "72 mΩ"), ("bonds.highest", "72 mΩ")],
    },
    sources: &[
        "under 0.1 Ω at 0.2 A or more: draft of an R100-type national text, 5.1.2.2 (read); of UN R100 itself from memory",
    ],
    inspector: &[],
    limits: &[
        "whether a bond carries a fault's current, and keeps doing so when it corrodes, is not calculated",
    ],
    codes: &[],
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
static HIGHEST: Row<ElectricalResistance> =
    Row::formula("highest", "highest bonding resistance", "mΩ", "max(EACH)")
        .about("of all readings")
        .each(&[("EACH", "readings.PART.resistance")])
        .principal();

static BONDED: RequirementRow = RequirementRow::safety("PART", "READING")
    .label("bonding")
    .at_most("highest_allowed")
    .strictly()
    .due(Stage::Test)
    .family(&READINGS)
    .each(&[("READING", "readings.PART.resistance")]);

struct Bonding {
    readings: Vec<Entry<Reading>>,
    least_current: Slot<ElectricCurrent>,
    limit: Slot<ElectricalResistance>,
    highest: Slot<ElectricalResistance>,
}

struct Reading {
    current: Slot<ElectricCurrent>,
    /// `None` where the tester showed the resistance.
    voltage: Option<Slot<ElectricPotential>>,
    /// The tester's own; else worked, when all readings are there. `None` only for a reading that could not be read.
    resistance: Option<Slot<ElectricalResistance>>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    for key in ["instrument", "serial", "date"] {
        form.text(key);
    }
    form.as_measured();
    let limit = form.limit("highest_allowed", "bonding_resistance");
    let least_current = form.limit("least_current", "bonding_current");
    let help = "type one `{part: …, current: …, voltage: …}` for each part";
    let mut readings = form.required_list(("readings", help), &["part"], |form, _| read_reading(form));
    let mut out = form.outcomes();
    for entry in &mut readings {
        if entry.read.voltage.is_some() {
            entry.read.resistance = Some(out.result(RESISTANCE.of(&entry.case())));
        }
    }
    let slots: Vec<_> = readings.iter().filter_map(|entry| entry.read.resistance).collect();
    let highest = out.result(HIGHEST.with("EACH", out.names_of(slots)));
    for entry in &readings {
        let reading = entry.read.resistance.map(|slot| out.name_of(slot)).unwrap_or_default();
        out.require(BONDED.of(&entry.case()).with("READING", reading));
    }
    Box::new(Bonding { readings, least_current, limit, highest })
}

fn read_reading(form: &mut Form<'_, '_>) -> Reading {
    form.text("part");
    let current = form.required("current");
    match form.one_of(&["voltage", "resistance"]) {
        Some("resistance") => {
            Reading { current, voltage: None, resistance: Some(form.required("resistance")) }
        }
        Some(_) => Reading { current, voltage: Some(form.required("voltage")), resistance: None },
        None => Reading { current, voltage: None, resistance: None },
    }
}

impl Block for Bonding {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let mut highest = f64::NEG_INFINITY;
        for Entry { read, .. } in &self.readings {
            let Some(slot) = read.resistance else { continue };
            if let Some(voltage) = read.voltage {
                bench.set(slot, bench.get(voltage) / bench.get(read.current));
            }
            let resistance = bench.get(slot).si();
            // What is not known stays so.
            highest = if resistance <= highest { highest } else { resistance };
        }
        bench.set(self.highest, ElectricalResistance::from_si(highest));
    }

    fn present(&self, page: &mut Page<'_>) {
        let least = page.get(self.least_current).map_or(f64::NAN, Measure::si);
        for Entry { title, slug, read } in &self.readings {
            let Some(current) = page.get(read.current) else { continue };
            // Within rounding of the limit it is enough.
            if current.si() < least * (1.0 - 1e-9) {
                let message = words!(
                    "`{}` was tested with {}, under {}",
                    title,
                    page.value(read.current),
                    page.value(self.least_current)
                );
                let help =
                    "test again with more current: a small one finds no strand that hangs on by a thread";
                page.find(&INVALID_TEST, read.current.index(), message, help);
                page.hold_open(slug, Stage::Test, "the test current was too small");
            }
        }
        let count = match (self.readings.len(), page.said.held.len()) {
            (1, 0) => words!("one reading"),
            (1, _) => words!("one reading, which proves nothing"),
            (count, 0) => words!("{} readings", count),
            (count, held) => words!("{} readings, {} of which prove nothing", count, held),
        };
        page.sentence(
            words!("Highest bonding resistance {}", page.value(self.highest)),
            words!(" of {}; under {} is asked.", count, page.value(self.limit)),
        );
    }
}
