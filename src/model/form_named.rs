//! Forms of writing that are the author's to shape: names of their own, sizes, texts under an id, steps.

use super::curves::looks_like_curve;
use super::field::Range;
use super::form::Form;
use super::form_blocks::BlockName;
use super::list::Entry;
use super::node::{Origin, Role};
use super::slot::Slot;
use crate::findings::{codes, suggest};
use crate::journal::{Node, NodeValue};
use crate::quantities::si::Measure;
use crate::quantities::{Basis, Sort, sort};
use crate::source::Span;
use crate::words::words;

impl<'n> Form<'_, 'n> {
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

    /// An optional quantity of a sort that is known only at run time.
    pub(crate) fn optional_of(&mut self, key: &str, sort: &'static Sort) -> Option<usize> {
        let value = self.take(key)?;
        let range = self.range_of(key);
        Some(self.quantity::<f64>(key, &value, Some(sort), range).index())
    }

    /// A quantity under a name of the author's, of a sort that the kind expects.
    pub(crate) fn own_quantity<T: Measure>(&mut self, key: &str, value: &Node, range: Range) -> Slot<T> {
        self.quantity(key, value, Some(T::SORT), range)
    }

    /// A list like [`Form::list`] whose items may also be bare names of blocks: `[main, {item: plug, rating: 200 A}]`.
    /// A bare name is read as an item with that name alone under `bare`.
    pub(crate) fn list_or_names<R>(
        &mut self,
        (key, bare): (&str, &str),
        naming: &[&'static str],
        read: impl FnMut(&mut Form<'_, 'n>, &str) -> R,
    ) -> Vec<Entry<R>> {
        debug_assert!(self.doc(key).names, "`{key}` takes bare names, and its documentation does not say so");
        let position = self.entries.iter().position(|(name, _)| name.is_text(key));
        if let Some(at) = position
            && let NodeValue::Sequence(items) = &mut self.entries[at].1.value
        {
            for item in items.iter_mut().filter(|item| item.text().is_some()) {
                let text = item.text().unwrap_or_default().trim();
                let name = text.strip_prefix("from ").map_or(text, str::trim);
                let (key, name) = (Node::scalar(bare, item.span), Node::scalar(name, item.span));
                item.value = NodeValue::Mapping(vec![(key, name)]);
            }
        }
        self.list(key, naming, read)
    }

    /// The block that another block names in a field of its own: the cell of a pack. Without a name where there is no
    /// such field or block.
    pub(crate) fn block_of(&self, block: Option<&BlockName>, field: &str) -> Option<BlockName> {
        let block = block?;
        let entry = self.draft.directory.get(block.name.as_str());
        let text = entry.and_then(|entry| entry.body.get(field)?.text()).unwrap_or_default().trim();
        let name = text.strip_prefix("from ").map_or(text, str::trim);
        let name = self.draft.directory.get(name).map_or("", |entry| entry.name.as_str());
        Some(BlockName { name: name.to_owned(), span: block.span, field: field.to_owned() })
    }

    /// One of several words, where one must stand.
    pub(crate) fn required_choice(&mut self, key: &str, words: &[&'static str]) -> Option<&'static str> {
        if !self.has(key) {
            self.missing(key);
            return None;
        }
        self.choice(key, words)
    }

    /// Whether something stands under that key of another block; `group.key` is one in a group.
    pub(crate) fn block_has(&self, block: Option<&BlockName>, key: &str) -> bool {
        let body =
            block.and_then(|block| self.draft.directory.get(block.name.as_str())).map(|entry| entry.body);
        body.and_then(|body| key.split('.').try_fold(body, |node, key| node.get(key)))
            .is_some_and(|value| !matches!(value.value, NodeValue::Empty))
    }

    /// Where the value of a key stands; the whole mapping where it is not there.
    pub(crate) fn place_of(&self, key: &str) -> Span {
        let found = self.entries.iter().find(|(name, _)| name.is_text(key));
        found.map_or_else(|| self.place(), |(_, value)| value.span)
    }

    /// Whether anything was found amiss in this block so far.
    pub(crate) fn has_findings(&self) -> bool {
        !self.draft.findings.is_empty()
    }

    /// A list that must not be empty; the finding is made where it is.
    pub(crate) fn needs_items<R>(&mut self, key: &str, items: &[Entry<R>], help: &'static str) {
        if items.is_empty() && self.has(key) && !self.has_findings() {
            let at = self.place_of(key);
            self.report(&codes::MISSING_FIELD, at, words!("`{}` has no items", key), help);
        }
    }

    /// Whether a value could not be read; its finding has been made.
    pub(crate) fn is_failed<T>(&self, slot: Slot<T>) -> bool {
        matches!(self.draft.nodes[slot.index()].role, Role::Field(Origin::Failed))
    }

    /// What is read from here on was measured, where nothing else is said of it: the readings of a test.
    pub(crate) fn as_measured(&mut self) {
        self.draft.basis.get_or_insert((Basis::Measured, None));
    }

    /// The values of this mapping were measured, as the document under `source` shows, where nothing else is said of
    /// them.
    pub(crate) fn measured_by_source<R>(&mut self, read: impl FnOnce(&mut Self) -> R) -> R {
        let source = self.text("source");
        self.draft.cited.extend(source.clone());
        let own = self.draft.basis.replace((Basis::Measured, source));
        let read = read(self);
        self.draft.basis = own;
        read
    }

    /// Whether a value names a document that it comes from.
    pub(crate) fn has_source<T>(&self, slot: Slot<T>) -> bool {
        self.draft.nodes[slot.index()].leaf().is_none_or(|leaf| leaf.source.is_some())
    }

    /// A list of lengths, each under a name of its own: `size.length`.
    pub(crate) fn sizes(&mut self, key: &str, names: [&str; 3]) {
        let Some(value) = self.take(key) else { return };
        match &value.value {
            NodeValue::Sequence(items) if items.len() == names.len() => {
                for (name, item) in names.iter().zip(items) {
                    self.quantity::<f64>(
                        &format!("{key}.{name}"),
                        item,
                        Some(&sort::LENGTH),
                        Range::Positive,
                    );
                }
            }
            _ => self.wrong_shape(key, &value, format!("a list [{}]", names.join(", "))),
        }
    }

    /// A quantity of any dimension, or a curve, under a name of the author's.
    pub(crate) fn quantity_or_curve(&mut self, name: &str, value: &Node) -> usize {
        if looks_like_curve(value) {
            self.curve_field(name, value).index()
        } else {
            self.any(name, value).index()
        }
    }

    /// The texts of a mapping under an id, each handed on with its field's name; unknown ones are refused.
    pub(crate) fn texts(
        &mut self,
        pattern: &str,
        value: &Node,
        mut each: impl FnMut(&mut Self, &str, String, Span),
    ) {
        let NodeValue::Mapping(entries) = &value.value else {
            self.wrong_shape(pattern, value, "a mapping with `title`");
            return;
        };
        let known: Vec<&'static str> = self
            .draft
            .kind
            .fields
            .iter()
            .filter_map(|doc| doc.name.strip_prefix(pattern)?.strip_prefix('.'))
            .collect();
        for (key, value) in entries {
            let Some(name) = key.text() else { continue };
            if !known.contains(&name) {
                let help = match suggest(name, known.iter().copied()) {
                    Some(near) => words!("did you mean `{}`?", near),
                    None => words!("the keys here are `{}`", known.join("`, `")),
                };
                self.report(&codes::UNKNOWN_KEY, key.span, words!("there is no key `{}` here", name), help);
                continue;
            }
            if matches!(value.value, NodeValue::Empty) {
                continue;
            }
            if let Some(text) = self.text_of(name, value) {
                each(self, name, text.trim().to_owned(), value.span);
            }
        }
    }

    /// The SHA-256 of a file of the journal folder, in hex; the finding is made where it can't be read.
    pub(crate) fn file_hash(&mut self, path: &str, span: Span) -> Option<String> {
        let path = path.trim();
        let hash = self.found(self.draft.evidence.sha_256(path), path, span)?;
        self.draft.files.insert(path.to_owned(), hash.clone());
        Some(hash)
    }

    /// The mappings of a list whose items the kind reads itself; their keys are checked.
    pub(crate) fn mappings(&mut self, key: &str) -> Vec<Node> {
        let Some(value) = self.take(key) else { return Vec::new() };
        let NodeValue::Sequence(items) = value.value else {
            self.wrong_shape(key, &value, "a list");
            return Vec::new();
        };
        let pattern = format!("{key}.");
        let known: Vec<&'static str> =
            self.draft.kind.fields.iter().filter_map(|doc| doc.name.strip_prefix(pattern.as_str())).collect();
        let mut kept = Vec::new();
        for item in items {
            let NodeValue::Mapping(entries) = &item.value else {
                self.wrong_shape(key, &item, "a list of mappings");
                continue;
            };
            for (name, _) in entries {
                let Some(text) = name.text().filter(|text| !known.contains(text)) else { continue };
                let help = match suggest(text, known.iter().copied()) {
                    Some(near) => words!("did you mean `{}`?", near),
                    None => words!("the keys here are `{}`", known.join("`, `")),
                };
                self.report(
                    &codes::UNKNOWN_KEY,
                    name.span,
                    words!("an item of `{}` has no key `{}`", key, text),
                    help,
                );
            }
            kept.push(item);
        }
        kept
    }

    /// A text that an item must have.
    pub(crate) fn part_of(&mut self, item: &Node, key: &str) -> Option<(String, Span)> {
        let Some(node) = item.get(key).filter(|node| !matches!(node.value, NodeValue::Empty)) else {
            self.report(
                &codes::MISSING_FIELD,
                item.span,
                words!("an item without `{}`", key),
                words!("type `{}: …` in it", key),
            );
            return None;
        };
        let text = self.text_of(key, node)?;
        // The span of a plain value is its text; leading space would shift places within it.
        Some((text.trim().to_owned(), node.span))
    }
}
