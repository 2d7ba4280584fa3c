//! What studies read of a block alike: conditions, and expressions that are shown.

use crate::blocks::shared::lists::named;
use crate::model::{Case, Condition, Form, Node};

/// Why no verdict rests on an answer.
pub(in crate::blocks) const NO_VERDICT: &str =
    "it is the answer of a study, which has no uncertainty of its own: type the value in";

/// A comparison that is held against changed journals. `None` after a finding.
pub(in crate::blocks) fn condition(
    form: &mut Form<'_, '_>,
    name: &str,
    comparison: &Node,
) -> Option<Condition> {
    let requirement = form.outcomes().condition(name, comparison)?;
    Some(Condition::of(requirement, comparison.text().unwrap_or_default()))
}

/// What stands under `show`: names with the indices of their expressions.
pub(in crate::blocks) fn shown(form: &mut Form<'_, '_>) -> Vec<(Case, usize)> {
    let mut shown = Vec::new();
    for (name, node) in named(form, "show") {
        let Some(text) = node.text() else {
            form.wrong_shape(&name, &node, "an expression");
            continue;
        };
        let case = Case { slug: name.clone(), title: name.replace('_', " ") };
        let worked: Option<usize> = form.outcomes().worked(&name, (text, node.span));
        shown.extend(worked.map(|index| (case, index)));
    }
    shown
}
