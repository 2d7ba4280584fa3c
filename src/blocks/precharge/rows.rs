//! What a precharge gives, and what it is held against.

use super::readings::{NEAR_ENOUGH, SHARE, SOON_ENOUGH};
use crate::blocks::shared::working_voltage::NOT_UNDER_PACK;
use crate::model::{RequirementRow, ResultRow, Row, Stage, Taken};
use crate::quantities::si::{
    ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance, Energy, Power, Ratio, Time,
};

/// In reading order.
pub(super) static ALL: &[&ResultRow] = &[
    &TARGET_VOLTAGE.row,
    &SETTLES_ALONE.row,
    &SETTLES_BESIDE.row,
    &SETTLES_FEEDING.row,
    &TIME_CONSTANT.row,
    &TIME_CONSTANT_BESIDE.row,
    &LOAD_STARTS_AT.row,
    &LOAD_STALLS_BELOW.row,
    &TIME_UNTIL_LOAD.row,
    &UPPER_LOGARITHM.row,
    &LOWER_LOGARITHM.row,
    &TIME_WITH_LOAD.row,
    &TIME_ALONE.row,
    &TIME_BESIDE.row,
    &TIME_FEEDING.row,
    &REMAINING_GAP.row,
    &PEAK_CURRENT.row,
    &PEAK_POWER.row,
    &CHARGE_BESIDE.row,
    &CHARGE_FEEDING.row,
    &ENERGY_BESIDE.row,
    &ENERGY_FEEDING.row,
    &RESISTOR_ENERGY.row,
    &RESISTOR_ENERGY_WITH_LOAD.row,
    &LARGEST_RESISTANCE.row,
    &LARGEST_LOAD.row,
    &POWER_INTO_SHORT.row,
    &ENERGY_INTO_SHORT.row,
    &ENERGY_UNTIL_NO_RISE.row,
    &SHARE.row,
];

pub(super) static LEAST_SHARE: Taken<Ratio> = Taken::new("", "least_share");

/// The field that states the load stands in the place of `LOAD`.
const RESISTANCE: &[(&str, &str)] = &[("LOAD", "load.resistance")];
const POWER: &[(&str, &str)] = &[("LOAD", "load.power")];

pub(super) static TARGET_VOLTAGE: Row<ElectricPotential> =
    Row::formula("target_voltage", "target voltage", "V", "target_share * voltage")
        .about("at which the main contactor may close");
pub(super) static SETTLES_ALONE: Row<ElectricPotential> =
    Row::formula("settles_at", "voltage that it settles at", "V", "voltage")
        .about("the one that it only comes near to, however long one waits");
pub(super) static SETTLES_BESIDE: Row<ElectricPotential> =
    SETTLES_ALONE.by("voltage * LOAD / (resistance + LOAD)").each(RESISTANCE);
pub(super) static SETTLES_FEEDING: Row<ElectricPotential> =
    SETTLES_ALONE.by("(voltage + sqrt(voltage^2 - 4 * resistance * LOAD)) / 2").each(POWER);
pub(super) static TIME_CONSTANT: Row<Time> =
    Row::formula("time_constant", "time constant", "ms", "resistance * capacitance")
        .about("a load's resistance stands in parallel");
pub(super) static TIME_CONSTANT_BESIDE: Row<Time> =
    TIME_CONSTANT.by("capacitance * resistance * LOAD / (resistance + LOAD)").each(RESISTANCE);
pub(super) static LOAD_STARTS_AT: Row<ElectricPotential> = Row::formula(
    "load_starts_at",
    "voltage at which the load starts",
    "V",
    "min(load_from, target_share) * voltage",
)
.when("with a load given as a power");
pub(super) static LOAD_STALLS_BELOW: Row<ElectricPotential> =
    Row::formula("load_stalls_below", "voltage under which the load stalls it", "V", "voltage - settles_at")
        .about("the load draws more there than the resistor brings")
        .when("with a load given as a power");
pub(super) static TIME_UNTIL_LOAD: Row<Time> = Row::formula(
    "time_until_load",
    "time until the load starts",
    "ms",
    "-time_constant * ln(1 - load_starts_at / voltage)",
)
.when("with a load given as a power");
pub(super) static UPPER_LOGARITHM: Row<Ratio> = Row::formula(
    "upper_logarithm",
    "way to the voltage that it settles at",
    "1",
    "ln((settles_at - load_starts_at) / (settles_at - target_voltage))",
)
.when("with a load given as a power");
pub(super) static LOWER_LOGARITHM: Row<Ratio> = Row::formula(
    "lower_logarithm",
    "way from the voltage under which it stalls",
    "1",
    "ln((target_voltage - load_stalls_below) / (load_starts_at - load_stalls_below))",
)
.when("with a load given as a power");
pub(super) static TIME_WITH_LOAD: Row<Time> = Row::formula(
    "time_with_load",
    "time with the load",
    "ms",
    "time_constant * (settles_at * upper_logarithm + load_stalls_below * lower_logarithm) \
     / (settles_at - load_stalls_below)",
)
.when("with a load given as a power");
pub(super) static TIME_ALONE: Row<Time> =
    Row::formula("time_to_target", "time to the target", "ms", "-time_constant * ln(1 - target_share)")
        .about("from empty capacitors")
        .principal();
