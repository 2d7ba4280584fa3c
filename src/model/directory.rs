//! The blocks of a journal by name, before any is read.

use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

use super::kind::Kind;
use crate::journal::{Node, NodeValue};

/// The blocks of the journal by name, before any is read: their kind and the keys that stand in them.
#[derive(Clone, Default)]
pub(crate) struct Directory<'n> {
    pub entries: Vec<DirectoryEntry<'n>>,
    /// Every spelling of a name.
    pub names: Arc<HashMap<String, usize>>,
    /// Those of a kind that no other block replaces.
    pub of_kind: Arc<HashMap<&'static str, Vec<usize>>>,
}

#[derive(Clone)]
pub(crate) struct DirectoryEntry<'n> {
    /// What the block is known by.
    pub name: String,
    pub kind: &'static Kind,
    /// What stands in it; another block sees that by [`View::text_of`].
    pub(super) text: Text<'n>,
}

/// What stands in a block.
#[derive(Clone)]
pub(super) struct Text<'n> {
    pub keys: Vec<&'n str>,
    pub body: &'n Node,
}

impl<'n> Text<'n> {
    pub(super) fn new(body: &'n Node) -> Text<'n> {
        let keys = match &body.value {
            NodeValue::Mapping(entries) => entries.iter().filter_map(|(key, _)| key.text()).collect(),
            _ => Vec::new(),
        };
        Text { keys, body }
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

    /// What stands in the block of that number. Only the key `looked_at` of it may be looked at, or what is in it.
    pub(super) fn text_of(&self, number: usize, looked_at: &str) -> &'n Text<'n> {
        let key = looked_at.split('.').next().unwrap_or_default();
        self.looked_at.borrow_mut().insert((number as u32, key.to_owned()));
        &self.directory.entries[number].text
    }

    /// The same of the block of that name.
    pub(super) fn text(&self, name: &str, looked_at: &str) -> Option<&'n Text<'n>> {
        Some(self.text_of(self.number(name)?, looked_at))
    }

    /// All that was looked at, in order.
    pub(super) fn looked_at(self) -> Vec<LookedAt> {
        self.looked_at.into_inner().into_iter().collect()
    }
}
