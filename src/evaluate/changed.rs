//! Works changed journals by the thousand: their nominal values alone, and only where they depend on what was changed.
//!
//! A candidate is a list of changes. Candidates that differ in plain numbers only are *variants* of one notebook, which is
//! read, planned and worked once; each of them then is its numbers put into the table of values, and the work that
//! depends on them done again. Uncertainties, verdicts and words come from [`Variant::run`], which is the whole run: candidates
//! are sorted by nominal values, and those that are shown are run whole.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::fixed::State;
use super::groups::{Group, groups};
use super::machine::Machine;
use super::replay::{Reach, Reaches, Search, Through};
use super::{Draws, Results, not_finite, run, run_some, show};
use crate::findings::Finding;
use crate::graph::{self, Action, Plan};
use crate::model::{Change, Changeable, Changed, Notebook, Page, Refusal, Said};
use crate::parallel;
use crate::quantities::{Quantity, Unit};

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

/// What was worked for many candidates.
#[derive(Default)]
pub(crate) struct Effort {
    /// Variants that were read and planned.
    pub variants: AtomicUsize,
    /// Blocks that were read again for them.
    pub read_again: AtomicUsize,
    /// Blocks that were run again for candidates.
    pub runs: AtomicUsize,
}

/// The nominal values of one candidate.
pub(crate) struct Nominal<'t, 'v> {
    pub variant: &'v Variant,
    machine: &'t Machine<'v>,
    /// What rests on uncertainties, which are not worked here.
    loose: &'t [bool],
    /// What rests on blocks with errors, where there are any.
    spoilt: Option<Vec<bool>>,
}

/// Plain numbers of a variant, put into its table one set after another.
pub(crate) struct Trial<'v> {
    variant: &'v Variant,
    pub(super) machine: Machine<'v>,
    pub(super) units: Vec<Unit>,
    /// The inputs that the numbers are for.
    inputs: Vec<usize>,
    reach: Reach,
    /// The blocks in which a value may follow them.
    moved: Vec<usize>,
    loose: Vec<bool>,
    /// Errors that any number leaves as they are.
    standing: Vec<Finding>,
    /// By block: it is wanted, and the same as in the unchanged journal.
    untouched: Vec<bool>,
}

/// So many candidates of one notebook, on average, are few.
const FEW: usize = 16;

