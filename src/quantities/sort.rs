//! The sorts of quantity that fields and results have: name, dimension, the unit that they are shown in.

use super::dimension::Dimension;
use super::unit::{Unit, read_unit};

/// What a field expects, or a result is.
#[derive(Debug, PartialEq)]
pub(crate) struct Sort {
    /// Lower case, without article: `torque`.
    pub name: &'static str,
    pub dimension: Dimension,
    /// The unit that it is shown in where nobody chose another.
    pub unit: &'static str,
    /// The unit of its SI value.
    pub si_unit: &'static str,
    /// A value to type, for messages.
    pub example: &'static str,
    /// The name under `units:` that chooses its display unit.
    pub group: Option<Group>,
    /// Whether it is a point on the temperature scale.
    pub point: bool,
    pub energy: EnergyNames,
}

/// Whether the unit may, must or must not name an energy: J/m is a consumption, N a force, of one dimension.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EnergyNames {
    Free,
    Needed,
    Refused,
}

/// The names that the front matter's `units` takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Group {
    Speed,
    Mass,
    Length,
    Volume,
    Force,
    Torque,
    Power,
    Energy,
    Consumption,
    Pressure,
    Temperature,
    Money,
}

impl Group {
    pub(crate) const ALL: [Group; 12] = [
        Group::Speed,
        Group::Mass,
        Group::Length,
        Group::Volume,
        Group::Force,
        Group::Torque,
        Group::Power,
        Group::Energy,
        Group::Consumption,
        Group::Pressure,
        Group::Temperature,
        Group::Money,
    ];

    pub(crate) fn name(self) -> &'static str {
        match self {
            Group::Speed => "speed",
            Group::Mass => "mass",
            Group::Length => "length",
            Group::Volume => "volume",
            Group::Force => "force",
            Group::Torque => "torque",
            Group::Power => "power",
            Group::Energy => "energy",
            Group::Consumption => "consumption",
            Group::Pressure => "pressure",
            Group::Temperature => "temperature",
            Group::Money => "money",
        }
    }

    /// What its display unit must fit.
    pub(crate) fn sort(self) -> &'static Sort {
        match self {
            Group::Speed => &SPEED,
            Group::Mass => &MASS,
            Group::Length => &LENGTH,
            Group::Volume => &VOLUME,
            Group::Force => &FORCE,
            Group::Torque => &TORQUE,
            Group::Power => &POWER,
            Group::Energy => &ENERGY,
            Group::Consumption => &CONSUMPTION,
            Group::Pressure => &PRESSURE,
            Group::Temperature => &TEMPERATURE,
            Group::Money => &MONEY,
        }
    }
}

impl Sort {
    /// With its article: `a torque`.
    pub(crate) fn words(&self) -> String {
        match self.name {
            "money" => "money".to_owned(),
            name if name.starts_with(['a', 'e', 'i', 'o', 'u']) => format!("an {name}"),
            name => format!("a {name}"),
        }
    }

    /// The unit that it is shown in where nobody chose another.
    pub(crate) fn display_unit(&self) -> Unit {
        read_unit(self.unit).unwrap_or_else(|_| Unit::coherent(self.dimension))
    }
}

const PLAIN: Sort = Sort {
    name: "plain number",
    dimension: Dimension::NONE,
    unit: "1",
    si_unit: "1",
    example: "3.73",
    group: None,
    point: false,
    energy: EnergyNames::Free,
};

macro_rules! sorts {
    ($($ident:ident = $name:literal, $exponents:expr, $unit:literal, $si:literal, $example:literal
        $(, $field:ident: $value:expr)*;)*) => {
        $(
            pub(crate) static $ident: Sort = Sort {
                name: $name,
                dimension: Dimension::of($exponents),
                unit: $unit,
                si_unit: $si,
                example: $example,
                $($field: $value,)*
                ..PLAIN
            };
        )*
        /// All sorts but money.
        pub(crate) static ALL: &[&Sort] = &[$(&$ident),*];
    };
}

