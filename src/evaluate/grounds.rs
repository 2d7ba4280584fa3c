//! What each value rests on: the weakest basis among its leaves.

use crate::graph::Plan;
use crate::model::{NodeDecl, Notebook, Origin, Role};
use crate::quantities::Basis;

/// By the plan's table of values.
pub(crate) struct Grounds {
    /// `None` for what rests on no leaf at all.
    pub weakest: Vec<Option<Basis>>,
}

impl Grounds {
    pub(super) fn find(notebook: &Notebook, plan: &Plan) -> Grounds {
        let mut grounds = Grounds { weakest: vec![None; plan.len()] };
        for global in &plan.order {
            let (block, index) = plan.local(*global);
            let node = &notebook.blocks[block].nodes[index];
            if let Some(basis) = own_basis(node) {
                grounds.weakest[*global] = Some(basis);
                continue;
            }
            let bases = plan.needs(*global).filter_map(|need| grounds.weakest[need]);
            grounds.weakest[*global] = bases.max_by_key(|basis| weakness(*basis));
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

/// `None` for what is no leaf, and for what nobody doubts here: counts, size codes, values of the rules, and what was
/// chosen or stated without a word on how it is known.
pub(crate) fn own_basis(node: &NodeDecl) -> Option<Basis> {
    match &node.role {
        Role::Field(Origin::Leaf(_)) if node.count => None,
        Role::Field(Origin::Leaf(leaf) | Origin::Curve { leaf: Some(leaf), .. }) => leaf.doubtful_basis(),
        Role::Field(Origin::Curve { leaf: None, .. }) => Some(Basis::Assumed),
        _ => None,
    }
}
