//! A coolant loop from the pump through the parts that warm it to the radiator, with the temperature on each way.

use super::super::drawing::{Anchor, Drawing, Ink, Stroke, TextSize, Weight};
use super::super::pen::{At, around, circle, dashed, drawing, fit, outline};
use super::super::plot::{WIDE, area, label, line, small};
use crate::model::{Coolant, Cooled, Passed};

/// Where the coolant goes down, and where it comes back.
const DOWN: f64 = 48.0;
const BACK: f64 = 14.0;

/// Where the columns of text stand.
const NAME: f64 = 72.0;
const FIGURES: f64 = 176.0;
const LIMIT: f64 = 256.0;

const TOP: f64 = 14.0;
const ROW: f64 = 15.0;

/// The picture and its caption.
pub(in crate::dossier) fn coolant(circuit: &Coolant) -> (Drawing, String) {
    let bottom = TOP + ROW * (2.0 + 2.0 * circuit.parts.len() as f64);
    let way = [(DOWN, TOP), (DOWN, bottom), (BACK, bottom), (BACK, TOP), (DOWN, TOP)];
    let mut marks = vec![line(&way, Weight::Thick, Ink::Black)];
    marks.extend(outline(&circle((DOWN, TOP), 9.0), Weight::Thick, Ink::Black));
    marks.push(area(&[(DOWN - 5.0, TOP - 4.0), (DOWN + 5.0, TOP - 4.0), (DOWN, TOP + 6.0)], Ink::Black));
    marks.extend(words(TOP, "Pump", &circuit.flow));
    marks.extend(temperature(TOP + ROW, "at the inlet", &circuit.inlet));
    for (number, part) in circuit.parts.iter().enumerate() {
        let y = TOP + ROW * (2.0 + 2.0 * number as f64);
        marks.extend(outline(&around((DOWN, y), (26.0, 14.0)), Weight::Thick, Ink::Black));
        marks.extend(words(y, &part.label, &part.heat));
        marks.extend(temperature(y + ROW, "behind it", &part.behind));
        if let Some((limit, passed)) = &part.limit {
            let (ink, word) = match passed {
                Passed::Yes => (Ink::Fails, "over its limit"),
                Passed::No => (Ink::Black, "limit"),
            };
            let text = fit(&format!("{word} {limit}"), WIDE - LIMIT, TextSize::Small);
            let (x, y, size, anchor) = (LIMIT, y + ROW + 3.0, TextSize::Small, Anchor::Start);
            marks.push(Stroke::Text { x, y, text, size, anchor, ink });
        }
    }
    let corners = around((DOWN, bottom), (40.0, 14.0));
    match &circuit.radiator {
        Some([figures, settles]) => {
            marks.extend(outline(&corners, Weight::Thick, Ink::Black));
            let fins = (1..8).map(|fin| corners[0].0 + 5.0 * f64::from(fin));
            marks.extend(
                fins.map(|x| line(&[(x, bottom - 7.0), (x, bottom + 7.0)], Weight::Thin, Ink::Black)),
            );
            marks.extend(words(bottom, "Radiator", figures));
            let settles = fit(settles, WIDE - FIGURES, TextSize::Small);
            marks.push(small(FIGURES, bottom + 12.5, &settles, Anchor::Start));
        }
        None => {
            let edge: Vec<At> = corners.iter().chain(corners.first()).copied().collect();
            marks.extend([area(&corners, Ink::Paper), dashed(&edge, Weight::Thin, Ink::Black)]);
            marks.extend(words(bottom, "Radiator", "it or the air that meets it is not given"));
        }
    }
    let inlet = match circuit.radiator {
        Some(_) => " The inlet is the warmer of the one given and the one where it settles.",
        None => "",
    };
    let caption = format!("The coolant's way through the parts, and how warm it is behind each.{inlet}");
    (drawing(bottom + 16.0, told(circuit), marks), caption)
}

/// The name of what stands on the line, and its figures.
fn words(y: f64, name: &str, figures: &str) -> [Stroke; 2] {
    let name = fit(name, FIGURES - NAME - 6.0, TextSize::Label);
    let figures = fit(figures, WIDE - FIGURES, TextSize::Small);
    [label(NAME, y + 3.2, &name, Anchor::Start), small(FIGURES, y + 3.0, &figures, Anchor::Start)]
}

/// The coolant's temperature on the way between two parts.
fn temperature(y: f64, place: &str, shown: &str) -> Vec<Stroke> {
    let text = fit(shown, LIMIT - FIGURES - 6.0, TextSize::Label);
    let [place, text] =
        [small(NAME, y + 3.0, place, Anchor::Start), label(FIGURES, y + 3.2, &text, Anchor::Start)];
    let flows = area(&[(DOWN - 3.5, y - 3.0), (DOWN + 3.5, y - 3.0), (DOWN, y + 4.0)], Ink::Black);
    vec![place, text, flows]
}

fn told(circuit: &Coolant) -> String {
    let part = |part: &Cooled| {
        let limit = match &part.limit {
            Some((limit, Passed::Yes)) => format!(", over its limit {limit}"),
            Some((limit, Passed::No)) => format!(", limit {limit}"),
            None => ", without a limit".to_owned(),
        };
        format!("{} behind {}{limit}", part.behind, part.label)
    };
    let parts: Vec<String> = circuit.parts.iter().map(part).collect();
    format!("The coolant is at {} at the inlet; {}.", circuit.inlet, parts.join("; "))
}
