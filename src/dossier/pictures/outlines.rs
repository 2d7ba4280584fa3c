//! A vehicle from the side and from above, by its measures, with what a rescue crew looks for at its places.

use super::super::drawing::{Anchor, Drawing, Ink, Stroke, TextSize, Weight};
use super::super::pen::{At, around, circle, dashed, outline};
use super::super::plot::{area, line, small};

/// As wide as a sheet without a log column.
const WIDE: f64 = 500.0;

/// How high both views are together, at most.
const HIGH: f64 = 230.0;

/// Where a row of numbers stands above or below a view, and how far numbers are apart.
const ROW: f64 = 32.0;
const APART: f64 = 24.0;
const RADIUS: f64 = 10.0;

/// A wheel's radius in metres: a sign for an axle, and no measure of this vehicle.
const WHEEL: f64 = 0.3;

/// What stands at a place, in metres behind the front axle, right of the middle and above the ground.
pub(in crate::dossier) struct Spot {
    pub(in crate::dossier) form: Form,
    pub(in crate::dossier) at: [f64; 3],
    /// The opposite corner, the other end.
    pub(in crate::dossier) to: Option<[f64; 3]>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::dossier) enum Form {
    /// Hatched, for what must not be cut.
    Box,
    Cable,
    Dot,
}

/// The scale of the drawing: metres to points.
struct Views {
    scale: f64,
    front: f64,
    ground: f64,
    middle: f64,
}

impl Views {
    fn side(&self, [x, _, z]: [f64; 3]) -> At {
        (self.front + x * self.scale, self.ground - z * self.scale)
    }

    /// From above with the front at the left, what is right of the middle is at the top.
    fn above(&self, [x, y, _]: [f64; 3]) -> At {
        (self.front + x * self.scale, self.middle - y * self.scale)
    }
}

/// `measures` are length, width, height and wheelbase. Spots are numbered in their order, from 1.
pub(in crate::dossier) fn outlines(measures: [f64; 4], spots: &[Spot], alt: String) -> Drawing {
    let [length, width, height, wheelbase] = measures;
    let scale = ((WIDE - 2.0 * RADIUS) / length).min(HIGH / (height + width));
    let overhang = (length - wheelbase) / 2.0;
    let ground = ROW + height * scale;
    let views = Views {
        scale,
        front: (WIDE - length * scale) / 2.0 + overhang * scale,
        ground,
        middle: ground + 24.0 + width * scale / 2.0,
    };
    let (ahead, behind) = (-overhang, length - overhang);
    let mut marks = Vec::new();
    let body = [[ahead, 0.0, height], [behind, 0.0, height], [behind, 0.0, WHEEL], [ahead, 0.0, WHEEL]];
    marks.extend(outline(&body.map(|corner| views.side(corner)), Weight::Thin, Ink::Quiet));
    let (right, left) = (width / 2.0, -width / 2.0);
    let plan = [[ahead, right, 0.0], [behind, right, 0.0], [behind, left, 0.0], [ahead, left, 0.0]];
    marks.extend(outline(&plan.map(|corner| views.above(corner)), Weight::Thin, Ink::Quiet));
    for axle in [0.0, wheelbase] {
        marks.extend(outline(
            &circle(views.side([axle, 0.0, WHEEL]), WHEEL * scale),
            Weight::Thin,
            Ink::Quiet,
        ));
        let across = [views.above([axle, right, 0.0]), views.above([axle, left, 0.0])];
        marks.push(dashed(&across, Weight::Thin, Ink::Quiet));
    }
    marks.push(line(&[(0.0, ground), (WIDE, ground)], Weight::Thin, Ink::Quiet));
    for spot in spots {
        marks.extend(drawn(spot, |point| views.side(point)));
        marks.extend(drawn(spot, |point| views.above(point)));
    }
    marks.extend(numbers(spots, RADIUS + 1.0, |point| views.side(point)));
    let below = views.middle + width * scale / 2.0 + ROW - RADIUS - 1.0;
    marks.extend(numbers(spots, below, |point| views.above(point)));
    let told = "above: from its left side; below: from the top, its right side up; the front is at the left";
    let height = below + RADIUS + 14.0;
    marks.push(small(WIDE / 2.0, height - 3.0, told, Anchor::Middle));
    Drawing { width: WIDE, height, alt, marks }
}

fn drawn(spot: &Spot, place: impl Fn([f64; 3]) -> At) -> Vec<Stroke> {
    let from = place(spot.at);
    let Some(to) = spot.to.map(place) else {
        return match spot.form {
            Form::Box => hatched(around(from, (14.0, 10.0))),
            Form::Cable | Form::Dot => vec![area(&circle(from, 3.0), Ink::Black)],
        };
    };
    match spot.form {
        Form::Box => {
            let (left, right) = (from.0.min(to.0), from.0.max(to.0));
            let (top, bottom) = (from.1.min(to.1), from.1.max(to.1));
            hatched([(left, top), (right, top), (right, bottom), (left, bottom)])
        }
        Form::Cable => vec![dashed(&[from, to], Weight::Thick, Ink::Black)],
        Form::Dot => vec![line(&[from, to], Weight::Thick, Ink::Black), area(&circle(from, 3.0), Ink::Black)],
    }
}

/// A box with strokes across it.
fn hatched(corners: [At; 4]) -> Vec<Stroke> {
    const GAP: f64 = 4.0;
    let [(left, top), _, (right, bottom), _] = corners;
    let mut marks = outline(&corners, Weight::Thick, Ink::Black).to_vec();
    let count = ((bottom - top) / GAP).ceil().clamp(1.0, 200.0) as usize;
    let rows = (1..count).map(|row| top + (bottom - top) * row as f64 / count as f64);
    marks.extend(rows.map(|y| line(&[(left, y), (right, y)], Weight::Thin, Ink::Black)));
    marks
}

/// The number of each spot in a row, with a line to its place.
fn numbers(spots: &[Spot], row: f64, place: impl Fn([f64; 3]) -> At) -> Vec<Stroke> {
    let middle = |spot: &Spot| {
        let to = spot.to.unwrap_or(spot.at);
        place([0, 1, 2].map(|axis| (spot.at[axis] + to[axis]) / 2.0))
    };
    let mut all: Vec<(f64, usize, At)> =
        spots.iter().enumerate().map(|(at, spot)| (middle(spot).0, at + 1, middle(spot))).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Moved apart to the right, then back from the edge.
    let mut next = RADIUS + 1.0;
    for one in &mut all {
        one.0 = one.0.max(next);
        next = one.0 + APART;
    }
    let mut last = WIDE - RADIUS - 1.0;
    for one in all.iter_mut().rev() {
        one.0 = one.0.min(last);
        last = one.0 - APART;
    }
    let mut marks = Vec::new();
    for (x, number, target) in all {
        let edge = if target.1 > row { row + RADIUS } else { row - RADIUS };
        marks.push(line(&[(x, edge), target], Weight::Thin, Ink::Black));
        marks.push(area(&circle(target, 1.8), Ink::Paper));
        marks.push(area(&circle(target, 1.2), Ink::Black));
        marks.extend(outline(&circle((x, row), RADIUS), Weight::Thick, Ink::Black));
        let (text, size, anchor) = (number.to_string(), TextSize::Large, Anchor::Middle);
        marks.push(Stroke::Text { x, y: row + 4.2, text, size, anchor, ink: Ink::Black });
    }
    marks
}
