//! A speed trace driven against a road load: energy at the wheels and at the battery, in closed form between samples.

use std::collections::BTreeMap;

use super::cuts::{Cuts, Stretch};
use super::drive::{Drive, Load};
use crate::quantities::Trace;

/// Stretches of a trace on which the speed is a straight line, standstill left out.
pub(super) struct Course {
    stretches: Vec<Stretch>,
    /// In s, standstill included.
    pub duration: f64,
    /// In m.
    pub distance: f64,
    /// In m, each positive: up and down. `None` on the level.
    pub heights: Option<Heights>,
    standstill: f64,
    /// Speeds where most is asked, each with its stretch: within a quarter of a m/s nothing is faster and sped up harder
    /// and steeper, all three.
    critical: Vec<(f64, Stretch)>,
}

/// What a road climbs and falls, in m, each positive.
#[derive(Clone, Copy, Default)]
pub(super) struct Heights {
    pub up: f64,
    pub down: f64,
}

/// At the wheels over a course: J driving, J braking (positive), largest driving power in W.
#[derive(Clone, Copy, Default)]
pub(super) struct Wheel {
    pub driving: f64,
    pub braking: f64,
    pub peak: f64,
}

/// At the battery over a course: J drawn by the drive, J recovered, A² s of its current with the auxiliaries'.
#[derive(Clone, Copy, Default)]
pub(super) struct Battery {
    pub drawn: f64,
    pub recovered: f64,
    pub current_squared: f64,
}

/// The longest stretch, in m/s of change: on it three points of the quadrature are good to 1e-9.
const LONGEST: f64 = 2.0;
/// Up to this change two points are as good.
const FINE: f64 = 0.5;
/// Gauss's two points on −1…1 and their weights over the whole: exact for the third power, as all energies are.
const FEW: [(f64, f64); 2] = [(-0.577_350_269_189_625_8, 0.5), (0.577_350_269_189_625_8, 0.5)];
/// His three points: exact for the fifth power.
const MANY: [(f64, f64); 3] =
    [(-0.774_596_669_241_483_4, 5.0 / 18.0), (0.0, 8.0 / 18.0), (0.774_596_669_241_483_4, 5.0 / 18.0)];

/// Of one stretch: the time at its end (s), and J by cause: the three parts of the resistance, losses of the drive, the
/// brakes with what is lost in recovering, the pack's own loss, climbing (negative downhill).
pub(super) struct Causes {
    pub time: f64,
    pub energies: [f64; 7],
}

impl Course {
    pub(super) fn new(trace: &Trace) -> Course {
        let samples = trace.samples();
        let mut course = Course {
            stretches: Vec::with_capacity(samples.len()),
            duration: 0.0,
            distance: 0.0,
            heights: trace.heights().map(|_| Heights::default()),
            standstill: 0.0,
            critical: Vec::new(),
        };
        for (at, pair) in samples.windows(2).enumerate() {
            let (lasts, from, to) = (pair[1].0 - pair[0].0, pair[0].1, pair[1].1);
            course.duration += lasts;
            course.distance += lasts * (from + to) / 2.0;
            if from == 0.0 && to == 0.0 {
                course.standstill += lasts;
                continue;
            }
            let rise = trace.heights().map_or(0.0, |heights| heights[at + 1] - heights[at]);
            if let Some(heights) = &mut course.heights {
                heights.up += rise.max(0.0);
                heights.down += (-rise).max(0.0);
            }
            let sine = rise / (lasts * (from + to) / 2.0);
            let slope = (sine, (1.0 - sine * sine).sqrt());
            let parts = ((to - from).abs() / LONGEST).ceil().clamp(1.0, 1000.0);
            let rate = (to - from) / lasts;
            let fine = (to - from).abs() <= FINE;
            for part in 0..parts as usize {
                let at = |part: usize| from + (to - from) * (part as f64 / parts);
                let ends = course.duration - lasts * (1.0 - (part + 1) as f64 / parts);
                let (from, to) = (at(part), at(part + 1));
                course.stretches.push(Stretch { lasts: lasts / parts, from, to, rate, ends, fine, slope });
            }
        }
        course.critical = critical(&course.stretches);
        course
    }

