//! The note behind a value: how it is known, from which source, and a remark.

use std::ops::Range;

use super::fault::Fault;
use crate::findings::{codes, suggest};
use crate::words::words;

/// How a value is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Basis {
    Measured,
    Datasheet,
    Published,
    Estimated,
    Assumed,
    Target,
}

/// `(BASIS [SOURCE] [; remark])`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Note {
    pub basis: Basis,
    /// The id in a `sources` block, and where it stands in the text that was read.
    pub source: Option<(String, Range<usize>)>,
    pub remark: Option<String>,
}

impl Basis {
    pub(crate) const ALL: [Basis; 6] = [
        Basis::Measured,
        Basis::Datasheet,
        Basis::Published,
        Basis::Estimated,
        Basis::Assumed,
        Basis::Target,
    ];

    pub(crate) fn word(self) -> &'static str {
        match self {
            Basis::Measured => "measured",
            Basis::Datasheet => "datasheet",
            Basis::Published => "published",
            Basis::Estimated => "estimated",
            Basis::Assumed => "assumed",
            Basis::Target => "target",
        }
    }

    /// Whether a document that stands beside it states the value: what is estimated by one, it does not.
    pub(crate) fn is_stated(self) -> bool {
        matches!(self, Basis::Measured | Basis::Datasheet | Basis::Published)
    }

    pub(crate) fn read(word: &str) -> Option<Basis> {
        Basis::ALL.into_iter().find(|basis| basis.word() == word)
    }
}

/// Reads `BASIS [SOURCE] [; remark]`, as it stands in a note or after the key `basis`.
///
/// Errors: `bad-value` for a first word that is no basis, or more than one word as a source.
pub(crate) fn read_note(text: &str) -> Result<Note, Fault> {
    let (head, remark) = match text.split_once(';') {
        Some((head, remark)) => (head, Some(remark.trim()).filter(|remark| !remark.is_empty())),
        None => (text, None),
    };
    let mut words = head.split_whitespace();
    let first = words.next().unwrap_or("");
    // Every word asked for is a part of the text, or empty.
    let place = |word: &str| (word.as_ptr() as usize).saturating_sub(text.as_ptr() as usize).min(text.len());
    let Some(basis) = Basis::read(first) else {
        let from = if first.is_empty() { 0 } else { place(first) };
        return Err(no_basis(first, from..from + first.len()));
    };
    let source = words.next();
    if let Some(extra) = words.next() {
        let from = place(extra);
        return Err(Fault::new(
            &codes::BAD_VALUE,
            from..head.trim_end().len().max(from),
            words!("`{}` after the source of a note", extra),
            words!(
                "put a remark after a semicolon: `({} {}; …)`",
                basis.word(),
                source.unwrap_or("").trim_end_matches(',')
            ),
        ));
    }
    let source = source.map(|id| (id.to_owned(), place(id)..place(id) + id.len()));
    Ok(Note { basis, source, remark: remark.map(str::to_owned) })
}

fn no_basis(word: &str, at: Range<usize>) -> Fault {
    let words = Basis::ALL.map(Basis::word);
    let help = match suggest(word, words) {
        Some(near) => {
            words!("type `{}`, if that is meant; a note begins with one of `{}`", near, words.join("` `"))
        }
        None => words!("a note begins with one of `{}`", words.join("` `")),
    };
    let shown: String = word.chars().take(40).collect();
    let message =
        if shown.is_empty() { "a note without a basis".into() } else { words!("`{}` is no basis", shown) };
    Fault::new(&codes::BAD_VALUE, at, message, help)
}
