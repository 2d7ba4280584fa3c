//! Things at their places on a page: points of 1/72 in, origin at the top left, y downwards.

use super::super::piece::Target;
use super::fonts::Font;
use super::palette::Colour;

#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Mark {
    Text(Words),
    /// Straight lines from point to point.
    Line {
        points: Vec<(f64, f64)>,
        weight: f64,
        colour: Colour,
        dash: Dash,
    },
    /// A closed shape, filled.
    Shape {
        points: Vec<(f64, f64)>,
        colour: Colour,
    },
    /// A picture by its place in the list of pictures.
    Image {
        picture: usize,
        area: Area,
        /// Exif orientation, 1 to 8; 1 stands as stored.
        orientation: u8,
    },
}

/// Text in one face, size and colour on one line.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Words {
    pub(crate) x: f64,
    pub(crate) baseline: f64,
    pub(crate) font: Font,
    pub(crate) size: f64,
    pub(crate) colour: Colour,
    pub(crate) parts: Vec<Part>,
    /// Without the space at its end.
    pub(crate) width: f64,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Part {
    /// Characters that the face has, each by its own glyph.
    Text(String),
    /// A step of the pen to the right, in thousandths of the size.
    Shift(i32),
    /// Glyphs that only shaping finds, each with the text that it stands for.
    Glyphs(Vec<(u16, String)>),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Dash {
    Solid,
    Dashed,
    /// Fine dots, for leaders and open verdicts.
    Dotted,
}

#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Area {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) right: f64,
    pub(crate) bottom: f64,
}

/// Where a click leads.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Link {
    pub(crate) area: Area,
    pub(crate) target: Target,
}

impl Area {
    pub(crate) fn shifted(self, x: f64, y: f64) -> Area {
        Area { left: self.left + x, top: self.top + y, right: self.right + x, bottom: self.bottom + y }
    }
}

impl Mark {
    pub(crate) fn shift(&mut self, x: f64, y: f64) {
        match self {
            Mark::Text(words) => {
                words.x += x;
                words.baseline += y;
            }
            Mark::Line { points, .. } | Mark::Shape { points, .. } => {
                for point in points {
                    point.0 += x;
                    point.1 += y;
                }
            }
            Mark::Image { area, .. } => *area = area.shifted(x, y),
        }
    }

    pub(crate) fn hairline(from: (f64, f64), to: (f64, f64), colour: Colour) -> Mark {
        Mark::Line { points: vec![from, to], weight: 0.4, colour, dash: Dash::Solid }
    }

    pub(crate) fn filled(area: Area, colour: Colour) -> Mark {
        Mark::Shape { points: corners(area), colour }
    }

    pub(crate) fn outline(area: Area, weight: f64, colour: Colour) -> Mark {
        let mut points = corners(area);
        points.push((area.left, area.top));
        // One more, so that the last corner is joined like the others.
        points.push((area.right, area.top));
        Mark::Line { points, weight, colour, dash: Dash::Solid }
    }
}

fn corners(area: Area) -> Vec<(f64, f64)> {
    vec![(area.left, area.top), (area.right, area.top), (area.right, area.bottom), (area.left, area.bottom)]
}
