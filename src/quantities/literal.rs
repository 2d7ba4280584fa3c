//! A value as it is written: number, unit, tolerance and note, read from one text.

use std::ops::Range;

use super::fault::Fault;
use super::fold::fold;
use super::format::show_operand;
use super::note::{Basis, Note, read_note};
use super::number::{MINUS, NO_BREAK, digits_after, read_number, with_power, with_second};
use super::quantity::{Quantity, accept_unit};
use super::range::{ends, read_range};
use super::sort::Sort;
use super::tolerance::{SIGNS, Tolerance, after_sign};
use super::typed::FRACTIONS;
use super::unit::{Unit, read_unit};
use crate::findings::codes;
use crate::words::{Words, words};

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
    /// Errors: `unit-mismatch`, `currency-mix`, `angle-ambiguous` for an angular speed in 1/s, 1/min or Hz, and
    /// `out-of-range` below absolute zero.
    pub(crate) fn expect(&self, sort: &Sort) -> Result<f64, Fault> {
        match accept_unit(&self.unit, sort, &self.shown()) {
            Ok(()) if sort.point && self.quantity.si < 0.0 => Err(below_absolute_zero(self.at.clone())),
            Ok(()) => Ok(self.quantity.si),
            Err(fault) => Err(fault.over(self.at.clone())),
        }
    }

    /// The other reading of a point before three digits, where what is usual is that one and not this one: `4.500 rpm`
    /// as 4500 rpm. As it is typed.
    pub(crate) fn grouped(&self, usual: (f64, f64)) -> Option<String> {
        let digits = self.number_text.trim_start_matches(MINUS);
        let (whole, decimals) = digits.split_once('.')?;
        let plain = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        let groups = decimals.len() == 3
            && whole.len() <= 3
            && !whole.starts_with('0')
            && plain(whole)
            && plain(decimals);
        let within = |value: f64| (usual.0..=usual.1).contains(&value.abs());
        let value = self.unit.value_of(self.quantity.si);
        let other = self.unit.to_si(value * 1000.0);
        (groups && !within(self.quantity.si) && within(other))
            .then(|| format!("{whole} {decimals} {}", self.unit.symbol))
    }

    /// What was probably meant by a number that can't be, as it is typed: per cent without the sign, another unit, a
    /// thousand times as much, the same above 0, or a tenth of it.
    pub(crate) fn meant(&self, possible: impl Fn(f64) -> bool) -> Option<String> {
        let number = self.unit.value_of(self.quantity.si);
        let shown = self.number_text.replace(MINUS, "-");
        let others: &[&str] = match (self.unit.is_point(), self.unit.symbol) {
            (true, _) => &["°C", "K", "°F"],
            (false, "K") if number > 0.0 => &["°C", "°F"],
            (false, "1") => &["%"],
            (false, "W") => &["kW"],
            (false, "kW" | "MW") => &["W", "kW"],
            (false, "km/h" | "mi/h") => &["m/s"],
            (false, "m/s") => &["km/h"],
            (false, "mm" | "cm" | "m" | "km") => &["m", "cm", "mm"],
            (false, "mm²" | "cm²") => &["m^2"],
            (false, "kg·m²") => &["kg cm^2"],
            _ => &[],
        };
        let other = |symbol: &&&str| {
            **symbol != self.unit.symbol && read_unit(symbol).is_ok_and(|unit| possible(unit.to_si(number)))
        };
        // A mass in tonnes, or digits in groups of three.
        let thousandfold = || {
            let si = 1000.0 * self.quantity.si;
            let fits = self.number_text.contains('.') && !self.unit.is_point() && possible(si);
            fits.then(|| show_operand(si, &self.unit, 4).replace(NO_BREAK, " "))
        };
        let without_sign = || {
            let si = -self.quantity.si;
            let fits = si > 0.0 && !self.unit.is_point() && possible(si);
            fits.then(|| self.shown().trim_start_matches(MINUS).to_owned())
        };
        // A plain number whose point slid by a place.
        let tenth = || {
            let si = self.quantity.si / 10.0;
            let fits = self.unit.is_one() && self.number_text.contains('.') && possible(si);
            fits.then(|| show_operand(si, &self.unit, 4).replace(NO_BREAK, " "))
        };
        let found = others.iter().find(other).map(|symbol| format!("{shown} {symbol}"));
        found.or_else(thousandfold).or_else(without_sign).or_else(tenth)
    }

    /// A plain number in a unit that is said elsewhere.
    #[must_use]
    pub(super) fn in_unit(mut self, unit: &Unit) -> Literal {
        self.quantity = Quantity::in_unit(self.quantity.si, unit);
        self.digit_si = self.digit_si.map(|digit| digit * unit.factor);
        self
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
    if let Some(plain) = fold(text) {
        let mut literal = read_literal(&plain.text).map_err(|fault| plain.fault(fault))?;
        literal.at = plain.place(&literal.at);
        if let Some((_, at)) = literal.note.as_mut().and_then(|note| note.source.as_mut()) {
            *at = plain.place(at);
        }
        return Ok(literal);
    }
    // Its places are those of a text of our own, so that a fault is laid over the whole.
    if let Some(plain) = spread_in_brackets(text) {
        return read_plain(&plain).map_err(|fault| fault.over(0..text.len()));
    }
    let (end, note) = split_note(text)?;
    match ends(&text[..end]) {
        Some(ends) => Ok(Literal { note, ..read_range(&text[..end], ends)? }),
        None => read_plain(text),
    }
}

