//! Energy and range over drive cycles and at steady speeds.

mod behind;
mod cases;
mod chart;
mod class;
mod climb;
mod climb_rows;
mod cuts;
mod cycle;
mod declare;
mod drive;
mod fields;
mod follow;
mod given;
mod lasting;
mod map;
mod memo;
mod page;
mod rows;
mod run;

use std::sync::Arc;

use self::cases::{AtSpeed, OverCycle, Ranges, Recovered, Steady};
use self::climb::Climb;
use self::fields::FIELDS;
use self::follow::{Chain, LimitFields};
use self::given::{read_class, read_cycle, read_efficiency, read_model_factor, read_winter};
use self::lasting::LastingFields;
use self::map::Map;
use crate::blocks::shared::lists::quantities;
use crate::findings::codes;
use crate::model::{Block, Entry, Example, Form, Kind, Slot};
use crate::quantities::Trace;
use crate::quantities::si::{
    ElectricPotential, ElectricalResistance, Energy, Force, ForcePerSpeed, ForcePerSpeedSquared, Mass, Power,
    Ratio, SpecificPower, Velocity,
};
use crate::words::Words;

pub(super) static KIND: Kind = Kind {
    name: "energy-use",
    summary: "what a vehicle uses and how far it goes, over drive cycles and at steady speeds",
    subsystem: "drive",
    fields: FIELDS,
    rows: &[
        &rows::WINTER_POWER.row,
        &rows::WINTER_POWER_WITHOUT_HEATER.row,
        &rows::WINTER_ENERGY.row,
        &rows::WINTER_ENERGY_OF_A_WARM_PACK.row,
        &rows::DURATION.row,
        &rows::DISTANCE.row,
        &rows::AT_WHEEL.row,
        &rows::BRAKING.row,
        &rows::DRAWN.row,
        &rows::DRAWN_BY_MAP.row,
        &rows::RECOVERED.row,
        &rows::RECOVERED_WITHIN_LIMITS.row,
        &rows::AUXILIARIES.row,
        &rows::AT_TERMINALS.row,
        &rows::AT_TERMINALS_WITHOUT_RECOVERY.row,
        &rows::PACK_LOSS.row,
        &rows::CONSUMPTION.row,
        &rows::PEAK_POWER.row,
        &rows::PACK_POWER.row,
        &rows::BATTERY_POWER_BY_MAP.row,
        &rows::RMS_CURRENT.row,
        &rows::CONSUMPTION_IN_WINTER.row,
        &rows::RANGE.row,
        &rows::RANGE_IN_WINTER.row,
        &rows::RANGE_AGED.row,
        &rows::RANGE_IN_WINTER_AGED.row,
        &rows::CLIMBED.row,
        &rows::CLIMBING.row,
        &rows::CONSUMPTION_ON_FULL_PACK.row,
        &rows::DRAG_AT.row,
        &rows::EFFICIENCY_AT.row,
        &rows::POWER_AT.row,
        &rows::POWER_AT_BY_MAP.row,
        &rows::VOLTAGE_AT.row,
        &rows::CELL_POWER_AT.row,
        &rows::CONSUMPTION_AT.row,
        &rows::RANGE_AT.row,
        &rows::DRAG_IN_WINTER_AT.row,
        &rows::DRAG_IN_MILD_WINTER_AT.row,
        &rows::EFFICIENCY_IN_WINTER_AT.row,
        &rows::POWER_IN_WINTER_AT.row,
        &rows::POWER_IN_WINTER_AT_BY_MAP.row,
        &rows::VOLTAGE_IN_WINTER_AT.row,
        &rows::CELL_POWER_IN_WINTER_AT.row,
        &rows::CONSUMPTION_IN_WINTER_AT.row,
        &rows::RANGE_IN_WINTER_AT.row,
        &rows::RANGE_AGED_AT.row,
        &rows::RANGE_IN_WINTER_AGED_AT.row,
        &rows::POWER_TO_MASS.row,
        &rows::PACK_PEAK_TO_MASS.row,
        &rows::PACK_RATED_TO_MASS.row,
        &rows::PACK_PEAK_TO_MASS_BY_MAP.row,
        &rows::PACK_RATED_TO_MASS_BY_MAP.row,
        &rows::WLTC_CLASS.row,
        &climb_rows::SLOPE.row,
        &climb_rows::LENGTH.row,
        &climb_rows::SLOPE_FORCE.row,
        &climb_rows::LEVEL.row,
        &climb_rows::UPHILL.row,
        &climb_rows::DOWNHILL.row,
        &climb_rows::POWER.row,
        &climb_rows::POWER_BY_MAP.row,
        &climb_rows::ENERGY.row,
        &climb_rows::RECOVERED.row,
        &climb_rows::RECOVERED_ON_FULL_PACK.row,
        &climb_rows::LEVEL_IN_WINTER.row,
        &climb_rows::LEVEL_IN_MILD_WINTER.row,
        &climb_rows::UPHILL_IN_WINTER.row,
        &climb_rows::DOWNHILL_IN_WINTER.row,
        &climb_rows::POWER_IN_WINTER.row,
        &climb_rows::POWER_IN_WINTER_BY_MAP.row,
        &climb_rows::ENERGY_IN_WINTER.row,
        &climb_rows::RECOVERED_IN_WINTER.row,
    ],
    takes: &[
        &rows::ROAD_F0.row,
        &rows::ROAD_F1.row,
        &rows::ROAD_F2.row,
        &rows::EFFECTIVE_MASS.row,
        &rows::ROAD_MASS.row,
        &rows::USABLE_ENERGY.row,
        &rows::PACK_VOLTAGE.row,
        &rows::PACK_RESISTANCE.row,
        &rows::PACK_PEAK_POWER.row,
        &rows::PACK_RATED_POWER.row,
        &rows::MOTOR_PEAK_POWER.row,
        &rows::TORQUE_CURVE.row,
        &rows::CONTINUOUS_POWER.row,
        &rows::CONTINUOUS_TORQUE.row,
        &rows::CONTINUOUS_CURVE.row,
        &rows::PARALLEL.row,
        &rows::CELL_CONTINUOUS.row,
        &rows::OVERALL_RATIO.row,
        &rows::RATIO_OF_GEAR.row,
        &rows::HIGHEST_SPEED_OF_GEAR.row,
        &rows::CIRCUMFERENCE.row,
        &rows::CHAIN_EFFICIENCY.row,
        &rows::HIGHEST_SPEED.row,
    ],
    requires: &[],
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
            ("use.wltc_3b_at_terminals", "151.66411005283 Wh/km"),
            ("use.wltc_3b_rms_current", "35.089992558846 A"),
            ("use.nedc_at_terminals", "132.8583178652 Wh/km"),
            ("use.nedc_consumption", "133.7068399172 Wh/km"),
            ("use.nedc_rms_current", "23.878853156490 A"),
            ("use.range_at_80_km_h", "267.8602426256 km"),
        ],
    },
    sources: &[
        "energy at the wheels: ∫ (f0 + f1 v + f2 v² + m dv/dt) v dt, the speed a straight line between samples, integrated in closed form and split where the force changes sign",
        "traces of the WLTC: UN GTR 15, annex 1, taken as numbers from the PyPI package wltp 0.1.2a0 (second-hand; sums of speed as the regulation's)",
        "trace of the NEDC: UN R83, annex 4a, from its break points (second-hand)",
        "on a slope, its sine the rise over the distance driven: f0 cos θ + f1 v + f2 v² + m g sin θ; common practice, no source",
        "current at constant power from a source with resistance: I = 2 P/(E + √(E² − 4 R P)); closed form",
    ],
    limits: &[
        "consumption from three coefficients and one efficiency is good to about 10 %: fitted on half of a national test list of production electric cars, it missed the other half by 9.1 % RMS, which is the ± of `model_factor`",
        "the current, and the pack's loss, are those of a constant resistance, which is a short-pulse model, at nominal voltage",
        "a steady speed is not driven where it asks more than motor or pack bear for long, as far as their continuous ratings are stated; a cycle or a climb goes by the peak ratings",
        "steady speeds, and cycles without heights, are driven level, all without wind; charging losses are not calculated here",
        "whether a chain with gears follows is judged in the gear that pulls most at each speed, without the time of a change; an efficiency map is read, and then all is judged, in the gear in use",
        "between two samples of a cycle with heights the slope is one; its heights carry no uncertainty",
    ],
    codes: &[],
    read,
};

