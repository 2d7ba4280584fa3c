//! What a kind takes from a block that the author named, beyond a plain value: a whole curve, a value with a stand-in.

use super::block::Slot;
use super::form::Form;
use super::form_blocks::{BlockName, local_name, taken_from};
use super::node::{Origin, Role, Wanted};
use super::scalar;
use crate::quantities::si::Measure;
use crate::quantities::{Curve, Unit, read_literal};

impl Form<'_, '_> {
    /// A curve that this kind needs from a block that the author named, taken whole.
    pub(crate) fn curve_of_block(&mut self, block: Option<&BlockName>, name: &str) -> Slot<Curve> {
        let mut origin = taken_from(block, name, Wanted::Kind);
        if let Origin::Reference(resolved) = &mut origin {
            resolved.whole_curve = true;
        }
        let span = block.map_or(self.place(), |block| block.span);
        self.declare(&local_name(block, name), span, None, Unit::one(), Role::Field(origin))
    }

    /// A value that may be missing in the named block, with what stands in for it then: a load transfer without a
    /// height is one with the height 0 m. The stand-in is no assumption of the author's and is not listed as one.
    pub(crate) fn of_block_or<T: Measure>(
        &mut self,
        block: Option<&BlockName>,
        name: &str,
        stand_in: &str,
    ) -> Slot<T> {
        let literal = read_literal(stand_in).expect("a stand-in is written in the language");
        let mut leaf = scalar::leaf(literal, self.place());
        leaf.stated = true;
        let unit = leaf.literal.unit.clone();
        let local = local_name(block, name);
        let hidden: Slot<T> = self.declare(
            &format!("no {local}"),
            self.place(),
            Some(T::SORT),
            unit,
            Role::Field(Origin::Leaf(Box::new(leaf))),
        );
        self.draft.nodes[hidden.index()].hidden = true;
        let mut origin = taken_from(block, name, Wanted::KindIfThere);
        if let Origin::Reference(resolved) = &mut origin {
            resolved.otherwise = Some(hidden.index() as u32);
        }
        let span = block.map_or(self.place(), |block| block.span);
        self.declare(&local, span, Some(T::SORT), T::SORT.display_unit(), Role::Field(origin))
    }
}
