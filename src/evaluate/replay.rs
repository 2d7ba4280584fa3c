//! Runs parts of the plan again with other leaves, numbers only.

use std::collections::HashSet;
use std::sync::atomic::Ordering;

use super::fixed::{Fixed, State};
use super::named::{At, Names};
use crate::graph::{Action, Lists};
use crate::model::{Bench, Computed, Origin, Role};
use crate::quantities::Expression;

/// A table of values that begins as the nominal one.
pub(super) struct Replay<'a> {
    fixed: Fixed<'a>,
    pub(super) values: Vec<f64>,
}

/// What a leaf moves: the work to be done again, and the values that may change.
pub(super) struct Reach {
    pub(super) actions: Vec<Action>,
    pub(super) values: Vec<usize>,
    /// Those of them that the quantity engine works.
    engine: Vec<usize>,
}

/// Which values need which, the other way round, and where each one's work stands in the plan.
pub(super) struct Reaches {
    needed_by: Lists,
    /// The work that changes each value of the first kind: the action that resolves it; of each block: its runs.
    resolved_at: Vec<Option<u32>>,
    run_at: Vec<Vec<u32>>,
}

/// What one search after another keeps.
pub(super) struct Search<'a> {
    fixed: Fixed<'a>,
    reaches: &'a Reaches,
    through: Through,
    /// The last round in which each value was reached.
    seen: Vec<u32>,
    round: u32,
}

/// Which values a search goes on from.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Through {
    /// Those that are known: numbers move, and nothing else.
    Known,
    /// All, for what is not known may come to be.
    All,
}

impl Reaches {
    pub(super) fn new(fixed: &Fixed<'_>) -> Reaches {
        let plan = fixed.plan;
        let mut resolved_at = vec![None; plan.len()];
        let mut run_at = vec![Vec::new(); fixed.notebook.blocks.len()];
        for (at, action) in plan.actions.iter().enumerate() {
            match action {
                Action::Resolve(global) => resolved_at[*global] = Some(at as u32),
                Action::Run(block) => run_at[*block].push(at as u32),
            }
        }
        Reaches { needed_by: plan.needed_by(), resolved_at, run_at }
    }
}

impl<'a> Search<'a> {
    pub(super) fn new(fixed: Fixed<'a>, reaches: &'a Reaches) -> Search<'a> {
        Search { fixed, reaches, through: Through::Known, seen: vec![0; fixed.plan.len()], round: 0 }
    }

    pub(super) fn going(self, through: Through) -> Search<'a> {
        Search { through, ..self }
    }

    /// All that depends on the values at `roots`, and the work that makes it, in the plan's order.
    pub(super) fn of(&mut self, roots: &[usize]) -> Reach {
        self.find(roots, (None, None))
    }

    /// The same, and nothing behind `end`.
    pub(super) fn up_to(&mut self, end: Option<usize>, roots: &[usize]) -> Reach {
        self.find(roots, (None, end))
    }

    /// All, of what is wanted alone.
    pub(super) fn within(&mut self, roots: &[usize], wanted: Option<&[bool]>) -> Reach {
        self.find(roots, (wanted, None))
    }

    fn find(&mut self, roots: &[usize], (wanted, end): (Option<&[bool]>, Option<usize>)) -> Reach {
        let Fixed { notebook, plan, states, .. } = self.fixed;
        let mut values = Vec::new();
        self.round += 1;
        roots.iter().for_each(|root| self.seen[*root] = self.round);
        let mut open = roots.to_vec();
        let mut steps: Vec<u32> = Vec::new();
        let mut engine = Vec::new();
        while let Some(at) = open.pop() {
            for next in self.reaches.needed_by.of(at).iter().map(|next| *next as usize) {
                let aside = wanted.is_some_and(|wanted| !wanted[next]);
                let unknown = self.through == Through::Known && states[next] != State::Known;
                if aside || unknown || self.seen[next] == self.round {
                    continue;
                }
                self.seen[next] = self.round;
                values.push(next);
                if end != Some(next) {
                    open.push(next);
                }
                let (block, index) = plan.local(next);
                match &notebook.blocks[block].nodes[index].role {
                    Role::Field(_) => steps.extend(self.reaches.resolved_at[next]),
                    Role::Step(computed) => {
                        steps.extend(&self.reaches.run_at[block]);
                        if matches!(computed, Computed::Engine { .. }) && states[next] == State::Known {
                            engine.push(next);
                        }
                    }
                }
            }
        }
        steps.sort_unstable();
        steps.dedup();
        values.sort_unstable();
        engine.sort_unstable();
        let actions = steps.into_iter().map(|at| plan.actions[at as usize]).collect();
        Reach { actions: self.needful(actions, roots), values, engine }
    }

    /// The same work without runs of a block that find nothing new, or whose outcome nobody takes before the next.
    fn needful(&self, actions: Vec<Action>, roots: &[usize]) -> Vec<Action> {
        let plan = self.fixed.plan;
        let mut fresh: HashSet<usize> = roots.iter().map(|root| plan.block_of(*root)).collect();
        let new: Vec<bool> = actions
            .iter()
            .map(|action| match action {
                Action::Resolve(global) => {
                    fresh.insert(plan.block_of(*global));
                    true
                }
                Action::Run(block) => fresh.remove(block),
            })
            .collect();
        // From the last to the first: the last run of each block is needed, and each before something is taken from it.
        let mut left: HashSet<usize> = HashSet::new();
        let mut kept: Vec<Action> = Vec::new();
        for (action, new) in actions.into_iter().zip(new).rev() {
            match action {
                Action::Resolve(global) => {
                    for target in &plan.targets[global] {
                        left.remove(&plan.block_of(*target));
                    }
                    kept.push(action);
                }
                Action::Run(block) => {
                    if new && left.insert(block) {
                        kept.push(action);
                    }
                }
            }
        }
        kept.reverse();
        kept
    }
}

