//! The voltage that a block reckons with: the full voltage of a pack, or one that is written.

use crate::model::{FieldDoc, FieldSort, Form, Range, Slot, Taken, Takes};
use crate::quantities::si::ElectricPotential;
use crate::quantities::sort;

pub(in crate::blocks) const PACK: FieldDoc =
    FieldDoc::new("pack", Takes::BlockName, "a pack, whose full voltage is taken; or `voltage`").either();

pub(in crate::blocks) const VOLTAGE: FieldDoc = FieldDoc::new(
    "voltage",
    Takes::Quantity(&sort::VOLTAGE),
    "the highest that can occur, the charger's end voltage; or `pack` instead",
)
.either()
.range(Range::Positive)
.sort(FieldSort::Condition)
.principal();

pub(in crate::blocks) static FULL_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("pack", "full_voltage").stands_for("voltage");

/// Reads `pack` or `voltage`; formulas know it as `voltage`. The finding is made where both or neither stand.
pub(in crate::blocks) fn read(form: &mut Form<'_, '_>) -> Slot<ElectricPotential> {
    match form.one_of(&["pack", "voltage"]) {
        Some("voltage") => form.required("voltage"),
        _ => {
            let pack = form.block_name("pack");
            form.lookup().taken(&FULL_VOLTAGE, pack.as_ref())
        }
    }
}
