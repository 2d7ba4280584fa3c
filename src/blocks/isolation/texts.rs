//! Texts of an isolation record: several words under one key, and a text with the document that shows it.

use crate::model::{Form, Regard};
use crate::quantities::{Basis, read_note};

/// A text with a note behind it, as values have one, and the document that the note names:
/// `two layers of insulation (datasheet MOTOR)`. What is only estimated or assumed names none.
pub(super) fn text_with_document(form: &mut Form<'_, '_>, key: &str) -> Option<(String, Option<String>)> {
    let (text, span) = form.text(key)?;
    let note = text.strip_suffix(')').and_then(|text| text.rsplit_once('('));
    let Some((before, inner)) = note else { return Some((text, None)) };
    let Some(note) =
        Basis::read(inner.split([' ', ';']).next().unwrap_or_default()).and_then(|_| read_note(inner).ok())
    else {
        return Some((text, None));
    };
    let at = before.len() + 1;
    let source = note.source.map(|(id, place)| (id, span.part(at + place.start, place.len())));
    if let Some((id, at)) = &source {
        form.regard(Regard::ShownBy(id.clone(), *at));
    }
    Some((before.trim_end().to_owned(), source.filter(|_| note.basis.is_stated()).map(|(id, _)| id)))
}
