//! The pack as it feeds a short circuit: at its strongest, and at its weakest through all its cables.

use super::results::{
    BLOWS, CELL_AT_1KHZ, CELL_RESISTANCE, CLEARS, EMPTY_VOLTAGE, FULL_VOLTAGE, LOOP_RESISTANCE,
    LOOP_WITH_CABLES, LOWEST_SHORT, PACK_CURRENT, PACK_FACTOR, PACK_RESISTANCE, PACK_RESISTANCE_FACTOR,
    PARALLEL, RESISTANCE_FACTOR, SERIES, SHORT_AT_1KHZ, SHORT_BY_SHARE, STRING_RESISTANCE, TIME_CONSTANT,
};
use crate::blocks::shared::cell_of::cell_of;
use crate::model::{Bench, BlockName, Form, Page, Slot};
use crate::quantities::si::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Inductance, Measure, Ratio, Time,
};

pub(super) struct Source {
    pub full_voltage: Slot<ElectricPotential>,
    empty_voltage: Slot<ElectricPotential>,
    series: Slot<f64>,
    parallel: Slot<f64>,
    resistance: Slot<ElectricalResistance>,
    string_resistance: Slot<ElectricalResistance>,
    /// Of the cable in the circuit.
    cables: Vec<Slot<ElectricalResistance>>,
    old_cold_factor: Slot<Ratio>,
    /// Of the pack's own `worst`.
    pack_factor: Option<Slot<Ratio>>,
    cell_resistance: Slot<ElectricalResistance>,
    low: Low,
    /// That the pack gives continuously, where it says so.
    pub current: Option<Slot<ElectricCurrent>>,
    pub highest: Slot<ElectricCurrent>,
    loop_inductance: Option<Slot<Inductance>>,
    time_constant: Slot<Time>,
    resistance_factor: Slot<Ratio>,
    loop_resistance: Slot<ElectricalResistance>,
    pub lowest: Slot<ElectricCurrent>,
}

/// What the cell's resistance is at the first moment of a short circuit.
enum Low {
    At1kHz(Slot<ElectricalResistance>),
    ShareOfPulse(Slot<Ratio>),
}

pub(super) fn read_source(
    form: &mut Form<'_, '_>,
    (pack, cables): (Option<&BlockName>, Vec<Slot<ElectricalResistance>>),
) -> Source {
    let cell = cell_of(form, pack);
    let worst = form.lookup().has(pack, "worst");
    let continuous = form.lookup().has(pack, "continuous_power");
    let old_cold_factor = form.assumed("old_cold_factor");
    let loop_inductance = form.optional("loop_inductance");
    form.optional::<Time>("time_constant_rating");
    let mut lookup = form.lookup();
    let full_voltage = lookup.taken(&FULL_VOLTAGE, pack);
    let empty_voltage = lookup.taken(&EMPTY_VOLTAGE, pack);
    let series = lookup.taken(&SERIES, pack);
    let parallel = lookup.taken(&PARALLEL, pack);
    let resistance = lookup.taken(&PACK_RESISTANCE, pack);
    let string_resistance = lookup.taken(&STRING_RESISTANCE, pack);
    let current = continuous.then(|| lookup.taken(&PACK_CURRENT, pack));
    let pack_factor = worst.then(|| lookup.taken(&PACK_FACTOR, pack));
    let cell_resistance = lookup.taken(&CELL_RESISTANCE, cell.as_ref());
    let low = match lookup.if_there(&CELL_AT_1KHZ, cell.as_ref()) {
        Some(slot) => Low::At1kHz(slot),
        None => Low::ShareOfPulse(form.assumed("pulse_share")),
    };
    let mut out = form.outcomes();
    let highest = out.result(match low {
        Low::At1kHz(_) => &SHORT_AT_1KHZ,
        Low::ShareOfPulse(_) => &SHORT_BY_SHARE,
    });
    let time_constant = out.result(&TIME_CONSTANT);
    let resistance_factor = out.result(if worst { &PACK_RESISTANCE_FACTOR } else { &RESISTANCE_FACTOR });
    let loop_resistance = if cables.is_empty() {
        out.result(&LOOP_RESISTANCE)
    } else {
        let names: Vec<String> = cables.iter().map(|cable| out.names_of([*cable])).collect();
        out.result(LOOP_WITH_CABLES.with("CABLES", names.join(" + ")))
    };
    let lowest = out.result(&LOWEST_SHORT);
    Source {
        full_voltage,
        empty_voltage,
        series,
        parallel,
        resistance,
        string_resistance,
        cables,
        old_cold_factor,
        pack_factor,
        cell_resistance,
        low,
        current,
        highest,
        loop_inductance,
        time_constant,
        resistance_factor,
        loop_resistance,
        lowest,
    }
}

impl Source {
    /// Where the program's own factor decides the lowest short circuit, what meets is no more than close.
    fn doubt(&self, page: &mut Page<'_>) {
        let packs = self.pack_factor.and_then(|slot| page.get(slot)).map_or(0.0, Measure::si);
        let decides = page.get(self.old_cold_factor).is_some_and(|own| own.si() > packs);
        if decides && page.is_assumed(self.old_cold_factor) {
            for row in [&BLOWS, &CLEARS] {
                page.hold_close(row.name, "`old_cold_factor` is assumed");
            }
        }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) {
        let of_cell = match self.low {
            Low::At1kHz(slot) => bench.get(slot),
            Low::ShareOfPulse(share) => bench.get(share) * bench.get(self.cell_resistance),
        };
        let least = of_cell * bench.get(self.series) / bench.get(self.parallel);
        bench.set(self.highest, bench.get(self.full_voltage) / least);
        if let Some(inductance) = self.loop_inductance {
            bench.set(self.time_constant, bench.get(inductance) / least);
        }
        let own = bench.get(self.old_cold_factor);
        let factor = match self.pack_factor.map(|slot| bench.get(slot)) {
            // Also where its own is not known.
            Some(packs) if own < packs || own.is_nan() => packs,
            _ => own,
        };
        bench.set(self.resistance_factor, factor);
        let string = bench.get(self.string_resistance);
        let mut most: ElectricalResistance = factor * (bench.get(self.resistance) - string) + string;
        for cable in &self.cables {
            most += bench.get(*cable);
        }
        bench.set(self.loop_resistance, most);
        bench.set(self.lowest, bench.get(self.empty_voltage) / most);
    }

    pub(super) fn present(&self, page: &mut Page<'_>) {
        self.doubt(page);
        if let Low::ShareOfPulse(share) = self.low {
            page.note("The cell states no 1 kHz resistance, so a share of its pulse resistance was taken: a pulse resistance alone makes a short circuit look smaller than it is.");
            if page.is_assumed(share) {
                page.hold_close("interrupting_rating", "`pulse_share` is assumed");
            }
        }
    }
}
