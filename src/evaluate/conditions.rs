//! The conditions at which each value holds: loads, grades, temperatures and the like that its author set.

use crate::graph::Plan;
use crate::model::{FieldSort, NodeDecl, Notebook, Origin, Role};

/// So many are told of a value; what stands nearest to it comes first.
const MOST: usize = 4;

/// By the plan's table of values: the places of the conditions that it rests on.
pub(super) fn conditions(notebook: &Notebook, plan: &Plan) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = vec![Vec::new(); plan.len()];
    for global in &plan.order {
        let (block, index) = plan.local(*global);
        if is_condition(&notebook.blocks[block].nodes[index]) {
            all[*global] = vec![*global];
            continue;
        }
        let mut own = Vec::new();
        for at in plan.needs(*global).flat_map(|need| &all[need]) {
            if own.len() < MOST && !own.contains(at) {
                own.push(*at);
            }
        }
        all[*global] = own;
    }
    all
}

/// A field that is documented as one, and no value of the rules.
fn is_condition(node: &NodeDecl) -> bool {
    match &node.role {
        Role::Field(Origin::Leaf(leaf)) => {
            leaf.rule.is_none() && node.doc.is_some_and(|doc| doc.sort == FieldSort::Condition)
        }
        _ => false,
    }
}
