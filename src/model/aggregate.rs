//! Functions over lists: `sum(kerb.removed.mass)` becomes the sum of the items' masses, `sum(part.price)` that of all
//! parts that are installed. Done once all blocks are read, so that nothing behind it knows of lists.

use std::collections::HashMap;

use super::node::{Computed, NodeDecl, Origin, Resolved, Role, Wanted};
use super::notebook::{BlockEntry, Notebook};
use super::purpose::Purpose;
use crate::findings::{Finding, codes};
use crate::quantities::{Expression, Items, Name, Over, Stand, Unit, read_expression};
use crate::source::Span;
use crate::words::words;

/// The word before a point that stands for all parts that are installed.
pub(crate) const ALL_PARTS: &str = "part";
/// The key of an item that says how many there are.
const COUNT: &str = "count";

/// Puts the items of lists into all expressions of the journal.
pub(super) fn expand(notebook: &mut Notebook, findings: &mut Vec<Finding>) {
    for block in 0..notebook.blocks.len() {
        let mut lists = Vec::new();
        for node in 0..notebook.blocks[block].nodes.len() {
            if let Some((expression, warning)) = expanded(notebook, block, node) {
                findings.extend(warning.map(|finding| finding.in_block(block)));
                lists.extend(put(&mut notebook.blocks[block], node, expression));
            }
        }
        take_away(&mut notebook.blocks[block], lists);
    }
}

/// The expression of a node with its lists put in, and what is to be said of it.
fn expanded(notebook: &Notebook, block: usize, node: usize) -> Option<(Expression, Option<Finding>)> {
    let declared = &notebook.blocks[block].nodes[node];
    let (expression, text) = match &declared.role {
        Role::Field(Origin::Reference(resolved)) => (&resolved.expression, resolved.text?),
        Role::Step(Computed::Engine { expression, .. }) => (expression, declared.span),
        _ => return None,
    };
    if !expression.takes_lists() {
        return None;
    }
    let mut warning = None;
    let expanded = expression.spread(&mut |over, names| {
        let lists = Lists { notebook };
        let items = lists.items(over, names)?;
        if over == Over::Sum
            && let Some((list, name)) = lists.lacks_count(names)
        {
            let help = words!("type `* {}.{}` behind it, if all of them are meant", list, COUNT);
            let message =
                words!("`{}` is that of one, and items of the list have a `{}`", name.text(), COUNT);
            let at = text.part(name.at.start, name.at.len());
            warning = Some(Finding::new(&codes::COUNT_LEFT_OUT, at, message, help));
        }
        Some(items)
    })?;
    Some((expanded, warning))
}

/// Gives a node its new expression, and the block the references that it needs. Gives those that it needs no more.
fn put(block: &mut BlockEntry, node: usize, expanded: Expression) -> Vec<u32> {
    let known: HashMap<String, u32> = match &mut block.nodes[node].role {
        Role::Field(Origin::Reference(resolved)) => {
            resolved.expression = expanded;
            return Vec::new();
        }
        Role::Step(Computed::Engine { expression, uses }) => {
            expression.names().iter().map(Name::text).zip(uses.iter().copied()).collect()
        }
        _ => return Vec::new(),
    };
    let span = block.nodes[node].span;
    let mut uses = Vec::with_capacity(expanded.names().len());
    for name in expanded.names() {
        let text = name.text();
        let own = || block.nodes.iter().position(|node| node.name == text).map(|at| at as u32);
        uses.push(known.get(&text).copied().or_else(own).unwrap_or_else(|| {
            block.nodes.push(reference(&text, span.part(name.at.start, name.at.len())));
            block.nodes.len() as u32 - 1
        }));
    }
    let lists = known.into_values().filter(|used| !uses.contains(used)).collect();
    block.nodes[node].role = Role::Step(Computed::Engine { expression: expanded, uses });
    lists
}

/// References to whole lists are taken away where nothing else needs them.
fn take_away(block: &mut BlockEntry, lists: Vec<u32>) {
    for list in lists {
        let needed = block.nodes.iter().any(|node| node.uses().contains(&list));
        let judged = block.requirements.iter().any(|requirement| {
            requirement.actual == list || requirement.low == Some(list) || requirement.high == Some(list)
        });
        if !needed && !judged {
            block.nodes[list as usize].role = Role::Field(Origin::Absent);
        }
    }
}

/// A reference of a block's own expression to a value of another block.
fn reference(full: &str, at: Span) -> NodeDecl {
    let expression = read_expression(full).expect("a name is an expression");
    let wanted = Wanted::Author;
    let resolved =
        Resolved { expression, text: Some(at), wanted, whole_curve: false, otherwise: None, through: None };
    NodeDecl::hidden(full.to_owned(), at, (Unit::one(), Role::Field(Origin::Reference(resolved))))
}

struct Lists<'n> {
    notebook: &'n Notebook,
}

/// A name as far as it is a list's: `kerb.removed` and `mass`.
struct Field<'t> {
    list: &'t str,
    key: &'t str,
}

