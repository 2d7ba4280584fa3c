//! All gears of the chain: which pulls most, where full drive changes from one to the next, and how far that leads.
//!
//! All numbers are in SI.

use std::cell::OnceCell;

use super::fading::Fading;
use super::given::{Charge, Given, Model};
use super::travel::{Mesh, Road, Sprint, Stop, Travel, Why, coast, stop, travel};
use crate::blocks::shared::drive::Drive;
use crate::model::Bench;
use crate::quantities::si::Force;

/// Forces that differ by less are alike: of those the tallest gear is taken, for it leaves the fewest changes.
const ALIKE: f64 = 1e-9;

/// The models of all gears, in the order of the chain; at least one.
pub(super) struct Drives {
    pub(super) each: Vec<Model>,
    /// Their numbers, the one that turns the motor fastest first.
    order: Vec<usize>,
    /// In which it starts.
    pub(super) launch: usize,
    /// From rest under full drive, once it is made.
    from_rest: OnceCell<Option<Plan>>,
}

/// Full drive from one speed on: in which gear up to which speed.
#[derive(Clone)]
pub(super) struct Plan {
    pub(super) legs: Vec<Leg>,
    pub(super) stop: Stop,
}

#[derive(Clone, Copy)]
pub(super) struct Leg {
    pub(super) gear: usize,
    pub(super) to: f64,
}

/// The drive of a gear that a plan is made for.
type Of = fn(&Model) -> Option<&Drive>;

fn held(model: &Model) -> Option<&Drive> {
    model.held.as_ref().ok()
}

fn continuous(model: &Model) -> Option<&Drive> {
    model.continuous.as_ref()?.as_ref().ok()
}

impl Drives {
    pub(super) fn new(bench: &Bench<'_>, given: &Given, (adhesion, charge): (Force, Charge)) -> Drives {
        let gears = 0..given.chain.gears.len();
        let each: Vec<Model> =
            gears.clone().map(|gear| given.model(bench, (adhesion, charge), gear)).collect();
        let mut order: Vec<usize> = gears.collect();
        order.sort_by(|a, b| each[*a].motor.gear.way.total_cmp(&each[*b].motor.gear.way));
        let launch = given.chain.launch.unwrap_or(order[0]);
        Drives { each, order, launch, from_rest: OnceCell::new() }
    }

    pub(super) fn starting(&self) -> &Model {
        &self.each[self.launch]
    }

    /// The tallest gear.
    pub(super) fn fastest(&self) -> &Model {
        &self.each[self.order[self.order.len() - 1]]
    }

    /// The lowest gear that turns fast enough for a speed; the tallest where none does.
    pub(super) fn lowest_at(&self, speed: f64) -> usize {
        let fits =
            |gear: &&usize| self.each[**gear].free.as_ref().is_ok_and(|it| it.force_at(speed).is_finite());
        *self.order.iter().find(fits).unwrap_or(&self.order[self.order.len() - 1])
    }

    /// The gear of the greatest value, the first of those that are alike; the tallest where none has a value.
    pub(super) fn most(&self, value: impl Fn(&Model) -> f64) -> usize {
        let mut best = (self.order[self.order.len() - 1], f64::NEG_INFINITY);
        for gear in &self.order {
            let found = value(&self.each[*gear]);
            if best.1 == f64::NEG_INFINITY && found.is_finite() || found > best.1 + ALIKE * best.1.abs() {
                best = (*gear, found);
            }
        }
        best.0
    }

    /// The most at a road speed, without the limit of adhesion; NaN beyond the last one.
    pub(super) fn force_at(&self, speed: f64) -> f64 {
        self.each[self.most(|model| model.force_at(speed))].force_at(speed)
    }

    pub(super) fn continuous_force_at(&self, speed: f64) -> f64 {
        self.each[self.most(|model| model.continuous_force_at(speed))].continuous_force_at(speed)
    }

    pub(super) fn top(&self) -> Option<Plan> {
        self.from_rest.get_or_init(|| self.plan(held, (self.launch, 0.0))).clone()
    }

    /// Neither the motor's rating nor the drive at full power gives more.
    pub(super) fn continuous_top(&self) -> Option<Plan> {
        let rated = self.plan(continuous, (self.launch, 0.0))?;
        let full = self.top()?;
        let starts = rated.stop.why != Why::NoStart;
        Some(if rated.stop.speed < full.stop.speed || !starts { rated } else { full })
    }

    /// From rest in the gear of the launch, else in the one that pulls most.
    pub(super) fn plan_from(&self, from: f64) -> Option<Plan> {
        if from == 0.0 {
            return self.top();
        }
        let first = self.tallest_of_most(held, (0, from)).map_or(self.launch, |found| found.0);
        self.plan(held, (first, from))
    }

    /// Each gear up to the speed at which a taller one pulls more, or up to its last one.
    fn plan(&self, of: Of, (first, from): (usize, f64)) -> Option<Plan> {
        let (mut gear, mut speed) = (first, from);
        let mut legs = Vec::new();
        for _ in 0..=self.each.len() {
            let model = &self.each[gear];
            let drive = of(model)?;
            let own = stop(drive, &model.road, speed);
            let place = self.order.iter().position(|one| *one == gear)? + 1;
            if own.why == Why::NoStart {
                return Some(Plan {
                    legs,
                    stop: if speed > from { Stop { why: Why::Balance, ..own } } else { own },
                });
            }
            if let Some(at) = self.change(of, (place, drive), (speed, own.speed)) {
                let next = self.tallest_of_most(of, (place, at))?;
                legs.push(Leg { gear, to: at });
                (gear, speed) = (next.0, at);
                continue;
            }
            legs.push(Leg { gear, to: own.speed });
            let next = match own.why {
                Why::LastSpeed => self.tallest_of_most(of, (place, own.speed)),
                Why::Balance | Why::NoStart => None,
            };
            let goes_on = |next: &(usize, f64)| {
                next.1 > model.road.force(own.speed)
                    && of(&self.each[next.0]).is_some_and(|it| it.last_speed() > own.speed * (1.0 + ALIKE))
            };
            let Some(next) = next.filter(goes_on) else { return Some(Plan { legs, stop: own }) };
            (gear, speed) = (next.0, own.speed);
        }
        None
    }

