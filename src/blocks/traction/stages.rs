//! What each stage of the chain bears at the launch and on the hill: torque and power.

use super::gears::Drives;
use super::given::Given;
use super::hill::Hill;
use super::stage::StageOf;
use crate::model::{Bench, Family, Outcomes, Page, RequirementRow, Row, Slot};
use crate::quantities::si::{Measure, Power, Ratio, Torque};

static STAGES: Family = Family { name: "stages", label: "Stage", case: "STAGE" };

const ON_A_HILL: &str = "with a `hill`";

pub(super) static LAUNCH_TORQUE: Row<Torque> =
    Row::formula("launch_torque_into_STAGE", "torque at the launch", "N·m", "AFTER * RATIO * EFFICIENCY")
        .each(&[
            ("AFTER", "launch_torque"),
            ("RATIO", "chain.overall_ratio"),
            ("EFFICIENCY", "chain.efficiency"),
        ])
        .about("on the motor's side of the stage, whether the tyres hold it or not")
        .told_with("launch_gear")
        .family(&STAGES);
pub(super) static LAUNCH_TORQUE_LAST: Row<Torque> = LAUNCH_TORQUE.by("launch_torque");
pub(super) static LAUNCH_RATIO: Row<Ratio> =
    Row::procedure("launch_ratio_STAGE", "ratio at the launch", "1", "the largest of the stage's `ratios`")
        .about("of the lowest gear")
        .when("with several `ratios` in a stage of the chain, where its `use` names none for the launch")
        .family(&STAGES);
pub(super) static LAUNCH_POWER: Row<Power> = Row::formula(
    "launch_power_into_STAGE",
    "power of the launch",
    "kW",
    "AFTER * EFFICIENCY",
)
.each(&[("AFTER", "peak_pack_power"), ("EFFICIENCY", "chain.efficiency")])
.about(
    "on the motor's side of the stage, the most at full drive in the gear of the launch; none at standstill",
)
.family(&STAGES);
pub(super) static LAUNCH_POWER_LAST: Row<Power> = LAUNCH_POWER.by("peak_pack_power * motor.efficiency");
pub(super) static HILL_TORQUE: Row<Torque> = Row::procedure(
    "hill_torque_into_STAGE",
    "torque on the hill",
    "N·m",
    "the torque at the wheels on the hill through the ratios and losses between them and the stage's motor side, in the hill's gear",
)
.about("on the motor's side of the stage")
.told_with("hill_gear")
.when(ON_A_HILL)
.family(&STAGES);
pub(super) static HILL_POWER: Row<Power> = Row::formula(
    "hill_power_into_STAGE",
    "power on the hill",
    "kW",
    "hill_force * hill.speed / (EFFICIENCIES)",
)
.each(&[("EFFICIENCIES", "chain.efficiency * chain.efficiency")])
.about("on the motor's side of the stage")
.when(ON_A_HILL)
.family(&STAGES);

pub(super) static LAUNCH_LIMIT: RequirementRow =
    RequirementRow::safety("launch_torque_into_STAGE", "launch_torque_into_STAGE")
        .at_most("chain.stages.STAGE.torque_limit")
        .source("the stage's torque limit")
        .family(&STAGES)
        .only_with(&["chain.stages.STAGE.torque_limit"]);
pub(super) static HILL_LIMIT: RequirementRow =
    RequirementRow::safety("hill_torque_into_STAGE", "hill_torque_into_STAGE")
        .at_most("chain.stages.STAGE.torque_limit")
        .source("the stage's torque limit")
        .family(&STAGES)
        .only_with(&["chain.stages.STAGE.torque_limit", "hill.grade"]);

/// From the wheel to the motor.
pub(super) struct Stages {
    launch: Vec<(Slot<Torque>, Slot<Power>)>,
    /// Of a stage with several ratios by its number, where nobody names one for the launch.
    launch_ratios: Vec<(usize, Slot<Ratio>)>,
    hill: Vec<(Slot<Torque>, Slot<Power>)>,
}

impl Stages {
    pub(super) fn declare(out: &mut Outcomes<'_, '_, '_>, given: &Given, hill: Option<&Hill>) -> Stages {
        let stages = &given.chain.stages;
        let launch_ratios = declare_launch_ratios(out, given);
        let launch = declare_launch(out, given, &launch_ratios);
        let mut uses = given.uses();
        uses.extend(hill.map(|hill| hill.force.index()));
        uses.extend(hill.and_then(|hill| hill.found_ratio).map(Slot::index));
        let mut ahead: Vec<String> = Vec::new();
        let mut on_hill = Vec::new();
        for stage in stages {
            ahead.push(out.names_of([stage.efficiency]));
            uses.extend(stage.ratios.iter().chain([&stage.efficiency]).map(|slot| slot.index()));
            if hill.is_some() {
                let power = HILL_POWER.of(&stage.case).with("EFFICIENCIES", ahead.join(" * "));
                on_hill.push((out.procedure(HILL_TORQUE.of(&stage.case), &uses), out.result(power)));
            }
        }
        for stage in stages.iter().filter(|stage| stage.is_limited) {
            out.require(LAUNCH_LIMIT.of(&stage.case));
            out.require(HILL_LIMIT.of(&stage.case));
        }
        Stages { launch, launch_ratios, hill: on_hill }
    }

