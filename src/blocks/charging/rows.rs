//! What a charge gives: power, current into the pack, energy and time.

use crate::blocks::shared::switchgear;
use crate::model::{RequirementRow, Row, Stage};
use crate::quantities::si::{ElectricCurrent, ElectricPotential, Energy, Power, Time, Velocity};

pub(super) static WALL_POWER: Row<Power> =
    Row::formula("wall_power", "power from the wall", "kW", "current * supply.phases * supply.phase_voltage")
        .principal();
pub(super) static WALL_POWER_OF_CURRENT: Row<Power> = WALL_POWER.by("pack_power / charger.efficiency");
pub(super) static PACK_POWER: Row<Power> =
    Row::formula("pack_power", "power into the pack", "kW", "wall_power * charger.efficiency")
        .about("until a limit voltage is reached");
pub(super) static PACK_POWER_OF_CURRENT: Row<Power> = PACK_POWER.by("current * pack.nominal_voltage");
pub(super) static END_VOLTAGE: Row<ElectricPotential> =
    Row::formula("end_voltage", "voltage that the charger ends at", "V", "charge_end_voltage")
        .when("with `charge_end_voltage`, here or in the charger, or with `constant_voltage`");
pub(super) static END_VOLTAGE_HELD: Row<ElectricPotential> = END_VOLTAGE.by("constant_voltage.limit");
pub(super) static PACK_POWER_AT_FULL: Row<Power> =
    Row::formula("pack_power_at_full", "power into the full pack", "kW", "current * pack.full_voltage")
        .about("the most that the charger has to give")
        .when("without `supply`");
pub(super) static VOLTAGE_AT_START: Row<ElectricPotential> = Row::formula(
    "voltage_at_start",
    "voltage at rest at the start",
    "V",
    "pack.series * cell.open_circuit_curve(from_share)",
)
.about("of the pack")
.when("where the cell has its `open_circuit_curve`");
pub(super) static CHARGING_VOLTAGE_AT_START: Row<ElectricPotential> = Row::formula(
    "charging_voltage_at_start",
    "voltage at the terminals at the start",
    "V",
    "voltage_at_start / 2 + sqrt(voltage_at_start^2 / 4 + pack.resistance * pack_power)",
)
.about("of the pack, as charging begins")
.when("with `supply`, where the cell has its `open_circuit_curve`");
pub(super) static PACK_CURRENT: Row<ElectricCurrent> =
    Row::formula("pack_current", "current into the pack", "A", "pack_power / charging_voltage_at_start")
        .about("the most: at the start with the cell's curve, else at the empty voltage")
        .when("with `supply`")
        .principal();
pub(super) static PACK_CURRENT_AT_EMPTY: Row<ElectricCurrent> =
    PACK_CURRENT.by("pack_power / pack.empty_voltage");
pub(super) static CHARGE_ENERGY: Row<Energy> = Row::formula(
    "charge_energy",
    "energy into the pack",
    "kWh",
    "energy_constant_current + energy_constant_voltage",
);
pub(super) static CHARGE_ENERGY_BY_SHARE: Row<Energy> =
    CHARGE_ENERGY.by("pack.energy * (to_share - from_share)");
pub(super) static TIME: Row<Time> =
    Row::formula("time", "time of the whole charge", "h", "time_constant_current + time_constant_voltage")
        .principal();
pub(super) static TIME_BY_POWER: Row<Time> = TIME.by("charge_energy / pack_power");
pub(super) static WALL_ENERGY: Row<Energy> =
    Row::formula("wall_energy", "energy from the wall", "kWh", "charge_energy / charger.efficiency");
pub(super) static RANGE_PER_HOUR: Row<Velocity> = Row::formula(
    "range_per_hour",
    "range that an hour of charging gives",
    "km/h",
    "pack_power / consumption",
)
.when("with `consumption`");

/// A direct current that is stated is held against the charger's rating, at the highest voltage; from the wall the
/// rating sets the current.
pub(super) static CHARGER_POWER: RequirementRow =
    RequirementRow::safety("pack_power_at_full", "pack_power_at_full")
        .at_most("charger.power_limit")
        .source("the charger's rating");
pub(super) static CHARGE_END: RequirementRow = RequirementRow::safety("charge_end_voltage", "end_voltage")
    .at_least("pack.empty_voltage")
    .at_most("pack.full_voltage")
    .source("the pack, empty and full")
    .due(Stage::Build);
pub(super) static CHARGE_END_SWITCHED: RequirementRow =
    RequirementRow::safety("charge_end_at_SWITCH", "end_voltage")
        .at_most("SWITCH.voltage_rating")
        .source("what the fuse or the contactors are rated for")
        .due(Stage::Build)
        .family(&switchgear::SWITCHES)
        .each(switchgear::SAMPLE);
pub(super) static INTO_THE_PACK: RequirementRow = RequirementRow::safety("pack_current", "pack_current")
    .at_most("cell.continuous_charge * pack.parallel")
    .source("the cell's charge rating");
