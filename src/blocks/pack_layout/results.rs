//! The results and requirements of a pack, and what it takes from its cell.

use super::curve::{MEAN_OPEN_CIRCUIT, OPEN_CIRCUIT, OPEN_CIRCUIT_AT, OpenCircuit};
use super::weakest::{CAPACITY_SPREAD, MODULE_SPREAD, PIECES, WEAKEST_BELOW_MEAN};
use crate::model::{Form, Purpose, RequirementRow, ResultRow, Row, Slot, Taken, TakenRow};
use crate::quantities::si::{
    ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance, Energy, Frequency, Mass, Power,
    Ratio, SpecificEnergy,
};

pub(super) static ROWS: &[&ResultRow] = &[
    &ENERGY.row,
    &ENERGY_BY_CURVE.row,
    &FULL_VOLTAGE.row,
    &NOMINAL_VOLTAGE.row,
    &EMPTY_VOLTAGE.row,
    &USABLE_ENERGY.row,
    &VOLTAGE_CLASS.row,
    &CAPACITY.row,
    &CAPACITY_OF_PIECES.row,
    &CAPACITY_OF_MODULES.row,
    &WEAKEST_BELOW_MEAN.row,
    &MEAN_OPEN_CIRCUIT.row,
    &OPEN_CIRCUIT_AT.row,
    &SERIES.row,
    &PARALLEL.row,
    &CELL_COUNT.row,
    &CELLS_LEFT_OVER.row,
    &CELL_MASS.row,
    &MASS.row,
    &MASS_BY_SHARE.row,
    &SPECIFIC_ENERGY.row,
    &RESISTANCE.row,
    &RATED_POWER.row,
    &COLLAPSE_POWER.row,
    &PEAK_CURRENT.row,
    &PEAK_SAG.row,
    &VOLTAGE_AT_PEAK.row,
    &PEAK_C_RATE.row,
    &HEAT_AT_PEAK.row,
    &CONTINUOUS_CURRENT.row,
    &WORST_VOLTAGE.row,
    &WORST_RESISTANCE.row,
    &WORST_COLLAPSE_POWER.row,
    &WORST_PEAK_CURRENT.row,
    &WORST_VOLTAGE_AT_PEAK.row,
    &WORST_CONTINUOUS_CURRENT.row,
];

pub(super) static TAKES: &[&TakenRow] = &[
    &NOMINAL.row,
    &FULL.row,
    &EMPTY.row,
    &CELL_CAPACITY.row,
    &CAPACITY_SPREAD.row,
    &MODULE_SPREAD.row,
    &CELL_RESISTANCE.row,
    &MASS_OF_CELL.row,
    &CONTINUOUS_DISCHARGE.row,
    &PEAK_DISCHARGE.row,
    &CONTINUOUS_CHARGE.row,
    &RESISTANCE_1KHZ.row,
    &OPEN_CIRCUIT.row,
    &WINDOW_LOW.row,
    &WINDOW_HIGH.row,
    &CELLS_IN_SERIES.row,
    &CELLS_IN_PARALLEL.row,
];

pub(super) static REQUIRES: &[&RequirementRow] = &[
    &FULL_IN_WINDOW,
    &PEAK_IN_WINDOW,
    &WORST_IN_WINDOW,
    &PEAK_RATING,
    &WORST_RATING,
    &WORST_POWER,
    &CONTINUOUS_RATING,
    &WORST_CONTINUOUS_RATING,
    &EQUAL_MODULES,
];

pub(super) static NOMINAL: Taken<ElectricPotential> = Taken::new("cell", "nominal_voltage");
pub(super) static FULL: Taken<ElectricPotential> = Taken::new("cell", "full_voltage");
pub(super) static EMPTY: Taken<ElectricPotential> = Taken::new("cell", "empty_voltage");
pub(super) static CELL_CAPACITY: Taken<ElectricCharge> = Taken::new("cell", "capacity");
pub(super) static CELL_RESISTANCE: Taken<ElectricalResistance> =
    Taken::new("cell", "resistance").about("of a short pulse");
