//! What a traction block gives of a hill, and what a hill requires.

use crate::model::{RequirementRow, Row};
use crate::quantities::si::{Angle, Force, Power, Ratio, Time, Torque, Velocity};

const ON_A_HILL: &str = "with a `hill`";
const ON_ONE_AXLE: &str = "with a `hill`, one driven axle and a `ledger`";
const RATED: &str = "with a `hill`, and a continuous rating of the motor or its `torque_over_time`";
const TIMED: &str = "with a `hill`, a continuous rating and the `peak_time` of the motor";

pub(super) static SLOPE: Row<Angle> =
    Row::formula("hill_slope", "slope of the hill", "deg", "atan(hill.grade)").when(ON_A_HILL);
pub(super) static WEIGHT: Row<Force> =
    Row::formula("hill_weight", "weight on the hill", "N", "road.mass * 9.80665 m/s^2").when(ON_A_HILL);
pub(super) static WEIGHT_LADEN: Row<Force> = WEIGHT.by("ledger.laden_mass * 9.80665 m/s^2");
pub(super) static ROLLING: Row<Force> = Row::formula("hill_rolling", "rolling on the hill", "N", "road.f0")
    .about("as on the level")
    .when(ON_A_HILL);
pub(super) static ROLLING_LADEN: Row<Force> = ROLLING.by("road.f0 * ledger.laden_mass / road.mass");
pub(super) static FRONT_SHARE: Row<Ratio> =
    Row::formula("hill_front_share", "front axle share on the hill", "%", "front_share")
        .about("as on the level and at rest")
        .when(ON_ONE_AXLE);
pub(super) static FRONT_SHARE_LADEN: Row<Ratio> =
    FRONT_SHARE.by("ledger.laden_front_axle / ledger.laden_mass");
pub(super) static AXLE_LOAD: Row<Force> =
    Row::formula("hill_axle_load", "axle load at rest", "N", "hill_front_share * hill_weight")
        .about("as on the level")
        .when(ON_ONE_AXLE);
pub(super) static AXLE_LOAD_REAR: Row<Force> = AXLE_LOAD.by("(1 - hill_front_share) * hill_weight");
pub(super) static DRIVEN_LOAD: Row<Force> =
    Row::formula("hill_driven_load", "load on the driven wheels on the hill", "N", "hill_weight")
        .about("as on the level, while they pull as hard as they hold")
        .when(ON_A_HILL);
pub(super) static DRIVEN_LOAD_FRONT: Row<Force> =
    DRIVEN_LOAD.by("(hill_axle_load + height_share * hill_rolling) / (1 + adhesion * height_share)");
pub(super) static DRIVEN_LOAD_REAR: Row<Force> =
    DRIVEN_LOAD.by("(hill_axle_load - height_share * hill_rolling) / (1 - adhesion * height_share)");
pub(super) static ADHESION_FORCE: Row<Force> = Row::formula(
    "hill_adhesion_force",
    "grip on the hill as on the level",
    "N",
    "adhesion * min(hill_weight, hill_driven_load)",
)
.when(ON_A_HILL);
pub(super) static HELD_FORCE: Row<Force> =
    Row::formula("hill_held_force", "grip on the hill", "N", "hill_adhesion_force * cos(hill_slope)")
        .when(ON_A_HILL);
pub(super) static AIR_SPEED: Row<Velocity> =
    Row::formula("hill_air_speed", "air speed on the hill", "km/h", "hill.speed + road.headwind")
        .when(ON_A_HILL);
