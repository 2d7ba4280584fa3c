//! The least share of the laden vehicle that its front axle is to carry.

use super::results::{LADEN_FRONT_SHARE, LADEN_SHARE_BY_BOTH, LADEN_SHARE_BY_TICKET};
use super::ticket::{Beside, Weighed};
use super::{MassLedger, OnAxles};
use crate::model::{Bench, Form, Page, Slot, Stage};
use crate::quantities::si::{Mass, Measure, Ratio, ratio};
use crate::words::words;

pub(super) struct FrontShare {
    least: Slot<Ratio>,
    /// The lower of ledger and ticket.
    laden: Slot<Ratio>,
}

impl FrontShare {
    pub(super) fn read(form: &mut Form<'_, '_>, (weighed, beside): (Option<&Weighed>, Beside)) -> FrontShare {
        let least = form.if_given("least_front_share");
        let by_ticket = weighed.is_some_and(|weighed| weighed.axles.is_some());
        let row = match (by_ticket, beside.axles) {
            (false, _) => &LADEN_FRONT_SHARE,
            (true, true) => &LADEN_SHARE_BY_BOTH,
            (true, false) => &LADEN_SHARE_BY_TICKET,
        };
        FrontShare { least, laden: form.outcomes().result(row) }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, (weighed, ledger): (Option<&Weighed>, &OnAxles)) {
        let of = |[front, rear]: [Mass; 2]| front / (front + rear);
        let by_ledger = of(ledger.laden);
        let ticket = weighed.and_then(|weighed| weighed.axles.as_ref());
        let by_ticket = ticket.map(|axles| of([axles.front[0], axles.rear[0]].map(|slot| bench.get(slot))));
        let lower = match by_ticket {
            Some(ticket) if ticket < by_ledger || by_ledger.si().is_nan() => ticket,
            _ => by_ledger,
        };
        bench.set(self.laden, lower);
    }
}

impl MassLedger {
    /// A share of another vehicle than the one that drives is not judged.
    pub(super) fn hold_share(&self, page: &mut Page<'_>) {
        let share = &self.front_share;
        let (Some(least), Some(laden)) = (page.get(share.least), page.get(share.laden)) else { return };
        if laden < least * ratio(1.0 - 1e-9) {
            return;
        }
        let ticket = self.weighed.as_ref();
        if let Some(reason) = self.unladen(page) {
            page.hold_open("laden_front_share", Stage::Plan, reason);
        }
        let error = ticket.and_then(|weighed| page.get(weighed.normalised_error));
        if error.is_some_and(|error| error.value.abs() > 1.0) {
            let reason = words!("ledger and ticket contradict each other");
            page.hold_open("laden_front_share", Stage::Build, reason);
        }
    }
}
