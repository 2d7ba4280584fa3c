//! A vehicle from the side: what goes out, comes in and is loaded at its place, the centre of gravity before and after, and
//! what stands on each axle against its limit.

use super::super::drawing::{Anchor, Drawing, Ink, Stroke, TextSize, Weight};
use super::super::pen::{At, against_limit, around, circle, dashed, drawing, fit, width};
use super::super::plot::{WIDE, area, label, line, small};
use crate::model::{Centre, PlacedMass, Side};

/// The vehicle stands between the names of what is ahead and of what is behind, each with its sign.
const LEFT: f64 = 116.0;
const RIGHT: f64 = WIDE - LEFT;

const TOP: f64 = 22.0;
const ROW: f64 = 9.5;

/// From the vehicle to a name: its sign stands there.
const SIGN: f64 = 9.0;

/// How many are named on each side.
const NAMED: usize = 8;

/// A wheel's radius and the height of the frame in metres: signs, and no measures of this vehicle.
const WHEEL: f64 = 0.3;

/// The most that the highest of all is drawn above the ground.
const HIGH: f64 = 110.0;

/// The radius of the greatest mass.
const GREATEST: f64 = 9.0;

#[derive(Clone, Copy, PartialEq, Eq)]
enum Sign {
    Ring,
    Disc,
    Square,
}

type Placed<'a> = (&'a PlacedMass, Sign);

/// The scale of the drawing: metres to points.
struct View {
    scale: f64,
    front: f64,
    ground: f64,
}

impl View {
    fn at(&self, x: f64, z: Option<f64>) -> At {
        let z = z.unwrap_or(WHEEL).max(0.0);
        (self.front + x * self.scale, self.ground - z * self.scale)
    }
}

/// The picture and its caption.
pub(in crate::dossier) fn side(vehicle: &Side) -> (Drawing, String) {
    let groups = [(&vehicle.out, Sign::Ring), (&vehicle.r#in, Sign::Disc), (&vehicle.load, Sign::Square)];
    let mut all: Vec<Placed> =
        groups.iter().flat_map(|(masses, sign)| masses.each.iter().map(move |one| (one, *sign))).collect();
    all.sort_by(|(one, _), (other, _)| other.mass.total_cmp(&one.mass));
    let placed = || all.iter();
    let mut shown: Vec<Placed> = all.iter().take(2 * NAMED).copied().collect();
    shown.sort_by(|(one, _), (other, _)| one.x.total_cmp(&other.x));
    let (ahead, behind) = shown.split_at(shown.len() / 2);
    let more = all.len() - shown.len();
    let rows = behind.len() + usize::from(more > 0);
    let ends = [-WHEEL, vehicle.wheelbase + WHEEL];
    let (first, last) = placed()
        .map(|(one, _)| one.x)
        .chain(ends)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)));
    let centres = vehicle.centres.iter().filter_map(|centre| centre.z);
    let highest = placed().filter_map(|(one, _)| one.z).chain(centres).fold(2.0 * WHEEL, f64::max);
    let edge = GREATEST + 4.0;
    let scale = ((RIGHT - LEFT - 2.0 * edge) / (last - first)).min(HIGH / highest);
    let middle = (LEFT + RIGHT - scale * (last + first)) / 2.0;
    let ground = (TOP + edge + highest * scale).max(TOP + ROW * rows as f64 + 2.0);
    let view = View { scale, front: middle, ground };

    let mut marks = vec![line(&[(LEFT, ground), (RIGHT, ground)], Weight::Thin, Ink::Quiet)];
    marks.push(line(&[view.at(first, None), view.at(last, None)], Weight::Thin, Ink::Quiet));
    for axle in [0.0, vehicle.wheelbase] {
        let wheel = circle(view.at(axle, None), WHEEL * scale);
        marks.push(area(&wheel, Ink::Paper));
        let closed: Vec<At> = wheel.iter().chain(wheel.first()).copied().collect();
        marks.push(line(&closed, Weight::Thin, Ink::Quiet));
    }
    let greatest = placed().map(|(one, _)| one.mass.abs()).fold(f64::MIN_POSITIVE, f64::max);
    // Little ones lie on great ones, and rings on all, so that each is seen.
    let (rings, filled): (Vec<Placed>, Vec<Placed>) = placed().partition(|(_, sign)| *sign == Sign::Ring);
    for (one, sign) in filled.into_iter().chain(rings) {
        let radius = GREATEST * (one.mass.abs() / greatest).sqrt();
        marks.extend(drawn(sign, view.at(one.x, one.z), radius.max(1.6)));
    }
    let key = ["goes out", "comes in", "load"];
    let key = key.into_iter().zip(&groups).filter(|(_, (masses, _))| !masses.each.is_empty());
    for ((word, (masses, sign)), x) in key.zip([0.0, 126.0, 252.0]) {
        marks.extend(drawn(*sign, (x + 5.0, 6.0), 4.5));
        let words = fit(&format!("{word}, {}", masses.total), 126.0 - 20.0, TextSize::Label);
        marks.push(label(x + 14.0, 9.0, &words, Anchor::Start));
    }
    marks.extend(named(ahead, Anchor::End, &view));
    marks.extend(named(behind, Anchor::Start, &view));
    if more > 0 {
        let y = TOP + ROW * behind.len() as f64 + 7.0;
        let words = format!("and {more} that weigh less");
        marks.push(small(RIGHT + SIGN, y, &words, Anchor::Start));
    }
    marks.extend(centre_marks(&vehicle.centres, &view));
    let y = ground + 22.0;
    for (x, axle) in [0.0, RIGHT - 76.0].into_iter().zip(&vehicle.axles) {
        let room = WIDE / 2.0 - 12.0;
        let laden = if vehicle.load.each.is_empty() { "" } else { ", laden" };
        marks.push(small(x, y + 7.0, &format!("{}{laden}", axle.label), Anchor::Start));
        marks.extend(against_limit((x, y + 8.5), &axle.laden));
        marks.push(small(x, y + 44.0, &fit(&axle.empty, room.min(WIDE - x), TextSize::Small), Anchor::Start));
    }
    (drawing(y + 48.0, told(vehicle), marks), caption(vehicle))
}

