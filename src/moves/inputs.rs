//! The inputs that differ between two states of a journal.

use std::collections::BTreeMap;

use serde::Serialize;

use super::with_plain_spaces_if;
use crate::model::{BlockEntry, NodeDecl, Origin, Role, Wanted};
use crate::report::Told;

/// An input, or a whole block, that is not as it was.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct InputMove {
    #[serde(serialize_with = "with_plain_spaces_if")]
    pub after: Option<String>,
    /// Why a block replaces another.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub because: Option<String>,
    #[serde(serialize_with = "with_plain_spaces_if")]
    pub before: Option<String>,
    pub change: InputChange,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum InputChange {
    Changed,
    Added,
    Removed,
    Replaced,
}

impl InputChange {
    pub(crate) fn word(self) -> &'static str {
        match self {
            InputChange::Changed => "changed",
            InputChange::Added => "added",
            InputChange::Removed => "removed",
            InputChange::Replaced => "replaced",
        }
    }
}

/// All of them, by full name; of a block that is on one side only there is its name alone, and of one that was replaced
/// its name beside those of its inputs that differ.
pub(crate) fn inputs(before: Told<'_>, after: Told<'_>) -> BTreeMap<String, InputMove> {
    let mut found = BTreeMap::new();
    let of = |change| InputMove { after: None, because: None, before: None, change };
    for (number, block) in blocks(after) {
        let Some((old_number, old)) = blocks(before).find(|(_, old)| old.name == block.name) else {
            // What is named anew because it was replaced is no addition.
            if block.replaced_by.is_none() {
                let after = Some(block.kind.name.to_owned());
                found.insert(block.name.clone(), InputMove { after, ..of(InputChange::Added) });
            }
            continue;
        };
        if chain(after, number) > chain(before, old_number) {
            let because = block.because.clone();
            found.insert(block.name.clone(), InputMove { because, ..of(InputChange::Replaced) });
        }
        compare((before, old_number, old), (after, number, block), &mut found);
    }
    for (_, block) in blocks(before) {
        if !blocks(after).any(|(_, new)| new.name == block.name) {
            let before = Some(block.kind.name.to_owned());
            found.insert(block.name.clone(), InputMove { before, ..of(InputChange::Removed) });
        }
    }
    found
}

/// The blocks of a state that have inputs, by number.
fn blocks(told: Told<'_>) -> impl Iterator<Item = (usize, &BlockEntry)> {
    told.notebook.blocks.iter().enumerate()
}

/// How often what a name means was replaced.
fn chain(told: Told<'_>, number: usize) -> usize {
    let blocks = &told.notebook.blocks;
    // A chain of replacements is no loop: that is an error, and nothing is replaced then.
    std::iter::successors(blocks[number].replaces, |at| blocks[*at].replaces).take(blocks.len()).count()
}

type Side<'t> = (Told<'t>, usize, &'t BlockEntry);

fn compare(old: Side<'_>, new: Side<'_>, found: &mut BTreeMap<String, InputMove>) {
    let all = |(told, number, block): Side<'_>| -> BTreeMap<String, (String, Option<f64>)> {
        let first = told.plan.first[number];
        let nodes = block.nodes.iter().enumerate();
        let inputs = nodes.filter_map(|(index, node)| {
            let text = written(told, node, first + index)?;
            Some((node.name.clone(), (text, node.si())))
        });
        inputs.collect()
    };
    let (mut before, after) = (all(old), all(new));
    let name = |input: &str| format!("{}.{input}", new.2.name);
    for (input, (text, si)) in after {
        let was = before.remove(&input);
        if was.as_ref() == Some(&(text.clone(), si)) {
            continue;
        }
        let change = if was.is_some() { InputChange::Changed } else { InputChange::Added };
        let before = was.map(|(text, _)| text);
        found.insert(name(&input), InputMove { after: Some(text), because: None, before, change });
    }
    for (input, (text, _)) in before {
        let change = InputChange::Removed;
        found.insert(name(&input), InputMove { after: None, because: None, before: Some(text), change });
    }
}

/// What an author wrote, or the program supposes in his place: value, how it is known, and the document. `None` for what
/// is no input.
fn written(told: Told<'_>, node: &NodeDecl, global: usize) -> Option<String> {
    let Role::Field(origin) = &node.role else { return None };
    if node.hidden {
        return None;
    }
    if let Origin::Reference(resolved) = origin {
        let text = resolved.expression.show(&mut |name| name.text());
        return (resolved.wanted == Wanted::Author).then(|| format!("from {text}"));
    }
    let leaf = node.leaf();
    // What a size code says is the code's, and a rule's value the rule's.
    if leaf.is_some_and(|leaf| leaf.stated || leaf.rule.is_some()) {
        return None;
    }
    let results = told.results;
    let shown = results.shown_with_uncertainty(told.notebook, told.plan, global);
    let shown = match (origin, shown) {
        (Origin::Text(text), _) => text.clone(),
        (_, Some(shown)) => shown,
        // Its block was not worked.
        (_, None) => leaf?.literal.written(),
    };
    let Some(leaf) = leaf.filter(|leaf| leaf.basis.is_some() || leaf.source.is_some()) else {
        return Some(shown);
    };
    let source = leaf.source.as_ref().map_or_else(String::new, |(id, _)| format!(" {id}"));
    Some(format!("{shown} ({}{source})", leaf.known_as()))
}
