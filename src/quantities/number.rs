//! A number as journals write it: digits in exact threes if grouped, a point before decimals, `e` before a power of ten.

use std::ops::Range;

use super::fault::Fault;
use super::fold::fold;
use super::unit::reader::superscript_digit;
use crate::findings::codes;
use crate::words::words;

/// Keeps a group of digits, or a number and its unit, together.
pub(crate) const NO_BREAK: char = '\u{a0}';
/// The minus sign that is printed.
pub(crate) const MINUS: char = '−';

#[derive(Clone, Debug, PartialEq)]
pub(super) struct Number {
    pub value: f64,
    /// The digits as they were written, grouped and signed the way that we print.
    pub text: String,
    /// How many digits count: those from the first that is not 0.
    pub significant: u8,
    /// The place value of the last digit that says something: 0.01 of `3.70`, 100 of `1 200`, for zeros at the end of a
    /// whole number only fill it up. `None` for a whole 0, and for what was counted.
    pub digit: Option<f64>,
    /// One whole number over another, as of teeth: exact.
    pub counted: bool,
    pub at: Range<usize>,
}

/// Signs before a number; word processors make a dash of `-`.
const SIGNS: [char; 4] = ['+', '-', MINUS, '–'];

/// Whether a value begins: an optional sign and a digit, also of full width, or a value with ± in brackets.
pub(crate) fn looks_like_number(text: &str) -> bool {
    let text = text.trim_start();
    let inner = text.strip_prefix('(').filter(|inner| inner.contains(['±', '+']));
    match fold(text) {
        Some(plain) => starts_like_number(&plain.text),
        None => starts_like_number(inner.unwrap_or(text)),
    }
}

/// Whether an optional sign and a digit stand at the beginning.
pub(super) fn starts_like_number(text: &str) -> bool {
    let digits = text.trim_start_matches(SIGNS);
    digits_after(digits) > 0 && text[..text.len() - digits.len()].chars().count() <= 1
}

/// How many digits stand at the beginning.
pub(super) fn digits_after(text: &str) -> usize {
    text.bytes().take_while(u8::is_ascii_digit).count()
}

/// Reads the number that begins at byte `start`, with its sign.
///
/// Errors: `bad-value` where there is none, or its groups are no exact threes; `number-comma`; `not-finite`.
pub(super) fn read_number(text: &str, start: usize) -> Result<Number, Fault> {
    let mut scan = Scan { text, at: start, digits: String::new(), shown: String::new() };
    scan.sign();
    let whole = scan.group_run();
    if whole == 0 {
        return Err(no_number(text, start));
    }
    scan.refuse_comma(start)?;
    scan.regroup();
    scan.decimals(start)?;
    let mantissa = scan.digits.len();
    scan.exponent();
    let at = start..scan.at;
    let value: f64 = scan.digits.parse().unwrap_or(f64::NAN);
    let counted =
        scan.digits[..mantissa].bytes().filter(u8::is_ascii_digit).skip_while(|digit| *digit == b'0');
    let significant = counted.count();
    if !value.is_finite() || (value == 0.0 && significant > 0) {
        let size = if value == 0.0 { "small" } else { "large" };
        let message = format!("a number too {size} to be held");
        return Err(Fault::new(&codes::NOT_FINITE, at, message, "check the power of ten after the `e`"));
    }
    let significant = u8::try_from(significant.max(1)).unwrap_or(u8::MAX);
    let digit = last_digit(&scan.digits[..mantissa], &scan.digits[mantissa..]);
    // A typed `-0` is 0.
    Ok(Number { value: value + 0.0, text: scan.shown, significant, digit, counted: false, at })
}

/// The place value of the last digit that counts, from digits as Rust parses them and `e` with its power of ten.
fn last_digit(mantissa: &str, exponent: &str) -> Option<f64> {
    let power: i32 = exponent.strip_prefix('e').map_or(Some(0), |power| power.parse().ok())?;
    let place = match mantissa.split_once('.') {
        Some((_, decimals)) => -i32::try_from(decimals.len()).ok()?,
        None => {
            let kept = mantissa.trim_end_matches('0');
            kept.ends_with(|c: char| c.is_ascii_digit()).then(|| (mantissa.len() - kept.len()) as i32)?
        }
    };
    Some(10f64.powi(place.saturating_add(power)))
}

