//! What `fuse` takes from other blocks, gives and requires, a row each.

use crate::model::{Family, Purpose, RequirementRow, ResultRow, Row, Taken, TakenRow};
use crate::quantities::si::{
    CurrentSquaredTime, ElectricCurrent, ElectricPotential, ElectricalResistance, Ratio, Time,
};
use crate::quantities::{Curve, sort};

pub(super) const TAKES: &[&TakenRow] = &[
    &OWN_RATING.row,
    &OWN_VOLTAGE.row,
    &OWN_INTERRUPTING.row,
    &OWN_CLEARS_AT.row,
    &OWN_CURVE.row,
    &OWN_I2T.row,
    &FULL_VOLTAGE.row,
    &EMPTY_VOLTAGE.row,
    &SERIES.row,
    &PARALLEL.row,
    &PACK_RESISTANCE.row,
    &STRING_RESISTANCE.row,
    &PACK_FACTOR.row,
    &PACK_CURRENT.row,
    &CELL_RESISTANCE.row,
    &CELL_AT_1KHZ.row,
    &CABLE_AMPACITY.row,
    &CABLE_RESISTANCE.row,
    &PART_RATING.row,
    &CABLE_PEAK_RATING.row,
    &PEAK_RATING.row,
    &PEAK_TIME.row,
    &BREAKING.row,
    &CONTINUOUS.row,
    &CABLE_I2T.row,
];

pub(super) const RESULTS: &[&ResultRow] = &[
    &SHORT_AT_1KHZ.row,
    &SHORT_BY_SHARE.row,
    &TIME_CONSTANT.row,
    &RESISTANCE_FACTOR.row,
    &PACK_RESISTANCE_FACTOR.row,
    &LOOP_RESISTANCE.row,
    &LOOP_WITH_CABLES.row,
    &LOWEST_SHORT.row,
    &CARRIED.row,
    &CARRIED_OF_PACK.row,
    &LOAD_SHARE.row,
    &RATING_NEEDED.row,
    &WEAKEST_PART.row,
    &WEAKEST_RATING.row,
    &CLEARS_AT.row,
    &TIME_TO_CLEAR.row,
    &CLEARING_TIME.row,
    &I2T_AT_LOWEST.row,
    &I2T_AT_HIGHEST.row,
    &I2T_OF_CURVE.row,
    &I2T_OF_SHEET.row,
    &PROFILE_SHARE.row,
];

pub(super) const REQUIREMENTS: &[&RequirementRow] = &[
    &VOLTAGE_RATING,
    &INTERRUPTING_RATING,
    &TIME_CONSTANT_RATING,
    &WEAKEST_AGAINST_RATING,
    &LOAD_AGAINST_RATING,
    &LOAD_AGAINST_WEAKEST,
    &BLOWS,
    &CLEARS,
    &IN_TIME,
    &CONTACTORS_BREAK,
    &SOFTWARE,
    &BORNE,
    &HEAT_BORNE,
    &PROFILE,
];

pub(super) static OWN_RATING: Taken<ElectricCurrent> =
    Taken::new("fuse", "current_rating").stands_for("current_rating");
pub(super) static OWN_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("fuse", "voltage_rating").stands_for("voltage_rating");
pub(super) static OWN_INTERRUPTING: Taken<ElectricCurrent> =
    Taken::new("fuse", "interrupting_rating").stands_for("interrupting_rating");
pub(super) static OWN_CLEARS_AT: Taken<ElectricCurrent> =
    Taken::new("fuse", "clears_at").stands_for("clears_at");
pub(super) static OWN_CURVE: Taken<Curve> =
    Taken::curve("fuse", "time_current", (&sort::CURRENT, &sort::TIME)).stands_for("time_current");
pub(super) static OWN_I2T: Taken<CurrentSquaredTime> =
    Taken::new("fuse", "clearing_i2t").stands_for("clearing_i2t");
