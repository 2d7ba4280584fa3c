//! What a coast-down block takes and gives, and its example.

use crate::model::{FieldDoc, Range, ResultDoc, Takes};
use crate::quantities::sort;

pub(super) static FIELDS: &[FieldDoc] = &[
        FieldDoc::new("mass", Takes::Quantity(&sort::MASS), "of the vehicle as it ran, driver and load included")
            .range(Range::Positive),
        FieldDoc::new(
            "rotating_share",
            Takes::Quantity(&sort::RATIO),
            "of the mass, for wheels and what turns with them in neutral",
        )
        .assumed("4 %")
        .range(Range::NotNegative),
        FieldDoc::new("runs", Takes::List, "the runs, each `{file: evidence/run_1.csv, direction: out}`"),
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
            .range(Range::Positive),
    ];

pub(super) static RESULTS: &[ResultDoc] = &[
    ResultDoc { name: "decay_0", about: "constant part of the deceleration" },
    ResultDoc { name: "decay_1", about: "part of the deceleration with the speed" },
    ResultDoc { name: "decay_2", about: "part of the deceleration with the speed squared" },
    ResultDoc { name: "effective_mass", about: "mass with its rotating share" },
    ResultDoc { name: "f0", about: "constant part of the road load; may stand in `coefficients`" },
    ResultDoc { name: "f1", about: "part of the road load with the speed; may stand in `coefficients`" },
    ResultDoc {
        name: "f2",
        about: "part of the road load with the speed squared; may stand in `coefficients`",
    },
    ResultDoc { name: "f0_uncertainty", about: "standard uncertainty from the scatter of the samples" },
    ResultDoc { name: "f1_uncertainty", about: "standard uncertainty from the scatter of the samples" },
    ResultDoc { name: "f2_uncertainty", about: "standard uncertainty from the scatter of the samples" },
    ResultDoc { name: "correlation_f0_f1", about: "how the two scatter together" },
    ResultDoc { name: "correlation_f0_f2", about: "how the two scatter together" },
    ResultDoc { name: "correlation_f1_f2", about: "how the two scatter together" },
    ResultDoc { name: "rolling_coefficient", about: "f0 over the vehicle's weight" },
    ResultDoc { name: "drag_area", about: "drag coefficient × frontal area; with `air_density`" },
    ResultDoc { name: "residual", about: "root mean square of measured less fitted speed" },
];

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
