//! Texts that say more than themselves, and what else the journal holds.

use super::form::Form;
use super::form_blocks::BlockName;
use super::node::{Origin, Role};
use super::slot::Slot;
use crate::journal::{Node, NodeValue};
use crate::quantities::{Basis, Unit, read_literal, read_note};
use crate::source::Span;

/// A block of the journal, as it is written.
#[derive(Clone, Copy)]
pub(crate) struct Other<'n> {
    pub name: &'n str,
    body: &'n Node,
}

impl<'n> Other<'n> {
    /// What stands under a key; empty where that is no plain value.
    pub(crate) fn text(&self, key: &str) -> &'n str {
        self.body.get(key).and_then(Node::text).unwrap_or_default().trim()
    }

    /// The blocks that a list names, bare or under `part`.
    pub(crate) fn names(&self, key: &str) -> Vec<&'n str> {
        let Some(NodeValue::Sequence(items)) = self.body.get(key).map(|list| &list.value) else {
            return Vec::new();
        };
        let name = |item: &'n Node| item.text().or_else(|| item.get("part")?.text());
        let bare = |text: &'n str| text.strip_prefix("from ").unwrap_or(text).trim();
        items.iter().filter_map(name).map(bare).collect()
    }
}

impl<'n> Form<'_, 'n> {
    /// A text with a note behind it, as values have one, and the document that the note names:
    /// `two layers of insulation (datasheet MOTOR)`. What is only estimated or assumed names none.
    pub(crate) fn text_with_document(&mut self, key: &str) -> Option<(String, Option<String>)> {
        let (text, span) = self.text(key)?;
        let note = text.strip_suffix(')').and_then(|text| text.rsplit_once('('));
        let Some((before, inner)) = note else { return Some((text, None)) };
        let Some(note) = Basis::read(inner.split([' ', ';']).next().unwrap_or_default())
            .and_then(|_| read_note(inner).ok())
        else {
            return Some((text, None));
        };
        let at = before.len() + 1;
        let source = note.source.map(|(id, place)| (id, span.part(at + place.start, place.len())));
        self.draft.cited.extend(source.clone());
        let known = matches!(note.basis, Basis::Measured | Basis::Datasheet | Basis::Published);
        Some((before.trim_end().to_owned(), source.filter(|_| known).map(|(id, _)| id)))
    }

    /// The id of a `sources` document that the block names beside its values.
    pub(crate) fn document(&mut self, key: &str) -> Option<(String, Span)> {
        let named = self.text(key);
        self.draft.cited.extend(named.clone());
        named
    }

    /// One text, or a list of them.
    pub(crate) fn words_of(&mut self, key: &str) -> Vec<(String, Span)> {
        let Some(value) = self.take(key) else { return Vec::new() };
        let items = match &value.value {
            NodeValue::Sequence(items) => items.as_slice(),
            _ => std::slice::from_ref(&value),
        };
        let mut words = Vec::new();
        for item in items {
            match item.text().map(str::trim) {
                Some(text) if !text.is_empty() => words.push((text.to_owned(), item.span)),
                _ => self.wrong_shape(key, item, "text"),
            }
        }
        let all: Vec<&str> = words.iter().map(|(text, _)| text.as_str()).collect();
        let role = Role::Field(Origin::Text(all.join(", ")));
        self.declare::<String>(key, value.span, None, Unit::one(), role);
        words
    }

    /// All blocks of a kind that no other one replaces.
    pub(crate) fn blocks_of_kind(&self, kind: &str) -> Vec<Other<'n>> {
        let directory = self.draft.directory;
        let entries = directory.of_kind.get(kind).into_iter().flatten().map(|at| &directory.entries[*at]);
        entries.map(|entry| Other { name: &entry.name, body: entry.body }).collect()
    }

    pub(crate) fn is_block(&self, name: &str) -> bool {
        self.draft.directory.get(name).is_some()
    }

    /// What a block is known by, whichever of its names stands there; a text that names none as it is.
    pub(crate) fn known_as<'t>(&self, text: &'t str) -> &'t str
    where
        'n: 't,
    {
        self.draft.directory.get(text).map_or(text, |entry| &entry.name)
    }

    /// The one block of a kind, as if a field of this block had named it; `None` where there are none or several.
    pub(crate) fn only_block(&self, kind: &str, field: &str) -> Option<BlockName> {
        match self.blocks_of_kind(kind).as_slice() {
            [only] => {
                Some(BlockName { name: only.name.to_owned(), span: self.place(), field: field.to_owned() })
            }
            _ => None,
        }
    }

    /// Whether a document stands behind a value: its own note names one, or that of the field that it is taken from.
    pub(crate) fn has_document<T>(&self, slot: Slot<T>) -> bool {
        match &self.draft.nodes[slot.index()].role {
            Role::Field(Origin::Leaf(leaf)) => leaf.source.is_some(),
            Role::Field(Origin::Reference(resolved)) => {
                let name = resolved.expression.as_name().map(|name| name.text());
                let name = name.as_deref().and_then(|name| name.split_once('.'));
                let body =
                    name.and_then(|(block, field)| Some((self.draft.directory.get(block)?.body, field)));
                let text = body.and_then(|(body, field)| body.get(field)?.text());
                let note = text.and_then(|text| read_literal(text.trim()).ok()?.note);
                note.is_some_and(|note| note.source.is_some())
            }
            _ => false,
        }
    }
}
