//! What one cell of a module has: a module is sold with the values of the whole group.

use crate::model::{Bench, Form, ResultRow, Row, Slot, Taken, TakenRow};
use crate::quantities::Curve;
use crate::quantities::si::{
    ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance, Mass, Measure,
    ThermodynamicTemperature,
};

/// One result of the cell for each value of the module that a kind reads from a cell.
macro_rules! cells {
    ($($name:ident: $measure:ident, $key:literal, $label:literal, $unit:literal, $share:ident, $formula:literal;)*) => {
        $(static $name: Values<$measure> = Values {
            row: Row::formula(concat!("cell.", $key), concat!($label, " of one of its cells"), $unit, $formula)
                .when("of a module, with `cells_in_series` and `cells_in_parallel`"),
            taken: Taken::new("", $key),
        };)*

        pub(super) static ROWS: &[&ResultRow] = &[$(&$name.row.row,)*];
        pub(super) static TAKES: &[&TakenRow] = &[$(&$name.taken.row,)*];

        fn declare(form: &mut Form<'_, '_>, given: &[usize]) -> Vec<Value> {
            let mut values = Vec::new();
            $(values.extend($name.declare(form, (given, Share::$share)));)*
            values
        }
    };
}

cells! {
    NOMINAL_VOLTAGE: ElectricPotential, "nominal_voltage", "nominal voltage", "V", PerSeries, "nominal_voltage / cells_in_series";
    FULL_VOLTAGE: ElectricPotential, "full_voltage", "full voltage", "V", PerSeries, "full_voltage / cells_in_series";
    EMPTY_VOLTAGE: ElectricPotential, "empty_voltage", "empty voltage", "V", PerSeries, "empty_voltage / cells_in_series";
    CAPACITY: ElectricCharge, "capacity", "capacity", "Ah", PerParallel, "capacity / cells_in_parallel";
    RESISTANCE: ElectricalResistance, "resistance", "resistance", "mΩ", Resistance, "resistance * cells_in_parallel / cells_in_series";
    RESISTANCE_1KHZ: ElectricalResistance, "resistance_1khz", "resistance at 1 kHz", "mΩ", Resistance, "resistance_1khz * cells_in_parallel / cells_in_series";
    MASS: Mass, "mass", "mass", "kg", PerCell, "mass / (cells_in_series * cells_in_parallel)";
    CONTINUOUS_DISCHARGE: ElectricCurrent, "continuous_discharge", "continuous discharge", "A", PerParallel, "continuous_discharge / cells_in_parallel";
    PEAK_DISCHARGE: ElectricCurrent, "peak_discharge", "peak discharge", "A", PerParallel, "peak_discharge / cells_in_parallel";
    CONTINUOUS_CHARGE: ElectricCurrent, "continuous_charge", "continuous charge", "A", PerParallel, "continuous_charge / cells_in_parallel";
    TEMPERATURE_LOW: ThermodynamicTemperature, "temperature_low", "lowest temperature", "°C", Same, "temperature_low";
    TEMPERATURE_HIGH: ThermodynamicTemperature, "temperature_high", "highest temperature", "°C", Same, "temperature_high";
    CHARGE_TEMPERATURE_LOW: ThermodynamicTemperature, "charge_temperature_low", "lowest charge temperature", "°C", Same, "charge_temperature_low";
    CHARGE_TEMPERATURE_HIGH: ThermodynamicTemperature, "charge_temperature_high", "highest charge temperature", "°C", Same, "charge_temperature_high";
}

/// A voltage, so that of one cell is a share of it.
const OPEN_CIRCUIT: &str = "open_circuit_curve";

struct Values<T> {
    row: Row<T>,
    /// The module's own, by which the formula's names are known.
    taken: Taken<T>,
}

/// What a cell has of its module's value.
#[derive(Clone, Copy)]
enum Share {
    PerSeries,
    PerParallel,
    PerCell,
    Resistance,
    Same,
}

struct Value {
    of_module: Slot<f64>,
    of_cell: Slot<f64>,
    share: Share,
}

/// The cells of a module.
pub(super) struct Cells {
    series: Slot<f64>,
    parallel: Slot<f64>,
    values: Vec<Value>,
}

impl<T: Measure> Values<T> {
    /// Where the module states the value.
    fn declare(&'static self, form: &mut Form<'_, '_>, (given, share): (&[usize], Share)) -> Option<Value> {
        let slots = given.iter().map(|index| Slot::<f64>::new(*index));
        let of_module = slots.into_iter().find(|slot| form.node(*slot).name == self.taken.row.name)?;
        if form.node(of_module).is_curve() {
            return None;
        }
        let of_cell = Slot::new(form.outcomes().result(&self.row).index());
        Some(Value { of_module, of_cell, share })
    }
}

impl Cells {
    /// Reads how many there are, before the values.
    pub(super) fn read(form: &mut Form<'_, '_>) -> Option<Cells> {
        if !["cells_in_series", "cells_in_parallel"].iter().any(|key| form.has(key)) {
            return None;
        }
        let (series, parallel) = (form.required("cells_in_series"), form.required("cells_in_parallel"));
        Some(Cells { series, parallel, values: Vec::new() })
    }

    /// Declares what one cell has of the values that are given, by their numbers.
    pub(super) fn declare(&mut self, form: &mut Form<'_, '_>, given: &[usize]) {
        self.values = declare(form, given);
        let found = given.iter().find(|index| form.node(Slot::<f64>::new(**index)).name == OPEN_CIRCUIT);
        if let Some(curve) = found.map(|index| Slot::<Curve>::new(*index)) {
            form.shared_out(&format!("cell.{OPEN_CIRCUIT}"), (curve, self.series));
        }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) {
        let (series, parallel) = (bench.get(self.series), bench.get(self.parallel));
        for Value { of_module, of_cell, share } in &self.values {
            let value = bench.get(*of_module);
            let of_one = match share {
                Share::PerSeries => value / series,
                Share::PerParallel => value / parallel,
                Share::PerCell => value / (series * parallel),
                Share::Resistance => value * parallel / series,
                Share::Same => value,
            };
            bench.set(*of_cell, of_one);
        }
    }
}
