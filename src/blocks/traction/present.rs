//! What a traction block says of itself: the outcome, its notes, its own checks and its picture.

use super::Traction;
use super::gears::{Changing, Drives, Plan};
use super::given::{Charge, Model};
use super::grip::Driven;
use super::hill::Hill;
use super::results::SprintOf;
use super::travel::{Mesh, Road, Stop, Why};
use crate::blocks::shared::drive::{Drive, End, Trouble};
use crate::model::{Bench, Page};
use crate::quantities::si::Measure;
use crate::words::{Words, words};

impl Traction {
    pub(super) fn tell(&self, page: &mut Page<'_>) {
        let mut values = page.values.to_vec();
        let bench = Bench::new(&mut values, page.curves);
        let adhesion = bench.get(self.held.force);
        let drives = Drives::new(&bench, &self.given, (adhesion, Charge::Nominal));
        let worst = Drives::new(&bench, &self.given, (adhesion, Charge::Worst));
        // What is known is checked, whatever else waits.
        if page.read {
            self.check(page, &bench, (&drives, &worst));
        }
        self.doubt(page);
        let needed = self.given.uses().into_iter().chain(self.given.road.uses());
        if needed.chain([self.grip.adhesion.index()]).any(|index| !page.known[index]) {
            return;
        }
        if page.get(self.held.force).is_none() {
            return self.tell_no_grip(page);
        }
        let Some(plan) = self.starts(page, &drives) else { return };
        self.look(page, &bench, &drives);
        self.look_at_worst(page, worst.starting());
        let model = &drives.each[plan.gear().unwrap_or(drives.launch)];
        let stop = plan.stop;
        page.say(self.top.limit, limit_words(model, stop));
        self.tell_gears(page, &bench, (&drives, &plan));
        if let Some(names) = &self.gear_names {
            names.present(page, (&bench, &self.given), (&drives, self.hill.as_ref()));
        }
        page.say(self.start.limit, self.launch_words(page));
        self.outcome(page, model, stop);
        self.notes(page, model);
        self.tell_fading(page, &bench, &drives);
        if page.read {
            self.draw(page, &drives);
        }
    }

    /// A ledger without axle loads or the height of the centre of gravity, or rear tyres that no pull makes slip.
    fn tell_no_grip(&self, page: &mut Page<'_>) {
        let reason: Words = match self.grip.cg_height.is_some_and(|height| page.get(height).is_some()) {
            true => "what the driven tyres hold is not known: look at the wheelbase and the axle loads of the ledger, and at `adhesion`".into(),
            false => "what the driven tyres hold is not known without the height of the centre of gravity: give the ledger's items their `z`".into(),
        };
        page.not_there(self.held.load, &reason);
        page.sentence("Neither top speed nor grades", words!(": {}.", reason));
    }

    fn launch_words(&self, page: &Page<'_>) -> String {
        match (page.get(self.start.motor_force), page.get(self.start.force)) {
            (Some(motor), Some(force)) if force < motor => {
                format!("adhesion of {}", self.grip.driven.wheels())
            }
            _ => "motor torque".to_owned(),
        }
    }

    fn outcome(&self, page: &mut Page<'_>, model: &Model, stop: Stop) {
        let mut rest = words!(", ended by the {}", limit_words(model, stop));
        for sprint in self.sprints.iter().filter(|sprint| page.get(sprint.time).is_some()) {
            rest.append(words!("; {} in {}", sprint.title, page.value(sprint.time)));
        }
        if page.get(self.start.grade).is_some() {
            rest.append(words!("; it starts on a grade of {}", page.value(self.start.grade)));
        }
        rest.append(".".into());
        page.sentence(words!("Top speed {}", page.value(self.top.speed)), rest);
    }

