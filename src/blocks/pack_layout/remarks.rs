//! What a pack layout remarks: its voltage class with the cautions, and power that it can't give.

use super::PackLayout;
use crate::blocks::shared::high_voltage::is_high_dc;
use crate::findings::codes;
use crate::model::{Caution, Page};

impl PackLayout {
    pub(super) fn class(&self, page: &mut Page<'_>) {
        let Some(full) = page.get(self.results.full_voltage) else { return };
        if is_high_dc(full) {
            page.say(self.voltage_class, "high voltage (above 60 V DC)");
            page.said.cautions.push(Caution::HighVoltage);
        } else {
            page.say(self.voltage_class, "not high voltage (60 V DC or less)");
            page.said.cautions.push(Caution::LowVoltagePack);
        }
    }

    /// More power than the pack can give is said at the power, once.
    pub(super) fn too_weak(&self, page: &mut Page<'_>) {
        let Some(peak) = &self.peak else { return self.continuous_too_weak(page) };
        let help = "ask less power, or choose more cells, or cells of lower resistance";
        let most = page.shown(self.collapse_power);
        if page.get(peak.power).is_none() || page.get(self.results.resistance).is_none() {
            return;
        }
        if page.get(self.results.nominal_voltage).is_some() && page.get(peak.current).is_none() {
            let message = format!(
                "{} is more than the pack can give: its voltage collapses at {most}",
                page.shown(peak.power)
            );
            page.find(&codes::OUT_OF_RANGE, peak.power.index(), message, help);
        } else if let Some(worst) = &self.worst
            && page.get(worst.voltage).is_some()
            && page.get(worst.resistance).is_some()
            && page.get(worst.peak_current).is_none()
        {
            let message = format!(
                "{} is more than the pack can give at {} a cell and {} times its resistance",
                page.shown(peak.power),
                page.shown(worst.cell_voltage),
                page.shown(worst.resistance_factor)
            );
            page.find(&codes::OUT_OF_RANGE, worst.cell_voltage.index(), message, help);
        } else {
            self.continuous_too_weak(page);
        }
    }

    pub(super) fn continuous_too_weak(&self, page: &mut Page<'_>) {
        let Some((power, current)) = self.continuous else { return };
        let ready = page.get(power).is_some() && page.get(self.results.resistance).is_some();
        if ready && page.get(self.results.nominal_voltage).is_some() && page.get(current).is_none() {
            let most = page.shown(self.collapse_power);
            let message = format!(
                "{} is more than the pack can give: its voltage collapses at {most}",
                page.shown(power)
            );
            page.find(&codes::OUT_OF_RANGE, power.index(), message, "ask less power, or choose more cells");
        }
    }
}
