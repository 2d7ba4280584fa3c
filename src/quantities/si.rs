//! The quantity types that blocks compute with: a wrong dimension does not compile.
//!
//! Where the kinds of the library stand in the way (a product with an angle in it loses the angle; a torque is a
//! force × length that has been told so), the functions here say what is meant.

use std::f64::consts::TAU;
use std::marker::PhantomData;
use std::ops::{Add, Mul, Sub};

pub(crate) use uom::si::f64::{
    Acceleration, Angle, AngularAcceleration, AngularVelocity, Area, AvailableEnergy as SpecificEnergy,
    Capacitance, Curvature, ElectricCharge, ElectricCurrent, ElectricCurrentDensity, ElectricPotential,
    ElectricalResistance, ElectricalResistivity, Energy, Force, Frequency, HeatCapacity, Inductance, Length,
    LinearMassDensity as ForcePerSpeedSquared, Mass, MassDensity, MassRate, MomentOfInertia, Power, Pressure,
    Ratio, SpecificHeatCapacity, SpecificPower, TemperatureCoefficient, TemperatureInterval,
    ThermalConductance, ThermalResistance, ThermodynamicTemperature, Time, Torque, Velocity, Volume,
    VolumeRate,
};

use uom::si::{ISQ, Quantity, SI};
use uom::typenum::{N1, N2, N3, N4, P1, P2, Z0};

use super::sort;
use super::sort::Sort;

/// A type of quantity that fields can have: its sort, and the way to and from SI.
pub(crate) trait Measure: Copy + 'static {
    const SORT: &'static Sort;

    /// From a value in the coherent SI unit.
    fn from_si(value: f64) -> Self;

    /// The value in the coherent SI unit.
    fn si(self) -> f64;
}

macro_rules! measures {
    ($($quantity:ident = $sort:ident;)*) => {
        $(impl Measure for $quantity {
            const SORT: &'static Sort = &sort::$sort;

            fn from_si(value: f64) -> Self {
                $quantity { dimension: PhantomData, units: PhantomData, value }
            }

            fn si(self) -> f64 {
                self.value
            }
        })*
    };
}

measures! {
    Acceleration = ACCELERATION;
    Angle = ANGLE;
    AngularAcceleration = ANGULAR_ACCELERATION;
    AngularVelocity = ANGULAR_SPEED;
    Area = AREA;
    Capacitance = CAPACITANCE;
    Curvature = CURVATURE;
    ElectricCharge = CHARGE;
    CurrentSquaredTime = CURRENT_SQUARED_TIME;
    ElectricCurrent = CURRENT;
    ElectricCurrentDensity = CURRENT_DENSITY;
    ElectricPotential = VOLTAGE;
    ElectricalResistance = RESISTANCE;
    ResistancePerLength = RESISTANCE_PER_LENGTH;
    ResistancePerVoltage = RESISTANCE_PER_VOLT;
    ElectricalResistivity = RESISTIVITY;
    Energy = ENERGY;
    Force = FORCE;
    ForcePerSpeedSquared = FORCE_PER_SPEED_SQUARED;
    Frequency = FREQUENCY;
    HeatCapacity = HEAT_CAPACITY;
    HeatConstant = HEAT_CONSTANT;
    Inductance = INDUCTANCE;
    Length = LENGTH;
    Mass = MASS;
    MassDensity = DENSITY;
    MassMoment = MASS_MOMENT;
    MassRate = MASS_FLOW;
    MomentOfInertia = MOMENT_OF_INERTIA;
    Power = POWER;
    Pressure = PRESSURE;
    Ratio = RATIO;
    SpecificEnergy = SPECIFIC_ENERGY;
    SpecificHeatCapacity = SPECIFIC_HEAT;
    SpecificPower = SPECIFIC_POWER;
    TemperatureCoefficient = TEMPERATURE_COEFFICIENT;
    TemperatureInterval = TEMPERATURE_DIFFERENCE;
    ThermalConductance = THERMAL_CONDUCTANCE;
    ThermalResistance = THERMAL_RESISTANCE;
    ThermodynamicTemperature = TEMPERATURE;
    Time = TIME;
    Torque = TORQUE;
    TorquePerCurrent = TORQUE_PER_CURRENT;
    Velocity = SPEED;
    Volume = VOLUME;
    VolumeRate = VOLUME_FLOW;
}

/// A plain number: counts, and steps of the author's own, in SI units.
impl Measure for f64 {
    const SORT: &'static Sort = &sort::RATIO;

    fn from_si(value: f64) -> Self {
        value
    }

    fn si(self) -> f64 {
        self
    }
}

/// Mass × distance from an axle, for statics.
pub(crate) type MassMoment = Quantity<ISQ<P1, P1, Z0, Z0, Z0, Z0, Z0>, SI<f64>, f64>;

/// Of a conductor.
pub(crate) type ResistancePerLength = Quantity<ISQ<P1, P1, N3, N2, Z0, Z0, Z0>, SI<f64>, f64>;

/// Isolation against the voltage that it stands for; dimensionally one over a current.
pub(crate) type ResistancePerVoltage = Quantity<ISQ<Z0, Z0, Z0, N1, Z0, Z0, Z0>, SI<f64>, f64>;

/// What heats a conductor in a short circuit, I²t.
pub(crate) type CurrentSquaredTime = Quantity<ISQ<Z0, Z0, P1, P2, Z0, Z0, Z0>, SI<f64>, f64>;