/// Works every candidate. `asks` gives the values of a variant that are wanted (all where it gives none); `look` takes what
/// it needs from a candidate's nominal values. The outcomes are in the order of the candidates.
///
/// Errors: what can't be changed, and errors that the candidate has and its journal has not.
pub(crate) fn try_all<T: Send>(
    changeable: &Changeable<'_>,
    candidates: &[Vec<Change>],
    asks: impl Fn(&Variant) -> Vec<usize> + Sync,
    look: impl Fn(&Nominal<'_, '_>) -> T + Sync,
) -> (Vec<Result<T, Vec<Refusal>>>, Effort) {
    let effort = Effort::default();
    let told = Variant::of(changeable, &[]).map_or_else(|_| Vec::new(), |base| base.errors());
    let work = |trial: &mut Trial<'_>, numbers: &[Quantity]| {
        let before = trial.machine.runs;
        let outcome = trial.at(numbers.iter().copied(), &told).map(|nominal| look(&nominal));
        effort.runs.fetch_add(trial.machine.runs - before, Ordering::Relaxed);
        outcome
    };
    let variant = |member: usize| -> Result<Variant, Vec<Refusal>> {
        let variant = Variant::of(changeable, &candidates[member])?;
        effort.variants.fetch_add(1, Ordering::Relaxed);
        effort.read_again.fetch_add(variant.read_again.len(), Ordering::Relaxed);
        Ok(variant)
    };
    let alone = |member: &usize| {
        let variant = variant(*member)?;
        let trial = Trial::new(&variant, &[], &asks(&variant));
        work(&mut trial.expect("without inputs none is missing"), &[])
    };
    let worked = |group: &Group<'_>| -> Vec<Result<T, Vec<Refusal>>> {
        let swapped = group.has_other_parts();
        let whole = match variant(group.members[0]) {
            Ok(whole) => whole,
            Err(_) if swapped => return group.members.iter().map(alone).collect(),
            Err(refused) => return group.members.iter().map(|_| Err(refused.clone())).collect(),
        };
        let sets: Vec<&str> = group.sets.iter().map(String::as_str).collect();
        let Some(mut trial) = Trial::new(&whole, &sets, &asks(&whole)) else {
            return group.members.iter().map(alone).collect();
        };
        let each = group.members.iter().zip(&group.numbers);
        each.map(|(member, numbers)| match work(&mut trial, numbers) {
            // What is wrong with it is told of its own parts.
            Err(_) if swapped => alone(member),
            outcome => outcome,
        })
        .collect()
    };
    let all = || candidates.iter().map(Vec::as_slice).enumerate();
    let mut together = groups(changeable, all(), false);
    // Where few are of one notebook, it is worth its while to look for parts that can stand for each other.
    if together.len() * FEW > candidates.len() {
        together = groups(changeable, all(), true);
    }
    let made = parallel::each(together.len(), 1, |at| {
        let group = &together[at];
        let stands = || {
            let first = variant(group.members[0]).ok()?;
            Some(group.stand_for_all(&first, |member| variant(member).ok()))
        };
        if !group.has_other_parts() || stands() == Some(true) {
            return group.members.iter().copied().zip(worked(group)).collect::<Vec<_>>();
        }
        let members = group.members.iter().map(|member| (*member, candidates[*member].as_slice()));
        let apart = groups(changeable, members, false);
        apart.iter().flat_map(|group| group.members.iter().copied().zip(worked(group))).collect()
    });
    let mut all: Vec<(usize, Result<T, Vec<Refusal>>)> = made.into_iter().flatten().collect();
    all.sort_unstable_by_key(|(member, _)| *member);
    (all.into_iter().map(|(_, outcome)| outcome).collect(), effort)
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

    /// What `look` takes from its nominal values. What rests on blocks with errors is not known.
    pub(crate) fn nominal<T>(&self, look: impl FnOnce(&Nominal<'_, '_>) -> T) -> Option<T> {
        let told = self.errors();
        let mut trial = Trial::new(self, &[], &[])?;
        let nominal = trial.at(std::iter::empty(), &told).ok()?;
        Some(look(&nominal))
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
    fn errors_of(
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
    fn broken(&self) -> Vec<bool> {
        let blocks = self.notebook.blocks.iter().zip(&self.plan.wrong);
        blocks.map(|(block, wrong)| (block.faulty || *wrong) && !block.block.lines_stand_alone()).collect()
    }

    /// What has to be worked for the values that are wanted: with each its whole block, for an error in one of a block's
    /// values is an error of all.
    fn wanted(&self, asked: &[usize]) -> Vec<bool> {
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

impl<'v> Trial<'v> {
    /// `sets` are the full names of the inputs that get numbers, `asked` the values that are wanted of them; all where it is
    /// empty. `None` where an input has another name in this variant, as an item of a list has that is named by its part.
    pub(crate) fn new(variant: &'v Variant, sets: &[&str], asked: &[usize]) -> Option<Trial<'v>> {
        let Variant { notebook, plan, .. } = variant;
        let inputs: Vec<usize> = sets.iter().map(|set| plan.find(notebook, set)).collect::<Option<_>>()?;
        let mut machine = Machine::new(notebook, plan, &variant.broken());
        let mut found = variant.findings.clone();
        let wanted = variant.wanted(asked);
        let actions: Vec<Action> = plan
            .actions
            .iter()
            .copied()
            .filter(|action| match action {
                Action::Resolve(global) => wanted[*global],
                Action::Run(block) => wanted[plan.first[*block]..plan.first[*block + 1]].contains(&true),
            })
            .collect();
        machine.take(&actions, &mut found);
        let units = show::units(notebook, plan, &machine.dimensions);
        let runs = AtomicUsize::new(0);
        let fixed = machine.fixed(&runs);
        let reaches = Reaches::new(&fixed);
        let reach = Search::new(fixed, &reaches).going(Through::All).within(&inputs, Some(&wanted));
        let normalised = |value: &usize| {
            let (block, index) = plan.local(*value);
            notebook.blocks[block].nodes[index].row.is_some_and(|row| row.normalised)
        };
        let normalised = (0..plan.len()).filter(normalised).map(|value| plan.block_of(value));
        let loose = variant.resting_on(normalised);
        let of_reach = |number: &usize| {
            let mut values = plan.first[*number]..plan.first[*number + 1];
            values.any(|value| inputs.contains(&value) || reach.values.binary_search(&value).is_ok())
        };
        let any = |of: &[bool], number: usize| of[plan.first[number]..plan.first[number + 1]].contains(&true);
        let (moved, still): (Vec<usize>, Vec<usize>) =
            (0..notebook.blocks.len()).filter(|number| any(&wanted, *number)).partition(of_reach);
        // What rests on nothing that was read again has the errors that it has in the unchanged journal.
        let touched = variant.resting_on(variant.read_again.iter().copied());
        let (still, same): (Vec<usize>, Vec<usize>) =
            still.into_iter().partition(|number| any(&touched, *number));
        let mut untouched = vec![false; notebook.blocks.len()];
        same.into_iter().for_each(|number| untouched[number] = true);
        let mut standing = variant.errors_of((&machine, &units), &still, found);
        // What the numbers have a say in is told of each of them.
        let mut told = Vec::new();
        again(&mut machine, &reach, &mut told);
        let told = variant.errors_of((&machine, &units), &moved, told);
        standing.retain(|finding| !told.contains(finding));
        Some(Trial { variant, machine, units, inputs, reach, moved, loose, standing, untouched })
    }

    /// The nominal values with these numbers in the inputs, in their order. `told` are errors that the unchanged journal
    /// has: what rests on the blocks of those that are still there is not known.
    ///
    /// Errors: those that are not among them.
    pub(crate) fn at(
        &mut self,
        numbers: impl Iterator<Item = Quantity>,
        told: &[Finding],
    ) -> Result<Nominal<'_, 'v>, Vec<Refusal>> {
        for (input, number) in self.inputs.iter().zip(numbers) {
            self.machine.values[*input] = number.si;
        }
        let mut found = Vec::new();
        again(&mut self.machine, &self.reach, &mut found);
        let found = self.variant.errors_of((&self.machine, &self.units), &self.moved, found);
        let (old, fresh): (Vec<Finding>, Vec<Finding>) =
            found.into_iter().chain(self.standing.iter().cloned()).partition(|error| told.contains(error));
        if !fresh.is_empty() {
            return Err(fresh.into_iter().map(Refusal::Wrong).collect());
        }
        let blocks = &self.variant.notebook.blocks;
        let same =
            told.iter().filter(|error| error.block.is_some_and(|block| self.untouched[block as usize]));
        let spoilt = old.iter().chain(same).filter_map(|error| error.block).map(|number| number as usize);
        let mut spoilt = spoilt.filter(|number| !blocks[*number].block.lines_stand_alone()).peekable();
        let spoilt = spoilt.peek().is_some().then(|| self.variant.resting_on(spoilt));
        Ok(Nominal { variant: self.variant, machine: &self.machine, loose: &self.loose, spoilt })
    }
}

impl Nominal<'_, '_> {
    /// A value by its place in the variant's table; `None` where it is not known, and for texts and curves.
    pub(crate) fn quantity(&self, value: usize) -> Option<Quantity> {
        let machine = self.machine;
        let (block, index) = self.variant.plan.local(value);
        let node = &self.variant.notebook.blocks[block].nodes[index];
        let number =
            machine.states[value] == State::Known && !node.is_text() && machine.curves[value].is_none();
        let spoilt = self.spoilt.as_ref().is_some_and(|spoilt| spoilt[value]);
        (number && !self.loose[value] && !spoilt).then(|| Quantity {
            si: machine.values[value],
            dimension: machine.dimensions[value],
            point: machine.points[value],
        })
    }

    /// The same by its full name.
    #[cfg(test)]
    pub(crate) fn named(&self, name: &str) -> Option<Quantity> {
        self.quantity(self.variant.plan.find(&self.variant.notebook, name)?)
    }
}

/// Works again what depends on inputs that have other values now.
fn again(machine: &mut Machine<'_>, reach: &Reach, findings: &mut Vec<Finding>) {
    for global in &reach.values {
        let (number, index) = machine.plan.local(*global);
        if !machine.broken[number] {
            machine.values[*global] = f64::NAN;
            machine.states[*global] = State::Waiting;
            machine.curves[*global] = None;
            machine.begin(*global, &machine.notebook.blocks[number].nodes[index]);
        }
    }
    machine.broke.clear();
    machine.take(&reach.actions, findings);
}
