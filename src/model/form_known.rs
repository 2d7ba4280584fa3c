//! What a kind asks of values and blocks that it knows: who stands behind a value, what a block names in turn.

use super::block::Slot;
use super::form::Form;
use super::leaf::Leaf;
use super::node::{Origin, Role};
use crate::quantities::si::Measure;
use crate::quantities::{Curve, Unit};
use crate::rules::{Table, literal};

impl Form<'_, '_> {
    /// What the author wrote into a field: its basis and source. `None` for a reference.
    pub(crate) fn leaf_of<T>(&self, slot: Slot<T>) -> Option<&Leaf> {
        self.draft.nodes[slot.index()].leaf()
    }

    /// An optional quantity that has another name in this block than the key that it is typed under.
    pub(crate) fn optional_as<T: Measure>(&mut self, key: &str, name: &str) -> Option<Slot<T>> {
        let value = self.take(key)?;
        let range = self.range_of(key);
        Some(self.quantity(name, &value, Some(T::SORT), range))
    }

    /// A published table as a curve of this block: one column against its first.
    pub(crate) fn ruled_curve(&mut self, name: &str, table: &Table, column: &str) -> Slot<Curve> {
        let literals = |row: &Vec<String>| (literal(&row[0]), literal(table.cell(row, column)));
        let points = table.rows.iter().map(literals);
        let (units, points): (Vec<_>, Vec<_>) =
            points.map(|(x, y)| ((x.unit.clone(), y.unit.clone()), (x.quantity.si, y.quantity.si))).unzip();
        let curve = units.into_iter().next().and_then(|(x, y)| {
            // Its values are points of the scale or differences, whichever it is read at.
            let x = if x.is_point() { Unit::coherent(x.dimension) } else { x };
            Curve::new(points, x, y).ok()
        });
        let place = self.place;
        match curve {
            Some(curve) => {
                // A table is taken as it is printed: nothing about it is assumed.
                let mut leaf = Leaf::new(literal("1"));
                leaf.stated = true;
                Slot::new(self.curve(name, place, (curve, leaf)).index())
            }
            None => self.declare(name, place, None, Unit::one(), Role::Field(Origin::Failed)),
        }
    }
}
