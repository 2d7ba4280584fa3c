//! Reads what may be typed for a unit: words with prefixes, products, one quotient, powers and groups.

use crate::words::{Words, words};
use std::ops::Range;

use super::super::fault::Fault;
use super::hint::unknown_unit;
use super::part::{Built, Form, look_up};
use crate::findings::codes;

/// Groups nested deeper than this are refused.
const DEEPEST: usize = 12;
/// Larger powers of a unit are refused.
const LARGEST_POWER: f64 = 12.0;

pub(super) struct UnitReader<'a> {
    text: &'a str,
    at: usize,
    end: usize,
    depth: usize,
}

impl<'a> UnitReader<'a> {
    /// Reads this stretch of the text; faults are placed in the whole text.
    pub(super) fn new(text: &'a str, at: Range<usize>) -> UnitReader<'a> {
        UnitReader { text, at: at.start, end: at.end, depth: 0 }
    }

    pub(super) fn whole(mut self) -> Result<Built, Fault> {
        let built = self.quotient()?;
        if self.at < self.end { Err(self.stray()) } else { Ok(built) }
    }

    fn peek(&self) -> Option<char> {
        self.text[self.at..self.end].chars().next()
    }

    fn skip_spaces(&mut self) -> bool {
        let before = self.at;
        while let Some(c) = self.peek().filter(|c| c.is_whitespace()) {
            self.at += c.len_utf8();
        }
        self.at > before
    }

    fn quotient(&mut self) -> Result<Built, Fault> {
        let start = self.at;
        let top = self.product()?;
        self.skip_spaces();
        if self.peek() != Some('/') {
            return Ok(top);
        }
        self.at += 1;
        self.skip_spaces();
        let slash = self.at;
        self.depth += 1;
        let below = self.power()?;
        self.depth -= 1;
        let after = self.at;
        self.skip_spaces();
        match self.peek() {
            None | Some(')') => {}
            Some('^') => {
                let (unit, power) = (&self.text[slash..after], self.text[self.at..self.end].trim());
                let help = words!("type `{}{}`, without a space", unit, power);
                return Err(self.fault(
                    self.at..self.end,
                    "a `^` that does not stand right behind its unit",
                    &help,
                ));
            }
            Some('/') => {
                let rest = self.text[self.at + 1..self.end].replace('/', " ");
                let help = words!(
                    "group what is below the line: `{}({} {})`",
                    self.text[start..slash].trim(),
                    &self.text[slash..after],
                    rest.trim()
                );
                return Err(self.fault(start..self.end, "a unit with a second `/`", &help));
            }
            Some(_) => {
                let rest = self.text[self.at..self.end].trim_start_matches(['·', '⋅']).trim();
                let (over, under) = (self.text[start..slash].trim(), &self.text[slash..after]);
                let help = words!(
                    "type `{}({} {})`, or `{} {}/{}`",
                    over,
                    under,
                    rest,
                    over.trim_end_matches('/').trim(),
                    rest,
                    under
                );
                return Err(self.fault(
                    start..self.end,
                    "a product after `/` in a unit can be read in two ways",
                    &help,
                ));
            }
        }
        self.no_share(start, [&top, &below])?;
        let over = top.over(below);
        over.ok_or_else(|| {
            self.fault(start..self.at, "a unit whose powers can't be held", "use a simpler unit")
        })
    }

    fn product(&mut self) -> Result<Built, Fault> {
        let start = self.at;
        let mut product = self.power()?;
        if product.form == Form::Number && self.depth == 0 && product.symbol != "1" {
            return Err(self.fault(
                start..self.at,
                "a number at the start of a unit",
                "group it below the line, for example `kWh/(100 km)`",
            ));
        }
        loop {
            let spaced = self.skip_spaces();
            match self.peek() {
                Some(dot @ ('·' | '⋅')) => {
                    self.at += dot.len_utf8();
                    self.skip_spaces();
                }
                Some('(') => {}
                Some(c) if spaced && is_unit_letter(c) => {}
                _ => return Ok(product),
            }
            let factor = self.power()?;
            self.no_share(start, [&product, &factor])?;
            product = product.times(factor).ok_or_else(|| {
                self.fault(start..self.at, "a unit whose powers can't be held", "use a simpler unit")
            })?;
        }
    }

    fn power(&mut self) -> Result<Built, Fault> {
        let start = self.at;
        let base = match self.peek() {
            Some('(') => self.group()?,
            Some(c) if c.is_ascii_digit() => self.number(),
            Some(c) if is_unit_letter(c) => self.word()?,
            _ => return Err(self.stray()),
        };
        let Some(exponent) = self.exponent()? else { return Ok(base) };
        self.no_share(start, [&base, &base])?;
        let small = exponent.abs() <= LARGEST_POWER && exponent != 0.0 && (exponent * 2.0).fract() == 0.0;
        let raised = if small && base.form != Form::Number { base.raised_to(exponent) } else { None };
        raised.ok_or_else(|| {
            self.fault(
                start..self.at,
                "a power that a unit can't have",
                "use a small whole power, as in `m^2`",
            )
        })
    }

    /// A `%` stands alone: what 5 %/K are is a matter of who reads it.
    fn no_share(&self, start: usize, parts: [&Built; 2]) -> Result<(), Fault> {
        if parts.iter().all(|part| part.symbol != "%") {
            return Ok(());
        }
        let help = "in a compound unit type a plain number: `0.01 1/K` for `1 %/K`";
        Err(self.fault(start..self.end, "a `%` within a compound unit", help))
    }

    fn group(&mut self) -> Result<Built, Fault> {
        let open = self.at;
        self.at += 1;
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(self.fault(
                open..self.end,
                "a unit with groups nested too deep",
                "use a simpler unit",
            ));
        }
        self.skip_spaces();
        let inner = self.quotient()?;
        self.skip_spaces();
        self.depth -= 1;
        match self.peek() {
            Some(')') => self.at += 1,
            Some(_) => return Err(self.stray()),
            None => {
                return Err(self.fault(
                    open..self.end,
                    "a `(` that is never closed in a unit",
                    "add the `)`",
                ));
            }
        }
        Ok(inner)
    }

