//! The results and requirements of a mass ledger.

use crate::model::{Load, Over, Purpose, RequirementRow, ResultRow, Row, Stage};
use crate::quantities::si::{Length, Mass, MassMoment, Ratio};

pub(super) const DRIVER: &str = "driver";
pub(super) const FUEL: &str = "fuel aboard";
pub(super) const UNLISTED: &str = "unlisted";

/// For tests: terms of a sum over a list.
const MASSES: &[(&str, &str)] = &[("MASSES", "installed.count * installed.mass + installed.mass")];
const MOMENTS: &[(&str, &str)] =
    &[("MOMENTS", "installed.mass * installed.x - installed.mass * installed.z")];

pub(super) static ROWS: &[&ResultRow] = &[
    &CONVERTED_MASS.row,
    &CONVERTED_WITHOUT.row,
    &LADEN_MASS.row,
    &LADEN_WITH_LOAD.row,
    &REMOVED_TOTAL.row,
    &INSTALLED_TOTAL.row,
    &NET_CHANGE.row,
    &ABOARD_TOTAL.row,
    &MASS_ROOM.row,
    &LOAD_TOTAL.row,
    &GROSS_ROOM.row,
    &ALLOWANCE.row,
    &DONOR_FRONT.row,
    &DONOR_REAR.row,
    &INSTALLED_MOMENT.row,
    &REMOVED_MOMENT.row,
    &ABOARD_MOMENT.row,
    &MOMENT_CHANGE.row,
    &MOMENT_WITHOUT.row,
    &FRONT_AXLE.row,
    &FRONT_WITHOUT.row,
    &REAR_AXLE.row,
    &FRONT_SHARE.row,
    &CG_X.row,
    &DONOR_CG_X.row,
    &LOAD_MOMENT.row,
    &LADEN_FRONT.row,
    &LADEN_FRONT_WITH_LOAD.row,
    &LADEN_REAR.row,
    &LADEN_REAR_WITH_LOAD.row,
    &LADEN_FRONT_SHARE.row,
    &LADEN_SHARE_BY_BOTH.row,
    &LADEN_SHARE_BY_TICKET.row,
    &FRONT_ROOM.row,
    &REAR_ROOM.row,
    &INSTALLED_HEIGHT.row,
    &REMOVED_HEIGHT.row,
    &ABOARD_HEIGHT.row,
    &CG_HEIGHT.row,
    &CG_HEIGHT_WITHOUT.row,
    &LOAD_HEIGHT.row,
    &LADEN_CG_HEIGHT.row,
    &WEIGHED_DIFFERENCE.row,
    &WEIGHED_DIFFERENCE_LADEN.row,
    &NORMALISED_ERROR.row,
    &TICKET_CONVERTED.row,
    &TICKET_CONVERTED_LADEN.row,
    &TICKET_LADEN.row,
    &TICKET_LADEN_WITH_LOAD.row,
    &TICKET_FRONT.row,
    &TICKET_FRONT_WITH_LOAD.row,
    &TICKET_REAR.row,
    &TICKET_REAR_WITH_LOAD.row,
    &HEAVIER_CONVERTED.row,
    &HEAVIER_LADEN.row,
    &HEAVIER_FRONT.row,
    &TICKET_FRONT_ALONE.row,
    &HEAVIER_REAR.row,
    &TICKET_REAR_ALONE.row,
];

pub(super) static REQUIRES: &[&RequirementRow] = &[
    &CONVERTED_BOUND,
    &CONVERTED_BY_HEAVIER,
    &GROSS_LIMIT,
    &GROSS_BY_HEAVIER,
    &FRONT_LIMIT,
    &FRONT_BY_HEAVIER,
    &REAR_LIMIT,
    &REAR_BY_HEAVIER,
    &LEAST_FRONT_SHARE,
];

pub(super) static REMOVED_TOTAL: Row<Mass> =
    Row::formula("removed_total", "mass that comes out", "kg", "MASSES")
        .each(MASSES)
        .about("the masses of its items, each times its count")
        .principal();
pub(super) static INSTALLED_TOTAL: Row<Mass> =
    Row::formula("installed_total", "mass that goes in", "kg", "MASSES")
        .each(MASSES)
        .about("the masses of its items, each times its count")
        .principal();
