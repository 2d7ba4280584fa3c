//! Standard gravity, as it stands in the formulas that a reader sees (`g_n`).

/// In m/s², exact (ISO 80000-3; SI Brochure, 3rd CGPM 1901).
pub(in crate::blocks) const GRAVITY: f64 = 9.806_65;
