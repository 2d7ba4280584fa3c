//! The results of an energy-use block, and what it takes from others.

use crate::model::{Family, Row, Taken};
use crate::quantities::si::{
    Consumption, ElectricCurrent, ElectricPotential, ElectricalResistance, Energy, Force, ForcePerSpeed,
    ForcePerSpeedSquared, Length, Mass, Power, Ratio, SpecificPower, Time, Torque, Velocity,
};
use crate::quantities::{Curve, sort};

pub(super) static ROAD_F0: Taken<Force> = Taken::new("road", "f0");
pub(super) static ROAD_F1: Taken<ForcePerSpeed> = Taken::new("road", "f1");
pub(super) static ROAD_F2: Taken<ForcePerSpeedSquared> = Taken::new("road", "f2");
pub(super) static EFFECTIVE_MASS: Taken<Mass> = Taken::new("road", "effective_mass");
pub(super) static ROAD_MASS: Taken<Mass> = Taken::new("road", "mass")
    .about("for the class of the WLTC, if it is there, and for every road that climbs");
pub(super) static USABLE_ENERGY: Taken<Energy> = Taken::new("pack", "usable_energy");
pub(super) static PACK_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "nominal_voltage");
pub(super) static PACK_RESISTANCE: Taken<ElectricalResistance> = Taken::new("pack", "resistance");
pub(super) static PACK_PEAK_POWER: Taken<Power> =
    Taken::new("pack", "peak_power").about("for the class of the WLTC, without a motor");
pub(super) static PACK_RATED_POWER: Taken<Power> =
    Taken::new("pack", "rated_power").about("the most that it may give, if it is there");
pub(super) static CONTINUOUS_POWER: Taken<Power> = Taken::new("motor", "continuous_power");
pub(super) static CONTINUOUS_TORQUE: Taken<Torque> = Taken::new("motor", "continuous_torque");
pub(super) static CONTINUOUS_CURVE: Taken<Curve> =
    Taken::curve("motor", "continuous_torque_curve", (&sort::ANGULAR_SPEED, &sort::TORQUE));
pub(super) static PARALLEL: Taken<f64> = Taken::new("pack", "parallel");
pub(super) static CELL_CONTINUOUS: Taken<ElectricCurrent> = Taken::new("cell", "continuous_discharge");
pub(super) static MOTOR_PEAK_POWER: Taken<Power> = Taken::new("motor", "peak_power");
pub(super) static TORQUE_CURVE: Taken<Curve> =
    Taken::curve("motor", "torque_curve", (&sort::ANGULAR_SPEED, &sort::TORQUE))
        .about("for what it gives at each speed, if it is there and a `chain` is named");
pub(super) static OVERALL_RATIO: Taken<Ratio> = Taken::new("chain", "overall_ratio");
pub(super) static RATIO_OF_GEAR: Taken<Ratio> = Taken::new("chain", "overall_ratio_GEAR");
pub(super) static HIGHEST_SPEED_OF_GEAR: Taken<Velocity> = Taken::new("chain", "highest_speed_GEAR");
pub(super) static CIRCUMFERENCE: Taken<Length> = Taken::new("chain", "rolling_circumference");
pub(super) static CHAIN_EFFICIENCY: Taken<Ratio> = Taken::new("chain", "efficiency");
pub(super) static HIGHEST_SPEED: Taken<Velocity> = Taken::new("chain", "highest_speed");

static CYCLES: Family = Family { name: "cycles", label: "Cycle", case: "CYCLE" };
static SPEEDS: Family = Family { name: "speeds", label: "Speed", case: "SPEED" };

const IN_WINTER: &str = "with `cold` or `heater_power`";
const IN_WINTER_AGED: &str = "with `life_share`, and `cold` or `heater_power`";
const AGED: &str = "with `life_share`";

pub(super) static WINTER_POWER: Row<Power> = Row::formula(
    "auxiliary_power_winter",
    "auxiliaries and heater in winter",
    "W",
    "auxiliary_power + heater_power",
)
.when(IN_WINTER);
pub(super) static WINTER_POWER_WITHOUT_HEATER: Row<Power> = WINTER_POWER.by("auxiliary_power");
pub(super) static WINTER_ENERGY: Row<Energy> = Row::formula(
    "usable_energy_winter",
    "usable energy in winter",
    "kWh",
    "pack.usable_energy * cold.energy_share",
)
.when(IN_WINTER);
pub(super) static WINTER_ENERGY_OF_A_WARM_PACK: Row<Energy> = WINTER_ENERGY.by("pack.usable_energy");

pub(super) static DURATION: Row<Time> =
    Row::procedure("CYCLE_duration", "duration", "s", "last time less first time")
        .about("standstill included")
        .looks_up(&["CASE"])
        .family(&CYCLES);
