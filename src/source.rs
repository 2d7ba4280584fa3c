//! A span is a byte range of a file; line and column exist only when printed.

use std::fmt;
use std::ops::Range;
use std::sync::{Arc, OnceLock};

/// One file as it was read: its path relative to the journal folder (with `/`), and every byte of it,
/// a byte order mark and all line ends included.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Source {
    pub path: String,
    pub text: Arc<str>,
    /// Where each line begins; found when the first place is asked for.
    lines: OnceLock<Vec<u32>>,
    /// What was written in the place of this text; places are told in that.
    written: Option<Arc<Rewritten>>,
}

/// The text that a file has now, and where in it what was read has come to stand.
#[derive(Debug, PartialEq, Eq)]
struct Rewritten {
    source: Source,
    /// The ranges that were written, sorted, each with the length of what stands there now.
    edits: Vec<(Range<usize>, usize)>,
}

/// The number of a file within its [`Sources`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct FileId(pub u32);

/// A byte range `start..end` of one file.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Span {
    pub file: FileId,
    pub start: u32,
    pub end: u32,
}

/// Where a byte stands for a reader: both count from 1, the column in Unicode scalars.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Place {
    pub line: usize,
    pub column: usize,
}

/// The files of a journal, in reading order.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sources(pub Vec<Source>);

impl Source {
    pub(crate) fn new(path: impl Into<String>, text: impl Into<Arc<str>>) -> Source {
        Source { path: path.into(), text: text.into(), lines: OnceLock::new(), written: None }
    }

    /// The line and column of a byte offset; an offset past the end is taken as the end.
    pub(crate) fn place(&self, offset: u32) -> Place {
        if let Some(written) = &self.written {
            return written.source.place(written.moved(offset as usize) as u32);
        }
        let bytes = self.text.as_bytes();
        let offset = (offset as usize).min(bytes.len());
        let line = self.lines().partition_point(|start| *start as usize <= offset);
        let start = self.line_start(offset);
        let column = 1 + count_scalars(&bytes[start..offset]);
        // A byte order mark is not a character that the reader sees.
        let mark = usize::from(start == 0 && self.text.starts_with('\u{feff}') && offset >= 3);
        Place { line, column: column - mark }
    }

    /// Places are from now on told in the text that was written with these edits: sorted ranges, each with the length of
    /// what stands there now.
    pub(crate) fn rewritten(&mut self, text: String, edits: Vec<(Range<usize>, usize)>) {
        let source = Source::new(self.path.clone(), text);
        self.written = Some(Arc::new(Rewritten { source, edits }));
    }

    /// The whole line around an offset, without its line end.
    pub(crate) fn line_at(&self, offset: u32) -> &str {
        let offset = (offset as usize).min(self.text.len());
        let start = self.line_start(offset);
        let rest = &self.text[start..];
        let line = &rest[..rest.find(['\n', '\r']).unwrap_or(rest.len())];
        line.trim_start_matches('\u{feff}')
    }

    fn lines(&self) -> &[u32] {
        self.lines.get_or_init(|| {
            let bytes = self.text.as_bytes();
            let ends = (0..bytes.len()).filter(|at| ends_line(bytes, *at)).map(|at| at as u32 + 1);
            std::iter::once(0).chain(ends).collect()
        })
    }

    fn line_start(&self, offset: usize) -> usize {
        let bytes = self.text.as_bytes();
        (0..offset).rev().find(|at| ends_line(bytes, *at)).map_or(0, |at| at + 1)
    }
}

impl Rewritten {
    /// Where a byte of the old text stands now; of what was written over, where that begins.
    fn moved(&self, offset: usize) -> usize {
        let mut now = offset;
        for (range, length) in self.edits.iter().take_while(|(range, _)| range.start <= offset) {
            if offset < range.end {
                return now - (offset - range.start);
            }
            now = now - range.len() + length;
        }
        now
    }
}

/// Whether a line ends at a byte: LF, or a CR that no LF follows.
fn ends_line(bytes: &[u8], at: usize) -> bool {
    match bytes[at] {
        b'\n' => true,
        b'\r' => bytes.get(at + 1) != Some(&b'\n'),
        _ => false,
    }
}

/// Scalars are the bytes that don't continue one; this holds for a cut inside a scalar too.
fn count_scalars(bytes: &[u8]) -> usize {
    bytes.iter().filter(|byte| **byte & 0xC0 != 0x80).count()
}

impl Span {
    pub(crate) fn new(file: FileId, start: usize, end: usize) -> Span {
        Span { file, start: start as u32, end: end as u32 }
    }

    pub(crate) fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }

    /// The part of this span that begins `start` bytes into it and is `length` bytes long.
    pub(crate) fn part(self, start: usize, length: usize) -> Span {
        let from = (self.start as usize + start).min(self.end as usize);
        let to = (from + length).min(self.end as usize);
        Span::new(self.file, from, to)
    }
}

impl fmt::Debug for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}..{}", self.file.0, self.start, self.end)
    }
}

impl Sources {
    pub(crate) fn get(&self, file: FileId) -> &Source {
        &self.0[file.0 as usize]
    }

    /// The same with `prefix` before each path.
    pub(crate) fn under(&self, prefix: &str) -> Sources {
        let under = |source: &Source| Source { path: format!("{prefix}{}", source.path), ..source.clone() };
        Sources(self.0.iter().map(under).collect())
    }

    pub(crate) fn place(&self, span: Span) -> Place {
        self.get(span.file).place(span.start)
    }

    pub(crate) fn text(&self, span: Span) -> &str {
        self.get(span.file).text.get(span.range()).unwrap_or("")
    }
}

#[cfg(test)]
mod tests {
    use super::Source;

    #[test]
    fn a_column_counts_scalars_and_not_a_byte_order_mark() {
        let source = Source::new("a.md", "\u{feff}µΩx\r\nb");
        let at = |offset| (source.place(offset).line, source.place(offset).column);
        assert_eq!(at(3), (1, 1));
        assert_eq!(at(7), (1, 3));
        assert_eq!(at(10), (2, 1));
        assert_eq!(source.line_at(4), "µΩx");
    }

    #[test]
    fn a_lone_carriage_return_ends_a_line() {
        let source = Source::new("a.md", "a\rbc\r\nd");
        let at = |offset| (source.place(offset).line, source.place(offset).column);
        assert_eq!([at(0), at(3), at(6)], [(1, 1), (2, 2), (3, 1)]);
        assert_eq!([source.line_at(0), source.line_at(3), source.line_at(6)], ["a", "bc", "d"]);
    }
}
