//! A vehicle from the side and from above, by its measures, with what a rescue crew looks for at its places.

use super::super::drawing::{Anchor, Drawing, Ink, Stroke, TextSize, Weight};
use super::super::pen::{At, around, circle, dashed, outline};
use super::super::plot::{area, line, small};

/// As wide as a sheet without a log column.
const WIDE: f64 = 500.0;

/// Where a row of numbers stands above or below a view, and how far numbers are apart.
const ROW: f64 = 32.0;
const APART: f64 = 24.0;
const RADIUS: f64 = 10.0;

/// More than these stand in two rows.
const IN_A_ROW: usize = 20;

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
    roof: f64,
    middle: f64,
    half: f64,
}

impl Views {
    fn side(&self, [x, _, z]: [f64; 3]) -> At {
        (self.along(x), (self.ground - z * self.scale).clamp(self.roof, self.ground))
    }

    /// From above with the front at the left, what is right of the middle is at the top.
    fn above(&self, [x, y, _]: [f64; 3]) -> At {
        (self.along(x), self.middle - (y * self.scale).clamp(-self.half, self.half))
    }

    /// What is said to be beyond the vehicle stands at the picture's edge: its words say where it is.
    fn along(&self, x: f64) -> f64 {
        (self.front + x * self.scale).clamp(0.0, WIDE)
    }
}

/// `measures` are length, width, height and wheelbase; both views together are no higher than `high`. Spots are numbered
/// in their order, from 1.
pub(in crate::dossier) fn outlines(
    (measures, high): ([f64; 4], f64),
    spots: &[Spot],
    alt: String,
) -> Drawing {
    let [length, width, height, wheelbase] = measures;
    let scale = ((WIDE - 2.0 * RADIUS) / length).min(high / (height + width));
    let overhang = (length - wheelbase) / 2.0;
    let second = if spots.len() > IN_A_ROW { APART } else { 0.0 };
    let ground = ROW + second + height * scale;
    let views = Views {
        scale,
        front: (WIDE - length * scale) / 2.0 + overhang * scale,
        ground,
        roof: ROW + second,
        middle: ground + 24.0 + width * scale / 2.0,
        half: width * scale / 2.0,
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
    let inner = RADIUS + 1.0 + second;
    marks.extend(numbers(spots, (inner, RADIUS + 1.0), |point| views.side(point)));
    let inner = views.middle + width * scale / 2.0 + ROW - RADIUS - 1.0;
    let below = inner + second;
    marks.extend(numbers(spots, (inner, below), |point| views.above(point)));
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

/// The number of each spot in the inner or the outer row, with a line to its place: that of the outer one passes between
/// two of the inner.
fn numbers(spots: &[Spot], (inner, outer): (f64, f64), place: impl Fn([f64; 3]) -> At) -> Vec<Stroke> {
    let middle = |spot: &Spot| {
        let to = spot.to.unwrap_or(spot.at);
        place([0, 1, 2].map(|axis| (spot.at[axis] + to[axis]) / 2.0))
    };
    let mut all: Vec<(f64, usize, At)> =
        spots.iter().enumerate().map(|(at, spot)| (middle(spot).0, at + 1, middle(spot))).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (rows, apart) = if inner == outer { (1, APART) } else { (2, APART / 2.0) };
    // Moved apart to the right, then back from the edge.
    let mut next = RADIUS + 1.0;
    for one in &mut all {
        one.0 = one.0.max(next);
        next = one.0 + apart;
    }
    let mut last = WIDE - RADIUS - 1.0;
    for one in all.iter_mut().rev() {
        one.0 = one.0.min(last);
        last = one.0 - apart;
    }
    let mut marks = Vec::new();
    for (order, (x, number, target)) in all.into_iter().enumerate() {
        let row = if order % rows == 0 { inner } else { outer };
        let towards = if target.1 > row { RADIUS } else { -RADIUS };
        let (edge, clear) = (row + towards, inner + towards);
        match row == inner {
            true => marks.push(line(&[(x, edge), target], Weight::Thin, Ink::Black)),
            false => marks.push(line(&[(x, edge), (x, clear), target], Weight::Thin, Ink::Black)),
        }
        marks.push(area(&circle(target, 1.8), Ink::Paper));
        marks.push(area(&circle(target, 1.2), Ink::Black));
        marks.extend(outline(&circle((x, row), RADIUS), Weight::Thick, Ink::Black));
        let (text, size, anchor) = (number.to_string(), TextSize::Large, Anchor::Middle);
        marks.push(Stroke::Text { x, y: row + 4.2, text, size, anchor, ink: Ink::Black });
    }
    marks
}
