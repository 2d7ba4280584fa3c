//! What a coast-down block takes and gives, and its example.

use crate::model::{FieldDoc, Range, Row, Stage, Takes};
use crate::quantities::si::{
    Acceleration, Area, Curvature, Force, ForcePerSpeed, ForcePerSpeedSquared, Frequency, Mass, Ratio,
    Velocity,
};
use crate::quantities::sort;

pub(super) static FIELDS: &[FieldDoc] = &[
        FieldDoc::new("mass", Takes::Quantity(&sort::MASS), "of the vehicle as it ran, driver and load included").usual(100.0, 10_000.0)
            .due(Stage::Test)
            .range(Range::Positive),
        FieldDoc::new(
            "rotating_share",
            Takes::Quantity(&sort::RATIO),
            "of the mass, for wheels and what turns with them in neutral",
        )
        .assumed("4 %")
        .range(Range::ShareOrNone),
        FieldDoc::new("runs", Takes::List, "the runs, each `{file: evidence/run_1.csv, direction: out}`").with_items("give each run a file and a direction: `runs: [{file: evidence/run_1.csv, direction: out}]`")
            .due(Stage::Test),
        FieldDoc::new("runs.name", Takes::Text, "what the run is called; else its file").optional(),
        FieldDoc::new(
            "runs.file",
            Takes::Text,
            "a CSV file whose header names units: `time (s),speed (km/h)`; from the moment that the drive is let go",
        )
        .optional(),
        FieldDoc::new("runs.points", Takes::Special, "instead of a file: `[[0 s, 100 km/h], [2 s, 96.1 km/h]]`")
            .optional(),
        FieldDoc::new("runs.direction", Takes::Text, "`out` or `back`"),
        FieldDoc::new("air_density", Takes::Quantity(&sort::DENSITY), "during the runs, for `drag_area`")
            .optional()
            .due(Stage::Test)
            .range(Range::Positive),
    ];

const FIT: &str = "least squares of the integrated motion over all samples of a run; the mean of the runs of a direction, then of both directions";
const SPREAD: &str = "effective mass × standard uncertainty of the decay, from the covariance of the least squares, widened by the autocorrelation of the residuals, and from what repeated runs show; each speed scatters by a hundred-thousandth of the highest one at least";
const TOGETHER: &str = "covariance over the product of the standard uncertainties";

pub(super) static DECAY_0: Row<Acceleration> =
    Row::procedure("decay_0", "constant part of the deceleration", "m/s²", FIT);
pub(super) static DECAY_1: Row<Frequency> =
    Row::procedure("decay_1", "part of the deceleration with the speed", "1/s", FIT);
pub(super) static DECAY_2: Row<Curvature> =
    Row::procedure("decay_2", "part of the deceleration with the speed squared", "1/m", FIT);
pub(super) static EFFECTIVE_MASS: Row<Mass> =
    Row::formula("effective_mass", "mass with its rotating share", "kg", "mass * (1 + rotating_share)");
pub(super) static F0: Row<Force> =
    Row::formula("f0", "constant part of the road load", "N", "effective_mass * decay_0")
        .about("may stand in `coefficients`")
        .principal();
pub(super) static F1: Row<ForcePerSpeed> =
    Row::formula("f1", "part of the road load with the speed", "N/(km/h)", "effective_mass * decay_1")
        .about("may stand in `coefficients`")
        .principal();
pub(super) static F2: Row<ForcePerSpeedSquared> = Row::formula(
    "f2",
    "part of the road load with the speed squared",
    "N/(km/h)^2",
    "effective_mass * decay_2",
)
.about("may stand in `coefficients`")
.principal();
pub(super) static F0_UNCERTAINTY: Row<Force> =
    Row::procedure("f0_uncertainty", "standard uncertainty of the constant part", "N", SPREAD)
        .about("from the scatter of samples and runs");
pub(super) static F1_UNCERTAINTY: Row<ForcePerSpeed> =
    Row::procedure("f1_uncertainty", "standard uncertainty of the part with the speed", "N/(km/h)", SPREAD)
        .about("from the scatter of samples and runs");
pub(super) static F2_UNCERTAINTY: Row<ForcePerSpeedSquared> = Row::procedure(
    "f2_uncertainty",
    "standard uncertainty of the part with the speed squared",
    "N/(km/h)^2",
    SPREAD,
)
.about("from the scatter of samples and runs");
/// Of f0 and f1, f0 and f2, f1 and f2.
pub(super) static CORRELATIONS: [Row<Ratio>; 3] = [
    Row::procedure(
        "correlation_f0_f1",
        "correlation of constant part and part with the speed",
        "1",
        TOGETHER,
    ),
    Row::procedure(
        "correlation_f0_f2",
        "correlation of constant part and part with the speed squared",
        "1",
        TOGETHER,
    ),
    Row::procedure(
        "correlation_f1_f2",
        "correlation of the parts with the speed and its square",
        "1",
        TOGETHER,
    ),
];
pub(super) static ROLLING_COEFFICIENT: Row<Ratio> =
    Row::formula("rolling_coefficient", "rolling coefficient", "1", "f0 / (mass * 9.80665 m/s^2)")
        .about("f0 over the vehicle's weight")
        .principal();
pub(super) static DRAG_AREA: Row<Area> = Row::formula("drag_area", "drag area", "m²", "2 * f2 / air_density")
    .about("drag coefficient × frontal area")
    .when("with `air_density`")
    .principal();
pub(super) static RESIDUAL: Row<Velocity> = Row::procedure(
    "residual",
    "measured less fitted speed",
    "km/h",
    "root mean square of measured less fitted speed",
)
.principal();

/// v = √(A/C) tan(atan(v0 √(C/A)) − t √(A C)/m), the closed form of a decay with A = 180 N and C = 0.45 N/(m/s)², on a
/// slope that adds 30 N one way and takes 30 N away the other.
pub(super) const EXAMPLE: &str = "\
```yaml coast-down rolling
mass: 1 200 kg
air_density: 1.2 kg/m^3
runs:
  - {name: first, direction: out, points: [[0 s, 30.000000000000 m/s], [8 s, 26.367352771296 m/s], [16 s, 23.248860666070 m/s], [24 s, 20.522833645146 m/s], [32 s, 18.101903954434 m/s], [40 s, 15.921551055783 m/s], [48 s, 13.932917708059 m/s], [56 s, 12.098150288802 m/s], [64 s, 10.387280730922 m/s], [72 s, 8.776080424725 m/s], [80 s, 7.244543588532 m/s], [88 s, 5.775787325988 m/s], [96 s, 4.355232072370 m/s], [104 s, 2.969972444265 m/s]]}
  - {name: second, direction: back, points: [[0 s, 30.000000000000 m/s], [8 s, 26.722874632825 m/s], [16 s, 23.915229268404 m/s], [24 s, 21.470276295937 m/s], [32 s, 19.310758230713 m/s], [40 s, 17.379333422507 m/s], [48 s, 15.632481223965 m/s], [56 s, 14.036508862084 m/s], [64 s, 12.564859261557 m/s], [72 s, 11.196249537167 m/s], [80 s, 9.913354393139 m/s], [88 s, 8.701855498385 m/s], [96 s, 7.549741756069 m/s], [104 s, 6.446784631805 m/s]]}
```
";