    fn notes(&self, page: &mut Page<'_>, model: &Model) {
        if self.given.motor.efficiency_is_assumed {
            page.note("The efficiency of the motor is not known: losses of motor and inverter are left out, and the battery has to give more than is worked here.");
        }
        if matches!(self.grip.driven, Driven::NoLedger | Driven::NotSaid) {
            page.note("The limit of adhesion is that of the whole weight, which is too high for one driven axle: no verdict rests on it.");
        }
        if model.free.as_ref().is_ok_and(|drive| drive.pieces.iter().any(|piece| piece.sags)) {
            page.note("The pack's sagged voltage is under the one that the motor's ratings hold for: its corner speed and power fall with it. The sag is that of a constant resistance, a short-pulse model.");
        }
        if let Some((hill, masses)) = self.hill.as_ref().zip(self.grip.masses)
            && !hill.written.laden
            && page.get(masses.laden).zip(page.get(self.given.road.mass)).is_some_and(|(it, road)| it > road)
        {
            page.note(words!(
                "The hill is climbed with the road's mass of {}, and laden the vehicle has {}: `laden: yes` looks at that.",
                page.value(self.given.road.mass),
                page.value(masses.laden)
            ));
        }
        if self.hill.as_ref().is_some_and(|hill| hill.derating.is_none() && page.get(hill.heating).is_some())
        {
            page.note(
                "The time on the hill is rough: it knows the two ratings of the motor and no temperature.",
            );
        }
    }

    /// Whether the motor's torque over time holds the sprints back.
    fn tell_fading(&self, page: &mut Page<'_>, bench: &Bench<'_>, drives: &Drives) {
        if self.given.motor.derating.is_none() {
            return;
        }
        let changing = Changing { fading: None, ..self.changing(bench) };
        for sprint in &self.sprints {
            let range = (bench.get(sprint.from).si(), bench.get(sprint.to).si());
            let free = drives.travel(range, &changing, Mesh::Full).time;
            let Some(time) = page.get(sprint.time).map(Measure::si) else { continue };
            page.note(match time > free {
                true => words!(
                    "{}: the motor's torque over time falls under what its drive gives; without that it would take {}.",
                    sprint.title,
                    page.value_as(sprint.time, free)
                ),
                false => words!(
                    "{}: over before the motor's torque over time falls under what its drive gives.",
                    sprint.title
                ),
            });
        }
    }

    /// Each procedure against another way to it.
    fn check(&self, page: &mut Page<'_>, bench: &Bench<'_>, (drives, worst): (&Drives, &Drives)) {
        self.grip.check(page, &self.held);
        if let Some((slot, ratio)) = self.start.lowest.and_then(|slot| Some((slot, page.get(slot)?))) {
            // The drive that starts has it in the way of a turn.
            let arm = bench.get(self.start.radius).si();
            page.checked(slot, ratio.value * drives.starting().motor.gear.way / arm - 1.0, 1e-12);
        }
        for at in &self.grades {
            let speed = bench.get(at.speed).si();
            for (gear, model) in at.gears.iter().zip(&drives.each) {
                if let Some(force) = page.get(gear.force) {
                    let torque = force.si() / model.motor.gear.force;
                    page.checked(gear.force, put_back(model, speed, torque), 1e-9);
                }
            }
            let model = &drives.each[drives.most(|model| model.force_at(speed))];
            if let Some(force) = page.get(at.drive) {
                page.checked(at.drive, put_back(model, speed, force.si() / model.motor.gear.force), 1e-9);
            }
            if let Some(slot) = at.continuous.as_ref().map(|at| at.force)
                && let Some(force) = page.get(slot)
            {
                let model = &drives.each[drives.most(|model| model.continuous_force_at(speed))];
                let torque = force.si() / model.motor.gear.force;
                page.checked(slot, rated((model, &model.continuous), speed, torque), 1e-9);
            }
        }
        let powers = [
            Some((self.battery.power, drives.starting())),
            self.battery.worst.map(|it| (it.0, worst.starting())),
        ];
        for (slot, model) in powers.into_iter().flatten() {
            if let (Some(power), Ok(drive)) = (page.get(slot), &model.free) {
                page.checked(slot, 1.0 - scanned_power(model, drive) / power.si(), 1e-5);
            }
        }
        let tops = [Some((self.top.speed, drives)), self.top.worst.map(|slot| (slot, worst))];
        for (slot, drives) in tops.into_iter().flatten() {
            let Some(gear) = drives.top().and_then(|plan| plan.gear()) else { continue };
            let model = &drives.each[gear];
            if let (Some(speed), Ok(drive)) = (page.get(slot), &model.held) {
                let force = drive.force_at(speed.si());
                page.checked(slot, balance(&model.road, speed.si(), (force, drive.last_speed())), 1e-9);
            }
        }
        if let Some(slot) = self.top.continuous
            && let Some(model) = drives.continuous_top().and_then(|plan| drives.each.get(plan.gear()?))
            && let (Some(speed), Ok(drive)) = (page.get(slot), &model.held)
            && let Some(Ok(rated)) = &model.continuous
        {
            let force = drive.force_at(speed.si()).min(rated.force_at(speed.si()));
            let last = drive.last_speed().min(rated.last_speed());
            page.checked(slot, balance(&model.road, speed.si(), (force, last)), 1e-9);
        }
        for sprint in &self.sprints {
            self.check_sprint(page, bench, (sprint, drives));
        }
        self.stages.check_launch(page, &self.given);
        if let Some(hill) = &self.hill {
            let gear = hill.gear(bench, &self.given, drives);
            check_hill(page, bench, (hill, &drives.each[gear], &worst.each[gear]));
            if let Some(derating) = &hill.derating {
                derating.check(page);
            }
            self.stages.check(page, (bench, &self.given), (hill, gear));
            if let Some(slot) = hill.found_ratio {
                let speed = bench.get(hill.written.speed).si();
                page.checked(slot, not_the_lowest(drives, gear, speed), 0.0);
            }
        }
    }