pub(super) static MASS_OF_CELL: Taken<Mass> = Taken::new("cell", "mass");
pub(super) static CONTINUOUS_DISCHARGE: Taken<ElectricCurrent> = Taken::new("cell", "continuous_discharge");
/// For what a cell takes is less than what it gives for a moment.
pub(super) static CONTINUOUS_CHARGE: Taken<ElectricCurrent> = Taken::new("cell", "continuous_charge");
pub(super) static RESISTANCE_1KHZ: Taken<ElectricalResistance> = Taken::new("cell", "resistance_1khz");
pub(super) static PEAK_DISCHARGE: Taken<ElectricCurrent> = Taken::new("cell", "peak_discharge");

pub(super) static WINDOW_LOW: Taken<ElectricPotential> =
    Taken::new("inverter", "voltage_low").stands_for("window.low");
pub(super) static WINDOW_HIGH: Taken<ElectricPotential> =
    Taken::new("inverter", "voltage_high").stands_for("window.high");
pub(super) static CELLS_IN_SERIES: Taken<f64> = Taken::new("module", "cells_in_series");
pub(super) static CELLS_IN_PARALLEL: Taken<f64> = Taken::new("module", "cells_in_parallel");
pub(super) static SERIES: Row<f64> =
    Row::formula("series", "cells in series", "1", "modules_in_series * module.cells_in_series")
        .when("with `module`")
        .count();
pub(super) static PARALLEL: Row<f64> =
    Row::formula("parallel", "cells in parallel", "1", "modules_in_parallel * module.cells_in_parallel")
        .when("with `module`")
        .count();

pub(super) static FULL_VOLTAGE: Row<ElectricPotential> =
    Row::formula("full_voltage", "full voltage", "V", "series * cell.full_voltage")
        .about("at the end of charge: the working voltage")
        .purpose(Purpose::FullVoltage)
        .principal();
pub(super) static NOMINAL_VOLTAGE: Row<ElectricPotential> =
    Row::formula("nominal_voltage", "nominal voltage", "V", "series * cell.nominal_voltage")
        .purpose(Purpose::NominalVoltage)
        .principal();
pub(super) static EMPTY_VOLTAGE: Row<ElectricPotential> =
    Row::formula("empty_voltage", "empty voltage", "V", "series * cell.empty_voltage")
        .about("at the cells' lower limit")
        .principal();
pub(super) static VOLTAGE_CLASS: Row<String> =
    Row::words("voltage_class", "voltage class").about("of the full voltage").principal();
pub(super) static CAPACITY: Row<ElectricCharge> =
    Row::formula("capacity", "capacity", "Ah", "parallel * cell.capacity");
pub(super) static CAPACITY_OF_PIECES: Row<ElectricCharge> = CAPACITY
    .by("parallel * cell.capacity - weakest_below_mean * sqrt(parallel) * cell.capacity_spread")
    .about("of the weakest group in series, expected")
    .when(PIECES);
pub(super) static CAPACITY_OF_MODULES: Row<ElectricCharge> = CAPACITY_OF_PIECES
    .by("parallel * cell.capacity - weakest_below_mean * sqrt(modules_in_parallel) * module.capacity_spread");
pub(super) static ENERGY: Row<Energy> =
    Row::formula("energy", "energy", "kWh", "nominal_voltage * capacity").principal();
pub(super) static ENERGY_BY_CURVE: Row<Energy> =
    ENERGY.by("series * mean_open_circuit * capacity").when("with the cell's `open_circuit_curve`");
pub(super) static USABLE_ENERGY: Row<Energy> =
    Row::formula("usable_energy", "usable energy", "kWh", "usable_share * energy").principal();

pub(super) static CELL_COUNT: Row<f64> =
    Row::formula("cell_count", "number of cells", "1", "series * parallel").count().principal();
