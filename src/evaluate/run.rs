//! Runs a journal until no block is left in which an error is found on the way.

use std::collections::HashSet;

use super::{Draws, Results, work};
use crate::findings::Finding;
use crate::graph::Plan;
use crate::model::Notebook;

/// Works the whole journal, with its nominal values. A block in which an error is found on the way gives nothing, so
/// what was made of it is worked again without it.
pub(crate) fn run(notebook: &Notebook, plan: &Plan, draws: Option<Draws>) -> (Results, Vec<Finding>) {
    let wrong = notebook.blocks.iter().zip(&plan.wrong);
    let faulty: Vec<bool> =
        wrong.map(|(block, wrong)| (block.faulty || *wrong) && !block.block.lines_stand_alone()).collect();
    let mut told = Vec::new();
    // A faulty block is worked as far as it goes once, so that one run shows all that is wrong with it; what others make
    // of it is not asked.
    let fresh = faulty;
    if fresh.contains(&true) {
        told = errors_of(&work(notebook, plan, &vec![false; fresh.len()], &mut HashSet::new()).1, &fresh);
    }
    let (results, mut findings) = run_without((notebook, plan), fresh, draws);
    findings.extend(told);
    (results, findings)
}

/// Works blocks alone, which may not rest on others: nothing is known of those.
pub(crate) fn run_some(notebook: &Notebook, plan: &Plan, wanted: &[bool]) -> Results {
    let faulty = notebook.blocks.iter().zip(&plan.wrong).map(|(block, wrong)| block.faulty || *wrong);
    let without = faulty.zip(wanted).map(|(faulty, wanted)| faulty || !wanted).collect();
    run_without((notebook, plan), without, None).0
}

/// Works what these blocks have no part in.
fn run_without(
    (notebook, plan): (&Notebook, &Plan),
    mut fresh: Vec<bool>,
    draws: Option<Draws>,
) -> (Results, Vec<Finding>) {
    let mut broken = vec![false; fresh.len()];
    let mut told = Vec::new();
    let mut refused = HashSet::new();
    loop {
        broken.iter_mut().zip(&fresh).for_each(|(broken, fresh)| *broken |= fresh);
        let (results, mut findings) = work(notebook, plan, &broken, &mut refused);
        fresh = vec![false; broken.len()];
        for number in findings.iter().filter(|finding| finding.is_error()).filter_map(|finding| finding.block)
        {
            let number = number as usize;
            fresh[number] = !broken[number] && !notebook.blocks[number].block.lines_stand_alone();
        }
        if !fresh.contains(&true) {
            findings.extend(told);
            return (results.judged(notebook, plan, draws, &mut findings), findings);
        }
        told.extend(errors_of(&findings, &fresh));
    }
}

/// The errors that are those of some blocks.
fn errors_of(findings: &[Finding], of: &[bool]) -> Vec<Finding> {
    let own =
        |finding: &&Finding| finding.is_error() && finding.block.is_some_and(|number| of[number as usize]);
    findings.iter().filter(own).cloned().collect()
}
