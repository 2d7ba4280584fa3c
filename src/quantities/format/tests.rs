//! What is printed, and that it is read back.

use super::{show_number, show_operand, show_quantity, show_with_uncertainty};
use crate::quantities::literal::read_literal;
use crate::quantities::unit::{Unit, read_unit};

fn unit(text: &str) -> Unit {
    read_unit(text).expect(text)
}

#[track_caller]
fn number(value: f64, significant: usize, shown: &str) {
    assert_eq!(show_number(value, significant).replace('\u{a0}', " "), shown);
}

#[test]
fn numbers_are_rounded_but_never_left_of_the_point() {
    number(12133.4, 4, "12 133");
    number(1084.3, 5, "1 084.3");
    number(-0.011, 2, "−0.011");
    number(0.000_000_4, 2, "4.0e−7");
    number(0.0004, 3, "0.000400");
    number(-0.0, 3, "0");
    number(1e9, 3, "1.00e9");
    number(999_999_999.9, 4, "1.000e9");
    number(123_456_789.0, 2, "123 456 789");
    number(9.999, 3, "10.0");
    number(3.7, 4, "3.700");
    number(1e-9, 1, "1e−9");
    number(2.5e300, 2, "2.5e300");
    number(f64::NAN, 3, "—");
}

#[track_caller]
fn quantity(value: f64, in_unit: &str, significant: usize, shown: &str) {
    let unit = unit(in_unit);
    assert_eq!(show_quantity(unit.to_si(value), &unit, significant), shown.replace(' ', "\u{a0}"));
}

#[test]
fn units_are_kept_with_their_number() {
    quantity(12133.4, "rpm", 4, "12 133 rpm");
    quantity(1.1, "%", 2, "1.1 %");
    quantity(20.0, "°C", 3, "20.0 °C");
    quantity(11.19, "1", 4, "11.19");
    quantity(12.0, "kWh/(100 km)", 3, "12.0 kWh/(100 km)");
    quantity(6.0, "weeks", 1, "6 weeks");
    quantity(1.0, "day", 1, "1 day");
    quantity(1250.5, "EUR", 4, "1 250.50 EUR");
    quantity(1250.0, "EUR", 4, "1 250 EUR");
}

#[test]
fn operands_lose_trailing_zeros() {
    let shown = |value: f64, digits| show_operand(value, &unit("m"), digits).replace('\u{a0}', " ");
    assert_eq!(shown(2.0, 5), "2 m");
    assert_eq!(shown(2.50, 5), "2.5 m");
    assert_eq!(shown(100.0, 3), "100 m");
    assert_eq!(shown(1.50e9, 4), "1.5e9 m");
}

#[track_caller]
fn uncertain(value: f64, expanded: f64, in_unit: &str, shown: &str) {
    let unit = unit(in_unit);
    let text = show_with_uncertainty(unit.to_si(value), expanded * unit.factor, &unit);
    assert_eq!(text.replace('\u{a0}', " "), shown);
    assert!(read_literal(&text).expect(&text).tolerance.is_some() || expanded == 0.0);
}

#[test]
fn value_and_uncertainty_end_at_the_same_place() {
    uncertain(142.3, 3.1, "kg", "142 ± 3 kg");
    uncertain(12133.4, 62.0, "rpm", "12 133 ± 62 rpm");
    uncertain(142.34, 1.44, "kg", "142.3 ± 1.4 kg");
    uncertain(142.34, 2.96, "kg", "142 ± 3 kg");
    uncertain(0.01234, 0.00056, "m", "0.0123 ± 0.0006 m");
    uncertain(11.19, 0.06, "1", "11.19 ± 0.06");
    uncertain(45.23, 0.31, "%", "(45.2 ± 0.3) %");
    uncertain(20.04, 0.5, "°C", "20.0 ± 0.5 °C");
    uncertain(0.2, 5.0, "kg", "0 ± 5 kg");
    uncertain(-0.2, 5.0, "kg", "0 ± 5 kg");
    uncertain(1.2e10, 3.4e7, "W", "1.200e10 ± 3e7 W");
    uncertain(5.0, 0.0, "kg", "5 kg");
    uncertain(5.0, 1e-8, "kg", "5.000000000 ± 0.000000010 kg");
}

#[test]
fn what_is_finer_than_any_digit_is_no_uncertainty() {
    let kilogram = read_unit("kg").expect("a unit");
    assert_eq!(show_with_uncertainty(5.0, 1e-30, &kilogram), "5\u{a0}kg");
}