pub(super) static TIME_BESIDE: Row<Time> =
    TIME_ALONE.by("-time_constant * ln(1 - target_voltage / settles_at)");
pub(super) static TIME_FEEDING: Row<Time> = TIME_ALONE.by("time_until_load + time_with_load");
pub(super) static REMAINING_GAP: Row<ElectricPotential> =
    Row::formula("remaining_gap", "voltage across the main contactor", "V", "voltage * (1 - target_share)")
        .about("when it closes at the target");
pub(super) static PEAK_CURRENT: Row<ElectricCurrent> =
    Row::formula("peak_current", "peak current", "A", "voltage / resistance").about("at the first moment");
pub(super) static PEAK_POWER: Row<Power> =
    Row::formula("peak_power", "peak power in the resistor", "kW", "voltage^2 / resistance")
        .about("at the first moment");
pub(super) static CHARGE_BESIDE: Row<ElectricCharge> = Row::formula(
    "load_charge",
    "charge that the load draws",
    "mA s",
    "(settles_at * time_to_target - time_constant * target_voltage) / LOAD",
)
.about("until the target is reached")
.when("with `load`")
.each(RESISTANCE);
pub(super) static CHARGE_FEEDING: Row<ElectricCharge> = CHARGE_BESIDE
    .by("LOAD * time_constant * (upper_logarithm + lower_logarithm) / (settles_at - load_stalls_below)")
    .each(POWER);
pub(super) static ENERGY_BESIDE: Row<Energy> = Row::formula(
    "load_energy",
    "energy that the load takes",
    "J",
    "settles_at * load_charge - time_constant * target_voltage^2 / (2 * LOAD)",
)
.about("until the target is reached")
.when("with `load`")
.each(RESISTANCE);
pub(super) static ENERGY_FEEDING: Row<Energy> = ENERGY_BESIDE.by("LOAD * time_with_load").each(POWER);
pub(super) static RESISTOR_ENERGY: Row<Energy> =
    Row::formula("resistor_energy", "energy in the resistor", "J", "capacitance * voltage^2 / 2")
        .about("to full voltage; with a load its current until the target is counted too")
        .principal();
pub(super) static RESISTOR_ENERGY_WITH_LOAD: Row<Energy> =
    RESISTOR_ENERGY.by("capacitance * voltage^2 / 2 + voltage * load_charge - load_energy");
pub(super) static POWER_INTO_SHORT: Row<Power> =
    Row::formula("power_into_short", "power into a short", "kW", "voltage^2 / resistance")
        .about("in the resistor while the bus behind it is shorted, until something opens");

pub(super) static LARGEST_RESISTANCE: Row<ElectricalResistance> = Row::formula(
    "largest_resistance",
    "largest resistance that is fast enough",
    "Ω",
    "-time_limit / (capacitance * ln(1 - target_share))",
)
.about("with nothing drawing behind it")
.when("with `time_limit`");
pub(super) static LARGEST_LOAD: Row<Power> = Row::formula(
    "largest_load",
    "largest load that the resistor can feed",
    "W",
    "voltage^2 / (4 * resistance)",
)
.about("above it the voltage settles nowhere")
.when("with a load given as a power");
pub(super) static ENERGY_INTO_SHORT: Row<Energy> = Row::formula(
    "energy_into_short",
    "energy in the resistor at a short",
    "J",
    "power_into_short * time_limit",
)
.about("until the controller stops the precharge")
.when("with `time_limit`");
pub(super) static ENERGY_UNTIL_NO_RISE: Row<Energy> =
    ENERGY_INTO_SHORT.by("power_into_short * no_rise_limit").when("with `no_rise_limit`");

pub(super) static REQUIRES: &[&RequirementRow] = &[
    &NOT_UNDER_PACK,
    &REACHED,
    &TIME,
    &ENERGY,
    &ENERGY_SHARED,
    &SHORT,
    &SHORT_SHARED,
    &NEAR_ENOUGH,
    &SOON_ENOUGH,
];

/// What settles at its target never comes to it.
pub(super) static REACHED: RequirementRow = RequirementRow::safety("target_voltage", "target_voltage")
    .at_most("settles_at")
    .strictly()
    .source("the voltage that it settles at");
pub(super) static TIME: RequirementRow = RequirementRow::safety("time_to_target", "time_to_target")
    .at_most("time_limit")
    .source("the controller's time limit")
    .only_with(&["time_limit"])
    .due(Stage::Build);
pub(super) static ENERGY: RequirementRow = RequirementRow::safety("resistor_energy", "resistor_energy")
    .at_most("pulse_energy_rating")
    .source("the resistor's pulse rating");
pub(super) static ENERGY_SHARED: RequirementRow =
    RequirementRow::safety("resistor_energy", "resistor_energy")
        .at_most("pulse_energy_rating / attempts")
        .source("the resistor's pulse rating, shared among the attempts");
/// Without a limit in time a short puts energy into it without end: then it is open.
pub(super) static SHORT: RequirementRow = RequirementRow::safety("energy_into_short", "energy_into_short")
    .at_most("pulse_energy_rating")
    .source("the resistor's pulse rating");
pub(super) static SHORT_SHARED: RequirementRow =
    RequirementRow::safety("energy_into_short", "energy_into_short")
        .at_most("pulse_energy_rating / attempts")
        .source("the resistor's pulse rating, shared among the attempts");
