//! What the battery management is set to, held against the cell's sheet, and whether each trip was tested.

use crate::blocks::shared::high_voltage::caution_dc;
use crate::findings::codes;
use crate::model::{
    Bench, Block, BlockName, Example, FieldDoc, Form, Kind, Limit, Page, RequirementKind, ResultDoc, Slot,
    Stage, Status, Takes,
};
use crate::quantities::si::{ElectricCurrent, ElectricPotential, Measure, ThermodynamicTemperature};
use crate::quantities::sort;
use crate::source::Span;

/// The documentation of all fields: a trip has the same four, but for their sort.
macro_rules! fields {
    ($($name:literal, $sort:ident, $needed:ident, $about:literal;)*) => {
        &[
            FieldDoc::new("pack", Takes::BlockName, "a pack, whose cell's sheet the settings are held against"),
            $(
                fields!(@$needed FieldDoc::new($name, Takes::Group, $about)),
                FieldDoc::new(
                    concat!($name, ".warn"),
                    Takes::Quantity(&sort::$sort),
                    "where the driver is warned",
                )
                .optional(),
                FieldDoc::new(
                    concat!($name, ".cut"),
                    Takes::Quantity(&sort::$sort),
                    "where the contactors open, or the current is stopped",
                ),
                FieldDoc::new(
                    concat!($name, ".tested"),
                    Takes::Text,
                    "the date on which this trip was tried: `2025-06-14`",
                )
                .optional(),
            )*
        ]
    };
    (@required $doc:expr) => { $doc };
    (@optional $doc:expr) => { $doc.optional() };
}

static FIELDS: &[FieldDoc] = fields! {
    "cell_voltage_high", VOLTAGE, required, "of the highest cell; against `full_voltage`";
    "cell_voltage_low", VOLTAGE, required, "of the lowest cell; against `empty_voltage`";
    "temperature_high", TEMPERATURE, optional, "of the hottest cell; against `temperature_high`";
    "temperature_low", TEMPERATURE, optional, "of the coldest cell; against `temperature_low`";
    "charge_temperature_high", TEMPERATURE, optional,
        "of the hottest cell while charging; against `charge_temperature_high`";
    "charge_temperature_low", TEMPERATURE, optional,
        "of the coldest cell while charging; against `charge_temperature_low`";
    "discharge_current", CURRENT, optional, "out of the pack; against `peak_discharge` of the cells in parallel";
    "charge_current", CURRENT, optional, "into the pack; against `continuous_charge` of the cells in parallel";
};

