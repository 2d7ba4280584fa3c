//! The blocks of a journal by name, before any is read.

use std::collections::HashMap;

use super::kind::Kind;
use super::leaf::SPREAD;
use crate::journal::Node;

/// The blocks of the journal by name, before any is read: their kind and the keys that stand in them.
#[derive(Default)]
pub(crate) struct Directory<'n> {
    pub entries: Vec<DirectoryEntry<'n>>,
    /// Every spelling of a name.
    pub names: HashMap<String, usize>,
    /// Those of a kind that no other block replaces.
    pub of_kind: HashMap<&'static str, Vec<usize>>,
}

pub(crate) struct DirectoryEntry<'n> {
    /// What the block is known by.
    pub name: String,
    pub kind: &'static Kind,
    pub keys: Vec<&'n str>,
    pub body: &'n Node,
}

impl<'n> Directory<'n> {
    pub(super) fn get(&self, name: &str) -> Option<&DirectoryEntry<'n>> {
        Some(&self.entries[*self.names.get(name)?])
    }
}

impl DirectoryEntry<'_> {
    /// Whether the block can have a value of that name.
    pub(super) fn has(&self, name: &str) -> bool {
        let of_pieces = |name: &str| {
            let of = self.body.get(name).and_then(|value| value.get("of"));
            of.is_some_and(|of| of.is_text("pieces"))
        };
        self.keys.contains(&name) || self.kind.gives(name) || name.strip_suffix(SPREAD).is_some_and(of_pieces)
    }
}