pub(super) static DRAG: Row<Force> = Row::formula(
    "hill_drag",
    "drag on the hill",
    "N",
    "road.f1 * hill.speed + road.f2 * hill_air_speed * abs(hill_air_speed)",
)
.about("what grows with speed: f1 and f2 of the road")
.when(ON_A_HILL);
pub(super) static FORCE: Row<Force> = Row::formula(
    "hill_force",
    "force at the wheels on the hill",
    "N",
    "hill_weight * sin(hill_slope) + hill_rolling * cos(hill_slope) + hill_drag",
)
.about("to hold the speed")
.when(ON_A_HILL);
pub(super) static GEAR_RATIO: Row<Ratio> = Row::procedure(
    "hill_ratio",
    "overall ratio on the hill",
    "1",
    "that of the lowest gear that turns fast enough for the hill's speed; of the tallest where none does",
)
.when("with a `hill` and several gears in the chain, of which its `use` names none for the hill");
pub(super) static MOTOR_TORQUE: Row<Torque> = Row::formula(
    "hill_motor_torque",
    "motor torque on the hill",
    "N·m",
    "hill_force * rolling_radius / (RATIO * chain.efficiency)",
)
.each(&[("RATIO", "chain.overall_ratio")])
.told_with("hill_gear")
.when(ON_A_HILL);
pub(super) static HOLDING_TORQUE: Row<Torque> = Row::formula(
    "hill_holding_torque",
    "motor torque that holds it on the hill",
    "N·m",
    "hill_weight * sin(hill_slope) * rolling_radius / RATIO",
)
.each(&[("RATIO", "chain.overall_ratio")])
.about("at standstill without brakes; rolling resistance and losses are left out, for they help to hold")
.told_with("hill_gear")
.when(ON_A_HILL);
pub(super) static LOSS: Row<Power> = Row::formula(
    "hill_loss",
    "heat of motor and inverter on the hill",
    "W",
    "hill_force * hill.speed / chain.efficiency * (1 / motor.efficiency - 1)",
)
.about("with their one efficiency, however hard they work")
.when("with a `hill` and the motor's `efficiency`");
pub(super) static PEAK_TORQUE: Row<Torque> = Row::procedure(
    "hill_peak_torque",
    "peak torque at the hill's speed",
    "N·m",
    "the motor's torque at the hill's speed, within its curve, the battery's limit and its sagged voltage",
)
.when(ON_A_HILL);
pub(super) static WORST_TORQUE: Row<Torque> = Row::procedure(
    "hill_worst_torque",
    "peak torque at the hill's speed with the pack at its worst",
    "N·m",
    "as the peak torque at the hill's speed, with the pack's voltage and resistance at worst",
)
.when("with a `hill`, a `pack` that has a `worst`, and a motor with `curve_voltage`");
pub(super) static SHARE: Row<Ratio> = Row::formula(
    "hill_share",
    "share of the peak torque on the hill",
    "%",
    "hill_motor_torque / hill_peak_torque",
)
.told_with("hill_gear")
.when(ON_A_HILL)
.principal();
pub(super) static CONTINUOUS_TORQUE: Row<Torque> = Row::procedure(
    "hill_continuous_torque",
    "continuous torque at the hill's speed",
    "N·m",
    "the least of the motor's continuous torque, its torque over time and its peak torque at the hill's speed",
)
.when(RATED);
pub(super) static HEAT_SHARE: Row<Ratio> = Row::formula(
    "hill_heat_share",
    "heat over that of the peak torque",
    "1",
    "(hill_motor_torque^2 - hill_continuous_torque^2) / hill_peak_torque^2",
)
.about("beyond the continuous torque: loss grows with the square of torque; below 0 the motor cools")
.when(RATED);
pub(super) static HEATING: Row<Time> =
    Row::formula("hill_heating", "heat of the hill", "s", "hill.time * hill_heat_share")
        .about("beyond the continuous torque, as time at the peak torque; below 0 the motor cools")
        .when("with a `hill.time`, and a continuous rating of the motor or its `torque_over_time`");
pub(super) static HEAT_ROOM: Row<Time> = Row::formula(
    "hill_heat_room",
    "heat that the motor bears",
    "s",
    "motor.peak_time * (1 - hill_continuous_torque^2 / hill_peak_torque^2)",
)
.about("in the same terms: that of its peak torque in its `peak_time`")
.when(TIMED);
pub(super) static TIME: Row<Time> =
    Row::formula("hill_time", "time that the motor bears the hill", "s", "hill_heat_room / hill_heat_share")
        .told_with("hill_gear")
        .about("rough; there is none where it bears it without end, or does not have the torque")
        .when(TIMED)
        .principal();

pub(super) static TORQUE_IS_THERE: RequirementRow =
    RequirementRow::wish("hill_motor_torque", "hill_motor_torque")
        .at_most("hill_peak_torque")
        .source("the motor's torque at the hill's speed")
        .only_with(&["hill.grade"]);
pub(super) static TORQUE_IS_THERE_AT_WORST: RequirementRow =
    RequirementRow::wish("hill_motor_torque", "hill_motor_torque")
        .at_most("hill_worst_torque")
        .source("the motor's torque at the hill's speed with the pack at its worst")
        .only_with(&["hill.grade"]);
pub(super) static TYRES_HOLD: RequirementRow = RequirementRow::wish("hill_force", "hill_force")
    .at_most("hill_held_force")
    .source("what the driven tyres hold on the hill")
    .only_with(&["hill.grade"]);
pub(super) static LASTS: RequirementRow = RequirementRow::wish("hill_time", "hill_heating")
    .at_most("hill_heat_room")
    .label("heat of the hill")
    .source("the motor's peak torque for its peak time")
    .only_with(&["hill.time"]);

/// Of a hill that is started on: what it takes lasts.
pub(super) static STALLS: RequirementRow = RequirementRow::wish("hill_stall_time", "hill.time")
    .label("time at standstill on the hill")
    .at_most("motor.stall_time")
    .source("how long the motor bears its torque at standstill")
    .only_with(&["hill.time", "motor.stall_time"]);
