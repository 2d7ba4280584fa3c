//! The results and requirements of a ratio chain.

use crate::model::{Family, RequirementRow, ResultRow, Row, Stage};
use crate::quantities::si::{AngularVelocity, Length, Mass, Power, Ratio, Torque, Velocity};

pub(super) static ROWS: &[&ResultRow] = &[
    &MOTOR_SPEED.row,
    &GEARED_TOP_SPEED.row,
    &HIGHEST_SPEED.row,
    &SPEED_MARGIN.row,
    &OVERALL_RATIO.row,
    &EFFICIENCY.row,
    &TYRE_DIAMETER.row,
    &DIAMETER_BY_SIZE.row,
    &ROLLING_CIRCUMFERENCE.row,
    &BY_TURNS.row,
    &WHEEL_SPEED.row,
    &SPEED_INTO.row,
    &GREATEST_TORQUE.row,
    &TORQUE_OF_CURVE.row,
    &LARGEST_RATIO.row,
    &TORQUE_INTO.row,
    &TORQUE_INTO_LAST.row,
    &BRAKING_TORQUE.row,
    &BRAKING_AS_DRIVING.row,
    &BRAKING_INTO.row,
    &BRAKING_INTO_LAST.row,
    &BRAKING_POWER.row,
    &BRAKING_AT_PEAK.row,
    &BRAKING_ON_CURVE.row,
    &BRAKING_POWER_INTO.row,
    &BRAKING_POWER_INTO_LAST.row,
    &FRONT_TYRE_LOAD.row,
    &REAR_TYRE_LOAD.row,
    &TWIN_TYRE_LOAD.row,
    &GEAR_IN_USE.row,
    &RATIO_IN_USE.row,
    &OVERALL_RATIO_IN.row,
    &MOTOR_SPEED_IN.row,
    &GEARED_TOP_SPEED_IN.row,
    &HIGHEST_SPEED_IN.row,
];

pub(super) static REQUIRES: &[&RequirementRow] = &[
    &MOTOR_LIMIT,
    &STAGE_LIMIT,
    &TORQUE_LIMIT,
    &BRAKING_LIMIT,
    &TYRE_SPEED_LIMIT,
    &FRONT_TYRE_LIMIT,
    &REAR_TYRE_LIMIT,
    &TWIN_TYRE_LIMIT,
];

pub(super) static STAGES: Family = Family { name: "stages", label: "Stage", case: "STAGE" };
pub(super) static GEARS: Family = Family { name: "gears", label: "Gear", case: "GEAR" };

const SEVERAL: &str = "with several `ratios` in a stage";

pub(super) static TYRE_DIAMETER: Row<Length> = Row::formula("tyre_diameter", "tyre diameter", "mm", "TYRE")
    .each(&[("TYRE", "tyre")])
    .about("overall, unloaded");
pub(super) static DIAMETER_BY_SIZE: Row<Length> = TYRE_DIAMETER
    .by("RIM + 2 * ASPECT * WIDTH")
    .each(&[("RIM", "tyre"), ("ASPECT", "rolling_factor"), ("WIDTH", "tyre")])
    .when("with a size code of section width and aspect");
pub(super) static ROLLING_CIRCUMFERENCE: Row<Length> = Row::formula(
    "rolling_circumference",
    "rolling circumference",
    "m",
    "pi * rolling_factor * tyre_diameter",
)
.about("the way of one turn of the wheel");
pub(super) static BY_TURNS: Row<Length> =
    ROLLING_CIRCUMFERENCE.by("rolled.distance / rolled.turns").when("with `rolled`");
pub(super) static WHEEL_SPEED: Row<AngularVelocity> =
    Row::formula("wheel_speed", "wheel speed", "rpm", "wanted_speed / (rolling_circumference / 1 rev)")
        .about("at the wanted speed");
pub(super) static SPEED_INTO: Row<AngularVelocity> =
    Row::formula("speed_into_STAGE", "speed into the stage", "rpm", "BEFORE * RATIO")
        .each(&[("BEFORE", "wheel_speed"), ("RATIO", "stages.STAGE.ratio")])
        .about("on the motor's side of it")
        .told_with("gear")
        .family(&STAGES);
pub(super) static GREATEST_TORQUE: Row<Torque> =
    Row::formula("greatest_torque", "greatest torque of the motor", "N m", "motor_torque")
        .when("with `motor_torque`, or a motor with `peak_torque`");
pub(super) static TORQUE_OF_CURVE: Row<Torque> = Row::procedure(
    "greatest_torque",
    "greatest torque of the motor",
    "N m",
    "the greatest value of the motor's torque curve, and its `peak_torque` where that is more",
)
.when("with a motor with `torque_curve`");
pub(super) static LARGEST_RATIO: Row<Ratio> =
    Row::procedure("largest_ratio_STAGE", "largest ratio", "1", "the largest of the stage's `ratios`")
        .about("of the lowest gear")
        .when("with several `ratios` in a stage that is not the motor's neighbour, and a torque of the motor")
        .family(&STAGES);
