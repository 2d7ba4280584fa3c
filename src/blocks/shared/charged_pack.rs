//! A pack as something that is charged: its voltages, and what its cell's sheet allows.

use crate::model::{BlockName, FieldDoc, Form, Limit, Page, RequirementKind, Slot, Status, Takes};
use crate::quantities::si::{
    ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance, Energy,
    ThermodynamicTemperature,
};
use crate::quantities::{Curve, Sort, sort};

pub(in crate::blocks) const PACK: FieldDoc = FieldDoc::new(
    "pack",
    Takes::BlockName,
    "a pack, whose cell has `continuous_charge` and `charge_temperature_low`, and best an `open_circuit_curve`",
);

/// Names of values taken from the pack begin with `pack.`, of its cell with `cell.`.
pub(in crate::blocks) struct ChargedPack {
    pub series: Slot<f64>,
    pub nominal_voltage: Slot<ElectricPotential>,
    pub full_voltage: Slot<ElectricPotential>,
    pub empty_voltage: Slot<ElectricPotential>,
    pub capacity: Slot<ElectricCharge>,
    pub energy: Slot<Energy>,
    pub resistance: Slot<ElectricalResistance>,
    /// Of one cell.
    pub continuous_charge: Option<Slot<ElectricCurrent>>,
    pub charge_temperature_low: Option<Slot<ThermodynamicTemperature>>,
    /// Voltage of one cell against its state of charge.
    pub open_circuit_curve: Option<Slot<Curve>>,
    cell: Option<BlockName>,
}

/// Whether the cell's charge rating has to be there.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(in crate::blocks) enum Rating {
    Needed,
    IfThere,
}

impl ChargedPack {
    pub(in crate::blocks) fn read(form: &mut Form<'_, '_>, rating: Rating) -> ChargedPack {
        let pack = form.required_block("pack");
        let cell = form.block_of(pack.as_ref(), "cell");
        let pack = pack.as_ref();
        form.of_block::<f64>(pack, "parallel");
        ChargedPack {
            series: form.of_block(pack, "series"),
            nominal_voltage: form.of_block(pack, "nominal_voltage"),
            full_voltage: form.of_block(pack, "full_voltage"),
            empty_voltage: form.of_block(pack, "empty_voltage"),
            capacity: form.of_block(pack, "capacity"),
            energy: form.of_block(pack, "energy"),
            resistance: form.of_block(pack, "resistance"),
            continuous_charge: match rating {
                Rating::Needed => cell.as_ref().map(|cell| form.of_block(Some(cell), "continuous_charge")),
                Rating::IfThere => form.of_block_if_there(cell.as_ref(), "continuous_charge"),
            },
            charge_temperature_low: form.of_block_if_there(cell.as_ref(), "charge_temperature_low"),
            open_circuit_curve: curve(form, cell.as_ref()),
            cell,
        }
    }

    /// The charge current is within the cell's rating, and its temperature not below the lowest one for charging.
    pub(in crate::blocks) fn require(
        &self,
        form: &mut Form<'_, '_>,
        current: &str,
        temperature: Option<&str>,
    ) {
        let limit = |name| Limit {
            name,
            kind: RequirementKind::Safety,
            actual: name,
            low: None,
            high: None,
            source: "the cell's charge rating",
            status: Status::Stated,
            span: None,
        };
        if self.continuous_charge.is_some() {
            let high = Some("cell.continuous_charge * pack.parallel");
            form.require(Limit { high, ..limit(current) });
        }
        if let (Some(name), Some(_)) = (temperature, self.charge_temperature_low) {
            let source = "the cell's lowest charge temperature";
            form.require(Limit { low: Some("cell.charge_temperature_low"), source, ..limit(name) });
        }
    }

    /// The curve where it is needed and not there: the finding names the cell's part.
    pub(in crate::blocks) fn missing_curve(&self, form: &mut Form<'_, '_>) -> Slot<Curve> {
        form.curve_of_block_in(self.cell.as_ref(), CURVE, CURVE_OF)
    }

    /// Says what the cell's sheet leaves open.
    pub(in crate::blocks) fn note(&self, page: &mut Page<'_>, temperature_given: bool) {
        if self.continuous_charge.is_none() {
            page.note("The current was not judged: the cell has no `continuous_charge`.");
        }
        match (self.charge_temperature_low, temperature_given) {
            (None, _) => {
                page.note("Charging in the cold was not judged: the cell has no `charge_temperature_low`. Most lithium cells must not be charged below freezing.");
            }
            (Some(_), false) => {
                page.note("Charging in the cold was not judged: give `cell_temperature`, the lowest that is charged at.");
            }
            (Some(_), true) => {}
        }
    }
}

/// What the cell's part calls it, and what it is: a share of the charge, and a voltage.
const CURVE: &str = "open_circuit_curve";
const CURVE_OF: (&Sort, &Sort) = (&sort::SHARE, &sort::VOLTAGE);

fn curve(form: &mut Form<'_, '_>, cell: Option<&BlockName>) -> Option<Slot<Curve>> {
    form.block_has(cell, CURVE).then(|| form.curve_of_block_in(cell, CURVE, CURVE_OF))
}
