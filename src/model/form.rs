//! The only reader of a block's YAML: notes fields, spans, dimensions and references, and refuses what it does not know.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use super::directory::Directory;
use super::evidence::Evidence;
use super::field::{FieldDoc, Needed, Range, Takes};
use super::kind::Kind;
use super::leaf::Leaf;
use super::node::{NodeDecl, Origin, Requirement, Role};
use super::row::Case;
use super::slot::Slot;
use super::spelling::is_option;
use crate::findings::{Finding, codes, suggest};
use crate::journal::{Node, NodeValue};
use crate::quantities::si::Measure;
use crate::quantities::{Basis, Curve, Expression, Sort, Unit, read_expression, read_literal};
use crate::source::Span;
use crate::words::{Words, words};

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
    /// Sources that the block names beside those of its values.
    pub(super) cited: Vec<(String, Span)>,
    /// Path and SHA-256 of each file that the block reads.
    pub(super) files: BTreeMap<String, String>,
}

/// One mapping of a block while it is read: the block itself, a group in it, or an item of a list.
pub(crate) struct Form<'d, 'n> {
    pub(super) draft: &'d mut Draft<'n>,
    pub(super) entries: Vec<(Node, Node)>,
    pub(super) used: Vec<bool>,
    /// Names of fields begin with this: `stages.gearbox.`.
    pub(super) prefix: String,
    /// Names in the kind's documentation begin with this: `stages.`.
    pub(super) pattern: String,
    /// Where a field is missing from.
    pub(super) place: Span,
    /// The item of a list that is read.
    pub(super) item: Option<Case>,
}

impl<'d, 'n> Form<'d, 'n> {
    pub(super) fn new(draft: &'d mut Draft<'n>, entries: Vec<(Node, Node)>, place: Span) -> Form<'d, 'n> {
        let used = vec![false; entries.len()];
        Form { draft, entries, used, prefix: String::new(), pattern: String::new(), place, item: None }
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
            item: self.item.clone(),
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

    /// The same as a place that stays empty where it is left out: what needs it is then not there.
    pub(crate) fn if_given<T: Measure>(&mut self, key: &str) -> Slot<T> {
        match self.optional(key) {
            Some(slot) => slot,
            None => self.absent(key),
        }
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
        let mut leaf = Leaf::read(literal, self.place);
        leaf.default = true;
        let unit = leaf.literal.unit.clone();
        self.declare(key, self.place, sort, unit, Role::Field(Origin::Leaf(Box::new(leaf))))
    }

    pub(crate) fn count_if_given(&mut self, key: &str) -> Slot<f64> {
        match self.count(key) {
            Some(slot) => slot,
            None => self.absent(key),
        }
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
                words!("`{}` where a whole number is expected", text),
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

    /// One of several words. The finding is made where it is none of them.
    pub(crate) fn choice(&mut self, key: &str, words: &[&'static str]) -> Option<&'static str> {
        let (text, span) = self.text(key)?;
        let found = words.iter().find(|word| is_option(&text, word)).copied();
        if found.is_none() {
            let help = match suggest(&text, words.iter().copied()) {
                Some(near) => words!("did you mean `{}`?", near),
                None => words!("type one of {}", Words::names(words.iter().copied())),
            };
            self.report(&codes::BAD_VALUE, span, words!("`{}` is `{}`", key, text), help);
        }
        found
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
        let mut leaf = Leaf::read(literal, span);
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
        let mut named = Vec::new();
        for (key, value) in entries {
            let Some(name) = key.text().map(str::to_owned) else { continue };
            if name.contains(char::is_alphabetic) {
                named.push((name, value));
                continue;
            }
            let message = words!("`{}` is a name without a letter", name);
            self.report(&codes::BAD_NAME, key.span, message, "give it a name that it can be called by");
        }
        named
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

    /// The SI value of a slot that was written as a number.
    pub(crate) fn literal_of<T>(&self, slot: Slot<T>) -> Option<f64> {
        self.draft.nodes[slot.index()].leaf().map(|leaf| leaf.literal.quantity.si)
    }

    /// The half-width (SI) of the tolerance that was written with a value; 0 without one.
    pub(crate) fn tolerance_of<T>(&self, slot: Slot<T>) -> f64 {
        let leaf = self.draft.nodes[slot.index()].leaf();
        leaf.and_then(|leaf| leaf.literal.tolerance.as_ref()).map_or(0.0, |tolerance| tolerance.half_width_si)
    }

    pub(crate) fn has(&self, key: &str) -> bool {
        self.position(key).is_some()
    }

    pub(crate) fn place(&self) -> Span {
        self.place
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

    /// Whether the kind has such a field.
    pub(super) fn has_field(&self, key: &str) -> bool {
        self.known_doc(key).is_some()
    }

    pub(super) fn range_of(&self, key: &str) -> Range {
        self.doc(key).range
    }

    pub(super) fn doc(&self, key: &str) -> &'static FieldDoc {
        // A name of the author's own has no documentation.
        static UNKNOWN: FieldDoc = FieldDoc::new("", Takes::Special, "");
        self.known_doc(key).unwrap_or(&UNKNOWN)
    }

    pub(super) fn known_doc(&self, key: &str) -> Option<&'static FieldDoc> {
        // By length first: most are another field's.
        let length = self.pattern.len() + key.len();
        let fits = |doc: &&FieldDoc| {
            doc.name.len() == length && doc.name.ends_with(key) && doc.name.starts_with(self.pattern.as_str())
        };
        self.draft.kind.fields.iter().find(fits)
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
        let doc = if field { self.known_doc(key) } else { None };
        let index = self.draft.nodes.len();
        if self.draft.index.insert(name.clone(), index as u32).is_some() {
            self.report(
                &codes::DUPLICATE_NAME,
                span,
                words!("`{}` is there twice", name),
                "give one of them another name",
            );
        }
        self.draft.nodes.push(NodeDecl {
            name,
            span,
            sort,
            unit,
            range: doc.map_or(Range::Any, |doc| doc.range),
            role,
            hidden: false,
            count: false,
            row: None,
            doc,
            case: if field { self.item.clone() } else { None },
        });
        Slot::new(index)
    }

    fn failed<T: Measure>(&mut self, key: &str) -> Slot<T> {
        self.declare(key, self.place, Some(T::SORT), T::SORT.display_unit(), Role::Field(Origin::Failed))
    }

    pub(super) fn absent<T: Measure>(&mut self, key: &str) -> Slot<T> {
        let (sort, unit) = (Some(T::SORT), T::SORT.display_unit());
        let slot: Slot<T> = self.declare(key, self.place, sort, unit, Role::Field(Origin::Absent));
        self.draft.nodes[slot.index()].hidden = true;
        slot
    }

    /// A curve with what is known of its scale.
    pub(super) fn curve(&mut self, key: &str, span: Span, (curve, leaf): (Curve, Leaf)) -> Slot<f64> {
        self.declare(
            key,
            span,
            None,
            Unit::one(),
            Role::Field(Origin::Curve { curve: Arc::new(curve), leaf: Some(Box::new(leaf)) }),
        )
    }
}
