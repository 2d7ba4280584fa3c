//! The dimension of a quantity: exponents of length, mass, time, current, temperature, angle and money.

use super::currency::currency_text;
use crate::words::{Part, Run, Words};
use std::fmt::{Display, Formatter, Result as Written, Write};

/// Exponents in half units, so that the square root of a length has one.
///
/// Angle is tracked, so that an angular speed differs from a frequency, but it is soft: [`Dimension::same`]
/// leaves it out, for torque × angular speed is a power. Equality compares it. Money carries its currency.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Dimension {
    /// Length, mass, time, current, temperature, angle.
    halves: [i8; 6],
    money: i8,
    /// ISO 4217, upper case; zeros where there is no money, or where any currency will do.
    currency: [u8; 3],
}

/// Why two dimensions have no product.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Clash {
    Currencies([u8; 3], [u8; 3]),
    TooLarge,
}

const ANGLE: usize = 5;
/// Beyond this an exponent is a mistake; it leaves room to add two of them in an `i8`.
const LARGEST: i8 = 60;
const SYMBOLS: [&str; 6] = ["m", "kg", "s", "A", "K", "rad"];
/// Mass first, as SI writes its compound units.
const PRINT_ORDER: [usize; 6] = [1, 0, 2, 3, 4, 5];

impl Dimension {
    /// That of a plain number.
    pub(crate) const NONE: Dimension = Dimension::of([0; 6]);

    /// From whole exponents of length, mass, time, current, temperature and angle.
    pub(crate) const fn of(exponents: [i8; 6]) -> Dimension {
        let mut halves = [0; 6];
        let mut i = 0;
        while i < 6 {
            halves[i] = exponents[i] * 2;
            i += 1;
        }
        Dimension { halves, money: 0, currency: [0; 3] }
    }

    /// Money in one currency; `[0; 3]` stands for any.
    pub(crate) const fn money(currency: [u8; 3]) -> Dimension {
        Dimension { halves: [0; 6], money: 2, currency }
    }

    /// Whether quantities of both can be added, angle left out.
    pub(crate) fn same(self, other: Dimension) -> bool {
        self.halves[..ANGLE] == other.halves[..ANGLE]
            && self.money == other.money
            && (self.currency == other.currency || self.currency == [0; 3] || other.currency == [0; 3])
    }

    /// Whether both are money to the same power, in two currencies.
    pub(crate) fn differs_in_currency(self, other: Dimension) -> bool {
        !self.same(other) && self.halves[..ANGLE] == other.halves[..ANGLE] && self.money == other.money
    }

    /// A plain number, or an angle.
    pub(crate) fn is_plain(self) -> bool {
        self.same(Dimension::NONE)
    }

    pub(crate) fn has_angle(self) -> bool {
        self.halves[ANGLE] != 0
    }

    pub(crate) fn is_money(self) -> bool {
        self.money != 0
    }

    /// That of a sum: the angle of whichever has one.
    #[must_use]
    pub(crate) fn joined(self, other: Dimension) -> Dimension {
        if self.has_angle() { self } else { other }
    }

    pub(crate) fn mul(self, other: Dimension) -> Result<Dimension, Clash> {
        let mut product = self;
        for (mine, theirs) in product.halves.iter_mut().zip(other.halves) {
            *mine = add(*mine, theirs)?;
        }
        if self.money != 0 && other.money != 0 && self.currency != other.currency {
            return Err(Clash::Currencies(self.currency, other.currency));
        }
        product.money = add(self.money, other.money)?;
        product.currency = match (product.money, self.money) {
            (0, _) => [0; 3],
            (_, 0) => other.currency,
            _ => self.currency,
        };
        Ok(product)
    }

    pub(crate) fn div(self, other: Dimension) -> Result<Dimension, Clash> {
        let mut inverse = other;
        inverse.halves = inverse.halves.map(|half| -half);
        inverse.money = -inverse.money;
        self.mul(inverse)
    }

    /// `None` where an exponent does not come out in halves, or too large. An angle that does not is dropped.
    pub(crate) fn pow(self, exponent: f64) -> Option<Dimension> {
        let mut power = self;
        for (slot, half) in power.halves.iter_mut().enumerate() {
            *half = match scaled(*half, exponent) {
                None if slot == ANGLE => 0,
                other => other?,
            };
        }
        power.money = scaled(self.money, exponent)?;
        if power.money == 0 {
            power.currency = [0; 3];
        }
        Some(power)
    }

