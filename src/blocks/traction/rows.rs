//! What a traction block gives: start, grades, top speed, sprints and the battery. The hill's rows stand with the hill.

use super::grip::{
    ADHESION_FORCE, DRIVEN_LOAD, DRIVEN_LOAD_FRONT, DRIVEN_LOAD_REAR, FRONT_SHARE, HEIGHT_SHARE,
};
use super::{derating, gear_names, hill_rows, stages};
use crate::model::{Family, RequirementRow, ResultRow, Row};
use crate::quantities::si::{
    Angle, ElectricCurrent, ElectricPotential, Force, Length, Mass, Power, Ratio, Time, Torque, Velocity,
};

pub(super) static SPEEDS: Family = Family { name: "speeds", label: "Speed", case: "SPEED" };
pub(super) static GEARS: Family = Family { name: "gears", label: "Gear", case: "GEAR" };
/// A gear at a speed.
pub(super) static GEAR_SPEEDS: Family = Family { name: "gear_speeds", label: "Gear at speed", case: "GEAR" };
pub(super) static SPRINTS: Family = Family { name: "sprints", label: "Sprint", case: "SPRINT" };

const GEARED: &str = "with several gears in the chain";
const CONTINUOUS: &str = "with a continuous rating of the motor, or its `torque_over_time`";

pub(super) static WEIGHT: Row<Force> =
    Row::formula("weight", "weight", "N", "road.mass * 9.80665 m/s^2").about("of the road's mass");

pub(super) static ROLLING_RADIUS: Row<Length> = Row::formula(
    "rolling_radius",
    "rolling radius of the wheels",
    "m",
    "chain.rolling_circumference / (2 * pi)",
);
pub(super) static LAUNCH_TORQUE: Row<Torque> =
    Row::formula("launch_torque", "launch torque", "N·m", "motor.peak_torque")
        .about("of the motor at standstill");
pub(super) static LAUNCH_TORQUE_OF_CURVE: Row<Torque> = LAUNCH_TORQUE.by("motor.torque_curve(0 rpm)");
pub(super) static LAUNCH_TORQUE_LEAST: Row<Torque> =
    LAUNCH_TORQUE.by("min(EACH)").each(&[("EACH", "motor.torque_curve(0 rpm), motor.stall_torque")]);
pub(super) static ROTOR_MASS: Row<Mass> = Row::formula(
    "rotor_mass",
    "mass that the rotor is like",
    "kg",
    "motor.rotor_inertia * (RATIO / rolling_radius)^2",
)
.each(&[("RATIO", "chain.overall_ratio")])
.about("on the road, beside the road's `rotating_share`")
.when("with `rotor_inertia` of the motor");
pub(super) static ROTOR_MASS_IN: Row<Mass> = Row::formula(
    "rotor_mass_GEAR",
    "mass that the rotor is like",
    "kg",
    "motor.rotor_inertia * (RATIO / rolling_radius)^2",
)
.each(&[("RATIO", "chain.overall_ratio")])
.about("on the road, beside the road's `rotating_share`")
.when("with `rotor_inertia` of the motor and several gears")
.family(&GEARS);
pub(super) static MOTOR_LAUNCH_FORCE: Row<Force> = Row::formula(
    "motor_launch_force",
    "launch force of the motor",
    "N",
    "launch_torque * RATIO * chain.efficiency / rolling_radius",
)
.each(&[("RATIO", "chain.overall_ratio")])
.about("the launch torque at the wheels");
pub(super) static LAUNCH_FORCE: Row<Force> = Row::formula(
    "launch_force",
    "launch force",
    "N",
    "min(motor_launch_force, adhesion_force * cos(road.slope))",
)
.told_with("launch_gear")
.about("at the wheels at standstill: the smaller of motor and adhesion");
pub(super) static LAUNCH_LIMIT: Row<String> =
    Row::words("launch_limit", "limit of the launch").about("the motor or the tyres");

pub(super) static ROLLING_SLOPE: Row<Angle> =
    Row::formula("rolling_slope", "slope of the rolling resistance", "deg", "atan(road.f0 / weight)");
pub(super) static GROUND_FORCE: Row<Force> =
    Row::formula("ground_force", "weight and rolling at right angles", "N", "sqrt(weight^2 + road.f0^2)");
pub(super) static TYRE_SURPLUS: Row<Force> =
    Row::formula("tyre_surplus", "grip beyond rolling", "N", "adhesion_force - road.f0");
