//! The values of a block, declared before any is known: fields that it is given and results that it gives.

use std::sync::Arc;

use super::field::{FieldDoc, Range};
use super::leaf::Leaf;
use super::purpose::Purpose;
use super::requirement_row::{RequirementKind, RequirementRow};
use super::row::{Case, ResultRow};
use crate::quantities::{Curve, Expression, Sort, Unit};
use crate::rules::{Source, Standing};
use crate::source::Span;

/// One named value of a block. Its index in the block is its [`super::Slot`].
#[derive(Clone)]
pub(crate) struct NodeDecl {
    /// As it is typed in references, without the block's name: `stages.gearbox.ratio`.
    pub name: String,
    /// Where its value (or, of a result, its block's name) stands.
    pub span: Span,
    /// `None` for what may have any dimension.
    pub sort: Option<&'static Sort>,
    pub unit: Unit,
    pub range: Range,
    pub role: Role,
    /// Worked for the program's own use (a limit's formula) and never shown as a result.
    pub hidden: bool,
    /// Whole numbers; never nudged.
    pub count: bool,
    /// Of a result: all that is known of it without a journal.
    pub row: Option<&'static ResultRow>,
    /// Of a field.
    pub doc: Option<&'static FieldDoc>,
    /// The item that a field belongs to, the case that a result is of.
    pub case: Option<Case>,
    pub purpose: Option<Purpose>,
}

#[derive(Clone)]
pub(crate) enum Role {
    Field(Origin),
    Step(Computed),
}

/// Where a field's value comes from.
#[derive(Clone)]
pub(crate) enum Origin {
    Leaf(Box<Leaf>),
    /// What the author wrote after `from`, or a value that the kind takes from a block by name.
    Reference(Resolved),
    Curve {
        curve: Arc<Curve>,
        leaf: Option<Box<Leaf>>,
    },
    Text(String),
    /// It could not be read; the finding has been made.
    Failed,
    /// The author need not give it, and did not.
    Absent,
}

impl From<Standing> for Status {
    fn from(standing: Standing) -> Status {
        match standing {
            Standing::Read => Status::Read,
            Standing::SecondHand => Status::SecondHand,
            Standing::Memory | Standing::Practice => Status::Memory,
        }
    }
}

impl Leaf {
    /// A value of the rules: a limit, or one of a table that a word of the author's (a size, a class) stands for.
    pub(crate) fn ruled(text: &str, source: &'static Source) -> Leaf {
        let remark = format!("{}: {}", Leaf::clause(source), source.about);
        Leaf { rule: Some(source), remark: Some(remark), ..Leaf::stated(text) }
    }

    /// `UN R100 (revision 2), 1.2.3.4 (second-hand)`.
    pub(crate) fn clause(source: &Source) -> String {
        format!("{} ({})", source.words(), Status::from(source.standing).word())
    }
}

impl From<Leaf> for Origin {
    fn from(leaf: Leaf) -> Origin {
        Origin::Leaf(Box::new(leaf))
    }
}

impl From<(Curve, Leaf)> for Origin {
    fn from((curve, leaf): (Curve, Leaf)) -> Origin {
        Origin::Curve { curve: Arc::new(curve), leaf: Some(Box::new(leaf)) }
    }
}

/// An expression over values of the journal, its names in the order of [`Expression::names`].
#[derive(Clone)]
pub(crate) struct Resolved {
    pub expression: Expression,
    /// Where its text begins in the file; `None` where the kind made it.
    pub text: Option<Span>,
    pub wanted: Wanted,
    /// The name of a curve that is taken whole.
    pub whole_curve: bool,
    /// The value of the same block that stands in where there is no such name.
    pub otherwise: Option<u32>,
    /// The block's binding that it is taken through: the expression is then its name in the block that is bound.
    pub through: Option<u32>,
}

