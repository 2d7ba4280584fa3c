//! Drawings and small marks as inline SVG; colours and weights are classes of the page's style sheet.

use std::fmt::Write;

use super::text::{Host, push_escaped, push_text};
use crate::dossier::drawing::{Anchor, Drawing, Ink, Stroke, TextSize, Weight};
use crate::dossier::piece::Mark;

/// A drawing wider than this (in points) does not shrink to a phone's width but scrolls in its own box,
/// because its text would be too small to read.
const BROAD: f64 = 320.0;

/// One `svg` element, an image with its alternative text as name; its texts can be selected.
pub(super) fn drawing(drawing: &Drawing) -> String {
    let (width, height) = (side(drawing.width), side(drawing.height));
    let broad = if width > BROAD { " broad" } else { "" };
    let mut out = format!(
        "<svg class=\"drawing{broad}\" role=\"img\" width=\"{w}pt\" height=\"{h}pt\" viewBox=\"0 0 {w} {h}\" \
         aria-label=\"",
        w = Short(width),
        h = Short(height)
    );
    push_escaped(&mut out, &drawing.alt);
    out.push_str("\">\n");
    for stroke in &drawing.marks {
        push_stroke(&mut out, stroke);
    }
    out.push_str("</svg>");
    out
}

fn push_stroke(out: &mut String, stroke: &Stroke) {
    match stroke {
        Stroke::Line { points, weight, ink, dashed } => {
            let weight = match weight {
                Weight::Thin => "thin",
                Weight::Thick => "thick",
            };
            let dashed = if *dashed { " dashed" } else { "" };
            out.push_str(&format!("<polyline class=\"line {weight}{dashed} {}\" points=\"", ink_class(*ink)));
            push_points(out, points);
            out.push_str("\"/>\n");
        }
        Stroke::Area { points, ink } => {
            out.push_str(&format!("<polygon class=\"area {}\" points=\"", ink_class(*ink)));
            push_points(out, points);
            out.push_str("\"/>\n");
        }
        Stroke::Text { x, y, text, size, anchor, ink } => {
            if !(x.is_finite() && y.is_finite()) {
                return;
            }
            let size = match size {
                TextSize::Small => "7.5",
                TextSize::Label => "9",
                TextSize::Large => "12",
            };
            let anchor = match anchor {
                Anchor::Start => "",
                Anchor::Middle => " text-anchor=\"middle\"",
                Anchor::End => " text-anchor=\"end\"",
            };
            out.push_str(&format!(
                "<text class=\"{}\" x=\"{}\" y=\"{}\" font-size=\"{size}\"{anchor}>",
                ink_class(*ink),
                Short(*x),
                Short(*y)
            ));
            push_text(out, text, Host::Svg);
            out.push_str("</text>\n");
        }
    }
}

/// A point that is no place (not finite) is left out.
fn push_points(out: &mut String, points: &[(f64, f64)]) {
    let mut gap = "";
    for (x, y) in points.iter().filter(|(x, y)| x.is_finite() && y.is_finite()) {
        // Writing to a string can't fail.
        let _ = write!(out, "{gap}{},{}", Short(*x), Short(*y));
        gap = " ";
    }
}

fn ink_class(ink: Ink) -> &'static str {
    match ink {
        Ink::Black => "ink",
        Ink::Quiet => "quiet",
        Ink::Accent => "accent",
        Ink::Meets => "meets",
        Ink::Close => "close",
        Ink::Fails => "fails",
        Ink::Tint => "tint",
        Ink::Paper => "paper",
    }
}

fn side(length: f64) -> f64 {
    if length.is_finite() { length.max(1.0) } else { 1.0 }
}

/// The word of a verdict behind its mark; the shapes are defined once, in the page's template.
pub(super) fn push_verdict(out: &mut String, verdict: Mark) {
    let word = verdict.word();
    out.push_str(&format!(
        "<span class=\"verdict\"><svg class=\"mark\" aria-hidden=\"true\" viewBox=\"0 0 12 12\">\
         <use href=\"#vw:{word}\"/></svg>{word}</span>"
    ));
}

/// A bar from the limit (middle) to the right where there is room, to the left where the limit is missed.
/// It repeats what the row says in numbers, so that readers of speech skip it.
pub(super) fn push_margin(out: &mut String, share: f64) {
    let share = if share.is_finite() { share.clamp(-1.0, 1.0) } else { 0.0 };
    let (class, length) = if share < 0.0 { ("fails", -share * 30.0) } else { ("meets", share * 30.0) };
    let start = if share < 0.0 { 30.0 - length } else { 30.0 };
    out.push_str(&format!(
        "<svg class=\"margin\" aria-hidden=\"true\" viewBox=\"0 0 60 12\"><path class=\"line thin quiet\" \
         d=\"M0 9.5H60\"/><rect class=\"area {class}\" x=\"{}\" y=\"4\" width=\"{}\" height=\"5.5\"/>\
         <path class=\"line thick ink\" d=\"M30 1V11.5\"/></svg>",
        Short(start),
        Short(length)
    ));
}

/// A number with at most two decimals.
struct Short(f64);

impl std::fmt::Display for Short {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // Adding zero turns a negative zero into zero.
        write!(f, "{}", (self.0 * 100.0).round() / 100.0 + 0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::{drawing, push_margin};
    use crate::dossier::drawing::{Anchor, Drawing, Ink, Stroke, TextSize, Weight};

    #[test]
    fn a_drawing_is_a_named_image_with_text() {
        let points = vec![(0.0, f64::NAN), (1.0, 2.0), (1.0 / 3.0, -0.001)];
        let svg = drawing(&Drawing {
            width: 200.0,
            height: 100.0,
            alt: "power \"over\" speed".to_owned(),
            marks: vec![
                Stroke::Line { points, weight: Weight::Thick, ink: Ink::Accent, dashed: true },
                Stroke::Text {
                    x: 5.0,
                    y: 6.5,
                    text: "12\u{a0}kW < P".to_owned(),
                    size: TextSize::Label,
                    anchor: Anchor::End,
                    ink: Ink::Quiet,
                },
            ],
        });
        assert_eq!(
            svg,
            "<svg class=\"drawing\" role=\"img\" width=\"200pt\" height=\"100pt\" viewBox=\"0 0 200 100\" \
             aria-label=\"power &quot;over&quot; speed\">\n\
             <polyline class=\"line thick dashed accent\" points=\"1,2 0.33,0\"/>\n\
             <text class=\"quiet\" x=\"5\" y=\"6.5\" font-size=\"9\" text-anchor=\"end\">\
             <tspan class=\"q\">12 kW</tspan> &lt; P</text>\n</svg>"
        );
    }

    #[track_caller]
    fn check_bar(share: f64, expected: &str) {
        let mut out = String::new();
        push_margin(&mut out, share);
        assert!(out.contains(expected), "{out}");
    }

    #[test]
    fn a_bar_leaves_the_limit_to_the_side_of_its_outcome() {
        check_bar(0.5, "class=\"area meets\" x=\"30\" y=\"4\" width=\"15\"");
        check_bar(-0.5, "class=\"area fails\" x=\"15\" y=\"4\" width=\"15\"");
        check_bar(-7.0, "x=\"0\" y=\"4\" width=\"30\"");
        check_bar(f64::NAN, "width=\"0\"");
    }
}
