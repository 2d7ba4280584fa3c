//! From an offset in a block's YAML, whose containers' prefixes and carriage returns are gone, to the file's.

use std::ops::Range;

use crate::source::{FileId, Span};

/// Pieces of text and where each stands in the file, in order.
#[derive(Clone, Debug)]
pub(super) struct Offsets {
    file: FileId,
    pieces: Vec<Piece>,
    /// Where text that has no piece stands.
    fallback: usize,
}

#[derive(Clone, Copy, Debug)]
struct Piece {
    text: usize,
    file: usize,
    /// Bytes in the file; less than in the text where the text is spaces that stand for a tab.
    length: usize,
}

impl Offsets {
    /// No pieces yet; an empty text stands at `at`.
    pub(super) fn new(file: FileId, at: usize) -> Offsets {
        Offsets { file, pieces: Vec::new(), fallback: at }
    }

    /// The whole text stands in the file as it is, from `at`.
    pub(super) fn shifted(file: FileId, at: usize) -> Offsets {
        Offsets { file, pieces: vec![Piece { text: 0, file: at, length: usize::MAX }], fallback: at }
    }

    /// The text from offset `text` on is the bytes `range` of the file.
    pub(super) fn add(&mut self, text: usize, range: Range<usize>) {
        self.pieces.push(Piece { text, file: range.start, length: range.len() });
    }

    /// The span of a range of the text. It ends behind its last byte, not before the next line's first.
    pub(super) fn span(&self, range: Range<usize>) -> Span {
        let start = self.at(range.start);
        let end = if range.is_empty() { start } else { self.at(range.end - 1) + 1 };
        Span::new(self.file, start, end.max(start))
    }

    fn at(&self, offset: usize) -> usize {
        let after = self.pieces.partition_point(|piece| piece.text <= offset);
        match after.checked_sub(1).map(|i| self.pieces[i]) {
            Some(piece) => piece.file + (offset - piece.text).min(piece.length),
            None => self.fallback,
        }
    }
}
