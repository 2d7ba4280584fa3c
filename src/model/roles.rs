//! What kinds read from a part, by the last word of its role: from the rows of what each of them takes.

use super::form::Form;
use super::kind::Kind;
use super::node::Origin;
use super::row::TakenRow;
use super::slot::Slot;
use crate::findings::{codes, suggest};
use crate::journal::{Node, NodeValue, Quoted};
use crate::source::Span;
use crate::words::words;

/// A role of a part, and the field that it is named under in other blocks; empty where no field is its own.
pub(crate) const ROLES: &[(&str, &str)] = &[
    ("motor", "motor"),
    ("cell", "cell"),
    ("module", "module"),
    ("charger", "charger"),
    ("inverter", ""),
    ("contactor", "contactors"),
    ("fuse", ""),
    ("cable", "cable"),
    ("converter", ""),
    ("pump", ""),
    ("radiator", ""),
];

/// The field that any part is named under.
const ANY: &str = "part";

/// A value that a kind reads from a part.
pub(crate) struct ReadValue {
    pub kind: &'static Kind,
    pub row: &'static TakenRow,
}

/// What is read from a part of that role; from any part, for an empty role.
pub(crate) fn read_from(role: &str, kinds: &'static [&'static Kind]) -> Vec<ReadValue> {
    let field = match ROLES.iter().find(|(known, _)| *known == role) {
        Some((_, field)) => *field,
        None => ANY,
    };
    let rows = kinds.iter().flat_map(|kind| kind.takes.iter().map(|row| ReadValue { kind, row }));
    // A cable of the journal is a block of its own kind, which works some of what others take.
    let worked = |name: &str| {
        !role.is_empty() && kinds.iter().any(|kind| kind.name.ends_with(role) && kind.gives(name))
    };
    // A module has what a cell has, but for curves.
    let of_cell = |row: &TakenRow| role == "module" && row.field == "cell" && row.sort.is_some();
    rows.filter(|read| !field.is_empty() && (read.row.field == field || of_cell(read.row)))
        .filter(|read| !worked(read.row.name))
        .collect()
}

impl Form<'_, '_> {
    /// The value of this block that has a name so far.
    pub(crate) fn slot_named(&self, name: &str) -> Option<Slot<f64>> {
        self.draft.index.get(name).map(|index| Slot::new(*index as usize))
    }

    /// A text of the author's own: in quotes, beginning with a letter, and no reference.
    pub(crate) fn own_text(&mut self, name: &str, value: &Node) -> bool {
        let NodeValue::Scalar { text, quoted: Quoted::InQuotes } = &value.value else { return false };
        let text = text.trim();
        let reference = text.starts_with("from ") || text.contains('.') && !text.contains(' ');
        if !text.starts_with(char::is_alphabetic) || reference {
            return false;
        }
        self.put::<String>(name, value.span, Origin::Text(text.to_owned()));
        true
    }

    /// Whether any kind reads a value of that name from a part: text won't do there.
    pub(crate) fn is_read_from_parts(&self, name: &str) -> bool {
        let kinds = self.draft.directory.kinds;
        let roles = ROLES.iter().map(|(role, _)| *role).chain([""]);
        roles.flat_map(|role| read_from(role, kinds)).any(|read| read.row.name == name)
    }

    /// Asks about a value whose name is nearly one that is read from a part of that role, where it would fit there.
    pub(crate) fn ask_near_name(&mut self, (name, at): (&str, Span), role: &str, index: usize) {
        let word = role.rsplit(|c: char| !c.is_alphanumeric()).next().unwrap_or_default().to_lowercase();
        let Some((role, _)) = ROLES.iter().find(|(known, _)| *known == word) else { return };
        let kinds = self.draft.directory.kinds;
        let read: Vec<ReadValue> = read_from(role, kinds).into_iter().chain(read_from("", kinds)).collect();
        let known = self.draft.kind.fields.iter().any(|doc| doc.name == name);
        if known || read.iter().any(|read| read.row.name == name) {
            return;
        }
        let found = self.draft.nodes[index].leaf().map(|leaf| leaf.literal.quantity.dimension);
        let fits = |row: &TakenRow| match (row.sort, found) {
            (Some(sort), Some(found)) => sort.dimension.same(found),
            _ => true,
        };
        let names = read.iter().filter(|read| fits(read.row)).map(|read| read.row.name);
        let near = suggest(name, names).filter(|near| !self.has(near));
        let Some(near) = near else { return };
        let message = words!("no kind reads `{}` from a {}; `{}` is read", name, *role, near);
        let help = words!("type `{}: …` if that is meant; a name of your own may stay", near);
        self.report(&codes::NEAR_NAME, at, message, help);
    }
}
