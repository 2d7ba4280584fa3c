//! What an energy-use block says: outcome, class of the WLTC, checks of its integrals, and what can't be driven.

use super::chart::charts;
use super::drive::{Drive, Load};
use super::map::Efficiency;
use super::{AtSpeed, DriveEfficiency, EnergyUse, OverCycle, Recovered, Steady};
use crate::findings::codes;
use crate::model::{Page, Slot};
use crate::quantities::si::{Consumption, Measure, Power};
use crate::words::{Words, words};

/// Steps to each stretch of the midpoint rule that integrals are checked by, and how well it must agree.
const STEPS: usize = 8;
const AGREE: f64 = 5e-3;
/// How exactly driving less braking energy must come to the work against the resistance.
const CLOSE: f64 = 1e-9;

impl EnergyUse {
    pub(super) fn tell(&self, page: &mut Page<'_>) {
        self.tell_class(page);
        let values = page.values;
        let value = |index: usize| values[index];
        let (load, drive) = (self.load(&value), self.drive(&value));
        let mut behind = Vec::new();
        for cycle in &self.cycles {
            if page.read {
                self.check(cycle, (&load, &drive), page);
            }
            if self.falls_behind(cycle, (&load, &drive), page) {
                behind.push(cycle.title.as_str());
            }
        }
        for steady in &self.speeds {
            self.check_steady(steady, (&load, &drive), page);
            if self.falls_behind_at(steady, (&load, &drive), page) {
                behind.push(steady.title.as_str());
            }
        }
        self.outcome(&behind, page);
        self.tell_climb((&load, &drive), page);
        self.notes(page);
        if page.read {
            charts(self, (&load, &drive), page);
        }
    }

    fn outcome(&self, behind: &[&str], page: &mut Page<'_>) {
        let cycles = self.cycles.iter().map(|it| (&it.title, it.consumption, it.ranges.usual, "on"));
        let speeds =
            self.speeds.iter().map(|it| (&it.title, it.usual.consumption, it.ranges.usual, "at a steady"));
        let driven = cycles.chain(speeds).find(|(_, _, range, _)| page.get(*range).is_some());
        let Some((title, consumption, range, how)) = driven else {
            if !behind.is_empty() {
                page.sentence(words!("{} can't be driven", behind.join(", ")), ".");
            }
            return;
        };
        let (range, used) = (page.value(range), page.value(consumption));
        match behind {
            [] => page.sentence(
                words!("Range {} {} {}", range, how, title),
                words!(", at {} from the cells.", used),
            ),
            behind => page.sentence(
                words!("{} can't be driven", behind.join(", ")),
                words!("; range {} {} {}, at {} from the cells.", range, how, title, used),
            ),
        }
    }

