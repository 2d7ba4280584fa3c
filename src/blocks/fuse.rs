//! Whether a fuse protects what lies behind it: against overload, and at the highest and lowest short circuit.

use super::high_voltage::caution_dc;
use crate::model::{
    Bench, Block, BlockName, Entry, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind,
    ResultDoc, Slot, Status, Takes,
};
use crate::quantities::si::{ElectricCurrent, ElectricPotential, ElectricalResistance, Measure, Ratio};
use crate::quantities::sort;

pub(super) static KIND: Kind = Kind {
    name: "fuse",
    summary: "whether a fuse clears what the pack can drive, carries the load, and protects the weakest part",
    subsystem: "high voltage",
    fields: &[
        FieldDoc::new("rated_current", Takes::Quantity(&sort::CURRENT), "on its label")
            .range(Range::Positive),
        FieldDoc::new("rated_voltage", Takes::Quantity(&sort::VOLTAGE), "its DC rating")
            .range(Range::Positive),
        FieldDoc::new(
            "interrupting_rating",
            Takes::Quantity(&sort::CURRENT),
            "the largest DC current that it clears",
        )
        .range(Range::Positive),
        FieldDoc::new("load_current", Takes::Quantity(&sort::CURRENT), "that it must carry")
            .range(Range::Positive),
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
            .range(Range::Positive),
        FieldDoc::new("pack", Takes::BlockName, "the battery pack that feeds it"),
        FieldDoc::new(
            "ambient_factor",
            Takes::Quantity(&sort::RATIO),
            "what is left of the rated current where the fuse sits",
        )
        .assumed("1")
        .range(Range::Positive),
        FieldDoc::new(
            "clears_at",
            Takes::Quantity(&sort::CURRENT),
            "the current that blows it within the time that its sheet promises",
        )
        .optional()
        .range(Range::Positive),
        FieldDoc::new(
            "pulse_share",
            Takes::Quantity(&sort::RATIO),
            "of the cell's pulse resistance that limits a short circuit, where the cell states no `resistance_1khz`",
        )
        .assumed("0.5")
        .range(Range::Share),
        FieldDoc::new(
            "old_cold_factor",
            Takes::Quantity(&sort::RATIO),
            "how much more resistance the pack has when old and cold; the pack's own `worst` where it has one",
        )
        .assumed("3")
        .range(Range::AtLeastOne),
        FieldDoc::new(
            "software_limit",
            Takes::Quantity(&sort::CURRENT),
            "a current limit in software, if any: it is named and never counted as protection",
        )
        .optional()
        .range(Range::Positive),
    ],
    results: &[
        ResultDoc { name: "short_circuit_current", about: "of a full pack, shorted at its terminals" },
        ResultDoc { name: "lowest_short_circuit_current", about: "of an old, cold, empty pack" },
        ResultDoc { name: "load_share", about: "load over what the fuse carries where it sits" },
        ResultDoc { name: "weakest_part", about: "of what it protects" },
        ResultDoc { name: "weakest_rating", about: "what that part carries" },
    ],
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
    inspector: &["rated_current", "rated_voltage", "interrupting_rating", "short_circuit_current", "weakest_part"],
    limits: &[
        "the fuse's time-current curve is not calculated: whether the cable outlives the fuse's clearing time needs both curves",
        "links, contactors and arcs, which lower a short circuit, are left out of the highest one",
        "inductance of the circuit, which DC ratings state as a time constant, is not calculated",
    ],
    codes: &[],
    read,
};

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
    let clears_at = form.optional::<ElectricCurrent>("clears_at");
    let software_limit = form.optional("software_limit");
    let source = read_source(form, pack.as_ref());
    let short = match source.cell {
        CellResistance::At1kHz(_) => {
            "pack.full_voltage / (cell.resistance_1khz * pack.series / pack.parallel)"
        }
        CellResistance::ShareOfPulse(..) => {
            "pack.full_voltage / (pulse_share * cell.resistance * pack.series / pack.parallel)"
        }
    };
    let names: Vec<String> = protects.iter().map(|entry| form.name_of(entry.read)).collect();
    let ratings: Vec<usize> = protects.iter().map(|entry| entry.read.index()).collect();
    let results = Results {
        short_circuit: form.step("short_circuit_current", "A", short),
        lowest: form.step(
            "lowest_short_circuit_current",
            "A",
            "pack.empty_voltage / (old_cold_factor * pack.resistance)",
        ),
        load_share: form.step("load_share", "%", "load_current / (rated_current * ambient_factor)"),
        weakest_part: form.text_step("weakest_part", &ratings),
        weakest_rating: match names.as_slice() {
            [] => form.unknown_step("weakest_rating"),
            names => form.step("weakest_rating", "A", &format!("min({})", names.join(", "))),
        },
    };
    require(form, clears_at.is_some());
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
        if let Some(own) = form.optional("rating") {
            return own;
        }
        let cable = block.as_ref().is_some_and(|block| form.kind_of(block) == "hv-cable");
        let result = if cable { "ampacity_here" } else { "rated_current" };
        form.of_block_named("rating", block.as_ref(), result)
    });
    let help = "name the cables behind it, and what else lies in the circuit: `protects: [main_cable, {item: plug, rating: 200 A}]`";
    form.needs_items("protects", &entries, help);
    entries
}

