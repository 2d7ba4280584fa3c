//! What a block works for each cycle and each steady speed.

use std::sync::Arc;

use super::cycle::Course;
use super::memo::Memo;
use crate::model::Slot;
use crate::quantities::Trace;
use crate::quantities::si::{
    Consumption, ElectricCurrent, ElectricPotential, Force, Length, Power, Ratio, Time, Velocity,
};
use crate::words::Words;

pub(super) struct OverCycle {
    pub(super) title: String,
    pub(super) course: Course,
    pub(super) trace: Arc<Trace>,
    /// Where the trace comes from, for a published one.
    pub(super) source: Option<Words>,
    pub(super) duration: Slot<Time>,
    pub(super) distance: Slot<Length>,
    pub(super) at_wheel: Slot<Consumption>,
    pub(super) braking: Slot<Consumption>,
    pub(super) drawn: Slot<Consumption>,
    pub(super) recovered: Option<Recovered>,
    pub(super) auxiliaries: Slot<Consumption>,
    pub(super) at_terminals: Slot<Consumption>,
    pub(super) pack_loss: Slot<Consumption>,
    pub(super) consumption: Slot<Consumption>,
    pub(super) peak_power: Slot<Power>,
    pub(super) pack_power: Slot<Power>,
    pub(super) rms_current: Slot<ElectricCurrent>,
    pub(super) in_winter: Slot<Consumption>,
    pub(super) climbed: Slot<Length>,
    pub(super) climbing: Slot<Consumption>,
    pub(super) on_full_pack: Slot<Consumption>,
    pub(super) ranges: Ranges,
    /// As usual, in winter, and on a full pack.
    pub(super) memos: [Memo; 3],
}

#[derive(Clone, Copy)]
pub(super) enum Recovered {
    /// A share of the braking energy.
    Plain(Slot<Consumption>),
    /// With a limit of power or speed.
    Limited(Slot<Consumption>),
}

pub(super) struct AtSpeed {
    pub(super) title: String,
    pub(super) speed: Slot<Velocity>,
    pub(super) usual: Steady,
    pub(super) in_winter: Steady,
    pub(super) ranges: Ranges,
}

/// What a steady speed takes.
pub(super) struct Steady {
    pub(super) drag: Slot<Force>,
    /// Read from a map.
    pub(super) efficiency: Option<Slot<Ratio>>,
    pub(super) power: Slot<Power>,
    pub(super) voltage: Slot<ElectricPotential>,
    pub(super) cell_power: Slot<Power>,
    pub(super) consumption: Slot<Consumption>,
}

pub(super) struct Ranges {
    pub(super) usual: Slot<Length>,
    pub(super) winter: Slot<Length>,
    pub(super) aged: Slot<Length>,
    pub(super) winter_aged: Slot<Length>,
}