    /// In words, with an article: `a mass`, `a torque or energy`; others in SI units.
    pub(crate) fn words(self) -> String {
        if self.money == 2 && self.halves == [0; 6] {
            return match currency_text(self.currency) {
                "" => "money".to_owned(),
                currency => format!("money in {currency}"),
            };
        }
        let exactly = |exponents: &[i8; 6]| self == Dimension::of(*exponents);
        let nearly = |exponents: &[i8; 6]| self.same(Dimension::of(*exponents));
        let found = WORDS
            .iter()
            .find(|(exponents, _)| exactly(exponents))
            .or_else(|| WORDS.iter().find(|(exponents, _)| nearly(exponents)));
        match found {
            Some((_, words)) => (*words).to_owned(),
            None => format!("a quantity in {self}"),
        }
    }
}

fn add(a: i8, b: i8) -> Result<i8, Clash> {
    match a.checked_add(b) {
        Some(sum) if sum.abs() <= LARGEST => Ok(sum),
        _ => Err(Clash::TooLarge),
    }
}

fn scaled(half: i8, exponent: f64) -> Option<i8> {
    let exact = f64::from(half) * exponent;
    let near = exact.round();
    if (exact - near).abs() > 1e-9 || near.abs() > f64::from(LARGEST) || exact.is_nan() {
        return None;
    }
    #[allow(clippy::cast_possible_truncation)]
    Some(near as i8)
}

/// Length, mass, time, current, temperature, angle.
const WORDS: &[([i8; 6], &str)] = &[
    ([0, 0, 0, 0, 0, 0], "a plain number"),
    ([0, 0, 0, 0, 0, 1], "an angle"),
    ([1, 0, 0, 0, 0, 0], "a length"),
    ([2, 0, 0, 0, 0, 0], "an area"),
    ([3, 0, 0, 0, 0, 0], "a volume"),
    ([-1, 0, 0, 0, 0, 0], "a curvature"),
    ([0, 1, 0, 0, 0, 0], "a mass"),
    ([0, 0, 1, 0, 0, 0], "a time"),
    ([0, 0, 0, 1, 0, 0], "a current"),
    ([0, 0, 0, 0, 1, 0], "a temperature"),
    ([0, 0, -1, 0, 0, 0], "a frequency"),
    ([0, 0, -1, 0, 0, 1], "an angular speed"),
    ([0, 0, -2, 0, 0, 1], "an angular acceleration"),
    ([1, 0, -1, 0, 0, 0], "a speed"),
    ([1, 0, -2, 0, 0, 0], "an acceleration"),
    ([2, 0, -2, 0, 0, 0], "a specific energy"),
    ([3, 0, -1, 0, 0, 0], "a volume flow"),
    ([1, 1, -1, 0, 0, 0], "a momentum"),
    ([1, 1, -2, 0, 0, 0], "a force or energy per distance"),
    ([2, 1, -2, 0, 0, 0], "a torque or energy"),
    ([2, 1, -3, 0, 0, 0], "a power"),
    ([2, 0, -3, 0, 0, 0], "a specific power"),
    ([-1, 1, -2, 0, 0, 0], "a pressure"),
    ([0, 1, -2, 0, 0, 0], "a stiffness"),
    ([-3, 1, 0, 0, 0, 0], "a density"),
    ([0, 1, -1, 0, 0, 0], "a mass flow"),
    ([1, 1, 0, 0, 0, 0], "a mass × length"),
    ([2, 1, 0, 0, 0, 0], "a moment of inertia"),
    ([2, 1, -3, -1, 0, 0], "a voltage"),
    ([2, 1, -3, -2, 0, 0], "a resistance"),
    ([3, 1, -3, -2, 0, 0], "a resistivity"),
    ([1, 1, -3, -2, 0, 0], "a resistance per length"),
    ([-2, -1, 3, 2, 0, 0], "a conductance"),
    ([0, 0, 1, 1, 0, 0], "a charge"),
    ([-2, -1, 4, 2, 0, 0], "a capacitance"),
    ([2, 1, -2, -2, 0, 0], "an inductance"),
    ([2, 1, -2, -1, 0, 0], "a magnetic flux"),
    ([0, 1, -2, -1, 0, 0], "a magnetic flux density"),
    ([-2, 0, 0, 1, 0, 0], "a current density"),
    ([0, 0, 0, 0, -1, 0], "a temperature coefficient"),
    ([2, 1, -2, 0, -1, 0], "a heat capacity"),
    ([2, 0, -2, 0, -1, 0], "a specific heat capacity"),
    ([-2, -1, 3, 0, 1, 0], "a thermal resistance"),
    ([1, 1, -3, 0, -1, 0], "a thermal conductivity"),
];