pub(super) static TYRE_REACH: Row<Force> = Row::formula(
    "tyre_reach",
    "weight and that grip at right angles",
    "N",
    "sqrt(weight^2 + tyre_surplus^2)",
);
pub(super) static DRAG_AT_REST: Row<Force> =
    Row::formula("drag_at_rest", "drag at rest", "N", "road.f2 * road.headwind * abs(road.headwind)")
        .about("of the headwind alone");
pub(super) static TYRE_SLOPE: Row<Angle> = Row::formula(
    "tyre_slope",
    "steepest slope by grip",
    "deg",
    "atan(tyre_surplus / weight) - asin(drag_at_rest / tyre_reach)",
);
pub(super) static START_HELD: Row<Force> =
    Row::formula("start_held_force", "grip on that slope", "N", "adhesion_force * cos(tyre_slope)");
pub(super) static START_FORCE: Row<Force> = Row::formula(
    "start_force",
    "force on the steepest grade",
    "N",
    "min(motor_launch_force, start_held_force)",
);
pub(super) static START_ANGLE: Row<Angle> = Row::formula(
    "start_angle",
    "angle of force and weight",
    "deg",
    "asin((start_force - drag_at_rest) / ground_force)",
);
pub(super) static START_GRADE: Row<Ratio> =
    Row::formula("start_grade", "steepest grade that it starts on", "%", "tan(start_angle - rolling_slope)")
        .told_with("launch_gear")
        .principal();

pub(super) static AIR_SPEED: Row<Velocity> =
    Row::formula("air_speed_at_SPEED", "air speed", "km/h", "grade_speeds.SPEED + road.headwind")
        .family(&SPEEDS);
pub(super) static DRAG: Row<Force> = Row::formula(
    "drag_at_SPEED",
    "drag",
    "N",
    "road.f1 * grade_speeds.SPEED + road.f2 * air_speed_at_SPEED * abs(air_speed_at_SPEED)",
)
.about("what grows with speed: f1 and f2 of the road")
.family(&SPEEDS);
pub(super) static DRIVE_FORCE: Row<Force> = Row::procedure(
    "drive_force_at_SPEED",
    "force of the motor",
    "N",
    "the motor's torque at that road speed through the chain, within its curve, the battery's limit and its sagged voltage",
)
.about("at the wheels, without the limit of adhesion")
.family(&SPEEDS);
pub(super) static TYRE_SLOPE_AT: Row<Angle> = Row::formula(
    "tyre_slope_at_SPEED",
    "steepest slope by grip",
    "deg",
    "atan(tyre_surplus / weight) - asin(drag_at_SPEED / tyre_reach)",
)
.family(&SPEEDS);
pub(super) static CLIMBING_FORCE: Row<Force> = Row::formula(
    "climbing_force_at_SPEED",
    "force on the steepest grade",
    "N",
    "min(drive_force_at_SPEED, held_force_at_SPEED)",
)
.family(&SPEEDS);
pub(super) static HELD_AT: Row<Force> = Row::formula(
    "held_force_at_SPEED",
    "grip on that slope",
    "N",
    "adhesion_force * cos(tyre_slope_at_SPEED)",
)
.family(&SPEEDS);
pub(super) static ANGLE: Row<Angle> = Row::formula(
    "angle_at_SPEED",
    "angle of force and weight",
    "deg",
    "asin((climbing_force_at_SPEED - drag_at_SPEED) / ground_force)",
)
.family(&SPEEDS);
pub(super) static GRADE: Row<Ratio> =
    Row::formula("grade_at_SPEED", "steepest grade", "%", "tan(angle_at_SPEED - rolling_slope)")
        .about("on which it holds the speed; below 0 only downhill")
        .told_with("gear_at_SPEED")
        .family(&SPEEDS)
        .principal();
pub(super) static BEST_GEAR: Row<String> =
    Row::words("gear_at_SPEED", "gear").about("that pulls most").when(GEARED).family(&SPEEDS);
