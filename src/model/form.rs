//! The only reader of a block's YAML: notes fields, spans, dimensions and references, and refuses what it does not know.

use std::collections::HashMap;
use std::sync::Arc;

use super::block::Slot;
use super::evidence::Evidence;
use super::kind::{FieldDoc, Kind, Needed, Range, Takes};
use super::node::{Computed, NodeDecl, Origin, Requirement, RequirementKind, Resolved, Role, Status, Wanted};
use super::scalar;
use crate::findings::{Code, Finding, codes, suggest};
use crate::journal::{Node, NodeValue};
use crate::quantities::si::Measure;
use crate::quantities::{
    Basis, Curve, Expression, Fault, Sort, Unit, read_expression, read_literal, read_unit,
};
use crate::source::Span;

/// What is being gathered of one block.
pub(crate) struct Draft<'n> {
    pub(super) kind: &'static Kind,
    pub(super) name: String,
    pub(super) name_span: Span,
    pub(super) nodes: Vec<NodeDecl>,
    pub(super) index: HashMap<String, u32>,
    pub(super) requirements: Vec<Requirement>,
    pub(super) findings: Vec<Finding>,
    pub(super) directory: &'n Directory<'n>,
    pub(super) evidence: &'n dyn Evidence,
    /// The block's own `basis:` line.
    pub(super) basis: Option<(Basis, Option<(String, Span)>)>,
}

/// The blocks of the journal by name, before any is read: their kind and the keys that stand in them.
pub(crate) type Directory<'n> = HashMap<&'n str, DirectoryEntry<'n>>;

pub(crate) struct DirectoryEntry<'n> {
    pub kind: &'static Kind,
    pub keys: Vec<&'n str>,
}

/// One mapping of a block while it is read: the block itself, a group in it, or an item of a list.
pub(crate) struct Form<'d, 'n> {
    pub(super) draft: &'d mut Draft<'n>,
    pub(super) entries: Vec<(Node, Node)>,
    used: Vec<bool>,
    /// Names of fields begin with this: `stages.gearbox.`.
    pub(super) prefix: String,
    /// Names in the kind's documentation begin with this: `stages.`.
    pub(super) pattern: String,
    /// Where a field is missing from.
    pub(super) place: Span,
}

/// A block that a field names, and where.
#[derive(Clone)]
pub(crate) struct BlockName {
    pub name: String,
    pub span: Span,
    /// The field that named it: `cell`.
    pub field: String,
}

impl<'d, 'n> Form<'d, 'n> {
    pub(super) fn new(draft: &'d mut Draft<'n>, entries: Vec<(Node, Node)>, place: Span) -> Form<'d, 'n> {
        let used = vec![false; entries.len()];
        Form { draft, entries, used, prefix: String::new(), pattern: String::new(), place }
    }

