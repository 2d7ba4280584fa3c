//! The blocks of a journal by name, before any is read.

use std::collections::HashMap;

use super::kind::Kind;
use crate::journal::Node;

/// The blocks of the journal by name, before any is read: their kind and the keys that stand in them.
#[derive(Default)]
pub(crate) struct Directory<'n> {
    /// All that there are.
    pub kinds: &'static [&'static Kind],
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