/// Money in any currency; its value is in its own currency, never converted.
pub(crate) static MONEY: Sort = Sort {
    name: "money",
    dimension: Dimension::money([0; 3]),
    unit: "1",
    si_unit: "1",
    example: "250 EUR",
    group: Some(Group::Money),
    ..PLAIN
};

// Exponents of length, mass, time, current, temperature, angle; display unit; SI unit; a value to type.
sorts! {
    RATIO = "plain number", [0, 0, 0, 0, 0, 0], "1", "1", "3.73";
    SHARE = "share", [0, 0, 0, 0, 0, 0], "%", "1", "85 %";
    ANGLE = "angle", [0, 0, 0, 0, 0, 1], "deg", "rad", "12 deg";
    LENGTH = "length", [1, 0, 0, 0, 0, 0], "mm", "m", "31 in", group: Some(Group::Length);
    DISTANCE = "distance", [1, 0, 0, 0, 0, 0], "km", "m", "120 km";
    AREA = "area", [2, 0, 0, 0, 0, 0], "mm²", "m²", "70 mm^2";
    FRONTAL_AREA = "area", [2, 0, 0, 0, 0, 0], "m²", "m²", "2.1 m^2";
    VOLUME = "volume", [3, 0, 0, 0, 0, 0], "L", "m³", "60 L", group: Some(Group::Volume);
    CURVATURE = "curvature", [-1, 0, 0, 0, 0, 0], "1/m", "1/m", "0.02 1/m";
    MASS = "mass", [0, 1, 0, 0, 0, 0], "kg", "kg", "64 kg", group: Some(Group::Mass);
    MOMENT_OF_INERTIA = "moment of inertia", [2, 1, 0, 0, 0, 0], "kg·m²", "kg·m²", "0.6 kg m^2";
    DENSITY = "density", [-3, 1, 0, 0, 0, 0], "kg/m³", "kg/m³", "1.2 kg/m^3";
    TIME = "time", [0, 0, 1, 0, 0, 0], "s", "s", "30 s";
    DURATION = "time", [0, 0, 1, 0, 0, 0], "h", "s", "3 h";
    LEAD_TIME = "time", [0, 0, 1, 0, 0, 0], "week", "s", "6 weeks";
    FREQUENCY = "frequency", [0, 0, -1, 0, 0, 0], "Hz", "1/s", "50 Hz";
    C_RATE = "rate", [0, 0, -1, 0, 0, 0], "1/h", "1/s", "2 1/h";
    SPEED = "speed", [1, 0, -1, 0, 0, 0], "km/h", "m/s", "110 km/h", group: Some(Group::Speed);
    ANGULAR_SPEED = "angular speed", [0, 0, -1, 0, 0, 1], "rpm", "rad/s", "12 000 rpm";
    ANGULAR_ACCELERATION = "angular acceleration", [0, 0, -2, 0, 0, 1], "rad/s²", "rad/s²", "40 rad/s^2";
    ACCELERATION = "acceleration", [1, 0, -2, 0, 0, 0], "m/s²", "m/s²", "20 g_n";
    FORCE = "force", [1, 1, -2, 0, 0, 0], "N", "N", "4.2 kN",
        group: Some(Group::Force), energy: EnergyNames::Refused;
    STIFFNESS = "stiffness", [0, 1, -2, 0, 0, 0], "N/mm", "N/m", "25 N/mm";
    FORCE_PER_SPEED = "force per speed", [0, 1, -1, 0, 0, 0], "N/(km/h)", "N/(m/s)", "0.4 N/(km/h)";
    FORCE_PER_SPEED_SQUARED = "force per speed squared", [-1, 1, 0, 0, 0, 0], "N/(km/h)²", "N/(m/s)²",
        "0.035 N/(km/h)^2";
    TORQUE = "torque", [2, 1, -2, 0, 0, 0], "N·m", "N·m", "310 N m",
        group: Some(Group::Torque), energy: EnergyNames::Refused;
    ENERGY = "energy", [2, 1, -2, 0, 0, 0], "kWh", "J", "24 kWh", group: Some(Group::Energy);
    POWER = "power", [2, 1, -3, 0, 0, 0], "kW", "W", "80 kW", group: Some(Group::Power);
    CONSUMPTION = "consumption", [1, 1, -2, 0, 0, 0], "Wh/km", "J/m", "160 Wh/km",
        group: Some(Group::Consumption), energy: EnergyNames::Needed;
    SPECIFIC_ENERGY = "specific energy", [2, 0, -2, 0, 0, 0], "Wh/kg", "J/kg", "150 Wh/kg";
    SPECIFIC_POWER = "specific power", [2, 0, -3, 0, 0, 0], "W/kg", "W/kg", "40 W/kg";
    PRESSURE = "pressure", [-1, 1, -2, 0, 0, 0], "bar", "Pa", "2.4 bar", group: Some(Group::Pressure);
    MASS_MOMENT = "moment of mass", [1, 1, 0, 0, 0, 0], "kg·m", "kg·m", "30 kg m";
    MASS_FLOW = "mass flow", [0, 1, -1, 0, 0, 0], "kg/s", "kg/s", "0.2 kg/s";
    VOLUME_FLOW = "volume flow", [3, 0, -1, 0, 0, 0], "L/min", "m³/s", "12 L/min";
    CURRENT = "current", [0, 0, 0, 1, 0, 0], "A", "A", "200 A";
    CURRENT_DENSITY = "current density", [-2, 0, 0, 1, 0, 0], "A/mm²", "A/m²", "4 A/mm^2";
    CURRENT_SQUARED_TIME = "current squared times time", [0, 0, 1, 2, 0, 0], "A²·s", "A²·s", "40 000 A^2 s";
    HEAT_CONSTANT = "heat constant of a conductor", [-4, 0, 1, 2, 0, 0], "A²·s/mm⁴", "A²·s/m⁴",
        "51 076 A^2 s/mm^4";
    VOLTAGE = "voltage", [2, 1, -3, -1, 0, 0], "V", "V", "355 V";
    TORQUE_PER_CURRENT = "torque per current", [2, 1, -2, -1, 0, 0], "N·m/A", "N·m/A", "0.35 N m/A";
    VOLTAGE_PER_SPEED = "voltage per angular speed", [2, 1, -2, -1, 0, -1], "V/rpm", "V·s/rad", "0.04 V/rpm";
    RESISTANCE = "resistance", [2, 1, -3, -2, 0, 0], "mΩ", "Ω", "1.2 mohm";
    INSULATION = "resistance", [2, 1, -3, -2, 0, 0], "kΩ", "Ω", "200 kohm";
    RESISTANCE_PER_VOLT = "resistance per voltage", [0, 0, 0, -1, 0, 0], "Ω/V", "1/A", "500 ohm/V";
    RESISTIVITY = "resistivity", [3, 1, -3, -2, 0, 0], "Ω·mm²/m", "Ω·m", "0.0172 ohm mm^2/m";
    RESISTANCE_PER_LENGTH = "resistance per length", [1, 1, -3, -2, 0, 0], "mΩ/m", "Ω/m", "0.272 mohm/m";
    CHARGE = "charge", [0, 0, 1, 1, 0, 0], "Ah", "C", "60 Ah";
    CAPACITANCE = "capacitance", [-2, -1, 4, 2, 0, 0], "µF", "F", "800 uF";
    INDUCTANCE = "inductance", [2, 1, -2, -2, 0, 0], "µH", "H", "20 uH";
    TEMPERATURE = "temperature", [0, 0, 0, 0, 1, 0], "°C", "K", "20 °C",
        group: Some(Group::Temperature), point: true;
    TEMPERATURE_DIFFERENCE = "temperature difference", [0, 0, 0, 0, 1, 0], "K", "K", "5 K";
    TEMPERATURE_RATE = "rate of temperature", [0, 0, -1, 0, 1, 0], "K/h", "K/s", "30 K/h";
    TEMPERATURE_COEFFICIENT = "temperature coefficient", [0, 0, 0, 0, -1, 0], "1/K", "1/K", "0.0039 1/K";
    HEAT_CAPACITY = "heat capacity", [2, 1, -2, 0, -1, 0], "kJ/K", "J/K", "90 kJ/K";
    SPECIFIC_HEAT = "specific heat capacity", [2, 0, -2, 0, -1, 0], "J/(kg·K)", "J/(kg·K)", "1 050 J/(kg K)";
    THERMAL_RESISTANCE = "thermal resistance", [-2, -1, 3, 0, 1, 0], "K/W", "K/W", "0.4 K/W";
    THERMAL_CONDUCTANCE = "thermal conductance", [2, 1, -3, 0, -1, 0], "W/K", "W/K", "12 W/K";
}

