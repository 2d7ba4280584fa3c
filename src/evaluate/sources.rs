//! What is stated and bears a verdict of safety or law, and where that is stated.

use super::{Results, Verdict};
use crate::findings::{Finding, codes};
use crate::graph::Plan;
use crate::model::{FieldSort, Leaf, Notebook, RequirementKind};
use crate::quantities::Basis;
use crate::words::words;

/// A rating or a plate is exact because somebody states it: of each that such a verdict rests on it is asked where.
pub(super) fn wanted(notebook: &Notebook, plan: &Plan, results: &Results, findings: &mut Vec<Finding>) {
    // The first verdict that rests on each value.
    let mut bears: Vec<Option<usize>> = vec![None; plan.len()];
    for (at, judged) in results.judged.iter().enumerate() {
        if judged.kind != RequirementKind::Wish && judged.verdict != Verdict::Open {
            for part in std::iter::once(judged.actual).chain(judged.limits()) {
                bears[part].get_or_insert(at);
            }
        }
    }
    for global in plan.order.iter().rev() {
        let Some(at) = bears[*global] else { continue };
        plan.needs(*global).for_each(|need| {
            bears[need].get_or_insert(at);
        });
    }
    for (global, at) in bears.iter().enumerate() {
        let (Some(at), (number, index)) = (at, plan.local(global)) else { continue };
        let block = &notebook.blocks[number];
        let node = &block.nodes[index];
        if !node.leaf().is_some_and(is_bare) {
            continue;
        }
        let judged = &results.judged[*at];
        let on_it = &notebook.blocks[judged.block];
        let message = words!(
            "`{}` is stated without a source, and a verdict of {} rests on it: `{}.{}`",
            node.name,
            if judged.kind == RequirementKind::Legal { "law" } else { "safety" },
            on_it.name,
            on_it.requirements[judged.number].name
        );
        let help = "type `(datasheet ID)` or `(published ID)` behind it, ID being one of a `sources` block";
        findings.push(Finding::new(&codes::SOURCE_WANTED, node.span, message, help).in_block(number));
    }
}

/// Stated, by the author's word alone. What is a datasheet's or published is asked for its document elsewhere.
fn is_bare(leaf: &Leaf) -> bool {
    let said = leaf.basis.is_some_and(Basis::is_stated);
    leaf.sort == FieldSort::Stated
        && !(said || leaf.default || leaf.stated)
        && leaf.rule.is_none()
        && leaf.source.is_none()
}