    fn check_sprint(&self, page: &mut Page<'_>, bench: &Bench<'_>, (sprint, drives): (&SprintOf, &Drives)) {
        let half = self.travel_of(bench, sprint, drives, Mesh::Half);
        if let Some(time) = page.get(sprint.time) {
            page.checked(sprint.time, half.time / time.si() - 1.0, 1e-6);
        }
        if let Some(distance) = page.get(sprint.distance) {
            page.checked(sprint.distance, half.distance / distance.si() - 1.0, 1e-6);
        }
    }

    /// In which gear what happens.
    fn tell_gears(&self, page: &mut Page<'_>, bench: &Bench<'_>, (drives, top): (&Drives, &Plan)) {
        let title = |gear: usize| self.given.chain.gears[gear].case.title.clone();
        if let (Some(slot), Some(gear)) = (self.top.gear, top.gear()) {
            page.say(slot, title(gear));
        }
        for at in &self.grades {
            let speed = bench.get(at.speed).si();
            if let (Some(slot), Some(_)) = (at.best, page.get(at.drive)) {
                page.say(slot, title(drives.most(|model| model.force_at(speed))));
            }
        }
        for sprint in &self.sprints {
            let (Some(slot), Some(_)) = (sprint.gears, page.get(sprint.time)) else { continue };
            let Some(plan) = drives.plan_from(bench.get(sprint.from).si()) else { continue };
            let to = bench.get(sprint.to).si();
            let mut text = String::new();
            let mut from = None;
            for leg in &plan.legs {
                match from {
                    None => text = title(leg.gear),
                    Some(from) => {
                        let at = page.shown_as(self.top.speed, from);
                        text = format!("{text}, {} from {at}", title(leg.gear));
                    }
                }
                if leg.to >= to {
                    break;
                }
                from = Some(leg.to);
            }
            page.say(slot, text);
        }
    }
}

/// What ends the top speed, in the words of `top_speed_limit`.
pub(super) fn limit_words(model: &Model, stop: Stop) -> &'static str {
    match (stop.why, &model.held) {
        (Why::LastSpeed, Ok(drive)) => match drive.end {
            End::Motor => "speed limit of the motor",
            End::Curve => "end of the torque curve",
            End::Chain => "speed limit of the motor in the chain",
            End::Stage => "speed limit of a stage in the chain",
        },
        _ => "balance of drive force and road load",
    }
}

/// The residual of a speed where drive and road balance, as a share of the force; or where the drive ends, of the speed.
fn balance(road: &Road, speed: f64, (force, last): (f64, f64)) -> f64 {
    let surplus = force - road.force(speed);
    let of_force = surplus / force;
    if surplus > 0.0 && of_force > 1e-9 { speed / last - 1.0 } else { of_force }
}

