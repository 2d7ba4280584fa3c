//! How a drive moves a vehicle: where it stops gaining speed, and how long and how far it takes.
//!
//! All numbers are in SI. Nothing here loops without a bound.

use std::sync::OnceLock;

use crate::blocks::shared::drive::Drive;
use crate::blocks::shared::pieces::Piece;

/// What holds the vehicle back at a road speed: constant + f1 v + f2 (v + wind)|v + wind|.
#[derive(Clone, Copy, Debug)]
pub(super) struct Road {
    /// Rolling and climbing, N.
    pub(super) constant: f64,
    pub(super) f1: f64,
    pub(super) f2: f64,
    pub(super) wind: f64,
}

/// Where the vehicle stops gaining speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stop {
    pub(super) speed: f64,
    pub(super) why: Why,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Why {
    /// The drive no longer gives more than the road takes.
    Balance,
    /// The drive turns no faster.
    LastSpeed,
    /// It gains no speed at all.
    NoStart,
}

/// From one road speed to a higher one.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sprint {
    pub(super) from: f64,
    pub(super) to: f64,
    /// Mass with its turning parts.
    pub(super) effective_mass: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Travel {
    pub(super) time: f64,
    pub(super) distance: f64,
}

/// How fine an integral is worked.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Mesh {
    Full,
    /// With half the points of each part: the check.
    Half,
}

impl Road {
    pub(super) fn force(&self, speed: f64) -> f64 {
        let against = speed + self.wind;
        self.constant + self.f1 * speed + self.f2 * against * against.abs()
    }

    /// The drive with a corner where a wind from behind is overtaken.
    pub(super) fn corner(&self, drive: &mut Drive) {
        if self.wind < 0.0 {
            drive.cut_at(-self.wind);
        }
    }
}

/// The first road speed from `from` on at which the drive gives no more than the road takes. The differences inside a
/// piece are looked at in `PARTS` places, and any dip between two of them is followed to its bottom.
pub(super) fn stop(drive: &Drive, road: &Road, from: f64) -> Stop {
    let surplus = |piece: &Piece, x: f64| drive.force(piece, x) - road.force(drive.speed(piece, x));
    let mut first = true;
    for piece in &drive.pieces {
        if drive.speed(piece, piece.to) <= from {
            continue;
        }
        let low = if first && from > 0.0 { drive.curve_speed(piece, from) } else { piece.from };
        if first && used_up(surplus(piece, low)) {
            return Stop { speed: from, why: Why::NoStart };
        }
        first = false;
        if let Some(x) = zero(low, piece.to, |x| surplus(piece, x)) {
            return Stop { speed: drive.speed(piece, x), why: Why::Balance };
        }
    }
    match first {
        true => Stop { speed: from, why: Why::NoStart },
        false => Stop { speed: drive.last_speed(), why: Why::LastSpeed },
    }
}

const PARTS: usize = 32;

/// No surplus is left; NaN is none.
fn used_up(surplus: f64) -> bool {
    surplus <= 0.0 || surplus.is_nan()
}

/// The first zero of what is above 0 at `low`.
fn zero(low: f64, high: f64, value: impl Fn(f64) -> f64) -> Option<f64> {
    let at = |part: usize| low + (high - low) * part as f64 / PARTS as f64;
    let mut before = [(low, f64::INFINITY); 2];
    for part in 1..=PARTS {
        let x = if part == PARTS { high } else { at(part) };
        let found = value(x);
        if used_up(found) {
            return Some(halve(before[1].0, x, &value));
        }
        if before[1].1 < before[0].1 && before[1].1 <= found {
            let bottom = lowest(before[0].0, x, &value);
            if used_up(value(bottom)) {
                return Some(halve(before[0].0, bottom, &value));
            }
        }
        before = [before[1], (x, found)];
    }
    let bottom = lowest(before[0].0, high, &value);
    used_up(value(bottom)).then(|| halve(before[0].0, bottom, &value))
}

