//! Quantities: numbers with units, tolerances and notes, and the expressions that work with them.
//!
//! Knows no blocks, spans or Markdown: whoever calls places a [`Fault`] in a file. A number with meaning never leaves
//! as a bare `f64` but in SI by a name that says so.

mod cholesky;
mod currency;
mod curve;
mod dimension;
mod expression;
mod fault;
mod fold;
mod format;
mod literal;
mod note;
mod number;
mod preferences;
mod quantity;
mod range;
pub(crate) mod si;
mod slug;
pub(crate) mod sort;
mod tolerance;
mod trace;
mod typed;
mod unit;

pub(crate) use cholesky::cholesky;
pub(crate) use curve::Curve;
pub(crate) use dimension::Dimension;
pub(crate) use expression::{
    Comparator, Comparison, Expression, Items, Name, Numbers, Over, Scope, Stand, read_comparison,
    read_expression, read_formula,
};
pub(crate) use fault::Fault;
pub(crate) use format::{
    last_place, show_apart, show_number, show_operand, show_quantity, show_thrice, show_with_uncertainty,
};
pub(crate) use literal::{Literal, note_behind, read_literal};
pub(crate) use note::{Basis, Note, read_note};
pub(crate) use number::looks_like_number;
pub(crate) use preferences::Preferences;
pub(crate) use quantity::Quantity;
pub(crate) use slug::slug;
pub(crate) use sort::Sort;
pub(crate) use tolerance::{Shape, Tolerance, read_tolerance};
pub(crate) use trace::{Trace, TraceFault};
pub(crate) use typed::instead_of;
pub(crate) use unit::{Unit, read_unit};
