//! No label lies on another, leaves its picture or is crossed by a line, as the display list says.

use super::super::drawing::{Anchor, Drawing, Stroke, TextSize};
use super::super::pen::{points, width};
use super::super::piece::Mark;
use super::{Form, Spot, Stop, Symbol, There, driveline, one_line, outlines};
use crate::model::{Driveline, Gearing, Limited, Shaft};

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
    let told = super::super::pen::lines(&parts, 200.0, 2);
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
        for (count, step) in [(1, 0.0), (6, 0.0), (15, 0.02), (15, 0.25)] {
            let spot = |number: usize| Spot {
                form: [Form::Box, Form::Cable, Form::Dot][number % 3],
                at: [step * number as f64, 0.3, 0.5],
                to: number.is_multiple_of(2).then_some([step * number as f64 + 0.4, -0.3, 0.8]),
            };
            let spots: Vec<Spot> = (0..count).map(spot).collect();
            let drawing = outlines(measures, &spots, "places".to_owned());
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
    let drawing =
        outlines([4.0, 1.6, 1.8, 2.4], &[spot([0.0, 0.6, 0.5]), spot([2.4, -0.6, 1.5])], String::new());
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
