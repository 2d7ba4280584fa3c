//! The results of a traction block as they are declared: start, top speed, grades and sprints.

use super::given::{Given, ShapeOf};
use crate::model::{Entry, Form, Slot};
use crate::quantities::si::{Force, Length, Ratio, Time, Torque, Velocity, ratio};

pub(super) struct Start {
    pub(super) weight: Slot<Force>,
    pub(super) torque: Slot<Torque>,
    pub(super) motor_force: Slot<Force>,
    pub(super) force: Slot<Force>,
    pub(super) limit: Slot<String>,
    pub(super) drag: Slot<Force>,
    pub(super) grade: Slot<Ratio>,
}

pub(super) struct AtSpeed {
    pub(super) speed: Slot<Velocity>,
    pub(super) drag: Slot<Force>,
    pub(super) drive: Slot<Force>,
    pub(super) grade: Slot<Ratio>,
    pub(super) continuous: Option<(Slot<Force>, Slot<Ratio>)>,
}

pub(super) struct Top {
    pub(super) speed: Slot<Velocity>,
    pub(super) limit: Slot<String>,
    pub(super) continuous: Option<Slot<Velocity>>,
}

pub(super) struct SprintOf {
    pub(super) title: String,
    pub(super) from: Slot<Velocity>,
    pub(super) to: Slot<Velocity>,
    pub(super) time: Slot<Time>,
    pub(super) distance: Slot<Length>,
}

/// The steepest grade at a drive force and a drag: where either the motor or the tyres give out.
fn grade_formula(drive: &str, drag: &str) -> String {
    format!(
        "tan(min(asin(max(-1, min(1, ({drive} - {drag}) / sqrt(weight^2 + road.f0^2)))) - atan(road.f0 / weight), atan((adhesion_force - road.f0) / weight) - asin(max(-1, min(1, {drag} / sqrt(weight^2 + (adhesion_force - road.f0)^2))))))"
    )
}

/// The forces that [`steepest`] weighs against each other.
pub(super) struct Pull {
    pub(super) weight: Force,
    pub(super) rolling: Force,
    pub(super) adhesion: Force,
    pub(super) drag: Force,
}

/// The same as [`grade_formula`].
pub(super) fn steepest(drive: Force, pull: &Pull) -> Ratio {
    let Pull { weight, rolling, adhesion, drag } = *pull;
    let angle = |force: Force, across: Force| {
        let length = (weight * weight + across * across).sqrt();
        // NaN stays NaN.
        Ratio::from(force / length).value.clamp(-1.0, 1.0).asin()
    };
    let motor = angle(drive - drag, rolling) - Ratio::from(rolling / weight).value.atan();
    let tyres = Ratio::from((adhesion - rolling) / weight).value.atan() - angle(drag, adhesion - rolling);
    if motor.is_nan() || tyres.is_nan() { ratio(f64::NAN) } else { ratio(motor.min(tyres).tan()) }
}

impl Start {
    pub(super) fn declare(form: &mut Form<'_, '_>, given: &Given, weight: Slot<Force>) -> Start {
        let torque = match given.motor.shape {
            ShapeOf::Curve(curve) => {
                let name = form.name_of(curve);
                form.step("launch_torque", "N·m", &format!("{name}(0 rpm)"))
            }
            ShapeOf::Peak { torque, .. } => {
                let name = form.name_of(torque);
                form.step("launch_torque", "N·m", &name)
            }
        };
        let motor_force = form.step(
            "motor_launch_force",
            "N",
            "launch_torque * chain.overall_ratio * chain.efficiency / (chain.rolling_circumference / (2 * pi))",
        );
        let force =
            form.step("launch_force", "N", "min(motor_launch_force, adhesion_force * cos(road.slope))");
        let limit = form.text_step("launch_limit", &[force.index()]);
        let drag = form.step("drag_at_rest", "N", "road.f2 * road.headwind * abs(road.headwind)");
        let grade = form.step("start_grade", "%", &grade_formula("motor_launch_force", "drag_at_rest"));
        Start { weight, torque, motor_force, force, limit, drag, grade }
    }
}

impl AtSpeed {
    pub(super) fn declare(form: &mut Form<'_, '_>, given: &Given, entry: &Entry<Slot<Velocity>>) -> AtSpeed {
        let (slug, speed) = (&entry.slug, entry.read);
        let name = form.name_of(speed);
        let drag_name = format!("drag_at_{slug}");
        let formula =
            format!("road.f1 * {name} + road.f2 * ({name} + road.headwind) * abs({name} + road.headwind)");
        let drag = form.step(&drag_name, "N", &formula);
        let mut uses = given.uses();
        uses.push(speed.index());
        let force = format!("drive_force_at_{slug}");
        let method = "the motor's torque at that road speed through the chain, within its curve, the battery's limit and its sagged voltage";
        let drive = form.procedure(&force, "N", method, &uses);
        let grade = form.step(&format!("grade_at_{slug}"), "%", &grade_formula(&force, &drag_name));
        let continuous = given.motor.continuous.map(|_| {
            uses.extend(given.continuous_uses());
            let force = format!("continuous_force_at_{slug}");
            let method = "the smaller of the motor's continuous and its peak torque at that road speed, through the chain";
            let slot = form.procedure(&force, "N", method, &uses);
            let name = format!("continuous_grade_at_{slug}");
            (slot, form.step(&name, "%", &grade_formula(&force, &drag_name)))
        });
        AtSpeed { speed, drag, drive, grade, continuous }
    }
}

impl Top {
    pub(super) fn declare(form: &mut Form<'_, '_>, given: &Given, uses: &[usize]) -> Top {
        let method = "the first speed at which the force at the wheels, within motor, battery and adhesion, is no more than the road load, found by halving in each piece of the drive; else the last speed of the drive";
        let speed = form.procedure("top_speed", "km/h", method, uses);
        let limit = form.text_step("top_speed_limit", &[speed.index()]);
        let continuous = given.motor.continuous.map(|_| {
            let uses: Vec<usize> = uses.iter().copied().chain(given.continuous_uses()).collect();
            let method = "as the top speed, with the smaller of continuous and peak torque";
            form.procedure("continuous_top_speed", "km/h", method, &uses)
        });
        Top { speed, limit, continuous }
    }
}

impl SprintOf {
    pub(super) fn declare(
        form: &mut Form<'_, '_>,
        uses: &[usize],
        entry: Entry<(Slot<Velocity>, Slot<Velocity>)>,
    ) -> SprintOf {
        let (from, to) = entry.read;
        let uses: Vec<usize> = uses.iter().copied().chain([from.index(), to.index()]).collect();
        let method = "the integral of effective mass / (drive force − road load) over speed, parted at every corner of the drive, by a Gauss-Legendre rule on a fixed mesh";
        let time = form.procedure(&format!("sprint_{}", entry.slug), "s", method, &uses);
        let method = "the integral of speed over that time";
        let distance = form.procedure(&format!("sprint_distance_{}", entry.slug), "m", method, &uses);
        SprintOf { title: entry.title, from, to, time, distance }
    }
}