    pub(super) fn inner<'s>(&'s mut self, entries: Vec<(Node, Node)>, place: Span) -> Form<'s, 'n> {
        let used = vec![false; entries.len()];
        Form {
            draft: &mut *self.draft,
            entries,
            used,
            prefix: self.prefix.clone(),
            pattern: self.pattern.clone(),
            place,
        }
    }

    /// A quantity that must be there. Where it is not, the finding is made and the slot stays unknown.
    pub(crate) fn required<T: Measure>(&mut self, key: &str) -> Slot<T> {
        match self.optional(key) {
            Some(slot) => slot,
            None => {
                self.missing(key);
                self.failed(key)
            }
        }
    }

    /// A quantity that may be left out.
    pub(crate) fn optional<T: Measure>(&mut self, key: &str) -> Option<Slot<T>> {
        let value = self.take(key)?;
        let range = self.doc(key).range;
        Some(self.quantity(key, &value, Some(T::SORT), range))
    }

    /// A quantity with a default, which is an assumption in the dossier.
    pub(crate) fn assumed<T: Measure>(&mut self, key: &str) -> Slot<T> {
        if let Some(slot) = self.optional(key) {
            return slot;
        }
        let Needed::Assumed(default) = self.doc(key).needed else {
            panic!("`{key}` of `{}` has no default in its documentation", self.draft.kind.name)
        };
        self.default(key, default, Some(T::SORT))
    }

    /// Puts a value that the kind assumes into a field.
    pub(crate) fn default<T>(&mut self, key: &str, text: &str, sort: Option<&'static Sort>) -> Slot<T> {
        let literal = read_literal(text).expect("a default is written in the language");
        let mut leaf = scalar::leaf(literal, self.place);
        leaf.default = true;
        let unit = leaf.literal.unit.clone();
        self.declare(key, self.place, sort, unit, Role::Field(Origin::Leaf(Box::new(leaf))))
    }

    /// A whole number of at least one.
    pub(crate) fn count(&mut self, key: &str) -> Option<Slot<f64>> {
        let value = self.take(key)?;
        let slot = self.quantity(key, &value, Some(f64::SORT), Range::AtLeastOne);
        self.draft.nodes[slot.index()].count = true;
        let whole = self.literal_of(slot).is_none_or(|si| si.fract() == 0.0);
        if let NodeValue::Scalar { text, .. } = &value.value
            && !whole
        {
            self.fail(
                slot.index(),
                &codes::BAD_VALUE,
                value.span,
                format!("`{text}` where a whole number is expected"),
                "type a whole number, without a unit",
            );
        }
        if self.draft.nodes[slot.index()].leaf().is_some_and(|leaf| leaf.literal.tolerance.is_some()) {
            self.fail(
                slot.index(),
                &codes::BAD_TOLERANCE,
                value.span,
                "a count with a tolerance".to_owned(),
                "a count is exact: take the tolerance away",
            );
        }
        Some(slot)
    }

    pub(crate) fn required_count(&mut self, key: &str) -> Slot<f64> {
        match self.count(key) {
            Some(slot) => slot,
            None => {
                self.missing(key);
                self.failed(key)
            }
        }
    }

    /// Text as it stands, which can be referred to in what is shown but not calculated with.
    pub(crate) fn text(&mut self, key: &str) -> Option<(String, Span)> {
        let value = self.take(key)?;
        match &value.value {
            NodeValue::Scalar { text, .. } if !text.trim().is_empty() => {
                let text = text.trim().to_owned();
                self.declare::<String>(
                    key,
                    value.span,
                    None,
                    Unit::one(),
                    Role::Field(Origin::Text(text.clone())),
                );
                Some((text, value.span))
            }
            _ => {
                self.wrong_shape(key, &value, "text");
                None
            }
        }
    }

    /// The scalar under a key, unread: for values whose form the kind knows (a tyre's size code).
    pub(crate) fn raw(&mut self, key: &str) -> Option<(String, Span)> {
        let at = self.position(key)?;
        match &self.entries[at].1.value {
            NodeValue::Scalar { text, .. } => Some((text.trim().to_owned(), self.entries[at].1.span)),
            _ => None,
        }
    }

    /// A mapping of further fields.
    pub(crate) fn group<R>(&mut self, key: &str, read: impl FnOnce(&mut Form<'_, 'n>) -> R) -> Option<R> {
        let value = self.take(key)?;
        let NodeValue::Mapping(entries) = value.value else {
            self.wrong_shape(key, &value, "a mapping");
            return None;
        };
        let (prefix, pattern) = (format!("{}{key}.", self.prefix), format!("{}{key}.", self.pattern));
        let mut form = self.inner(entries, value.span);
        form.prefix = prefix;
        form.pattern = pattern;
        let result = read(&mut form);
        form.finish();
        Some(result)
    }

    /// The name of another block, `from` before it or not.
    pub(crate) fn block_name(&mut self, key: &str) -> Option<BlockName> {
        let value = self.take(key)?;
        let NodeValue::Scalar { text, .. } = &value.value else {
            self.wrong_shape(key, &value, "the name of a block");
            return None;
        };
        let name = text.trim();
        let name = name.strip_prefix("from ").map_or(name, str::trim).to_owned();
        let field = format!("{}{key}", self.prefix);
        if !self.draft.directory.contains_key(name.as_str()) {
            let near = suggest(&name, self.draft.directory.keys().copied());
            let help = match near {
                Some(near) => format!("did you mean `{near}`?"),
                None => "type the name of a block of this journal".to_owned(),
            };
            self.report(&codes::UNKNOWN_REFERENCE, value.span, format!("no block is named `{name}`"), help);
            self.declare::<String>(key, value.span, None, Unit::one(), Role::Field(Origin::Failed));
            return None;
        }
        self.declare::<String>(key, value.span, None, Unit::one(), Role::Field(Origin::Text(name.clone())));
        Some(BlockName { name, span: value.span, field })
    }

    pub(crate) fn required_block(&mut self, key: &str) -> Option<BlockName> {
        if self.position(key).is_none() {
            self.missing(key);
        }
        self.block_name(key)
    }

    /// A value that this kind needs from a block that the author named; unknown where there is no such block.
    pub(crate) fn of_block<T: Measure>(&mut self, block: Option<&BlockName>, result: &str) -> Slot<T> {
        let local = local_name(block, result);
        self.of_block_as(&local, block, result, Wanted::Kind)
    }

    /// The same under a name of its own in this block: an item's `mass` from `part: edu`.
    pub(crate) fn of_block_named<T: Measure>(
        &mut self,
        local: &str,
        block: Option<&BlockName>,
        result: &str,
    ) -> Slot<T> {
        self.of_block_as(local, block, result, Wanted::Kind)
    }

    /// The same for a value that may be missing there. `None` where the author's block can't have it.
    pub(crate) fn of_block_if_there<T: Measure>(
        &mut self,
        block: Option<&BlockName>,
        result: &str,
    ) -> Option<Slot<T>> {
        let entry = self.draft.directory.get(block?.name.as_str())?;
        let there = entry.keys.contains(&result) || entry.kind.results.iter().any(|doc| doc.name == result);
        let local = local_name(block, result);
        there.then(|| self.of_block_as(&local, block, result, Wanted::KindIfThere))
    }

    fn of_block_as<T: Measure>(
        &mut self,
        local: &str,
        block: Option<&BlockName>,
        result: &str,
        wanted: Wanted,
    ) -> Slot<T> {
        let Some(block) = block else {
            return self.declare(
                local,
                self.place,
                Some(T::SORT),
                T::SORT.display_unit(),
                Role::Field(Origin::Failed),
            );
        };
        let full = format!("{}.{result}", block.name);
        let expression = read_expression(&full).expect("a block's and a field's name make an expression");
        let resolved = Resolved { expression, text: None, wanted, whole_curve: false };
        self.declare(
            local,
            block.span,
            Some(T::SORT),
            T::SORT.display_unit(),
            Role::Field(Origin::Reference(resolved)),
        )
    }

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

    /// One of several words. The finding is made where it is none of them.
    pub(crate) fn choice(&mut self, key: &str, words: &[&'static str]) -> Option<&'static str> {
        let (text, span) = self.text(key)?;
        let found = words.iter().find(|word| **word == text).copied();
        if found.is_none() {
            let help = match suggest(&text, words.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("type one of {}", list_names(words)),
            };
            self.report(&codes::BAD_VALUE, span, format!("`{key}` is `{text}`"), help);
        }
        found
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
            kind: wanted.kind,
            actual,
            low,
            high,
            strict: false,
            span: wanted.span.unwrap_or(self.draft.name_span),
            source: wanted.source.to_owned(),
            status: wanted.status,
        });
    }

    /// A comparison of the author's as a requirement of kind `wish`.
    pub(crate) fn wish(&mut self, name: &str, comparison: &Node) {
        let NodeValue::Scalar { text, .. } = &comparison.value else {
            self.wrong_shape(name, comparison, "a comparison");
            return;
        };
        let Some(expression) = self.expression(text, comparison.span) else { return };
        let Some((left, comparator, right)) = expression.as_comparison() else {
            self.report(
                &codes::BAD_EXPRESSION,
                comparison.span,
                format!("`{}` is no comparison", text.trim()),
                "type a result, `<=` or `>=`, and the limit: `drive.geared_top_speed >= 110 km/h`",
            );
            return;
        };
        let mut side = |expression: Expression| match self.plain_name(&expression, comparison.span) {
            Some(index) => index,
            None => {
                let own = OwnStep {
                    expression,
                    unit: Unit::one(),
                    span: comparison.span,
                    visibility: Visibility::Hidden,
                };
                let hidden = format!("{name} ({})", self.draft.nodes.len());
                self.own_step(&hidden, own).index() as u32
            }
        };
        let (left, right) = (side(left), side(right));
        let (low, high) = match comparator {
            c if c.is_less() => (None, Some(right)),
            c if c.is_equal() => (Some(right), Some(right)),
            _ => (Some(right), None),
        };
        self.draft.requirements.push(Requirement {
            name: name.to_owned(),
            kind: RequirementKind::Wish,
            actual: left,
            low,
            high,
            strict: comparator.is_strict(),
            span: comparison.span,
            source: "the builder's own".to_owned(),
            status: Status::Stated,
        });
    }

    /// An expression that the author wrote, read; its findings are made here.
    pub(crate) fn expression(&mut self, text: &str, span: Span) -> Option<Expression> {
        let lead = text.len() - text.trim_start().len();
        match read_expression(text.trim()) {
            Ok(expression) => Some(expression),
            Err(fault) => {
                self.fault(fault, span, lead);
                None
            }
        }
    }

    /// A value that a size code or the like states: exact, and not open to doubt as an assumption is.
    pub(crate) fn stated<T: Measure>(&mut self, key: &str, text: &str, span: Span) -> Slot<T> {
        let literal = read_literal(text).expect("a stated value is written in the language");
        let mut leaf = scalar::leaf(literal, span);
        leaf.stated = true;
        let unit = leaf.literal.unit.clone();
        self.declare(key, span, Some(T::SORT), unit, Role::Field(Origin::Leaf(Box::new(leaf))))
    }

    /// A mapping of the author's own names; they are names of the block itself.
    pub(crate) fn named(&mut self, key: &str) -> Vec<(String, Node)> {
        let Some(value) = self.take(key) else { return Vec::new() };
        let NodeValue::Mapping(entries) = value.value else {
            self.wrong_shape(key, &value, "a mapping");
            return Vec::new();
        };
        let name = |key: &Node| match &key.value {
            NodeValue::Scalar { text, .. } => Some(text.clone()),
            _ => None,
        };
        entries.into_iter().filter_map(|(key, value)| Some((name(&key)?, value))).collect()
    }

    /// What is left of the mapping: names of the author's own.
    pub(crate) fn rest(&mut self) -> Vec<(Node, Node)> {
        let rest = (0..self.entries.len()).filter(|at| !self.used[*at]).collect::<Vec<_>>();
        rest.into_iter()
            .map(|at| {
                self.used[at] = true;
                self.entries[at].clone()
            })
            .collect()
    }

    /// A named quantity of any dimension, or a curve.
    pub(crate) fn any(&mut self, key: &str, value: &Node) -> Slot<f64> {
        let sort =
            self.draft.kind.fields.iter().find(|doc| doc.name == key).and_then(|doc| match doc.takes {
                Takes::Quantity(sort) => Some(sort),
                _ => None,
            });
        let range =
            self.draft.kind.fields.iter().find(|doc| doc.name == key).map_or(Range::Any, |doc| doc.range);
        self.quantity(key, value, sort, range)
    }

    pub(crate) fn slot_of(&self, name: &str) -> Option<usize> {
        self.draft.index.get(name).map(|index| *index as usize)
    }

    /// The SI value of a slot that was written as a number.
    pub(crate) fn literal_of<T>(&self, slot: Slot<T>) -> Option<f64> {
        self.draft.nodes[slot.index()].leaf().map(|leaf| leaf.literal.quantity.si)
    }

    pub(crate) fn has(&self, key: &str) -> bool {
        self.position(key).is_some()
    }

    pub(crate) fn place(&self) -> Span {
        self.place
    }

    pub(crate) fn kind_of(&self, block: &BlockName) -> &'static str {
        self.draft.directory.get(block.name.as_str()).map_or("", |entry| entry.kind.name)
    }

    pub(crate) fn report(
        &mut self,
        code: &'static Code,
        span: Span,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        let block = format!("{} {}", self.draft.kind.name, self.draft.name);
        self.draft.findings.push(Finding::new(code, span, message, help).in_block(block.trim_end()));
    }

    /// A required field that is not there.
    pub(crate) fn missing(&mut self, key: &str) {
        let doc = self.doc(key);
        let (takes, about) = (doc.takes.words(), doc.about);
        self.report(
            &codes::MISSING_FIELD,
            self.place,
            format!("`{}{key}` is missing", self.prefix),
            format!("type `{key}: …`, {takes}: {about}"),
        );
    }

    pub(super) fn take(&mut self, key: &str) -> Option<Node> {
        debug_assert!(
            self.draft.kind.fields.iter().any(|doc| doc.name == format!("{}{key}", self.pattern)),
            "`{}{key}` is not in the documentation of `{}`",
            self.pattern,
            self.draft.kind.name
        );
        let at = self.position(key)?;
        self.used[at] = true;
        Some(self.entries[at].1.clone())
    }

    fn position(&self, key: &str) -> Option<usize> {
        self.entries
            .iter()
            .position(|(name, value)| name.is_text(key) && !matches!(value.value, NodeValue::Empty))
    }

    pub(super) fn range_of(&self, key: &str) -> Range {
        self.doc(key).range
    }

    fn doc(&self, key: &str) -> &'static FieldDoc {
        // A name of the author's own has no documentation.
        static UNKNOWN: FieldDoc = FieldDoc::new("", Takes::Special, "");
        let full = format!("{}{key}", self.pattern);
        self.draft.kind.fields.iter().find(|doc| doc.name == full).unwrap_or(&UNKNOWN)
    }

    /// Declares a value of this block. A second one of the same name is `duplicate-name`.
    pub(super) fn declare<T>(
        &mut self,
        key: &str,
        span: Span,
        sort: Option<&'static Sort>,
        unit: Unit,
        role: Role,
    ) -> Slot<T> {
        let field = matches!(role, Role::Field(_));
        let name = if field { format!("{}{key}", self.prefix) } else { key.to_owned() };
        let range = if field { self.doc(key).range } else { Range::Any };
        let index = self.draft.nodes.len();
        if self.draft.index.insert(name.clone(), index as u32).is_some() {
            self.report(
                &codes::DUPLICATE_NAME,
                span,
                format!("`{name}` is there twice"),
                "give one of them another name",
            );
        }
        self.draft.nodes.push(NodeDecl { name, span, sort, unit, range, role, hidden: false, count: false });
        Slot::new(index)
    }

    fn failed<T: Measure>(&mut self, key: &str) -> Slot<T> {
        self.declare(key, self.place, Some(T::SORT), T::SORT.display_unit(), Role::Field(Origin::Failed))
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
        read_expression(formula).unwrap_or_else(|fault| {
            panic!("the formula of `{}.{name}`, `{formula}`: {}", self.draft.kind.name, fault.message)
        })
    }

    fn uses(&self, expression: &Expression, of: &str) -> Vec<u32> {
        let find = |name: String| {
            *self.draft.index.get(&name).unwrap_or_else(|| {
                panic!("`{of}` of `{}` uses `{name}`, which is not declared before it", self.draft.kind.name)
            })
        };
        expression.names().iter().map(|name| find(name.text())).collect()
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
        let resolved = Resolved { expression, text: Some(at), wanted: Wanted::Author, whole_curve: false };
        let prefix = std::mem::take(&mut self.prefix);
        let slot: Slot<f64> =
            self.declare(full, at, None, Unit::one(), Role::Field(Origin::Reference(resolved)));
        self.prefix = prefix;
        self.draft.nodes[slot.index()].hidden = true;
        slot.index() as u32
    }

    pub(super) fn fail(
        &mut self,
        index: usize,
        code: &'static Code,
        span: Span,
        message: String,
        help: &str,
    ) {
        self.report(code, span, message, help);
        self.draft.nodes[index].role = Role::Field(Origin::Failed);
    }

    /// Turns a fault inside a text into a finding at its place in the file.
    pub(super) fn fault(&mut self, fault: Fault, span: Span, lead: usize) {
        let at = span.part(fault.at.start + lead, fault.at.len().max(1));
        self.report(fault.code, at, fault.message, fault.help);
    }

    pub(super) fn wrong_shape(&mut self, key: &str, value: &Node, expected: &str) {
        let found = match &value.value {
            NodeValue::Scalar { .. } => "a single value",
            NodeValue::Sequence(_) => "a list",
            NodeValue::Mapping(_) => "a mapping",
            NodeValue::Empty => "nothing",
        };
        self.report(
            &codes::WRONG_SHAPE,
            value.span,
            format!("`{key}` is {found} where {expected} is expected"),
            format!("write {expected} after `{key}:`"),
        );
    }

    pub(super) fn curve(&mut self, key: &str, span: Span, curve: Curve) -> Slot<f64> {
        self.declare(
            key,
            span,
            None,
            Unit::one(),
            Role::Field(Origin::Curve { curve: Arc::new(curve), leaf: None }),
        )
    }

    /// Refuses every key that was not asked for.
    pub(super) fn finish(mut self) {
        let unknown: Vec<Node> = self
            .entries
            .iter()
            .zip(&self.used)
            .filter(|(_, used)| !**used)
            .map(|((key, _), _)| key.clone())
            .collect();
        let known: Vec<&'static str> = self
            .draft
            .kind
            .fields
            .iter()
            .filter_map(|doc| doc.name.strip_prefix(self.pattern.as_str()))
            .filter(|rest| !rest.contains('.'))
            .collect();
        for key in unknown {
            let NodeValue::Scalar { text, .. } = &key.value else { continue };
            if known.contains(&text.as_str()) {
                continue;
            }
            let help = match suggest(text, known.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None if known.is_empty() => "take it away".to_owned(),
                None => format!("the keys here are {}", list_names(&known)),
            };
            let message = format!("`{}` has no key `{text}`", self.draft.kind.name);
            self.report(&codes::UNKNOWN_KEY, key.span, message, help);
        }
    }
}

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

/// `cell.mass`: the field that named the block, and what is taken from it.
fn local_name(block: Option<&BlockName>, result: &str) -> String {
    let field = block.map_or("", |block| block.field.rsplit('.').next().unwrap_or(&block.field));
    if field.is_empty() { result.to_owned() } else { format!("{field}.{result}") }
}

fn list_names(names: &[&str]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}
