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
        let result = self.of_number(value.si);
        let plain = |dimension: Dimension| {
            if value.dimension.is_plain() {
                return Ok(Quantity::new(result, dimension));
            }
            let message = words!("`{}` of {}, where a plain number is expected", self.name(), value.words());
            let help = "divide by a value of the same unit first, so that a plain number is left";
            Err(Fault::new(&codes::UNIT_MISMATCH, at.clone(), message, help))
        };
        match self {
            Function::Sqrt => match value.dimension.pow(0.5) {
                Some(dimension) => Ok(Quantity::new(result, dimension)),
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
            Function::Abs => Ok(Quantity { si: result, ..value }),
            Function::Asin | Function::Acos | Function::Atan => plain(Dimension::of([0, 0, 0, 0, 0, 1])),
            Function::Sin
            | Function::Cos
            | Function::Tan
            | Function::Exp
            | Function::Ln
            | Function::Log10
            | Function::Round => plain(Dimension::NONE),
            Function::Min
            | Function::Max
            | Function::Sum
            | Function::Mean
            | Function::Count
            | Function::Product => Ok(value),
        }
    }

    /// The number of a function of one number; of one of many that number itself.
    pub(super) fn of_number(self, value: f64) -> f64 {
        match self {
            Function::Sqrt => value.sqrt(),
            Function::Abs => value.abs(),
            Function::Sin => value.sin(),
            Function::Cos => value.cos(),
            Function::Tan => value.tan(),
            Function::Asin => value.asin(),
            Function::Acos => value.acos(),
            Function::Atan => value.atan(),
            Function::Exp => value.exp(),
            Function::Ln => value.ln(),
            Function::Log10 => value.log10(),
            Function::Round => value.round(),
            Function::Min
            | Function::Max
            | Function::Sum
            | Function::Mean
            | Function::Count
            | Function::Product => value,
        }
    }
}