pub(super) static NET_CHANGE: Row<Mass> =
    Row::formula("net_change", "net change of mass", "kg", "installed_total - removed_total")
        .about("installed − removed");
pub(super) static ABOARD_TOTAL: Row<Mass> =
    Row::formula("aboard_total", "mass aboard at the weighing", "kg", "MASSES")
        .each(MASSES)
        .about("driver and fuel, taken off")
        .when("with `donor.driver_aboard` or `donor.fuel_aboard`");
pub(super) static CONVERTED_MASS: Row<Mass> =
    Row::formula("converted_mass", "converted mass", "kg", "donor.mass + net_change")
        .about("without driver and fuel")
        .principal()
        .purpose(Purpose::Mass(Load::After, Over::Vehicle));
pub(super) static CONVERTED_WITHOUT: Row<Mass> = CONVERTED_MASS
    .by("donor.mass + net_change - aboard_total")
    .when("with `donor.driver_aboard` or `donor.fuel_aboard`");
pub(super) static MASS_ROOM: Row<Mass> =
    Row::formula("mass_room", "room to the bound of mass", "kg", "not_above - converted_mass")
        .when("with `not_above`");
pub(super) static LOAD_TOTAL: Row<Mass> = Row::formula("load_total", "load", "kg", "MASSES")
    .each(MASSES)
    .about("people and cargo")
    .when("with `load`");
pub(super) static LADEN_MASS: Row<Mass> = Row::formula("laden_mass", "laden mass", "kg", "converted_mass")
    .about("with the load; without one, the converted mass")
    .principal()
    .purpose(Purpose::Mass(Load::Laden, Over::Vehicle));
pub(super) static LADEN_WITH_LOAD: Row<Mass> =
    LADEN_MASS.by("converted_mass + load_total").when("with `load`");
pub(super) static GROSS_ROOM: Row<Mass> =
    Row::formula("gross_room", "room to the gross mass", "kg", "limits.gross - laden_mass")
        .when("with `limits.gross`");

pub(super) static DONOR_FRONT: Row<Mass> =
    Row::formula("donor_front_axle", "front axle of the donor", "kg", "donor.mass - donor.rear_axle")
        .when("with only `donor.rear_axle` weighed");
pub(super) static DONOR_REAR: Row<Mass> =
    Row::formula("donor_rear_axle", "rear axle of the donor", "kg", "donor.mass - donor.front_axle")
        .when("with only `donor.front_axle` weighed");
pub(super) static INSTALLED_MOMENT: Row<MassMoment> =
    Row::formula("installed_moment", "moment of what goes in", "kg m", "MOMENTS")
        .each(MOMENTS)
        .about("masses times their way behind the front axle");
pub(super) static REMOVED_MOMENT: Row<MassMoment> =
    Row::formula("removed_moment", "moment of what comes out", "kg m", "MOMENTS").each(MOMENTS);
pub(super) static ABOARD_MOMENT: Row<MassMoment> =
    Row::formula("aboard_moment", "moment of what was aboard", "kg m", "MOMENTS")
        .each(MOMENTS)
        .when("with `donor.driver_aboard` or `donor.fuel_aboard`");
pub(super) static MOMENT_CHANGE: Row<MassMoment> =
    Row::formula("moment_change", "change of moment", "kg m", "installed_moment - removed_moment")
        .about("about the front axle");
pub(super) static MOMENT_WITHOUT: Row<MassMoment> = MOMENT_CHANGE
    .by("installed_moment - removed_moment - aboard_moment")
    .when("with `donor.driver_aboard` or `donor.fuel_aboard`");
pub(super) static FRONT_AXLE: Row<Mass> = axle(
    Row::formula("front_axle", "front axle", "kg", "FRONT + net_change - moment_change / wheelbase")
        .each(&[("FRONT", "donor.front_axle")])
        .about("converted, without driver")
        .purpose(Purpose::Mass(Load::After, Over::FrontAxle)),
);
pub(super) static FRONT_WITHOUT: Row<Mass> = FRONT_AXLE
    .by("FRONT + net_change - aboard_total - moment_change / wheelbase")
    .when("with `donor.driver_aboard` or `donor.fuel_aboard`");
