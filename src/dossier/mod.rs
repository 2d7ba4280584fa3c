//! Computes nothing: every number arrives rounded, with its unit.

pub(crate) mod drawing;
pub(crate) mod piece;
