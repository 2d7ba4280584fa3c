//! The voltage that a block reckons with: the full voltage of a pack, or one that is written.

use crate::findings::codes;
use crate::model::{FieldDoc, Form, Range, Slot, Takes};
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
.range(Range::Positive);

/// Reads `pack` or `voltage`. The finding is made where both or neither stand.
pub(in crate::blocks) fn read(form: &mut Form<'_, '_>) -> Slot<ElectricPotential> {
    if !form.has("pack") {
        return form.required("voltage");
    }
    if form.has("voltage") {
        let message = "both `pack` and `voltage`";
        form.report(&codes::BAD_VALUE, form.place(), message, "keep one of them");
        form.optional::<ElectricPotential>("voltage");
    }
    let pack = form.block_name("pack");
    form.of_block(pack.as_ref(), "full_voltage")
}
