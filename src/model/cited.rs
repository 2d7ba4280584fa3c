//! Documents that values name: each must be there and be used, and what a document states must name it.

use std::collections::HashSet;

use super::notebook::{BlockEntry, Notebook};
use crate::findings::{Finding, Nearby, codes};
use crate::quantities::Basis;
use crate::source::Span;
use crate::words::words;

/// Every source that a value names must be there; one that a block which can't be read may hold is not asked for. Each
/// block that names one which is not there has an error, though it is told where it stands first.
pub(super) fn known(notebook: &mut Notebook, findings: &mut Vec<Finding>) {
    let mut told = HashSet::new();
    let mut faulty = Vec::new();
    let mut ids: Vec<&str> = notebook.sources.keys().map(String::as_str).collect();
    ids.sort_unstable();
    let near = Nearby::new(ids);
    for (number, block) in notebook.blocks.iter().enumerate() {
        for (id, span) in named_by(block) {
            if notebook.sources.contains_key(id) || notebook.unread.contains(id) {
                continue;
            }
            faulty.push(number);
            if !told.insert(id.as_str()) {
                continue;
            }
            let help = match near.suggest(id) {
                Some(near) => words!("did you mean `{}`?", near),
                None => words!("add `{}: {}` to a `sources` block", id, "{title: …}"),
            };
            let message = words!("no source is named `{}`", id);
            let finding = Finding::new(&codes::UNKNOWN_REFERENCE, *span, message, help);
            findings.push(finding.in_block(number));
        }
    }
    faulty.into_iter().for_each(|number| notebook.blocks[number].faulty = true);
}

/// A source that nothing names, and whose file no block reads: a document that was dropped, or an id that was
/// mistyped where it is used.
pub(super) fn unused(notebook: &Notebook, findings: &mut Vec<Finding>) {
    let used: HashSet<&str> = notebook.blocks.iter().flat_map(named_by).map(|(id, _)| id.as_str()).collect();
    for (number, block) in notebook.blocks.iter().enumerate() {
        let read = |path: &str| {
            let others = notebook.blocks.iter().enumerate().filter(|(other, _)| *other != number);
            others.into_iter().any(|(_, other)| other.files.contains_key(path))
        };
        for source in block.block.sources() {
            if used.contains(source.id.as_str()) || source.file.as_ref().is_some_and(|(path, _)| read(path)) {
                continue;
            }
            let message = words!("no value names the source `{}`", source.id);
            let help = words!("type `(measured {})` or the like behind a value, or take it out", source.id);
            let finding = Finding::new(&codes::UNUSED_SOURCE, source.span, message, help);
            findings.push(finding.in_block(number));
        }
    }
}

/// The sources that a block names, with their places: behind values, those from CSV files included, and its own.
fn named_by(block: &BlockEntry) -> impl Iterator<Item = &(String, Span)> {
    let of_values = block.nodes.iter().filter_map(|node| node.leaf()?.source.as_ref());
    of_values.chain(&block.cited)
}

/// A datasheet or publication that a value rests on has a name. One finding a block: it mostly has one cause, the
/// block's own `basis`.
pub(super) fn missing(notebook: &Notebook, findings: &mut Vec<Finding>) {
    for (number, block) in notebook.blocks.iter().enumerate() {
        let mut bare = block.nodes.iter().filter(|node| {
            let leaf = node.leaf().filter(|leaf| !leaf.default && !leaf.stated && leaf.source.is_none());
            leaf.is_some_and(|leaf| matches!(leaf.basis, Some(Basis::Datasheet | Basis::Published)))
        });
        let Some(first) = bare.next() else { continue };
        let basis = first.leaf().map_or("", |leaf| leaf.basis().word());
        let more = match bare.count() {
            0 => String::new(),
            1 => ", and so is one more value".into(),
            more => format!(", and so are {more} more values"),
        };
        let message = words!("`{}` is `{}` without the source that it is from{}", first.name, basis, more);
        let help = words!("type `({} ID)`, ID being one of a `sources` block", basis);
        let finding = Finding::new(&codes::MISSING_SOURCE, first.span, message, help);
        findings.push(finding.in_block(number));
    }
}
