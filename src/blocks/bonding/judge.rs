//! What readings of bonds prove, and what they leave open.

use super::{Bonding, EVERY_PART, Value, too_small};
use crate::blocks::shared::date::{TO_COME, TestDay};
use crate::blocks::shared::invalid_test::INVALID_TEST;
use crate::blocks::shared::record::Recorded;
use crate::model::{Entry, Page, Stage};
use crate::quantities::si::Measure;
use crate::words::{Words, words};

impl Bonding {
    pub(super) fn is_to_come(&self) -> bool {
        self.day == TestDay::ToCome
    }

    /// What nobody says of the readings that are typed here.
    fn untold(&self) -> Option<Words> {
        let typed = self.readings.iter().filter(|entry| entry.read.record.is_none());
        let names: Vec<&str> = typed.map(|entry| entry.title.as_str()).collect();
        let names = (!names.is_empty()).then(|| Words::names(names))?;
        match (self.day == TestDay::NotSaid, self.with_instrument) {
            (false, true) => None,
            (true, true) => Some(words!("the day of {} is not told", names)),
            (false, false) => Some(words!("the instrument of {} is not told", names)),
            (true, false) => Some(words!("neither the day nor the instrument of {} is told", names)),
        }
    }

    /// Holds what a reading does not prove; gives how many prove nothing.
    pub(super) fn judge(&self, page: &mut Page<'_>) -> usize {
        let mut invalid = 0;
        for Entry { title, slug, read } in &self.readings {
            let (Some(current), Some(least)) = (page.get(read.current), page.get(self.least_current)) else {
                continue;
            };
            if self.is_to_come() {
                page.hold_open(slug, Stage::Test, TO_COME);
                if let Value::Worked(_, Some(slot)) = read.value {
                    page.not_there(slot, TO_COME);
                }
                invalid += 1;
            } else if too_small(current, least) {
                let message = words!(
                    "`{}` was tested with {}, under {}",
                    title,
                    page.value(read.current),
                    page.value(self.least_current)
                );
                let help =
                    "test again with more current: a small one finds no strand that hangs on by a thread";
                page.find(&INVALID_TEST, read.current.index(), message, help);
                page.hold_open(slug, Stage::Test, "the test current was too small");
                if let Value::Worked(_, Some(slot)) = read.value {
                    page.not_there(slot, "the test current was too small");
                }
                invalid += 1;
            } else if read.resistance().and_then(|slot| page.get(slot)).is_some_and(|found| found.si() == 0.0)
            {
                page.hold_open(slug, Stage::Test, "no bond has 0 Ω: the instrument does not resolve it");
            }
        }
        invalid
    }

    /// All parts, not the measured ones alone.
    pub(super) fn judge_all(&self, page: &mut Page<'_>, invalid: usize) {
        for Entry { slug, read, .. } in &self.readings {
            if let Some(doubt) = read.record.as_ref().and_then(Recorded::doubt) {
                page.hold_close(slug, &doubt);
                page.hold_close(EVERY_PART.name, doubt);
            }
        }
        if let Some(untold) = self.untold() {
            page.hold_close(EVERY_PART.name, untold);
        }
        if let Some(slot) = self.not_measured {
            page.say(slot, self.left.join(", "));
        }
        let (highest, limit) = (page.get(self.highest), page.get(self.limit));
        if highest.is_none() {
            page.not_there(self.highest, "no reading proves anything");
        }
        // What is too much already fails, whatever is left to measure.
        if matches!((highest, limit), (Some(highest), Some(limit)) if highest >= limit) {
            return;
        }
        if invalid > 0 && highest.is_some() {
            page.unfit(self.highest, words!("{} of the readings prove nothing, and may be higher", invalid));
        }
        let unresolved = page.said.held.iter().filter(|held| held.due.is_some()).count() > invalid;
        let reason = match self.left.as_slice() {
            [] if invalid > 0 => words!("{} of the readings prove nothing", invalid),
            [] if unresolved => words!("a reading of 0 Ω proves nothing"),
            [] if !self.knows_parts => {
                words!("the journal knows no part with a conductive case, so nobody can say which are left")
            }
            [] => return,
            left => words!("not measured: {}", Words::names(left.iter().map(String::as_str))),
        };
        page.hold_open(EVERY_PART.name, Stage::Test, reason);
    }

    /// The highest is one of the valid readings, and none is above it.
    pub(super) fn check(&self, page: &mut Page<'_>) {
        let Some(highest) = page.get(self.highest) else { return };
        let least = page.get(self.least_current);
        let valid = self.readings.iter().filter(|entry| {
            let current = page.get(entry.read.current);
            !matches!((current, least), (Some(current), Some(least)) if too_small(current, least))
        });
        let mut sorted: Vec<f64> =
            valid.filter_map(|entry| page.get(entry.read.resistance()?)).map(Measure::si).collect();
        sorted.sort_unstable_by(f64::total_cmp);
        let same = sorted.last() == Some(&highest.si());
        page.checked(self.highest, if same { 0.0 } else { 1.0 }, 0.0);
    }
}