pub(super) static DISTANCE: Row<Length> =
    Row::procedure("CYCLE_distance", "distance", "km", "sum of mean speed × step")
        .looks_up(&["CASE"])
        .family(&CYCLES);
pub(super) static AT_WHEEL: Row<Consumption> = Row::procedure(
    "CYCLE_at_wheel",
    "driving energy at the wheels",
    "Wh/km",
    "∫ of the driving power at the wheels over the distance, in closed form between samples, split where the force changes sign",
)
.about("over the distance")
.looks_up(&["CASE"])
.family(&CYCLES);
pub(super) static BRAKING: Row<Consumption> = Row::procedure(
    "CYCLE_braking",
    "braking energy at the wheels",
    "Wh/km",
    "∫ of the braking power at the wheels over the distance, in closed form between samples, split where the force changes sign",
)
.about("over the distance, a positive number")
.family(&CYCLES);
pub(super) static DRAWN: Row<Consumption> =
    Row::formula("CYCLE_drawn", "drawn by the drive", "Wh/km", "CYCLE_at_wheel / drive_efficiency")
        .about("at the battery, over the distance")
        .family(&CYCLES);
pub(super) static DRAWN_BY_MAP: Row<Consumption> = Row::procedure(
    "CYCLE_drawn",
    "drawn by the drive",
    "Wh/km",
    "∫ of driving power / efficiency from the map over the distance, by Gauss's points between samples",
)
.about("at the battery, over the distance")
.when("with `efficiency_map`")
.family(&CYCLES);
pub(super) static RECOVERED: Row<Consumption> = Row::formula(
    "CYCLE_recovered",
    "recovered in braking",
    "Wh/km",
    "CYCLE_braking * regeneration.share * regeneration.efficiency",
)
.about("at the battery, over the distance")
.when("with `regeneration`")
.family(&CYCLES);
pub(super) static RECOVERED_WITHIN_LIMITS: Row<Consumption> = Row::procedure(
    "CYCLE_recovered",
    "recovered in braking",
    "Wh/km",
    "∫ of the recovered power, within its limits of power and speed, over the distance, in closed form between samples",
)
.about("at the battery, over the distance")
.when("with `power_limit` or `minimum_speed`")
.family(&CYCLES);
pub(super) static AUXILIARIES: Row<Consumption> = Row::formula(
    "CYCLE_auxiliaries",
    "drawn by auxiliaries",
    "Wh/km",
    "auxiliary_power * CYCLE_duration / CYCLE_distance",
)
.about("over the distance")
.family(&CYCLES);
pub(super) static AT_TERMINALS: Row<Consumption> = Row::formula(
    "CYCLE_at_terminals",
    "energy at the battery's terminals",
    "Wh/km",
    "CYCLE_drawn - CYCLE_recovered + CYCLE_auxiliaries",
)
.about("over the distance")
.family(&CYCLES);
pub(super) static AT_TERMINALS_WITHOUT_RECOVERY: Row<Consumption> =
    AT_TERMINALS.by("CYCLE_drawn + CYCLE_auxiliaries");
pub(super) static PACK_LOSS: Row<Consumption> = Row::formula(
    "CYCLE_pack_loss",
    "lost in the pack",
    "Wh/km",
    "CYCLE_rms_current^2 * pack.resistance * CYCLE_duration / CYCLE_distance",
)
.about("current squared times resistance, over the distance")
.family(&CYCLES);
pub(super) static CONSUMPTION: Row<Consumption> = Row::formula(
    "CYCLE_consumption",
    "consumption",
    "Wh/km",
    "(CYCLE_at_terminals + CYCLE_pack_loss) * model_factor",
)
.about("from the cells, their own loss included, over the distance")
.principal()
.family(&CYCLES);
pub(super) static PEAK_POWER: Row<Power> = Row::procedure(
    "CYCLE_peak_power",
    "peak power at the wheels",
    "kW",
    "largest driving power at the wheels, at the ends of the steps and where it turns",
)
.family(&CYCLES);
pub(super) static PACK_POWER: Row<Power> = Row::formula(
    "CYCLE_pack_power",
    "peak power at the battery's terminals",
    "kW",
    "CYCLE_peak_power / drive_efficiency + auxiliary_power",
)
.family(&CYCLES);
pub(super) static BATTERY_POWER_BY_MAP: Row<Power> = Row::procedure(
    "CYCLE_pack_power",
    "peak power at the battery's terminals",
    "kW",
    "largest driving power over the efficiency from the map, at the ends of the steps, with the auxiliaries",
)
.when("with `efficiency_map`")
.family(&CYCLES);
pub(super) static RMS_CURRENT: Row<ElectricCurrent> = Row::procedure(
    "CYCLE_rms_current",
    "current",
    "A",
    "root of the mean square over the duration, each current from the power at the terminals through the pack's resistance, by Gauss's points between samples",
)
.about("root mean square of the pack's, standstill included: what heats it")
.family(&CYCLES);
pub(super) static CONSUMPTION_IN_WINTER: Row<Consumption> = Row::procedure(
    "CYCLE_consumption_winter",
    "consumption in winter",
    "Wh/km",
    "as the consumption, with the road load in the cold, the heater, and what is recovered in the cold",
)
.when(IN_WINTER)
.family(&CYCLES);
pub(super) static RANGE: Row<Length> =
    Row::formula("CYCLE_range", "range", "km", "pack.usable_energy / CYCLE_consumption")
        .principal()
        .family(&CYCLES);
