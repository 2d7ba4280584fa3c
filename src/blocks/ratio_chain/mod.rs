//! From road speed back to the motor's speed, through the tyre and every stage of the drive.

mod results;
mod tyre;

use self::results::{
    EFFICIENCY, GEARED_TOP_SPEED, GEARED_TOP_SPEED_IN, MOTOR_LIMIT, MOTOR_SPEED, OVERALL_RATIO,
    OVERALL_RATIO_IN, REQUIRES, ROLLING_CIRCUMFERENCE, ROWS, SPEED_INTO, SPEED_MARGIN, STAGE_LIMIT,
    WHEEL_SPEED,
};
use self::tyre::Tyre;
use crate::findings::codes;
use crate::model::{
    Bench, Block, Case, Chart, Entry, Example, FieldDoc, FieldSort, Form, Kind, Outcomes, Page, Range, Shaft,
    Slot, Taken, Takes, capital,
};
use crate::quantities::si::{
    AngularVelocity, Length, Ratio, Torque, Velocity, geared, ratio, rolling_speed, turning_speed,
};
use crate::quantities::{slug, sort};
use crate::words::words;

pub(super) static KIND: Kind = Kind {
    name: "ratio-chain",
    summary: "how fast the motor turns at a road speed, and how fast the vehicle is at the motor's limit",
    subsystem: "drive",
    fields: &[
        FieldDoc::new("wanted_speed", Takes::Quantity(&sort::SPEED), "the road speed that is asked for")
            .range(Range::Positive)
            .sort(FieldSort::Choice)
            .principal(),
        FieldDoc::new(
            "tyre",
            Takes::Quantity(&sort::LENGTH),
            "its diameter, or a size code: `205/65R15`, `P235/75R15`, `LT265/75R16`, `31x10.50R15LT`, `155R13` (80 % aspect is then assumed)",
        )
        .range(Range::Positive)
        .principal(),
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
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("stages.speed_limit", Takes::Quantity(&sort::ANGULAR_SPEED), "on its motor's side")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("motor_max_speed", Takes::Quantity(&sort::ANGULAR_SPEED), "the motor's limit, or `motor` instead")
            .either()
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("motor", Takes::BlockName, "a part with `max_speed`, instead of `motor_max_speed`").either(),
    ],
    rows: ROWS,
    takes: &[&MAX_SPEED.row],
    requires: REQUIRES,
    results: &[],
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
    inspector: &[],
    limits: &["tyre growth and slip"],
    codes: &[],
    read,
};

static MAX_SPEED: Taken<AngularVelocity> = Taken::new("motor", "max_speed").stands_for("motor_max_speed");

