//! What a mass ledger remarks: axles that don't add up, positions that are missing, fuel counted twice; and its picture.

use super::items::Item;
use super::{AXLE_GAP, COUNTED_TWICE, MISSING_POSITION, MassLedger};
use crate::model::{Chart, Page, capital};
use crate::quantities::si::Measure;
use crate::words::words;

impl MassLedger {
    /// Axles that miss the mass by more than their tolerances and a thousandth of it are told.
    pub(super) fn gap(&self, page: &mut Page<'_>) {
        let (Some(front), Some(rear)) = self.donor_axles else { return };
        let (Some(mass), Some(front_mass), Some(rear_mass)) =
            (page.get(self.donor_mass), page.get(front), page.get(rear))
        else {
            return;
        };
        let gap = mass - front_mass - rear_mass;
        let tolerance: f64 = [self.donor_mass.index(), front.index(), rear.index()]
            .iter()
            .filter_map(|index| {
                page.nodes[*index].leaf()?.literal.tolerance.as_ref().map(|t| t.half_width_si)
            })
            .sum();
        if gap.si().abs() <= tolerance.max(mass.si() * 1e-3) {
            return;
        }
        let message = format!(
            "the axles, {} and {}, miss the donor's {} by {}",
            page.shown(front),
            page.shown(rear),
            page.shown(self.donor_mass),
            page.shown_as(self.donor_mass, gap.si().abs())
        );
        page.find(
            &AXLE_GAP,
            self.donor_mass.index(),
            message,
            "weigh the axles and the whole again, on one day and one scale",
        );
    }

    pub(super) fn positions(&self, page: &mut Page<'_>) {
        let axles_known = self.donor_axles.0.is_some() || self.donor_axles.1.is_some();
        let without_x = self.without_x();
        let without_z = self.without_z();
        if self.wheelbase.is_some() && axles_known && !without_x.is_empty() {
            let at = without_x[0].place;
            let message = format!("axle loads are not worked: {} `x`", lack(&without_x));
            let key = without_x[0].x_key;
            page.find(
                &MISSING_POSITION,
                at,
                message,
                words!("type `{}: …`, measured behind the front axle", key),
            );
        } else if self.donor_cg_height.is_some() && !without_z.is_empty() {
            let at = without_z[0].place;
            let message =
                format!("the height of the centre of gravity is not worked: {} `z`", lack(&without_z));
            page.find(&MISSING_POSITION, at, message, "type `z: …`, measured above ground");
        } else if self.donor_cg_height.is_some()
            && let Some(aboard) = self.aboard.first()
        {
            let message = format!(
                "the height of the centre of gravity is not worked: how high the {} was is not known",
                aboard.title
            );
            let help = "weigh the vehicle without driver and fuel, and give `cg_height` of that";
            page.find(&MISSING_POSITION, aboard.place, message, help);
        }
    }

    pub(super) fn fuel_twice(&self, page: &mut Page<'_>) {
        let Some(fuel) = self.aboard.iter().find(|item| item.title == "fuel aboard") else { return };
        let tank = self.removed.iter().find(|item| {
            let title = item.title.to_lowercase();
            title.contains("fuel")
                || title.contains("tank")
                || title.contains("petrol")
                || title.contains("diesel")
        });
        if let Some(tank) = tank {
            let message = format!(
                "fuel aboard is taken off, and `{}` is removed too: is the fuel counted twice",
                tank.title
            );
            page.find(
                &COUNTED_TWICE,
                fuel.place,
                message,
                "weigh the tank empty, or leave `fuel_aboard` out",
            );
        }
    }

    pub(super) fn draw(&self, page: &mut Page<'_>) {
        let bars = |page: &Page<'_>, items: &[Item]| -> Option<Vec<(String, String, f64)>> {
            items
                .iter()
                .map(|item| {
                    let count = item.count.map_or(Some(1.0), |count| page.get(count))?;
                    let mass = page.get(item.mass)? * count;
                    Some((capital(&item.title), page.shown_as(self.removed_total, mass.si()), mass.si()))
                })
                .collect()
        };
        if let (Some(out), Some(r#in)) = (bars(page, &self.removed), bars(page, &self.installed))
            && (!out.is_empty() || !r#in.is_empty())
        {
            let totals = [
                ("out".to_owned(), page.shown(self.removed_total)),
                ("in".to_owned(), page.shown(self.installed_total)),
            ];
            page.said.chart = Some(Chart::OutAndIn { out, r#in, totals });
        }
    }
}

/// `` `a`, `b` lack ``.
fn lack(items: &[&Item]) -> String {
    let names = items.iter().map(|item| format!("`{}`", item.title)).collect::<Vec<_>>().join(", ");
    if items.len() == 1 { format!("{names} lacks") } else { format!("{names} lack") }
}