    /// One stretch (m) at a steady speed (m/s) on a slope whose sine is given.
    pub(super) fn steady(distance: f64, speed: f64, sine: f64) -> Course {
        let lasts = distance / speed;
        let slope = (sine, (1.0 - sine * sine).sqrt());
        let stretch = Stretch { lasts, from: speed, to: speed, rate: 0.0, ends: lasts, fine: true, slope };
        let rise = distance * sine;
        Course {
            critical: critical(&[stretch]),
            stretches: vec![stretch],
            duration: lasts,
            distance,
            heights: Some(Heights { up: rise.max(0.0), down: (-rise).max(0.0) }),
            standstill: 0.0,
        }
    }

    /// The work against the resistance and the change of kinetic energy: what driving less braking must come to.
    pub(super) fn net(&self, load: &Load) -> f64 {
        let mut sum = 0.0;
        for stretch in self.stretches.iter().rev() {
            let (sine, cosine) = stretch.slope;
            sum += stretch.energy(load.f0 * cosine + load.weight * sine, load);
        }
        let first = self.stretches.first().map_or(0.0, |stretch| stretch.from);
        let last = self.stretches.last().map_or(0.0, |stretch| stretch.to);
        sum + load.mass * (last * last - first * first) / 2.0
    }

    /// The distance by a sum in the other direction.
    pub(super) fn distance_again(&self) -> f64 {
        self.stretches.iter().rev().map(|stretch| stretch.lasts * (stretch.from + stretch.to) / 2.0).sum()
    }

    pub(super) fn wheel(&self, load: &Load) -> Wheel {
        let mut wheel = Wheel::default();
        let monotone = load.f1 >= 0.0 && load.f2 >= 0.0;
        for stretch in &self.stretches {
            let constant = stretch.constant(load);
            let first = constant + stretch.from * (load.f1 + load.f2 * stretch.from);
            let last = constant + stretch.to * (load.f1 + load.f2 * stretch.to);
            wheel.peak = wheel.peak.max(first * stretch.from).max(last * stretch.to);
            if monotone && (first >= 0.0) == (last >= 0.0) {
                wheel.take(stretch.energy(constant, load));
                continue;
            }
            let mut cuts = Cuts::of(stretch);
            cuts.add_zeros(constant, load);
            if !monotone {
                cuts.add_turns(constant, load);
            }
            cuts.each(|piece| {
                wheel.take(piece.energy(constant, load));
                if !monotone {
                    let force = constant + piece.to * (load.f1 + load.f2 * piece.to);
                    wheel.peak = wheel.peak.max(force * piece.to);
                }
            });
        }
        // A load that is not known gives nothing that is.
        wheel.braking += 0.0 * wheel.driving;
        wheel.peak += 0.0 * wheel.driving;
        wheel
    }

    pub(super) fn battery(&self, load: &Load, drive: &Drive<'_>) -> Battery {
        let mut battery = Battery::default();
        let monotone = load.f1 >= 0.0 && load.f2 >= 0.0;
        for stretch in &self.stretches {
            let constant = stretch.constant(load);
            if stretch.from == stretch.to {
                let speed = stretch.from;
                battery.take(drive, stretch.lasts, drive.power(speed, stretch.force(load, speed)));
                continue;
            }
            let first = constant + stretch.from * (load.f1 + load.f2 * stretch.from);
            let last = constant + stretch.to * (load.f1 + load.f2 * stretch.to);
            if monotone && first >= 0.0 && last >= 0.0 {
                battery.take_piece(drive, stretch, (constant, load));
                continue;
            }
            let mut cuts = Cuts::of(stretch);
            cuts.add_zeros(constant, load);
            if let Some(back) = &drive.regeneration {
                cuts.add(back.minimum_speed);
                cuts.add_limit(constant, load, back);
            }
            cuts.each(|piece| battery.take_piece(drive, piece, (constant, load)));
        }
        battery.take(drive, self.standstill, 0.0);
        // A load that is not known gives nothing that is.
        battery.recovered += 0.0 * battery.drawn;
        battery
    }