    fn number(&mut self) -> Built {
        let rest = &self.text[self.at..self.end];
        let length = rest.bytes().take_while(u8::is_ascii_digit).count();
        self.at += length;
        Built::number(rest[..length].parse().unwrap_or(f64::INFINITY), &rest[..length])
    }

    fn word(&mut self) -> Result<Built, Fault> {
        let start = self.at;
        let rest = &self.text[start..self.end];
        let letters = rest.find(|c: char| !is_unit_letter(c)).unwrap_or(rest.len());
        let digits = rest[letters..].bytes().take_while(u8::is_ascii_digit).count();
        let word = &rest[..letters + digits];
        self.at += word.len();
        look_up(word).ok_or_else(|| unknown_unit(word, start))
    }

    /// A power in superscript digits, or after `^`.
    fn exponent(&mut self) -> Result<Option<f64>, Fault> {
        let rest = &self.text[self.at..self.end];
        let (sign, digits) = match rest.strip_prefix('⁻') {
            Some(digits) => (-1.0, digits),
            None => (1.0, rest),
        };
        let raised: String = digits
            .chars()
            .map_while(superscript_digit)
            .filter_map(|digit| char::from_digit(digit, 10))
            .collect();
        if !raised.is_empty() {
            let taken: usize =
                digits.chars().take_while(|c| superscript_digit(*c).is_some()).map(char::len_utf8).sum();
            self.at += taken + rest.len() - digits.len();
            return Ok(Some(sign * raised.parse().unwrap_or(f64::INFINITY)));
        }
        let Some(after) = rest.strip_prefix('^') else { return Ok(None) };
        let after = after.trim_start();
        let (sign, digits) = match after.strip_prefix(['-', '−']) {
            Some(digits) => (-1.0, digits),
            None => (1.0, after),
        };
        let length = digits.bytes().take_while(|b| b.is_ascii_digit() || *b == b'.').count();
        let Ok(value) = digits[..length].parse::<f64>() else {
            return Err(self.fault(
                self.at..self.end,
                "a `^` without a number in a unit",
                "type it as in `m^2`",
            ));
        };
        self.at = self.end - digits.len() + length;
        Ok(Some(sign * value))
    }

    fn stray(&self) -> Fault {
        let at = self.at..self.end;
        match self.peek() {
            None => self.fault(at, "a unit that breaks off", "complete it, for example `km/h`"),
            Some('/') => {
                self.fault(at, "a unit that begins with `/`", "begin it with `1/`, for example `1/s`")
            }
            Some('*' | '×') => {
                self.fault(at, "a product in a unit is written with `·` or a space", "type `N m` or `N·m`")
            }
            Some(c @ ('$' | '€' | '£' | '¥' | '"' | '″' | '′' | '\'')) => {
                unknown_unit(&self.text[self.at..self.at + c.len_utf8()], self.at)
            }
            Some('^') => self.fault(
                at,
                "a `^` that does not stand right behind its unit",
                "type it without a space, as in `m^2`",
            ),
            Some(',' | ';' | '#') => {
                let help = "a note stands in parentheses after the value: `64 kg (estimated; by hand)`";
                self.fault(at, "a remark where a unit is expected", help)
            }
            Some('-' | '–') => {
                let message = "units that are joined by a dash";
                self.fault(0..self.end, message, joined(self.text[..self.end].trim()))
            }
            Some(c) if is_unit_letter(c) => {
                self.fault(at, "two units without a sign between them", "put a space or `·` between them")
            }
            Some(c) => {
                let message = words!("`{}` can't be part of a unit", c);
                let help = "a value is a number and its unit, for example `64 kg`; a note stands in parentheses after it";
                self.fault(self.at..self.at + c.len_utf8(), &message, help)
            }
        }
    }

    fn fault(&self, at: Range<usize>, message: impl Into<Words>, help: impl Into<Words>) -> Fault {
        Fault::new(&codes::UNKNOWN_UNIT, at, message, help)
    }
}

/// What to type for units that are joined by a dash: `ft-lb`, `N-m`.
fn joined(text: &str) -> Words {
    let parts: Vec<&str> = text.split(['-', '–']).map(str::trim).collect();
    let length = parts.iter().find(|part| matches!(**part, "ft" | "in"));
    let pounds = parts.iter().any(|part| matches!(*part, "lb" | "lbs" | "lbf"));
    match length {
        Some(length) if pounds && parts.len() == 2 => {
            words!("a torque in pounds of force is `lbf {}`", length)
        }
        _ => words!("units are multiplied by a space or `·`: type `{}`", parts.join(" ")),
    }
}

/// Whether a character can be part of a unit's word.
pub(in crate::quantities) fn is_unit_letter(c: char) -> bool {
    c.is_alphabetic() || matches!(c, '°' | '%' | '_')
}

/// The value of a superscript digit.
pub(in crate::quantities) fn superscript_digit(c: char) -> Option<u32> {
    Some(match c {
        '⁰' => 0,
        '¹' => 1,
        '²' => 2,
        '³' => 3,
        '⁴'..='⁹' => c as u32 - '⁰' as u32,
        _ => return None,
    })
}
