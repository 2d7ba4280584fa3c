//! A unit: its standard symbol, dimension and factor to SI.

mod hint;
mod part;
pub(super) mod reader;
pub(super) mod table;

use std::borrow::Cow;
use std::collections::HashSet;
use std::sync::{LazyLock, PoisonError, RwLock};

pub(super) use self::hint::money_sign;
use self::part::look_up;
use self::reader::UnitReader;
use super::dimension::Dimension;
use super::fault::Fault;
use super::fold::fold;

/// A value in this unit is `value × factor + offset` in SI.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Unit {
    /// The standard form, which is read back; `1` for a plain number.
    pub symbol: &'static str,
    pub dimension: Dimension,
    pub factor: f64,
    /// Not 0 only for °C and °F standing alone: such a unit gives a point on the temperature scale.
    pub offset: f64,
    /// Whether its symbol says that energy is meant (J, Wh, W, hp, V): a torque or a force is not given in it.
    pub names_energy: bool,
}

impl Unit {
    /// That of a plain number.
    pub(crate) fn one() -> Unit {
        Unit { symbol: "1", dimension: Dimension::NONE, factor: 1.0, offset: 0.0, names_energy: false }
    }

    /// The coherent SI unit of a dimension, in base units.
    pub(crate) fn coherent(dimension: Dimension) -> Unit {
        Unit { symbol: symbol(dimension.to_string().into()), dimension, ..Unit::one() }
    }

    pub(crate) fn is_one(&self) -> bool {
        self.symbol == "1"
    }

    /// Whether a value in it is a temperature, not a difference.
    pub(crate) fn is_point(&self) -> bool {
        self.offset != 0.0
    }

    /// A value in this unit, in SI.
    pub(crate) fn to_si(&self, value: f64) -> f64 {
        value * self.factor + self.offset
    }

    /// An SI value in this unit.
    pub(crate) fn value_of(&self, si: f64) -> f64 {
        (si - self.offset) / self.factor
    }
}

/// A symbol that is there once, however many values have it. The units that a journal uses are few: they are kept to the
/// end of the program.
pub(super) fn symbol(text: Cow<'static, str>) -> &'static str {
    static KNOWN: LazyLock<RwLock<HashSet<&'static str>>> = LazyLock::new(RwLock::default);
    let text = match text {
        Cow::Borrowed(text) => return text,
        Cow::Owned(text) => text,
    };
    // A panic elsewhere leaves a set that holds whole entries.
    if let Some(known) = KNOWN.read().unwrap_or_else(PoisonError::into_inner).get(text.as_str()) {
        return known;
    }
    let mut known = KNOWN.write().unwrap_or_else(PoisonError::into_inner);
    if let Some(known) = known.get(text.as_str()) {
        return known;
    }
    let text: &'static str = text.leak();
    known.insert(text);
    text
}

/// Reads a unit as journals write it. Errors: `unknown-unit`, placed within the text.
pub(crate) fn read_unit(text: &str) -> Result<Unit, Fault> {
    if let Some(plain) = fold(text) {
        return read_unit(&plain.text).map_err(|fault| plain.fault(fault));
    }
    let start = text.len() - text.trim_start().len();
    let trimmed = text.trim();
    if trimmed == "1" {
        return Ok(Unit::one());
    }
    if let Some(built) = look_up(trimmed) {
        return built.finish(start..start + trimmed.len());
    }
    let built = UnitReader::new(text, start..start + trimmed.len()).whole()?;
    built.finish(start..start + trimmed.len())
}

#[cfg(test)]
mod tests;
