//! From road speed back to the motor's speed, through the tyre and every stage of the drive.

mod tyre;

use self::tyre::Tyre;
use crate::findings::codes;
use crate::model::{
    Bench, Block, Chart, Entry, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind,
    ResultDoc, Shaft, Slot, Status, Takes, capital,
};
use crate::quantities::si::{
    AngularVelocity, Length, Measure, Ratio, Torque, Velocity, geared, ratio, rolling_speed, turning_speed,
};
use crate::quantities::{slug, sort};

pub(super) static KIND: Kind = Kind {
    name: "ratio-chain",
    summary: "how fast the motor turns at a road speed, and how fast the vehicle is at the motor's limit",
    subsystem: "drive",
    fields: &[
        FieldDoc::new("wanted_speed", Takes::Quantity(&sort::SPEED), "the road speed that is asked for")
            .range(Range::Positive),
        FieldDoc::new(
            "tyre",
            Takes::Quantity(&sort::LENGTH),
            "its diameter, or a size code: `205/65R15`, `P235/75R15`, `LT265/75R16`, `31x10.50R15LT`, `155R13` (80 % aspect is then assumed)",
        )
        .range(Range::Positive),
        FieldDoc::new(
            "rolling_factor",
            Takes::Quantity(&sort::RATIO),
            "rolling circumference over π × diameter; a loaded tyre has about 0.97",
        )
        .assumed("1")
        .range(Range::Positive),
        FieldDoc::new("stages", Takes::List, "from the wheel to the motor"),
        FieldDoc::new("stages.name", Takes::Text, "what the stage is called"),
        FieldDoc::new("stages.ratio", Takes::Quantity(&sort::RATIO), "turns on the motor's side for one on the wheel's")
            .either()
            .range(Range::Positive),
        FieldDoc::new(
            "stages.ratios",
            Takes::Group,
            "names with ratios, instead of `ratio`; the first one is used: `{high: 1, low: 2.6}`",
        )
        .optional(),
        FieldDoc::new("stages.efficiency", Takes::Quantity(&sort::RATIO), "power out over power in")
            .assumed("1")
            .range(Range::Share),
        FieldDoc::new("stages.torque_limit", Takes::Quantity(&sort::TORQUE), "on its motor's side")
            .optional()
            .range(Range::Positive),
        FieldDoc::new("stages.speed_limit", Takes::Quantity(&sort::ANGULAR_SPEED), "on its motor's side")
            .optional()
            .range(Range::Positive),
        FieldDoc::new("motor_max_speed", Takes::Quantity(&sort::ANGULAR_SPEED), "the motor's limit, or `motor` instead")
            .either()
            .range(Range::Positive),
        FieldDoc::new("motor", Takes::BlockName, "a part with `max_speed`, instead of `motor_max_speed`").optional(),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "tyre_diameter", about: "overall, unloaded" },
        ResultDoc { name: "rolling_circumference", about: "the way of one turn of the wheel" },
        ResultDoc { name: "wheel_speed", about: "at the wanted speed" },
        ResultDoc { name: "speed_into_STAGE", about: "on the motor's side of each stage" },
        ResultDoc { name: "overall_ratio", about: "motor turns for one of the wheel, with the first ratio named" },
        ResultDoc { name: "overall_ratio_RANGE", about: "the same in each named range" },
        ResultDoc { name: "efficiency", about: "of all stages together" },
        ResultDoc { name: "motor_speed", about: "at the wanted speed" },
        ResultDoc { name: "geared_top_speed", about: "at the motor's speed limit" },
        ResultDoc { name: "geared_top_speed_RANGE", about: "the same in each named range" },
        ResultDoc { name: "speed_margin", about: "motor limit / motor speed − 1" },
    ],
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
    sources: &["kinematics of a rolling wheel and of gears in series; common practice, no source"],
    inspector: &["wanted_speed", "tyre", "overall_ratio", "motor_speed", "geared_top_speed"],
    limits: &["tyre growth and slip"],
    codes: &[],
    read,
};

struct RatioChain {
    wanted_speed: Slot<Velocity>,
    tyre: Option<Tyre>,
    rolling_factor: Slot<Ratio>,
    rolling_is_assumed: bool,
    stages: Vec<Stage>,
    ranges: Vec<RangeOf>,
    motor_max_speed: Slot<AngularVelocity>,
    tyre_diameter: Slot<Length>,
    rolling_circumference: Slot<Length>,
    wheel_speed: Slot<AngularVelocity>,
    overall_ratio: Slot<Ratio>,
    efficiency: Slot<Ratio>,
    motor_speed: Slot<AngularVelocity>,
    geared_top_speed: Slot<Velocity>,
    speed_margin: Slot<Ratio>,
}

struct Stage {
    title: String,
    ratio: Slot<Ratio>,
    efficiency: Slot<Ratio>,
    speed_limit: Option<Slot<AngularVelocity>>,
    speed_into: Slot<AngularVelocity>,
}

