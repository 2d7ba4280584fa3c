//! What a block takes from others, and what it sees of the rest of the journal.

use std::collections::BTreeSet;

use super::directory::DirectoryEntry;
use super::field::{Needed, Range, Takes};
use super::form::Form;
use super::form_fields::Field;
use super::leaf::SPREAD;
use super::node::{Binding, Origin, Resolved, Role, Wanted};
use super::row::{Filled, Taken, TakenRow, fill};
use super::slot::Slot;
use crate::findings::codes;
use crate::journal::{Node, NodeValue};
use crate::quantities::{Dimension, Sort, Unit, read_expression, read_formula, read_literal, read_unit};
use crate::rules::possible::is_positive;
use crate::source::{FileId, Span};
use crate::words::words;

/// A block that a field names, and where.
#[derive(Clone)]
pub(crate) struct BlockName {
    /// Empty where the field is not there or names no block: the finding has been made, and what is taken from it is
    /// not known, under the names that it would have.
    pub name: String,
    pub span: Span,
    /// The field that named it: `cell`.
    pub field: String,
    /// The group of results that is meant, of a block that has one within itself; else empty.
    pub within: &'static str,
}

/// A block of the journal, as it is written.
#[derive(Clone, Copy)]
pub(crate) struct Other<'n> {
    /// What it is known by.
    pub name: &'n str,
    pub kind: &'static str,
    body: &'n Node,
}

/// What is looked at of blocks of some kinds; a block is read again when that changes, and only then.
#[derive(Clone, Copy)]
pub(crate) enum Looked<'a> {
    Whole,
    /// So many of them, whole.
    First(usize),
    /// These keys alone; without any, only that the block is there.
    At(&'a [&'a str]),
    /// That field, or the list that it is, and only of those that name this block in it.
    Naming(&'a str),
}

/// The other blocks of the journal, as a form sees them.
pub(crate) struct Lookup<'f, 'd, 'n> {
    form: &'f mut Form<'d, 'n>,
}

impl BlockName {
    /// A block that the kind found by itself, as if a field of that name had named it.
    pub(crate) fn found(name: &str, at: Span) -> BlockName {
        BlockName { name: name.to_owned(), span: at, field: name.to_owned(), within: "" }
    }

    /// What that block has within itself, as if a field had named it: the `cell` of a module, whose values are
    /// `MODULE.cell.full_voltage`.
    pub(crate) fn within(self, field: &'static str) -> BlockName {
        BlockName { field: field.to_owned(), within: field, ..self }
    }
}

impl<'d, 'n> Form<'d, 'n> {
    pub(crate) fn lookup<'f>(&'f mut self) -> Lookup<'f, 'd, 'n> {
        Lookup { form: self }
    }
}

impl<'n> Lookup<'_, '_, 'n> {
    /// The block that a field names, `from` before it or not. `None` where nothing is named and nothing has to be.
    pub(crate) fn block_name(&mut self, key: &str) -> Option<BlockName> {
        let form = &mut *self.form;
        let field = format!("{}{key}", form.prefix);
        let Some(value) = form.expected(key) else {
            let needed = form.doc(key).needed == Needed::Required;
            // A name that is still to come is not one that nobody means to give: what it would bring is not missing too.
            let to_come = !needed && form.is_left_empty(key);
            if to_come {
                let message = words!("`{}` names nothing", key);
                let at = form.place_of(key);
                form.report(
                    &codes::MISSING_FIELD,
                    at,
                    message,
                    "type the name of a block, or take the line away",
                );
            }
            let nobody = || BlockName { name: String::new(), span: form.place, field, within: "" };
            return (needed || to_come).then(nobody);
        };
        let span = value.span;
        let NodeValue::Scalar { text, .. } = &value.value else {
            form.wrong_shape(key, &value, "the name of a block");
            return Some(BlockName { name: String::new(), span, field, within: "" });
        };
        let name = bare(text);
        let Some(known) = form.draft.directory.get(name).map(|entry| entry.name.clone()) else {
            form.put::<String>(key, span, Origin::Failed);
            let unknown = BlockName { name: String::new(), span, field, within: "" };
            if form.lookup().unread(name).is_some() {
                return Some(unknown);
            }
            let help = match form.draft.directory.directory.near(name) {
                Some(near) => words!("did you mean `{}`?", near),
                None => "type the name of a block of this journal".into(),
            };
            form.report(&codes::UNKNOWN_REFERENCE, span, words!("no block is named `{}`", name), help);
            return Some(unknown);
        };
        let written = form.put::<String>(key, span, Origin::Text(name.to_owned())).index() as u32;
        let block = BlockName { name: known, span, field, within: "" };
        if let Some(binding) = self.bind(&block) {
            self.form.draft.bindings[binding as usize].written = Some(written);
        }
        Some(block)
    }

