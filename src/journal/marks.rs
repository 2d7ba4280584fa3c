//! Results regions: their marks, their bodies, and the hash that tells whether a body was edited.

use std::ops::Range;

use super::Word;
use super::lines::{line_at, line_start};
use crate::source::{FileId, Span};

/// What stands directly after a fence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum RegionState {
    None,
    /// The number of the region in the journal's list.
    Whole(usize),
    /// Half, doubled or misspelt marks; complained of already.
    Damaged,
}

/// A whole results region.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Region {
    pub name: Word,
    /// The fence that it belongs to; `None` for an orphan.
    pub fence: Option<usize>,
    /// Whole lines: from the start of the opening mark's line to behind the line end of the closing one.
    pub span: Span,
    /// The lines between the marks, with prefixes and line ends.
    pub body_span: Span,
    /// The closing mark itself, `<!--` to `-->`.
    pub closing_span: Span,
    /// What stands before the opening mark on its line.
    pub prefix: String,
    /// The body is not the one that was written.
    pub edited: bool,
}

/// A comment that is meant to be a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mark<'a> {
    Open(&'a str),
    Close(&'a str, &'a str),
    /// Neither of the two forms that are written.
    Misspelt,
}

/// What an opening mark begins.
#[derive(Debug)]
pub(super) enum Found {
    Whole(Region),
    /// No closing mark of its name before the next mark or the end.
    Half(Span),
}

/// The first 8 hex digits of the BLAKE3 hash of a body: its lines without prefix, joined by LF.
pub(crate) fn body_hash(body: &str) -> String {
    blake3::hash(body.as_bytes()).to_hex()[..8].to_owned()
}

/// The lines of a region's body without prefix, joined by LF.
pub(crate) fn region_body(text: &str, region: &Region) -> String {
    body(text, region.body_span.range(), &region.prefix)
}

/// Whether a body line can't be taken for a mark, and so can stand in a region.
pub(crate) fn neutral_line(line: &str) -> bool {
    mark(unindented(line)).is_none()
}

/// Whether a region of this name reads back: names of blocks do, and others never get one.
pub(crate) fn can_be_marked(name: &str) -> bool {
    mark(&format!("<!-- worked:{name} -->")) == Some(Mark::Open(name))
}

/// Reads `<!-- worked:NAME -->` or `<!-- /worked:NAME HASH8 -->` at the start of a text. A comment about
/// something else is no mark.
pub(super) fn mark(text: &str) -> Option<Mark<'_>> {
    let inside = text.strip_prefix("<!--")?;
    let start = inside.trim_start();
    let closes = start.starts_with('/');
    let named = start.trim_start_matches('/').strip_prefix("worked:")?;
    if named.starts_with(|c: char| c.is_whitespace()) {
        return None;
    }
    let exact = inside.split_once("-->").filter(|(_, rest)| rest.trim().is_empty());
    let words = exact.and_then(|(inner, _)| inner.strip_prefix(' ')?.strip_suffix(' '));
    let mark = words.and_then(|words| match words.split_once(' ') {
        None if !closes => words.strip_prefix("worked:").map(Mark::Open),
        Some((name, hash)) if closes && is_hash(hash) => {
            name.strip_prefix("/worked:").map(|name| Mark::Close(name, hash))
        }
        _ => None,
    });
    match mark {
        Some(Mark::Open("") | Mark::Close("", _)) | None => Some(Mark::Misspelt),
        mark => mark,
    }
}

/// Reads the region whose opening mark stands alone on the line at `start`.
pub(super) fn region(file: FileId, text: &str, start: usize) -> Option<Found> {
    let (line, body_start) = line_at(text, start);
    let content = unindented(&text[line.clone()]);
    let Some(Mark::Open(name)) = mark(content) else { return None };
    let opening = line.end - content.len();
    let prefix = &text[line.start..opening];
    let mut at = body_start;
    while at < text.len() {
        let (line, next) = line_at(text, at);
        let content = unindented(&text[line.clone()]);
        match mark(content) {
            Some(Mark::Close(closed, hash)) if closed == name => {
                let closing = line.end - content.len();
                let body = body(text, body_start..at, prefix);
                let name_at = opening + "<!-- worked:".len();
                return Some(Found::Whole(Region {
                    name: Word {
                        text: name.to_owned(),
                        span: Span::new(file, name_at, name_at + name.len()),
                    },
                    fence: None,
                    span: Span::new(file, start, next),
                    body_span: Span::new(file, body_start, at),
                    closing_span: Span::new(file, closing, closing + content.trim_end().len()),
                    prefix: prefix.to_owned(),
                    edited: body_hash(&body) != hash,
                }));
            }
            Some(_) => break,
            None => at = next,
        }
    }
    Some(Found::Half(Span::new(file, opening, opening + content.trim_end().len())))
}

/// The start of the line of the opening mark that follows a fence: the next line, or, where a formatter
/// has put empty lines between, the next one that is not empty if it bears the block's own name.
pub(super) fn opening_after(text: &str, after: usize, prefix: &str, name: &str) -> Option<usize> {
    let mut at = after;
    while at < text.len() {
        let (line, next) = line_at(text, at);
        let content = &text[line];
        if mark(unindented(content)) == Some(Mark::Open(name)) {
            return Some(at);
        }
        if !content.trim().is_empty() && content.trim_end() != prefix.trim_end() {
            return None;
        }
        at = next;
    }
    None
}

/// Whether the text before `at` on its line is only what a container puts there.
pub(super) fn stands_alone(text: &str, at: usize) -> Option<usize> {
    let start = line_start(text, at);
    unindented(&text[start..at]).is_empty().then_some(start)
}

fn body(text: &str, range: Range<usize>, prefix: &str) -> String {
    let mut body = String::with_capacity(range.len());
    let mut at = range.start;
    while at < range.end {
        let (line, next) = line_at(text, at);
        let content = &text[line];
        if at > range.start {
            body.push('\n');
        }
        match content.strip_prefix(prefix) {
            Some(rest) => body.push_str(rest),
            // Editors take spaces off the end of an empty line.
            None if content.trim_end() == prefix.trim_end() => {}
            None => body.push_str(content),
        }
        at = next;
    }
    body
}

fn unindented(line: &str) -> &str {
    line.trim_start_matches([' ', '\t', '>'])
}

fn is_hash(text: &str) -> bool {
    text.len() == 8 && text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'))
}

#[cfg(test)]
mod tests {
    use super::{Mark, mark};

    #[test]
    fn a_mark_has_one_spelling_and_a_remark_is_none() {
        assert_eq!(mark("<!-- worked:drive -->"), Some(Mark::Open("drive")));
        assert_eq!(mark("<!-- /worked:drive 4f2a90c1 --> "), Some(Mark::Close("drive", "4f2a90c1")));
        assert_eq!(mark("<!-- /worked:drive -->"), Some(Mark::Misspelt));
        assert_eq!(mark("<!--worked:drive-->"), Some(Mark::Misspelt));
        assert_eq!(mark("<!-- worked:drive"), Some(Mark::Misspelt));
        assert_eq!(mark("<!-- worked: on the brakes today -->"), None);
        assert_eq!(mark("<!-- a remark -->"), None);
    }
}
