//! Declares results and requirements of a block: how each is worked, and what it is held against.

use super::block::Slot;
use super::form::Form;
use super::node::{Computed, Origin, Requirement, RequirementKind, Resolved, Role, Status, Wanted};
use crate::journal::{Node, NodeValue};
use crate::quantities::si::Measure;
use crate::quantities::{
    Comparator, Comparison, Expression, Unit, read_comparison, read_expression, read_formula, read_unit,
};
use crate::source::Span;

/// A step of the author's own.
pub(crate) struct OwnStep {
    pub expression: Expression,
    pub unit: Unit,
    pub span: Span,
    pub visibility: Visibility,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Visibility {
    Shown,
    Hidden,
}

/// What a value that equals its limit does.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Equality {
    Meets,
    Misses,
}

/// What [`Form::require`] is told of a limit; `low` and `high` are formulas of this block's names.
pub(crate) struct Limit<'a> {
    pub name: &'a str,
    pub kind: RequirementKind,
    pub actual: &'a str,
    pub low: Option<&'a str>,
    pub high: Option<&'a str>,
    pub source: &'a str,
    pub status: Status,
    pub span: Option<Span>,
}

impl Form<'_, '_> {
    /// A result worked in Rust and again by its formula. The formula names fields and earlier results of this block.
    pub(crate) fn step<T: Measure>(&mut self, name: &str, unit: &str, formula: &str) -> Slot<T> {
        let expression = self.own_formula(name, formula);
        let uses = self.uses(&expression, name);
        let unit = read_unit(unit).expect("a kind's unit is in the table");
        self.declare(
            name,
            self.draft.name_span,
            Some(T::SORT),
            unit,
            Role::Step(Computed::Formula { expression, uses }),
        )
    }

    /// A result worked in Rust by a method that no one-line formula states. `uses` are the fields and earlier results
    /// that it needs; `present` must give its check.
    pub(crate) fn procedure<T: Measure>(
        &mut self,
        name: &str,
        unit: &str,
        method: &'static str,
        uses: &[usize],
    ) -> Slot<T> {
        let uses = uses.iter().map(|index| *index as u32).collect();
        let unit = read_unit(unit).expect("a kind's unit is in the table");
        self.declare(
            name,
            self.draft.name_span,
            Some(T::SORT),
            unit,
            Role::Step(Computed::Procedure { method, uses }),
        )
    }

    /// A result that is words; it is found by `present` when what it uses is known.
    pub(crate) fn text_step(&mut self, name: &str, uses: &[usize]) -> Slot<String> {
        let uses = uses.iter().map(|index| *index as u32).collect();
        self.declare(name, self.draft.name_span, None, Unit::one(), Role::Step(Computed::Text { uses }))
    }

    /// A result of the author's own, worked by the quantity engine. Names of other blocks become fields of this one.
    pub(crate) fn own_step(&mut self, name: &str, own: OwnStep) -> Slot<f64> {
        let uses = self.uses_with_references(&own.expression, own.span);
        let slot = self.declare(
            name,
            own.span,
            None,
            own.unit,
            Role::Step(Computed::Engine { expression: own.expression, uses }),
        );
        self.draft.nodes[slot.index()].hidden = own.visibility == Visibility::Hidden;
        slot
    }

    /// A limit that a result of this block is held against, as formulas of its fields and results.
    pub(crate) fn require(&mut self, wanted: Limit<'_>) {
        self.require_with(wanted, Equality::Meets);
    }

    /// The same where equality with the limit misses it: `under 0.1 Ω`.
    pub(crate) fn require_strictly(&mut self, wanted: Limit<'_>) {
        self.require_with(wanted, Equality::Misses);
    }

