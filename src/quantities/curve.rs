//! A curve: points in order, straight lines between them, and nothing outside.

use super::fault::Fault;
use super::format::show_operand;
use super::quantity::Quantity;
use super::tolerance::Tolerance;
use super::unit::Unit;
use crate::findings::codes;
use crate::words::{Words, words};

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Curve {
    /// In SI, `x` rising.
    points: Vec<(f64, f64)>,
    /// The units that its points were written in, for messages and charts.
    pub x: Unit,
    pub y: Unit,
    /// Of its scale: a tolerance of 5 % moves every point by 5 % together. Its width is a plain number.
    pub tolerance: Option<Tolerance>,
}

/// Ends are met within this part of their distance.
const SLACK: f64 = 1e-9;

impl Curve {
    /// From points in SI. Errors: `bad-curve`, without a place.
    pub(crate) fn new(points: Vec<(f64, f64)>, x: Unit, y: Unit) -> Result<Curve, Fault> {
        let fault =
            |message: Words, help: &'static str| Err(Fault::new(&codes::BAD_CURVE, 0..0, message, help));
        if points.len() < 2 {
            return fault(words!("a curve of {} points", points.len()), "give two points at least");
        }
        if points.iter().any(|(x, y)| !(x.is_finite() && y.is_finite())) {
            return fault("a curve with a point that is no finite number".into(), "check its points");
        }
        if let Some(pair) = points.windows(2).find(|pair| pair[1].0 <= pair[0].0) {
            let (first, second) = (show_operand(pair[0].0, &x, 9), show_operand(pair[1].0, &x, 9));
            return match pair[0].0 == pair[1].0 {
                true => fault(words!("a curve with two points at `{}`", first), "leave one of them out"),
                false => fault(
                    words!("a curve whose `{}` follows `{}`", second, first),
                    "put its points in rising order",
                ),
            };
        }
        Ok(Curve { points, x, y, tolerance: None })
    }

    pub(crate) fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// Reads the curve. Errors, without a place: `unit-mismatch`, `outside-curve` naming the range.
    pub(crate) fn read(&self, x: &Quantity) -> Result<Quantity, Fault> {
        x.expect_unit(&self.x)?;
        let si = self.at(x.si)?;
        Ok(Quantity { si, dimension: self.y.dimension, point: self.y.is_point() })
    }

    /// The value at `x`, both in SI. Errors, without a place: `outside-curve` naming the range.
    pub(crate) fn at(&self, x: f64) -> Result<f64, Fault> {
        let inside = self.within(x);
        inside.ok_or_else(|| {
            let show = |si: f64| show_operand(si, &self.x, 6);
            let (first, last) = self.ends();
            let message = words!(
                "`{}` is outside the curve, which runs from `{}` to `{}`",
                show(x),
                show(first),
                show(last)
            );
            let help = "add points to the curve, or stay within it";
            Fault::new(&codes::OUTSIDE_CURVE, 0..0, message, help)
        })
    }

    fn ends(&self) -> (f64, f64) {
        (self.points[0].0, self.points[self.points.len() - 1].0)
    }

    /// The value at `x`, both in SI; `None` outside.
    pub(crate) fn within(&self, x: f64) -> Option<f64> {
        let (first, last) = self.ends();
        let slack = SLACK * (last - first).max(first.abs()).max(last.abs());
        if !(x >= first - slack && x <= last + slack) {
            return None;
        }
        let x = x.clamp(first, last);
        let after = self.points.partition_point(|point| point.0 < x).clamp(1, self.points.len() - 1);
        let ((x0, y0), (x1, y1)) = (self.points[after - 1], self.points[after]);
        let part = (x - x0) / (x1 - x0);
        Some(y0 * (1.0 - part) + y1 * part)
    }
}

#[cfg(test)]
mod tests {
    use super::Curve;
    use crate::quantities::literal::read_literal;
    use crate::quantities::unit::read_unit;

    fn torque() -> Curve {
        let rpm = read_unit("rpm").expect("a unit");
        let points = [(0.0, 300.0), (3000.0, 300.0), (9000.0, 100.0)];
        let points = points.map(|(x, y)| (rpm.to_si(x), y)).to_vec();
        Curve::new(points, rpm, read_unit("N m").expect("a unit")).expect("a curve")
    }

    #[track_caller]
    fn check(at: &str) -> Result<f64, (&'static str, String)> {
        let x = read_literal(at).expect(at).quantity;
        torque()
            .read(&x)
            .map(|y| (y.si * 1e9).round() / 1e9)
            .map_err(|fault| (fault.code.name, fault.message.to_string()))
    }

    #[test]
    fn lines_between_points_and_nothing_outside() {
        assert_eq!(check("0 rpm"), Ok(300.0));
        assert_eq!(check("6 000 rpm"), Ok(200.0));
        assert_eq!(check("9 000 rpm"), Ok(100.0));
        let (code, message) = check("9 100 rpm").expect_err("outside");
        assert_eq!(code, "outside-curve");
        assert_eq!(
            message.replace('\u{a0}', " "),
            "`9 100 rpm` is outside the curve, which runs from `0 rpm` to `9 000 rpm`"
        );
        assert_eq!(check("50 Hz").expect_err("no angle").0, "angle-ambiguous");
        assert_eq!(check("50 m").expect_err("a length").0, "unit-mismatch");
    }

    #[test]
    fn points_must_rise() {
        let unit = || read_unit("m").expect("a unit");
        for points in [
            vec![],
            vec![(0.0, 1.0)],
            vec![(0.0, 1.0), (0.0, 2.0)],
            vec![(1.0, 1.0), (0.0, 2.0)],
            vec![(0.0, 1.0), (f64::NAN, 2.0)],
        ] {
            assert_eq!(Curve::new(points, unit(), unit()).expect_err("no curve").code.name, "bad-curve");
        }
    }
}
