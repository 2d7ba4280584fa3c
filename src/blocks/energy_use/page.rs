//! What an energy-use block says: outcome, class of the WLTC, checks of its integrals, and what can't be driven.

use super::chart::charts;
use super::cycle::{Drive, Load};
use super::map::Efficiency;
use super::{AtSpeed, Class, DriveEfficiency, EnergyUse, OverCycle, Recovered};
use crate::findings::codes;
use crate::model::{Page, Slot};
use crate::quantities::si::{Consumption, Measure, Power, Ratio, Velocity};
use crate::rules::cycles;
use crate::words::{Words, words};

/// Steps to each stretch of the midpoint rule that integrals are checked by, and how well it must agree.
const STEPS: usize = 8;
const AGREE: f64 = 5e-3;
/// How exactly driving less braking energy must come to the work against the resistance.
const CLOSE: f64 = 1e-9;

impl EnergyUse {
    pub(super) fn tell(&self, page: &mut Page<'_>) {
        self.outcome(page);
        tell_class(&self.class, page);
        let values = page.values;
        let value = |index: usize| values[index];
        let (load, drive) = (self.load(&value), self.drive(&value));
        for cycle in &self.cycles {
            self.check(cycle, (&load, &drive), page);
            self.troubles(cycle, (&load, &drive), page);
        }
        for steady in &self.speeds {
            self.check_steady(steady, (&load, &drive), page);
        }
        self.notes(page);
        charts(self, (&load, &drive), page);
    }