/// `(93.1 ± 1.3) %`, as shares are printed, in the form that is typed.
fn spread_in_brackets(text: &str) -> Option<String> {
    let (inner, rest) = text.trim_start().strip_prefix('(')?.split_once(')')?;
    let (value, width) = SIGNS.iter().find_map(|sign| inner.split_once(sign))?;
    let rest = rest.trim_start().strip_prefix('%')?;
    Some(format!("{}% ±{}{rest}", value.trim_end(), width.trim_end()))
}

/// A value that is no range.
pub(super) fn read_plain(text: &str) -> Result<Literal, Fault> {
    let (end, note) = split_note(text)?;
    let body = &text[..end];
    let start = body.len() - body.trim_start().len();
    let sign = find_sign(body)?;
    let value_end = sign.as_ref().map_or(body.len(), |sign| sign.start);
    let number = with_second(&body[..value_end], read_number(&body[..value_end], start)?)?;
    let number = with_power(&body[..value_end], number)?;
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
    if quantity.below_absolute_zero() {
        return Err(below_absolute_zero(start..unit_range.end.max(unit_start)));
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
    let number = body[..number_end].trim();
    let after = text[first.len_utf8()..].trim_start();
    let bad = |help: Words| {
        let message = words!("`{}` goes on with `{}`", number, text);
        Err(Fault::new(&codes::BAD_VALUE, at.clone(), message, help))
    };
    if matches!(first, '-' | '–' | '—' | '−') && after.starts_with(|c: char| c.is_ascii_digit()) {
        return bad(words!("for a range type `{} to {}`", number, after));
    }
    if matches!(first, '\'' | '’' | 'ʼ') && digits_after(after) == 3 {
        return bad(words!("type `{} {}`: digits are grouped by a space", number, after));
    }
    if let Some((sign, decimals)) = FRACTIONS.iter().find(|(sign, _)| *sign == first) {
        return bad(words!("type decimals: `{}.{}{}`", number, decimals, &text[sign.len_utf8()..]));
    }
    if first == ',' || first == '.' {
        let message = words!("`{}` after a number", text.chars().take(20).collect::<String>());
        let help = "type a number and its unit, for example `64 kg`";
        return Err(Fault::new(&codes::BAD_VALUE, at, message, help));
    }
    read_unit(text).map_err(|fault| fault.shifted(at.start))
}

/// The tolerance sign.
fn find_sign(body: &str) -> Result<Option<Range<usize>>, Fault> {
    let next = |from: usize| {
        let found = SIGNS.iter().filter_map(|sign| {
            let at = from + body[from..].find(sign)?;
            Some(at..at + sign.len())
        });
        // Of two at one place the longer one, whose beginning is the other.
        found.min_by_key(|at| (at.start, usize::MAX - at.end))
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

pub(super) fn below_absolute_zero(at: Range<usize>) -> Fault {
    let message = "a temperature below absolute zero, −273.15 °C";
    Fault::new(&codes::OUT_OF_RANGE, at, message, "look at the number and its unit")
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
    if Basis::read(first_word(inner)).is_none() && read_unit(inner).is_ok() {
        return Ok((text_end, None));
    }
    let mut note = read_note(inner).map_err(|fault| fault.shifted(start + 1))?;
    if let Some((_, at)) = &mut note.source {
        *at = at.start + start + 1..at.end + start + 1;
    }
    Ok((text[..start].trim_end().len(), Some(note)))
}

/// Where a text ends before its note, and the note. Any other parenthesis is a part of the text.
///
/// Errors: those of notes.
pub(crate) fn note_behind(text: &str) -> Result<(usize, Option<Note>), Fault> {
    let begins_a_note =
        |(at, _): (usize, &str)| Basis::read(first_word(&text[at + 1..]).trim_end_matches(')')).is_some();
    if text.match_indices('(').any(begins_a_note) {
        split_note(text)
    } else {
        Ok((text.trim_end().len(), None))
    }
}

fn first_word(text: &str) -> &str {
    text.split([' ', ';', '\u{a0}', '\t']).find(|word| !word.is_empty()).unwrap_or("")
}

/// The same stretch without spaces at its ends.
fn trimmed(text: &str, at: Range<usize>) -> Range<usize> {
    let part = &text[at.clone()];
    let start = at.start + part.len() - part.trim_start().len();
    start..start + part.trim().len()
}

#[cfg(test)]
mod tests;
