//! Values that are worked from readings of pieces where it matters how much the pieces differ.

use std::collections::HashSet;

use super::Plan;
use crate::findings::{Finding, codes};
use crate::model::{BlockEntry, Notebook, Origin, Role, SPREAD};
use crate::words::words;

impl Plan {
    /// An expression between readings of pieces and a value that is taken with their spread leaves their mean alone:
    /// what needs it of a string would be taken for more than its weakest.
    pub(super) fn spreads_lost(&mut self, notebook: &Notebook, findings: &mut Vec<Finding>) {
        for (number, block) in notebook.blocks.iter().enumerate() {
            for taken in block.kind.takes {
                let Some(base) = taken.name.strip_suffix(SPREAD) else { continue };
                let Some((bound, value)) = self.bound(notebook, block, (taken.field, base)) else { continue };
                if takes(block, bound, taken.name) || !self.rests_on_pieces(notebook, value) {
                    continue;
                }
                let part = &notebook.blocks[bound].name;
                let message = words!(
                    "`{}.{}` is worked from readings of pieces, and how much they differ is not known",
                    part,
                    base
                );
                let help = words!(
                    "take the readings as they are, `{}: from BLOCK.NAME`, or give `{}` in `{}`",
                    base,
                    taken.name,
                    part
                );
                let (_, index) = self.local(value);
                let at = notebook.blocks[bound].nodes[index].span;
                self.wrong[number] = true;
                findings.push(Finding::new(&codes::BAD_VALUE, at, message, help).in_block(number));
            }
        }
    }

    /// The block that a field names, and a value of it.
    fn bound(
        &self,
        notebook: &Notebook,
        block: &BlockEntry,
        (field, name): (&str, &str),
    ) -> Option<(usize, usize)> {
        let bound = block.bindings.iter().find(|binding| binding.field == field)?.block;
        Some((bound, self.find_in(notebook, bound, name)?))
    }

    fn rests_on_pieces(&self, notebook: &Notebook, value: usize) -> bool {
        let (mut open, mut seen) = (vec![value], HashSet::new());
        while let Some(at) = open.pop() {
            if seen.insert(at) {
                let (block, index) = self.local(at);
                let leaf = notebook.blocks[block].nodes[index].leaf();
                if leaf.and_then(|leaf| leaf.readings.as_ref()).is_some_and(|readings| readings.pieces) {
                    return true;
                }
                open.extend(self.needs(at));
            }
        }
        false
    }
}

/// Whether a block takes the value of that name from another one.
fn takes(block: &BlockEntry, bound: usize, name: &str) -> bool {
    block.nodes.iter().any(|node| match &node.role {
        Role::Field(Origin::Reference(taken)) if block.bound(taken) == Some(bound) => {
            taken.expression.as_name().is_some_and(|taken| taken.text() == name)
        }
        _ => false,
    })
}
