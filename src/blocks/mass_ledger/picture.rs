//! The picture of a mass ledger: the vehicle from the side where all places are known, else bars of what goes and comes.

use super::MassLedger;
use super::items::Item;
use crate::model::{AxleLoad, Centre, Chart, Limited, Masses, Page, PlacedMass, Side, Slot, capital};
use crate::quantities::si::{Length, Mass, Measure};

impl MassLedger {
    pub(super) fn draw(&self, page: &mut Page<'_>) {
        page.said.chart = self.seen_from_side(page).or_else(|| self.out_and_in(page));
    }

    fn out_and_in(&self, page: &Page<'_>) -> Option<Chart> {
        let bars = |items: &[Item]| -> Option<Vec<(String, String, f64)>> {
            let bar = |item: &Item| {
                let mass = all_of(page, item)?;
                Some((capital(&item.title), page.shown_as(self.totals.removed, mass), mass))
            };
            items.iter().map(bar).collect()
        };
        let (out, r#in) = (bars(&self.given.removed)?, bars(&self.given.installed)?);
        if out.is_empty() && r#in.is_empty() {
            return None;
        }
        let totals = [
            ("out".to_owned(), page.shown(self.totals.removed)),
            ("in".to_owned(), page.shown(self.totals.installed)),
        ];
        Some(Chart::OutAndIn { out, r#in, totals })
    }

    fn seen_from_side(&self, page: &Page<'_>) -> Option<Chart> {
        let given = &self.given;
        let masses = |items: &[Item], total: Option<Slot<Mass>>| -> Option<Masses> {
            let placed = |item: &Item| {
                let mass = all_of(page, item)?;
                let shown = page.shown_as(self.totals.removed, mass);
                let (x, z) = (page.get(item.x)?.si(), page.get(item.z).map(Measure::si));
                Some(PlacedMass { label: capital(&item.title), shown, mass, x, z })
            };
            let each = items.iter().map(placed).collect::<Option<_>>()?;
            Some(Masses { total: total.map_or_else(String::new, |slot| page.shown(slot)), each })
        };
        let heights = self.heights.as_ref().map(|heights| [heights.donor, heights.cg_height]);
        let [before, after] = self.axles.cg_x;
        let side = Side {
            wheelbase: page.get(given.wheelbase)?.si(),
            out: masses(&given.removed, Some(self.totals.removed))?,
            r#in: masses(&given.installed, Some(self.totals.installed))?,
            load: masses(&given.load, self.totals.load)?,
            centres: [
                centre(page, before, heights.map(|[donor, _]| donor))?,
                centre(page, after, heights.map(|[_, converted]| converted))?,
            ],
            axles: self.axle_loads(page)?,
        };
        Some(Chart::Side(Box::new(side)))
    }

    /// Laden they are what is judged: by the heavier of ledger and ticket where it was weighed.
    fn axle_loads(&self, page: &Page<'_>) -> Option<[AxleLoad; 2]> {
        let (donor, axles, limits) = (&self.given.donor, &self.axles, &self.given.limits);
        let ticket = self.weighed.as_ref().and_then(|weighed| weighed.axles.as_ref());
        let load = |label, [before, after, laden, limit]: [Slot<Mass>; 4]| {
            let own = page.get(laden)?.si();
            let limit = page.get(limit).map(|most| (page.shown(limit), own / most.si()));
            let empty = format!("{} before, {} after", page.shown(before), page.shown(after));
            Some(AxleLoad { label, empty, laden: Limited { shown: page.shown(laden), limit } })
        };
        let front = ticket.map_or(axles.laden_front, |ticket| ticket.front[1]);
        let rear = ticket.map_or(axles.laden_rear, |ticket| ticket.rear[1]);
        Some([
            load("front axle", [donor.front.or(axles.derived)?, axles.front, front, limits.front_axle])?,
            load("rear axle", [donor.rear.or(axles.derived)?, axles.rear, rear, limits.rear_axle])?,
        ])
    }
}

/// The mass of all of an item, in kg.
fn all_of(page: &Page<'_>, item: &Item) -> Option<f64> {
    let count = item.count.map_or(Some(1.0), |count| page.get(count))?;
    Some((page.get(item.mass)? * count).si())
}

fn centre(page: &Page<'_>, along: Slot<Length>, height: Option<Slot<Length>>) -> Option<Centre> {
    let x = page.get(along)?.si();
    let z = height.and_then(|slot| Some((slot, page.get(slot)?.si())));
    let high = z.map_or_else(String::new, |(slot, _)| format!(", {} high", page.shown(slot)));
    Some(Centre { shown: format!("{}{high}", page.shown(along)), x, z: z.map(|(_, z)| z) })
}
