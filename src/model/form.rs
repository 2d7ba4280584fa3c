//! The only reader of a block's YAML: notes fields, spans, dimensions and references, and refuses what it does not know.

use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet, HashMap};
#[cfg(test)]
use std::sync::{Mutex, PoisonError};

use super::directory::View;
use super::evidence::Evidence;
use super::field::{FieldDoc, Needed, Range, Takes};
use super::kind::Kind;
use super::node::{Binding, NodeDecl, Requirement, Role};
use super::row::Case;
use super::slot::Slot;
use crate::findings::{Finding, codes};
use crate::journal::{Node, NodeValue};
use crate::quantities::{Basis, Sort, Unit};
use crate::source::Span;
use crate::words::words;

/// What is being gathered of one block.
pub(crate) struct Draft<'n> {
    pub(super) kind: &'static Kind,
    pub(super) name: String,
    pub(super) name_span: Span,
    pub(super) nodes: Vec<NodeDecl>,
    pub(super) index: HashMap<String, u32>,
    pub(super) requirements: Vec<Requirement>,
    pub(super) bindings: Vec<Binding>,
    /// Fields that the kind looked at as they were read, and the places that it read itself: they have a say in what
    /// values the block has.
    pub(super) shaping: RefCell<BTreeSet<String>>,
    pub(super) shaping_places: Vec<Span>,
    pub(super) findings: Vec<Finding>,
    pub(super) directory: View<'n>,
    pub(super) evidence: &'n dyn Evidence,
    /// The block's own `basis:` line.
    pub(super) basis: Option<(Basis, Option<(String, Span)>)>,
    /// Sources that the block names beside those of its values.
    pub(super) cited: Vec<(String, Span)>,
    /// Path and SHA-256 of each file that the block reads.
    pub(super) files: BTreeMap<String, String>,
    /// It names a block that can't be read, and may lack what that would give it.
    pub(super) unsure: Cell<bool>,
}

/// The documentation, by address, of all fields that were there and were read in this process.
#[cfg(test)]
pub(crate) static READ: Mutex<BTreeSet<usize>> = Mutex::new(BTreeSet::new());

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
    pub(crate) place: Span,
    /// The item of a list that is read.
    pub(super) item: Option<Case>,
    /// What is missing was told elsewhere.
    pub(super) excused: bool,
}

/// See [`Form::regard`].
pub(crate) enum Regard {
    /// It was measured, where nothing else is said of it: the readings of a test. A document that shows it goes before
    /// what the block says of all its values.
    Measured(Option<(String, Span)>),
    /// That document, named at that place, shows something beside the values.
    ShownBy(String, Span),
    /// What would stand here was told as missing elsewhere, and is not told again.
    ToldElsewhere,
}

impl<'d, 'n> Form<'d, 'n> {
    pub(super) fn new(draft: &'d mut Draft<'n>, entries: Vec<(Node, Node)>, place: Span) -> Form<'d, 'n> {
        let used = vec![false; entries.len()];
        Form {
            draft,
            entries,
            used,
            prefix: String::new(),
            pattern: String::new(),
            place,
            item: None,
            excused: false,
        }
    }

    /// Reads a mapping that stands in this one; what is said of all its values ends with it.
    pub(super) fn within<R>(
        &mut self,
        (prefix, pattern): (String, String),
        (entries, place): (Vec<(Node, Node)>, Span),
        read: impl FnOnce(&mut Form<'_, 'n>) -> R,
    ) -> R {
        let (used, item) = (vec![false; entries.len()], self.item.clone());
        let basis = self.draft.basis.clone();
        let excused = self.excused;
        let mut form = Form { draft: &mut *self.draft, entries, used, prefix, pattern, place, item, excused };
        let result = read(&mut form);
        form.finish();
        self.draft.basis = basis;
        result
    }

    pub(crate) fn has(&self, key: &str) -> bool {
        self.position(key).is_some()
    }

    /// The key is typed, and nothing behind it.
    pub(super) fn is_left_empty(&self, key: &str) -> bool {
        !self.has(key) && self.entries.iter().any(|(name, _)| name.is_text(key))
    }

    /// Where the value of a key stands; the whole mapping where it is not there.
    pub(crate) fn place_of(&self, key: &str) -> Span {
        let found = self.entries.iter().find(|(name, _)| name.is_text(key));
        found.map_or(self.place, |(_, value)| value.span)
    }