pub(super) static CELLS_LEFT_OVER: Row<f64> = Row::formula(
    "cells_left_over",
    "cells left over",
    "1",
    "cell_count - modules * round(cell_count / modules)",
)
.about("that don't go into equal modules; must be 0")
.when("with `modules`");
pub(super) static CELL_MASS: Row<Mass> =
    Row::formula("cell_mass", "mass of the cells", "kg", "cell_count * cell.mass");
pub(super) static MASS: Row<Mass> =
    Row::formula("mass", "mass", "kg", "cell_mass + housing_mass").about("with its housing").principal();
pub(super) static MASS_BY_SHARE: Row<Mass> =
    MASS.by("cell_mass * (1 + housing_share)").when("with `housing_share`");
pub(super) static SPECIFIC_ENERGY: Row<SpecificEnergy> =
    Row::formula("specific_energy", "energy per mass", "Wh/kg", "energy / mass");
pub(super) static RESISTANCE: Row<ElectricalResistance> =
    Row::formula("resistance", "resistance", "mΩ", "cell.resistance * series / parallel + string_resistance")
        .about("of cells and string; a short-pulse value");
pub(super) static RATED_POWER: Row<Power> = Row::formula(
    "rated_power",
    "power at the cells' peak rating",
    "kW",
    "(nominal_voltage - cell.peak_discharge * parallel * resistance) * cell.peak_discharge * parallel",
)
.about("at the terminals");
pub(super) static COLLAPSE_POWER: Row<Power> = Row::formula(
    "collapse_power",
    "power at which the voltage collapses",
    "kW",
    "nominal_voltage^2 / (4 * resistance)",
)
.about("never to be used");

pub(super) static PEAK_CURRENT: Row<ElectricCurrent> = Row::formula(
    "peak_current",
    "peak current",
    "A",
    "2 * peak_power / (nominal_voltage + sqrt(nominal_voltage^2 - 4 * resistance * peak_power))",
)
.about("at peak power, from nominal voltage")
.when("with `peak_power`")
.principal();
pub(super) static PEAK_SAG: Row<ElectricPotential> =
    Row::formula("peak_sag", "voltage lost at peak power", "V", "peak_current * resistance")
        .when("with `peak_power`");
pub(super) static VOLTAGE_AT_PEAK: Row<ElectricPotential> =
    Row::formula("voltage_at_peak", "voltage at peak power", "V", "nominal_voltage - peak_sag")
        .about("at the terminals")
        .when("with `peak_power`");
pub(super) static PEAK_C_RATE: Row<Frequency> =
    Row::formula("peak_c_rate", "peak current over capacity", "1/h", "peak_current / capacity")
        .when("with `peak_power`");
pub(super) static HEAT_AT_PEAK: Row<Power> =
    Row::formula("heat_at_peak", "heat at peak power", "kW", "peak_current^2 * resistance")
        .about("lost in the pack")
        .when("with `peak_power`");
pub(super) static CONTINUOUS_CURRENT: Row<ElectricCurrent> = Row::formula(
    "continuous_current",
    "continuous current",
    "A",
    "2 * continuous_power / (nominal_voltage + sqrt(nominal_voltage^2 - 4 * resistance * continuous_power))",
)
.about("at continuous power, from nominal voltage")
.when("with `continuous_power`");

const WORST_WHEN: &str = "with `worst`";
pub(super) static WORST_VOLTAGE: Row<ElectricPotential> =
    Row::formula("worst_voltage", "open-circuit voltage at worst", "V", "series * worst.cell_voltage")
        .about("lowest charge and temperature")
        .when(WORST_WHEN);
