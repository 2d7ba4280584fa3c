//! The results of a traction block: start, top speed, grades and sprints.

use super::gear_names::LAUNCH_RATIO;
use super::gears::Drives;
use super::given::{GearOf, Given, Model};
use super::grip::set;
use super::motor::ShapeOf;
use super::rows::{
    AIR_SPEED, ANGLE, BEST_GEAR, CLIMBING_FORCE, CONTINUOUS_ANGLE, CONTINUOUS_CLIMBING_FORCE,
    CONTINUOUS_CURRENT, CONTINUOUS_FORCE, CONTINUOUS_GRADE, CONTINUOUS_PACK_POWER, CONTINUOUS_TOP_SPEED,
    DRAG, DRAG_AT_REST, DRIVE_FORCE, GEAR_ANGLE, GEAR_CLIMBING_FORCE, GEAR_FORCE, GEAR_GRADE, GRADE,
    GROUND_FORCE, HELD_AT, LAUNCH_FORCE, LAUNCH_LIMIT, LAUNCH_TORQUE, LAUNCH_TORQUE_LEAST,
    LAUNCH_TORQUE_OF_CURVE, MOTOR_LAUNCH_FORCE, PEAK_PACK_POWER, ROLLING_RADIUS, ROLLING_SLOPE, ROTOR_MASS,
    ROTOR_MASS_IN, SPRINT, SPRINT_DISTANCE, SPRINT_GEARS, START_ANGLE, START_FORCE, START_GRADE, START_HELD,
    TOP_SPEED, TOP_SPEED_GEAR, TOP_SPEED_LIMIT, TYRE_REACH, TYRE_SLOPE, TYRE_SLOPE_AT, TYRE_SURPLUS,
    VOLTAGE_AT_PEAK, WORST_PEAK_PACK_POWER, WORST_TOP_SPEED, WORST_VOLTAGE_AT_PEAK,
};
use crate::model::{Bench, Case, Entry, Outcomes, Slot};
use crate::quantities::si::{
    Angle, ElectricCurrent, ElectricPotential, ElectricalResistance, Force, Length, Mass, Measure, Power,
    Ratio, Time, Torque, Velocity, force_at,
};

pub(super) struct Start {
    pub(super) radius: Slot<Length>,
    torque: Slot<Torque>,
    /// Of the gear that it starts in; worked where nobody names it.
    ratio: Slot<Ratio>,
    pub(super) lowest: Option<Slot<Ratio>>,
    rotors: Vec<Slot<Mass>>,
    pub(super) motor_force: Slot<Force>,
    pub(super) force: Slot<Force>,
    pub(super) limit: Slot<String>,
    rolling_slope: Slot<Angle>,
    ground_force: Slot<Force>,
    tyre_surplus: Slot<Force>,
    tyre_reach: Slot<Force>,
    drag: Slot<Force>,
    tyre_slope: Slot<Angle>,
    held: Slot<Force>,
    climb: Climb,
    pub(super) grade: Slot<Ratio>,
}

/// The way to a grade.
struct Climb {
    force: Slot<Force>,
    angle: Slot<Angle>,
}

pub(super) struct AtSpeed {
    pub(super) speed: Slot<Velocity>,
    air_speed: Slot<Velocity>,
    drag: Slot<Force>,
    pub(super) drive: Slot<Force>,
    tyre_slope: Slot<Angle>,
    held: Slot<Force>,
    climb: Climb,
    pub(super) grade: Slot<Ratio>,
    pub(super) continuous: Option<ContinuousAt>,
    pub(super) best: Option<Slot<String>>,
    /// In each gear, where there are several.
    pub(super) gears: Vec<InGear>,
}

pub(super) struct InGear {
    pub(super) force: Slot<Force>,
    climb: Climb,
    grade: Slot<Ratio>,
}

pub(super) struct ContinuousAt {
    pub(super) force: Slot<Force>,
    climb: Climb,
    grade: Slot<Ratio>,
}

/// What the drive asks of the battery, and what that bears.
pub(super) struct Battery {
    pub(super) power: Slot<Power>,
    voltage: Slot<ElectricPotential>,
    /// With the pack at its worst.
    pub(super) worst: Option<(Slot<Power>, Slot<ElectricPotential>)>,
    continuous_current: Slot<ElectricCurrent>,
    continuous_power: Slot<Power>,
}

pub(super) struct Top {
    pub(super) speed: Slot<Velocity>,
    pub(super) worst: Option<Slot<Velocity>>,
    pub(super) limit: Slot<String>,
    pub(super) gear: Option<Slot<String>>,
    pub(super) continuous: Option<Slot<Velocity>>,
}