/// The name of the coherent SI unit of what is shown in `unit`: `W` and not `kg·m²/s³`, `N·m` for a torque.
pub(crate) fn si_unit_of(unit: &Unit) -> String {
    let named = [
        &FORCE,
        &CONSUMPTION,
        &TORQUE,
        &ENERGY,
        &POWER,
        &VOLTAGE,
        &RESISTANCE,
        &CHARGE,
        &CAPACITANCE,
        &PRESSURE,
        &INDUCTANCE,
    ];
    let fits = |sort: &&&Sort| {
        sort.dimension == unit.dimension
            && match sort.name {
                "force" | "torque" => !unit.names_energy,
                "energy" | "consumption" => unit.names_energy,
                _ => true,
            }
    };
    match named.iter().find(fits) {
        Some(sort) => sort.si_unit.to_owned(),
        None if unit.dimension.is_plain() && !unit.dimension.has_angle() => "1".to_owned(),
        None => unit.dimension.to_string(),
    }
}

/// What values of a dimension usually are, in SI, whatever the field; common practice, no source.
pub(crate) fn usual(dimension: Dimension) -> Option<(f64, f64)> {
    // Axles turn some hundred times a minute, motors some thousand times: 60 rpm to 60 000 rpm.
    let turning = dimension == ANGULAR_SPEED.dimension;
    turning.then_some((std::f64::consts::TAU, 1000.0 * std::f64::consts::TAU))
}

