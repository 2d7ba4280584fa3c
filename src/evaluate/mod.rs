//! The only caller of a block. What depends on a failed value waits in silence.

mod causes;
mod changed;
#[cfg(test)]
mod changed_test;
mod conditions;
mod crowd;
mod decide;
mod draws;
mod fixed;
mod grounds;
mod groups;
mod judge;
mod machine;
mod monte_carlo;
mod named;
mod narrows;
#[cfg(test)]
mod narrows_test;
mod probe;
#[cfg(debug_assertions)]
mod proof;
mod random;
mod replay;
mod routes;
mod run;
mod show;
mod sources;
mod stable;
mod student;
pub(crate) mod study;
mod tally;
mod uncertainty;
mod variant;
mod verdict;
mod why;
mod width;

use std::collections::HashSet;
use std::sync::Arc;
use std::sync::atomic::AtomicUsize;

use crate::findings::{Finding, codes};
use crate::graph::Plan;
use crate::model::{Notebook, Origin, Page, Role, Said};
use crate::parallel;
use crate::quantities::{Curve, Dimension, Unit};

pub(crate) use causes::Uncertain;
pub(crate) use fixed::State;
pub(crate) use grounds::{Grounds, own_basis, weakness};
pub(crate) use monte_carlo::{Drawn, Draws, drawn};
pub(crate) use routes::Routes;
pub(crate) use run::{run, run_some};
pub(crate) use study::tried;
pub(crate) use uncertainty::Budget;
pub(crate) use variant::Variant;
pub(crate) use verdict::{Doubt, Judged, Verdict};

use crate::words::{Words, words};
use fixed::Fixed;
use judge::Quantities;
use machine::{Machine, Refused};

/// So many values that the draws don't settle are named.
const FEW: usize = 5;

/// How many blocks a core takes at once.
const SHARE: usize = 32;

/// What came out, by the plan's table of values.
pub(crate) struct Results {
    /// In SI units; NaN where not known, and for text.
    pub values: Vec<f64>,
    pub states: Vec<State>,
    pub texts: Vec<Option<String>>,
    pub curves: Vec<Option<Arc<Curve>>>,
    pub dimensions: Vec<Dimension>,
    /// Points on the temperature scale.
    pub points: Vec<bool>,
    /// The unit that each value is shown in.
    pub units: Vec<Unit>,
    /// What each block says of itself.
    pub said: Vec<Said>,
    /// Blocks with an error of their own.
    pub broken: Vec<bool>,
    /// Whether each block could be worked; one that could not loses its region.
    pub worked: Vec<bool>,
    pub judged: Vec<Judged>,
    pub routes: Routes,
    /// What each value's uncertainty is made of.
    pub budget: Budget,
    /// Combined standard uncertainties, in SI units; 0 for what is exact.
    pub standard: Vec<f64>,
    /// What each is multiplied with to be printed: 2, or more where few readings are behind it.
    pub coverage: Vec<f64>,
    pub grounds: Grounds,
    /// The places of the conditions that each value rests on.
    pub conditions: Vec<Vec<usize>>,
    /// Where it was asked for.
    pub drawn: Option<Drawn>,
    pub runs: Runs,
}

/// How often blocks were run again, and what for.
#[derive(Default)]
pub(crate) struct Runs {
    pub nudged: AtomicUsize,
    pub probed: AtomicUsize,
    pub drawn: AtomicUsize,
}

