//! Measured resistance between exposed conductive parts and the chassis.

use crate::blocks::shared::invalid_test::INVALID_TEST;
use crate::findings::codes;
use crate::model::{
    Bench, Block, Entry, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind, ResultDoc, Slot,
    Stage, Takes,
};
use crate::quantities::si::{ElectricCurrent, ElectricPotential, ElectricalResistance, Measure};
use crate::quantities::sort;

pub(super) static KIND: Kind = Kind {
    name: "bonding",
    summary: "whether every part that can be touched is bonded to the chassis well enough",
    subsystem: "tests",
    fields: &[
        FieldDoc::new("readings", Takes::List, "one for each part"),
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
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "resistance_PART", about: "voltage over current" },
        ResultDoc { name: "highest", about: "of all readings" },
    ],
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
    inspector: &["highest"],
    limits: &[
        "whether a bond carries a fault's current, and keeps doing so when it corrodes, is not calculated",
    ],
    codes: &[],
    read,
};

struct Bonding {
    readings: Vec<Entry<Reading>>,
    least_current: Slot<ElectricCurrent>,
    limit: Slot<ElectricalResistance>,
    highest: Slot<ElectricalResistance>,
}

struct Reading {
    current: Slot<ElectricCurrent>,
    voltage: Option<Slot<ElectricPotential>>,
    /// The tester's own, or worked; set when all readings are there.
    resistance: Option<Slot<ElectricalResistance>>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    for key in ["instrument", "serial", "date"] {
        form.text(key);
    }
    form.as_measured();
    let limit = form.limit("highest_allowed", "bonding_resistance");
    let least_current = form.limit("least_current", "bonding_current");
    if !form.has("readings") {
        form.missing("readings");
    }
    let mut readings = form.list("readings", &["part"], |form, _| read_reading(form));
    form.needs_items("readings", &readings, "type one `{part: …, current: …, voltage: …}` for each part");
    for entry in readings.iter_mut().filter(|entry| entry.read.resistance.is_none()) {
        let formula = format!("readings.{0}.voltage / readings.{0}.current", entry.slug);
        entry.read.resistance = Some(form.step(&format!("resistance_{}", entry.slug), "mΩ", &formula));
    }
    let slots: Vec<_> = readings.iter().filter_map(|entry| entry.read.resistance).collect();
    let names: Vec<String> = slots.iter().map(|slot| form.name_of(*slot)).collect();
    let highest = match names.as_slice() {
        [] => form.unknown_step("highest"),
        names => form.step("highest", "mΩ", &format!("max({})", names.join(", "))),
    };
    let (source, status) = form.grounds(limit);
    for (entry, actual) in readings.iter().zip(&names) {
        form.require_strictly(Limit {
            name: &entry.slug,
            kind: RequirementKind::Safety,
            actual,
            low: None,
            high: Some("highest_allowed"),
            source: &source,
            status,
            span: None,
        });
    }
    Box::new(Bonding { readings, least_current, limit, highest })
}

fn read_reading(form: &mut Form<'_, '_>) -> Reading {
    form.text("part");
    let current = form.required("current");
    if form.has("voltage") && form.has("resistance") {
        form.report(&codes::BAD_VALUE, form.place(), "both `voltage` and `resistance`", "keep one of them");
    }
    if form.has("resistance") && !form.has("voltage") {
        return Reading { current, voltage: None, resistance: Some(form.required("resistance")) };
    }
    let voltage = form.required("voltage");
    if form.has("resistance") {
        form.optional::<ElectricalResistance>("resistance");
    }
    Reading { current, voltage: Some(voltage), resistance: None }
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
                let message = format!(
                    "`{title}` was tested with {}, under {}",
                    page.shown(read.current),
                    page.shown(self.least_current)
                );
                let help =
                    "test again with more current: a small one finds no strand that hangs on by a thread";
                page.find(&INVALID_TEST, read.current.index(), message, help);
                page.hold_open(slug, Stage::Test, "the test current was too small");
            }
        }
        let count = match (self.readings.len(), page.said.held.len()) {
            (1, 0) => "one reading".to_owned(),
            (1, _) => "one reading, which proves nothing".to_owned(),
            (count, 0) => format!("{count} readings"),
            (count, held) => format!("{count} readings, {held} of which prove nothing"),
        };
        page.sentence(
            format!("Highest bonding resistance {}", page.shown(self.highest)),
            format!(" of {count}; under {} is asked.", page.shown(self.limit)),
        );
        page.headline(self.highest);
    }
}