pub(super) static WORST_RESISTANCE: Row<ElectricalResistance> = Row::formula(
    "worst_resistance",
    "resistance at worst",
    "mΩ",
    "worst.resistance_factor * cell.resistance * series / parallel + string_resistance",
)
.about("lowest charge and temperature")
.when(WORST_WHEN);
pub(super) static WORST_COLLAPSE_POWER: Row<Power> = Row::formula(
    "worst_collapse_power",
    "power at which the voltage collapses at worst",
    "kW",
    "worst_voltage^2 / (4 * worst_resistance)",
)
.about("lowest charge and temperature; never to be used")
.when(WORST_WHEN);
pub(super) static WORST_PEAK_CURRENT: Row<ElectricCurrent> = Row::formula(
    "worst_peak_current",
    "peak current at worst",
    "A",
    "2 * peak_power / (worst_voltage + sqrt(worst_voltage^2 - 4 * worst_resistance * peak_power))",
)
.about("at peak power, lowest charge and temperature")
.when("with `worst` and `peak_power`")
.principal();
pub(super) static WORST_VOLTAGE_AT_PEAK: Row<ElectricPotential> = Row::formula(
    "worst_voltage_at_peak",
    "voltage at peak power at worst",
    "V",
    "worst_voltage - worst_peak_current * worst_resistance",
)
.about("at the terminals, lowest charge and temperature")
.when("with `worst` and `peak_power`");

pub(super) static WORST_CONTINUOUS_CURRENT: Row<ElectricCurrent> = Row::formula(
    "worst_continuous_current",
    "continuous current at worst",
    "A",
    "2 * continuous_power / (worst_voltage + sqrt(worst_voltage^2 - 4 * worst_resistance * continuous_power))",
)
.about("at continuous power, lowest charge and temperature")
.when("with `worst` and `continuous_power`");

const WINDOW: &str = "the inverter's voltage window";
const RATING: &str = "the cell's rating";
pub(super) static FULL_IN_WINDOW: RequirementRow = RequirementRow::safety("full_voltage", "full_voltage")
    .at_least("window.low")
    .at_most("window.high")
    .source(WINDOW)
    .only_with(&["window.low"]);
pub(super) static PEAK_IN_WINDOW: RequirementRow =
    RequirementRow::safety("voltage_at_peak", "voltage_at_peak")
        .at_least("window.low")
        .source(WINDOW)
        .only_with(&["window.low"]);
pub(super) static WORST_IN_WINDOW: RequirementRow =
    RequirementRow::safety("worst_voltage_at_peak", "worst_voltage_at_peak")
        .at_least("window.low")
        .source(WINDOW)
        .only_with(&["window.low"]);
pub(super) static PEAK_RATING: RequirementRow = RequirementRow::safety("peak_current", "peak_current")
    .at_most("cell.peak_discharge * parallel")
    .source(RATING)
    .only_with(&["peak_power"]);
pub(super) static WORST_RATING: RequirementRow =
    RequirementRow::safety("worst_peak_current", "worst_peak_current")
        .at_most("cell.peak_discharge * parallel")
        .source(RATING)
        .only_with(&["peak_power"]);
pub(super) static CONTINUOUS_RATING: RequirementRow =
    RequirementRow::safety("continuous_current", "continuous_current")
        .at_most("cell.continuous_discharge * parallel")
        .source(RATING)
        .only_with(&["continuous_power"]);
pub(super) static WORST_CONTINUOUS_RATING: RequirementRow =
    RequirementRow::safety("worst_continuous_current", "worst_continuous_current")
        .at_most("cell.continuous_discharge * parallel")
        .source(RATING)
        .only_with(&["continuous_power", "worst.cell_voltage"]);
pub(super) static WORST_POWER: RequirementRow =
    RequirementRow::safety("worst_collapse_power", "worst_collapse_power")
        .at_least("peak_power")
        .strictly()
        .source("the peak power that is asked")
        .only_with(&["peak_power", "worst.cell_voltage"]);
pub(super) static EQUAL_MODULES: RequirementRow = RequirementRow::safety("modules", "cells_left_over")
    .label("cells in equal modules")
    .at_least("0")
    .at_most("0")
    .source("equal modules")
    .only_with(&["modules"]);

