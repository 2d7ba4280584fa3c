//! A value in SI with its dimension, and the check against what is expected of it.

use super::dimension::Dimension;
use super::fault::Fault;
use super::sort::{EnergyNames, Sort};
use super::unit::Unit;
use crate::findings::codes;
use crate::words::{Words, words};

/// A number with meaning.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Quantity {
    pub si: f64,
    pub dimension: Dimension,
    /// Whether it is a point on the temperature scale (20 °C), not a difference (5 K).
    pub point: bool,
}

impl Quantity {
    pub(crate) fn new(si: f64, dimension: Dimension) -> Quantity {
        Quantity { si, dimension, point: false }
    }

    pub(crate) fn plain(value: f64) -> Quantity {
        Quantity::new(value, Dimension::NONE)
    }

    /// A value in a unit.
    pub(crate) fn in_unit(value: f64, unit: &Unit) -> Quantity {
        Quantity { si: unit.to_si(value), dimension: unit.dimension, point: unit.is_point() }
    }

    pub(super) fn below_absolute_zero(&self) -> bool {
        self.point && self.si < 0.0
    }

    /// In words, with an article.
    pub(crate) fn words(&self) -> String {
        if self.dimension.same(super::sort::TEMPERATURE.dimension) && !self.point {
            return "a temperature difference".to_owned();
        }
        self.dimension.words()
    }

    /// The SI value, if this is of the sort. The fault has no place.
    ///
    /// Errors: `unit-mismatch`, `currency-mix`, and `angle-ambiguous` for an angular speed that was worked out
    /// from no angle.
    pub(crate) fn expect(&self, sort: &Sort) -> Result<f64, Fault> {
        // Nearly always, and without a word made of it.
        if self.dimension == sort.dimension && self.point == sort.point {
            return Ok(self.si);
        }
        let expected = Expected { dimension: sort.dimension, point: Some(sort.point), words: sort.words() };
        self.meet(
            &expected,
            words!("check what it is worked out from; {} is, for example, `{}`", sort.words(), sort.example),
        )
    }

    /// The SI value, if it can be shown in the unit. The fault has no place; errors as for `expect`.
    pub(crate) fn expect_unit(&self, unit: &Unit) -> Result<f64, Fault> {
        let words = Quantity::in_unit(1.0, unit).words();
        // K shows temperatures and differences, °C and °F temperatures alone.
        let point = unit.is_point().then_some(true);
        let expected = Expected { dimension: unit.dimension, point, words };
        self.meet(&expected, words!("check what it is worked out from, and the unit `{}`", unit.symbol))
    }

    /// Whether it can be held against a limit. `literal` is the unit of a limit that is a number alone: 0 without a
    /// unit goes with anything but a temperature, and K with temperatures and differences alike. The fault has no
    /// place.
    ///
    /// Errors: `unit-mismatch`, `currency-mix`, `angle-ambiguous`.
    pub(crate) fn against(&self, limit: &Quantity, literal: Option<&Unit>) -> Result<(), Fault> {
        let bare = literal.is_some_and(Unit::is_one);
        if bare && limit.si == 0.0 && !self.point {
            return Ok(());
        }
        let two = || words!("{} against {}", self.words(), limit.words());
        if self.dimension.differs_in_currency(limit.dimension) {
            return Err(Fault::new(&codes::CURRENCY_MIX, 0..0, two(), "give all money in one currency"));
        }
        if !self.dimension.same(limit.dimension) {
            let help =
                if self.point { "give the limit its unit: `0 °C`" } else { "give both sides one dimension" };
            return Err(Fault::new(&codes::UNIT_MISMATCH, 0..0, two(), help));
        }
        self.turns_with(limit.dimension)?;
        let kelvin = literal.is_some_and(|unit| !unit.is_point());
        if self.point != limit.point && !(kelvin && self.point) {
            let message = words!("{} against {}", self.words(), limit.words());
            let help = "a difference is in K, for example `10 K`; a temperature in °C";
            return Err(Fault::new(&codes::UNIT_MISMATCH, 0..0, message, help));
        }
        Ok(())
    }

    /// An angular speed goes with no rate in 1/s. The fault has no place.
    pub(super) fn turns_with(&self, other: Dimension) -> Result<(), Fault> {
        let turning = turns_of_time(self.dimension) || turns_of_time(other);
        if !turning || self.dimension.has_angle() == other.has_angle() {
            return Ok(());
        }
        let message = "a rate in 1/s against an angular speed: it could mean radians or turns";
        let help = "type `rpm`, `rev/s` or `rad/s`, or multiply by `1 rad` or `1 rev`, whichever is meant";
        Err(Fault::new(&codes::ANGLE_AMBIGUOUS, 0..0, message, help))
    }

