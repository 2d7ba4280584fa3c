//! What a coolant loop remarks: a temperature that its table does not reach, more heat in a litre than water carries;
//! and its picture.

use super::{CoolantLoop, Fluid};
use crate::findings::codes;
use crate::model::{Chart, Coolant, Cooled, Page, Passed, capital};
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

    /// The parts in the order of flow, with the temperatures that are judged.
    pub(super) fn picture(&self, page: &Page<'_>) -> Option<Chart> {
        let settles = page.get(self.settled_inlet).is_some();
        let inlet = if settles { self.warmest_inlet } else { self.inlet };
        page.get(inlet)?;
        let parts = self.parts.iter().map(|part| {
            let behind = part.settled.filter(|_| settles).unwrap_or(part.after);
            let judged = page.get(behind)?.si();
            let limit = part.limit.and_then(|slot| {
                let passed = if judged > page.get(slot)?.si() { Passed::Yes } else { Passed::No };
                Some((page.shown(slot), passed))
            });
            let heat = format!("warms it with {}", page.shown(part.loss));
            Some(Cooled { label: capital(&part.title), heat, behind: page.shown(behind), limit })
        });
        let radiator = settles.then(|| {
            let [each, air, inlet] =
                [page.shown(self.radiator), page.shown(self.ambient), page.shown(self.settled_inlet)];
            [format!("{each}, air of {air}"), format!("so the loop settles at an inlet of {inlet}")]
        });
        let (flow, inlet, parts) = (page.shown(self.flow), page.shown(inlet), parts.collect::<Option<_>>()?);
        Some(Chart::Coolant(Coolant { flow, inlet, parts, radiator }))
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