    /// What stands under a key, as it is typed, for the kind to read. What is documented in capitals stands for names of
    /// the author's own: it is all that is left of the mapping. The finding is made where the documentation says that it
    /// must be there, and it is not.
    pub(crate) fn take(&mut self, key: &str) -> Option<Node> {
        if is_own(key) {
            #[cfg(test)]
            self.was_read(key);
            return Some(Node { span: self.place, value: NodeValue::Mapping(self.rest()) });
        }
        let value = self.expected(key)?;
        self.draft.shaping_places.push(value.span);
        Some(value)
    }

    /// Puts something under a key that was left out, as if it were typed there.
    pub(crate) fn lend(&mut self, key: &str, value: Node) {
        self.entries.push((Node::scalar(key, value.span), value));
        self.used.push(false);
    }

    pub(super) fn entry(&mut self, key: &str) -> Option<Node> {
        debug_assert!(
            self.draft.kind.fields.iter().any(|doc| doc.name == format!("{}{key}", self.pattern)),
            "`{}{key}` is not in the documentation of `{}`",
            self.pattern,
            self.draft.kind.name
        );
        let at = self.position(key)?;
        self.used[at] = true;
        #[cfg(test)]
        self.was_read(key);
        Some(self.entries[at].1.clone())
    }

    #[cfg(test)]
    fn was_read(&self, key: &str) {
        let mut read = READ.lock().unwrap_or_else(PoisonError::into_inner);
        read.extend(self.known_doc(key).map(|doc| std::ptr::from_ref(doc) as usize));
    }

    /// The same. The finding is made where the documentation says that it must be there, and it is not.
    pub(super) fn expected(&mut self, key: &str) -> Option<Node> {
        let value = self.entry(key);
        if value.is_none() && self.doc(key).needed == Needed::Required {
            self.missing(key);
        }
        value
    }

    fn rest(&mut self) -> Vec<(Node, Node)> {
        // A field without a value that was told as missing is none of them.
        let told = |key: &Node| {
            key.text().is_some_and(|key| self.draft.index.contains_key(&format!("{}{key}", self.prefix)))
        };
        let own: Vec<bool> = self.entries.iter().map(|(key, _)| !told(key)).collect();
        let left = self.entries.iter().zip(&mut self.used).zip(own);
        let left = left.filter(|((_, used), own)| !**used && *own).map(|(left, _)| left);
        let left: Vec<(Node, Node)> = left
            .map(|(entry, used)| {
                *used = true;
                entry.clone()
            })
            .collect();
        #[cfg(test)]
        left.iter().filter_map(|(key, _)| key.text()).for_each(|key| self.was_read(key));
        left
    }

    /// A declared value, as it was read.
    pub(crate) fn node<T>(&self, slot: Slot<T>) -> &NodeDecl {
        let node = &self.draft.nodes[slot.index()];
        self.draft.shaping.borrow_mut().insert(node.name.clone());
        node
    }

    /// What is known of all that is read of this mapping from here on.
    pub(crate) fn regard(&mut self, as_what: Regard) {
        match as_what {
            Regard::Measured(source) => {
                self.draft.cited.extend(source.clone());
                if source.is_some() || self.draft.basis.is_none() {
                    self.draft.basis = Some((Basis::Measured, source));
                }
            }
            Regard::ShownBy(document, at) => self.draft.cited.push((document, at)),
            Regard::ToldElsewhere => self.excused = true,
        }
    }

    fn position(&self, key: &str) -> Option<usize> {
        self.entries
            .iter()
            .position(|(name, value)| name.is_text(key) && !matches!(value.value, NodeValue::Empty))
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
        // A value within a field that is documented whole: the length of a size.
        let whole = || key.split_once('.').and_then(|(whole, _)| self.known_doc(whole));
        let purpose = if field { doc.or_else(whole).and_then(|doc| doc.purpose) } else { None };
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
            purpose,
        });
        Slot::new(index)
    }
}

/// Whether a name of the documentation stands for those that the author chooses.
pub(super) fn is_own(documented: &str) -> bool {
    documented.bytes().all(|byte| byte.is_ascii_uppercase())
}
