//! What a requirement came to: its verdict, with all that is said of it.

use crate::model::{RequirementKind, Stage};
use crate::words::Words;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Verdict {
    Meets,
    Close,
    Fails,
    /// It can't be judged.
    Open,
}

/// Why a requirement that is met nominally is only `close`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Doubt {
    /// The value may as well miss its limit.
    Narrow,
    /// Nobody has read the limit where it is stated.
    Unread,
    /// A reason that the kind knows: its method, a time without a source.
    Method,
}

/// One requirement with its verdict.
#[derive(Clone, Debug)]
pub(crate) struct Judged {
    pub block: usize,
    /// Its number in the block.
    pub number: usize,
    pub kind: RequirementKind,
    /// Indices into the table of values.
    pub actual: usize,
    pub low: Option<usize>,
    pub high: Option<usize>,
    /// (limit − actual)/limit for an upper limit, (actual − limit)/limit for a lower one, the smaller of both;
    /// positive when met. `None` where the limit is 0 or not known.
    pub margin: Option<f64>,
    pub verdict: Verdict,
    /// Of what is `close`.
    pub doubt: Option<Doubt>,
    /// Of what is `open`: when what is missing is due. `None` where that is no input.
    pub due: Option<Stage>,
    /// Of what is `open`: its time has not come at the journal's stage.
    pub not_yet: bool,
    /// The probability that the requirement is met; `None` where all is exact.
    pub conformity: Option<f64>,
    /// How many draws that is from, 0 where they are still to come; `None` where first order is enough.
    pub draws: Option<usize>,
    pub reason: Words,
}

impl Verdict {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Verdict::Meets => "meets",
            Verdict::Close => "close",
            Verdict::Fails => "fails",
            Verdict::Open => "open",
        }
    }
}

impl Doubt {
    /// The word for it in the register.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Doubt::Narrow => "narrow",
            Doubt::Unread => "unread",
            Doubt::Method => "method",
        }
    }
}

impl Judged {
    pub(super) fn limits(&self) -> impl Iterator<Item = usize> + use<> {
        self.low.into_iter().chain(self.high)
    }
}
