//! What a mass ledger remarks: axles that don't add up, positions that are missing, fuel counted twice.

use super::items::{Along, Item, gap};
use super::results::FUEL;
use super::{AXLE_GAP, COUNTED_TWICE, MISSING_POSITION, MassLedger, Totals};
use crate::model::{Page, Slot};
use crate::quantities::si::{Mass, Measure};
use crate::words::{Words, words};

/// Of the donor's mass; common practice, no source.
const MOST_REMOVED: f64 = 0.5;

impl MassLedger {
    /// Axles that miss the mass by more than their tolerances and a thousandth of it are told.
    pub(super) fn gap(&self, page: &mut Page<'_>) {
        let (Some(front), Some(rear)) = (self.given.donor.front, self.given.donor.rear) else { return };
        let (Some(mass), Some(front_mass), Some(rear_mass)) =
            (page.get(self.given.donor.mass), page.get(front), page.get(rear))
        else {
            return;
        };
        let weighed = [self.given.donor.mass, front, rear];
        let half_width = |slot: &Slot<Mass>| {
            let tolerance = page.nodes[slot.index()].leaf()?.literal.tolerance.as_ref()?;
            Some(tolerance.half_width_si)
        };
        let tolerances = weighed.iter().filter_map(half_width).sum();
        let Some(gap) = gap(mass.si(), [front_mass.si(), rear_mass.si()], tolerances) else { return };
        let message = words!(
            "the axles, {} and {}, miss the donor's {} by {}",
            page.value(front),
            page.value(rear),
            page.value(self.given.donor.mass),
            page.value_as(self.given.donor.mass, gap)
        );
        page.find(
            &AXLE_GAP,
            self.given.donor.mass.index(),
            message,
            "weigh the axles and the whole again, on one day and one scale",
        );
        self.hold_lighter_than_its_axles(page, front_mass + rear_mass - mass);
        // Taken from elsewhere, they are not known when tolerances are read.
        if self.given.donor.gap.is_none() {
            for requirement in ["laden_front_axle", "laden_rear_axle"] {
                page.hold_close(requirement, "the donor's axles don't add up to its mass");
            }
        }
    }

    /// A donor that is as heavy as its axles together may be, and not as its mass says, leaves less room.
    fn hold_lighter_than_its_axles(&self, page: &mut Page<'_>, gap: Mass) {
        let Totals { laden, converted, .. } = self.totals;
        let limits = [
            (laden, self.given.limits.gross, "laden_mass"),
            (converted, self.given.not_above, "converted_mass"),
        ];
        for (mass, limit, requirement) in limits {
            if page.get(mass).zip(page.get(limit)).is_some_and(|(mass, limit)| mass + gap > limit) {
                page.hold_close(requirement, "the donor's axles together are heavier than its mass");
            }
        }
    }

    /// More than half of a vehicle is hardly ever taken out of it: a mass is mistyped, unless the finished one was weighed.
    pub(super) fn hollow(&self, page: &mut Page<'_>) {
        let (Some(removed), Some(donor)) = (page.get(self.totals.removed), page.get(self.given.donor.mass))
        else {
            return;
        };
        if self.weighed.is_none() && removed > donor * MOST_REMOVED {
            let reason = words!(
                "{} of the donor's {} are removed: look at the items, or weigh the finished vehicle",
                page.value(self.totals.removed),
                page.value(self.given.donor.mass)
            );
            for requirement in ["laden_mass", "converted_mass", "laden_front_axle", "laden_rear_axle"] {
                page.hold_close(requirement, reason.clone());
            }
        }
    }

    /// The items that lack a position which something is worked from.
    pub(super) fn positions(&self, page: &mut Page<'_>) {
        let given = &self.given;
        let donor = &given.donor;
        let axles = donor.front.is_some() || donor.rear.is_some();
        let lists = [&donor.aboard, &given.removed, &given.installed, &given.load];
        let lacking = |lists: &[&Vec<Item>], along| -> Vec<(usize, &'static str, String)> {
            let items = lists.iter().flat_map(|list| list.iter());
            let of = |item: &Item| Some((item.mass.index(), item.lacks(along)?, item.title.clone()));
            items.filter_map(of).collect()
        };
        let without_x = lacking(&lists, Along::X);
        let without_z = lacking(&lists[..3], Along::Z);
        let (found, what, from) = if page.get(given.wheelbase).is_some() && axles && !without_x.is_empty() {
            (without_x, "axle loads are", "measured behind the front axle")
        } else if donor.cg_height.is_some() && !without_z.is_empty() {
            (without_z, "the height of the centre of gravity is", "measured above ground")
        } else {
            return;
        };
        let names = Words::names(found.iter().map(|(_, _, title)| title.as_str()));
        let verb = if found.len() == 1 { "lacks" } else { "lack" };
        let (at, key, _) = found[0];
        let message = words!("{} not worked: {} {} `{}`", what, names, verb, key);
        page.find(&MISSING_POSITION, at, message, words!("type `{}: …`, {}", key, from));
    }

    pub(super) fn fuel_twice(&self, page: &mut Page<'_>) {
        let Some(fuel) = self.given.donor.aboard.iter().find(|item| item.title == FUEL) else { return };
        let tank = self.given.removed.iter().find(|item| {
            let title = item.title.to_lowercase();
            title.contains("fuel")
                || title.contains("tank")
                || title.contains("petrol")
                || title.contains("diesel")
        });
        if let Some(tank) = tank {
            let message = words!(
                "fuel aboard is taken off, and `{}` is removed too: is the fuel counted twice",
                tank.title
            );
            page.find(
                &COUNTED_TWICE,
                fuel.mass.index(),
                message,
                "weigh the tank empty, or leave `fuel_aboard` out",
            );
        }
    }
}
