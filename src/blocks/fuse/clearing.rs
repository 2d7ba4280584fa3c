//! What the fuse's own curve says: when it clears, and what it bears.

use super::Part;
use super::results::{BORNE, CLEARING_TIME, CLEARS_AT, PROFILE_SHARE, TIME_TO_CLEAR};
use super::time_current::{current_at, least_current_at, time_at};
use crate::findings::codes;
use crate::model::{Bench, Entry, Form, Page, Slot};
use crate::quantities::Curve;
use crate::quantities::si::{ElectricCurrent, Measure, Ratio, Time};

pub(super) struct Clearing {
    curve: Slot<Curve>,
    time: Slot<Time>,
    profile: Slot<Curve>,
    /// Where it is the curve that says it.
    clears_at: Option<Slot<ElectricCurrent>>,
    /// For the typed current, and for each part with a short-time rating.
    times: Vec<(Slot<ElectricCurrent>, Slot<Time>)>,
    profile_share: Option<Slot<Ratio>>,
}

pub(super) fn read_clearing(form: &mut Form<'_, '_>, protects: &[Entry<Part>]) -> Clearing {
    let (has_curve, has_profile) = (form.has("time_current"), form.has("load_profile"));
    let typed = form.optional("clears_at");
    let curve = form.if_given("time_current");
    let time = form.if_given("clearing_time");
    let profile = form.if_given("load_profile");
    if has_profile {
        form.limit::<Ratio>("fuse_profile_share", "fuse_profile_share");
    }
    let mut out = form.outcomes();
    let clears_at =
        (has_curve && typed.is_none()).then(|| out.procedure(&CLEARS_AT, &[curve.index(), time.index()]));
    let mut times = Vec::new();
    if let (Some(typed), true) = (typed, has_curve) {
        times.push((typed, out.procedure(&TIME_TO_CLEAR, &[curve.index(), typed.index()])));
    }
    for part in protects.iter().filter(|_| has_curve) {
        let uses = [curve.index(), part.read.peak_rating.index()];
        times.push((part.read.peak_rating, out.procedure(CLEARING_TIME.of(&part.case()), &uses)));
        out.require(BORNE.of(&part.case()));
    }
    let profile_share = has_profile.then(|| out.procedure(&PROFILE_SHARE, &[curve.index(), profile.index()]));
    Clearing { curve, time, profile, clears_at, times, profile_share }
}

impl Clearing {
    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) {
        if let Some(slot) = self.clears_at {
            let time = bench.get(self.time).si();
            let found = bench.curve(self.curve).map(|curve| current_at(curve, time));
            put(bench, slot, found.filter(|_| time.is_finite()));
        }
        for (current, slot) in &self.times {
            let current = bench.get(*current).si();
            let found = bench.curve(self.curve).map(|curve| time_at(curve, current));
            put(bench, *slot, found.filter(|_| current.is_finite()));
        }
        if let Some(slot) = self.profile_share {
            let found = bench.curve(self.curve).zip(bench.curve(self.profile));
            let found = found.map(|(curve, (profile, scale))| hardest(curve, profile.points(), scale));
            put(bench, slot, found);
        }
    }

    pub(super) fn present(&self, page: &mut Page<'_>) {
        self.falls(page);
        let Some((curve, scale)) = page.curve(self.curve) else { return };
        let of = (curve, scale);
        let outside = "the curve of the fuse has no point for it: give `time_current` as far as that";
        match self.clears_at.map(|slot| (slot, page.get(slot))) {
            Some((slot, Some(current))) => {
                let back = time_at(of, current.si()).unwrap_or(f64::NAN);
                page.checked(slot, back / page.get(self.time).map_or(f64::NAN, Measure::si) - 1.0, 1e-9);
            }
            Some((slot, None)) if page.get(self.time).is_some() => page.not_there(slot, outside),
            _ => {}
        }
        let last = curve.points()[curve.points().len() - 1].0;
        for (current, slot) in &self.times {
            match (page.get(*current), page.get(*slot)) {
                // Beyond the last point its time stands, and nothing is worked.
                (Some(current), Some(_)) if current.si() >= last => page.checked(*slot, 0.0, 1e-9),
                (Some(current), Some(time)) => {
                    let back = current_at(of, time.si()).unwrap_or(f64::NAN);
                    page.checked(*slot, back / current.si() - 1.0, 1e-9);
                }
                (Some(_), None) => page.not_there(*slot, outside),
                _ => {}
            }
        }
        let Some(slot) = self.profile_share else { return };
        match (page.get(slot), page.curve(self.profile)) {
            (Some(share), Some((profile, scale))) => {
                // A curve whose currents are all times the share just touches the hardest load.
                let touched = profile.points().iter().map(|(current, time)| {
                    least_current_at(of, time * scale).map_or(f64::NAN, |bears| bears * share.si() / current)
                });
                page.checked(slot, touched.fold(f64::INFINITY, f64::min) - 1.0, 1e-9);
            }
            (None, Some(_)) => page.not_there(slot, outside),
            _ => {}
        }
    }

    /// A fuse takes less time for more current.
    fn falls(&self, page: &mut Page<'_>) {
        let Some((curve, _)) = page.curve(self.curve) else { return };
        let sound = curve.points().windows(2).all(|pair| pair[1].1 < pair[0].1)
            && curve.points().iter().all(|point| point.0 > 0.0 && point.1 > 0.0);
        if !sound {
            let help =
                "put the points in rising order of current, each as `[current, time]`, with a falling time";
            page.find(
                &codes::BAD_CURVE,
                self.curve.index(),
                "a fuse that takes longer for more current",
                help,
            );
        }
    }
}

/// A value, or that it is not there; nothing where its inputs are not known.
fn put<T: Measure>(bench: &mut Bench<'_>, slot: Slot<T>, found: Option<Option<f64>>) {
    match found {
        Some(Some(value)) => bench.set(slot, T::from_si(value)),
        Some(None) => bench.not_there(slot),
        None => bench.set(slot, T::from_si(f64::NAN)),
    }
}

/// The largest share of what the fuse bears for the duration of a load.
fn hardest(curve: (&Curve, f64), profile: &[(f64, f64)], scale: f64) -> Option<f64> {
    let shares = profile.iter().map(|(current, time)| Some(current / least_current_at(curve, time * scale)?));
    shares.collect::<Option<Vec<f64>>>().map(|shares| shares.into_iter().fold(0.0, f64::max))
}