    /// Of the gears from a place in the order on, the one of the most force at a speed, and that force; of those that
    /// are alike the tallest.
    fn tallest_of_most(&self, of: Of, (place, speed): (usize, f64)) -> Option<(usize, f64)> {
        let mut best: Option<(usize, f64)> = None;
        for gear in &self.order[place..] {
            let Some(force) = of(&self.each[*gear]).map(|drive| drive.force_at(speed)) else { continue };
            if force.is_finite() && best.is_none_or(|best| force >= best.1 - ALIKE * best.1.abs()) {
                best = Some((*gear, force));
            }
        }
        best
    }

    /// The first speed between two at which a gear from a place in the order on pulls more than a drive. Between all
    /// corners it is looked for in `PARTS` places.
    fn change(&self, of: Of, (place, drive): (usize, &Drive), (from, to): (f64, f64)) -> Option<f64> {
        const PARTS: usize = 4;
        let taller: Vec<&Drive> =
            self.order[place..].iter().filter_map(|gear| of(&self.each[*gear])).collect();
        if taller.is_empty() {
            return None;
        }
        let more = |speed: f64| {
            let own = drive.force_at(speed);
            let beyond = |other: &&Drive| other.force_at(speed) > own + ALIKE * own.abs();
            taller.iter().any(beyond)
        };
        let corners =
            |drive: &Drive| drive.pieces.iter().map(|it| drive.speed(it, it.to)).collect::<Vec<f64>>();
        let mut speeds: Vec<f64> = taller.iter().copied().chain([drive]).flat_map(corners).collect();
        speeds.retain(|speed| *speed > from && *speed < to);
        speeds.push(to);
        speeds.sort_by(f64::total_cmp);
        let mut low = from;
        for corner in speeds {
            let start = low;
            for part in 1..=PARTS {
                let at = start + (corner - start) * part as f64 / PARTS as f64;
                if more(at) {
                    return Some(first(low, at, more));
                }
                low = at;
            }
        }
        None
    }

    /// Whether full drive takes it from one speed to a higher one in a time that is not endless: a speed at which
    /// drive and road load balance is only ever come near to.
    pub(super) fn reaches(&self, from: f64, to: f64) -> bool {
        self.plan_from(from).is_some_and(|plan| plan.reaches(from, to))
    }

    /// Time and distance; the vehicle rolls freely while it changes gear. NaN where the speed is not reached.
    pub(super) fn travel(&self, (from, to): (f64, f64), at: &Changing, mesh: Mesh) -> Travel {
        let mut sum = Travel { time: f64::NAN, distance: f64::NAN };
        let Some(plan) = self.plan_from(from).filter(|plan| plan.reaches(from, to)) else { return sum };
        sum = Travel { time: 0.0, distance: 0.0 };
        let mut speed = from;
        for (number, leg) in plan.legs.iter().enumerate() {
            let model = &self.each[leg.gear];
            let Ok(drive) = &model.held else { return Travel { time: f64::NAN, distance: f64::NAN } };
            let last = number + 1 == plan.legs.len() || to <= leg.to;
            let end = if last { to } else { leg.to };
            let sprint = Sprint { from: speed, to: end, effective_mass: at.mass + model.rotor_mass };
            let mut part = travel(drive, &model.road, &sprint, mesh);
            if let Some(fading) = &at.fading {
                part = fading.travel((drive, &model.road), (&sprint, sum.time), (part, mesh));
            }
            // A gear in which it gains no speed has a surplus below 0 somewhere.
            if number > 0 && !gains(drive, &model.road, (speed, end)) {
                return Travel { time: f64::NAN, distance: f64::NAN };
            }
            sum = Travel { time: sum.time + part.time, distance: sum.distance + part.distance };
            if last {
                break;
            }
            let (slower, way) = coast(&model.road, (end, at.change_time), at.mass, mesh);
            sum = Travel { time: sum.time + at.change_time, distance: sum.distance + way };
            speed = slower;
        }
        sum
    }
}

/// What is moved, and how long a change of gear takes.
pub(super) struct Changing {
    /// Without the motor's rotor.
    pub(super) mass: f64,
    pub(super) change_time: f64,
    /// What the motor gives after a time.
    pub(super) fading: Option<Fading>,
}

fn gains(drive: &Drive, road: &Road, (from, to): (f64, f64)) -> bool {
    let end = stop(drive, road, from);
    from > 0.0 && end.why != Why::NoStart && to <= end.speed * (1.0 + 1e-9)
}

/// The first speed at which something holds that does at `high` and does not at `low`.
fn first(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if holds(middle) { high = middle } else { low = middle }
    }
    high
}

impl Plan {
    fn reaches(&self, from: f64, to: f64) -> bool {
        const NEAR: f64 = 1e-6;
        let far = match self.stop.why {
            Why::Balance => to <= self.stop.speed * (1.0 - NEAR),
            Why::LastSpeed => to <= self.stop.speed * (1.0 + 1e-9),
            Why::NoStart => false,
        };
        to > from && far
    }

    /// That it ends in.
    pub(super) fn gear(&self) -> Option<usize> {
        self.legs.last().map(|leg| leg.gear)
    }
}
