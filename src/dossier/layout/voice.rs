//! How text is spoken on the page: family, size, leading, weight, colour; one scale of sizes, its ratio 1.2.

use super::super::piece::Style;
use super::fonts::{Family, Font};
use super::palette::{ACCENT, Colour, INK, QUIET};

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Voice {
    pub(crate) family: Family,
    pub(crate) bold: bool,
    pub(crate) italic: bool,
    pub(crate) size: f64,
    /// From baseline to baseline.
    pub(crate) leading: f64,
    pub(crate) colour: Colour,
    /// Running text is broken for even lines; labels and cells are filled line by line.
    pub(crate) even: bool,
}

const fn voice(family: Family, size: f64, leading: f64) -> Voice {
    Voice { family, bold: false, italic: false, size, leading, colour: INK, even: false }
}

pub(crate) const BODY: Voice = Voice { even: true, ..voice(Family::Serif, 9.5, 12.0) };
pub(crate) const LEAD: Voice = Voice { even: true, ..voice(Family::Serif, 10.0, 12.6) };
pub(crate) const LARGE: Voice = voice(Family::Sans, 12.5, 15.5);
pub(crate) const SMALL: Voice = Voice { even: true, ..voice(Family::Serif, 8.0, 10.0) };
pub(crate) const CAPTION: Voice = Voice { colour: QUIET, ..voice(Family::Sans, 8.0, 10.2) };
pub(crate) const CELL: Voice = voice(Family::Sans, 7.5, 8.5);
pub(crate) const WORKING: Voice = voice(Family::Sans, 7.5, 8.5);
pub(crate) const LOG: Voice = Voice { colour: QUIET, ..voice(Family::Sans, 7.5, 8.5) };
pub(crate) const CODE: Voice = voice(Family::Mono, 8.0, 10.2);
pub(crate) const RUNNING: Voice = Voice { colour: QUIET, ..voice(Family::Sans, 7.5, 9.4) };
/// Labels above large figures and of signature lines, and the kind above an opening.
pub(crate) const LABEL: Voice = Voice { colour: QUIET, ..voice(Family::Sans, 7.5, 8.5) };
pub(crate) const FIGURE: Voice = Voice { bold: true, ..voice(Family::Sans, 13.2, 15.0) };

pub(crate) fn heading(level: u8) -> Voice {
    let (family, size, leading) = match level {
        0 | 1 => (Family::Serif, 19.9, 25.0),
        2 => (Family::Serif, 16.6, 20.0),
        3 => (Family::Serif, 13.8, 17.0),
        4 => (Family::Serif, 11.5, 14.5),
        _ => (Family::Sans, 9.5, 12.5),
    };
    Voice { bold: true, colour: ACCENT, ..voice(family, size, leading) }
}

pub(crate) fn paragraph(style: Style) -> Voice {
    match style {
        Style::Body => BODY,
        Style::Lead => LEAD,
        Style::Large => LARGE,
        Style::Small => SMALL,
        Style::Caption => CAPTION,
    }
}

impl Voice {
    pub(crate) fn bold(self) -> Voice {
        Voice { bold: true, ..self }
    }

    pub(crate) fn font(self) -> Font {
        Font::pick(self.family, self.bold, self.italic)
    }

    /// From the top of a line to its baseline: capitals stand in the middle of the leading.
    pub(crate) fn baseline(self) -> f64 {
        (self.leading + 0.73 * self.size) / 2.0
    }
}
