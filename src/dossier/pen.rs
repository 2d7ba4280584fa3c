//! What every drawing is put together from: strokes, areas and texts that are measured before they are set.

use super::drawing::{Anchor, Drawing, Ink, Stroke, TextSize, Weight};
use super::layout::fonts::Font;
use super::piece::Mark;
use super::plot::{WIDE, area, label, line, small};
use crate::model::Limited;

/// A place, in points.
pub(super) type At = (f64, f64);

pub(super) fn dashed(points: &[At], weight: Weight, ink: Ink) -> Stroke {
    Stroke::Line { points: points.to_vec(), weight, ink, dashed: true }
}

/// The corners of a box around a place.
pub(super) fn around((x, y): At, (wide, high): At) -> [At; 4] {
    let (w, h) = (wide / 2.0, high / 2.0);
    [(x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h)]
}

/// The outline of a shape, with paper within: what lies under it is covered.
pub(super) fn outline(corners: &[At], weight: Weight, ink: Ink) -> [Stroke; 2] {
    let closed: Vec<At> = corners.iter().chain(corners.first()).copied().collect();
    [area(corners, Ink::Paper), line(&closed, weight, ink)]
}

pub(super) fn circle((x, y): At, radius: f64) -> Vec<At> {
    const CORNERS: usize = 24;
    let corner = |number: usize| {
        let turn = std::f64::consts::TAU * number as f64 / CORNERS as f64;
        (x + radius * turn.cos(), y + radius * turn.sin())
    };
    (0..CORNERS).map(corner).collect()
}

pub(super) const fn points(size: TextSize) -> f64 {
    match size {
        TextSize::Small => 7.5,
        TextSize::Label => 9.0,
        TextSize::Large => 12.0,
    }
}

/// How wide a text is at most: on screen it is set in what narrow face the reader's machine has, and the widest of
/// those named in the style sheet has nine tenths of this one's advances.
pub(super) fn width(text: &str, size: TextSize) -> f64 {
    let face = Font::Wide;
    let advance = |character| face.with_glyph(character).map_or(600, |(font, glyph)| font.advance(glyph.id));
    text.chars().map(advance).sum::<i32>() as f64 / 1000.0 * 0.9 * points(size)
}

/// A text that fits into a room, cut where it would not.
pub(super) fn fit(text: &str, room: f64, size: TextSize) -> String {
    if width(text, size) <= room {
        return text.to_owned();
    }
    let mut cut: Vec<char> = text.chars().collect();
    while let Some(last) = cut.pop() {
        let shorter: String = cut.iter().chain(['…'].iter()).collect();
        if last != ' ' && width(&shorter, size) <= room {
            return shorter;
        }
    }
    String::new()
}

/// Parts put into lines that fit into the rooms, one line to each; those that are left over are counted.
pub(super) fn lines(parts: &[String], rooms: &[f64]) -> Vec<String> {
    let fits =
        |line: usize, text: &str| width(text, TextSize::Small) <= rooms.get(line).copied().unwrap_or(0.0);
    (0..=parts.len())
        .rev()
        .map(|told| {
            let more = format!("{} more", parts.len() - told);
            let rest = (told < parts.len()).then_some(more);
            let mut lines: Vec<String> = Vec::new();
            for part in parts[..told].iter().chain(rest.iter()) {
                let longer = lines.last().map(|last| format!("{last}; {part}"));
                match longer.filter(|longer| fits(lines.len() - 1, longer)) {
                    Some(longer) => drop(lines.pop().map(|_| lines.push(longer))),
                    None => {
                        let room = rooms.get(lines.len()).copied().unwrap_or(0.0);
                        lines.push(fit(part, room, TextSize::Small));
                    }
                }
            }
            lines
        })
        .find(|lines| lines.len() <= rooms.len())
        .unwrap_or_default()
}

/// The mark of a verdict, told apart by its shape, with its word behind it. `at` is its left end, on the text's line.
pub(super) fn verdict((x, y): At, mark: Mark) -> Vec<Stroke> {
    const SIDE: f64 = 6.0;
    let square = around((x + SIDE / 2.0, y - 2.7), (SIDE, SIDE));
    let edge: Vec<At> = square.iter().chain(square.first()).copied().collect();
    let [top_left, top_right, bottom_right, bottom_left] = square;
    let (ink, mut marks) = match mark {
        Mark::Meets => (Ink::Meets, vec![area(&square, Ink::Meets)]),
        Mark::Close => (
            Ink::Close,
            vec![
                area(&[top_left, bottom_right, bottom_left], Ink::Close),
                line(&edge, Weight::Thin, Ink::Close),
            ],
        ),
        Mark::Fails => (
            Ink::Fails,
            vec![
                line(&edge, Weight::Thin, Ink::Fails),
                line(&[top_left, bottom_right], Weight::Thick, Ink::Fails),
                line(&[bottom_left, top_right], Weight::Thick, Ink::Fails),
            ],
        ),
        Mark::Open => (Ink::Quiet, vec![dashed(&edge, Weight::Thin, Ink::Quiet)]),
    };
    let (text, anchor) = (mark.word().to_owned(), Anchor::Start);
    marks.push(Stroke::Text { x: x + SIDE + 3.0, y, text, size: TextSize::Small, anchor, ink });
    marks
}

/// How wide the mark of a verdict is with its word, at most.
pub(super) const VERDICT: f64 = 34.0;

/// A value, the bar of its share of the limit, and the limit under the bar.
pub(super) fn against_limit((x, y): At, value: &Limited) -> Vec<Stroke> {
    /// How long a bar is whose value is at its limit, and the most that is drawn of one above it.
    const BAR: f64 = 76.0;
    const MOST: f64 = 1.2;
    let Some((limit, share)) = &value.limit else {
        return vec![label(x, y + 9.0, &value.shown, Anchor::Start)];
    };
    let over = *share > 1.0;
    let (ink, words) = if over { (Ink::Fails, "over its limit") } else { (Ink::Accent, "limit") };
    let length = BAR * share.clamp(0.0, MOST);
    let bar = |from: f64, to: f64| [(from, y + 13.0), (to, y + 13.0), (to, y + 17.0), (from, y + 17.0)];
    vec![
        label(x, y + 9.0, &value.shown, Anchor::Start),
        area(&bar(x, x + length), ink),
        line(&[(x, y + 17.0), (x + BAR, y + 17.0)], Weight::Thin, Ink::Black),
        line(&[(x + BAR, y + 11.0), (x + BAR, y + 19.0)], Weight::Thick, Ink::Black),
        small(x, y + 26.0, &format!("{words} {limit}"), Anchor::Start),
    ]
}

pub(super) fn drawing(height: f64, alt: String, marks: Vec<Stroke>) -> Drawing {
    Drawing { width: WIDE, height, alt, marks }
}