/// Works what is not broken: values, what the blocks say of them, and what is found on the way.
/// What was refused is not told again.
fn work(
    notebook: &Notebook,
    plan: &Plan,
    broken: &[bool],
    refused: &mut HashSet<Refused>,
) -> (Results, Vec<Finding>) {
    let mut findings = Vec::new();
    let mut machine = Machine::new(notebook, plan, broken);
    machine.refused.clone_from(refused);
    machine.work(&mut findings);
    refused.clone_from(&machine.refused);
    let runs = Runs::default();
    let known = Quantities {
        values: &machine.values,
        states: &machine.states,
        dimensions: &machine.dimensions,
        points: &machine.points,
    };
    judge::incomparable(notebook, plan, &known, &mut findings);
    let fixed = machine.fixed(&runs.nudged);
    #[cfg(debug_assertions)]
    proof::prove(fixed);
    let budget = Budget::work(fixed);
    let standard: Vec<f64> = (0..plan.len()).map(|global| budget.standard(global)).collect();
    let coverage: Vec<f64> =
        (0..plan.len()).map(|global| student::coverage(budget.freedom(global))).collect();
    let expanded: Vec<f64> =
        standard.iter().zip(&coverage).map(|(standard, factor)| standard * factor).collect();
    normalise(&mut machine, &expanded, (notebook, plan));
    let Machine { values, states, curves, dimensions, points, broke, .. } = machine;
    let mut results = Results {
        values,
        states,
        texts: vec![None; plan.len()],
        curves,
        units: show::units(notebook, plan, &dimensions),
        dimensions,
        points,
        said: Vec::new(),
        broken: broken.to_vec(),
        worked: vec![true; notebook.blocks.len()],
        judged: Vec::new(),
        routes: Routes::default(),
        budget,
        standard,
        coverage,
        grounds: Grounds::find(notebook, plan),
        conditions: conditions::conditions(notebook, plan),
        drawn: None,
        runs,
    };
    results.take_texts(notebook, plan);
    let said = parallel::each(notebook.blocks.len(), SHARE, |number| results.present(notebook, plan, number));
    results.take_said(plan, said, &mut findings);
    not_finite(notebook, plan, &broke, &mut findings);
    (results, findings)
}

/// Of each block that gives no reason itself, the first value that came out as no finite number: the others mostly
/// follow from it.
fn not_finite(notebook: &Notebook, plan: &Plan, broke: &[usize], findings: &mut Vec<Finding>) {
    let mut last = None;
    for global in broke {
        let number = plan.block_of(*global);
        let of_it = |finding: &Finding| finding.block == Some(number as u32) && finding.is_error();
        if last == Some(number) || findings.iter().any(of_it) {
            continue;
        }
        last = Some(number);
        let block = &notebook.blocks[number];
        let node = &block.nodes[*global - plan.first[number]];
        let message = format!("{} comes out as no finite number", node.label());
        let help = "look for a value of 0 or a wrong power of ten among what it is worked from";
        findings.push(Finding::new(&codes::NOT_FINITE, block.name_span, message, help).in_block(number));
    }
}

/// Differences over their expanded uncertainties; without an uncertainty there is none.
fn normalise(machine: &mut Machine<'_>, expanded: &[f64], (notebook, plan): (&Notebook, &Plan)) {
    for (number, block) in notebook.blocks.iter().enumerate() {
        for (index, node) in block.nodes.iter().enumerate() {
            let global = plan.first[number] + index;
            if !node.row.is_some_and(|row| row.normalised) || machine.states[global] != State::Known {
                continue;
            }
            let difference = plan.first[number] + node.uses()[0] as usize;
            match expanded[difference] {
                0.0 => machine.states[global] = State::NotThere,
                u => machine.values[global] = machine.values[difference] / u,
            }
        }
    }
}

impl Results {
    /// Holds the second routes, the draws and the verdicts against what was worked.
    fn judged(
        mut self,
        notebook: &Notebook,
        plan: &Plan,
        draws: Option<Draws>,
        findings: &mut Vec<Finding>,
    ) -> Results {
        self.drawn = draws.and_then(|draws| {
            monte_carlo::draw(self.fixed(notebook, plan, &self.runs.drawn), &self.budget, draws)
        });
        self.routes = routes::check(notebook, plan, &self, findings);
        self.mark_worked(notebook, plan, findings);
        self.judged = judge::judge((notebook, plan), &self, draws);
        sources::wanted(notebook, plan, &self, findings);
        self.compare_draws(notebook, plan, findings);
        self
    }

    fn fixed<'a>(&'a self, notebook: &'a Notebook, plan: &'a Plan, runs: &'a AtomicUsize) -> Fixed<'a> {
        Fixed {
            notebook,
            plan,
            nominal: &self.values,
            states: &self.states,
            curves: &self.curves,
            dimensions: &self.dimensions,
            points: &self.points,
            runs,
        }
    }

