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
use super::show;
use super::variant::Variant;
use crate::findings::Finding;
use crate::graph::Action;
use crate::model::{Change, Changeable, Refusal};
use crate::parallel;
use crate::quantities::{Quantity, Unit};

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
    /// What `look` takes from its nominal values. What rests on blocks with errors is not known.
    pub(crate) fn nominal<T>(&self, look: impl FnOnce(&Nominal<'_, '_>) -> T) -> Option<T> {
        let told = self.errors();
        let mut trial = Trial::new(self, &[], &[])?;
        let nominal = trial.at(std::iter::empty(), &told).ok()?;
        Some(look(&nominal))
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
