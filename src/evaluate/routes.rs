//! The second route: every formula is worked again by the quantity engine from the values that it names.

use std::sync::Arc;

use super::Results;
use crate::findings::{Finding, codes};
use crate::graph::Plan;
use crate::model::{BlockEntry, Computed, Notebook, Role};
use crate::parallel;
use crate::quantities::{Curve, Expression, Name, Quantity, Scope};
use crate::words::words;

/// How many results were worked how often.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Routes {
    /// Formulas whose second route agreed.
    pub agreed: usize,
    /// Formulas whose second route did not: faults of the program.
    pub differed: usize,
    /// Methods that no one-line formula states, each with its own check.
    pub procedures: usize,
    /// An author's own steps, worked by the quantity engine alone.
    pub single: usize,
}

/// The largest difference between the routes, against the largest operand.
const AGREE: f64 = 1e-9;

pub(super) struct BlockScope<'a> {
    pub(super) block: &'a BlockEntry,
    pub(super) start: usize,
    pub(super) results: &'a Results,
    /// The nodes that the expression uses, in the order of its names.
    pub(super) uses: &'a [u32],
}

impl BlockScope<'_> {
    fn index(&self, name: &Name) -> Option<usize> {
        self.uses.get(name.place).map(|at| *at as usize)
    }
}

impl Scope for BlockScope<'_> {
    fn quantity(&self, name: &Name) -> Option<Quantity> {
        let index = self.index(name)?;
        let node = &self.block.nodes[index];
        let dimension = node.sort.map_or(node.unit.dimension, |sort| sort.dimension);
        let point = node.sort.map_or(node.unit.is_point(), |sort| sort.point);
        Some(Quantity { si: self.results.values[self.start + index], dimension, point })
    }

    fn curve(&self, name: &Name) -> Option<&Curve> {
        self.results.curves[self.start + self.index(name)?].as_ref().map(Arc::as_ref)
    }

    fn curve_scale(&self, name: &Name) -> f64 {
        self.index(name).map_or(1.0, |index| self.results.values[self.start + index])
    }
}

pub(super) fn check(
    notebook: &Notebook,
    plan: &Plan,
    results: &Results,
    findings: &mut Vec<Finding>,
) -> Routes {
    let checked = parallel::each(notebook.blocks.len(), super::SHARE, |number| {
        let block = &notebook.blocks[number];
        let mut check =
            Check { block, start: plan.first[number], number, results, routes: Routes::default() };
        let found: Vec<Finding> = (0..block.nodes.len()).filter_map(|index| check.node(index)).collect();
        (check.routes, found)
    });
    let mut routes = Routes::default();
    for (number, (of_block, found)) in checked.into_iter().enumerate() {
        routes.agreed += of_block.agreed;
        routes.differed += of_block.differed;
        routes.procedures += of_block.procedures;
        routes.single += of_block.single;
        findings.extend(found.into_iter().map(|finding| finding.in_block(number)));
    }
    routes
}

/// The second route of one block.
struct Check<'a> {
    block: &'a BlockEntry,
    start: usize,
    number: usize,
    results: &'a Results,
    routes: Routes,
}

impl Check<'_> {
    /// The check of a difference over its expanded uncertainty, which was worked from that of the difference: again
    /// from those of the two values.
    fn normalised(&self, index: usize) -> (usize, f64, f64) {
        let Check { block, start, results, .. } = *self;
        let difference = block.nodes[index].uses()[0] as usize;
        let residual = match block.nodes[difference].uses() {
            [left, right] => {
                let [left, right] = [left, right].map(|value| start + *value as usize);
                let expanded = results.budget.expanded_difference(left, right);
                results.values[start + index] * expanded - results.values[start + difference]
            }
            _ => f64::NAN,
        };
        (index, residual, 1e-6 * results.values[start + difference].abs())
    }

    /// Counts a value's second route; the finding says where it did not agree.
    fn node(&mut self, index: usize) -> Option<Finding> {
        let Check { block, start, results, .. } = *self;
        let node = &block.nodes[index];
        if !results.is_known(start + index) || node.hidden {
            return None;
        }
        let (code, what) = match &node.role {
            Role::Step(Computed::Formula { expression, uses }) => {
                let scope = BlockScope { block, start, results, uses };
                let value = results.values[start + index];
                match disagreement(expression, &scope, value, node.sort.map(|sort| sort.dimension)) {
                    None => {
                        self.routes.agreed += 1;
                        return None;
                    }
                    Some(other) => {
                        self.routes.differed += 1;
                        let what = format!("is {value} by calculation and {other} by its formula (SI units)");
                        (&codes::ROUTES_DIFFER, what)
                    }
                }
            }
            Role::Step(Computed::Procedure { .. }) => {
                let normalised = node.row.is_some_and(|row| row.normalised);
                let said = results.said[self.number].checks.iter().find(|(slot, ..)| *slot == index);
                let what = match normalised.then(|| self.normalised(index)).or(said.copied()).as_ref() {
                    Some((_, residual, allowed)) if residual.abs() <= *allowed => {
                        self.routes.procedures += 1;
                        return None;
                    }
                    Some((_, residual, allowed)) => {
                        format!("misses its own check by {residual:e} where {allowed:e} is allowed")
                    }
                    None => "was not checked".to_owned(),
                };
                (&codes::CHECK_FAILED, what)
            }
            Role::Step(Computed::Engine { .. }) => {
                self.routes.single += 1;
                return None;
            }
            Role::Step(Computed::Text { .. }) | Role::Field(_) => return None,
        };
        let message = words!("`{}.{}` {}", block.name, node.name, what);
        let help = "don't use this result, and report the journal that shows it";
        Some(Finding::new(code, block.name_span, message, help))
    }
}

/// `None` where the formula agrees with the value, else what it gives instead.
fn disagreement(
    expression: &Expression,
    scope: &BlockScope<'_>,
    value: f64,
    dimension: Option<crate::quantities::Dimension>,
) -> Option<String> {
    match expression.evaluate_scaled(scope) {
        Ok((found, magnitude)) => {
            let scale = magnitude.max(value.abs()).max(found.si.abs());
            let near = (found.si - value).abs() <= AGREE * scale;
            let same = dimension.is_none_or(|dimension| dimension.same(found.dimension));
            match (near, same) {
                (true, true) => None,
                (_, false) => Some(format!("{} in {}", found.si, found.dimension)),
                (false, true) => Some(found.si.to_string()),
            }
        }
        Err(fault) => Some(fault.message.to_string()),
    }
}
