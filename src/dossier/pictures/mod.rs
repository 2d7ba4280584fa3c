//! Drawings of the vehicle's own parts: each is laid out here once, for both printers.

mod coolant;
mod driveline;
mod one_line;
mod outlines;
mod pack;
mod side;
#[cfg(test)]
mod tests;

pub(super) use coolant::coolant;
pub(super) use driveline::driveline;
pub(super) use one_line::{Stop, Symbol, There, one_line};
pub(super) use outlines::{Form, Spot, outlines};
pub(super) use pack::pack;
pub(super) use side::side;
