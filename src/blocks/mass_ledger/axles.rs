//! The axle loads and the centre of gravity of a mass ledger.

use super::items::{Item, mass_of, sum_of, term};
use crate::model::{Bench, Form, Slot};
use crate::quantities::si::{Length, Mass, MassMoment, Measure, Ratio};

/// Who sits where: aboard at the weighing, removed, installed, load.
type Lists<'a> = [&'a [Item]; 4];

/// The donor as it was weighed; at least one axle is there.
pub(super) struct Weighed {
    pub(super) mass: Slot<Mass>,
    pub(super) front: Option<Slot<Mass>>,
    pub(super) rear: Option<Slot<Mass>>,
    pub(super) wheelbase: Slot<Length>,
}

/// Statics on two axles: an item of mass m at x behind the front axle puts m x / wheelbase on the rear one.
pub(super) struct Axles {
    wheelbase: Slot<Length>,
    donor: (Slot<Mass>, Option<Slot<Mass>>, Option<Slot<Mass>>),
    /// The axle that was not weighed.
    derived: Option<Slot<Mass>>,
    moment: Slot<MassMoment>,
    front: Slot<Mass>,
    rear: Slot<Mass>,
    front_share: Slot<Ratio>,
    cg_x: Slot<Length>,
    load_moment: Option<Slot<MassMoment>>,
    laden_front: Slot<Mass>,
    laden_rear: Slot<Mass>,
    front_room: Option<(Slot<Mass>, Slot<Mass>)>,
    rear_room: Option<(Slot<Mass>, Slot<Mass>)>,
}

impl Axles {
    pub(super) fn declare(
        form: &mut Form<'_, '_>,
        weighed: Weighed,
        lists: Lists<'_>,
        limits: (Option<Slot<Mass>>, Option<Slot<Mass>>),
    ) -> Axles {
        let [aboard, removed, installed, load] = lists;
        let Weighed { mass, front, rear, wheelbase } = weighed;
        let donor = (mass, front, rear);
        let derived = match donor {
            (_, Some(_), None) => Some(form.step("donor_rear_axle", "kg", "donor.mass - donor.front_axle")),
            (_, None, Some(_)) => Some(form.step("donor_front_axle", "kg", "donor.mass - donor.rear_axle")),
            _ => None,
        };
        let front_name = donor.1.or(derived).map_or_else(String::new, |slot| form.name_of(slot));
        let rear_name = donor.2.or(derived).map_or_else(String::new, |slot| form.name_of(slot));
        let moments = |form: &Form<'_, '_>, items: &[Item]| -> Vec<String> {
            items
                .iter()
                .filter_map(|item| Some(format!("{} * {}", term(form, item), form.name_of(item.x?))))
                .collect()
        };
        let plus = moments(form, installed);
        let minus: Vec<String> = [moments(form, removed), moments(form, aboard)].concat();
        let mut formula = if plus.is_empty() { "0 [kg m]".to_owned() } else { plus.join(" + ") };
        for term in minus {
            formula = format!("{formula} - {term}");
        }
        let moment = form.step("moment_change", "kg m", &formula);
        let rear = form.step("rear_axle", "kg", &format!("{rear_name} + moment_change / wheelbase"));
        let off = sum_of(aboard.iter().map(|item| term(form, item)));
        let off = if aboard.is_empty() { String::new() } else { format!(" - ({off})") };
        let front = form.step(
            "front_axle",
            "kg",
            &format!("{front_name} + net_change{off} - moment_change / wheelbase"),
        );
        let front_share = form.step("front_share", "%", "front_axle / (front_axle + rear_axle)");
        let cg_x = form.step("cg_x", "m", "rear_axle * wheelbase / (front_axle + rear_axle)");
        let load_moment = (!load.is_empty()).then(|| {
            let formula = moments(form, load).join(" + ");
            form.step("load_moment", "kg m", &formula)
        });
        let (front_formula, rear_formula) = if load.is_empty() {
            ("front_axle", "rear_axle")
        } else {
            ("front_axle + load_total - load_moment / wheelbase", "rear_axle + load_moment / wheelbase")
        };
        let laden_front = form.step("laden_front_axle", "kg", front_formula);
        let laden_rear = form.step("laden_rear_axle", "kg", rear_formula);
        let front_room = limits
            .0
            .map(|limit| (limit, form.step("front_axle_room", "kg", "limits.front_axle - laden_front_axle")));
        let rear_room = limits
            .1
            .map(|limit| (limit, form.step("rear_axle_room", "kg", "limits.rear_axle - laden_rear_axle")));
        Axles {
            wheelbase,
            donor,
            derived,
            moment,
            front,
            rear,
            front_share,
            cg_x,
            load_moment,
            laden_front,
            laden_rear,
            front_room,
            rear_room,
        }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, lists: Lists<'_>) {
        let [aboard, removed, installed, load] = lists;
        let wheelbase = bench.get(self.wheelbase);
        let (mass, front, rear) = self.donor;
        let mass = bench.get(mass);
        let (donor_front, donor_rear) = match (front.map(|f| bench.get(f)), rear.map(|r| bench.get(r))) {
            (Some(front), Some(rear)) => (front, rear),
            (Some(front), None) => (front, mass - front),
            (None, Some(rear)) => (mass - rear, rear),
            (None, None) => return,
        };
        if let Some(slot) = self.derived {
            bench.set(slot, if rear.is_none() { donor_rear } else { donor_front });
        }
        let moment = moment_of(bench, installed) - moment_of(bench, removed) - moment_of(bench, aboard);
        bench.set(self.moment, moment);
        let shift: Mass = moment / wheelbase;
        let total =
            |items: &[Item]| items.iter().fold(Mass::from_si(0.0), |sum, item| sum + mass_of(bench, item));
        let net = total(installed) - total(removed) - total(aboard);
        let load_mass = total(load);
        let (front, rear) = (donor_front + net - shift, donor_rear + shift);
        bench.set(self.rear, rear);
        bench.set(self.front, front);
        bench.set(self.front_share, front / (front + rear));
        bench.set(self.cg_x, rear / (front + rear) * wheelbase);
        let load_moment = moment_of(bench, load);
        if let Some(slot) = self.load_moment {
            bench.set(slot, load_moment);
        }
        let load_shift: Mass = load_moment / wheelbase;
        let (laden_front, laden_rear) = (front + load_mass - load_shift, rear + load_shift);
        bench.set(self.laden_front, laden_front);
        bench.set(self.laden_rear, laden_rear);
        if let Some((limit, room)) = self.front_room {
            bench.set(room, bench.get(limit) - laden_front);
        }
        if let Some((limit, room)) = self.rear_room {
            bench.set(room, bench.get(limit) - laden_rear);
        }
    }
}

