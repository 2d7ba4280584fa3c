//! A pack from pole to pole: what stands in series, what in parallel, and the voltage at its terminals.

use super::super::drawing::{Anchor, Drawing, Ink, TextSize, Weight};
use super::super::pen::{around, circle, drawing, fit, outline};
use super::super::plot::{WIDE, area, label, line, small};
use crate::model::Strings;

/// Where strings begin and end, and the terminals stand.
const LEFT: f64 = 44.0;
const RIGHT: f64 = WIDE - 44.0;
const TERMINAL: f64 = 14.0;

const TOP: f64 = 16.0;
const ROW: f64 = 26.0;
const HIGH: f64 = 16.0;

/// How many are drawn of a string, and how many strings; what is left out shows as a gap.
const UNITS: usize = 18;
const ROWS: usize = 4;

pub(in crate::dossier) fn pack(strings: &Strings) -> Drawing {
    let rows = strings.parallel.clamp(1, ROWS);
    let middle = |row: usize| TOP + ROW * row as f64 + HIGH / 2.0;
    let (first, last) = (middle(0), middle(rows - 1));
    let centre = (first + last) / 2.0;
    let mut marks = Vec::new();
    for x in [LEFT - 8.0, RIGHT + 8.0] {
        marks.push(line(&[(x, first), (x, last)], Weight::Thick, Ink::Black));
    }
    for (terminal, bus, sign) in [(TERMINAL, LEFT - 8.0, "−"), (WIDE - TERMINAL, RIGHT + 8.0, "+")] {
        marks.push(line(&[(terminal, centre), (bus, centre)], Weight::Thick, Ink::Black));
        marks.push(area(&circle((terminal, centre), 3.0), Ink::Black));
        marks.push(label(terminal, centre - 7.0, sign, Anchor::Middle));
    }
    for row in 0..rows {
        let y = middle(row);
        marks.push(line(&[(LEFT - 8.0, y), (RIGHT + 8.0, y)], Weight::Thick, Ink::Black));
        let drawn = strings.series.clamp(1, UNITS);
        let gap = strings.series > UNITS;
        let step = (RIGHT - LEFT) / drawn as f64;
        // The gap is in the middle, where the line between the poles is dotted by paper.
        for unit in (0..drawn).filter(|unit| !(gap && *unit == drawn / 2)) {
            let x = LEFT + step * (unit as f64 + 0.5);
            marks.extend(outline(&around((x, y), ((step - 3.0).min(36.0), HIGH)), Weight::Thin, Ink::Black));
        }
        if gap {
            let x = LEFT + step * (drawn / 2) as f64 + step / 2.0;
            for aside in [-4.0, 0.0, 4.0] {
                marks.push(area(&around((x + aside, y), (1.6, 4.0)), Ink::Paper));
            }
        }
    }
    let mut y = last + HIGH / 2.0 + 12.0;
    for words in [strings.words(), strings.terminals.clone()] {
        marks.push(small(WIDE / 2.0, y, &fit(&words, WIDE - 4.0, TextSize::Small), Anchor::Middle));
        y += 10.0;
    }
    let alt = format!("The pack from pole to pole: {}; {}.", strings.words(), strings.terminals);
    drawing(y - 4.0, alt, marks)
}
