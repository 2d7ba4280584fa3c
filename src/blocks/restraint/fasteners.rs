//! The fasteners of a restraint: what one of them bears, by its size and class.

use crate::findings::codes;
use crate::model::{Bench, Form, Leaf, Row, Slot, Taken};
use crate::quantities::si::{Area, Force, Length, Measure, Pressure};
use crate::rules::{Table, literal, table};
use crate::source::Span;
use crate::words::{Words, words};

pub(super) static STRESS_AREA: Row<Area> = Row::formula(
    "stress_area",
    "stress area of a fastener",
    "mm²",
    "pi / 4 * (fasteners.diameter - 13 * sqrt(3) / 24 * fasteners.pitch)^2",
);
pub(super) static PROOF_LOAD: Row<Force> =
    Row::formula("proof_load", "proof load of a fastener", "N", "fasteners.proof_stress * stress_area")
        .about("that it bears without lasting stretch");

/// What the size and the class stand for.
pub(super) static DIAMETER: Taken<Length> = Taken::new("", "fasteners.diameter");
pub(super) static PITCH: Taken<Length> = Taken::new("", "fasteners.pitch");
pub(super) static PROOF_STRESS: Taken<Pressure> = Taken::new("", "fasteners.proof_stress");

/// A diameter in metres between M16 and M20: the standard has other proof stresses for larger screws.
const LARGE: f64 = 0.018;

pub(super) struct Fasteners {
    /// `None` where they could not be read.
    pub given: Option<Given>,
    stress_area: Slot<Area>,
    proof_load: Slot<Force>,
}

pub(super) struct Given {
    count: Slot<f64>,
    pub rows: Slot<f64>,
    /// `None` where size or class are in no table.
    steel: Option<Steel>,
}

struct Steel {
    diameter: Slot<Length>,
    pitch: Slot<Length>,
    proof_stress: Slot<Pressure>,
}

/// What one fastener bears, and how many there are.
pub(super) struct Bears {
    pub proof_load: Force,
    pub count: f64,
    pub in_row: f64,
}

/// Reads the group and looks its size and class up.
pub(super) fn read_fasteners(form: &mut Form<'_, '_>) -> Fasteners {
    let given = form.group("fasteners", read_group);
    let mut out = form.outcomes();
    Fasteners { given, stress_area: out.result(&STRESS_AREA), proof_load: out.result(&PROOF_LOAD) }
}

fn read_group(form: &mut Form<'_, '_>) -> Given {
    let count = form.required("count");
    let at = form.place_of("rows");
    let rows: Slot<f64> = form.assumed("rows");
    if let (Some(count), Some(rows)) = (form.node(count).si(), form.node(rows).si()) {
        let help = "give the number of rows, two or more, that the fasteners go into evenly";
        if rows < 2.0 {
            form.report(&codes::OUT_OF_RANGE, at, "fewer than two rows hold nothing against tipping", help);
        } else if count % rows != 0.0 {
            let message = words!("{} fasteners don't go into {} equal rows", count, rows);
            form.report(&codes::OUT_OF_RANGE, at, message, help);
        }
    }
    Given { count, rows, steel: read_steel(form) }
}

fn read_steel(form: &mut Form<'_, '_>) -> Option<Steel> {
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
pub(super) fn row(
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

impl Fasteners {
    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) -> Option<Bears> {
        let given = self.given.as_ref()?;
        let count = bench.get(given.count);
        let in_row = count / bench.get(given.rows);
        let proof_load = given.steel.as_ref().map_or(f64::NAN, |steel| self.proof_load(steel, bench));
        Some(Bears { proof_load: Force::from_si(proof_load), count, in_row })
    }

    /// In newtons. ISO 724: d2 = d − 3/4 H, d3 = d − 17/12 H, H = √3/2 P, so that the mean of both is d − 13/12 H.
    fn proof_load(&self, steel: &Steel, bench: &mut Bench<'_>) -> f64 {
        let core = bench.get(steel.diameter) - bench.get(steel.pitch) * (13.0 * 3f64.sqrt() / 24.0);
        let area: Area = core * core * std::f64::consts::FRAC_PI_4;
        bench.set(self.stress_area, area);
        let proof_load = bench.get(steel.proof_stress).si() * area.si();
        bench.set(self.proof_load, Force::from_si(proof_load));
        proof_load
    }
}
