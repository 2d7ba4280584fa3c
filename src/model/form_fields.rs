//! The fields of a block: quantities and curves, texts, choices and groups, as the kind documents them.

use super::field::{FieldDoc, FieldSort, Needed, Range, Takes};
use super::form::{Form, is_own};
use super::leaf::Leaf;
use super::node::{Origin, Role};
use super::slot::Slot;
use super::spelling::is_option;
use crate::findings::{codes, suggest};
use crate::journal::{Node, NodeValue};
use crate::quantities::si::Measure;
use crate::quantities::{Curve, Sort, Unit};
use crate::rules::{Rule, limit};
use crate::source::Span;
use crate::words::{Words, words};

/// What a field can hold for the kind to work with.
pub(crate) trait Field: Sized + 'static {
    /// `None` for what has no one dimension.
    const SORT: Option<&'static Sort>;

    /// Reads it into a value called `name`, with all its findings.
    fn read(form: &mut Form<'_, '_>, name: &str, value: &Node, doc: &FieldDoc) -> Slot<Self>;
}

/// A quantity of any dimension, or a curve.
pub(crate) enum Any {}

impl<T: Measure> Field for T {
    const SORT: Option<&'static Sort> = Some(T::SORT);

    fn read(form: &mut Form<'_, '_>, name: &str, value: &Node, doc: &FieldDoc) -> Slot<T> {
        let sort = match doc.takes {
            Takes::Quantity(sort) | Takes::Quantities(sort) => sort,
            Takes::Count => {
                let slot = form.quantity(name, value, <T as Field>::SORT, Range::AtLeastOne);
                form.counts(slot, value);
                return slot;
            }
            _ => T::SORT,
        };
        form.quantity(name, value, Some(sort), doc.range)
    }
}

impl Field for Curve {
    const SORT: Option<&'static Sort> = None;

    fn read(form: &mut Form<'_, '_>, name: &str, value: &Node, doc: &FieldDoc) -> Slot<Curve> {
        let slot = form.curve_field(name, value);
        if let (Takes::Curve(x, y), Role::Field(Origin::Curve { curve, .. })) =
            (doc.takes, &form.draft.nodes[slot.index()].role)
            && !(curve.x.dimension.same(x.dimension) && curve.y.dimension.same(y.dimension))
        {
            let message = words!("a curve of {} over {}", curve.y.dimension, curve.x.dimension);
            let help = words!("type its points as `[{}, {}]`", x.example, y.example);
            form.fail(slot.index(), &codes::UNIT_MISMATCH, value.span, message, help);
        }
        form.points_in_range(slot.index(), value.span, doc.range);
        slot
    }
}

impl Field for Any {
    const SORT: Option<&'static Sort> = None;

    fn read(form: &mut Form<'_, '_>, name: &str, value: &Node, doc: &FieldDoc) -> Slot<Any> {
        let is_curve = match &value.value {
            NodeValue::Sequence(points) => {
                points.iter().all(|point| matches!(point.value, NodeValue::Sequence(_)))
            }
            NodeValue::Mapping(_) => ["columns", "file", "points"].iter().any(|key| value.get(key).is_some()),
            _ => false,
        };
        match is_curve {
            true => Slot::new(form.curve_field(name, value).index()),
            false => form.quantity(name, value, None, doc.range),
        }
    }
}

impl Field for String {
    const SORT: Option<&'static Sort> = None;

    fn read(form: &mut Form<'_, '_>, name: &str, value: &Node, _: &FieldDoc) -> Slot<String> {
        let text = value.text().map(str::trim).filter(|text| !text.is_empty());
        if text.is_none() {
            form.wrong_shape(name, value, "text");
        }
        form.put(name, value.span, text.map_or(Origin::Failed, |text| Origin::Text(text.to_owned())))
    }
}

