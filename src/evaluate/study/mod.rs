//! Answers the studies of a journal before it is worked: each from the journal with other inputs.
//!
//! An answer then is a value like any other, but it is never asked for again: nudges and draws leave it as it is, and no
//! verdict rests on it.

mod asking;
mod candidates;
mod decided;
mod firm;
mod solve;
mod trade;

use std::sync::Arc;

use super::variant::Variant;
use crate::findings::Finding;
use crate::graph;
use crate::model::{Answer, Block, Changeable, Condition, Notebook, Study};
use crate::quantities::Unit;
use asking::Asking;
pub(crate) use trade::tried;

/// An answered block, with the units of its results.
type Answered = (Arc<dyn Block>, Vec<(usize, Unit)>);

/// Answers every study that can be asked, and puts the answers into their blocks.
pub(crate) fn answer_studies(notebook: &mut Notebook, changeable: &Changeable<'_>) -> Vec<Finding> {
    let (plan, _) = graph::plan(notebook);
    let told = Variant::of(changeable, &[]).map_or_else(|_| Vec::new(), |base| base.errors());
    let mut findings = Vec::new();
    for number in 0..notebook.blocks.len() {
        let entry = &notebook.blocks[number];
        let Some(study) = entry.block.study() else { continue };
        if entry.faulty || plan.wrong[number] || entry.replaced_by.is_some() {
            continue;
        }
        let asking = Asking { changeable, notebook, plan: &plan, number, told: &told };
        match answer(&asking, study) {
            Ok((block, units)) => {
                let entry = &mut notebook.blocks[number];
                entry.block = block;
                units.into_iter().for_each(|(index, unit)| entry.nodes[index].unit = unit);
            }
            Err(found) => {
                notebook.blocks[number].faulty = true;
                findings.extend(found.into_iter().map(|finding| finding.in_block(number)));
            }
        }
    }
    findings
}

/// Asks one study.
fn answer(asking: &Asking<'_>, study: &Study) -> Result<Answered, Vec<Finding>> {
    let block = &asking.notebook.blocks[asking.number].block;
    match study {
        Study::Solve(asked) => {
            asking.free(&asked.input.set, asked.input.span)?;
            let asks = asked.condition.parts().chain(asked.shown.iter().map(|(from, _)| *from));
            asking.single(asks)?;
            let solved = solve::solve(asking, asked)?;
            // Where nothing could be worked in a journal with errors, those are told and no more.
            if solved.unknown == solved.tried && !asking.told.is_empty() {
                return Ok((block.clone(), Vec::new()));
            }
            let units = solved.units.clone();
            let block = block.answered(Answer::Solved(solved)).unwrap_or_else(|| block.clone());
            Ok((block, units))
        }
        Study::Trade(asked) => {
            for input in asked.varied.iter().flat_map(|varied| &varied.inputs) {
                asking.free(&input.set, input.span)?;
            }
            let parts = asked.keep.iter().flat_map(Condition::parts);
            let shown = asked.shown.iter().map(|column| column.from);
            asking.single(parts.chain(shown).chain(asked.prefer.iter().map(|one| one.from)))?;
            let traded = trade::trade(asking, asked)?;
            let worked = traded.kept > 0 || traded.dropped.iter().any(|one| one.together > 0);
            if !worked && !asking.told.is_empty() {
                return Ok((block.clone(), Vec::new()));
            }
            let result = |index: usize| asking.notebook.blocks[asking.number].nodes[index].row.is_some();
            let units = traded.units.iter().filter(|(index, _)| result(*index)).cloned().collect();
            let block = block.answered(Answer::Traded(Box::new(traded))).unwrap_or_else(|| block.clone());
            Ok((block, units))
        }
    }
}
