//! A coolant that takes up heat from one part after the other, and the radiator that lets it go.

use crate::findings::codes;
use crate::model::{
    Bench, Block, Entry, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind, ResultDoc, Slot,
    Status, Takes,
};
use crate::quantities::Curve;
use crate::quantities::si::{
    MassDensity, Measure, Power, Ratio, SpecificHeatCapacity, TemperatureInterval, ThermalConductance,
    ThermodynamicTemperature, VolumeRate, ratio,
};
use crate::quantities::sort;
use crate::rules::table;

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
        FieldDoc::new("density", Takes::Quantity(&sort::DENSITY), "of the coolant, instead of `fluid`")
            .either()
            .range(Range::Positive),
        FieldDoc::new(
            "heat_capacity",
            Takes::Quantity(&sort::SPECIFIC_HEAT),
            "of the coolant, instead of `fluid`",
        )
        .either()
        .range(Range::Positive),
        FieldDoc::new("flow", Takes::Quantity(&sort::VOLUME_FLOW), "through all parts, one after the other")
            .range(Range::Positive),
        FieldDoc::new("inlet", Takes::Quantity(&sort::TEMPERATURE), "where the coolant enters the first part"),
        FieldDoc::new("heat", Takes::List, "the parts that it cools, in the order of flow"),
        FieldDoc::new("heat.item", Takes::Text, "the part's name"),
        FieldDoc::new("heat.loss", Takes::Quantity(&sort::POWER), "its heat, or `power` and `efficiency`")
            .either()
            .range(Range::NotNegative),
        FieldDoc::new("heat.power", Takes::Quantity(&sort::POWER), "that the part gives; with `efficiency`")
            .either()
            .range(Range::NotNegative),
        FieldDoc::new("heat.efficiency", Takes::Quantity(&sort::SHARE), "power out over power in")
            .either()
            .range(Range::Share),
        FieldDoc::new(
            "heat.limit",
            Takes::Quantity(&sort::TEMPERATURE),
            "the warmest that the coolant may leave the part",
        )
        .optional(),
        FieldDoc::new(
            "radiator",
            Takes::Quantity(&sort::THERMAL_CONDUCTANCE),
            "the heat that it lets go for each kelvin between the coolant that leaves it and the air that meets it",
        )
        .optional()
        .range(Range::Positive),
        FieldDoc::new("ambient", Takes::Quantity(&sort::TEMPERATURE), "of the air that meets the radiator")
            .optional(),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "density", about: "of the fluid at the inlet" },
        ResultDoc { name: "heat_capacity", about: "of the fluid at the inlet" },
        ResultDoc { name: "loss_ITEM", about: "of a part given by power and efficiency: power × (1/efficiency − 1)" },
        ResultDoc { name: "heat_total", about: "of all parts" },
        ResultDoc { name: "heat_per_kelvin", about: "what the flow takes up for each kelvin" },
        ResultDoc { name: "after_ITEM", about: "the coolant's temperature behind each part" },
        ResultDoc { name: "outlet", about: "behind the last part" },
        ResultDoc { name: "rise", about: "from inlet to outlet" },
        ResultDoc { name: "settled_inlet", about: "where the radiator holds the inlet; with `radiator` and `ambient`" },
    ],
    example: Example {
        journal: "\
```yaml coolant-loop cooling
density: 1 050 kg/m^3
heat_capacity: 3 450 J/(kg K)
flow: 8 L/min
inlet: 50 °C
heat:
  - {item: inverter, loss: 966 W, limit: 65 °C}
  - {item: motor, power: 18 kW, efficiency: 90 %, limit: 70 °C}
radiator: 200 W/K
ambient: 35 °C
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
    inspector: &["flow", "heat_total", "inlet", "outlet", "settled_inlet"],
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
    parts: Vec<Part>,
    radiator: Option<Slot<ThermalConductance>>,
    ambient: Option<Slot<ThermodynamicTemperature>>,
    heat_total: Slot<Power>,
    heat_per_kelvin: Slot<ThermalConductance>,
    outlet: Slot<ThermodynamicTemperature>,
    rise: Slot<TemperatureInterval>,
    settled_inlet: Option<Slot<ThermodynamicTemperature>>,
}

enum Fluid {
    /// Its name, and its values against temperature.
    Known {
        name: &'static str,
        density: Slot<Curve>,
        heat_capacity: Slot<Curve>,
    },
    Stated,
}

struct Part {
    heat: Heat,
    after: Slot<ThermodynamicTemperature>,
}

