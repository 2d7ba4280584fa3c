//! What `fuse` is told.

use crate::model::{FieldDoc, FieldSort, Range, Stage, Takes};
use crate::quantities::sort;

pub(super) const FIELDS: &[FieldDoc] = &[
        FieldDoc::new(
            "fuse",
            Takes::BlockName,
            "a part with `current_rating`, `voltage_rating`, `interrupting_rating` and best `time_current`, `clears_at`, `clearing_i2t`, for those that are not typed here",
        )
        .optional(),
        FieldDoc::new("current_rating", Takes::Quantity(&sort::CURRENT), "on its label")
            .either()
            .range(Range::Positive)
            .sort(FieldSort::Stated)
            .principal(),
        FieldDoc::new("voltage_rating", Takes::Quantity(&sort::VOLTAGE), "its DC rating").usual(12.0, 2_000.0)
            .either()
            .range(Range::Positive).sort(FieldSort::Stated).principal(),
        FieldDoc::new(
            "interrupting_rating",
            Takes::Quantity(&sort::CURRENT),
            "the largest DC current that it clears",
        ).usual(100.0, 200_000.0)
        .either()
            .range(Range::Positive).sort(FieldSort::Stated).principal(),
        FieldDoc::new("load_current", Takes::Quantity(&sort::CURRENT), "that it must carry")
            .range(Range::Positive).sort(FieldSort::Condition),
        FieldDoc::new(
            "protects",
            Takes::List,
            "the cables behind it by name, and what else lies in the circuit as `{item, rating}`: all that a short circuit goes through",
        ).with_items("name the cables behind it, and what else lies in the circuit: `protects: [main_cable, {name: plug, rating: 200 A}]`")
        .or_names(),
        FieldDoc::new("protects.name", Takes::Text, "what it is, where it is no cable of the journal").either(),
        FieldDoc::new("protects.cable", Takes::BlockName, "a cable with an ampacity, or a part with a `current_rating`")
            .either(),
        FieldDoc::new("protects.rating", Takes::Quantity(&sort::CURRENT), "what it carries continuously; beside a `cable` the lower of both counts")
            .either()
            .range(Range::Positive).sort(FieldSort::Stated),
        FieldDoc::new("protects.peak_rating", Takes::Quantity(&sort::CURRENT), "what it bears for `peak_time`; of a `cable` its own")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("protects.peak_time", Takes::Quantity(&sort::TIME), "for how long it bears its `peak_rating`")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new(
            "protects.i2t_rating",
            Takes::Quantity(&sort::CURRENT_SQUARED_TIME),
            "the I²t that it bears in a short circuit, from its sheet; of a `cable` its own",
        )
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Stated)
        .label("I²t that the part bears"),
        FieldDoc::new("pack", Takes::BlockName, "the battery pack that feeds it"),
        FieldDoc::new(
            "ambient_factor",
            Takes::Quantity(&sort::RATIO),
            "what is left of the rated current where the fuse sits",
        )
        .assumed("1")
        .range(Range::Share).sort(FieldSort::Condition).label("share of the rated current where the fuse sits"),
        FieldDoc::new(
            "clears_at",
            Takes::Quantity(&sort::CURRENT),
            "the least current that it clears in the time that its sheet promises; or `time_current` with `clearing_time`",
        ).usual(10.0, 20_000.0)
        .optional()
        .range(Range::Positive).sort(FieldSort::Stated).label("current that clears it in time"),
        FieldDoc::new(
            "pulse_share",
            Takes::Quantity(&sort::RATIO),
            "of the cell's pulse resistance that limits a short circuit, where the cell states no `resistance_1khz`",
        )
        .assumed("0.5")
        .range(Range::Share).label("share of the pulse resistance"),
        FieldDoc::new(
            "old_cold_factor",
            Takes::Quantity(&sort::RATIO),
            "how much more resistance the pack has when old and cold; the pack's own `worst` where it has one",
        )
        .assumed("3")
        .range(Range::AtLeastOne).label("resistance of an old, cold pack against a new one"),
        FieldDoc::new(
            "software_limit",
            Takes::Quantity(&sort::CURRENT),
            "a current limit in software, if any: it is named and never counted as protection",
        )
        .optional()
        .range(Range::Positive).sort(FieldSort::Setting).due(Stage::Build),
        FieldDoc::accuracy("accuracy"),
        FieldDoc::new("contactors", Takes::BlockName, "the contactors in the circuit: a block or part with `breaking`")
            .optional(),
        FieldDoc::new(
            "time_current",
            Takes::Curve(&sort::CURRENT, &sort::TIME),
            "points of its sheet, from the least current up, each with the time that it takes to clear: `[[400 A, 1 000 s], [600 A, 60 s]]`; read on logarithmic axes",
        )
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Stated),
        FieldDoc::new(
            "clearing_i2t",
            Takes::Quantity(&sort::CURRENT_SQUARED_TIME),
            "all that it lets through at the highest short circuit, from its sheet: at full voltage, melting and arc; where `time_current` ends below that current",
        )
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Stated)
        .label("clearing I²t"),
        FieldDoc::new(
            "clearing_time",
            Takes::Quantity(&sort::TIME),
            "within which a short circuit has to be cleared; with `time_current`",
        )
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Choice),
        FieldDoc::new(
            "loop_inductance",
            Takes::Quantity(&sort::INDUCTANCE),
            "of the whole circuit, pack, cables and inverter: it slows a short circuit, and its energy is what the fuse has to take up",
        )
        .optional()
        .range(Range::Positive)
        .label("inductance of the circuit"),
        FieldDoc::new(
            "time_constant_rating",
            Takes::Quantity(&sort::TIME),
            "the L/R up to which its sheet gives its DC ratings",
        )
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Stated)
        .label("time constant that it is rated for"),
        FieldDoc::new(
            "load_profile",
            Takes::Curve(&sort::CURRENT, &sort::TIME),
            "loads above the continuous one, from the least up, each with its duration: `[[200 A, 3 600 s], [350 A, 100 s]]`; with `time_current`",
        )
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Choice),
];
