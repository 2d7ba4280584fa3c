//! Energy and range over drive cycles and at steady speeds.

mod chart;
mod cuts;
mod cycle;
mod declare;
mod fields;
mod map;
mod page;
mod run;

use std::sync::Arc;

use self::cycle::Course;
use self::fields::{FIELDS, RESULTS};
use self::map::{Map, read_map};
use crate::findings::codes;
use crate::model::{Block, BlockName, Entry, Example, Form, Kind, Slot};
use crate::quantities::si::{
    Consumption, ElectricCurrent, ElectricPotential, ElectricalResistance, Energy, Force, ForcePerSpeed,
    ForcePerSpeedSquared, Length, Mass, Power, Ratio, SpecificPower, Time, Velocity,
};
use crate::quantities::{Trace, slug};
use crate::rules::cycles;

pub(super) static KIND: Kind = Kind {
    name: "energy-use",
    summary: "what a vehicle uses and how far it goes, over drive cycles and at steady speeds",
    subsystem: "drive",
    fields: FIELDS,
    rows: &[],
    takes: &[],
    requires: &[],
    results: RESULTS,
    example: Example {
        journal: "\
```yaml road-load road
mass: 1 500 kg
rotating_share: 0
coefficients: {f0: 176.58 N, f1: 0 N/(m/s), f2: 0.413 N/(m/s)^2}
```

```yaml part cell
role: cell
nominal_voltage: 3.7 V
full_voltage: 4.2 V
empty_voltage: 3 V
capacity: 50 Ah
resistance: 1 mΩ
mass: 850 g
continuous_discharge: 100 A
peak_discharge: 300 A
```

```yaml pack-layout pack
cell: cell
series: 100
parallel: 2
housing_share: 25 %
peak_power: 80 kW
```

```yaml energy-use use
road: road
pack: pack
drive_efficiency: 88 %
regeneration: {share: 60 %, efficiency: 85 %}
auxiliary_power: 300 W
cycles: [wltc-3b, nedc]
speeds: [80 km/h]
```
",
        // Computed apart from the program: Gauss's five points on thirds of a second, cut where the force is 0.
        expected: &[
            ("use.wltc_3b_distance", "23.26627777777774 km"),
            ("use.wltc_3b_at_wheel", "143.82370399163 Wh/km"),
            ("use.wltc_3b_braking", "35.72356151752 Wh/km"),
            ("use.wltc_3b_consumption", "151.66411005283 Wh/km"),
            ("use.wltc_3b_rms_current", "35.089992558846 A"),
            ("use.nedc_consumption", "132.8583178652 Wh/km"),
            ("use.nedc_rms_current", "23.878853156490 A"),
            ("use.range_at_80_km_h", "268.8367627007 km"),
        ],
    },
    sources: &[
        "energy at the wheels: ∫ (f0 + f1 v + f2 v² + m dv/dt) v dt, the speed a straight line between samples, integrated in closed form and split where the force changes sign",
        "traces of the WLTC: UN GTR 15, annex 1, taken as numbers from the PyPI package wltp 0.1.2a0 (second-hand; sums of speed as the regulation's)",
        "trace of the NEDC: UN R83, annex 4a, from its break points (second-hand)",
        "current at constant power from a source with resistance: I = 2 P/(E + √(E² − 4 R P)); closed form",
    ],
    inspector: &["wltc_class"],
    limits: &[
        "consumption from three coefficients and one efficiency is good to about 10 %: fitted on half of a national test list of production electric cars, it missed the other half by 9.1 % RMS",
        "the current is that of a constant resistance, which is a short-pulse model, at nominal voltage",
        "cycles and steady speeds are driven level and without wind; whether the vehicle can follow a cycle, and charging losses, are not calculated here",
    ],
    codes: &[],
    read,
};

pub(super) struct EnergyUse {
    pub road: Road,
    pub pack: Pack,
    pub efficiency: DriveEfficiency,
    pub regeneration: Option<RegenerationFields>,
    pub auxiliary: Slot<Power>,
    pub winter: Option<Winter>,
    pub class: Option<Class>,
    pub cycles: Vec<OverCycle>,
    pub speeds: Vec<AtSpeed>,
    pub road_is_sloped: bool,
}

pub(super) struct Road {
    pub f0: Slot<Force>,
    pub f1: Slot<ForcePerSpeed>,
    pub f2: Slot<ForcePerSpeedSquared>,
    pub mass: Slot<Mass>,
}

pub(super) struct Pack {
    pub usable_energy: Slot<Energy>,
    pub voltage: Slot<ElectricPotential>,
    pub resistance: Slot<ElectricalResistance>,
}

pub(super) enum DriveEfficiency {
    Constant(Slot<Ratio>),
    Map {
        map: Map,
        ratio: Slot<Ratio>,
        circumference: Slot<Length>,
        efficiency: Slot<Ratio>,
    },
    /// It could not be read.
    Unknown(Slot<Ratio>),
}

pub(super) struct RegenerationFields {
    pub share: Slot<Ratio>,
    pub efficiency: Slot<Ratio>,
    pub power_limit: Option<Slot<Power>>,
    pub minimum_speed: Option<Slot<Velocity>>,
}

pub(super) struct Winter {
    pub energy_share: Option<Slot<Ratio>>,
    pub load_increase: Option<Slot<Ratio>>,
    pub heater: Option<Slot<Power>>,
}

pub(super) struct Class {
    pub power: Slot<Power>,
    pub efficiency: Option<Slot<Ratio>>,
    pub mass: Slot<Mass>,
    pub power_to_mass: Slot<SpecificPower>,
    pub top_speed: Option<Slot<Velocity>>,
    pub class: Slot<String>,
}

pub(super) struct OverCycle {
    pub title: String,
    pub course: Course,
    pub trace: Arc<Trace>,
    /// Where the trace comes from, for a published one.
    pub source: Option<String>,
    pub duration: Slot<Time>,
    pub distance: Slot<Length>,
    pub at_wheel: Slot<Consumption>,
    pub braking: Slot<Consumption>,
    pub drawn: Option<Slot<Consumption>>,
    pub recovered: Option<Recovered>,
    pub consumption: Slot<Consumption>,
    pub peak_power: Slot<Power>,
    pub rms_current: Slot<ElectricCurrent>,
    pub ranges: Ranges,
}

#[derive(Clone, Copy)]
pub(super) enum Recovered {
    /// A share of the braking energy.
    Plain(Slot<Consumption>),
    /// With a limit of power or speed.
    Limited(Slot<Consumption>),
}

pub(super) struct AtSpeed {
    pub title: String,
    pub speed: Slot<Velocity>,
    pub consumption: Slot<Consumption>,
    pub ranges: Ranges,
}

pub(super) struct Ranges {
    pub usual: Slot<Length>,
    pub winter: Option<(Slot<Consumption>, Slot<Length>)>,
    pub aged: Option<(Slot<Ratio>, Slot<Length>)>,
}

/// A cycle as it is written.
pub(super) struct Written {
    pub trace: Option<Arc<Trace>>,
    pub title: Option<&'static str>,
    pub source: Option<String>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let road_block = form.required_block("road");
    let road = Road {
        f0: form.of_block(road_block.as_ref(), "f0"),
        f1: form.of_block(road_block.as_ref(), "f1"),
        f2: form.of_block(road_block.as_ref(), "f2"),
        mass: form.of_block(road_block.as_ref(), "effective_mass"),
    };
    let road_is_sloped = ["grade", "headwind"].iter().any(|key| form.block_has(road_block.as_ref(), key));
    let pack_block = form.required_block("pack");
    let pack = Pack {
        usable_energy: form.of_block(pack_block.as_ref(), "usable_energy"),
        voltage: form.of_block(pack_block.as_ref(), "nominal_voltage"),
        resistance: form.of_block(pack_block.as_ref(), "resistance"),
    };
    let chain = form.block_name("chain");
    let efficiency = read_efficiency(form, chain.as_ref());
    let regeneration = form.group("regeneration", |form| RegenerationFields {
        share: form.required("share"),
        efficiency: form.required("efficiency"),
        power_limit: form.optional("power_limit"),
        minimum_speed: form.optional("minimum_speed"),
    });
    let auxiliary = form.required("auxiliary_power");
    let winter = read_winter(form);
    let life_share = form.optional("life_share");
    let cycles = form.list_or_names(("cycles", "name"), &["name"], |form, _| read_cycle(form));
    let speeds: Vec<Entry<Slot<Velocity>>> = form.quantities("speeds");
    if !form.has("cycles") && !form.has("speeds") {
        let help = "type `cycles: [wltc-3b]`, or `speeds: [80 km/h]`, or both";
        form.report(&codes::MISSING_FIELD, form.place(), "neither `cycles` nor `speeds`", help);
    }
    let class = read_class(form, [road_block, pack_block, chain], &efficiency);
    let mut block = EnergyUse {
        road,
        pack,
        efficiency,
        regeneration,
        auxiliary,
        winter,
        class,
        cycles: Vec::new(),
        speeds: Vec::new(),
        road_is_sloped,
    };
    block.cycles = cycles.into_iter().filter_map(|entry| block.over_cycle(form, entry, life_share)).collect();
    block.speeds = speeds.into_iter().map(|entry| block.at_speed(form, entry, life_share)).collect();
    Box::new(block)
}

fn read_efficiency(form: &mut Form<'_, '_>, chain: Option<&BlockName>) -> DriveEfficiency {
    match (form.has("drive_efficiency"), form.has("efficiency_map")) {
        (true, true) => {
            let message = "both `drive_efficiency` and `efficiency_map`";
            form.report(&codes::BAD_VALUE, form.place(), message, "keep one of them");
            DriveEfficiency::Constant(form.required("drive_efficiency"))
        }
        (_, false) => DriveEfficiency::Constant(form.required("drive_efficiency")),
        (false, true) => {
            let map = read_map(form);
            if chain.is_none() && !form.has("chain") {
                form.missing("chain");
            }
            let ratio = form.of_block(chain, "overall_ratio");
            let circumference = form.of_block(chain, "rolling_circumference");
            let efficiency = form.of_block(chain, "efficiency");
            match map {
                Some(map) => DriveEfficiency::Map { map, ratio, circumference, efficiency },
                None => DriveEfficiency::Unknown(form.unknown_step("efficiency")),
            }
        }
    }
}

fn read_winter(form: &mut Form<'_, '_>) -> Option<Winter> {
    let heater = form.optional("heater_power");
    let cold = form.group("cold", |form| (form.required("energy_share"), form.required("load_increase")));
    (heater.is_some() || cold.is_some()).then_some(Winter {
        energy_share: cold.map(|cold| cold.0),
        load_increase: cold.map(|cold| cold.1),
        heater,
    })
}

fn read_cycle(form: &mut Form<'_, '_>) -> Written {
    let name = form.text("name");
    let own = form.has("file") || form.has("points");
    let (name, span) = match name {
        Some((name, span)) => (name, span),
        None => (String::new(), form.place()),
    };
    let slug = slug(&name);
    if !slug.starts_with(|c: char| c.is_ascii_lowercase()) || !slug.is_ascii() {
        let message = format!("`{name}` is no name for a cycle");
        form.report(
            &codes::BAD_NAME,
            span,
            message,
            "begin it with a letter, and type it in plain letters and digits",
        );
        return Written { trace: None, title: None, source: None };
    }
    match (cycles::cycle(&name), own) {
        (Some(_), true) => {
            let message = format!("`{name}` is the name of a published cycle");
            form.report(&codes::BAD_VALUE, span, message, "give your own cycle another name");
            Written { trace: None, title: None, source: None }
        }
        (Some(published), false) => Written {
            trace: Some(published.trace.clone()),
            title: Some(published.title),
            source: Some(format!("{} ({})", published.source, published.status.word())),
        },
        (None, true) => {
            let trace = form.trace().filter(|trace| {
                let moves = trace.top_speed() > 0.0;
                if !moves {
                    let help = "look at its column of speeds";
                    form.report(
                        &codes::BAD_TRACE,
                        span,
                        format!("in `{name}` the vehicle never moves"),
                        help,
                    );
                }
                moves
            });
            Written { trace, title: None, source: None }
        }
        (None, false) => {
            let known = cycles::names().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ");
            let message = format!("`{name}` is no published cycle, and names no file");
            let help = format!(
                "the published ones are {known}; your own is `{{name: {name}, file: evidence/….csv}}`"
            );
            form.report(&codes::BAD_VALUE, span, message, help);
            Written { trace: None, title: None, source: None }
        }
    }
}

/// Power to mass from the motor, else from what the pack gives through the drive.
fn read_class(
    form: &mut Form<'_, '_>,
    [road, pack, chain]: [Option<BlockName>; 3],
    efficiency: &DriveEfficiency,
) -> Option<Class> {
    let motor = form.block_name("motor");
    let (mass, mass_name) = match form.of_block_if_there(road.as_ref(), "mass") {
        Some(mass) => (mass, "road.mass"),
        None => return None,
    };
    let (power, power_name) = if motor.is_some() {
        (form.of_block(motor.as_ref(), "peak_power"), "motor.peak_power")
    } else {
        let name = if form.block_has(pack.as_ref(), "peak_power") { "peak_power" } else { "rated_power" };
        let power = form.of_block_if_there(pack.as_ref(), name)?;
        (power, if name == "peak_power" { "pack.peak_power" } else { "pack.rated_power" })
    };
    let through = match efficiency {
        DriveEfficiency::Constant(slot) if motor.is_none() => Some(*slot),
        _ => None,
    };
    let formula = match through {
        Some(_) => format!("{power_name} * drive_efficiency / {mass_name}"),
        None => format!("{power_name} / {mass_name}"),
    };
    let power_to_mass: Slot<SpecificPower> = form.step("power_to_mass", "W/kg", &formula);
    let top_speed = form.of_block_if_there(chain.as_ref(), "geared_top_speed");
    let class = form.text_step("wltc_class", &[power_to_mass.index()]);
    Some(Class { power, efficiency: through, mass, power_to_mass, top_speed, class })
}