/// What was read as the first of two numbers, `35/8`, `4.375:1` or `1 in 5`, is one plain number. Anything else stays as
/// it is.
///
/// Errors: `bad-value` for a second number of 0.
pub(super) fn with_second(text: &str, first: Number) -> Result<Number, Fault> {
    let rest = &text[first.at.end..];
    const GRADE: &str = "\u{a0}in\u{a0}";
    let Some((mark, shown)) =
        [("/", "/"), (":", ":"), (" in ", GRADE), (GRADE, GRADE)].into_iter().find(|(mark, _)| {
            rest.strip_prefix(mark).is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
        })
    else {
        return Ok(first);
    };
    let second = read_number(text, first.at.end + mark.len())?;
    // `205/65R15` is a size.
    if text[second.at.end..].starts_with(|c: char| !c.is_whitespace()) {
        return Ok(first);
    }
    if second.value == 0.0 {
        let help = "type the second number, for example `35/8`";
        return Err(Fault::new(&codes::BAD_VALUE, first.at.start..second.at.end, "a number over 0", help));
    }
    let whole = |number: &Number| number.value.fract() == 0.0 && !number.text.contains(['.', 'e']);
    let counted = shown != GRADE && whole(&first) && whole(&second) && second.value != 1.0;
    Ok(Number {
        value: first.value / second.value,
        text: format!("{}{shown}{}", first.text, second.text),
        significant: first.significant.max(second.significant),
        digit: first.digit.filter(|_| !counted).map(|digit| digit / second.value),
        counted,
        at: first.at.start..second.at.end,
    })
}

/// A number with its power of ten behind it, `1.5×10^3`, as one number. Anything else stays as it is.
///
/// Errors: `not-finite`.
pub(super) fn with_power(text: &str, number: Number) -> Result<Number, Fault> {
    let Some((power, end)) = power_after(text, number.at.end) else { return Ok(number) };
    let shown = format!("{}e{}", number.text, power.to_string().replace('-', "−"));
    let typed = format!("{}e{power}", number.text.replace(NO_BREAK, "").replace(MINUS, "-"));
    let at = number.at.start..end;
    match typed.parse::<f64>() {
        Ok(value) if value.is_finite() && (value != 0.0 || number.value == 0.0) => Ok(Number {
            value,
            text: shown,
            digit: number.digit.map(|digit| digit * 10f64.powi(power)),
            at,
            ..number
        }),
        _ => Err(Fault::new(&codes::NOT_FINITE, at, "a number that can't be held", "check its power of ten")),
    }
}

/// The power of ten that a number is multiplied by, and where it ends.
fn power_after(text: &str, at: usize) -> Option<(i32, usize)> {
    let rest = text[at..].trim_start().strip_prefix(['×', 'x', '*', '·', '⋅'])?.trim_start();
    let rest = rest.strip_prefix("10")?;
    let typed = rest.strip_prefix('^');
    let digits = typed.unwrap_or(rest);
    let unsigned = digits.strip_prefix(['-', MINUS, '⁻', '+']).unwrap_or(digits);
    let length = match typed {
        Some(_) => digits_after(unsigned),
        None => unsigned.chars().take_while(|c| superscript_digit(*c).is_some()).map(char::len_utf8).sum(),
    };
    let (power, tail) = unsigned.split_at(length);
    let power: String = power
        .chars()
        .filter_map(|c| c.to_digit(10).or(superscript_digit(c)))
        .map(|d| d.to_string())
        .collect();
    let power: i32 = power.parse().ok()?;
    let negative = digits.len() > unsigned.len() && !digits.starts_with('+');
    Some((if negative { -power } else { power }, text.len() - tail.len()))
}

struct Scan<'a> {
    text: &'a str,
    at: usize,
    /// What Rust parses.
    digits: String,
    /// What we print.
    shown: String,
}

