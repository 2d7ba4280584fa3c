//! Limits that the journal confirms: whoever read one where it is stated makes it as good as read.

use super::node::{Origin, Role, Status};
use super::notebook::Notebook;
use super::papers::Confirmation;
use crate::findings::{Finding, codes};
use crate::rules::Source;
use crate::words::words;

/// Gives the requirements the standing that their limits have once they are confirmed. A block with an error confirms
/// nothing.
pub(super) fn apply(notebook: &mut Notebook, findings: &mut Vec<Finding>) {
    for number in 0..notebook.blocks.len() {
        let block = &notebook.blocks[number];
        let confirmed = block.block.confirmed().to_vec();
        let sound = confirmed.iter().fold(true, |sound, one| sound & known(notebook, number, one, findings));
        let block = &mut notebook.blocks[number];
        block.faulty |= !sound;
        if !block.faulty && block.replaced_by.is_none() {
            notebook.confirmed.extend(confirmed);
        }
    }
    let Notebook { blocks, confirmed, .. } = notebook;
    if confirmed.is_empty() {
        return;
    }
    let find = |source: &'static Source| confirmed.iter().find(|one| std::ptr::eq(one.source, source));
    for block in blocks {
        for requirement in block.requirements.iter_mut().filter(|one| !one.rules.is_empty()) {
            let left = requirement.rules.iter().filter(|rule| find(rule).is_none());
            let mut by: Vec<&Confirmation> = requirement.rules.iter().filter_map(|rule| find(rule)).collect();
            let Some(first) = by.first() else { continue };
            requirement.status =
                left.map(|rule| rule.standing).max().map_or_else(|| Status::Confirmed, Status::from);
            requirement.source.push_str(&format!("; {}", first.words()));
            by.dedup_by(|next, kept| next.by == kept.by);
            let names: Vec<&str> = by.iter().map(|one| one.by.as_str()).collect();
            requirement.confirmed_by = (requirement.status == Status::Confirmed).then(|| names.join(" and "));
        }
        for node in &mut block.nodes {
            if let Role::Field(Origin::Leaf(leaf)) = &mut node.role
                && let Some(one) = leaf.rule.and_then(find)
                && let Some(remark) = &mut leaf.remark
            {
                remark.push_str(&format!("; {}", one.words()));
            }
        }
    }
}

/// Whether the document is there, with a file; a name that no source has is told with those of values.
fn known(notebook: &Notebook, number: usize, one: &Confirmation, findings: &mut Vec<Finding>) -> bool {
    let (id, span) = &one.document;
    let Some(document) = notebook.sources.get(id) else { return false };
    if document.file.is_none() && !document.names_file {
        let message = words!("the document `{}` has no file", id);
        let help = words!("add `file: …` to `{}`: who confirms a limit shows where it is stated", id);
        findings.push(Finding::new(&codes::MISSING_FIELD, *span, message, help).in_block(number));
    }
    if document.file.is_some() && !document.shows() {
        let message = words!("the document `{}` is text of the journal", id);
        let help = "name the file that the limit was read in: a journal can't confirm what it says itself";
        findings.push(Finding::new(&codes::BAD_VALUE, *span, message, help).in_block(number));
    }
    document.shows()
}
