//! Pictures as data, whose numbers and words a block gives; the dossier draws them.

/// A picture as data; the dossier draws it.
#[derive(Clone, Debug)]
pub(crate) enum Chart {
    /// Masses that go out and come in, each `(label, value text, value)`, in the unit of the texts.
    OutAndIn {
        out: Vec<(String, String, f64)>,
        r#in: Vec<(String, String, f64)>,
        totals: [(String, String); 2],
    },
    /// Curves over one axis, limits drawn across.
    Lines(LinesChart),
    /// Named points between two axes.
    Points(PointsChart),
    /// From the wheel to the motor.
    Driveline(Driveline),
    /// A pack from pole to pole.
    Pack(Strings),
}

/// Values are in the units that the axes name.
#[derive(Clone, Debug, Default)]
pub(crate) struct LinesChart {
    /// What the picture shows, as its caption.
    pub caption: String,
    pub x: Axis,
    pub y: Axis,
    pub series: Vec<Series>,
    /// Horizontal strokes: text and value.
    pub limits: Vec<(String, f64)>,
    /// The areas between series are filled, each on the one before it.
    pub stacked: bool,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct PointsChart {
    pub caption: String,
    pub x: Axis,
    pub y: Axis,
    /// The one that matters most first.
    pub points: Vec<(String, (f64, f64))>,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Axis {
    /// What stands on it, without the unit: `speed`.
    pub label: String,
    /// The unit's symbol: `km/h`.
    pub unit: String,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Series {
    pub label: String,
    pub points: Vec<(f64, f64)>,
    pub dashed: bool,
}

/// Shafts from the wheel to the motor, and what is between them.
#[derive(Clone, Debug)]
pub(crate) struct Driveline {
    pub shafts: Vec<Shaft>,
    /// The road speed.
    pub at: String,
}

#[derive(Clone, Debug)]
pub(crate) struct Shaft {
    pub label: String,
    pub speed: Limited,
    pub torque: Option<Limited>,
    /// Between this shaft and the one before it.
    pub stage: Option<Gearing>,
}

/// A value as it is shown, with its limit as it is shown, and the share of the limit that it is.
#[derive(Clone, Debug)]
pub(crate) struct Limited {
    pub shown: String,
    pub limit: Option<(String, f64)>,
}

#[derive(Clone, Debug)]
pub(crate) struct Gearing {
    pub title: String,
    pub ratio: String,
    /// What it loses, in words.
    pub loss: String,
}

/// What stands between the poles of a pack.
#[derive(Clone, Debug)]
pub(crate) struct Strings {
    /// How many of the units in a string, and how many strings beside each other.
    pub series: usize,
    pub parallel: usize,
    /// What a unit is: `module of 6 × 2 cells`.
    pub unit: String,
    /// Voltages at the terminals, in words.
    pub terminals: String,
}

impl Strings {
    /// `96 in series, each a group of 2 cells in parallel`.
    pub(crate) fn words(&self) -> String {
        let strings = match self.parallel {
            1 => String::new(),
            count => format!("{count} strings beside each other, each of "),
        };
        format!("{strings}{} in series, each {}", self.series, self.unit)
    }
}