pub(super) static GEAR_FORCE: Row<Force> = Row::procedure(
    "gear_force_GEAR",
    "force of the motor",
    "N",
    "as the force of the motor at that road speed, in that gear",
)
.about("at the wheels, without the limit of adhesion")
.when(GEARED)
.family(&GEAR_SPEEDS);
pub(super) static GEAR_CLIMBING_FORCE: Row<Force> = Row::formula(
    "gear_climbing_force_GEAR",
    "force on the steepest grade",
    "N",
    "min(gear_force_GEAR, HELD)",
)
.each(&[("HELD", "start_held_force")])
.when(GEARED)
.family(&GEAR_SPEEDS);
pub(super) static GEAR_ANGLE: Row<Angle> = Row::formula(
    "gear_angle_GEAR",
    "angle of force and weight",
    "deg",
    "asin((gear_climbing_force_GEAR - DRAG) / ground_force)",
)
.each(&[("DRAG", "drag_at_rest")])
.when(GEARED)
.family(&GEAR_SPEEDS);
pub(super) static GEAR_GRADE: Row<Ratio> =
    Row::formula("gear_grade_GEAR", "steepest grade", "%", "tan(gear_angle_GEAR - rolling_slope)")
        .about("on which it holds the speed; below 0 only downhill")
        .when(GEARED)
        .family(&GEAR_SPEEDS)
        .principal();
pub(super) static CONTINUOUS_FORCE: Row<Force> = Row::procedure(
    "continuous_force_at_SPEED",
    "continuous force of the motor",
    "N",
    "the least of the motor's continuous torque, its torque over time and its peak torque at that road speed, within the pack's continuous power, through the chain",
)
.about("at the wheels, without the limit of adhesion")
.when(CONTINUOUS)
.family(&SPEEDS);
pub(super) static CONTINUOUS_CLIMBING_FORCE: Row<Force> = Row::formula(
    "continuous_climbing_force_at_SPEED",
    "continuous force on the steepest grade",
    "N",
    "min(continuous_force_at_SPEED, held_force_at_SPEED)",
)
.when(CONTINUOUS)
.family(&SPEEDS);
pub(super) static CONTINUOUS_ANGLE: Row<Angle> = Row::formula(
    "continuous_angle_at_SPEED",
    "continuous angle of force and weight",
    "deg",
    "asin((continuous_climbing_force_at_SPEED - drag_at_SPEED) / ground_force)",
)
.when(CONTINUOUS)
.family(&SPEEDS);
pub(super) static CONTINUOUS_GRADE: Row<Ratio> = Row::formula(
    "continuous_grade_at_SPEED",
    "steepest continuous grade",
    "%",
    "tan(continuous_angle_at_SPEED - rolling_slope)",
)
.when(CONTINUOUS)
.family(&SPEEDS);

pub(super) static PEAK_PACK_POWER: Row<Power> = Row::procedure(
    "peak_pack_power",
    "peak power of the battery",
    "kW",
    "the greatest motor output over its efficiency, at any speed up to the last one",
)
.about("the most that the drive draws at any motor speed")
.principal();
pub(super) static VOLTAGE_AT_PEAK: Row<ElectricPotential> = Row::formula(
    "pack_voltage_at_peak",
    "voltage of the battery at that power",
    "V",
    "(pack.nominal_voltage + sqrt(pack.nominal_voltage^2 - 4 * pack.resistance * peak_pack_power)) / 2",
)
.about("at its terminals, from its nominal voltage")
.when("with a `pack`")
.principal();

const AT_WORST: &str = "with a `pack` that has a `worst`, and a motor with `curve_voltage`";
pub(super) static WORST_PEAK_PACK_POWER: Row<Power> = Row::procedure(
    "worst_peak_pack_power",
    "peak power of the battery at its worst",
    "kW",
    "as the peak power of the battery, with the pack's voltage and resistance at worst",
)
.when(AT_WORST);
pub(super) static WORST_VOLTAGE_AT_PEAK: Row<ElectricPotential> = Row::formula(
    "worst_pack_voltage_at_peak",
    "its voltage at that power",
    "V",
    "(pack.worst_voltage + sqrt(pack.worst_voltage^2 - 4 * pack.worst_resistance * worst_peak_pack_power)) / 2",
)
.about("at its terminals, low and cold")
.when(AT_WORST);
pub(super) static WORST_TOP_SPEED: Row<Velocity> = Row::procedure(
    "worst_top_speed",
    "top speed with the pack at its worst",
    "km/h",
    "as the top speed, with the pack's voltage and resistance at worst",
)
.when(AT_WORST);
pub(super) static CONTINUOUS_CURRENT: Row<ElectricCurrent> = Row::formula(
    "continuous_pack_current",
    "continuous current of the battery",
    "A",
    "cell.continuous_discharge * pack.parallel",
)
.about("that its cells are rated for")
.when("with a `pack`");
pub(super) static CONTINUOUS_PACK_POWER: Row<Power> = Row::formula(
    "continuous_pack_power",
    "continuous power of the battery",
    "kW",
    "(pack.nominal_voltage - pack.resistance * continuous_pack_current) * continuous_pack_current",
)
.about("at its terminals, at that current and its nominal voltage")
.when("with a `pack`");

