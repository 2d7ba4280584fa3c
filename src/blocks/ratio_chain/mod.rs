//! From road speed back to the motor's speed, through the tyre and every stage of the drive.

mod fields;
mod gears;
mod pull;
mod rating;
mod results;
mod size;
mod torque;
mod tyre;

use self::fields::FIELDS;
use self::gears::Gears;
use self::pull::At;
use self::rating::Rating;
use self::results::{
    BRAKING_LIMIT, EFFICIENCY, GEARED_TOP_SPEED, MOTOR_LIMIT, MOTOR_SPEED, OVERALL_RATIO, REQUIRES, ROWS,
    SPEED_INTO, SPEED_MARGIN, STAGE_LIMIT, TORQUE_LIMIT, WHEEL_SPEED,
};
use self::torque::{
    MotorTorque, PEAK_POWER, PEAK_TORQUE, REGENERATION_POWER, REGENERATION_TORQUE, TORQUE_CURVE, Torques,
};
use self::tyre::{Given, Loaded, Wheel};
use crate::blocks::shared::lists::{fresh_slug, named};
use crate::findings::{Code, Severity, codes};
use crate::model::{
    Bench, Block, Chart, Driveline, Entry, Example, Form, Gearing, Kind, Limited, Origin, Outcomes, Page,
    Shaft, Slot, Taken, capital,
};
use crate::quantities::si::{
    AngularVelocity, Measure, Ratio, Torque, Velocity, geared, ratio, rolling_speed, turning_speed,
};
use crate::words::words;

static UNUSUAL_WHEEL: Code = Code {
    name: "unusual-wheel",
    severity: Severity::Warning,
    about: "a wheel that no road vehicle has, or a rolling factor that no tyre has: a unit or a digit may be wrong",
};

static RATIOS_RISE: Code = Code {
    name: "ratios-rise",
    severity: Severity::Warning,
    about: "gears called first, second and so on whose ratios do not fall",
};