struct RatioChain {
    wanted_speed: Slot<Velocity>,
    tyre: Tyre,
    rolling_factor: Slot<Ratio>,
    rolling_is_assumed: bool,
    stages: Vec<Stage>,
    ranges: Vec<RangeOf>,
    motor_max_speed: Slot<AngularVelocity>,
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
    speed_limit: Slot<AngularVelocity>,
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
    ranges: Vec<(Case, Slot<Ratio>)>,
    efficiency: Slot<Ratio>,
    speed_limit: Slot<AngularVelocity>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let wanted_speed = form.required("wanted_speed");
    let size = tyre::read(form);
    let rolling_is_assumed = !form.has("rolling_factor");
    let rolling_factor = form.assumed("rolling_factor");
    if !form.has("stages") {
        form.missing("stages");
    }
    let written = form.list("stages", &["name"], read_stage);
    let motor_max_speed = match form.one_of(&["motor_max_speed", "motor"]) {
        Some("motor") => {
            let motor = form.block_name("motor");
            form.lookup().taken(&MAX_SPEED, motor.as_ref())
        }
        _ => form.if_given("motor_max_speed"),
    };
    let mut out = form.outcomes();
    let tyre = Tyre::declare(&mut out, size);
    let rolling_circumference = out.result(&ROLLING_CIRCUMFERENCE);
    let wheel_speed = out.result(&WHEEL_SPEED);
    let stages = declare_stages(&mut out, &written, wheel_speed);
    let product = |out: &Outcomes<'_, '_, '_>, slots: &[Slot<Ratio>]| {
        let names: Vec<String> = slots.iter().map(|slot| out.name_of(*slot)).collect();
        names.join(" * ")
    };
    let ratios: Vec<Slot<Ratio>> = stages.iter().map(|stage| stage.ratio).collect();
    let efficiencies: Vec<Slot<Ratio>> = stages.iter().map(|stage| stage.efficiency).collect();
    let overall_ratio = out.result(OVERALL_RATIO.with("EACH", product(&out, &ratios)));
    let efficiency = out.result(EFFICIENCY.with("EACH", product(&out, &efficiencies)));
    let motor_speed = out.result(&MOTOR_SPEED);
    let geared_top_speed = out.result(&GEARED_TOP_SPEED);
    let speed_margin = out.result(&SPEED_MARGIN);
    let mut ranges = Vec::new();
    for (stage, entry) in written.iter().enumerate() {
        for (case, ratio) in &entry.read.ranges {
            let mut chosen = ratios.clone();
            chosen[stage] = *ratio;
            let overall_ratio = out.result(OVERALL_RATIO_IN.of(case).with("EACH", product(&out, &chosen)));
            let geared_top_speed = out.result(GEARED_TOP_SPEED_IN.of(case));
            ranges.push(RangeOf { stage, ratio: *ratio, overall_ratio, geared_top_speed });
        }
    }
    out.require(&MOTOR_LIMIT);
    written.iter().for_each(|entry| out.require(STAGE_LIMIT.of(&entry.case())));
    Box::new(RatioChain {
        wanted_speed,
        tyre,
        rolling_factor,
        rolling_is_assumed,
        stages,
        ranges,
        motor_max_speed,
        rolling_circumference,
        wheel_speed,
        overall_ratio,
        efficiency,
        motor_speed,
        geared_top_speed,
        speed_margin,
    })
}

fn declare_stages(
    out: &mut Outcomes<'_, '_, '_>,
    written: &[Entry<Written>],
    wheel_speed: Slot<AngularVelocity>,
) -> Vec<Stage> {
    let mut before = wheel_speed;
    let stage = |entry: &Entry<Written>| {
        let Written { ratio, efficiency, speed_limit, .. } = entry.read;
        let (from, by) = (out.name_of(before), out.name_of(ratio));
        let speed_into = out.result(SPEED_INTO.of(&entry.case()).with("BEFORE", from).with("RATIO", by));
        before = speed_into;
        Stage { title: entry.title.clone(), ratio, efficiency, speed_limit, speed_into }
    };
    written.iter().map(stage).collect()
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
    let speed_limit = form.if_given("speed_limit");
    Written { ratio, ranges, efficiency, speed_limit }
}

fn read_named_ratios(form: &mut Form<'_, '_>) -> Vec<(Case, Slot<Ratio>)> {
    if form.has("ratio") {
        let message = "a stage with both `ratio` and `ratios`";
        form.report(&codes::BAD_VALUE, form.place(), message, "keep one of them");
        form.optional::<Ratio>("ratio");
    }
    let named = form.named("ratios");
    let read = |(title, value): (String, _)| {
        let slug = slug(&title);
        let ratio = form.own_quantity(&format!("ratios.{slug}"), &value, Range::Positive);
        (Case { slug, title }, ratio)
    };
    named.into_iter().map(read).collect()
}

impl Block for RatioChain {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let diameter = self.tyre.evaluate(bench);
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
            let rest = words!(
                " at {}, {} {} its limit of {}.",
                page.value(self.wanted_speed),
                page.percent(share.abs()),
                if share > 0.0 { "over" } else { "under" },
                page.value(self.motor_max_speed)
            );
            page.sentence(words!("Motor speed {}", page.value(self.motor_speed)), rest);
        }
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
            let limit = if last { self.motor_max_speed } else { stage.speed_limit };
            let of = format!("{} {}", capital(&stage.title), page.shown(stage.ratio));
            shafts.extend(shaft(page, label, stage.speed_into, Some(limit), Some(of)));
        }
        if shafts.len() == self.stages.len() + 1 {
            page.said.chart = Some(Chart::Shafts { shafts, at: page.shown(self.wanted_speed) });
        }
    }
}
