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
    /// A vehicle on its axles.
    Side(Box<Side>),
    /// A coolant loop.
    Coolant(Coolant),
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

/// A vehicle from the side. Places are in metres, behind the front axle and above the ground.
#[derive(Clone, Debug)]
pub(crate) struct Side {
    pub wheelbase: f64,
    /// What goes out, what comes in, what is loaded.
    pub out: Masses,
    pub r#in: Masses,
    pub load: Masses,
    /// The centre of gravity before and after.
    pub centres: [Centre; 2],
    pub axles: [AxleLoad; 2],
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Masses {
    /// All of them, as shown.
    pub total: String,
    pub each: Vec<PlacedMass>,
}

#[derive(Clone, Debug)]
pub(crate) struct PlacedMass {
    pub label: String,
    pub shown: String,
    pub mass: f64,
    pub x: f64,
    pub z: Option<f64>,
}

#[derive(Clone, Debug)]
pub(crate) struct Centre {
    /// Where it is, in words.
    pub shown: String,
    pub x: f64,
    pub z: Option<f64>,
}

#[derive(Clone, Debug)]
pub(crate) struct AxleLoad {
    pub label: &'static str,
    /// Without load, in words.
    pub empty: String,
    pub laden: Limited,
}

/// From the pump through the parts that warm it to the radiator, and back.
#[derive(Clone, Debug)]
pub(crate) struct Coolant {
    pub flow: String,
    pub inlet: String,
    pub parts: Vec<Cooled>,
    /// Radiator and air, and where the loop settles, where they are known.
    pub radiator: Option<[String; 2]>,
}

#[derive(Clone, Debug)]
pub(crate) struct Cooled {
    pub label: String,
    pub heat: String,
    /// The temperature of the coolant behind it.
    pub behind: String,
    /// As it is shown, and whether it is passed.
    pub limit: Option<(String, Passed)>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Passed {
    Yes,
    No,
}
