//! What a study asks of the journal with other inputs, and what came of it.

use super::node::Requirement;
use crate::quantities::{Quantity, Unit};
use crate::source::Span;

/// What a block asks. Its expressions are values of the block, by index: of each changed journal they are read there.
#[derive(Clone)]
pub(crate) enum Study {
    Solve(Solve),
}

/// What came of it.
pub(crate) enum Answer {
    Solved(Solved),
}

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

#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Goal {
    /// Both sides of the condition are equal.
    Equal,
    /// The largest input that it holds for.
    Largest,
    /// The smallest.
    Smallest,
}

/// Which input makes a condition true.
#[derive(Clone)]
pub(crate) struct Solve {
    pub input: Input,
    pub between: [Quantity; 2],
    /// Where they stand.
    pub between_span: Span,
    /// That of the first of them.
    pub unit: Unit,
    pub goal: Goal,
    pub condition: Condition,
    /// The results `value` and `residual`.
    pub value: usize,
    pub residual: usize,
    /// What else is shown: the expression, and the result that has its value there.
    pub shown: Vec<(usize, usize)>,
}

/// Where an input solves a condition. All numbers are in SI.
#[derive(Clone, Default)]
pub(crate) struct Solved {
    /// `None` where nothing in the range does.
    pub value: Option<f64>,
    /// The left side less the right one, or what is left to the limit.
    pub residual: f64,
    pub shown: Vec<Option<f64>>,
    /// Other solutions, in rising order.
    pub others: Vec<f64>,
    /// It holds as far as the range goes on that side.
    pub at_end: bool,
    /// It holds in more than one stretch of the range.
    pub parted: bool,
    /// The input changes nothing in the condition.
    pub idle: bool,
    /// Where there is no solution: the input that comes nearest.
    pub nearest: Option<f64>,
    /// How many inputs of the range were tried at first, and for how many the condition could not be worked.
    pub tried: usize,
    pub unknown: usize,
    /// What the journal gives with the value typed in and read anew, against what was found, as a share.
    pub apart: f64,
    /// The units of the block's results, by index.
    pub units: Vec<(usize, Unit)>,
}

/// A share of the values compared: less is rounding.
const ROUNDING: f64 = 1e-12;

impl Condition {
    pub(crate) fn of(requirement: Requirement, text: &str) -> Condition {
        let index = |part: u32| part as usize;
        Condition {
            text: text.trim().to_owned(),
            span: requirement.span,
            actual: index(requirement.actual),
            low: requirement.low.map(index),
            high: requirement.high.map(index),
            strict: requirement.strict,
        }
    }

    pub(crate) fn is_equality(&self) -> bool {
        self.low.is_some() && self.low == self.high
    }

    /// The values that it needs.
    pub(crate) fn parts(&self) -> impl Iterator<Item = usize> {
        [Some(self.actual), self.low, self.high].into_iter().flatten()
    }

    /// What is left to its nearest limit, in SI, and whether it holds. `None` where a part is not known.
    pub(crate) fn held(&self, value: impl Fn(usize) -> Option<Quantity>) -> Option<(f64, bool)> {
        let actual = value(self.actual)?.si;
        let mut room = f64::INFINITY;
        let mut size = actual.abs();
        for (limit, sign) in [(self.low, -1.0), (self.high, 1.0)] {
            let Some(limit) = limit else { continue };
            let limit = value(limit)?.si;
            room = room.min(sign * (limit - actual));
            size = size.max(limit.abs());
        }
        let slack = ROUNDING * size;
        let holds = if self.strict { room > slack } else { room >= -slack };
        room.is_finite().then_some((room, holds))
    }

    /// Of an equality: the left side less the right one, and how large the sides are.
    pub(crate) fn difference(&self, value: impl Fn(usize) -> Option<Quantity>) -> Option<(f64, f64)> {
        let (left, right) = (value(self.actual)?.si, value(self.low?)?.si);
        Some((left - right, left.abs().max(right.abs())))
    }
}
