//! Texts of an isolation record: several words under one key, and a text with the document that shows it.

use crate::model::{Form, Origin};
use crate::quantities::{Basis, read_note};

/// One text, or a list of them.
pub(super) fn words_of(form: &mut Form<'_, '_>, key: &str) -> Vec<String> {
    let Some(value) = form.take(key) else { return Vec::new() };
    let mut words = Vec::new();
    for item in value.items().unwrap_or(std::slice::from_ref(&value)) {
        match item.text().map(str::trim) {
            Some(text) if !text.is_empty() => words.push(text.to_owned()),
            _ => form.wrong_shape(key, item, "text"),
        }
    }
    form.put::<String>(key, value.span, Origin::Text(words.join(", ")));
    words
}

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
    form.cite(source.clone());
    Some((before.trim_end().to_owned(), source.filter(|_| note.basis.is_stated()).map(|(id, _)| id)))
}
