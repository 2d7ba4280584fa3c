//! Small makers of marked text and of columns.

use super::super::piece::{Align, Column, Face, Mark, Rich, Run, Target};
use crate::evaluate::Verdict;
use crate::model::in_words;
use crate::report::spaced;
use crate::words::{self, Words};

pub(super) fn text(text: impl Into<String>, face: Face) -> Run {
    Run::Text { text: text.into(), face }
}

pub(super) fn one(words: impl Into<String>, face: Face) -> Rich {
    Rich(vec![text(words, face)])
}

/// A link to a place in this document.
pub(super) fn link(words: impl Into<String>, id: impl Into<String>) -> Rich {
    Rich(vec![Run::Link { text: Rich::plain(words), target: Target::Inner { id: id.into() } }])
}

/// Puts several together.
pub(super) fn join(parts: impl IntoIterator<Item = Rich>) -> Rich {
    Rich(parts.into_iter().flat_map(|part| part.0).collect())
}

pub(super) fn verdict(verdict: Verdict) -> Rich {
    Rich(vec![Run::Verdict { verdict: mark(verdict) }])
}

/// Which of several verdicts is told for all.
pub(super) fn gravity(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Meets => 0,
        Verdict::Close => 1,
        Verdict::Open => 2,
        Verdict::Fails => 3,
    }
}

pub(super) fn mark(verdict: Verdict) -> Mark {
    match verdict {
        Verdict::Meets => Mark::Meets,
        Verdict::Close => Mark::Close,
        Verdict::Fails => Mark::Fails,
        Verdict::Open => Mark::Open,
    }
}

/// A margin as a bar.
pub(super) fn margin(share: Option<f64>) -> Rich {
    Rich(share.map(|share| Run::Margin { share: share.clamp(-1.0, 1.0) }).into_iter().collect())
}

/// The id of a block's opening.
pub(in crate::dossier) fn block_id(name: &str) -> String {
    format!("block.{name}")
}

/// A block by its name, leading to it.
pub(super) fn block(name: &str) -> Run {
    Run::Link { text: Rich(vec![self::name(name)]), target: Target::Inner { id: block_id(name) } }
}

/// A value by its full name, leading to it.
pub(super) fn value(name: &str, id: String) -> Rich {
    Rich(vec![Run::Link { text: Rich(vec![self::name(name)]), target: Target::Inner { id } }])
}

/// A name as people say it. What is more than a name, a line to type or a file, stands as it is.
pub(super) fn name(name: &str) -> Run {
    let word = |word: &str| !word.is_empty() && word.bytes().all(|b| b == b'_' || b.is_ascii_alphanumeric());
    let file = FILES.iter().any(|ending| name.ends_with(ending));
    let said = name.contains('_') && !file && name.split('.').all(word);
    text(if said { in_words(name) } else { name.to_owned() }, Face::Code)
}

const FILES: [&str; 7] = [".csv", ".jpg", ".md", ".pdf", ".png", ".tsv", ".txt"];

/// A label or a value in words: what is named in it as people say it.
pub(super) fn label(words: &str) -> Rich {
    Rich::plain(spaced(words))
}

/// Words as runs.
pub(in crate::dossier) fn set(words: &Words, face: Face) -> Vec<Run> {
    let run = |run: &words::Run| match run {
        words::Run::Name(name) => self::name(name),
        words::Run::Text(_) | words::Run::Value(_) => text(run.text(), face),
    };
    words.runs().iter().map(run).collect()
}

pub(super) fn column(head: &str, align: Align, share: u16) -> Column {
    Column { head: Rich::plain(head), align, share }
}