pub(super) static RANGE_IN_WINTER: Row<Length> = Row::formula(
    "CYCLE_range_winter",
    "range in winter",
    "km",
    "usable_energy_winter / CYCLE_consumption_winter",
)
.when(IN_WINTER)
.principal()
.family(&CYCLES);
pub(super) static RANGE_AGED: Row<Length> =
    Row::formula("CYCLE_range_aged", "range at the end of the pack's life", "km", "CYCLE_range * life_share")
        .when(AGED)
        .principal()
        .family(&CYCLES);

pub(super) static RANGE_IN_WINTER_AGED: Row<Length> = Row::formula(
    "CYCLE_range_winter_aged",
    "range in winter at the end of the pack's life",
    "km",
    "CYCLE_range_winter * life_share",
)
.about("the one that strands people")
.when(IN_WINTER_AGED)
.principal()
.family(&CYCLES);

pub(super) static CLIMBED: Row<Length> =
    Row::procedure("CYCLE_climbed", "height climbed", "m", "sum of the rises between samples")
        .when("with heights in its file")
        .family(&CYCLES);
pub(super) static CLIMBING: Row<Consumption> = Row::formula(
    "CYCLE_climbing",
    "lifting energy at the wheels",
    "Wh/km",
    "road.mass * 9.80665 m/s^2 * CYCLE_climbed / CYCLE_distance",
)
.about("over the distance; what was lifted comes back downhill, less losses")
.when("with heights in its file")
.family(&CYCLES);
pub(super) static CONSUMPTION_ON_FULL_PACK: Row<Consumption> = Row::procedure(
    "CYCLE_consumption_full",
    "consumption while the pack is full",
    "Wh/km",
    "as the consumption, with what a full pack takes of what is recovered",
)
.when("with `full`")
.family(&CYCLES);

pub(super) static DRAG_AT: Row<Force> = Row::formula(
    "drag_at_SPEED",
    "road load",
    "N",
    "road.f0 + road.f1 * speeds.SPEED + road.f2 * speeds.SPEED^2",
)
.about("level and windless")
.family(&SPEEDS);
pub(super) static EFFICIENCY_AT: Row<Ratio> =
    Row::procedure("efficiency_at_SPEED", "efficiency", "1", READ_FROM_MAP)
        .when("with `efficiency_map`")
        .family(&SPEEDS);
pub(super) static POWER_AT: Row<Power> = Row::formula(
    "power_at_SPEED",
    "power at the battery's terminals",
    "kW",
    "drag_at_SPEED * speeds.SPEED / drive_efficiency + auxiliary_power",
)
.family(&SPEEDS);
pub(super) static POWER_AT_BY_MAP: Row<Power> =
    POWER_AT.by("drag_at_SPEED * speeds.SPEED / efficiency_at_SPEED + auxiliary_power");
pub(super) static VOLTAGE_AT: Row<ElectricPotential> =
    Row::procedure("voltage_at_SPEED", "voltage at the battery's terminals", "V", UNDER_POWER)
        .family(&SPEEDS);
pub(super) static CELL_POWER_AT: Row<Power> = Row::formula(
    "cell_power_at_SPEED",
    "power from the cells",
    "kW",
    "power_at_SPEED * pack.nominal_voltage / voltage_at_SPEED",
)
.about("their own loss included")
.family(&SPEEDS);
pub(super) static CONSUMPTION_AT: Row<Consumption> = Row::formula(
    "consumption_at_SPEED",
    "consumption",
    "Wh/km",
    "cell_power_at_SPEED / speeds.SPEED * model_factor",
)
.about("from the cells, their own loss included")
.principal()
.family(&SPEEDS);
pub(super) static RANGE_AT: Row<Length> =
    Row::formula("range_at_SPEED", "range", "km", "pack.usable_energy / consumption_at_SPEED")
        .principal()
        .family(&SPEEDS);