    /// The same by the midpoint rule with that many steps to a stretch, nothing split: the check of the above.
    pub(super) fn by_midpoints(&self, load: &Load, drive: &Drive<'_>, steps: usize) -> (Wheel, Battery) {
        let (mut wheel, mut battery) = (Wheel::default(), Battery::default());
        for stretch in &self.stretches {
            let constant = stretch.constant(load);
            for step in 0..steps {
                let share = (step as f64 + 0.5) / steps as f64;
                let speed = stretch.from + (stretch.to - stretch.from) * share;
                let force = constant + speed * (load.f1 + load.f2 * speed);
                let lasts = stretch.lasts / steps as f64;
                wheel.take(force * speed * lasts);
                battery.take(drive, lasts, drive.power(speed, force));
            }
            for speed in [stretch.from, stretch.to] {
                wheel.peak = wheel.peak.max(stretch.force(load, speed) * speed);
            }
        }
        battery.take(drive, self.standstill, 0.0);
        (wheel, battery)
    }

    /// What the energy of each stretch goes to, auxiliaries aside.
    pub(super) fn causes(&self, load: &Load, drive: &Drive<'_>) -> impl Iterator<Item = Causes> {
        let only = |f0: f64, f1: f64, f2: f64| Load { f0, f1, f2, mass: 0.0, weight: 0.0 };
        let parts = [only(load.f0, 0.0, 0.0), only(0.0, load.f1, 0.0), only(0.0, 0.0, load.f2)];
        self.stretches.iter().map(move |stretch| {
            let one = Course {
                stretches: vec![*stretch],
                duration: 0.0,
                distance: 0.0,
                heights: None,
                standstill: 0.0,
                critical: Vec::new(),
            };
            let (wheel, battery) = (one.wheel(load), one.battery(load, drive));
            let (sine, cosine) = stretch.slope;
            let [first, second, third] = parts.map(|part| stretch.energy(part.f0 * cosine, &part));
            let climbing = stretch.energy(load.weight * sine, &only(0.0, 0.0, 0.0));
            let losses = battery.drawn - wheel.driving;
            let brakes = wheel.braking - battery.recovered;
            let pack = drive.resistance * battery.current_squared;
            Causes { time: stretch.ends, energies: [first, second, third, losses, brakes, pack, climbing] }
        })
    }

    /// Speed and force where most is asked, whatever the load: a steeper road asks for more as long as the vehicle weighs
    /// more than it takes to roll it.
    pub(super) fn hardest(&self, load: &Load) -> impl Iterator<Item = (f64, f64)> {
        self.critical.iter().map(|(speed, stretch)| (*speed, stretch.force(load, *speed)))
    }

    /// The most of something over speed and force at the ends of the stretches; NaN where any is.
    pub(super) fn most(&self, load: &Load, of: impl Fn(f64, f64) -> f64) -> f64 {
        let all = self.moments(load).map(|(_, speed, force)| of(speed, force));
        all.fold(f64::NEG_INFINITY, |most, it| if it > most || it.is_nan() { it } else { most })
    }

    /// Time, speed and force at both ends of each stretch.
    pub(super) fn moments(&self, load: &Load) -> impl Iterator<Item = (f64, f64, f64)> {
        self.stretches.iter().flat_map(move |stretch| {
            let force = |speed: f64| stretch.force(load, speed);
            let begins = stretch.ends - stretch.lasts;
            [(begins, stretch.from, force(stretch.from)), (stretch.ends, stretch.to, force(stretch.to))]
        })
    }
}

