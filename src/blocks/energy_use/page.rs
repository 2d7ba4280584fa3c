//! What an energy-use block says: outcome, class of the WLTC, checks of its integrals, and what can't be driven.

use super::chart::charts;
use super::cycle::{Drive, Load};
use super::map::Efficiency;
use super::{AtSpeed, Class, DriveEfficiency, EnergyUse, OverCycle, Recovered};
use crate::findings::codes;
use crate::model::{Page, Slot};
use crate::quantities::si::{Consumption, Measure, Power, Ratio, Velocity};
use crate::rules::cycles;

/// Steps to each stretch of the midpoint rule that integrals are checked by, and how well it must agree.
const STEPS: usize = 8;
const AGREE: f64 = 5e-3;
/// How exactly driving less braking energy must come to the work against the resistance.
const CLOSE: f64 = 1e-9;

impl EnergyUse {
    pub(super) fn tell(&self, page: &mut Page<'_>) {
        self.outcome(page);
        if let Some(class) = &self.class {
            tell_class(class, page);
        }
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
        let cycle = self.cycles.first().map(|cycle| (&cycle.title, cycle.consumption, &cycle.ranges, "on"));
        let steady = self.speeds.first().map(|at| (&at.title, at.consumption, &at.ranges, "at a steady"));
        let Some((title, consumption, ranges, how)) = cycle.or(steady) else { return };
        if page.get(ranges.usual).is_some() {
            page.sentence(
                format!("Range {}", page.shown(ranges.usual)),
                format!(" {how} {title}, at {} from the battery.", page.shown(consumption)),
            );
        }
        page.headline(consumption);
        page.headline(ranges.usual);
        if let Some((_, winter)) = ranges.winter {
            page.headline(winter);
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
        let drawn = cycle.drawn.map(|slot| (slot, (value(slot) - battery.drawn) / scale));
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
        if let (Some(winter), Some((slot, _))) = (&self.winter, cycle.ranges.winter)
            && let Some(used) = page.get(slot)
        {
            let values = page.values;
            let (cold, others) = self.in_winter(winter, load, &|index| values[index]);
            let (_, battery) = course.by_midpoints(&cold, drive, STEPS);
            let again = battery.drawn - battery.recovered + others * course.duration;
            page.checked(slot, relative(used.si() * course.distance, again), AGREE);
        }
    }

    /// A consumption that was worked from the map is put back: the drive's share at its efficiency is the road load.
    fn check_steady(&self, steady: &AtSpeed, (load, drive): (&Load, &Drive<'_>), page: &mut Page<'_>) {
        let (Some(speed), DriveEfficiency::Map { .. }) = (page.get(steady.speed), &self.efficiency) else {
            return self.no_end(steady.consumption, &format!("at {}", steady.title), page);
        };
        let values = page.values;
        let winter = self.winter.as_ref().map(|winter| self.in_winter(winter, load, &|index| values[index]));
        let usual = Some((steady.consumption, (*load, drive.auxiliary)));
        let cold = steady.ranges.winter.zip(winter).map(|((slot, _), there)| (slot, there));
        for (slot, (load, others)) in usual.into_iter().chain(cold) {
            let force = load.force(speed.si());
            let Some(used) = page.get(slot) else {
                return self.beyond_map(
                    &steady.title,
                    steady.consumption,
                    [(speed.si(), force)].into_iter(),
                    page,
                );
            };
            let driving = used.si() * speed.si() - others;
            let wheel = driving * drive.efficiency.at(speed.si(), force);
            page.checked(slot, relative(wheel, force * speed.si()), CLOSE);
        }
        self.no_end(steady.consumption, &format!("at {}", steady.title), page);
    }

    fn troubles(&self, cycle: &OverCycle, (load, drive): (&Load, &Drive<'_>), page: &mut Page<'_>) {
        let at_wheel = page.get(cycle.at_wheel).is_some();
        let consumption = page.get(cycle.consumption).is_some();
        if at_wheel && !consumption && cycle.drawn.is_some() {
            return self.beyond_map(&cycle.title, cycle.consumption, cycle.course.ends(load), page);
        }
        let pack = &self.pack;
        let known = page.get(pack.voltage).is_some() && page.get(pack.resistance).is_some();
        if consumption && known && page.get(cycle.rms_current).is_none() {
            let most = drive.voltage * drive.voltage / (4.0 * drive.resistance);
            let message = format!(
                "`{}` asks {} at the wheels, and the pack's voltage collapses at {}",
                cycle.title,
                page.shown(cycle.peak_power),
                page.shown_as(cycle.peak_power, most)
            );
            let help = "choose more cells or cells of lower resistance, or drive a gentler cycle";
            page.find(&codes::OUT_OF_RANGE, pack.voltage.index(), message, help);
            return;
        }
        self.no_end(cycle.consumption, &format!("over {}", cycle.title), page);
    }

    /// Where nothing is used there is no range.
    fn no_end(&self, consumption: Slot<Consumption>, where_: &str, page: &mut Page<'_>) {
        if page.get(consumption).is_some_and(|used| used.si() <= 0.0) {
            let message =
                format!("{where_} the vehicle uses {}, so its range has no end", page.shown(consumption));
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
        let message = match (most.0 > turning, most.1 > torque) {
            (true, _) => {
                format!(
                    "`{title}` turns the motor at {:.0} rpm, and `efficiency_map` ends at {:.0} rpm",
                    most.0 * rpm,
                    turning * rpm
                )
            }
            _ => format!(
                "`{title}` asks {:.1} N·m of the motor, and `efficiency_map` ends at {torque:.1} N·m",
                most.1
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
        let mut sources: Vec<(&str, Vec<&str>)> = Vec::new();
        for cycle in &self.cycles {
            let Some(source) = cycle.source.as_deref() else { continue };
            match sources.iter_mut().find(|(known, _)| *known == source) {
                Some((_, titles)) => titles.push(&cycle.title),
                None => sources.push((source, vec![&cycle.title])),
            }
        }
        for (source, titles) in sources {
            page.note(format!("{}: {source}.", titles.join(", ")));
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
        let top = self.class.as_ref().and_then(|class| class.top_speed);
        let Some((slot, top)) = top.and_then(|slot| Some((slot, page.get(slot)?))) else { return };
        for cycle in &self.cycles {
            let fastest = cycle.trace.top_speed();
            if fastest > top.si() {
                page.note(format!(
                    "{} goes up to {}, and the gearing allows {}: its result is of a vehicle that could follow it.",
                    cycle.title,
                    page.shown_as(slot, fastest),
                    page.shown(slot)
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
    let basis = match class.efficiency {
        Some(efficiency) => {
            let through: Option<Ratio> = page.get(efficiency);
            let power = page
                .get(class.power)
                .zip(through)
                .map(|(power, share): (Power, Ratio)| power.si() * share.value);
            format!(
                "the pack's power through the drive, {}",
                page.shown_as(class.power, power.unwrap_or(f64::NAN))
            )
        }
        None => format!("a power of {}", page.shown(class.power)),
    };
    page.note(format!(
        "With {basis} and the road load's mass the vehicle has {} and belongs to the WLTC's {text}: {}. The regulation takes the motor's rated power and the kerb mass.",
        page.shown(class.power_to_mass),
        limits.source,
    ));
}
