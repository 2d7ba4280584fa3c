//! How exactly a device does what it is set to, where its author says so.

use super::leaf::{Claim, Leaf, Supposed};
use super::node::NodeDecl;
use crate::findings::{Finding, codes};
use crate::words::words;

/// The key that says it, beside a setting, in its group or in its block.
pub(super) const ACCURACY: &str = "accuracy";

/// An `accuracy` of a block, with the settings that it holds for.
pub(super) struct Accuracy {
    /// The names of its settings begin so.
    prefix: String,
    /// Half of the width in SI, and whether that is a share of the setting.
    half: f64,
    share: bool,
    leaf: Leaf,
}

/// Those of a block, the innermost first. One that is no plain value is told.
pub(super) fn accuracies(nodes: &[NodeDecl], findings: &mut Vec<Finding>) -> Vec<Accuracy> {
    let mut found = Vec::new();
    for node in nodes {
        let documented = node.doc.is_some_and(|doc| doc.name.rsplit('.').next() == Some(ACCURACY));
        let Some(prefix) = node.name.strip_suffix(ACCURACY).filter(|_| documented) else { continue };
        match node.leaf() {
            Some(leaf) => found.push(Accuracy {
                prefix: prefix.to_owned(),
                half: leaf.literal.quantity.si,
                share: leaf.literal.unit.dimension.is_plain() && !leaf.literal.unit.dimension.has_angle(),
                leaf: leaf.clone(),
            }),
            None if node.is_reference() => {
                let help = "type it plainly, by its sheet: `accuracy: 10 mV`, or in % of what is set";
                findings.push(Finding::new(
                    &codes::BAD_VALUE,
                    node.span,
                    "an `accuracy` from elsewhere",
                    help,
                ));
            }
            None => {}
        }
    }
    found.sort_by_key(|accuracy| std::cmp::Reverse(accuracy.prefix.len()));
    found
}

impl Accuracy {
    /// Whether it is beside the setting, or around it, and of its dimension.
    pub(super) fn is_of(&self, node: &NodeDecl, leaf: &Leaf) -> bool {
        let (own, set) = (&self.leaf.literal.unit, &leaf.literal.unit);
        let fits = if self.share { !set.is_point() } else { own.dimension.same(set.dimension) };
        node.name.starts_with(&self.prefix) && fits && !own.is_point()
    }

    /// What the device makes of that setting.
    pub(super) fn of(&self, leaf: &Leaf) -> Supposed {
        let si = leaf.literal.quantity.si;
        let half = if self.share { self.half * si.abs() } else { self.half };
        Supposed {
            low: si - half,
            high: si + half,
            text: self.leaf.literal.written(),
            together: None,
            claim: Claim::SaidAccuracy,
        }
    }

    /// It would be passed over: whoever wrote it meant a setting.
    pub(super) fn of_nothing(&self, nodes: &[NodeDecl]) -> Option<Finding> {
        let name = format!("{}{ACCURACY}", self.prefix);
        let node = nodes.iter().find(|node| node.name == name)?;
        let message = words!("`{}` of {} fits nothing that is set here", name, self.leaf.literal.written());
        let help = "give it as a difference in the unit of what is set, or in % of it (not of a temperature)";
        Some(Finding::new(&codes::UNIT_MISMATCH, node.span, message, help))
    }
}
