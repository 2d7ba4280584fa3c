//! Why a change to a journal can't be made.

use crate::findings::Finding;
use crate::words::{Words, words};

/// Why a change can't be made. `set` is the full name of the input.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Refusal {
    /// No field has that name; `near` is one that is close to it.
    Unknown { set: String, near: Option<String> },
    /// It is worked, taken from a part, or stated by a rule: no input.
    Calculated { set: String },
    /// It is a curve, and no one value can stand for it.
    Curve { set: String },
    /// Its value is no text of its own in the journal: it is a cell of a CSV file, or an end of `FROM to TO`.
    Elsewhere { set: String },
    /// It is set more than once.
    Twice { set: String },
    /// Nothing is to stand there.
    Nothing { set: String },
    /// A block names a part that lacks these fields, which the block needs.
    Lacks { part: String, fields: Vec<String>, needed_by: String },
    /// The journal would have this error, and had it not before.
    Wrong(Finding),
}

impl Refusal {
    /// One phrase, as messages of findings are.
    pub(crate) fn words(&self) -> Words {
        match self {
            Refusal::Unknown { set, near: None } => words!("there is no input `{}`", set),
            Refusal::Unknown { set, near: Some(near) } => {
                words!("there is no input `{}`; did you mean `{}`?", set, near)
            }
            Refusal::Calculated { set } => words!("`{}` is calculated, no input", set),
            Refusal::Curve { set } => words!("`{}` is a curve, not one value", set),
            Refusal::Elsewhere { set } => words!("`{}` is no text of its own in the journal", set),
            Refusal::Twice { set } => words!("`{}` is set twice", set),
            Refusal::Nothing { set } => words!("nothing is given for `{}`", set),
            Refusal::Lacks { part, fields, needed_by } => {
                let fields = Words::names(fields.iter().map(String::as_str));
                words!("`{}` has no {}, which `{}` needs", part, fields, needed_by)
            }
            Refusal::Wrong(finding) => finding.message.clone(),
        }
    }
}
