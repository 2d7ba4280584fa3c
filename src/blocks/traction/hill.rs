//! One hill that has to be climbed: torque, its share of what the motor has, grip, and how long the motor bears it.

use super::derating::{self, Derating};
use super::gears::Drives;
use super::given::{Given, Model};
use super::grip::{Driven, Grip, Stand, known, set};
use super::hill_rows::{
    ADHESION_FORCE, AIR_SPEED, AXLE_LOAD, AXLE_LOAD_REAR, CONTINUOUS_TORQUE, DRAG, DRIVEN_LOAD,
    DRIVEN_LOAD_FRONT, DRIVEN_LOAD_REAR, FORCE, FRONT_SHARE, FRONT_SHARE_LADEN, GEAR_RATIO, HEAT_ROOM,
    HEAT_SHARE, HEATING, HELD_FORCE, HOLDING_TORQUE, LOSS, MOTOR_TORQUE, PEAK_TORQUE, ROLLING, ROLLING_LADEN,
    SHARE, SLOPE, TIME, WEIGHT, WEIGHT_LADEN, WORST_TORQUE,
};
use crate::blocks::shared::gravity::GRAVITY;
use crate::findings::codes;
use crate::model::{Bench, BlockName, Form, Outcomes, Slot};
use crate::quantities::si::{
    Acceleration, Angle, Force, Length, Mass, Measure, Power, Ratio, Time, Torque, Velocity, moment, ratio,
};

pub(super) struct Hill {
    pub(super) written: Written,
    pub(super) weight: Slot<Force>,
    pub(super) rolling: Slot<Force>,
    front_share: Slot<Ratio>,
    slope: Slot<Angle>,
    /// `None` where all wheels drive, or nobody said which.
    axle_load: Option<Slot<Force>>,
    driven_load: Slot<Force>,
    pub(super) adhesion_force: Slot<Force>,
    pub(super) held_force: Slot<Force>,
    air_speed: Slot<Velocity>,
    pub(super) drag: Slot<Force>,
    pub(super) force: Slot<Force>,
    /// Of the gear it is climbed in; worked where nobody names it.
    ratio: Slot<Ratio>,
    pub(super) found_ratio: Option<Slot<Ratio>>,
    pub(super) motor_torque: Slot<Torque>,
    holding_torque: Slot<Torque>,
    /// `None` where the motor states no efficiency.
    pub(super) loss: Option<Slot<Power>>,
    pub(super) peak_torque: Slot<Torque>,
    pub(super) worst_torque: Option<Slot<Torque>>,
    share: Slot<Ratio>,
    pub(super) continuous_torque: Slot<Torque>,
    heat_share: Slot<Ratio>,
    pub(super) heating: Slot<Time>,
    pub(super) heat_room: Slot<Time>,
    pub(super) time: Slot<Time>,
    pub(super) derating: Option<Derating>,
}

/// The fields, read before any result is declared.
#[derive(Clone, Copy)]
pub(super) struct Written {
    pub(super) grade: Slot<Ratio>,
    pub(super) speed: Slot<Velocity>,
    pub(super) laden: bool,
    pub(super) time: Option<Slot<Time>>,
}

/// The block that the hill stands in.
pub(super) struct Around<'a> {
    pub(super) given: &'a Given,
    pub(super) grip: &'a Grip,
    pub(super) drives: &'a Drives,
    /// With the pack at its worst.
    pub(super) worst: &'a Drives,
}

impl Written {
    pub(super) fn read(form: &mut Form<'_, '_>, ledger: Option<&BlockName>) -> Option<Written> {
        let written = form.group("hill", |form| Written {
            grade: form.required("grade"),
            speed: form.assumed("speed"),
            laden: form.choice("laden", &["yes", "no"]) == Some("yes"),
            time: form.optional("time"),
        })?;
        if written.laden && ledger.is_none() {
            let help = "type `ledger: …`, the name of a mass-ledger";
            form.report(&codes::MISSING_FIELD, form.place, "a laden hill without a `ledger`", help);
        }
        Some(written)
    }
}