fn critical(stretches: &[Stretch]) -> Vec<(f64, Stretch)> {
    const BAND: f64 = 0.25;
    // In each band those that none is above in speed, rate and slope at once.
    let mut bands: BTreeMap<u64, Vec<(f64, usize)>> = BTreeMap::new();
    for (number, stretch) in stretches.iter().enumerate() {
        for speed in [stretch.from, stretch.to] {
            let kept = bands.entry((speed / BAND) as u64).or_default();
            let over = |one: (f64, &Stretch), other: (f64, &Stretch)| {
                one.0 >= other.0 && one.1.rate >= other.1.rate && one.1.slope.0 >= other.1.slope.0
            };
            if !kept.iter().any(|known| over((known.0, &stretches[known.1]), (speed, stretch))) {
                kept.retain(|known| !over((speed, stretch), (known.0, &stretches[known.1])));
                kept.push((speed, number));
            }
        }
    }
    bands.into_values().flatten().map(|(speed, number)| (speed, stretches[number])).collect()
}

impl Wheel {
    fn take(&mut self, energy: f64) {
        if energy < 0.0 {
            self.braking -= energy;
        } else {
            self.driving += energy;
        }
    }
}

impl Battery {
    /// J from the cells over a course that lasts so many s: what goes through the terminals, and what the pack's
    /// resistance takes.
    pub(super) fn cells_give(&self, drive: &Drive<'_>, duration: f64) -> f64 {
        self.drawn - self.recovered + drive.auxiliary * duration + drive.resistance * self.current_squared
    }

    /// A piece on which nothing begins or ends. The rule is chosen by the trace alone, never by what is nudged.
    fn take_piece(&mut self, drive: &Drive<'_>, piece: &Stretch, (constant, load): (f64, &Load)) {
        let points = if piece.fine { FEW.as_slice() } else { MANY.as_slice() };
        let (middle, half) = ((piece.from + piece.to) / 2.0, (piece.to - piece.from) / 2.0);
        for (at, weight) in points {
            let speed = middle + at * half;
            let force = constant + speed * (load.f1 + load.f2 * speed);
            self.take(drive, weight * piece.lasts, drive.power(speed, force));
        }
    }

    fn take(&mut self, drive: &Drive<'_>, lasts: f64, power: f64) {
        if power < 0.0 {
            self.recovered -= power * lasts;
        } else {
            self.drawn += power * lasts;
        }
        let current = drive.current(power + drive.auxiliary);
        self.current_squared += current * current * lasts;
    }
}

#[cfg(test)]
mod tests {
    use super::Course;
    use crate::blocks::energy_use::drive::{Drive, Load, Regeneration};
    use crate::blocks::energy_use::map::Efficiency;
    use crate::quantities::Trace;
    use crate::rules::cycles;

    const COMPACT: Load = Load { f0: 58.86, f1: 0.0, f2: 0.236, mass: 750.0, weight: 0.0 };
    const FULL: Load = Load { f0: 176.58, f1: 0.0, f2: 0.413, mass: 1500.0, weight: 0.0 };

    fn course(name: &str) -> Course {
        Course::new(&cycles::cycle(name).expect(name).trace)
    }

