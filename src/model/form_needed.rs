//! Fields that must be there: a group, or one of several keys.

use super::form::Form;
use crate::findings::codes;
use crate::words::{Words, words};

impl<'n> Form<'_, 'n> {
    /// A mapping that must be there; the finding is made where it is not.
    pub(crate) fn required_group<R>(
        &mut self,
        key: &str,
        read: impl FnOnce(&mut Form<'_, 'n>) -> R,
    ) -> Option<R> {
        if !self.has(key) {
            self.missing(key);
            return None;
        }
        self.group(key, read)
    }

    /// Which one of several keys stands here. Findings are made where it is none, or more than one: then the first is
    /// taken, and the others are passed over.
    pub(crate) fn one_of<'k>(&mut self, keys: &[&'k str]) -> Option<&'k str> {
        let there: Vec<&'k str> = keys.iter().copied().filter(|key| self.has(key)).collect();
        match there.as_slice() {
            [] => {
                let place = self.place;
                let message = words!("one of {} is missing", Words::names(keys.iter().copied()));
                self.report(&codes::MISSING_FIELD, place, message, words!("type `{}: …`", keys[0]));
                None
            }
            [only] => Some(only),
            [first, others @ ..] => {
                let at = self.place_of(others[0]);
                let message =
                    words!("both {}", Words::joined(there.iter().map(|key| Words::name(key)), " and "));
                self.report(&codes::BAD_VALUE, at, message, "keep one of them");
                others.iter().for_each(|key| drop(self.take(key)));
                Some(first)
            }
        }
    }
}
