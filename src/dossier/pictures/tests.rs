//! No label lies on another, leaves its picture or is crossed by a line, as the display list says.

use super::super::drawing::{Anchor, Drawing, Stroke, TextSize};
use super::super::pen::{points, width};
use super::super::piece::Mark;
use super::{Form, Spot, Stop, Symbol, There, coolant, driveline, one_line, outlines, pack, side};
use crate::model::{
    AxleLoad, Centre, Coolant, Cooled, Driveline, Gearing, Limited, Masses, Passed, PlacedMass, Shaft, Side,
    Strings,
};

/// Left, top, right, bottom.
type Frame = (f64, f64, f64, f64);

fn texts(drawing: &Drawing) -> Vec<(&str, Frame)> {
    drawing.marks.iter().filter_map(framed).collect()
}

/// A text with the frame that its letters lie in.
fn framed(stroke: &Stroke) -> Option<(&str, Frame)> {
    let Stroke::Text { x, y, text, size, anchor, .. } = stroke else { return None };
    let wide = width(text, *size);
    let left = match anchor {
        Anchor::Start => *x,
        Anchor::Middle => x - wide / 2.0,
        Anchor::End => x - wide,
    };
    let (up, down) = (0.75 * points(*size), 0.2 * points(*size));
    Some((text.as_str(), (left, y - up, left + wide, y + down)))
}

fn cross(one: Frame, other: Frame) -> bool {
    one.0 < other.2 && other.0 < one.2 && one.1 < other.3 && other.1 < one.3
}

/// Whether a straight line from point to point goes through a frame: it is cut down to what lies between its sides.
fn goes_through((from, to): ((f64, f64), (f64, f64)), frame: Frame) -> bool {
    let (mut first, mut last) = (0.0_f64, 1.0_f64);
    for (start, by, low, high) in
        [(from.0, to.0 - from.0, frame.0, frame.2), (from.1, to.1 - from.1, frame.1, frame.3)]
    {
        if by == 0.0 {
            if start <= low || start >= high {
                return false;
            }
            continue;
        }
        let (enter, leave) = ((low - start) / by, (high - start) / by);
        first = first.max(enter.min(leave));
        last = last.min(enter.max(leave));
    }
    first < last
}

#[track_caller]
fn check(drawing: &Drawing) {
    let texts = texts(drawing);
    assert!(texts.len() >= 3);
    for (at, (text, frame)) in texts.iter().enumerate() {
        let within =
            frame.0 >= 0.0 && frame.1 >= 0.0 && frame.2 <= drawing.width && frame.3 <= drawing.height;
        assert!(within, "`{text}` leaves its picture: {frame:?}");
        for (other, its) in &texts[..at] {
            assert!(!cross(*frame, *its), "`{text}` lies on `{other}`");
        }
        // The letter of a symbol stands in its ring.
        if *text == "M" {
            continue;
        }
        for stroke in &drawing.marks {
            if let Stroke::Line { points, .. } = stroke {
                let crossed = points.windows(2).any(|pair| goes_through((pair[0], pair[1]), *frame));
                assert!(!crossed, "`{text}` is crossed by {points:?}");
            }
        }
    }
}

#[test]
fn a_line_is_found_that_crosses_a_frame() {
    let frame = (10.0, 10.0, 20.0, 14.0);
    assert!(goes_through(((0.0, 12.0), (30.0, 12.0)), frame));
    assert!(goes_through(((9.0, 9.0), (21.0, 15.0)), frame));
    assert!(!goes_through(((0.0, 14.0), (30.0, 14.0)), frame));
    assert!(!goes_through(((0.0, 0.0), (9.0, 30.0)), frame));
    assert!(!goes_through(((0.0, 12.0), (9.0, 12.0)), frame));
}

fn stage(title: &str) -> Option<Gearing> {
    Some(Gearing { title: title.to_owned(), ratio: "4.10".to_owned(), loss: "loses 4.5\u{a0}%".to_owned() })
}

fn limited(shown: &str, limit: Option<(&str, f64)>) -> Limited {
    Limited { shown: shown.to_owned(), limit: limit.map(|(text, share)| (text.to_owned(), share)) }
}

fn shaft(label: &str, speed: Limited, torque: Option<Limited>) -> Shaft {
    Shaft { label: label.to_owned(), speed, torque, stage: stage(label) }
}

