//! The functions that expressions have: names, how many values each takes, and what they do with dimensions.

use std::ops::Range;

use super::super::dimension::Dimension;
use super::super::fault::Fault;
use super::super::quantity::Quantity;
use crate::findings::codes;
use crate::words::words;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Function {
    Sqrt,
    Abs,
    Min,
    Max,
    Sum,
    Mean,
    Count,
    Product,
    Sin,
    Cos,
    Tan,
    Asin,
    Acos,
    Atan,
    Exp,
    Ln,
    Log10,
    Round,
}

const ALL: [(Function, &str); 18] = [
    (Function::Sqrt, "sqrt"),
    (Function::Abs, "abs"),
    (Function::Min, "min"),
    (Function::Max, "max"),
    (Function::Sum, "sum"),
    (Function::Mean, "mean"),
    (Function::Count, "count"),
    (Function::Product, "product"),
    (Function::Sin, "sin"),
    (Function::Cos, "cos"),
    (Function::Tan, "tan"),
    (Function::Asin, "asin"),
    (Function::Acos, "acos"),
    (Function::Atan, "atan"),
    (Function::Exp, "exp"),
    (Function::Ln, "ln"),
    (Function::Log10, "log10"),
    (Function::Round, "round"),
];

impl Function {
    pub(super) fn read(word: &str) -> Option<Function> {
        ALL.iter().find(|(_, name)| *name == word).map(|(function, _)| *function)
    }

    pub(super) fn name(self) -> &'static str {
        ALL.iter().find(|(function, _)| *function == self).map_or("", |(_, name)| name)
    }

    pub(super) fn names() -> impl Iterator<Item = &'static str> {
        ALL.iter().map(|(_, name)| *name)
    }

    /// Whether it takes any number of values, one at least; the others take exactly one.
    pub(super) fn takes_many(self) -> bool {
        self.is_aggregate() || self == Function::Product
    }

    /// Whether it takes a list's field for all of its values.
    pub(super) fn is_aggregate(self) -> bool {
        matches!(self, Function::Min | Function::Max | Function::Sum | Function::Mean | Function::Count)
    }

    /// The value of a function of one value. The fault covers `at`.
    ///
    /// Errors: `unit-mismatch` where it takes plain numbers only.
    pub(super) fn of_one(self, value: Quantity, at: &Range<usize>) -> Result<Quantity, Fault> {
        let plain = |function: fn(f64) -> f64| {
            if value.dimension.is_plain() {
                return Ok(Quantity::plain(function(value.si)));
            }
            let message = words!("`{}` of {}, where a plain number is expected", self.name(), value.words());
            let help = "divide by a value of the same unit first, so that a plain number is left";
            Err(Fault::new(&codes::UNIT_MISMATCH, at.clone(), message, help))
        };
        let angle = |function: fn(f64) -> f64| {
            plain(function).map(|angle| Quantity::new(angle.si, Dimension::of([0, 0, 0, 0, 0, 1])))
        };
        match self {
            Function::Sqrt => match value.dimension.pow(0.5) {
                Some(dimension) => Ok(Quantity::new(value.si.sqrt(), dimension)),
                None => {
                    let message = words!("`sqrt` of {} has no dimension", value.words());
                    Err(Fault::new(&codes::UNIT_MISMATCH, at.clone(), message, "check the formula"))
                }
            },
            Function::Abs if value.point => {
                let message = "`abs` of a temperature, which has no meaning";
                let help = "take the difference of two temperatures";
                Err(Fault::new(&codes::UNIT_MISMATCH, at.clone(), message, help))
            }
            Function::Abs => Ok(Quantity { si: value.si.abs(), ..value }),
            Function::Sin => plain(f64::sin),
            Function::Cos => plain(f64::cos),
            Function::Tan => plain(f64::tan),
            Function::Asin => angle(f64::asin),
            Function::Acos => angle(f64::acos),
            Function::Atan => angle(f64::atan),
            Function::Exp => plain(f64::exp),
            Function::Ln => plain(f64::ln),
            Function::Log10 => plain(f64::log10),
            Function::Round => plain(f64::round),
            Function::Min
            | Function::Max
            | Function::Sum
            | Function::Mean
            | Function::Count
            | Function::Product => Ok(value),
        }
    }
}
