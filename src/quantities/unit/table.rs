//! The units that the language has: symbols, exact factors and typed forms, in one sorted table.

use std::f64::consts::PI;

use super::super::dimension::Dimension;

/// One spelling of a unit. Its factor to SI is `mantissa` × 10^`tens`, kept apart so that decimal units stay exact.
pub(super) struct Entry {
    pub spelling: &'static str,
    pub meaning: Meaning,
}

pub(super) enum Meaning {
    Plain(Plain),
    /// A typed form that stands for a compound: `Nm` is `N·m`.
    Stands(&'static str),
}

#[derive(Clone, Copy)]
pub(super) struct Plain {
    /// The standard symbol, as it is printed.
    pub symbol: &'static str,
    pub dimension: Dimension,
    pub mantissa: f64,
    pub tens: i32,
    /// Added after the factor, for a temperature that stands alone.
    pub offset: f64,
    pub prefix: Prefixes,
    /// Whether writing it says that energy is meant: a torque is not given in it.
    pub energy: bool,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Prefixes {
    Taken,
    Refused,
}

/// Prefix as typed, as printed, power of ten. Longer ones first, so that `da` is not `d`.
pub(super) const PREFIXES: &[(&str, &str, i32)] = &[
    ("da", "da", 1),
    ("k", "k", 3),
    ("m", "m", -3),
    ("M", "M", 6),
    ("µ", "µ", -6),
    ("u", "µ", -6),
    ("c", "c", -2),
    ("G", "G", 9),
    ("n", "n", -9),
    ("h", "h", 2),
    ("d", "d", -1),
    ("p", "p", -12),
    ("T", "T", 12),
    ("f", "f", -15),
    ("P", "P", 15),
    ("a", "a", -18),
    ("E", "E", 18),
    ("z", "z", -21),
    ("Z", "Z", 21),
    ("y", "y", -24),
    ("Y", "Y", 24),
    ("r", "r", -27),
    ("R", "R", 27),
    ("q", "q", -30),
    ("Q", "Q", 30),
];

// Exact factors, NIST SP 811 (2008), appendix B.8 and its footnotes.
/// International foot and its inch and mile.
const FOOT: f64 = 0.3048;
const INCH: f64 = 0.0254;
const MILE: f64 = 1609.344;
/// Avoirdupois pound (footnote 22) and its ounce, 1/16 of it.
const POUND: f64 = 0.453_592_37;
const OUNCE: f64 = 0.028_349_523_125;
/// Standard acceleration of free fall.
const GRAVITY: f64 = 9.806_65;
/// Pound-force (footnote 23): pound × standard gravity.
const POUND_FORCE: f64 = 4.448_221_615_260_5;
/// 231 cubic inches.
const US_GALLON: f64 = 3.785_411_784;

const LENGTH: Dimension = Dimension::of([1, 0, 0, 0, 0, 0]);
const VOLUME: Dimension = Dimension::of([3, 0, 0, 0, 0, 0]);
const MASS: Dimension = Dimension::of([0, 1, 0, 0, 0, 0]);
const TIME: Dimension = Dimension::of([0, 0, 1, 0, 0, 0]);
const CURRENT: Dimension = Dimension::of([0, 0, 0, 1, 0, 0]);
const TEMPERATURE: Dimension = Dimension::of([0, 0, 0, 0, 1, 0]);
const ANGLE: Dimension = Dimension::of([0, 0, 0, 0, 0, 1]);
const FREQUENCY: Dimension = Dimension::of([0, 0, -1, 0, 0, 0]);
const ANGULAR_SPEED: Dimension = Dimension::of([0, 0, -1, 0, 0, 1]);
const ACCELERATION: Dimension = Dimension::of([1, 0, -2, 0, 0, 0]);
const FORCE: Dimension = Dimension::of([1, 1, -2, 0, 0, 0]);
const PRESSURE: Dimension = Dimension::of([-1, 1, -2, 0, 0, 0]);
const ENERGY: Dimension = Dimension::of([2, 1, -2, 0, 0, 0]);
const POWER: Dimension = Dimension::of([2, 1, -3, 0, 0, 0]);
const CHARGE: Dimension = Dimension::of([0, 0, 1, 1, 0, 0]);
const VOLTAGE: Dimension = Dimension::of([2, 1, -3, -1, 0, 0]);
const RESISTANCE: Dimension = Dimension::of([2, 1, -3, -2, 0, 0]);
const CONDUCTANCE: Dimension = Dimension::of([-2, -1, 3, 2, 0, 0]);
const CAPACITANCE: Dimension = Dimension::of([-2, -1, 4, 2, 0, 0]);
const INDUCTANCE: Dimension = Dimension::of([2, 1, -2, -2, 0, 0]);
const FLUX: Dimension = Dimension::of([2, 1, -2, -1, 0, 0]);
const FLUX_DENSITY: Dimension = Dimension::of([0, 1, -2, -1, 0, 0]);

/// An SI unit, which takes prefixes.
const fn si(spelling: &'static str, symbol: &'static str, dimension: Dimension) -> Entry {
    let plain = Plain {
        symbol,
        dimension,
        mantissa: 1.0,
        tens: 0,
        offset: 0.0,
        prefix: Prefixes::Taken,
        energy: false,
    };
    Entry { spelling, meaning: Meaning::Plain(plain) }
}

/// A trade unit, which takes none.
const fn trade(spelling: &'static str, symbol: &'static str, dimension: Dimension, factor: f64) -> Entry {
    let plain = Plain {
        symbol,
        dimension,
        mantissa: factor,
        tens: 0,
        offset: 0.0,
        prefix: Prefixes::Refused,
        energy: false,
    };
    Entry { spelling, meaning: Meaning::Plain(plain) }
}

const fn stands(spelling: &'static str, compound: &'static str) -> Entry {
    Entry { spelling, meaning: Meaning::Stands(compound) }
}

impl Entry {
    const fn tens(mut self, tens: i32) -> Entry {
        if let Meaning::Plain(plain) = &mut self.meaning {
            plain.tens = tens;
        }
        self
    }