fn drawn(sign: Sign, at: At, radius: f64) -> Vec<Stroke> {
    let ring = |corners: &[At], ink| {
        let closed: Vec<At> = corners.iter().chain(corners.first()).copied().collect();
        line(&closed, Weight::Thin, ink)
    };
    let round = circle(at, radius);
    match sign {
        Sign::Ring => vec![ring(&round, Ink::Black)],
        Sign::Disc => vec![area(&round, Ink::Accent), ring(&round, Ink::Paper)],
        Sign::Square => {
            let square = around(at, (radius * 1.77, radius * 1.77));
            vec![area(&square, Ink::Tint), ring(&square, Ink::Black)]
        }
    }
}

/// Names below each other with their signs, each with a line to its place.
fn named(all: &[Placed], anchor: Anchor, view: &View) -> Vec<Stroke> {
    let (end, sign, name) = match anchor {
        Anchor::End => (LEFT, LEFT - SIGN / 2.0, LEFT - SIGN),
        _ => (RIGHT, RIGHT + SIGN / 2.0, RIGHT + SIGN),
    };
    let from = |row: usize| (end, TOP + ROW * row as f64 + 4.5);
    let mut marks = Vec::new();
    let places: Vec<At> = all.iter().map(|(one, _)| view.at(one.x, one.z)).collect();
    for (row, number) in apart(&places, from).into_iter().enumerate() {
        let (one, its) = all[number];
        let rest = format!(" {}", one.shown);
        let room = LEFT - SIGN - width(&rest, TextSize::Small);
        let words = fit(&one.label, room, TextSize::Small) + &rest;
        marks.push(small(name, from(row).1 + 2.5, &words, anchor));
        marks.extend(drawn(its, (sign, from(row).1), 2.5));
        marks.push(line(&[from(row), places[number]], Weight::Thin, Ink::Quiet));
        marks.push(area(&circle(places[number], 1.0), Ink::Black));
    }
    marks
}

