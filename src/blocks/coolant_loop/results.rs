//! What `coolant-loop` takes from the rules, gives and requires, a row each.

use crate::model::{Family, RequirementRow, ResultRow, Row, Taken, TakenRow};
use crate::quantities::si::{
    MassDensity, Power, Ratio, SpecificHeatCapacity, TemperatureInterval, ThermalConductance,
    ThermodynamicTemperature, VolumeRate,
};
use crate::quantities::{Curve, sort};

pub(super) const RESULTS: &[&ResultRow] = &[
    &DENSITY.row,
    &HEAT_CAPACITY.row,
    &LOSS.row,
    &HEAT_TOTAL.row,
    &HEAT_PER_KELVIN.row,
    &AFTER.row,
    &RISE.row,
    &FLOW_NEEDED.row,
    &OUTLET.row,
    &SETTLED_INLET.row,
    &WARMEST_INLET.row,
    &SETTLED_AFTER.row,
];

pub(super) const TAKES: &[&TakenRow] = &[
    &FLUID_DENSITY.row,
    &FLUID_HEAT_CAPACITY.row,
    &FLOW.row,
    &RADIATOR.row,
    &PART_LOSS.row,
    &POWER.row,
    &EFFICIENCY.row,
    &HILL_LOSS.row,
    &PACK_HEAT.row,
];

pub(super) const REQUIREMENTS: &[&RequirementRow] = &[&COOL_ENOUGH, &COOL_WHERE_IT_SETTLES, &SETTLES, &RISES];

pub(super) static FLOW: Taken<VolumeRate> = Taken::new("pump", "flow").stands_for("flow");
pub(super) static RADIATOR: Taken<ThermalConductance> =
    Taken::new("radiator", "heat_per_kelvin").stands_for("radiator");
pub(super) static PART_LOSS: Taken<Power> = Taken::new("part", "loss").stands_for("loss");
pub(super) static POWER: Taken<Power> = Taken::new("part", "power").stands_for("power");
pub(super) static EFFICIENCY: Taken<Ratio> = Taken::new("part", "efficiency").stands_for("efficiency");
pub(super) static HILL_LOSS: Taken<Power> =
    Taken::new("traction", "hill_loss").stands_for("loss").about("of a `traction` block that `part` names");
pub(super) static PACK_HEAT: Taken<Power> =
    Taken::new("pack-heat", "heat").stands_for("loss").about("of a `pack-heat` block that `part` names");

/// The table of the fluid, read at the inlet.
pub(super) static FLUID_DENSITY: Taken<Curve> =
    Taken::curve("", "fluid_density", (&sort::TEMPERATURE, &sort::DENSITY));
pub(super) static FLUID_HEAT_CAPACITY: Taken<Curve> =
    Taken::curve("", "fluid_heat_capacity", (&sort::TEMPERATURE, &sort::SPECIFIC_HEAT));

static PARTS: Family = Family { name: "parts", label: "Part", case: "ITEM" };

pub(super) static DENSITY: Row<MassDensity> =
    Row::formula("density", "density of the coolant", "kg/m³", "fluid_density(inlet)")
        .about("at the inlet")
        .when("with `fluid`");
pub(super) static HEAT_CAPACITY: Row<SpecificHeatCapacity> =
    Row::formula("heat_capacity", "heat capacity of the coolant", "J/(kg·K)", "fluid_heat_capacity(inlet)")
        .about("at the inlet")
        .when("with `fluid`");
pub(super) static LOSS: Row<Power> =
    Row::formula("loss_ITEM", "heat of the part", "W", "heat.ITEM.power * (1 / heat.ITEM.efficiency - 1)")
        .when("with `power` and `efficiency`")
        .family(&PARTS);
pub(super) static HEAT_TOTAL: Row<Power> = Row::formula("heat_total", "heat of all parts", "kW", "EACH")
    .each(&[("EACH", "heat.ITEM.loss + loss_ITEM")])
    .principal();
pub(super) static HEAT_PER_KELVIN: Row<ThermalConductance> = Row::formula(
    "heat_per_kelvin",
    "heat that the flow takes up for each kelvin",
    "W/K",
    "density * flow * heat_capacity",
);
pub(super) static AFTER: Row<ThermodynamicTemperature> =
    Row::formula("after_ITEM", "coolant behind the part", "°C", "BEFORE + LOSS / heat_per_kelvin")
        .family(&PARTS)
        .each(&[("BEFORE", "inlet"), ("LOSS", "loss_ITEM")])
        .principal();
pub(super) static WARMEST_INLET: Row<ThermodynamicTemperature> =
    Row::formula("warmest_inlet", "warmest inlet", "°C", "max(inlet, settled_inlet)")
        .about("of the one given and the one where the loop settles")
        .when("with `radiator` and `ambient_temperature`");
pub(super) static SETTLED_AFTER: Row<ThermodynamicTemperature> = Row::formula(
    "settled_after_ITEM",
    "coolant behind the part where the loop settles",
    "°C",
    "after_ITEM + (warmest_inlet - inlet)",
)
.about("or at the inlet given, where that is warmer")
.when("with `radiator` and `ambient_temperature`")
.family(&PARTS);
pub(super) static RISE: Row<TemperatureInterval> =
    Row::formula("rise", "rise from inlet to outlet", "K", "heat_total / heat_per_kelvin");
pub(super) static FLOW_NEEDED: Row<VolumeRate> = Row::formula(
    "flow_needed",
    "flow that the heat needs",
    "L/min",
    "heat_total / (density * heat_capacity * rise_limit)",
)
.about("to warm by no more than `rise_limit`")
.when("with `rise_limit`");
pub(super) static OUTLET: Row<ThermodynamicTemperature> =
    Row::formula("outlet", "coolant behind the last part", "°C", "inlet + rise").principal();
pub(super) static SETTLED_INLET: Row<ThermodynamicTemperature> = Row::formula(
    "settled_inlet",
    "inlet where the loop settles",
    "°C",
    "ambient_temperature + heat_total / radiator",
)
.about("held there by the radiator")
.when("with `radiator` and `ambient_temperature`")
.principal();

pub(super) static COOL_ENOUGH: RequirementRow = RequirementRow::safety("after_ITEM", "after_ITEM")
    .at_most("heat.ITEM.limit")
    .source("the part's limit")
    .family(&PARTS)
    .only_with(&["heat.ITEM.limit"]);
/// Where the loop's own state is known a part is judged in that.
pub(super) static COOL_WHERE_IT_SETTLES: RequirementRow =
    RequirementRow::safety("after_ITEM", "settled_after_ITEM")
        .at_most("heat.ITEM.limit")
        .source("the part's limit")
        .family(&PARTS)
        .only_with(&["heat.ITEM.limit"]);
pub(super) static SETTLES: RequirementRow = RequirementRow::safety("settled_inlet", "settled_inlet")
    .at_most("inlet")
    .source("the inlet that this block reckons with");
pub(super) static RISES: RequirementRow = RequirementRow::wish("rise", "rise")
    .at_most("rise_limit")
    .source("the builder's own")
    .only_with(&["rise_limit"]);