pub(super) static REAR_AXLE: Row<Mass> = axle(
    Row::formula("rear_axle", "rear axle", "kg", "REAR + moment_change / wheelbase")
        .each(&[("REAR", "donor.rear_axle")])
        .about("converted, without driver")
        .purpose(Purpose::Mass(Load::After, Over::RearAxle)),
);
pub(super) static FRONT_SHARE: Row<Ratio> =
    Row::formula("front_share", "share on the front axle", "%", "front_axle / (front_axle + rear_axle)")
        .about("of the converted mass")
        .when("with `wheelbase` and a donor axle");
pub(super) static CG_X: Row<Length> = Row::formula(
    "cg_x",
    "centre of gravity behind the front axle",
    "m",
    "rear_axle * wheelbase / (front_axle + rear_axle)",
)
.when("with `wheelbase` and a donor axle");
pub(super) static DONOR_CG_X: Row<Length> = Row::formula(
    "donor_cg_x",
    "centre of gravity of the donor behind the front axle",
    "m",
    "(REAR) * wheelbase / (FRONT + REAR)",
)
.each(&[("FRONT", "donor.front_axle"), ("REAR", "donor.rear_axle")])
.when("with `wheelbase` and a donor axle");
pub(super) static LOAD_MOMENT: Row<MassMoment> =
    Row::formula("load_moment", "moment of the load", "kg m", "MOMENTS").each(MOMENTS).when("with `load`");
pub(super) static LADEN_FRONT: Row<Mass> = axle(
    Row::formula("laden_front_axle", "laden front axle", "kg", "front_axle")
        .about("with the load")
        .purpose(Purpose::Mass(Load::Laden, Over::FrontAxle)),
);
pub(super) static LADEN_FRONT_WITH_LOAD: Row<Mass> =
    LADEN_FRONT.by("front_axle + load_total - load_moment / wheelbase").when("with `load`");
pub(super) static LADEN_REAR: Row<Mass> = axle(
    Row::formula("laden_rear_axle", "laden rear axle", "kg", "rear_axle")
        .about("with the load")
        .purpose(Purpose::Mass(Load::Laden, Over::RearAxle)),
);
pub(super) static LADEN_REAR_WITH_LOAD: Row<Mass> =
    LADEN_REAR.by("rear_axle + load_moment / wheelbase").when("with `load`");
pub(super) static LADEN_FRONT_SHARE: Row<Ratio> = Row::formula(
    "laden_front_share",
    "share on the front axle, laden",
    "%",
    "laden_front_axle / (laden_front_axle + laden_rear_axle)",
)
.about("with the load; the lower of ledger and ticket")
.when("with `wheelbase` and a donor axle, or an axle weighed");
pub(super) static LADEN_SHARE_BY_BOTH: Row<Ratio> = LADEN_FRONT_SHARE
    .by("min(laden_front_axle / (laden_front_axle + laden_rear_axle), weighed_laden_front_axle / (weighed_laden_front_axle + weighed_laden_rear_axle))");
pub(super) static LADEN_SHARE_BY_TICKET: Row<Ratio> =
    LADEN_FRONT_SHARE.by("weighed_laden_front_axle / (weighed_laden_front_axle + weighed_laden_rear_axle)");
pub(super) static FRONT_ROOM: Row<Mass> =
    Row::formula("front_axle_room", "room on the front axle", "kg", "limits.front_axle - laden_front_axle")
        .when("with `limits.front_axle`");
pub(super) static REAR_ROOM: Row<Mass> =
    Row::formula("rear_axle_room", "room on the rear axle", "kg", "limits.rear_axle - laden_rear_axle")
        .when("with `limits.rear_axle`");

pub(super) static INSTALLED_HEIGHT: Row<MassMoment> =
    Row::formula("installed_height_moment", "height moment of what goes in", "kg m", "MOMENTS")
        .each(MOMENTS)
        .about("masses times their height above ground")
        .when("with `donor.cg_height`");
pub(super) static REMOVED_HEIGHT: Row<MassMoment> =
    Row::formula("removed_height_moment", "height moment of what comes out", "kg m", "MOMENTS")
        .each(MOMENTS)
        .when("with `donor.cg_height`");
pub(super) static ABOARD_HEIGHT: Row<MassMoment> =
    Row::formula("aboard_height_moment", "height moment of what was aboard", "kg m", "MOMENTS")
        .each(MOMENTS)
        .when("with `donor.driver_aboard` or `donor.fuel_aboard`");
