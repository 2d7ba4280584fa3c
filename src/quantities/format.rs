//! Numbers and quantities as the dossier prints them; everything printed here is read back by the readers of this room.

use std::borrow::Cow;

use super::number::{MINUS, NO_BREAK, group_digits};
use super::unit::Unit;

/// At and above this, and below [`SMALL`], a power of ten is printed.
const LARGE: f64 = 1e9;
const SMALL: f64 = 1e-6;
/// Well between the two.
const PLAIN: (f64, f64) = (1e-5, 9e8);
/// No value is shown with more digits than this.
const MOST_DIGITS: i32 = 10;

impl Unit {
    /// The symbol, kept together.
    pub(crate) fn printed(&self) -> Cow<'static, str> {
        match self.symbol.contains(' ') {
            true => Cow::Owned(self.symbol.replace(' ', "\u{a0}")),
            false => Cow::Borrowed(self.symbol),
        }
    }

    /// The symbol after this number: days and weeks have a plural.
    pub(super) fn printed_after(&self, number: &str) -> Cow<'static, str> {
        match self.symbol {
            "day" if number != "1" => Cow::Borrowed("days"),
            "week" if number != "1" => Cow::Borrowed("weeks"),
            _ => self.printed(),
        }
    }
}

/// A number rounded to so many significant digits, but never left of the point; trailing zeros stay.
///
/// `12 133` for 12133.4 to 4 digits; `1.20e9` from 1e9 on and below 1e-6; never `-0`.
pub(crate) fn show_number(value: f64, significant: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".to_owned() } else { "—".to_owned() };
    }
    let digits = significant.clamp(1, 17);
    if (PLAIN.0..PLAIN.1).contains(&value.abs()) {
        let decimals =
            usize::try_from(i32::try_from(digits).unwrap_or(17) - 1 - power_of(value)).unwrap_or(0);
        let text = format!("{:.*}", decimals, value.abs());
        let counted = text.bytes().filter(u8::is_ascii_digit).skip_while(|digit| *digit == b'0').count();
        // Rounding may have made one digit more of it: 9.996 to three digits.
        let idle = usize::from(counted > digits && decimals > 0) * if decimals == 1 { 2 } else { 1 };
        return grouped(value, &text[..text.len() - idle]);
    }
    let scientific = format!("{:.*e}", digits - 1, value.abs());
    let (mantissa, power) = scientific.split_once('e').unwrap_or((&scientific, "0"));
    let power: i32 = power.parse().unwrap_or(0);
    if value.abs() >= LARGE || power >= 9 || value.abs() < SMALL {
        return format!("{}{mantissa}e{}", sign(value), signed_power(power));
    }
    let decimals = usize::try_from(i32::try_from(digits).unwrap_or(17) - 1 - power).unwrap_or(0);
    fixed(value, decimals)
}

/// A value in the unit, with so many significant digits: `12 133 rpm`. Money has two decimals, or none if it is whole.
pub(crate) fn show_quantity(si: f64, unit: &Unit, significant: usize) -> String {
    let value = unit.value_of(si);
    let number = if unit.dimension.is_money() { money(value, unit) } else { show_number(value, significant) };
    with_unit(number, unit)
}

/// A value that goes into a working: so many significant digits, trailing zeros after the point left out.
pub(crate) fn show_operand(si: f64, unit: &Unit, significant: usize) -> String {
    with_unit(show_operand_number(unit.value_of(si), significant), unit)
}

/// A number with at most so many significant digits, trailing zeros after the point left out.
pub(crate) fn show_operand_number(value: f64, significant: usize) -> String {
    let mut shown = show_number(value, significant);
    let (number, power) = match shown.find('e') {
        Some(at) => shown.split_at(at),
        None => (&*shown, ""),
    };
    if !number.contains('.') {
        return shown;
    }
    let kept = number.trim_end_matches('0').trim_end_matches('.');
    if power.is_empty() {
        let length = kept.len();
        shown.truncate(length);
        return shown;
    }
    format!("{kept}{power}")
}

/// A value with its expanded uncertainty, both to the same place: `142 ± 3 kg`, `12 133 ± 62 rpm`.
///
/// JCGM 100:2008, 7.2.6: the uncertainty has two significant digits if the first is 1 or 2, else one, but is never
/// rounded left of the point; the value is rounded to the same place. Without uncertainty: six digits at most.
pub(crate) fn show_with_uncertainty(si: f64, expanded_si: f64, unit: &Unit) -> String {
    match rounded(si, expanded_si, unit) {
        Some((shown, width)) => both(&shown, &width, unit),
        None => show_operand(si, unit, 6),
    }
}

/// The same in two texts, each with its unit: `12 133 rpm` and `62 rpm`. `None` without uncertainty.
pub(crate) fn show_apart(si: f64, expanded_si: f64, unit: &Unit) -> Option<(String, String)> {
    let (shown, width) = rounded(si, expanded_si, unit)?;
    Some((with_unit(shown, unit), with_unit(width, unit)))
}

/// What [`show_apart`] and [`show_with_uncertainty`] give, rounded once: value, uncertainty, and both in one text.
pub(crate) fn show_thrice(si: f64, expanded_si: f64, unit: &Unit) -> Option<(String, String, String)> {
    let (shown, width) = rounded(si, expanded_si, unit)?;
    let both = both(&shown, &width, unit);
    Some((with_unit(shown, unit), with_unit(width, unit), both))
}