/// Between `low`, where the value is above 0, and `high`, where it is not, to the last digit.
fn halve(mut low: f64, mut high: f64, value: impl Fn(f64) -> f64) -> f64 {
    // As many halvings as there are numbers of unlike size between two; most end after fifty.
    for _ in 0..1100 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if value(middle) > 0.0 { low = middle } else { high = middle }
    }
    low
}

/// The bottom of a dip, by the golden section, as near as comparing values can tell: the root of their rounding.
fn lowest(mut low: f64, mut high: f64, value: impl Fn(f64) -> f64) -> f64 {
    const STEPS: usize = 42;
    let golden = (5f64.sqrt() - 1.0) / 2.0;
    let (mut a, mut b) = (high - golden * (high - low), low + golden * (high - low));
    let (mut at_a, mut at_b) = (value(a), value(b));
    for _ in 0..STEPS {
        if at_a < at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - golden * (high - low);
            at_a = value(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + golden * (high - low);
            at_b = value(b);
        }
    }
    f64::midpoint(low, high)
}

/// Time and distance at full drive, as integrals over speed: dt = m dv / surplus, ds = v dt. Each piece is parted
/// towards both of its ends, where the surplus may be small, and each part worked by a Gauss-Legendre rule; the
/// mesh is fixed. NaN where the speed is not reached.
pub(super) fn travel(drive: &Drive, road: &Road, sprint: &Sprint, mesh: Mesh) -> Travel {
    let mut sum = Travel { time: 0.0, distance: 0.0 };
    let rule = gauss_legendre(mesh);
    for piece in &drive.pieces {
        let (begins, ends) = (drive.speed(piece, piece.from), drive.speed(piece, piece.to));
        if ends <= sprint.from || begins >= sprint.to {
            continue;
        }
        let low = if sprint.from > begins { drive.curve_speed(piece, sprint.from) } else { piece.from };
        let high = if sprint.to < ends { drive.curve_speed(piece, sprint.to) } else { piece.to };
        for (from, to) in parts() {
            let (from, to) = (low + (high - low) * from, low + (high - low) * to);
            let (middle, half) = (f64::midpoint(from, to), (to - from) / 2.0);
            for (node, weight) in rule {
                let x = middle + half * node;
                let speed = drive.speed(piece, x);
                let surplus = drive.force(piece, x) - road.force(speed);
                let time = half * weight * sprint.effective_mass * drive.speed_slope(piece, x) / surplus;
                sum.time += time;
                sum.distance += time * speed;
            }
        }
    }
    sum
}

/// The speed after a time without drive, and the way, by the classical Runge-Kutta rule on a fixed mesh; NaN where it
/// comes to rest.
pub(super) fn coast(road: &Road, (from, time): (f64, f64), mass: f64, mesh: Mesh) -> (f64, f64) {
    let steps = if mesh == Mesh::Full { 64 } else { 32 };
    let step = time / f64::from(steps);
    let slows = |speed: f64| -road.force(speed) / mass;
    let (mut speed, mut way) = (from, 0.0);
    for _ in 0..steps {
        let a = slows(speed);
        let b = slows(speed + step / 2.0 * a);
        let c = slows(speed + step / 2.0 * b);
        let d = slows(speed + step * c);
        // The rule for the way takes the speeds of the same four places.
        way += step * speed + step * step / 6.0 * (a + b + c);
        speed += step / 6.0 * (a + 2.0 * b + 2.0 * c + d);
    }
    if speed > 0.0 { (speed, way) } else { (f64::NAN, f64::NAN) }
}

/// How often a piece is halved towards each end.
const DEEP: usize = 20;

/// Parts of 0 to 1 that grow finer towards both ends.
pub(super) fn parts() -> impl Iterator<Item = (f64, f64)> {
    let edge = |at: usize| match at {
        0 => 0.0,
        _ => 0.5f64.powi((DEEP + 1 - at) as i32),
    };
    let up = (0..DEEP).map(move |at| (edge(at), edge(at + 1)));
    let down = (0..DEEP).rev().map(move |at| (1.0 - edge(at + 1), 1.0 - edge(at)));
    up.chain(down)
}

