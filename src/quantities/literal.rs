//! A value as it is written: number, unit, tolerance and note, read from one text.

use std::ops::Range;

use super::fault::Fault;
use super::note::{Basis, Note, read_note};
use super::number::{NO_BREAK, read_number, with_second};
use super::quantity::{Quantity, accept_unit};
use super::sort::Sort;
use super::tolerance::{Tolerance, after_sign};
use super::unit::{Unit, read_unit};
use crate::findings::codes;
use crate::words::words;

/// `NUMBER [UNIT] [± NUMBER [UNIT or %]] [NOTE]`.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Literal {
    pub quantity: Quantity,
    pub unit: Unit,
    /// The digits as written, grouped and signed the way that we print.
    pub number_text: String,
    /// How many digits count, at least 1.
    pub significant: u8,
    /// The place value of the last digit that says something, in SI; `None` where none does.
    pub digit_si: Option<f64>,
    /// One whole number over another, as of teeth: exact.
    pub counted: bool,
    pub tolerance: Option<Tolerance>,
    pub note: Option<Note>,
    /// Where number and unit stand in the text that was read.
    pub at: Range<usize>,
}

impl Literal {
    /// The SI value, if what is written is of the sort. The fault covers number and unit.
    ///
    /// Errors: `unit-mismatch`, `currency-mix`, and `angle-ambiguous` for an angular speed in 1/s, 1/min or Hz.
    pub(crate) fn expect(&self, sort: &Sort) -> Result<f64, Fault> {
        match accept_unit(&self.unit, sort, &self.shown()) {
            Ok(()) => Ok(self.quantity.si),
            Err(fault) => Err(fault.over(self.at.clone())),
        }
    }

    /// The same text around another value, in SI: the mean of readings.
    #[must_use]
    pub(crate) fn at_si(mut self, si: f64) -> Literal {
        self.quantity.si = si;
        self
    }

    /// Number and unit, with plain spaces, for messages.
    fn shown(&self) -> String {
        if self.unit.is_one() {
            return self.number_text.clone();
        }
        format!("{} {}", self.number_text, self.unit.symbol)
    }

    /// The value as it is printed back: tidy spaces, digits kept, no note. It is read back as it was.
    pub(crate) fn written(&self) -> String {
        let mut text = self.number_text.clone();
        if !self.unit.is_one() {
            text.push(NO_BREAK);
            text.push_str(&self.unit.printed_after(&self.number_text));
        }
        if let Some(tolerance) = &self.tolerance {
            text.push_str(" ± ");
            text.push_str(&tolerance.text);
        }
        text
    }
}

/// Reads a whole value.
///
/// Errors: those of numbers (`bad-value`, `number-comma`, `not-finite`), of units (`unknown-unit`), of tolerances
/// (`bad-tolerance`, `unit-mismatch`), of notes (`bad-value`), and `yaml-cut-value` for a parenthesis left open.
pub(crate) fn read_literal(text: &str) -> Result<Literal, Fault> {
    match spread_in_brackets(text) {
        // Its places are those of a text of our own, so that a fault is laid over the whole.
        Some(plain) => read_plain(&plain).map_err(|fault| fault.over(0..text.len())),
        None => read_plain(text),
    }
}

/// `(93.1 ± 1.3) %`, as shares are printed, in the form that is typed.
fn spread_in_brackets(text: &str) -> Option<String> {
    let (inner, rest) = text.trim_start().strip_prefix('(')?.split_once(')')?;
    let (value, width) = inner.split_once('±')?;
    let rest = rest.trim_start().strip_prefix('%')?;
    Some(format!("{}% ±{}{rest}", value.trim_end(), width.trim_end()))
}

fn read_plain(text: &str) -> Result<Literal, Fault> {
    let (end, note) = split_note(text)?;
    let body = &text[..end];
    let start = body.len() - body.trim_start().len();
    let sign = find_sign(body)?;
    let value_end = sign.as_ref().map_or(body.len(), |sign| sign.start);
    let number = with_second(&body[..value_end], read_number(&body[..value_end], start)?)?;
    let unit_start = number.at.end;
    let mut unit_range = trimmed(body, unit_start..value_end);
    // `N ± M U` is one unit for both.
    let mut shared = false;
    if unit_range.is_empty()
        && let Some(sign) = &sign
    {
        let after = sign.end + body[sign.end..].len() - body[sign.end..].trim_start().len();
        let width = read_number(body, after)?;
        let after_width = trimmed(body, width.at.end..body.len());
        if !after_width.is_empty() && &body[after_width.clone()] != "%" {
            unit_range = after_width;
            shared = true;
        }
    }
    let unit = read_value_unit(body, unit_range.clone(), unit_start)?;
    let quantity = Quantity::in_unit(number.value, &unit);
    if !quantity.si.is_finite() {
        let at = start..unit_range.end.max(unit_start);
        return Err(Fault::new(
            &codes::NOT_FINITE,
            at,
            "a value too large to be held",
            "check its power of ten and its unit",
        ));
    }
    let value_at = start..if shared || unit_range.is_empty() { number.at.end } else { unit_range.end };
    let factor = unit.factor;
    let mut literal = Literal {
        quantity,
        unit,
        number_text: number.text,
        significant: number.significant,
        digit_si: number.digit.map(|digit| digit * factor),
        counted: number.counted,
        tolerance: None,
        note,
        at: value_at,
    };
    if let Some(sign) = sign {
        let after = sign.end + body[sign.end..].len() - body[sign.end..].trim_start().len();
        let tolerance = after_sign(body, after, &literal)?;
        if !tolerance.half_width_si.is_finite() {
            let at = after..body.trim_end().len();
            return Err(Fault::new(
                &codes::NOT_FINITE,
                at,
                "a tolerance too large to be held",
                "check its power of ten",
            ));
        }
        literal.tolerance = Some(tolerance);
    }
    Ok(literal)
}

