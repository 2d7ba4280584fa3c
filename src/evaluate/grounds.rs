//! What each value rests on: the weakest basis among its leaves, and the first leaf that nobody bounds.

use crate::graph::Plan;
use crate::model::{NodeDecl, Notebook, Origin, Role};
use crate::quantities::Basis;

/// By the plan's table of values.
pub(crate) struct Grounds {
    /// `None` for what rests on no leaf at all.
    pub weakest: Vec<Option<Basis>>,
    /// An estimated or assumed leaf without a tolerance, on which the value rests.
    pub loose: Vec<Option<usize>>,
}

impl Grounds {
    pub(super) fn find(notebook: &Notebook, plan: &Plan) -> Grounds {
        let mut grounds = Grounds { weakest: vec![None; plan.len()], loose: vec![None; plan.len()] };
        for global in &plan.order {
            let (block, index) = plan.local(*global);
            let node = &notebook.blocks[block].nodes[index];
            if let Some(basis) = own_basis(node) {
                grounds.weakest[*global] = Some(basis);
                let weak = matches!(basis, Basis::Estimated | Basis::Assumed);
                grounds.loose[*global] = (weak && !bounded(node)).then_some(*global);
                continue;
            }
            let bases = plan.needs(*global).filter_map(|need| grounds.weakest[need]);
            grounds.weakest[*global] = bases.max_by_key(|basis| weakness(*basis));
            grounds.loose[*global] = plan.needs(*global).find_map(|need| grounds.loose[need]);
        }
        grounds
    }
}

/// How well a basis bears what rests on it; the larger, the weaker.
pub(crate) fn weakness(basis: Basis) -> u8 {
    match basis {
        Basis::Measured => 0,
        Basis::Datasheet => 1,
        Basis::Published => 2,
        Basis::Target => 3,
        Basis::Estimated => 4,
        Basis::Assumed => 5,
    }
}

/// `None` for what is no leaf, and for counts, size codes and values of the rules, which nobody doubts here.
pub(crate) fn own_basis(node: &NodeDecl) -> Option<Basis> {
    match &node.role {
        Role::Field(Origin::Leaf(leaf)) if leaf.stated || node.count => None,
        Role::Field(Origin::Leaf(leaf)) => Some(leaf.basis()),
        Role::Field(Origin::Curve { leaf: Some(leaf), .. }) if leaf.stated => None,
        Role::Field(Origin::Curve { leaf, .. }) => {
            Some(leaf.as_ref().map_or(Basis::Assumed, |leaf| leaf.basis()))
        }
        _ => None,
    }
}

/// A tolerance, even of 0, or repeated readings.
fn bounded(node: &NodeDecl) -> bool {
    node.leaf().is_some_and(|leaf| leaf.readings.is_some() || leaf.literal.tolerance.is_some())
}
