//! The conductor of a cable: its area and its resistance for each length, by table, by gauge or by its sheet.

use crate::findings::codes;
use crate::model::{Bench, Form, Slot};
use crate::quantities::si::{Area, ElectricalResistivity, Length, Measure, Ratio, ResistancePerLength};
use crate::rules::table;
use crate::source::Span;

/// How the conductor's resistance at 20 °C is known.
pub(super) enum Conductor {
    /// A value of the table, or of the cable's sheet.
    Stated(Slot<ResistancePerLength>),
    /// Of solid copper of the gauge's area, and more for its strands.
    Gauge(Gauge),
    /// The gauge's area, with the resistance of the cable's sheet.
    Sheet(Wire, Slot<ResistancePerLength>),
}

pub(super) struct Gauge {
    wire: Wire,
    resistivity: Slot<ElectricalResistivity>,
    stranding: Slot<Ratio>,
    per_length: Slot<ResistancePerLength>,
}

/// A solid wire of a gauge.
pub(super) struct Wire {
    number: Slot<f64>,
    diameter_36: Slot<Length>,
    ratio: Slot<Ratio>,
    area: Slot<Area>,
}

/// Reads `area` or `gauge`, and `conductor_resistance`. The notes are for the reader.
pub(super) fn read_conductor(form: &mut Form<'_, '_>) -> (Conductor, Vec<String>) {
    let mut notes = Vec::new();
    if form.has("area") && form.has("gauge") {
        form.report(&codes::BAD_VALUE, form.place(), "both `area` and `gauge`", "keep one of them");
    }
    if form.has("gauge") && !form.has("area") {
        return (read_gauge(form, &mut notes), notes);
    }
    let at = form.place_of("area");
    let area = form.required::<Area>("area");
    if form.has("gauge") {
        form.text("gauge");
    }
    if let Some(slot) = form.optional("conductor_resistance") {
        return (Conductor::Stated(slot), notes);
    }
    (Conductor::Stated(tabled(form, area, at)), notes)
}

/// The table's resistance of a standard area. Between two of them nothing is made up.
fn tabled(form: &mut Form<'_, '_>, area: Slot<Area>, at: Span) -> Slot<ResistancePerLength> {
    let class_5 = table("iec_60228_class_5");
    let Some(si) = form.literal_of(area) else {
        if form.has("area") && !form.is_failed(area) {
            let message = "the area is taken from elsewhere, so its resistance can't be looked up";
            form.report(&codes::BAD_VALUE, at, message, "type the area, or give `conductor_resistance`");
        }
        return form.unknown_step("conductor_resistance");
    };
    match class_5.row_of(si) {
        Some(row) => {
            form.ruled("conductor_resistance", class_5.cell(row, "resistance"), (&class_5.source, at))
        }
        None => {
            let near = match class_5.neighbours(si) {
                (Some(below), Some(above)) => format!("its neighbours are `{below}` and `{above}`"),
                (Some(last), None) => format!("the largest one is `{last}`"),
                (None, Some(first)) => format!("the smallest one is `{first}`"),
                (None, None) => "it has no sizes".to_owned(),
            };
            let message = format!("the area is no size of {}: {near}", class_5.source.document);
            let help = "type a size of the table, or give the cable's own `conductor_resistance`";
            form.report(&codes::NOT_IN_TABLE, at, message, help);
            form.unknown_step("conductor_resistance")
        }
    }
}