/// A chain of so many stages, with words as long as an author likes.
fn chain(stages: usize, words: &str) -> Driveline {
    let mut shafts = vec![shaft("wheel", limited("1\u{a0}114\u{a0}rpm", None), None)];
    shafts[0].stage = None;
    for number in 1..=stages {
        let share = 0.2 * number as f64;
        shafts.push(shaft(
            &format!("into {words} {number}"),
            limited("109\u{a0}591 ± 1\u{a0}046\u{a0}rpm", Some(("109\u{a0}000\u{a0}rpm", share))),
            Some(limited("13\u{a0}155.0\u{a0}N·m", Some(("13\u{a0}190\u{a0}N·m", 3.0 - share)))),
        ));
    }
    Driveline { shafts, at: "120\u{a0}km/h".to_owned() }
}

#[test]
fn no_label_of_a_driveline_lies_on_another() {
    for stages in [1, 3, 7] {
        for words in
            ["axle", "the lower gears of the transfer case in which it climbs, and which nobody uses"]
        {
            check(&driveline(&chain(stages, words)));
        }
    }
}

#[test]
fn a_shaft_over_its_limit_is_told_in_words() {
    let drawing = driveline(&chain(7, "axle"));
    let words: Vec<&str> = texts(&drawing).into_iter().map(|(text, _)| text).collect();
    assert_eq!(words.iter().filter(|text| text.starts_with("over its limit ")).count(), 2 + 7);
    assert!(drawing.alt.contains("over a limit: into axle 1"), "{}", drawing.alt);
}

const SYMBOLS: [Symbol; 9] = [
    Symbol::Cells,
    Symbol::Fuse,
    Symbol::Contactor,
    Symbol::Resistor,
    Symbol::Earth,
    Symbol::Converter,
    Symbol::Cable,
    Symbol::Inverter,
    Symbol::Motor,
];

fn stops(figures: usize) -> Vec<Stop> {
    let verdicts = [None, Some(Mark::Meets), Some(Mark::Close), Some(Mark::Open), Some(Mark::Fails)];
    let figure = |number| format!("current that it carries without end in summer {number}60\u{a0}A");
    let stop = |(number, symbol): (usize, &Symbol)| Stop {
        symbol: *symbol,
        name: format!("A part whose name is as long as its author liked it to be, {number}, which is long"),
        figures: (0..figures).map(figure).collect(),
        verdict: verdicts[number % verdicts.len()],
        faults: (0..number % 4).map(figure).collect(),
        there: if number % 3 == 1 { There::Missing } else { There::Yes },
    };
    SYMBOLS.iter().enumerate().map(stop).collect()
}

#[test]
fn no_label_of_a_circuit_lies_on_another() {
    for figures in [0, 1, 2, 9] {
        check(&one_line(&stops(figures)));
    }
}

#[test]
fn what_fails_and_what_is_missing_is_told_in_words() {
    let mut stops = stops(1);
    stops.truncate(5);
    for (stop, name) in stops.iter_mut().zip(["pack", "fuse", "contactors", "precharge", "isolation"]) {
        stop.name = name.to_owned();
    }
    let drawing = one_line(&stops);
    assert_eq!(
        drawing.alt,
        "The circuit in order: pack, fuse, contactors, precharge, isolation. Fails: isolation. \
         Not in this journal: fuse, isolation."
    );
    let words: Vec<&str> = texts(&drawing).into_iter().map(|(text, _)| text).collect();
    assert_eq!(words.iter().filter(|text| **text == "not in this journal").count(), 2);
    assert_eq!(words.iter().filter(|text| **text == "fails").count(), 1);
}

#[test]
fn what_does_not_fit_is_counted() {
    let parts: Vec<String> = (0..9).map(|number| format!("a figure of some length {number}")).collect();
    let told = super::super::pen::lines(&parts, &[200.0, 200.0]);
    assert_eq!(
        told,
        ["a figure of some length 0; a figure of some length 1", "a figure of some length 2; 6 more"]
    );
    assert!(told.iter().all(|line| width(line, TextSize::Small) <= 200.0));
}

