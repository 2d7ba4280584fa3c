//! The combinations of named ratios of a chain, and which of them is in use at the wanted speed.

use super::pull::{At, PullOf};
use super::results::{
    GEAR_IN_USE, GEARED_TOP_SPEED_IN, HIGHEST_SPEED, HIGHEST_SPEED_IN, MOTOR_SPEED_IN, OVERALL_RATIO_IN,
    RATIO_IN_USE,
};
use super::torque::MotorTorque;
use super::{RATIOS_RISE, Written, product};
use crate::blocks::shared::gears::{Combination, MOST, combinations};
use crate::findings::{codes, suggest};
use crate::model::{Bench, BlockName, Entry, Form, Node, Outcomes, Page, Slot};
use crate::quantities::si::{
    AngularVelocity, Length, Measure, Ratio, Velocity, geared, rolling_speed, turning_speed,
};
use crate::words::{Words, words};

/// Forces that differ by less are alike: the gear that is named first is taken.
const ALIKE: f64 = 1e-6;

/// What gears are called, the lowest first.
const ORDERS: [&[&str]; 3] = [
    &["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"],
    &["1st", "2nd", "3rd", "4th", "5th", "6th", "7th", "8th"],
    &["low", "high"],
];

/// As it is read, before any result is declared.
pub(super) struct Given {
    combinations: Vec<Combination>,
    named: Option<usize>,
    /// What the motor gives, where a traction block asks for the gear that pulls most.
    pull: Option<PullOf>,
}

pub(super) struct Gears {
    given: Given,
    /// Of each stage, from the wheel to the motor.
    stages: Vec<StageOf>,
    results: Vec<ResultsOf>,
    highest_speed: Option<Slot<Velocity>>,
    words: Option<Slot<String>>,
}

struct StageOf {
    ratios: Vec<Slot<Ratio>>,
    /// What is worked to be in use; `None` where that is plain.
    in_use: Option<Slot<Ratio>>,
    speed_limit: Option<Slot<AngularVelocity>>,
}

struct ResultsOf {
    overall_ratio: Slot<Ratio>,
    motor_speed: Slot<AngularVelocity>,
    geared_top_speed: Slot<Velocity>,
    highest_speed: Slot<Velocity>,
}

/// NaN stays.
fn smaller(one: f64, other: f64) -> f64 {
    if other < one || other.is_nan() { other } else { one }
}

impl Given {
    pub(super) fn read(
        form: &mut Form<'_, '_>,
        written: &[Entry<Written>],
        motor: (Option<&BlockName>, &MotorTorque),
    ) -> Given {
        let names = |entry: &Entry<Written>| {
            entry.read.ranges.iter().map(|range| range.title.clone()).collect::<Vec<_>>()
        };
        let stages: Vec<Vec<String>> = written.iter().map(names).collect();
        let combinations = combinations(&stages);
        if combinations.is_empty() && stages.iter().any(|names| !names.is_empty()) {
            let at = form.place_of("stages");
            let message = words!("the ratios of the stages have more than {} combinations", MOST.to_string());
            form.report(&codes::BAD_VALUE, at, message, "leave out those that the vehicle does not have");
        }
        // Of stages that could not be read the finding has been made. They are counted only where a gear is named: what is
        // looked at here shapes the block, and a study then reads it again for each ratio.
        let readable = |stage: &Node| match stage.get("ratios") {
            Some(ratios) => ratios.entries().is_some(),
            None => stage.get("ratio").is_some(),
        };
        let listed = |form: &mut Form<'_, '_>| {
            let stages = form.take("stages")?;
            let stages = stages.items()?;
            Some(stages.len()).filter(|_| stages.iter().all(readable))
        };
        let is_whole = !form.has("use") || listed(form) == Some(written.len());
        let mut named = None;
        form.group("use", |form| {
            for key in ["wanted_speed", "launch", "hill"] {
                let found = read_use(form, key, (&combinations, is_whole));
                if key == "wanted_speed" {
                    named = found;
                }
            }
        });
        let pull = if named.is_none() && combinations.len() > 1 { PullOf::read(form, motor) } else { None };
        Given { combinations, named, pull }
    }
}

