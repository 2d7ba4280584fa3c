//! What a journal settles with its readers beside numbers: limits that were read, questions that were answered,
//! calibrations, the sheet for a rescue crew.

use super::slot::Slot;
use crate::quantities::si::Length;
use crate::rules::Source;
use crate::source::Span;

/// One limit, and who read it where.
#[derive(Clone, Debug)]
pub(crate) struct Confirmation {
    pub source: &'static Source,
    /// The id of a document of the journal, with its place.
    pub document: (String, Span),
    pub clause: String,
    pub by: String,
    pub date: String,
}

impl Confirmation {
    /// `confirmed by J. Marl on 2026-03-02, LT-1, clause 3`.
    pub(crate) fn words(&self) -> String {
        format!("confirmed by {} on {}, {}, {}", self.by, self.date, self.document.0, self.clause)
    }
}

/// What somebody answers to an item of a rule pack, or to a subject that every journal is asked about.
#[derive(Clone, Debug)]
pub(crate) struct Statement {
    /// As it is typed: `un-r100.touch_protection`, or the item alone.
    pub item: String,
    pub at: Span,
    pub reply: Reply,
    pub because: Option<String>,
    /// Ids of `sources` documents and names of blocks, each with its place.
    pub evidence: Vec<(String, Span)>,
    pub by: String,
    pub date: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Reply {
    Yes,
    No,
    NotApplicable,
}

impl Reply {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Reply::Yes => "yes",
            Reply::No => "no",
            Reply::NotApplicable => "not applicable",
        }
    }
}

/// How long an instrument's calibration held, and when it was used.
#[derive(Clone, Debug)]
pub(crate) struct Calibration {
    /// Where its end stands.
    pub at: Span,
    pub instrument: String,
    /// `None` where it was never calibrated.
    pub until: Option<String>,
    pub used: Option<String>,
}

impl Calibration {
    /// Whether it held on the day. Days so written sort as text.
    pub(crate) fn held(&self) -> bool {
        match (&self.until, &self.used) {
            (Some(until), Some(used)) => used <= until,
            (None, _) => false,
            (Some(_), None) => true,
        }
    }
}

/// A record of a test.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Record<'b> {
    /// What was tested.
    pub test: &'b str,
    /// Dated after the journal's day.
    pub to_come: bool,
}

/// What stands on the sheet for a rescue crew, its places as values of the block.
#[derive(Clone)]
pub(crate) struct RescueSheet {
    pub places: Vec<RescuePlace>,
    /// Length, width, height and wheelbase.
    pub outline: Option<[Slot<Length>; 4]>,
    pub make_safe: Vec<String>,
    pub fire: String,
}

#[derive(Clone)]
pub(crate) struct RescuePlace {
    pub name: String,
    pub what: RescueThing,
    /// Behind the front axle, right of the middle, above the ground.
    pub at: [Slot<Length>; 3],
    /// The other end of a cable, the opposite corner of a pack.
    pub to: Option<[Slot<Length>; 3]>,
    pub note: Option<String>,
}

/// What a crew finds at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum RescueThing {
    Pack,
    Cable,
    CutLoop,
    Disconnect,
    /// Of 12 V.
    Battery,
    Isolator,
    Motor,
    Charger,
    Inlet,
    Other,
}

impl RescueThing {
    pub(crate) const ALL: [RescueThing; 10] = [
        RescueThing::Pack,
        RescueThing::Cable,
        RescueThing::CutLoop,
        RescueThing::Disconnect,
        RescueThing::Battery,
        RescueThing::Isolator,
        RescueThing::Motor,
        RescueThing::Charger,
        RescueThing::Inlet,
        RescueThing::Other,
    ];

    /// As it is typed.
    pub(crate) fn word(self) -> &'static str {
        match self {
            RescueThing::Pack => "pack",
            RescueThing::Cable => "cable",
            RescueThing::CutLoop => "cut-loop",
            RescueThing::Disconnect => "disconnect",
            RescueThing::Battery => "battery",
            RescueThing::Isolator => "isolator",
            RescueThing::Motor => "motor",
            RescueThing::Charger => "charger",
            RescueThing::Inlet => "inlet",
            RescueThing::Other => "other",
        }
    }
}
