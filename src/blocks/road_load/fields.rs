//! What `road-load` takes and gives, for its reader and for the reference.

use crate::model::{FieldDoc, Range, ResultDoc, Takes};
use crate::quantities::sort;

pub(super) const FIELDS: &[FieldDoc] = &[
        FieldDoc::new("mass", Takes::Quantity(&sort::MASS), "of the vehicle as it drives, people and load in it")
            .range(Range::Positive),
        FieldDoc::new("drag_coefficient", Takes::Quantity(&sort::RATIO), "of the body; or `coefficients`")
            .either()
            .range(Range::NotNegative),
        FieldDoc::new("frontal_area", Takes::Quantity(&sort::AREA), "seen from ahead; or `coefficients`")
            .either()
            .range(Range::NotNegative),
        FieldDoc::new(
            "rolling_coefficient",
            Takes::Quantity(&sort::RATIO),
            "rolling resistance over the weight on the wheels; or `coefficients`",
        )
        .either()
        .range(Range::NotNegative),
        FieldDoc::new(
            "coefficients",
            Takes::Special,
            "instead of the three: the mapping `{f0, f1, f2}` of the level road in still air, or the name of a block that has them",
        )
        .either(),
        FieldDoc::new("coefficients.f0", Takes::Quantity(&sort::FORCE), "that does not change with speed")
            .range(Range::NotNegative),
        FieldDoc::new(
            "coefficients.f1",
            Takes::Quantity(&sort::FORCE_PER_SPEED),
            "that grows with speed; a fit may give it below 0",
        )
        .assumed("0 N/(km/h)"),
        FieldDoc::new(
            "coefficients.f2",
            Takes::Quantity(&sort::FORCE_PER_SPEED_SQUARED),
            "that grows with the square of the speed against the air",
        )
        .range(Range::NotNegative),
        FieldDoc::new(
            "rotating_share",
            Takes::Quantity(&sort::RATIO),
            "what turning wheels, shafts and rotor add to the mass that is sped up",
        )
        .assumed("4 %")
        .range(Range::NotNegative),
        FieldDoc::new("air_density", Takes::Quantity(&sort::DENSITY), "instead of `altitude` and `temperature`")
            .optional()
            .range(Range::Positive),
        FieldDoc::new("altitude", Takes::Quantity(&sort::LENGTH), "above the sea, for the pressure of the air")
            .assumed("0 m"),
        FieldDoc::new(
            "temperature",
            Takes::Quantity(&sort::TEMPERATURE),
            "of the air; left out beside an `altitude` it is the standard one there",
        )
        .assumed("15 °C")
        .range(Range::Positive),
        FieldDoc::new("headwind", Takes::Quantity(&sort::SPEED), "against the vehicle; negative from behind")
            .assumed("0 km/h"),
        FieldDoc::new(
            "grade",
            Takes::Quantity(&sort::RATIO),
            "rise over level distance, the tangent of the slope; negative downhill; of an angle: `from tan(8 deg)`",
        )
        .assumed("0 %"),
        FieldDoc::new("speeds", Takes::List, "at which force and power are wanted: `[50 km/h, 90 km/h]`")
            .optional()
            .range(Range::NotNegative),
];

pub(super) const RESULTS: &[ResultDoc] = &[
    ResultDoc { name: "geopotential_altitude", about: "for the standard atmosphere" },
    ResultDoc { name: "air_pressure", about: "of the standard atmosphere at that altitude" },
    ResultDoc { name: "air_temperature", about: "of the standard atmosphere, where none is given" },
    ResultDoc { name: "air_density", about: "of dry air" },
    ResultDoc { name: "slope", about: "the angle of the grade" },
    ResultDoc { name: "f0", about: "resistance that does not change with speed, on the level" },
    ResultDoc { name: "f1", about: "resistance that grows with speed" },
    ResultDoc { name: "f2", about: "resistance that grows with the square of the speed against the air" },
    ResultDoc { name: "effective_mass", about: "mass, and what turning parts add to it" },
    ResultDoc {
        name: "force_at_SPEED",
        about: "at the wheels, held steady on the `grade` against the `headwind`; the speed as it is written: `force_at_90_km_h`",
    },
    ResultDoc { name: "power_at_SPEED", about: "that force × the speed over ground" },
];