    fn meet(&self, expected: &Expected, help: impl Into<Words>) -> Result<f64, Fault> {
        if self.dimension.differs_in_currency(expected.dimension) {
            let message = format!("{} where {} is expected", self.words(), expected.words);
            return Err(Fault::new(&codes::CURRENCY_MIX, 0..0, message, "give all money in one currency"));
        }
        if !self.dimension.same(expected.dimension) {
            let message = format!("{} where {} is expected", self.words(), expected.words);
            return Err(Fault::new(&codes::UNIT_MISMATCH, 0..0, message, help));
        }
        if turns_of_time(expected.dimension) && !self.dimension.has_angle() {
            let message =
                format!("a rate in 1/s where {} is expected: it could mean radians or turns", expected.words);
            let help = "multiply by `1 rad` or by `1 rev`, whichever is meant";
            return Err(Fault::new(&codes::ANGLE_AMBIGUOUS, 0..0, message, help));
        }
        if turns_of_time(self.dimension) && !expected.dimension.has_angle() {
            let message = format!(
                "an angular speed where {} is expected: it could mean radians or turns",
                expected.words
            );
            let help = "divide by `1 rad` or by `1 rev`, whichever is meant";
            return Err(Fault::new(&codes::ANGLE_AMBIGUOUS, 0..0, message, help));
        }
        match expected.point {
            Some(false) if self.point => {
                let message = "a temperature where a temperature difference is expected";
                let help = "a difference is in K, or the difference of two temperatures";
                Err(Fault::new(&codes::UNIT_MISMATCH, 0..0, message, help))
            }
            Some(true) if !self.point => {
                let message = "a temperature difference where a temperature is expected";
                let help = "show a difference in K; added to a temperature it is one: `20 °C + …`";
                Err(Fault::new(&codes::UNIT_MISMATCH, 0..0, message, help))
            }
            _ => Ok(self.si),
        }
    }
}

struct Expected {
    dimension: Dimension,
    /// `None` where both a temperature and a difference will do.
    point: Option<bool>,
    words: String,
}

/// An angular speed, acceleration or jerk: what a frequency could be mistaken for.
fn turns_of_time(dimension: Dimension) -> bool {
    (1..=3).any(|power| dimension == Dimension::of([0, 0, -power, 0, 0, 1]))
}

/// Whether a written unit does for a sort. `found` is the text that it stands in, for the message; the fault has no
/// place. Errors as for [`Quantity::expect`], but stricter: what is written must say what is meant.
pub(super) fn accept_unit(unit: &Unit, sort: &Sort, found: &str) -> Result<(), Fault> {
    let expected = sort.words();
    let mismatch = |found: Words, help: Words| {
        Err(Fault::new(&codes::UNIT_MISMATCH, 0..0, format!("{found} where {expected} is expected"), help))
    };
    let usual = words!("type {}, for example `{}`", expected, sort.example);
    if unit.dimension.differs_in_currency(sort.dimension) {
        let message = words!("`{}` is {}, and {} is expected", found, unit.dimension.words(), expected);
        return Err(Fault::new(&codes::CURRENCY_MIX, 0..0, message, "give all money in one currency"));
    }
    if !unit.dimension.same(sort.dimension) {
        if unit.is_one() {
            return mismatch(
                words!("`{}` without a unit", found),
                words!("add its unit, for example `{}`", sort.example),
            );
        }
        let help = likely_unit(unit, sort, found).unwrap_or(usual);
        return mismatch(words!("`{}`, {},", found, Quantity::in_unit(1.0, unit).words()), help);
    }
    let (has, wants) = (unit.dimension.has_angle(), sort.dimension.has_angle());
    if turns_of_time(sort.dimension) && !has {
        let message = words!("`{}` could mean radians or turns where {} is expected", found, expected);
        let help = "type `rpm`, `rev/s` or `rad/s`";
        return Err(Fault::new(&codes::ANGLE_AMBIGUOUS, 0..0, message, help));
    }
    if unit.dimension.is_plain() && wants && !has {
        return mismatch(
            words!("`{}` without a unit", found),
            words!("add its unit, for example `{}`", sort.example),
        );
    }
    let only_angle = sort.dimension.is_plain() || sort.dimension == super::sort::FREQUENCY.dimension;
    if only_angle && has && !wants {
        return mismatch(words!("`{}`, {},", found, unit.dimension.words()), usual);
    }
    if unit.is_point() && !sort.point {
        return mismatch(
            words!("`{}`, a temperature,", found),
            "a difference of temperatures is in K, for example `5 K`".into(),
        );
    }
    match sort.energy {
        EnergyNames::Refused if unit.names_energy => mismatch(words!("`{}`, an energy,", found), usual),
        EnergyNames::Needed if !unit.names_energy => {
            mismatch(words!("`{}`, which names no energy,", found), usual)
        }
        _ => Ok(()),
    }
}