struct EnergyUse {
    road: Road,
    pack: Pack,
    efficiency: DriveEfficiency,
    regeneration: Option<RegenerationFields>,
    auxiliary: Slot<Power>,
    winter: Option<Winter>,
    model_factor: Slot<Ratio>,
    /// It is less than the model's, or surer.
    factor_promises: bool,
    limits: LimitFields,
    lasting: LastingFields,
    life_share: Slot<Ratio>,
    class: Class,
    /// The share of what is recovered that a full pack takes.
    full: Option<Slot<Ratio>>,
    climb: Option<Climb>,
    cycles: Vec<OverCycle>,
    speeds: Vec<AtSpeed>,
    road_is_sloped: bool,
}

struct Road {
    f0: Slot<Force>,
    f1: Slot<ForcePerSpeed>,
    f2: Slot<ForcePerSpeedSquared>,
    mass: Slot<Mass>,
    /// What is lifted, without the turning parts' share, where anything climbs.
    lifted: Option<Slot<Mass>>,
}

struct Pack {
    usable_energy: Slot<Energy>,
    voltage: Slot<ElectricPotential>,
    resistance: Slot<ElectricalResistance>,
}

enum DriveEfficiency {
    Constant(Slot<Ratio>),
    Map(Map, Chain),
    /// The map could not be read.
    Unknown,
}

