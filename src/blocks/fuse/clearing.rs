//! What the fuse's own curve says: when it clears, and what it bears.

use super::results::{
    BORNE, CLEARING_TIME, CLEARS_AT, HEAT_BORNE, I2T_AT_HIGHEST, I2T_AT_LOWEST, I2T_OF_CURVE, I2T_OF_SHEET,
    IN_TIME, PROFILE_SHARE, TIME_TO_CLEAR,
};
use super::results::{OWN_CLEARS_AT, OWN_CURVE, OWN_I2T};
use super::source::Source;
use super::time_current::{current_at, i2t_at, least_current_at, time_at};
use super::{BearsHeat, Part};
use crate::findings::codes;
use crate::model::{Bench, BlockName, Entry, Form, Page, Slot};
use crate::quantities::Curve;
use crate::quantities::si::{CurrentSquaredTime, ElectricCurrent, Measure, Ratio, Time};

pub(super) struct Clearing {
    curve: Slot<Curve>,
    time: Slot<Time>,
    profile: Slot<Curve>,
    /// Where it is the curve that says it.
    clears_at: Option<Slot<ElectricCurrent>>,
    /// The same, or what is typed.
    pub(super) cleared: Option<Slot<ElectricCurrent>>,
    /// For the typed current, and for each part with a short-time rating.
    times: Vec<(Slot<ElectricCurrent>, Slot<Time>)>,
    profile_share: Option<Slot<Ratio>>,
    heat: Option<Heat>,
}

/// What the fuse lets through, which heats the conductors.
struct Heat {
    /// A short circuit each, and what of it is let through by the curve; of the highest only where the sheet says none.
    by_curve: Vec<(Slot<ElectricCurrent>, Slot<CurrentSquaredTime>)>,
    by_sheet: Option<Slot<CurrentSquaredTime>>,
    most: Slot<CurrentSquaredTime>,
}

pub(super) fn read_clearing(
    form: &mut Form<'_, '_>,
    fuse: Option<&BlockName>,
    (protects, source): (&[Entry<Part>], &Source),
) -> Clearing {
    let has_profile = form.has("load_profile");
    let has_time = form.has("clearing_time");
    let typed = form.own_or_parts_if_there(&OWN_CLEARS_AT, fuse);
    let curve = form.own_or_parts_if_there(&OWN_CURVE, fuse);
    let has_curve = curve.is_some();
    let curve = curve.unwrap_or_else(|| form.if_given("time_current"));
    let time = form.if_given("clearing_time");
    let by_sheet = form.own_or_parts_if_there(&OWN_I2T, fuse);
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
    // A time that is stated is not passed over because no curve can be held against it.
    if typed.is_some() && (has_curve || has_time) {
        out.require(&IN_TIME);
    }
    for part in protects.iter().filter(|part| has_curve || part.read.states_time) {
        if has_curve {
            let uses = [curve.index(), part.read.peak_rating.index()];
            times.push((part.read.peak_rating, out.procedure(CLEARING_TIME.of(&part.case()), &uses)));
        }
        out.require(BORNE.of(&part.case()));
    }
    let profile_share = has_profile.then(|| out.procedure(&PROFILE_SHARE, &[curve.index(), profile.index()]));
    let heat = has_curve.then(|| {
        let at_lowest = out.procedure(&I2T_AT_LOWEST, &[curve.index(), source.lowest.index()]);
        let mut by_curve = vec![(source.lowest, at_lowest)];
        if by_sheet.is_none() {
            let at_highest = out.procedure(&I2T_AT_HIGHEST, &[curve.index(), source.highest.index()]);
            by_curve.push((source.highest, at_highest));
        }
        let most = out.result(if by_sheet.is_some() { &I2T_OF_SHEET } else { &I2T_OF_CURVE });
        Heat { by_curve, by_sheet, most }
    });
    if heat.is_none() {
        out.unknown(&I2T_OF_CURVE);
    }
    let bears_heat = protects.iter().filter(|part| part.read.bears_heat != BearsHeat::Unknown);
    bears_heat.for_each(|part| out.require(HEAT_BORNE.of(&part.case())));
    Clearing { curve, time, profile, clears_at, cleared: typed.or(clears_at), times, profile_share, heat }
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
        if let Some(heat) = &self.heat {
            heat.evaluate(bench, self.curve);
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
        if let Some(heat) = &self.heat {
            heat.present(page, of);
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

impl Heat {
    fn evaluate(&self, bench: &mut Bench<'_>, curve: Slot<Curve>) {
        let mut most: f64 = self.by_sheet.map_or(0.0, |slot| bench.get(slot).si());
        for (current, slot) in &self.by_curve {
            let current = bench.get(*current).si();
            let found = bench.curve(curve).map(|curve| i2t_at(curve, current));
            let value = found.flatten().unwrap_or(f64::NAN);
            // `f64::max` would pass over what is not known.
            most = if value.is_nan() || value > most { value } else { most };
            put(bench, *slot, found.filter(|_| current.is_finite()));
        }
        bench.set(self.most, CurrentSquaredTime::from_si(most));
    }

    fn present(&self, page: &mut Page<'_>, curve: (&Curve, f64)) {
        for (current, slot) in &self.by_curve {
            match (page.get(*current), page.get(*slot)) {
                (Some(current), Some(through)) => {
                    let back = current_at(curve, through.si() / current.si().powi(2)).unwrap_or(f64::NAN);
                    page.checked(*slot, back / current.si() - 1.0, 1e-9);
                }
                (Some(_), None) => page.not_there(
                    *slot,
                    "the curve of the fuse has no point for it: give `time_current` as far as that, or `clearing_i2t` of the highest",
                ),
                _ => {}
            }
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
