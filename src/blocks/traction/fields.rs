//! What `traction` takes and gives, for its reader and for the reference.

use crate::model::{FieldDoc, Range, ResultDoc, Takes};
use crate::quantities::sort;

pub(super) const FIELDS: &[FieldDoc] = &[
    FieldDoc::new(
        "road",
        Takes::BlockName,
        "a `road-load` block; its `grade` and `headwind` hold for top speed and sprints",
    ),
    FieldDoc::new("chain", Takes::BlockName, "a `ratio-chain` block; its first ratios are used"),
    FieldDoc::new(
        "ledger",
        Takes::BlockName,
        "a `mass-ledger` block, for the load on the driven axle, and for a laden hill; with its `cg_height` the load transfer is worked",
    )
    .optional(),
    FieldDoc::new(
        "motor",
        Takes::BlockName,
        "a part with `torque_curve` (torque over motor speed, from 0), or `peak_torque`, `peak_power` and `max_speed`; and if known `max_speed`, `continuous_torque_curve` or `continuous_torque` and `continuous_power`, `peak_time`, `curve_voltage` (of the battery, for which the ratings hold), `efficiency` (of motor and inverter; 100 % is assumed)",
    ),
    FieldDoc::new(
        "pack",
        Takes::BlockName,
        "a `pack-layout` block; where the motor has a `curve_voltage`, speed and power fall with the pack's sagged voltage",
    )
    .optional(),
    FieldDoc::new("battery_power", Takes::Quantity(&sort::POWER), "the most that the battery is let give")
        .optional()
        .range(Range::Positive),
    FieldDoc::new(
        "adhesion",
        Takes::Quantity(&sort::RATIO),
        "the most force that a tyre holds over the weight on it; 0.8 is dry asphalt",
    )
    .assumed("0.8")
    .range(Range::Positive),
    FieldDoc::new("driven", Takes::Text, "which wheels: `front`, `rear` or `both`").optional(),
    FieldDoc::new("sprints", Takes::List, "from rest or a speed to a higher one: `[0 km/h to 100 km/h]`")
        .optional()
        .range(Range::NotNegative),
    FieldDoc::new("grade_speeds", Takes::List, "at which the steepest grade is wanted: `[30 km/h, 80 km/h]`")
        .optional()
        .range(Range::NotNegative),
    FieldDoc::new("hill", Takes::Group, "one hill that has to be climbed").optional(),
    FieldDoc::new("hill.grade", Takes::Quantity(&sort::RATIO), "rise over level distance"),
    FieldDoc::new("hill.speed", Takes::Quantity(&sort::SPEED), "held steady; left out, it is the start on it")
        .assumed("0 km/h")
        .range(Range::NotNegative),
    FieldDoc::new("hill.laden", Takes::Text, "`yes` for the ledger's laden mass; else the road's mass")
        .optional(),
    FieldDoc::new("hill.time", Takes::Quantity(&sort::TIME), "how long the hill lasts")
        .optional()
        .range(Range::Positive),
];

pub(super) const RESULTS: &[ResultDoc] = &[
    ResultDoc { name: "weight", about: "of the road's mass" },
    ResultDoc {
        name: "adhesion_force",
        about: "the most that the driven tyres hold on the level, with the load transfer that it makes itself",
    },
    ResultDoc { name: "launch_torque", about: "of the motor at standstill" },
    ResultDoc { name: "motor_launch_force", about: "that torque at the wheels" },
    ResultDoc {
        name: "launch_force",
        about: "at the wheels at standstill: the smaller of motor and adhesion",
    },
    ResultDoc { name: "launch_limit", about: "which of the two it is" },
    ResultDoc { name: "drag_at_rest", about: "of the headwind alone" },
    ResultDoc { name: "start_grade", about: "the steepest grade that it starts on" },
    ResultDoc { name: "drag_at_SPEED", about: "what grows with speed: f1 and f2 of the road" },
    ResultDoc {
        name: "drive_force_at_SPEED",
        about: "of the motor at the wheels, without the limit of adhesion",
    },
    ResultDoc {
        name: "grade_at_SPEED",
        about: "the steepest grade on which it holds the speed; below 0 only downhill",
    },
    ResultDoc {
        name: "continuous_force_at_SPEED",
        about: "the same as `drive_force_at_SPEED` within the continuous rating",
    },
    ResultDoc {
        name: "continuous_grade_at_SPEED",
        about: "the same as `grade_at_SPEED` within the continuous rating",
    },
    ResultDoc {
        name: "top_speed",
        about: "reached from rest on the road's grade against its headwind; not only what the gearing allows",
    },
    ResultDoc { name: "continuous_top_speed", about: "the same within the continuous rating" },
    ResultDoc { name: "top_speed_limit", about: "what ends it" },
    ResultDoc { name: "sprint_FROM_TO_UNIT", about: "time at full drive: `sprint_0_100_km_h`" },
    ResultDoc { name: "sprint_distance_FROM_TO_UNIT", about: "the way of that sprint" },
    ResultDoc { name: "peak_battery_power", about: "the most that the drive draws at any motor speed" },
    ResultDoc {
        name: "battery_voltage_at_peak",
        about: "of the pack's terminals then, from its nominal voltage",
    },
    ResultDoc { name: "hill_weight", about: "of the vehicle on the hill" },
    ResultDoc { name: "hill_rolling", about: "its rolling resistance on the level" },
    ResultDoc { name: "hill_adhesion_force", about: "what the driven tyres hold, as for the level" },
    ResultDoc { name: "hill_drag", about: "what grows with speed" },
    ResultDoc { name: "hill_force", about: "at the wheels, to hold the speed on the hill" },
    ResultDoc { name: "hill_motor_torque", about: "that force at the motor" },
    ResultDoc { name: "hill_peak_torque", about: "what the motor gives at that speed" },
    ResultDoc { name: "hill_share", about: "of the peak torque at that speed" },
    ResultDoc { name: "hill_continuous_torque", about: "what the motor bears for long at that speed" },
    ResultDoc {
        name: "hill_time",
        about: "how long the motor bears it: rough; 24 h stands for without end, 0 for a torque that it does not have",
    },
];
