//! A small display list for charts and diagrams: both printers draw it, nothing is laid out twice.

use serde::Serialize;

/// A picture in points (1/72 in), origin at the top left, y downwards.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Drawing {
    pub width: f64,
    pub height: f64,
    /// What the picture shows, for those who can't see it.
    pub alt: String,
    pub marks: Vec<Stroke>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "mark", rename_all = "kebab-case")]
pub(crate) enum Stroke {
    /// Straight lines from point to point.
    Line {
        points: Vec<(f64, f64)>,
        weight: Weight,
        ink: Ink,
        dashed: bool,
    },
    /// A closed shape, filled.
    Area {
        points: Vec<(f64, f64)>,
        ink: Ink,
    },
    Text {
        x: f64,
        y: f64,
        text: String,
        size: TextSize,
        anchor: Anchor,
        ink: Ink,
    },
}

/// Two line weights, as in a workshop drawing: 0.5 pt and 1.25 pt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Weight {
    Thin,
    Thick,
}

/// Named by meaning; the colours are the printers' one palette.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Ink {
    Black,
    Quiet,
    Accent,
    Meets,
    Close,
    Fails,
    /// A light tint of the accent, for areas.
    Tint,
    Paper,
}

/// 7.5 pt for ticks and remarks, 9 pt for labels, 12 pt for what is read at arm's length; in the condensed face.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum TextSize {
    Small,
    Label,
    Large,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}
