//! What stands beside a value in brackets: its own words, or those of the field that it is taken from.

use crate::model::{Form, Origin, Role, Slot};
use crate::quantities::{Basis, read_literal};

/// Whether a document stands behind a value.
pub(in crate::blocks) fn has_document<T>(form: &mut Form<'_, '_>, slot: Slot<T>) -> bool {
    noted(form, slot).is_some_and(|(basis, sourced)| sourced && basis.is_some_and(Basis::is_stated))
}

/// Whether somebody measured or states a value itself; what is worked from others is not that.
pub(in crate::blocks) fn is_known<T>(form: &mut Form<'_, '_>, slot: Slot<T>) -> bool {
    noted(form, slot).is_some_and(|(basis, _)| basis.is_some_and(Basis::is_stated))
}

/// The basis, and whether there is a source; `None` of what is worked, or taken from where nothing is noted.
fn noted<T>(form: &mut Form<'_, '_>, slot: Slot<T>) -> Option<(Option<Basis>, bool)> {
    let name = match &form.node(slot).role {
        Role::Field(Origin::Leaf(leaf)) => return Some((leaf.basis, leaf.source.is_some())),
        Role::Field(Origin::Reference(resolved)) => resolved.expression.as_name().map(|name| name.text()),
        _ => None,
    };
    let name = name?;
    let (block, field) = name.split_once('.')?;
    note_of(form, block, field)
}

/// Whether a document stands behind the field of another block.
pub(in crate::blocks) fn is_documented(form: &mut Form<'_, '_>, block: &str, field: &str) -> bool {
    note_of(form, block, field).is_some_and(|(basis, sourced)| sourced && basis.is_some_and(Basis::is_stated))
}

/// What is noted at a field, else for its whole block.
fn note_of(form: &mut Form<'_, '_>, name: &str, field: &str) -> Option<(Option<Basis>, bool)> {
    let block = form.lookup().block(name, field)?;
    if block.kind == "test-record" {
        return Some((Some(Basis::Measured), true));
    }
    if let Some(note) = read_literal(block.text(field)).ok()?.note {
        return Some((Some(note.basis), note.source.is_some()));
    }
    let mut words = form.lookup().block(name, "basis")?.text("basis").split_whitespace();
    let basis = Basis::read(words.next()?)?;
    Some((Some(basis), words.next().is_some()))
}