    const fn times(mut self, mantissa: f64) -> Entry {
        if let Meaning::Plain(plain) = &mut self.meaning {
            plain.mantissa = mantissa;
        }
        self
    }

    const fn offset(mut self, offset: f64) -> Entry {
        if let Meaning::Plain(plain) = &mut self.meaning {
            plain.offset = offset;
        }
        self
    }

    const fn energy(mut self) -> Entry {
        if let Meaning::Plain(plain) = &mut self.meaning {
            plain.energy = true;
        }
        self
    }
}

/// Kelvin at 0 °C.
const CELSIUS: f64 = 273.15;
/// Kelvin at 0 °F: 459.67/1.8.
const FAHRENHEIT: f64 = 459.67 / 1.8;

/// Sorted by spelling, bytewise.
pub(super) static UNITS: &[Entry] = &[
    trade("%", "%", Dimension::NONE, 1.0).tens(-2),
    si("A", "A", CURRENT),
    si("Ah", "Ah", CHARGE).times(3600.0),
    si("C", "C", CHARGE),
    si("F", "F", CAPACITANCE),
    si("H", "H", INDUCTANCE),
    si("Hz", "Hz", FREQUENCY),
    si("J", "J", ENERGY).energy(),
    si("K", "K", TEMPERATURE),
    si("L", "L", VOLUME).tens(-3),
    si("N", "N", FORCE),
    stands("Nm", "N·m"),
    si("Pa", "Pa", PRESSURE),
    si("S", "S", CONDUCTANCE),
    si("T", "T", FLUX_DENSITY),
    trade("US_gal", "US_gal", VOLUME, US_GALLON).tens(-3),
    si("V", "V", VOLTAGE).energy(),
    si("W", "W", POWER).energy(),
    si("Wb", "Wb", FLUX),
    si("Wh", "Wh", ENERGY).times(3600.0).energy(),
    trade("bar", "bar", PRESSURE, 1.0).tens(5),
    trade("day", "day", TIME, 86_400.0),
    trade("days", "day", TIME, 86_400.0),
    trade("deg", "deg", ANGLE, PI / 180.0),
    trade("degC", "°C", TEMPERATURE, 1.0).offset(CELSIUS),
    trade("degF", "°F", TEMPERATURE, 1.0 / 1.8).offset(FAHRENHEIT),
    trade("ft", "ft", LENGTH, FOOT),
    si("g", "g", MASS).tens(-3),
    trade("g_n", "gₙ", ACCELERATION, GRAVITY),
    trade("gₙ", "gₙ", ACCELERATION, GRAVITY),
    trade("h", "h", TIME, 3600.0),
    trade("hp", "hp", POWER, 550.0 * FOOT * POUND_FORCE).energy(),
    trade("in", "in", LENGTH, INCH),
    stands("kNm", "kN·m"),
    stands("kph", "km/h"),
    si("l", "L", VOLUME).tens(-3),
    trade("lb", "lb", MASS, POUND),
    trade("lbf", "lbf", FORCE, POUND_FORCE),
    si("m", "m", LENGTH),
    stands("mNm", "mN·m"),
    trade("mi", "mi", LENGTH, MILE),
    trade("min", "min", TIME, 60.0),
    stands("mph", "mi/h"),
    si("ohm", "Ω", RESISTANCE),
    trade("oz", "oz", MASS, OUNCE),
    trade("psi", "psi", PRESSURE, POUND_FORCE / (INCH * INCH)),
    si("rad", "rad", ANGLE),
    trade("rev", "rev", ANGLE, 2.0 * PI),
    trade("rpm", "rpm", ANGULAR_SPEED, 2.0 * PI / 60.0),
    si("s", "s", TIME),
    trade("week", "week", TIME, 604_800.0),
    trade("weeks", "week", TIME, 604_800.0),
    trade("°", "deg", ANGLE, PI / 180.0),
    trade("°C", "°C", TEMPERATURE, 1.0).offset(CELSIUS),
    trade("°F", "°F", TEMPERATURE, 1.0 / 1.8).offset(FAHRENHEIT),
    si("Ω", "Ω", RESISTANCE),
];

/// The entry of one spelling.
pub(super) fn find(spelling: &str) -> Option<&'static Entry> {
    UNITS.binary_search_by(|entry| entry.spelling.cmp(spelling)).ok().map(|at| &UNITS[at])
}

#[cfg(test)]
mod tests {
    use super::UNITS;

    #[test]
    fn the_tables_are_sorted_and_have_no_doubles() {
        assert!(UNITS.windows(2).all(|pair| pair[0].spelling < pair[1].spelling));
    }
}
