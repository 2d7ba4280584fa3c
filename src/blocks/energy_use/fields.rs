//! What an energy-use block takes and gives.

use crate::model::{FieldDoc, FieldSort, Range, Takes};
use crate::quantities::sort;

/// What consumption comes out times where nothing is said, and the model's own error.
pub(super) const MODEL_FACTOR: &str = "1 ± 9.1 %";

pub(super) static FIELDS: &[FieldDoc] = &[
    FieldDoc::new(
        "road",
        Takes::BlockName,
        "a road-load block, or any block with `f0`, `f1`, `f2` and `effective_mass`",
    ),
    FieldDoc::new(
        "pack",
        Takes::BlockName,
        "a pack-layout block, or any block with `usable_energy`, `nominal_voltage` and `resistance`",
    ),
    FieldDoc::new(
        "drive_efficiency",
        Takes::Quantity(&sort::RATIO),
        "from battery to wheel, driving; or `efficiency_map`",
    )
    .either()
    .range(Range::Share),
    FieldDoc::new(
        "efficiency_map",
        Takes::Special,
        "instead of `drive_efficiency`: a CSV file of motor speed, torque and efficiency (battery to motor shaft), a full grid, with units in its header: `speed (rpm),torque (N m),efficiency (%)`; below its lowest speed or torque its edge is taken",
    )
    .instead_of("drive_efficiency"),
    FieldDoc::new(
        "chain",
        Takes::BlockName,
        "a ratio-chain block: what its gearing allows; needed with `efficiency_map`",
    )
    .optional(),
    FieldDoc::new(
        "motor",
        Takes::BlockName,
        "a part with `peak_power`, and best a `torque_curve`: what it can follow, and the class of the WLTC",
    )
    .optional(),
    FieldDoc::new("regeneration", Takes::Group, "braking that charges the battery").optional(),
    FieldDoc::new(
        "regeneration.share",
        Takes::Quantity(&sort::RATIO),
        "of the braking energy at the wheels that goes to the drive; the brakes take the rest",
    ).label("share of the braking energy that is recovered")
    .range(Range::Share),
    FieldDoc::new(
        "regeneration.efficiency",
        Takes::Quantity(&sort::RATIO),
        "from wheel to battery, braking",
    ).label("efficiency of regeneration")
    .range(Range::Share),
    FieldDoc::new(
        "regeneration.power_limit",
        Takes::Quantity(&sort::POWER),
        "the most that goes back, at the battery",
    ).label("power limit of regeneration")
    .optional()
    .sort(FieldSort::Setting)
    .range(Range::Positive),
    FieldDoc::new(
        "regeneration.minimum_speed",
        Takes::Quantity(&sort::SPEED),
        "below it the brakes work alone",
    ).label("lowest speed of regeneration")
    .optional()
    .sort(FieldSort::Setting)
    .range(Range::NotNegative),
    FieldDoc::accuracy("regeneration.accuracy"),
    FieldDoc::new(
        "auxiliary_power",
        Takes::Quantity(&sort::POWER),
        "what pumps, lights and electronics draw all the time",
    )
    .range(Range::NotNegative),
    FieldDoc::new(
        "heater_power",
        Takes::Quantity(&sort::POWER),
        "what the heater draws in winter, on top; it enters the winter results only",
    )
    .optional()
    .range(Range::NotNegative),
    FieldDoc::new("cold", Takes::Group, "what winter does").optional(),
    FieldDoc::new(
        "cold.energy_share",
        Takes::Quantity(&sort::RATIO),
        "of the usable energy that a cold pack gives",
    ).label("share of the energy that a cold pack gives")
    .range(Range::Share),
    FieldDoc::new(
        "cold.load_increase",
        Takes::Quantity(&sort::RATIO),
        "of the road load (denser air, stiffer tyres and grease), added to all of `f0`, `f1`, `f2`",
    ).label("increase of the road load in the cold")
    .range(Range::ShareOrNone),
    FieldDoc::new(
        "cold.regeneration_share",
        Takes::Quantity(&sort::SHARE),
        "of what is recovered that a cold pack takes; nothing if left out",
    ).label("share of the recovered energy that a cold pack takes")
    .optional()
    .range(Range::ShareOrNone),
    FieldDoc::new("full", Takes::Group, "what a full pack does, as at the top of a hill that one lives on").optional(),
    FieldDoc::new(
        "full.regeneration_share",
        Takes::Quantity(&sort::SHARE),
        "of what is recovered that a full pack takes: `0` where the inverter does not brake then",
    )
    .label("share of the recovered energy that a full pack takes")
    .range(Range::ShareOrNone),
    FieldDoc::new("climb", Takes::Group, "one hill at a steady speed: what it takes up, and what comes back down").optional(),
    FieldDoc::new("climb.height", Takes::Quantity(&sort::LENGTH), "from its foot to its top")
        .label("height of the climb")
        .sort(FieldSort::Condition)
        .range(Range::Positive),
    FieldDoc::new("climb.speed", Takes::Quantity(&sort::SPEED), "up and down")
        .label("speed of the climb")
        .sort(FieldSort::Condition)
        .range(Range::Positive),
    FieldDoc::new("climb.grade", Takes::Quantity(&sort::RATIO), "rise over level distance, its mean")
        .assumed("6 %")
        .label("grade of the climb")
        .sort(FieldSort::Condition)
        .range(Range::Share),
    FieldDoc::new(
        "model_factor",
        Takes::Quantity(&sort::RATIO),
        "what consumption comes out times; its ± is the model's own error, as a standard uncertainty where none is written",
    )
    .assumed(MODEL_FACTOR)
    .range(Range::Positive),
    FieldDoc::new(
        "life_share",
        Takes::Quantity(&sort::RATIO),
        "of the usable energy that is left at the end of the pack's life",
    )
    .optional()
    .range(Range::Share),
    FieldDoc::new(
        "cycles",
        Takes::List,
        "what is driven: `wltc-1`, `wltc-2`, `wltc-3a`, `wltc-3b`, `nedc`, or cycles of your own, `{name: commute, file: evidence/commute.csv}`",
    )
    .or_names()
    .optional(),
    FieldDoc::new("cycles.name", Takes::Text, "of a published cycle, or of one of your own"),
    FieldDoc::new(
        "cycles.file",
        Takes::Text,
        "a CSV file whose header names units, `time (s),speed (km/h)`, at any step, with `height (m)` where the road climbs, or over `distance (km)` instead of time; or text in two columns (`.txt`) as the schedules of the US EPA, taken as seconds and miles per hour",
    )
    .optional(),
    FieldDoc::new(
        "cycles.points",
        Takes::Special,
        "instead of a file: a list of points `[[0 s, 0 km/h], [12 s, 50 km/h]]`, straight lines between; with a third value, the height of the road, `[12 s, 50 km/h, 310 m]`; a distance may stand for the time",
    )
    .optional(),
    FieldDoc::new("speeds", Takes::Quantities(&sort::SPEED), "steady speeds: `[80 km/h, 110 km/h]`")
        .label("speed")
        .optional()
        .sort(FieldSort::Choice)
        .range(Range::Positive),
];
