//! Cuts the text of an expression into numbers with their units, names and signs.

use std::ops::Range;

use super::super::fault::Fault;
use super::super::number::read_number;
use super::super::quantity::Quantity;
use super::super::unit::reader::{is_unit_letter, superscript_digit};
use super::super::unit::{Unit, read_unit};
use super::{Comparator, Number};
use crate::findings::codes;
use crate::words::words;

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Token {
    Number(Box<Number>),
    /// A name of one or more segments, with its points.
    Name(Box<str>),
    Plus,
    Minus,
    Times,
    Over,
    Power,
    /// A power in superscript digits.
    Raised(i32),
    Open,
    Close,
    Comma,
    Compare(Comparator),
    /// `and`, `or`, `not`, which the language does not have.
    Joining(&'static str),
    End,
}

pub(super) struct Lexer<'a> {
    text: &'a str,
    at: usize,
    /// How many calls are open: in a call a comma stands between values.
    pub calls: usize,
}

impl<'a> Lexer<'a> {
    pub(super) fn new(text: &'a str) -> Lexer<'a> {
        Lexer { text, at: 0, calls: 0 }
    }

    /// Whether a unit ended just before `at`, without brackets around it.
    pub(super) fn ends_a_bare_unit(&self, at: usize) -> bool {
        !self.text[..at].ends_with(']')
    }

    /// The next token and where it stands.
    pub(super) fn next(&mut self) -> Result<(Token, Range<usize>), Fault> {
        let rest = &self.text[self.at..];
        self.at += rest.len() - rest.trim_start().len();
        let start = self.at;
        let rest = &self.text[start..];
        let Some(first) = rest.chars().next() else { return Ok((Token::End, start..start)) };
        if first.is_ascii_digit() {
            let number = self.number()?;
            return Ok((Token::Number(Box::new(number)), start..self.at));
        }
        if first.is_alphabetic() || first == '_' {
            let token = self.name()?;
            return Ok((token, start..self.at));
        }
        if superscript_digit(first).is_some() || first == '⁻' {
            let token = self.raised()?;
            return Ok((token, start..self.at));
        }
        let (token, length) = sign(rest).ok_or_else(|| stray(rest, start))?;
        self.at += length;
        Ok((token, start..self.at))
    }

    fn number(&mut self) -> Result<Number, Fault> {
        let start = self.at;
        let limit = if self.calls > 0 { comma_between(self.text, start) } else { self.text.len() };
        let number = read_number(&self.text[..limit], start).map_err(|mut fault| {
            if self.calls > 0 && fault.code == &codes::NUMBER_COMMA {
                fault.help.append("; between two values put a space after the comma".into());
            }
            fault
        })?;
        let unit = self.unit_after(number.at.end)?;
        self.at = unit.as_ref().map_or(number.at.end, |(_, end)| *end);
        let unit = unit.map(|(unit, _)| unit).filter(|unit| !unit.is_one());
        let quantity = match &unit {
            Some(unit) => Quantity::in_unit(number.value, unit),
            None => Quantity::plain(number.value),
        };
        if !quantity.si.is_finite() {
            let message = "a value too large to be held";
            return Err(Fault::new(
                &codes::NOT_FINITE,
                start..self.at,
                message,
                "check its power of ten and its unit",
            ));
        }
        Ok(Number { quantity, text: number.text, unit })
    }

    /// The unit that follows a number, in brackets or without spaces inside, and where it ends.
    fn unit_after(&self, at: usize) -> Result<Option<(Unit, usize)>, Fault> {
        let rest = &self.text[at..];
        let from = at + rest.len() - rest.trim_start().len();
        let rest = &self.text[from..];
        if let Some(inside) = rest.strip_prefix('[') {
            let Some(length) = inside.find(']') else {
                let at = from..self.text.len();
                return Err(Fault::new(
                    &codes::BAD_EXPRESSION,
                    at,
                    "a `[` that is never closed",
                    "close the unit with `]`",
                ));
            };
            let unit = read_unit(&inside[..length]).map_err(|fault| fault.shifted(from + 1))?;
            return Ok(Some((unit, from + length + 2)));
        }
        let word = &rest[..word_length(rest)];
        if word.is_empty() || word.starts_with('_') || keyword(word).is_some() {
            return Ok(None);
        }
        let number = self.text[self.at..at].trim();
        if rest[word.len()..].starts_with('.') {
            let message = words!("`{}…` follows a number", word);
            let help = words!("there is no multiplication without a sign: type `{} * {}…`", number, word);
            return Err(Fault::new(&codes::BAD_EXPRESSION, from..from + word.len(), message, help));
        }
        let length = unit_with_spaces(rest);
        let unit = read_unit(&rest[..length]).map_err(|fault| {
            let mut fault = fault.shifted(from);
            let other = match rest[..length].contains('/') && read_unit(word).is_ok() {
                true => words!("; to divide, put spaces around the sign: `{} {} / …`", number, word),
                false => words!("; to multiply, type `{} * {}`", number, word),
            };
            fault.help.append(other);
            fault
        })?;
        Ok(Some((unit, from + length)))
    }

    fn name(&mut self) -> Result<Token, Fault> {
        let start = self.at;
        loop {
            let rest = &self.text[self.at..];
            let length = segment_length(rest);
            if length == 0 {
                let message = "a name that ends in a point";
                let help = "complete it, for example `drive.motor_speed`";
                return Err(Fault::new(&codes::BAD_EXPRESSION, start..self.at, message, help));
            }
            self.at += length;
            // The block that was replaced: `drive@old`.
            if self.text[self.at..].starts_with("@old") {
                self.at += "@old".len();
            }
            if !self.text[self.at..].starts_with('.') {
                break;
            }
            self.at += 1;
        }
        let name = &self.text[start..self.at];
        Ok(keyword(name).unwrap_or_else(|| Token::Name(name.into())))
    }

    fn raised(&mut self) -> Result<Token, Fault> {
        let rest = &self.text[self.at..];
        let digits = rest.strip_prefix('⁻').unwrap_or(rest);
        let value =
            digits.chars().map_while(superscript_digit).take(4).fold(None, |value: Option<i32>, digit| {
                Some(value.unwrap_or(0) * 10 + i32::try_from(digit).unwrap_or(0))
            });
        let length: usize =
            digits.chars().take_while(|c| superscript_digit(*c).is_some()).map(char::len_utf8).sum();
        let minus = rest.len() - digits.len();
        let at = self.at..self.at + minus + length;
        let Some(value) = value else { return Err(stray(rest, self.at)) };
        self.at = at.end;
        Ok(Token::Raised(if minus > 0 { -value } else { value }))
    }
}

fn keyword(word: &str) -> Option<Token> {
    match word {
        "and" => Some(Token::Joining("and")),
        "or" => Some(Token::Joining("or")),
        "not" => Some(Token::Joining("not")),
        _ => None,
    }
}

fn sign(rest: &str) -> Option<(Token, usize)> {
    const SIGNS: [(&str, Token); 21] = [
        ("<=", Token::Compare(Comparator::LessEqual)),
        (">=", Token::Compare(Comparator::GreaterEqual)),
        ("==", Token::Compare(Comparator::Equal)),
        ("<", Token::Compare(Comparator::Less)),
        (">", Token::Compare(Comparator::Greater)),
        ("≤", Token::Compare(Comparator::LessEqual)),
        ("≥", Token::Compare(Comparator::GreaterEqual)),
        ("**", Token::End),
        ("+", Token::Plus),
        ("-", Token::Minus),
        ("−", Token::Minus),
        ("–", Token::Minus),
        ("*", Token::Times),
        ("·", Token::Times),
        ("×", Token::Times),
        ("⋅", Token::Times),
        ("/", Token::Over),
        ("^", Token::Power),
        ("(", Token::Open),
        (")", Token::Close),
        (",", Token::Comma),
    ];
    let (text, token) = SIGNS.iter().find(|(text, _)| rest.starts_with(text))?;
    // `**` is no sign here: it is listed so that it is not read as two.
    (*token != Token::End).then(|| (token.clone(), text.len()))
}

fn stray(rest: &str, start: usize) -> Fault {
    let first = rest.chars().next().unwrap_or(' ');
    let help = match first {
        '=' if rest.starts_with("=<") => "type `<=`",
        '=' if rest.starts_with("=>") => "type `>=`",
        '=' => "type `==` to compare",
        '!' => "there is no `!=`: type a limit with `<=` or `>=`",
        '*' => "type `^` for a power",
        '.' => "put a 0 before the point, for example `0.5`",
        '[' | ']' => "brackets hold the unit of the number before them: `3 [N m]`",
        '±' => "an expression has no tolerance: it follows from the values that it uses",
        '&' | '|' => "type a line of its own for each comparison",
        '"' | '\'' => "an expression holds numbers, units and names only",
        _ => "an expression holds numbers with units, names, `+ - * / ^`, parentheses and functions",
    };
    let at = start..start + first.len_utf8();
    Fault::new(&codes::BAD_EXPRESSION, at, words!("`{}` where it can't be read", first), help)
}

/// Where a number in a call ends at the latest: at a comma that is no group mark.
fn comma_between(text: &str, start: usize) -> usize {
    let run =
        |c: char| c.is_ascii_digit() || matches!(c, '.' | '_' | ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}');
    let rest = &text[start..];
    let comma = rest.find(|c| !run(c)).filter(|at| rest[*at..].starts_with(','));
    let Some(comma) = comma else { return text.len() };
    let digits = rest[comma + 1..].bytes().take_while(u8::is_ascii_digit).count();
    if digits == 3 { text.len() } else { start + comma }
}

fn segment_length(rest: &str) -> usize {
    rest.find(|c: char| !(c.is_alphabetic() || c.is_ascii_digit() || c == '_')).unwrap_or(rest.len())
}

/// Letters of a unit and digits after them, at the beginning.
fn word_length(rest: &str) -> usize {
    let letters = rest.find(|c: char| !is_unit_letter(c)).unwrap_or(rest.len());
    if letters == 0 {
        return 0;
    }
    letters + segment_length(&rest[letters..])
}

/// How far a unit without spaces goes.
fn unit_length(rest: &str) -> usize {
    let mut end = word_length(rest);
    end += exponent_length(&rest[end..]);
    loop {
        let tail = &rest[end..];
        if let Some(below) = tail.strip_prefix('/') {
            let mut length = word_length(below);
            if below.starts_with('(') {
                length =
                    group_length(below).filter(|length| read_unit(&below[..*length]).is_ok()).unwrap_or(0);
            }
            if length == 0 {
                return end;
            }
            end += 1 + length;
        } else if let Some(next) = tail.strip_prefix(['·', '⋅']) {
            // A dot also multiplies: it belongs to the unit if a unit follows it.
            let length = word_length(next);
            if length == 0 || next[length..].starts_with(['.', '(']) || read_unit(&next[..length]).is_err() {
                return end;
            }
            end += tail.len() - next.len() + length;
        } else {
            return end;
        }
        end += exponent_length(&rest[end..]);
    }
}

/// How far a unit goes: since nothing multiplies without a sign, names of units that follow one belong to it.
fn unit_with_spaces(rest: &str) -> usize {
    let mut end = unit_length(rest);
    loop {
        let next = rest[end..].trim_start();
        let word = &next[..word_length(next)];
        let name = word.is_empty() || word.starts_with('_') || keyword(word).is_some();
        if name || next[word.len()..].starts_with(['.', '(']) || !rest[end..].starts_with(char::is_whitespace)
        {
            return end;
        }
        let longer = rest.len() - next.len() + unit_length(next);
        if read_unit(&rest[..longer]).is_err() {
            return end;
        }
        end = longer;
    }
}

/// The length of a parenthesis at the beginning, if it closes soon.
fn group_length(rest: &str) -> Option<usize> {
    let mut depth = 0usize;
    for (at, c) in rest.char_indices().take(80) {
        match c {
            '(' => depth += 1,
            ')' if depth == 1 => return Some(at + 1),
            ')' => depth -= 1,
            _ => {}
        }
    }
    None
}

/// The length of `^2`, `^-1` or superscript digits at the beginning.
fn exponent_length(rest: &str) -> usize {
    let Some(after) = rest.strip_prefix('^') else {
        let raised = |c: char| superscript_digit(c).is_some() || c == '⁻';
        return rest.find(|c| !raised(c)).unwrap_or(rest.len());
    };
    let digits = after.strip_prefix(['-', '−']).unwrap_or(after);
    let run = digits.bytes().take_while(u8::is_ascii_digit).count();
    if run == 0 {
        return 0;
    }
    let half = if digits[run..].starts_with(".5") { 2 } else { 0 };
    rest.len() - digits.len() + run + half
}
