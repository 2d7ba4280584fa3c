//! Whether a fuse protects what lies behind it: against overload, and at the highest and lowest short circuit.

use crate::blocks::shared::high_voltage::caution_dc;
use crate::model::{
    Bench, Block, BlockName, Entry, Example, FieldDoc, FieldSort, Form, Kind, Page, Range, RequirementRow,
    Row, Slot, Stage, Taken, Takes,
};
use crate::quantities::si::{ElectricCurrent, ElectricPotential, ElectricalResistance, Measure, Ratio};
use crate::quantities::sort;
use crate::words::words;

pub(super) static KIND: Kind = Kind {
    name: "fuse",
    summary: "whether a fuse clears what the pack can drive, carries the load, and protects the weakest part",
    subsystem: "high voltage",
    fields: &[
        FieldDoc::new("rated_current", Takes::Quantity(&sort::CURRENT), "on its label")
            .range(Range::Positive)
            .sort(FieldSort::Stated)
            .principal(),
        FieldDoc::new("rated_voltage", Takes::Quantity(&sort::VOLTAGE), "its DC rating")
            .range(Range::Positive).sort(FieldSort::Stated).principal(),
        FieldDoc::new(
            "interrupting_rating",
            Takes::Quantity(&sort::CURRENT),
            "the largest DC current that it clears",
        )
        .range(Range::Positive).sort(FieldSort::Stated).principal(),
        FieldDoc::new("load_current", Takes::Quantity(&sort::CURRENT), "that it must carry")
            .range(Range::Positive).sort(FieldSort::Condition),
        FieldDoc::new(
            "protects",
            Takes::List,
            "the cables behind it by name, and what else lies in the circuit as `{item, rating}`",
        )
        .or_names(),
        FieldDoc::new("protects.item", Takes::Text, "what it is, where it is no cable of the journal").either(),
        FieldDoc::new("protects.cable", Takes::BlockName, "a cable with an ampacity, or a part with a `rated_current`")
            .either(),
        FieldDoc::new("protects.rating", Takes::Quantity(&sort::CURRENT), "what it carries continuously")
            .either()
            .range(Range::Positive).sort(FieldSort::Stated),
        FieldDoc::new("pack", Takes::BlockName, "the battery pack that feeds it"),
        FieldDoc::new(
            "ambient_factor",
            Takes::Quantity(&sort::RATIO),
            "what is left of the rated current where the fuse sits",
        )
        .assumed("1")
        .range(Range::Positive).sort(FieldSort::Condition).label("share of the rated current where the fuse sits"),
        FieldDoc::new(
            "clears_at",
            Takes::Quantity(&sort::CURRENT),
            "the current that blows it within the time that its sheet promises",
        )
        .optional()
        .range(Range::Positive).sort(FieldSort::Stated).label("current that clears it in time"),
        FieldDoc::new(
            "pulse_share",
            Takes::Quantity(&sort::RATIO),
            "of the cell's pulse resistance that limits a short circuit, where the cell states no `resistance_1khz`",
        )
        .assumed("0.5")
        .range(Range::Share).label("share of the pulse resistance"),
        FieldDoc::new(
            "old_cold_factor",
            Takes::Quantity(&sort::RATIO),
            "how much more resistance the pack has when old and cold; the pack's own `worst` where it has one",
        )
        .assumed("3")
        .range(Range::AtLeastOne).label("resistance of an old, cold pack against a new one"),
        FieldDoc::new(
            "software_limit",
            Takes::Quantity(&sort::CURRENT),
            "a current limit in software, if any: it is named and never counted as protection",
        )
        .optional()
        .range(Range::Positive).sort(FieldSort::Setting).due(Stage::Build),
    ],
    rows: &[
        &SHORT_AT_1KHZ.row,
        &SHORT_BY_SHARE.row,
        &LOWEST_SHORT.row,
        &LOAD_SHARE.row,
        &WEAKEST_PART.row,
        &WEAKEST_RATING.row,
    ],
    takes: &[
        &FULL_VOLTAGE.row,
        &EMPTY_VOLTAGE.row,
        &SERIES.row,
        &PARALLEL.row,
        &PACK_RESISTANCE.row,
        &PACK_FACTOR.row,
        &CELL_RESISTANCE.row,
        &CELL_AT_1KHZ.row,
        &CABLE_AMPACITY.row,
        &PART_RATING.row,
    ],
    requires: &[
        &VOLTAGE_RATING,
        &INTERRUPTING_RATING,
        &WEAKEST_AGAINST_RATING,
        &LOAD_AGAINST_RATING,
        &LOAD_AGAINST_WEAKEST,
        &CLEARS_AT,
    ],
    results: &[],
    example: Example {
        journal: "\
```yaml part cell
role: cell
nominal_voltage: 3.65 V
full_voltage: 4.2 V
empty_voltage: 2.8 V
capacity: 60 Ah
resistance: 0.8 mΩ
resistance_1khz: 0.5 mΩ
mass: 0.9 kg
continuous_discharge: 120 A
peak_discharge: 300 A
```

```yaml pack-layout pack
cell: cell
series: 96
parallel: 1
housing_share: 25 %
```

```yaml fuse main_fuse
rated_current: 200 A (datasheet)
rated_voltage: 500 V (datasheet)
interrupting_rating: 20 kA (datasheet)
load_current: 150 A
protects: [{item: main cable, rating: 250 A (datasheet)}, {item: contactors, rating: 200 A (datasheet)}]
pack: pack
```
",
        expected: &[
            ("main_fuse.short_circuit_current", "8400 A"),
            ("main_fuse.lowest_short_circuit_current", "1166.6666667 A"),
            ("main_fuse.load_share", "75 %"),
            ("main_fuse.weakest_rating", "200 A"),
        ],
    },
    sources: &[
        "DC rating above the highest voltage, interrupting rating above the prospective short circuit, rating at most that of the weakest part: Formula Student rules, EV3.2 (second-hand)",
    ],
    inspector: &[],
    limits: &[
        "the fuse's time-current curve is not calculated: whether the cable outlives the fuse's clearing time needs both curves",
        "links, contactors and arcs, which lower a short circuit, are left out of the highest one",
        "inductance of the circuit, which DC ratings state as a time constant, is not calculated",
    ],
    codes: &[],
    read,
};

static FULL_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "full_voltage");
static EMPTY_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "empty_voltage");
static SERIES: Taken<f64> = Taken::new("pack", "series");
static PARALLEL: Taken<f64> = Taken::new("pack", "parallel");
static PACK_RESISTANCE: Taken<ElectricalResistance> = Taken::new("pack", "resistance");
static PACK_FACTOR: Taken<Ratio> =
    Taken::new("pack", "worst.resistance_factor").stands_for("old_cold_factor");
static CELL_RESISTANCE: Taken<ElectricalResistance> = Taken::new("cell", "resistance");
static CELL_AT_1KHZ: Taken<ElectricalResistance> = Taken::new("cell", "resistance_1khz");
static CABLE_AMPACITY: Taken<ElectricCurrent> = Taken::new("cable", "ampacity_here").stands_for("rating");
static PART_RATING: Taken<ElectricCurrent> = Taken::new("cable", "rated_current").stands_for("rating");

static SHORT_AT_1KHZ: Row<ElectricCurrent> = Row::formula(
    "short_circuit_current",
    "short-circuit current",
    "A",
    "pack.full_voltage / (cell.resistance_1khz * pack.series / pack.parallel)",
)
.about("of a full pack, shorted at its terminals")
.principal();
static SHORT_BY_SHARE: Row<ElectricCurrent> =
    SHORT_AT_1KHZ.by("pack.full_voltage / (pulse_share * cell.resistance * pack.series / pack.parallel)");
static LOWEST_SHORT: Row<ElectricCurrent> = Row::formula(
    "lowest_short_circuit_current",
    "lowest short-circuit current",
    "A",
    "pack.empty_voltage / (old_cold_factor * pack.resistance)",
)
.about("of an old, cold, empty pack");
static LOAD_SHARE: Row<Ratio> =
    Row::formula("load_share", "load on the fuse", "%", "load_current / (rated_current * ambient_factor)")
        .about("load over what the fuse carries where it sits")
        .principal();
static WEAKEST_PART: Row<String> = Row::words("weakest_part", "weakest part that it protects").principal();
static WEAKEST_RATING: Row<ElectricCurrent> =
    Row::formula("weakest_rating", "what the weakest part carries", "A", "min(EACH)")
        .each(&[("EACH", "protects.ITEM.rating")]);

static VOLTAGE_RATING: RequirementRow = RequirementRow::safety("rated_voltage", "rated_voltage")
    .at_least("pack.full_voltage")
    .source("the pack's full voltage");
static INTERRUPTING_RATING: RequirementRow =
    RequirementRow::safety("interrupting_rating", "interrupting_rating")
        .at_least("short_circuit_current")
        .source("the pack's short circuit");
static WEAKEST_AGAINST_RATING: RequirementRow = RequirementRow::safety("weakest_rating", "weakest_rating")
    .at_least("rated_current")
    .source("the fuse's rating");
static LOAD_AGAINST_RATING: RequirementRow = RequirementRow::safety("load_current", "load_current")
    .at_most("rated_current * ambient_factor")
    .source("what the fuse carries where it sits");
static LOAD_AGAINST_WEAKEST: RequirementRow = RequirementRow::safety("load_on_weakest_part", "load_current")
    .label("load on the weakest part")
    .at_most("weakest_rating")
    .source("the weakest part's rating");
static CLEARS_AT: RequirementRow = RequirementRow::safety("clears_at", "clears_at")
    .at_most("lowest_short_circuit_current")
    .source("the short circuit of an old, cold, empty pack")
    .only_with(&["clears_at"]);

struct Fuse {
    rated_current: Slot<ElectricCurrent>,
    load_current: Slot<ElectricCurrent>,
    interrupting_rating: Slot<ElectricCurrent>,
    ambient_factor: Slot<Ratio>,
    protects: Vec<Entry<Slot<ElectricCurrent>>>,
    source: Source,
    results: Results,
    software_limit: Option<Slot<ElectricCurrent>>,
}

/// The pack as it feeds a short circuit.
struct Source {
    full_voltage: Slot<ElectricPotential>,
    empty_voltage: Slot<ElectricPotential>,
    series: Slot<f64>,
    parallel: Slot<f64>,
    resistance: Slot<ElectricalResistance>,
    old_cold_factor: Slot<Ratio>,
    cell: CellResistance,
}

enum CellResistance {
    At1kHz(Slot<ElectricalResistance>),
    ShareOfPulse(Slot<ElectricalResistance>, Slot<Ratio>),
}

struct Results {
    short_circuit: Slot<ElectricCurrent>,
    lowest: Slot<ElectricCurrent>,
    load_share: Slot<Ratio>,
    weakest_part: Slot<String>,
    weakest_rating: Slot<ElectricCurrent>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let rated_current = form.required("rated_current");
    form.required::<ElectricPotential>("rated_voltage");
    let interrupting_rating = form.required("interrupting_rating");
    let load_current = form.required("load_current");
    let protects = read_protects(form);
    let pack = form.required_block("pack");
    let ambient_factor = form.assumed("ambient_factor");
    form.optional::<ElectricCurrent>("clears_at");
    let software_limit = form.optional("software_limit");
    let source = read_source(form, pack.as_ref());
    let mut out = form.outcomes();
    let ratings: Vec<usize> = protects.iter().map(|entry| entry.read.index()).collect();
    let each = out.names_of(protects.iter().map(|entry| entry.read));
    let results = Results {
        short_circuit: match source.cell {
            CellResistance::At1kHz(_) => out.result(&SHORT_AT_1KHZ),
            CellResistance::ShareOfPulse(..) => out.result(&SHORT_BY_SHARE),
        },
        lowest: out.result(&LOWEST_SHORT),
        load_share: out.result(&LOAD_SHARE),
        weakest_part: out.words(&WEAKEST_PART, &ratings),
        weakest_rating: out.result(WEAKEST_RATING.with("EACH", each)),
    };
    KIND.requires.iter().for_each(|row| out.require(*row));
    Box::new(Fuse {
        rated_current,
        load_current,
        interrupting_rating,
        ambient_factor,
        protects,
        source,
        results,
        software_limit,
    })
}

fn read_protects(form: &mut Form<'_, '_>) -> Vec<Entry<Slot<ElectricCurrent>>> {
    if !form.has("protects") {
        form.missing("protects");
        return Vec::new();
    }
    let entries = form.list_or_names(("protects", "cable"), &["item", "cable"], |form, _| {
        if !form.has("cable") {
            form.text("item");
            return form.required("rating");
        }
        let block = form.block_name("cable");
        form.text("item");
        let cable = block.as_ref().is_some_and(|block| form.kind_of(block) == "hv-cable");
        let rating = if cable { &CABLE_AMPACITY } else { &PART_RATING };
        form.own_or_taken("rating", rating, block.as_ref())
    });
    let help = "name the cables behind it, and what else lies in the circuit: `protects: [main_cable, {item: plug, rating: 200 A}]`";
    form.needs_items("protects", &entries, help);
    entries
}

fn read_source(form: &mut Form<'_, '_>, pack: Option<&BlockName>) -> Source {
    let cell = form.block_of(pack, "cell");
    let mut lookup = form.lookup();
    let full_voltage = lookup.taken(&FULL_VOLTAGE, pack);
    let empty_voltage = lookup.taken(&EMPTY_VOLTAGE, pack);
    let series = lookup.taken(&SERIES, pack);
    let parallel = lookup.taken(&PARALLEL, pack);
    let resistance = lookup.taken(&PACK_RESISTANCE, pack);
    let at_1khz = lookup.if_there(&CELL_AT_1KHZ, cell.as_ref());
    let old_cold_factor = if !form.has("old_cold_factor") && form.block_has(pack, "worst") {
        form.lookup().taken(&PACK_FACTOR, pack)
    } else {
        form.assumed("old_cold_factor")
    };
    let cell = match at_1khz {
        Some(slot) => CellResistance::At1kHz(slot),
        None => {
            let pulse = form.lookup().taken(&CELL_RESISTANCE, cell.as_ref());
            CellResistance::ShareOfPulse(pulse, form.assumed("pulse_share"))
        }
    };
    Source { full_voltage, empty_voltage, series, parallel, resistance, old_cold_factor, cell }
}

impl Block for Fuse {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let source = &self.source;
        let of_cell = match source.cell {
            CellResistance::At1kHz(slot) => bench.get(slot),
            CellResistance::ShareOfPulse(pulse, share) => bench.get(share) * bench.get(pulse),
        };
        let highest = of_cell * bench.get(source.series) / bench.get(source.parallel);
        bench.set(self.results.short_circuit, bench.get(source.full_voltage) / highest);
        let weak = bench.get(source.old_cold_factor) * bench.get(source.resistance);
        bench.set(self.results.lowest, bench.get(source.empty_voltage) / weak);
        let carries = bench.get(self.rated_current) * bench.get(self.ambient_factor);
        bench.set(self.results.load_share, bench.get(self.load_current) / carries);
        let ratings = self.protects.iter().map(|entry| bench.get(entry.read).si());
        // `f64::min` would pass over what is not known.
        let least = ratings.fold(f64::INFINITY, |least, rating| if rating >= least { least } else { rating });
        bench.set(self.results.weakest_rating, ElectricCurrent::from_si(least));
    }

    fn present(&self, page: &mut Page<'_>) {
        let r = &self.results;
        page.sentence(
            words!("The fuse carries {} of what it may", page.value(r.load_share)),
            words!(
                "; it must clear up to {} and is rated for {}.",
                page.value(r.short_circuit),
                page.value(self.interrupting_rating)
            ),
        );
        let known = |entry: &&Entry<Slot<ElectricCurrent>>| page.get(entry.read).map(Measure::si);
        let weakest = self
            .protects
            .iter()
            .filter(|entry| known(entry).is_some())
            .min_by(|a, b| known(a).unwrap_or(f64::NAN).total_cmp(&known(b).unwrap_or(f64::NAN)));
        if let Some(entry) = weakest {
            page.say(r.weakest_part, entry.title.clone());
        }
        if let CellResistance::ShareOfPulse(..) = self.source.cell {
            page.note("The cell states no 1 kHz resistance, so a share of its pulse resistance was taken: a pulse resistance alone makes a short circuit look smaller than it is.");
        }
        if let Some(limit) = self.software_limit {
            page.note(words!(
                "The software limit of {} is not accepted as protection: only the fuse is, with what it protects.",
                page.value(limit)
            ));
        }
        caution_dc(page, self.source.full_voltage);
    }
}
