//! The high-voltage circuit on one line, from the pack to the motor: what each part is rated for, and what fails.

use super::super::drawing::{Anchor, Drawing, Ink, Stroke, TextSize, Weight};
use super::super::pen::{At, VERDICT, around, circle, dashed, drawing, fit, lines, outline, verdict, width};
use super::super::piece::Mark;
use super::super::plot::{WIDE, area, label, line, small};

/// What stands on the line, or hangs from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::dossier) enum Symbol {
    Cells,
    Fuse,
    Contactor,
    Cable,
    Inverter,
    Motor,
    Resistor,
    Converter,
    Earth,
}

/// One part of the circuit.
#[derive(Clone, Debug)]
pub(in crate::dossier) struct Stop {
    pub(in crate::dossier) symbol: Symbol,
    pub(in crate::dossier) name: String,
    /// What it is rated for, and what was read of it.
    pub(in crate::dossier) figures: Vec<String>,
    pub(in crate::dossier) verdict: Option<Mark>,
    /// What it fails by.
    pub(in crate::dossier) faults: Vec<String>,
    pub(in crate::dossier) there: There,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::dossier) enum There {
    Yes,
    /// A circuit has such a part, and the journal tells of none.
    Missing,
}

/// Where the line runs, where branches end, and where texts begin.
const LINE: f64 = 26.0;
const BRANCH: f64 = 60.0;
const TEXT: f64 = 80.0;

const HEAD: f64 = 10.5;
const SMALL: f64 = 9.0;
const APART: f64 = 3.5;

/// Between a name and the figures behind it.
const AFTER_NAME: f64 = 7.0;

pub(in crate::dossier) fn one_line(stops: &[Stop]) -> Drawing {
    let mut marks = Vec::new();
    let mut y = 6.0;
    let mut on_line = Vec::new();
    for stop in stops {
        let room = WIDE - TEXT;
        let name = fit(&stop.name, room - VERDICT - 8.0, TextSize::Label);
        let named = width(&name, TextSize::Label) + AFTER_NAME;
        // Behind the name as far as they have room there.
        let behind = room - named - VERDICT - 8.0;
        let missing = ["not in this journal".to_owned()];
        let told = if stop.there == There::Missing { &missing[..] } else { &stop.figures };
        let begins = told.first().is_some_and(|first| width(first, TextSize::Small) <= behind);
        let rooms = if begins { vec![behind, room] } else { vec![room] };
        let mut figures = lines(told, &rooms);
        let faults = lines(&stop.faults, &[room, room]);
        if begins {
            marks.push(small(TEXT + named, y + 9.0, &figures.remove(0), Anchor::Start));
        }
        let high = (HEAD + SMALL * (figures.len() + faults.len()) as f64).max(19.0);
        let middle = y + 9.0;
        on_line.push(middle);
        marks.extend(symbol(stop, middle));
        marks.push(label(TEXT, y + 9.0, &name, Anchor::Start));
        if let Some(mark) = stop.verdict {
            marks.extend(verdict((WIDE - VERDICT, y + 9.0), mark));
        }
        let mut below = y + 9.0 + SMALL;
        for figure in &figures {
            marks.push(small(TEXT, below, figure, Anchor::Start));
            below += SMALL;
        }
        for fault in faults {
            let (x, y, text, size, anchor) = (TEXT, below, fault, TextSize::Small, Anchor::Start);
            marks.push(Stroke::Text { x, y, text, size, anchor, ink: Ink::Fails });
            below += SMALL;
        }
        y += high + APART;
    }
    if let (Some(first), Some(last)) = (on_line.first(), on_line.last()) {
        marks.insert(0, line(&[(LINE, *first), (LINE, *last)], Weight::Thick, Ink::Black));
    }
    drawing(y, told(stops), marks)
}

impl Symbol {
    /// Whether the current to the motor goes through it.
    fn carries(self) -> bool {
        !matches!(self, Symbol::Resistor | Symbol::Converter | Symbol::Earth)
    }
}

