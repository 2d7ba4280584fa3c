//! What a study asks of the journal with other inputs, and what came of it.

use super::condition::{Condition, Input};
use super::trade::{Trade, Traded};
use crate::quantities::{Quantity, Unit};
use crate::source::Span;

/// What a block asks. Its expressions are values of the block, by index: of each changed journal they are read there.
#[derive(Clone)]
pub(crate) enum Study {
    Solve(Solve),
    Trade(Trade),
}

/// What came of it.
pub(crate) enum Answer {
    Solved(Solved),
    Traded(Box<Traded>),
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