/// Spots crowded at one place, spread over the vehicle, or none; of a short vehicle and of a long one.
#[test]
fn no_number_of_a_rescue_sheet_lies_on_another() {
    for measures in [[2.4, 1.3, 1.5, 1.7], [3.9, 1.6, 1.9, 2.2], [6.8, 2.3, 3.1, 4.3]] {
        for (count, step) in [
            (1, 0.0),
            (6, 0.0),
            (15, 0.02),
            (15, 0.25),
            (20, -0.4),
            (21, 0.0),
            (30, 0.1),
            (40, 0.0),
            (40, -0.3),
        ] {
            let spot = |number: usize| Spot {
                form: [Form::Box, Form::Cable, Form::Dot][number % 3],
                at: [step * number as f64, 0.3, 0.5],
                to: number.is_multiple_of(2).then_some([step * number as f64 + 0.4, -0.3, 0.8]),
            };
            let spots: Vec<Spot> = (0..count).map(spot).collect();
            let drawing = outlines((measures, 230.0), &spots, "places".to_owned());
            check(&drawing);
            let numbers = texts(&drawing).into_iter().filter(|(text, _)| text.parse::<usize>().is_ok());
            assert_eq!(numbers.count(), 2 * count, "each in both views");
        }
    }
}

/// What is right of the middle is at the top, as of a vehicle that drives to the left and is seen from above.
#[test]
fn a_place_is_where_it_is_said_to_be() {
    let spot = |at| Spot { form: Form::Dot, at, to: None };
    let drawing = outlines(
        ([4.0, 1.6, 1.8, 2.4], 230.0),
        &[spot([0.0, 0.6, 0.5]), spot([2.4, -0.6, 1.5])],
        String::new(),
    );
    // The two ends of each leader; the one at the place is behind the one at the number.
    let leaders: Vec<(f64, f64)> = drawing
        .marks
        .windows(2)
        .filter_map(|pair| match pair {
            [Stroke::Line { points, .. }, Stroke::Area { .. }] if points.len() == 2 => Some(points[1]),
            _ => None,
        })
        .collect();
    let [side_front, side_rear, top_front, top_rear] =
        leaders[leaders.len() - 4..].try_into().expect("two spots in two views");
    let wheelbase = side_rear.0 - side_front.0;
    assert!(wheelbase > 0.0 && (side_front.1 - side_rear.1 - wheelbase / 2.4).abs() < 1e-9);
    assert!((top_rear.1 - top_front.1 - 1.2 * wheelbase / 2.4).abs() < 1e-9);
    assert!((top_rear.0 - top_front.0 - wheelbase).abs() < 1e-9);
}

#[test]
fn no_label_of_a_pack_lies_on_another() {
    for (series, parallel) in
        [(1, 1), (16, 1), (96, 1), (18, 2), (19, 9), (400, 1), (1, 400), (20, 20), (400, 400)]
    {
        let strings = Strings {
            series,
            parallel,
            unit: "a module of 6 × 2 cells".to_owned(),
            terminals: "355 V nominal, 403.2 V full between the terminals".to_owned(),
        };
        let drawing = pack(&strings);
        check(&drawing);
        assert!(drawing.alt.contains(&format!("{series} in series, each a module of 6 × 2 cells")));
        assert_eq!(drawing.alt.contains("strings beside each other"), parallel > 1);
    }
}

/// So many masses from `from` on, `step` apart, with heights that repeat.
fn masses((count, from, step): (usize, f64, f64), high: Option<f64>) -> Masses {
    let one = |number: usize| PlacedMass {
        label: match number % 3 {
            0 => format!("The box behind the seats that is number {number}"),
            1 => format!("Longnameofonewordthathasnospaceinitandgoesonandonwithoutanend{number}"),
            _ => format!("{} {number}", "the control unit of the charger on its bracket ".repeat(4)),
        },
        shown: "117.3\u{a0}kg".to_owned(),
        mass: 5.0 + (number * 37 % 110) as f64,
        x: from + step * number as f64,
        z: high.map(|high| high * (1 + number % 3) as f64 / 3.0),
    };
    Masses { total: "187.4 ± 0.6\u{a0}kg".to_owned(), each: (0..count).map(one).collect() }
}

