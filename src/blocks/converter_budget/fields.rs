//! The fields of a converter's budget.

use crate::model::{FieldDoc, FieldSort, Range, Takes};
use crate::quantities::sort;

pub(super) const FIELDS: &[FieldDoc] = &[
    FieldDoc::new("bus_voltage", Takes::Quantity(&sort::VOLTAGE), "with the converter running: `13.8 V`")
        .sort(FieldSort::Setting)
        .label("bus voltage")
        .range(Range::Positive),
    FieldDoc::accuracy("accuracy"),
    FieldDoc::new(
        "converter",
        Takes::BlockName,
        "a part with `current_rating`, and if known `surge_rating` and `efficiency`, for those that are not typed here",
    )
    .optional(),
    FieldDoc::new("current_rating", Takes::Quantity(&sort::CURRENT), "of the converter, continuous")
        .either()
        .sort(FieldSort::Stated)
        .principal()
        .range(Range::Positive),
    FieldDoc::new(
        "surge_rating",
        Takes::Quantity(&sort::CURRENT),
        "that converter and battery together give for a moment; needed where a load has a `surge`",
    )
    .optional()
    .sort(FieldSort::Stated)
    .range(Range::Positive),
    FieldDoc::new("loads", Takes::List, "all that the bus feeds")
        .with_items("type what the bus feeds: `loads: [{name: lamps, current: 12 A}]`"),
    FieldDoc::new("loads.name", Takes::Text, "what it is"),
    FieldDoc::new("loads.current", Takes::Quantity(&sort::CURRENT), "at the bus voltage, or `power`")
        .either()
        .range(Range::Positive),
    FieldDoc::new("loads.power", Takes::Quantity(&sort::POWER), "at the bus voltage, or `current`")
        .instead_of("current")
        .range(Range::Positive),
    FieldDoc::new(
        "loads.surge",
        Takes::Quantity(&sort::CURRENT),
        "that it draws for a moment as it starts, at the bus voltage",
    )
    .optional()
    .range(Range::Positive),
    FieldDoc::new("loads.duty", Takes::Quantity(&sort::SHARE), "the share of the time that it is on")
        .label("share of the time that it is on")
        .optional()
        .range(Range::Share),
    FieldDoc::new(
        "loads.essential",
        Takes::Text,
        "`yes` where it has to go on after the converter has failed",
    )
    .optional(),
    FieldDoc::new(
        "loading_limit",
        Takes::Quantity(&sort::SHARE),
        "to what share of its rating the converter may be loaded",
    )
    .sort(FieldSort::Choice)
    .assumed("80 %")
    .range(Range::Share),
    FieldDoc::new("efficiency", Takes::Quantity(&sort::SHARE), "of the converter")
        .optional()
        .range(Range::Share),
    FieldDoc::new("pack", Takes::BlockName, "the pack that feeds the converter").optional(),
    FieldDoc::new("battery_capacity", Takes::Quantity(&sort::CHARGE), "of the 12 V battery")
        .label("capacity of the 12 V battery")
        .optional()
        .range(Range::Positive),
    FieldDoc::new(
        "battery_usable_share",
        Takes::Quantity(&sort::SHARE),
        "how much of the capacity may be counted on: of an old or cold battery a small part",
    )
    .label("share of the battery that may be counted on")
    .optional()
    .range(Range::Share),
    FieldDoc::new("hold_up", Takes::Quantity(&sort::TIME), "that the battery must feed the essential loads")
        .optional()
        .sort(FieldSort::Choice)
        .label("time that the battery must hold")
        .range(Range::Positive),
];
