//! The fields of a traction block.

use crate::model::{FieldDoc, FieldSort, Range, Stage, Takes};
use crate::quantities::sort;

pub(super) const FIELDS: &[FieldDoc] = &[
    FieldDoc::new(
        "road",
        Takes::BlockName,
        "a `road-load` block; its `grade` and `headwind` hold for top speed and sprints",
    ),
    FieldDoc::new("chain", Takes::BlockName, "a `ratio-chain` block; all its gears are driven, and its `use` names those of launch and hill"),
    FieldDoc::new(
        "ledger",
        Takes::BlockName,
        "a `mass-ledger` block, for the load on the driven axle, and for a laden hill; with its `cg_height` the load transfer is worked",
    )
    .optional(),
    FieldDoc::new(
        "motor",
        Takes::BlockName,
        "a part with `torque_curve` (torque over motor speed, from 0), or `peak_torque`, `peak_power` and `max_speed`; and if known `peak_power` beside a curve (which it caps), `max_speed`, `continuous_torque_curve` or `continuous_torque` and `continuous_power`, `peak_time`, `torque_over_time` (of a sheet that shows how it derates: `[[0 s, 160 N m], [60 s, 110 N m]]`), `rotor_inertia`, `stall_torque` and `stall_time` (at standstill), `curve_voltage` (of the battery, for which the ratings hold), `voltage_low` (under which it does not work), `efficiency` (of motor and inverter; 100 % is assumed)",
    ),
    FieldDoc::new(
        "pack",
        Takes::BlockName,
        "a `pack-layout` block; where the motor has a `curve_voltage`, speed and power fall with the pack's sagged voltage, and with its `worst` the hill and the top speed are looked at low and cold",
    )
    .optional(),
    FieldDoc::new("pack_power_limit", Takes::Quantity(&sort::POWER), "the most that the battery is let give")
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Setting)
        .due(Stage::Build),
    FieldDoc::accuracy("accuracy"),
    FieldDoc::new(
        "adhesion",
        Takes::Quantity(&sort::RATIO),
        "the most force that a tyre holds over the weight on it; 0.8 is dry asphalt",
    )
    .assumed("0.8")
    .range(Range::Positive),
    FieldDoc::new("driven", Takes::Text, "which wheels: `front`, `rear` or `both`").label("driven wheels").optional(),
    FieldDoc::new("sprints", Takes::List, "from rest or a speed to a higher one: `[0 km/h to 100 km/h]`")
        .optional()
        .range(Range::NotNegative)
        .sort(FieldSort::Choice),
    FieldDoc::new(
        "change_time",
        Takes::Quantity(&sort::TIME),
        "of a change of gear, in which the vehicle rolls freely; 0.8 s is assumed where the chain has several gears",
    )
    .label("time of a change of gear")
    .optional()
    .range(Range::NotNegative),
    FieldDoc::new(
        "grade_speeds",
        Takes::Quantities(&sort::SPEED),
        "at which the steepest grade is wanted: `[30 km/h, 80 km/h]`",
    )
    .optional()
    .range(Range::NotNegative)
    .sort(FieldSort::Choice),
    FieldDoc::new("hill", Takes::Group, "one hill that has to be climbed").optional(),
    FieldDoc::new("hill.grade", Takes::Quantity(&sort::RATIO), "rise over level distance")
        .label("grade of the hill")
        .sort(FieldSort::Condition),
    FieldDoc::new("hill.speed", Takes::Quantity(&sort::SPEED), "held steady; left out, it is the start on it")
        .assumed("0 km/h")
        .range(Range::NotNegative)
        .label("speed on the hill")
        .sort(FieldSort::Choice),
    FieldDoc::new("hill.laden", Takes::Text, "`yes` for the ledger's laden mass; else the road's mass").label("laden on the hill")
        .optional(),
    FieldDoc::new("hill.time", Takes::Quantity(&sort::TIME), "how long the hill lasts")
        .optional()
        .range(Range::Positive)
        .label("time on the hill")
        .sort(FieldSort::Condition),
];
