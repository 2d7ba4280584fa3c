//! Runs the plan over one flat table of values.

use std::collections::HashSet;
use std::sync::Arc;
use std::sync::atomic::AtomicUsize;

use super::fixed::{Fixed, State};
use super::named::{At, Names};
use super::why::Gone;
use crate::findings::{Finding, codes};
use crate::graph::{Action, Plan};
use crate::model::{
    Bench, BlockEntry, Computed, NodeDecl, Notebook, Origin, Possible, Resolved, Role, Takes, Wanted,
};
use crate::quantities::{Curve, Dimension, Expression, Quantity};
use crate::source::Span;
use crate::words::words;

/// What kinds take and can't use, told once.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Refused {
    /// A value.
    Value(usize),
    /// What is too large in a block.
    TooLarge(usize),
}

pub(super) struct Machine<'a> {
    pub(super) notebook: &'a Notebook,
    pub(super) plan: &'a Plan,
    pub(super) values: Vec<f64>,
    pub(super) states: Vec<State>,
    pub(super) curves: Vec<Option<Arc<Curve>>>,
    pub(super) dimensions: Vec<Dimension>,
    /// Points on the temperature scale.
    pub(super) points: Vec<bool>,
    /// Results whose inputs are all known and that came out as no finite number.
    pub(super) broke: Vec<usize>,
    /// How often a block was run.
    pub(super) runs: usize,
    pub(super) broken: Vec<bool>,
    /// Where it was told that a block lacks an optional field, and which block.
    lacking: HashSet<(Span, Option<usize>)>,
    /// What was told already.
    pub(super) refused: HashSet<Refused>,
}

