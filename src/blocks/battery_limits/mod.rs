//! What the battery management is set to, held against the cell's sheet, and whether each trip was tested.

mod trips;

use self::trips::{
    CELL_VOLTAGE_HIGH, CELL_VOLTAGE_LOW, CHARGE_CURRENT, CHARGE_TEMPERATURE_HIGH, CHARGE_TEMPERATURE_LOW,
    DISCHARGE_CURRENT, TEMPERATURE_HIGH, TEMPERATURE_LOW, Trip,
};
use crate::blocks::shared::cell_of::cell_of;
use crate::blocks::shared::date::{TestDay, read_test_day};
use crate::blocks::shared::high_voltage::caution_dc;
use crate::blocks::shared::invalid_test::INVALID_TEST;
use crate::findings::codes;
use crate::model::{
    Bench, Block, BlockName, Example, FieldDoc, FieldSort, Form, Kind, Page, Purpose, Range, RequirementRow,
    Row, Slot, Stage, Taken, Takes,
};
use crate::quantities::si::{ElectricPotential, Measure, ThermodynamicTemperature};
use crate::quantities::sort;
use crate::words::words;

/// The documentation of all fields: a trip has the same four, but for their sort.
macro_rules! fields {
    ($($name:literal, $said:literal, $sort:ident, $needed:ident, $about:literal;)*) => {
        &[
            FieldDoc::new("pack", Takes::BlockName, "a pack, whose cell's sheet the settings are held against"),
            $(
                fields!(@$needed FieldDoc::new($name, Takes::Group, $about)),
                FieldDoc::new(
                    concat!($name, ".warn"),
                    Takes::Quantity(&sort::$sort),
                    "where the driver is warned",
                )
                .label(concat!("warning at ", $said))
                .optional()
                .range(Range::Positive)
                .sort(FieldSort::Setting)
                .due(Stage::Build),
                FieldDoc::new(
                    concat!($name, ".cut"),
                    Takes::Quantity(&sort::$sort),
                    "where the contactors open, or the current is stopped",
                )
                .label(concat!("cut at ", $said))
                .range(Range::Positive)
                .sort(FieldSort::Setting)
                .due(Stage::Build),
                FieldDoc::accuracy(concat!($name, ".accuracy")),
                FieldDoc::new(
                    concat!($name, ".tested"),
                    Takes::Text,
                    "the day on which this trip was tried: `2025-06-14`; one that is still to come does not count",
                )
                .label(concat!("test of the cut at ", $said))
                .optional()
                .due(Stage::Test),
            )*
        ]
    };
    (@required $doc:expr) => { $doc };
    (@optional $doc:expr) => { $doc.optional() };
}

static FIELDS: &[FieldDoc] = fields! {
    "cell_voltage_high", "high cell voltage", VOLTAGE, required, "of the highest cell; against `full_voltage`";
    "cell_voltage_low", "low cell voltage", VOLTAGE, required, "of the lowest cell; against `empty_voltage`";
    "temperature_high", "high temperature", TEMPERATURE, optional, "of the hottest cell; against `temperature_high`";
    "temperature_low", "low temperature", TEMPERATURE, optional, "of the coldest cell; against `temperature_low`";
    "charge_temperature_high", "high charging temperature", TEMPERATURE, optional,
        "of the hottest cell while charging; against `charge_temperature_high`";
    "charge_temperature_low", "low charging temperature", TEMPERATURE, optional,
        "of the coldest cell while charging; against `charge_temperature_low`";
    "discharge_current", "high discharge current", CURRENT, optional, "out of the pack; against `peak_discharge` of the cells in parallel";
    "charge_current", "high charge current", CURRENT, optional, "into the pack; against `continuous_charge` of the cells in parallel";
};