pub(super) struct SprintOf {
    pub(super) title: String,
    pub(super) from: Slot<Velocity>,
    pub(super) to: Slot<Velocity>,
    pub(super) time: Slot<Time>,
    pub(super) distance: Slot<Length>,
    pub(super) gears: Option<Slot<String>>,
}

/// What is weighed against each other on a slope: the tyres hold `adhesion` on the level.
#[derive(Clone, Copy)]
pub(super) struct Pull {
    pub(super) weight: Force,
    pub(super) rolling: Force,
    pub(super) adhesion: Force,
    pub(super) drag: Force,
}

impl Pull {
    /// Rolling resistance on the slope is f0 cos θ: with the weight it makes one force, turned by this angle.
    fn rolling_slope(&self) -> Angle {
        Ratio::from(self.rolling / self.weight).atan()
    }

    fn with_weight(&self, across: Force) -> Force {
        (self.weight * self.weight + across * across).sqrt()
    }

    /// The slope on which the tyres hold just what it takes; NaN where the drag alone is more.
    pub(super) fn tyre_slope(&self) -> Angle {
        let surplus = self.adhesion - self.rolling;
        let drag = Ratio::from(self.drag / self.with_weight(surplus));
        Ratio::from(surplus / self.weight).atan() - drag.asin()
    }

    /// What the tyres hold on their steepest slope.
    fn held(&self) -> Force {
        self.adhesion * self.tyre_slope().cos()
    }

    /// The smaller of what the drive gives and that.
    pub(super) fn climbing_force(&self, drive: Force) -> Force {
        let held = self.held();
        // NaN stays.
        if drive > held { held } else { drive }
    }

    /// The steepest grade on which a force at the wheels is enough; NaN where the drag alone is too much for any.
    pub(super) fn grade(&self, force: Force) -> Ratio {
        (self.angle(force) - self.rolling_slope()).tan()
    }

    fn angle(&self, force: Force) -> Angle {
        Ratio::from((force - self.drag) / self.with_weight(self.rolling)).asin()
    }

    fn climb(&self, bench: &mut Bench<'_>, (climb, grade): (&Climb, Slot<Ratio>), drive: Force) {
        let force = self.climbing_force(drive);
        set(bench, climb.force, Some(force));
        set(bench, climb.angle, Some(self.angle(force)));
        set(bench, grade, Some(self.grade(force)));
    }
}

impl Start {
    pub(super) fn declare(out: &mut Outcomes<'_, '_, '_>, given: &Given) -> Start {
        let radius = out.result(&ROLLING_RADIUS);
        let names = given.motor.launch_names();
        let torque = match given.motor.shape {
            _ if names.len() > 1 => out.result(LAUNCH_TORQUE_LEAST.with("EACH", names.join(", "))),
            ShapeOf::Curve { .. } => out.result(&LAUNCH_TORQUE_OF_CURVE),
            ShapeOf::Peak { .. } => out.result(&LAUNCH_TORQUE),
        };
        let chain = &given.chain;
        let ratios: Vec<Slot<Ratio>> = chain.gears.iter().map(|gear| gear.overall_ratio).collect();
        let lowest = (chain.is_geared() && chain.launch.is_none()).then(|| {
            out.procedure(&LAUNCH_RATIO, &ratios.iter().map(|slot| slot.index()).collect::<Vec<_>>())
        });
        let ratio = lowest.unwrap_or(ratios[chain.launch.unwrap_or(0)]);
        let motor_force = out.result(MOTOR_LAUNCH_FORCE.with("RATIO", out.names_of([ratio])));
        let rotors = declare_rotors(out, given);
        let force = out.result(&LAUNCH_FORCE);
        Start {
            radius,
            torque,
            ratio,
            lowest,
            rotors,
            motor_force,
            force,
            limit: out.procedure(&LAUNCH_LIMIT, &[force.index()]),
            rolling_slope: out.result(&ROLLING_SLOPE),
            ground_force: out.result(&GROUND_FORCE),
            tyre_surplus: out.result(&TYRE_SURPLUS),
            tyre_reach: out.result(&TYRE_REACH),
            drag: out.result(&DRAG_AT_REST),
            tyre_slope: out.result(&TYRE_SLOPE),
            held: out.result(&START_HELD),
            climb: Climb { force: out.result(&START_FORCE), angle: out.result(&START_ANGLE) },
            grade: out.result(&START_GRADE),
        }
    }