/// The order of rows in which no line from a row to its place crosses another: two that cross are longer than the two that
/// change their ends.
fn apart(places: &[At], from: impl Fn(usize) -> At) -> Vec<usize> {
    let mut order: Vec<usize> = (0..places.len()).collect();
    let far = |row: usize, number: usize| {
        let (at, to) = (from(row), places[number]);
        (at.0 - to.0).hypot(at.1 - to.1)
    };
    let mut changed = true;
    while changed {
        changed = false;
        for one in 0..order.len() {
            for other in one + 1..order.len() {
                let now = far(one, order[one]) + far(other, order[other]);
                if far(one, order[other]) + far(other, order[one]) < now - 1e-6 {
                    order.swap(one, other);
                    changed = true;
                }
            }
        }
    }
    order
}

/// The sign of a centre of gravity before and after, each with a line down to its words.
fn centre_marks(centres: &[Centre; 2], view: &View) -> Vec<Stroke> {
    let within = |centre: &Centre| {
        let (x, y) = view.at(centre.x, centre.z);
        (x.clamp(LEFT + 8.0, RIGHT - 8.0), y)
    };
    let [before, after] = [within(&centres[0]), within(&centres[1])];
    let below = view.ground + 12.0;
    let mut marks = Vec::new();
    let before_first = before.0 <= after.0;
    for (at, word, centre, first) in
        [(before, "before", &centres[0], before_first), (after, "after", &centres[1], !before_first)]
    {
        let ink = if word == "after" { Ink::Black } else { Ink::Quiet };
        marks.push(dashed(&[at, (at.0, below + 3.0)], Weight::Thin, ink));
        let ring = circle(at, 4.5);
        marks.push(area(&ring, Ink::Paper));
        let quarter = ring.len() / 4;
        for from in [0, 2 * quarter] {
            let sector: Vec<At> =
                std::iter::once(at).chain((from..=from + quarter).map(|n| ring[n])).collect();
            marks.push(area(&sector, ink));
        }
        let closed: Vec<At> = ring.iter().chain(ring.first()).copied().collect();
        marks.push(line(&closed, Weight::Thin, ink));
        let words = format!("{word} {}", centre.shown);
        let (x, room, anchor) = match first {
            true => (at.0 - 3.0, at.0 - 3.0, Anchor::End),
            false => (at.0 + 3.0, WIDE - at.0 - 3.0, Anchor::Start),
        };
        marks.push(small(x, below + 2.0, &fit(&words, room, TextSize::Small), anchor));
    }
    marks
}

fn caption(vehicle: &Side) -> String {
    let loads = if vehicle.load.each.is_empty() { "" } else { ", squares are loaded" };
    let flat = [&vehicle.out, &vehicle.r#in, &vehicle.load];
    let flat = flat.iter().flat_map(|masses| &masses.each).any(|one| one.z.is_none());
    let flat = if flat { "; what has no height stands on the frame" } else { "" };
    format!(
        "From the side, the front at the left: rings go out, discs come in{loads}; areas are as the masses{flat}. Below: the \
         centre of gravity behind the front axle, and each axle against its limit."
    )
}

fn told(vehicle: &Side) -> String {
    let axle = |number: usize| {
        let axle = &vehicle.axles[number];
        let limit = match &axle.laden.limit {
            Some((limit, share)) if *share > 1.0 => format!(", over its limit {limit}"),
            Some((limit, _)) => format!(", limit {limit}"),
            None => ", no limit given".to_owned(),
        };
        format!("{} {}{limit}", axle.label, axle.laden.shown)
    };
    let laden = if vehicle.load.each.is_empty() { "" } else { "Laden: " };
    format!(
        "The vehicle from the side: {} go out, {} come in; the centre of gravity behind the front axle is at {} before and at \
         {} after. {laden}{}; {}.",
        vehicle.out.total,
        vehicle.r#in.total,
        vehicle.centres[0].shown,
        vehicle.centres[1].shown,
        axle(0),
        axle(1)
    )
}
