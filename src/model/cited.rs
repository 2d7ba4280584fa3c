//! Documents that values name: each must be there, and what a document states must name it.

use std::collections::HashSet;

use super::notebook::Notebook;
use crate::findings::{Finding, codes, suggest};
use crate::quantities::Basis;

/// Every source that a value names must be there.
pub(super) fn known(notebook: &Notebook, findings: &mut Vec<Finding>) {
    let mut told = HashSet::new();
    for block in &notebook.blocks {
        for node in &block.nodes {
            let Some((id, span)) = node.leaf().and_then(|leaf| leaf.source.as_ref()) else { continue };
            if notebook.sources.contains_key(id) || !told.insert(*span) {
                continue;
            }
            let help = match suggest(id, notebook.sources.keys().map(String::as_str)) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("add `{id}: {{title: …}}` to a `sources` block"),
            };
            let message = format!("no source is named `{id}`");
            let finding = Finding::new(&codes::UNKNOWN_REFERENCE, *span, message, help);
            findings.push(finding.in_block(&format!("{} {}", block.kind.name, block.name)));
        }
    }
}

/// A datasheet or publication that a value rests on has a name. One finding a block: it mostly has one cause, the
/// block's own `basis`.
pub(super) fn missing(notebook: &Notebook, findings: &mut Vec<Finding>) {
    for block in &notebook.blocks {
        let mut bare = block.nodes.iter().filter(|node| {
            let leaf = node.leaf().filter(|leaf| !leaf.default && !leaf.stated && leaf.source.is_none());
            leaf.is_some_and(|leaf| matches!(leaf.basis, Some(Basis::Datasheet | Basis::Published)))
        });
        let Some(first) = bare.next() else { continue };
        let basis = first.leaf().map_or("", |leaf| leaf.basis().word());
        let more = match bare.count() {
            0 => String::new(),
            1 => ", and so is one more value".to_owned(),
            more => format!(", and so are {more} more values"),
        };
        let message = format!("`{}` is `{basis}` without the source that it is from{more}", first.name);
        let help = format!("type `({basis} ID)`, ID being one of a `sources` block");
        let finding = Finding::new(&codes::MISSING_SOURCE, first.span, message, help);
        findings.push(finding.in_block(&format!("{} {}", block.kind.name, block.name)));
    }
}

/// A source that no value names is mostly a slip: a value that lost its note, or a second id for one paper.
pub(super) fn unused(notebook: &Notebook, findings: &mut Vec<Finding>) {
    let named: HashSet<&str> = notebook
        .blocks
        .iter()
        .flat_map(|block| &block.nodes)
        .filter_map(|node| Some(node.leaf()?.source.as_ref()?.0.as_str()))
        .collect();
    for block in &notebook.blocks {
        for source in block.block.sources().iter().filter(|source| !named.contains(source.id.as_str())) {
            let message = format!("no value names the source `{}`", source.id);
            let help = format!(
                "type `(measured {})`, or another basis, after the values that are from it",
                source.id
            );
            let finding = Finding::new(&codes::UNUSED_SOURCE, source.span, message, help);
            findings.push(finding.in_block(&format!("{} {}", block.kind.name, block.name)));
        }
    }
}