pub(super) static CG_HEIGHT: Row<Length> = Row::formula(
    "cg_height",
    "height of the centre of gravity",
    "m",
    "(donor.mass * donor.cg_height + installed_height_moment - removed_height_moment) / converted_mass",
)
.about("above ground")
.when("with `donor.cg_height`")
.principal();
pub(super) static CG_HEIGHT_WITHOUT: Row<Length> = CG_HEIGHT
    .by("(donor.mass * donor.cg_height + installed_height_moment - removed_height_moment - aboard_height_moment) / converted_mass")
    .when("with `donor.driver_aboard` or `donor.fuel_aboard`");

pub(super) static LOAD_HEIGHT: Row<MassMoment> =
    Row::formula("load_height_moment", "height moment of the load", "kg m", "MOMENTS")
        .each(MOMENTS)
        .when("with `donor.cg_height` and `load`");
pub(super) static LADEN_CG_HEIGHT: Row<Length> = Row::formula(
    "laden_cg_height",
    "height of the centre of gravity, laden",
    "m",
    "(converted_mass * cg_height + load_height_moment) / laden_mass",
)
.about("above ground, with the load")
.when("with `donor.cg_height` and `load`");

pub(super) static ALLOWANCE: Row<Mass> =
    Row::formula("unlisted_allowance", "allowance for what no item names", "kg", "SHARE * installed_total")
        .each(&[("SHARE", "front_share")])
        .about("held on top of legal verdicts until the finished vehicle is weighed")
        .when("until all that is limited is `weighed`");
pub(super) static WEIGHED_DIFFERENCE: Row<Mass> =
    Row::formula("weighed_difference", "weighed less calculated", "kg", "weighed.mass - converted_mass")
        .about("the ticket against the ledger")
        .when("with `weighed`")
        .principal();
pub(super) static WEIGHED_DIFFERENCE_LADEN: Row<Mass> =
    WEIGHED_DIFFERENCE.by("weighed.mass - laden_mass").when("with `weighed`, laden");
pub(super) static NORMALISED_ERROR: Row<Ratio> = Row::procedure(
    "normalised_error",
    "normalised error",
    "1",
    "the difference over its expanded uncertainty, Δ / √(U₁² + U₂²), each U twice the standard uncertainty",
)
.about("of ledger against ticket; above 1 in size they contradict each other")
.when("with `weighed`")
.normalised()
.principal();
pub(super) static TICKET_CONVERTED: Row<Mass> =
    Row::formula("weighed_converted_mass", "converted mass by the ticket", "kg", "weighed.mass")
        .when("with `weighed`");
pub(super) static TICKET_CONVERTED_LADEN: Row<Mass> =
    TICKET_CONVERTED.by("weighed.mass - load_total").when("with `weighed`, laden");
pub(super) static TICKET_LADEN: Row<Mass> =
    Row::formula("weighed_laden_mass", "laden mass by the ticket", "kg", "weighed.mass")
        .when("with `weighed`");
pub(super) static TICKET_LADEN_WITH_LOAD: Row<Mass> =
    TICKET_LADEN.by("weighed.mass + load_total").when("with `weighed`, not laden, and `load`");
pub(super) static TICKET_FRONT: Row<Mass> =
    Row::formula("weighed_laden_front_axle", "laden front axle by the ticket", "kg", "FRONT")
        .each(&[("FRONT", "weighed.front_axle")])
        .when("with `weighed.front_axle` or the other");
pub(super) static TICKET_FRONT_WITH_LOAD: Row<Mass> = TICKET_FRONT
    .by("FRONT + load_total - load_moment / wheelbase")
    .when("with `weighed.front_axle` or the other, not laden, and `load`");
pub(super) static TICKET_REAR: Row<Mass> =
    Row::formula("weighed_laden_rear_axle", "laden rear axle by the ticket", "kg", "REAR")
        .each(&[("REAR", "weighed.rear_axle")])
        .when("with `weighed.rear_axle` or the other");
pub(super) static TICKET_REAR_WITH_LOAD: Row<Mass> = TICKET_REAR
    .by("REAR + load_moment / wheelbase")
    .when("with `weighed.rear_axle` or the other, not laden, and `load`");