pub(super) static TORQUE_INTO: Row<Torque> =
    Row::formula("torque_into_STAGE", "torque into the stage", "N m", "AFTER * RATIO")
        .each(&[("AFTER", "greatest_torque"), ("RATIO", "stages.STAGE.ratio")])
        .about(
            "on the motor's side of it, at the motor's greatest torque in the lowest gear, losses left out: no launch and no hill asks more",
        )
        .when("with a torque of the motor")
        .family(&STAGES);
pub(super) static TORQUE_INTO_LAST: Row<Torque> = TORQUE_INTO.by("greatest_torque");
pub(super) static BRAKING_TORQUE: Row<Torque> =
    Row::formula("braking_torque", "torque of the motor while it brakes", "N m", "motor.regeneration_torque")
        .when("with a motor with `regeneration_torque`");
pub(super) static BRAKING_AS_DRIVING: Row<Torque> = BRAKING_TORQUE
    .by("greatest_torque")
    .about("taken as that with which it drives")
    .when("with another torque of the motor");
pub(super) static BRAKING_INTO: Row<Torque> =
    Row::formula("braking_torque_into_STAGE", "braking torque into the stage", "N m", "AFTER * RATIO / EFFICIENCY")
        .each(&[
            ("AFTER", "braking_torque"),
            ("RATIO", "stages.STAGE.ratio"),
            ("EFFICIENCY", "stages.STAGE.efficiency"),
        ])
        .about("on the motor's side of it, in the lowest gear: the wheels turn the motor, so the losses of the stage behind it come on top")
        .when("with a torque of the motor")
        .family(&STAGES);
pub(super) static BRAKING_INTO_LAST: Row<Torque> = BRAKING_INTO.by("braking_torque");
pub(super) static BRAKING_POWER: Row<Power> =
    Row::formula("braking_power", "power of the motor while it brakes", "kW", "motor.regeneration_power")
        .when("with a motor with `regeneration_power`");
pub(super) static BRAKING_AT_PEAK: Row<Power> = BRAKING_POWER
    .by("motor.peak_power")
    .about("taken as that with which it drives")
    .when("with a motor with `peak_power`");
pub(super) static BRAKING_ON_CURVE: Row<Power> = Row::procedure(
    "braking_power",
    "power of the motor while it brakes",
    "kW",
    "the most of torque × speed on the motor's torque curve",
)
.about("taken as that with which it drives")
.when("with a motor with `torque_curve` and no power");
pub(super) static BRAKING_POWER_INTO: Row<Power> = Row::formula(
    "braking_power_into_STAGE",
    "power into the stage while braking",
    "kW",
    "AFTER / EFFICIENCY",
)
.each(&[("AFTER", "braking_power"), ("EFFICIENCY", "stages.STAGE.efficiency")])
.about("on the motor's side of it: the losses of the stage behind it come on top")
.when("with a power of the motor")
.family(&STAGES);
pub(super) static BRAKING_POWER_INTO_LAST: Row<Power> = BRAKING_POWER_INTO.by("braking_power");
pub(super) static OVERALL_RATIO: Row<Ratio> = Row::formula("overall_ratio", "overall ratio", "1", "RATIOS")
    .each(&[("RATIOS", "stages.STAGE.ratio * stages.STAGE.ratio")])
    .about("motor turns for one of the wheel, in the gear in use")
    .told_with("gear")
    .principal();
pub(super) static EFFICIENCY: Row<Ratio> = Row::formula("efficiency", "efficiency", "%", "EFFICIENCIES")
    .each(&[("EFFICIENCIES", "stages.STAGE.efficiency * stages.STAGE.efficiency")])
    .about("of all stages together");
pub(super) static MOTOR_SPEED: Row<AngularVelocity> =
    Row::formula("motor_speed", "motor speed", "rpm", "wheel_speed * overall_ratio")
        .about("at the wanted speed")
        .told_with("gear")
        .principal();
pub(super) static GEARED_TOP_SPEED: Row<Velocity> = Row::formula(
    "geared_top_speed",
    "speed at the motor's limit",
    "km/h",
    "motor_max_speed / overall_ratio * (rolling_circumference / 1 rev)",
)
.told_with("gear")
.principal();
pub(super) static HIGHEST_SPEED: Row<Velocity> = Row::procedure(
    "highest_speed",
    "speed at the first limit",
    "km/h",
    "the least of the motor's and the stages' speed limits, each through the ratios between it and the wheel",
)
.about("at which the motor or a stage turns as fast as it may")
.told_with("gear");
pub(super) static SPEED_MARGIN: Row<Ratio> =
    Row::formula("speed_margin", "margin to the motor's limit", "%", "motor_max_speed / motor_speed - 1")
        .about("motor limit / motor speed − 1")
        .told_with("gear");
pub(super) static GEAR_IN_USE: Row<String> = Row::words("gear", "gear in use")
    .about("at the wanted speed: that of `use`, or the one that is found")
    .when(SEVERAL)
    .principal();
