//! What a fit or a number of unequal pieces leaves open, as leaves of their own.

use super::form::Form;
use super::leaf::{Leaf, SPREAD};
use super::node::{Origin, Role};
use super::slot::Slot;
use crate::quantities::si::Measure;
use crate::quantities::{Basis, Literal, Shape, Tolerance, Unit, read_literal, show_number, show_operand};

impl Form<'_, '_> {
    /// Of readings of several pieces, their standard deviation as a value of its own: what strings of such pieces need.
    /// Its own relative uncertainty is 1/√(2 (n − 1)) (JCGM 100:2008, E.4.3).
    pub(super) fn spread_of_pieces(&mut self, key: &str, index: usize) {
        let node = &self.draft.nodes[index];
        let (span, sort) = (node.span, node.sort);
        let Some(leaf) = node.leaf() else { return };
        let Some(readings) = leaf.readings.as_ref().filter(|readings| readings.pieces) else { return };
        let freedom = readings.values.len() as f64 - 1.0;
        let mean = leaf.literal.quantity.si;
        let squares: f64 = readings.values.iter().map(|value| (value - mean).powi(2)).sum();
        let spread = (squares / freedom).sqrt();
        let own = &leaf.literal.unit;
        let unit = if own.is_point() { Unit::coherent(own.dimension) } else { own.clone() };
        let one = read_literal(&format!("1 {}", unit.symbol)).expect("a number with its unit");
        let off = spread / (2.0 * freedom).sqrt();
        // What is equal within the readings' digits is not known to differ.
        let tolerance = (spread > 0.0).then(|| Tolerance {
            half_width_si: off,
            relative: None,
            text: show_operand(off, &unit, 2),
            shape: Shape::Normal { coverage: 1.0 },
        });
        let number_text = show_number(unit.value_of(spread), 3);
        let literal = Literal { number_text, significant: 3, digit_si: None, tolerance, ..one };
        let literal = literal.at_si(spread);
        let spread = Leaf {
            basis: leaf.basis,
            source: leaf.source.clone(),
            remark: Some(format!("standard deviation of {} pieces", readings.values.len())),
            ..Leaf::new(literal)
        };
        let sort = sort.filter(|_| !own.is_point());
        let origin = Origin::Leaf(Box::new(spread));
        self.declare::<f64>(&format!("{key}{SPREAD}"), span, sort, unit, Role::Field(origin));
    }

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
