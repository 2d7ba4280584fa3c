//! Works changed journals by the thousand: their nominal values alone, and only where they depend on what was changed.
//!
//! A candidate is a list of changes. Candidates that differ in plain numbers only are *variants* of one notebook, which is
//! read, planned and worked once; each of them then is its numbers put into the table of values, and the work that
//! depends on them done again. What a block says beside its numbers (a finding of its `present`) and all uncertainty
//! come from [`Variant::run`], which is the whole run: candidates are sorted by nominal values, and those that are shown
//! are run whole.

use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};


use super::machine::{Machine, State};
use super::replay::{Fixed, Reach, Reaches, Search, Through};
use super::{Draws, Results, not_finite, run};
use crate::findings::Finding;
use crate::graph::{self, Plan};
use crate::model::{Change, Changeable, Changed, Notebook, Refusal};
use crate::parallel;
use crate::quantities::{Dimension, Quantity};

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
}

/// Plain numbers of a variant, put into its table one set after another.
pub(crate) struct Trial<'v> {
    variant: &'v Variant,
    machine: Machine<'v>,
    /// The inputs that the numbers are for.
    inputs: Vec<usize>,
    reach: Reach,
    loose: Vec<bool>,
    /// Errors that any number leaves as they are.
    standing: Vec<Finding>,
}

/// How many candidates of one variant are worked at once on a core.
const SHARE: usize = 256;

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
    let groups = groups(changeable, candidates);
    let made = parallel::each(groups.len(), 1, |at| {
        let Group { members, numbers } = &groups[at];
        let count = members.len();
        effort.variants.fetch_add(1, Ordering::Relaxed);
        let variant = match Variant::of(changeable, &candidates[members[0]]) {
            Ok(variant) => variant,
            Err(refused) => return (0..count).map(|_| Err(refused.clone())).collect::<Vec<_>>(),
        };
        effort.read_again.fetch_add(variant.read_again.len(), Ordering::Relaxed);
        let sets: Vec<&str> = members[..1]
            .iter()
            .flat_map(|first| &candidates[*first])
            .enumerate()
            .filter_map(|(at, change)| numbers[0].iter().any(|(own, _)| *own == at).then_some(change.set.as_str()))
            .collect();
        let mut trial = Trial::new(&variant, &sets, &asks(&variant));
        let outcomes = numbers.iter().map(|numbers| {
            let numbers: Vec<Quantity> = numbers.iter().map(|(_, number)| *number).collect();
            trial.at(&numbers, &told).map(|nominal| look(&nominal))
        });
        let outcomes = outcomes.collect();
        effort.runs.fetch_add(trial.machine.runs, Ordering::Relaxed);
        outcomes
    });
    let mut all: Vec<Option<Result<T, Vec<Refusal>>>> = candidates.iter().map(|_| None).collect();
    for (group, outcomes) in groups.iter().zip(made) {
        for (member, outcome) in group.members.iter().zip(outcomes) {
            all[*member] = Some(outcome);
        }
    }
    (all.into_iter().flatten().collect(), effort)
}

/// Candidates of one variant: their numbers among all, and the plain numbers of each with the number of its change.
struct Group {
    members: Vec<usize>,
    numbers: Vec<Vec<(usize, Quantity)>>,
}

/// What makes candidates variants of one notebook: of each change the input, and the text where it is no plain number.
type Form<'c> = Vec<(&'c str, Result<(Dimension, bool), &'c str>)>;

fn groups(changeable: &Changeable<'_>, candidates: &[Vec<Change>]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    // Where the last group of each form stands.
    let mut last: HashMap<Form<'_>, usize> = HashMap::new();
    for (number, changes) in candidates.iter().enumerate() {
        let mut form: Form<'_> = Vec::with_capacity(changes.len());
        let mut numbers = Vec::with_capacity(changes.len());
        for (at, change) in changes.iter().enumerate() {
            let plain = changeable.plain_number(change);
            numbers.extend(plain.map(|number| (at, number)));
            let kind = plain.map(|number| (number.dimension, number.point)).ok_or(change.to.as_str());
            form.push((change.set.as_str(), kind));
        }
        let known = last.get(&form).copied().filter(|at| groups[*at].members.len() < SHARE);
        let at = known.unwrap_or_else(|| {
            groups.push(Group { members: Vec::new(), numbers: Vec::new() });
            last.insert(form, groups.len() - 1);
            groups.len() - 1
        });
        groups[at].members.push(number);
        groups[at].numbers.push(numbers);
    }
    groups
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

    /// The errors of reading, planning and working it nominally.
    fn errors(&self) -> Vec<Finding> {
        let mut machine = Machine::new(&self.notebook, &self.plan, &self.broken());
        let mut found = self.findings.clone();
        machine.work(&mut found);
        self.errors_of(&machine, found)
    }

    /// What was found, and what the values that came out say.
    fn errors_of(&self, machine: &Machine<'_>, mut found: Vec<Finding>) -> Vec<Finding> {
        not_finite(&self.notebook, &self.plan, &machine.broke, &mut found);
        found.retain(Finding::is_error);
        found
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
        let mut open: Vec<usize> = asked.iter().map(|value| plan.block_of(*value)).collect();
        let mut seen = vec![false; self.notebook.blocks.len()];
        while let Some(block) = open.pop() {
            if std::mem::replace(&mut seen[block], true) {
                continue;
            }
            for value in plan.first[block]..plan.first[block + 1] {
                wanted[value] = true;
                open.extend(plan.needs(value).map(|need| plan.block_of(need)));
            }
        }
        wanted
    }
}

