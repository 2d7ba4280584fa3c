//! A pack as something that is charged: its voltages, and what its cell's sheet allows.

use crate::blocks::shared::cell_of::cell_of;
use crate::blocks::shared::noted::is_documented;
use crate::findings::codes;
use crate::model::{
    BlockName, FieldDoc, FieldSort, Form, Outcomes, Page, Purpose, RequirementRow, Slot, Taken, Takes,
};
use crate::quantities::si::{
    ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance, Energy, Measure, Power,
    ThermodynamicTemperature,
};
use crate::quantities::{Curve, sort};
use crate::words::words;

pub(in crate::blocks) const PACK: FieldDoc = FieldDoc::new(
    "pack",
    Takes::BlockName,
    "a pack, whose cell has `continuous_charge`, `charge_temperature_low` and `charge_temperature_high`, and best an `open_circuit_curve`",
);

pub(in crate::blocks) const HOTTEST_CELL: FieldDoc = FieldDoc::new(
    "cell_temperature_high",
    Takes::Quantity(&sort::TEMPERATURE),
    "the highest at which it is still charged",
)
.optional()
.sort(FieldSort::Condition)
.label("hottest cell");

pub(in crate::blocks) static SERIES: Taken<f64> = Taken::new("pack", "series");
pub(in crate::blocks) static PARALLEL: Taken<f64> = Taken::new("pack", "parallel");
pub(in crate::blocks) static NOMINAL_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("pack", "nominal_voltage");
pub(in crate::blocks) static FULL_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("pack", "full_voltage").purpose(Purpose::Dc);
pub(in crate::blocks) static EMPTY_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "empty_voltage");
pub(in crate::blocks) static CAPACITY: Taken<ElectricCharge> = Taken::new("pack", "capacity");
pub(in crate::blocks) static ENERGY: Taken<Energy> = Taken::new("pack", "energy");
pub(in crate::blocks) static RESISTANCE: Taken<ElectricalResistance> = Taken::new("pack", "resistance");
pub(in crate::blocks) static CONTINUOUS_CHARGE: Taken<ElectricCurrent> =
    Taken::new("cell", "continuous_charge");
pub(in crate::blocks) static CHARGE_TEMPERATURE_LOW: Taken<ThermodynamicTemperature> =
    Taken::new("cell", "charge_temperature_low")
        .about("most lithium cells must not be charged below freezing");
pub(in crate::blocks) static CHARGE_TEMPERATURE_HIGH: Taken<ThermodynamicTemperature> =
    Taken::new("cell", "charge_temperature_high");
pub(in crate::blocks) static OPEN_CIRCUIT_CURVE: Taken<Curve> =
    Taken::curve("cell", "open_circuit_curve", (&sort::SHARE, &sort::VOLTAGE))
        .told_elsewhere()
        .about("voltage at rest against the state of charge");

/// The charge current is within the cell's rating.
pub(in crate::blocks) static CURRENT: RequirementRow = RequirementRow::safety("current", "current")
    .at_most("cell.continuous_charge * pack.parallel")
    .source("the cell's charge rating");

/// The coldest cell that is charged is not below the lowest temperature for charging.
pub(in crate::blocks) static CELL_TEMPERATURE: RequirementRow =
    RequirementRow::safety("cell_temperature", "cell_temperature")
        .at_least("cell.charge_temperature_low")
        .source("the cell's lowest charge temperature");

/// The same where the sheet states a highest temperature too: what is called the coldest cell is not above it either.
pub(in crate::blocks) static CELL_TEMPERATURE_WITHIN: RequirementRow =
    RequirementRow::safety("cell_temperature", "cell_temperature")
        .at_least("cell.charge_temperature_low")
        .at_most("cell.charge_temperature_high")
        .source("the cell's charge temperatures");

/// The hottest cell that is charged is not above the highest temperature for charging.
pub(in crate::blocks) static CELL_TEMPERATURE_HIGH: RequirementRow =
    RequirementRow::safety("cell_temperature_high", "cell_temperature_high")
        .at_most("cell.charge_temperature_high")
        .source("the cell's highest charge temperature");

/// 0 °C.
const FREEZING: f64 = 273.15;

/// Names of values taken from the pack begin with `pack.`, of its cell with `cell.`.
pub(in crate::blocks) struct ChargedPack {
    pub series: Slot<f64>,
    pub nominal_voltage: Slot<ElectricPotential>,
    pub full_voltage: Slot<ElectricPotential>,
    pub empty_voltage: Slot<ElectricPotential>,
    pub capacity: Slot<ElectricCharge>,
    pub energy: Slot<Energy>,
    pub resistance: Slot<ElectricalResistance>,
    /// Voltage of one cell against its state of charge.
    pub open_circuit_curve: Option<Slot<Curve>>,
    /// Whether the cell states a highest temperature for charging.
    hottest: bool,
    /// Whether a document states its lowest.
    coldest_documented: bool,
    pub name: Option<BlockName>,
    cell: Option<BlockName>,
}

