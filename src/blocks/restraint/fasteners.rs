//! The fasteners of a restraint: what one of them bears, by its size and class.

use crate::findings::codes;
use crate::model::{Bench, Form, Slot, Status};
use crate::quantities::si::{Area, Force, Length, Measure, Pressure};
use crate::rules::{Table, table};
use crate::source::Span;

pub(super) struct Fasteners {
    pub count: Slot<f64>,
    pub rows: Slot<f64>,
    diameter: Slot<Length>,
    pitch: Slot<Length>,
    proof_stress: Slot<Pressure>,
    stress_area: Slot<Area>,
    proof_load: Slot<Force>,
}

/// Reads the group and looks its size and class up.
pub(super) fn read_fasteners(form: &mut Form<'_, '_>) -> Fasteners {
    if !form.has("fasteners") {
        form.missing("fasteners");
    }
    let read = form.group("fasteners", read_group);
    let (count, rows, [diameter, pitch], proof_stress) = read.unwrap_or_else(|| {
        let unknown = (form.unknown_step("fasteners.count"), form.unknown_step("fasteners.rows"));
        let thread = [form.unknown_step("fasteners.diameter"), form.unknown_step("fasteners.pitch")];
        (unknown.0, unknown.1, thread, form.unknown_step("fasteners.proof_stress"))
    });
    let area = "pi / 4 * (fasteners.diameter - 13 * sqrt(3) / 24 * fasteners.pitch)^2";
    let stress_area = form.step("stress_area", "mm²", area);
    let proof_load = form.step("proof_load", "N", "fasteners.proof_stress * stress_area");
    Fasteners { count, rows, diameter, pitch, proof_stress, stress_area, proof_load }
}

type Group = (Slot<f64>, Slot<f64>, [Slot<Length>; 2], Slot<Pressure>);

fn read_group(form: &mut Form<'_, '_>) -> Group {
    let count = form.required_count("count");
    let at = form.place_of("rows");
    let rows = match form.count("rows") {
        Some(rows) => rows,
        None => form.assumed("rows"),
    };
    if let (Some(count), Some(rows)) = (form.literal_of(count), form.literal_of(rows)) {
        let help = "give the number of rows, two or more, that the fasteners go into evenly";
        if rows < 2.0 {
            form.report(&codes::OUT_OF_RANGE, at, "fewer than two rows hold nothing against tipping", help);
        } else if count % rows != 0.0 {
            let message = format!("{count} fasteners don't go into {rows} equal rows");
            form.report(&codes::OUT_OF_RANGE, at, message, help);
        }
    }
    let threads = table("iso_724_coarse");
    let thread = match row(form, "size", threads) {
        Some((row, at)) => ["diameter", "pitch"]
            .map(|title| form.ruled(title, threads.cell(row, title), (&threads.source, at))),
        None => ["diameter", "pitch"].map(|name| form.unknown_step(name)),
    };
    let classes = table("iso_898_1_proof_stress");
    let proof_stress = match row(form, "class", classes) {
        Some((row, at)) => form.ruled("proof_stress", classes.cell(row, "stress"), (&classes.source, at)),
        None => form.unknown_step("proof_stress"),
    };
    (count, rows, thread, proof_stress)
}

/// The row of a table that a word names; the finding is made where there is none.
fn row(form: &mut Form<'_, '_>, key: &str, table: &'static Table) -> Option<(&'static [String], Span)> {
    if !form.has(key) {
        form.missing(key);
    }
    let (text, at) = form.text(key)?;
    let found = table.row(&text);
    if found.is_none() {
        let all: Vec<String> = table.keys().map(|known| format!("`{known}`")).collect();
        let message = format!("`{text}` is not in the table of {}", table.source.document);
        form.report(&codes::NOT_IN_TABLE, at, message, format!("type one of {}", all.join(", ")));
    }
    Some((found?, at))
}

impl Fasteners {
    /// Where the proof load comes from: the class's table, or the thread's where that is known less well.
    pub(super) fn grounds(&self, form: &Form<'_, '_>) -> (String, Status) {
        form.grounds(self.proof_stress)
    }

    /// The proof load of one fastener. ISO 724: d2 = d − 3/4 H, d3 = d − 17/12 H, H = √3/2 P, so that the mean of both
    /// is d − 13/12 H.
    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) -> Force {
        let core = bench.get(self.diameter) - bench.get(self.pitch) * (13.0 * 3f64.sqrt() / 24.0);
        let area: Area = core * core * std::f64::consts::FRAC_PI_4;
        bench.set(self.stress_area, area);
        let proof_load = Force::from_si(bench.get(self.proof_stress).si() * area.si());
        bench.set(self.proof_load, proof_load);
        proof_load
    }
}