/// Where they are not there their results are not either.
pub(super) struct Results {
    pub(super) cell_count: Slot<f64>,
    pub(super) nominal_voltage: Slot<ElectricPotential>,
    pub(super) full_voltage: Slot<ElectricPotential>,
    pub(super) empty_voltage: Slot<ElectricPotential>,
    pub(super) voltage_class: Slot<String>,
    pub(super) capacity: Slot<ElectricCharge>,
    pub(super) energy: Slot<Energy>,
    pub(super) usable_energy: Slot<Energy>,
    pub(super) cells_left_over: Slot<f64>,
    pub(super) cell_mass: Slot<Mass>,
    pub(super) mass: Slot<Mass>,
    pub(super) specific_energy: Slot<SpecificEnergy>,
    pub(super) resistance: Slot<ElectricalResistance>,
    pub(super) rated_power: Slot<Power>,
    pub(super) collapse_power: Slot<Power>,
    pub(super) peak: Peak,
    pub(super) continuous_current: Slot<ElectricCurrent>,
    pub(super) worst: WorstPeak,
}

/// At the peak power, from nominal voltage.
pub(super) struct Peak {
    pub(super) current: Slot<ElectricCurrent>,
    pub(super) sag: Slot<ElectricPotential>,
    pub(super) voltage: Slot<ElectricPotential>,
    pub(super) c_rate: Slot<Frequency>,
    pub(super) heat: Slot<Power>,
}

/// At lowest charge and temperature.
pub(super) struct WorstPeak {
    pub(super) voltage: Slot<ElectricPotential>,
    pub(super) resistance: Slot<ElectricalResistance>,
    pub(super) collapse_power: Slot<Power>,
    pub(super) current: Slot<ElectricCurrent>,
    pub(super) voltage_at_peak: Slot<ElectricPotential>,
    pub(super) continuous_current: Slot<ElectricCurrent>,
}

#[derive(Clone, Copy)]
pub(super) enum Housing {
    Mass(Slot<Mass>),
    Share(Slot<Ratio>),
}

pub(super) fn declare(
    form: &mut Form<'_, '_>,
    housing: Housing,
    (open_circuit, capacity): (Option<&OpenCircuit>, &'static Row<ElectricCharge>),
) -> Results {
    let mut out = form.outcomes();
    let full_voltage = out.result(&FULL_VOLTAGE);
    Results {
        full_voltage,
        nominal_voltage: out.result(&NOMINAL_VOLTAGE),
        empty_voltage: out.result(&EMPTY_VOLTAGE),
        voltage_class: out.procedure(&VOLTAGE_CLASS, &[full_voltage.index()]),
        capacity: out.result(capacity),
        energy: out.result(if open_circuit.is_some() { &ENERGY_BY_CURVE } else { &ENERGY }),
        usable_energy: out.result(&USABLE_ENERGY),
        cell_count: out.result(&CELL_COUNT),
        cells_left_over: out.result(&CELLS_LEFT_OVER),
        cell_mass: out.result(&CELL_MASS),
        mass: out.result(if let Housing::Share(_) = housing { &MASS_BY_SHARE } else { &MASS }),
        specific_energy: out.result(&SPECIFIC_ENERGY),
        resistance: out.result(&RESISTANCE),
        rated_power: out.result(&RATED_POWER),
        collapse_power: out.result(&COLLAPSE_POWER),
        peak: Peak {
            current: out.result(&PEAK_CURRENT),
            sag: out.result(&PEAK_SAG),
            voltage: out.result(&VOLTAGE_AT_PEAK),
            c_rate: out.result(&PEAK_C_RATE),
            heat: out.result(&HEAT_AT_PEAK),
        },
        continuous_current: out.result(&CONTINUOUS_CURRENT),
        worst: WorstPeak {
            voltage: out.result(&WORST_VOLTAGE),
            resistance: out.result(&WORST_RESISTANCE),
            collapse_power: out.result(&WORST_COLLAPSE_POWER),
            current: out.result(&WORST_PEAK_CURRENT),
            voltage_at_peak: out.result(&WORST_VOLTAGE_AT_PEAK),
            continuous_current: out.result(&WORST_CONTINUOUS_CURRENT),
        },
    }
}
