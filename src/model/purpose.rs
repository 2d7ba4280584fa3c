//! What a value is read for outside its kind: its row or field says so, and no paper, rule or list types its name.

/// Of a result, a field or a taken value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Purpose {
    /// A voltage that the vehicle has: DC, or the rms value of AC.
    Dc,
    Ac,
    /// The same of a pack, full and nominal: what a rescue crew is told.
    FullVoltage,
    NominalVoltage,
    /// A cell of the form's table of masses.
    Mass(Load, Over),
    /// Whether the vehicle was laden as it was weighed.
    WeighedLaden,
    /// The list of readings on the vehicle; a field that is no list makes the whole block one, and names it.
    Reading,
    /// Of all readings that have none of their own.
    OfAllReadings,
    /// What is told of a reading beside its values: its own, else that of its block.
    About(Detail),
    /// What a part is for.
    PartRole,
    /// A value of a part that is no rating: price, mass, size.
    NoRating,
    /// Which circuit a cable is part of.
    Circuit,
    /// The part that an item of a ledger installs.
    InstalledPart,
    /// What is answered to a subject, and why.
    Answer,
    AnswerReason,
}

/// In the order in which they are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Detail {
    Instrument,
    Serial,
    CalibratedUntil,
    Date,
    By,
    Place,
    State,
}

/// Of the vehicle on the scales.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Load {
    Before,
    After,
    Weighed,
    Laden,
    /// What the plate allows.
    Plate,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Over {
    Vehicle,
    FrontAxle,
    RearAxle,
}