    /// `pull` is without a headwind.
    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, given: &Given, pull: &Pull) {
        let arm: Length = bench.get(given.chain.circumference) / std::f64::consts::TAU;
        bench.set(self.radius, arm);
        let torque = given.motor.launch_torque(bench);
        bench.set(self.torque, torque);
        let ratios = given.chain.gears.iter().map(|gear| bench.get(gear.overall_ratio));
        let most = ratios
            .fold(Ratio::from_si(f64::NEG_INFINITY), |most, ratio| if ratio > most { ratio } else { most });
        if let Some(slot) = self.lowest {
            bench.set(slot, most);
        }
        for (gear, slot) in given.chain.gears.iter().zip(&self.rotors) {
            let turns = bench.get(gear.overall_ratio) / arm;
            if let Some(inertia) = given.motor.rotor_inertia {
                bench.set(*slot, Mass::from_si(bench.get(inertia).si() * turns.value * turns.value));
            }
        }
        let geared = bench.get(self.ratio) * bench.get(given.chain.efficiency);
        let force = force_at((torque * geared).into(), arm);
        bench.set(self.motor_force, force);
        let held = pull.adhesion * bench.get(given.road.slope).cos();
        bench.set(self.force, if force > held { held } else { force });
        bench.set(self.rolling_slope, pull.rolling_slope());
        bench.set(self.ground_force, pull.with_weight(pull.rolling));
        let surplus = pull.adhesion - pull.rolling;
        bench.set(self.tyre_surplus, surplus);
        bench.set(self.tyre_reach, pull.with_weight(surplus));
        let drag = given.road.drag(bench, Velocity::from_si(0.0));
        bench.set(self.drag, drag);
        let pull = Pull { drag, ..*pull };
        set(bench, self.tyre_slope, Some(pull.tyre_slope()));
        set(bench, self.held, Some(pull.held()));
        pull.climb(bench, (&self.climb, self.grade), force);
    }
}

/// The mass that the rotor is like in each gear; none where nothing is known of it.
fn declare_rotors(out: &mut Outcomes<'_, '_, '_>, given: &Given) -> Vec<Slot<Mass>> {
    if given.motor.rotor_inertia.is_none() {
        return Vec::new();
    }
    let rotor = |gear: &GearOf| {
        let ratio = out.names_of([gear.overall_ratio]);
        out.result(match given.chain.is_geared() {
            true => ROTOR_MASS_IN.of(&gear.case).with("RATIO", ratio),
            false => ROTOR_MASS.with("RATIO", ratio),
        })
    };
    given.chain.gears.iter().map(rotor).collect()
}

impl AtSpeed {
    pub(super) fn declare(
        out: &mut Outcomes<'_, '_, '_>,
        given: &Given,
        entry: &Entry<Slot<Velocity>>,
    ) -> AtSpeed {
        let (case, speed) = (entry.case(), entry.read);
        let mut uses = given.uses();
        uses.push(speed.index());
        let air_speed = out.result(AIR_SPEED.of(&case));
        let drag = out.result(DRAG.of(&case));
        let drive = out.procedure(DRIVE_FORCE.of(&case), &uses);
        let tyre_slope = out.result(TYRE_SLOPE_AT.of(&case));
        let held = out.result(HELD_AT.of(&case));
        let climb = Climb { force: out.result(CLIMBING_FORCE.of(&case)), angle: out.result(ANGLE.of(&case)) };
        let grade = out.result(GRADE.of(&case));
        let continuous = given.motor.is_rated().then(|| {
            uses.extend(given.continuous_uses());
            ContinuousAt {
                force: out.procedure(CONTINUOUS_FORCE.of(&case), &uses),
                climb: Climb {
                    force: out.result(CONTINUOUS_CLIMBING_FORCE.of(&case)),
                    angle: out.result(CONTINUOUS_ANGLE.of(&case)),
                },
                grade: out.result(CONTINUOUS_GRADE.of(&case)),
            }
        });
        let named = given.chain.gears.iter().filter(|_| given.chain.is_geared());
        let in_gear = |gear: &GearOf| {
            let case = Case {
                slug: format!("{}_{}", gear.case.slug, case.slug),
                title: format!("{} at {}", gear.case.title, case.title),
            };
            InGear {
                force: out.procedure(GEAR_FORCE.of(&case), &uses),
                climb: Climb {
                    force: out.result(GEAR_CLIMBING_FORCE.of(&case).with("HELD", out.names_of([held]))),
                    angle: out.result(GEAR_ANGLE.of(&case).with("DRAG", out.names_of([drag]))),
                },
                grade: out.result(GEAR_GRADE.of(&case)),
            }
        };
        let gears: Vec<InGear> = named.map(in_gear).collect();
        let best =
            given.chain.is_geared().then(|| out.procedure(BEST_GEAR.of(&entry.case()), &[drive.index()]));
        AtSpeed { speed, air_speed, drag, drive, tyre_slope, held, climb, grade, continuous, best, gears }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, given: &Given, (pull, drives): (&Pull, &Drives)) {
        let speed = bench.get(self.speed);
        bench.set(self.air_speed, speed + bench.get(given.road.headwind));
        let drag = given.road.drag(bench, speed);
        bench.set(self.drag, drag);
        let pull = Pull { drag, ..*pull };
        set(bench, self.tyre_slope, Some(pull.tyre_slope()));
        set(bench, self.held, Some(pull.held()));
        let mut climb = |force: Slot<Force>, way: (&Climb, Slot<Ratio>), drive: f64| {
            let drive = Force::from_si(drive);
            set(bench, force, Some(drive));
            pull.climb(bench, way, drive);
        };
        let speed = speed.si();
        climb(self.drive, (&self.climb, self.grade), drives.force_at(speed));
        for (at, model) in self.gears.iter().zip(&drives.each) {
            climb(at.force, (&at.climb, at.grade), model.force_at(speed));
        }
        if let Some(at) = &self.continuous {
            climb(at.force, (&at.climb, at.grade), drives.continuous_force_at(speed));
        }
    }
}