fn moment_of(bench: &Bench<'_>, items: &[Item]) -> MassMoment {
    items.iter().fold(MassMoment::from_si(0.0), |sum, item| match item.x {
        Some(x) => sum + mass_of(bench, item) * bench.get(x),
        None => sum,
    })
}

/// The height of the centre of gravity from the heights of what goes and comes.
pub(super) struct Heights {
    donor: Slot<Length>,
    cg_height: Slot<Length>,
}

impl Heights {
    pub(super) fn declare(
        form: &mut Form<'_, '_>,
        donor: Slot<Length>,
        removed: &[Item],
        installed: &[Item],
    ) -> Heights {
        let moments = |form: &Form<'_, '_>, items: &[Item]| -> Vec<String> {
            items
                .iter()
                .filter_map(|item| Some(format!("{} * {}", term(form, item), form.name_of(item.z?))))
                .collect()
        };
        let mut formula = "donor.mass * donor.cg_height".to_owned();
        for term in moments(form, installed) {
            formula = format!("{formula} + {term}");
        }
        for term in moments(form, removed) {
            formula = format!("{formula} - {term}");
        }
        let cg_height = form.step("cg_height", "m", &format!("({formula}) / converted_mass"));
        Heights { donor, cg_height }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, donor_mass: Slot<Mass>, lists: [&[Item]; 2]) {
        let [removed, installed] = lists;
        let heights = |items: &[Item]| {
            items.iter().fold(MassMoment::from_si(0.0), |sum, item| match item.z {
                Some(z) => sum + mass_of(bench, item) * bench.get(z),
                None => sum,
            })
        };
        let total =
            |items: &[Item]| items.iter().fold(Mass::from_si(0.0), |sum, item| sum + mass_of(bench, item));
        let donor = bench.get(donor_mass);
        let mass = donor + total(installed) - total(removed);
        let moment = donor * bench.get(self.donor) + heights(installed) - heights(removed);
        bench.set(self.cg_height, moment / mass);
    }
}
