//! Names that fields and results had before: taken as a second spelling, with a note.

use super::field::{FieldDoc, Takes};
use super::kind::Kind;
use crate::findings::{Finding, codes};
use crate::journal::{Journal, Node, NodeValue};
use crate::words::words;

/// Keys as they were, and as they are.
const KEYS: &[(&str, &str)] = &[
    ("ambient", "ambient_temperature"),
    ("battery_power", "pack_power_limit"),
    ("charger_end_voltage", "charge_end_voltage"),
    ("rated_ambient", "ampacity_temperature"),
    ("rated_ampacity", "ampacity_rating"),
    ("rated_current", "current_rating"),
    ("rated_voltage", "voltage_rating"),
];

/// Words within names of results, as they were and as they are.
const WORDS: &[(&str, &str)] = &[
    ("battery_power", "pack_power"),
    ("battery_voltage", "pack_voltage"),
    ("battery_current", "pack_current"),
    ("_mph", "_mi_h"),
    ("_kph", "_km_h"),
];

/// What a name of a field or result, without that of its block, is called today.
///
/// Whether there is such a value is for the caller to find: a name of the author's own may look like an old one.
pub(crate) fn name_of_today(name: &str) -> Option<String> {
    let (path, last) = name.rsplit_once('.').unwrap_or(("", name));
    if let Some((_, new)) = KEYS.iter().find(|(old, _)| *old == last) {
        return Some(if path.is_empty() { (*new).to_owned() } else { format!("{path}.{new}") });
    }
    let (old, new) = WORDS.iter().find(|(old, _)| last.contains(old))?;
    let last = last.replacen(old, new, 1);
    Some(if path.is_empty() { last } else { format!("{path}.{last}") })
}

/// All that names of before may lead to: keys whole, and words within names.
#[cfg(test)]
pub(crate) fn names_of_today() -> impl Iterator<Item = &'static str> {
    KEYS.iter().chain(WORDS).map(|(_, new)| *new)
}

/// Puts each key that its kind calls otherwise today under the name of today, with a note for each.
pub(crate) fn rename_old(journals: &mut [Journal], kinds: &[&'static Kind]) -> Vec<Finding> {
    let mut notes = Vec::new();
    for fence in journals.iter_mut().flat_map(|journal| &mut journal.fences) {
        let word = fence.kind.text.replace('_', "-");
        if let (Some(kind), Some(body)) = (kinds.iter().find(|kind| kind.name == word), &mut fence.body) {
            rename(kind, body, "", &mut notes);
        }
    }
    notes
}

fn rename(kind: &Kind, node: &mut Node, path: &str, notes: &mut Vec<Finding>) {
    match &mut node.value {
        NodeValue::Mapping(entries) => {
            for at in 0..entries.len() {
                if let Some(new) = new_key(kind, &entries[at].0, path)
                    && !entries.iter().any(|(key, _)| key.is_text(new))
                {
                    let old = &entries[at].0;
                    let message = words!("`{}` is called `{}` now", old.text().unwrap_or_default(), new);
                    notes.push(Finding::new(&codes::OLD_NAME, old.span, message, words!("type `{}`", new)));
                    entries[at].0 = Node::scalar(new, old.span);
                }
                let (key, value) = &mut entries[at];
                if let Some(path) = inside(kind, key, path) {
                    rename(kind, value, &path, notes);
                }
            }
        }
        NodeValue::Sequence(items) => items.iter_mut().for_each(|item| rename(kind, item, path, notes)),
        _ => {}
    }
}

/// What a key is called today, where the kind has a field of that name in this place, and none of the old one.
fn new_key(kind: &Kind, key: &Node, path: &str) -> Option<&'static str> {
    let text = key.text()?;
    let (_, new) = KEYS.iter().find(|(old, _)| *old == text)?;
    let has = |name: &str| kind.fields.iter().any(|doc| doc.name.strip_prefix(path) == Some(name));
    let own = path.is_empty() && kind.fields.iter().any(is_any_name);
    (!has(text) && (has(new) || own)).then_some(*new)
}

/// A component has values under any name.
fn is_any_name(doc: &FieldDoc) -> bool {
    doc.name == "NAME" && matches!(doc.takes, Takes::Named)
}

/// What names in the mapping or list under a key begin with in the documentation; `None` where the kind knows no such
/// key, or the names in it are the author's.
fn inside(kind: &Kind, key: &Node, path: &str) -> Option<String> {
    let inside = format!("{path}{}.", key.text()?);
    kind.fields.iter().any(|doc| doc.name.starts_with(&inside)).then_some(inside)
}

#[cfg(test)]
mod tests {
    use super::{KEYS, WORDS, name_of_today};

    #[test]
    fn a_name_of_before_leads_to_that_of_today() {
        assert_eq!(name_of_today("rated_current").as_deref(), Some("current_rating"));
        assert_eq!(name_of_today("radiator.ambient").as_deref(), Some("radiator.ambient_temperature"));
        assert_eq!(name_of_today("worst_peak_battery_power").as_deref(), Some("worst_peak_pack_power"));
        assert_eq!(name_of_today("motor_speed"), None);
    }

    #[test]
    fn no_name_of_today_is_one_of_before() {
        for (_, new) in KEYS.iter().chain(WORDS) {
            assert_eq!(name_of_today(new), None, "{new}");
        }
    }
}
