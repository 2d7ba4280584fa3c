//! The page: paper, margins, the main column and the log column at its outer edge.

use super::super::piece::{Columns, Document, Paper};

/// All in points; the main column begins at `left`, the log column at `log`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Frame {
    pub(crate) width: f64,
    pub(crate) height: f64,
    pub(crate) left: f64,
    pub(crate) main: f64,
    pub(crate) log: f64,
    pub(crate) log_width: f64,
    /// Where the flow begins and ends.
    pub(crate) top: f64,
    pub(crate) bottom: f64,
}

impl Frame {
    pub(crate) fn new(paper: Paper) -> Frame {
        let (width, height) = match paper {
            Paper::A4 => (595.28, 841.89),
            Paper::Letter => (612.0, 792.0),
        };
        // The main column holds about 80 characters, running text in it up to 75; what wider paper has over, the log column and the margins share.
        let (main, gutter) = (396.0, 13.0);
        let log_width = if width > 600.0 { 140.0 } else { 136.0 };
        let left = (width - main - gutter - log_width) * 0.6;
        let log = left + main + gutter;
        Frame { width, height, left, main, log, log_width, top: 37.0, bottom: height - 35.0 }
    }

    /// The page of a document.
    pub(crate) fn of(document: &Document) -> Frame {
        let frame = Frame::new(document.paper);
        match document.columns {
            Columns::Log => frame,
            Columns::One => {
                let main = frame.across();
                Frame { main, log: frame.left + main, log_width: 0.0, ..frame }
            }
        }
    }

    pub(crate) fn has_log(self) -> bool {
        self.log_width > 0.0
    }

    /// The width of the main column and the log column together.
    pub(crate) fn across(self) -> f64 {
        self.log + self.log_width - self.left
    }

    /// The most height of a picture: its caption stands below it on the page.
    pub(crate) fn picture_depth(self) -> f64 {
        self.depth() * 0.62
    }

    /// The height of the flow.
    pub(crate) fn depth(self) -> f64 {
        self.bottom - self.top
    }
}