/// A named ratio of one stage, the others being at their first.
struct RangeOf {
    stage: usize,
    ratio: Slot<Ratio>,
    overall_ratio: Slot<Ratio>,
    geared_top_speed: Slot<Velocity>,
}

/// A stage as it is written.
struct Written {
    ratio: Slot<Ratio>,
    ranges: Vec<(String, Slot<Ratio>)>,
    efficiency: Slot<Ratio>,
    speed_limit: Option<Slot<AngularVelocity>>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let wanted_speed = form.required("wanted_speed");
    let tyre = tyre::read(form);
    let rolling_is_assumed = !form.has("rolling_factor");
    let rolling_factor = form.assumed("rolling_factor");
    if !form.has("stages") {
        form.missing("stages");
    }
    let written = form.list("stages", &["name"], read_stage);
    let motor =
        if form.has("motor") && !form.has("motor_max_speed") { form.block_name("motor") } else { None };
    let motor_max_speed = if form.has("motor") && !form.has("motor_max_speed") {
        form.of_block(motor.as_ref(), "max_speed")
    } else {
        form.required("motor_max_speed")
    };
    let limit = form.name_of(motor_max_speed);

    let tyre_diameter = match &tyre {
        Some(Tyre::Diameter(slot)) => {
            let name = form.name_of(*slot);
            form.step("tyre_diameter", "mm", &name)
        }
        Some(Tyre::Metric { .. }) => {
            form.step("tyre_diameter", "mm", "tyre.rim + 2 * tyre.aspect * tyre.width")
        }
        None => form.unknown_step("tyre_diameter"),
    };
    let rolling_circumference =
        form.step("rolling_circumference", "m", "pi * rolling_factor * tyre_diameter");
    let wheel_speed = form.step("wheel_speed", "rpm", "wanted_speed / (rolling_circumference / 1 rev)");
    let mut before = "wheel_speed".to_owned();
    let mut stages = Vec::new();
    for entry in &written {
        let name = format!("speed_into_{}", entry.slug);
        let ratio = form.name_of(entry.read.ratio);
        let speed_into = form.step(&name, "rpm", &format!("{before} * {ratio}"));
        stages.push(Stage {
            title: entry.title.clone(),
            ratio: entry.read.ratio,
            efficiency: entry.read.efficiency,
            speed_limit: entry.read.speed_limit,
            speed_into,
        });
        before = name;
    }
    let product = |form: &Form<'_, '_>, slots: Vec<Slot<Ratio>>| {
        let names: Vec<String> = slots.iter().map(|slot| form.name_of(*slot)).collect();
        if names.is_empty() { "1".to_owned() } else { names.join(" * ") }
    };
    let ratios: Vec<Slot<Ratio>> = stages.iter().map(|stage| stage.ratio).collect();
    let formula = product(form, ratios.clone());
    let overall_ratio = form.step("overall_ratio", "1", &formula);
    let formula = product(form, stages.iter().map(|stage| stage.efficiency).collect());
    let efficiency = form.step("efficiency", "%", &formula);
    let motor_speed = form.step("motor_speed", "rpm", "wheel_speed * overall_ratio");
    let geared_top_speed = form.step(
        "geared_top_speed",
        "km/h",
        &format!("{limit} / overall_ratio * (rolling_circumference / 1 rev)"),
    );
    let speed_margin = form.step("speed_margin", "%", &format!("{limit} / motor_speed - 1"));
    let ranges = read_ranges(form, &written, &ratios, &limit);
    require(form, &written, &limit);
    Box::new(RatioChain {
        wanted_speed,
        tyre,
        rolling_factor,
        rolling_is_assumed,
        stages,
        ranges,
        motor_max_speed,
        tyre_diameter,
        rolling_circumference,
        wheel_speed,
        overall_ratio,
        efficiency,
        motor_speed,
        geared_top_speed,
        speed_margin,
    })
}

fn read_stage(form: &mut Form<'_, '_>, _slug: &str) -> Written {
    form.text("name");
    let ranges = if form.has("ratios") { read_named_ratios(form) } else { Vec::new() };
    let ratio = match ranges.first() {
        Some((_, first)) => *first,
        None => form.required("ratio"),
    };
    let efficiency = form.assumed("efficiency");
    form.optional::<Torque>("torque_limit");
    let speed_limit = form.optional("speed_limit");
    Written { ratio, ranges, efficiency, speed_limit }
}

fn read_named_ratios(form: &mut Form<'_, '_>) -> Vec<(String, Slot<Ratio>)> {
    if form.has("ratio") {
        let message = "a stage with both `ratio` and `ratios`";
        form.report(&codes::BAD_VALUE, form.place(), message, "keep one of them");
        form.optional::<Ratio>("ratio");
    }
    let mut ranges = Vec::new();
    for (name, value) in form.named("ratios") {
        let key = format!("ratios.{}", slug(&name));
        ranges.push((slug(&name), form.own_quantity(&key, &value, Range::Positive)));
    }
    ranges
}