impl<'v> Trial<'v> {
    /// `sets` are the full names of the inputs that get numbers, `asked` the values that are wanted of them; all where it is
    /// empty.
    pub(crate) fn new(variant: &'v Variant, sets: &[&str], asked: &[usize]) -> Trial<'v> {
        let Variant { notebook, plan, .. } = variant;
        let mut machine = Machine::new(notebook, plan, &variant.broken());
        let mut standing = variant.findings.clone();
        machine.work(&mut standing);
        let mut standing = variant.errors_of(&machine, standing);
        let inputs: Vec<usize> = sets.iter().filter_map(|set| plan.find(notebook, set)).collect();
        let runs = AtomicUsize::new(0);
        let fixed = Fixed {
            notebook,
            plan,
            nominal: &machine.values,
            states: &machine.states,
            curves: &machine.curves,
            dimensions: &machine.dimensions,
            points: &machine.points,
            runs: &runs,
        };
        let reaches = Reaches::new(&fixed);
        let wanted = variant.wanted(asked);
        let mut search = Search::new(fixed, &reaches).going(Through::All);
        let reach = search.within(&inputs, Some(&wanted));
        let normalised = |value: &usize| {
            let (block, index) = plan.local(*value);
            notebook.blocks[block].nodes[index].row.is_some_and(|row| row.normalised)
        };
        let normalised: Vec<usize> = (0..plan.len()).filter(normalised).collect();
        let mut loose = vec![false; plan.len()];
        if !normalised.is_empty() {
            search.of(&normalised).values.iter().chain(&normalised).for_each(|value| loose[*value] = true);
        }
        machine.runs = 0;
        let mut trial = Trial { variant, machine, inputs, reach, loose, standing: Vec::new() };
        // What the numbers have a say in is told of each of them.
        let mut told = Vec::new();
        trial.machine.again(&trial.reach, &mut told);
        let told = variant.errors_of(&trial.machine, told);
        standing.retain(|finding| !told.contains(finding));
        trial.standing = standing;
        trial
    }

    /// The nominal values with these numbers in the inputs. `told` are errors that the unchanged journal has.
    ///
    /// Errors: those that are not among them.
    pub(crate) fn at(&mut self, numbers: &[Quantity], told: &[Finding]) -> Result<Nominal<'_, 'v>, Vec<Refusal>> {
        for (input, number) in self.inputs.iter().zip(numbers) {
            self.machine.values[*input] = number.si;
            self.machine.states[*input] = State::Known;
        }
        let mut found = Vec::new();
        self.machine.again(&self.reach, &mut found);
        let found = self.variant.errors_of(&self.machine, found);
        let errors = found.into_iter().chain(self.standing.iter().cloned());
        let fresh: Vec<Refusal> =
            errors.filter(|finding| !told.contains(finding)).map(Refusal::Wrong).collect();
        match fresh.is_empty() {
            true => Ok(Nominal { variant: self.variant, machine: &self.machine, loose: &self.loose }),
            false => Err(fresh),
        }
    }

    /// How often blocks were run.
    pub(crate) fn runs(&self) -> usize {
        self.machine.runs
    }
}

impl Nominal<'_, '_> {
    /// A value by its place in the variant's table; `None` where it is not known, and for texts and curves.
    pub(crate) fn quantity(&self, value: usize) -> Option<Quantity> {
        let machine = self.machine;
        let (block, index) = self.variant.plan.local(value);
        let node = &self.variant.notebook.blocks[block].nodes[index];
        let number = machine.states[value] == State::Known && !node.is_text() && machine.curves[value].is_none();
        (number && !self.loose[value]).then(|| Quantity {
            si: machine.values[value],
            dimension: machine.dimensions[value],
            point: machine.points[value],
        })
    }

    /// The same by its full name.
    pub(crate) fn named(&self, name: &str) -> Option<Quantity> {
        self.quantity(self.variant.plan.find(&self.variant.notebook, name)?)
    }
}
