//! What a pack is made of, cells or modules, and the window that its voltage has to stay in.

use super::results::{CELLS_IN_PARALLEL, CELLS_IN_SERIES, PARALLEL, SERIES, WINDOW_HIGH, WINDOW_LOW};
use crate::findings::codes;
use crate::model::{BlockName, Form, Slot};
use crate::quantities::si::ElectricPotential;
use crate::words::words;

/// What the pack is made of.
pub(super) struct Cells {
    pub(super) name: Option<BlockName>,
    pub(super) series: Slot<f64>,
    pub(super) parallel: Slot<f64>,
    pub(super) of_modules: Option<OfModules>,
}

/// Modules in the pack, then cells in a module; in series first.
pub(super) struct OfModules {
    pub(super) name: Option<BlockName>,
    pub(super) modules: [Slot<f64>; 2],
    pub(super) cells: [Slot<f64>; 2],
}

pub(super) fn read_cells(form: &mut Form<'_, '_>) -> Cells {
    let both = form.has("cell") && form.has("module");
    let neither = !form.has("cell") && !form.has("module");
    if form.one_of(&["cell", "module"]) != Some("module") {
        let name = form.lookup().block_name("cell").or_else(|| {
            // It was told; what would be taken from it has its names.
            let (name, field) = (String::new(), "cell".to_owned());
            Some(BlockName { name, span: form.place, field, within: "" })
        });
        if !both {
            one_cell(form, name.as_ref());
        }
        // Of two that exclude each other it was told; nothing more is missing.
        let count = |form: &mut Form<'_, '_>, (key, row)| match form.optional(key) {
            Some(slot) => slot,
            None if both || neither => form.outcomes().unknown(row),
            None => form.required(key),
        };
        let (series, parallel) = (count(form, ("series", &SERIES)), count(form, ("parallel", &PARALLEL)));
        return Cells { name, series, parallel, of_modules: None };
    }
    let module = form.lookup().block_name("module");
    let modules = ["modules_in_series", "modules_in_parallel"].map(|key| form.required(key));
    let cells = [&CELLS_IN_SERIES, &CELLS_IN_PARALLEL].map(|row| form.lookup().taken(row, module.as_ref()));
    let counts = ["cells_in_series", "cells_in_parallel"];
    let counted = counts.iter().any(|key| form.lookup().has(module.as_ref(), key));
    let mut out = form.outcomes();
    let (series, parallel) = (out.result(&SERIES), out.result(&PARALLEL));
    // A part with neither count has no cells; that is told, and not each value of a cell that it then lacks.
    let unknown = |cell: BlockName| BlockName { name: String::new(), ..cell };
    let name = module.clone().map(|module| module.within("cell"));
    let name = if counted { name } else { name.map(unknown) };
    Cells { name, series, parallel, of_modules: Some(OfModules { name: module, modules, cells }) }
}

/// The voltage of a module is that of many cells.
fn one_cell(form: &mut Form<'_, '_>, cell: Option<&BlockName>) {
    let Some(cell) = cell.filter(|cell| form.lookup().has(Some(cell), "cells_in_series")) else { return };
    let message = words!("`{}` is a module, with the values of several cells", cell.name);
    let help = words!("type `module: {}`, with `modules_in_series` and `modules_in_parallel`", cell.name);
    form.report(&codes::BAD_VALUE, cell.span, message, help);
}

/// The inverter's, lowest voltage first.
pub(super) fn read_window(
    form: &mut Form<'_, '_>,
) -> Option<(Slot<ElectricPotential>, Slot<ElectricPotential>)> {
    if form.has("window") && form.has("inverter") {
        form.one_of(&["window", "inverter"]);
    }
    match form.lookup().block_name("inverter") {
        Some(name) => {
            let mut lookup = form.lookup();
            Some((lookup.taken(&WINDOW_LOW, Some(&name)), lookup.taken(&WINDOW_HIGH, Some(&name))))
        }
        None => form.group("window", |form| (form.required("low"), form.required("high"))),
    }
}
