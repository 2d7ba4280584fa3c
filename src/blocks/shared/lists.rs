//! Values under names that the author chose, or that are made of what is written: `speeds.90_km_h`.

use crate::findings::codes;
use crate::model::{Entry, Form, Node, Origin, Slot};
use crate::quantities::si::Measure;
use crate::quantities::{read_unit, slug};
use crate::source::Span;
use crate::words::words;

/// A mapping of the author's own names; they are names of the block itself.
pub(in crate::blocks) fn named(form: &mut Form<'_, '_>, key: &str) -> Vec<(String, Node)> {
    let Some(value) = form.take(key) else { return Vec::new() };
    let Some(entries) = value.entries() else {
        form.wrong_shape(key, &value, "a mapping");
        return Vec::new();
    };
    let mut named = Vec::new();
    for (key, value) in entries {
        let Some(name) = key.text() else { continue };
        if name.contains(char::is_alphabetic) {
            named.push((name.to_owned(), value.clone()));
            continue;
        }
        let message = words!("`{}` is a name without a letter", name);
        form.report(&codes::BAD_NAME, key.span, message, "give it a name that it can be called by");
    }
    named
}

/// The text under a key, which is not a value of the block.
pub(in crate::blocks) fn plain_text(form: &mut Form<'_, '_>, key: &str) -> Option<(String, Span)> {
    let value = form.take(key)?;
    if value.text().is_none() {
        form.wrong_shape(key, &value, "a single value");
    }
    Some((value.text()?.trim().to_owned(), value.span))
}

/// One text, or a list of them.
pub(in crate::blocks) fn words_of(form: &mut Form<'_, '_>, key: &str) -> Vec<String> {
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

/// The quantities of a list, each a value `KEY.SLUG` of this block with the slug of its number and unit.
pub(in crate::blocks) fn quantities<T: Measure>(form: &mut Form<'_, '_>, key: &str) -> Vec<Entry<Slot<T>>> {
    let mut entries = Vec::new();
    for (text, item) in plain_items(form, key, T::SORT.example) {
        let title = bare(&text).to_owned();
        let (number, unit) = parted(&title);
        let named = format!("{number} {}", standard(unit));
        let Some(slug) = fresh_slug(form, (key, &named), item.span, &entries) else { continue };
        let read = form.value((key, &format!("{key}.{slug}")), &item);
        entries.push(Entry { title, slug, read });
    }
    entries
}

/// The plain values of a list.
pub(in crate::blocks) fn plain_items(
    form: &mut Form<'_, '_>,
    key: &str,
    example: &str,
) -> Vec<(String, Node)> {
    let Some(value) = form.take(key) else { return Vec::new() };
    let Some(items) = value.items() else {
        form.wrong_shape(key, &value, words!("a list like `[{}]`", example));
        return Vec::new();
    };
    let mut texts = Vec::new();
    for item in items {
        match item.text().map(str::trim) {
            Some(text) if !text.is_empty() => texts.push((text.to_owned(), item.clone())),
            _ => form.wrong_shape(key, item, words!("a value like `{}`", example)),
        }
    }
    texts
}

/// The slug of a title; the finding is made where an entry of the list has it already.
pub(in crate::blocks) fn fresh_slug<R>(
    form: &mut Form<'_, '_>,
    (key, title): (&str, &str),
    span: Span,
    so_far: &[Entry<R>],
) -> Option<String> {
    let slug = slug(title);
    if so_far.iter().any(|entry| entry.slug == slug) {
        let message = words!("`{}` is in `{}` twice", slug, key);
        form.report(&codes::DUPLICATE_NAME, span, message, "leave one of them out");
        return None;
    }
    Some(slug)
}

/// A value without its tolerance and note, and a reference without its `from`.
pub(in crate::blocks) fn bare(text: &str) -> &str {
    let text = text.trim();
    let text = text.strip_prefix("from ").map_or(text, str::trim);
    let end = ["±", "+/-", "+-", "+/−", "+−", " ("].iter().filter_map(|mark| text.find(mark)).min();
    text[..end.unwrap_or(text.len())].trim()
}

/// The number of a value as it is written, and its unit.
pub(in crate::blocks) fn parted(text: &str) -> (&str, &str) {
    let at = text.find(|c: char| c.is_alphabetic() || "°%µ".contains(c)).unwrap_or(text.len());
    (text[..at].trim(), text[at..].trim())
}

/// A unit as names say it, however it is typed: `mi/h` for `mph`. What is no unit, and a power that a name has no sign
/// for, stay as they are.
pub(in crate::blocks) fn standard(unit: &str) -> String {
    let symbol = read_unit(unit).ok().map(|unit| unit.symbol.to_owned());
    symbol.filter(|symbol| !symbol.contains(['²', '³', '⁻'])).unwrap_or_else(|| unit.to_owned())
}

#[cfg(test)]
mod tests {
    use super::{bare, parted, standard};

    #[test]
    fn a_unit_has_one_name_however_it_is_typed() {
        for (typed, named) in [
            ("mph", "mi/h"),
            ("mi/h", "mi/h"),
            ("kph", "km/h"),
            ("degC", "°C"),
            ("m/s^2", "m/s^2"),
            ("speed", "speed"),
            ("", ""),
        ] {
            assert_eq!(standard(typed), named, "{typed}");
        }
    }

    #[test]
    fn a_number_is_parted_from_its_unit() {
        assert_eq!(parted("1 000 m"), ("1 000", "m"));
        assert_eq!(parted("0"), ("0", ""));
    }

    #[test]
    fn a_value_is_named_without_its_tolerance() {
        assert_eq!(bare("90 km/h ± 1 km/h (target)"), "90 km/h");
        assert_eq!(bare("from goals.speed"), "goals.speed");
    }
}
