//! The fields of a ratio chain.

use crate::model::{FieldDoc, FieldSort, Range, Takes};
use crate::quantities::sort;

pub(super) static FIELDS: &[FieldDoc] = &[
        FieldDoc::new("wanted_speed", Takes::Quantity(&sort::SPEED), "the road speed that is asked for")
            .range(Range::Positive)
            .sort(FieldSort::Choice)
            .principal(),
        FieldDoc::new(
            "tyre",
            Takes::Quantity(&sort::LENGTH),
            "its diameter, or a size code as on the sidewall: `205/65R15 94H`, `LT265/75R16`, `31x10.50R15LT`, `155R13` (80 % aspect is then assumed), `5.50-12` (100 %), `190/65R390`; or `rolling_circumference`, or `rolled`",
        )
        .either()
        .range(Range::Positive)
        .sort(FieldSort::Nominal)
        .principal(),
        FieldDoc::new(
            "rolling_factor",
            Takes::Quantity(&sort::RATIO),
            "rolling circumference over π × diameter; a loaded tyre has about 0.97",
        ).label("rolling factor of the tyre")
        .assumed("1 ± 0.05")
        .range(Range::Positive),
        FieldDoc::new(
            "rolling_circumference",
            Takes::Quantity(&sort::LENGTH),
            "the way of one turn of the laden wheel as it was measured, instead of `tyre`",
        )
        .instead_of("tyre")
        .range(Range::Positive),
        FieldDoc::new("rolled", Takes::Group, "the same from a chalk mark: instead of `tyre`").instead_of("tyre"),
        FieldDoc::new("rolled.turns", Takes::Count, "of the wheel").label("turns of the wheel").range(Range::AtLeastOne),
        FieldDoc::new("rolled.distance", Takes::Quantity(&sort::LENGTH), "that the vehicle rolled in them")
            .label("distance rolled")
            .range(Range::Positive),
        FieldDoc::new("tyre_load_rating", Takes::Quantity(&sort::MASS), "what one tyre bears, where no load index stands behind its size")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("rear_tyres", Takes::Text, "`single`, or `twin`: two side by side at each end of the axle; `single` if left out").label("tyres of the rear axle")
            .optional(),
        FieldDoc::new("tyre_twin_load_rating", Takes::Quantity(&sort::MASS), "what one of two twin tyres bears, where no second load index stands behind the size (`121/119R`)")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("tyre_speed_rating", Takes::Quantity(&sort::SPEED), "how fast it may turn, where no speed symbol stands behind its size")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("ledger", Takes::BlockName, "a mass-ledger, for the load on each tyre").optional(),
        FieldDoc::new("stages", Takes::List, "from the wheel to the motor"),
        FieldDoc::new("stages.name", Takes::Text, "what the stage is called"),
        FieldDoc::new("stages.ratio", Takes::Quantity(&sort::RATIO), "turns on the motor's side for one on the wheel's")
            .either()
            .range(Range::Positive),
        FieldDoc::new(
            "stages.ratios",
            Takes::Group,
            "names with ratios, instead of `ratio`: `{high: 1, low: 2.6}`",
        )
        .optional()
        .range(Range::Positive),
        FieldDoc::new("stages.efficiency", Takes::Quantity(&sort::RATIO), "power out over power in")
            .assumed("1")
            .range(Range::Share),
        FieldDoc::new("stages.torque_limit", Takes::Quantity(&sort::TORQUE), "on its motor's side")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("stages.speed_limit", Takes::Quantity(&sort::ANGULAR_SPEED), "on its motor's side")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new(
            "use",
            Takes::Group,
            "which gear is used for what, by the names of its ratios in the order of the stages: `{wanted_speed: third.high}`",
        )
        .optional(),
        FieldDoc::new("use.wanted_speed", Takes::Text, "the gear that is judged at the wanted speed; left out, it is found")
            .label("gear at the wanted speed")
            .optional(),
        FieldDoc::new("use.launch", Takes::Text, "the gear that a traction block starts in; left out, it is the lowest")
            .label("gear of the launch")
            .optional(),
        FieldDoc::new(
            "use.hill",
            Takes::Text,
            "the gear of a traction block's hill; left out, it is the lowest that turns fast enough",
        )
        .label("gear of the hill")
        .optional(),
        FieldDoc::new("motor_max_speed", Takes::Quantity(&sort::ANGULAR_SPEED), "the motor's limit, or `motor` instead").label("highest speed of the motor")
            .either()
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new(
            "motor",
            Takes::BlockName,
            "a part with `max_speed`, instead of `motor_max_speed`; and for torque limits `peak_torque` or `torque_curve`",
        )
        .instead_of("motor_max_speed"),
        FieldDoc::new("motor_torque", Takes::Quantity(&sort::TORQUE), "the most that the motor gives, for the stages' torque limits; where no `motor` is named").label("torque of the motor")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Stated),
    ];
