//! The least or greatest of several that are near each other: which one it is changes from draw to draw, and first order
//! knows but one of them.

use super::fixed::Fixed;
use super::uncertainty::Budget;
use crate::model::{Computed, Role};

/// Unless every other member is that many standard uncertainties away, there is a crowd.
const AWAY: f64 = 3.0;

/// By the table of values: whether one is the least or greatest of a crowd, or follows from such a one.
pub(super) fn crowded(fixed: &Fixed<'_>, budget: &Budget) -> Vec<bool> {
    let plan = fixed.plan;
    let mut crowded = vec![false; plan.len()];
    for global in &plan.order {
        let (block, index) = plan.local(*global);
        let of_a_crowd = || match &fixed.notebook.blocks[block].nodes[index].role {
            Role::Step(Computed::Formula { expression, uses } | Computed::Engine { expression, uses }) => {
                expression.extremes().iter().any(|(least, places)| {
                    let members = places.iter().filter_map(|place| uses.get(*place));
                    let members: Vec<usize> =
                        members.map(|index| plan.first[block] + *index as usize).collect();
                    is_crowd(fixed, budget, (*least, &members))
                })
            }
            _ => false,
        };
        crowded[*global] = plan.needs(*global).any(|need| crowded[need]) || of_a_crowd();
    }
    crowded
}

fn is_crowd(fixed: &Fixed<'_>, budget: &Budget, (least, members): (bool, &[usize])) -> bool {
    let value = |member: &usize| if least { fixed.nominal[*member] } else { -fixed.nominal[*member] };
    let Some(first) = members.iter().copied().min_by(|a, b| value(a).total_cmp(&value(b))) else {
        return false;
    };
    members.iter().filter(|member| **member != first).any(|member| {
        let apart = (fixed.nominal[*member] - fixed.nominal[first]).abs();
        apart < AWAY * budget.combine(&budget.difference(*member, first))
    })
}