pub(super) static TOP_SPEED: Row<Velocity> = Row::procedure(
    "top_speed",
    "top speed",
    "km/h",
    "the first speed at which the force at the wheels, within motor, battery and adhesion, is no more than the road load, found by halving in each piece of the drive; else the last speed of the drive; from gear to gear, each up to the speed at which a taller one pulls more, or to its last",
)
.about("reached from rest on the road's grade against its headwind; not only what the gearing allows")
.told_with("top_speed_gear")
.principal();
pub(super) static TOP_SPEED_LIMIT: Row<String> =
    Row::words("top_speed_limit", "limit of the top speed").about("what ends it").principal();
pub(super) static TOP_SPEED_GEAR: Row<String> =
    Row::words("top_speed_gear", "gear at the top speed").when(GEARED);
pub(super) static CONTINUOUS_TOP_SPEED: Row<Velocity> = Row::procedure(
    "continuous_top_speed",
    "continuous top speed",
    "km/h",
    "as the top speed, with the least of continuous torque, torque over time and peak torque, within the pack's continuous power",
)
.when(CONTINUOUS);
pub(super) static SPRINT: Row<Time> = Row::procedure(
    "sprint_SPRINT",
    "time",
    "s",
    "the integral of effective mass / (drive force − road load) over speed, parted at every corner of the drive, by a Gauss-Legendre rule on a fixed mesh; in each gear up to the speed at which a taller one pulls more, or to its last, and with the roll of each change by the Runge-Kutta rule; where the motor's torque over time falls under that of the drive, by that rule over speed too, each step cut where it begins to hold",
)
.about("at full drive")
.told_with("gears_SPRINT")
.family(&SPRINTS)
.principal();
pub(super) static SPRINT_GEARS: Row<String> = Row::words("gears_SPRINT", "gears")
    .about("with the speeds at which they are changed")
    .when(GEARED)
    .family(&SPRINTS);
pub(super) static SPRINT_DISTANCE: Row<Length> = Row::procedure(
    "sprint_distance_SPRINT",
    "distance",
    "m",
    "the integral of speed over the time of the sprint",
)
.family(&SPRINTS);

pub(super) static BATTERY: RequirementRow = RequirementRow::safety("peak_pack_power", "peak_pack_power")
    .at_most("pack.rated_power")
    .source("the pack at its cells' peak rating")
    .only_with(&["pack.rated_power"]);

pub(super) static VOLTAGE: RequirementRow =
    RequirementRow::safety("pack_voltage_at_peak", "pack_voltage_at_peak")
        .at_least("motor.voltage_low")
        .source("the lowest voltage at which the motor works")
        .only_with(&["motor.voltage_low", "pack.nominal_voltage"]);
pub(super) static TYRES: RequirementRow = RequirementRow::safety("tyre_speed", "top_speed")
    .label("top speed on these tyres")
    .at_most("chain.tyre_speed_rating")
    .source("the tyres' speed rating")
    .only_with(&["chain.tyre_speed_rating"]);
pub(super) static WORST_VOLTAGE: RequirementRow =
    RequirementRow::safety("worst_pack_voltage_at_peak", "worst_pack_voltage_at_peak")
        .label("voltage of the battery at peak power at its worst")
        .at_least("motor.voltage_low")
        .source("the lowest voltage at which the motor works")
        .only_with(&["motor.voltage_low", "pack.worst_voltage"]);

