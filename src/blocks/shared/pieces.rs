//! A motor's torque over its speed as pieces, with every corner where it lies.
//!
//! All numbers are in SI. A piece runs over the *curve speed*, the speed at which the motor's curve has that torque.

use crate::findings::codes;
use crate::model::{Bench, Slot};
use crate::quantities::{Curve, Fault, Quantity, Sort, show_quantity, sort};
use crate::words::words;

/// Torque over curve speed, straight or of constant power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::blocks) enum Shape {
    Line { at_zero: f64, slope: f64 },
    Power(f64),
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::blocks) struct Piece {
    pub(in crate::blocks) shape: Shape,
    pub(in crate::blocks) from: f64,
    pub(in crate::blocks) to: f64,
    /// The voltage is under the curve's.
    pub(in crate::blocks) sags: bool,
}

impl Shape {
    pub(in crate::blocks) fn torque(self, x: f64) -> f64 {
        match self {
            Shape::Line { at_zero, slope } => at_zero + slope * x,
            Shape::Power(power) => power / x,
        }
    }

    /// Torque × curve speed.
    pub(in crate::blocks) fn power(self, x: f64) -> f64 {
        match self {
            Shape::Line { at_zero, slope } => (at_zero + slope * x) * x,
            Shape::Power(power) => power,
        }
    }

    /// Where the torque is `level`.
    fn at_torque(self, level: f64) -> [f64; 2] {
        match self {
            Shape::Line { at_zero, slope } => [(level - at_zero) / slope, f64::NAN],
            Shape::Power(power) => [power / level, f64::NAN],
        }
    }

    /// Where the power is `level`.
    pub(in crate::blocks) fn at_power(self, level: f64) -> [f64; 2] {
        match self {
            Shape::Line { at_zero, slope } => {
                let root = (at_zero * at_zero + 4.0 * slope * level).sqrt();
                let sum = at_zero + root.copysign(if at_zero < 0.0 { -1.0 } else { 1.0 });
                [2.0 * level / sum, -sum / (2.0 * slope)]
            }
            Shape::Power(_) => [f64::NAN; 2],
        }
    }
}

/// The pieces under a torque and a power.
pub(in crate::blocks) fn capped(pieces: &[Piece], torque: f64, power: f64) -> Vec<Piece> {
    let pieces = split(
        pieces,
        |shape| shape.at_torque(torque),
        |piece, middle| match piece.shape.torque(middle) > torque {
            true => Shape::Line { at_zero: torque, slope: 0.0 },
            false => piece.shape,
        },
    );
    split(
        &pieces,
        |shape| shape.at_power(power),
        |piece, middle| if piece.shape.power(middle) > power { Shape::Power(power) } else { piece.shape },
    )
}

/// Cuts pieces where a level is crossed, and reshapes each part by what it is in its middle.
pub(in crate::blocks) fn split(
    pieces: &[Piece],
    crossings: impl Fn(Shape) -> [f64; 2],
    reshape: impl Fn(&Piece, f64) -> Shape,
) -> Vec<Piece> {
    let mut parts = Vec::with_capacity(pieces.len() + 4);
    for piece in pieces {
        let mut cuts = crossings(piece.shape);
        if cuts[1] < cuts[0] {
            cuts.swap(0, 1);
        }
        let mut from = piece.from;
        for to in cuts.into_iter().chain([piece.to]) {
            if to > from && to <= piece.to {
                let part = Piece { from, to, ..*piece };
                parts.push(Piece { shape: reshape(&part, f64::midpoint(from, to)), ..part });
                from = to;
            }
        }
    }
    parts
}

/// Why a curve is no torque over motor speed.
pub(in crate::blocks) fn curve_fault(curve: &Curve) -> Option<Fault> {
    axes_fault(curve, (&sort::ANGULAR_SPEED, &sort::TORQUE))
}

/// Why a curve is no torque over time: a motor that pulls grows hot, and never gives more for it.
pub(in crate::blocks) fn over_time_fault(curve: &Curve) -> Option<Fault> {
    axes_fault(curve, (&sort::TIME, &sort::TORQUE)).or_else(|| {
        let rising = curve.points().windows(2).find(|pair| pair[1].1 > pair[0].1)?;
        let [from, to] = [rising[0].0, rising[1].0].map(|time| show_quantity(time, &curve.x, 3));
        let message = words!("it rises between {} and {}", from, to);
        Some(Fault::new(&codes::BAD_CURVE, 0..0, message, ""))
    })
}

fn axes_fault(curve: &Curve, (x, y): (&'static Sort, &'static Sort)) -> Option<Fault> {
    let wrong = |unit, sort: &'static Sort| Quantity::in_unit(1.0, unit).expect(sort).err();
    wrong(&curve.x, x).or_else(|| wrong(&curve.y, y))
}

/// The part of a curve from standstill on; empty for what is no torque over motor speed.
pub(in crate::blocks) fn curve_pieces(bench: &Bench<'_>, slot: Slot<Curve>) -> Vec<Piece> {
    let Some((curve, scale)) = bench.curve(slot) else { return Vec::new() };
    if curve_fault(curve).is_some() || !scale.is_finite() {
        return Vec::new();
    }
    let lines = curve.points().windows(2).filter(|pair| pair[1].0 > 0.0).map(|pair| {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        let slope = scale * (y1 - y0) / (x1 - x0);
        let shape = Shape::Line { at_zero: scale * y0 - slope * x0, slope };
        Piece { shape, from: x0.max(0.0), to: x1, sags: false }
    });
    lines.collect()
}

/// Constant torque up to the corner, then constant power.
pub(in crate::blocks) fn rating_pieces(torque: Option<f64>, power: Option<f64>, last: f64) -> Vec<Piece> {
    let piece = |shape, from, to| Piece { shape, from, to, sags: false };
    let flat = |torque| Shape::Line { at_zero: torque, slope: 0.0 };
    let sound = [torque, power, Some(last)].into_iter().flatten().all(|value| value > 0.0);
    match (torque, power) {
        _ if !sound => Vec::new(),
        (Some(torque), Some(power)) if power / torque < last => {
            let corner = power / torque;
            vec![piece(flat(torque), 0.0, corner), piece(Shape::Power(power), corner, last)]
        }
        (Some(torque), _) => vec![piece(flat(torque), 0.0, last)],
        (None, Some(power)) => vec![piece(Shape::Power(power), 0.0, last)],
        (None, None) => Vec::new(),
    }
}
