//! What the 12 V side gives: currents, the rating that the converter needs, the time that the battery holds.

use crate::model::{Family, Purpose, RequirementRow, Row, Taken};
use crate::quantities::si::{ElectricCurrent, ElectricPotential, Power, Ratio, Time};

pub(super) static CURRENT_RATING: Taken<ElectricCurrent> =
    Taken::new("converter", "current_rating").stands_for("current_rating");
pub(super) static SURGE_RATING: Taken<ElectricCurrent> =
    Taken::new("converter", "surge_rating").stands_for("surge_rating");
pub(super) static EFFICIENCY: Taken<Ratio> = Taken::new("converter", "efficiency").stands_for("efficiency");
pub(super) static FULL_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("pack", "full_voltage").purpose(Purpose::Dc);
pub(super) static NOMINAL_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "nominal_voltage");

static LOADS: Family = Family { name: "loads", label: "Load", case: "LOAD" };

pub(super) static CURRENT_OF: Row<ElectricCurrent> =
    Row::formula("current_LOAD", "current", "A", "loads.LOAD.current").family(&LOADS);
pub(super) static CURRENT_OF_POWER: Row<ElectricCurrent> = CURRENT_OF.by("loads.LOAD.power / bus_voltage");
pub(super) static AVERAGE_OF: Row<ElectricCurrent> =
    Row::formula("average_current_LOAD", "average current", "A", "current_LOAD")
        .about("with its share of the time")
        .family(&LOADS);
pub(super) static AVERAGE_WITH_DUTY: Row<ElectricCurrent> = AVERAGE_OF.by("current_LOAD * loads.LOAD.duty");

pub(super) static PEAK_CURRENT: Row<ElectricCurrent> =
    Row::formula("peak_current", "all loads at once", "A", "sum(EACH)")
        .each(&[("EACH", "current_LOAD")])
        .principal();
pub(super) static AVERAGE_CURRENT: Row<ElectricCurrent> =
    Row::formula("average_current", "average current", "A", "sum(EACH)")
        .each(&[("EACH", "average_current_LOAD")])
        .about("each load with its share of the time");
pub(super) static AVERAGE_POWER: Row<Power> =
    Row::formula("average_power", "average power", "W", "average_current * bus_voltage");
pub(super) static PACK_SIDE_POWER: Row<Power> =
    Row::formula("pack_side_power", "average power from the pack", "W", "average_power / efficiency")
        .when("with `efficiency`");
pub(super) static PACK_SIDE_CURRENT: Row<ElectricCurrent> = Row::formula(
    "pack_side_current",
    "average current from the pack",
    "A",
    "pack_side_power / pack.nominal_voltage",
)
.about("at the pack's nominal voltage")
.when("with `efficiency` and `pack`");
pub(super) static LOAD_SHARE: Row<Ratio> =
    Row::formula("load_share", "load on the converter", "%", "peak_current / current_rating")
        .about("all loads at once, of its rating");
pub(super) static NEEDED_RATING: Row<ElectricCurrent> =
    Row::formula("needed_rating", "rating that the converter needs", "A", "peak_current / loading_limit")
        .about("so that all loads at once load it to its limit")
        .principal();
pub(super) static NEEDED_POWER: Row<Power> =
    Row::formula("needed_power", "the same as a power", "W", "needed_rating * bus_voltage");
pub(super) static RESERVE: Row<ElectricCurrent> =
    Row::formula("reserve", "reserve of the converter", "A", "current_rating - needed_rating")
        .about("its rating less the one that it needs")
        .principal();
pub(super) static ESSENTIAL_CURRENT: Row<ElectricCurrent> =
    Row::formula("essential_current", "all essential loads at once", "A", "sum(EACH)")
        .each(&[("EACH", "current_LOAD")])
        .principal();
pub(super) static NOTHING_ESSENTIAL: Row<ElectricCurrent> = ESSENTIAL_CURRENT.by("0 A");
pub(super) static HOLD_UP_TIME: Row<Time> = Row::formula(
    "hold_up_time",
    "time that the battery feeds the essential loads",
    "h",
    "battery_capacity * battery_usable_share / essential_current",
)
.when("with `battery_capacity`, `battery_usable_share` and an essential load")
.principal();

/// With `surge`: what a load draws for a moment as it starts.
pub(super) static SURGE_OF: Row<ElectricCurrent> = Row::formula(
    "starting_current_LOAD",
    "all loads, with this one as it starts",
    "A",
    "peak_current - current_LOAD + loads.LOAD.surge",
)
.family(&LOADS);
pub(super) static SURGE_CURRENT: Row<ElectricCurrent> =
    Row::formula("surge_current", "most current for a moment", "A", "max(EACH)")
        .each(&[("EACH", "starting_current_LOAD")])
        .about("all loads, with the one that starts hardest just starting")
        .when("with a `surge` of a load");

pub(super) static PEAK_AGAINST_RATING: RequirementRow =
    RequirementRow::safety("peak_current", "peak_current")
        .at_most("current_rating")
        .source("the converter's rating");
pub(super) static LOADING: RequirementRow = RequirementRow::safety("load_share", "load_share")
    .at_most("loading_limit")
    .source("the loading that the converter is kept under");
pub(super) static SURGE: RequirementRow = RequirementRow::safety("surge_current", "surge_current")
    .at_most("surge_rating")
    .source("what converter and battery give for a moment");
pub(super) static HOLD_UP: RequirementRow = RequirementRow::safety("hold_up_time", "hold_up_time")
    .at_least("hold_up")
    .source("the time that the battery must hold")
    .only_with(&["hold_up"]);
