//! The parts that a unit is put together from, and how they print when they are.

use std::borrow::Cow;
use std::ops::Range;

use super::super::currency::currency;
use super::super::dimension::{Dimension, superscript};
use super::super::fault::Fault;
use super::hint::is_trade_word;
use super::reader::UnitReader;
use super::table::{Meaning, PREFIXES, Plain, Prefixes, find};
use super::{Unit, symbol};
use crate::findings::codes;

/// How a part binds when it is printed next to others.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    Number,
    Atom,
    Power,
    Product,
    Quotient,
}

pub(super) struct Built {
    pub symbol: Cow<'static, str>,
    dimension: Dimension,
    above: f64,
    below: f64,
    tens: i32,
    offset: f64,
    energy: bool,
    pub form: Form,
}

impl Built {
    pub(super) fn plain(plain: &Plain, prefix: Option<(&'static str, i32)>) -> Built {
        let (symbol, tens) = match prefix {
            None => (Cow::Borrowed(plain.symbol), 0),
            Some((letters, tens)) => (Cow::Owned([letters, plain.symbol].concat()), tens),
        };
        Built {
            symbol,
            dimension: plain.dimension,
            above: plain.mantissa,
            below: 1.0,
            tens: plain.tens + tens,
            offset: plain.offset,
            energy: plain.energy,
            form: Form::Atom,
        }
    }

    pub(super) fn number(value: f64, text: &str) -> Built {
        Built {
            symbol: Cow::Owned(text.to_owned()),
            dimension: Dimension::NONE,
            above: value,
            below: 1.0,
            tens: 0,
            offset: 0.0,
            energy: false,
            form: Form::Number,
        }
    }

    pub(super) fn finish(self, at: Range<usize>) -> Result<Unit, Fault> {
        let ratio = self.above / self.below;
        let power = 10f64.powi(self.tens.abs());
        let factor = if self.tens < 0 { ratio / power } else { ratio * power };
        if !factor.is_normal() {
            return Err(Fault::new(
                &codes::UNKNOWN_UNIT,
                at,
                "a unit beyond the numbers that can be held",
                "write the value in a usual unit",
            ));
        }
        Ok(Unit {
            symbol: symbol(self.symbol),
            dimension: self.dimension,
            factor,
            offset: self.offset,
            names_energy: self.energy,
        })
    }

    /// `None` where the exponents grow too large or currencies mix.
    pub(super) fn times(self, other: Built) -> Option<Built> {
        let join = if self.form == Form::Number { " " } else { "·" };
        let symbol = [&self.held_in_product(), join, &other.held_in_product()].concat();
        Some(Built {
            symbol: Cow::Owned(symbol),
            dimension: self.dimension.mul(other.dimension).ok()?,
            above: self.above * other.above,
            below: self.below * other.below,
            tens: self.tens + other.tens,
            offset: 0.0,
            energy: self.energy || other.energy,
            form: Form::Product,
        })
    }

    pub(super) fn over(self, other: Built) -> Option<Built> {
        let below = match other.form {
            Form::Atom | Form::Power | Form::Number => other.symbol.to_string(),
            Form::Product | Form::Quotient => format!("({})", other.symbol),
        };
        let symbol = [&self.held_in_product(), "/", &below].concat();
        Some(Built {
            symbol: Cow::Owned(symbol),
            dimension: self.dimension.div(other.dimension).ok()?,
            above: self.above * other.below,
            below: self.below * other.above,
            tens: self.tens - other.tens,
            offset: 0.0,
            energy: self.energy || other.energy,
            form: Form::Quotient,
        })
    }

    fn held_in_product(&self) -> String {
        match self.form {
            Form::Quotient => format!("({})", self.symbol),
            _ => self.symbol.to_string(),
        }
    }

    pub(super) fn raised_to(self, exponent: f64) -> Option<Built> {
        if exponent == 1.0 {
            return Some(self);
        }
        let mut symbol = match self.form {
            Form::Atom => self.symbol.into_owned(),
            _ => format!("({})", self.symbol),
        };
        let whole = exponent.fract() == 0.0;
        #[allow(clippy::cast_possible_truncation)]
        let times = exponent as i32;
        if whole {
            symbol.push_str(&superscript(times));
        } else {
            symbol.push_str(&format!("^{exponent}"));
        }
        let raise = |base: f64| if whole { base.powi(times.abs()) } else { base.powf(exponent.abs()) };
        let mut tens = if whole { self.tens * times } else { 0 };
        let (mut above, mut below) = (raise(self.above), raise(self.below));
        if exponent < 0.0 {
            (above, below) = (below, above);
        }
        if !whole {
            above *= 10f64.powf(f64::from(self.tens) * exponent);
            tens = 0;
        }
        Some(Built {
            symbol: Cow::Owned(symbol),
            dimension: self.dimension.pow(exponent)?,
            above,
            below,
            tens,
            offset: 0.0,
            energy: self.energy,
            form: Form::Power,
        })
    }
}

/// A single word: a unit of the table, with a prefix, with a typed power (`mm2`), or a currency.
pub(super) fn look_up(word: &str) -> Option<Built> {
    let word = &*standard_letters(word);
    if let Some(built) = without_power(word) {
        return Some(built);
    }
    let power = match word.as_bytes().last()? {
        b'2' => 2.0,
        b'3' => 3.0,
        b'4' => 4.0,
        _ => return None,
    };
    let base = &word[..word.len() - 1];
    without_power(base).filter(|built| built.offset == 0.0)?.raised_to(power)
}

fn without_power(word: &str) -> Option<Built> {
    if let Some(entry) = find(word) {
        return Some(match &entry.meaning {
            Meaning::Plain(plain) => Built::plain(plain, None),
            Meaning::Stands(compound) => UnitReader::new(compound, 0..compound.len()).whole().ok()?,
        });
    }
    if let Some(code) = currency(word) {
        let mut letters = [0; 3];
        letters.copy_from_slice(code.as_bytes());
        let mut built = Built::number(1.0, code);
        built.form = Form::Atom;
        built.dimension = Dimension::money(letters);
        return Some(built);
    }
    for (typed, printed, tens) in PREFIXES {
        let Some(entry) = word.strip_prefix(typed).and_then(find) else { continue };
        if let Meaning::Plain(plain) = &entry.meaning
            && plain.prefix == Prefixes::Taken
            && !is_trade_word(word)
        {
            return Some(Built::plain(plain, Some((printed, *tens))));
        }
    }
    None
}

/// Both code points of µ and Ω become the one that is printed.
fn standard_letters(word: &str) -> Cow<'_, str> {
    if word.is_ascii() || !word.contains(['\u{3bc}', '\u{2126}']) {
        return Cow::Borrowed(word);
    }
    Cow::Owned(word.replace('\u{3bc}', "µ").replace('\u{2126}', "Ω"))
}