    /// The integrals are worked again by a rule that knows nothing of splits.
    fn check(&self, cycle: &OverCycle, (load, drive): (&Load, &Drive<'_>), page: &mut Page<'_>) {
        let course = &cycle.course;
        let first = cycle.trace.samples()[0].0;
        let last = cycle.trace.samples()[cycle.trace.samples().len() - 1].0;
        page.checked(cycle.duration, 1.0 - (last - first) / course.duration, 1e-12);
        page.checked(cycle.distance, 1.0 - course.distance_again() / course.distance, 1e-9);
        let (wheel, battery) = course.by_midpoints(load, drive, STEPS);
        let value = |slot: Slot<Consumption>| page.get(slot).map_or(f64::NAN, |it| it.si() * course.distance);
        let (driving, braking) = (value(cycle.at_wheel), value(cycle.braking));
        let scale = driving + braking;
        let open = (driving - braking - course.net(load)) / scale;
        let recovered = match cycle.recovered {
            Some(Recovered::Limited(slot)) => Some((slot, (value(slot) - battery.recovered) / scale)),
            _ => None,
        };
        let by_map = matches!(self.efficiency, DriveEfficiency::Map(..));
        let drawn = by_map.then(|| (cycle.drawn, (value(cycle.drawn) - battery.drawn) / scale));
        page.checked(cycle.at_wheel, open, CLOSE);
        page.checked(cycle.braking, open, CLOSE);
        for (slot, residual) in recovered.into_iter().chain(drawn) {
            page.checked(slot, residual, AGREE);
        }
        if let Some(peak) = page.get(cycle.peak_power) {
            page.checked(cycle.peak_power, relative(peak.si(), wheel.peak), AGREE);
        }
        if let (true, Some(power)) = (by_map, page.get(cycle.pack_power)) {
            let again = course.most(load, |speed, force| match force > 0.0 {
                true => force * speed / drive.efficiency.again(speed, force) + drive.auxiliary,
                false => drive.auxiliary,
            });
            page.checked(cycle.pack_power, relative(power.si(), again), CLOSE);
        }
        if let Some(current) = page.get(cycle.rms_current) {
            let again = (battery.current_squared / course.duration).sqrt();
            page.checked(cycle.rms_current, relative(current.si(), again), AGREE);
        }
        if let Some(heights) = &course.heights {
            let up = cycle.trace.heights().unwrap_or_default();
            let gained = up.last().zip(up.first()).map_or(f64::NAN, |(last, first)| last - first);
            let off = (heights.up - heights.down - gained) / (heights.up + heights.down).max(1.0);
            page.checked(cycle.climbed, off, CLOSE);
        }
        if let (Some(share), Some(used)) = (self.full, page.get(cycle.on_full_pack)) {
            let values = page.values;
            let full = EnergyUse::on_full_pack(share, drive, &|index| values[index]);
            let (_, battery) = course.by_midpoints(load, &full, STEPS);
            let factor = page.get(self.model_factor).map_or(f64::NAN, |factor| factor.value);
            let again = battery.cells_give(&full, course.duration) * factor;
            page.checked(cycle.on_full_pack, relative(used.si() * course.distance, again), AGREE);
        }
        if let (Some(winter), Some(used)) = (&self.winter, page.get(cycle.in_winter)) {
            let values = page.values;
            let (cold, drive) = self.in_winter(winter, (load, drive), &|index| values[index]);
            let (_, battery) = course.by_midpoints(&cold, &drive, STEPS);
            let factor = page.get(self.model_factor).map_or(f64::NAN, |factor| factor.value);
            let again = battery.cells_give(&drive, course.duration) * factor;
            page.checked(cycle.in_winter, relative(used.si() * course.distance, again), AGREE);
        }
    }

    /// What was read from a map is read again in another order, and each voltage is put back into its equation.
    fn check_steady(&self, at: &AtSpeed, (load, drive): (&Load, &Drive<'_>), page: &mut Page<'_>) {
        let Some(speed) = page.get(at.speed).map(Measure::si) else { return };
        for (steady, (load, drive)) in self.seasons((at, (load, drive)), page) {
            let force = load.force(speed);
            match steady.efficiency.map(|slot| (slot, page.get(slot))) {
                Some((slot, Some(read))) => {
                    page.checked(slot, relative(read.value, drive.efficiency.again(speed, force)), CLOSE);
                }
                Some((_, None)) => {
                    let needed = [(speed, force)].into_iter();
                    return self.beyond_map(&at.title, at.usual.consumption, needed, page);
                }
                None => {}
            }
            if let (Some(voltage), Some(power)) = (page.get(steady.voltage), page.get(steady.power)) {
                let lost = drive.resistance * power.si() / voltage.si();
                page.checked(steady.voltage, relative(voltage.si() + lost, drive.voltage), CLOSE);
            }
        }
        self.no_end(at.usual.consumption, words!("at {}", at.title), page);
    }

    /// A steady speed in each season that is worked.
    pub(super) fn seasons<'s, 'd>(
        &'s self,
        (at, (load, drive)): (&'s AtSpeed, (&Load, &Drive<'d>)),
        page: &Page<'_>,
    ) -> Vec<(&'s Steady, (Load, Drive<'d>))> {
        let cold = self.winter.as_ref().map(|winter| {
            (&at.in_winter, self.in_winter(winter, (load, drive), &|index| page.values[index]))
        });
        [Some((&at.usual, (*load, *drive))), cold].into_iter().flatten().collect()
    }

    /// Where nothing is used there is no range.
    pub(super) fn no_end(&self, consumption: Slot<Consumption>, driven: Words, page: &mut Page<'_>) {
        if page.get(consumption).is_some_and(|used| used.si() <= 0.0) {
            let message =
                words!("{} the vehicle uses {}, so its range has no end", driven, page.value(consumption));
            let help = "look at the coefficients of the road load: a rolling vehicle is held back";
            page.find(&codes::OUT_OF_RANGE, self.road.f0.index(), message, help);
        }
    }

    pub(super) fn beyond_map(
        &self,
        title: &str,
        at: Slot<Consumption>,
        needed: impl Iterator<Item = (f64, f64)>,
        page: &mut Page<'_>,
    ) {
        let values = page.values;
        let Efficiency::Map(map, gearing) = self.drive(&|index| values[index]).efficiency else { return };
        // What waits for the chain is no matter of the map.
        if ![gearing.ratio, gearing.circumference, gearing.efficiency].iter().all(|value| value.is_finite()) {
            return;
        }
        let (turning, torque) = map.highest();
        let mut most = (0.0_f64, 0.0_f64);
        for (speed, force) in needed.filter(|(_, force)| *force > 0.0) {
            let motor = gearing.motor(speed, force);
            most = (most.0.max(motor.0), most.1.max(motor.1));
        }
        let rpm = 60.0 / std::f64::consts::TAU;
        let whole = |value: f64| format!("{value:.0} rpm");
        let message = match most.0 > turning {
            true => words!(
                "`{}` turns the motor at {}, and `efficiency_map` ends at {}",
                title,
                whole(most.0 * rpm),
                whole(turning * rpm)
            ),
            false => words!(
                "`{}` asks {} of the motor, and `efficiency_map` ends at {}",
                title,
                format!("{:.1} N·m", most.1),
                format!("{torque:.1} N·m")
            ),
        };
        page.find(
            &codes::OUTSIDE_CURVE,
            at.index(),
            message,
            "add rows to the map, or drive a gentler cycle",
        );
    }

