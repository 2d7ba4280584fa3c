//! What is said of a value: one that a block was given, and one that it gives.

use crate::model::{self, Case, Purpose};
use crate::quantities::Basis;

/// A value that a block was given.
pub(crate) struct InputRow {
    pub name: String,
    pub label: String,
    /// The label without the item that it belongs to, and the item as its author named it.
    pub field: String,
    pub item: Option<String>,
    /// Value with its tolerance, as it is printed.
    pub shown: String,
    /// How it is known: a basis, `as stated`, or empty for text and what is taken from elsewhere.
    pub basis: &'static str,
    pub source: Option<String>,
    pub remark: Option<String>,
    /// The clause of the rules that it is taken from, with how well that is known; the remark says what it is about.
    pub clause: Option<String>,
    pub from: Option<Taken>,
    /// A default of the kind.
    pub assumed: bool,
    /// `supposed ± 5 %`, where nobody wrote a tolerance.
    pub supposed: Option<String>,
    /// Words, not a number.
    pub text: bool,
    pub purpose: Option<Purpose>,
}

/// What a value is taken from.
pub(crate) struct Taken {
    /// `block.result`, or an expression with its names in words.
    pub name: String,
    /// What people say for it; `None` for an expression.
    pub label: Option<String>,
}

/// What a block gives.
pub(crate) struct ResultRow {
    pub name: String,
    pub label: String,
    /// All that is known of it without a journal; `None` for an author's own step.
    pub row: Option<&'static model::ResultRow>,
    pub purpose: Option<Purpose>,
    /// The case of its family.
    pub case: Option<Case>,
    /// The value alone, rounded to the place of its uncertainty.
    pub shown: String,
    /// Its expanded uncertainty (k = 2), `None` where it is exact.
    pub expanded: Option<String>,
    /// Both in one text.
    pub full: String,
    /// The weakest basis that it rests on.
    pub weakest: Option<Basis>,
    /// The inputs that most of its variance comes from.
    pub contributors: Vec<Contributor>,
    /// Standard uncertainty and 95 % interval of its draws, where there are any.
    pub drawn: Option<String>,
    /// What it was worked from; empty for words.
    pub working: String,
}

/// An input that a variance comes from, or several that err together.
#[derive(Clone)]
pub(crate) struct Contributor {
    pub global: usize,
    /// The full name of the first.
    pub name: String,
    pub others: usize,
    pub share: f64,
}

impl Contributor {
    /// `kerb.removed.engine.mass and 4 more`.
    pub(crate) fn words(&self) -> String {
        match self.others {
            0 => self.name.clone(),
            others => format!("{} and {others} more", self.name),
        }
    }
}

/// What kind of statement a value is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Nature {
    Calculated,
    /// Measured on this vehicle.
    Measured,
    /// Said by a datasheet, a document or the builder.
    Stated,
}

impl Nature {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Nature::Calculated => "calculated",
            Nature::Measured => "measured",
            Nature::Stated => "stated",
        }
    }
}