impl<'n> Lists<'n> {
    /// What stands for the names in each item of the list that they are of.
    fn items(&self, over: Over, names: &[Name]) -> Option<Items> {
        let fields: Vec<Option<Field<'_>>> = names.iter().map(|name| self.field(name.as_str())).collect();
        let list = fields.iter().flatten().next()?.list;
        // Fields of two lists have no items in common.
        if fields.iter().flatten().any(|field| field.list != list) {
            return None;
        }
        let mut items = Items::new();
        for item in self.item_names(list) {
            let stands = names.iter().zip(&fields).map(|(name, field)| match field {
                Some(field) => self.stand(&item, field.key, over),
                None => Some(Stand::Value(name.text())),
            });
            items.extend(stands.collect::<Option<Vec<Stand>>>());
        }
        (!items.is_empty()).then_some(items)
    }

    fn field<'t>(&self, name: &'t str) -> Option<Field<'t>> {
        let (list, key) = name.rsplit_once('.')?;
        if list == ALL_PARTS && !self.notebook.names.contains_key(ALL_PARTS) {
            return Some(Field { list, key });
        }
        let (block, of) = list.split_once('.')?;
        let block = self.block(block)?;
        let (inside, is_value) = (format!("{of}."), format!("{of}.{key}"));
        let there = |node: &NodeDecl| node.name.strip_prefix(&inside).is_some_and(|rest| rest.contains('.'));
        let value = |node: &NodeDecl| node.has_a_name() && node.name == is_value;
        (block.nodes.iter().any(there) && !block.nodes.iter().any(value)).then_some(Field { list, key })
    }

    fn block(&self, name: &str) -> Option<&'n BlockEntry> {
        self.notebook.names.get(name).map(|at| &self.notebook.blocks[*at])
    }

    /// The full names of a list's items, and for the parts the names of those that are installed.
    fn item_names(&self, list: &str) -> Vec<Item> {
        if list == ALL_PARTS {
            return self.installed();
        }
        let Some((block, of)) = list.split_once('.') else { return Vec::new() };
        let Some(entry) = self.block(block) else { return Vec::new() };
        let inside = format!("{of}.");
        let mut items: Vec<Item> = Vec::new();
        for node in &entry.nodes {
            let slug = node.name.strip_prefix(&inside).and_then(|rest| rest.split_once('.'));
            let Some((slug, _)) = slug else { continue };
            let name = format!("{list}.{slug}");
            if !items.iter().any(|known| known.name == name) {
                items.push(Item { name, count: None });
            }
        }
        items
    }

    /// The parts that ledgers install, with where their numbers stand. A ledger that is replaced counts no more.
    fn installed(&self) -> Vec<Item> {
        let mut parts = Vec::new();
        for block in self.notebook.blocks.iter().filter(|block| block.replaced_by.is_none()) {
            for node in &block.nodes {
                let item =
                    node.name.rsplit_once('.').filter(|_| node.purpose == Some(Purpose::InstalledPart));
                if let (Some((item, _)), Role::Field(Origin::Text(part))) = (item, &node.role) {
                    let count = format!("{}.{item}.{COUNT}", block.name);
                    let count = self.is_there(&count).then_some(count);
                    parts.push(Item { name: part.clone(), count });
                }
            }
        }
        parts
    }

    /// What stands for a field of one item; `None` where the item has no such field, and is left out.
    fn stand(&self, item: &Item, key: &str, over: Over) -> Option<Stand> {
        let full = format!("{}.{key}", item.name);
        match (self.is_there(&full), &item.count) {
            (true, Some(count)) if over == Over::Sum => Some(Stand::Times(full, count.clone())),
            (true, _) => Some(Stand::Value(full)),
            (false, _) => (key == COUNT).then_some(Stand::One),
        }
    }

    /// Whether a value of that full name is given or worked.
    fn is_there(&self, full: &str) -> bool {
        full.split_once('.')
            .is_some_and(|(block, name)| self.block(block).is_some_and(|block| self.is_in(block, name)))
    }

    fn is_in(&self, block: &BlockEntry, name: &str) -> bool {
        let found = block.nodes.iter().find(|node| node.has_a_name() && node.name == name);
        match found.map(|node| &node.role) {
            None | Some(Role::Field(Origin::Absent | Origin::Text(_))) => false,
            Some(Role::Field(Origin::Reference(resolved))) if resolved.wanted == Wanted::KindIfThere => {
                let bound = block.bound(resolved).map(|number| &self.notebook.blocks[number]);
                let name = resolved.expression.as_name();
                bound.zip(name).is_some_and(|(bound, name)| self.is_in(bound, name.as_str()))
            }
            Some(_) => true,
        }
    }

    /// A list whose items have numbers that none of the names is, with the mass that is of one.
    fn lacks_count<'t>(&self, names: &'t [Name]) -> Option<(&'t str, &'t Name)> {
        let fields: Vec<(Field<'t>, &'t Name)> =
            names.iter().filter_map(|name| Some((self.field(name.as_str())?, name))).collect();
        let (field, name) =
            fields.iter().find(|(field, _)| field.key == "mass" && field.list != ALL_PARTS)?;
        let counted = fields.iter().any(|(field, _)| field.key == COUNT);
        let items = self.item_names(field.list);
        let many = items.iter().any(|item| self.is_there(&format!("{}.{COUNT}", item.name)));
        (many && !counted).then_some((field.list, *name))
    }
}

/// An item of a list by its full name.
struct Item {
    name: String,
    /// Of an installed part: the full name of how many there are.
    count: Option<String>,
}
