//! A comparison that a study holds against changed journals, and the inputs that it changes.

use crate::quantities::Quantity;
use crate::source::Span;

/// An input that a study changes, by its full name.
#[derive(Clone)]
pub(crate) struct Input {
    pub set: String,
    pub span: Span,
}

/// A comparison that is held against changed journals. It is no requirement of this one.
#[derive(Clone)]
pub(crate) struct Condition {
    /// As it is typed.
    pub text: String,
    pub span: Span,
    pub actual: usize,
    pub low: Option<usize>,
    pub high: Option<usize>,
    pub strict: bool,
}

/// A share of the values compared: less is rounding.
const ROUNDING: f64 = 1e-12;

impl Condition {
    pub(crate) fn is_equality(&self) -> bool {
        self.low.is_some() && self.low == self.high
    }

    /// The values that it needs.
    pub(crate) fn parts(&self) -> impl Iterator<Item = usize> {
        [Some(self.actual), self.low, self.high].into_iter().flatten()
    }

    /// What is left to its nearest limit, in SI, and whether it holds. `None` where a part is not known.
    pub(crate) fn held(&self, value: impl Fn(usize) -> Option<Quantity>) -> Option<(f64, bool)> {
        held((self.actual, self.low, self.high), self.strict, value)
    }

    /// Of an equality: the left side less the right one, and how large the sides are.
    pub(crate) fn difference(&self, value: impl Fn(usize) -> Option<Quantity>) -> Option<(f64, f64)> {
        let (left, right) = (value(self.actual)?.si, value(self.low?)?.si);
        Some((left - right, left.abs().max(right.abs())))
    }
}

/// What is left to the nearest of two limits, and whether a value is within them.
pub(crate) fn held(
    (actual, low, high): (usize, Option<usize>, Option<usize>),
    strict: bool,
    value: impl Fn(usize) -> Option<Quantity>,
) -> Option<(f64, bool)> {
    let actual = value(actual)?.si;
    let mut room = f64::INFINITY;
    let mut size = actual.abs();
    for (limit, sign) in [(low, -1.0), (high, 1.0)] {
        let Some(limit) = limit else { continue };
        let limit = value(limit)?.si;
        room = room.min(sign * (limit - actual));
        size = size.max(limit.abs());
    }
    let slack = ROUNDING * size;
    let holds = if strict { room > slack } else { room >= -slack };
    room.is_finite().then_some((room, holds))
}