/// The sort of what is given in a unit and nothing else is known of: the first of its dimension that takes the unit.
pub(crate) fn of_unit(unit: &Unit) -> Option<&'static Sort> {
    let fits = |sort: &&&Sort| {
        sort.dimension == unit.dimension
            && sort.point == unit.is_point()
            && match sort.energy {
                EnergyNames::Free => true,
                EnergyNames::Needed => unit.names_energy,
                EnergyNames::Refused => !unit.names_energy,
            }
    };
    ALL.iter().find(fits).copied()
}

#[cfg(test)]
mod tests {
    use super::{ALL, Group};
    use crate::quantities::literal::read_literal;
    use crate::quantities::unit::read_unit;

    #[test]
    fn every_sort_takes_its_own_units_and_example() {
        for sort in ALL {
            let unit = read_unit(sort.unit).expect(sort.name);
            assert_eq!(unit.symbol, sort.unit, "units are named by their standard symbol");
            assert!(unit.dimension.same(sort.dimension), "{}", sort.name);
            assert_eq!(unit.is_point(), sort.point, "{}", sort.name);
            let si = read_unit(sort.si_unit).expect(sort.name);
            assert_eq!((si.factor, si.dimension.same(sort.dimension)), (1.0, true), "{}", sort.name);
            let example = read_literal(sort.example).expect(sort.example);
            assert!(example.expect(sort).is_ok(), "{}: {}", sort.name, sort.example);
        }
    }

    #[test]
    fn every_group_chooses_the_unit_of_its_sort() {
        assert!(Group::ALL.iter().all(|group| group.sort().group == Some(*group)));
    }
}
