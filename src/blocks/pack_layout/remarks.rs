//! What a pack layout remarks: its voltage class with the cautions, and power that it can't give.

use super::{EMPTY_UNDER_WINDOW, PackLayout};
use crate::blocks::shared::high_voltage::is_high_dc;
use crate::findings::codes;
use crate::model::{Caution, Chart, Page, Slot, Strings};
use crate::quantities::si::{ElectricPotential, Measure};
use crate::rules::limit;
use crate::words::words;

impl PackLayout {
    pub(super) fn draw(&self, page: &mut Page<'_>) {
        let of = self.of_modules.as_ref();
        let counted = of.map_or([self.series, self.parallel], |of| of.modules);
        let (Some(series), Some(parallel)) = (page.get(counted[0]), page.get(counted[1])) else { return };
        // Counts are whole and at least 1, as the field asks.
        let (series, parallel) = (series as usize, parallel as usize);
        let (parallel, unit) = match of {
            Some(of) => {
                let [s, p] = of.cells.map(|slot| page.shown(slot));
                (parallel, format!("a module of {s} × {p} cells"))
            }
            None if parallel == 1 => (1, "a cell".to_owned()),
            None => (1, format!("a group of {parallel} cells in parallel")),
        };
        let built = page.get(self.modules).map(|_| format!(", in {} modules", page.shown(self.modules)));
        let unit = unit + &built.unwrap_or_default();
        let (full, nominal) =
            (page.shown(self.results.full_voltage), page.shown(self.results.nominal_voltage));
        let terminals = format!("{nominal} nominal, {full} full between the terminals");
        page.said.chart = Some(Chart::Pack(Strings { series, parallel, unit, terminals }));
    }

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

    /// What can't be as it was typed, or makes the worst state milder than the nominal one.
    pub(super) fn contradictions(&self, page: &mut Page<'_>) {
        let cell = &self.cell;
        let sheet = "look at the cell's sheet again: one of the two is mistyped or swapped";
        let (empty, full) = ((cell.empty_voltage, "empty voltage"), (cell.full_voltage, "full voltage"));
        let nominal = (cell.nominal_voltage, "nominal voltage");
        // One of them that is wrong is above, or below, both others.
        let mistyped = above(page, empty, full, sheet)
            || above(page, nominal, full, sheet)
            || above(page, empty, nominal, sheet)
            || self.far_from_nominal(page, sheet);
        if !mistyped {
            self.beyond_the_rules(page);
        }
        let continuous = (cell.continuous_discharge, "continuous discharge");
        let peak = (cell.peak_discharge, "peak discharge");
        above(page, continuous, peak, sheet);
        if let Some(charge) = cell.continuous_charge {
            above(page, (charge, "continuous charge"), peak, sheet);
        }
        if let Some(at_1khz) = cell.resistance_1khz {
            let pulse = (cell.resistance, "resistance of a pulse");
            let help = "at 1 kHz a cell shows less: look whether the two were swapped, or a unit is wrong";
            above(page, (at_1khz, "resistance at 1 kHz"), pulse, help);
        }
        let help = "the peak is the most that is asked: give it at least the continuous power";
        above(page, (self.continuous_power, "continuous power"), (self.peak_power, "peak power"), help);
        if let Some((low, high)) = self.window {
            above(page, (low, "low end of the window"), (high, "high end"), "the lower voltage is `low`");
            self.empty_under_window(page, low);
        }
        if let Some(worst) = &self.worst {
            let help = "give the open-circuit voltage of the lowest charge at which the peak is still asked";
            let nominal = (cell.nominal_voltage, "cell's nominal voltage");
            above(page, (worst.cell_voltage, "cell voltage at worst"), nominal, help);
            if page.get(worst.resistance_factor).is_some_and(|factor| factor.si() < 1.0) {
                let message = words!(
                    "a resistance factor of {} makes the worst state milder than the nominal one",
                    page.value(worst.resistance_factor)
                );
                let help = "a cold cell has more resistance than its sheet states: type a factor above 1";
                page.find(&codes::BAD_VALUE, worst.resistance_factor.index(), message, help);
            }
        }
    }

