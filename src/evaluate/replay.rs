//! Runs parts of the plan again with other leaves, numbers only.

use std::sync::Arc;

use super::machine::{At, Names, State};
use crate::graph::{Action, Plan};
use crate::model::{Bench, Computed, Notebook, Origin, Role};
use crate::quantities::{Curve, Dimension, Expression, Value};

/// What never changes while leaves are nudged or drawn.
#[derive(Clone, Copy)]
pub(super) struct Fixed<'a> {
    pub(super) notebook: &'a Notebook,
    pub(super) plan: &'a Plan,
    pub(super) nominal: &'a [f64],
    pub(super) states: &'a [State],
    pub(super) curves: &'a [Option<Arc<Curve>>],
    pub(super) dimensions: &'a [Dimension],
    pub(super) points: &'a [bool],
}

/// A table of values that begins as the nominal one.
pub(super) struct Replay<'a> {
    fixed: Fixed<'a>,
    pub(super) values: Vec<f64>,
}

/// What a leaf moves: the work to be done again, and the values that may change.
pub(super) struct Reach {
    pub(super) actions: Vec<Action>,
    pub(super) values: Vec<usize>,
}

/// Which values need which, the other way round, and where each one's work stands in the plan.
pub(super) struct Reaches {
    needed_by: Vec<Vec<usize>>,
    resolved_at: Vec<Vec<usize>>,
    run_at: Vec<Vec<usize>>,
    /// The last round in which each value was reached.
    seen: Vec<u32>,
    round: u32,
}

impl Reaches {
    pub(super) fn new(fixed: &Fixed<'_>) -> Reaches {
        let total = fixed.plan.len();
        let mut needed_by = vec![Vec::new(); total];
        for global in 0..total {
            for need in fixed.plan.needs(fixed.notebook, global) {
                needed_by[need].push(global);
            }
        }
        let mut resolved_at = vec![Vec::new(); total];
        let mut run_at = vec![Vec::new(); fixed.notebook.blocks.len()];
        for (at, action) in fixed.plan.actions.iter().enumerate() {
            match action {
                Action::Resolve(global) => resolved_at[*global].push(at),
                Action::Run(block) => run_at[*block].push(at),
            }
        }
        Reaches { needed_by, resolved_at, run_at, seen: vec![0; total], round: 0 }
    }

    /// All that depends on the values at `roots`, and the work that makes it, in the plan's order.
    pub(super) fn of(&mut self, fixed: &Fixed<'_>, roots: &[usize]) -> Reach {
        let mut values = Vec::new();
        self.round += 1;
        roots.iter().for_each(|root| self.seen[*root] = self.round);
        let mut open = roots.to_vec();
        let mut steps: Vec<usize> = Vec::new();
        while let Some(at) = open.pop() {
            for next in &self.needed_by[at] {
                if fixed.states[*next] != State::Known || self.seen[*next] == self.round {
                    continue;
                }
                self.seen[*next] = self.round;
                values.push(*next);
                open.push(*next);
                let (block, index) = fixed.plan.local(*next);
                match fixed.notebook.blocks[block].nodes[index].role {
                    Role::Field(_) => steps.extend(&self.resolved_at[*next]),
                    Role::Step(_) => steps.extend(&self.run_at[block]),
                }
            }
        }
        steps.sort_unstable();
        steps.dedup();
        values.sort_unstable();
        Reach { actions: steps.into_iter().map(|at| fixed.plan.actions[at]).collect(), values }
    }
}

impl<'a> Replay<'a> {
    pub(super) fn new(fixed: Fixed<'a>) -> Replay<'a> {
        Replay { fixed, values: fixed.nominal.to_vec() }
    }

    pub(super) fn work(&mut self, actions: &[Action]) {
        for action in actions {
            match action {
                Action::Resolve(global) => self.resolve(*global),
                Action::Run(block) => self.run(*block),
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
        self.values[global] = if resolved.whole_curve || resolved.expression.as_name().is_some() {
            self.values[targets[0]]
        } else {
            self.number(&resolved.expression, At::Table(targets))
        };
    }

    fn run(&mut self, number: usize) {
        let Fixed { notebook, plan, states, curves, .. } = self.fixed;
        let (start, end) = (plan.first[number], plan.first[number + 1]);
        let block = &notebook.blocks[number];
        block.block.evaluate(&mut Bench::new(&mut self.values[start..end], &curves[start..end]));
        for index in &block.engine {
            let global = start + *index as usize;
            if states[global] != State::Known {
                continue;
            }
            if let Role::Step(Computed::Engine { expression, uses }) = &block.nodes[*index as usize].role {
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
        match expression.evaluate(&scope) {
            Ok(Value::Quantity(quantity)) => quantity.si,
            // A verdict is never nudged: it keeps its nominal value.
            Ok(Value::Truth(_)) | Err(_) => f64::NAN,
        }
    }
}
