//! The results of a pack: what is declared of totals, peak and worst case, each with its formula.

use crate::model::{Form, Slot};
use crate::quantities::si::{
    ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance, Energy, Frequency, Mass, Power,
    Ratio, SpecificEnergy,
};

#[derive(Clone, Copy)]
pub(super) enum Housing {
    Mass(Slot<Mass>),
    Share(Slot<Ratio>),
}

pub(super) struct Totals {
    pub(super) cell_count: Slot<f64>,
    pub(super) nominal_voltage: Slot<ElectricPotential>,
    pub(super) full_voltage: Slot<ElectricPotential>,
    pub(super) empty_voltage: Slot<ElectricPotential>,
    pub(super) capacity: Slot<ElectricCharge>,
    pub(super) energy: Slot<Energy>,
    pub(super) usable_energy: Slot<Energy>,
    pub(super) cell_mass: Slot<Mass>,
    pub(super) mass: Slot<Mass>,
    pub(super) specific_energy: Slot<SpecificEnergy>,
    pub(super) resistance: Slot<ElectricalResistance>,
}

pub(super) struct Peak {
    pub(super) power: Slot<Power>,
    pub(super) current: Slot<ElectricCurrent>,
    pub(super) sag: Slot<ElectricPotential>,
    pub(super) voltage: Slot<ElectricPotential>,
    pub(super) c_rate: Slot<Frequency>,
    pub(super) heat: Slot<Power>,
}

pub(super) struct Worst {
    pub(super) cell_voltage: Slot<ElectricPotential>,
    pub(super) resistance_factor: Slot<Ratio>,
    pub(super) voltage: Slot<ElectricPotential>,
    pub(super) resistance: Slot<ElectricalResistance>,
    pub(super) peak_current: Slot<ElectricCurrent>,
    pub(super) voltage_at_peak: Slot<ElectricPotential>,
}

/// `voltage` is what the energy is held at, on the mean of the charge.
pub(super) fn declare_totals(form: &mut Form<'_, '_>, housing: Housing, voltage: &str) -> Totals {
    let mass = match housing {
        Housing::Mass(_) => "cell_mass + housing_mass",
        Housing::Share(_) => "cell_mass * (1 + housing_share)",
    };
    Totals {
        cell_count: form.count_step("cell_count", "series * parallel"),
        nominal_voltage: form.step("nominal_voltage", "V", "series * cell.nominal_voltage"),
        full_voltage: form.step("full_voltage", "V", "series * cell.full_voltage"),
        empty_voltage: form.step("empty_voltage", "V", "series * cell.empty_voltage"),
        capacity: form.step("capacity", "Ah", "parallel * cell.capacity"),
        energy: form.step("energy", "kWh", &format!("{voltage} * capacity")),
        usable_energy: form.step("usable_energy", "kWh", "usable_share * energy"),
        cell_mass: form.step("cell_mass", "kg", "cell_count * cell.mass"),
        mass: form.step("mass", "kg", mass),
        specific_energy: form.step("specific_energy", "Wh/kg", "energy / mass"),
        resistance: form.step("resistance", "mΩ", "cell.resistance * series / parallel + string_resistance"),
    }
}

/// The smaller root of P = (E − R I) I, in the form that holds for R = 0 too.
pub(super) fn current_formula(power: &str, voltage: &str, resistance: &str) -> String {
    format!("2 * {power} / ({voltage} + sqrt({voltage}^2 - 4 * {resistance} * {power}))")
}

pub(super) fn declare_peak(form: &mut Form<'_, '_>, power: Slot<Power>) -> Peak {
    Peak {
        power,
        current: form.step(
            "peak_current",
            "A",
            &current_formula("peak_power", "nominal_voltage", "resistance"),
        ),
        sag: form.step("peak_sag", "V", "peak_current * resistance"),
        voltage: form.step("voltage_at_peak", "V", "nominal_voltage - peak_sag"),
        c_rate: form.step("peak_c_rate", "1/h", "peak_current / capacity"),
        heat: form.step("heat_at_peak", "kW", "peak_current^2 * resistance"),
    }
}

pub(super) fn declare_worst(form: &mut Form<'_, '_>, given: (Slot<ElectricPotential>, Slot<Ratio>)) -> Worst {
    let resistance = "worst.resistance_factor * cell.resistance * series / parallel + string_resistance";
    Worst {
        cell_voltage: given.0,
        resistance_factor: given.1,
        voltage: form.step("worst_voltage", "V", "series * worst.cell_voltage"),
        resistance: form.step("worst_resistance", "mΩ", resistance),
        peak_current: form.step(
            "worst_peak_current",
            "A",
            &current_formula("peak_power", "worst_voltage", "worst_resistance"),
        ),
        voltage_at_peak: form.step(
            "worst_voltage_at_peak",
            "V",
            "worst_voltage - worst_peak_current * worst_resistance",
        ),
    }
}
