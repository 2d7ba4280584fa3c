//! A pack's open-circuit voltage over its state of charge: what it holds by integration, and readings at shares.

use crate::blocks::shared::lists::quantities;
use crate::findings::codes;
use crate::model::{Bench, BlockName, Entry, Family, Form, Leaf, Page, Row, Slot, Taken};
use crate::quantities::si::{ElectricPotential, Measure, Ratio};
use crate::quantities::{Curve, sort};
use crate::words::{Words, words};

pub(super) static OPEN_CIRCUIT: Taken<Curve> =
    Taken::curve("cell", "open_circuit_curve", (&sort::SHARE, &sort::VOLTAGE))
        .about("if known: voltage against state of charge, from 0 % to 100 %");
pub(super) static MEAN_OPEN_CIRCUIT: Row<ElectricPotential> = Row::procedure(
    "mean_open_circuit",
    "mean open-circuit voltage of a cell",
    "V",
    "integral of the cell's open-circuit curve from 0 to 100 % state of charge, by trapezoids, which are exact for straight lines",
)
.about("over its whole charge")
.when("with the cell's `open_circuit_curve`");

/// Readings of the open-circuit curve.
static SHARES: Family = Family { name: "shares", label: "State of charge", case: "SHARE" };
pub(super) static OPEN_CIRCUIT_AT: Row<ElectricPotential> = Row::formula(
    "open_circuit_at_SHARE",
    "open-circuit voltage",
    "V",
    "series * cell.open_circuit_curve(shares.SHARE)",
)
.about("of the string at that state of charge")
.when("with the cell's `open_circuit_curve`")
.family(&SHARES);

/// The curve of a cell, voltage against state of charge, and what is read off it.
pub(super) struct OpenCircuit {
    series: Slot<f64>,
    curve: Slot<Curve>,
    /// Over the whole charge, of one cell.
    pub mean: Slot<ElectricPotential>,
    shares: Vec<(Slot<Ratio>, Slot<ElectricPotential>)>,
}

/// Ends of the charge are met within this.
const SLACK: f64 = 1e-9;

/// What a measured plateau may fall by, in share of its voltage.
const NOISE: f64 = 0.01;

impl OpenCircuit {
    /// Where the named cell has the curve.
    pub(super) fn read(
        form: &mut Form<'_, '_>,
        cell: Option<&BlockName>,
        series: Slot<f64>,
    ) -> Option<OpenCircuit> {
        if !form.lookup().has(cell, "open_circuit_curve") {
            if form.has("shares") {
                let message = "`shares` without an `open_circuit_curve` in the cell";
                let help = "type `open_circuit_curve: [[0 %, 2.5 V], …, [100 %, 4.2 V]]` in the cell";
                form.report(&codes::MISSING_FIELD, form.place, message, help);
                let _written = quantities::<Ratio>(form, "shares");
            }
            return None;
        }
        let curve = form.lookup().taken(&OPEN_CIRCUIT, cell);
        if form.node(curve).is_failed()
            && let Some(cell) = cell
        {
            let message = "the cell's `open_circuit_curve` is no voltage against state of charge";
            form.report(&codes::BAD_CURVE, cell.span, message, FORM);
        }
        let named = match form.has("shares") {
            true => quantities::<Ratio>(form, "shares"),
            false => ["20", "50", "80"].map(|share| usual_share(form, share)).into(),
        };
        let mut out = form.outcomes();
        let mean = out.procedure(&MEAN_OPEN_CIRCUIT, &[curve.index()]);
        let shares =
            named.iter().map(|share| (share.read, out.result(OPEN_CIRCUIT_AT.of(&share.case())))).collect();
        Some(OpenCircuit { series, curve, mean, shares })
    }

    /// Of one cell, in V; the readings are set too.
    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) -> ElectricPotential {
        let sound = bench.curve(self.curve).filter(|(curve, _)| fault(curve).is_none());
        let mean = sound.map_or(f64::NAN, |(curve, scale)| trapezoids(curve) * scale);
        let known = sound.map_or(f64::NAN, |_| 0.0);
        let mean = ElectricPotential::from_si(mean);
        bench.set(self.mean, mean);
        let series = bench.get(self.series);
        for (share, slot) in &self.shares {
            let read = known + bench.read_curve(self.curve, bench.get(*share).value);
            bench.set(*slot, ElectricPotential::from_si(series * read));
        }
        mean
    }

    pub(super) fn present(&self, page: &mut Page<'_>, full: Slot<ElectricPotential>) {
        let Some(curve) = page.curves[self.curve.index()].clone() else { return };
        if let Some(what) = fault(&curve) {
            let message = words!("the cell's `open_circuit_curve` {}", what);
            page.find(&codes::BAD_CURVE, self.curve.index(), message, FORM);
            return;
        }
        let ends = page.values[self.curve.index()] * curve.points()[curve.points().len() - 1].1;
        if page.get(full).is_some_and(|full| ends > full.si() * (1.0 + SLACK)) {
            let (ends, full) = (page.value_as(full, ends), page.value(full));
            let message = words!("the cell's `open_circuit_curve` ends at {}, above its full {}", ends, full);
            let help = "look at both in the cell's sheet: a full cell at rest is at most at its full voltage";
            page.find(&codes::BAD_CURVE, self.curve.index(), message, help);
        }
        if let Some(mean) = page.get(self.mean) {
            // Readings in the middle of each line, by the way that formulas read the curve.
            let lines = curve.points().windows(2);
            let again: f64 = lines
                .map(|pair| {
                    (pair[1].0 - pair[0].0) * curve.at((pair[0].0 + pair[1].0) / 2.0).unwrap_or(f64::NAN)
                })
                .sum();
            let scale = page.values[self.curve.index()];
            page.checked(self.mean, again * scale / mean.si() - 1.0, 1e-9);
        }
        for (share, slot) in &self.shares {
            if page.get(*share).is_some() && page.get(*slot).is_none() && page.get(self.series).is_some() {
                let message = words!("{} is no state of charge", page.value(*share));
                page.find(&codes::OUTSIDE_CURVE, share.index(), message, "type a share from 0 % to 100 %");
                return;
            }
        }
    }
}