impl Hill {
    pub(super) fn declare(
        out: &mut Outcomes<'_, '_, '_>,
        written: Written,
        (given, grip): (&Given, &Grip),
    ) -> Hill {
        let of = |light, heavy| if written.laden { heavy } else { light };
        let mut uses = given.uses();
        uses.push(written.speed.index());
        let weight = out.result(of(&WEIGHT, &WEIGHT_LADEN));
        let rolling = out.result(of(&ROLLING, &ROLLING_LADEN));
        let front_share = out.result(if written.laden { &FRONT_SHARE_LADEN } else { &FRONT_SHARE });
        let slope = out.result(&SLOPE);
        let axle_load = match grip.driven {
            Driven::Front => Some(out.result(&AXLE_LOAD)),
            Driven::Rear => Some(out.result(&AXLE_LOAD_REAR)),
            Driven::Both | Driven::NoLedger | Driven::NotSaid => None,
        };
        let driven_load = out.result(match grip.driven {
            Driven::Front => &DRIVEN_LOAD_FRONT,
            Driven::Rear => &DRIVEN_LOAD_REAR,
            Driven::Both | Driven::NoLedger | Driven::NotSaid => &DRIVEN_LOAD,
        });
        let adhesion_force = out.result(&ADHESION_FORCE);
        let held_force = out.result(&HELD_FORCE);
        let air_speed = out.result(&AIR_SPEED);
        let drag = out.result(&DRAG);
        let force = out.result(&FORCE);
        let gears = &given.chain.gears;
        let found_ratio = (given.chain.is_geared() && given.chain.hill.is_none())
            .then(|| out.procedure(&GEAR_RATIO, &uses));
        let ratio = found_ratio.unwrap_or(gears[given.chain.hill.unwrap_or(0)].overall_ratio);
        let motor_torque = out.result(MOTOR_TORQUE.with("RATIO", out.names_of([ratio])));
        let holding_torque = out.result(HOLDING_TORQUE.with("RATIO", out.names_of([ratio])));
        let loss = (!given.motor.efficiency_is_assumed).then(|| out.result(&LOSS));
        let peak_torque = out.procedure(&PEAK_TORQUE, &uses);
        let worst_torque = given.worst_uses().map(|mut uses| {
            uses.push(written.speed.index());
            out.procedure(&WORST_TORQUE, &uses)
        });
        let share = out.result(&SHARE);
        let continuous_torque = match given.motor.is_rated() {
            true => {
                uses.extend(given.motor.continuous_uses());
                out.procedure(&CONTINUOUS_TORQUE, &uses)
            }
            false => out.unknown(&CONTINUOUS_TORQUE),
        };
        let heat_share = out.result(&HEAT_SHARE);
        let heating = out.result(&HEATING);
        let heat_room = out.result(&HEAT_ROOM);
        let time = match given.motor.derating {
            Some(curve) => out.procedure(&derating::TIME, &[curve.index(), motor_torque.index()]),
            None => out.result(&TIME),
        };
        let derating = given.motor.derating.map(|curve| {
            let lasts = written.time;
            let uses = lasts.map(Slot::index).into_iter().chain([curve.index()]).collect::<Vec<_>>();
            let sustained = out.procedure(&derating::SUSTAINED, &uses);
            Derating { curve, sustained, time, motor_torque, lasts }
        });
        Hill {
            written,
            weight,
            rolling,
            front_share,
            slope,
            axle_load,
            driven_load,
            adhesion_force,
            held_force,
            air_speed,
            drag,
            force,
            ratio,
            found_ratio,
            motor_torque,
            holding_torque,
            loss,
            peak_torque,
            worst_torque,
            share,
            continuous_torque,
            heat_share,
            heating,
            heat_room,
            time,
            derating,
        }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, around: &Around<'_>, front_share: Ratio) {
        let Around { given, grip, drives, worst } = *around;
        let gear = self.gear(bench, given, drives);
        let (model, worst) = (&drives.each[gear], &worst.each[gear]);
        if let Some(slot) = self.found_ratio {
            bench.set(slot, bench.get(given.chain.gears[gear].overall_ratio));
        }
        let gravity = Acceleration::from_si(GRAVITY);
        let (road_mass, f0) = (bench.get(given.road.mass), bench.get(given.road.f0));
        let (weight, rolling, front_share) = match self.written.laden {
            true => {
                let mass: Mass = known(bench, grip.masses.map(|masses| masses.laden));
                let share = Ratio::from(known(bench, grip.axles.map(|axles| axles.laden)) / mass);
                (mass * gravity, f0 * Ratio::from(mass / road_mass), share)
            }
            false => (road_mass * gravity, f0, front_share),
        };
        bench.set(self.weight, weight);
        bench.set(self.rolling, rolling);
        bench.set(self.front_share, front_share);
        let load = grip.load(bench, &Stand { weight, rolling, front_share });
        set(bench, self.driven_load, load);
        if let Some(slot) = self.axle_load {
            let share = if grip.driven == Driven::Front { front_share } else { ratio(1.0) - front_share };
            bench.set(slot, share * weight);
        }
        let slope = bench.get(self.written.grade).atan();
        bench.set(self.slope, slope);
        let adhesion_force = grip.force(bench, weight, load);
        bench.set(self.adhesion_force, adhesion_force);
        bench.set(self.held_force, adhesion_force * slope.cos());
        let speed = bench.get(self.written.speed);
        let drag = given.road.drag(bench, speed);
        bench.set(self.air_speed, speed + bench.get(given.road.headwind));
        bench.set(self.drag, drag);
        let force = weight * slope.sin() + rolling * slope.cos() + drag;
        bench.set(self.force, force);
        let arm: Length = bench.get(given.chain.circumference) / std::f64::consts::TAU;
        let geared = bench.get(self.ratio) * bench.get(given.chain.efficiency);
        let torque: Torque = (moment(force, arm) / geared).into();
        bench.set(self.motor_torque, torque);
        let holding: Torque = (moment(weight * slope.sin(), arm) / bench.get(self.ratio)).into();
        bench.set(self.holding_torque, holding);
        if let Some(slot) = self.loss {
            // An efficiency says nothing of the heat at standstill.
            let output: Power = force * speed / bench.get(given.chain.efficiency);
            let loss = output * (ratio(1.0) / bench.get(given.motor.efficiency) - ratio(1.0));
            set(bench, slot, (speed.si() > 0.0).then_some(loss));
        }
        let peak = Torque::from_si(model.force_at(speed.si()) / model.motor.gear.force);
        set(bench, self.peak_torque, Some(peak));
        if let Some(slot) = self.worst_torque {
            let torque = worst.force_at(speed.si()) / worst.motor.gear.force;
            set(bench, slot, Some(Torque::from_si(torque)));
        }
        set(bench, self.share, Some(torque / peak));
        self.heat(bench, given, (model, [torque, peak]));
    }