pub(super) static KIND: Kind = Kind {
    name: "battery-limits",
    summary: "whether the battery management warns and cuts within the cell's sheet, and whether each trip was tested",
    subsystem: "battery",
    fields: FIELDS,
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "trips", about: "how many are set" },
        ResultDoc { name: "tested", about: "how many of them were tried, with a date" },
    ],
    example: Example {
        journal: "\
```yaml part cell
role: cell
nominal_voltage: 3.2 V
full_voltage: 3.65 V
empty_voltage: 2.5 V
capacity: 100 Ah
resistance: 1 mΩ
mass: 2 kg
continuous_discharge: 100 A
peak_discharge: 300 A
continuous_charge: 50 A
charge_temperature_low: 0 °C
temperature_high: 60 °C
```

```yaml pack-layout pack
cell: cell
series: 100
parallel: 2
housing_mass: 40 kg
```

```yaml battery-limits management
pack: pack
cell_voltage_high: {warn: 3.55 V, cut: 3.60 V, tested: 2025-06-14}
cell_voltage_low: {warn: 2.90 V, cut: 2.70 V, tested: 2025-06-14}
temperature_high: {warn: 50 °C, cut: 55 °C}
charge_temperature_low: {cut: 2 °C, tested: 2025-06-15}
discharge_current: {warn: 400 A, cut: 500 A}
charge_current: {cut: 90 A, tested: 2025-06-15}
```
",
        expected: &[("management.trips", "6"), ("management.tested", "4")],
    },
    sources: &[
        "the limits are those of the cell's sheet; that each trip is tried is good practice, no source",
    ],
    inspector: &["cell_voltage_high.cut", "cell_voltage_low.cut", "trips", "tested"],
    limits: &[
        "a setting is no protection by itself: how the management measures, how fast it acts and whether it fails safe is not calculated",
        "a software limit never replaces a fuse",
    ],
    codes: &[],
    read,
};

/// What one trip is held against.
struct Trip {
    name: &'static str,
    side: Side,
    /// The value of the cell's sheet.
    sheet: &'static str,
    /// Its limit as a formula.
    limit: &'static str,
    /// What it is called where it is not set.
    words: &'static str,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    AtMost,
    AtLeast,
}

const VOLTAGES: [Trip; 2] = [
    Trip {
        name: "cell_voltage_high",
        side: Side::AtMost,
        sheet: "full_voltage",
        limit: "cell.full_voltage",
        words: "a full cell",
    },
    Trip {
        name: "cell_voltage_low",
        side: Side::AtLeast,
        sheet: "empty_voltage",
        limit: "cell.empty_voltage",
        words: "an empty cell",
    },
];

const TEMPERATURES: [Trip; 4] = [
    Trip {
        name: "temperature_high",
        side: Side::AtMost,
        sheet: "temperature_high",
        limit: "cell.temperature_high",
        words: "a hot cell",
    },
    Trip {
        name: "temperature_low",
        side: Side::AtLeast,
        sheet: "temperature_low",
        limit: "cell.temperature_low",
        words: "a cold cell",
    },
    Trip {
        name: "charge_temperature_high",
        side: Side::AtMost,
        sheet: "charge_temperature_high",
        limit: "cell.charge_temperature_high",
        words: "charging a hot cell",
    },
    Trip {
        name: "charge_temperature_low",
        side: Side::AtLeast,
        sheet: "charge_temperature_low",
        limit: "cell.charge_temperature_low",
        words: "charging a cold cell",
    },
];

const CURRENTS: [Trip; 2] = [
    Trip {
        name: "discharge_current",
        side: Side::AtMost,
        sheet: "peak_discharge",
        limit: "cell.peak_discharge * pack.parallel",
        words: "too much current out of the pack",
    },
    Trip {
        name: "charge_current",
        side: Side::AtMost,
        sheet: "continuous_charge",
        limit: "cell.continuous_charge * pack.parallel",
        words: "too much current into the pack",
    },
];

struct BatteryLimits {
    full_voltage: Slot<ElectricPotential>,
    over: Option<Slot<ElectricPotential>>,
    under: Option<Slot<ElectricPotential>>,
    trips: Slot<f64>,
    tested: Slot<f64>,
    counts: (f64, f64),
    unset: Vec<&'static str>,
    unjudged: Vec<String>,
    untested: Vec<String>,
}

/// A trip as it is written.
struct Written {
    tested: bool,
    cut: usize,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let pack = form.required_block("pack");
    let cell = form.block_of(pack.as_ref(), "cell");
    form.of_block::<f64>(pack.as_ref(), "parallel");
    let full_voltage = form.of_block(pack.as_ref(), "full_voltage");
    for trip in &VOLTAGES {
        if !form.has(trip.name) {
            form.missing(trip.name);
        }
    }
    let mut all = All { cell, ..All::default() };
    let [over, under] = VOLTAGES.map(|trip| all.read::<ElectricPotential>(form, &trip));
    TEMPERATURES.iter().for_each(|trip| {
        all.read::<ThermodynamicTemperature>(form, trip);
    });
    CURRENTS.iter().for_each(|trip| {
        all.read::<ElectricCurrent>(form, trip);
    });

    let count = |of: usize| if of == 0 { "0".to_owned() } else { vec!["1"; of].join(" + ") };
    let trips = form.count_step("trips", &count(all.set));
    let tested = form.count_step("tested", &count(all.set - all.untested.len()));
    form.require(Limit {
        name: "tested",
        kind: RequirementKind::Safety,
        actual: "tested",
        low: Some("trips"),
        high: None,
        source: "good practice: each trip is tried once",
        status: Status::Derived,
        span: None,
    });
    #[allow(clippy::cast_precision_loss)]
    let counts = (all.set as f64, (all.set - all.untested.len()) as f64);
    Box::new(BatteryLimits {
        full_voltage,
        over: over.map(|written| Slot::new(written.cut)),
        under: under.map(|written| Slot::new(written.cut)),
        trips,
        tested,
        counts,
        unset: all.unset,
        unjudged: all.unjudged,
        untested: all.untested,
    })
}

/// What is gathered over all trips.
#[derive(Default)]
struct All {
    cell: Option<BlockName>,
    set: usize,
    unset: Vec<&'static str>,
    unjudged: Vec<String>,
    untested: Vec<String>,
}

impl All {
    fn read<T: Measure>(&mut self, form: &mut Form<'_, '_>, trip: &Trip) -> Option<Written> {
        if !form.has(trip.name) {
            self.unset.push(trip.words);
            return None;
        }
        let written = form.group(trip.name, |form| {
            let warn = form.optional::<T>("warn").is_some();
            let cut = form.required::<T>("cut").index();
            let tested = form.text("tested");
            if let Some((text, span)) = &tested {
                date(form, text, *span);
            }
            (warn, Written { tested: tested.is_some(), cut })
        });
        let (warn, written) = written?;
        self.set += 1;
        let label = trip.name.replace('_', " ");
        if !written.tested {
            self.untested.push(label.clone());
        }
        let cut = format!("{}.cut", trip.name);
        if form.of_block_if_there::<T>(self.cell.as_ref(), trip.sheet).is_some() {
            form.require(trip.limit(&cut, trip.limit, "the cell's sheet"));
        } else {
            self.unjudged.push(format!("{label} (the cell has no `{}`)", trip.sheet));
        }
        if warn {
            form.require(trip.limit(&format!("{}.warn", trip.name), &cut, "a warning comes before the cut"));
        }
        Some(written)
    }
}

impl Trip {
    fn limit<'a>(&self, actual: &'a str, against: &'a str, source: &'a str) -> Limit<'a> {
        let (low, high) = match self.side {
            Side::AtMost => (None, Some(against)),
            Side::AtLeast => (Some(against), None),
        };
        let (kind, status) = (RequirementKind::Safety, Status::Stated);
        Limit { name: actual, kind, actual, low, high, source, status, span: None }
    }
}

/// A date as `2025-06-14`; the finding is made where it is none.
fn date(form: &mut Form<'_, '_>, text: &str, span: Span) {
    let parts: Vec<Option<u32>> = text
        .split('-')
        .map(|part| part.bytes().all(|byte| byte.is_ascii_digit()).then(|| part.parse().ok()).flatten())
        .collect();
    let sound = text.len() == 10 && matches!(parts.as_slice(), [Some(1900..), Some(1..=12), Some(1..=31)]);
    if !sound {
        let message = format!("`{text}` where a date is expected");
        form.report(&codes::BAD_VALUE, span, message, "type it as year-month-day: `2025-06-14`");
    }
}

impl Block for BatteryLimits {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        bench.set(self.trips, self.counts.0);
        bench.set(self.tested, self.counts.1);
    }

    fn present(&self, page: &mut Page<'_>) {
        let shown = |page: &Page<'_>, slot: Option<Slot<ElectricPotential>>| {
            slot.map_or_else(|| "not set".to_owned(), |slot| page.shown(slot))
        };
        page.sentence(
            format!("Cells cut at {} and {}", shown(page, self.under), shown(page, self.over)),
            format!("; {} of {} trips tested.", page.shown(self.tested), page.shown(self.trips)),
        );
        page.headline(self.tested);
        caution_dc(page, self.full_voltage);
        if !self.untested.is_empty() {
            page.hold_open("tested", Stage::Test, format!("not tested yet: {}", self.untested.join(", ")));
        }
        if !self.unset.is_empty() {
            page.note(format!("No trip is set here for {}.", self.unset.join(", ")));
        }
        if !self.unjudged.is_empty() {
            page.note(format!("Not judged: {}.", self.unjudged.join(", ")));
        }
        page.note("These are settings of software. They are no fuse, and no verdict on a fuse or a cable rests on them.");
    }
}
