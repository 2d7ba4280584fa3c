//! How warm a pack gets from its own current, when no heat leaves it.

use crate::findings::codes;
use crate::model::{
    Bench, Block, BlockName, Example, FieldDoc, FieldSort, Form, Kind, Page, Range, Row, Slot, Taken, Takes,
};
use crate::quantities::si::{
    ElectricCurrent, ElectricalResistance, Mass, Measure, Power, SpecificHeatCapacity, TemperatureInterval,
    TemperatureRate, Time,
};
use crate::quantities::{slug, sort};
use crate::words::words;

pub(super) static KIND: Kind = Kind {
    name: "pack-heat",
    summary: "how warm a pack gets from its own current when no heat leaves it",
    subsystem: "battery",
    fields: &[
        FieldDoc::new(
            "pack",
            Takes::BlockName,
            "a pack-layout block, or any block with `resistance` and `cell_mass`",
        ),
        FieldDoc::new(
            "current",
            Takes::Quantity(&sort::CURRENT),
            "root mean square, through the whole pack; or `cycle`",
        )
        .either()
        .sort(FieldSort::Condition)
        .range(Range::NotNegative),
        FieldDoc::new(
            "cycle",
            Takes::Text,
            "a cycle of an energy-use block instead of `current`: `use.nedc`",
        )
        .instead_of("current"),
        FieldDoc::new(
            "time",
            Takes::Quantity(&sort::TIME),
            "how long; with a `cycle` its own duration if left out",
        )
        .either()
        .sort(FieldSort::Condition)
        .range(Range::Positive),
        FieldDoc::new(
            "heat_capacity",
            Takes::Quantity(&sort::SPECIFIC_HEAT),
            "of the cells, for each mass; the assumed value is from memory",
        )
        .assumed("1 000 J/(kg K)")
        .range(Range::Positive),
    ],
    rows: &[&HEAT.row, &RISE.row, &RISE_PER_HOUR.row],
    takes: &[&RESISTANCE.row, &CELL_MASS.row, &CYCLE_CURRENT.row, &CYCLE_DURATION.row],
    requires: &[],
    example: Example {
        journal: "\
```yaml part cell
role: cell
nominal_voltage: 3.909 V
full_voltage: 4.2 V
empty_voltage: 2.5 V
capacity: 60 Ah
resistance: 2 mΩ
mass: 799 g
continuous_discharge: 100 A
peak_discharge: 300 A
```

```yaml pack-layout pack
cell: cell
series: 96
parallel: 2
string_resistance: 10 mΩ
housing_share: 25 %
```

```yaml pack-heat heat
pack: pack
current: 150 A
time: 20 min
```
",
        // Joule's law and the heat balance in closed form, computed apart from the program.
        expected: &[
            ("heat.heat", "2385 W"),
            ("heat.rise", "18.6561327 K"),
            ("heat.rise_per_hour", "55.9683980 K/h"),
        ],
    },
    sources: &[
        "heat = current² × resistance; rise = heat × time/(mass × heat capacity): Joule's law and the heat balance of a body that gives nothing off",
        "heat capacity of 1 000 J/(kg K) for lithium-ion cells: from memory, unverified",
    ],
    limits: &[
        "no heat leaves the pack: the rise is an upper bound for that heat, the same in every cell",
        "a constant resistance is a short-pulse model: over minutes, in the cold and near empty the cells' resistance, and the heat, are larger",
        "the heat of the string's links, contactors and fuse is counted as if it were in the cells",
    ],
    codes: &[],
    read,
};

static RESISTANCE: Taken<ElectricalResistance> = Taken::new("pack", "resistance");
static CELL_MASS: Taken<Mass> = Taken::new("pack", "cell_mass");
static CYCLE_CURRENT: Taken<ElectricCurrent> = Taken::new("cycle", "CYCLE_rms_current").stands_for("current");
static CYCLE_DURATION: Taken<Time> = Taken::new("cycle", "CYCLE_duration").stands_for("time");

static HEAT: Row<Power> =
    Row::formula("heat", "heat in the pack", "W", "current^2 * pack.resistance").principal();
static RISE: Row<TemperatureInterval> = Row::formula(
    "rise",
    "rise of the cells' temperature",
    "K",
    "heat * time / (pack.cell_mass * heat_capacity)",
)
.about("over the time, no heat leaving them")
.principal();
static RISE_PER_HOUR: Row<TemperatureRate> = Row::formula(
    "rise_per_hour",
    "rise of the cells' temperature in an hour",
    "K/h",
    "heat / (pack.cell_mass * heat_capacity)",
)
.about("no heat leaving them");

struct PackHeat {
    resistance: Slot<ElectricalResistance>,
    mass: Slot<Mass>,
    current: Slot<ElectricCurrent>,
    time: Slot<Time>,
    heat_capacity: Slot<SpecificHeatCapacity>,
    heat: Slot<Power>,
    rise: Slot<TemperatureInterval>,
    rise_per_hour: Slot<TemperatureRate>,
    from_memory: bool,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let pack = form.lookup().block_name("pack");
    let resistance = form.lookup().taken(&RESISTANCE, pack.as_ref());
    let mass = form.lookup().taken(&CELL_MASS, pack.as_ref());
    let (current, time) = match form.one_of(&["current", "cycle"]) {
        Some("current") => (form.required("current"), form.required("time")),
        _ => {
            let (block, slug) = read_cycle(form).unzip();
            let slug = slug.unwrap_or_default();
            let current = form.lookup().taken(CYCLE_CURRENT.with("CYCLE", &slug), block.as_ref());
            let duration = CYCLE_DURATION.with("CYCLE", slug);
            let time = form.optional("time");
            (current, time.unwrap_or_else(|| form.lookup().taken(duration, block.as_ref())))
        }
    };
    let from_memory = !form.has("heat_capacity");
    let heat_capacity = form.assumed("heat_capacity");
    let mut out = form.outcomes();
    let heat = out.result(&HEAT);
    let rise = out.result(&RISE);
    let rise_per_hour = out.result(&RISE_PER_HOUR);
    Box::new(PackHeat {
        resistance,
        mass,
        current,
        time,
        heat_capacity,
        heat,
        rise,
        rise_per_hour,
        from_memory,
    })
}

/// `BLOCK.CYCLE`: the energy-use block and the slug of its cycle.
fn read_cycle(form: &mut Form<'_, '_>) -> Option<(BlockName, String)> {
    let (text, span) = form.text("cycle")?;
    let name = text.strip_prefix("from ").map_or(text.as_str(), str::trim);
    let help = "type the name of an energy-use block and of its cycle: `use.nedc`";
    let Some((block, cycle)) = name.split_once('.') else {
        form.report(&codes::BAD_VALUE, span, words!("`{}` names no cycle", name), help);
        return None;
    };
    let block = BlockName { name: block.to_owned(), span, field: "cycle".to_owned(), within: "" };
    if form.lookup().block(&block.name, "").is_none_or(|block| block.kind != "energy-use") {
        let message = words!("no energy-use block is named `{}`", block.name);
        form.report(&codes::UNKNOWN_REFERENCE, span, message, help);
        return None;
    }
    Some((block, slug(cycle)))
}

impl Block for PackHeat {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let current = bench.get(self.current);
        let heat: Power = current * current * bench.get(self.resistance);
        let capacity = bench.get(self.mass) * bench.get(self.heat_capacity);
        bench.set(self.heat, heat);
        let rise: TemperatureInterval = heat * bench.get(self.time) / capacity;
        bench.set(self.rise, rise);
        bench.set(self.rise_per_hour, TemperatureRate::from_si(heat.value / capacity.value));
    }

    fn present(&self, page: &mut Page<'_>) {
        if page.get(self.rise).is_some() {
            page.sentence(
                words!("The cells warm by {}", page.value(self.rise)),
                words!(
                    " in {} at {}, if no heat leaves them.",
                    page.value(self.time),
                    page.value(self.current)
                ),
            );
        }
        page.note("A constant resistance is a short-pulse model: over minutes, in the cold and near empty the heat is larger.");
        if self.from_memory {
            page.note("The heat capacity is from memory and unverified: take it from the cell's datasheet.");
        }
    }
}