impl Display for Dimension {
    /// In SI base units, in a form that is read back: `kg·m²/s³`, `1/s`, `1`.
    fn fmt(&self, out: &mut Formatter<'_>) -> Written {
        let (mut above, mut below) = (Vec::new(), Vec::new());
        let slots = PRINT_ORDER.iter().map(|slot| (SYMBOLS[*slot], self.halves[*slot]));
        for (symbol, half) in slots.chain([(currency_text(self.currency), self.money)]) {
            match half {
                0 => {}
                1.. => above.push(with_power(symbol, half)),
                _ => below.push(with_power(symbol, -half)),
            }
        }
        out.write_str(&if above.is_empty() { "1".to_owned() } else { above.join("·") })?;
        match below.len() {
            0 => Ok(()),
            1 => write!(out, "/{}", below[0]),
            _ => write!(out, "/({})", below.join("·")),
        }
    }
}

fn with_power(symbol: &str, halves: i8) -> String {
    let mut text = symbol.to_owned();
    if halves % 2 != 0 {
        let _ = write!(text, "^{}", f64::from(halves) / 2.0);
    } else if halves != 2 {
        text.push_str(&superscript(i32::from(halves / 2)));
    }
    text
}

/// A whole number in superscript digits.
pub(crate) fn superscript(number: i32) -> String {
    const DIGITS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    number
        .to_string()
        .chars()
        .map(|digit| digit.to_digit(10).map_or('⁻', |digit| DIGITS[digit as usize]))
        .collect()
}

impl Part for Dimension {
    fn put(&self, words: &mut Words) {
        words.push(Run::Text(self.to_string().into()));
    }
}

#[cfg(test)]
mod tests {
    use super::{Clash, Dimension};

    const POWER: Dimension = Dimension::of([2, 1, -3, 0, 0, 0]);
    const TORQUE: Dimension = Dimension::of([2, 1, -2, 0, 0, 0]);
    const ANGULAR_SPEED: Dimension = Dimension::of([0, 0, -1, 0, 0, 1]);

    #[test]
    fn torque_times_angular_speed_is_power() {
        let product = TORQUE.mul(ANGULAR_SPEED).expect("small exponents");
        assert!(product.same(POWER));
        assert_ne!(product, POWER, "the angle is remembered");
    }

    #[test]
    fn dimensions_print_in_si_units() {
        assert_eq!(POWER.to_string(), "kg·m²/s³");
        assert_eq!(Dimension::of([2, 1, -3, -2, 0, 0]).to_string(), "kg·m²/(s³·A²)");
        assert_eq!(Dimension::of([0, 0, -1, 0, 0, 0]).to_string(), "1/s");
        assert_eq!(Dimension::NONE.to_string(), "1");
        assert_eq!(Dimension::of([1, 0, 0, 0, 0, 0]).pow(0.5).expect("a half").to_string(), "m^0.5");
    }

    #[test]
    fn powers_come_out_in_halves_or_not_at_all() {
        let area = Dimension::of([2, 0, 0, 0, 0, 0]);
        assert_eq!(area.pow(0.5), Some(Dimension::of([1, 0, 0, 0, 0, 0])));
        assert_eq!(area.pow(0.3), None);
        assert_eq!(area.pow(f64::NAN), None);
        assert_eq!(area.pow(1e300), None);
        assert_eq!(Dimension::NONE.pow(0.123), Some(Dimension::NONE));
    }

    #[test]
    fn currencies_never_mix() {
        let (eur, usd) = (Dimension::money(*b"EUR"), Dimension::money(*b"USD"));
        assert!(!eur.same(usd) && eur.differs_in_currency(usd));
        assert_eq!(eur.div(usd), Err(Clash::Currencies(*b"EUR", *b"USD")));
        assert_eq!(eur.div(eur), Ok(Dimension::NONE));
    }

    #[test]
    fn usual_dimensions_have_words() {
        assert_eq!(TORQUE.words(), "a torque or energy");
        assert_eq!(ANGULAR_SPEED.words(), "an angular speed");
        assert_eq!(Dimension::of([5, 0, 0, 0, 0, 0]).words(), "a quantity in m⁵");
    }
}
