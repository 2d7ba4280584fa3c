//! Why a value is not there, told from where it begins.

use super::{Results, State};
use crate::graph::Plan;
use crate::model::{BlockEntry, NodeDecl, Notebook, Origin, Role, Stage, Wanted};
use crate::words::{Words, words};

pub(crate) struct WhyNot {
    pub reason: Words,
    /// When what is missing is due, where that is an input that its kind knows.
    pub due: Option<Stage>,
}

impl Results {
    /// The reason that a value is not there: what its block said of it, or what was not given.
    pub(crate) fn why_not(&self, notebook: &Notebook, plan: &Plan, global: usize) -> WhyNot {
        let mut at = global;
        // Values form no loop, so this ends; the bound is for a plan that has one all the same.
        for _ in 0..plan.len() {
            let (number, index) = plan.local(at);
            let block = &notebook.blocks[number];
            let node = &block.nodes[index];
            let told = self.said[number].not_there.iter().find(|(slot, _)| *slot == index);
            if let Some((_, reason)) = told {
                return WhyNot { reason: reason.clone(), due: None };
            }
            let gone = |state| matches!(state, State::Absent | State::NotThere);
            let next = plan.needs(at).find(|need| gone(self.states[*need]));
            match next {
                Some(next) => at = next,
                None => return not_given(notebook, block, node),
            }
        }
        WhyNot { reason: Words::default(), due: None }
    }
}

fn not_given(notebook: &Notebook, block: &BlockEntry, node: &NodeDecl) -> WhyNot {
    if let Role::Field(Origin::Reference(resolved)) = &node.role {
        let name = resolved.expression.names().first();
        let name = name.map_or_else(String::new, |name| notebook.full_name(block, resolved, name));
        return match resolved.wanted {
            Wanted::Wish => WhyNot { reason: words!("`{}` is not there yet", name), due: Some(Stage::Test) },
            _ => WhyNot { reason: words!("`{}` is not given", name), due: None },
        };
    }
    let row = block.kind.rows.iter().find(|row| row.name == node.name);
    let reason = match row.map(|row| row.when).filter(|when| !when.is_empty()) {
        Some(when) => {
            words!("`{}.{}` is not given: it is worked {}", block.name, node.name, Words::from(when))
        }
        None => words!("`{}.{}` is not given", block.name, node.name),
    };
    WhyNot { reason, due: due(block, node) }
}

/// When a field is due that its author left out. The kind knows a field of a list's item by the names of both.
fn due(block: &BlockEntry, node: &NodeDecl) -> Option<Stage> {
    let known = |name: &str| block.kind.fields.iter().find(|doc| doc.name == name);
    let of_item = || {
        let (list, rest) = node.name.split_once('.')?;
        known(&format!("{list}.{}", rest.rsplit('.').next()?))
    };
    node.doc.or_else(|| known(&node.name)).or_else(of_item).map(|doc| doc.due)
}
