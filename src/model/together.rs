//! Lists of readings that were taken at the same moments: as many in each, and never one list alone.

use std::collections::BTreeMap;

use super::leaf::Readings;
use super::node::{NodeDecl, Origin, Role};
use super::notebook::Notebook;
use crate::findings::{Finding, codes, suggest};
use crate::words::words;

/// A list of another length than the first one of its name fails, for their covariance can't be worked. A name that
/// stands once is told.
pub(super) fn check(notebook: &mut Notebook, findings: &mut Vec<Finding>) {
    let mut groups: BTreeMap<String, Vec<(usize, usize)>> = BTreeMap::new();
    for (number, block) in notebook.blocks.iter().enumerate() {
        for (index, node) in block.nodes.iter().enumerate() {
            if let Some((name, _)) = readings(node).and_then(|readings| readings.together.as_ref()) {
                groups.entry(name.clone()).or_default().push((number, index));
            }
        }
    }
    for (name, members) in &groups {
        let lengths: Vec<usize> = members.iter().map(|at| length(notebook, *at)).collect();
        if members.len() == 1 {
            findings.extend(alone(notebook, members[0], groups.keys()));
        }
        for (at, length) in members.iter().zip(&lengths).filter(|(_, length)| **length != lengths[0]) {
            let (block, node) = (&mut notebook.blocks[at.0], at.1);
            let Some(span) = readings(&block.nodes[node]).map(|readings| readings.span) else { continue };
            let message = words!("{} readings where the first list of `{}` has {}", length, name, lengths[0]);
            let help =
                "give lists that were taken together a reading for each moment, or take `together` away";
            let finding = Finding::new(&codes::BAD_VALUE, span, message, help);
            findings.push(finding.in_block(at.0));
            block.nodes[node].role = Role::Field(Origin::Failed);
            block.faulty = true;
        }
    }
}

fn alone<'a>(
    notebook: &Notebook,
    (number, node): (usize, usize),
    names: impl Iterator<Item = &'a String>,
) -> Option<Finding> {
    let block = &notebook.blocks[number];
    let (name, span) = readings(&block.nodes[node])?.together.as_ref()?;
    let help = match suggest(name, names.filter(|other| *other != name).map(String::as_str)) {
        Some(near) => words!("did you mean `{}`?", near),
        None => {
            "give the list that was read at the same moments the same name, or take `together` away".into()
        }
    };
    let message = words!("no other list of readings was taken together as `{}`", name);
    let finding = Finding::new(&codes::TOGETHER_ALONE, *span, message, help);
    Some(finding.in_block(number))
}

fn readings(node: &NodeDecl) -> Option<&Readings> {
    node.leaf()?.readings.as_ref()
}

fn length(notebook: &Notebook, (block, node): (usize, usize)) -> usize {
    readings(&notebook.blocks[block].nodes[node]).map_or(0, |readings| readings.values.len())
}
