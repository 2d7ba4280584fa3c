//! Blocks that differ in plain numbers alone: one of them can stand in the place of another when its numbers do.

use std::collections::HashSet;
use std::fmt::Write;

use super::changed::{Change, Changeable};
use super::node::{NodeDecl, Origin, Role};
use crate::findings::Finding;
use crate::journal::{Node, NodeValue};
use crate::quantities::Quantity;

/// A block as others of its form see it.
pub(crate) struct Alike {
    /// All of it but its numbers, and what no other block looks at: the same of all that can stand for it.
    pub form: String,
    /// Its plain numbers by name, in one order for all of a form.
    pub numbers: Vec<(String, Quantity)>,
    /// Keys of what others don't look at, and may have otherwise: titles, reference numbers.
    pub unread: Vec<String>,
}

impl Changeable<'_> {
    /// `None` where no block has that name, and of one with an error, or with requirements of its own.
    pub(crate) fn alike(&self, name: &str) -> Option<Alike> {
        let number = *self.gathered.directory.names.get(name)?;
        let (entry, findings) = &self.read[number];
        if entry.faulty || !entry.requirements.is_empty() || findings.iter().any(Finding::is_error) {
            return None;
        }
        let looked_at = self.looked_at(entry.kind.name);
        let mut keys: Vec<(&str, &Node)> =
            self.body(number).entries()?.iter().filter_map(|(key, node)| Some((key.text()?, node))).collect();
        keys.sort_unstable_by_key(|(key, _)| *key);
        let mut alike = Alike { form: entry.kind.name.to_owned(), numbers: Vec::new(), unread: Vec::new() };
        for (key, node) in keys {
            let plain = node.text().and_then(|text| {
                self.plain_number(&Change { set: format!("{name}.{key}"), to: text.trim().to_owned() })
            });
            match plain {
                Some(quantity) => {
                    let _ = write!(alike.form, "\n{key}: {:?} {}", quantity.dimension, quantity.point);
                    alike.numbers.push((key.to_owned(), quantity));
                }
                None if looked_at.contains("") || looked_at.contains(key) || entry.shapes(key, node.span) => {
                    let _ = write!(alike.form, "\n{key}: ");
                    push_text(&mut alike.form, node);
                }
                None => alike.unread.push(key.to_owned()),
            }
        }
        let mut nodes: Vec<&NodeDecl> = entry.nodes.iter().collect();
        nodes.sort_unstable_by_key(|node| &node.name);
        nodes.into_iter().for_each(|node| alike.push_node(node));
        Some(alike)
    }

    /// The keys that blocks look at in others of a kind.
    fn looked_at(&self, kind: &str) -> HashSet<&str> {
        let looked_at = self.read.iter().flat_map(|(entry, _)| &entry.looked_at);
        let of_kind = looked_at.filter(|(at, _)| self.read[*at as usize].0.kind.name == kind);
        of_kind.map(|(_, key)| key.as_str()).collect()
    }
}

impl Alike {
    fn push_node(&mut self, node: &NodeDecl) {
        if self.unread.iter().any(|key| node.name.split('.').next() == Some(key)) {
            return;
        }
        let _ = write!(self.form, "\n{} {:?} {}", node.name, node.range, node.hidden);
        let number = self.numbers.iter().any(|(name, _)| *name == node.name);
        let _ = match &node.role {
            Role::Field(Origin::Leaf(_)) if number => Ok(()),
            Role::Field(Origin::Leaf(leaf)) => write!(self.form, " {:?}", leaf.literal.quantity),
            Role::Field(Origin::Reference(resolved)) => write!(self.form, " from {:?}", resolved.expression),
            Role::Field(Origin::Text(text)) => write!(self.form, " {text:?}"),
            Role::Field(Origin::Curve { curve, .. }) => write!(self.form, " {curve:?}"),
            Role::Field(Origin::Failed) => write!(self.form, " failed"),
            Role::Field(Origin::Absent) => write!(self.form, " absent"),
            Role::Step(_) => write!(self.form, " worked"),
        };
    }
}

/// What is typed there, on one line.
fn push_text(form: &mut String, node: &Node) {
    match &node.value {
        NodeValue::Scalar { text, .. } => {
            let _ = write!(form, "{text:?}");
        }
        NodeValue::Sequence(items) => items.iter().for_each(|item| {
            form.push_str(" - ");
            push_text(form, item);
        }),
        NodeValue::Mapping(entries) => entries.iter().for_each(|(key, value)| {
            form.push_str(" { ");
            push_text(form, key);
            push_text(form, value);
        }),
        NodeValue::Empty => form.push_str(" ~"),
    }
}
