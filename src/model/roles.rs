//! What kinds read from a part, by the last word of its role: from the rows of what each of them takes.

use super::form::Form;
use super::form_fields::Any;
use super::kind::Kind;
use super::node::Origin;
use super::row::TakenRow;
use super::slot::Slot;
use crate::findings::{codes, suggest};
use crate::journal::{Node, NodeValue, Quoted};
use crate::source::Span;
use crate::words::words;

pub(crate) const MOTOR: &str = "motor";
pub(crate) const INVERTER: &str = "inverter";

/// A role of a part, and the fields that it is named under in other blocks.
pub(crate) const ROLES: &[(&str, &[&str])] = &[
    (MOTOR, &[MOTOR]),
    ("cell", &["cell"]),
    ("module", &["module"]),
    ("charger", &["charger"]),
    (INVERTER, &[INVERTER]),
    ("contactor", &["contactor", "contactors"]),
    ("fuse", &["fuse"]),
    ("cable", &["cable"]),
    ("converter", &["converter"]),
    ("pump", &["pump"]),
    ("radiator", &["radiator"]),
];

/// The field that any part is named under.
const ANY: &[&str] = &["part"];

/// A value that a kind reads from a part.
pub(crate) struct ReadValue {
    pub kind: &'static Kind,
    pub row: &'static TakenRow,
}

/// What is read from a part of that role; from any part, for an empty role.
pub(crate) fn read_from(role: &str, kinds: &'static [&'static Kind]) -> Vec<ReadValue> {
    let named = ROLES.iter().find(|(known, _)| *known == role);
    let fields = named.map_or(ANY, |(_, fields)| *fields);
    let rows = kinds.iter().flat_map(|kind| kind.takes.iter().map(|row| ReadValue { kind, row }));
    // A cable of the journal is a block of its own kind, which works some of what others take.
    let worked = |name: &str| {
        !role.is_empty() && kinds.iter().any(|kind| kind.name.ends_with(role) && kind.gives(name))
    };
    // A module has what a cell has.
    let of_cell = |row: &TakenRow| role == "module" && row.field == "cell";
    rows.filter(|read| fields.contains(&read.row.field) || of_cell(read.row))
        .filter(|read| !worked(read.row.name))
        .collect()
}

/// A value of a part under a name of the author's; `None` for a text. Asks about a name that is nearly one that is read
/// from a part of that role, where the value would fit there. A part may be `of_cells`, which share its values.
pub(crate) fn own_value(
    form: &mut Form<'_, '_>,
    (name, at): (&str, Span),
    (value, role, of_cells): (&Node, &str, bool),
) -> Option<Slot<Any>> {
    let kinds = form.draft.directory.directory.kinds;
    let word = role.rsplit(|c: char| !c.is_alphanumeric()).next().unwrap_or_default().to_lowercase();
    let role = ROLES.iter().map(|(known, _)| *known).find(|known| *known == word);
    // What is read is no text.
    let of_any = ROLES.iter().map(|(role, _)| *role).chain([""]).flat_map(|role| read_from(role, kinds));
    let read = of_any.map(|read| read.row.name).any(|known| known == name);
    if let Some(text) = own_text(value).filter(|_| !read) {
        form.put::<String>(name, value.span, Origin::Text(text.to_owned()));
        return None;
    }
    let slot = form.value::<Any>((name, name), value);
    form.rated(slot.index());
    // One cell's share of it is worked here, so it must be of the kind that a cell has.
    let of_cell = read_from("cell", kinds).into_iter().find(|read| read.row.name == name);
    if let Some(sort) = of_cell.and_then(|read| read.row.sort).filter(|_| of_cells) {
        form.must_fit(slot.index(), sort);
    }
    let known = read || form.draft.kind.fields.iter().any(|doc| doc.name == name);
    let Some(role) = role.filter(|_| !known) else { return Some(slot) };
    let found = form.node(slot).leaf().map(|leaf| leaf.literal.quantity.dimension);
    let fits = |row: &TakenRow| match (row.sort, found) {
        (Some(sort), Some(found)) => sort.dimension.same(found),
        _ => true,
    };
    let rows = read_from(role, kinds).into_iter().chain(read_from("", kinds)).map(|read| read.row);
    let near = suggest(name, rows.filter(|row| fits(row)).map(|row| row.name)).filter(|near| !form.has(near));
    if let Some(near) = near {
        let message = words!("no kind reads `{}` from a {}; `{}` is read", name, role, near);
        let help = words!("type `{}: …` if that is meant; a name of your own may stay", near);
        form.report(&codes::NEAR_NAME, at, message, help);
    }
    Some(slot)
}

/// A text of the author's own: in quotes, beginning with a letter, and no reference.
fn own_text(value: &Node) -> Option<&str> {
    let NodeValue::Scalar { text, quoted: Quoted::InQuotes } = &value.value else { return None };
    let text = text.trim();
    let reference = text.starts_with("from ") || text.contains('.') && !text.contains(' ');
    (text.starts_with(char::is_alphabetic) && !reference).then_some(text)
}