    pub(super) fn evaluate(
        &self,
        bench: &mut Bench<'_>,
        given: &Given,
        (drives, hill): (&Drives, Option<&Hill>),
    ) {
        let stages = &given.chain.stages;
        for (at, slot) in &self.launch_ratios {
            let ratios = stages[*at].ratios.iter().map(|slot| bench.get(*slot).value);
            bench.set(*slot, Ratio::from_si(ratios.fold(f64::NEG_INFINITY, f64::max)));
        }
        let mut torque = given.motor.launch_torque(bench);
        let mut power = drives.starting().pack_power_limit() * bench.get(given.motor.efficiency);
        for (at, (torque_into, power_into)) in self.launch.iter().enumerate().rev() {
            if let Some(behind) = stages.get(at + 1) {
                let efficiency = bench.get(behind.efficiency).value;
                torque *= ratio_of(bench, behind, given.picks(drives.launch, at + 1)) * efficiency;
                power *= efficiency;
            }
            bench.set(*torque_into, torque);
            bench.set(*power_into, power);
        }
        let Some(hill) = hill else { return };
        let gear = hill.gear(bench, given, drives);
        let arm = bench.get(given.chain.circumference).si() / std::f64::consts::TAU;
        let force = bench.get(hill.force).si();
        let speed = bench.get(hill.written.speed).si();
        let (mut turns, mut efficiency) = (1.0, 1.0);
        for (at, (torque, power)) in self.hill.iter().enumerate() {
            turns *= ratio_of(bench, &stages[at], given.picks(gear, at));
            efficiency *= bench.get(stages[at].efficiency).value;
            bench.set(*torque, Torque::from_si(force * arm / (turns * efficiency)));
            bench.set(*power, Power::from_si(force * speed / efficiency));
        }
    }

    /// None of the stage's ratios is larger, and it is one of them.
    pub(super) fn check_launch(&self, page: &mut Page<'_>, given: &Given) {
        for (at, slot) in &self.launch_ratios {
            let Some(found) = page.get(*slot) else { continue };
            let off = |ratio: &Slot<Ratio>| page.get(*ratio).map_or(f64::NAN, |own| found.value - own.value);
            let least = given.chain.stages[*at].ratios.iter().map(off).fold(f64::INFINITY, f64::min);
            page.checked(*slot, least / found.value, 0.0);
        }
    }

    /// From the motor's torque on the hill forward.
    pub(super) fn check(
        &self,
        page: &mut Page<'_>,
        (bench, given): (&Bench<'_>, &Given),
        at: (&Hill, usize),
    ) {
        let (hill, gear) = at;
        let Some(torque) = page.get(hill.motor_torque) else { return };
        let mut torque = torque.si();
        for (at, (slot, _)) in self.hill.iter().enumerate().rev() {
            if let Some(behind) = given.chain.stages.get(at + 1) {
                let ratio = ratio_of(bench, behind, given.picks(gear, at + 1));
                torque *= ratio * bench.get(behind.efficiency).value;
            }
            if let Some(own) = page.get(*slot) {
                page.checked(*slot, own.si() / torque - 1.0, 1e-9);
            }
        }
    }
}

/// Of the stages behind another.
fn declare_launch_ratios(out: &mut Outcomes<'_, '_, '_>, given: &Given) -> Vec<(usize, Slot<Ratio>)> {
    let stages = given.chain.stages.iter().enumerate().skip(1);
    let several = stages.filter(|(_, stage)| stage.ratios.len() > 1 && given.chain.launch.is_none());
    let ratio = |(at, stage): (usize, &StageOf)| {
        let uses: Vec<usize> = stage.ratios.iter().map(|slot| slot.index()).collect();
        (at, out.procedure(LAUNCH_RATIO.of(&stage.case), &uses))
    };
    several.map(ratio).collect()
}

fn declare_launch(
    out: &mut Outcomes<'_, '_, '_>,
    given: &Given,
    launch_ratios: &[(usize, Slot<Ratio>)],
) -> Vec<(Slot<Torque>, Slot<Power>)> {
    let mut launch: Vec<(Slot<Torque>, Slot<Power>)> = Vec::new();
    let mut behind: Option<(usize, &StageOf)> = None;
    for (at, stage) in given.chain.stages.iter().enumerate().rev() {
        let rows = match (launch.last(), behind) {
            (Some((torque, power)), Some((at, behind))) => {
                let found = launch_ratios.iter().find(|one| one.0 == at).map(|one| one.1);
                let pick = given.chain.launch.map_or(0, |gear| given.picks(gear, at));
                // A stage with one ratio has it in every gear.
                let own = behind.ratios.get(pick).unwrap_or(&behind.ratios[0]);
                let ratio = out.names_of([found.unwrap_or(*own)]);
                let efficiency = out.names_of([behind.efficiency]);
                let torque = LAUNCH_TORQUE.of(&stage.case).with("AFTER", out.names_of([*torque]));
                let power = LAUNCH_POWER.of(&stage.case).with("AFTER", out.names_of([*power]));
                let torque = torque.with("RATIO", ratio).with("EFFICIENCY", &*efficiency);
                (torque, power.with("EFFICIENCY", efficiency))
            }
            _ => (LAUNCH_TORQUE_LAST.of(&stage.case), LAUNCH_POWER_LAST.of(&stage.case)),
        };
        launch.push((out.result(rows.0), out.result(rows.1)));
        behind = Some((at, stage));
    }
    launch.reverse();
    launch
}

fn ratio_of(bench: &Bench<'_>, stage: &StageOf, pick: usize) -> f64 {
    stage.ratios.get(pick).map_or(f64::NAN, |slot| bench.get(*slot).value)
}