/// A share that the curve is read at where the author names none.
fn usual_share(form: &mut Form<'_, '_>, share: &str) -> Entry<Slot<Ratio>> {
    let title = format!("{share} %");
    let read = form.put(&format!("shares.{share}"), form.place, Leaf::stated(&title));
    Entry { title, slug: share.to_owned(), read }
}

/// What to type.
const FORM: &str = "type it as voltage against state of charge: `[[0 %, 2.5 V], …, [100 %, 4.2 V]]`";

/// What keeps a curve from being a cell's voltage over its whole charge.
fn fault(curve: &Curve) -> Option<Words> {
    let (first, last) = (curve.points()[0].0, curve.points()[curve.points().len() - 1].0);
    if !curve.x.dimension.same(sort::RATIO.dimension) {
        return Some(words!("has its points at {}, no state of charge", curve.x.dimension.words()));
    }
    if !curve.y.dimension.same(sort::VOLTAGE.dimension) {
        return Some(words!("gives {}, no voltage", curve.y.dimension.words()));
    }
    if first.abs() > SLACK || (last - 1.0).abs() > SLACK {
        let percent = |share: f64| (share * 1e4).round() / 100.0;
        return Some(words!("runs from {} % to {} %, not from 0 % to 100 %", percent(first), percent(last)));
    }
    if curve.points().iter().any(|point| point.1 <= 0.0) {
        return Some("has a voltage of 0 or less".into());
    }
    if curve.points().windows(2).any(|pair| pair[1].1 < pair[0].1 * (1.0 - NOISE)) {
        return Some("falls where the charge rises".into());
    }
    None
}

fn trapezoids(curve: &Curve) -> f64 {
    curve.points().windows(2).map(|pair| (pair[1].0 - pair[0].0) * (pair[0].1 + pair[1].1) / 2.0).sum()
}

#[cfg(test)]
mod tests {
    use super::{fault, trapezoids};
    use crate::quantities::{Curve, read_unit};

    fn curve(points: &[(f64, f64)], x: &str, y: &str) -> Curve {
        Curve::new(points.to_vec(), read_unit(x).expect(x), read_unit(y).expect(y)).expect("a curve")
    }

    /// Ten points of a 21700 cell's open-circuit voltage, open dataset (MIT), and readings between them.
    #[test]
    fn a_measured_cell_reads_as_its_table() {
        let points = [
            (0.0, 2.5061),
            (0.0151, 2.8981),
            (0.0452, 3.1461),
            (0.0955, 3.3231),
            (0.1508, 3.4218),
            (0.2915, 3.5737),
            (0.4573, 3.7017),
            (0.8342, 4.0637),
            (0.9497, 4.1009),
            (1.0, 4.1932),
        ];
        let curve = curve(&points, "1", "V");
        for (share, volts) in [(0.1, 3.33113165), (0.3, 3.58026212), (0.6, 3.83875864), (0.9, 4.08489273)] {
            assert!((curve.at(share).expect("inside") - volts).abs() < 1e-6, "{share}");
        }
        // The area under straight lines, added up apart from the program in fractions.
        assert!((trapezoids(&curve) - 3.719719765).abs() < 1e-9, "{}", trapezoids(&curve));
        assert_eq!(fault(&curve), None);
    }

    #[test]
    fn a_curve_must_be_voltage_over_the_whole_charge() {
        let short = curve(&[(0.1, 3.0), (1.0, 4.2)], "1", "V");
        assert_eq!(
            fault(&short).map(|it| it.bare()).as_deref(),
            Some("runs from 10 % to 100 %, not from 0 % to 100 %")
        );
        assert!(
            fault(&curve(&[(0.0, 3.0), (1.0, 4.2)], "Ah", "V"))
                .is_some_and(|it| it.bare().contains("no state"))
        );
        assert!(
            fault(&curve(&[(0.0, 3.0), (1.0, 4.2)], "1", "A"))
                .is_some_and(|it| it.bare().contains("no voltage"))
        );
    }
}