pub(super) static KIND: Kind = Kind {
    name: "ratio-chain",
    summary: "how fast the motor turns at a road speed, and how fast the vehicle is at the motor's limit",
    subsystem: "drive",
    fields: FIELDS,
    rows: ROWS,
    takes: &[
        &MAX_SPEED.row,
        &PEAK_TORQUE.row,
        &REGENERATION_TORQUE.row,
        &pull::PULL.row,
        &pull::CURVE_VOLTAGE.row,
        &pull::MOTOR_EFFICIENCY.row,
        &pull::NOMINAL_VOLTAGE.row,
        &pull::PACK_RESISTANCE.row,
        &pull::PACK_LIMIT.row,
        &REGENERATION_POWER.row,
        &PEAK_POWER.row,
        &TORQUE_CURVE.row,
        &rating::FRONT.row,
        &rating::REAR.row,
        &rating::HEAVIER_FRONT.row,
        &rating::HEAVIER_REAR.row,
    ],
    requires: REQUIRES,
    example: Example {
        journal: "\
```yaml ratio-chain drive
wanted_speed: 100 mi/h
tyre: 31 in
stages:
  - {name: final drive, ratio: 3.73}
motor_max_speed: 8 000 rpm
```
",
        expected: &[
            ("drive.wheel_speed", "1084.30723 rpm"),
            ("drive.motor_speed", "4044.46595 rpm"),
            ("drive.geared_top_speed", "197.801146 mi/h"),
        ],
    },
    sources: &[
        "kinematics of a rolling wheel and of gears in series; common practice, no source",
        "size codes, rim + 2 × aspect × width: UN R30, 6.1.2 (memory); sizes with load indices on product register sheets (read); rims in millimetres, whose makers' diameters are 1 to 2 % larger: a maker's table as reproduced (second-hand); inch sizes without aspect: 6.00-16 of 28.3 in, a tyre shop's listing (read); 80 % for radial sizes without aspect: UN R30, annex 5 (memory)",
        "rolling factor of the size's own diameter: 0.97 to 0.98 by makers' turns per mile of ten new tyres (four read, six second-hand); 8 mm of worn tread takes some 2.5 % off, so the assumed one has ± 0.05",
    ],
    limits: &[
        "tyre growth and slip",
        "tandem axles: each axle is taken to have two tyres, or four at the rear with `rear_tyres: twin`",
        "shock loads in torque: losses are left out instead",
    ],
    codes: &[&UNUSUAL_WHEEL, &RATIOS_RISE],
    read,
};

static MAX_SPEED: Taken<AngularVelocity> = Taken::new("motor", "max_speed").stands_for("motor_max_speed");

struct RatioChain {
    wanted_speed: Slot<Velocity>,
    wheel: Wheel,
    stages: Vec<Stage>,
    gears: Gears,
    motor_max_speed: Slot<AngularVelocity>,
    wheel_speed: Slot<AngularVelocity>,
    overall_ratio: Slot<Ratio>,
    efficiency: Slot<Ratio>,
    motor_speed: Slot<AngularVelocity>,
    geared_top_speed: Slot<Velocity>,
    speed_margin: Slot<Ratio>,
    torques: Torques,
    rating: Rating,
}

struct Stage {
    title: String,
    ratio: Slot<Ratio>,
    efficiency: Slot<Ratio>,
    speed_limit: Slot<AngularVelocity>,
    speed_into: Slot<AngularVelocity>,
    torque_limit: Option<Slot<Torque>>,
}

/// A stage as it is written.
struct Written {
    ratio: Slot<Ratio>,
    ranges: Vec<Entry<Slot<Ratio>>>,
    efficiency: Slot<Ratio>,
    speed_limit: Slot<AngularVelocity>,
    /// The same, where it is there.
    given_limit: Option<Slot<AngularVelocity>>,
    torque_limit: Option<Slot<Torque>>,
}

impl Written {
    /// The ratio, or each of those that have names.
    fn all_ratios(&self) -> Vec<Slot<Ratio>> {
        match self.ranges.as_slice() {
            [] => vec![self.ratio],
            named => named.iter().map(|entry| entry.read).collect(),
        }
    }
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let wanted_speed = form.required("wanted_speed");
    let (wheel, service) = Given::read(form);
    let axles = rating::read(form, &service);
    let written = form.list("stages", &["name"], read_stage);
    let mut motor = None;
    let motor_max_speed = match form.one_of(&["motor_max_speed", "motor"]) {
        Some("motor") => {
            motor = form.lookup().block_name("motor");
            form.lookup().taken(&MAX_SPEED, motor.as_ref())
        }
        _ => form.if_given("motor_max_speed"),
    };
    let motor_torque = MotorTorque::read(form, motor.as_ref());
    let gears = gears::Given::read(form, &written, (motor.as_ref(), &motor_torque));
    let mut out = form.outcomes();
    let wheel = Wheel::declare(&mut out, wheel);
    let wheel_speed = out.result(&WHEEL_SPEED);
    let mut gears = Gears::declare(&mut out, gears, (&written, wheel_speed, motor_max_speed));
    let ratios = gears.ratios();
    let stages = declare_stages(&mut out, (&written, &ratios), wheel_speed);
    let efficiencies: Vec<Slot<Ratio>> = stages.iter().map(|stage| stage.efficiency).collect();
    let overall_ratio = out.result(OVERALL_RATIO.with("RATIOS", product(&out, &ratios)));
    let efficiency = out.result(EFFICIENCY.with("EFFICIENCIES", product(&out, &efficiencies)));
    let motor_speed = out.result(&MOTOR_SPEED);
    let geared_top_speed = out.result(&GEARED_TOP_SPEED);
    let speed_margin = out.result(&SPEED_MARGIN);
    gears.declare_each(&mut out, (motor_max_speed, wheel.circumference));
    out.require(&MOTOR_LIMIT);
    let torques = Torques::declare(&mut out, motor_torque, &written);
    let rating = Rating::declare(&mut out, axles);
    for entry in &written {
        out.require(STAGE_LIMIT.of(&entry.case()));
        out.require(TORQUE_LIMIT.of(&entry.case()));
        out.require(BRAKING_LIMIT.of(&entry.case()));
    }
    Box::new(RatioChain {
        wanted_speed,
        wheel,
        stages,
        gears,
        motor_max_speed,
        wheel_speed,
        overall_ratio,
        efficiency,
        motor_speed,
        geared_top_speed,
        speed_margin,
        torques,
        rating,
    })
}

fn declare_stages(
    out: &mut Outcomes<'_, '_, '_>,
    (written, ratios): (&[Entry<Written>], &[Slot<Ratio>]),
    wheel_speed: Slot<AngularVelocity>,
) -> Vec<Stage> {
    let mut before = wheel_speed;
    let stage = |(entry, ratio): (&Entry<Written>, &Slot<Ratio>)| {
        let (Written { efficiency, speed_limit, .. }, ratio) = (&entry.read, *ratio);
        let (efficiency, speed_limit, torque_limit) = (*efficiency, *speed_limit, entry.read.torque_limit);
        let (from, by) = (out.names_of([before]), out.names_of([ratio]));
        let speed_into = out.result(SPEED_INTO.of(&entry.case()).with("BEFORE", from).with("RATIO", by));
        before = speed_into;
        Stage { title: entry.title.clone(), ratio, efficiency, speed_limit, speed_into, torque_limit }
    };
    written.iter().zip(ratios).map(stage).collect()
}

/// A product by the names of its factors.
fn product(out: &Outcomes<'_, '_, '_>, slots: &[Slot<Ratio>]) -> String {
    let names: Vec<String> = slots.iter().map(|slot| out.names_of([*slot])).collect();
    names.join(" * ")
}

fn read_stage(form: &mut Form<'_, '_>, _slug: &str) -> Written {
    form.text("name");
    let ranges = if form.has("ratios") { read_named_ratios(form) } else { Vec::new() };
    let ratio = match ranges.first() {
        Some(first) => first.read,
        // What stands under `ratios` can't be read, which has been told.
        None if form.take("ratios").is_some_and(|ratios| ratios.entries().is_none()) => {
            form.put("ratio", form.place, Origin::Failed)
        }
        None => form.required("ratio"),
    };
    let efficiency = form.assumed("efficiency");
    let torque_limit = form.optional("torque_limit");
    let is_limited = form.has("speed_limit");
    let speed_limit = form.if_given("speed_limit");
    let given_limit = is_limited.then_some(speed_limit);
    Written { ratio, ranges, efficiency, speed_limit, given_limit, torque_limit }
}

fn read_named_ratios(form: &mut Form<'_, '_>) -> Vec<Entry<Slot<Ratio>>> {
    if form.has("ratio") {
        let message = "a stage with both `ratio` and `ratios`";
        form.report(&codes::BAD_VALUE, form.place, message, "keep one of them");
        form.optional::<Ratio>("ratio");
    }
    let mut ratios = Vec::new();
    for (title, value) in named(form, "ratios") {
        let Some(slug) = fresh_slug(form, ("ratios", &title), value.span, &ratios) else { continue };
        let read = form.value(("ratios", &format!("ratios.{slug}")), &value);
        ratios.push(Entry { title, slug, read });
    }
    ratios
}

impl Block for RatioChain {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let circumference = self.wheel.evaluate(bench);
        let wheel_speed = turning_speed(bench.get(self.wanted_speed), circumference);
        bench.set(self.wheel_speed, wheel_speed);
        let limit = bench.get(self.motor_max_speed);
        self.gears.evaluate(bench, At { wheel_speed, limit, circumference });

        let mut speed = wheel_speed;
        let mut overall = ratio(1.0);
        let mut efficiency = ratio(1.0);
        for stage in &self.stages {
            let own = bench.get(stage.ratio);
            speed = geared(speed, own);
            overall = overall * own;
            efficiency = efficiency * bench.get(stage.efficiency);
            bench.set(stage.speed_into, speed);
        }
        bench.set(self.overall_ratio, overall);
        bench.set(self.efficiency, efficiency);
        let motor_speed = geared(wheel_speed, overall);
        bench.set(self.motor_speed, motor_speed);
        bench.set(self.geared_top_speed, rolling_speed(geared(limit, 1.0 / overall), circumference));
        bench.set(self.speed_margin, Ratio::from(limit / motor_speed) - ratio(1.0));

        self.torques.evaluate(bench);
        self.rating.evaluate(bench);
    }

    fn present(&self, page: &mut Page<'_>) {
        let known =
            (page.get(self.wheel_speed), page.get(self.motor_max_speed), page.get(self.wheel.circumference));
        if let (Some(wheel_speed), Some(limit), Some(circumference)) = known {
            self.gears.present(page, At { wheel_speed, limit, circumference });
        }
        if let Some(margin) = page.get(self.speed_margin) {
            let share = -1.0 + 1.0 / (1.0 + margin.value);
            let rest = words!(
                " at {}{}, {} {} its limit of {}.",
                page.value(self.wanted_speed),
                self.gears.title(page).map(|gear| format!(" in {gear}")).unwrap_or_default(),
                page.percent(share.abs()),
                if share > 0.0 { "over" } else { "under" },
                page.value(self.motor_max_speed)
            );
            page.sentence(words!("Motor speed {}", page.value(self.motor_speed)), rest);
        }
        self.wheel.question(page);
        self.gears.question(page);
        self.torques.present(page);
        self.rating.present(page);
        if let Given::Tyre { loaded: Loaded::Assumed, .. } = self.wheel.given {
            page.note(
                "The tyre is taken as unloaded. Under load it rolls about 3 % less at each turn, so the motor turns faster by as much: measure it, `rolled: {turns: 10, distance: 19.3 m}`, or give `rolling_factor`.",
            );
        }
        self.draw(page);
    }
}

impl RatioChain {
    fn draw(&self, page: &mut Page<'_>) {
        let wheel = Shaft {
            label: "wheel".to_owned(),
            speed: Limited { shown: page.shown(self.wheel_speed), limit: None },
            torque: self.torques.at_wheel(page).map(|shown| Limited { shown, limit: None }),
            stage: None,
        };
        let mut shafts = vec![wheel];
        for (at, (stage, torque)) in self.stages.iter().zip(self.torques.of_each()).enumerate() {
            let last = at + 1 == self.stages.len();
            let label = if last { "motor".to_owned() } else { format!("into {}", stage.title) };
            let limit = if last { self.motor_max_speed } else { stage.speed_limit };
            let speed = limited(page, stage.speed_into, Some(limit));
            let torque = limited(page, torque, stage.torque_limit);
            let (title, ratio) = (capital(&stage.title), page.shown(stage.ratio));
            let lost = page.get(stage.efficiency).filter(|_| !page.is_assumed(stage.efficiency));
            let loss = match lost {
                Some(efficiency) => format!("loses {}", page.percent(1.0 - efficiency.value)),
                None => "loss not given".to_owned(),
            };
            let Some(speed) = speed else { return };
            shafts.push(Shaft { label, speed, torque, stage: Some(Gearing { title, ratio, loss }) });
        }
        if page.get(self.wheel_speed).is_some() {
            let at = page.shown(self.wanted_speed);
            page.said.chart = Some(Chart::Driveline(Driveline { shafts, at }));
        }
    }
}

/// A value beside its limit; nothing where it is not known.
fn limited<T: Measure>(page: &Page<'_>, value: Slot<T>, limit: Option<Slot<T>>) -> Option<Limited> {
    let own = page.get(value)?.si();
    let limit = limit.and_then(|slot| Some((page.shown(slot), own / page.get(slot)?.si())));
    Some(Limited { shown: page.shown(value), limit })
}