/// What a motor's ampere turns with.
pub(crate) type TorquePerCurrent = Quantity<ISQ<P2, P1, N2, N1, Z0, Z0, Z0>, SI<f64>, f64>;

/// The I²t that a conductor's material takes up, for the square of its area.
pub(crate) type HeatConstant = Quantity<ISQ<N4, Z0, P1, P2, Z0, Z0, Z0>, SI<f64>, f64>;

/// The voltage that a turning motor gives for each of angular speed.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub(crate) struct BackEmfConstant(f64);

impl std::ops::Mul<f64> for BackEmfConstant {
    type Output = BackEmfConstant;

    fn mul(self, times: f64) -> BackEmfConstant {
        BackEmfConstant(self.0 * times)
    }
}

impl BackEmfConstant {
    pub(crate) fn at(self, turning: AngularVelocity) -> ElectricPotential {
        ElectricPotential::from_si(self.0 * turning.value)
    }
}

impl Measure for BackEmfConstant {
    const SORT: &'static Sort = &sort::VOLTAGE_PER_SPEED;

    fn from_si(value: f64) -> Self {
        BackEmfConstant(value)
    }

    fn si(self) -> f64 {
        self.0
    }
}

/// Energy for each distance. In J/m, of the dimension of a force, but no force.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub(crate) struct Consumption(f64);

impl Consumption {
    pub(crate) fn distance_on(self, energy: Energy) -> Length {
        Length::from_si(energy.value / self.0)
    }
}

impl Measure for Consumption {
    const SORT: &'static Sort = &sort::CONSUMPTION;

    fn from_si(value: f64) -> Self {
        Consumption(value)
    }

    fn si(self) -> f64 {
        self.0
    }
}

impl Add for Consumption {
    type Output = Consumption;

    fn add(self, other: Consumption) -> Consumption {
        Consumption(self.0 + other.0)
    }
}

impl Sub for Consumption {
    type Output = Consumption;

    fn sub(self, other: Consumption) -> Consumption {
        Consumption(self.0 - other.0)
    }
}

impl Mul<f64> for Consumption {
    type Output = Consumption;

    fn mul(self, factor: f64) -> Consumption {
        Consumption(self.0 * factor)
    }
}

impl Mul<Length> for Consumption {
    type Output = Energy;

    fn mul(self, distance: Length) -> Energy {
        Energy::from_si(self.0 * distance.value)
    }
}

/// The part of a resistance that grows with speed. In N/(m/s), of the dimension of a mass flow, but none.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub(crate) struct ForcePerSpeed(f64);

impl Measure for ForcePerSpeed {
    const SORT: &'static Sort = &sort::FORCE_PER_SPEED;

    fn from_si(value: f64) -> Self {
        ForcePerSpeed(value)
    }

    fn si(self) -> f64 {
        self.0
    }
}

impl Mul<Velocity> for ForcePerSpeed {
    type Output = Force;

    fn mul(self, speed: Velocity) -> Force {
        Force::from_si(self.0 * speed.value)
    }
}

/// How fast a temperature rises, in K/s.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub(crate) struct TemperatureRate(f64);

impl Measure for TemperatureRate {
    const SORT: &'static Sort = &sort::TEMPERATURE_RATE;

    fn from_si(value: f64) -> Self {
        TemperatureRate(value)
    }

    fn si(self) -> f64 {
        self.0
    }
}

/// The road speed of a wheel that covers `circumference` in each turn.
pub(crate) fn rolling_speed(turning: AngularVelocity, circumference: Length) -> Velocity {
    let turns: Frequency = (turning / TAU).into();
    turns * circumference
}

/// The turning speed of a wheel that covers `circumference` in each turn.
pub(crate) fn turning_speed(road: Velocity, circumference: Length) -> AngularVelocity {
    let turns: AngularVelocity = (road / circumference).into();
    turns * TAU
}

/// The turning speed behind a stage of that ratio.
pub(crate) fn geared(turning: AngularVelocity, ratio: Ratio) -> AngularVelocity {
    (turning * ratio).into()
}

/// The moment of a force at the end of an arm.
pub(crate) fn moment(force: Force, arm: Length) -> Torque {
    (force * arm).into()
}

/// The force that a torque gives at the end of an arm.
pub(crate) fn force_at(torque: Torque, arm: Length) -> Force {
    torque / arm
}

/// A plain number.
pub(crate) fn ratio(value: f64) -> Ratio {
    Ratio::from_si(value)
}

#[cfg(test)]
mod tests {
    use super::{
        Consumption, ElectricCurrent, ElectricPotential, Energy, Length, Measure, Time, Velocity,
        rolling_speed, turning_speed,
    };

    #[test]
    fn wheels_roll_their_circumference_in_each_turn() {
        let circumference = Length::from_si(2.0);
        let turning = turning_speed(Velocity::from_si(20.0), circumference);
        assert!((turning.si() - 10.0 * std::f64::consts::TAU).abs() < 1e-12);
        assert!((rolling_speed(turning, circumference).si() - 20.0).abs() < 1e-12);
    }

    #[test]
    fn energy_per_distance_is_no_force() {
        let energy: Energy =
            ElectricPotential::from_si(400.0) * ElectricCurrent::from_si(10.0) * Time::from_si(60.0);
        let consumption = Consumption::from_si(energy.si() / 1000.0);
        assert_eq!((consumption.si(), Consumption::SORT.name), (240.0, "consumption"));
        assert_eq!((consumption * Length::from_si(500.0)).si(), 120_000.0);
        assert_eq!(consumption.distance_on(energy).si(), 1000.0);
    }
}
