//! Where lines begin and end: at LF, CRLF or a lone CR.

use std::ops::Range;

/// The start of the line that holds the byte at `at`.
pub(super) fn line_start(text: &str, at: usize) -> usize {
    let bytes = text.as_bytes();
    (0..at.min(bytes.len()))
        .rev()
        .find(|i| match bytes[*i] {
            b'\n' => true,
            // The CR of a CRLF is no line end of its own.
            b'\r' => bytes.get(i + 1) != Some(&b'\n'),
            _ => false,
        })
        .map_or(0, |i| i + 1)
}

/// The line that begins at `start`, without its line end, and where the next one begins.
pub(super) fn line_at(text: &str, start: usize) -> (Range<usize>, usize) {
    let bytes = text.as_bytes();
    let start = start.min(bytes.len());
    match bytes[start..].iter().position(|byte| matches!(byte, b'\n' | b'\r')) {
        None => (start..bytes.len(), bytes.len()),
        Some(length) => {
            let end = start + length;
            let crlf = bytes[end] == b'\r' && bytes.get(end + 1) == Some(&b'\n');
            (start..end, end + if crlf { 2 } else { 1 })
        }
    }
}

/// The line end that stands between `end` and `next`, as a results region is written with: a lone CR is
/// no line end for a results region, nor is the end of the file.
pub(super) fn line_end(text: &str, end: usize, next: usize) -> Option<&'static str> {
    match text.get(end..next) {
        Some("\r\n") => Some("\r\n"),
        Some("\n") => Some("\n"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::{line_at, line_end, line_start};

    #[test]
    fn lines_end_at_lf_crlf_and_cr() {
        let text = "a\r\nbc\rd\ne";
        let mut starts = Vec::new();
        let mut at = 0;
        while at < text.len() {
            let (line, next) = line_at(text, at);
            starts.push((at, &text[line.clone()], line_end(text, line.end, next)));
            assert_eq!(line_start(text, line.end), at);
            at = next;
        }
        let expected = [(0, "a", Some("\r\n")), (3, "bc", None), (6, "d", Some("\n")), (8, "e", None)];
        assert_eq!(starts, expected);
    }
}