/// A gear that is named in `use`; the finding is made where the chain has none of that name.
fn read_use(
    form: &mut Form<'_, '_>,
    key: &str,
    (combinations, is_whole): (&[Combination], bool),
) -> Option<usize> {
    let (text, at) = form.text(key)?;
    let found = combinations.iter().position(|one| one.case.title == text || one.case.slug == text);
    if found.is_none() && is_whole {
        let titles = || combinations.iter().map(|one| one.case.title.as_str());
        // The names of some stages, or of all in another order.
        let has_all = |title: &&str| text.split('.').all(|part| title.split('.').any(|name| name == part));
        let near: Vec<&str> = titles().filter(has_all).collect();
        let help: Words = match suggest(&text, titles()) {
            _ if combinations.is_empty() => "give a stage `ratios: {first: …, second: …}`".into(),
            _ if near.len() == 1 => {
                words!("did you mean `{}`? Names stand in the order of the stages", near[0])
            }
            _ if !near.is_empty() => words!("type one of {}", Words::names(near)),
            Some(near) => words!("did you mean `{}`?", near),
            None => words!("type one of {}", Words::names(titles())),
        };
        form.report(&codes::BAD_VALUE, at, words!("no gear of this chain is `{}`", text), help);
    }
    found
}

impl Gears {
    pub(super) fn declare(
        out: &mut Outcomes<'_, '_, '_>,
        given: Given,
        (written, wheel_speed, limit): (&[Entry<Written>], Slot<AngularVelocity>, Slot<AngularVelocity>),
    ) -> Gears {
        let mut uses = vec![wheel_speed.index(), limit.index()];
        for entry in written {
            uses.extend(entry.read.all_ratios().into_iter().map(Slot::index));
            uses.extend(entry.read.given_limit.map(Slot::index));
        }
        uses.extend(given.pull.iter().flat_map(PullOf::uses));
        let is_found = given.named.is_none() && given.combinations.len() > 1;
        let stage = |out: &mut Outcomes<'_, '_, '_>, entry: &Entry<Written>| {
            let ratios = entry.read.all_ratios();
            let in_use =
                (is_found && ratios.len() > 1).then(|| out.procedure(RATIO_IN_USE.of(&entry.case()), &uses));
            StageOf { ratios, in_use, speed_limit: entry.read.given_limit }
        };
        let stages: Vec<StageOf> = written.iter().map(|entry| stage(out, entry)).collect();
        let words = (given.combinations.len() > 1).then(|| out.procedure(&GEAR_IN_USE, &uses));
        Gears { given, stages, results: Vec::new(), highest_speed: None, words }
    }

    /// Those of each combination, which stand behind the results of the one that is in use.
    pub(super) fn declare_each(
        &mut self,
        out: &mut Outcomes<'_, '_, '_>,
        (limit, circumference): (Slot<AngularVelocity>, Slot<Length>),
    ) {
        let limits = self.stages.iter().filter_map(|stage| stage.speed_limit);
        let limits: Vec<usize> =
            limits.map(Slot::index).chain([limit.index(), circumference.index()]).collect();
        let uses = |ratios: &[Slot<Ratio>]| {
            limits.iter().copied().chain(ratios.iter().map(|slot| slot.index())).collect::<Vec<usize>>()
        };
        self.highest_speed = Some(out.procedure(&HIGHEST_SPEED, &uses(&self.ratios())));
        for one in &self.given.combinations {
            let picked = self.picked(one);
            let ratios = product(out, &picked);
            self.results.push(ResultsOf {
                overall_ratio: out.result(OVERALL_RATIO_IN.of(&one.case).with("RATIOS", ratios)),
                motor_speed: out.result(MOTOR_SPEED_IN.of(&one.case)),
                geared_top_speed: out.result(GEARED_TOP_SPEED_IN.of(&one.case)),
                highest_speed: out.procedure(HIGHEST_SPEED_IN.of(&one.case), &uses(&picked)),
            });
        }
    }

    /// The ratio of each stage that is in use, under the name that formulas have for it.
    pub(super) fn ratios(&self) -> Vec<Slot<Ratio>> {
        let named = self.given.named.map(|at| &self.given.combinations[at].picks);
        let ratio = |(at, stage): (usize, &StageOf)| match (stage.in_use, named) {
            (Some(found), _) => found,
            (None, Some(picks)) => stage.ratios[picks[at]],
            (None, None) => stage.ratios[0],
        };
        self.stages.iter().enumerate().map(ratio).collect()
    }

    fn picked(&self, one: &Combination) -> Vec<Slot<Ratio>> {
        self.stages.iter().zip(&one.picks).map(|(stage, pick)| stage.ratios[*pick]).collect()
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, at: At) {
        for (one, results) in self.given.combinations.iter().zip(&self.results) {
            let overall = self.overall(bench, one);
            bench.set(results.overall_ratio, overall);
            bench.set(results.motor_speed, geared(at.wheel_speed, overall));
            bench.set(
                results.geared_top_speed,
                rolling_speed(geared(at.limit, 1.0 / overall), at.circumference),
            );
            bench.set(results.highest_speed, self.highest(bench, &self.picked(one), at));
        }
        if let Some(one) = self.given.combinations.get(self.in_use(bench, at)) {
            for (stage, pick) in self.stages.iter().zip(&one.picks) {
                if let Some(slot) = stage.in_use {
                    bench.set(slot, bench.get(stage.ratios[*pick]));
                }
            }
        }
        if let Some(slot) = self.highest_speed {
            bench.set(slot, self.highest(bench, &self.ratios(), at));
        }
    }

    /// On the road, where the first of motor and stages is at its speed limit.
    fn highest(&self, bench: &Bench<'_>, ratios: &[Slot<Ratio>], at: At) -> Velocity {
        let mut turns = Ratio::from(1.0);
        let mut least = f64::INFINITY;
        for (stage, ratio) in self.stages.iter().zip(ratios) {
            turns = turns * bench.get(*ratio);
            if let Some(limit) = stage.speed_limit {
                least = smaller(least, bench.get(limit).value / turns.value);
            }
        }
        let wheel = AngularVelocity::from_si(smaller(least, at.limit.value / turns.value));
        rolling_speed(wheel, at.circumference)
    }

    /// How far the fastest turning of motor and stages is over its limit at a road speed, as a share of it.
    fn beyond(&self, bench: &Bench<'_>, ratios: &[Slot<Ratio>], (at, speed): (At, Velocity)) -> f64 {
        let mut turning = turning_speed(speed, at.circumference);
        let mut most = f64::NEG_INFINITY;
        for (stage, ratio) in self.stages.iter().zip(ratios) {
            turning = geared(turning, bench.get(*ratio));
            if let Some(limit) = stage.speed_limit {
                most = most.max(turning.value / bench.get(limit).value);
            }
        }
        most.max(turning.value / at.limit.value) - 1.0
    }

    fn overall(&self, bench: &Bench<'_>, one: &Combination) -> Ratio {
        let own = self.stages.iter().zip(&one.picks).map(|(stage, pick)| bench.get(stage.ratios[*pick]));
        own.fold(Ratio::from(1.0), |product, own| product * own)
    }

    /// The one that is named, or of those within every speed limit the one that pulls most, else the one that is least
    /// over; where nobody asks for pull the first within, and the first of all where none is.
    fn in_use(&self, bench: &Bench<'_>, at: At) -> usize {
        if let Some(named) = self.given.named {
            return named;
        }
        let within = |one: &(usize, &Combination)| self.is_within(bench, at, one.1);
        let fit: Vec<(usize, &Combination)> =
            self.given.combinations.iter().enumerate().filter(within).collect();
        let Some(pull) = &self.given.pull else { return fit.first().map_or(0, |one| one.0) };
        if fit.is_empty() {
            return self.least_beyond(bench, at);
        }
        let mut best = (0, f64::NEG_INFINITY);
        for (number, one) in fit {
            let force = pull.force(bench, self.overall(bench, one), at);
            if force > best.1 + ALIKE * best.1.abs() || best.1 == f64::NEG_INFINITY {
                best = (number, force);
            }
        }
        best.0
    }

    /// The one that is least over a speed limit.
    fn least_beyond(&self, bench: &Bench<'_>, at: At) -> usize {
        let speed = rolling_speed(at.wheel_speed, at.circumference);
        let beyond = |one: &Combination| self.beyond(bench, &self.picked(one), (at, speed));
        let each = self.given.combinations.iter().map(beyond).enumerate();
        each.min_by(|one, other| one.1.total_cmp(&other.1)).map_or(0, |found| found.0)
    }

    fn is_within(&self, bench: &Bench<'_>, at: At, one: &Combination) -> bool {
        let mut speed = at.wheel_speed;
        for (stage, pick) in self.stages.iter().zip(&one.picks) {
            speed = geared(speed, bench.get(stage.ratios[*pick]));
            if stage.speed_limit.is_some_and(|limit| speed > bench.get(limit)) {
                return false;
            }
        }
        speed <= at.limit
    }

    /// The gear in use, and why.
    pub(super) fn present(&self, page: &mut Page<'_>, at: At) {
        let mut values = page.values.to_vec();
        let bench = Bench::new(&mut values, page.curves);
        let each = self.given.combinations.iter().zip(&self.results);
        let each = each.map(|(one, results)| (results.highest_speed, self.picked(one)));
        for (slot, ratios) in self.highest_speed.map(|slot| (slot, self.ratios())).into_iter().chain(each) {
            if let Some(speed) = page.get(slot) {
                page.checked(slot, self.beyond(&bench, &ratios, (at, speed)), 1e-12);
            }
        }
        let Some(slot) = self.words else { return };
        let number = self.in_use(&bench, at);
        let one = &self.given.combinations[number];
        page.say(slot, one.case.title.clone());
        for (stage, pick) in self.stages.iter().zip(&one.picks) {
            if let Some(found) = stage.in_use {
                let ratio = page.values[stage.ratios[*pick].index()];
                page.checked(found, page.values[found.index()] / ratio - 1.0, 1e-12);
            }
        }
        let fits = self.is_within(&bench, at, one);
        let why: Words = match (self.given.named, &self.given.pull) {
            (Some(_), _) => "as `use` names it".into(),
            (None, Some(_)) if !fits => "the one least over a speed limit: none is within them".into(),
            (None, None) if !fits => "the first that is named: none is within the speed limits".into(),
            (None, Some(pull)) if pull.sags() => {
                "which pulls most of those within the speed limits with the pack's sagged voltage".into()
            }
            (None, Some(_)) => "which pulls most of those within the speed limits".into(),
            (None, None) => "the first that is named within the speed limits".into(),
        };
        page.note(words!("At the wanted speed it is in `{}`, {}.", one.case.title.clone(), why));
    }

    /// Gears that are called by their order, and have another.
    pub(super) fn question(&self, page: &mut Page<'_>) {
        for (stage, order) in self.stages.iter().flat_map(|stage| ORDERS.map(|order| (stage, order))) {
            let place = |slot: &Slot<Ratio>| {
                let name = page.nodes[slot.index()].name.rsplit('.').next()?;
                Some((order.iter().position(|word| *word == name)?, *slot))
            };
            let mut gears: Vec<(usize, Slot<Ratio>)> = stage.ratios.iter().filter_map(place).collect();
            gears.sort_by_key(|gear| gear.0);
            for pair in gears.windows(2) {
                let ratios = [pair[0].1, pair[1].1].map(|slot| page.get(slot));
                if let [Some(lower), Some(taller)] = ratios
                    && taller >= lower
                {
                    let message = words!(
                        "the ratio of `{}` is {}, and that of `{}` {}",
                        order[pair[0].0],
                        page.value(pair[0].1),
                        order[pair[1].0],
                        page.value(pair[1].1)
                    );
                    let help = "a ratio is turns on the motor's side for one on the wheel's, so that of a taller gear is less: look whether they are mixed up or turned round";
                    page.find(&RATIOS_RISE, pair[1].1.index(), message, help);
                    // Nobody knows which of the stage's are mixed up.
                    stage.ratios.iter().for_each(|ratio| page.question(*ratio));
                }
            }
        }
    }

    /// How the gear in use is called.
    pub(super) fn title(&self, page: &Page<'_>) -> Option<String> {
        let slot = self.words?;
        page.said.texts.iter().find(|(index, _)| *index == slot.index()).map(|(_, text)| text.clone())
    }
}
