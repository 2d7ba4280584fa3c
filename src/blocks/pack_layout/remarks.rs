//! What a pack layout remarks: its voltage class with the cautions, and power that it can't give.

use super::PackLayout;
use crate::blocks::shared::high_voltage::is_high_dc;
use crate::findings::codes;
use crate::model::{Caution, Page};
use crate::words::words;

impl PackLayout {
    pub(super) fn class(&self, page: &mut Page<'_>) {
        let Some(full) = page.get(self.results.full_voltage) else { return };
        if is_high_dc(full) {
            page.say(self.results.voltage_class, "high voltage (above 60 V DC)");
            page.caution(Caution::HighVoltage);
        } else {
            page.say(self.results.voltage_class, "not high voltage (60 V DC or less)");
            page.caution(Caution::LowVoltagePack);
        }
    }

    /// More power than the pack can give is said at the power, once.
    pub(super) fn too_weak(&self, page: &mut Page<'_>) {
        let r = &self.results;
        let known = page.get(r.resistance).is_some() && page.get(r.nominal_voltage).is_some();
        let asked = [(self.peak_power, r.peak.current), (self.continuous_power, r.continuous_current)];
        let beyond = asked
            .into_iter()
            .find(|(power, current)| known && page.get(*power).is_some() && page.get(*current).is_none());
        if let Some((power, _)) = beyond {
            let message = words!(
                "{} is more than the pack can give: its voltage collapses at {}",
                page.value(power),
                page.value(r.collapse_power)
            );
            page.find(&codes::OUT_OF_RANGE, power.index(), message, HELP);
        } else if let Some(worst) = &self.worst
            && page.get(self.peak_power).is_some()
            && page.get(r.worst.voltage).is_some()
            && page.get(r.worst.resistance).is_some()
            && page.get(r.worst.current).is_none()
        {
            let message = words!(
                "{} is more than the pack can give at {} a cell and {} times its resistance",
                page.value(self.peak_power),
                page.value(worst.cell_voltage),
                page.value(worst.resistance_factor)
            );
            page.find(&codes::OUT_OF_RANGE, worst.cell_voltage.index(), message, HELP);
        }
    }
}

const HELP: &str = "ask less power, or choose more cells, or cells of lower resistance";