#[derive(Clone, Copy)]
enum Heat {
    Loss(Slot<Power>),
    Efficiency { power: Slot<Power>, efficiency: Slot<Ratio>, loss: Slot<Power> },
}

/// A part as it is written.
struct Written {
    heat: WrittenHeat,
    limit: Option<String>,
}

#[derive(Clone, Copy)]
enum WrittenHeat {
    Loss(Slot<Power>),
    Efficiency(Slot<Power>, Slot<Ratio>),
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let written_fluid = read_fluid(form);
    let flow = form.required("flow");
    let inlet = form.required("inlet");
    if !form.has("heat") {
        form.missing("heat");
    }
    let written = form.list("heat", &["item"], |form, _| read_part(form));
    let radiator = form.optional("radiator");
    let ambient = form.optional("ambient");

    let (fluid, density, heat_capacity) = match written_fluid {
        WrittenFluid::Known(name, rows) => {
            let density = form.ruled_curve("fluid_density", table(rows), "density");
            let capacity = form.ruled_curve("fluid_heat_capacity", table(rows), "heat_capacity");
            let fluid = Fluid::Known { name, density, heat_capacity: capacity };
            let density = form.step("density", "kg/m³", "fluid_density(inlet)");
            (fluid, density, form.step("heat_capacity", "J/(kg·K)", "fluid_heat_capacity(inlet)"))
        }
        WrittenFluid::Stated(density, heat_capacity) => (Fluid::Stated, density, heat_capacity),
        WrittenFluid::Unknown => {
            (Fluid::Stated, form.unknown_step("density"), form.unknown_step("heat_capacity"))
        }
    };
    let heats: Vec<(Heat, String)> = written.iter().map(|entry| declare_heat(form, entry)).collect();
    let names: Vec<&str> = heats.iter().map(|(_, name)| name.as_str()).collect();
    let sum = if names.is_empty() { "0 W".to_owned() } else { names.join(" + ") };
    let heat_total = form.step("heat_total", "kW", &sum);
    let heat_per_kelvin = form.step("heat_per_kelvin", "W/K", "density * flow * heat_capacity");
    let mut before = "inlet".to_owned();
    let mut parts = Vec::new();
    for (entry, (heat, loss)) in written.iter().zip(&heats) {
        let name = format!("after_{}", entry.slug);
        let after = form.step(&name, "°C", &format!("{before} + {loss} / heat_per_kelvin"));
        parts.push(Part { heat: *heat, after });
        before = name;
    }
    let rise = form.step("rise", "K", "heat_total / heat_per_kelvin");
    let outlet = form.step("outlet", "°C", "inlet + rise");
    let settled_inlet = match (radiator, ambient) {
        (Some(_), Some(_)) => Some(form.step("settled_inlet", "°C", "ambient + heat_total / radiator")),
        _ => None,
    };
    require(form, &written, settled_inlet.is_some());
    Box::new(CoolantLoop {
        fluid,
        density,
        heat_capacity,
        flow,
        inlet,
        parts,
        radiator,
        ambient,
        heat_total,
        heat_per_kelvin,
        outlet,
        rise,
        settled_inlet,
    })
}

/// Where the coolant's values come from.
enum WrittenFluid {
    /// A fluid of the rules, with its table.
    Known(&'static str, &'static str),
    Stated(Slot<MassDensity>, Slot<SpecificHeatCapacity>),
    /// The finding has been made.
    Unknown,
}

fn read_fluid(form: &mut Form<'_, '_>) -> WrittenFluid {
    let stated = form.has("density") || form.has("heat_capacity");
    match (form.has("fluid"), stated) {
        (true, true) => {
            let message = "both `fluid` and values of its own";
            let help = "keep `fluid`, or `density` and `heat_capacity`";
            form.report(&codes::BAD_VALUE, form.place(), message, help);
            WrittenFluid::Unknown
        }
        (false, true) => WrittenFluid::Stated(form.required("density"), form.required("heat_capacity")),
        (true, false) => {
            let word = form.choice("fluid", &FLUIDS.map(|(word, _)| word));
            let found = FLUIDS.into_iter().find(|(known, _)| Some(*known) == word);
            found.map_or(WrittenFluid::Unknown, |(name, rows)| WrittenFluid::Known(name, rows))
        }
        (false, false) => {
            form.missing("fluid");
            WrittenFluid::Unknown
        }
    }
}

