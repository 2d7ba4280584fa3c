//! What keeps a ledger's legal verdicts from being met: no load, no weighing of the finished vehicle, a ticket that
//! contradicts the ledger; and masses that can't be.

use super::MassLedger;
use crate::findings::codes;
use crate::model::{Leaf, Page, Slot, Stage};
use crate::quantities::Basis;
use crate::quantities::si::{Mass, Measure};
use crate::words::{Words, words};

/// Whether nobody chose or measured a load; of one that comes from elsewhere that is not known here.
fn is_guessed(leaf: Option<&Leaf>) -> bool {
    leaf.is_none_or(|leaf| matches!(leaf.basis, None | Some(Basis::Estimated | Basis::Assumed)))
}

/// Limits are held within this share of themselves.
const WITHIN: f64 = 1e-9;

/// In metres, of what can be registered for the road; common practice, no source.
const USUAL_WHEELBASE: [f64; 2] = [1.0, 8.0];

/// In kilograms, of a load: a driver at least, and a light one; common practice, no source.
const LEAST_LOAD: f64 = 50.0;

/// One legal requirement of the ledger.
struct Bound {
    requirement: &'static str,
    by_ledger: Slot<Mass>,
    by_ticket: Option<Slot<Mass>>,
    limit: Slot<Mass>,
    /// It is of the laden vehicle.
    laden: bool,
}

impl MassLedger {
    pub(super) fn hold(&self, page: &mut Page<'_>) {
        let bounds = self.bounds();
        let bounds: Vec<&Bound> = bounds.iter().filter(|bound| page.get(bound.limit).is_some()).collect();
        for bound in &bounds {
            self.hold_one(page, bound);
        }
        if let Some(weighed) = &self.weighed
            && page.get(weighed.difference).is_some()
            && page.get(weighed.normalised_error).is_none()
        {
            page.not_there(weighed.normalised_error, "neither ledger nor ticket has a tolerance");
        }
        let unweighed = bounds.iter().any(|bound| bound.by_ticket.is_none());
        if let Some((share, allowance)) = self.allowance.filter(|_| unweighed) {
            page.note(words!(
                "Until the finished vehicle is weighed (`weighed`), a legal verdict is met only if it also holds with {} on top, {} of what was installed: wiring, brackets and fluids that no item names.",
                page.value(allowance),
                page.value(share)
            ));
        }
        self.most_load(page);
    }

    fn bounds(&self) -> [Bound; 4] {
        let (limits, axles) = (self.given.limits, &self.axles);
        let ticket = self.weighed.as_ref();
        let of_axles = ticket.and_then(|weighed| weighed.axles.as_ref());
        let bound = |requirement, by_ledger, by_ticket, limit| {
            let laden = requirement != "converted_mass";
            Bound { requirement, by_ledger, by_ticket, limit, laden }
        };
        [
            bound(
                "converted_mass",
                self.totals.converted,
                ticket.map(|weighed| weighed.converted[0]),
                self.given.not_above,
            ),
            bound("laden_mass", self.totals.laden, ticket.map(|weighed| weighed.laden[0]), limits.gross),
            bound(
                "laden_front_axle",
                axles.laden_front,
                of_axles.map(|axles| axles.front[0]),
                limits.front_axle,
            ),
            bound("laden_rear_axle", axles.laden_rear, of_axles.map(|axles| axles.rear[0]), limits.rear_axle),
        ]
    }

    /// A miss is told as one, whatever else is missing; E above 1 leaves only what the ticket itself shows.
    fn hold_one(&self, page: &mut Page<'_>, bound: &Bound) {
        let Some(limit) = page.get(bound.limit).map(Measure::si) else { return };
        let over = |mass: f64| mass > limit * (1.0 + WITHIN);
        let value = |slot: Slot<Mass>| page.get(slot).map_or(f64::NAN, Measure::si);
        let by_ledger = value(bound.by_ledger);
        if bound.by_ticket.is_some_and(|slot| over(value(slot))) {
            return;
        }
        let ticket = self.weighed.as_ref();
        let error = ticket.and_then(|weighed| Some((weighed, page.get(weighed.normalised_error)?)));
        if let Some((weighed, _)) = error.filter(|(_, error)| error.value.abs() > 1.0) {
            let reason = words!(
                "ledger and ticket contradict each other by {}, a normalised error of {}: find what is missing or weighed wrong",
                page.value(weighed.difference),
                page.value(weighed.normalised_error)
            );
            return page.hold_open(bound.requirement, Stage::Build, reason);
        }
        if over(by_ledger) {
            return;
        }
        if let Some(reason) = self.unladen(page).filter(|_| bound.laden) {
            return page.hold_open(bound.requirement, Stage::Plan, reason);
        }
        let missing = || self.packs.missing(page, &self.given.installed);
        if let Some(reason) = bound.by_ticket.is_none().then(missing).flatten() {
            return page.hold_close(bound.requirement, reason);
        }
        let Some((share, allowance)) = self.allowance.filter(|_| bound.by_ticket.is_none()) else { return };
        if over(by_ledger + value(allowance)) {
            let reason = words!(
                "not with {} on top, {} of what was installed, as long as the finished vehicle is not weighed",
                page.value(allowance),
                page.value(share)
            );
            page.hold_close(bound.requirement, reason);
        }
    }

