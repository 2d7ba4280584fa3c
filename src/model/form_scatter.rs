//! What a fit leaves open, as leaves of their own.

use super::form::Form;
use super::leaf::Leaf;
use super::node::{Origin, Role};
use super::slot::Slot;
use crate::quantities::si::Measure;
use crate::quantities::{Basis, Shape, Unit, read_literal};

impl Form<'_, '_> {
    /// A leaf of 0 with a standard uncertainty of 1, from measured data. Several of them, each times a factor, make
    /// estimates that scatter together.
    pub(crate) fn scatter(&mut self, name: &str) -> Slot<f64> {
        let mut literal = read_literal("0 ± 1").expect("a value with a tolerance");
        if let Some(tolerance) = &mut literal.tolerance {
            tolerance.shape = Shape::Normal { coverage: 1.0 };
        }
        let mut leaf = Leaf::read(literal, self.place());
        leaf.basis = Some(Basis::Measured);
        let origin = Origin::Leaf(Box::new(leaf));
        self.declare(name, self.place(), Some(f64::SORT), Unit::one(), Role::Field(origin))
    }

    /// As [`Form::assumed`], the tolerance of the default being a standard uncertainty: a model's own error.
    pub(crate) fn assumed_error<T: Measure>(&mut self, key: &str) -> Slot<T> {
        let slot = self.assumed(key);
        if let Role::Field(Origin::Leaf(leaf)) = &mut self.draft.nodes[slot.index()].role
            && leaf.default
            && let Some(tolerance) = &mut leaf.literal.tolerance
        {
            tolerance.shape = Shape::Normal { coverage: 1.0 };
        }
        slot
    }
}