impl<'a> Scan<'a> {
    fn byte(&self, ahead: usize) -> u8 {
        self.text.as_bytes().get(self.at + ahead).copied().unwrap_or(0)
    }

    fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    fn sign(&mut self) {
        if self.rest().starts_with('+') {
            self.at += 1;
        } else if let Some(minus) =
            ['-', MINUS, '–'].into_iter().find(|minus| self.rest().starts_with(*minus))
        {
            self.at += minus.len_utf8();
            self.digits.push('-');
            self.shown.push(MINUS);
        }
    }

    /// Takes digits, and further groups of three. Gives how many digits were taken.
    fn group_run(&mut self) -> usize {
        let mut count = self.plain_run();
        if !(1..=3).contains(&count) {
            return count;
        }
        while let Some(gap) = self.group_ahead() {
            self.at += gap;
            count += self.plain_run();
        }
        count
    }

    fn plain_run(&mut self) -> usize {
        let bytes = &self.text.as_bytes()[self.at..];
        let run = bytes.iter().take_while(|byte| byte.is_ascii_digit()).count();
        let taken = &self.text[self.at..self.at + run];
        self.digits.push_str(taken);
        self.shown.push_str(taken);
        self.at += run;
        run
    }

    /// The width of a group mark, if exactly three digits follow it.
    fn group_ahead(&self) -> Option<usize> {
        let rest = self.rest();
        let mark = rest.chars().next().filter(|c| is_group_mark(*c))?.len_utf8();
        let after = &rest.as_bytes()[mark..];
        (after.iter().take_while(|byte| byte.is_ascii_digit()).count() == 3).then_some(mark)
    }

    /// Puts group marks into the digits shown so far.
    fn regroup(&mut self) {
        let sign = if self.shown.starts_with(MINUS) { MINUS.len_utf8() } else { 0 };
        let digits = self.shown.split_off(sign);
        group_digits(&mut self.shown, &digits);
    }

    fn decimals(&mut self, start: usize) -> Result<(), Fault> {
        if self.byte(0) != b'.' {
            return Ok(());
        }
        if !self.byte(1).is_ascii_digit() {
            let at = start..self.at + 1;
            let message = "a number that ends in a point";
            return Err(Fault::new(
                &codes::BAD_VALUE,
                at,
                message,
                "leave the point out, or type decimals after it",
            ));
        }
        self.at += 1;
        self.digits.push('.');
        self.shown.push('.');
        let first = self.plain_run();
        if first == 3 {
            while let Some(gap) = self.group_ahead() {
                self.at += gap;
                self.plain_run();
            }
        }
        self.refuse_comma(start)
    }

    fn exponent(&mut self) {
        if !matches!(self.byte(0), b'e' | b'E') {
            return;
        }
        let text = self.text;
        let rest = &text[self.at + 1..];
        let unsigned = rest.trim_start_matches(['+', '-', MINUS]);
        let signs = &rest[..rest.len() - unsigned.len()];
        let run = unsigned.bytes().take_while(u8::is_ascii_digit).count();
        if run == 0 || signs.chars().count() > 1 {
            return;
        }
        let negative = signs.starts_with(['-', MINUS]);
        self.digits.push('e');
        self.shown.push('e');
        if negative {
            self.digits.push('-');
            self.shown.push(MINUS);
        }
        self.digits.push_str(&unsigned[..run]);
        self.shown.push_str(&unsigned[..run]);
        self.at += 1 + signs.len() + run;
    }

    fn refuse_comma(&self, start: usize) -> Result<(), Fault> {
        if self.byte(0) != b',' || !self.byte(1).is_ascii_digit() {
            return Ok(());
        }
        let run = |c: char| c.is_ascii_digit() || matches!(c, ',' | '.');
        let tail = self.rest();
        let end = self.at + tail.find(|c| !run(c)).unwrap_or(tail.len());
        let written = self.text[start..end].trim_end_matches([',', '.']);
        let grouped: String = written.chars().filter(|c| *c != ',').collect();
        let decimal = match written.contains('.') {
            true => written.replace('.', "").replacen(',', ".", 1),
            false => written.replacen(',', ".", 1),
        };
        let decimal: String = decimal.chars().filter(|c| *c != ',').collect();
        Err(Fault::new(
            &codes::NUMBER_COMMA,
            start..end,
            words!("`{}` could be `{}` or `{}`", written, decimal, grouped),
            words!(
                "type `{}` or `{}`: decimals follow a point, and digits may be grouped by a space",
                decimal,
                grouped
            ),
        ))
    }
}