    /// The gear that it is climbed in.
    pub(super) fn gear(&self, bench: &Bench<'_>, given: &Given, drives: &Drives) -> usize {
        given.chain.hill.unwrap_or_else(|| drives.lowest_at(bench.get(self.written.speed).si()))
    }

    /// How much of the heat that the motor bears the hill makes, and how long it lasts.
    fn heat(&self, bench: &mut Bench<'_>, given: &Given, (model, [torque, peak]): (&Model, [Torque; 2])) {
        let speed = bench.get(self.written.speed).si();
        let continuous = Torque::from_si(model.rated_force_at(speed) / model.motor.gear.force);
        set(bench, self.continuous_torque, Some(continuous));
        let over = torque * torque - continuous * continuous;
        let share = Ratio::from(over / (peak * peak));
        set(bench, self.heat_share, Some(share));
        set(bench, self.heating, Some(known(bench, self.written.time) * share));
        let rest = ratio(1.0) - Ratio::from(continuous * continuous / (peak * peak));
        let room = known(bench, given.motor.peak_time) * rest;
        set(bench, self.heat_room, Some(room));
        let borne = torque > continuous && torque <= peak;
        match &self.derating {
            Some(derating) => derating.evaluate(bench, torque),
            None => set(bench, self.time, borne.then(|| room / share)),
        }
    }
}