impl Battery {
    pub(super) fn declare(out: &mut Outcomes<'_, '_, '_>, given: &Given) -> Battery {
        Battery {
            power: out.procedure(&PEAK_PACK_POWER, &given.uses()),
            voltage: out.result(&VOLTAGE_AT_PEAK),
            worst: given.worst_uses().map(|uses| {
                (out.procedure(&WORST_PEAK_PACK_POWER, &uses), out.result(&WORST_VOLTAGE_AT_PEAK))
            }),
            continuous_current: out.result(&CONTINUOUS_CURRENT),
            continuous_power: out.result(&CONTINUOUS_PACK_POWER),
        }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, given: &Given, (model, worst): (&Model, &Model)) {
        bench.set(self.power, model.pack_power_limit());
        let Some(pack) = &given.pack else { return };
        let source = (bench.get(pack.nominal_voltage), bench.get(pack.resistance));
        set(bench, self.voltage, Some(voltage_at(model.pack_power_limit(), source)));
        if let (Some((power, voltage)), Some((open, resistance))) = (self.worst, pack.worst) {
            let source = (bench.get(open), bench.get(resistance));
            set(bench, power, Some(worst.pack_power_limit()));
            set(bench, voltage, Some(voltage_at(worst.pack_power_limit(), source)));
        }
        if let Some(current) = pack.continuous_current(bench) {
            bench.set(self.continuous_current, current);
        }
        if let Some(power) = given.continuous_pack_power(bench) {
            bench.set(self.continuous_power, power);
        }
    }
}

/// At the terminals of a source, V from P = V (E − V)/R; NaN where it can't give the power.
fn voltage_at(
    power: Power,
    (open, resistance): (ElectricPotential, ElectricalResistance),
) -> ElectricPotential {
    (open + (open * open - 4.0 * resistance * power).sqrt()) / 2.0
}

impl Top {
    pub(super) fn declare(out: &mut Outcomes<'_, '_, '_>, given: &Given, uses: &[usize]) -> Top {
        let speed = out.procedure(&TOP_SPEED, uses);
        let limit = out.procedure(&TOP_SPEED_LIMIT, &[speed.index()]);
        let gear = given.chain.is_geared().then(|| out.procedure(&TOP_SPEED_GEAR, &[speed.index()]));
        let with = |more: Vec<usize>| uses.iter().copied().chain(more).collect::<Vec<usize>>();
        let worst = given.worst_uses().map(|more| out.procedure(&WORST_TOP_SPEED, &with(more)));
        let continuous = given
            .motor
            .is_rated()
            .then(|| out.procedure(&CONTINUOUS_TOP_SPEED, &with(given.continuous_uses())));
        Top { speed, worst, limit, gear, continuous }
    }
}

impl SprintOf {
    pub(super) fn declare(
        out: &mut Outcomes<'_, '_, '_>,
        (given, uses): (&Given, &[usize]),
        entry: Entry<(Slot<Velocity>, Slot<Velocity>)>,
    ) -> SprintOf {
        let (case, (from, to)) = (entry.case(), entry.read);
        let uses: Vec<usize> = uses.iter().copied().chain([from.index(), to.index()]).collect();
        let time = out.procedure(SPRINT.of(&case), &uses);
        let distance = out.procedure(SPRINT_DISTANCE.of(&case), &uses);
        let gears = given.chain.is_geared().then(|| out.procedure(SPRINT_GEARS.of(&case), &[time.index()]));
        SprintOf { title: entry.title, from, to, time, distance, gears }
    }
}