fn read_part(form: &mut Form<'_, '_>) -> Written {
    form.text("item");
    let heat = match (form.has("loss"), form.has("power")) {
        (false, true) => WrittenHeat::Efficiency(form.required("power"), form.required("efficiency")),
        (both, _) => {
            if both && form.has("power") {
                let message = "a part with both `loss` and `power`";
                form.report(&codes::BAD_VALUE, form.place(), message, "keep one of them");
            }
            WrittenHeat::Loss(form.required("loss"))
        }
    };
    let limit = form.optional::<ThermodynamicTemperature>("limit");
    Written { heat, limit: limit.map(|slot| form.name_of(slot)) }
}

/// The part's heat, and the name of it in formulas.
fn declare_heat(form: &mut Form<'_, '_>, entry: &Entry<Written>) -> (Heat, String) {
    match entry.read.heat {
        WrittenHeat::Loss(slot) => (Heat::Loss(slot), form.name_of(slot)),
        WrittenHeat::Efficiency(power, efficiency) => {
            let name = format!("loss_{}", entry.slug);
            let formula = format!("{} * (1 / {} - 1)", form.name_of(power), form.name_of(efficiency));
            let loss = form.step(&name, "W", &formula);
            (Heat::Efficiency { power, efficiency, loss }, name)
        }
    }
}

fn require(form: &mut Form<'_, '_>, written: &[Entry<Written>], settles: bool) {
    for entry in written {
        let Some(high) = &entry.read.limit else { continue };
        form.require(at_most(&format!("after_{}", entry.slug), high, "the part's limit"));
    }
    if settles {
        form.require(at_most("settled_inlet", "inlet", "the inlet that this block reckons with"));
    }
}

fn at_most<'a>(name: &'a str, high: &'a str, source: &'a str) -> Limit<'a> {
    let (kind, status) = (RequirementKind::Safety, Status::Stated);
    Limit { name, kind, actual: name, low: None, high: Some(high), source, status, span: None }
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
        let mut here = inlet;
        for part in &self.parts {
            let loss = match part.heat {
                Heat::Loss(slot) => bench.get(slot),
                Heat::Efficiency { power, efficiency, loss } => {
                    let heat = bench.get(power) * (ratio(1.0) / bench.get(efficiency) - ratio(1.0));
                    bench.set(loss, heat);
                    heat
                }
            };
            total += loss;
            here += loss / each;
            bench.set(part.after, here);
        }
        let rise: TemperatureInterval = total / each;
        bench.set(self.heat_total, total);
        bench.set(self.rise, rise);
        bench.set(self.outlet, inlet + rise);
        if let (Some(radiator), Some(ambient), Some(settled)) =
            (self.radiator, self.ambient, self.settled_inlet)
        {
            let above: TemperatureInterval = total / bench.get(radiator);
            bench.set(settled, bench.get(ambient) + above);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        page.sentence(
            format!("{} warm the coolant by {}", page.shown(self.heat_total), page.shown(self.rise)),
            format!(", from {} to {}.", page.shown(self.inlet), page.shown(self.outlet)),
        );
        page.headline(self.heat_total);
        page.headline(self.outlet);
        self.outside(page);
        match (self.radiator, self.ambient) {
            (Some(_), Some(_)) => page.note("The radiator is reckoned from the coolant that leaves it. A sheet that reckons from the coolant that enters it promises as much heat at a larger difference, so this is on the safe side."),
            (Some(_), None) => page.note("Where the loop settles was not worked: give `ambient`, the warmest air that meets the radiator."),
            (None, _) => page.note("Whether the heat is let go again was not judged: give `radiator` and `ambient`."),
        }
    }
}

impl CoolantLoop {
    /// An inlet that the fluid's table does not reach.
    fn outside(&self, page: &mut Page<'_>) {
        let Fluid::Known { name, density, .. } = self.fluid else { return };
        if page.get(self.inlet).is_none() || page.get(self.density).is_some() {
            return;
        }
        let Some((curve, _)) = page.curve(density) else { return };
        let (first, last) = (curve.points()[0].0, curve.points()[curve.points().len() - 1].0);
        let message = format!(
            "{} is outside the table of {name}, which runs from {} to {}",
            page.shown(self.inlet),
            page.shown_as(self.inlet, first),
            page.shown_as(self.inlet, last)
        );
        let help = "look at the temperature, or give `density` and `heat_capacity` instead of `fluid`";
        page.find(&codes::OUT_OF_RANGE, self.inlet.index(), message, help);
    }
}
