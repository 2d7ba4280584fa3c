//! The blocks of a journal by name, before any is read.

use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap};
use std::sync::{Arc, OnceLock};

use super::kind::Kind;
use crate::findings::Nearby;
use crate::journal::Node;

/// The blocks of the journal by name, before any is read: their kind and the keys that stand in them.
#[derive(Clone, Default)]
pub(crate) struct Directory<'n> {
    /// All that there are.
    pub kinds: &'static [&'static Kind],
    pub entries: Vec<DirectoryEntry<'n>>,
    /// Every spelling of a name.
    pub names: Arc<HashMap<String, usize>>,
    /// Those of a kind that no other block replaces.
    pub of_kind: Arc<HashMap<&'static str, Vec<usize>>>,
    /// Names of blocks that can't be read, with their kinds.
    pub broken: Arc<HashMap<String, &'static str>>,
    pub(super) near: OnceLock<Nearby>,
}

impl Directory<'_> {
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

#[derive(Clone)]
pub(crate) struct DirectoryEntry<'n> {
    /// What the block is known by.
    pub name: String,
    pub kind: &'static Kind,
    body: &'n Node,
}

impl<'n> DirectoryEntry<'n> {
    pub(super) fn new(name: String, kind: &'static Kind, body: &'n Node) -> DirectoryEntry<'n> {
        DirectoryEntry { name, kind, body }
    }

    /// What stands in it; another block asks [`View::look_at`] first.
    pub(super) fn body(&self) -> &'n Node {
        self.body
    }

    /// The same block with another text.
    pub(super) fn with_body<'b>(&self, body: &'b Node) -> DirectoryEntry<'b> {
        DirectoryEntry { name: self.name.clone(), kind: self.kind, body }
    }
}

/// A key of another block that a block looked at, by the block's number; all keys where it is empty.
pub(crate) type LookedAt = (u32, String);

/// The directory as one block sees it. What it looks at in the texts of others is noted, for it may have another shape
/// when they are changed.
pub(super) struct View<'n> {
    pub directory: &'n Directory<'n>,
    looked_at: RefCell<BTreeSet<LookedAt>>,
}

impl<'n> View<'n> {
    pub(super) fn new(directory: &'n Directory<'n>) -> View<'n> {
        View { directory, looked_at: RefCell::default() }
    }

    /// Name and kind of a block, which never change.
    pub(super) fn get(&self, name: &str) -> Option<&'n DirectoryEntry<'n>> {
        Some(&self.directory.entries[self.number(name)?])
    }

    pub(super) fn number(&self, name: &str) -> Option<usize> {
        self.directory.names.get(name).copied()
    }

    /// The block of that number. Only the key of its text may be looked at, or what is in it; all where it is empty.
    pub(super) fn look_at(&self, number: usize, key: &str) -> &'n DirectoryEntry<'n> {
        let key = key.split('.').next().unwrap_or_default();
        self.looked_at.borrow_mut().insert((number as u32, key.to_owned()));
        &self.directory.entries[number]
    }

    /// All that was looked at, in order.
    pub(super) fn looked_at(self) -> Vec<LookedAt> {
        self.looked_at.into_inner().into_iter().collect()
    }
}