impl<'n> Form<'_, 'n> {
    /// A value that must be there. Where it is not, the finding is made and the slot stays unknown.
    pub(crate) fn required<T: Field>(&mut self, key: &str) -> Slot<T> {
        self.optional(key).unwrap_or_else(|| {
            self.missing(key);
            self.put(key, self.place, Origin::Failed)
        })
    }

    /// A value that may be left out.
    pub(crate) fn optional<T: Field>(&mut self, key: &str) -> Option<Slot<T>> {
        let value = self.entry(key)?;
        Some(self.value((key, key), &value))
    }

    /// The same as a place that stays empty where it is left out: what needs it is then not there.
    pub(crate) fn if_given<T: Field>(&mut self, key: &str) -> Slot<T> {
        self.optional(key).unwrap_or_else(|| self.put(key, self.place, Origin::Absent))
    }

    /// A value with a default, which is an assumption in the dossier.
    pub(crate) fn assumed<T: Field>(&mut self, key: &str) -> Slot<T> {
        self.optional(key).unwrap_or_else(|| {
            let Needed::Assumed(default) = self.doc(key).needed else {
                panic!("`{key}` of `{}` has no default in its documentation", self.draft.kind.name)
            };
            self.put(key, self.place, Leaf::assumed(default))
        })
    }

    /// A limit of the rules under a name of this block. Where the kind has a field of that name and the author wrote
    /// it, the author's value stands instead.
    pub(crate) fn limit<T: Measure>(&mut self, key: &str, rule: &str) -> Slot<T> {
        let Rule { value, source, .. } = limit(rule);
        let own = self.known_doc(key).and_then(|_| self.optional(key));
        own.unwrap_or_else(|| self.put(key, self.place, Leaf::ruled(value, source)))
    }

    /// Puts into a field what the kind itself knows of it: a value, that it is not there, or that it can't be known.
    pub(crate) fn put<T: Field>(&mut self, key: &str, at: Span, origin: impl Into<Origin>) -> Slot<T> {
        let origin = origin.into();
        let unit = match &origin {
            Origin::Leaf(leaf) => leaf.literal.unit.clone(),
            _ => T::SORT.map_or_else(Unit::one, Sort::display_unit),
        };
        let hidden = matches!(origin, Origin::Absent);
        let slot = self.declare(key, at, T::SORT, unit, Role::Field(origin));
        self.draft.nodes[slot.index()].hidden = hidden;
        slot
    }

    /// What stands under `key`, or in an item of it, as a value with a name of its own.
    pub(crate) fn value<T: Field>(&mut self, (key, name): (&str, &str), value: &Node) -> Slot<T> {
        // What holds for a list of choices holds for each of them; a property of a thing that has a name of its own is no
        // documented field.
        let doc = self
            .known_doc(key)
            .filter(|doc| matches!(doc.takes, Takes::Quantities(_)) || doc.sort != FieldSort::Physical);
        let slot = T::read(self, name, value, self.doc(key));
        let node = &mut self.draft.nodes[slot.index()];
        node.doc = node.doc.or(doc);
        slot
    }

    /// Text as it stands, which can be referred to in what is shown but not calculated with.
    pub(crate) fn text(&mut self, key: &str) -> Option<(String, Span)> {
        let value = self.expected(key)?;
        let slot = self.value::<String>((key, key), &value);
        match &self.draft.nodes[slot.index()].role {
            Role::Field(Origin::Text(text)) => Some((text.clone(), value.span)),
            _ => None,
        }
    }

    /// One of several words. The finding is made where it is none of them.
    pub(crate) fn choice(&mut self, key: &str, words: &[&'static str]) -> Option<&'static str> {
        let (text, span) = self.text(key)?;
        let found = words.iter().find(|word| is_option(&text, word)).copied();
        if let Some(word) = found.filter(|word| text.contains('_') && !word.contains('_')) {
            let message = words!("`{}` is spelt `{}` now", text, word);
            self.report(&codes::OLD_NAME, span, message, words!("type `{}`", word));
        }
        if found.is_none() {
            let help = match suggest(&text, words.iter().copied()) {
                Some(near) => words!("did you mean `{}`?", near),
                None => words!("type one of {}", Words::names(words.iter().copied())),
            };
            self.report(&codes::BAD_VALUE, span, words!("`{}` is `{}`", key, text), help);
        }
        found
    }

    /// A mapping of further fields. Under a name of the author's own they are those that are documented in capitals.
    pub(crate) fn group<R>(&mut self, key: &str, read: impl FnOnce(&mut Form<'_, 'n>) -> R) -> Option<R> {
        let (documented, value) = match self.known_doc(key) {
            Some(_) => (key, self.expected(key)?),
            None => {
                let own = self.entries.iter().find(|(name, _)| name.is_text(key));
                let fields = self.draft.kind.fields.iter();
                let mut names = fields.filter_map(|doc| doc.name.strip_prefix(self.pattern.as_str()));
                (names.find(|name| is_own(name))?, own?.1.clone())
            }
        };
        let NodeValue::Mapping(entries) = &value.value else {
            self.wrong_shape(key, &value, "a mapping");
            return None;
        };
        let (prefix, pattern) = (format!("{}{key}.", self.prefix), format!("{}{documented}.", self.pattern));
        Some(self.within((prefix, pattern), (entries.clone(), value.span), read))
    }

    /// Which one of several keys stands here. Findings are made where it is none, or more than one: then the first is
    /// taken, and the others are passed over.
    pub(crate) fn one_of<'k>(&mut self, keys: &[&'k str]) -> Option<&'k str> {
        let there: Vec<&'k str> = keys.iter().copied().filter(|key| self.has(key)).collect();
        match there.as_slice() {
            [] if self.excused => None,
            [] => {
                let place = self.place;
                let message = words!("one of {} is missing", Words::names(keys.iter().copied()));
                self.report(&codes::MISSING_FIELD, place, message, words!("type `{}: …`", keys[0]));
                None
            }
            [only] => Some(only),
            [first, others @ ..] => {
                let at = self.place_of(others[0]);
                let message =
                    words!("both {}", Words::joined(there.iter().map(|key| Words::name(key)), " and "));
                self.report(&codes::BAD_VALUE, at, message, "keep one of them");
                others.iter().for_each(|key| drop(self.entry(key)));
                Some(first)
            }
        }
    }

    /// A whole number of things, without a tolerance.
    fn counts<T>(&mut self, slot: Slot<T>, value: &Node) {
        let node = &mut self.draft.nodes[slot.index()];
        node.count = true;
        let whole = node.si().is_none_or(|si| si.fract() == 0.0);
        if let Some(text) = value.text().filter(|_| !whole) {
            let message = words!("`{}` where a whole number is expected", text);
            let help = "type a whole number, without a unit";
            self.fail(slot.index(), &codes::BAD_VALUE, value.span, message, help);
        }
        let leaf = self.draft.nodes[slot.index()].leaf();
        if leaf.is_some_and(|leaf| leaf.literal.tolerance.is_some()) {
            let help = "a count is exact: take the tolerance away";
            self.fail(slot.index(), &codes::BAD_TOLERANCE, value.span, "a count with a tolerance", help);
        }
    }
}