pub(super) static KIND: Kind = Kind {
    name: "battery-limits",
    summary: "whether the battery management warns and cuts within the cell's sheet, and whether each trip was tested",
    subsystem: "battery",
    fields: FIELDS,
    rows: &[&TRIPS.row, &TESTED.row],
    takes: &[
        &FULL_VOLTAGE.row,
        &PARALLEL.row,
        &CELL_VOLTAGE_HIGH.sheet.row,
        &CELL_VOLTAGE_LOW.sheet.row,
        &TEMPERATURE_HIGH.sheet.row,
        &TEMPERATURE_LOW.sheet.row,
        &CHARGE_TEMPERATURE_HIGH.sheet.row,
        &CHARGE_TEMPERATURE_LOW.sheet.row,
        &DISCHARGE_CURRENT.sheet.row,
        &CHARGE_CURRENT.sheet.row,
    ],
    requires: &[
        &CELL_VOLTAGE_HIGH.cut,
        &CELL_VOLTAGE_HIGH.warn,
        &CELL_VOLTAGE_LOW.cut,
        &CELL_VOLTAGE_LOW.warn,
        &TEMPERATURE_HIGH.cut,
        &TEMPERATURE_HIGH.warn,
        &TEMPERATURE_LOW.cut,
        &TEMPERATURE_LOW.warn,
        &CHARGE_TEMPERATURE_HIGH.cut,
        &CHARGE_TEMPERATURE_HIGH.warn,
        &CHARGE_TEMPERATURE_LOW.cut,
        &CHARGE_TEMPERATURE_LOW.warn,
        &DISCHARGE_CURRENT.cut,
        &DISCHARGE_CURRENT.warn,
        &CHARGE_CURRENT.cut,
        &CHARGE_CURRENT.warn,
        &EACH_TESTED,
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
temperature_low: -20 °C
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
temperature_low: {cut: -15 °C, tested: 2025-06-15}
charge_temperature_low: {cut: 2 °C, tested: 2025-06-15}
discharge_current: {warn: 400 A, cut: 500 A}
charge_current: {cut: 90 A, tested: 2025-06-15}
```
",
        expected: &[("management.trips", "7"), ("management.tested", "5")],
    },
    sources: &[
        "the limits are those of the cell's sheet; that each trip is tried is good practice, no source",
    ],
    limits: &[
        "a setting is no protection by itself: how the management measures, how fast it acts and whether it fails safe is not calculated",
        "a software limit never replaces a fuse",
    ],
    codes: &[&INVALID_TEST],
    read,
};

static FULL_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "full_voltage").purpose(Purpose::Dc);
static PARALLEL: Taken<f64> = Taken::new("pack", "parallel");

static TRIPS: Row<f64> =
    Row::formula("trips", "trips that are set", "1", "EACH").each(&[("EACH", "1 + 1")]).count();
static TESTED: Row<f64> = Row::formula("tested", "trips that were tried", "1", "EACH")
    .about("with a date")
    .each(&[("EACH", "1 + 1")])
    .count()
    .principal();

static EACH_TESTED: RequirementRow = RequirementRow::safety("tested", "tested")
    .at_least("trips")
    .source("good practice: each trip is tried once")
    .due(Stage::Test);

struct BatteryLimits {
    full_voltage: Slot<ElectricPotential>,
    /// Where the voltages, the temperatures and those while charging cut, the high one first.
    voltages: [Option<Slot<ElectricPotential>>; 2],
    temperatures: [[Option<Slot<ThermodynamicTemperature>>; 2]; 2],
    trips: Slot<f64>,
    tested: Slot<f64>,
    counts: (f64, f64),
    unset: Vec<&'static str>,
    /// What has to be set and is not.
    lacking: Vec<String>,
    untested: Vec<String>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let pack = form.lookup().block_name("pack");
    let cell = cell_of(form, pack.as_ref());
    let mut lookup = form.lookup();
    lookup.taken(&PARALLEL, pack.as_ref());
    let full_voltage = lookup.taken(&FULL_VOLTAGE, pack.as_ref());
    let mut all = All { cell, ..All::default() };
    let voltages = [&CELL_VOLTAGE_HIGH, &CELL_VOLTAGE_LOW].map(|trip| all.read(form, (trip, Wanted::Always)));
    let temperatures = [
        [&TEMPERATURE_HIGH, &TEMPERATURE_LOW].map(|trip| all.read(form, (trip, Wanted::Always))),
        [&CHARGE_TEMPERATURE_HIGH, &CHARGE_TEMPERATURE_LOW]
            .map(|trip| all.read(form, (trip, Wanted::WithSheet))),
    ];
    for trip in [&DISCHARGE_CURRENT, &CHARGE_CURRENT] {
        all.read(form, (trip, Wanted::IfSet));
    }
    let count = |of: usize| if of == 0 { "0".to_owned() } else { vec!["1"; of].join(" + ") };
    let mut out = form.outcomes();
    let trips = out.result(TRIPS.with("EACH", count(all.set)));
    let tested = out.result(TESTED.with("EACH", count(all.set - all.untested.len())));
    out.require(&EACH_TESTED);
    #[allow(clippy::cast_precision_loss)]
    let counts = (all.set as f64, (all.set - all.untested.len()) as f64);
    let All { unset, lacking, untested, .. } = all;
    Box::new(BatteryLimits {
        full_voltage,
        voltages,
        temperatures,
        trips,
        tested,
        counts,
        unset,
        lacking,
        untested,
    })
}

/// When a trip has to be set.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Wanted {
    Always,
    /// Where the cell's sheet has a limit.
    WithSheet,
    /// A current is limited by others too.
    IfSet,
}

/// What is gathered over all trips.
#[derive(Default)]
struct All {
    cell: Option<BlockName>,
    set: usize,
    unset: Vec<&'static str>,
    lacking: Vec<String>,
    untested: Vec<String>,
}

impl All {
    /// Where the trip cuts, if it is set.
    fn read<T: Measure>(
        &mut self,
        form: &mut Form<'_, '_>,
        (trip, wanted): (&'static Trip<T>, Wanted),
    ) -> Option<Slot<T>> {
        let set = form.has(trip.name);
        if !set {
            self.unset.push(trip.words);
        }
        let mut on_sheet = || form.lookup().has(self.cell.as_ref(), trip.sheet.row.name);
        let wanted = wanted == Wanted::Always || wanted == Wanted::WithSheet && on_sheet();
        if wanted && !set {
            self.lacking.push(trip.name.replace('_', " "));
        }
        if !(set || wanted) {
            return None;
        }
        let cut = form.group(trip.name, |form| {
            self.set += 1;
            form.optional::<T>("warn");
            if read_test_day(form, "tested") != TestDay::Said {
                self.untested.push(trip.name.replace('_', " "));
            }
            form.required::<T>("cut")
        });
        if self.cell.is_some() {
            form.lookup().if_given(&trip.sheet, self.cell.as_ref());
        }
        let mut out = form.outcomes();
        out.require(&trip.cut);
        out.require(&trip.warn);
        cut
    }
}

impl Block for BatteryLimits {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        bench.set(self.trips, self.counts.0);
        bench.set(self.tested, self.counts.1);
    }

    fn present(&self, page: &mut Page<'_>) {
        let [over, under] = self.voltages;
        let shown = |page: &Page<'_>, slot: Option<Slot<ElectricPotential>>| {
            slot.map_or_else(|| "not set".into(), |slot| words!("{}", page.value(slot)))
        };
        page.sentence(
            words!("Cells cut at {} and {}", shown(page, under), shown(page, over)),
            words!("; {} of {} trips tested.", page.value(self.tested), page.value(self.trips)),
        );
        caution_dc(page, self.full_voltage);
        upside_down(page, self.voltages);
        let [whole, [hot, cold]] = self.temperatures;
        upside_down(page, whole);
        // Without a trip of its own, charging ends where all else does.
        upside_down(page, [hot.or(whole[0]), cold]);
        if !self.lacking.is_empty() {
            page.hold_open(EACH_TESTED.name, Stage::Test, words!("not set: {}", self.lacking.join(", ")));
        }
        if !self.untested.is_empty() {
            page.hold_open(
                EACH_TESTED.name,
                Stage::Test,
                words!("not tested yet: {}", self.untested.join(", ")),
            );
        }
        if !self.unset.is_empty() {
            page.note(words!("No trip is set here for {}.", self.unset.join(", ")));
        }
        page.note("These are settings of software. They are no fuse, and no verdict on a fuse or a cable rests on them.");
    }
}

/// Two trips that were swapped would each be within the sheet.
fn upside_down<T: Measure>(page: &mut Page<'_>, [high, low]: [Option<Slot<T>>; 2]) {
    let (Some(high), Some(low)) = (high, low) else { return };
    let (Some(above), Some(below)) = (page.get(high), page.get(low)) else { return };
    if above.si() <= below.si() {
        let message = words!(
            "it cuts above {} and below {}: nothing is left in between",
            page.value(high),
            page.value(low)
        );
        page.find(&codes::OUT_OF_RANGE, high.index(), message, "look whether the two were swapped");
    }
}
