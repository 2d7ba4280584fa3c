//! A fault is what is wrong with one text, placed within that text; whoever knows the file makes a finding of it.

use std::ops::Range;

use crate::findings::Code;
use crate::words::Words;

/// One mistake in a text that was given to this room.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Fault {
    pub code: &'static Code,
    /// Bytes within the text that was given; `0..0` for a computed quantity, which has no text.
    pub at: Range<usize>,
    /// One phrase, lower case, no full stop: what was found and what was expected.
    pub message: Words,
    /// What to type.
    pub help: Words,
}

impl Fault {
    pub(crate) fn new(
        code: &'static Code,
        at: Range<usize>,
        message: impl Into<Words>,
        help: impl Into<Words>,
    ) -> Fault {
        Fault { code, at, message: message.into(), help: help.into() }
    }

    /// The same fault, where the text given was a part that began `by` bytes into a longer one.
    #[must_use]
    pub(crate) fn shifted(mut self, by: usize) -> Fault {
        self.at = self.at.start + by..self.at.end + by;
        self
    }

    /// The same fault, laid over another stretch.
    #[must_use]
    pub(crate) fn over(mut self, at: Range<usize>) -> Fault {
        self.at = at;
        self
    }
}
