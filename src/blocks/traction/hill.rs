//! One hill that has to be climbed: torque, its share of what the motor has, and how long the motor bears it.

use super::given::{Given, Model};
use super::grip::{Grip, Laden, Load};
use crate::blocks::shared::gravity::GRAVITY;
use crate::findings::codes;
use crate::model::{Bench, BlockName, Form, Limit, RequirementKind, Slot, Status};
use crate::quantities::si::{
    Acceleration, Force, Length, Mass, Measure, Ratio, Time, Torque, Velocity, moment,
};

/// What stands for without end: a motor that bears a torque for a day bears it.
pub(super) const WITHOUT_END: f64 = 86_400.0;

pub(super) struct Hill {
    pub(super) grade: Slot<Ratio>,
    pub(super) speed: Slot<Velocity>,
    pub(super) laden: Option<Laden>,
    pub(super) time: Option<Slot<Time>>,
    pub(super) weight: Slot<Force>,
    pub(super) rolling: Slot<Force>,
    pub(super) adhesion_force: Slot<Force>,
    pub(super) drag: Slot<Force>,
    pub(super) force: Slot<Force>,
    pub(super) motor_torque: Slot<Torque>,
    pub(super) peak_torque: Slot<Torque>,
    pub(super) share: Slot<Ratio>,
    pub(super) continuous: Option<Bearing>,
}

/// What the motor bears for long, and how long it bears the hill.
pub(super) struct Bearing {
    pub(super) torque: Slot<Torque>,
    /// The motor's peak time and the hill's.
    pub(super) time: Option<(Slot<Time>, Slot<Time>)>,
}

/// The fields, read before any result is declared.
pub(super) struct Written {
    grade: Slot<Ratio>,
    speed: Slot<Velocity>,
    laden: bool,
    time: Option<Slot<Time>>,
}

pub(super) fn read(form: &mut Form<'_, '_>) -> Option<Written> {
    form.group("hill", |form| Written {
        grade: form.required("grade"),
        speed: form.assumed("speed"),
        laden: form.choice("laden", &["yes", "no"]) == Some("yes"),
        time: form.optional("time"),
    })
}

/// The block that the hill stands in.
pub(super) struct Around<'a> {
    pub(super) given: &'a Given,
    pub(super) grip: &'a Grip,
    pub(super) ledger: Option<&'a BlockName>,
}

impl Hill {
    pub(super) fn declare(form: &mut Form<'_, '_>, written: Written, around: &Around<'_>) -> Hill {
        let Around { given, grip, ledger } = *around;
        if written.laden && ledger.is_none() {
            let message = "a laden hill without a `ledger`";
            form.report(
                &codes::MISSING_FIELD,
                form.place(),
                message,
                "type `ledger: …`, the name of a mass-ledger",
            );
        }
        let laden = (written.laden && ledger.is_some()).then(|| Laden::read(form, ledger, grip));
        let (weight, rolling, front_share) = match &laden {
            Some(_) => (
                "ledger.laden_mass * 9.80665 m/s^2",
                "road.f0 * ledger.laden_mass / road.mass",
                "ledger.laden_front_axle / ledger.laden_mass",
            ),
            None => ("road.mass * 9.80665 m/s^2", "road.f0", "ledger.front_share"),
        };
        let weight = form.step("hill_weight", "N", weight);
        let rolling = form.step("hill_rolling", "N", rolling);
        let load = Load { weight: "hill_weight", rolling: "hill_rolling", front_share };
        let adhesion_force = form.step("hill_adhesion_force", "N", &grip.formula(&load));
        let drag = form.step(
            "hill_drag",
            "N",
            "road.f1 * hill.speed + road.f2 * (hill.speed + road.headwind) * abs(hill.speed + road.headwind)",
        );
        let force = form.step(
            "hill_force",
            "N",
            "hill_weight * sin(atan(hill.grade)) + hill_rolling * cos(atan(hill.grade)) + hill_drag",
        );
        let motor_torque = form.step(
            "hill_motor_torque",
            "N·m",
            "hill_force * (chain.rolling_circumference / (2 * pi)) / (chain.overall_ratio * chain.efficiency)",
        );
        let mut uses = given.uses();
        uses.push(written.speed.index());
        let peak_torque = form.procedure(
            "hill_peak_torque",
            "N·m",
            "the motor's torque at the hill's speed, within its curve, the battery's limit and its sagged voltage",
            &uses,
        );
        let share = form.step("hill_share", "%", "hill_motor_torque / hill_peak_torque");
        let continuous = given.motor.continuous.is_some().then(|| {
            uses.extend(given.continuous_uses());
            let torque = form.procedure(
                "hill_continuous_torque",
                "N·m",
                "the smaller of the motor's continuous and its peak torque at the hill's speed",
                &uses,
            );
            let time = given.motor.peak_time.map(|peak_time| {
                let uses = [peak_time.index(), motor_torque.index(), peak_torque.index(), torque.index()];
                let method = "the heat that the peak torque makes beyond the continuous one in the peak time, at a loss that grows with the square of torque: peak time × (peak² − continuous²) / (hill² − continuous²); 24 h at most";
                (peak_time, form.procedure("hill_time", "s", method, &uses))
            });
            Bearing { torque, time }
        });
        let hill = Hill {
            grade: written.grade,
            speed: written.speed,
            laden,
            time: written.time,
            weight,
            rolling,
            adhesion_force,
            drag,
            force,
            motor_torque,
            peak_torque,
            share,
            continuous,
        };
        hill.require(form);
        hill
    }