    /// The cycle that asks most, beside what there is.
    fn tell_peak(&self, page: &mut Page<'_>) {
        let peak = |it: &&OverCycle| page.get(it.peak_power).map_or(0.0, Measure::si);
        let Some(cycle) = self.cycles.iter().max_by(|a, b| peak(a).total_cmp(&peak(b))) else { return };
        let known = |slot: Option<Slot<Power>>| slot.filter(|slot| page.get(*slot).is_some());
        let motor = known(self.limits.motor_power);
        let motor = motor.map_or_else(Words::default, |slot| words!(" (the motor has {})", page.value(slot)));
        let pack = known(self.limits.pack_power);
        let pack =
            pack.map_or_else(Words::default, |slot| words!(" (its cells may give {})", page.value(slot)));
        page.note(words!(
            "{} asks most: {} at the wheels{}, {} at the battery's terminals{}.",
            cycle.title,
            page.value(cycle.peak_power),
            motor,
            page.value(cycle.pack_power),
            pack
        ));
    }

    fn notes(&self, page: &mut Page<'_>) {
        if self.factor_promises {
            let reason = "the model is good to 9.1 %, and nobody measured the `model_factor` that promises more: record a run, and note it `(measured)`";
            page.doubt_guess(self.model_factor, reason);
        }
        page.note("Consumption from three coefficients and one efficiency is good to about 10 %: fitted on half of a national test list of production electric cars, it missed the other half by 9.1 % RMS. The ± of `model_factor` is that, and consumption and range carry it.");
        page.note("The pack's own loss, current squared times resistance, is in consumption and range. It is worked with a constant resistance at nominal voltage, which is a short-pulse model.");
        if self.winter.is_some() {
            page.note("In winter that resistance is the same: of a cold pack it is higher, and so is what it loses.");
        }
        self.tell_peak(page);
        match (self.limits.motor_power, self.limits.chain) {
            (Some(_), Some(_)) => {}
            (Some(_), None) => page
                .note("Whether the gearing and the motor's torque can follow was not judged: give `chain`."),
            (None, _) => page.note("Whether the motor can follow was not judged: give `motor` and `chain`."),
        }
        let mut sources: Vec<(&Words, Vec<&str>)> = Vec::new();
        for cycle in &self.cycles {
            let Some(source) = &cycle.source else { continue };
            match sources.iter_mut().find(|(known, _)| *known == source) {
                Some((_, titles)) => titles.push(&cycle.title),
                None => sources.push((source, vec![&cycle.title])),
            }
        }
        for (source, titles) in sources {
            page.note(words!("{}: {}.", titles.join(", "), source));
        }
        if self.road_is_sloped {
            page.note("The road load's grade and headwind don't enter: cycles climb by their own heights alone, steady speeds are level.");
        }
        if matches!(self.efficiency, DriveEfficiency::Map(..)) {
            page.note("Below the map's lowest speed and torque its edge is taken.");
        }
        let cold = self
            .winter
            .as_ref()
            .is_some_and(|winter| winter.energy_share.is_some() && winter.regeneration_share.is_none());
        if !self.cycles.is_empty() && self.regeneration.is_some() && cold {
            page.note("In winter nothing is recovered in braking: a cold pack may refuse it. Give `cold.regeneration_share` where it is known.");
        }
        for cycle in &self.cycles {
            let Some(heights) = &cycle.course.heights else { continue };
            let gained = heights.up - heights.down;
            if gained.abs() > 1.0 {
                page.note(words!(
                    "{} ends {} {} its beginning: the way back takes {}.",
                    cycle.title,
                    page.value_as(cycle.climbed, gained.abs()),
                    if gained > 0.0 { "above" } else { "below" },
                    if gained > 0.0 { "less" } else { "more" }
                ));
            }
        }
        if !self.cycles.is_empty() && self.regeneration.is_none() {
            page.note("Nothing is recovered in braking: give `regeneration` for it.");
        }
    }
}

fn relative(value: f64, again: f64) -> f64 {
    let scale = value.abs().max(again.abs());
    if scale == 0.0 { 0.0 } else { (value - again) / scale }
}
