//! What a cycle came to with its nominal values: most leaves that are nudged move neither its load nor its drive.

use std::sync::OnceLock;

use super::cycle::{Battery, Course, Wheel};
use super::drive::{Drive, Load, Regeneration};
use super::map::Efficiency;

/// The first outcome with known values, found again by what it was worked from.
#[derive(Default)]
pub(super) struct Memo {
    wheel: OnceLock<(Load, Wheel)>,
    battery: OnceLock<(Load, DriveKey, Battery)>,
}

/// A drive by its numbers; its map is the block's own.
#[derive(Clone, Copy, PartialEq)]
struct DriveKey {
    efficiency: [f64; 3],
    regeneration: Option<Regeneration>,
    electric: [f64; 3],
}

impl Memo {
    pub(super) fn wheel(&self, course: &Course, load: &Load) -> Wheel {
        match self.wheel.get() {
            Some((known, wheel)) if known == load => *wheel,
            _ => {
                let wheel = course.wheel(load);
                if load.is_known() {
                    let _ = self.wheel.set((*load, wheel));
                }
                wheel
            }
        }
    }

    pub(super) fn battery(&self, course: &Course, load: &Load, drive: &Drive<'_>) -> Battery {
        let key = DriveKey::of(drive);
        match self.battery.get() {
            Some((known, by, battery)) if known == load && *by == key => *battery,
            _ => {
                let battery = course.battery(load, drive);
                if load.is_known() && key.is_known() {
                    let _ = self.battery.set((*load, key, battery));
                }
                battery
            }
        }
    }
}

impl DriveKey {
    fn of(drive: &Drive<'_>) -> DriveKey {
        let efficiency = match drive.efficiency {
            Efficiency::Constant(efficiency) => [efficiency, 0.0, 0.0],
            Efficiency::Map(_, gearing) => [gearing.ratio, gearing.circumference, gearing.efficiency],
        };
        DriveKey {
            efficiency,
            regeneration: drive.regeneration,
            electric: [drive.auxiliary, drive.voltage, drive.resistance],
        }
    }

    fn is_known(&self) -> bool {
        self.efficiency.iter().chain(&self.electric).all(|value| !value.is_nan())
            && self.regeneration.is_none_or(|back| back.is_known())
    }
}
