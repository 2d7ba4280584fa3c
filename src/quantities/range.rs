//! A range, `1 150 kg to 1 250 kg`: its middle, with half its width as a rectangular tolerance.

use std::ops::Range;

use super::fault::Fault;
use super::format::show_operand_number;
use super::literal::{Literal, read_plain};
use super::number::{NO_BREAK, looks_like_number};
use super::tolerance::{Shape, Tolerance};
use crate::findings::codes;
use crate::words::words;

/// Where both ends of a range stand; `None` where the text is none.
pub(super) fn ends(body: &str) -> Option<[Range<usize>; 2]> {
    let (low, high) = body.split_once(" to ")?;
    let second = body.len() - high.len();
    (looks_like_number(low) && looks_like_number(high)).then_some([0..low.len(), second..body.len()])
}

/// Reads a range without its note.
///
/// Errors: those of its ends, `bad-value` where the second is not the higher one, `unit-mismatch`, and `bad-tolerance`
/// where an end has a tolerance.
pub(super) fn read_range(body: &str, [low_at, high_at]: [Range<usize>; 2]) -> Result<Literal, Fault> {
    let whole =
        |code, message: &'static str, help: &'static str| Err(Fault::new(code, 0..body.len(), message, help));
    let high = read_plain(&body[high_at.clone()]).map_err(|fault| fault.shifted(high_at.start))?;
    let mut low = read_plain(&body[low_at])?;
    if low.unit.is_one() && !high.unit.is_one() {
        low = Literal { unit: high.unit.clone(), ..low.in_unit(&high.unit) };
    }
    if low.tolerance.is_some() || high.tolerance.is_some() {
        let help = "a range is a tolerance already: type its two ends alone";
        return whole(&codes::BAD_TOLERANCE, "a range with a tolerance", help);
    }
    if !low.unit.dimension.same(high.unit.dimension) || low.quantity.point != high.quantity.point {
        return whole(&codes::UNIT_MISMATCH, "a range between unlike values", "give both ends one unit");
    }
    let (from, to) = (low.quantity.si, high.quantity.si);
    if from >= to {
        let help = "type the lower value, `to`, and the higher one";
        return whole(&codes::BAD_VALUE, "a range that does not rise", help);
    }
    let (middle, half) = (f64::midpoint(from, to), (to - from) / 2.0);
    let unit = high.unit.clone();
    let shown = |value: f64| show_operand_number(value, 12);
    let width = shown(half / unit.factor);
    // Points of a percentage carry no unit: `15 % ± 5`.
    let text = match unit.is_one() || unit.symbol == "%" {
        true => width,
        false => words!("{}{}{}", width, NO_BREAK, unit.printed()).to_string(),
    };
    let tolerance = Tolerance { half_width_si: half, relative: None, text, shape: Shape::Rectangular };
    Ok(Literal {
        number_text: shown(unit.value_of(middle)),
        significant: high.significant.max(low.significant).saturating_add(1),
        tolerance: Some(tolerance),
        counted: false,
        at: 0..body.len(),
        ..high.at_si(middle)
    })
}
