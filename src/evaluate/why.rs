//! Why a value is not there, told from where it begins.

use super::{Results, State};
use crate::graph::Plan;
use crate::model::{Notebook, Origin, Role};
use crate::words::{Words, words};

impl Results {
    /// The reason that a value is not there: what its block said of it, or what was not given.
    pub(crate) fn why_not(&self, notebook: &Notebook, plan: &Plan, global: usize) -> Words {
        let mut at = global;
        // Values form no loop, so this ends; the bound is for a plan that has one all the same.
        for _ in 0..plan.len() {
            let (number, index) = plan.local(at);
            let block = &notebook.blocks[number];
            let node = &block.nodes[index];
            let told = self.said[number].not_there.iter().find(|(slot, _)| *slot == index);
            if let Some((_, reason)) = told {
                return reason.clone();
            }
            let gone = |state| matches!(state, State::Absent | State::NotThere);
            let next = plan.needs(at).find(|need| gone(self.states[*need]));
            match next {
                Some(next) => at = next,
                None => {
                    let name = match &node.role {
                        Role::Field(Origin::Reference(resolved)) => {
                            resolved.expression.names().first().map_or_else(String::new, |name| name.text())
                        }
                        _ => format!("{}.{}", block.name, node.name),
                    };
                    return words!("`{}` is not given", name);
                }
            }
        }
        Words::default()
    }
}
