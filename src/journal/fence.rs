//! A fence that says `yaml` and a second word: its words, its YAML, and where its results region goes.

use std::ops::Range;

use super::Word;
use super::lines::{line_at, line_end, line_start};
use super::marks::RegionState;
use super::yaml::Node;
use crate::source::{FileId, Span};

/// A fence whose info string is `yaml` and at least one word more. Whether that word is a kind, and the
/// fence so a block, or prose, is not known here.
#[derive(Clone, Debug)]
pub(crate) struct Fence {
    /// Where `yaml` is spelt in another way: `yml`, `YAML`, `{yaml …}`.
    pub spelling: Option<Span>,
    pub kind: Word,
    /// YAML is complained of only in a fence with a name: without one it may be prose.
    pub name: Option<Word>,
    /// Words after the name.
    pub extra: Vec<Word>,
    /// From the first fence character to the last of the closing fence.
    pub span: Span,
    /// The lines between, with their prefixes.
    pub body_span: Span,
    /// `None` if the YAML is broken or the fence never closed: that has been complained of already.
    pub body: Option<Node>,
    /// A fence that is never closed is no block, and gets no results region.
    pub closed: bool,
    /// What stands before the closing fence on its line: marks of quotes, indentation of lists.
    pub prefix: String,
    /// LF or CRLF, as at the end of the closing fence's line.
    pub line_end: &'static str,
    /// Just after the closing fence's line and its line end.
    pub after: u32,
    pub region: RegionState,
}

/// The words of an info string that makes a fence ours.
pub(super) struct Words {
    pub spelling: Option<Span>,
    pub kind: Word,
    pub name: Option<Word>,
    pub extra: Vec<Word>,
}

/// Where the parts of a fence stand.
pub(super) struct Geometry {
    pub span: Range<usize>,
    pub body: Range<usize>,
    pub closed: bool,
    pub prefix: Range<usize>,
    pub line_end: &'static str,
    pub after: usize,
}

/// The words of an info string that begins with `yaml` and goes on; `yml`, other case and `{yaml …}` will do.
pub(super) fn words(file: FileId, text: &str, info: Range<usize>) -> Option<Words> {
    let line = &text[info.clone()];
    let trimmed = line.trim();
    let braces = trimmed.strip_prefix('{').and_then(|inner| inner.strip_suffix('}'));
    let mut words = braces.unwrap_or(trimmed).split_ascii_whitespace().map(|word| {
        // Each word is a part of the line, so its address gives its place.
        let start = info.start + (word.as_ptr() as usize - line.as_ptr() as usize);
        Word { text: word.to_owned(), span: Span::new(file, start, start + word.len()) }
    });
    let first = words.next()?;
    let language = first.text.to_ascii_lowercase();
    let yaml = ["yaml", "yml"].contains(&language.trim_start_matches('.'));
    let usual = first.text == "yaml" && braces.is_none();
    let spelling = (!usual).then_some(first.span);
    let kind = words.next().filter(|_| yaml)?;
    Some(Words { spelling, kind, name: words.next(), extra: words.collect() })
}

/// The info string of the fence line at `start`, if it is one: three or more backticks or tildes.
pub(super) fn info(text: &str, start: usize) -> Option<Range<usize>> {
    let (line, _) = line_at(text, start);
    let rest = &text[line.clone()];
    let first = rest.chars().next().filter(|c| matches!(c, '`' | '~'))?;
    let run = rest.len() - rest.trim_start_matches(first).len();
    (run >= 3).then(|| line.start + run..line.end)
}

/// Takes a fence apart. `range` is the parser's, from the first fence character on; `content_end` is the
/// end of the last piece of code in it, so that code which looks like a closing fence is not taken for one.
pub(super) fn geometry(text: &str, range: Range<usize>, content_end: usize) -> Geometry {
    let (opening, body_start) = line_at(text, range.start);
    let fence = text[range.clone()].chars().next().unwrap_or('`');
    let open_run = text[opening.clone()].len() - text[opening.clone()].trim_start_matches(fence).len();
    let shown = range.start + text[range.clone()].trim_end().len();
    let run = text[range.start..shown].len() - text[range.start..shown].trim_end_matches(fence).len();
    let closing = shown - run;
    let closed = closing >= body_start.max(content_end) && run >= open_run && closing > opening.end;
    let own_end = line_end(text, opening.end, body_start);
    if !closed {
        let after = range.end;
        let body = body_start.min(after)..after;
        let prefix = after..after;
        return Geometry { span: range, body, closed, prefix, line_end: own_end.unwrap_or("\n"), after };
    }
    let start = line_start(text, closing);
    let (line, after) = line_at(text, closing);
    Geometry {
        span: range.start..shown,
        body: body_start..start.max(body_start),
        closed,
        prefix: start..closing,
        line_end: line_end(text, line.end, after).or(own_end).unwrap_or("\n"),
        after,
    }
}
