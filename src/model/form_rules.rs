//! Values that a kind takes from the rules: limits and rows of tables, each with its source.

use super::form::Form;
use super::leaf::Leaf;
use super::node::{Origin, Role, Status};
use super::slot::Slot;
use crate::quantities::si::Measure;
use crate::rules::{Rule, Source, Standing, limit, literal};
use crate::source::Span;

impl Form<'_, '_> {
    /// A limit of the rules under a name of this block. Where the kind has a field of that name and the author wrote
    /// it, the author's value stands instead.
    pub(crate) fn limit<T: Measure>(&mut self, key: &str, rule: &str) -> Slot<T> {
        let Rule { value, source, .. } = limit(rule);
        match self.has_field(key).then(|| self.optional(key)).flatten() {
            Some(slot) => slot,
            None => self.ruled(key, value, (source, self.place)),
        }
    }

    /// A value of a table of the rules, taken for what the author wrote at that place (a size, a class).
    pub(crate) fn ruled<T: Measure>(
        &mut self,
        key: &str,
        text: &str,
        (source, at): (&'static Source, Span),
    ) -> Slot<T> {
        let mut leaf = Leaf::read(literal(text), at);
        leaf.stated = true;
        leaf.rule = Some(source);
        let status = Status::from(source.standing).word();
        leaf.remark = Some(format!("{} ({status}): {}", source.words(), source.about));
        let unit = leaf.literal.unit.clone();
        self.declare(key, at, Some(T::SORT), unit, Role::Field(Origin::Leaf(Box::new(leaf))))
    }

    /// The same where the word that it stands for is not given: what needs it is not there.
    pub(crate) fn not_ruled<T: Measure>(&mut self, key: &str) -> Slot<T> {
        self.absent(key)
    }
}

impl From<Standing> for Status {
    fn from(standing: Standing) -> Status {
        match standing {
            Standing::Read => Status::Read,
            Standing::SecondHand => Status::SecondHand,
            Standing::Memory | Standing::Practice => Status::Memory,
        }
    }
}
