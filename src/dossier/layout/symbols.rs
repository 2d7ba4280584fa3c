//! The small drawn marks: verdicts that tell themselves by shape, margins, boxes to tick, the warning of high voltage.

use super::super::piece::Mark as Verdict;
use super::inline::Symbol;
use super::mark::{Area, Dash, Mark};
use super::palette::{BLACK, Colour, FAILS, MEETS, PAPER, QUIET, RULE, WARNING};

/// The marks of a symbol, from x 0, on a baseline at y 0.
pub(crate) fn draw(symbol: Symbol, size: f64, colour: Colour) -> Vec<Mark> {
    match symbol {
        Symbol::Verdict(verdict) => square(verdict, size),
        Symbol::Margin(share) => margin(share, size),
        Symbol::Blank => {
            let area = Area { left: 0.0, top: -size * 0.86, right: size * 7.0, bottom: size * 0.2 };
            vec![Mark::outline(area, 0.5, QUIET)]
        }
        Symbol::Ticked => tick(size, colour, true),
        Symbol::Unticked => tick(size, colour, false),
    }
}

/// Filled `meets`, half-filled `close`, crossed `fails`, dotted `open`.
fn square(verdict: Verdict, size: f64) -> Vec<Mark> {
    let side = size * 0.68;
    let middle = -size * 0.36;
    let left = size * 0.06;
    let area = Area { left, top: middle - side / 2.0, right: left + side, bottom: middle + side / 2.0 };
    let colour = Colour::from(verdict);
    let weight = size * 0.08;
    match verdict {
        Verdict::Meets => vec![Mark::filled(area, colour), Mark::outline(area, weight, colour)],
        Verdict::Close => {
            let lower = vec![(area.left, area.bottom), (area.right, area.bottom), (area.right, area.top)];
            vec![Mark::Shape { points: lower, colour }, Mark::outline(area, weight, colour)]
        }
        Verdict::Fails => {
            let stroke = |points| Mark::Line { points, weight: size * 0.11, colour, dash: Dash::Solid };
            vec![
                stroke(vec![(area.left, area.top), (area.right, area.bottom)]),
                stroke(vec![(area.left, area.bottom), (area.right, area.top)]),
                Mark::outline(area, weight, colour),
            ]
        }
        Verdict::Open => {
            let mut outline = Mark::outline(area, weight * 1.2, colour);
            if let Mark::Line { dash, points, .. } = &mut outline {
                *dash = Dash::Dotted;
                points.pop();
            }
            vec![outline]
        }
    }
}

/// The limit is the tick in the middle; what is in hand lies to its right, what is missed to its left.
fn margin(share: f64, size: f64) -> Vec<Mark> {
    let half = size * 2.3;
    let centre = size * 2.7;
    let middle = -size * 0.36;
    let end = centre + half * share;
    let (left, right) = (centre.min(end), centre.max(end));
    let colour = if share < 0.0 { FAILS } else { MEETS };
    let bar = Area { left, top: middle - size * 0.2, right, bottom: middle + size * 0.2 };
    let tick = vec![(centre, middle - size * 0.46), (centre, middle + size * 0.46)];
    let mut marks = vec![Mark::hairline((centre - half, middle), (centre + half, middle), RULE)];
    if right - left > 0.05 {
        marks.push(Mark::filled(bar, colour));
    }
    marks.push(Mark::Line { points: tick, weight: 0.7, colour: QUIET, dash: Dash::Solid });
    marks
}

fn tick(size: f64, colour: Colour, ticked: bool) -> Vec<Mark> {
    let side = size * 0.72;
    let area = Area { left: 0.0, top: -side, right: side, bottom: 0.0 };
    let mut marks = vec![Mark::outline(area, 0.6, colour)];
    if ticked {
        let points =
            vec![(side * 0.2, -side * 0.52), (side * 0.44, -side * 0.22), (side * 0.84, -side * 0.82)];
        marks.push(Mark::Line { points, weight: size * 0.12, colour, dash: Dash::Solid });
    }
    marks
}

/// The sign for dangerous voltage after ISO 7010 W012, our own drawing: a yellow triangle with a black band and
/// a lightning arrow. `side` is its width; the top left of its box is at 0, 0.
pub(crate) fn high_voltage(side: f64) -> Vec<Mark> {
    let height = side * 0.8660254;
    let triangle = |inset: f64, rounding: f64| {
        // Insetting the sides by `inset` moves each corner towards the centre by twice as much.
        let centre = (side / 2.0, height * 2.0 / 3.0);
        let reach = height * 2.0 / 3.0 - 2.0 * inset;
        let corner = |degrees: f64| {
            let angle = degrees.to_radians();
            (centre.0 + reach * angle.cos(), centre.1 - reach * angle.sin())
        };
        rounded(&[corner(90.0), corner(-30.0), corner(210.0)], rounding)
    };
    let bolt = [
        (0.506, 0.335),
        (0.405, 0.610),
        (0.497, 0.610),
        (0.452, 0.742),
        (0.412, 0.722),
        (0.448, 0.872),
        (0.556, 0.785),
        (0.511, 0.770),
        (0.600, 0.545),
        (0.507, 0.545),
        (0.566, 0.335),
    ];
    let points = bolt.iter().map(|(x, y)| (x * side, y * height)).collect();
    vec![
        Mark::Shape { points: triangle(0.0, side * 0.09), colour: PAPER },
        Mark::Shape { points: triangle(side * 0.012, side * 0.085), colour: BLACK },
        Mark::Shape { points: triangle(side * 0.068, side * 0.045), colour: WARNING },
        Mark::Shape { points, colour: BLACK },
    ]
}

/// A closed shape with its corners rounded, `cut` back along each side.
fn rounded(corners: &[(f64, f64)], cut: f64) -> Vec<(f64, f64)> {
    let count = corners.len();
    let towards = |from: (f64, f64), to: (f64, f64)| {
        let length = (to.0 - from.0).hypot(to.1 - from.1).max(1e-9);
        (from.0 + (to.0 - from.0) * cut / length, from.1 + (to.1 - from.1) * cut / length)
    };
    let mut points = Vec::new();
    for index in 0..count {
        let corner = corners[index];
        let begin = towards(corner, corners[(index + count - 1) % count]);
        let end = towards(corner, corners[(index + 1) % count]);
        for step in 0..=8 {
            let t = f64::from(step) / 8.0;
            let mix =
                |a: f64, b: f64, c: f64| a * (1.0 - t) * (1.0 - t) + 2.0 * b * t * (1.0 - t) + c * t * t;
            points.push((mix(begin.0, corner.0, end.0), mix(begin.1, corner.1, end.1)));
        }
    }
    points
}