struct RegenerationFields {
    share: Slot<Ratio>,
    efficiency: Slot<Ratio>,
    power_limit: Option<Slot<Power>>,
    minimum_speed: Option<Slot<Velocity>>,
}

struct Winter {
    energy_share: Option<Slot<Ratio>>,
    load_increase: Option<Slot<Ratio>>,
    regeneration_share: Option<Slot<Ratio>>,
    heater: Option<Slot<Power>>,
    /// Auxiliaries and heater.
    power: Slot<Power>,
    energy: Slot<Energy>,
}

struct Class {
    power: Option<Slot<Power>>,
    /// Of the drive, where the power is the pack's.
    efficiency: Option<Slot<Ratio>>,
    mass: Option<Slot<Mass>>,
    power_to_mass: Slot<SpecificPower>,
    class: Slot<String>,
}

/// A cycle as it is written.
#[derive(Default)]
struct Written {
    trace: Option<Arc<Trace>>,
    title: Option<&'static str>,
    source: Option<Words>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let road_block = form.lookup().block_name("road");
    let mut lookup = form.lookup();
    let mut road = Road {
        f0: lookup.taken(&rows::ROAD_F0, road_block.as_ref()),
        f1: lookup.taken(&rows::ROAD_F1, road_block.as_ref()),
        f2: lookup.taken(&rows::ROAD_F2, road_block.as_ref()),
        mass: lookup.taken(&rows::EFFECTIVE_MASS, road_block.as_ref()),
        lifted: None,
    };
    let road_is_sloped = ["grade", "headwind"].iter().any(|key| form.lookup().has(road_block.as_ref(), key));
    let pack_block = form.lookup().block_name("pack");
    let mut lookup = form.lookup();
    let pack = Pack {
        usable_energy: lookup.taken(&rows::USABLE_ENERGY, pack_block.as_ref()),
        voltage: lookup.taken(&rows::PACK_VOLTAGE, pack_block.as_ref()),
        resistance: lookup.taken(&rows::PACK_RESISTANCE, pack_block.as_ref()),
    };
    let chain = form.lookup().block_name("chain");
    let motor = form.lookup().block_name("motor");
    let limits = LimitFields::read(form, (motor.as_ref(), chain.as_ref()), pack_block.as_ref());
    let lasting = LastingFields::read(form, (motor.as_ref(), chain.as_ref()), pack_block.as_ref());
    let efficiency = read_efficiency(form, limits.chain);
    let regeneration = form.group("regeneration", |form| RegenerationFields {
        share: form.required("share"),
        efficiency: form.required("efficiency"),
        power_limit: form.optional("power_limit"),
        minimum_speed: form.optional("minimum_speed"),
    });
    let auxiliary = form.required("auxiliary_power");
    let winter = read_winter(form);
    let (model_factor, factor_promises) = read_model_factor(form);
    let life_share = form.if_given("life_share");
    let cycles = form.list("cycles", &["name"], |form, _| read_cycle(form));
    let speeds: Vec<Entry<Slot<Velocity>>> = quantities(form, "speeds");
    if !["cycles", "speeds", "climb"].iter().any(|key| form.has(key)) {
        let help = "type `cycles: [wltc-3b]`, or `speeds: [80 km/h]`, or both";
        form.report(&codes::MISSING_FIELD, form.place, "neither `cycles` nor `speeds`", help);
    }
    let climbs = |entry: &Entry<Written>| entry.read.trace.as_ref().is_some_and(|it| it.heights().is_some());
    if cycles.iter().any(climbs) || form.has("climb") {
        road.lifted = Some(form.lookup().taken(&rows::ROAD_MASS, road_block.as_ref()));
    }
    let full = form.group("full", |form| form.required("regeneration_share"));
    let class =
        read_class(form, (road_block.as_ref(), pack_block.as_ref()), (&limits, &efficiency, road.lifted));
    let mut block = EnergyUse {
        road,
        pack,
        efficiency,
        regeneration,
        auxiliary,
        winter,
        model_factor,
        factor_promises,
        limits,
        lasting,
        life_share,
        class,
        full,
        climb: None,
        cycles: Vec::new(),
        speeds: Vec::new(),
        road_is_sloped,
    };
    block.cycles = cycles.into_iter().filter_map(|entry| block.over_cycle(form, entry)).collect();
    block.speeds = speeds.into_iter().map(|entry| block.at_speed(form, &entry)).collect();
    block.climb = block.read_climb(form);
    Box::new(block)
}
