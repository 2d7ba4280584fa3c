//! Live values: inline links with a `result:` address, whose text is kept up to date.

use std::ops::Range;

use super::Word;
use crate::source::{FileId, Span};

/// The scheme of a live value's address.
pub(super) const SCHEME: &str = "result:";

/// A link `[text](result:address)`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct LiveValue {
    /// What follows `result:`, for example `drive.motor_speed in rad/s`.
    pub address: Word,
    /// The bytes between `[` and `]`.
    pub text_span: Span,
    /// The text as a reader sees it, without marks and escapes.
    pub text: String,
}

/// A live value whose end has not come.
pub(super) struct Open {
    range: Range<usize>,
    address: String,
    /// The end of the last event inside.
    end: usize,
    text: String,
}

impl Open {
    pub(super) fn new(range: Range<usize>, address: &str) -> Open {
        Open { end: range.start + 1, range, address: address.to_owned(), text: String::new() }
    }

    /// Whether this is the link at `range`.
    pub(super) fn is(&self, range: &Range<usize>) -> bool {
        self.range == *range
    }

    /// Takes note of something inside the link.
    pub(super) fn inside(&mut self, text: &str, range: &Range<usize>) {
        self.text.push_str(text);
        self.end = self.end.max(range.end);
    }

    /// The live value, now that its whole link is known. The bracket that closes its text is the first
    /// `](` behind everything inside.
    pub(super) fn close(self, file: FileId, source: &str) -> Option<LiveValue> {
        let bracket = self.end + source.get(self.end..self.range.end)?.find("](")?;
        let scheme = bracket + source[bracket..self.range.end].find(SCHEME)?;
        let start = scheme + SCHEME.len();
        let rest = &source[start..self.range.end];
        let length = if rest.starts_with(&self.address) {
            self.address.len()
        } else {
            rest.find(['>', ')', '\n', '\r']).unwrap_or(rest.len())
        };
        Some(LiveValue {
            address: Word { text: self.address, span: Span::new(file, start, start + length) },
            text_span: Span::new(file, self.range.start + 1, bracket),
            text: self.text,
        })
    }
}
