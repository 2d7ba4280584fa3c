//! Screws by their size and property class, as the published tables have them.

use crate::findings::codes;
use crate::model::{Bench, Form, Leaf, Slot};
use crate::quantities::si::{Area, Length, Pressure};
use crate::rules::{Table, literal, table};
use crate::source::Span;
use crate::words::{Words, words};

/// A diameter in metres between M16 and M20: the standard has other proof stresses for larger screws.
const LARGE: f64 = 0.018;

/// What the size and the class of a screw stand for.
pub(in crate::blocks) struct Steel {
    pub diameter: Slot<Length>,
    pub pitch: Slot<Length>,
    pub proof_stress: Slot<Pressure>,
}

/// Reads `size` and `class`; `None` where one is in no table.
pub(in crate::blocks) fn read_steel(form: &mut Form<'_, '_>) -> Option<Steel> {
    let size = thread(form);
    let larger =
        size.is_some_and(|(threads, size, _)| literal(threads.cell(size, "diameter")).quantity.si > LARGE);
    let classes = table(if larger { "iso_898_1_proof_stress_larger" } else { "iso_898_1_proof_stress" });
    let class = row(form, "class", classes);
    let ((threads, size, at_size), (class, at_class)) = (size?, class?);
    Some(Steel {
        diameter: form.put("diameter", at_size, Leaf::ruled(threads.cell(size, "diameter"), &threads.source)),
        pitch: form.put("pitch", at_size, Leaf::ruled(threads.cell(size, "pitch"), &threads.source)),
        proof_stress: form.put(
            "proof_stress",
            at_class,
            Leaf::ruled(classes.cell(class, "stress"), &classes.source),
        ),
    })
}

/// The table and row of a thread. Behind `x` stands its pitch, without which it is the coarse one.
fn thread(form: &mut Form<'_, '_>) -> Option<(&'static Table, &'static [String], Span)> {
    let (text, at) = form.text("size")?;
    let size = text.replace(['×', 'X'], "x").replace(' ', "");
    let [coarse, fine] = ["iso_724_coarse", "iso_261_fine"].map(table);
    let of_its_pitch = || {
        let (nominal, pitch) = size.split_once('x')?;
        coarse.row(nominal).filter(|row| coarse.cell(row, "pitch") == format!("{pitch} mm"))
    };
    let of = |table: &'static Table, row: &'static [String]| (table, row, at);
    let found = coarse.row(&size).or_else(of_its_pitch).map(|row| of(coarse, row));
    let found = found.or_else(|| Some(of(fine, fine.row(&size)?)));
    if found.is_none() {
        let message = words!("`{}` is no metric thread that is known here", text);
        let help = words!(
            "type one of {}; of a fine thread {}",
            Words::names(coarse.keys()),
            Words::names(fine.keys())
        );
        form.report(&codes::NOT_IN_TABLE, at, message, help);
    }
    found
}

/// The row of a table that a word names; the finding is made where there is none.
pub(in crate::blocks) fn row(
    form: &mut Form<'_, '_>,
    key: &str,
    table: &'static Table,
) -> Option<(&'static [String], Span)> {
    let (text, at) = form.text(key)?;
    let found = table.row(&text);
    if found.is_none() {
        let message = words!("`{}` is not in the table of {}", text, table.source.document);
        form.report(&codes::NOT_IN_TABLE, at, message, words!("type one of {}", Words::names(table.keys())));
    }
    Some((found?, at))
}

impl Steel {
    /// ISO 724: d2 = d − 3/4 H, d3 = d − 17/12 H, H = √3/2 P, so that the mean of both is d − 13/12 H.
    pub(in crate::blocks) fn stress_area(&self, bench: &Bench<'_>) -> Area {
        let core = bench.get(self.diameter) - bench.get(self.pitch) * (13.0 * 3f64.sqrt() / 24.0);
        core * core * std::f64::consts::FRAC_PI_4
    }
}
