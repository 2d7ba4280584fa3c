//! What a block takes from others that its fields name.

use super::form::Form;
use super::form_blocks::{BlockName, local_name, taken_from};
use super::node::{Origin, Role, Wanted};
use super::row::{Filled, Taken, TakenRow, fill};
use super::slot::Slot;
use crate::quantities::si::Measure;
use crate::quantities::{Curve, Unit};

/// The other blocks of the journal, as a form sees them.
pub(crate) struct Lookup<'f, 'd, 'n> {
    form: &'f mut Form<'d, 'n>,
}

impl<'d, 'n> Form<'d, 'n> {
    pub(crate) fn lookup<'f>(&'f mut self) -> Lookup<'f, 'd, 'n> {
        Lookup { form: self }
    }

    /// The block's own value, or where it says none that of a block that it names.
    pub(crate) fn own_or_taken<T: Measure>(
        &mut self,
        key: &str,
        taken: impl Into<Filled<Taken<T>>>,
        block: Option<&BlockName>,
    ) -> Slot<T> {
        match self.optional(key) {
            Some(own) => own,
            None => self.lookup().taken(taken, block),
        }
    }
}

impl Lookup<'_, '_, '_> {
    /// A value that the kind needs from a block that the author named; unknown where there is no such block.
    pub(crate) fn taken<T: Measure>(
        &mut self,
        taken: impl Into<Filled<Taken<T>>>,
        block: Option<&BlockName>,
    ) -> Slot<T> {
        let Filled { row: Taken { row, .. }, each, .. } = taken.into();
        let each: Vec<(&str, &str)> = each.iter().map(|(hole, what)| (*hole, what.as_str())).collect();
        self.take((row, &fill(row.name, &each)), block, Wanted::Kind)
    }

    /// A value that may be missing there. `None` where the author's block can't have it.
    pub(crate) fn if_there<T: Measure>(
        &mut self,
        taken: &'static Taken<T>,
        block: Option<&BlockName>,
    ) -> Option<Slot<T>> {
        let entry = self.form.draft.directory.get(block?.name.as_str())?;
        let row = &taken.row;
        entry.has(row.name).then(|| self.take((row, row.name), block, Wanted::KindIfThere))
    }

    /// The same with a slot in any case: what needs it is not there without it.
    pub(crate) fn if_given<T: Measure>(
        &mut self,
        taken: &'static Taken<T>,
        block: Option<&BlockName>,
    ) -> Slot<T> {
        self.take((&taken.row, taken.row.name), block, Wanted::KindIfThere)
    }

    /// A curve that the kind needs from a block, taken whole.
    pub(crate) fn curve(&mut self, taken: &'static Taken<Curve>, block: Option<&BlockName>) -> Slot<Curve> {
        let slot: Slot<Curve> = self.take((&taken.row, taken.row.name), block, Wanted::Kind);
        if let Role::Field(Origin::Reference(resolved)) = &mut self.form.draft.nodes[slot.index()].role {
            resolved.whole_curve = true;
        }
        slot
    }

    /// The same of a curve that another kind tells of where its dimensions don't fit: it stays unknown in silence.
    pub(crate) fn curve_that_fits(
        &mut self,
        taken: &'static Taken<Curve>,
        block: Option<&BlockName>,
    ) -> Slot<Curve> {
        let slot = self.curve(taken, block);
        if let (Some(axes), Some(block)) = (taken.row.axes, block)
            && !self.form.curve_fits((block, taken.row.name), axes)
        {
            self.form.draft.nodes[slot.index()].role = Role::Field(Origin::Failed);
        }
        slot
    }

    /// The value is called `name` there.
    fn take<T>(
        &mut self,
        (row, name): (&'static TakenRow, &str),
        block: Option<&BlockName>,
        wanted: Wanted,
    ) -> Slot<T> {
        debug_assert!(
            self.form.draft.kind.takes.iter().any(|known| std::ptr::eq(*known, row)),
            "`{}.{}` is not among what `{}` takes",
            row.field,
            row.name,
            self.form.draft.kind.name
        );
        let origin = taken_from(block, name, wanted);
        let span = block.map_or(self.form.place(), |block| block.span);
        let unit = row.sort.map_or_else(Unit::one, |sort| sort.display_unit());
        let local = self.local(row, name, block);
        self.form.declare(&local, span, row.sort, unit, Role::Field(origin))
    }

    fn local(&self, row: &TakenRow, name: &str, block: Option<&BlockName>) -> String {
        match row.stands_for {
            "" => local_name(block, name),
            own => own.to_owned(),
        }
    }
}
