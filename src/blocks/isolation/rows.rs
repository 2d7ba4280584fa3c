//! What readings of isolation give, and what they are held against.

use crate::blocks::shared::working_voltage::PACK_VOLTAGE;
use crate::model::{Family, Purpose, RequirementRow, ResultRow, Row, Stage, Taken, TakenRow};
use crate::quantities::si::{ElectricPotential, ElectricalResistance, Ratio, ResistancePerVoltage};

pub(super) static FULL_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("pack", "full_voltage").purpose(Purpose::Dc).stands_for("working_voltage");
pub(super) static EMPTY_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("pack", "empty_voltage").about("below it no voltages of a reading can be");
pub(super) static PER_VOLT: Taken<ResistancePerVoltage> = Taken::new("", "required_per_volt");
pub(super) static INLET: Taken<ElectricalResistance> = Taken::new("", "required_inlet");
pub(super) static PER_VOLT_AC: Taken<ResistancePerVoltage> = Taken::new("", "required_per_volt_ac");

pub(super) static TAKES: &[&TakenRow] =
    &[&FULL_VOLTAGE.row, &EMPTY_VOLTAGE.row, &PACK_VOLTAGE.row, &PER_VOLT.row, &PER_VOLT_AC.row, &INLET.row];

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
    &WHOLE.row,
    &WHOLE_PER_VOLT.row,
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
    "(readings.PLACE.v1 - readings.PLACE.v_shunted) / readings.PLACE.v1",
)
.about("of the voltage of the pole that the shunt was on, as a share of it")
.when("with two voltages as reading")
.family(&READINGS);
pub(super) static FALL_POSITIVE: Row<Ratio> =
    FALL_NEGATIVE.by("(readings.PLACE.v2 - readings.PLACE.v_shunted) / readings.PLACE.v2");
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
    Row::procedure("lowest", "lowest isolation", "kΩ", "the lowest of the readings that prove something")
        .principal();
pub(super) static LOWEST_PER_VOLT: Row<ResistancePerVoltage> =
    Row::formula("lowest_per_volt", "lowest isolation for each volt", "Ω/V", "lowest / working_voltage")
        .about("of working voltage")
        .principal();

pub(super) static WHOLE: Row<ElectricalResistance> = Row::procedure(
    "whole",
    "isolation of the whole",
    "kΩ",
    "readings of disjoint sections in the same state in parallel, of overlapping ones the lowest; of all states the \
     lowest",
)
.about("of all that was connected")
.when("where each reading says what it `covers`")
.principal();
pub(super) static WHOLE_PER_VOLT: Row<ResistancePerVoltage> =
    Row::formula("whole_per_volt", "isolation of the whole for each volt", "Ω/V", "whole / working_voltage")
        .about("of working voltage")
        .when("where each reading says what it `covers`");

pub(super) static REQUIRES: &[&RequirementRow] = &[&NOT_UNDER_PACK, &ENOUGH, &INLET_ENOUGH, &WHOLE_ENOUGH];

pub(super) static NOT_UNDER_PACK: RequirementRow =
    RequirementRow::safety("working_voltage", "working_voltage")
        .at_least("pack.full_voltage")
        .source("the pack's full voltage")
        .only_with(&["pack.full_voltage"]);
pub(super) static ENOUGH: RequirementRow = RequirementRow::safety("PLACE", "READING")
    .label("isolation")
    .at_least("LIMIT")
    .by_rule(&["required_per_volt"])
    .due(Stage::Test)
    .family(&READINGS)
    .each(&[("READING", "readings.PLACE.resistance"), ("LIMIT", "required")]);
pub(super) static INLET_ENOUGH: RequirementRow = RequirementRow::safety("PLACE", "READING")
    .label("isolation of the inlet")
    .at_least("LIMIT")
    .due(Stage::Test)
    .family(&READINGS)
    .each(&[("READING", "readings.PLACE.resistance"), ("LIMIT", "required_inlet")]);
pub(super) static WHOLE_ENOUGH: RequirementRow = RequirementRow::safety("whole", "whole")
    .at_least("LIMIT")
    .by_rule(&["required_per_volt"])
    .due(Stage::Test)
    .each(&[("LIMIT", "required")]);