pub(super) static DRAG_IN_WINTER_AT: Row<Force> = Row::formula(
    "drag_at_SPEED_winter",
    "road load in winter",
    "N",
    "drag_at_SPEED * (1 + cold.load_increase)",
)
.when(IN_WINTER)
.family(&SPEEDS);
pub(super) static DRAG_IN_MILD_WINTER_AT: Row<Force> = DRAG_IN_WINTER_AT.by("drag_at_SPEED");
pub(super) static EFFICIENCY_IN_WINTER_AT: Row<Ratio> =
    Row::procedure("efficiency_at_SPEED_winter", "efficiency in winter", "1", READ_FROM_MAP)
        .when("with `efficiency_map`, and `cold` or `heater_power`")
        .family(&SPEEDS);
pub(super) static POWER_IN_WINTER_AT: Row<Power> = Row::formula(
    "power_at_SPEED_winter",
    "power at the battery's terminals in winter",
    "kW",
    "drag_at_SPEED_winter * speeds.SPEED / drive_efficiency + auxiliary_power_winter",
)
.when(IN_WINTER)
.family(&SPEEDS);
pub(super) static POWER_IN_WINTER_AT_BY_MAP: Row<Power> = POWER_IN_WINTER_AT
    .by("drag_at_SPEED_winter * speeds.SPEED / efficiency_at_SPEED_winter + auxiliary_power_winter");
pub(super) static VOLTAGE_IN_WINTER_AT: Row<ElectricPotential> = Row::procedure(
    "voltage_at_SPEED_winter",
    "voltage at the battery's terminals in winter",
    "V",
    UNDER_POWER,
)
.when(IN_WINTER)
.family(&SPEEDS);
pub(super) static CELL_POWER_IN_WINTER_AT: Row<Power> = Row::formula(
    "cell_power_at_SPEED_winter",
    "power from the cells in winter",
    "kW",
    "power_at_SPEED_winter * pack.nominal_voltage / voltage_at_SPEED_winter",
)
.about("their own loss included")
.when(IN_WINTER)
.family(&SPEEDS);
pub(super) static CONSUMPTION_IN_WINTER_AT: Row<Consumption> = Row::formula(
    "consumption_at_SPEED_winter",
    "consumption in winter",
    "Wh/km",
    "cell_power_at_SPEED_winter / speeds.SPEED * model_factor",
)
.when(IN_WINTER)
.family(&SPEEDS);
pub(super) static RANGE_IN_WINTER_AT: Row<Length> = Row::formula(
    "range_at_SPEED_winter",
    "range in winter",
    "km",
    "usable_energy_winter / consumption_at_SPEED_winter",
)
.when(IN_WINTER)
.principal()
.family(&SPEEDS);
pub(super) static RANGE_AGED_AT: Row<Length> = Row::formula(
    "range_at_SPEED_aged",
    "range at the end of the pack's life",
    "km",
    "range_at_SPEED * life_share",
)
.when(AGED)
.principal()
.family(&SPEEDS);
pub(super) static RANGE_IN_WINTER_AGED_AT: Row<Length> = Row::formula(
    "range_at_SPEED_winter_aged",
    "range in winter at the end of the pack's life",
    "km",
    "range_at_SPEED_winter * life_share",
)
.about("the one that strands people")
.when(IN_WINTER_AGED)
.principal()
.family(&SPEEDS);

const UNDER_POWER: &str =
    "(E + √(E² − 4 R P))/2, what the power P through the pack's resistance R leaves of its nominal voltage E";
const READ_FROM_MAP: &str = "read from the map at the motor's speed and torque, linear in both between its rows, × the chain's efficiency";

pub(super) static POWER_TO_MASS: Row<SpecificPower> =
    Row::formula("power_to_mass", "power to mass", "W/kg", "motor.peak_power / road.mass")
        .about("the motor's power, else the pack's through the drive, over the road load's mass");
pub(super) static PACK_PEAK_TO_MASS: Row<SpecificPower> =
    POWER_TO_MASS.by("pack.peak_power * drive_efficiency / road.mass");
pub(super) static PACK_RATED_TO_MASS: Row<SpecificPower> =
    POWER_TO_MASS.by("pack.rated_power * drive_efficiency / road.mass");
pub(super) static PACK_PEAK_TO_MASS_BY_MAP: Row<SpecificPower> =
    POWER_TO_MASS.by("pack.peak_power / road.mass");
pub(super) static PACK_RATED_TO_MASS_BY_MAP: Row<SpecificPower> =
    POWER_TO_MASS.by("pack.rated_power / road.mass");
pub(super) static WLTC_CLASS: Row<String> = Row::words("wltc_class", "class of the WLTC").principal();
