//! What a traction block takes from the blocks that it names.

use crate::model::{Taken, TakenRow};
use crate::quantities::si::{
    Angle, AngularVelocity, ElectricCurrent, ElectricPotential, ElectricalResistance, Force, ForcePerSpeed,
    ForcePerSpeedSquared, Length, Mass, MomentOfInertia, Power, Ratio, Time, Torque, Velocity,
};
use crate::quantities::{Curve, Sort, sort};

const TORQUE_OVER_SPEED: (&Sort, &Sort) = (&sort::ANGULAR_SPEED, &sort::TORQUE);

pub(super) static ROAD_MASS: Taken<Mass> = Taken::new("road", "mass");
pub(super) static EFFECTIVE_MASS: Taken<Mass> = Taken::new("road", "effective_mass");
pub(super) static F0: Taken<Force> = Taken::new("road", "f0");
pub(super) static F1: Taken<ForcePerSpeed> = Taken::new("road", "f1");
pub(super) static F2: Taken<ForcePerSpeedSquared> = Taken::new("road", "f2");
pub(super) static SLOPE: Taken<Angle> = Taken::new("road", "slope");
pub(super) static HEADWIND: Taken<Velocity> = Taken::new("road", "headwind");
pub(super) static OVERALL_RATIO: Taken<Ratio> = Taken::new("chain", "overall_ratio");
pub(super) static RATIO_OF_GEAR: Taken<Ratio> = Taken::new("chain", "overall_ratio_GEAR");
pub(super) static TOP_SPEED_OF_GEAR: Taken<Velocity> = Taken::new("chain", "geared_top_speed_GEAR");
pub(super) static HIGHEST_SPEED: Taken<Velocity> = Taken::new("chain", "highest_speed");
pub(super) static HIGHEST_SPEED_OF_GEAR: Taken<Velocity> = Taken::new("chain", "highest_speed_GEAR");
pub(super) static STAGE_RATIO: Taken<Ratio> = Taken::new("chain", "stages.STAGE.ratio");
pub(super) static STAGE_RATIO_IN: Taken<Ratio> = Taken::new("chain", "stages.STAGE.ratios.GEAR");
pub(super) static STAGE_EFFICIENCY: Taken<Ratio> = Taken::new("chain", "stages.STAGE.efficiency");
pub(super) static STAGE_LIMIT: Taken<Torque> = Taken::new("chain", "stages.STAGE.torque_limit");
pub(super) static TYRE_SPEED: Taken<Velocity> = Taken::new("chain", "tyre_speed_rating");
pub(super) static CHAIN_EFFICIENCY: Taken<Ratio> = Taken::new("chain", "efficiency");
pub(super) static CIRCUMFERENCE: Taken<Length> = Taken::new("chain", "rolling_circumference");
pub(super) static GEARED_TOP_SPEED: Taken<Velocity> = Taken::new("chain", "geared_top_speed");
pub(super) static TORQUE_CURVE: Taken<Curve> = Taken::curve("motor", "torque_curve", TORQUE_OVER_SPEED);
pub(super) static PEAK_TORQUE: Taken<Torque> = Taken::new("motor", "peak_torque");
pub(super) static PEAK_POWER: Taken<Power> = Taken::new("motor", "peak_power");
pub(super) static MAX_SPEED: Taken<AngularVelocity> = Taken::new("motor", "max_speed");
pub(super) static EFFICIENCY: Taken<Ratio> =
    Taken::new("motor", "efficiency").about("of motor and inverter; 100 % is assumed");
pub(super) static CURVE_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("motor", "curve_voltage").about("of the battery, for which the ratings hold");
pub(super) static CONTINUOUS_CURVE: Taken<Curve> =
    Taken::curve("motor", "continuous_torque_curve", TORQUE_OVER_SPEED);
pub(super) static CONTINUOUS_TORQUE: Taken<Torque> = Taken::new("motor", "continuous_torque");
pub(super) static CONTINUOUS_POWER: Taken<Power> = Taken::new("motor", "continuous_power");
pub(super) static ROTOR_INERTIA: Taken<MomentOfInertia> =
    Taken::new("motor", "rotor_inertia").about("of what turns with it");