pub(super) static RATIO_IN_USE: Row<Ratio> = Row::procedure(
    "ratio_in_use_STAGE",
    "ratio in use",
    "1",
    "that of the gear in use: with a traction block the one of most force at the wanted speed within every speed limit, as its motor and its pack's sagged voltage have it, or of least excess where none is within them; else the first one named within them, else the first",
)
.when("with several `ratios` in the stage, where `use` names none")
.family(&STAGES);
pub(super) static OVERALL_RATIO_IN: Row<Ratio> =
    Row::formula("overall_ratio_GEAR", "overall ratio", "1", "RATIOS")
        .each(&[("RATIOS", "stages.STAGE.ratio * stages.STAGE.ratio")])
        .when("with `ratios` in a stage")
        .family(&GEARS)
        .principal();
pub(super) static MOTOR_SPEED_IN: Row<AngularVelocity> =
    Row::formula("motor_speed_GEAR", "motor speed", "rpm", "wheel_speed * overall_ratio_GEAR")
        .about("at the wanted speed")
        .when("with `ratios` in a stage")
        .family(&GEARS)
        .principal();
pub(super) static GEARED_TOP_SPEED_IN: Row<Velocity> = Row::formula(
    "geared_top_speed_GEAR",
    "speed at the motor's limit",
    "km/h",
    "motor_max_speed / overall_ratio_GEAR * (rolling_circumference / 1 rev)",
)
.when("with `ratios` in a stage")
.family(&GEARS)
.principal();
pub(super) static HIGHEST_SPEED_IN: Row<Velocity> = Row::procedure(
    "highest_speed_GEAR",
    "speed at the first limit",
    "km/h",
    "as the speed at the first limit, in that gear",
)
.when("with `ratios` in a stage")
.family(&GEARS);

pub(super) static MOTOR_LIMIT: RequirementRow = RequirementRow::safety("motor_speed", "motor_speed")
    .at_most("motor_max_speed")
    .source("the motor's speed limit");
pub(super) static STAGE_LIMIT: RequirementRow =
    RequirementRow::safety("speed_into_STAGE", "speed_into_STAGE")
        .at_most("stages.STAGE.speed_limit")
        .source("the stage's speed limit")
        .family(&STAGES)
        .only_with(&["stages.STAGE.speed_limit"]);
pub(super) static TORQUE_LIMIT: RequirementRow =
    RequirementRow::safety("torque_into_STAGE", "torque_into_STAGE")
        .at_most("stages.STAGE.torque_limit")
        .source("the stage's torque limit")
        .family(&STAGES)
        .only_with(&["stages.STAGE.torque_limit"]);
pub(super) static BRAKING_LIMIT: RequirementRow =
    RequirementRow::safety("braking_torque_into_STAGE", "braking_torque_into_STAGE")
        .label("torque into the stage while braking")
        .at_most("stages.STAGE.torque_limit")
        .source("the stage's torque limit")
        .family(&STAGES)
        .only_with(&["stages.STAGE.torque_limit"]);

pub(super) static FRONT_TYRE_LOAD: Row<Mass> =
    Row::formula("front_tyre_load", "load on a front tyre", "kg", "AXLE / 2")
        .each(&[("AXLE", "ledger.laden_front_axle")])
        .about("half of the laden axle")
        .when("with `ledger`");
pub(super) static REAR_TYRE_LOAD: Row<Mass> =
    Row::formula("rear_tyre_load", "load on a rear tyre", "kg", "AXLE / 2")
        .each(&[("AXLE", "ledger.laden_rear_axle")])
        .about("half of the laden axle")
        .when("with `ledger`");
pub(super) static TWIN_TYRE_LOAD: Row<Mass> = REAR_TYRE_LOAD
    .by("AXLE / 4")
    .each(&[("AXLE", "ledger.laden_rear_axle")])
    .about("a quarter of the laden axle")
    .when("with `ledger` and `rear_tyres: twin`");
pub(super) static TYRE_SPEED_LIMIT: RequirementRow = RequirementRow::safety("tyre_speed", "wanted_speed")
    .label("speed of the tyre")
    .at_most("tyre_speed_rating")
    .only_with(&["tyre_speed_rating"]);
pub(super) static FRONT_TYRE_LIMIT: RequirementRow =
    RequirementRow::safety("front_tyre_load", "front_tyre_load")
        .at_most("tyre_load_rating")
        .only_with(&["tyre_load_rating"])
        .due(Stage::Build);
pub(super) static REAR_TYRE_LIMIT: RequirementRow =
    RequirementRow::safety("rear_tyre_load", "rear_tyre_load")
        .at_most("tyre_load_rating")
        .only_with(&["tyre_load_rating"])
        .due(Stage::Build);
pub(super) static TWIN_TYRE_LIMIT: RequirementRow =
    RequirementRow::safety("rear_tyre_load", "rear_tyre_load")
        .at_most("tyre_twin_load_rating")
        .due(Stage::Build);
