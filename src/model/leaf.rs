//! A leaf: a value that the author wrote (or a kind assumes), with all that is known of it.

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
}

/// Repeated readings of one quantity; their mean is the leaf's value.
#[derive(Clone, Debug)]
pub(crate) struct Readings {
    /// In SI units.
    pub values: Vec<f64>,
    /// Where the list stands.
    pub span: Span,
    /// Lists with the same name were taken at the same moments; with the name's place.
    pub together: Option<(String, Span)>,
}

impl Leaf {
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
        }
    }

    /// How the value is known, in one word or two for a reader.
    pub(crate) fn known_as(&self) -> &'static str {
        match self.rule {
            Some(_) => "rule",
            None if self.stated => "as stated",
            None => self.basis().word(),
        }
    }

    pub(crate) fn basis(&self) -> Basis {
        self.basis.unwrap_or(Basis::Assumed)
    }
}
