//! The axle loads and the centre of gravity of a mass ledger: statics on two axles. An item of mass m at x behind the
//! front axle puts m x / wheelbase on the rear one.

use super::items::{Along, add_up, moment, moments};
use super::results::{
    ABOARD_HEIGHT, ABOARD_MOMENT, CG_HEIGHT, CG_HEIGHT_WITHOUT, CG_X, DONOR_CG_X, DONOR_FRONT, DONOR_REAR,
    FRONT_AXLE, FRONT_ROOM, FRONT_SHARE, FRONT_WITHOUT, INSTALLED_HEIGHT, INSTALLED_MOMENT, LADEN_CG_HEIGHT,
    LADEN_FRONT, LADEN_FRONT_WITH_LOAD, LADEN_REAR, LADEN_REAR_WITH_LOAD, LOAD_HEIGHT, LOAD_MOMENT,
    MOMENT_CHANGE, MOMENT_WITHOUT, REAR_AXLE, REAR_ROOM, REMOVED_HEIGHT, REMOVED_MOMENT,
};
use super::{Given, Limits};
use crate::model::{Bench, Outcomes, Slot};
use crate::quantities::si::{Length, Mass, MassMoment, Measure, Ratio};

/// Without wheelbase, donor axle or a position its results are not there.
pub(super) struct Axles {
    /// The axle that was not weighed.
    pub(super) derived: Option<Slot<Mass>>,
    installed: Slot<MassMoment>,
    removed: Slot<MassMoment>,
    aboard: Option<Slot<MassMoment>>,
    change: Slot<MassMoment>,
    pub(super) front: Slot<Mass>,
    pub(super) rear: Slot<Mass>,
    front_share: Slot<Ratio>,
    /// Of the donor, and after the conversion.
    pub(super) cg_x: [Slot<Length>; 2],
    load: Option<Slot<MassMoment>>,
    pub(super) laden_front: Slot<Mass>,
    pub(super) laden_rear: Slot<Mass>,
    front_room: Slot<Mass>,
    rear_room: Slot<Mass>,
}

impl Axles {
    pub(super) fn declare(out: &mut Outcomes<'_, '_, '_>, given: &Given) -> Axles {
        let donor = &given.donor;
        let derived = match (donor.front, donor.rear) {
            (Some(_), None) => Some(out.result(&DONOR_REAR)),
            (None, Some(_)) => Some(out.result(&DONOR_FRONT)),
            _ => None,
        };
        let name = |slot: Option<Slot<Mass>>, key: &str| {
            slot.or(derived).map_or_else(|| format!("donor.{key}"), |slot| out.names_of([slot]))
        };
        let (mut front, mut rear) = (name(donor.front, "front_axle"), name(donor.rear, "rear_axle"));
        for (axle, gap) in [&mut front, &mut rear].into_iter().zip(donor.gap.into_iter().flatten()) {
            *axle = format!("{axle} + {}", out.names_of([gap]));
        }
        let there = !donor.aboard.is_empty();
        let donor_cg_x = out.result(DONOR_CG_X.with("FRONT", &front).with("REAR", &rear));
        let each = |out: &Outcomes<'_, '_, '_>, items| moments(out, items, Along::X);
        let installed = out.result(INSTALLED_MOMENT.with("MOMENTS", each(out, &given.installed)));
        let removed = out.result(REMOVED_MOMENT.with("MOMENTS", each(out, &given.removed)));
        let aboard = there.then(|| out.result(ABOARD_MOMENT.with("MOMENTS", each(out, &donor.aboard))));
        let change = out.result(if there { &MOMENT_WITHOUT } else { &MOMENT_CHANGE });
        let front = out.result(if there { &FRONT_WITHOUT } else { &FRONT_AXLE }.with("FRONT", front));
        let rear = out.result(REAR_AXLE.with("REAR", rear));
        let loaded = !given.load.is_empty();
        Axles {
            derived,
            installed,
            removed,
            aboard,
            change,
            front,
            rear,
            front_share: out.result(&FRONT_SHARE),
            cg_x: [donor_cg_x, out.result(&CG_X)],
            load: loaded.then(|| out.result(LOAD_MOMENT.with("MOMENTS", each(out, &given.load)))),
            laden_front: out.result(if loaded { &LADEN_FRONT_WITH_LOAD } else { &LADEN_FRONT }),
            laden_rear: out.result(if loaded { &LADEN_REAR_WITH_LOAD } else { &LADEN_REAR }),
            front_room: out.result(&FRONT_ROOM),
            rear_room: out.result(&REAR_ROOM),
        }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, given: &Given) -> OnAxles {
        let donor = &given.donor;
        let wheelbase = bench.get(given.wheelbase);
        let mass = bench.get(donor.mass);
        let (front, rear) = match (donor.front.map(|f| bench.get(f)), donor.rear.map(|r| bench.get(r))) {
            (Some(front), Some(rear)) => (front, rear),
            (Some(front), None) => (front, mass - front),
            (None, Some(rear)) => (mass - rear, rear),
            (None, None) => (Mass::from_si(f64::NAN), Mass::from_si(f64::NAN)),
        };
        if let Some(slot) = self.derived {
            bench.set(slot, if donor.rear.is_none() { rear } else { front });
        }
        let [front, rear] = match donor.gap {
            Some(gap) => [front + bench.get(gap[0]), rear + bench.get(gap[1])],
            None => [front, rear],
        };
        bench.set(self.cg_x[0], rear / (front + rear) * wheelbase);
        let installed = moment(bench, &given.installed, Along::X);
        let removed = moment(bench, &given.removed, Along::X);
        let aboard = moment(bench, &donor.aboard, Along::X);
        bench.set(self.installed, installed);
        bench.set(self.removed, removed);
        if let Some(slot) = self.aboard {
            bench.set(slot, aboard);
        }
        let change = installed - removed - aboard;
        bench.set(self.change, change);
        let shift: Mass = change / wheelbase;
        let net =
            add_up(bench, &given.installed) - add_up(bench, &given.removed) - add_up(bench, &donor.aboard);
        let (front, rear) = (front + net - shift, rear + shift);
        bench.set(self.front, front);
        bench.set(self.rear, rear);
        bench.set(self.front_share, front / (front + rear));
        bench.set(self.cg_x[1], rear / (front + rear) * wheelbase);
        let load_moment = moment(bench, &given.load, Along::X);
        if let Some(slot) = self.load {
            bench.set(slot, load_moment);
        }
        let on_rear = match given.load.as_slice() {
            [] => Mass::from_si(0.0),
            _ => load_moment / wheelbase,
        };
        let on_front = add_up(bench, &given.load) - on_rear;
        let (laden_front, laden_rear) = (front + on_front, rear + on_rear);
        bench.set(self.laden_front, laden_front);
        bench.set(self.laden_rear, laden_rear);
        let Limits { front_axle, rear_axle, .. } = given.limits;
        bench.set(self.front_room, bench.get(front_axle) - laden_front);
        bench.set(self.rear_room, bench.get(rear_axle) - laden_rear);
        OnAxles { laden: [laden_front, laden_rear], load: [on_front, on_rear] }
    }
}

