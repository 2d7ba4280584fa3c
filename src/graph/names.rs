//! Finds blocks and their values by name.

use std::collections::HashMap;
use std::sync::{Arc, OnceLock};

use crate::findings::{Finding, Nearby, codes};
use crate::model::{NodeDecl, Notebook};
use crate::source::Span;
use crate::words::words;

/// The blocks by their names, and the values of those with so many that they are not looked through one by one.
pub(super) struct Names {
    pub(super) blocks: Arc<HashMap<String, usize>>,
    /// Indices of a block's values, sorted by name; made when the block is first asked for one.
    sorted: Vec<OnceLock<Vec<u32>>>,
    /// For suggestions: of the blocks, and of each block's values.
    near_blocks: OnceLock<Nearby>,
    near_values: Vec<OnceLock<Nearby>>,
}

impl Names {
    /// With so many values in a block, an index is worth making.
    const MANY: usize = 64;

    pub(super) fn new(notebook: &Notebook) -> Names {
        Names {
            blocks: notebook.names.clone(),
            sorted: notebook.blocks.iter().map(|_| OnceLock::new()).collect(),
            near_blocks: OnceLock::new(),
            near_values: notebook.blocks.iter().map(|_| OnceLock::new()).collect(),
        }
    }

    /// The block that may be meant by a name that none has.
    pub(super) fn near_block(&self, notebook: &Notebook, name: &str) -> Option<&str> {
        let blocks = notebook.blocks.iter().map(|entry| entry.name.as_str());
        self.near_blocks.get_or_init(|| Nearby::new(blocks)).suggest(name)
    }

    /// The value of a block that may be meant.
    pub(super) fn near_value(&self, notebook: &Notebook, number: usize, name: &str) -> Option<&str> {
        let shown = notebook.blocks[number].nodes.iter().filter(|node| !node.hidden);
        let names = shown.map(|node| node.name.as_str());
        self.near_values[number].get_or_init(|| Nearby::new(names)).suggest(name)
    }

    /// Where the first value of that name stands in a block.
    pub(super) fn index(&self, number: usize, nodes: &[NodeDecl], name: &str) -> Option<usize> {
        if nodes.len() < Names::MANY {
            return nodes.iter().position(|node| node.has_a_name() && node.name == name);
        }
        let named = |index: &u32| nodes[*index as usize].name.as_str();
        let sorted = self.sorted[number].get_or_init(|| {
            let shown = nodes.iter().enumerate().filter(|(_, node)| node.has_a_name());
            let mut sorted: Vec<u32> = shown.map(|(index, _)| index as u32).collect();
            sorted.sort_by_key(named);
            sorted
        });
        let at = sorted.partition_point(|index| named(index) < name);
        sorted.get(at).filter(|index| named(index) == name).map(|index| *index as usize)
    }
}

/// The block of a full name.
pub(super) fn block_name(name: &str) -> &str {
    name.split('.').next().unwrap_or(name)
}

/// The note on a name of before.
pub(super) fn old_name(was: &str, now: &str, at: Span) -> Finding {
    let message = words!("`{}` is called `{}` now", was, now);
    Finding::new(&codes::OLD_NAME, at, message, words!("type `{}`", now))
}
