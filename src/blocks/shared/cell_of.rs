//! The cell that a pack is made of.

use crate::model::{BlockName, Form};

/// The part that a pack names as its cell, or the cell within the module that it names: voltages are of one cell in
/// both cases, currents of one cell too.
pub(in crate::blocks) fn cell_of(form: &Form<'_, '_>, pack: Option<&BlockName>) -> Option<BlockName> {
    match form.block_has(pack, "module") {
        true => form.block_of(pack, "module").map(|module| module.within("cell")),
        false => form.block_of(pack, "cell"),
    }
}