fn symbol(stop: &Stop, y: f64) -> Vec<Stroke> {
    let at = (if stop.symbol.carries() { LINE } else { BRANCH }, y);
    let mut marks = Vec::new();
    if !stop.symbol.carries() {
        marks.push(line(&[(LINE, y), at], Weight::Thin, Ink::Black));
        marks.push(area(&circle((LINE, y), 2.0), Ink::Black));
    }
    if stop.there == There::Missing {
        let corners = around(at, (20.0, 16.0));
        let edge: Vec<At> = corners.iter().chain(corners.first()).copied().collect();
        marks.extend([area(&corners, Ink::Paper), dashed(&edge, Weight::Thin, Ink::Black)]);
        return marks;
    }
    let ink = if stop.verdict == Some(Mark::Fails) { Ink::Fails } else { Ink::Black };
    marks.extend(drawn(stop.symbol, at, ink));
    marks
}

fn drawn(symbol: Symbol, at: At, ink: Ink) -> Vec<Stroke> {
    let (x, y) = at;
    let thin = |from: At, to: At| line(&[from, to], Weight::Thin, ink);
    let thick = |from: At, to: At| line(&[from, to], Weight::Thick, ink);
    let boxed = |wide, high| outline(&around(at, (wide, high)), Weight::Thick, ink).into_iter();
    match symbol {
        Symbol::Cells => {
            let cell =
                |y: f64| [thin((x - 11.0, y), (x + 11.0, y)), thick((x - 6.0, y + 3.5), (x + 6.0, y + 3.5))];
            let ground = area(&around(at, (24.0, 16.0)), Ink::Paper);
            [ground].into_iter().chain(cell(y - 6.0)).chain(cell(y + 1.5)).collect()
        }
        Symbol::Fuse => boxed(9.0, 18.0).chain([thin((x, y - 9.0), (x, y + 9.0))]).collect(),
        Symbol::Contactor => vec![
            area(&around(at, (4.0, 13.0)), Ink::Paper),
            thick((x, y + 6.5), (x + 9.0, y - 6.0)),
            thin((x - 4.0, y - 6.5), (x + 4.0, y - 6.5)),
        ],
        Symbol::Cable => vec![thick((x - 6.0, y + 4.0), (x + 6.0, y - 4.0))],
        Symbol::Inverter | Symbol::Converter => {
            boxed(20.0, 16.0).chain([thin((x - 10.0, y + 8.0), (x + 10.0, y - 8.0))]).collect()
        }
        Symbol::Motor => {
            let ring = outline(&circle(at, 9.0), Weight::Thick, ink);
            ring.into_iter().chain([label(x, y + 3.2, "M", Anchor::Middle)]).collect()
        }
        Symbol::Resistor => boxed(18.0, 8.0).collect(),
        Symbol::Earth => vec![
            thick((x, y - 8.0), (x, y + 8.0)),
            thick((x + 4.0, y - 5.0), (x + 4.0, y + 5.0)),
            thick((x + 8.0, y - 2.0), (x + 8.0, y + 2.0)),
        ],
    }
}

fn told(stops: &[Stop]) -> String {
    let named = |of: &dyn Fn(&Stop) -> bool| -> Vec<&str> {
        stops.iter().filter(|stop| of(stop)).map(|stop| stop.name.as_str()).collect()
    };
    let fails = named(&|stop| stop.verdict == Some(Mark::Fails));
    let missing = named(&|stop| stop.there == There::Missing);
    let listed = |words: &str, names: Vec<&str>| match names.is_empty() {
        true => String::new(),
        false => format!(" {words}: {}.", names.join(", ")),
    };
    let fails = if fails.is_empty() { " Nothing on it fails.".to_owned() } else { listed("Fails", fails) };
    let all: Vec<&str> = stops.iter().map(|stop| stop.name.as_str()).collect();
    format!("The circuit in order: {}.{fails}{}", all.join(", "), listed("Not in this journal", missing))
}