    fn drive(regeneration: Regeneration) -> Drive<'static> {
        Drive {
            efficiency: Efficiency::Constant(0.88),
            regeneration: Some(regeneration),
            auxiliary: 300.0,
            voltage: 370.0,
            resistance: 0.06,
        }
    }

    const PLAIN: Regeneration =
        Regeneration { share: 0.6, efficiency: 0.85, power_limit: f64::INFINITY, minimum_speed: 0.0 };

    #[track_caller]
    fn near(found: f64, expected: f64, within: f64) {
        assert!((found - expected).abs() <= within * expected.abs(), "{found}, not {expected}");
    }

    /// kWh driving, kWh braking, peak kW, Wh/km at the battery: rule L (speed linear between samples, power in closed
    /// form), computed apart from this program on the published traces.
    #[track_caller]
    fn check(load: Load, name: &str, expected: [f64; 4]) {
        let course = course(name);
        let (wheel, battery) = (course.wheel(&load), course.battery(&load, &drive(PLAIN)));
        near(wheel.driving / 3.6e6, expected[0], 2e-6);
        near(wheel.braking / 3.6e6, expected[1], 4e-6);
        near(wheel.peak / 1000.0, expected[2], 1e-5);
        let used = battery.drawn - battery.recovered + 300.0 * course.duration;
        near(used / course.distance / 3.6, expected[3], 1e-6);
    }

    #[test]
    fn energies_are_those_of_an_independent_integration() {
        check(COMPACT, "nedc", [0.63526, 0.193651, 17.6472, 65.5084]);
        check(COMPACT, "wltc-3b", [1.60917, 0.443693, 21.1378, 75.3158]);
        check(COMPACT, "wltc-2", [1.362337, 0.302299, 17.1392, 68.1676]);
        check(COMPACT, "wltc-1", [0.39465, 0.103356, 5.1138, 46.379]);
        check(FULL, "nedc", [1.366512, 0.368615, 35.0712, 132.8583]);
        check(FULL, "wltc-3b", [3.346242, 0.831154, 42.2759, 151.6641]);
        check(FULL, "wltc-2", [2.870184, 0.552226, 34.3577, 138.1924]);
        check(FULL, "wltc-1", [0.916497, 0.17318, 10.9403, 95.1552]);
    }

    #[test]
    fn driving_less_braking_is_the_work_against_the_resistance_whatever_the_inertia() {
        for name in cycles::names() {
            let course = course(name);
            for mass in [0.0, 1500.0, 3000.0] {
                let load = Load { f1: 3.1, mass, ..FULL };
                let wheel = course.wheel(&load);
                near(wheel.driving - wheel.braking, course.net(&Load { mass: 0.0, ..load }), 1e-9);
            }
        }
    }

    /// A cycle over hills of up to 8 %, up and down by turns.
    fn hilly(name: &str, sign: f64) -> Course {
        let trace = &cycles::cycle(name).expect(name).trace;
        let mut distance = 0.0;
        let mut heights = vec![0.0];
        for pair in trace.samples().windows(2) {
            distance += (pair[1].0 - pair[0].0) * (pair[0].1 + pair[1].1) / 2.0;
            heights.push(sign * 40.0 * (distance / 500.0_f64).sin());
        }
        Course::new(&trace.as_ref().clone().with_heights(heights).expect("heights"))
    }

    const LIFTED: Load = Load { weight: 1440.0 * 9.80665, ..FULL };

    #[test]
    fn what_is_lifted_comes_back_by_the_same_way() {
        for name in cycles::names() {
            let (up, down, level) = (hilly(name, 1.0), hilly(name, -1.0), course(name));
            let heights = up.heights.expect("heights");
            let work = |course: &Course| {
                let wheel = course.wheel(&LIFTED);
                near(wheel.driving - wheel.braking, course.net(&LIFTED), 1e-9);
                wheel.driving - wheel.braking
            };
            let lifted = LIFTED.weight * (heights.up - heights.down);
            assert!((work(&up) - work(&down) - 2.0 * lifted).abs() < 1e-9 * work(&level), "{name}");
            // Where nothing rolls the slope's cosine does not enter, and hill and level differ by the lifting alone.
            let load = Load { f0: 0.0, ..LIFTED };
            assert!((up.net(&load) - level.net(&load) - lifted).abs() < 1e-9 * work(&level), "{name}");
        }
    }

    #[test]
    fn wheel_and_losses_and_pack_are_what_the_battery_gives() {
        let drive = drive(Regeneration { minimum_speed: 3.0, power_limit: 9000.0, ..PLAIN });
        for course in cycles::names().flat_map(|name| [course(name), hilly(name, 1.0), hilly(name, -1.0)]) {
            let causes: f64 = course.causes(&LIFTED, &drive).flat_map(|it| it.energies).sum();
            let given = course.battery(&LIFTED, &drive).cells_give(&drive, course.duration);
            // The auxiliaries' loss at standstill is in no stretch.
            let still = drive.current(drive.auxiliary).powi(2) * drive.resistance * course.standstill;
            near(causes + drive.auxiliary * course.duration + still, given, 1e-9);
        }
    }

    #[test]
    fn on_hills_splits_and_limits_are_right_too() {
        let back = Regeneration { minimum_speed: 4.0, power_limit: 9000.0, ..PLAIN };
        midpoints_agree_on(&hilly("wltc-3b", 1.0), LIFTED, back);
        midpoints_agree_on(&hilly("wltc-3b", -1.0), LIFTED, PLAIN);
    }

    #[track_caller]
    fn midpoints_agree(load: Load, back: Regeneration) {
        midpoints_agree_on(&course("wltc-3b"), load, back);
    }

    /// Every split and limit against a rule that has none.
    #[track_caller]
    fn midpoints_agree_on(course: &Course, load: Load, back: Regeneration) {
        let drive = drive(back);
        let (wheel, battery) = (course.wheel(&load), course.battery(&load, &drive));
        let (wheel_again, again) = course.by_midpoints(&load, &drive, 400);
        near(wheel.driving, wheel_again.driving, 1e-5);
        near(wheel.braking, wheel_again.braking, 2e-5);
        near(wheel.peak, wheel_again.peak, 1e-3);
        near(battery.drawn, again.drawn, 1e-5);
        near(battery.recovered, again.recovered, 1e-4);
        near(battery.current_squared, again.current_squared, 1e-5);
    }

    #[test]
    fn limits_and_odd_loads_are_split_where_they_begin() {
        midpoints_agree(FULL, PLAIN);
        midpoints_agree(FULL, Regeneration { power_limit: 4000.0, ..PLAIN });
        midpoints_agree(FULL, Regeneration { minimum_speed: 4.0, power_limit: 2500.0, ..PLAIN });
        let downhill = Load { f0: -250.0, f1: -2.0, f2: 0.6, mass: 1500.0, weight: 0.0 };
        midpoints_agree(downhill, Regeneration { power_limit: 3000.0, ..PLAIN });
    }

    #[test]
    fn recovered_energy_moves_smoothly_with_its_limits() {
        let course = course("nedc");
        let recovered = |power_limit: f64| {
            course.battery(&FULL, &drive(Regeneration { power_limit, minimum_speed: 3.0, ..PLAIN })).recovered
        };
        let slope = |step: f64| (recovered(5000.0 + step) - recovered(5000.0 - step)) / (2.0 * step);
        near(slope(0.01), slope(1.0), 1e-4);
    }

    #[test]
    fn what_is_not_known_gives_nothing_that_is() {
        let course = course("nedc");
        for load in
            [Load { f0: f64::NAN, ..FULL }, Load { f1: f64::NAN, ..FULL }, Load { mass: f64::NAN, ..FULL }]
        {
            let (wheel, battery) = (course.wheel(&load), course.battery(&load, &drive(PLAIN)));
            let all = [
                wheel.driving,
                wheel.braking,
                wheel.peak,
                battery.drawn,
                battery.recovered,
                battery.current_squared,
            ];
            assert!(all.iter().all(|value| value.is_nan()), "{all:?}");
        }
    }

    #[test]
    fn what_the_cells_give_is_what_is_used_and_lost() {
        let drive = drive(PLAIN);
        for power in [-30e3, 0.0, 300.0, 80e3] {
            let current = drive.current(power);
            near(drive.voltage * current, power + drive.resistance * current * current, 1e-12);
        }
        let course = course("wltc-3b");
        let battery = course.battery(&FULL, &drive);
        let lossless = Drive { resistance: 0.0, ..drive };
        let loss = battery.cells_give(&drive, 1800.0) - battery.cells_give(&lossless, 1800.0);
        near(loss, 0.06 * battery.current_squared, 1e-12);
    }

    #[test]
    fn a_pack_too_weak_has_no_current() {
        let weak = Drive { resistance: 5.0, ..drive(PLAIN) };
        assert!(course("nedc").battery(&FULL, &weak).current_squared.is_nan());
    }

    #[test]
    fn a_constant_speed_needs_its_resistance_alone() {
        let trace = Trace::new(vec![(0.0, 25.0), (100.0, 25.0)]).expect("a trace");
        let wheel = Course::new(&trace).wheel(&FULL);
        near(wheel.driving, 2500.0 * FULL.force(25.0), 1e-12);
        assert_eq!(wheel.braking, 0.0);
    }
}
