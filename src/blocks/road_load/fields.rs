//! What `road-load` takes and gives, for its reader and for the reference.

use crate::model::{FieldDoc, FieldSort, Range, Takes};
use crate::quantities::sort;

pub(super) const FIELDS: &[FieldDoc] = &[
        FieldDoc::new("mass", Takes::Quantity(&sort::MASS), "of the vehicle as it drives, people and load in it").usual(100.0, 10_000.0)
            .range(Range::Positive).principal(),
        FieldDoc::new("drag_coefficient", Takes::Quantity(&sort::RATIO), "of the body; or `coefficients`")
            .either()
            .range(Range::DragCoefficient),
        FieldDoc::new("frontal_area", Takes::Quantity(&sort::AREA), "seen from ahead; or `coefficients`")
            .either()
            .range(Range::NotNegative),
        FieldDoc::new(
            "rolling_coefficient",
            Takes::Quantity(&sort::RATIO),
            "rolling resistance over the weight on the wheels; or `coefficients`",
        )
        .either()
        .range(Range::ShareOrNone),
        FieldDoc::new(
            "coefficients",
            Takes::Special,
            "instead of the three: the mapping `{f0, f1, f2}` of the level road in still air, or the name of a block that has them",
        )
        .either(),
        FieldDoc::new("coefficients.f0", Takes::Quantity(&sort::FORCE), "that does not change with speed")
            .range(Range::NotNegative).label("resistance that does not change with speed"),
        FieldDoc::new(
            "coefficients.f1",
            Takes::Quantity(&sort::FORCE_PER_SPEED),
            "that grows with speed; a fit may give it below 0",
        )
        .assumed("0 N/(km/h)").label("resistance that grows with speed"),
        FieldDoc::new(
            "coefficients.f2",
            Takes::Quantity(&sort::FORCE_PER_SPEED_SQUARED),
            "that grows with the square of the speed against the air",
        )
        .range(Range::NotNegative).label("resistance that grows with the square of the speed"),
        FieldDoc::new(
            "rotating_share",
            Takes::Quantity(&sort::RATIO),
            "what turning wheels, shafts and rotor add to the mass that is sped up",
        )
        .assumed("4 %")
        .range(Range::ShareOrNone).label("share of turning parts"),
        FieldDoc::new("air_density", Takes::Quantity(&sort::DENSITY), "instead of `altitude` and `temperature`")
            .optional()
            .range(Range::Positive).sort(FieldSort::Condition),
        FieldDoc::new("altitude", Takes::Quantity(&sort::LENGTH), "above the sea, for the pressure of the air")
            .assumed("0 m").sort(FieldSort::Condition),
        FieldDoc::new(
            "temperature",
            Takes::Quantity(&sort::TEMPERATURE),
            "of the air; left out beside an `altitude` it is the standard one there",
        )
        .assumed("15 °C")
        .range(Range::Weather).sort(FieldSort::Condition).label("air temperature"),
        FieldDoc::new("headwind", Takes::Quantity(&sort::SPEED), "against the vehicle; negative from behind")
            .assumed("0 km/h").sort(FieldSort::Condition),
        FieldDoc::new(
            "grade",
            Takes::Quantity(&sort::RATIO),
            "rise over level distance, the tangent of the slope; negative downhill; of an angle: `from tan(8 deg)`",
        )
        .assumed("0 %").range(Range::Grade).sort(FieldSort::Condition),
        FieldDoc::new("speeds", Takes::Quantities(&sort::SPEED), "at which force and power are wanted: `[50 km/h, 90 km/h]`")
            .label("speed")
        .optional()
            .range(Range::NotNegative).sort(FieldSort::Choice),
];