    fn quantities(&self) -> Quantities<'_> {
        Quantities {
            values: &self.values,
            states: &self.states,
            dimensions: &self.dimensions,
            points: &self.points,
        }
    }

    pub(crate) fn is_known(&self, global: usize) -> bool {
        self.states[global] == State::Known
    }

    fn take_texts(&mut self, notebook: &Notebook, plan: &Plan) {
        for (number, block) in notebook.blocks.iter().enumerate() {
            for (index, node) in block.nodes.iter().enumerate() {
                if let Role::Field(Origin::Text(text)) = &node.role {
                    self.texts[plan.first[number] + index] = Some(text.clone());
                }
            }
        }
    }

    /// What a block says of itself, from its own values alone.
    fn present(&self, notebook: &Notebook, plan: &Plan, number: usize) -> Said {
        let block = &notebook.blocks[number];
        let range = plan.first[number]..plan.first[number + 1];
        let known: Vec<bool> = range.clone().map(|global| self.is_known(global)).collect();
        let start = range.start;
        let show = |index: usize| self.shown(notebook, plan, start + index);
        let show_as = |index: usize, si: f64| self.value_in(si, &self.units[start + index]);
        let mut page = Page {
            nodes: &block.nodes,
            show: &show,
            show_as: &show_as,
            units: &self.units[range.clone()],
            values: &self.values[range.clone()],
            known: &known,
            curves: &self.curves[range],
            span: block.name_span,
            read: true,
            said: Said::default(),
        };
        block.block.present(&mut page);
        page.said
    }

    fn take_said(&mut self, plan: &Plan, said: Vec<Said>, findings: &mut Vec<Finding>) {
        for (number, (said, start)) in said.iter().zip(&plan.first).enumerate() {
            for (index, text) in &said.texts {
                if self.is_known(start + index) {
                    self.texts[start + index] = Some(text.clone());
                }
            }
            findings.extend(said.findings.iter().cloned().map(|finding| finding.in_block(number)));
        }
        self.said = said;
    }

    /// Where the draws differ from first order by more than what is printed, the block is told of, once.
    fn compare_draws(&self, notebook: &Notebook, plan: &Plan, findings: &mut Vec<Finding>) {
        let Some(drawn) = &self.drawn else { return };
        let named = |global: &usize| {
            let (block, index) = plan.local(*global);
            let block = &notebook.blocks[block];
            words!("`{}.{}`", block.name, block.nodes[index].name)
        };
        let unstable = |global: &&usize| {
            let (block, index) = plan.local(**global);
            !notebook.blocks[block].nodes[index].hidden
        };
        let mut unstable: Vec<Words> = drawn.unstable.iter().filter(unstable).map(named).collect();
        if !unstable.is_empty() {
            let more = unstable.len().saturating_sub(FEW);
            unstable.truncate(FEW);
            unstable.extend((more > 0).then(|| words!("{} more", more)));
            let message = words!(
                "{} draws don't settle the second digit of the uncertainty of {}",
                drawn.draws,
                Words::joined(unstable, ", ")
            );
            let help = "type `--monte-carlo N` with a larger N where it matters";
            findings.push(Finding::placeless(&codes::DRAWS_NOT_STABLE, message, help));
        }
        for (number, block) in notebook.blocks.iter().enumerate() {
            let start = plan.first[number];
            let apart: Vec<Words> = (start..plan.first[number + 1])
                .filter(|global| block.nodes[global - start].is_result())
                .filter(|global| {
                    drawn.spreads[*global].is_some_and(|spread| {
                        spread.differs(
                            self.values[*global],
                            self.standard[*global],
                            self.budget.freedom(*global),
                        )
                    })
                })
                .map(|global| words!("`{}`", block.nodes[global - start].name))
                .collect();
            if apart.is_empty() {
                continue;
            }
            let message = words!("first order is not enough for {}", Words::joined(apart, ", "));
            let help = "use the interval of the draws, which the dossier and the register show";
            let finding = Finding::new(&codes::FIRST_ORDER_NOT_ENOUGH, block.name_span, message, help);
            findings.push(finding.in_block(number));
        }
    }

    /// A block with an error of its own, or one that waits for a failed value, could not be worked. One whose lines stand
    /// alone loses those alone that could not be.
    fn mark_worked(&mut self, notebook: &Notebook, plan: &Plan, findings: &[Finding]) {
        let wrong: HashSet<u32> = findings
            .iter()
            .filter(|finding| finding.is_error())
            .filter_map(|finding| finding.block)
            .collect();
        for (number, block) in notebook.blocks.iter().enumerate() {
            let failed = (plan.first[number]..plan.first[number + 1])
                .any(|global| self.states[global] == State::Failed);
            let whole = !wrong.contains(&(number as u32)) && !failed && !self.broken[number] && !block.faulty;
            self.worked[number] = whole || block.block.lines_stand_alone();
        }
    }
}