/// One space, a no-break, thin or narrow no-break space, or `_`.
fn is_group_mark(c: char) -> bool {
    matches!(c, ' ' | '_' | NO_BREAK | '\u{2009}' | '\u{202f}')
}

/// Digits in groups of three from the right, from four digits on.
pub(super) fn group_digits(grouped: &mut String, digits: &str) {
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            grouped.push(NO_BREAK);
        }
        grouped.push(digit);
    }
}

fn no_number(text: &str, start: usize) -> Fault {
    let rest = text[start..].trim();
    let shown: String = rest.chars().take(40).collect();
    let at = start..start + text[start..].trim_end().len();
    if rest.trim_start_matches(['+', '-', MINUS]).starts_with('.') {
        let help = "put a 0 before the point, for example `0.5`";
        return Fault::new(&codes::BAD_VALUE, at, words!("`{}` begins with a point", shown), help);
    }
    let message = if shown.is_empty() {
        "nothing where a number is expected".into()
    } else {
        words!("`{}` where a number is expected", shown)
    };
    Fault::new(&codes::BAD_VALUE, at, message, "type a number and its unit, for example `64 kg`")
}

#[cfg(test)]
mod tests {
    use super::read_number;
    use crate::findings::codes;

    #[track_caller]
    fn check(text: &str, value: f64, shown: &str, significant: u8) {
        let number = read_number(text, 0).expect(text);
        assert_eq!((number.value, &*number.text, number.significant), (value, shown, significant), "{text}");
        assert_eq!(number.at.end, text.len(), "{text}");
    }

    #[test]
    fn digits_may_be_grouped_in_exact_threes() {
        check("1 420", 1420.0, "1\u{a0}420", 4);
        check("12_133.50", 12133.5, "12\u{a0}133.50", 7);
        check("1\u{a0}000\u{2009}000\u{202f}000", 1e9, "1\u{a0}000\u{a0}000\u{a0}000", 10);
        check("4500", 4500.0, "4\u{a0}500", 4);
        check("0.003", 0.003, "0.003", 1);
        check("3.70", 3.7, "3.70", 3);
        check("-2.5e−3", -0.0025, "−2.5e−3", 2);
        check("−5e+3", -5000.0, "−5e3", 1);
        check("9.806 650", 9.80665, "9.806650", 7);
    }

    #[test]
    fn a_group_that_is_no_three_is_left_for_the_unit_to_refuse() {
        for text in ["1 42", "1 4200", "1  420", "1234 567"] {
            assert!(read_number(text, 0).expect(text).at.end < text.len(), "{text}");
        }
    }

    #[test]
    fn a_comma_is_refused_with_both_readings() {
        for (text, decimal, grouped) in [
            ("1,420", "1.420", "1420"),
            ("1,5", "1.5", "15"),
            ("1,234,567", "1.234567", "1234567"),
            ("1.234,5", "1234.5", "1.2345"),
            ("1,234.5", "1.2345", "1234.5"),
        ] {
            let fault = read_number(text, 0).expect_err(text);
            assert_eq!(fault.code, &codes::NUMBER_COMMA);
            assert!(
                fault.message.to_string().contains(&format!("`{decimal}` or `{grouped}`")),
                "{}",
                fault.message
            );
        }
    }

    #[test]
    fn numbers_beyond_what_can_be_held_are_refused() {
        for text in ["1e309", "1e-400", "1e999999999999999999999"] {
            assert_eq!(read_number(text, 0).expect_err(text).code, &codes::NOT_FINITE);
        }
        assert_eq!(read_number("0e-400", 0).expect("a zero").value, 0.0);
    }
}