    fn outcome(&self, page: &mut Page<'_>) {
        let cycles = self.cycles.iter().map(|it| (&it.title, it.consumption, it.ranges.usual, "on"));
        let speeds =
            self.speeds.iter().map(|it| (&it.title, it.usual.consumption, it.ranges.usual, "at a steady"));
        let mut all = cycles.chain(speeds);
        if let Some((title, consumption, range, how)) = all.find(|it| page.get(it.2).is_some()) {
            page.sentence(
                words!("Range {}", page.value(range)),
                words!(" {} {}, at {} from the battery.", how, title, page.value(consumption)),
            );
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
        let by_map = matches!(self.efficiency, DriveEfficiency::Map { .. });
        let drawn = by_map.then(|| (cycle.drawn, (value(cycle.drawn) - battery.drawn) / scale));
        page.checked(cycle.at_wheel, open, CLOSE);
        page.checked(cycle.braking, open, CLOSE);
        for (slot, residual) in recovered.into_iter().chain(drawn) {
            page.checked(slot, residual, AGREE);
        }
        if let Some(peak) = page.get(cycle.peak_power) {
            page.checked(cycle.peak_power, relative(peak.si(), wheel.peak), AGREE);
        }
        if let Some(current) = page.get(cycle.rms_current) {
            let again = (battery.current_squared / course.duration).sqrt();
            page.checked(cycle.rms_current, relative(current.si(), again), AGREE);
        }
        if let (Some(winter), Some(used)) = (&self.winter, page.get(cycle.in_winter)) {
            let values = page.values;
            let (cold, others) = self.in_winter(winter, load, &|index| values[index]);
            let (_, battery) = course.by_midpoints(&cold, drive, STEPS);
            let again = battery.drawn - battery.recovered + others * course.duration;
            page.checked(cycle.in_winter, relative(used.si() * course.distance, again), AGREE);
        }
    }

    /// What was read from a map is read again in another order.
    fn check_steady(&self, at: &AtSpeed, (load, drive): (&Load, &Drive<'_>), page: &mut Page<'_>) {
        let Some(speed) = page.get(at.speed).map(Measure::si) else { return };
        let values = page.values;
        let winter = self.winter.as_ref().map(|winter| self.in_winter(winter, load, &|index| values[index]));
        let usual = Some((&at.usual, *load));
        let colder = winter.map(|(load, _)| (&at.in_winter, load));
        for (steady, load) in usual.into_iter().chain(colder) {
            let Some(slot) = steady.efficiency else { continue };
            let force = load.force(speed);
            match page.get(slot) {
                Some(read) => {
                    page.checked(slot, relative(read.value, drive.efficiency.again(speed, force)), CLOSE)
                }
                None => {
                    let needed = [(speed, force)].into_iter();
                    return self.beyond_map(&at.title, at.usual.consumption, needed, page);
                }
            }
        }
        self.no_end(at.usual.consumption, words!("at {}", at.title), page);
    }

    fn troubles(&self, cycle: &OverCycle, (load, drive): (&Load, &Drive<'_>), page: &mut Page<'_>) {
        let at_wheel = page.get(cycle.at_wheel).is_some();
        let consumption = page.get(cycle.consumption).is_some();
        if at_wheel && !consumption && matches!(self.efficiency, DriveEfficiency::Map { .. }) {
            return self.beyond_map(&cycle.title, cycle.consumption, cycle.course.ends(load), page);
        }
        let pack = &self.pack;
        let known = page.get(pack.voltage).is_some() && page.get(pack.resistance).is_some();
        if consumption && known && page.get(cycle.rms_current).is_none() {
            let most = drive.voltage * drive.voltage / (4.0 * drive.resistance);
            let message = words!(
                "`{}` asks {} at the wheels, and the pack's voltage collapses at {}",
                cycle.title,
                page.value(cycle.peak_power),
                page.value_as(cycle.peak_power, most)
            );
            let help = "choose more cells or cells of lower resistance, or drive a gentler cycle";
            page.find(&codes::OUT_OF_RANGE, pack.voltage.index(), message, help);
            return;
        }
        self.no_end(cycle.consumption, words!("over {}", cycle.title), page);
    }

    /// Where nothing is used there is no range.
    fn no_end(&self, consumption: Slot<Consumption>, driven: Words, page: &mut Page<'_>) {
        if page.get(consumption).is_some_and(|used| used.si() <= 0.0) {
            let message =
                words!("{} the vehicle uses {}, so its range has no end", driven, page.value(consumption));
            let help = "look at the coefficients of the road load: a rolling vehicle is held back";
            page.find(&codes::OUT_OF_RANGE, self.road.f0.index(), message, help);
        }
    }

    fn beyond_map(
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

    fn notes(&self, page: &mut Page<'_>) {
        page.note("Consumption from three coefficients and one efficiency is good to about 10 %: fitted on half of a national test list of production electric cars, it missed the other half by 9.1 % RMS.");
        if !self.cycles.is_empty() {
            page.note("The current is worked with a constant resistance at nominal voltage, which is a short-pulse model.");
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
            page.note("Cycles and steady speeds are driven level and without wind: the road load's grade and headwind don't enter.");
        }
        if matches!(self.efficiency, DriveEfficiency::Map { .. }) {
            page.note("Below the map's lowest speed and torque its edge is taken.");
        }
        let back = self.regeneration.as_ref();
        if !self.cycles.is_empty() && back.is_none() {
            page.note("Nothing is recovered in braking: give `regeneration` for it.");
        }
        self.too_fast(page);
    }

    /// A cycle that is faster than the gearing lets the vehicle go.
    fn too_fast(&self, page: &mut Page<'_>) {
        let Some(slot) = self.class.top_speed else { return };
        let Some(top) = page.get(slot) else { return };
        for cycle in &self.cycles {
            let fastest = cycle.trace.top_speed();
            if fastest > top.si() {
                page.note(words!(
                    "{} goes up to {}, and the gearing allows {}: its result is of a vehicle that could follow it.",
                    cycle.title,
                    page.value_as(slot, fastest),
                    page.value(slot)
                ));
            }
        }
    }
}

fn relative(value: f64, again: f64) -> f64 {
    let scale = value.abs().max(again.abs());
    if scale == 0.0 { 0.0 } else { (value - again) / scale }
}

/// The class by the boundaries of UN GTR 15; 3a and 3b are told apart by the top speed.
fn tell_class(class: &Class, page: &mut Page<'_>) {
    let Some(power_to_mass) = page.get(class.power_to_mass) else { return };
    let limits = cycles::classes();
    let top: Option<Velocity> = class.top_speed.and_then(|slot| page.get(slot));
    let within = |value: f64, limit: f64| value <= limit * (1.0 + 1e-9);
    let text = match (power_to_mass.value, top.map(Measure::si)) {
        (it, _) if within(it, limits.class_1_at_most) => "class 1".to_owned(),
        (it, _) if within(it, limits.class_2_at_most) => "class 2".to_owned(),
        (_, Some(top)) if top < limits.class_3b_from => "class 3a".to_owned(),
        (_, Some(_)) => "class 3b".to_owned(),
        (_, None) => {
            format!("class 3: 3a below {:.0} km/h top speed, else 3b", limits.class_3b_from * 3.6)
        }
    };
    page.say(class.class, text.clone());
    let Some(slot) = class.power else { return };
    let basis = match class.efficiency {
        Some(efficiency) => {
            let through: Option<Ratio> = page.get(efficiency);
            let power =
                page.get(slot).zip(through).map(|(power, share): (Power, Ratio)| power.si() * share.value);
            words!("the pack's power through the drive, {}", page.value_as(slot, power.unwrap_or(f64::NAN)))
        }
        None => words!("a power of {}", page.value(slot)),
    };
    page.note(words!(
        "With {} and the road load's mass the vehicle has {} and belongs to the WLTC's {}: {}. The regulation takes the motor's rated power and the kerb mass.",
        basis,
        page.value(class.power_to_mass),
        text,
        limits.source,
    ));
}
