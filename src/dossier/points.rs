//! Points between two axes, each with its name beside it where there is room.

use super::drawing::{Anchor, Drawing, Ink, Stroke};
use super::plot::{Plot, WIDE, area, small};
use crate::model::PointsChart;

const HIGH: f64 = 180.0;

/// Half of a point's width.
const HALF: f64 = 2.2;

/// No character of small text in the condensed face is wider on average, and none is higher.
const CHARACTER: f64 = 4.4;
const LINE: f64 = 8.5;

/// Longer names have no room beside a point.
const LONG: usize = 44;

/// A rectangle: left, top, right, bottom.
type Box = [f64; 4];

/// A point that has no room for its name has its number, counted from 1.
pub(super) fn scattered(chart: &PointsChart) -> Drawing {
    let of = |axis: fn(&(f64, f64)) -> f64| -> Vec<f64> {
        chart.points.iter().map(|(_, at)| axis(at)).filter(|value| value.is_finite()).collect()
    };
    let (plot, mut marks) = Plot::of((&of(|at| at.0), &of(|at| at.1)), (&chart.x, &chart.y), HIGH);
    let all: Vec<Option<(f64, f64)>> = chart
        .points
        .iter()
        .map(|(_, at)| Some(plot.at(*at)).filter(|(x, y)| x.is_finite() && y.is_finite()))
        .collect();
    for (x, y) in all.iter().flatten() {
        let shape = [(*x, y - HALF), (x + HALF, *y), (*x, y + HALF), (x - HALF, *y)];
        marks.push(area(&shape, Ink::Accent));
    }
    let names: Vec<&str> = chart.points.iter().map(|(name, _)| name.as_str()).collect();
    marks.extend(named(&names, &all).into_iter().map(|(_, mark)| mark));
    Drawing { width: WIDE, height: HIGH, alt: chart.caption.clone(), marks }
}

/// The names beside their points, with the room that each takes. None touches another one or a point.
fn named(names: &[&str], points: &[Option<(f64, f64)>]) -> Vec<(Box, Stroke)> {
    let mut taken: Vec<Box> =
        points.iter().flatten().map(|(x, y)| [x - HALF, y - HALF, x + HALF, y + HALF]).collect();
    let mut set = Vec::new();
    for (at, point) in points.iter().enumerate() {
        let Some(point) = point else { continue };
        let texts = [names[at].to_owned(), (at + 1).to_string()];
        let places = texts.iter().filter(|text| text.chars().count() <= LONG);
        let places = places.flat_map(|text| around(text, *point));
        let free = |(room, _): &(Box, Stroke)| {
            room[0] >= 0.0
                && room[2] <= WIDE
                && room[1] >= 12.0
                && room[3] <= HIGH - 31.0
                && taken.iter().all(|other| apart(room, other))
        };
        if let Some((room, mark)) = { places }.find(free) {
            taken.push(room);
            set.push((room, mark));
        }
    }
    set
}

/// A text on all sides of a point.
fn around(text: &str, (x, y): (f64, f64)) -> Vec<(Box, Stroke)> {
    let wide = CHARACTER * text.chars().count() as f64;
    let beside = HALF + 2.0;
    let sides = [
        (beside, 2.5, Anchor::Start),
        (-beside, 2.5, Anchor::End),
        (0.0, -beside - 1.0, Anchor::Middle),
        (0.0, beside + 6.5, Anchor::Middle),
        (beside, -beside, Anchor::Start),
        (beside, beside + 5.5, Anchor::Start),
        (-beside, -beside, Anchor::End),
        (-beside, beside + 5.5, Anchor::End),
    ];
    let place = |(right, down, anchor): (f64, f64, Anchor)| {
        let (at, base) = (x + right, y + down);
        let left = match anchor {
            Anchor::Start => at,
            Anchor::Middle => at - 0.5 * wide,
            Anchor::End => at - wide,
        };
        ([left, base - 0.75 * LINE, left + wide, base + 0.25 * LINE], small(at, base, text, anchor))
    };
    sides.into_iter().map(place).collect()
}

fn apart(one: &Box, other: &Box) -> bool {
    one[2] <= other[0] || other[2] <= one[0] || one[3] <= other[1] || other[3] <= one[1]
}

#[cfg(test)]
mod tests {
    use super::{HIGH, apart, named};

    #[test]
    fn names_touch_neither_each_other_nor_points() {
        let mut state = 0x2545_f491_4f6c_dd1d_u64;
        let mut next = |most: f64| {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1_u64 << 53) as f64 * most
        };
        for count in 1..40 {
            let points: Vec<_> =
                (0..count).map(|_| Some((46.0 + next(256.0), 18.0 + next(HIGH - 47.0)))).collect();
            let names = vec!["quick / 2.2 / 30"; count];
            let set = named(&names, &points);
            assert!(!set.is_empty());
            for (at, (room, _)) in set.iter().enumerate() {
                assert!(set[..at].iter().all(|(other, _)| apart(room, other)));
                let free = |(x, y): &(f64, f64)| apart(room, &[*x - 1.0, *y - 1.0, x + 1.0, y + 1.0]);
                assert!(points.iter().flatten().all(free));
            }
        }
    }
}
