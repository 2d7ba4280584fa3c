//! What a block says of its nominal values: sentences, cautions, notes, pictures, findings.

use std::sync::Arc;

use super::chart::Chart;
use super::node::NodeDecl;
use super::requirement_row::Stage;
use super::slot::Slot;
use crate::findings::{Code, Finding};
use crate::quantities::si::Measure;
use crate::quantities::{Curve, Unit};
use crate::source::Span;
use crate::words::{Shown, Words};

/// A document that the journal's values can name as their source.
#[derive(Clone, Debug)]
pub(crate) struct SourceEntry {
    pub id: String,
    pub span: Span,
    pub title: String,
    /// `(label, text)` for the dossier: kind, date, publisher, link.
    pub details: Vec<(&'static str, String)>,
    pub link: Option<String>,
    /// Whether its author named a file, be it there or not.
    pub names_file: bool,
    /// The file's path in the journal folder and the SHA-256 of its bytes, in hex.
    pub file: Option<(String, String)>,
}

impl SourceEntry {
    /// Whether it has a file that is not text of the journal: what stands on itself shows nothing.
    pub(crate) fn shows(&self) -> bool {
        let own =
            |path: &str| path.to_lowercase().ends_with(".md") || path.to_lowercase().ends_with(".markdown");
        self.file.as_ref().is_some_and(|(path, _)| !own(path))
    }
}

/// The usual cautions; their words stand in one place for region, dossier and summary.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Caution {
    /// A pack above 60 V DC.
    HighVoltage,
    /// A pack of 60 V or less.
    LowVoltagePack,
    /// A motor that gives a voltage when the vehicle is towed.
    Towing,
    /// Something that must hold in a crash.
    Holding,
}

/// A table of words, as wide as its head.
#[derive(Clone, Debug, Default)]
pub(crate) struct Grid {
    pub head: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

/// Gathers what a block says; values are shown in the reader's units.
pub(crate) struct Page<'a> {
    pub(crate) nodes: &'a [NodeDecl],
    pub(crate) show: &'a dyn Fn(usize) -> Option<String>,
    pub(crate) show_as: &'a dyn Fn(usize, f64) -> String,
    /// The unit that each value is shown in.
    pub(crate) units: &'a [Unit],
    pub(crate) values: &'a [f64],
    pub(crate) known: &'a [bool],
    pub(crate) curves: &'a [Option<Arc<Curve>>],
    pub(crate) span: Span,
    /// Somebody reads it. Where not, errors are all that counts: what takes long may be left out, checks and pictures.
    pub(crate) read: bool,
    pub(crate) said: Said,
}

/// What a kind knows of a requirement beyond its numbers.
#[derive(Clone, Debug)]
pub(crate) struct Held {
    pub requirement: String,
    /// `None` where it is only `close`; else `open`, and this is when it is due.
    pub due: Option<Stage>,
    pub reason: Words,
}

/// What was said.
#[derive(Default)]
pub(crate) struct Said {
    /// The outcome in one sentence: what stands in bold, and the rest.
    pub sentence: (Words, Words),
    /// The results that matter most, by slot.
    pub headline: Vec<usize>,
    pub texts: Vec<(usize, String)>,
    pub cautions: Vec<Caution>,
    pub notes: Vec<Words>,
    pub tables: Vec<Grid>,
    pub findings: Vec<Finding>,
    pub chart: Option<Chart>,
    /// Pictures that stand under the first one.
    pub more_charts: Vec<Chart>,
    /// Requirements whose verdict is no better than that, for a reason that the kind knows.
    pub held: Vec<Held>,
    /// Requirements by name, with what their verdict says besides.
    pub besides: Vec<(&'static str, Words)>,
    /// Results that no verdict may rest on, by slot, with the reason.
    pub unfit: Vec<(usize, Words)>,
    /// Values that nobody believes as they are, by slot.
    pub questioned: Vec<usize>,
    /// Values that no verdict better than `close` may rest on, where they rest on a guess, and why.
    pub doubted: Vec<(usize, Words)>,
    /// Results that this vehicle does not have, by slot, with the reason.
    pub not_there: Vec<(usize, Words)>,
    /// Procedures by slot, each with the residual of its own check and what it may be.
    pub checks: Vec<(usize, f64, f64)>,
}

impl<'a> Page<'a> {
    /// A curve's points and the scale that its values are multiplied by.
    pub(crate) fn curve(&self, slot: Slot<Curve>) -> Option<(&'a Curve, f64)> {
        Some((self.curves[slot.index()].as_deref()?, self.values[slot.index()]))
    }
}

impl Page<'_> {
    /// A value, where it is known.
    pub(crate) fn get<T: Measure>(&self, slot: Slot<T>) -> Option<T> {
        self.known[slot.index()].then(|| T::from_si(self.values[slot.index()]))
    }

