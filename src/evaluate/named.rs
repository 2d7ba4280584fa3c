//! The values that an expression names, found by position in the table of values.

use std::sync::Arc;

use crate::quantities::{Curve, Dimension, Name, Numbers, Quantity, Scope};

/// Where an expression's names stand in the table of values, in their order.
#[derive(Clone, Copy)]
pub(super) enum At<'a> {
    Table(&'a [usize]),
    /// By index in a block whose values begin there.
    Block(usize, &'a [u32]),
}

/// The values that an expression names, by position.
pub(super) struct Names<'a> {
    pub(super) at: At<'a>,
    pub(super) values: &'a [f64],
    pub(super) dimensions: &'a [Dimension],
    pub(super) points: &'a [bool],
    pub(super) curves: &'a [Option<Arc<Curve>>],
}

impl Names<'_> {
    fn global(&self, name: &Name) -> Option<usize> {
        match self.at {
            At::Table(at) => at.get(name.place).copied(),
            At::Block(start, uses) => uses.get(name.place).map(|index| start + *index as usize),
        }
    }
}

impl Scope for Names<'_> {
    fn quantity(&self, name: &Name) -> Option<Quantity> {
        let global = self.global(name)?;
        Some(Quantity {
            si: self.values[global],
            dimension: self.dimensions[global],
            point: self.points[global],
        })
    }

    fn curve(&self, name: &Name) -> Option<&Curve> {
        self.curves[self.global(name)?].as_deref()
    }

    fn curve_scale(&self, name: &Name) -> f64 {
        self.global(name).map_or(1.0, |global| self.values[global])
    }
}

impl Numbers for Names<'_> {
    fn number(&self, name: &Name) -> f64 {
        match self.global(name) {
            // There is no temperature below absolute zero.
            Some(global) if self.points[global] && self.values[global] < 0.0 => f64::NAN,
            Some(global) => self.values[global],
            None => f64::NAN,
        }
    }

    fn read_curve(&self, name: &Name, x: f64) -> f64 {
        let Some(global) = self.global(name) else { return f64::NAN };
        let read = self.curves[global].as_deref().and_then(|curve| curve.within(x));
        read.map_or(f64::NAN, |y| y * self.values[global])
    }
}