pub(super) static FULL_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("pack", "full_voltage").purpose(Purpose::Dc);
pub(super) static EMPTY_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "empty_voltage");
pub(super) static SERIES: Taken<f64> = Taken::new("pack", "series");
pub(super) static PARALLEL: Taken<f64> = Taken::new("pack", "parallel");
pub(super) static PACK_RESISTANCE: Taken<ElectricalResistance> = Taken::new("pack", "resistance");
pub(super) static STRING_RESISTANCE: Taken<ElectricalResistance> =
    Taken::new("pack", "string_resistance").about("which does not grow as the cells' does");
pub(super) static PACK_FACTOR: Taken<Ratio> = Taken::new("pack", "worst.resistance_factor");
pub(super) static PACK_CURRENT: Taken<ElectricCurrent> =
    Taken::new("pack", "continuous_current").about("that the fuse carries where it is more than the load");
pub(super) static CELL_RESISTANCE: Taken<ElectricalResistance> = Taken::new("cell", "resistance");
pub(super) static CELL_AT_1KHZ: Taken<ElectricalResistance> = Taken::new("cell", "resistance_1khz");
pub(super) static CABLE_AMPACITY: Taken<ElectricCurrent> = Taken::new("cable", "ampacity_here");
pub(super) static CABLE_RESISTANCE: Taken<ElectricalResistance> = Taken::new("cable", "resistance");
pub(super) static PART_RATING: Taken<ElectricCurrent> = Taken::new("cable", "current_rating");
pub(super) static CABLE_PEAK_RATING: Taken<ElectricCurrent> =
    Taken::new("cable", "peak_rating_here").stands_for("peak_rating");
pub(super) static PEAK_RATING: Taken<ElectricCurrent> =
    Taken::new("cable", "peak_rating").stands_for("peak_rating");
pub(super) static PEAK_TIME: Taken<Time> = Taken::new("cable", "peak_time").stands_for("peak_time");
pub(super) static BREAKING: Taken<ElectricCurrent> = Taken::new("contactors", "breaking");
pub(super) static CONTINUOUS: Taken<ElectricCurrent> =
    Taken::new("contactors", "continuous").about("they are protected too, listed or not");

/// Beyond 5 s a conductor sheds heat, and bears more than this.
pub(super) static CABLE_I2T: Taken<CurrentSquaredTime> =
    Taken::new("cable", "i2t_rating").stands_for("i2t_rating");

static PARTS: Family = Family { name: "protects", label: "Part", case: "ITEM" };

pub(super) static SHORT_AT_1KHZ: Row<ElectricCurrent> = Row::formula(
    "short_circuit_current",
    "short-circuit current",
    "A",
    "pack.full_voltage / (cell.resistance_1khz * pack.series / pack.parallel)",
)
.about("of a full pack, shorted at its terminals")
.principal();
pub(super) static SHORT_BY_SHARE: Row<ElectricCurrent> =
    SHORT_AT_1KHZ.by("pack.full_voltage / (pulse_share * cell.resistance * pack.series / pack.parallel)");
pub(super) static TIME_CONSTANT: Row<Time> = Row::formula(
    "time_constant",
    "time constant of the short circuit",
    "ms",
    "loop_inductance * short_circuit_current / pack.full_voltage",
)
.about("L/R with the least resistance, where it is longest")
.when("with `loop_inductance`");
pub(super) static RESISTANCE_FACTOR: Row<Ratio> =
    Row::formula("resistance_factor", "resistance of the cells at their weakest", "1", "old_cold_factor")
        .about("against the datasheet's; the harsher of `old_cold_factor` and the pack's own `worst`");
pub(super) static PACK_RESISTANCE_FACTOR: Row<Ratio> =
    RESISTANCE_FACTOR.by("max(old_cold_factor, pack.worst.resistance_factor)");
