//! The conductor of a cable: its area and its resistance for each length, by table, by gauge or by its sheet.

use crate::findings::codes;
use crate::model::{Bench, Form, Leaf, Row, Slot, Taken};
use crate::quantities::si::{Area, ElectricalResistivity, Length, Measure, Ratio, ResistancePerLength};
use crate::rules::table;
use crate::source::Span;
use crate::words::{Words, words};

/// How the conductor's resistance at 20 °C is known.
pub(super) enum Conductor {
    /// A value of the table, or of the cable's sheet, for an area where that is known.
    Stated(Option<Slot<Area>>, Slot<ResistancePerLength>),
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

pub(super) static AREA: Row<Area> = Row::formula(
    "area",
    "area of one conductor",
    "mm²",
    "pi / 4 * (gauge_36_diameter * gauge_ratio^((36 - gauge_number) / 39))^2",
)
.when("with `gauge`");
pub(super) static CONDUCTOR_RESISTANCE: Row<ResistancePerLength> = Row::formula(
    "conductor_resistance",
    "resistance of one conductor for its length",
    "mΩ/m",
    "copper_resistivity * stranding_factor / area",
)
.about("at 20 °C")
.when("with `gauge`");

/// The number that a gauge's name stands for.
pub(super) static GAUGE_NUMBER: Taken<f64> = Taken::new("", "gauge_number");

/// Reads `area` or `gauge`, and `conductor_resistance`. The note is for the reader.
pub(super) fn read_conductor(form: &mut Form<'_, '_>) -> (Conductor, Option<Words>) {
    if form.one_of(&["area", "gauge"]) == Some("gauge") {
        return read_gauge(form);
    }
    let at = form.place_of("area");
    let area = form.optional::<Area>("area");
    let resistance = match (form.optional("conductor_resistance"), area) {
        (Some(own), _) => own,
        (None, Some(area)) => tabled(form, area, at),
        (None, None) => form.outcomes().unknown(&CONDUCTOR_RESISTANCE),
    };
    (Conductor::Stated(area, resistance), None)
}

/// The table's resistance of a standard area. Between two of them nothing is made up.
fn tabled(form: &mut Form<'_, '_>, area: Slot<Area>, at: Span) -> Slot<ResistancePerLength> {
    let class_5 = table("iec_60228_class_5");
    let Some(si) = form.node(area).si() else {
        if !form.node(area).is_failed() {
            let message = "the area is taken from elsewhere, so its resistance can't be looked up";
            form.report(&codes::BAD_VALUE, at, message, "type the area, or give `conductor_resistance`");
        }
        return form.outcomes().unknown(&CONDUCTOR_RESISTANCE);
    };
    if let Some(row) = class_5.row_of(si) {
        return form.put(
            "conductor_resistance",
            at,
            Leaf::ruled(class_5.cell(row, "resistance"), &class_5.source),
        );
    }
    let near = match class_5.neighbours(si) {
        (Some(below), Some(above)) => words!("its neighbours are `{}` and `{}`", below, above),
        (Some(last), None) => words!("the largest one is `{}`", last),
        (None, Some(first)) => words!("the smallest one is `{}`", first),
        (None, None) => "it has no sizes".into(),
    };
    let message = words!("the area is no size of {}: {}", class_5.source.document, near);
    let help = "type a size of the table, or give the cable's own `conductor_resistance`";
    form.report(&codes::NOT_IN_TABLE, at, message, help);
    form.outcomes().unknown(&CONDUCTOR_RESISTANCE)
}

fn read_gauge(form: &mut Form<'_, '_>) -> (Conductor, Option<Words>) {
    let (text, at) = form.text("gauge").unwrap_or_else(|| (String::new(), form.place));
    let own = form.optional::<ResistancePerLength>("conductor_resistance");
    let Some(number) = gauge_number(&text) else {
        if !text.is_empty() {
            let help = "type an AWG size as it is printed: `4/0` to `1/0`, or `1` to `40`";
            form.report(&codes::NOT_IN_TABLE, at, words!("`{}` is no gauge", text), help);
        }
        let mut out = form.outcomes();
        out.unknown(&AREA);
        return (Conductor::Stated(None, own.unwrap_or_else(|| out.unknown(&CONDUCTOR_RESISTANCE))), None);
    };
    let note = if form.has("ampacity_rating") { None } else { published(&text) };
    let wire = Wire {
        number: form.put("gauge_number", at, Leaf::stated(&number.to_string())),
        diameter_36: form.limit("gauge_36_diameter", "gauge_36_diameter"),
        ratio: form.limit("gauge_ratio", "gauge_ratio"),
        area: form.outcomes().result(&AREA),
    };
    if let Some(own) = own {
        return (Conductor::Sheet(wire, own), note);
    }
    let gauge = Gauge {
        wire,
        resistivity: form.limit("copper_resistivity", "copper_resistivity"),
        stranding: form.assumed("stranding_factor"),
        per_length: form.outcomes().result(&CONDUCTOR_RESISTANCE),
    };
    (Conductor::Gauge(gauge), note)
}

/// What published tables let that gauge carry, for a reader who has no sheet yet. They differ by half: which one holds
/// is for the cable's maker to say.
fn published(text: &str) -> Option<Words> {
    let told = ["nec_310_16", "nec_400_5"].into_iter().filter_map(|name| {
        let ampacities = table(name);
        let columns = ampacities.columns.iter().zip(ampacities.row(text)?).skip(1);
        let values: Vec<String> = columns.map(|(title, cell)| format!("{cell} ({title})")).collect();
        let source = &ampacities.source;
        Some(words!(
            "{}: {}; {}, {}",
            source.about,
            values.join(", "),
            source.words(),
            source.standing.word()
        ))
    });
    let told: Vec<Words> = told.collect();
    if told.is_empty() {
        return None;
    }
    let told = Words::joined(told, ". ");
    Some(words!("Published ampacities of this gauge, {}. Give the cable's own `ampacity_rating`.", told))
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
    /// Of one conductor, after [`Conductor::evaluate`].
    pub(super) fn area(&self, bench: &Bench<'_>) -> Area {
        let slot = match self {
            Conductor::Stated(area, _) => *area,
            Conductor::Sheet(wire, _) => Some(wire.area),
            Conductor::Gauge(gauge) => Some(gauge.wire.area),
        };
        slot.map_or(Area::from_si(f64::NAN), |slot| bench.get(slot))
    }

    /// The resistance for each length at 20 °C; sets what is worked on the way.
    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) -> ResistancePerLength {
        match self {
            Conductor::Stated(_, slot) => bench.get(*slot),
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
    use super::{gauge_number, published};

    #[test]
    fn gauges_are_read_as_they_are_printed() {
        let read = ["4/0", "2/0", "1/0", "0", "0000", "AWG 4", "10", "40"].map(gauge_number);
        assert_eq!(read, [-3, -1, 0, 0, -3, 4, 10, 40].map(Some));
        assert_eq!(["5/0", "0/0", "41", "-3", "", "04", "70 mm2", "2.0"].map(gauge_number), [None; 8]);
    }

    /// Case CABLE-NEC400-SC: table 400.5(B) as a lighting technician's handbook prints it (second-hand), and that it is named
    /// beside the other table, which gives less.
    #[test]
    fn a_flexible_cable_carries_what_its_table_says_and_which_table_is_said() {
        let gauges = ["8", "6", "4", "2", "1/0", "2/0", "3/0", "4/0"];
        let one = [80, 105, 140, 190, 260, 300, 350, 405];
        let two = [74, 99, 130, 174, 234, 271, 313, 361];
        for (gauge, (one, two)) in gauges.into_iter().zip(one.into_iter().zip(two)) {
            let told = published(gauge).expect("a gauge of the table").to_string();
            let row = format!("{one} A (one conductor), {two} A (two conductors)");
            assert!(
                told.contains(&row) && told.contains("400.5(B)") && told.contains("second-hand"),
                "{told}"
            );
        }
        assert!(published("4/0").expect("of both").to_string().contains("260 A (90 °C)"));
    }
}
