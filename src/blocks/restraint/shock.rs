//! How hard a shock a vehicle of its category must bear.

use crate::blocks::shared::threads::row;
use crate::model::{Form, Leaf, Origin, Slot, Taken};
use crate::quantities::si::Acceleration;
use crate::rules::table;

/// What the vehicle's category stands for.
pub(super) static SHOCK_ALONG: Taken<Acceleration> = Taken::new("", "shock_along");
pub(super) static SHOCK_ACROSS: Taken<Acceleration> = Taken::new("", "shock_across");

/// What the category asks. `Some` where none is given.
pub(super) fn read_shock(form: &mut Form<'_, '_>) -> Option<[Slot<Acceleration>; 2]> {
    let shocks = table("shock_un_r100");
    if !form.has("category") {
        let absent = |name| form.put(name, form.place, Origin::Absent);
        return Some(["shock_along", "shock_across"].map(absent));
    }
    let (found, at) = row(form, "category", shocks)?;
    form.put::<Acceleration>("shock_along", at, Leaf::ruled(shocks.cell(found, "along"), &shocks.source));
    form.put::<Acceleration>("shock_across", at, Leaf::ruled(shocks.cell(found, "across"), &shocks.source));
    None
}
