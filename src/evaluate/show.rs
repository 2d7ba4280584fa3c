//! Values as text: the one place that decides how many digits a reader sees.

use super::Results;
use crate::graph::Plan;
use crate::model::{Computed, NodeDecl, Notebook, Origin, Role};
use crate::quantities::{
    Dimension, Expression, Literal, Unit, last_place, show_apart, show_operand, show_quantity, show_thrice,
    show_with_uncertainty, sort,
};
use crate::words::Words;

/// Below this share of its value an uncertainty is rounding, and is not printed.
const NOTHING: f64 = 1e-7;

/// Digits of a result without a tolerance; whole digits are never dropped.
const DIGITS: usize = 4;

/// Digits of an operand that was typed: as many as a typed number can carry.
const TYPED: usize = 12;

/// The unit that each value is shown in: a reader's preference for results, the author's own for what was typed.
pub(super) fn units(notebook: &Notebook, plan: &Plan, dimensions: &[Dimension]) -> Vec<Unit> {
    let mut units = Vec::with_capacity(plan.len());
    for block in &notebook.blocks {
        for node in &block.nodes {
            let prefer =
                matches!(node.role, Role::Step(Computed::Formula { .. } | Computed::Procedure { .. }));
            units.push(match node.sort {
                Some(sort) if prefer => notebook.front.units.unit_for(sort, &node.unit),
                _ => node.unit.clone(),
            });
        }
    }
    // What takes a value over, or works with others, keeps the unit of the first that is of its dimension: a torque
    // per pressure has the dimension of a volume, and is none.
    for global in &plan.order {
        let (block, index) = plan.local(*global);
        let node = &notebook.blocks[block].nodes[index];
        let taken = match &node.role {
            Role::Field(Origin::Reference(resolved)) if resolved.expression.as_name().is_some() => {
                plan.targets[*global].first().copied()
            }
            Role::Field(Origin::Reference(_)) => like(plan, dimensions, *global),
            Role::Step(Computed::Engine { expression, .. }) if node.hidden && node.unit.is_one() => {
                let like = like(plan, dimensions, *global);
                if like.is_none() {
                    units[*global] = worked_unit(notebook, expression, dimensions[*global]);
                }
                like
            }
            _ => None,
        };
        if let Some(target) = taken {
            units[*global] = units[target].clone();
        }
    }
    units
}

/// The first value of the same dimension that a value is worked from.
fn like(plan: &Plan, dimensions: &[Dimension], global: usize) -> Option<usize> {
    let same = |need: &usize| dimensions[*need].same(dimensions[global]) && !dimensions[global].is_plain();
    plan.needs(global).find(same)
}

/// The unit of a worked side of a comparison: that of a number in it, else the coherent one.
fn worked_unit(notebook: &Notebook, expression: &Expression, dimension: Dimension) -> Unit {
    match expression.literal_unit() {
        Some(unit) if unit.dimension.same(dimension) => unit,
        _ if expression.names().is_empty() => usual_unit(notebook, dimension),
        _ => Unit::coherent(dimension),
    }
}

/// The unit that a value of that dimension is usually shown in.
fn usual_unit(notebook: &Notebook, dimension: Dimension) -> Unit {
    if dimension.is_plain() {
        return Unit::one();
    }
    match sort::ALL.iter().find(|sort| sort.dimension == dimension) {
        Some(sort) => notebook.front.units.unit_for(sort, &sort.display_unit()),
        None => Unit::coherent(dimension),
    }
}

/// A value in words.
pub(crate) struct Told {
    pub value: String,
    /// `None` for what is exact.
    pub width: Option<String>,
    pub both: String,
}

impl Results {
    /// A value as the dossier prints it, `None` where it is not known. Spaces within it are no-break spaces.
    pub(crate) fn shown(&self, notebook: &Notebook, plan: &Plan, global: usize) -> Option<String> {
        if !self.is_known(global) {
            return None;
        }
        let (block, index) = plan.local(global);
        let node = &notebook.blocks[block].nodes[index];
        if node.is_text() {
            return self.texts[global].clone();
        }
        if let Some(curve) = &self.curves[global] {
            return Some(format!("curve of {} points", curve.points().len()));
        }
        if let Some(literal) = self.typed(notebook, plan, global) {
            return Some(literal.written());
        }
        Some(self.shown_in(global, &self.units[global]))
    }

