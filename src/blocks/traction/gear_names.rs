//! In which gear a vehicle with several starts and climbs its hill, by the gears' names.

use super::gears::Drives;
use super::given::Given;
use super::hill::Hill;
use crate::model::{Bench, Outcomes, Page, Row, Slot};
use crate::quantities::si::Ratio;

const GEARED: &str = "with several gears in the chain";

pub(super) static LAUNCH_GEAR: Row<String> = Row::words("launch_gear", "gear of the launch").when(GEARED);
pub(super) static HILL_GEAR: Row<String> =
    Row::words("hill_gear", "gear of the hill").when("with a `hill` and several gears in the chain");

pub(super) static LAUNCH_RATIO: Row<Ratio> = Row::procedure(
    "launch_ratio",
    "overall ratio at the launch",
    "1",
    "the largest of the gears' overall ratios",
)
.when("with several gears in the chain, of which its `use` names none for the launch");

pub(super) struct GearNames {
    launch: Slot<String>,
    hill: Option<Slot<String>>,
}

impl GearNames {
    /// None where the chain has one gear.
    pub(super) fn declare(
        out: &mut Outcomes<'_, '_, '_>,
        given: &Given,
        hill: Option<&Hill>,
    ) -> Option<GearNames> {
        let ratios: Vec<usize> = given.chain.gears.iter().map(|gear| gear.overall_ratio.index()).collect();
        given.chain.is_geared().then(|| GearNames {
            launch: out.procedure(&LAUNCH_GEAR, &ratios),
            hill: hill.map(|hill| out.procedure(&HILL_GEAR, &[hill.peak_torque.index()])),
        })
    }

    pub(super) fn present(
        &self,
        page: &mut Page<'_>,
        (bench, given): (&Bench<'_>, &Given),
        (drives, hill): (&Drives, Option<&Hill>),
    ) {
        let title = |gear: usize| given.chain.gears[gear].case.title.clone();
        page.say(self.launch, title(drives.launch));
        if let (Some(slot), Some(hill)) = (self.hill, hill) {
            page.say(slot, title(hill.gear(bench, given, drives)));
        }
    }
}