pub(super) static LOOP_RESISTANCE: Row<ElectricalResistance> = Row::formula(
    "loop_resistance",
    "resistance of the weakest short circuit",
    "mΩ",
    "resistance_factor * (pack.resistance - pack.string_resistance) + pack.string_resistance",
)
.about("of the pack when old and cold, and of the cables that the journal knows");
pub(super) static LOOP_WITH_CABLES: Row<ElectricalResistance> = LOOP_RESISTANCE
    .by("resistance_factor * (pack.resistance - pack.string_resistance) + pack.string_resistance + CABLES")
    .each(&[("CABLES", "cable.resistance + cable.resistance")]);
pub(super) static LOWEST_SHORT: Row<ElectricCurrent> = Row::formula(
    "lowest_short_circuit_current",
    "lowest short-circuit current",
    "A",
    "pack.empty_voltage / loop_resistance",
)
.about("of an old, cold, empty pack, at the far end of its cables")
.principal();
pub(super) static CARRIED: Row<ElectricCurrent> =
    Row::formula("carried_current", "current that the fuse carries", "A", "load_current")
        .about("the load, or what the pack gives continuously where that is more");
pub(super) static CARRIED_OF_PACK: Row<ElectricCurrent> =
    CARRIED.by("max(load_current, pack.continuous_current)");
pub(super) static LOAD_SHARE: Row<Ratio> = Row::formula(
    "load_share",
    "load on the fuse",
    "%",
    "carried_current / (current_rating * ambient_factor)",
)
.about("of what it carries where it sits")
.principal();
pub(super) static RATING_NEEDED: Row<ElectricCurrent> = Row::formula(
    "rating_needed",
    "least rating that carries the load",
    "A",
    "carried_current / ambient_factor",
);
pub(super) static WEAKEST_PART: Row<String> =
    Row::words("weakest_part", "weakest part that it protects").principal();
pub(super) static WEAKEST_RATING: Row<ElectricCurrent> =
    Row::formula("weakest_rating", "what the weakest part carries", "A", "min(EACH)")
        .each(&[("EACH", "protects.ITEM.rating, cable.ampacity_here, contactors.continuous")]);
pub(super) static CLEARS_AT: Row<ElectricCurrent> = Row::procedure(
    "clears_at",
    "current that clears it in time",
    "A",
    "the curve of its sheet at the clearing time, between its points on logarithmic axes",
)
.when("with `time_current` and `clearing_time`, where it is not given");
pub(super) static TIME_TO_CLEAR: Row<Time> = Row::procedure(
    "time_to_clear",
    "time that the current which is said to clear it takes",
    "s",
    "the curve of its sheet at `clears_at`, between its points on logarithmic axes",
)
.when("with `time_current`, where `clears_at` is given");
pub(super) static CLEARING_TIME: Row<Time> = Row::procedure(
    "clearing_time_ITEM",
    "time in which the fuse clears the part's short-time rating",
    "s",
    "the curve of its sheet at that current, between its points on logarithmic axes",
)
.when("with `time_current`")
.family(&PARTS);
pub(super) static I2T_AT_LOWEST: Row<CurrentSquaredTime> = Row::procedure(
    "i2t_at_lowest",
    "I²t that the fuse lets through at the lowest short circuit",
    "A²·s",
    "the square of that current, times the time that the curve of its sheet takes for it",
)
.when("with `time_current`");
pub(super) static I2T_AT_HIGHEST: Row<CurrentSquaredTime> = Row::procedure(
    "i2t_at_highest",
    "I²t that the fuse lets through at the highest short circuit",
    "A²·s",
    "the square of that current, times the time that the curve of its sheet takes for it",
)
.when("with `time_current`, without `clearing_i2t`");
pub(super) static I2T_OF_CURVE: Row<CurrentSquaredTime> =
    Row::formula("i2t", "I²t that the fuse lets through", "A²·s", "max(i2t_at_lowest, i2t_at_highest)")
        .about("at the worse end of the short circuits")
        .when("with `time_current`");
