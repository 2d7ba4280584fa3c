//! What the live values of the prose show, and those that show nothing.

use super::Told;
use crate::evaluate::Results;
use crate::findings::Finding;
use crate::model::LiveEntry;
use crate::quantities::{Fault, Quantity, Unit};

impl Told<'_> {
    /// The text of a live value, and the value that it shows where that could be worked.
    pub(crate) fn live(&self, live: &LiveEntry, target: Option<usize>) -> (String, Option<usize>) {
        let worked = target.filter(|global| self.results.worked[self.plan.block_of(*global)]);
        let shown = worked.and_then(|global| match &live.unit {
            Some(unit) if self.in_unit(global, unit).is_ok() => {
                self.results.is_known(global).then(|| self.results.shown_in(global, unit))
            }
            Some(_) => None,
            None => self.shown(global),
        });
        match shown {
            Some(shown) => (shown.replace('\u{a0}', " "), worked),
            None => ("not worked".to_owned(), None),
        }
    }

    /// Whether a value can be shown in a unit: a difference of temperatures is none in °C.
    fn in_unit(&self, global: usize, unit: &Unit) -> Result<f64, Fault> {
        let Results { values, dimensions, points, .. } = self.results;
        let (si, dimension, point) = (values[global], dimensions[global], points[global]);
        Quantity { si, dimension, point }.expect_unit(unit)
    }

    /// Live values whose unit is none of their value.
    pub(crate) fn unfit_live(&self) -> Vec<Finding> {
        let live = self.notebook.live.iter().zip(&self.plan.live);
        let faults = live.filter_map(|(live, target)| {
            let global = target.filter(|global| self.results.is_known(*global))?;
            Some((live, self.in_unit(global, live.unit.as_ref()?).err()?))
        });
        faults.map(|(live, fault)| Finding::new(fault.code, live.span, fault.message, fault.help)).collect()
    }
}