pub(super) static STALL_TORQUE: Taken<Torque> =
    Taken::new("motor", "stall_torque").about("the most that it may give at standstill");
pub(super) static STALL_TIME: Taken<Time> = Taken::new("motor", "stall_time").about("how long it bears that");
pub(super) static VOLTAGE_LOW: Taken<ElectricPotential> =
    Taken::new("motor", "voltage_low").about("of the battery, under which it does not work");
pub(super) static PEAK_TIME: Taken<Time> =
    Taken::new("motor", "peak_time").about("how long it bears the peak torque");
pub(super) static TORQUE_OVER_TIME: Taken<Curve> =
    Taken::curve("motor", "torque_over_time", (&sort::TIME, &sort::TORQUE))
        .about("what it gives after so long at full drive");
pub(super) static NOMINAL_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "nominal_voltage");
pub(super) static PACK_RESISTANCE: Taken<ElectricalResistance> = Taken::new("pack", "resistance");
pub(super) static RATED_POWER: Taken<Power> = Taken::new("pack", "rated_power");
pub(super) static COLLAPSE_POWER: Taken<Power> = Taken::new("pack", "collapse_power");
pub(super) static WORST_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "worst_voltage");
pub(super) static WORST_RESISTANCE: Taken<ElectricalResistance> = Taken::new("pack", "worst_resistance");
pub(super) static PARALLEL: Taken<f64> = Taken::new("pack", "parallel");
pub(super) static CELL_CONTINUOUS: Taken<ElectricCurrent> = Taken::new("cell", "continuous_discharge");
pub(super) static CONVERTED_MASS: Taken<Mass> = Taken::new("ledger", "converted_mass");
pub(super) static FRONT_AXLE: Taken<Mass> = Taken::new("ledger", "front_axle");
pub(super) static CG_HEIGHT: Taken<Length> = Taken::new("ledger", "cg_height");
pub(super) static WHEELBASE: Taken<Length> = Taken::new("ledger", "wheelbase");
pub(super) static LADEN_MASS: Taken<Mass> = Taken::new("ledger", "laden_mass");
pub(super) static LADEN_FRONT_AXLE: Taken<Mass> = Taken::new("ledger", "laden_front_axle");

pub(super) static TAKES: &[&TakenRow] = &[
    &ROAD_MASS.row,
    &EFFECTIVE_MASS.row,
    &F0.row,
    &F1.row,
    &F2.row,
    &SLOPE.row,
    &HEADWIND.row,
    &OVERALL_RATIO.row,
    &RATIO_OF_GEAR.row,
    &TOP_SPEED_OF_GEAR.row,
    &STAGE_RATIO.row,
    &STAGE_RATIO_IN.row,
    &STAGE_EFFICIENCY.row,
    &STAGE_LIMIT.row,
    &TYRE_SPEED.row,
    &CHAIN_EFFICIENCY.row,
    &CIRCUMFERENCE.row,
    &GEARED_TOP_SPEED.row,
    &HIGHEST_SPEED.row,
    &HIGHEST_SPEED_OF_GEAR.row,
    &TORQUE_CURVE.row,
    &PEAK_TORQUE.row,
    &PEAK_POWER.row,
    &MAX_SPEED.row,
    &EFFICIENCY.row,
    &CURVE_VOLTAGE.row,
    &CONTINUOUS_CURVE.row,
    &CONTINUOUS_TORQUE.row,
    &CONTINUOUS_POWER.row,
    &ROTOR_INERTIA.row,
    &STALL_TORQUE.row,
    &STALL_TIME.row,
    &VOLTAGE_LOW.row,
    &PEAK_TIME.row,
    &TORQUE_OVER_TIME.row,
    &NOMINAL_VOLTAGE.row,
    &PACK_RESISTANCE.row,
    &RATED_POWER.row,
    &COLLAPSE_POWER.row,
    &WORST_VOLTAGE.row,
    &WORST_RESISTANCE.row,
    &PARALLEL.row,
    &CELL_CONTINUOUS.row,
    &CONVERTED_MASS.row,
    &FRONT_AXLE.row,
    &CG_HEIGHT.row,
    &WHEELBASE.row,
    &LADEN_MASS.row,
    &LADEN_FRONT_AXLE.row,
];