    /// The block of a name, in any of its spellings, of which only that key is looked at; all where it is empty. Of one
    /// that can't be read the kind alone is known.
    pub(crate) fn block(&self, name: &str, key: &str) -> Option<Other<'n>> {
        self.unread(name).or_else(|| self.seen(name, key))
    }

    /// All blocks of some kinds that no other one replaces, in the journal's order.
    pub(crate) fn blocks(&self, kinds: &[&str], looked: Looked<'_>) -> Vec<Other<'n>> {
        let view = &self.form.draft.directory;
        let (keys, most): (&[&str], usize) = match &looked {
            Looked::Whole => (&[""], usize::MAX),
            Looked::First(most) => (&[""], *most),
            Looked::At(keys) => (keys, usize::MAX),
            Looked::Naming(field) => (std::slice::from_ref(field), usize::MAX),
        };
        debug_assert!(kinds.iter().all(|kind| view.directory.kinds.iter().any(|one| one.name == *kind)));
        let of = kinds.iter().filter_map(|kind| view.directory.of_kind.get(kind));
        let mut found: Vec<usize> = of.flatten().copied().collect();
        found.sort_unstable();
        let seen = |at: usize| {
            for key in keys {
                view.look_at(at, key);
            }
            Other::from(&view.directory.entries[at])
        };
        let mut found: Vec<Other<'n>> = found.into_iter().take(most).map(seen).collect();
        if let Looked::Naming(field) = looked {
            let own = view.number(&self.form.draft.name);
            found.retain(|other| own.is_some() && view.number(bare(other.text(field))) == own);
        }
        found
    }

    /// The block that another block names in a field of its own: the cell of a pack. Without a name where there is no
    /// such field or block.
    pub(crate) fn block_of(&self, block: Option<&BlockName>, field: &str) -> Option<BlockName> {
        let block = block?;
        let text = self.seen(&block.name, field).map_or("", |other| other.text(field));
        let name = self.form.draft.directory.get(bare(text)).map_or("", |named| &named.name);
        Some(BlockName { name: name.to_owned(), span: block.span, field: field.to_owned(), within: "" })
    }

    /// Whether something stands under that key of another block; `group.key` is one in a group.
    pub(crate) fn has(&self, block: Option<&BlockName>, key: &str) -> bool {
        let Some(block) = block else { return false };
        let body = self.seen(&block.name, key).map(|other| other.body);
        let node = body.and_then(|body| key.split('.').try_fold(body, Node::get));
        node.is_some_and(|node| !matches!(node.value, NodeValue::Empty))
    }

    /// A block that can't be read: its finding has been made, and this block may lack what that would give it.
    fn unread(&self, name: &str) -> Option<Other<'n>> {
        static NOTHING: Node =
            Node { span: Span { file: FileId(0), start: 0, end: 0 }, value: NodeValue::Empty };
        let draft = &self.form.draft;
        let (name, kind) = draft.directory.directory.broken.get_key_value(name)?;
        draft.unsure.set(true);
        Some(Other { name, kind, body: &NOTHING })
    }

    /// Whether a name, of this block or with that of another one before it, means readings that are each of another
    /// piece, directly or through values that are no more than a name.
    pub(super) fn leads_to_pieces(&self, name: &str) -> bool {
        let mut passed = BTreeSet::new();
        let mut at = match name.split_once('.') {
            Some((block, key)) => (block.to_owned(), key.to_owned()),
            None => (self.form.draft.name.clone(), name.to_owned()),
        };
        while passed.insert(at.clone()) {
            let Some(value) = self.value_of(&at.0, &at.1) else { return false };
            let NodeValue::Scalar { text, .. } = &value.value else {
                return value.get("of").is_some_and(|of| of.is_text("pieces"));
            };
            let named = read_expression(bare(text)).ok();
            let Some(named) = named.and_then(|read| Some(read.as_name()?.text())) else { return false };
            at = match named.split_once('.') {
                Some((block, key)) => (block.to_owned(), key.to_owned()),
                None => (at.0, named),
            };
        }
        false
    }

    /// What is written under a key of a block, or under that name in a mapping of its author's own names.
    fn value_of(&self, name: &str, key: &str) -> Option<&'n Node> {
        let within = |first: &str| {
            let body = self.seen(name, first)?.body;
            Some(if first == key { body } else { body.get(first)? })
        };
        let path = |node: &'n Node| key.split('.').try_fold(node, Node::get);
        let kind = self.form.draft.directory.get(name)?.kind;
        let own_names = kind.fields.iter().filter(|doc| matches!(doc.takes, Takes::Named));
        let groups = own_names.map(|doc| doc.name);
        within(key).and_then(path).or_else(|| groups.filter_map(within).find_map(path))
    }

    /// A block of which only that key is looked at.
    fn seen(&self, name: &str, key: &str) -> Option<Other<'n>> {
        let view = &self.form.draft.directory;
        Some(view.look_at(view.number(name)?, key).into())
    }

    /// The number of this block's binding to another one, which is made where there is none yet. `None` where there is
    /// no such block.
    fn bind(&mut self, block: &BlockName) -> Option<u32> {
        let number = self.form.draft.directory.number(&block.name)?;
        let bindings = &mut self.form.draft.bindings;
        let known = bindings.iter().position(|known| known.block == number && known.field == block.field);
        Some(known.unwrap_or_else(|| {
            bindings.push(Binding { field: block.field.clone(), written: None, block: number });
            bindings.len() - 1
        }) as u32)
    }

    /// A value or a curve, taken whole, that the kind needs from a block that the author named; unknown where there is
    /// no such block.
    pub(crate) fn taken<T: Field>(
        &mut self,
        taken: impl Into<Filled<Taken<T>>>,
        block: Option<&BlockName>,
    ) -> Slot<T> {
        let Filled { row: Taken { row, .. }, each, .. } = taken.into();
        let each: Vec<(&str, &str)> = each.iter().map(|(hole, what)| (*hole, what.as_str())).collect();
        self.take((row, &fill(row.name, &each)), block, Wanted::Kind)
    }

    /// A value that may be missing there. `None` where the author's block can't have it.
    pub(crate) fn if_there<T: Field>(
        &mut self,
        taken: &'static Taken<T>,
        block: Option<&BlockName>,
    ) -> Option<Slot<T>> {
        let (name, row) = (block?.name.as_str(), &taken.row);
        let kind = self.form.draft.directory.get(name)?.kind;
        let there = match block?.within {
            "" => {
                kind.gives(row.name)
                    || self.seen(name, row.name)?.body.get(row.name).is_some()
                    || row
                        .name
                        .strip_suffix(SPREAD)
                        .is_some_and(|base| self.leads_to_pieces(&format!("{name}.{base}")))
            }
            _ => self.has(block, row.name),
        };
        there.then(|| self.take((row, row.name), block, Wanted::KindIfThere))
    }

    /// The same with a slot in any case: what needs it is not there without it.
    pub(crate) fn if_given<T: Field>(
        &mut self,
        taken: &'static Taken<T>,
        block: Option<&BlockName>,
    ) -> Slot<T> {
        self.take((&taken.row, taken.row.name), block, Wanted::KindIfThere)
    }

    /// The value is called `name` there.
    fn take<T>(
        &mut self,
        (row, name): (&'static TakenRow, &str),
        block: Option<&BlockName>,
        wanted: Wanted,
    ) -> Slot<T> {
        debug_assert!(
            self.form.draft.kind.takes.iter().any(|known| std::ptr::eq(*known, row)),
            "`{}.{}` is not among what `{}` takes",
            row.field,
            row.name,
            self.form.draft.kind.name
        );
        let fits = |block: &&BlockName| {
            let axes = row.axes.filter(|_| row.told_elsewhere);
            let found = axes.and_then(|axes| Some((axes, self.seen(&block.name, name)?.axes(name)?)));
            found.is_none_or(|((x, y), found)| found.0.same(x.dimension) && found.1.same(y.dimension))
        };
        let full = match block.map_or("", |block| block.within) {
            "" => name.to_owned(),
            within => format!("{within}.{name}"),
        };
        let origin = match block.filter(fits).and_then(|block| self.bind(block)) {
            None => Origin::Failed,
            Some(through) => Origin::Reference(Resolved {
                expression: read_formula(&full).expect("a result's name is an expression"),
                text: None,
                wanted,
                whole_curve: row.sort.is_none(),
                otherwise: None,
                through: Some(through),
            }),
        };
        let span = block.map_or(self.form.place, |block| block.span);
        let unit = row.sort.map_or_else(Unit::one, Sort::display_unit);
        let local = match row.stands_for {
            "" => local_name(block, name),
            own => own.to_owned(),
        };
        // Of blocks that are not known, two may have one name here.
        if matches!(origin, Origin::Failed)
            && let Some(known) = self.form.draft.index.get(&format!("{}{local}", self.form.prefix))
        {
            return Slot::new(*known as usize);
        }
        let slot = self.form.declare(&local, span, row.sort, unit, Role::Field(origin));
        let node = &mut self.form.draft.nodes[slot.index()];
        node.purpose = row.purpose.or(node.purpose);
        if is_positive(name) {
            node.range = Range::NotNegative;
        }
        slot
    }
}