    /// Whether nobody gave it, and the kind's default stands there.
    pub(crate) fn is_assumed<T>(&self, slot: Slot<T>) -> bool {
        self.nodes[slot.index()].leaf().is_some_and(|leaf| leaf.default)
    }

    /// A value as the dossier prints it; `not known` where it is not.
    pub(crate) fn shown<T>(&self, slot: Slot<T>) -> String {
        (self.show)(slot.index()).unwrap_or_else(|| "not known".to_owned())
    }

    /// Another value (SI) shown as a slot's value is: in its unit.
    pub(crate) fn shown_as<T>(&self, slot: Slot<T>, si: f64) -> String {
        (self.show_as)(slot.index(), si)
    }

    /// The same as a run of a sentence.
    pub(crate) fn value<T>(&self, slot: Slot<T>) -> Shown {
        Shown(self.shown(slot))
    }

    /// Another value (SI) in a slot's unit, as a run of a sentence.
    pub(crate) fn value_as<T>(&self, slot: Slot<T>, si: f64) -> Shown {
        Shown(self.shown_as(slot, si))
    }

    /// The unit that a slot's values are shown in.
    pub(crate) fn unit_of<T>(&self, slot: Slot<T>) -> Unit {
        self.units[slot.index()].clone()
    }

    /// A share as a percentage with one decimal.
    pub(crate) fn percent(&self, share: f64) -> String {
        percent(share)
    }

    /// The opening sentence: `bold` says the outcome, `rest` goes on in the same sentence.
    pub(crate) fn sentence(&mut self, bold: impl Into<Words>, rest: impl Into<Words>) {
        self.said.sentence = (bold.into(), rest.into());
    }

    pub(crate) fn headline<T>(&mut self, slot: Slot<T>) {
        if self.known[slot.index()] {
            self.said.headline.push(slot.index());
        }
    }

    pub(crate) fn say(&mut self, slot: Slot<String>, text: impl Into<String>) {
        self.said.texts.push((slot.index(), text.into()));
    }

    pub(crate) fn note(&mut self, text: impl Into<Words>) {
        self.said.notes.push(text.into());
    }

    /// A table of its own, beside those of its results. Without rows there is none.
    pub(crate) fn table(&mut self, table: Grid) {
        if !table.rows.is_empty() {
            self.said.tables.push(table);
        }
    }

    /// A caution that goes with these results.
    pub(crate) fn caution(&mut self, caution: Caution) {
        if !self.said.cautions.contains(&caution) {
            self.said.cautions.push(caution);
        }
    }

    /// The requirement of that name can't be judged, whatever its value: its verdict is `open`. `due` is the stage at
    /// which what is missing has to be there.
    pub(crate) fn hold_open(&mut self, requirement: &str, due: Stage, reason: impl Into<Words>) {
        self.said.held.push(Held {
            requirement: requirement.to_owned(),
            due: Some(due),
            reason: reason.into(),
        });
    }

    /// The requirement of that name is at best `close`, for a reason that the kind knows: its method, a time without a
    /// source.
    pub(crate) fn hold_close(&mut self, requirement: &str, reason: impl Into<Words>) {
        self.said.held.push(Held { requirement: requirement.to_owned(), due: None, reason: reason.into() });
    }

    /// What the verdict on the requirement of that name says besides, wherever it is decided: what it is for.
    pub(crate) fn say_besides(&mut self, requirement: &'static str, words: Words) {
        self.said.besides.push((requirement, words));
    }

    /// A result that is shown, and that no verdict of any block may rest on, nor on what follows from it: something that
    /// decides it was not given.
    pub(crate) fn unfit<T>(&mut self, slot: Slot<T>, reason: impl Into<Words>) {
        self.said.unfit.push((slot.index(), reason.into()));
    }

    /// A value that is asked about: a verdict that rests on it, of any block, is `close` at best.
    pub(crate) fn question<T>(&mut self, slot: Slot<T>) {
        self.said.questioned.push(slot.index());
    }

    /// Unless all that this value rests on was measured or is stated, no verdict that rests on it, here or elsewhere, is better
    /// than `close`.
    pub(crate) fn doubt_guess<T>(&mut self, slot: Slot<T>, reason: impl Into<Words>) {
        self.said.doubted.push((slot.index(), reason.into()));
    }

