//! The trips of a battery management, each with what it is held against.

use crate::model::{RequirementRow, Stage, Taken};
use crate::quantities::si::{ElectricCurrent, ElectricPotential, ThermodynamicTemperature};

/// One trip: what it is called where it is not set, and what it is held against.
pub(super) struct Trip<T> {
    pub name: &'static str,
    pub words: &'static str,
    pub sheet: Taken<T>,
    pub cut: RequirementRow,
    pub warn: RequirementRow,
}

const fn cut(name: &'static str) -> RequirementRow {
    RequirementRow::safety(name, name).source("the cell's sheet").due(Stage::Build)
}

const fn warn(name: &'static str) -> RequirementRow {
    RequirementRow::safety(name, name).source("a warning comes before the cut").strictly().due(Stage::Build)
}

pub(super) static CELL_VOLTAGE_HIGH: Trip<ElectricPotential> = Trip {
    name: "cell_voltage_high",
    words: "a full cell",
    sheet: Taken::new("cell", "full_voltage"),
    cut: cut("cell_voltage_high.cut").at_most("cell.full_voltage"),
    warn: warn("cell_voltage_high.warn")
        .at_most("cell_voltage_high.cut")
        .only_with(&["cell_voltage_high.warn"]),
};
pub(super) static CELL_VOLTAGE_LOW: Trip<ElectricPotential> = Trip {
    name: "cell_voltage_low",
    words: "an empty cell",
    sheet: Taken::new("cell", "empty_voltage"),
    cut: cut("cell_voltage_low.cut").at_least("cell.empty_voltage"),
    warn: warn("cell_voltage_low.warn")
        .at_least("cell_voltage_low.cut")
        .only_with(&["cell_voltage_low.warn"]),
};
pub(super) static TEMPERATURE_HIGH: Trip<ThermodynamicTemperature> = Trip {
    name: "temperature_high",
    words: "a hot cell",
    sheet: Taken::new("cell", "temperature_high"),
    cut: cut("temperature_high.cut").at_most("cell.temperature_high"),
    warn: warn("temperature_high.warn").at_most("temperature_high.cut").only_with(&["temperature_high.warn"]),
};
pub(super) static TEMPERATURE_LOW: Trip<ThermodynamicTemperature> = Trip {
    name: "temperature_low",
    words: "a cold cell",
    sheet: Taken::new("cell", "temperature_low"),
    cut: cut("temperature_low.cut").at_least("cell.temperature_low"),
    warn: warn("temperature_low.warn").at_least("temperature_low.cut").only_with(&["temperature_low.warn"]),
};
pub(super) static CHARGE_TEMPERATURE_HIGH: Trip<ThermodynamicTemperature> = Trip {
    name: "charge_temperature_high",
    words: "charging a hot cell",
    sheet: Taken::new("cell", "charge_temperature_high"),
    cut: cut("charge_temperature_high.cut").at_most("cell.charge_temperature_high"),
    warn: warn("charge_temperature_high.warn")
        .at_most("charge_temperature_high.cut")
        .only_with(&["charge_temperature_high.warn"]),
};
pub(super) static CHARGE_TEMPERATURE_LOW: Trip<ThermodynamicTemperature> = Trip {
    name: "charge_temperature_low",
    words: "charging a cold cell",
    sheet: Taken::new("cell", "charge_temperature_low"),
    cut: cut("charge_temperature_low.cut").at_least("cell.charge_temperature_low"),
    warn: warn("charge_temperature_low.warn")
        .at_least("charge_temperature_low.cut")
        .only_with(&["charge_temperature_low.warn"]),
};
pub(super) static DISCHARGE_CURRENT: Trip<ElectricCurrent> = Trip {
    name: "discharge_current",
    words: "too much current out of the pack",
    sheet: Taken::new("cell", "peak_discharge"),
    cut: cut("discharge_current.cut").at_most("cell.peak_discharge * pack.parallel"),
    warn: warn("discharge_current.warn")
        .at_most("discharge_current.cut")
        .only_with(&["discharge_current.warn"]),
};
pub(super) static CHARGE_CURRENT: Trip<ElectricCurrent> = Trip {
    name: "charge_current",
    words: "too much current into the pack",
    sheet: Taken::new("cell", "continuous_charge"),
    cut: cut("charge_current.cut").at_most("cell.continuous_charge * pack.parallel"),
    warn: warn("charge_current.warn").at_most("charge_current.cut").only_with(&["charge_current.warn"]),
};
