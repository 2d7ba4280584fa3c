//! A block as the evaluation sees it: pure numbers in, pure numbers out, and words about them apart.

use std::sync::Arc;

use super::page::{Page, SourceEntry};
use super::papers::{Calibration, Confirmation, Record, RescueSheet, Statement};
use super::slot::Slot;
use super::study::{Answer, Study};
use crate::quantities::Curve;
use crate::quantities::si::Measure;
use crate::source::Span;

/// A worked block. What values it has is fixed when it is read; these methods never look at how it was written.
pub(crate) trait Block: Send + Sync {
    /// Numbers only. A value that is not known yet is NaN, and what is made of it is not taken.
    fn evaluate(&self, bench: &mut Bench<'_>);

    /// Words, pictures and findings about the nominal values; called once.
    fn present(&self, page: &mut Page<'_>);

    /// Whether each of its lines is worth something without the others, so that an error costs its own line alone.
    fn lines_stand_alone(&self) -> bool {
        false
    }

    /// What it asks of the journal with other inputs.
    fn study(&self) -> Option<&Study> {
        None
    }

    /// The same block with what came of that.
    fn answered(&self, _answer: Answer) -> Option<Arc<dyn Block>> {
        None
    }

    /// The limits that it confirms.
    fn confirmed(&self) -> &[Confirmation] {
        &[]
    }

    /// Rule packs that it asks for beside those of the front matter.
    fn packs(&self) -> &[(String, Span)] {
        &[]
    }

    /// What it answers to items of rule packs and to subjects.
    fn statements(&self) -> &[Statement] {
        &[]
    }

    /// Whether it holds what was measured of the finished vehicle, where others of its kind may hold a plan.
    fn as_built(&self) -> bool {
        false
    }

    /// What a record of a test tells.
    fn record(&self) -> Option<Record<'_>> {
        None
    }

    /// What should be there, and is not, as the key of it and in words.
    fn lacks(&self) -> &[(&'static str, &'static str)] {
        &[]
    }

    /// The calibrations of the instruments that it tells of.
    fn calibrations(&self) -> &[Calibration] {
        &[]
    }

    /// What it puts on the sheet for a rescue crew.
    fn rescue(&self) -> Option<&RescueSheet> {
        None
    }

    /// The documents that this block makes known to the whole journal.
    fn sources(&self) -> &[SourceEntry] {
        &[]
    }
}

/// The values of one block while it is worked.
pub(crate) struct Bench<'a> {
    values: &'a mut [f64],
    curves: &'a [Option<Arc<Curve>>],
    not_there: Vec<usize>,
    /// The values as their author wrote them, where these are others.
    nominal: Option<&'a [f64]>,
}

impl<'a> Bench<'a> {
    pub(crate) fn new(values: &'a mut [f64], curves: &'a [Option<Arc<Curve>>]) -> Bench<'a> {
        Bench { values, curves, not_there: Vec::new(), nominal: None }
    }

    /// The same for values that were moved away from the nominal ones.
    pub(crate) fn moved_from(self, nominal: &'a [f64]) -> Bench<'a> {
        Bench { nominal: Some(nominal), ..self }
    }

    /// A nominal value in SI, for what a record either is or is not: a test is valid or not by what was read, and doubt
    /// about the meter does not make it another test.
    pub(crate) fn as_read(&self, index: usize) -> f64 {
        self.nominal.unwrap_or(self.values)[index]
    }

    /// The value in a slot, NaN where it is not known.
    pub(crate) fn get<T: Measure>(&self, slot: Slot<T>) -> T {
        T::from_si(self.values[slot.index()])
    }

    pub(crate) fn set<T: Measure>(&mut self, slot: Slot<T>, value: T) {
        self.values[slot.index()] = value.si();
    }

    /// What a study found, in SI; without it the result is not there.
    pub(crate) fn found<T>(&mut self, slot: Slot<T>, si: Option<f64>) {
        self.values[slot.index()] = si.unwrap_or(f64::NAN);
        if si.is_none() {
            self.not_there.push(slot.index());
        }
    }

    /// A result that this vehicle does not have: a sprint that is not reached, an axle that never locks. The block's
    /// other results stay; `present` says why ([`Page::not_there`]).
    pub(crate) fn not_there<T: Measure>(&mut self, slot: Slot<T>) {
        self.values[slot.index()] = f64::NAN;
        self.not_there.push(slot.index());
    }

    /// The results that are not there, by index.
    pub(crate) fn gone(&self) -> &[usize] {
        &self.not_there
    }

    /// A curve's points and the scale that its values are multiplied by.
    pub(crate) fn curve(&self, slot: Slot<Curve>) -> Option<(&Curve, f64)> {
        Some((self.curves[slot.index()].as_deref()?, self.values[slot.index()]))
    }

    /// A curve's reading at `x` (SI), scaled as a whole; NaN outside its points.
    pub(crate) fn read_curve(&self, slot: Slot<Curve>, x: f64) -> f64 {
        match &self.curves[slot.index()] {
            Some(curve) => curve.at(x).unwrap_or(f64::NAN) * self.values[slot.index()],
            None => f64::NAN,
        }
    }
}