    /// A decimal point in the wrong place.
    fn far_from_nominal(&self, page: &mut Page<'_>, help: &'static str) -> bool {
        let cell = &self.cell;
        let nominal = cell.nominal_voltage;
        let pairs = [
            (("full", cell.full_voltage), ("nominal", nominal), MOST_OVER_NOMINAL),
            (("nominal", nominal), ("empty", cell.empty_voltage), MOST_OVER_EMPTY),
        ];
        for ((over, above), (under, below), most) in pairs {
            let (Some(high), Some(low)) = (page.get(above), page.get(below)) else { continue };
            if high.si() <= most * low.si() {
                continue;
            }
            let message = words!(
                "{} voltage {} is more than three times the {} voltage, {}",
                over,
                page.value(above),
                under,
                page.value(below)
            );
            page.find(&codes::BAD_VALUE, above.index(), message, help);
            return true;
        }
        false
    }

    /// A digit too many in the cells in series, or in their voltage.
    fn beyond_the_rules(&self, page: &mut Page<'_>) {
        let (most, full) = (limit("highest_dc").si(), self.results.full_voltage);
        if page.get(full).is_some_and(|full| full.si() > most) {
            let message = words!(
                "a pack of {} when full, where the rules for road vehicles end at {}",
                page.value(full),
                page.value_as(full, most)
            );
            let help = "look at the number of cells in series, and at the cell's voltages";
            page.find(&codes::OUT_OF_RANGE, self.series.index(), message, help);
        }
    }

    fn empty_under_window(&self, page: &mut Page<'_>, low: Slot<ElectricPotential>) {
        let empty = self.results.empty_voltage;
        let (Some(at_empty), Some(lowest)) = (page.get(empty), page.get(low)) else { return };
        if at_empty.si() < lowest.si() * (1.0 - SLACK) {
            let message = words!(
                "the inverter stops at {}, before the pack is empty at {}",
                page.value(low),
                page.value(empty)
            );
            let help = "take more cells in series, or count on less usable energy: lower `usable_share`";
            page.find(&EMPTY_UNDER_WINDOW, low.index(), message, help);
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
        }
        for (power, current) in
            [(self.peak_power, r.worst.current), (self.continuous_power, r.worst.continuous_current)]
        {
            let known = page.get(power).is_some() && page.get(r.worst.collapse_power).is_some();
            if !known || page.get(current).is_some() {
                continue;
            }
            let (asked, most) = (page.value(power), page.value(r.worst.collapse_power));
            let reason = words!("at worst the pack's voltage collapses at {}, before {}", most, asked);
            page.not_there(current, reason);
        }
    }
}

const HELP: &str = "ask less power, or choose more cells, or cells of lower resistance";

/// A full cell over a nominal one, at most: those of the trade have up to 1.3. Common practice, no source.
const MOST_OVER_NOMINAL: f64 = 3.0;

/// A nominal cell over an empty one, at most: those of the trade have up to 2.1. Common practice, no source.
const MOST_OVER_EMPTY: f64 = 3.0;

/// Voltages and the like that are equal within this share are equal.
const SLACK: f64 = 1e-9;

/// Finds a value that is above one that it can't be above, and says so.
fn above<T: Measure>(
    page: &mut Page<'_>,
    value: (Slot<T>, &str),
    bound: (Slot<T>, &str),
    help: &'static str,
) -> bool {
    let (Some(is), Some(most)) = (page.get(value.0), page.get(bound.0)) else { return false };
    let above = is.si() > most.si() * (1.0 + SLACK);
    if above {
        let message =
            words!("{} {} is above the {}, {}", value.1, page.value(value.0), bound.1, page.value(bound.0));
        page.find(&codes::BAD_VALUE, value.0.index(), message, help);
    }
    above
}