fn read_gauge(form: &mut Form<'_, '_>, notes: &mut Vec<String>) -> Conductor {
    let (text, at) = form.text("gauge").unwrap_or_else(|| (String::new(), form.place()));
    let number = gauge_number(&text);
    if number.is_none() && !text.is_empty() {
        let message = format!("`{text}` is no gauge");
        let help = "type an AWG size as it is printed: `4/0` to `1/0`, or `1` to `40`";
        form.report(&codes::NOT_IN_TABLE, at, message, help);
    }
    let own = form.optional::<ResistancePerLength>("conductor_resistance");
    let Some(number) = number else {
        form.unknown_step::<Area>("area");
        let unknown = own.unwrap_or_else(|| form.unknown_step("conductor_resistance"));
        return Conductor::Stated(unknown);
    };
    if !form.has("rated_ampacity") {
        notes.extend(building_wire(&text));
    }
    let wire = Wire {
        number: form.stated("gauge_number", &number.to_string(), at),
        diameter_36: form.limit("gauge_36_diameter", "gauge_36_diameter"),
        ratio: form.limit("gauge_ratio", "gauge_ratio"),
        area: form.step(
            "area",
            "mm²",
            "pi / 4 * (gauge_36_diameter * gauge_ratio^((36 - gauge_number) / 39))^2",
        ),
    };
    if let Some(own) = own {
        return Conductor::Sheet(wire, own);
    }
    Conductor::Gauge(Gauge {
        wire,
        resistivity: form.limit("copper_resistivity", "copper_resistivity"),
        stranding: form.assumed("stranding_factor"),
        per_length: form.step("conductor_resistance", "mΩ/m", "copper_resistivity * stranding_factor / area"),
    })
}

/// What building wire of that gauge may carry, for a reader who has no sheet yet.
fn building_wire(text: &str) -> Option<String> {
    let ampacities = table("nec_310_16");
    let row = ampacities.row(text)?;
    let columns = ampacities.columns.iter().zip(row).skip(1);
    let values: Vec<String> = columns.map(|(title, cell)| format!("{cell} at {title}")).collect();
    Some(format!(
        "As building wire this gauge is rated {} of the insulation, in 30 °C ({}, {}); give the cable's own `rated_ampacity`.",
        values.join(", "),
        ampacities.source.words(),
        ampacities.source.standing.word()
    ))
}

/// `4/0` is −3, `1/0` is 0, `4` is 4. `AWG` may stand before it, and zeros may be written out: `0000`.
fn gauge_number(text: &str) -> Option<i32> {
    let text = text.trim().trim_start_matches("AWG").trim_start_matches("awg").trim();
    if let Some(zeros) = text.strip_suffix("/0") {
        return zeros.parse::<i32>().ok().filter(|zeros| (1..=4).contains(zeros)).map(|zeros| 1 - zeros);
    }
    if !text.is_empty() && text.len() <= 4 && text.chars().all(|c| c == '0') {
        return Some(1 - text.len() as i32);
    }
    let digits = !text.starts_with('0') && text.chars().all(|c| c.is_ascii_digit());
    text.parse::<i32>().ok().filter(|number| digits && (1..=40).contains(number))
}

impl Conductor {
    /// The resistance for each length at 20 °C; sets what is worked on the way.
    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) -> ResistancePerLength {
        match self {
            Conductor::Stated(slot) => bench.get(*slot),
            Conductor::Sheet(wire, slot) => {
                wire.evaluate(bench);
                bench.get(*slot)
            }
            Conductor::Gauge(gauge) => {
                let area = gauge.wire.evaluate(bench);
                let per_length = bench.get(gauge.resistivity) * bench.get(gauge.stranding) / area;
                bench.set(gauge.per_length, per_length);
                per_length
            }
        }
    }
}

impl Wire {
    fn evaluate(&self, bench: &mut Bench<'_>) -> Area {
        let steps = (36.0 - bench.get(self.number)) / 39.0;
        let diameter = bench.get(self.diameter_36) * bench.get(self.ratio).si().powf(steps);
        let area = std::f64::consts::FRAC_PI_4 * diameter * diameter;
        bench.set(self.area, area);
        area
    }
}

#[cfg(test)]
mod tests {
    use super::gauge_number;

    #[test]
    fn gauges_are_read_as_they_are_printed() {
        let read = ["4/0", "2/0", "1/0", "0", "0000", "AWG 4", "10", "40"].map(gauge_number);
        assert_eq!(read, [-3, -1, 0, 0, -3, 4, 10, 40].map(Some));
        assert_eq!(["5/0", "0/0", "41", "-3", "", "04", "70 mm2", "2.0"].map(gauge_number), [None; 8]);
    }
}