/// What stands on front and rear axle.
#[derive(Clone, Copy)]
pub(super) struct OnAxles {
    pub(super) laden: [Mass; 2],
    /// Of the load alone.
    pub(super) load: [Mass; 2],
}

/// The height of the centre of gravity from the heights of what goes and comes. Only a donor with one has them.
pub(super) struct Heights {
    pub(super) donor: Slot<Length>,
    installed: Slot<MassMoment>,
    removed: Slot<MassMoment>,
    aboard: Option<Slot<MassMoment>>,
    pub(super) cg_height: Slot<Length>,
    /// With the load.
    laden: Option<(Slot<MassMoment>, Slot<Length>)>,
}

impl Heights {
    pub(super) fn declare(out: &mut Outcomes<'_, '_, '_>, given: &Given) -> Option<Heights> {
        let donor = given.donor.cg_height?;
        let aboard = &given.donor.aboard;
        let there = !aboard.is_empty();
        let each = |out: &Outcomes<'_, '_, '_>, items| moments(out, items, Along::Z);
        Some(Heights {
            donor,
            installed: out.result(INSTALLED_HEIGHT.with("MOMENTS", each(out, &given.installed))),
            removed: out.result(REMOVED_HEIGHT.with("MOMENTS", each(out, &given.removed))),
            aboard: there.then(|| out.result(ABOARD_HEIGHT.with("MOMENTS", each(out, aboard)))),
            cg_height: out.result(if there { &CG_HEIGHT_WITHOUT } else { &CG_HEIGHT }),
            laden: (!given.load.is_empty()).then(|| {
                let load = out.result(LOAD_HEIGHT.with("MOMENTS", each(out, &given.load)));
                (load, out.result(&LADEN_CG_HEIGHT))
            }),
        })
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, given: &Given, [converted, laden]: [Mass; 2]) {
        let installed = moment(bench, &given.installed, Along::Z);
        let removed = moment(bench, &given.removed, Along::Z);
        let aboard = moment(bench, &given.donor.aboard, Along::Z);
        bench.set(self.installed, installed);
        bench.set(self.removed, removed);
        if let Some(slot) = self.aboard {
            bench.set(slot, aboard);
        }
        let donor = bench.get(given.donor.mass) * bench.get(self.donor);
        let empty = donor + installed - removed - aboard;
        bench.set(self.cg_height, empty / converted);
        if let Some((moment_of_load, height)) = self.laden {
            let load = moment(bench, &given.load, Along::Z);
            bench.set(moment_of_load, load);
            bench.set(height, (empty + load) / laden);
        }
    }
}