fn both(shown: &str, width: &str, unit: &Unit) -> String {
    match unit.symbol {
        "1" => format!("{shown} ± {width}"),
        // With `%` behind the tolerance alone it would be a part of the value.
        "%" => format!("({shown} ± {width}){NO_BREAK}%"),
        _ => format!("{shown} ± {}", with_unit(width.to_owned(), unit)),
    }
}

/// The power of ten at which a value with this uncertainty ends; `None` without uncertainty.
pub(crate) fn last_place(si: f64, expanded_si: f64, unit: &Unit) -> Option<i32> {
    let value = unit.value_of(si);
    let expanded = (expanded_si / unit.factor).abs();
    if expanded == 0.0 || !expanded.is_finite() || !value.is_finite() {
        return None;
    }
    let (power, one_or_two) = leading(expanded);
    let place = power + 1 - if one_or_two { 2 } else { 1 };
    // What is finer than any value is shown is no uncertainty but the rounding of the arithmetic.
    let top = if value == 0.0 { power } else { power_of(value).max(power) };
    (place > top - MOST_DIGITS).then_some(place)
}

/// The power of ten of a number rounded to two digits, and whether its first digit is then a 1 or a 2.
fn leading(value: f64) -> (i32, bool) {
    let power = power_of(value);
    let mantissa = value / 10f64.powi(power);
    // Beside what rounds up, its own digits decide.
    let plain = |limit: f64| (mantissa - limit).abs() > 1e-6;
    if (-12..15).contains(&power) && plain(2.95) && plain(9.95) {
        return if mantissa < 9.95 { (power, mantissa < 2.95) } else { (power + 1, true) };
    }
    let two = format!("{value:.1e}");
    let (mantissa, power) = two.split_once('e').unwrap_or((&two, "0"));
    (power.parse().unwrap_or(0), mantissa.starts_with(['1', '2']))
}

/// Value and uncertainty in the unit, as numbers rounded to one place.
fn rounded(si: f64, expanded_si: f64, unit: &Unit) -> Option<(String, String)> {
    let place = last_place(si, expanded_si, unit)?;
    let (value, expanded) = (unit.value_of(si), (expanded_si / unit.factor).abs());
    let top = if value == 0.0 { power_of(expanded) } else { power_of(value).max(power_of(expanded)) };
    Some(if !(-6..9).contains(&top) {
        (to_place(value, place), to_place(expanded, place))
    } else {
        let decimals = usize::try_from(-place).unwrap_or(0);
        (fixed(value, decimals), fixed(expanded, decimals))
    })
}

fn with_unit(mut number: String, unit: &Unit) -> String {
    if unit.is_one() {
        return number;
    }
    let symbol = unit.printed_after(&number);
    number.push(NO_BREAK);
    number.push_str(&symbol);
    number
}

fn money(value: f64, unit: &Unit) -> String {
    // Yen and its like have no smaller coin.
    let whole = value.fract().abs() < 0.005 || value.fract().abs() > 0.995;
    let coinless =
        matches!(unit.symbol, "JPY" | "KRW" | "CLP" | "ISK" | "VND" | "XAF" | "XOF" | "PYG" | "UGX");
    if value.abs() >= LARGE {
        show_number(value, 6)
    } else {
        fixed(value, if whole || coinless { 0 } else { 2 })
    }
}

/// A number with so many decimals, its whole digits grouped.
fn fixed(value: f64, decimals: usize) -> String {
    grouped(value, &format!("{:.*}", decimals, value.abs()))
}

/// A number whose digits are known, with its sign, its whole digits grouped; never `-0`.
fn grouped(value: f64, text: &str) -> String {
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    let nothing = text.bytes().all(|byte| matches!(byte, b'0' | b'.'));
    let mut shown = String::with_capacity(2 * text.len() + 8);
    shown.push_str(if nothing { "" } else { sign(value) });
    group_digits(&mut shown, whole);
    shown.push_str(rest);
    shown
}

/// A number in powers of ten whose last digit stands at 10^`place`.
fn to_place(value: f64, place: i32) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let digits = usize::try_from(power_of(value) - place).unwrap_or(0);
    let text = format!("{:.*e}", digits, value.abs());
    let (mantissa, power) = text.split_once('e').unwrap_or((&text, "0"));
    format!("{}{mantissa}e{}", sign(value), signed_power(power.parse().unwrap_or(0)))
}

/// The power of ten of the first digit.
fn power_of(value: f64) -> i32 {
    let size = value.abs();
    let guess = size.log10().floor();
    if (-12.0..15.0).contains(&guess) {
        // The guess may be off by one beside a power of ten; the powers themselves are read as they are written.
        let power = guess as i32;
        let ten = |power: i32| TENS[(power + 13) as usize];
        return if size < ten(power) {
            power - 1
        } else if size >= ten(power + 1) {
            power + 1
        } else {
            power
        };
    }
    let text = format!("{value:e}");
    text.split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0)
}

/// 10^-13 to 10^16.
const TENS: [f64; 30] = [
    1e-13, 1e-12, 1e-11, 1e-10, 1e-9, 1e-8, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 1e-1, 1e0, 1e1, 1e2, 1e3,
    1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
];

fn signed_power(power: i32) -> String {
    if power < 0 { format!("{MINUS}{}", -power) } else { power.to_string() }
}

fn sign(value: f64) -> &'static str {
    if value < 0.0 { "−" } else { "" }
}

#[cfg(test)]
mod tests;
