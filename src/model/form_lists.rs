//! Lists of plain values, each named after what is written: `speeds.90_km_h`, `sprints.0_100_km_h.to`.

use super::form::Form;
use super::list::Entry;
use super::slot::Slot;
use crate::findings::codes;
use crate::journal::{Node, NodeValue};
use crate::quantities::si::Measure;
use crate::quantities::slug;
use crate::source::Span;
use crate::words::words;

impl Form<'_, '_> {
    /// The quantities of a list, each a value `KEY.SLUG` of this block with the slug of its number and unit.
    pub(crate) fn quantities<T: Measure>(&mut self, key: &str) -> Vec<Entry<Slot<T>>> {
        let range = self.range_of(key);
        let mut entries = Vec::new();
        for (text, span) in self.plain_items(key, T::SORT.example) {
            let title = bare(&text).to_owned();
            let Some(slug) = self.fresh_slug(key, &title, span, &entries) else { continue };
            let read: Slot<T> =
                self.own_quantity(&format!("{key}.{slug}"), &Node::scalar(&text, span), range);
            self.draft.nodes[read.index()].doc = self.known_doc(key);
            entries.push(Entry { title, slug, read });
        }
        entries
    }

    /// The stretches of a list, each `FROM to TO`: the values `KEY.SLUG.from` and `KEY.SLUG.to` of this block. Where
    /// both have one unit the slug names it once: `0_100_km_h`. A `FROM` without a unit has that of `TO`.
    pub(crate) fn stretches<T: Measure>(&mut self, key: &str) -> Vec<Entry<(Slot<T>, Slot<T>)>> {
        let range = self.range_of(key);
        let example = T::SORT.example;
        let mut entries = Vec::new();
        for (text, span) in self.plain_items(key, &format!("{example} to {example}")) {
            let Some((from, to)) = text.split_once(" to ") else {
                let message = words!("`{}` where one value to another is expected", text);
                let help = words!("type the lower value, `to`, and the higher one, each like `{}`", example);
                self.report(&codes::BAD_VALUE, span, message, help);
                continue;
            };
            let to_at = text.len() - to.len();
            let (to_number, unit) = parted(bare(to));
            let (from_number, from_unit) = parted(bare(from));
            let (title, from) = match from_unit {
                "" => (format!("{from_number} to {to_number} {unit}"), format!("{from_number} {unit}")),
                _ => (format!("{} to {}", bare(from), bare(to)), from.to_owned()),
            };
            let named = match from_unit == unit || from_unit.is_empty() {
                true => format!("{from_number} {to_number} {unit}"),
                false => format!("{from_number} {from_unit} {to_number} {unit}"),
            };
            let Some(slug) = self.fresh_slug(key, &named, span, &entries) else { continue };
            let from_span = span.part(0, from.trim().len());
            let from: Slot<T> = self.own_quantity(
                &format!("{key}.{slug}.from"),
                &Node::scalar(from.trim(), from_span),
                range,
            );
            let to_node = Node::scalar(to.trim(), span.part(to_at, to.trim().len()));
            let to: Slot<T> = self.own_quantity(&format!("{key}.{slug}.to"), &to_node, range);
            for value in [from, to] {
                self.draft.nodes[value.index()].doc = self.known_doc(key);
            }
            entries.push(Entry { title, slug, read: (from, to) });
        }
        entries
    }

    fn plain_items(&mut self, key: &str, example: &str) -> Vec<(String, Span)> {
        let Some(value) = self.take(key) else { return Vec::new() };
        let NodeValue::Sequence(items) = &value.value else {
            self.wrong_shape(key, &value, words!("a list like `[{}]`", example));
            return Vec::new();
        };
        let mut texts = Vec::new();
        for item in items {
            match item.text() {
                Some(text) if !text.trim().is_empty() => texts.push((text.trim().to_owned(), item.span)),
                _ => self.wrong_shape(key, item, words!("a value like `{}`", example)),
            }
        }
        texts
    }

    fn fresh_slug<R>(&mut self, key: &str, title: &str, span: Span, so_far: &[Entry<R>]) -> Option<String> {
        let slug = slug(title);
        if so_far.iter().any(|entry| entry.slug == slug) {
            let message = words!("`{}` is in `{}` twice", slug, key);
            self.report(&codes::DUPLICATE_NAME, span, message, "leave one of them out");
            return None;
        }
        Some(slug)
    }
}

/// A value without its tolerance and note, and a reference without its `from`.
fn bare(text: &str) -> &str {
    let text = text.trim();
    let text = text.strip_prefix("from ").map_or(text, str::trim);
    let end = ["±", "+/-", "+-", "+/−", "+−", " ("].iter().filter_map(|mark| text.find(mark)).min();
    text[..end.unwrap_or(text.len())].trim()
}

/// The number of a value as it is written, and its unit.
fn parted(text: &str) -> (&str, &str) {
    let at = text.find(|c: char| c.is_alphabetic() || "°%µ".contains(c)).unwrap_or(text.len());
    (text[..at].trim(), text[at..].trim())
}

#[cfg(test)]
mod tests {
    use super::{bare, parted};

    #[test]
    fn a_value_is_named_without_its_tolerance() {
        assert_eq!(bare("90 km/h ± 1 km/h (target)"), "90 km/h");
        assert_eq!(bare("from goals.speed"), "goals.speed");
        assert_eq!(parted("1 000 m"), ("1 000", "m"));
        assert_eq!(parted("0"), ("0", ""));
    }
}
