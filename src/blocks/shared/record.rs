//! Readings that are taken from a test record of the journal.

use crate::blocks::shared::calibration::held;
use crate::findings::codes;
use crate::model::{Form, Node, Regard};
use crate::words::{Words, words};

pub(in crate::blocks) const RECORD: &str =
    "the `test-record` that holds the reading: what is left out here is taken from it, under the same names";

/// What a reading may leave out where a record has it.
pub(in crate::blocks) struct Wanted {
    /// Names among its `values`.
    pub values: &'static [&'static str],
    /// Those that must be there, each unless one of the others is.
    pub needed: &'static [(&'static str, &'static [&'static str])],
    /// Its own fields.
    pub texts: &'static [&'static str],
}

/// What is said of a reading's record.
pub(in crate::blocks) struct Recorded {
    pub name: String,
    /// Whether the calibration of the instrument held on the day.
    pub calibrated: bool,
}

impl Recorded {
    /// What keeps a reading taken from it from meeting its limit.
    pub(in crate::blocks) fn doubt(&self) -> Option<Words> {
        let ended = words!("the calibration of the instrument of `{}` did not hold on that day", self.name);
        (!self.calibrated).then_some(ended)
    }
}

/// Puts into a reading what the record under `record` says, as if it were typed as a reference to it.
pub(in crate::blocks) fn from_record(form: &mut Form<'_, '_>, wanted: &Wanted) -> Option<Recorded> {
    let named = form.lookup().block_name("record")?;
    let Some(record) = form.lookup().block(&named.name, "") else {
        form.regard(Regard::ToldElsewhere);
        return None;
    };
    if record.kind != "test-record" {
        let message = words!("`{}` is no `test-record`", named.name);
        form.report(&codes::BAD_VALUE, named.span, message, "type the name of a `test-record` block");
        form.regard(Regard::ToldElsewhere);
        return None;
    }
    let values = record.written("values");
    for key in wanted.values.iter().filter(|key| values.and_then(|values| values.get(key)).is_some()) {
        if form.has(key) {
            let message = words!("`{}` is typed here, and the record `{}` has one too", *key, record.name);
            form.report(&codes::BAD_VALUE, form.place_of(key), message, "take one of them away");
        } else {
            form.lend(key, Node::scalar(&format!("{}.{key}", record.name), named.span));
        }
    }
    let Some(_) = values.and_then(Node::entries) else {
        form.regard(Regard::ToldElsewhere);
        return None;
    };
    // Half a reading is typed here, and the record has nothing of the rest: that is told once.
    let nothing = !wanted.values.iter().any(|key| values.and_then(|values| values.get(key)).is_some());
    let half = |(key, others): &(&str, &[&str])| !form.has(key) && others.iter().any(|other| form.has(other));
    if nothing && wanted.needed.iter().any(half) {
        let names = Words::names(wanted.values.iter().copied());
        let message = words!("the record `{}` has none of {}", record.name, names);
        form.report(&codes::MISSING_FIELD, named.span, message, "type them under its `values`");
        form.regard(Regard::ToldElsewhere);
    }
    for (key, others) in wanted.needed {
        // What the record does not have is told as a name that it does not have.
        if !form.has(key) && !others.iter().any(|other| form.has(other)) {
            form.lend(key, Node::scalar(&format!("{}.{key}", record.name), named.span));
        }
    }
    for key in wanted.texts.iter().filter(|key| !form.has(key)).collect::<Vec<_>>() {
        match record.written(key) {
            Some(written) => form.lend(key, Node { span: named.span, value: written.value.clone() }),
            None => form.regard(Regard::ToldElsewhere),
        }
    }
    let [until, used] = ["calibrated_until", "date"].map(|key| record.text(key));
    Some(Recorded { name: record.name.to_owned(), calibrated: held(until, used) })
}