const POINTS: usize = 10;

/// Nodes and weights of the Gauss-Legendre rule on -1 to 1.
fn gauss_legendre(mesh: Mesh) -> &'static [(f64, f64)] {
    static FULL: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    static HALF: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    match mesh {
        Mesh::Full => FULL.get_or_init(|| rule(POINTS)),
        Mesh::Half => HALF.get_or_init(|| rule(POINTS / 2)),
    }
}

/// The zeros of the Legendre polynomial by Newton's method; the weights 2/((1 − x²) P′²).
fn rule(points: usize) -> Vec<(f64, f64)> {
    let count = points as f64;
    (0..points)
        .map(|at| {
            let mut x = (std::f64::consts::PI * (at as f64 + 0.75) / (count + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..20 {
                let (mut last, mut value) = (1.0, x);
                for degree in 2..=points {
                    let degree = degree as f64;
                    let next = ((2.0 * degree - 1.0) * x * value - (degree - 1.0) * last) / degree;
                    (last, value) = (value, next);
                }
                slope = count * (x * value - last) / (x * x - 1.0);
                x -= value / slope;
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{Mesh, Road, Sprint, Why, parts, rule, stop, travel, zero};
    use crate::blocks::shared::drive::{Caps, End, Gear, Motor, Sag};
    use crate::blocks::shared::pieces::{Piece, Shape};

    const FREE: Caps = Caps { torque: f64::INFINITY, battery: f64::INFINITY };
    const NOTHING: Road = Road { constant: 0.0, f1: 0.0, f2: 0.0, wind: 0.0 };

    fn motor(pieces: &[(Shape, f64, f64)]) -> Motor {
        Motor {
            pieces: pieces
                .iter()
                .map(|(shape, from, to)| Piece { shape: *shape, from: *from, to: *to, sags: false })
                .collect(),
            max_speed: None,
            efficiency: 1.0,
            sag: None,
            gear: Gear { force: 1.0, way: 1.0 },
            chain_limit: f64::INFINITY,
            chain_end: End::Chain,
        }
    }

    /// Force 5200 N, then power 80 kW, at the wheels.
    fn ideal() -> Motor {
        let corner = 80e3 / 5200.0;
        let flat = Shape::Line { at_zero: 5200.0, slope: 0.0 };
        motor(&[(flat, 0.0, corner), (Shape::Power(80e3), corner, 60.0)])
    }

    #[track_caller]
    fn near(found: f64, expected: f64, relative: f64) {
        assert!((found / expected - 1.0).abs() <= relative, "{found}, not {expected}");
    }

    #[test]
    fn the_rule_is_exact_for_polynomials_of_its_degree() {
        let sum: f64 = rule(10).iter().map(|(x, w)| w * x.powi(18)).sum();
        near(sum, 2.0 / 19.0, 1e-13);
        let whole: f64 = parts().map(|(from, to)| to - from).sum();
        near(whole, 1.0, 1e-15);
    }

    #[test]
    fn force_then_power_without_resistance_has_its_closed_form() {
        // t = m vb/F + m (v² − vb²)/(2 P), closed form.
        let drive = ideal().drive(FREE).expect("a drive");
        for (to, time) in [(26.8224, 10.158_855), (100.0 / 3.6, 10.713_095_4)] {
            let sprint = Sprint { from: 0.0, to, effective_mass: 1700.0 };
            near(travel(&drive, &NOTHING, &sprint, Mesh::Full).time, time, 1e-7);
        }
    }

    #[test]
    fn a_sprint_that_ends_close_below_the_top_speed_has_its_closed_form() {
        // Constant force against v² alone: t = m/√(F c) artanh(v √(c/F)), closed form.
        let drive =
            motor(&[(Shape::Line { at_zero: 900.0, slope: 0.0 }, 0.0, 100.0)]).drive(FREE).expect("a drive");
        let road = Road { f2: 0.36, ..NOTHING };
        for short in [1e-2, 1e-4, 1e-6] {
            let to = 50.0 * (1.0 - short);
            let sprint = Sprint { from: 0.0, to, effective_mass: 1000.0 };
            let time = 1000.0 / (900f64 * 0.36).sqrt() * (to / 50.0).atanh();
            near(travel(&drive, &road, &sprint, Mesh::Full).time, time, 1e-9);
        }
        let found = stop(&drive, &road, 0.0);
        assert_eq!(found.why, Why::Balance);
        near(found.speed, 50.0, 1e-14);
    }

    #[test]
    fn power_against_drag_has_its_closed_form_in_distance() {
        // x = −(m/3c) ln((1 − c v³/P)/(1 − c u³/P)) from u to v, closed form.
        let flat = Shape::Line { at_zero: 60e3, slope: 0.0 };
        let drive = motor(&[(flat, 0.0, 1.0), (Shape::Power(60e3), 1.0, 60.0)]).drive(FREE).expect("a drive");
        let road = Road { f2: 0.42, ..NOTHING };
        let left = |v: f64| 1.0 - 0.42 * v * v * v / 60e3;
        let distance = -1500.0 / (3.0 * 0.42) * (left(30.0) / left(1.0)).ln();
        let sprint = Sprint { from: 1.0, to: 30.0, effective_mass: 1500.0 };
        near(travel(&drive, &road, &sprint, Mesh::Full).distance, distance, 1e-12);
        near(stop(&drive, &road, 0.0).speed, 52.275_795_9, 1e-9);
    }

    #[test]
    fn a_sag_at_constant_power_takes_its_share_of_force_and_speed() {
        // Current 200 A at 400 V; from 380 V open and 0.1 Ω it leaves 360 V: nine tenths of speed and power.
        let mut sagging = ideal();
        sagging.sag = Some(Sag { open_voltage: 380.0, resistance: 0.1, curve_voltage: 400.0 });
        let drive = sagging.drive(FREE).expect("a drive");
        let corner = 80e3 / 5200.0 * 0.9;
        near(drive.force_at(corner), 5200.0, 1e-12);
        near(drive.force_at(30.0), 0.9 * 80e3 / 30.0, 1e-12);
        near(drive.last_speed(), 60.0, 1e-12);
        near(drive.pack_power_limit(), 72e3, 1e-12);
        let nearly = drive.force_at(corner * 1.001);
        near(nearly, 0.9 * 80e3 / (corner * 1.001), 1e-12);
        // The same work two ways: power = voltage × current at a point below the corner.
        near(drive.force_at(10.0), 5200.0, 1e-12);
    }

    #[test]
    fn a_battery_limit_beside_a_sag_ends_at_its_power() {
        let mut sagging = ideal();
        sagging.sag = Some(Sag { open_voltage: 380.0, resistance: 0.1, curve_voltage: 400.0 });
        let drive = sagging.drive(Caps { battery: 50e3, ..FREE }).expect("a drive");
        near(drive.pack_power_limit(), 50e3, 1e-12);
        near(drive.force_at(30.0), 50e3 / 30.0, 1e-12);
    }

    #[test]
    fn a_battery_too_weak_for_the_curve_is_told() {
        let mut weak = ideal();
        weak.sag = Some(Sag { open_voltage: 380.0, resistance: 1.0, curve_voltage: 400.0 });
        assert!(weak.drive(FREE).is_err());
    }

    #[test]
    fn a_dip_between_two_looks_is_not_stepped_over() {
        let middle = 0.5 + 1.0 / 64.0;
        let found = zero(0.0, 1.0, |x| (x - middle).powi(2) - 1e-8).expect("a zero");
        assert!((found - (middle - 1e-4)).abs() < 1e-12, "{found}");
        assert_eq!(zero(0.0, 1.0, |x| (x - middle).powi(2) + 1e-8), None);
    }
}