    fn require(&self, form: &mut Form<'_, '_>) {
        let wish = |name, source| Limit {
            name,
            kind: RequirementKind::Wish,
            actual: name,
            low: None,
            high: None,
            source,
            status: Status::Stated,
            span: None,
        };
        let source = "the motor's torque at the hill's speed";
        form.require(Limit { high: Some("hill_peak_torque"), ..wish("hill_motor_torque", source) });
        let timed = self.continuous.as_ref().is_some_and(|bearing| bearing.time.is_some());
        if timed && self.time.is_some() {
            form.require(Limit {
                low: Some("hill.time"),
                ..wish("hill_time", "the time that the hill lasts")
            });
        }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, around: &Around<'_>, model: &Model) {
        let Around { given, grip, .. } = *around;
        let gravity = Acceleration::from_si(GRAVITY);
        let (road_mass, f0) = (bench.get(given.road.mass), bench.get(given.road.f0));
        let (weight, rolling, front_share) = match &self.laden {
            Some(laden) => {
                let mass: Mass = bench.get(laden.mass);
                let share = laden.front_axle.map(|axle| Ratio::from(bench.get(axle) / mass));
                (mass * gravity, f0 * Ratio::from(mass / road_mass), share)
            }
            None => (road_mass * gravity, f0, None),
        };
        bench.set(self.weight, weight);
        bench.set(self.rolling, rolling);
        bench.set(self.adhesion_force, grip.force(bench, &Load { weight, rolling, front_share }));
        let speed = bench.get(self.speed);
        let wind = speed + bench.get(given.road.headwind);
        let drag = bench.get(given.road.f1) * speed + bench.get(given.road.f2) * wind * wind.abs();
        bench.set(self.drag, drag);
        let slope = bench.get(self.grade).atan();
        let force = weight * slope.sin() + rolling * slope.cos() + drag;
        bench.set(self.force, force);
        let arm: Length = bench.get(given.chain.circumference) / std::f64::consts::TAU;
        let geared = bench.get(given.chain.overall_ratio) * bench.get(given.chain.efficiency);
        let torque: Torque = (moment(force, arm) / geared).into();
        bench.set(self.motor_torque, torque);
        let peak = Torque::from_si(model.force_at(speed.si()) / model.motor.gear.force);
        bench.set(self.peak_torque, peak);
        bench.set(self.share, torque / peak);
        let Some(bearing) = &self.continuous else { return };
        let continuous = Torque::from_si(model.continuous_force_at(speed.si()) / model.motor.gear.force);
        bench.set(bearing.torque, continuous);
        if let Some((peak_time, time)) = bearing.time {
            let torques = [torque.si(), peak.si(), continuous.si()];
            bench.set(time, Time::from_si(borne(bench.get(peak_time).si(), torques)));
        }
    }
}

/// How long a torque is borne, s, from `[hill, peak, continuous]`: 0 above the peak, [`WITHOUT_END`] at most.
fn borne(peak_time: f64, [hill, peak, continuous]: [f64; 3]) -> f64 {
    if hill > peak {
        return 0.0;
    }
    let heat = peak_time * (peak * peak - continuous * continuous);
    let rate = hill * hill - continuous * continuous;
    if rate.is_nan() || heat.is_nan() {
        return f64::NAN;
    }
    if rate <= 0.0 { WITHOUT_END } else { (heat / rate).min(WITHOUT_END) }
}

#[cfg(test)]
mod tests {
    use super::borne;

    #[test]
    fn a_torque_between_the_ratings_is_borne_by_its_heat() {
        // Twice the continuous torque for 60 s is 180 of heat; at √2 times it, 1 of heat a second.
        assert_eq!(borne(60.0, [2f64.sqrt() * 100.0, 200.0, 100.0]).round(), 180.0);
        assert_eq!(borne(60.0, [200.0, 200.0, 100.0]), 60.0);
        assert_eq!(borne(60.0, [99.0, 200.0, 100.0]), 86_400.0);
        assert_eq!(borne(60.0, [201.0, 200.0, 100.0]), 0.0);
        assert!(borne(60.0, [f64::NAN, 200.0, 100.0]).is_nan());
    }
}
