//! What readings of isolation give, and what they are held against.

use crate::model::{Family, RequirementRow, ResultRow, Row, Stage, Taken};
use crate::quantities::si::{ElectricPotential, ElectricalResistance, Ratio, ResistancePerVoltage};

pub(super) static FULL_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("pack", "full_voltage").stands_for("working_voltage");
pub(super) static EMPTY_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("pack", "empty_voltage").about("below it no voltages of a reading can be");
pub(super) static PER_VOLT: Taken<ResistancePerVoltage> = Taken::new("", "required_per_volt");
pub(super) static PER_VOLT_AC: Taken<ResistancePerVoltage> = Taken::new("", "required_per_volt_ac");

/// In reading order.
pub(super) static ALL: &[&ResultRow] = &[
    &REQUIRED_DC.row,
    &REQUIRED_AC.row,
    &REQUIRED.row,
    &REQUIRED_OF_BOTH.row,
    &BUS_VOLTAGE.row,
    &FALL_NEGATIVE.row,
    &FALL_POSITIVE.row,
    &RESISTANCE.row,
    &LOWEST.row,
    &LOWEST_PER_VOLT.row,
];

static READINGS: Family = Family { name: "readings", label: "Place", case: "PLACE" };

pub(super) static REQUIRED_DC: Row<ElectricalResistance> = Row::formula(
    "required_dc",
    "isolation that the DC bus needs",
    "kΩ",
    "required_per_volt * working_voltage",
)
.when("with a separate AC bus");
pub(super) static REQUIRED_AC: Row<ElectricalResistance> =
    Row::formula("required_ac", "isolation that the AC bus needs", "kΩ", "required_per_volt_ac * ac_voltage")
        .when("with a separate AC bus");
pub(super) static REQUIRED: Row<ElectricalResistance> =
    Row::formula("required", "isolation that is asked", "kΩ", "required_per_volt * working_voltage")
        .about("of separate buses the higher limit")
        .principal();
pub(super) static REQUIRED_OF_BOTH: Row<ElectricalResistance> = REQUIRED.by("max(required_dc, required_ac)");
pub(super) static BUS_VOLTAGE: Row<ElectricPotential> =
    Row::formula("bus_voltage_PLACE", "voltage of the bus", "V", "readings.PLACE.v1 + readings.PLACE.v2")
        .about("both poles to the chassis together")
        .when("with two voltages as reading")
        .family(&READINGS);
pub(super) static FALL_NEGATIVE: Row<Ratio> = Row::formula(
    "fall_PLACE",
    "fall with the shunt",
    "%",
    "(readings.PLACE.v1 - readings.PLACE.v_shunted) / max(readings.PLACE.v1, readings.PLACE.v2)",
)
.about("of the voltage of that pole, as a share of the larger one")
.when("with two voltages as reading")
.family(&READINGS);
pub(super) static FALL_POSITIVE: Row<Ratio> = FALL_NEGATIVE
    .by("(readings.PLACE.v2 - readings.PLACE.v_shunted) / max(readings.PLACE.v1, readings.PLACE.v2)");
pub(super) static RESISTANCE: Row<ElectricalResistance> = Row::formula(
    "resistance_PLACE",
    "isolation by two voltages",
    "kΩ",
    "readings.PLACE.shunt * bus_voltage_PLACE / readings.PLACE.v_shunted * fall_PLACE",
)
.about("of the pole with less isolation")
.when("with two voltages as reading")
.family(&READINGS);
pub(super) static LOWEST: Row<ElectricalResistance> =
    Row::formula("lowest", "lowest isolation", "kΩ", "min(EACH)")
        .about("of all readings")
        .each(&[("EACH", "readings.PLACE.resistance")])
        .principal();
pub(super) static LOWEST_PER_VOLT: Row<ResistancePerVoltage> =
    Row::formula("lowest_per_volt", "lowest isolation for each volt", "Ω/V", "lowest / working_voltage")
        .about("of working voltage")
        .principal();

pub(super) static ENOUGH: RequirementRow = RequirementRow::safety("PLACE", "READING")
    .label("isolation")
    .at_least("LIMIT")
    .by_rule(&["required_per_volt"])
    .due(Stage::Test)
    .family(&READINGS)
    .each(&[("READING", "readings.PLACE.resistance"), ("LIMIT", "required")]);