impl<'a> Replay<'a> {
    pub(super) fn new(fixed: Fixed<'a>) -> Replay<'a> {
        Replay { fixed, values: fixed.nominal.to_vec() }
    }

    pub(super) fn work(&mut self, reach: &Reach) {
        for action in &reach.actions {
            match action {
                Action::Resolve(global) => self.resolve(*global),
                Action::Run(block) => self.run(*block, &reach.engine),
            }
        }
    }

    /// Puts the nominal values back.
    pub(super) fn restore(&mut self, values: &[usize]) {
        for global in values {
            self.values[*global] = self.fixed.nominal[*global];
        }
    }

    fn resolve(&mut self, global: usize) {
        let Fixed { notebook, plan, states, .. } = self.fixed;
        if states[global] != State::Known {
            return;
        }
        let (block, index) = plan.local(global);
        let Role::Field(Origin::Reference(resolved)) = &notebook.blocks[block].nodes[index].role else {
            return;
        };
        let targets = &plan.targets[global];
        self.values[global] = if resolved.expression.as_name().is_some() {
            self.values[targets[0]]
        } else {
            self.number(&resolved.expression, At::Table(targets))
        };
    }

    fn run(&mut self, number: usize, engine: &[usize]) {
        let Fixed { notebook, plan, nominal, curves, runs, .. } = self.fixed;
        runs.fetch_add(1, Ordering::Relaxed);
        let (start, end) = (plan.first[number], plan.first[number + 1]);
        let block = &notebook.blocks[number];
        let bench = Bench::new(&mut self.values[start..end], &curves[start..end]);
        block.block.evaluate(&mut bench.moved_from(&nominal[start..end]));
        let own =
            engine.partition_point(|global| *global < start)..engine.partition_point(|global| *global < end);
        for global in engine[own].iter().copied() {
            if let Role::Step(Computed::Engine { expression, uses }) = &block.nodes[global - start].role {
                self.values[global] = self.number(expression, At::Block(start, uses));
            }
        }
    }

    fn number(&self, expression: &Expression, at: At<'_>) -> f64 {
        let scope = Names {
            at,
            values: &self.values,
            dimensions: self.fixed.dimensions,
            curves: self.fixed.curves,
            points: self.fixed.points,
        };
        expression.number(&scope)
    }
}