fn read_ranges(
    form: &mut Form<'_, '_>,
    written: &[Entry<Written>],
    first: &[Slot<Ratio>],
    limit: &str,
) -> Vec<RangeOf> {
    let mut ranges = Vec::new();
    for (at, entry) in written.iter().enumerate() {
        for (name, ratio) in &entry.read.ranges {
            let mut chosen = first.to_vec();
            chosen[at] = *ratio;
            let names: Vec<String> = chosen.iter().map(|slot| form.name_of(*slot)).collect();
            let overall = format!("overall_ratio_{name}");
            let overall_ratio = form.step(&overall, "1", &names.join(" * "));
            let formula = format!("{limit} / {overall} * (rolling_circumference / 1 rev)");
            let geared_top_speed = form.step(&format!("geared_top_speed_{name}"), "km/h", &formula);
            ranges.push(RangeOf { stage: at, ratio: *ratio, overall_ratio, geared_top_speed });
        }
    }
    ranges
}

fn require(form: &mut Form<'_, '_>, written: &[Entry<Written>], limit: &str) {
    form.require(Limit {
        name: "motor_speed",
        kind: RequirementKind::Safety,
        actual: "motor_speed",
        low: None,
        high: Some(limit),
        source: "the motor's speed limit",
        status: Status::Stated,
        span: None,
    });
    for entry in written {
        let Some(slot) = entry.read.speed_limit else { continue };
        let name = format!("speed_into_{}", entry.slug);
        let high = form.name_of(slot);
        form.require(Limit {
            name: &name,
            kind: RequirementKind::Safety,
            actual: &name,
            low: None,
            high: Some(&high),
            source: "the stage's speed limit",
            status: Status::Stated,
            span: None,
        });
    }
}

impl Block for RatioChain {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let diameter = match &self.tyre {
            Some(Tyre::Diameter(slot)) => bench.get(*slot),
            Some(Tyre::Metric { width, aspect, rim }) => {
                bench.get(*rim) + 2.0 * bench.get(*aspect) * bench.get(*width)
            }
            // What does not rest on the tyre is worked all the same.
            None => Length::from_si(f64::NAN),
        };
        bench.set(self.tyre_diameter, diameter);
        let circumference: Length = std::f64::consts::PI * bench.get(self.rolling_factor) * diameter;
        bench.set(self.rolling_circumference, circumference);
        let wheel_speed = turning_speed(bench.get(self.wanted_speed), circumference);
        bench.set(self.wheel_speed, wheel_speed);

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
        let limit = bench.get(self.motor_max_speed);
        bench.set(self.geared_top_speed, rolling_speed(geared(limit, 1.0 / overall), circumference));
        bench.set(self.speed_margin, Ratio::from(limit / motor_speed) - ratio(1.0));

        for range in &self.ranges {
            let overall = overall / bench.get(self.stages[range.stage].ratio) * bench.get(range.ratio);
            bench.set(range.overall_ratio, overall);
            bench.set(range.geared_top_speed, rolling_speed(geared(limit, 1.0 / overall), circumference));
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        if let Some(margin) = page.get(self.speed_margin) {
            let share = -1.0 + 1.0 / (1.0 + margin.value);
            let against = if share > 0.0 { "over" } else { "under" };
            let rest = format!(
                " at {}, {} {against} its limit of {}.",
                page.shown(self.wanted_speed),
                page.percent(share.abs()),
                page.shown(self.motor_max_speed)
            );
            page.sentence(format!("Motor speed {}", page.shown(self.motor_speed)), rest);
        }
        page.headline(self.motor_speed);
        page.headline(self.geared_top_speed);
        if self.rolling_is_assumed {
            page.note(
                "The tyre is taken as unloaded. Under load it rolls about 3 % less at each turn, so the motor turns faster by as much: measure the rolling circumference, or give `rolling_factor`.",
            );
        }
        self.draw(page);
    }
}

impl RatioChain {
    fn draw(&self, page: &mut Page<'_>) {
        let mut shafts = Vec::new();
        let shaft = |page: &Page<'_>, label: String, speed: Slot<AngularVelocity>, limit, stage| {
            let value = page.get(speed)?;
            let limit: Option<Slot<AngularVelocity>> = limit;
            let limit = limit.and_then(|slot| Some((page.shown(slot), page.get(slot)?.value)));
            Some(Shaft { label, shown: page.shown(speed), value: value.value, limit, stage })
        };
        shafts.extend(shaft(page, "wheel".to_owned(), self.wheel_speed, None, None));
        for (at, stage) in self.stages.iter().enumerate() {
            let last = at + 1 == self.stages.len();
            let label = if last { "motor".to_owned() } else { format!("into {}", stage.title) };
            let limit = if last { Some(self.motor_max_speed) } else { stage.speed_limit };
            let of = format!("{} {}", capital(&stage.title), page.shown(stage.ratio));
            shafts.extend(shaft(page, label, stage.speed_into, limit, Some(of)));
        }
        if shafts.len() == self.stages.len() + 1 {
            page.said.chart = Some(Chart::Shafts { shafts, at: page.shown(self.wanted_speed) });
        }
    }
}
