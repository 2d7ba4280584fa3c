//! The results of a climb.

use crate::model::Row;
use crate::quantities::si::{Angle, Energy, Force, Length, Power};

const WHEN: &str = "with `climb`";
const IN_WINTER: &str = "with `climb`, and `cold` or `heater_power`";

pub(super) static SLOPE: Row<Angle> =
    Row::formula("climb_slope", "angle of the climb", "deg", "atan(climb.grade)").when(WHEN);
pub(super) static LENGTH: Row<Length> =
    Row::formula("climb_length", "length of the climb", "km", "climb.height / sin(climb_slope)").when(WHEN);
pub(super) static SLOPE_FORCE: Row<Force> = Row::formula(
    "climb_slope_force",
    "part of the weight along the slope",
    "N",
    "road.mass * 9.80665 m/s^2 * sin(climb_slope)",
)
.when(WHEN);
pub(super) static LEVEL: Row<Force> = Row::formula(
    "climb_level_force",
    "rolling and drag uphill",
    "N",
    "road.f0 * cos(climb_slope) + road.f1 * climb.speed + road.f2 * climb.speed^2",
)
.when(WHEN);
pub(super) static UPHILL: Row<Force> =
    Row::formula("climb_force", "force at the wheels uphill", "N", "climb_level_force + climb_slope_force")
        .when(WHEN);
pub(super) static DOWNHILL: Row<Force> = Row::formula(
    "descent_force",
    "force at the wheels downhill",
    "N",
    "climb_level_force - climb_slope_force",
)
.about("below 0 it pushes")
.when(WHEN);
pub(super) static POWER: Row<Power> = Row::formula(
    "climb_power",
    "battery's power uphill",
    "kW",
    "climb_force * climb.speed / drive_efficiency + auxiliary_power",
)
.when(WHEN);
pub(super) static POWER_BY_MAP: Row<Power> = Row::procedure(
    "climb_power",
    "battery's power uphill",
    "kW",
    "force × speed / efficiency from the map, with the auxiliaries",
)
.when("with `climb` and `efficiency_map`");
pub(super) static ENERGY: Row<Energy> = Row::procedure(
    "climb_energy",
    "energy for the climb",
    "kWh",
    "power at the terminals and the pack's own loss × the time uphill × the model factor",
)
.about("from the cells")
.when(WHEN)
.principal();
pub(super) static RECOVERED: Row<Energy> = Row::procedure(
    "descent_recovered",
    "energy recovered on the way down",
    "kWh",
    "what is recovered, within its limits of power and speed, × the time downhill",
)
.about("at the battery's terminals, before auxiliaries")
.when("with `climb` and `regeneration`")
.principal();
pub(super) static RECOVERED_ON_FULL_PACK: Row<Energy> = Row::procedure(
    "descent_recovered_full",
    "energy recovered on the way down, the pack full",
    "kWh",
    "the same with what a full pack takes",
)
.when("with `climb`, `regeneration` and `full`");

pub(super) static LEVEL_IN_WINTER: Row<Force> = Row::formula(
    "climb_level_force_winter",
    "rolling and drag uphill in winter",
    "N",
    "climb_level_force * (1 + cold.load_increase)",
)
.when(IN_WINTER);
pub(super) static LEVEL_IN_MILD_WINTER: Row<Force> = LEVEL_IN_WINTER.by("climb_level_force");
pub(super) static UPHILL_IN_WINTER: Row<Force> = Row::formula(
    "climb_force_winter",
    "force at the wheels uphill in winter",
    "N",
    "climb_level_force_winter + climb_slope_force",
)
.when(IN_WINTER);
pub(super) static DOWNHILL_IN_WINTER: Row<Force> = Row::formula(
    "descent_force_winter",
    "force at the wheels downhill in winter",
    "N",
    "climb_level_force_winter - climb_slope_force",
)
.when(IN_WINTER);
pub(super) static POWER_IN_WINTER: Row<Power> = Row::formula(
    "climb_power_winter",
    "battery's power uphill in winter",
    "kW",
    "climb_force_winter * climb.speed / drive_efficiency + auxiliary_power_winter",
)
.when(IN_WINTER);
pub(super) static POWER_IN_WINTER_BY_MAP: Row<Power> = Row::procedure(
    "climb_power_winter",
    "battery's power uphill in winter",
    "kW",
    "force × speed / efficiency from the map, with the auxiliaries and the heater",
)
.when("with `climb` and `efficiency_map`, and `cold` or `heater_power`");
pub(super) static ENERGY_IN_WINTER: Row<Energy> = Row::procedure(
    "climb_energy_winter",
    "energy for the climb in winter",
    "kWh",
    "power at the terminals and the pack's own loss × the time uphill × the model factor",
)
.about("from the cells")
.when(IN_WINTER)
.principal();
pub(super) static RECOVERED_IN_WINTER: Row<Energy> = Row::procedure(
    "descent_recovered_winter",
    "energy recovered on the way down in winter",
    "kWh",
    "the same with what a cold pack takes",
)
.when("with `climb` and `regeneration`, and `cold` or `heater_power`");