impl<'n> Other<'n> {
    /// What stands under a key; empty where that is no plain value.
    pub(crate) fn text(&self, key: &str) -> &'n str {
        self.body.get(key).and_then(Node::text).unwrap_or_default().trim()
    }

    /// What stands under a key, as it is typed.
    pub(crate) fn written(&self, key: &str) -> Option<&'n Node> {
        self.body.get(key)
    }

    /// The blocks that a list names, bare or under one of these keys of an item.
    pub(crate) fn names(&self, key: &str, under: &[&str]) -> Vec<&'n str> {
        let Some(NodeValue::Sequence(items)) = self.body.get(key).map(|list| &list.value) else {
            return Vec::new();
        };
        let name =
            |item: &'n Node| item.text().or_else(|| under.iter().find_map(|key| item.get(key))?.text());
        items.iter().filter_map(name).map(bare).collect()
    }

    /// The dimensions of a curve as its first point, or the titles of its columns, state them plainly.
    fn axes(&self, name: &str) -> Option<(Dimension, Dimension)> {
        let node = self.body.get(name)?;
        if let Some(NodeValue::Sequence(titles)) = node.get("columns").map(|columns| &columns.value) {
            let dimension = |title: &Node| {
                let title = title.text()?.trim();
                Some(read_unit(title[title.rfind('(')? + 1..].strip_suffix(')')?).ok()?.dimension)
            };
            return Some((dimension(titles.first()?)?, dimension(titles.get(1)?)?));
        }
        let NodeValue::Sequence(points) = &node.get("points").unwrap_or(node).value else { return None };
        let NodeValue::Sequence(pair) = &points.first()?.value else { return None };
        let dimension = |node: &Node| Some(read_literal(node.text()?.trim()).ok()?.quantity.dimension);
        Some((dimension(pair.first()?)?, dimension(pair.get(1)?)?))
    }
}

impl<'n> From<&'n DirectoryEntry<'n>> for Other<'n> {
    fn from(entry: &'n DirectoryEntry<'n>) -> Other<'n> {
        Other { name: &entry.name, kind: entry.kind.name, body: entry.body() }
    }
}

/// A block's name without its `from`.
fn bare(text: &str) -> &str {
    let text = text.trim();
    text.strip_prefix("from ").map_or(text, str::trim)
}

/// `cell.mass`: the field that named the block, and what is taken from it.
fn local_name(block: Option<&BlockName>, result: &str) -> String {
    let field = block.map_or("", |block| block.field.rsplit('.').next().unwrap_or(&block.field));
    if field.is_empty() { result.to_owned() } else { format!("{field}.{result}") }
}
