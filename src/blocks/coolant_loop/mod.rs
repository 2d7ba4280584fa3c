//! A coolant that takes up heat from one part after the other, and the radiator that lets it go.

mod remarks;
mod results;

use self::results::{
    AFTER, COOL_ENOUGH, COOL_WHERE_IT_SETTLES, DENSITY, EFFICIENCY, FLOW, FLOW_NEEDED, HEAT_CAPACITY,
    HEAT_PER_KELVIN, HEAT_TOTAL, HILL_LOSS, LOSS, OUTLET, PACK_HEAT, PART_LOSS, POWER, RADIATOR,
    REQUIREMENTS, RESULTS, RISE, RISES, SETTLED_AFTER, SETTLED_INLET, SETTLES, TAKES, WARMEST_INLET,
};
use crate::findings::codes;
use crate::model::{
    Bench, Block, BlockName, Example, FieldDoc, FieldSort, Form, Kind, Leaf, Origin, Page, Range, Slot, Takes,
};
use crate::quantities::si::{
    MassDensity, Measure, Power, Ratio, SpecificHeatCapacity, TemperatureInterval, ThermalConductance,
    ThermodynamicTemperature, VolumeRate, ratio,
};
use crate::quantities::sort;
use crate::quantities::{Curve, Literal, Unit};
use crate::rules::{Table, literal, table};
use crate::words::words;

/// The fluids that the rules know, as they are typed, each with its table.
const FLUIDS: [(&str, &str); 2] = [("water", "water"), ("glycol 50 %", "glycol_50")];

