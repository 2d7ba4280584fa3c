//! The cell that a pack is made of.

use crate::model::{BlockName, Form};

/// The part that a pack names as its cell, or the cell within the module that it names: voltages are of one cell in
/// both cases, currents of one cell too.
pub(in crate::blocks) fn cell_of(form: &mut Form<'_, '_>, pack: Option<&BlockName>) -> Option<BlockName> {
    match form.lookup().has(pack, "module") {
        true => form.lookup().block_of(pack, "module").map(|module| module.within("cell")),
        false => form.lookup().block_of(pack, "cell"),
    }
}