    /// Why what is judged as laden is not; a ticket that says so is.
    pub(super) fn unladen(&self, page: &Page<'_>) -> Option<Words> {
        if self.weighed.as_ref().is_some_and(|weighed| weighed.ticket.laden) {
            return None;
        }
        match self.totals.load {
            None => Some("`load` is not given: people and cargo that the vehicle is judged with".into()),
            Some(load) => page
                .get(load)
                .filter(|load| load.si() < LEAST_LOAD)
                .map(|_| words!("a load of {} is no driver: look at its unit and digits", page.value(load))),
        }
    }

    /// The laden verdicts are for the load that is given.
    fn most_load(&self, page: &mut Page<'_>) {
        let (Some(load), Some(room)) = (self.totals.load, page.get(self.totals.gross_room)) else { return };
        if let Some(total) = page.get(load) {
            let most = page.value_as(load, (total + room).si().max(0.0));
            page.note(words!(
                "The laden verdicts are for this load, {}: by the gross mass at most {} may be loaded.",
                page.value(load),
                most.clone()
            ));
            if self.given.load.iter().any(|item| is_guessed(page.nodes[item.mass.index()].leaf())) {
                for requirement in ["laden_mass", "laden_front_axle", "laden_rear_axle"] {
                    let load = page.value(load);
                    page.say_besides(
                        requirement,
                        words!(
                            "for this load, {}; by the gross mass at most {} may be loaded",
                            load,
                            most.clone()
                        ),
                    );
                }
            }
        }
    }

    /// A digit too many makes every axle mild or hard.
    fn unusual_wheelbase(&self, page: &mut Page<'_>) {
        let at = self.given.wheelbase;
        if page
            .get(at)
            .is_some_and(|length| !(USUAL_WHEELBASE[0]..=USUAL_WHEELBASE[1]).contains(&length.si()))
        {
            let message = words!("a wheelbase of {}, where 1 m to 8 m are usual", page.value(at));
            page.find(&codes::OUT_OF_RANGE, at.index(), message, "look at the unit and the digits");
        }
    }

    /// No axle carries more than the whole: a rating that says so has a digit too many.
    fn axle_rating_above_gross(&self, page: &mut Page<'_>) {
        let limits = self.given.limits;
        let Some(gross) = page.get(limits.gross) else { return };
        let above = |slot: &Slot<Mass>| page.get(*slot).is_some_and(|axle| axle.si() > gross.si());
        let Some(axle) = [limits.front_axle, limits.rear_axle].into_iter().find(above) else { return };
        let message = words!(
            "an axle's limit of {}, where {} is the whole's",
            page.value(axle),
            page.value(limits.gross)
        );
        page.find(&codes::OUT_OF_RANGE, axle.index(), message, "look at the digits of both on the plate");
    }

    /// An axle of the ticket that weighs more than the whole.
    fn axle_above_ticket(&self, page: &mut Page<'_>) {
        let Some(ticket) = self.weighed.as_ref().map(|weighed| &weighed.ticket) else { return };
        let Some(whole) = page.get(ticket.mass) else { return };
        let above = |slot: &Slot<Mass>| page.get(*slot).is_some_and(|axle| axle.si() > whole.si());
        let Some(axle) = [ticket.front, ticket.rear].into_iter().flatten().find(above) else { return };
        let message = words!("an axle of {} on a ticket of {}", page.value(axle), page.value(ticket.mass));
        let help = "look at the ticket again: an axle weighs less than the whole";
        page.find(&codes::OUT_OF_RANGE, axle.index(), message, help);
    }

    /// No vehicle and no axle weighs less than nothing.
    pub(super) fn below_nothing(&self, page: &mut Page<'_>) {
        let axles = &self.axles;
        let masses = [
            (Some(self.totals.converted), "the converted mass"),
            (axles.derived, "the donor's other axle"),
            (Some(axles.front), "the front axle"),
            (Some(axles.rear), "the rear axle"),
            (Some(axles.laden_front), "the laden front axle"),
            (Some(axles.laden_rear), "the laden rear axle"),
        ];
        self.axle_above_ticket(page);
        self.unusual_wheelbase(page);
        self.axle_rating_above_gross(page);
        let below = |slot: Slot<Mass>| page.get(slot).is_some_and(|mass| mass.si() < 0.0);
        let found =
            masses.into_iter().find_map(|(slot, what)| Some((slot.filter(|slot| below(*slot))?, what)));
        if let Some((slot, what)) = found {
            let message: Words = words!("{} comes out at {}, less than nothing", what, page.value(slot));
            let help = "look at the masses and at `x` of each item: behind the front axle, negative only ahead of it";
            page.find(&codes::OUT_OF_RANGE, self.given.donor.mass.index(), message, help);
        }
    }
}