/// Crowded and spread, ahead of the axle and behind, with and without heights and load; the centre moves either way.
#[test]
fn no_label_of_a_vehicle_from_the_side_lies_on_another() {
    for (count, from, step) in [
        (0, 0.0, 0.0),
        (1, -0.8, 0.0),
        (5, 0.1, 0.02),
        (8, -0.4, 0.45),
        (12, -0.9, 0.0),
        (12, -3.0, 0.3),
        (23, 0.0, 0.2),
    ] {
        for high in [None, Some(0.4), Some(3.1)] {
            for (before, after) in [(1.0, 1.1), (1.2, 0.9), (1.0, 1.0), (-0.2, 2.6)] {
                let centre = |x: f64| Centre {
                    shown: format!("{x:.2} ± 0.01\u{a0}m, 0.56 ± 0.03\u{a0}m high"),
                    x,
                    z: high.map(|high| high / 2.0),
                };
                let axle = |label, share| AxleLoad {
                    label,
                    empty: "1\u{a0}652 ± 5\u{a0}kg before, 1\u{a0}703 ± 6\u{a0}kg after".to_owned(),
                    laden: limited("1\u{a0}769 ± 11\u{a0}kg", Some(("1\u{a0}840\u{a0}kg", share))),
                };
                let vehicle = Side {
                    wheelbase: 2.48,
                    out: masses((count, from, step), high),
                    r#in: masses((count + 2, from, step), high),
                    load: masses((count / 2, 1.2, 0.3), high),
                    centres: [centre(before), centre(after)],
                    axles: [axle("front axle", 0.9), axle("rear axle", 1.1)],
                };
                let (drawing, caption) = side(&vehicle);
                check(&drawing);
                assert_eq!(caption.contains("no height"), high.is_none(), "{caption}");
                assert!(
                    drawing.alt.contains("rear axle 1\u{a0}769 ± 11\u{a0}kg, over its limit"),
                    "{}",
                    drawing.alt
                );
                let unladen = side(&Side { load: Masses::default(), ..vehicle }).0;
                check(&unladen);
                no_leader_crosses_another(&unladen);
            }
        }
    }
}

/// The lines of one side, from a name to its place.
#[track_caller]
fn no_leader_crosses_another(drawing: &Drawing) {
    let leaders: Vec<&Vec<(f64, f64)>> = drawing
        .marks
        .windows(2)
        .filter_map(|pair| match pair {
            [Stroke::Line { points, .. }, Stroke::Area { .. }] if points.len() == 2 => Some(points),
            _ => None,
        })
        .filter(|points| points[0].0 == 116.0 || points[0].0 == drawing.width - 116.0)
        .collect();
    let side =
        |a: (f64, f64), b: (f64, f64), c: (f64, f64)| (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0);
    for (at, one) in leaders.iter().enumerate() {
        for other in leaders[..at].iter().filter(|other| other[0].0 == one[0].0) {
            let apart =
                |a: &[(f64, f64)], b: &[(f64, f64)]| side(a[0], a[1], b[0]) * side(a[0], a[1], b[1]) > -1e-6;
            assert!(apart(one, other) || apart(other, one), "{one:?} crosses {other:?}");
        }
    }
}

#[test]
fn no_label_of_a_coolant_loop_lies_on_another() {
    for count in [1, 2, 7] {
        for radiator in [
            None,
            Some([
                "110 ± 15\u{a0}W/K, air of 30\u{a0}°C",
                "so the loop settles at an inlet of 51 ± 4\u{a0}°C",
            ]),
        ] {
            let part = |number: usize| Cooled {
                label: format!("The converter under the seat that is number {number}"),
                heat: "warms it with 1.07 ± 0.05\u{a0}kW".to_owned(),
                behind: "57.3 ± 3.1\u{a0}°C".to_owned(),
                limit: [None, Some(Passed::No), Some(Passed::Yes)][number % 3]
                    .map(|passed| ("60.0 ± 0.5\u{a0}°C".to_owned(), passed)),
            };
            let circuit = Coolant {
                flow: "8.0 ± 0.8\u{a0}L/min".to_owned(),
                inlet: "55.0 ± 3.0\u{a0}°C".to_owned(),
                parts: (0..count).map(part).collect(),
                radiator: radiator.map(|lines| lines.map(str::to_owned)),
            };
            let (drawing, _) = coolant(&circuit);
            check(&drawing);
            let over = drawing.alt.matches("over its limit").count();
            assert_eq!(over, (0..count).filter(|number| number % 3 == 2).count(), "{}", drawing.alt);
        }
    }
}