pub(super) static I2T_OF_SHEET: Row<CurrentSquaredTime> = I2T_OF_CURVE.by("max(i2t_at_lowest, clearing_i2t)");
pub(super) static PROFILE_SHARE: Row<Ratio> = Row::procedure(
    "profile_share",
    "hardest load against the fuse's curve",
    "%",
    "the largest of load over the current that clears the fuse in the load's duration",
)
.when("with `load_profile` and `time_current`");

static VOLTAGE_RATING: RequirementRow = RequirementRow::safety("voltage_rating", "voltage_rating")
    .at_least("pack.full_voltage")
    .source("the pack's full voltage");
static INTERRUPTING_RATING: RequirementRow =
    RequirementRow::safety("interrupting_rating", "interrupting_rating")
        .at_least("short_circuit_current")
        .source("the pack's short circuit");
/// A direct current is broken the harder the slower its circuit is.
static TIME_CONSTANT_RATING: RequirementRow = RequirementRow::safety("time_constant", "time_constant")
    .at_most("time_constant_rating")
    .source("the time constant up to which the sheet gives the fuse's ratings")
    .only_with(&["time_constant_rating"]);
static WEAKEST_AGAINST_RATING: RequirementRow = RequirementRow::safety("weakest_rating", "weakest_rating")
    .at_least("current_rating")
    .source("the fuse's rating");
static LOAD_AGAINST_RATING: RequirementRow = RequirementRow::safety("load_current", "carried_current")
    .at_most("current_rating * ambient_factor")
    .source("what the fuse carries where it sits");
static LOAD_AGAINST_WEAKEST: RequirementRow =
    RequirementRow::safety("load_on_weakest_part", "carried_current")
        .label("load on the weakest part")
        .at_most("weakest_rating")
        .source("the weakest part's rating");
pub(super) static BLOWS: RequirementRow =
    RequirementRow::safety("lowest_short_circuit_current", "lowest_short_circuit_current")
        .at_least("current_rating")
        .strictly()
        .source("the fuse's rating: at or under it no short circuit blows it");
pub(super) static CLEARS: RequirementRow = RequirementRow::safety("clears_at", "clears_at")
    .at_most("lowest_short_circuit_current")
    .source("the short circuit of an old, cold, empty pack");
/// What is typed is held against the curve beside it.
pub(super) static IN_TIME: RequirementRow = RequirementRow::safety("time_to_clear", "time_to_clear")
    .at_most("clearing_time")
    .source("the time within which a short circuit has to be cleared")
    .only_with(&["clears_at"]);
static CONTACTORS_BREAK: RequirementRow = RequirementRow::safety("contactors_break", "contactors.breaking")
    .label("what the contactors break")
    .at_least("clears_at")
    .source("the current that clears the fuse in time: below it the contactors have to open");
static SOFTWARE: RequirementRow = RequirementRow::safety("software_limit", "software_limit")
    .label("software limit against the contactors")
    .at_most("contactors.breaking")
    .source("the current that the contactors break, which they are told to open at")
    .only_with(&["software_limit"]);
pub(super) static BORNE: RequirementRow = RequirementRow::safety("clearing_time_ITEM", "clearing_time_ITEM")
    .label("clearing time at the part's short-time rating")
    .at_most("protects.ITEM.peak_time")
    .source("the time for which the part bears it")
    .family(&PARTS);
/// A conductor that has no time to shed heat.
pub(super) static HEAT_BORNE: RequirementRow = RequirementRow::safety("i2t_ITEM", "i2t")
    .label("heat of a short circuit in the conductor, I²t")
    .at_most("protects.ITEM.i2t_rating")
    .source("what the conductor bears without giving heat away")
    .family(&PARTS)
    .only_with(&["protects.ITEM.i2t_rating"]);
static PROFILE: RequirementRow = RequirementRow::safety("profile_share", "profile_share")
    .at_most("fuse_profile_share")
    .only_with(&["load_profile"]);