/// Which block a block takes values from, and what made it so. Nothing that is taken knows the other block's name, so
/// that another one can be put in its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Binding {
    /// The field that names it, with list and item: `motor`, `installed.motor.part`. Where the kind found the block by
    /// itself, the field that it stands for.
    pub field: String,
    /// The value of this block that holds the name; `None` where the kind found the block by itself.
    pub written: Option<u32>,
    /// Its number.
    pub block: usize,
}

/// Who asked for a referenced value, which decides what is said when it is not there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Wanted {
    Author,
    /// A comparison of the author's: what it is about may come later in the journal's life.
    Wish,
    /// The kind needs it from the block that the author named.
    Kind,
    /// The kind takes it where it is there.
    KindIfThere,
}

/// How a result is worked.
#[derive(Clone)]
pub(crate) enum Computed {
    /// In Rust, and again by this formula from the shown values.
    Formula { expression: Expression, uses: Vec<u32> },
    /// In Rust by a method that no one-line formula states.
    /// The method is told in words; `present` gives its own check of the nominal run.
    Procedure { method: &'static str, uses: Vec<u32> },
    /// By the quantity engine alone: an author's own step, or a limit.
    Engine { expression: Expression, uses: Vec<u32> },
    /// Words that `present` finds.
    Text { uses: Vec<u32> },
}

/// A limit on a value of this block. `actual`, `low` and `high` are indices of nodes.
#[derive(Clone)]
pub(crate) struct Requirement {
    pub name: String,
    /// `None` for an author's own.
    pub row: Option<&'static RequirementRow>,
    pub case: Option<Case>,
    pub kind: RequirementKind,
    pub actual: u32,
    pub low: Option<u32>,
    pub high: Option<u32>,
    /// Where one of these is not there, nothing is required.
    pub optional: Vec<u32>,
    /// Equality with the limit misses it (`<`, `>`).
    pub strict: bool,
    pub span: Span,
    /// Where the limit comes from, in words.
    pub source: String,
    pub status: Status,
    /// What of the rules it stands by.
    pub rules: Vec<&'static Source>,
    /// Who confirmed all of that.
    pub confirmed_by: Option<String>,
}

/// How well a limit's source is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Status {
    /// The journal itself states the limit.
    Stated,
    /// It follows from arithmetic or from the block's own inputs.
    Derived,
    /// The document, or an official extract of it, was read.
    Read,
    /// Somebody who is named read it for this journal.
    Confirmed,
    /// Another document states it; a verdict on it is at best `close`.
    SecondHand,
    /// Unverified; a verdict on it is `open`.
    Memory,
}

impl Status {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Status::Stated => "stated in the journal",
            Status::Derived => "worked from the block's inputs",
            Status::Read => "read",
            Status::Confirmed => "confirmed",
            Status::SecondHand => "second-hand",
            Status::Memory => "from memory, unverified",
        }
    }
}

impl Requirement {
    /// The words for a reader.
    pub(crate) fn label(&self, nodes: &[NodeDecl]) -> String {
        let Some(row) = self.row else {
            // The limit of a rule pack is on a result of the block.
            return match self.name.split_once(' ').filter(|_| !self.rules.is_empty()) {
                Some((pack, _)) => format!("{}, by {pack}", nodes[self.actual as usize].label()),
                None => label(&self.name),
            };
        };
        let of = match row.label {
            "" => nodes[self.actual as usize].bare_label(),
            own => own.to_owned(),
        };
        match &self.case {
            Some(case) => format!("{of}, {}", case.title),
            None => of,
        }
    }
}

impl NodeDecl {
    /// A value for the program's own use.
    pub(super) fn hidden(name: String, span: Span, (unit, role): (Unit, Role)) -> NodeDecl {
        NodeDecl {
            name,
            span,
            sort: None,
            unit,
            range: Range::Any,
            role,
            hidden: true,
            count: false,
            row: None,
            doc: None,
            case: None,
            purpose: None,
        }
    }

