//! Results and requirements of the author's own: the steps of a worksheet, the comparisons of targets and checks.

use super::condition::Condition;
use super::form::Form;
use super::node::{Computed, Origin, Requirement, Resolved, Role, Status, Wanted};
use super::outcomes::Outcomes;
use super::requirement_row::RequirementKind;
use super::slot::Slot;
use crate::findings::codes;
use crate::journal::{Node, NodeValue};
use crate::quantities::{
    Comparator, Comparison, Expression, Note, Unit, note_behind, read_comparison, read_expression,
};
use crate::source::Span;

impl Outcomes<'_, '_, '_> {
    /// A result of the author's own, worked by the quantity engine from an expression in text. Without a unit it is for
    /// the kind alone, and not shown. `None` after a finding.
    pub(crate) fn step(
        &mut self,
        name: &str,
        (text, span): (&str, Span),
        unit: Option<Unit>,
    ) -> Option<Slot<f64>> {
        match (read_expression(text), unit) {
            (Ok(expression), Some(unit)) => Some(self.own(name, (expression, unit), (span, Wanted::Author))),
            (Ok(expression), None) => Some(Slot::new(self.side(name, expression, span) as usize)),
            (Err(fault), _) => {
                self.form.fault(fault, span, 0);
                None
            }
        }
    }

    /// Names of other blocks become fields of this one. What is not of the author's wanting is hidden.
    fn own(
        &mut self,
        name: &str,
        (expression, unit): (Expression, Unit),
        (span, wanted): (Span, Wanted),
    ) -> Slot<f64> {
        let hidden = matches!(wanted, Wanted::Wish);
        let uses = self.uses_with_references(&expression, (span, wanted));
        let role = Role::Step(Computed::Engine { expression, uses });
        let slot = self.form.declare(name, span, None, unit, role);
        self.form.draft.nodes[slot.index()].hidden = hidden;
        slot
    }

    /// One comparison: its left side is held against its right one, or the other way round where the left is a
    /// plain number.
    fn compared(
        &mut self,
        name: &str,
        (left, comparator, right): (Expression, Comparator, Expression),
        span: Span,
    ) -> Requirement {
        let turned = left.names().is_empty() && !right.names().is_empty();
        let upper = comparator.is_less() != turned;
        let (left, right) = if turned { (right, left) } else { (left, right) };
        let (actual, limit) = (self.side(name, left, span), self.side(name, right, span));
        let (low, high) = match comparator {
            c if c.is_equal() => (Some(limit), Some(limit)),
            _ if upper => (None, Some(limit)),
            _ => (Some(limit), None),
        };
        Requirement { strict: comparator.is_strict(), ..self.wished(name, (actual, low, high), span) }
    }

    /// A value between two limits.
    fn between(
        &mut self,
        name: &str,
        [low, x, high]: [Expression; 3],
        (strict, span): (bool, Span),
    ) -> Requirement {
        let actual = self.side(name, x, span);
        let (low, high) = (self.side(name, low, span), self.side(name, high, span));
        Requirement { strict, ..self.wished(name, (actual, Some(low), Some(high)), span) }
    }

    fn wished(
        &self,
        name: &str,
        (actual, low, high): (u32, Option<u32>, Option<u32>),
        span: Span,
    ) -> Requirement {
        Requirement {
            name: name.to_owned(),
            row: None,
            case: None,
            optional: Vec::new(),
            kind: RequirementKind::Wish,
            actual,
            low,
            high,
            strict: false,
            span,
            source: "the builder's own".to_owned(),
            status: Status::Stated,
            rules: Vec::new(),
            confirmed_by: None,
        }
    }

    /// A side of a comparison: a value of this block or another one, or work of its own.
    fn side(&mut self, name: &str, expression: Expression, span: Span) -> u32 {
        if let Some(index) = self.plain_name(&expression, span) {
            return index;
        }
        let unit = expression.literal_unit().unwrap_or_else(Unit::one);
        let hidden = format!("{name} ({})", self.form.draft.nodes.len());
        self.own(&hidden, (expression, unit), (span, Wanted::Wish)).index() as u32
    }

    /// A comparison of the author's as a requirement of kind `wish`.
    pub(crate) fn wish(&mut self, name: &str, comparison: &Node) {
        let requirement = self.comparison(name, comparison);
        self.form.draft.requirements.extend(requirement);
    }

    /// The same without being one of this block. `None` after a finding.
    pub(super) fn comparison(&mut self, name: &str, comparison: &Node) -> Option<Requirement> {
        let NodeValue::Scalar { text, .. } = &comparison.value else {
            self.form.wrong_shape(name, comparison, "a comparison");
            return None;
        };
        let lead = text.len() - text.trim_start().len();
        let (end, note) = match note_behind(text) {
            Ok(found) => found,
            Err(fault) => {
                self.form.fault(fault, comparison.span, 0);
                return None;
            }
        };
        let read = read_comparison(text[..end].trim());
        let plain = match &read {
            Ok(Comparison::One(left, _, right)) => [left, right].iter().all(|side| side.names().is_empty()),
            Ok(Comparison::Between { x, .. }) => x.names().is_empty(),
            Err(_) => false,
        };
        if plain {
            let help = "name what is to be judged: `kerb.converted_mass <= 1 420 kg`";
            let message = "a comparison of plain numbers, which judges nothing of the journal";
            self.form.report(&codes::BAD_EXPRESSION, comparison.span, message, help);
            return None;
        }
        let mut requirement = match read {
            Ok(Comparison::One(left, sign, right)) => {
                self.compared(name, (left, sign, right), comparison.span)
            }
            Ok(Comparison::Between { low, x, high, strict }) => {
                self.between(name, [low, x, high], (strict, comparison.span))
            }
            Err(fault) => {
                self.form.fault(fault, comparison.span, lead);
                return None;
            }
        };
        if let Some(note) = note {
            requirement.source = self.limit_source(note, comparison.span);
        }
        Some(requirement)
    }

    /// Where a limit comes from, by the note behind it.
    fn limit_source(&mut self, note: Note, span: Span) -> String {
        let mut source = note.basis.word().to_owned();
        if let Some((id, at)) = note.source {
            source.push(' ');
            source.push_str(&id);
            self.form.draft.cited.push((id, span.part(at.start, at.len())));
        }
        if let Some(remark) = note.remark {
            source.push_str("; ");
            source.push_str(&remark);
        }
        source
    }

    /// Names of this block stay; any other becomes a field that refers to it.
    fn uses_with_references(&mut self, expression: &Expression, (span, wanted): (Span, Wanted)) -> Vec<u32> {
        expression
            .names()
            .iter()
            .map(|name| {
                let text = name.text();
                if let Some(index) = self.form.draft.index.get(&text) {
                    return *index;
                }
                let at = span.part(name.at.start, name.at.len());
                if text.contains('.') {
                    return self.refer(&text, (at, wanted));
                }
                // A bare name that is not there yet is a later step, or the step itself; it keeps its short name.
                let full = format!("{}.{text}", self.form.draft.name);
                if let Some(index) = self.form.draft.index.get(&full) {
                    return *index;
                }
                let index = self.refer(&full, (at, wanted));
                self.form.draft.nodes[index as usize].name = text;
                index
            })
            .collect()
    }

    /// The value of an expression that is one name, and nothing else.
    fn plain_name(&mut self, expression: &Expression, span: Span) -> Option<u32> {
        let name = expression.as_name()?.clone();
        let own = self.form.draft.index.get(&name.text()).copied();
        let at = span.part(name.at.start, name.at.len());
        Some(own.unwrap_or_else(|| self.refer(&name.text(), (at, Wanted::Wish))))
    }

    fn refer(&mut self, full: &str, (at, wanted): (Span, Wanted)) -> u32 {
        let expression = read_expression(full).expect("a name is an expression");
        let resolved = Resolved {
            expression,
            text: Some(at),
            wanted,
            whole_curve: false,
            otherwise: None,
            through: None,
        };
        let prefix = std::mem::take(&mut self.form.prefix);
        let slot: Slot<f64> =
            self.form.declare(full, at, None, Unit::one(), Role::Field(Origin::Reference(resolved)));
        self.form.prefix = prefix;
        self.form.draft.nodes[slot.index()].hidden = true;
        slot.index() as u32
    }
}

impl Condition {
    /// `None` after a finding.
    pub(crate) fn read(form: &mut Form<'_, '_>, name: &str, comparison: &Node) -> Option<Condition> {
        let requirement = form.outcomes().comparison(name, comparison)?;
        let index = |part: u32| part as usize;
        Some(Condition {
            text: comparison.text().unwrap_or_default().trim().to_owned(),
            span: requirement.span,
            actual: index(requirement.actual),
            low: requirement.low.map(index),
            high: requirement.high.map(index),
            strict: requirement.strict,
        })
    }
}