#[rustfmt::skip] // In reading order, as short as can be.
pub(super) static ROWS: &[&ResultRow] = &[
    &WEIGHT.row, &FRONT_SHARE.row, &HEIGHT_SHARE.row,
    &DRIVEN_LOAD.row, &DRIVEN_LOAD_FRONT.row, &DRIVEN_LOAD_REAR.row, &ADHESION_FORCE.row,
    &ROLLING_RADIUS.row, &LAUNCH_TORQUE.row, &LAUNCH_TORQUE_OF_CURVE.row, &LAUNCH_TORQUE_LEAST.row,
    &gear_names::LAUNCH_GEAR.row, &gear_names::LAUNCH_RATIO.row, &MOTOR_LAUNCH_FORCE.row, &LAUNCH_FORCE.row, &LAUNCH_LIMIT.row,
    &ROTOR_MASS.row, &ROTOR_MASS_IN.row,
    &ROLLING_SLOPE.row, &GROUND_FORCE.row, &TYRE_SURPLUS.row, &TYRE_REACH.row,
    &DRAG_AT_REST.row, &TYRE_SLOPE.row, &START_HELD.row, &START_FORCE.row, &START_ANGLE.row, &START_GRADE.row,
    &AIR_SPEED.row, &DRAG.row, &DRIVE_FORCE.row, &TYRE_SLOPE_AT.row, &HELD_AT.row, &CLIMBING_FORCE.row, &ANGLE.row, &GRADE.row,
    &BEST_GEAR.row, &GEAR_FORCE.row, &GEAR_CLIMBING_FORCE.row, &GEAR_ANGLE.row, &GEAR_GRADE.row,
    &CONTINUOUS_FORCE.row, &CONTINUOUS_CLIMBING_FORCE.row, &CONTINUOUS_ANGLE.row, &CONTINUOUS_GRADE.row,
    &PEAK_PACK_POWER.row, &VOLTAGE_AT_PEAK.row,
    &WORST_PEAK_PACK_POWER.row, &WORST_VOLTAGE_AT_PEAK.row,
    &CONTINUOUS_CURRENT.row, &CONTINUOUS_PACK_POWER.row,
    &TOP_SPEED.row, &TOP_SPEED_LIMIT.row, &TOP_SPEED_GEAR.row, &WORST_TOP_SPEED.row, &CONTINUOUS_TOP_SPEED.row, &SPRINT.row, &SPRINT_DISTANCE.row, &SPRINT_GEARS.row,
    &hill_rows::SLOPE.row, &hill_rows::WEIGHT.row, &hill_rows::WEIGHT_LADEN.row, &hill_rows::ROLLING.row, &hill_rows::ROLLING_LADEN.row,
    &hill_rows::FRONT_SHARE.row, &hill_rows::FRONT_SHARE_LADEN.row,
    &hill_rows::AXLE_LOAD.row, &hill_rows::AXLE_LOAD_REAR.row, &hill_rows::DRIVEN_LOAD.row, &hill_rows::DRIVEN_LOAD_FRONT.row, &hill_rows::DRIVEN_LOAD_REAR.row,
    &hill_rows::ADHESION_FORCE.row, &hill_rows::HELD_FORCE.row, &hill_rows::AIR_SPEED.row, &hill_rows::DRAG.row, &hill_rows::FORCE.row,
    &gear_names::HILL_GEAR.row, &hill_rows::GEAR_RATIO.row, &hill_rows::MOTOR_TORQUE.row, &hill_rows::HOLDING_TORQUE.row, &hill_rows::LOSS.row, &hill_rows::PEAK_TORQUE.row, &hill_rows::WORST_TORQUE.row, &hill_rows::SHARE.row,
    &stages::LAUNCH_RATIO.row, &stages::LAUNCH_TORQUE.row, &stages::LAUNCH_TORQUE_LAST.row, &stages::LAUNCH_POWER.row, &stages::LAUNCH_POWER_LAST.row, &stages::HILL_TORQUE.row, &stages::HILL_POWER.row,
    &hill_rows::CONTINUOUS_TORQUE.row, &hill_rows::HEAT_SHARE.row, &hill_rows::HEATING.row, &hill_rows::HEAT_ROOM.row, &hill_rows::TIME.row, &derating::TIME.row, &derating::SUSTAINED.row,
];
pub(super) static REQUIRES: &[&RequirementRow] = &[
    &BATTERY,
    &VOLTAGE,
    &WORST_VOLTAGE,
    &TYRES,
    &hill_rows::TORQUE_IS_THERE,
    &hill_rows::TORQUE_IS_THERE_AT_WORST,
    &hill_rows::TYRES_HOLD,
    &hill_rows::LASTS,
    &derating::SUSTAINS,
    &hill_rows::STALLS,
    &stages::LAUNCH_LIMIT,
    &stages::HILL_LIMIT,
];
