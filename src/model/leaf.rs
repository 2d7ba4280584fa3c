//! A leaf: a value that the author wrote (or a kind assumes), with all that is known of it.

use super::field::FieldSort;
use crate::quantities::{Basis, Literal};
use crate::rules::Source;
use crate::source::Span;

#[derive(Clone, Debug)]
pub(crate) struct Leaf {
    pub literal: Literal,
    /// `None` where nothing was said; it then counts as assumed.
    pub basis: Option<Basis>,
    /// The id of a `sources` block's document, with its place.
    pub source: Option<(String, Span)>,
    pub remark: Option<String>,
    pub readings: Option<Readings>,
    /// A default of the kind, not a word of the author.
    pub default: bool,
    /// Exact by definition: a part of a size code.
    pub stated: bool,
    /// A limit or table value of the rules, with its source; neither the author's nor open to doubt as an assumption.
    pub rule: Option<&'static Source>,
    pub sort: FieldSort,
    /// What it is worth beside what its author wrote.
    pub supposed: Option<Supposed>,
}

/// A tolerance that nobody wrote: a rectangle, cut at the range of what is possible.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Supposed {
    /// In SI, of a curve's scale as a plain number; the value lies between them.
    pub low: f64,
    pub high: f64,
    /// As it is printed after `±`.
    pub text: String,
    /// All with the same number are off by the same part of their width; `None` for what errs alone.
    pub together: Option<u32>,
    pub claim: Claim,
}

impl Supposed {
    /// `supposed ± 5 %`.
    pub(crate) fn words(&self) -> String {
        let what = match self.claim {
            Claim::SaidAccuracy => "accuracy",
            Claim::DeviceAccuracy => "accuracy supposed",
            Claim::Everywhere | Claim::DoubtedExact => "supposed",
        };
        format!("{what} ±\u{a0}{}", self.text)
    }
}

/// Where an uncertainty counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Claim {
    Everywhere,
    /// The author wrote `± 0` on what is never known exactly: verdicts of kind safety and legal don't believe it.
    DoubtedExact,
    /// What a device makes of its setting: verdicts of kind safety use it.
    DeviceAccuracy,
    /// The same by its author's word.
    SaidAccuracy,
}

/// What the standard deviation of readings that are `of: pieces` is called behind the value's own name.
pub(super) const SPREAD: &str = "_spread";

/// Repeated readings of one quantity; their mean is the leaf's value.
#[derive(Clone, Debug)]
pub(crate) struct Readings {
    /// In SI units.
    pub values: Vec<f64>,
    /// Where the list stands.
    pub span: Span,
    /// The instrument's step, in SI.
    pub resolution: Option<f64>,
    /// Each reading is of another piece, and what is told is a piece: its uncertainty is their standard deviation.
    pub pieces: bool,
    /// Lists with the same name were taken at the same moments; with the name's place.
    pub together: Option<(String, Span)>,
}

impl Leaf {
    /// From a literal, its note taken over.
    pub(super) fn read(literal: Literal, span: Span) -> Leaf {
        let mut leaf = Leaf::new(literal);
        if let Some(note) = leaf.literal.note.clone() {
            leaf.basis = Some(note.basis);
            leaf.source = note.source.map(|(id, at)| (id, span.part(at.start, at.len())));
            leaf.remark = note.remark;
        }
        leaf
    }

    pub(crate) fn new(literal: Literal) -> Leaf {
        Leaf {
            literal,
            basis: None,
            source: None,
            remark: None,
            readings: None,
            default: false,
            stated: false,
            rule: None,
            sort: FieldSort::Physical,
            supposed: None,
        }
    }

    /// Whether it is worked with a width that nobody wrote.
    pub(crate) fn is_supposed(&self) -> bool {
        self.supposed.as_ref().is_some_and(|supposed| supposed.claim != Claim::SaidAccuracy)
    }

    /// How the value is known, in one word or two for a reader.
    pub(crate) fn known_as(&self) -> &'static str {
        match (self.rule, self.basis) {
            (Some(_), _) => "rule",
            _ if self.stated => "as stated",
            (None, Some(basis)) => basis.word(),
            (None, None) if self.default => Basis::Assumed.word(),
            (None, None) => match self.sort {
                FieldSort::Choice => Basis::Target.word(),
                FieldSort::Condition | FieldSort::Setting => "chosen",
                FieldSort::Stated => "as stated",
                FieldSort::Physical => Basis::Assumed.word(),
            },
        }
    }

    pub(crate) fn basis(&self) -> Basis {
        self.basis.unwrap_or(match self.sort {
            FieldSort::Choice if !self.default => Basis::Target,
            _ => Basis::Assumed,
        })
    }

    /// How the value is known, where that may be doubted: not of what is exact because somebody chose or states it.
    pub(crate) fn doubtful_basis(&self) -> Option<Basis> {
        let exact = matches!(self.sort, FieldSort::Condition | FieldSort::Setting | FieldSort::Stated);
        if self.stated || self.basis.is_none() && exact && !self.default { None } else { Some(self.basis()) }
    }
}
