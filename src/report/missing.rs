//! Results that this vehicle does not have.

use crate::model::capital;
use crate::words::{Words, words};

/// Those of one case of a family, or of none, that are not there for one reason.
pub(crate) struct Missing {
    pub case: Option<String>,
    pub labels: Vec<String>,
    /// Whether any of them is one that the kind calls principal.
    pub principal: bool,
    pub reason: Words,
}

impl Missing {
    /// One line that names each result.
    pub(crate) fn whole(&self) -> Words {
        let are = if self.labels.len() == 1 { "is" } else { "are" };
        let labels = self.labels.join(", ");
        match &self.case {
            Some(case) => words!("{}: {} {} not there: {}.", case.as_str(), labels, are, self.reason),
            None => words!("{} {} not there: {}.", capital(&labels), are, self.reason),
        }
    }

    /// The same in short: of cases that have the reason the names alone.
    pub(crate) fn short(&self, cases: &[&str]) -> Words {
        let are = if cases.len() == 1 { "is" } else { "are" };
        match cases {
            [] => self.whole(),
            cases => words!("{} {} not there: {}.", capital(&cases.join(", ")), are, self.reason),
        }
    }
}
