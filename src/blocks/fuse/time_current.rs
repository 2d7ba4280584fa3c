//! A fuse's curve of time against current: straight between its points on logarithmic axes, as sheets draw it.

use crate::quantities::Curve;

/// The time (s) that a current (A) takes. At more than the last point's it is that point's time, which is longer than
/// the true one; `None` at less than the first point's, where nothing is known.
pub(super) fn time_at((curve, scale): (&Curve, f64), current: f64) -> Option<f64> {
    let points = curve.points();
    let last = points[points.len() - 1];
    if current >= last.0 {
        return Some(last.1 * scale);
    }
    let (a, b) = between(points, |point| point.0 <= current)?;
    Some(scale * along(current, (a.0, b.0), (a.1, b.1)))
}

/// What it lets through of a current (A), I²t; `None` outside the points, where it can't be told well enough.
pub(super) fn i2t_at(curve: (&Curve, f64), current: f64) -> Option<f64> {
    let last = curve.0.points()[curve.0.points().len() - 1].0;
    let time = time_at(curve, current).filter(|_| current <= last)?;
    Some(current * current * time)
}

/// The current (A) that takes a time (s). In less than the last point's time it is more than that point's current:
/// `None`, and so in more than the first point's.
pub(super) fn current_at((curve, scale): (&Curve, f64), time: f64) -> Option<f64> {
    let (time, points) = (time / scale, curve.points());
    let last = points[points.len() - 1];
    if time == last.1 {
        return Some(last.0);
    }
    let (a, b) = between(points, |point| point.1 >= time)?;
    Some(along(time, (a.1, b.1), (a.0, b.0)))
}

/// The same for a load that must not blow it: in less than the last point's time that point's current is less than the
/// true one.
pub(super) fn least_current_at((curve, scale): (&Curve, f64), time: f64) -> Option<f64> {
    let last = curve.points()[curve.points().len() - 1];
    if time <= last.1 * scale { Some(last.0) } else { current_at((curve, scale), time) }
}

/// The last point that is before, and the one behind it.
fn between(points: &[(f64, f64)], before: impl Fn(&(f64, f64)) -> bool) -> Option<((f64, f64), (f64, f64))> {
    let at = points.iter().take_while(|point| before(point)).count();
    if at == 0 || at == points.len() { None } else { Some((points[at - 1], points[at])) }
}

fn along(x: f64, (x_a, x_b): (f64, f64), (y_a, y_b): (f64, f64)) -> f64 {
    let share = (x / x_a).ln() / (x_b / x_a).ln();
    y_a * (y_b / y_a).powf(share)
}

#[cfg(test)]
mod tests {
    use super::{current_at, least_current_at, time_at};
    use crate::quantities::{Curve, read_unit};

    fn made_up() -> Curve {
        let points = vec![(400.0, 1000.0), (600.0, 60.0), (1000.0, 5.0), (2000.0, 0.25), (5000.0, 0.012)];
        let unit = |text| read_unit(text).expect("a unit");
        Curve::new(points, unit("A"), unit("s")).expect("a curve")
    }

    /// Case FUSE-loglog: values worked apart from this program, by interpolation of logarithms; the curve is made up.
    #[test]
    fn a_curve_is_read_on_logarithmic_axes() {
        let curve = made_up();
        let expected =
            [(500.0, 212.602_374), (800.0, 14.804_300_5), (1500.0, 0.866_794_695), (3000.0, 0.065_219_874_7)];
        for (current, time) in expected {
            let found = time_at((&curve, 1.0), current).expect("within the curve");
            assert!((found / time - 1.0).abs() < 1e-6, "{current} A: {found} s");
            let back = current_at((&curve, 1.0), found).expect("within the curve");
            assert!((back / current - 1.0).abs() < 1e-12, "{back} A");
        }
    }

    #[test]
    fn nothing_is_made_up_outside_the_points_that_would_flatter_the_fuse() {
        let curve = made_up();
        assert_eq!(time_at((&curve, 1.0), 399.0), None);
        assert_eq!(time_at((&curve, 1.0), 9000.0), Some(0.012));
        assert_eq!(current_at((&curve, 1.0), 0.001), None);
        assert_eq!(current_at((&curve, 1.0), 2000.0), None);
        assert_eq!(least_current_at((&curve, 1.0), 0.001), Some(5000.0));
        assert_eq!(time_at((&curve, 2.0), 600.0), Some(120.0));
    }
}
