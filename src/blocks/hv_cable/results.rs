//! What `hv-cable` gives and requires, a row each.

use super::conductor::{AREA, CONDUCTOR_RESISTANCE};
use super::short_circuit::{BORNE_FOR, I2T_OF_COPPER, I2T_OF_SHEET};
use crate::model::{RequirementRow, ResultRow, Row};
use crate::quantities::si::{ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Ratio};

pub(super) const RESULTS: &[&ResultRow] = &[
    &AREA.row,
    &CONDUCTOR_RESISTANCE.row,
    &RESISTANCE_20.row,
    &PHASE_RESISTANCE_20.row,
    &RESISTANCE.row,
    &VOLTAGE_DROP.row,
    &PEAK_VOLTAGE_DROP.row,
    &DROP_SHARE.row,
    &CHAINED_DROP_SHARE.row,
    &LOSS.row,
    &LOSS_OF_PHASES.row,
    &AMPACITY_HERE.row,
    &AMPACITY_ROOM.row,
    &PEAK_RATING_HERE.row,
    &I2T_OF_SHEET.row,
    &I2T_OF_COPPER.row,
    &BORNE_FOR.row,
];

pub(super) static RESISTANCE_20: Row<ElectricalResistance> =
    Row::formula("resistance_20", "resistance at 20 °C", "mΩ", "2 * length * conductor_resistance")
        .about("of the loop, or of one phase");
pub(super) static PHASE_RESISTANCE_20: Row<ElectricalResistance> =
    RESISTANCE_20.by("length * conductor_resistance");
pub(super) static RESISTANCE: Row<ElectricalResistance> = Row::formula(
    "resistance",
    "resistance when warm",
    "mΩ",
    "resistance_20 * (conductor_temperature - copper_zero) / (copper_reference - copper_zero)",
)
.about("of the loop, or of one phase, at the conductor's temperature");
pub(super) static VOLTAGE_DROP: Row<ElectricPotential> =
    Row::formula("voltage_drop", "voltage drop", "V", "current * resistance")
        .about("over the loop; with three phases along one of them")
        .principal();
pub(super) static PEAK_VOLTAGE_DROP: Row<ElectricPotential> =
    Row::formula("peak_voltage_drop", "voltage drop at the peak", "V", "peak_current * resistance")
        .when("with `peak_current`");
pub(super) static DROP_SHARE: Row<Ratio> = Row::formula(
    "drop_share",
    "share of the system voltage that is lost",
    "%",
    "voltage_drop / system_voltage",
)
.when("with `system_voltage`");
pub(super) static CHAINED_DROP_SHARE: Row<Ratio> = DROP_SHARE.by("sqrt(3) * voltage_drop / system_voltage");
pub(super) static LOSS: Row<Power> =
    Row::formula("loss", "heat of all conductors", "W", "current^2 * resistance").principal();
pub(super) static LOSS_OF_PHASES: Row<Power> = LOSS.by("3 * current^2 * resistance");
pub(super) static AMPACITY_HERE: Row<ElectricCurrent> = Row::formula(
    "ampacity_here",
    "current that the cable may carry",
    "A",
    "ampacity_rating * bundle_factor * sqrt((insulation_limit - ambient_temperature) / (insulation_limit - ampacity_temperature))",
)
.about("in this ambient and bundle")
.when("with `ampacity_rating`, `insulation_limit` and `ambient_temperature`")
.principal();
pub(super) static AMPACITY_ROOM: Row<ElectricCurrent> =
    Row::formula("ampacity_room", "current that is left", "A", "ampacity_here - current")
        .when("with `ampacity_rating`, `insulation_limit` and `ambient_temperature`");

pub(super) static PEAK_RATING_HERE: Row<ElectricCurrent> = Row::formula(
    "peak_rating_here",
    "short-time rating where the cable lies",
    "A",
    "peak_rating * ampacity_here / ampacity_rating",
)
.about("taken down as the ampacity is")
.when("with `peak_rating` and what `ampacity_here` needs");

pub(super) static AMPACITY: RequirementRow = RequirementRow::safety("ampacity_here", "ampacity_here")
    .at_least("current")
    .source("the current of this cable");
pub(super) static TEMPERATURE: RequirementRow =
    RequirementRow::safety("conductor_temperature", "conductor_temperature")
        .at_most("insulation_limit")
        .source("the cable's insulation")
        .only_with(&["insulation_limit"]);
pub(super) static PEAK: RequirementRow = RequirementRow::safety("peak_current", "peak_current")
    .at_most("peak_rating_here")
    .source("the cable's short-time rating")
    .only_with(&["peak_current"]);
/// What a cable carries for good it carries for a while.
pub(super) static PEAK_AS_CONTINUOUS: RequirementRow = RequirementRow::safety("peak_current", "peak_current")
    .at_most("ampacity_here")
    .source("what the cable carries continuously; it states no short-time rating")
    .only_with(&["peak_current"]);
pub(super) static PEAK_LASTS: RequirementRow = RequirementRow::safety("peak_duration", "peak_duration")
    .at_most("peak_time")
    .source("the time that the short-time rating holds for")
    .only_with(&["peak_current", "peak_rating"]);
pub(super) static DROP: RequirementRow = RequirementRow::wish("drop_share", "drop_share")
    .at_most("drop_limit")
    .source("the builder's own")
    .only_with(&["drop_limit"]);
