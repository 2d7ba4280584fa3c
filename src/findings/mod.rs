//! A finding is data; words and our own terminal layout are put together in one place; an author's mistake is never an `Err`.

pub(crate) mod codes;
mod hidden;
mod near;
mod terminal;

use crate::source::Span;
use crate::words::Words;

pub(crate) use hidden::{is_hidden, visible};
#[cfg(test)]
pub(crate) use near::COMPARED;
pub(crate) use near::{Nearby, suggest};
pub(crate) use terminal::{Ink, lines, print};

/// How grave a finding is. Errors make the exit status 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Severity {
    Error,
    Warning,
    Note,
}

/// What kind of mistake a finding is: its name is the contract with users and never changes.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Code {
    pub name: &'static str,
    pub severity: Severity,
    /// One sentence for the reference: when this is found.
    pub about: &'static str,
}

/// One mistake or remark, with the place in the journal that it is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Finding {
    pub code: &'static Code,
    /// `None` only for what concerns no place (an empty folder).
    pub span: Option<Span>,
    /// The number of the block that it concerns among the notebook's titles; `None` outside blocks.
    pub block: Option<u32>,
    /// One phrase, lower case, no full stop: what was found and what was expected.
    pub message: Words,
    /// What to do, worth reading with greasy hands: what to type.
    pub help: Words,
}

impl Severity {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        }
    }
}

impl Finding {
    pub(crate) fn new(
        code: &'static Code,
        span: Span,
        message: impl Into<Words>,
        help: impl Into<Words>,
    ) -> Finding {
        Finding { code, span: Some(span), block: None, message: message.into(), help: help.into() }
    }

    /// A finding that no place in the journal belongs to.
    pub(crate) fn placeless(
        code: &'static Code,
        message: impl Into<Words>,
        help: impl Into<Words>,
    ) -> Finding {
        Finding { code, span: None, block: None, message: message.into(), help: help.into() }
    }

    #[must_use]
    pub(crate) fn in_block(mut self, number: usize) -> Finding {
        self.block = Some(number as u32);
        self
    }

    /// What that block is called; empty outside blocks.
    pub(crate) fn title<'a>(&self, titles: &'a [String]) -> &'a str {
        self.block.and_then(|number| titles.get(number as usize)).map_or("", String::as_str)
    }

    pub(crate) fn is_error(&self) -> bool {
        self.code.severity == Severity::Error
    }
}
