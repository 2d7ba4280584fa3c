//! Reads the sprints of a traction block: `0 km/h to 100 km/h`.

use crate::blocks::shared::lists::{bare, fresh_slug, parted, plain_items, standard};
use crate::findings::codes;
use crate::model::{Entry, Form, Node, Slot};
use crate::quantities::si::{Measure, Velocity};
use crate::words::words;

/// Each is the values `sprints.SLUG.from` and `sprints.SLUG.to` of this block. Where both have one unit the slug names
/// it once: `0_100_km_h`. A lower speed without a unit has that of the higher one.
pub(super) fn read_sprints(form: &mut Form<'_, '_>) -> Vec<Entry<(Slot<Velocity>, Slot<Velocity>)>> {
    const KEY: &str = "sprints";
    let example = Velocity::SORT.example;
    let mut entries = Vec::new();
    for (text, item) in plain_items(form, KEY, &format!("{example} to {example}")) {
        let span = item.span;
        let Some((from, to)) = text.split_once(" to ") else {
            let message = words!("`{}` where one value to another is expected", text);
            let help = words!("type the lower value, `to`, and the higher one, each like `{}`", example);
            form.report(&codes::BAD_VALUE, span, message, help);
            continue;
        };
        let to_at = text.len() - to.len();
        let (to_number, unit) = parted(bare(to));
        let (from_number, from_unit) = parted(bare(from));
        let (title, from) = match from_unit {
            "" => (format!("{from_number} to {to_number} {unit}"), format!("{from_number} {unit}")),
            _ => (format!("{} to {}", bare(from), bare(to)), from.to_owned()),
        };
        let named = match standard(from_unit) == standard(unit) || from_unit.is_empty() {
            true => format!("{from_number} {to_number} {}", standard(unit)),
            false => format!("{from_number} {} {to_number} {}", standard(from_unit), standard(unit)),
        };
        let Some(slug) = fresh_slug(form, (KEY, &named), span, &entries) else { continue };
        let (from, to) = (from.trim(), to.trim());
        let from = Node::scalar(from, span.part(0, from.len()));
        let to = Node::scalar(to, span.part(to_at, to.len()));
        let from = form.value((KEY, &format!("{KEY}.{slug}.from")), &from);
        let to = form.value((KEY, &format!("{KEY}.{slug}.to")), &to);
        entries.push(Entry { title, slug, read: (from, to) });
    }
    entries
}
