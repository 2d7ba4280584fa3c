//! Front matter: YAML between `---` lines at the very top of the first file, and nowhere else.

use std::ops::Range;

use super::lines::line_at;
use super::offsets::Offsets;
use super::yaml::{Node, read};
use crate::findings::{Finding, codes};
use crate::source::{FileId, Span};

/// Whether a file is the first of its journal: only that one may open with front matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Position {
    First,
    Later,
}

/// What stands before the Markdown.
#[derive(Debug, Default)]
pub(super) struct Front {
    pub node: Option<Node>,
    /// Where the Markdown begins.
    pub end: usize,
    /// There is some, sound or not.
    pub there: bool,
    pub findings: Vec<Finding>,
}

/// Reads front matter. Misplaced front matter is a finding, and is kept out of the prose too.
pub(super) fn front(file: FileId, position: Position, text: &str) -> Front {
    let mark = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let top = first_line_with_text(text, mark);
    let (line, inside) = line_at(text, top);
    if !is_rule(&text[line.clone()]) {
        return Front { end: mark, ..Front::default() };
    }
    let opening = Span::new(file, line.start, line.end);
    let closing = closing_line(text, inside);
    if position == Position::First && top == mark {
        return match closing {
            Some(closing) => {
                let yaml = &text[inside..closing.start];
                let (node, findings) = read(yaml, &Offsets::shifted(file, inside));
                Front { node, end: closing.end, there: true, findings }
            }
            None => Front {
                end: mark,
                findings: vec![Finding::new(
                    &codes::FRONT_MATTER,
                    opening,
                    "front matter that is opened by `---` and never closed",
                    "type a line `---` after its last entry; or, if this is no front matter, put `***` here",
                )],
                ..Front::default()
            },
        };
    }
    match closing {
        Some(closing) if looks_like_yaml(text, inside) => {
            let (code, message, help) = match position {
                Position::First => (
                    &codes::FRONT_MATTER,
                    "front matter that does not begin on the first line of the file",
                    "remove the empty lines above `---`",
                ),
                Position::Later if root_keys(&text[inside..closing.start]) => (
                    &codes::FRONT_MATTER,
                    "front matter in a file that is not the first of the journal",
                    "move these lines to the top of the first file, between its `---` lines",
                ),
                Position::Later => (
                    &codes::STRAY_FRONT_MATTER,
                    "front matter in a file that is not the first of the journal, which is passed over",
                    "remove it, or move what is meant for the journal to the top of its first file",
                ),
            };
            let finding = Finding::new(code, opening, message, help);
            Front { node: None, end: closing.end, there: true, findings: vec![finding] }
        }
        _ => Front { end: mark, ..Front::default() },
    }
}

/// Where closed front matter opens at the top of a file, and whether it says whose journal this is: only the keys of
/// such front matter make a folder a journal.
pub(crate) fn front_of(file: FileId, text: &str) -> Option<(Span, bool)> {
    let mark = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let (line, inside) = line_at(text, first_line_with_text(text, mark));
    let closing = closing_line(text, inside).filter(|_| is_rule(&text[line.clone()]))?;
    let yaml = &text[inside..closing.start];
    let there = looks_like_yaml(text, inside) || root_keys(yaml);
    there.then(|| (Span::new(file, line.start, line.end), root_keys(yaml)))
}

/// Whether one of the lines opens with a key that only a journal has.
fn root_keys(yaml: &str) -> bool {
    let key = |line: &str| line.split_once(':').map(|(key, _)| key.trim_end().to_owned());
    yaml.lines().filter_map(key).any(|key| matches!(key.as_str(), "vehicle" | "builder" | "rules"))
}

fn first_line_with_text(text: &str, from: usize) -> usize {
    let mut at = from;
    while at < text.len() {
        let (line, next) = line_at(text, at);
        if !text[line].trim().is_empty() {
            break;
        }
        at = next;
    }
    at
}

fn is_rule(line: &str) -> bool {
    line.trim_end() == "---"
}

/// The closing `---` line with its line end.
fn closing_line(text: &str, from: usize) -> Option<Range<usize>> {
    let mut at = from;
    while at < text.len() {
        let (line, next) = line_at(text, at);
        if is_rule(&text[line]) {
            return Some(at..next);
        }
        at = next;
    }
    None
}

/// A line `key: ...`, which prose between two rules seldom is.
fn looks_like_yaml(text: &str, at: usize) -> bool {
    let line = &text[line_at(text, at).0];
    match line.split_once(':') {
        Some((key, rest)) => {
            !key.is_empty()
                && key.chars().all(|c| c.is_alphanumeric() || c == '_' || c == '-')
                && (rest.is_empty() || rest.starts_with(' '))
        }
        None => false,
    }
}