pub(super) static KIND: Kind = Kind {
    name: "coolant-loop",
    summary: "how warm a coolant gets behind each part that it cools, and where it settles with a radiator",
    subsystem: "cooling",
    fields: &[
        FieldDoc::new(
            "fluid",
            Takes::Text,
            "`water` or `glycol 50 %` (ethylene glycol, by mass), whose values are taken at `inlet`; or `density` and `heat_capacity`",
        )
        .either(),
        FieldDoc::new("density", Takes::Quantity(&sort::DENSITY), "of the coolant, instead of `fluid`").usual(700.0, 1_400.0)
            .either()
            .range(Range::Positive).label("density of the coolant"),
        FieldDoc::new(
            "heat_capacity",
            Takes::Quantity(&sort::SPECIFIC_HEAT),
            "of the coolant, instead of `fluid`",
        ).usual(1_500.0, 5_000.0)
        .either()
        .range(Range::Positive).label("heat capacity of the coolant"),
        FieldDoc::new("pump", Takes::BlockName, "a part with `flow`, that of this loop, where none is typed here").optional(),
        FieldDoc::new("flow", Takes::Quantity(&sort::VOLUME_FLOW), "through all parts, one after the other").either()
            .range(Range::Positive).principal(),
        FieldDoc::new("inlet", Takes::Quantity(&sort::TEMPERATURE), "where the coolant enters the first part").sort(FieldSort::Condition).label("inlet temperature").principal(),
        FieldDoc::new("heat", Takes::List, "the parts that it cools, in the order of flow").with_items("name the parts that it cools: `heat: [{name: motor, loss: 1.2 kW}]`"),
        FieldDoc::new("heat.name", Takes::Text, "the part's name").either(),
        FieldDoc::new("heat.part", Takes::BlockName, "a part with a `loss`, or with the `efficiency` or `power` that is not typed here; a `pack-heat` block; or a `traction` block with a hill, whose motor has an `efficiency`").either(),
        FieldDoc::new("heat.loss", Takes::Quantity(&sort::POWER), "its heat, or `power` and `efficiency`")
            .either()
            .range(Range::Positive).label("heat of the part"),
        FieldDoc::new("heat.power", Takes::Quantity(&sort::POWER), "that the part gives; with `efficiency`")
            .instead_of("loss")
            .range(Range::Positive).sort(FieldSort::Condition).label("power of the part"),
        FieldDoc::new("heat.efficiency", Takes::Quantity(&sort::SHARE), "power out over power in")
            .either()
            .range(Range::Share).label("efficiency of the part"),
        FieldDoc::new(
            "heat.limit",
            Takes::Quantity(&sort::TEMPERATURE),
            "the warmest that the coolant may leave the part",
        )
        .optional().sort(FieldSort::Stated).label("temperature limit behind the part"),
        FieldDoc::new(
            "rise_limit",
            Takes::Quantity(&sort::TEMPERATURE_DIFFERENCE),
            "the builder's own: the most that the coolant is to warm from inlet to outlet",
        )
        .optional()
        .range(Range::Positive).sort(FieldSort::Choice),
        FieldDoc::new(
            "radiator",
            Takes::Quantity(&sort::THERMAL_CONDUCTANCE),
            "the heat that it lets go for each kelvin between the coolant that leaves it and the air that meets it; or the name of a part with `heat_per_kelvin`",
        )
        .optional()
        .range(Range::Positive).label("heat of the radiator for each kelvin"),
        FieldDoc::new("ambient_temperature", Takes::Quantity(&sort::TEMPERATURE), "of the air that meets the radiator")
            .optional().sort(FieldSort::Condition).label("air temperature at the radiator"),
    ],
    rows: RESULTS,
    takes: TAKES,
    requires: REQUIREMENTS,
    example: Example {
        journal: "\
```yaml coolant-loop cooling
density: 1 050 kg/m^3
heat_capacity: 3 450 J/(kg K)
flow: 8 L/min
inlet: 50 °C
heat:
  - {name: inverter, loss: 966 W, limit: 65 °C}
  - {name: motor, power: 18 kW, efficiency: 90 %, limit: 70 °C}
radiator: 200 W/K
ambient_temperature: 35 °C
```
",
        // By hand: 1050 × 3450 × 8/60000 = 483 W/K, so 966 W warm by 2 K and 2 000 W by 2000/483 K.
        expected: &[
            ("cooling.heat_per_kelvin", "483 W/K"),
            ("cooling.after_inverter", "52 °C"),
            ("cooling.rise", "6.1407867494824 K"),
            ("cooling.settled_inlet", "49.83 °C"),
        ],
    },
    sources: &[
        "heat taken up by a flow: P = ρ V̇ c ΔT; steady state",
        "water and glycol by temperature: computed with CoolProp 8.0.0 (second-hand)",
    ],
    limits: &[
        "steady state: what the parts and the coolant store, and short peaks, are not calculated",
        "the temperature within a part, the pump's flow against the loop's resistance, air and dirt in it are not calculated",
    ],
    codes: &[],
    read,
};

struct CoolantLoop {
    fluid: Fluid,
    density: Slot<MassDensity>,
    heat_capacity: Slot<SpecificHeatCapacity>,
    flow: Slot<VolumeRate>,
    inlet: Slot<ThermodynamicTemperature>,
    radiator: Slot<ThermalConductance>,
    ambient: Slot<ThermodynamicTemperature>,
    parts: Vec<Part>,
    heat_total: Slot<Power>,
    heat_per_kelvin: Slot<ThermalConductance>,
    outlet: Slot<ThermodynamicTemperature>,
    rise: Slot<TemperatureInterval>,
    rise_limit: Slot<TemperatureInterval>,
    flow_needed: Slot<VolumeRate>,
    settled_inlet: Slot<ThermodynamicTemperature>,
    warmest_inlet: Slot<ThermodynamicTemperature>,
}

/// Where the coolant's values come from.
enum Fluid {
    /// Its name, and its values against temperature.
    Known {
        name: &'static str,
        density: Slot<Curve>,
        heat_capacity: Slot<Curve>,
    },
    Stated(Slot<MassDensity>, Slot<SpecificHeatCapacity>),
    /// The finding has been made.
    Unknown,
}

struct Part {
    title: String,
    limit: Option<Slot<ThermodynamicTemperature>>,
    heat: Heat,
    loss: Slot<Power>,
    after: Slot<ThermodynamicTemperature>,
    settled: Option<Slot<ThermodynamicTemperature>>,
}

/// A part's heat as it is written.
#[derive(Clone, Copy)]
enum Heat {
    Loss(Slot<Power>),
    Efficiency(Slot<Power>, Slot<Ratio>),
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let fluid = read_fluid(form);
    let pump = form.lookup().block_name("pump");
    let flow = form.own_or_parts(&FLOW, pump.as_ref());
    let inlet = form.required("inlet");
    let heats = form.list("heat", &["name", "part"], |form, _| read_heat(form));
    let rise_limit = form.if_given("rise_limit");
    let settles = form.has("radiator") && form.has("ambient_temperature");
    let radiator = read_radiator(form);
    let ambient = form.if_given("ambient_temperature");

    let mut out = form.outcomes();
    let (density, heat_capacity) = match fluid {
        Fluid::Stated(density, heat_capacity) => (density, heat_capacity),
        Fluid::Known { .. } | Fluid::Unknown => (out.result(&DENSITY), out.result(&HEAT_CAPACITY)),
    };
    let losses: Vec<Slot<Power>> = heats
        .iter()
        .map(|entry| match entry.read.0 {
            Heat::Loss(slot) => slot,
            Heat::Efficiency(..) => out.result(LOSS.of(&entry.case())),
        })
        .collect();
    let names: Vec<String> = losses.iter().map(|loss| out.names_of([*loss])).collect();
    let heat_total = out.result(HEAT_TOTAL.with("EACH", names.join(" + ")));
    let heat_per_kelvin = out.result(&HEAT_PER_KELVIN);
    let mut before = out.names_of([inlet]);
    let mut parts = Vec::new();
    for (entry, loss) in heats.iter().zip(losses) {
        let row = AFTER.of(&entry.case()).with("BEFORE", before).with("LOSS", out.names_of([loss]));
        let after = out.result(row);
        before = out.names_of([after]);
        let ((heat, limit), title) = (entry.read, entry.title.clone());
        parts.push(Part { title, limit, heat, loss, after, settled: None });
    }
    let rise = out.result(&RISE);
    let flow_needed = out.result(&FLOW_NEEDED);
    out.require(&RISES);
    let outlet = out.result(&OUTLET);
    let settled_inlet = out.result(&SETTLED_INLET);
    out.require(&SETTLES);
    let warmest_inlet = out.result(&WARMEST_INLET);
    for (entry, part) in heats.iter().zip(&mut parts) {
        part.settled = settles.then(|| out.result(SETTLED_AFTER.of(&entry.case())));
        out.require(if settles { &COOL_WHERE_IT_SETTLES } else { &COOL_ENOUGH }.of(&entry.case()));
    }
    Box::new(CoolantLoop {
        fluid,
        density,
        heat_capacity,
        flow,
        inlet,
        radiator,
        ambient,
        parts,
        heat_total,
        heat_per_kelvin,
        outlet,
        rise,
        rise_limit,
        flow_needed,
        settled_inlet,
        warmest_inlet,
    })
}

/// A value, or the name of a part that has it.
fn read_radiator(form: &mut Form<'_, '_>) -> Slot<ThermalConductance> {
    let key = "radiator";
    let Some(typed) = form.take(key) else { return form.if_given(key) };
    let name = typed.text().map(|text| text.trim().trim_start_matches("from ").trim()).unwrap_or_default();
    match form.lookup().block(name, "").map(|block| block.name.to_owned()) {
        Some(name) => {
            let part = BlockName { name, span: typed.span, field: key.to_owned(), within: "" };
            form.lookup().taken(&RADIATOR, Some(&part))
        }
        None => form.value((key, key), &typed),
    }
}

fn read_fluid(form: &mut Form<'_, '_>) -> Fluid {
    let stated = form.has("density") || form.has("heat_capacity");
    match (form.has("fluid"), stated) {
        (true, true) => {
            let help = "keep `fluid`, or `density` and `heat_capacity`";
            form.report(&codes::BAD_VALUE, form.place, "both `fluid` and values of its own", help);
            Fluid::Unknown
        }
        (false, true) => Fluid::Stated(form.required("density"), form.required("heat_capacity")),
        (true, false) => {
            let word = form.choice("fluid", &FLUIDS.map(|(word, _)| word));
            let Some((name, rows)) = FLUIDS.into_iter().find(|(known, _)| Some(*known) == word) else {
                return Fluid::Unknown;
            };
            let density = tabled(form, "fluid_density", (table(rows), "density"));
            let heat_capacity = tabled(form, "fluid_heat_capacity", (table(rows), "heat_capacity"));
            Fluid::Known { name, density, heat_capacity }
        }
        (false, false) => {
            form.missing("fluid");
            Fluid::Unknown
        }
    }
}

/// A published table as a curve of this block: one column against its first.
fn tabled(form: &mut Form<'_, '_>, name: &str, (table, column): (&'static Table, &str)) -> Slot<Curve> {
    let cells = |row: &Vec<String>| (literal(&row[0]), literal(table.cell(row, column)));
    let rows: Vec<(Literal, Literal)> = table.rows.iter().map(cells).collect();
    let points = rows.iter().map(|(x, y)| (x.quantity.si, y.quantity.si)).collect();
    let curve = rows.first().and_then(|(x, y)| {
        // Its values are points of the scale or differences, whichever it is read at.
        let x = if x.unit.is_point() { Unit::coherent(x.unit.dimension) } else { x.unit.clone() };
        Curve::new(points, x, y.unit.clone()).ok()
    });
    let leaf = Leaf { remark: None, ..Leaf::ruled("1", &table.source) };
    form.put(name, form.place, curve.map_or(Origin::Failed, |curve| (curve, leaf).into()))
}

fn read_heat(form: &mut Form<'_, '_>) -> (Heat, Option<Slot<ThermodynamicTemperature>>) {
    form.text("name");
    let part = form.lookup().block_name("part");
    let part = part.as_ref();
    let has = |form: &mut Form<'_, '_>, key| form.has(key) || form.lookup().has(part, key);
    let heat = if part.is_some() && !form.has("loss") {
        if has(form, "power") && has(form, "efficiency") {
            Heat::Efficiency(form.own_or_parts(&POWER, part), form.own_or_parts(&EFFICIENCY, part))
        } else {
            let mut there = [&PART_LOSS, &HILL_LOSS, &PACK_HEAT].into_iter();
            let there = there.find_map(|taken| form.lookup().if_there(taken, part));
            Heat::Loss(there.unwrap_or_else(|| form.lookup().taken(&PART_LOSS, part)))
        }
    } else {
        match form.one_of(&["loss", "power"]) {
            Some("power") => Heat::Efficiency(form.required("power"), form.required("efficiency")),
            _ => Heat::Loss(form.if_given("loss")),
        }
    };
    (heat, form.optional("limit"))
}

impl Block for CoolantLoop {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let inlet = bench.get(self.inlet);
        if let Fluid::Known { density, heat_capacity, .. } = self.fluid {
            let density = MassDensity::from_si(bench.read_curve(density, inlet.si()));
            let capacity = SpecificHeatCapacity::from_si(bench.read_curve(heat_capacity, inlet.si()));
            bench.set(self.density, density);
            bench.set(self.heat_capacity, capacity);
        }
        let each: ThermalConductance =
            bench.get(self.density) * bench.get(self.flow) * bench.get(self.heat_capacity);
        bench.set(self.heat_per_kelvin, each);
        let mut total = Power::default();
        for part in &self.parts {
            if let Heat::Efficiency(power, efficiency) = part.heat {
                let heat = bench.get(power) * (ratio(1.0) / bench.get(efficiency) - ratio(1.0));
                bench.set(part.loss, heat);
            }
            total += bench.get(part.loss);
        }
        bench.set(self.heat_total, total);
        let above: TemperatureInterval = total / bench.get(self.radiator);
        let settled: ThermodynamicTemperature = bench.get(self.ambient) + above;
        bench.set(self.settled_inlet, settled);
        let warmest = if inlet.si() >= settled.si() { inlet } else { settled };
        bench.set(self.warmest_inlet, warmest);
        let rise: TemperatureInterval = total / each;
        bench.set(self.rise, rise);
        let each_volume = bench.get(self.density) * bench.get(self.heat_capacity);
        bench.set(self.flow_needed, total / (each_volume * bench.get(self.rise_limit)));
        bench.set(self.outlet, inlet + rise);
        let warmer = TemperatureInterval::from_si(warmest.si() - inlet.si());
        let mut here = inlet;
        for part in &self.parts {
            here += bench.get(part.loss) / each;
            bench.set(part.after, here);
            if let Some(slot) = part.settled {
                bench.set(slot, here + warmer);
            }
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        page.sentence(
            words!("{} warm the coolant by {}", page.value(self.heat_total), page.value(self.rise)),
            words!(", from {} to {}.", page.value(self.inlet), page.value(self.outlet)),
        );
        self.outside(page);
        page.said.chart = self.picture(page);
        self.more_than_water(page);
        if page.get(self.settled_inlet).is_some() {
            page.note("The radiator is reckoned from the coolant that leaves it. A sheet that reckons from the coolant that enters it promises as much heat at a larger difference, so this is on the safe side.");
        } else {
            let reason = "whether the heat is let go again needs `radiator` and `ambient_temperature`, the warmest air that meets it";
            page.not_there(self.settled_inlet, reason);
            for part in &self.parts {
                page.hold_close(
                    &page.nodes[part.after.index()].name,
                    "for the inlet as it is given: whether the loop settles there is not known",
                );
            }
        }
    }
}
