//! What readings of isolation prove, and what they leave open.

use super::Isolation;
use super::reading::{Bus, Reading};
use super::sections::unsaid;
use crate::blocks::shared::record::Recorded;
use crate::model::{Entry, Page, Slot, Stage};
use crate::quantities::si::{ElectricalResistance, Measure};
use crate::rules::limit;
use crate::words::{Words, words};

/// What keeps a verdict from being a plain one.
enum Doubt {
    Open(Words),
    Close(Words),
}

impl Isolation {
    /// Holds what a reading does not prove, and says why. Gives the number of readings that prove nothing.
    pub(super) fn judge(&self, page: &mut Page<'_>) -> usize {
        let value =
            |page: &Page<'_>, slot: usize| if page.known[slot] { page.values[slot] } else { f64::NAN };
        let mut invalid = Vec::new();
        let mut of_whole = Vec::new();
        for (reading, least) in &self.readings {
            let on_bus = reading.read.bus != Some(Bus::Inlet);
            if let Some(fault) = reading.read.fault(&self.against, &|slot| value(page, slot)) {
                let reason = reading.read.tell(fault, page, (&reading.title, self.working.slot));
                page.hold_open(&reading.slug, Stage::Test, reason);
                invalid.push((reading.title.as_str(), on_bus));
                continue;
            }
            let mut doubts = self.contradicted(page, reading);
            doubts.extend(self.doubts(page, reading));
            for doubt in doubts {
                hold(page, &reading.slug, (reading.read.resistance, *least), &doubt);
                if on_bus {
                    of_whole.push(match doubt {
                        Doubt::Open(words) => Doubt::Open(words!("`{}`: {}", reading.title, words)),
                        Doubt::Close(words) => Doubt::Close(words!("`{}`: {}", reading.title, words)),
                    });
                }
            }
        }
        self.judge_whole(page, of_whole, &invalid);
        let names = self.readings.iter().map(|(reading, _)| reading.slug.as_str());
        self.working.hold(page, names.chain(["whole"]));
        if !self.readings.is_empty() && page.get(self.lowest).is_none() {
            page.not_there(self.lowest, "no reading proves anything");
        } else if let Some((title, _)) = invalid.iter().find(|(_, on_bus)| *on_bus) {
            // The lowest of the others may be far above the one that is not known.
            let enough = page.get(self.lowest) >= page.get(self.required);
            if enough {
                page.unfit(self.lowest, words!("`{}` proves nothing, and may be lower", title));
            }
        }
        self.check(page);
        invalid.len()
    }

    /// What is known of one reading alone.
    fn doubts(&self, page: &Page<'_>, reading: &Entry<Reading>) -> Vec<Doubt> {
        let mut doubts = Vec::new();
        let fall = reading.read.fall();
        if let (Some(fall), Some(least)) = (fall, page.get(self.least_fall))
            && page.get(fall).is_some_and(|found| found < least * (1.0 - 1e-9))
        {
            doubts.push(Doubt::Open(words!(
                "the shunt moved the voltage by {} only, under {}: take a smaller one",
                page.value(fall),
                page.value(self.least_fall)
            )));
        }
        let (working, share) = (page.get(self.working.slot), page.get(self.share));
        if let (Some(test), Some(working), Some(share)) = (reading.read.test_voltage(page), working, share)
            && test < working * share * (1.0 - 1e-9)
        {
            doubts.push(Doubt::Close(words!(
                "tested at {}; {} asks for the highest working voltage, {}",
                page.value_as(self.working.slot, test.si()),
                limit("isolation_test_voltage").source.words(),
                page.value(self.working.slot)
            )));
        }
        doubts.extend(unsaid(reading.read.taken.state).map(Doubt::Close));
        doubts.extend(reading.read.record.as_ref().and_then(Recorded::doubt).map(Doubt::Close));
        doubts
    }