fn read_value_unit(body: &str, at: Range<usize>, number_end: usize) -> Result<Unit, Fault> {
    if at.is_empty() {
        return Ok(Unit::one());
    }
    let text = &body[at.clone()];
    let first = text.chars().next().unwrap_or(' ');
    if first.is_ascii_digit() && !text.starts_with("1/") && text != "1" {
        let message = words!("`{}` goes on with `{}`", body[..number_end].trim(), text);
        let help = "digits are grouped in exact threes, each after one space, as in `12 000`";
        return Err(Fault::new(&codes::BAD_VALUE, at, message, help));
    }
    if first == ',' || first == '.' {
        let message = words!("`{}` after a number", text.chars().take(20).collect::<String>());
        let help = "type a number and its unit, for example `64 kg`";
        return Err(Fault::new(&codes::BAD_VALUE, at, message, help));
    }
    read_unit(text).map_err(|fault| fault.shifted(at.start))
}

/// The tolerance sign, `±` or `+/-`.
fn find_sign(body: &str) -> Result<Option<Range<usize>>, Fault> {
    let next = |from: usize| {
        let rest = &body[from..];
        let short = rest.find('±').map(|at| from + at..from + at + '±'.len_utf8());
        let long = rest.find("+/-").map(|at| from + at..from + at + 3);
        match (short, long) {
            (Some(short), Some(long)) => Some(if short.start < long.start { short } else { long }),
            (short, long) => short.or(long),
        }
    };
    let Some(sign) = next(0) else { return Ok(None) };
    if let Some(second) = next(sign.end) {
        let message = "a second tolerance on one value";
        return Err(Fault::new(
            &codes::BAD_TOLERANCE,
            second,
            message,
            "give one tolerance, for example `64 kg ± 1 kg`",
        ));
    }
    if body[sign.end..].trim().is_empty() {
        let help = "type its half-width, for example `64 kg ± 1 kg`";
        return Err(Fault::new(&codes::BAD_TOLERANCE, sign, "a `±` without a tolerance", help));
    }
    Ok(Some(sign))
}

/// Where the value ends, and its note. The note is the last parenthesis, after a space, that begins with a basis.
fn split_note(text: &str) -> Result<(usize, Option<Note>), Fault> {
    if !text.contains('(') {
        return Ok((text.trim_end().len(), None));
    }
    let text_end = text.trim_end().len();
    let mut open = Vec::new();
    let mut last = None;
    for (at, c) in text.char_indices() {
        match c {
            '(' => open.push(at),
            ')' => {
                if let Some(start) = open.pop().filter(|_| open.is_empty()) {
                    last = Some((start, at));
                }
            }
            _ => {}
        }
    }
    if let Some(start) = open.first() {
        let message = "a parenthesis that is left open: the value has been cut at a `,`, a ` #` or a `: `";
        let help = "put the whole value in quotes";
        return Err(Fault::new(&codes::YAML_CUT_VALUE, *start..text_end, message, help));
    }
    let Some((start, close)) =
        last.filter(|(start, close)| close + 1 == text_end && text[..*start].ends_with(char::is_whitespace))
    else {
        return Ok((text_end, None));
    };
    let inner = &text[start + 1..close];
    let first = inner.split([' ', ';', '\u{a0}', '\t']).find(|word| !word.is_empty()).unwrap_or("");
    if Basis::read(first).is_none() && read_unit(inner).is_ok() {
        return Ok((text_end, None));
    }
    let mut note = read_note(inner).map_err(|fault| fault.shifted(start + 1))?;
    if let Some((_, at)) = &mut note.source {
        *at = at.start + start + 1..at.end + start + 1;
    }
    Ok((text[..start].trim_end().len(), Some(note)))
}

/// The same stretch without spaces at its ends.
fn trimmed(text: &str, at: Range<usize>) -> Range<usize> {
    let part = &text[at.clone()];
    let start = at.start + part.len() - part.trim_start().len();
    start..start + part.trim().len()
}

#[cfg(test)]
mod tests;
