//! The blocks of a journal by name, before any is read.

use std::collections::{HashMap, HashSet};
use std::sync::OnceLock;

use super::kind::Kind;
use crate::findings::Nearby;
use crate::journal::Node;

/// The blocks of the journal by name, before any is read: their kind and the keys that stand in them.
#[derive(Default)]
pub(crate) struct Directory<'n> {
    pub entries: Vec<DirectoryEntry<'n>>,
    /// Every spelling of a name.
    pub names: HashMap<String, usize>,
    /// Those of a kind that no other block replaces.
    pub of_kind: HashMap<&'static str, Vec<usize>>,
    /// Names of blocks that can't be read.
    pub broken: HashSet<String>,
    near: OnceLock<Nearby>,
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

    /// The block that may be meant by a name that none has.
    pub(super) fn near(&self, name: &str) -> Option<&str> {
        let near = self.near.get_or_init(|| {
            let mut names: Vec<&str> = self.names.keys().map(String::as_str).collect();
            names.sort_unstable();
            Nearby::new(names)
        });
        near.suggest(name)
    }
}