    /// Whether another reading of the same says something else.
    fn contradicted(&self, page: &Page<'_>, reading: &Entry<Reading>) -> Vec<Doubt> {
        let value = |slot: usize| if page.known[slot] { page.values[slot] } else { f64::NAN };
        let known = |reading: &Entry<Reading>| {
            let valid = reading.read.fault(&self.against, &value).is_none();
            page.get(reading.read.resistance).filter(|_| valid).map(Measure::si)
        };
        let (Some(own), Some(times)) = (known(reading), page.get(self.most_difference)) else {
            return Vec::new();
        };
        let other = self.readings.iter().map(|(other, _)| other).find(|other| {
            let same_limit = (other.read.bus == Some(Bus::Inlet)) == (reading.read.bus == Some(Bus::Inlet));
            let value = known(other).filter(|_| same_limit && other.slug != reading.slug);
            value.is_some_and(|value| {
                reading.read.taken.contradicts(&other.read.taken, (own, value), times.si())
            })
        });
        let other = other.map(|other| {
            words!(
                "it and `{}` differ by more than {} times: measure again what they have in common",
                other.title,
                page.value(self.most_difference)
            )
        });
        other.map(Doubt::Open).into_iter().collect()
    }

    fn judge_whole(&self, page: &mut Page<'_>, doubts: Vec<Doubt>, invalid: &[(&str, bool)]) {
        let Some(sections) = &self.sections else {
            let silent = self.readings.iter().map(|(reading, _)| reading);
            let silent = silent.filter(|reading| {
                reading.read.taken.covers.is_empty() && reading.read.bus != Some(Bus::Inlet)
            });
            let names = Words::names(silent.map(|reading| reading.title.as_str()));
            let reason = match names.is_empty() {
                true => "no reading is of the bus".into(),
                false => words!("{}: nothing says what was connected, as `covers: [pack]` does", names),
            };
            page.not_there(self.whole, reason);
            return;
        };
        if let Some((title, _)) = invalid.iter().find(|(_, on_bus)| *on_bus) {
            let reason = words!("`{}` proves nothing: measure again, or take it out", title);
            page.not_there(self.whole, reason);
            return;
        }
        let taken: Vec<_> = self.readings.iter().map(|(reading, _)| reading.read.taken.clone()).collect();
        let wanted: Vec<&str> = self.wanted.iter().map(String::as_str).collect();
        let missing = sections.missing(&taken, &wanted);
        let missing = (!missing.is_empty()).then(|| {
            words!("in no state were all sections measured; not covered: {}", Words::names(missing))
        });
        for doubt in missing.map(Doubt::Open).into_iter().chain(doubts) {
            hold(page, "whole", (self.whole, self.whole_limit), &doubt);
        }
    }

    /// Both procedures again, another way.
    fn check(&self, page: &mut Page<'_>) {
        let read =
            |page: &Page<'_>, slot: Slot<ElectricalResistance>| page.get(slot).map_or(f64::NAN, Measure::si);
        let values: Vec<f64> =
            self.readings.iter().map(|(reading, _)| read(page, reading.read.resistance)).collect();
        if let Some(lowest) = page.get(self.lowest) {
            let valid = self.readings.iter().zip(&values).filter(|((reading, _), _)| {
                let value = |slot: usize| if page.known[slot] { page.values[slot] } else { f64::NAN };
                reading.read.bus != Some(Bus::Inlet) && reading.read.fault(&self.against, &value).is_none()
            });
            let mut sorted: Vec<f64> = valid.map(|(_, value)| *value).collect();
            sorted.sort_unstable_by(f64::total_cmp);
            let first = sorted.first().copied().unwrap_or(f64::NAN);
            page.checked(self.lowest, if first == lowest.si() { 0.0 } else { 1.0 }, 0.0);
        }
        if let (Some(sections), Some(whole)) = (&self.sections, page.get(self.whole)) {
            let other = sections.two_by_two(|at| values[at]);
            let residual = if other == whole.si() { 0.0 } else { other / whole.si() - 1.0 };
            page.checked(self.whole, residual, 1e-9);
        }
    }
}

/// A value that misses its limit fails, whatever else is in doubt.
fn hold(
    page: &mut Page<'_>,
    name: &str,
    (actual, least): (Slot<ElectricalResistance>, Slot<ElectricalResistance>),
    doubt: &Doubt,
) {
    let misses = matches!((page.get(actual), page.get(least)), (Some(actual), Some(least)) if actual < least);
    match doubt {
        Doubt::Open(reason) if !misses => page.hold_open(name, Stage::Test, reason),
        Doubt::Close(reason) => page.hold_close(name, reason),
        Doubt::Open(_) => {}
    }
}