impl ChargedPack {
    pub(in crate::blocks) fn read(form: &mut Form<'_, '_>) -> ChargedPack {
        let name = form.lookup().block_name("pack");
        let cell = cell_of(form, name.as_ref());
        let curve = form.lookup().has(cell.as_ref(), "open_circuit_curve");
        let (mut lookup, pack) = (form.lookup(), name.as_ref());
        lookup.taken(&PARALLEL, pack);
        lookup.if_there(&CONTINUOUS_CHARGE, cell.as_ref());
        lookup.if_there(&CHARGE_TEMPERATURE_LOW, cell.as_ref());
        let hottest = lookup.if_there(&CHARGE_TEMPERATURE_HIGH, cell.as_ref()).is_some();
        let documented = |cell: &BlockName| is_documented(form, &cell.name, "charge_temperature_low");
        let coldest_documented = cell.as_ref().is_some_and(documented);
        let mut lookup = form.lookup();
        ChargedPack {
            series: lookup.taken(&SERIES, pack),
            nominal_voltage: lookup.taken(&NOMINAL_VOLTAGE, pack),
            full_voltage: lookup.taken(&FULL_VOLTAGE, pack),
            empty_voltage: lookup.taken(&EMPTY_VOLTAGE, pack),
            capacity: lookup.taken(&CAPACITY, pack),
            energy: lookup.taken(&ENERGY, pack),
            resistance: lookup.taken(&RESISTANCE, pack),
            open_circuit_curve: curve.then(|| lookup.taken(&OPEN_CIRCUIT_CURVE, cell.as_ref())),
            hottest,
            coldest_documented,
            cell,
            name,
        }
    }

    /// Requires that the cells are neither too cold nor too hot to be charged.
    pub(in crate::blocks) fn require_temperatures(&self, out: &mut Outcomes<'_, '_, '_>) {
        out.require(if self.hottest { &CELL_TEMPERATURE_WITHIN } else { &CELL_TEMPERATURE });
        out.require(&CELL_TEMPERATURE_HIGH);
    }

    /// A lowest temperature under 0 °C is often that of discharging, and no `meets` rests on it without a document.
    pub(in crate::blocks) fn hold_cold(
        &self,
        page: &mut Page<'_>,
        coldest: Option<Slot<ThermodynamicTemperature>>,
    ) {
        let freezes =
            coldest.and_then(|coldest| page.get(coldest)).is_some_and(|coldest| coldest.si() < FREEZING);
        if freezes && !self.coldest_documented {
            let reason = "most lithium cells must not be charged below 0 °C, and `charge_temperature_low` names no document that allows it";
            page.hold_close(CELL_TEMPERATURE.name, reason);
        }
    }

    /// The cell's curve where it must be there; the finding names the cell's part.
    pub(in crate::blocks) fn needed_curve(&self, form: &mut Form<'_, '_>) -> Slot<Curve> {
        let there = self.open_circuit_curve;
        there.unwrap_or_else(|| form.lookup().taken(&OPEN_CIRCUIT_CURVE, self.cell.as_ref()))
    }
}

/// A hottest cell that is colder than the coldest one: one of them is mistyped, and neither is judged.
pub(in crate::blocks) fn temperatures_agree(
    page: &mut Page<'_>,
    [coldest, hottest]: [Option<Slot<ThermodynamicTemperature>>; 2],
) {
    let (Some(coldest), Some(hottest)) = (coldest, hottest) else { return };
    let (Some(low), Some(high)) = (page.get(coldest), page.get(hottest)) else { return };
    if high.si() < low.si() {
        let message =
            words!("a hottest cell of {} and a coldest of {}", page.value(hottest), page.value(coldest));
        let help = "`cell_temperature` is the lowest, `cell_temperature_high` the highest";
        page.find(&codes::BAD_VALUE, hottest.index(), message, help);
    }
}

/// The voltage at which a source with a resistance takes in a power: U = E/2 + √(E²/4 + R P).
pub(in crate::blocks) fn voltage_under(
    power: Power,
    rest: ElectricPotential,
    resistance: ElectricalResistance,
) -> ElectricPotential {
    rest / 2.0 + (rest * rest / 4.0 + resistance * power).sqrt()
}
