//! The driveline from the wheel to the motor: each shaft with its speed and torque, each stage with ratio and loss.

use super::super::drawing::{Anchor, Drawing, Ink, Stroke, TextSize, Weight};
use super::super::pen::{against_limit, around, circle, drawing, fit, outline, width};
use super::super::plot::{WIDE, area, label, line, small};
use crate::model::{Driveline, Shaft};

/// Where the shafts turn, and where the columns of text stand.
const AXIS: f64 = 24.0;
const NAME: f64 = 56.0;
const SPEED: f64 = 160.0;
const TORQUE: f64 = 276.0;

/// From one shaft to the next.
const ROW: f64 = 48.0;
const TOP: f64 = 24.0;

pub(in crate::dossier) fn driveline(chart: &Driveline) -> Drawing {
    let shafts = &chart.shafts;
    let mut marks = vec![
        small(NAME, 10.0, "shaft, and the stage behind it", Anchor::Start),
        small(SPEED, 10.0, &fit(&format!("speed at {}", chart.at), 112.0, TextSize::Small), Anchor::Start),
    ];
    if shafts.iter().any(|shaft| shaft.torque.is_some()) {
        marks.push(small(TORQUE, 10.0, "greatest, without losses", Anchor::Start));
    }
    let bottom = TOP + ROW * shafts.len().saturating_sub(1) as f64;
    marks.push(line(&[(AXIS, TOP + 6.0), (AXIS, bottom + 6.0)], Weight::Thick, Ink::Black));
    for (number, shaft) in shafts.iter().enumerate() {
        let y = TOP + ROW * number as f64;
        marks.extend(symbol(number, shafts.len(), y + 6.0));
        marks.push(label(
            NAME,
            y + 9.0,
            &fit(&shaft.label, SPEED - NAME - 6.0, TextSize::Label),
            Anchor::Start,
        ));
        marks.extend(against_limit((SPEED, y), &shaft.speed));
        if let Some(torque) = &shaft.torque {
            marks.extend(against_limit((TORQUE, y), torque));
        }
        if let Some(stage) = &shaft.stage {
            let y = y - ROW / 2.0 + 6.0;
            marks.extend(gears(y));
            let rest = format!(" × {}, {}", stage.ratio, stage.loss);
            let room = WIDE - NAME - width(&rest, TextSize::Small);
            let words = fit(&stage.title, room, TextSize::Small) + &rest;
            marks.push(small(NAME, y + 3.5, &words, Anchor::Start));
        }
    }
    drawing(bottom + 32.0, told(chart), marks)
}

/// A wheel at the first shaft, a motor at the last.
fn symbol(number: usize, count: usize, y: f64) -> Vec<Stroke> {
    let motor = number + 1 == count && number > 0;
    let mut marks = Vec::new();
    if number == 0 {
        marks.extend(outline(&around((AXIS, y), (34.0, 14.0)), Weight::Thick, Ink::Black));
        marks.push(line(&[(AXIS - 17.0, y), (AXIS + 17.0, y)], Weight::Thin, Ink::Quiet));
    } else if motor {
        marks.extend(outline(&circle((AXIS, y), 11.0), Weight::Thick, Ink::Black));
        marks.push(label(AXIS, y + 3.2, "M", Anchor::Middle));
    } else {
        marks.push(area(&circle((AXIS, y), 2.5), Ink::Black));
    }
    marks
}

/// Two wheels that mesh.
fn gears(y: f64) -> Vec<Stroke> {
    let large = outline(&around((AXIS, y - 3.0), (28.0, 6.0)), Weight::Thin, Ink::Black);
    let little = outline(&around((AXIS, y + 3.0), (14.0, 6.0)), Weight::Thin, Ink::Black);
    large.into_iter().chain(little).collect()
}

fn told(chart: &Driveline) -> String {
    let over = |shaft: &&Shaft| {
        let values = [Some(&shaft.speed), shaft.torque.as_ref()];
        values.into_iter().flatten().any(|value| value.limit.as_ref().is_some_and(|(_, share)| *share > 1.0))
    };
    let over: Vec<&str> = chart.shafts.iter().filter(over).map(|shaft| shaft.label.as_str()).collect();
    let last = chart.shafts.last().map(|shaft| format!("; the motor turns at {}", shaft.speed.shown));
    let outcome = match over.as_slice() {
        [] => "no shaft is over a limit that was given".to_owned(),
        over => format!("over a limit: {}", over.join(", ")),
    };
    format!("Driveline from the wheel to the motor at {}: {outcome}{}.", chart.at, last.unwrap_or_default())
}
