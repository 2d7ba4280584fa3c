//! What studies read of a block alike: conditions, and expressions that are shown.

use crate::blocks::shared::lists::named;
use crate::model::{Case, Form};

/// Why no verdict rests on an answer.
pub(in crate::blocks) const NO_VERDICT: &str =
    "it is the answer of a study, which has no uncertainty of its own: type the value in";

/// What stands under `show`: names with the indices of their expressions.
pub(in crate::blocks) fn shown(form: &mut Form<'_, '_>) -> Vec<(Case, usize)> {
    let mut shown = Vec::new();
    for (name, node) in named(form, "show") {
        let Some(text) = node.text() else {
            form.wrong_shape(&name, &node, "an expression");
            continue;
        };
        let case = Case { slug: name.clone(), title: name.replace('_', " ") };
        let worked = form.outcomes().step(&name, (text, node.span), None);
        shown.extend(worked.map(|worked| (case, worked.index())));
    }
    shown
}