pub(super) static HEAVIER_CONVERTED: Row<Mass> = heavier(
    "heavier_converted_mass",
    "converted mass, the heavier",
    "max(converted_mass, weighed_converted_mass)",
)
.when("with `weighed`");
pub(super) static HEAVIER_LADEN: Row<Mass> =
    heavier("heavier_laden_mass", "laden mass, the heavier", "max(laden_mass, weighed_laden_mass)")
        .when("with `weighed`")
        .purpose(Purpose::Mass(Load::Laden, Over::Vehicle));
pub(super) static HEAVIER_FRONT: Row<Mass> = heavier(
    "heavier_laden_front_axle",
    "laden front axle, the heavier",
    "max(laden_front_axle, weighed_laden_front_axle)",
)
.when("with `weighed.front_axle` or the other")
.purpose(Purpose::Mass(Load::Laden, Over::FrontAxle));
pub(super) static TICKET_FRONT_ALONE: Row<Mass> =
    HEAVIER_FRONT.by("weighed_laden_front_axle").when("with an axle weighed, and none in the ledger");
pub(super) static HEAVIER_REAR: Row<Mass> = heavier(
    "heavier_laden_rear_axle",
    "laden rear axle, the heavier",
    "max(laden_rear_axle, weighed_laden_rear_axle)",
)
.when("with `weighed.rear_axle` or the other")
.purpose(Purpose::Mass(Load::Laden, Over::RearAxle));
pub(super) static TICKET_REAR_ALONE: Row<Mass> =
    HEAVIER_REAR.by("weighed_laden_rear_axle").when("with an axle weighed, and none in the ledger");

const fn axle(row: Row<Mass>) -> Row<Mass> {
    row.when("with `wheelbase` and a donor axle").principal()
}

const fn heavier(name: &'static str, label: &'static str, formula: &'static str) -> Row<Mass> {
    Row::formula(name, label, "kg", formula).about("of ledger and ticket")
}

/// Each by the ledger, and by the heavier of ledger and ticket.
pub(super) static CONVERTED_BOUND: RequirementRow = bound("converted_mass");
pub(super) static CONVERTED_BY_HEAVIER: RequirementRow = bound("heavier_converted_mass")
    .source("the bound that the journal states, for the heavier of ledger and ticket");
pub(super) static GROSS_LIMIT: RequirementRow = gross("laden_mass");
pub(super) static GROSS_BY_HEAVIER: RequirementRow = gross("heavier_laden_mass")
    .source("the vehicle's gross mass, as the journal states it, for the heavier of ledger and ticket");
pub(super) static FRONT_LIMIT: RequirementRow = front("laden_front_axle");
pub(super) static FRONT_BY_HEAVIER: RequirementRow =
    front("heavier_laden_front_axle").source(RATING_FOR_HEAVIER);
pub(super) static REAR_LIMIT: RequirementRow = rear("laden_rear_axle");
pub(super) static REAR_BY_HEAVIER: RequirementRow =
    rear("heavier_laden_rear_axle").source(RATING_FOR_HEAVIER);

/// What the axle carries is what it can steer and brake with.
pub(super) static LEAST_FRONT_SHARE: RequirementRow =
    RequirementRow::wish("laden_front_share", "laden_front_share")
        .at_least("least_front_share")
        .source("the least share that the journal states")
        .only_with(&["least_front_share"])
        .due(Stage::Build);

const fn bound(actual: &'static str) -> RequirementRow {
    RequirementRow::legal("converted_mass", actual)
        .at_most("not_above")
        .source("the bound that the journal states")
        .only_with(&["not_above"])
}

const fn gross(actual: &'static str) -> RequirementRow {
    RequirementRow::legal("laden_mass", actual)
        .at_most("limits.gross")
        .source("the vehicle's gross mass, as the journal states it")
        .only_with(&["limits.gross"])
}

const RATING_FOR_HEAVIER: &str =
    "the axle's rating, as the journal states it, for the heavier of ledger and ticket";
const AXLE_RATING: &str = "the axle's rating, as the journal states it";

const fn front(actual: &'static str) -> RequirementRow {
    RequirementRow::legal("laden_front_axle", actual)
        .at_most("limits.front_axle")
        .source(AXLE_RATING)
        .only_with(&["limits.front_axle"])
        .due(Stage::Build)
}

const fn rear(actual: &'static str) -> RequirementRow {
    RequirementRow::legal("laden_rear_axle", actual)
        .at_most("limits.rear_axle")
        .source(AXLE_RATING)
        .only_with(&["limits.rear_axle"])
        .due(Stage::Build)
}
