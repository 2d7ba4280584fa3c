//! The documents that a value rests on, through all that it is worked from.

use super::super::piece::{Face, Rich};
use super::given::source_id;
use super::{Scene, rich};
use crate::compile::Worked;

/// How many documents a line names.
const DOCUMENTS: usize = 2;

/// The documents that values rest on, those that decide most first.
pub(super) fn documents(scene: &Scene<'_>, of: impl Iterator<Item = usize>) -> Rich {
    let worked = scene.given.worked;
    let mut open: Vec<usize> = of.collect();
    let mut seen = vec![false; worked.plan.len()];
    open.iter().for_each(|at| seen[*at] = true);
    let decide = open.first().map(|first| worked.told().contributors(*first, usize::MAX)).unwrap_or_default();
    let mut leaves: Vec<usize> = decide.iter().map(|one| one.global).collect();
    while let Some(global) = open.pop() {
        leaves.push(global);
        open.extend(worked.plan.needs(global).filter(|need| !std::mem::replace(&mut seen[*need], true)));
    }
    let mut names: Vec<&str> = Vec::new();
    for global in leaves {
        names.extend(source_of(worked, global).filter(|id| !names.contains(id)));
    }
    let mut runs = Vec::new();
    for (at, name) in names.iter().take(DOCUMENTS).enumerate() {
        runs.extend((at > 0).then(|| rich::text(", ", Face::Plain)));
        runs.extend(rich::link(*name, source_id(name)).0);
    }
    if names.len() > DOCUMENTS {
        runs.push(rich::text(format!(", {}\u{a0}more", names.len() - DOCUMENTS), Face::Quiet));
    }
    Rich(runs)
}

/// The document that a value is from, if it names one.
pub(super) fn source_of(worked: &Worked, global: usize) -> Option<&str> {
    let (block, index) = worked.plan.local(global);
    worked.notebook.blocks[block].nodes[index].leaf()?.source.as_ref().map(|(id, _)| id.as_str())
}
