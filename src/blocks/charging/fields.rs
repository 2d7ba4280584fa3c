//! The fields of a charge.

use crate::blocks::shared::charged_pack;
use crate::model::{FieldDoc, FieldSort, Range, Stage, Takes};
use crate::quantities::sort;

pub(super) const FIELDS: &[FieldDoc] = &[
    FieldDoc::new("supply", Takes::Group, "alternating current from the wall; or `current`").either(),
    FieldDoc::new("supply.phase_voltage", Takes::Quantity(&sort::VOLTAGE), "between a phase and neutral")
        .sort(FieldSort::Condition)
        .label("voltage of a phase")
        .range(Range::Positive),
    FieldDoc::new("supply.phases", Takes::Count, "that the charger uses: 1, 2 or 3")
        .sort(FieldSort::Condition)
        .label("number of phases")
        .range(Range::AtLeastOne),
    FieldDoc::new(
        "supply.duty",
        Takes::Quantity(&sort::SHARE),
        "of the control pilot, which tells the current; or a `current`",
    )
    .sort(FieldSort::Condition)
    .label("duty of the control pilot")
    .either()
    .range(Range::NotNegative),
    FieldDoc::new("supply.current", Takes::Quantity(&sort::CURRENT), "of each phase, instead of `duty`")
        .sort(FieldSort::Setting)
        .label("current that is set")
        .either()
        .range(Range::Positive),
    FieldDoc::new(
        "current",
        Takes::Quantity(&sort::CURRENT),
        "beside a `supply` that of each phase, instead of its `duty`; without one the direct current into the pack",
    )
    .sort(FieldSort::Setting)
    .label("current into the pack")
    .either()
    .range(Range::Positive),
    FieldDoc::new(
        "cable_resistor",
        Takes::Quantity(&sort::INSULATION),
        "between proximity and earth in the cable's plug, which tells what it may carry",
    )
    .sort(FieldSort::Stated)
    .label("resistor in the cable's plug")
    .optional()
    .range(Range::NotNegative),
    FieldDoc::new("breaker", Takes::Quantity(&sort::CURRENT), "that the outlet hangs on")
        .optional()
        .sort(FieldSort::Stated)
        .range(Range::Positive),
    FieldDoc::new(
        "breaker_share",
        Takes::Quantity(&sort::SHARE),
        "how much of its breaker's current a charge may draw for hours, by the local code",
    )
    .optional()
    .sort(FieldSort::Stated)
    .label("share of the breaker that a charge may draw")
    .range(Range::Share),
    FieldDoc::new(
        "charger",
        Takes::BlockName,
        "a part with `efficiency`, and `power_limit` (at its output), `current_limit` (of each phase), or both",
    ),
    charged_pack::PACK,
    FieldDoc::new("from_share", Takes::Quantity(&sort::SHARE), "of the pack's charge at the start")
        .sort(FieldSort::Choice)
        .label("charge at the start")
        .range(Range::NotNegative),
    FieldDoc::new("to_share", Takes::Quantity(&sort::SHARE), "of the pack's charge at the end")
        .sort(FieldSort::Choice)
        .label("charge at the end")
        .range(Range::Share),
    FieldDoc::new(
        "charge_end_voltage",
        Takes::Quantity(&sort::VOLTAGE),
        "that the charger is set to end at; its own `charge_end_voltage` where it has one",
    )
    .optional()
    .sort(FieldSort::Setting)
    .due(Stage::Build)
    .label("voltage that the charger ends at")
    .range(Range::Positive),
    FieldDoc::new(
        "constant_voltage",
        Takes::Group,
        "how the charge ends; the cell then needs its `open_circuit_curve`",
    )
    .optional(),
    FieldDoc::new(
        "constant_voltage.limit",
        Takes::Quantity(&sort::VOLTAGE),
        "of the pack's terminals, that the charger does not pass",
    )
    .sort(FieldSort::Setting)
    .due(Stage::Build)
    .label("limit voltage")
    .range(Range::Positive),
    FieldDoc::new(
        "constant_voltage.cut_off_current",
        Takes::Quantity(&sort::CURRENT),
        "into the pack, under which charging ends",
    )
    .sort(FieldSort::Setting)
    .due(Stage::Build)
    .label("cut-off current")
    .range(Range::Positive),
    FieldDoc::accuracy("constant_voltage.accuracy"),
    FieldDoc::accuracy("accuracy"),
    charged_pack::HOTTEST_CELL,
    FieldDoc::new("cell_temperature", Takes::Quantity(&sort::TEMPERATURE), "the lowest that is charged at")
        .optional()
        .sort(FieldSort::Condition)
        .label("coldest cell")
        .principal(),
    FieldDoc::new("consumption", Takes::Quantity(&sort::CONSUMPTION), "on the road, from the pack")
        .optional()
        .range(Range::Positive),
];