    /// The words for a reader: `gearbox ratio`, `wheel speed`, `consumption, WLTC class 3b`.
    pub(crate) fn label(&self) -> String {
        let (label, title) = (self.bare_label(), self.case.as_ref().map(|case| case.title.as_str()));
        match (self.row, title) {
            (Some(_), Some(title)) => format!("{label}, {title}"),
            (None, Some(title)) if self.doc.is_some() => format!("{title} {label}"),
            _ => label,
        }
    }

    /// The same without the item or case that it is of.
    pub(crate) fn bare_label(&self) -> String {
        match (self.row, self.doc) {
            (Some(row), _) => row.label.to_owned(),
            (None, Some(doc)) if !doc.label.is_empty() => doc.label.to_owned(),
            (None, Some(doc)) if self.case.is_some() => {
                label(doc.name.rsplit('.').next().unwrap_or(doc.name))
            }
            _ => label(&self.name),
        }
    }

    /// Whether other blocks may name it: what is shown, and results that are not there.
    pub(crate) fn has_a_name(&self) -> bool {
        !self.hidden || self.row.is_some()
    }

    pub(crate) fn is_result(&self) -> bool {
        matches!(self.role, Role::Step(_)) && !self.hidden
    }

    pub(crate) fn is_reference(&self) -> bool {
        matches!(self.role, Role::Field(Origin::Reference(_)))
    }

    pub(crate) fn leaf(&self) -> Option<&Leaf> {
        match &self.role {
            Role::Field(Origin::Leaf(leaf)) => Some(leaf),
            Role::Field(Origin::Curve { leaf, .. }) => leaf.as_deref(),
            _ => None,
        }
    }

    /// In SI, where a number was written.
    pub(crate) fn si(&self) -> Option<f64> {
        self.leaf().map(|leaf| leaf.literal.quantity.si)
    }

    /// Whether it could not be read; its finding has been made.
    pub(crate) fn is_failed(&self) -> bool {
        matches!(self.role, Role::Field(Origin::Failed))
    }

    /// Whether it is a curve, so far as reading tells.
    pub(crate) fn is_curve(&self) -> bool {
        match &self.role {
            Role::Field(Origin::Curve { .. }) => true,
            Role::Field(Origin::Reference(resolved)) => resolved.whole_curve,
            _ => false,
        }
    }

    /// The nodes of the same block that a result is worked from.
    pub(crate) fn uses(&self) -> &[u32] {
        match &self.role {
            Role::Step(
                Computed::Formula { uses, .. }
                | Computed::Procedure { uses, .. }
                | Computed::Engine { uses, .. }
                | Computed::Text { uses },
            ) => uses,
            Role::Field(_) => &[],
        }
    }

    pub(crate) fn is_text(&self) -> bool {
        matches!(self.role, Role::Field(Origin::Text(_)) | Role::Step(Computed::Text { .. }))
    }
}

/// A name in words. The list that an item stands in is left out: `stages.gearbox.ratio` is the gearbox ratio.
pub(crate) fn label(name: &str) -> String {
    let kept = match name.split_once('.') {
        Some((_, rest)) if rest.contains('.') => rest,
        _ => name,
    };
    in_words(kept)
}

/// A name as people say it, all of it: `cell.resistance_1khz` is the cell resistance at 1 kHz.
pub(crate) fn in_words(name: &str) -> String {
    let words = name.replace(['.', '_'], " ").trim().to_owned();
    UNITS.iter().fold(words, |words, (typed, said)| words.replace(typed, said))
}

/// Units within names, and how they are said.
const UNITS: [(&str, &str); 3] =
    [(" 1khz", " at 1\u{a0}kHz"), (" km h", "\u{a0}km/h"), (" mi h", "\u{a0}mi/h")];

/// With its first letter large, as a sentence begins.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().collect::<String>() + letters.as_str())
}
