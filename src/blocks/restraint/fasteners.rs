//! The fasteners of a restraint: what one of them bears, by its size and class.

use crate::blocks::shared::threads::{Steel, read_steel};
use crate::findings::codes;
use crate::model::{Bench, Form, Row, Slot, Taken};
use crate::quantities::si::{Area, Force, Length, Measure, Pressure};
use crate::words::words;

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

impl Fasteners {
    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) -> Option<Bears> {
        let given = self.given.as_ref()?;
        let count = bench.get(given.count);
        let in_row = count / bench.get(given.rows);
        let proof_load = given.steel.as_ref().map_or(f64::NAN, |steel| self.proof_load(steel, bench));
        Some(Bears { proof_load: Force::from_si(proof_load), count, in_row })
    }

    /// In newtons.
    fn proof_load(&self, steel: &Steel, bench: &mut Bench<'_>) -> f64 {
        let area = steel.stress_area(bench);
        bench.set(self.stress_area, area);
        let proof_load = bench.get(steel.proof_stress).si() * area.si();
        bench.set(self.proof_load, Force::from_si(proof_load));
        proof_load
    }
}
