//! A leaf: a value that the author wrote (or a kind assumes), with all that is known of it.

use super::field::FieldSort;
use crate::quantities::{Basis, Literal, Shape, Tolerance, Unit, read_literal, show_number, show_operand};
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
    /// Half of its width, in SI.
    pub(crate) fn half(&self) -> f64 {
        (self.high - self.low) / 2.0
    }

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
pub(crate) const SPREAD: &str = "_spread";

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

    /// A value that the kind assumes.
    pub(crate) fn assumed(text: &str) -> Leaf {
        Leaf { default: true, ..Leaf::of_kind(text) }
    }

    /// A value that a size code or the like states: exact, and not open to doubt as an assumption is.
    pub(crate) fn stated(text: &str) -> Leaf {
        Leaf { stated: true, ..Leaf::of_kind(text) }
    }

    /// The same with its tolerance as a standard uncertainty.
    pub(crate) fn scattered(mut self) -> Leaf {
        if let Some(tolerance) = &mut self.literal.tolerance {
            tolerance.shape = Shape::Normal { coverage: 1.0 };
        }
        self
    }

    fn of_kind(text: &str) -> Leaf {
        Leaf::new(read_literal(text).expect("a kind's own value is written in the language"))
    }

    /// Of readings of several pieces, their standard deviation: what strings of such pieces need. Its own relative
    /// uncertainty is 1/√(2 (n − 1)) (JCGM 100:2008, E.4.3).
    pub(super) fn spread_of_pieces(&self) -> Option<Leaf> {
        let readings = self.readings.as_ref().filter(|readings| readings.pieces)?;
        let freedom = readings.values.len() as f64 - 1.0;
        let mean = self.literal.quantity.si;
        let squares: f64 = readings.values.iter().map(|value| (value - mean).powi(2)).sum();
        let spread = (squares / freedom).sqrt();
        let own = &self.literal.unit;
        let unit = if own.is_point() { Unit::coherent(own.dimension) } else { own.clone() };
        let one = read_literal(&format!("1 {}", unit.symbol)).expect("a number with its unit");
        let off = spread / (2.0 * freedom).sqrt();
        // What is equal within the readings' digits is not known to differ.
        let tolerance = (spread > 0.0).then(|| Tolerance {
            half_width_si: off,
            relative: None,
            text: show_operand(off, &unit, 2),
            shape: Shape::Normal { coverage: 1.0 },
        });
        let number_text = show_number(unit.value_of(spread), 3);
        let literal = Literal { number_text, significant: 3, digit_si: None, tolerance, ..one };
        Some(Leaf {
            basis: self.basis,
            source: self.source.clone(),
            remark: Some(format!("standard deviation of {} pieces", readings.values.len())),
            ..Leaf::new(literal.at_si(spread))
        })
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
                FieldSort::Stated | FieldSort::Nominal => "as stated",
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