    /// Why this vehicle does not have a result: `the sprint is not reached: the motor's limit comes first`.
    pub(crate) fn not_there<T>(&mut self, slot: Slot<T>, reason: impl Into<Words>) {
        self.said.not_there.push((slot.index(), reason.into()));
    }

    /// The check that a procedure makes of itself: closure, a residual put back, half the mesh. A `residual` (a share
    /// of the value) above `allowed` is told as a fault of the program.
    pub(crate) fn checked<T>(&mut self, slot: Slot<T>, residual: f64, allowed: f64) {
        if self.known[slot.index()] {
            self.said.checks.push((slot.index(), residual, allowed));
        }
    }

    /// A finding at a field's place; a result's stands at the block's name.
    pub(crate) fn find(
        &mut self,
        code: &'static Code,
        at: usize,
        message: impl Into<Words>,
        help: impl Into<Words>,
    ) {
        self.said.findings.push(Finding::new(code, self.nodes[at].span, message, help));
    }

    /// A finding at a place of the block that is no value of its own.
    pub(crate) fn find_at(
        &mut self,
        code: &'static Code,
        at: Span,
        message: impl Into<Words>,
        help: impl Into<Words>,
    ) {
        self.said.findings.push(Finding::new(code, at, message, help));
    }

    /// A finding about the block as a whole.
    pub(crate) fn find_here(
        &mut self,
        code: &'static Code,
        message: impl Into<Words>,
        help: impl Into<Words>,
    ) {
        self.said.findings.push(Finding::new(code, self.span, message, help));
    }
}

/// A share as a percentage with one decimal, with a proper minus sign and no break before the sign.
pub(crate) fn percent(share: f64) -> String {
    // Nobody compares what is ten times too large.
    if share > 10.0 {
        return "over 1\u{a0}000\u{a0}%".to_owned();
    }
    let text = format!("{:.1}", share * 100.0);
    let text = if text == "-0.0" { "0.0".to_owned() } else { text.replace('-', "−") };
    format!("{text}\u{a0}%")
}

impl Caution {
    pub(crate) fn title(self) -> &'static str {
        match self {
            Caution::HighVoltage => "High voltage: this pack can kill",
            Caution::LowVoltagePack => "A low-voltage pack can still burn and injure",
            Caution::Towing => "Towed, the motor makes a voltage of its own",
            Caution::Holding => "What holds the battery must hold in a crash",
        }
    }

    /// Without who comes first, which is said once under several.
    pub(crate) fn own_lines(self) -> impl Iterator<Item = &'static str> {
        self.lines().iter().copied().filter(|line| !line.starts_with("Local codes"))
    }

    pub(crate) fn lines(self) -> &'static [&'static str] {
        match self {
            Caution::HighVoltage => &[
                "Above 60 V DC a touch can be lethal, also with the vehicle switched off: the cells stay live.",
                "Work on it is for competent people who are trained and equipped for high voltage, never alone.",
                "Isolate, secure against switching on, and prove dead with a tester proved before and after.",
                "Wait for capacitors to discharge, and measure: a time alone proves nothing.",
                "Wear protective equipment rated for the voltage: gloves, face shield, insulated tools, no jewellery.",
                "Local codes, the licensed inspector and the component maker's instructions come first.",
            ],
            Caution::LowVoltagePack => &[
                "At 60 V or less the short-circuit current still melts tools and starts fires: cover the terminals, fuse close to the cells.",
                "Between the motor's phases an alternating voltage stands that can be above 30 V rms.",
                "Local codes, the licensed inspector and the component maker's instructions come first.",
            ],
            Caution::Towing => &[
                "With the driven wheels on the ground the motor turns, and its terminals can be live with everything switched off.",
                "Tow with the driven wheels lifted, or with the motor parted from them; say so on the rescue sheet.",
                "Local codes, the licensed inspector and the component maker's instructions come first.",
            ],
            Caution::Holding => &[
                "The figures judge the fasteners alone: brackets, the sheet or frame that they go through, welds and the box itself are not calculated.",
                "A fastener is no better than its thread engagement, its tightening torque and what is done against loosening.",
                "Local codes and the licensed inspector come first.",
            ],
        }
    }
}

/// What every caution ends with.
pub(crate) const NOT_AN_APPROVAL: &str = "The figures here are a builder's calculation, not an approval.";