    fn require_with(&mut self, wanted: Limit<'_>, equality: Equality) {
        let limit = |form: &mut Self, formula: Option<&str>| {
            formula.map(|formula| {
                let expression = form.own_formula(wanted.name, formula);
                match form.draft.index.get(formula) {
                    Some(index) => *index,
                    None => form.hidden(wanted.name, expression),
                }
            })
        };
        let low = limit(self, wanted.low);
        let high = limit(self, wanted.high);
        let actual = self.draft.index[wanted.actual];
        self.draft.requirements.push(Requirement {
            name: wanted.name.to_owned(),
            row: None,
            case: None,
            optional: Vec::new(),
            kind: wanted.kind,
            actual,
            low,
            high,
            strict: equality == Equality::Misses,
            span: wanted.span.unwrap_or(self.draft.name_span),
            source: wanted.source.to_owned(),
            status: wanted.status,
        });
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
        }
    }

    /// A side of a comparison: a value of this block or another one, or work of its own.
    fn side(&mut self, name: &str, expression: Expression, span: Span) -> u32 {
        if let Some(index) = self.plain_name(&expression, span) {
            return index;
        }
        let unit = expression.literal_unit().unwrap_or_else(Unit::one);
        let own = OwnStep { expression, unit, span, visibility: Visibility::Hidden };
        let hidden = format!("{name} ({})", self.draft.nodes.len());
        self.own_step(&hidden, own).index() as u32
    }

    /// A comparison of the author's as a requirement of kind `wish`.
    pub(crate) fn wish(&mut self, name: &str, comparison: &Node) {
        let NodeValue::Scalar { text, .. } = &comparison.value else {
            self.wrong_shape(name, comparison, "a comparison");
            return;
        };
        let lead = text.len() - text.trim_start().len();
        let requirement = match read_comparison(text.trim()) {
            Ok(Comparison::One(left, sign, right)) => {
                self.compared(name, (left, sign, right), comparison.span)
            }
            Ok(Comparison::Between { low, x, high, strict }) => {
                self.between(name, [low, x, high], (strict, comparison.span))
            }
            Err(fault) => return self.fault(fault, comparison.span, lead),
        };
        self.draft.requirements.push(requirement);
    }

    fn hidden(&mut self, name: &str, expression: Expression) -> u32 {
        let uses = self.uses(&expression, name);
        let own = format!("{name} (limit {})", self.draft.nodes.len());
        let unit = Unit::one();
        let slot: Slot<f64> = self.declare(
            &own,
            self.draft.name_span,
            None,
            unit,
            Role::Step(Computed::Engine { expression, uses }),
        );
        self.draft.nodes[slot.index()].hidden = true;
        slot.index() as u32
    }

    fn own_formula(&self, name: &str, formula: &str) -> Expression {
        read_formula(formula).unwrap_or_else(|fault| {
            panic!("the formula of `{}.{name}`, `{formula}`: {}", self.draft.kind.name, fault.message)
        })
    }

    fn uses(&self, expression: &Expression, of: &str) -> Vec<u32> {
        let find = |name: &str| {
            *self.draft.index.get(name).unwrap_or_else(|| {
                panic!("`{of}` of `{}` uses `{name}`, which is not declared before it", self.draft.kind.name)
            })
        };
        expression.names().iter().map(|name| find(name.as_str())).collect()
    }

    /// Names of this block stay; any other becomes a field that refers to it.
    fn uses_with_references(&mut self, expression: &Expression, span: Span) -> Vec<u32> {
        expression
            .names()
            .iter()
            .map(|name| {
                let text = name.text();
                if let Some(index) = self.draft.index.get(&text) {
                    return *index;
                }
                let at = span.part(name.at.start, name.at.len());
                if text.contains('.') {
                    return self.refer(&text, at);
                }
                // A bare name that is not there yet is a later step, or the step itself; it keeps its short name.
                let full = format!("{}.{text}", self.draft.name);
                if let Some(index) = self.draft.index.get(&full) {
                    return *index;
                }
                let index = self.refer(&full, at);
                self.draft.nodes[index as usize].name = text;
                index
            })
            .collect()
    }

    /// The value of an expression that is one name, and nothing else.
    fn plain_name(&mut self, expression: &Expression, span: Span) -> Option<u32> {
        let name = expression.as_name()?.clone();
        let own = self.draft.index.get(&name.text()).copied();
        Some(own.unwrap_or_else(|| self.refer(&name.text(), span.part(name.at.start, name.at.len()))))
    }

    fn refer(&mut self, full: &str, at: Span) -> u32 {
        let expression = read_expression(full).expect("a name is an expression");
        let resolved = Resolved {
            expression,
            text: Some(at),
            wanted: Wanted::Author,
            whole_curve: false,
            otherwise: None,
        };
        let prefix = std::mem::take(&mut self.prefix);
        let slot: Slot<f64> =
            self.declare(full, at, None, Unit::one(), Role::Field(Origin::Reference(resolved)));
        self.prefix = prefix;
        self.draft.nodes[slot.index()].hidden = true;
        slot.index() as u32
    }
}