/// Mistakes that are made often enough to know what is meant.
fn likely_unit(unit: &Unit, sort: &Sort, found: &str) -> Option<Words> {
    let has = |dimension: [i8; 6]| unit.dimension == Dimension::of(dimension);
    let number = found.strip_suffix(&unit.symbol).unwrap_or("").trim_end();
    if unit.symbol == "g" && sort.name == "acceleration" {
        return Some(words!("standard gravity is `g_n`: type `{} g_n`", number));
    }
    match sort.name {
        "torque" if has([1, 1, 0, 0, 0, 0]) => {
            Some(words!("pounds of force are `lbf`: type `{} lbf ft`", number))
        }
        "torque" if unit.symbol == "nm" => Some(words!("`nm` are nanometres: type `{} N m`", number)),
        "force" if unit.symbol == "lb" => Some(words!("pounds of force are `lbf`: type `{} lbf`", number)),
        "force" if unit.symbol == "kg" => Some("a force is in `N`: 1 kg weighs 9.80665 N".into()),
        "energy" if has([2, 1, -3, 0, 0, 0]) => {
            Some("a power times its time is an energy: type `kWh`".into())
        }
        "power" if has([2, 1, -2, 0, 0, 0]) => {
            Some("type a power, for example `kW`; `kWh` is an energy".into())
        }
        "charge" if has([0, 0, 0, 1, 0, 0]) => Some(words!("a capacity is in `Ah`: type `{} Ah`", number)),
        "current" if has([0, 0, 1, 1, 0, 0]) => Some(words!("a current is in `A`: type `{} A`", number)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::Quantity;
    use crate::quantities::literal::read_literal;
    use crate::quantities::sort::{
        ANGULAR_SPEED, FREQUENCY, MASS, POWER, SPEED, Sort, TEMPERATURE, TEMPERATURE_DIFFERENCE, TORQUE,
    };
    use crate::quantities::unit::read_unit;

    /// A worked-out value, in the dimension of a unit.
    #[track_caller]
    fn check(unit: &str, sort: &Sort) -> Result<f64, &'static str> {
        let dimension = read_unit(unit).expect(unit).dimension;
        Quantity::new(2.0, dimension).expect(sort).map_err(|fault| fault.code.name)
    }

    #[test]
    fn a_worked_out_value_is_of_its_sort() {
        assert_eq!(check("kg", &MASS), Ok(2.0));
        assert_eq!(check("kg", &SPEED), Err("unit-mismatch"));
        assert_eq!(check("N m rad/s", &POWER), Ok(2.0));
        assert_eq!(check("m rad/s", &SPEED), Ok(2.0));
        assert_eq!(check("J", &TORQUE), Ok(2.0), "a worked-out value has no unit that could name an energy");
        assert_eq!(check("1/s", &ANGULAR_SPEED), Err("angle-ambiguous"));
        assert_eq!(check("rad/s", &ANGULAR_SPEED), Ok(2.0));
        assert_eq!(check("1/s", &FREQUENCY), Ok(2.0));
    }

    #[test]
    fn a_worked_out_value_fits_a_unit_or_not() {
        let warm = read_literal("20 °C").expect("a temperature").quantity;
        let code =
            |unit: &str| warm.expect_unit(&read_unit(unit).expect(unit)).map_err(|fault| fault.code.name);
        assert_eq!(code("°F"), Ok(293.15));
        assert_eq!(code("K"), Ok(293.15));
        assert_eq!(code("m"), Err("unit-mismatch"));
        assert_eq!(
            warm.expect(&TEMPERATURE_DIFFERENCE).map_err(|fault| fault.code.name),
            Err("unit-mismatch")
        );
        assert_eq!(warm.expect(&TEMPERATURE), Ok(293.15));
        let rise = read_literal("5 K").expect("a difference").quantity;
        assert_eq!(
            rise.expect_unit(&read_unit("°C").expect("°C")).expect_err("a difference").code.name,
            "unit-mismatch"
        );
        assert_eq!(rise.expect(&TEMPERATURE).expect_err("a difference").code.name, "unit-mismatch");
        let price = read_literal("250 EUR").expect("money").quantity;
        let dollars = read_unit("USD").expect("a currency");
        assert_eq!(price.expect_unit(&dollars).expect_err("another currency").code.name, "currency-mix");
    }
}
