//! Values that a block has itself, or takes from a part that it names.

use super::form::Form;
use super::form_fields::Field;
use super::lookup::BlockName;
use super::row::Taken;
use super::slot::Slot;
use crate::findings::codes;
use crate::words::words;

impl Form<'_, '_> {
    /// The block's own value, or where it says none that of the part that it names, which then stands under the name of
    /// its own. Both is a mistake: nobody could see which of them counts.
    pub(crate) fn own_or_parts<T: Field>(
        &mut self,
        taken: &'static Taken<T>,
        part: Option<&BlockName>,
    ) -> Slot<T> {
        match (self.own_or_parts_if_there(taken, part), part) {
            (Some(found), _) => found,
            (None, Some(_)) => self.lookup().taken(taken, part),
            (None, None) => self.required(taken.row.stands_for),
        }
    }

    /// The same of a value that may be missing in both.
    pub(crate) fn own_or_parts_if_there<T: Field>(
        &mut self,
        taken: &'static Taken<T>,
        part: Option<&BlockName>,
    ) -> Option<Slot<T>> {
        let key = taken.row.stands_for;
        let works = |part: &BlockName| {
            self.draft.directory.get(&part.name).is_some_and(|entry| entry.kind.gives(taken.row.name))
        };
        if let Some(part) = part.filter(|_| self.has(key))
            && (works(part) || self.lookup().has(Some(part), taken.row.name))
        {
            let message = words!("`{}` is typed here, and `{}` has one too", key, part.name);
            let at = self.place_of(key);
            self.report(&codes::BAD_VALUE, at, message, "take one of them away");
        }
        let own = self.optional(key);
        own.or_else(|| self.lookup().if_there(taken, part))
    }
}
