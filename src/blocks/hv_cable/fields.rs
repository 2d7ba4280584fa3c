//! What `hv-cable` is told.

use crate::model::{FieldDoc, FieldSort, Purpose, Range, Takes};
use crate::quantities::sort;

pub(super) const FIELDS: &[FieldDoc] = &[
        FieldDoc::new("current", Takes::Quantity(&sort::CURRENT), "continuous; rms with three phases")
            .range(Range::Positive).sort(FieldSort::Condition).principal(),
        FieldDoc::new("length", Takes::Quantity(&sort::LENGTH), "one way").usual(0.02, 50.0).range(Range::Positive).principal(),
        FieldDoc::new(
            "area",
            Takes::Quantity(&sort::AREA),
            "of one conductor: a size of the table of flexible copper conductors; or `gauge`",
        )
        .either()
        .range(Range::Positive).sort(FieldSort::Stated).label("area of one conductor").principal(),
        FieldDoc::new("gauge", Takes::Text, "AWG, as it is printed: `2/0`, `4`; instead of `area`").instead_of("area"),
        FieldDoc::new(
            "conductor_resistance",
            Takes::Quantity(&sort::RESISTANCE_PER_LENGTH),
            "of one conductor at 20 °C from the cable's sheet, instead of the table's",
        )
        .optional()
        .range(Range::Positive).label("resistance of one conductor for its length"),
        FieldDoc::new(
            "stranding_factor",
            Takes::Quantity(&sort::RATIO),
            "of a gauge: its resistance against a solid conductor of that area; fine strands are a few per cent higher",
        )
        .assumed("1")
        .range(Range::AtLeastOne),
        FieldDoc::new(
            "circuit",
            Takes::Text,
            "`dc`, there and back; or `three-phase`: motor phases, which have no way back. Left out it is `dc`",
        ).purpose(Purpose::Circuit)
        .optional(),
        FieldDoc::new("peak_current", Takes::Quantity(&sort::CURRENT), "for some seconds").usual(10.0, 5_000.0)
            .optional()
            .range(Range::Positive).sort(FieldSort::Condition),
        FieldDoc::new("peak_duration", Takes::Quantity(&sort::TIME), "how long the peak lasts at most")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Condition),
        FieldDoc::new(
            "peak_rating",
            Takes::Quantity(&sort::CURRENT),
            "what it bears for `peak_time`, from its sheet, at `ampacity_temperature`",
        ).usual(10.0, 5_000.0)
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Stated)
        .label("short-time rating"),
        FieldDoc::new("peak_time", Takes::Quantity(&sort::TIME), "for how long it bears its `peak_rating`")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Stated)
            .label("time of the short-time rating"),
        FieldDoc::new(
            "conductor_temperature",
            Takes::Quantity(&sort::TEMPERATURE),
            "of the copper at that current",
        )
        .assumed("70 °C").sort(FieldSort::Condition).label("conductor temperature"),
        FieldDoc::new("ambient_temperature", Takes::Quantity(&sort::TEMPERATURE), "where the cable lies, at its hottest")
            .optional().sort(FieldSort::Condition).label("ambient temperature"),
        FieldDoc::new(
            "ampacity_rating",
            Takes::Quantity(&sort::CURRENT),
            "from the cable's sheet, at `ampacity_temperature`",
        )
        .optional()
        .range(Range::Positive).sort(FieldSort::Stated),
        FieldDoc::new("ampacity_temperature", Takes::Quantity(&sort::TEMPERATURE), "that the ampacity is rated in")
            .assumed("30 °C").sort(FieldSort::Stated).label("ambient temperature of the rating"),
        FieldDoc::new(
            "insulation_limit",
            Takes::Quantity(&sort::TEMPERATURE),
            "the conductor temperature that the ampacity is rated for",
        )
        .optional().sort(FieldSort::Stated).label("temperature limit of the insulation"),
        FieldDoc::new(
            "bundle_factor",
            Takes::Quantity(&sort::RATIO),
            "what is left of the ampacity among other loaded cables",
        )
        .assumed("1")
        .range(Range::Share),
        FieldDoc::new(
            "system_voltage",
            Takes::Quantity(&sort::VOLTAGE),
            "between the conductors; rms with three phases",
        )
        .optional()
        .range(Range::Positive).sort(FieldSort::Condition),
        FieldDoc::new(
            "drop_limit",
            Takes::Quantity(&sort::SHARE),
            "the builder's own, of the system voltage",
        )
        .optional()
        .range(Range::Positive).sort(FieldSort::Choice),
        FieldDoc::new(
            "short_circuit_rating",
            Takes::Quantity(&sort::CURRENT),
            "what its conductor bears in a short circuit for `short_circuit_time`, from its sheet",
        ).usual(100.0, 200_000.0)
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Stated)
        .label("short-circuit rating"),
        FieldDoc::new("short_circuit_time", Takes::Quantity(&sort::TIME), "for how long it bears its `short_circuit_rating`")
            .assumed("1 s")
            .range(Range::Positive)
            .sort(FieldSort::Stated)
            .label("time of the short-circuit rating"),
        FieldDoc::new(
            "short_circuit_temperature_limit",
            Takes::Quantity(&sort::TEMPERATURE),
            "what its insulation bears in a short circuit, from its sheet, instead of `short_circuit_rating`: 250 °C of cross-linked polyethylene, 160 °C of PVC",
        )
        .optional()
        .sort(FieldSort::Stated)
        .label("temperature limit in a short circuit"),
        FieldDoc::new(
            "short_circuit_current",
            Takes::Quantity(&sort::CURRENT),
            "a short circuit through it, such as `from main_fuse.short_circuit_current`",
        )
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Condition),
];