/// A torque put back: the battery's power, from it the voltage, from that the curve's torque.
fn put_back(model: &Model, road_speed: f64, torque: f64) -> f64 {
    let motor = &model.motor;
    let turning = road_speed / motor.gear.way;
    let voltage_share = motor.sag.map_or(1.0, |sag| {
        let power = torque * turning / motor.efficiency;
        let open = sag.open_voltage;
        let voltage = f64::midpoint(open, (open * open - 4.0 * sag.resistance * power).sqrt());
        (voltage / sag.curve_voltage).min(1.0)
    });
    let x = turning / voltage_share;
    let within = motor.pieces.iter().find(|piece| x <= piece.to * (1.0 + 1e-12));
    let on_curve = match (within, motor.pieces.last()) {
        (Some(piece), _) => piece.shape.torque(x),
        (None, Some(last)) => last.shape.torque(last.to) * last.to / x,
        (None, None) => f64::NAN,
    };
    let stall = if turning == 0.0 { model.stall / motor.gear.force } else { f64::INFINITY };
    let expected = on_curve.min(motor.efficiency * model.battery / turning).min(stall);
    let scale =
        torque.abs().max(1e-9 * motor.pieces.first().map_or(0.0, |piece| piece.shape.torque(piece.to)));
    (expected - torque) / scale
}

/// A continuous torque: the rating's own, or the peak's put back.
fn rated((model, rated): (&Model, &Option<Result<Drive, Trouble>>), road_speed: f64, torque: f64) -> f64 {
    let own = match rated {
        Some(Ok(drive)) => drive.force_at(road_speed) / model.motor.gear.force,
        _ => return f64::NAN,
    };
    match torque < own {
        true => put_back(model, road_speed, torque),
        // A rating may fall to nothing.
        false if torque == own => 0.0,
        false => own / torque - 1.0,
    }
}

/// The most battery power on a grid of road speeds, and on a finer one beside the greatest of it.
fn scanned_power(model: &Model, drive: &Drive) -> f64 {
    const POINTS: usize = 2000;
    let power = |speed: f64| {
        drive.force_at(speed) / model.motor.gear.force * (speed / model.motor.gear.way)
            / model.motor.efficiency
    };
    let scan = |low: f64, high: f64| {
        let speeds = (1..=POINTS).map(|at| low + (high - low) * at as f64 / POINTS as f64);
        speeds
            .map(|speed| (power(speed), speed))
            .fold((0.0, low), |best, next| if next.0 > best.0 { next } else { best })
    };
    let last = drive.last_speed();
    let step = last / POINTS as f64;
    let (most, at) = scan(0.0, last);
    most.max(scan(at - step, (at + step).min(last)).0)
}

fn check_hill(page: &mut Page<'_>, bench: &Bench<'_>, (hill, model, worst): (&Hill, &Model, &Model)) {
    let speed = bench.get(hill.written.speed).si();
    // At standstill there is no power: the torque is the curve's first.
    let peaks = [Some((hill.peak_torque, model)), hill.worst_torque.map(|slot| (slot, worst))];
    for (slot, model) in peaks.into_iter().flatten() {
        if let Some(peak) = page.get(slot) {
            page.checked(slot, put_back(model, speed, peak.si()), 1e-9);
        }
    }
    if let Some(continuous) = page.get(hill.continuous_torque) {
        page.checked(hill.continuous_torque, rated((model, &model.rated), speed, continuous.si()), 1e-9);
    }
}

/// 0 where no lower gear turns fast enough for a speed, and the gear itself does or no other.
fn not_the_lowest(drives: &Drives, gear: usize, speed: f64) -> f64 {
    let fits =
        |model: &Model| model.free.as_ref().is_ok_and(|drive| speed <= drive.last_speed() * (1.0 + 1e-9));
    let lower = |model: &&Model| model.motor.gear.force > drives.each[gear].motor.gear.force;
    let missed = drives.each.iter().filter(lower).any(fits);
    let in_vain = !fits(&drives.each[gear]) && drives.each.iter().any(fits);
    f64::from(u8::from(missed || in_vain))
}
