//! What can't be of a coolant: a temperature that its table does not reach, more heat in a litre than water carries.

use super::{CoolantLoop, Fluid};
use crate::findings::codes;
use crate::model::Page;
use crate::quantities::si::Measure;
use crate::words::words;

/// Of water, in J/(m³ K), with room for its temperature: no coolant of the trade carries more heat in a litre. By the
/// table of water; common practice, no source.
const MOST_PER_VOLUME: f64 = 4.4e6;

impl CoolantLoop {
    /// An inlet that the fluid's table does not reach.
    pub(super) fn outside(&self, page: &mut Page<'_>) {
        let Fluid::Known { name, density, .. } = self.fluid else { return };
        if page.get(self.inlet).is_none() || page.get(self.density).is_some() {
            return;
        }
        let Some((curve, _)) = page.curve(density) else { return };
        let (first, last) = (curve.points()[0].0, curve.points()[curve.points().len() - 1].0);
        let message = words!(
            "{} is outside the table of {}, which runs from {} to {}",
            page.value(self.inlet),
            name,
            page.value_as(self.inlet, first),
            page.value_as(self.inlet, last)
        );
        let help = "look at the temperature, or give `density` and `heat_capacity` instead of `fluid`";
        page.find(&codes::OUT_OF_RANGE, self.inlet.index(), message, help);
    }

    /// A digit too many in density or heat capacity makes every rise mild.
    pub(super) fn more_than_water(&self, page: &mut Page<'_>) {
        let (Some(density), Some(capacity)) = (page.get(self.density), page.get(self.heat_capacity)) else {
            return;
        };
        if density.si() * capacity.si() > MOST_PER_VOLUME {
            let message = words!(
                "a coolant of {} and {} carries more heat in a litre than water does",
                page.value(self.density),
                page.value(self.heat_capacity)
            );
            let help = "look at both digits and units: water has about 1 000 kg/m^3 and 4 180 J/(kg K)";
            page.find(&codes::OUT_OF_RANGE, self.heat_capacity.index(), message, help);
        }
    }
}
