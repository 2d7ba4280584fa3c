//! Finds blocks and their values by name.

use std::collections::HashMap;
use std::sync::{Arc, OnceLock};

use crate::model::{NodeDecl, Notebook};

/// The blocks by their names, and the values of those with so many that they are not looked through one by one.
pub(super) struct Names {
    pub(super) blocks: Arc<HashMap<String, usize>>,
    /// Indices of a block's values, sorted by name; made when the block is first asked for one.
    sorted: Vec<OnceLock<Vec<u32>>>,
}

impl Names {
    /// With so many values in a block, an index is worth making.
    const MANY: usize = 64;

    pub(super) fn new(notebook: &Notebook) -> Names {
        Names {
            blocks: notebook.names.clone(),
            sorted: notebook.blocks.iter().map(|_| OnceLock::new()).collect(),
        }
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