/// A linear congruential generator with the constants of Knuth's MMIX.
struct Draws(u64);

impl Draws {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

#[test]
fn whatever_is_printed_is_read_back() {
    let units = [
        "1",
        "kg",
        "rpm",
        "km/h",
        "N·m",
        "%",
        "°C",
        "°F",
        "kWh/(100 km)",
        "µF",
        "Ω·mm²/m",
        "m^0.5",
        "week",
        "EUR",
    ]
    .map(unit);
    let mut draws = Draws(7);
    for i in 0..6000 {
        let unit = &units[i % units.len()];
        let power = draws.unit() * 40.0 - 20.0;
        let value = (draws.unit() - 0.5) * 10f64.powf(power);
        let digits = 1 + (draws.unit() * 8.0) as usize;
        let si = unit.to_si(value);
        // Nothing is colder, and nothing colder is read.
        if unit.is_point() && si < 0.0 {
            continue;
        }
        let shown = show_quantity(si, unit, digits);
        let read = read_literal(&shown).unwrap_or_else(|fault| panic!("{shown}: {}", fault.message));
        assert_eq!(read.unit.symbol, unit.symbol, "{shown}");
        assert_eq!(read.quantity.point, unit.is_point(), "{shown}");
        // Rounding, and what an offset of the scale swallows.
        let slack =
            (value.abs() * 10f64.powi(1 - digits as i32) + unit.value_of(0.0).abs() * 1e-13) * unit.factor;
        let money = if unit.dimension.is_money() { 0.006 + 1e-5 * si.abs() } else { 0.0 };
        assert!((read.quantity.si - si).abs() <= slack + money, "{shown} for {si} {}", unit.symbol);
        let operand = show_operand(si, unit, digits);
        assert!(read_literal(&operand).is_ok(), "{operand}");

        let expanded = value.abs() * 10f64.powf(draws.unit() * 6.0 - 4.0) * unit.factor;
        let pair = show_with_uncertainty(si, expanded, unit);
        let read = read_literal(&pair).unwrap_or_else(|fault| panic!("{pair}: {}", fault.message));
        let width = read.tolerance.expect(&pair).half_width_si;
        assert!(
            (width - expanded).abs() <= 0.5 * expanded.max(unit.factor * 1e-12) + unit.factor * 1e-7,
            "{pair} for {expanded}"
        );
        assert!((read.quantity.si - si).abs() <= expanded + slack + 1e-9 * si.abs(), "{pair} for {si}");
    }
}

/// The digits as the standard library rounds them, by way of the power of ten that it finds itself.
fn by_the_long_way(value: f64, digits: usize) -> String {
    let scientific = format!("{:.*e}", digits - 1, value);
    let power: i32 = scientific.split_once('e').and_then(|(_, power)| power.parse().ok()).expect("a power");
    let decimals = usize::try_from(digits as i32 - 1 - power).unwrap_or(0);
    format!("{value:.decimals$}")
}

#[test]
fn every_power_of_ten_is_found() {
    for power in -4..8 {
        let ten: f64 = format!("1e{power}").parse().expect("a number");
        for steps in [-3i64, -2, -1, 0, 1, 2, 3] {
            let beside = f64::from_bits((ten.to_bits() as i64 + steps) as u64);
            for times in [1.0, 0.99996, 0.9995, 0.99949, 1.00004, 3.0, 9.9949, 9.995] {
                for digits in 1..=12 {
                    let value = beside * times;
                    let shown = show_number(value, digits).replace('\u{a0}', "");
                    assert_eq!(shown, by_the_long_way(value, digits), "{value:e} to {digits} digits");
                }
            }
        }
    }
}

#[test]
fn the_leading_digits_are_those_of_a_number_rounded_to_two() {
    let close =
        [295.0, 2.95, 0.002_95, 294.999_999, 9.95, 995.0, 9.949_999_999_9, 1.0, 10.0, 2.0, 9.999_99, 3.0e-13];
    let spread = (0..20_000).map(|i| 1.7e-14 * 1.003_7f64.powi(i));
    for value in close.into_iter().chain(spread) {
        let two = format!("{value:.1e}");
        let (mantissa, power) = two.split_once('e').expect("a power");
        let expected = (power.parse().expect("a power"), mantissa.starts_with(['1', '2']));
        assert_eq!(super::leading(value), expected, "{value}");
    }
}