fn read_source(form: &mut Form<'_, '_>, pack: Option<&BlockName>) -> Source {
    let cell = form.block_of(pack, "cell");
    let full_voltage = form.of_block(pack, "full_voltage");
    let empty_voltage = form.of_block(pack, "empty_voltage");
    let series = form.of_block(pack, "series");
    let parallel = form.of_block(pack, "parallel");
    let resistance = form.of_block(pack, "resistance");
    let old_cold_factor = if !form.has("old_cold_factor") && form.block_has(pack, "worst") {
        form.of_block_named("old_cold_factor", pack, "worst.resistance_factor")
    } else {
        form.assumed("old_cold_factor")
    };
    let cell = match form.of_block_if_there(cell.as_ref(), "resistance_1khz") {
        Some(slot) => CellResistance::At1kHz(slot),
        None => {
            let pulse = match &cell {
                Some(cell) => form.of_block(Some(cell), "resistance"),
                None => form.unknown_step("cell.resistance"),
            };
            CellResistance::ShareOfPulse(pulse, form.assumed("pulse_share"))
        }
    };
    Source { full_voltage, empty_voltage, series, parallel, resistance, old_cold_factor, cell }
}

fn require(form: &mut Form<'_, '_>, clears: bool) {
    let limit = |name, source| Limit {
        name,
        kind: RequirementKind::Safety,
        actual: name,
        low: None,
        high: None,
        source,
        status: Status::Derived,
        span: None,
    };
    let pack = "the pack's full voltage";
    form.require(Limit { low: Some("pack.full_voltage"), ..limit("rated_voltage", pack) });
    let short = "the pack's short circuit";
    form.require(Limit { low: Some("short_circuit_current"), ..limit("interrupting_rating", short) });
    form.require(Limit { low: Some("rated_current"), ..limit("weakest_rating", "the fuse's rating") });
    let carries = "what the fuse carries where it sits";
    form.require(Limit { high: Some("rated_current * ambient_factor"), ..limit("load_current", carries) });
    form.require(Limit {
        actual: "load_current",
        high: Some("weakest_rating"),
        ..limit("load_on_weakest_part", "the weakest part's rating")
    });
    if clears {
        let low = "the short circuit of an old, cold, empty pack";
        form.require(Limit { high: Some("lowest_short_circuit_current"), ..limit("clears_at", low) });
    }
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
            format!("The fuse carries {} of what it may", page.shown(r.load_share)),
            format!(
                "; it must clear up to {} and is rated for {}.",
                page.shown(r.short_circuit),
                page.shown(self.interrupting_rating)
            ),
        );
        page.headline(r.load_share);
        page.headline(r.short_circuit);
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
            let text = format!(
                "The software limit of {} is not accepted as protection: only the fuse is, with what it protects.",
                page.shown(limit)
            );
            page.note(text);
        }
        caution_dc(page, self.source.full_voltage);
    }
}