    /// The value as its author typed it, here or where it is taken from.
    pub(crate) fn typed<'n>(
        &self,
        notebook: &'n Notebook,
        plan: &Plan,
        global: usize,
    ) -> Option<&'n Literal> {
        let mut at = global;
        // Known values form no loop.
        while self.is_known(at) {
            let (block, index) = plan.local(at);
            let node = &notebook.blocks[block].nodes[index];
            match &node.role {
                Role::Field(Origin::Leaf(leaf)) => {
                    return leaf.readings.is_none().then_some(&leaf.literal);
                }
                Role::Field(Origin::Reference(resolved)) if resolved.expression.as_name().is_some() => {
                    at = *plan.targets[at].first()?;
                }
                _ => return None,
            }
        }
        None
    }

    /// An upper limit: rounded down, so that what meets it as printed meets it.
    pub(crate) fn most_in(&self, global: usize, unit: &Unit) -> String {
        self.rounded_in(global, unit, f64::floor)
    }

    /// A lower limit: rounded up.
    pub(crate) fn least_in(&self, global: usize, unit: &Unit) -> String {
        self.rounded_in(global, unit, f64::ceil)
    }

    fn rounded_in(&self, global: usize, unit: &Unit, round: fn(f64) -> f64) -> String {
        let si = self.values[global];
        let value = unit.value_of(si);
        let step = match last_place(si, self.half_width(global), unit) {
            Some(place) => 10f64.powi(place.min(0)),
            None => resolution(value),
        };
        let steps = value / step;
        // What is a whole number of steps but for rounding stays.
        let whole = (steps - steps.round()).abs() < 1e-6;
        let moved = if whole { 0.0 } else { (round(steps) - steps) * step * unit.factor };
        match show_apart(si + moved, self.half_width(global), unit) {
            Some((value, _)) => value,
            None => self.value_in(si + moved, unit),
        }
    }

    /// A known number in a unit of the reader's choice.
    pub(crate) fn shown_in(&self, global: usize, unit: &Unit) -> String {
        match show_apart(self.values[global], self.half_width(global), unit) {
            Some((value, _)) => value,
            None => self.value_in(self.values[global], unit),
        }
    }

    /// The expanded uncertainty, in SI units; 0 where it is so small against the value that no digit of it is worth
    /// printing.
    fn half_width(&self, global: usize) -> f64 {
        let expanded = self.coverage[global] * self.standard[global];
        if expanded < NOTHING * self.values[global].abs() { 0.0 } else { expanded }
    }

    /// The expanded uncertainty of what is worked or read repeatedly, as it is printed after `±`; `None` for
    /// what is exact, and for a typed value, whose tolerance stands in its own text.
    pub(crate) fn expanded(&self, notebook: &Notebook, plan: &Plan, global: usize) -> Option<String> {
        let (block, index) = plan.local(global);
        let node = &notebook.blocks[block].nodes[index];
        let typed = self.typed(notebook, plan, global).is_some();
        if typed || !self.is_known(global) || node.is_text() || self.curves[global].is_some() {
            return None;
        }
        let expanded = self.half_width(global);
        show_apart(self.values[global], expanded, &self.units[global]).map(|(_, width)| width)
    }

    /// One standard uncertainty with its unit, as it is rounded after `±`; `0` for what is exact.
    pub(crate) fn standard_shown(&self, global: usize) -> String {
        show_apart(self.values[global], self.standard[global], &self.units[global])
            .map_or_else(|| "0".to_owned(), |(_, width)| width)
    }

    /// Value and expanded uncertainty in one text: `12 133 ± 62 rpm`.
    pub(crate) fn shown_with_uncertainty(
        &self,
        notebook: &Notebook,
        plan: &Plan,
        global: usize,
    ) -> Option<String> {
        if self.expanded(notebook, plan, global).is_none() {
            return self.shown(notebook, plan, global);
        }
        let expanded = self.half_width(global);
        Some(show_with_uncertainty(self.values[global], expanded, &self.units[global]))
    }

    /// Value, expanded uncertainty and both in one text, of what is worked; as [`Results::shown`],
    /// [`Results::expanded`] and [`Results::shown_with_uncertainty`] give them, rounded once.
    pub(crate) fn told(&self, notebook: &Notebook, plan: &Plan, global: usize) -> Option<Told> {
        let (block, index) = plan.local(global);
        let node = &notebook.blocks[block].nodes[index];
        let typed = self.typed(notebook, plan, global).is_some();
        let alone = typed || node.leaf().is_some() || node.is_text() || self.curves[global].is_some();
        if !alone && self.is_known(global) {
            let expanded = self.half_width(global);
            if let Some((value, width, both)) =
                show_thrice(self.values[global], expanded, &self.units[global])
            {
                return Some(Told { value, width: Some(width), both });
            }
        }
        let value = self.shown(notebook, plan, global)?;
        let width = self.expanded(notebook, plan, global);
        let both = if width.is_some() {
            self.shown_with_uncertainty(notebook, plan, global)?
        } else {
            value.clone()
        };
        Some(Told { value, width, both })
    }

    /// Any number (SI) in a unit, with the digits that results have.
    pub(crate) fn value_in(&self, si: f64, unit: &Unit) -> String {
        if unit.dimension.is_money() {
            return show_quantity(si, unit, DIGITS);
        }
        show_operand(si, unit, shown_digits(unit.value_of(si)))
    }

    /// `wheel speed × overall ratio = 1 084.307 rpm × 11.19`: what a result was worked from. `None` for what has
    /// no formula, or is not known.
    pub(crate) fn working(&self, notebook: &Notebook, plan: &Plan, global: usize) -> Option<String> {
        let (block, index) = plan.local(global);
        let node = &notebook.blocks[block].nodes[index];
        if !self.is_known(global) {
            return None;
        }
        match &node.role {
            Role::Step(Computed::Formula { expression, uses } | Computed::Engine { expression, uses }) => {
                Some(self.worked_out(notebook, plan, global, (expression, uses)))
            }
            Role::Step(Computed::Procedure { method, .. }) => Some(Words::from(*method).bare()),
            _ => None,
        }
    }

    fn worked_out(
        &self,
        notebook: &Notebook,
        plan: &Plan,
        global: usize,
        (expression, uses): (&Expression, &[u32]),
    ) -> String {
        let (block, own) = plan.local(global);
        let nodes = &notebook.blocks[block].nodes;
        // Its own case stands in the result's label already.
        let said = |operand: &NodeDecl| match (&nodes[own].case, &operand.case) {
            (Some(own), Some(of)) if own.slug == of.slug => operand.bare_label(),
            _ => operand.label(),
        };
        let index = |name: &crate::quantities::Name| uses.get(name.place).map_or(0, |at| *at as usize);
        let symbols = expression.show(&mut |name| said(&nodes[index(name)]));
        let last_digit = self.last_digit(global);
        let values = expression.show(&mut |name| {
            let operand = plan.first[block] + index(name);
            self.operand((&nodes[index(name)], operand), (global, last_digit))
        });
        if symbols == values { symbols } else { format!("{symbols} = {values}") }
    }

    /// An operand with two digits more than its result, and of its own kind with two places more: whoever works
    /// the line again gets the result's digits.
    fn operand(&self, (node, operand): (&NodeDecl, usize), (result, last_digit): (usize, f64)) -> String {
        if self.curves[operand].is_some() {
            return node.label();
        }
        let unit = &self.units[operand];
        if node.leaf().is_some() {
            return show_operand(self.values[operand], unit, TYPED);
        }
        let own = unit.value_of(self.values[operand]);
        let mut digits = places_for(self.units[result].value_of(self.values[result]), last_digit) + 2;
        if unit.dimension.same(self.units[result].dimension) {
            // The place of the result's last digit, in the operand's unit.
            let resolution = last_digit * self.units[result].factor / unit.factor / 100.0;
            digits = digits.max(places_for(own, resolution));
        }
        show_operand(self.values[operand], unit, digits.min(TYPED))
    }

    /// The place value of the last digit shown of a number, in its unit.
    fn last_digit(&self, global: usize) -> f64 {
        let unit = &self.units[global];
        match last_place(self.values[global], self.coverage[global] * self.standard[global], unit) {
            // Digits left of the point are never dropped.
            Some(place) => 10f64.powi(place.min(0)),
            None => resolution(unit.value_of(self.values[global])),
        }
    }

    /// The unit of a value's SI number: J and not kg·m²/s², rad/s for what turns, `1` for a plain number.
    pub(crate) fn si_unit(&self, node: &NodeDecl, global: usize) -> String {
        match node.sort {
            Some(sort) => sort.si_unit.to_owned(),
            None => sort::si_unit_of(&self.units[global]),
        }
    }
}

/// How many digits [`show_quantity`] prints of a value.
fn shown_digits(value: f64) -> usize {
    DIGITS.max(whole_digits(value))
}

fn whole_digits(value: f64) -> usize {
    if value.abs() < 1.0 || !value.is_finite() { 1 } else { value.abs().log10().floor() as usize + 1 }
}

/// The place value of the last digit shown.
fn resolution(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return 10f64.powi(1 - DIGITS as i32);
    }
    10f64.powi(value.abs().log10().floor() as i32 + 1 - shown_digits(value) as i32)
}

/// How many digits a value needs so that its last one is no coarser than `resolution`.
fn places_for(value: f64, resolution: f64) -> usize {
    if value == 0.0 || !value.is_finite() || resolution <= 0.0 {
        return 1;
    }
    let needed = value.abs().log10().floor() - resolution.log10().floor() + 1.0;
    needed.clamp(1.0, TYPED as f64) as usize
}