impl<'a> Machine<'a> {
    /// Nothing of a broken block is known, but that an optional field is not given.
    pub(super) fn new(notebook: &'a Notebook, plan: &'a Plan, broken: &[bool]) -> Machine<'a> {
        let mut machine = Machine {
            notebook,
            plan,
            values: vec![f64::NAN; plan.len()],
            states: vec![State::Waiting; plan.len()],
            curves: vec![None; plan.len()],
            dimensions: vec![Dimension::NONE; plan.len()],
            points: vec![false; plan.len()],
            broke: Vec::new(),
            runs: 0,
            broken: broken.to_vec(),
            lacking: HashSet::new(),
            refused: HashSet::new(),
        };
        for (number, block) in notebook.blocks.iter().enumerate() {
            for (index, node) in block.nodes.iter().enumerate() {
                let global = plan.first[number] + index;
                machine.begin(global, node);
                if broken[number] && machine.states[global] != State::Absent {
                    machine.states[global] = State::Failed;
                }
            }
        }
        machine
    }

    /// What it found, for work that is done again.
    pub(super) fn fixed<'m>(&'m self, runs: &'m AtomicUsize) -> Fixed<'m> {
        Fixed {
            notebook: self.notebook,
            plan: self.plan,
            nominal: &self.values,
            states: &self.states,
            curves: &self.curves,
            dimensions: &self.dimensions,
            points: &self.points,
            runs,
        }
    }

    pub(super) fn begin(&mut self, global: usize, node: &NodeDecl) {
        self.dimensions[global] = node.sort.map_or(node.unit.dimension, |sort| sort.dimension);
        self.points[global] = node.sort.map_or(node.unit.is_point(), |sort| sort.point);
        match &node.role {
            Role::Field(Origin::Leaf(leaf)) => {
                self.values[global] = leaf.literal.quantity.si;
                self.dimensions[global] = leaf.literal.quantity.dimension;
                self.states[global] = State::Known;
            }
            Role::Field(Origin::Curve { curve, .. }) => {
                self.values[global] = 1.0;
                self.curves[global] = Some(curve.clone());
                self.states[global] = State::Known;
            }
            Role::Field(Origin::Text(_)) => self.states[global] = State::Known,
            Role::Field(Origin::Failed) => self.states[global] = State::Failed,
            Role::Field(Origin::Absent) => self.states[global] = State::Absent,
            Role::Field(Origin::Reference(_)) | Role::Step(_) => {}
        }
        if self.plan.failed[global] {
            self.states[global] = State::Failed;
        } else if self.plan.absent[global] {
            self.states[global] = State::Absent;
        }
    }

    pub(super) fn work(&mut self, findings: &mut Vec<Finding>) {
        let plan = self.plan;
        self.take(&plan.actions, findings);
    }

    pub(super) fn take(&mut self, actions: &[Action], findings: &mut Vec<Finding>) {
        for action in actions {
            match action {
                Action::Resolve(global) => self.resolve(*global, findings),
                Action::Run(block) => self.run(*block, findings),
            }
        }
    }

    fn resolve(&mut self, global: usize, findings: &mut Vec<Finding>) {
        if self.states[global] != State::Waiting {
            return;
        }
        let (number, index) = self.plan.local(global);
        let block = &self.notebook.blocks[number];
        let node = &block.nodes[index];
        let Role::Field(Origin::Reference(resolved)) = &node.role else { return };
        let targets = &self.plan.targets[global];
        self.states[global] = match self.combined(targets) {
            State::Known => State::Known,
            State::Absent if resolved.wanted != Wanted::KindIfThere => {
                let gone = Gone { notebook: self.notebook, plan: self.plan, states: &self.states };
                let finding = gone.finding(targets, resolved, node.span).in_block(number);
                if resolved.wanted == Wanted::Wish {
                    findings.push(finding);
                    self.states[global] = State::Absent;
                    return;
                }
                // What one block lacks is told once of all that another takes from it.
                let absent = targets.iter().find(|target| self.states[**target] == State::Absent);
                if self.lacking.insert((node.span, absent.map(|target| self.plan.block_of(*target)))) {
                    findings.push(finding);
                }
                State::Failed
            }
            other => other,
        };
        if self.states[global] != State::Known {
            return;
        }
        if resolved.whole_curve
            || resolved.expression.as_name().is_some() && self.curves[targets[0]].is_some()
        {
            self.take_curve(global, targets[0], node, findings);
            if resolved.expression.as_name().is_none() {
                // Its scale, shared out.
                let scale = self.value_of(&resolved.expression, targets);
                self.values[global] = scale.map_or(f64::NAN, |scale| scale.si);
            }
            return;
        }
        match self.reference((block, resolved), node, targets) {
            Ok(quantity) => {
                self.values[global] = quantity.si;
                self.dimensions[global] = quantity.dimension;
                self.points[global] = node.sort.map_or(quantity.point, |sort| sort.point);
            }
            Err(finding) => {
                self.states[global] = State::Failed;
                // What several kinds take and can't use is one mistake, where it is written; and what is too large in one
                // block mostly has one cause.
                let kind = matches!(resolved.wanted, Wanted::Kind | Wanted::KindIfThere);
                let large = std::ptr::eq(finding.code, &codes::OUT_OF_RANGE);
                let refused = targets.first().filter(|_| kind).map(|target| match large {
                    true => Refused::TooLarge(self.plan.block_of(*target)),
                    false => Refused::Value(*target),
                });
                if refused.is_none_or(|refused| self.refused.insert(refused)) {
                    findings.push(finding.in_block(number));
                }
            }
        }
    }

    fn take_curve(&mut self, global: usize, target: usize, node: &NodeDecl, findings: &mut Vec<Finding>) {
        self.values[global] = self.values[target];
        self.curves[global] = self.curves[target].clone();
        if let (Some(Takes::Curve(x, y)), Some(curve)) = (node.doc.map(|doc| doc.takes), &self.curves[global])
            && !(curve.x.dimension.same(x.dimension) && curve.y.dimension.same(y.dimension))
        {
            self.states[global] = State::Failed;
            let message = words!("a curve of {} over {}", curve.y.dimension, curve.x.dimension);
            self.curves[global] = None;
            let help = words!("type its points as `[{}, {}]`", x.example, y.example);
            let finding = Finding::new(&codes::UNIT_MISMATCH, node.span, message, help);
            findings.push(finding.in_block(self.plan.local(global).0));
            return;
        }
        if self.curves[global].is_none() {
            self.states[global] = State::Failed;
            let message = "this is no curve";
            findings.push(Finding::new(
                &codes::BAD_VALUE,
                node.span,
                message,
                "name a field that holds a list of points",
            ));
        }
    }

    fn reference(
        &self,
        (block, resolved): (&BlockEntry, &Resolved),
        node: &NodeDecl,
        targets: &[usize],
    ) -> Result<Quantity, Finding> {
        let place = |at: &std::ops::Range<usize>| match resolved.text {
            Some(span) => span.part(at.start, at.len().max(1)),
            None => node.span,
        };
        let text = targets.iter().position(|target| self.is_text(*target));
        if let Some(at) = text {
            let name = resolved.expression.names()[at].clone();
            let full = self.notebook.full_name(block, resolved, &name);
            let message = words!("`{}` is text, not a number", full);
            return Err(Finding::new(
                &codes::BAD_VALUE,
                place(&name.at),
                message,
                "name a value with a unit",
            ));
        }
        let value = self.value_of(&resolved.expression, targets);
        let found = match value {
            Ok(quantity) => quantity,
            Err(fault) => return Err(Finding::new(fault.code, place(&fault.at), fault.message, fault.help)),
        };
        if let Some(sort) = node.sort
            && let Err(fault) = found.expect(sort)
        {
            let whole = resolved.text.unwrap_or(node.span);
            return Err(Finding::new(fault.code, whole, fault.message, fault.help));
        }
        if node.count && found.si.fract() != 0.0 {
            let message = words!("`{}` comes out as {}, no whole number", node.name, found.si);
            return Err(Finding::new(&codes::BAD_VALUE, node.span, message, "round it: `round(…)`"));
        }
        let possible = Possible::new(node.range, node.sort);
        if !possible.reaches(found.si) {
            let must = possible.words(found.si);
            let message = words!("{} comes out where it must be {}", node.label(), must);
            return Err(Finding::new(
                &codes::OUT_OF_RANGE,
                node.span,
                message,
                "look at the values that it is taken from",
            ));
        }
        Ok(found)
    }

    fn is_text(&self, global: usize) -> bool {
        let (block, index) = self.plan.local(global);
        self.notebook.blocks[block].nodes[index].is_text()
    }

    fn value_of(&self, expression: &Expression, at: &[usize]) -> Result<Quantity, crate::quantities::Fault> {
        let scope = Names {
            at: At::Table(at),
            values: &self.values,
            dimensions: &self.dimensions,
            points: &self.points,
            curves: &self.curves,
        };
        expression.evaluate(&scope)
    }

    /// Works a block; what is known already stays.
    fn run(&mut self, number: usize, findings: &mut Vec<Finding>) {
        self.runs += 1;
        let (start, end) = (self.plan.first[number], self.plan.first[number + 1]);
        let block = &self.notebook.blocks[number];
        let mut fresh = self.values[start..end].to_vec();
        let mut bench = Bench::new(&mut fresh, &self.curves[start..end]);
        block.block.evaluate(&mut bench);
        let gone = bench.gone().to_vec();
        for (index, node) in block.nodes.iter().enumerate() {
            let global = start + index;
            let Role::Step(computed) = &node.role else { continue };
            if self.states[global] != State::Waiting {
                continue;
            }
            let uses: Vec<usize> = node.uses().iter().map(|index| start + *index as usize).collect();
            let state = self.combined(&uses);
            if state != State::Known {
                self.states[global] = state;
                continue;
            }
            match computed {
                // Its value comes when all uncertainties are known.
                Computed::Procedure { .. } if node.row.is_some_and(|row| row.normalised) => {
                    self.values[global] = 0.0;
                    self.states[global] = State::Known;
                }
                Computed::Formula { .. } | Computed::Procedure { .. } => {
                    if fresh[index].is_finite() {
                        self.values[global] = fresh[index];
                        self.states[global] = State::Known;
                    } else if gone.contains(&index) {
                        self.states[global] = State::NotThere;
                    } else {
                        self.states[global] = State::Failed;
                        self.broke.push(global);
                    }
                }
                Computed::Engine { expression, .. } => match self.own_step(expression, node, &uses) {
                    Ok(quantity) => {
                        self.values[global] = quantity.si;
                        self.dimensions[global] = quantity.dimension;
                        self.points[global] = quantity.point;
                        self.states[global] = State::Known;
                    }
                    Err(finding) => {
                        self.states[global] = State::Failed;
                        findings.push(finding.in_block(number));
                    }
                },
                Computed::Text { .. } => self.states[global] = State::Known,
            }
        }
    }

    fn own_step(
        &self,
        expression: &Expression,
        node: &NodeDecl,
        uses: &[usize],
    ) -> Result<Quantity, Finding> {
        let place = |at: &std::ops::Range<usize>| node.span.part(at.start, at.len().max(1));
        if let Some(at) = uses.iter().position(|global| self.is_text(*global)) {
            let name = expression.names()[at].clone();
            let message = words!("`{}` is text, not a number", name.text());
            return Err(Finding::new(
                &codes::BAD_VALUE,
                place(&name.at),
                message,
                "name a value with a unit",
            ));
        }
        match self.value_of(expression, uses) {
            Ok(found) => match found.expect_unit(&node.unit) {
                Err(fault) if !node.hidden => {
                    let message =
                        words!("{}: `{}` has the unit `{}`", fault.message, node.name, node.unit.symbol);
                    Err(Finding::new(fault.code, node.span, message, fault.help))
                }
                _ => Ok(found),
            },
            Err(fault) => Err(Finding::new(fault.code, place(&fault.at), fault.message, fault.help)),
        }
    }

    /// What the states of several values make of one that needs them all.
    fn combined(&self, of: &[usize]) -> State {
        let any = |state| of.iter().any(|global| self.states[*global] == state);
        if any(State::Failed) {
            State::Failed
        } else if any(State::Absent) {
            State::Absent
        } else if any(State::NotThere) {
            State::NotThere
        } else if any(State::Waiting) {
            State::Waiting
        } else {
            State::Known
        }
    }
}
