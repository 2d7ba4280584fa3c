//! What a kind asks of values and blocks that it knows: who stands behind a value, what a block names in turn.

use super::form::Form;
use super::form_blocks::BlockName;
use super::leaf::Leaf;
use super::node::{Origin, Role};
use super::slot::Slot;
use crate::journal::{Node, NodeValue};
use crate::quantities::si::Measure;
use crate::quantities::{Curve, Dimension, Literal, Sort, Unit, read_literal, read_unit};
use crate::rules::{Table, literal};

impl Form<'_, '_> {
    /// The blocks of the journal that name this one under a key, replaced ones apart; the name of each stands for the
    /// field that formulas know it by: `main_fuse.rated_voltage`.
    pub(crate) fn blocks_with(&self, key: &str, block: Option<&BlockName>, kinds: &[&str]) -> Vec<BlockName> {
        let directory = self.draft.directory;
        let Some((block, meant)) = block.and_then(|block| Some((block, directory.names.get(&block.name)?)))
        else {
            return Vec::new();
        };
        let names = |body: &Node| {
            let text = body.get(key).and_then(Node::text).unwrap_or_default().trim();
            directory.names.get(text.strip_prefix("from ").map_or(text, str::trim)) == Some(meant)
        };
        let found = directory.entries.iter().filter(|entry| {
            kinds.contains(&entry.kind.name) && !entry.name.contains('@') && names(entry.body)
        });
        let named = |name: &String| BlockName { name: name.clone(), span: block.span, field: name.clone() };
        found.map(|entry| named(&entry.name)).collect()
    }

    /// The day of the run, where there is one.
    pub(crate) fn today(&self) -> Option<String> {
        self.draft.evidence.today()
    }

    /// An optional quantity that has another name in this block than the key that it is typed under.
    pub(crate) fn optional_as<T: Measure>(&mut self, key: &str, name: &str) -> Option<Slot<T>> {
        let value = self.take(key)?;
        let range = self.range_of(key);
        Some(self.quantity(name, &value, Some(T::SORT), range))
    }

    /// Whether a curve of another block is of these dimensions, as far as they stand there plainly.
    pub(super) fn curve_fits(
        &self,
        (block, name): (&BlockName, &str),
        (x, y): (&'static Sort, &'static Sort),
    ) -> bool {
        let found = self.curve_dimensions(block, name);
        found.is_none_or(|found| found.0.same(x.dimension) && found.1.same(y.dimension))
    }

    /// The dimensions of a curve as its first point, or the titles of its columns, state them.
    fn curve_dimensions(&self, block: &BlockName, name: &str) -> Option<(Dimension, Dimension)> {
        let node = self.draft.directory.get(block.name.as_str())?.body.get(name)?;
        if let Some(NodeValue::Sequence(titles)) = node.get("columns").map(|columns| &columns.value) {
            let dimension = |title: &Node| {
                let title = title.text()?.trim();
                Some(read_unit(title[title.rfind('(')? + 1..].strip_suffix(')')?).ok()?.dimension)
            };
            return Some((dimension(titles.first()?)?, dimension(titles.get(1)?)?));
        }
        let NodeValue::Sequence(points) = &node.get("points").unwrap_or(node).value else { return None };
        let NodeValue::Sequence(pair) = &points.first()?.value else { return None };
        let dimension = |node: &Node| Some(read_literal(node.text()?.trim()).ok()?.quantity.dimension);
        Some((dimension(pair.first()?)?, dimension(pair.get(1)?)?))
    }

    /// A published table as a curve of this block: one column against its first.
    pub(crate) fn ruled_curve(&mut self, name: &str, table: &'static Table, column: &str) -> Slot<Curve> {
        let cells = |row: &Vec<String>| (literal(&row[0]), literal(table.cell(row, column)));
        let rows: Vec<(Literal, Literal)> = table.rows.iter().map(cells).collect();
        let points = rows.iter().map(|(x, y)| (x.quantity.si, y.quantity.si)).collect();
        let curve = rows.first().and_then(|(x, y)| {
            // Its values are points of the scale or differences, whichever it is read at.
            let x = if x.unit.is_point() { Unit::coherent(x.unit.dimension) } else { x.unit.clone() };
            Curve::new(points, x, y.unit.clone()).ok()
        });
        let place = self.place;
        let mut leaf = Leaf::new(literal("1"));
        leaf.stated = true;
        leaf.rule = Some(&table.source);
        match curve {
            Some(curve) => Slot::new(self.curve(name, place, (curve, leaf)).index()),
            None => self.declare(name, place, None, Unit::one(), Role::Field(Origin::Failed)),
        }
    }
}
