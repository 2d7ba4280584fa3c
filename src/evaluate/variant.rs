//! A changed journal with its order of work: what is wrong with it, and what in it rests on what.

use super::fixed::State;
use super::machine::Machine;
use super::{Draws, Results, not_finite, run, run_some, show};
use crate::findings::Finding;
use crate::graph::{self, Plan};
use crate::model::{Change, Changeable, Changed, Notebook, Page, Refusal, Said};
use crate::quantities::Unit;

/// A changed journal, with its order of work.
pub(crate) struct Variant {
    pub notebook: Notebook,
    pub plan: Plan,
    /// Those of reading and planning.
    pub findings: Vec<Finding>,
    /// The numbers of the blocks that were read again.
    pub read_again: Vec<usize>,
    /// Items of ledgers that followed a part.
    pub followed: Vec<String>,
}

impl Variant {
    /// The journal with all changes made.
    ///
    /// Errors: every change that can't be made.
    pub(crate) fn of(changeable: &Changeable<'_>, changes: &[Change]) -> Result<Variant, Vec<Refusal>> {
        let Changed { notebook, mut findings, read_again, followed } = changeable.with(changes)?;
        let (plan, found) = graph::plan(&notebook);
        findings.extend(found);
        Ok(Variant { notebook, plan, findings, read_again, followed })
    }

    /// Works it whole, as the journal itself is: with uncertainties, verdicts and what its blocks say.
    pub(crate) fn run(&self, draws: Option<Draws>) -> (Results, Vec<Finding>) {
        let (results, found) = run(&self.notebook, &self.plan, draws);
        (results, self.findings.iter().cloned().chain(found).collect())
    }

    /// Works only some blocks so, with all that they rest on.
    pub(crate) fn run_some(&self, blocks: impl Iterator<Item = usize>) -> Results {
        let mut wanted = vec![false; self.notebook.blocks.len()];
        self.closure(blocks, |block| wanted[block] = true);
        run_some(&self.notebook, &self.plan, &wanted)
    }

    /// The errors of reading, planning and working it nominally.
    pub(super) fn errors(&self) -> Vec<Finding> {
        let mut machine = Machine::new(&self.notebook, &self.plan, &self.broken());
        let mut found = self.findings.clone();
        machine.work(&mut found);
        let all: Vec<usize> = (0..self.notebook.blocks.len()).collect();
        let units = show::units(&self.notebook, &self.plan, &machine.dimensions);
        self.errors_of((&machine, &units), &all, found)
    }

    /// The errors among what was found, those that the values say and those that blocks say of them.
    pub(super) fn errors_of(
        &self,
        (machine, units): (&Machine<'_>, &[Unit]),
        blocks: &[usize],
        mut found: Vec<Finding>,
    ) -> Vec<Finding> {
        for number in blocks {
            let block = &self.notebook.blocks[*number];
            let range = self.plan.first[*number]..self.plan.first[*number + 1];
            let known: Vec<bool> =
                machine.states[range.clone()].iter().map(|state| *state == State::Known).collect();
            // Nobody reads the words: only what is found counts.
            let mut page = Page {
                nodes: &block.nodes,
                show: &|_| Some(String::new()),
                show_as: &|_, _| String::new(),
                units: &units[range.clone()],
                values: &machine.values[range.clone()],
                known: &known,
                curves: &machine.curves[range],
                span: block.name_span,
                read: false,
                said: Said::default(),
            };
            block.block.present(&mut page);
            found.extend(page.said.findings.into_iter().map(|finding| finding.in_block(*number)));
        }
        not_finite(&self.notebook, &self.plan, &machine.broke, &mut found);
        found.retain(Finding::is_error);
        found
    }

    /// All values of some blocks, and all that rest on them.
    pub(super) fn resting_on(&self, blocks: impl Iterator<Item = usize>) -> Vec<bool> {
        let plan = &self.plan;
        let mut open: Vec<usize> =
            blocks.flat_map(|block| plan.first[block]..plan.first[block + 1]).collect();
        let mut resting = vec![false; plan.len()];
        let needed_by = plan.needed_by();
        while let Some(value) = open.pop() {
            if !std::mem::replace(&mut resting[value], true) {
                open.extend(needed_by.of(value).iter().map(|next| *next as usize));
            }
        }
        resting
    }

    /// The blocks that give nothing, for an error in them was found before any value was worked.
    pub(super) fn broken(&self) -> Vec<bool> {
        let blocks = self.notebook.blocks.iter().zip(&self.plan.wrong);
        blocks.map(|(block, wrong)| (block.faulty || *wrong) && !block.block.lines_stand_alone()).collect()
    }

    /// What has to be worked for the values that are wanted: with each its whole block, for an error in one of a block's
    /// values is an error of all.
    pub(super) fn wanted(&self, asked: &[usize]) -> Vec<bool> {
        let plan = &self.plan;
        let mut wanted = vec![asked.is_empty(); plan.len()];
        let blocks = asked.iter().map(|value| plan.block_of(*value));
        self.closure(blocks, |block| wanted[plan.first[block]..plan.first[block + 1]].fill(true));
        wanted
    }

    /// Blocks, and those that they rest on, each once.
    fn closure(&self, blocks: impl Iterator<Item = usize>, mut found: impl FnMut(usize)) {
        let plan = &self.plan;
        let mut open: Vec<usize> = blocks.collect();
        let mut seen = vec![false; self.notebook.blocks.len()];
        while let Some(block) = open.pop() {
            if !std::mem::replace(&mut seen[block], true) {
                found(block);
                let values = plan.first[block]..plan.first[block + 1];
                open.extend(values.flat_map(|value| plan.needs(value)).map(|need| plan.block_of(need)));
            }
        }
    }
}
