//! The ticket of the finished vehicle beside the ledger: how far apart they are, and what is judged by the heavier.

use super::results::{
    HEAVIER_CONVERTED, HEAVIER_FRONT, HEAVIER_LADEN, HEAVIER_REAR, NORMALISED_ERROR, TICKET_CONVERTED,
    TICKET_CONVERTED_LADEN, TICKET_FRONT, TICKET_FRONT_ALONE, TICKET_FRONT_WITH_LOAD, TICKET_LADEN,
    TICKET_LADEN_WITH_LOAD, TICKET_REAR, TICKET_REAR_ALONE, TICKET_REAR_WITH_LOAD, WEIGHED_DIFFERENCE,
    WEIGHED_DIFFERENCE_LADEN,
};
use crate::findings::codes;
use crate::model::{Bench, Form, Outcomes, Regard, Row, Slot};
use crate::quantities::si::{Mass, Measure, Ratio};
use crate::words::words;

/// As it was weighed.
pub(super) struct Ticket {
    pub(super) mass: Slot<Mass>,
    pub(super) front: Option<Slot<Mass>>,
    pub(super) rear: Option<Slot<Mass>>,
    /// With the load aboard.
    pub(super) laden: bool,
}

pub(super) struct Weighed {
    pub(super) ticket: Ticket,
    pub(super) difference: Slot<Mass>,
    pub(super) normalised_error: Slot<Ratio>,
    /// By the ticket, and by the heavier of ledger and ticket.
    pub(super) converted: [Slot<Mass>; 2],
    pub(super) laden: [Slot<Mass>; 2],
    /// Where the ticket has an axle.
    pub(super) axles: Option<TicketAxles>,
}

pub(super) struct TicketAxles {
    pub(super) front: [Slot<Mass>; 2],
    pub(super) rear: [Slot<Mass>; 2],
}

/// What the ledger has beside the ticket.
#[derive(Clone, Copy)]
pub(super) struct Beside {
    pub(super) load: bool,
    pub(super) axles: bool,
}

/// In the ledger, each of the whole or an axle: what the ticket is held against.
pub(super) struct Ledger {
    pub(super) converted: Mass,
    pub(super) load: Mass,
    pub(super) laden: Mass,
    /// What the load puts on the axles.
    pub(super) load_on: [Mass; 2],
    pub(super) laden_axles: [Mass; 2],
}

impl Ticket {
    pub(super) fn read(form: &mut Form<'_, '_>) -> Ticket {
        {
            let source = form.text("source");
            form.regard(Regard::Measured(source));
            let mass = form.required("mass");
            if !form.has("source") && form.node(mass).leaf().is_some_and(|leaf| leaf.source.is_none()) {
                let (place, help) =
                    (form.place, "type `source: …`, the id of its ticket in a `sources` block");
                form.report(&codes::MISSING_FIELD, place, words!("`weighed` without `source`"), help);
            }
            let (front, rear) = (form.optional("front_axle"), form.optional("rear_axle"));
            let laden = form.has("laden") && form.choice("laden", &["yes", "no"]) == Some("yes");
            Ticket { mass, front, rear, laden }
        }
    }
}

impl Weighed {
    pub(super) fn declare(out: &mut Outcomes<'_, '_, '_>, ticket: Ticket, beside: Beside) -> Weighed {
        let laden = ticket.laden;
        let difference = out.result(if laden { &WEIGHED_DIFFERENCE_LADEN } else { &WEIGHED_DIFFERENCE });
        let normalised_error = out.procedure(&NORMALISED_ERROR, &[difference.index()]);
        let converted = out.result(if laden { &TICKET_CONVERTED_LADEN } else { &TICKET_CONVERTED });
        let with_load = beside.load && !laden;
        let on_ticket = out.result(if with_load { &TICKET_LADEN_WITH_LOAD } else { &TICKET_LADEN });
        let axles = (ticket.front.is_some() || ticket.rear.is_some()).then(|| {
            let front = out.result(if with_load { &TICKET_FRONT_WITH_LOAD } else { &TICKET_FRONT }.with(
                "FRONT",
                axle_of(ticket.front, ["weighed.front_axle", "weighed.mass - weighed.rear_axle"]),
            ));
            let rear = out.result(if with_load { &TICKET_REAR_WITH_LOAD } else { &TICKET_REAR }.with(
                "REAR",
                axle_of(ticket.rear, ["weighed.rear_axle", "weighed.mass - weighed.front_axle"]),
            ));
            let heavier = |both: &'static Row<Mass>, alone| if beside.axles { both } else { alone };
            TicketAxles {
                front: [front, out.result(heavier(&HEAVIER_FRONT, &TICKET_FRONT_ALONE))],
                rear: [rear, out.result(heavier(&HEAVIER_REAR, &TICKET_REAR_ALONE))],
            }
        });
        Weighed {
            ticket,
            difference,
            normalised_error,
            converted: [converted, out.result(&HEAVIER_CONVERTED)],
            laden: [on_ticket, out.result(&HEAVIER_LADEN)],
            axles,
        }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, ledger: &Ledger) {
        let Ticket { mass, front, rear, laden } = self.ticket;
        let mass = bench.get(mass);
        let (empty, full) = if laden { (mass - ledger.load, mass) } else { (mass, mass + ledger.load) };
        bench.set(self.difference, mass - if laden { ledger.laden } else { ledger.converted });
        for (slots, ticket, by_ledger) in
            [(self.converted, empty, ledger.converted), (self.laden, full, ledger.laden)]
        {
            bench.set(slots[0], ticket);
            bench.set(slots[1], heavier(by_ledger, ticket));
        }
        let Some(axles) = &self.axles else { return };
        let (front, rear) = (front.map(|slot| bench.get(slot)), rear.map(|slot| bench.get(slot)));
        let front_mass = front.unwrap_or_else(|| mass - rear.unwrap_or(mass));
        let rear_mass = rear.unwrap_or(mass - front_mass);
        let loads = if laden { [Mass::from_si(0.0); 2] } else { ledger.load_on };
        for (at, (slots, ticket)) in
            [(axles.front, front_mass), (axles.rear, rear_mass)].into_iter().enumerate()
        {
            let ticket = ticket + loads[at];
            bench.set(slots[0], ticket);
            // Without axles of the ledger the ticket's stand alone.
            let by_ledger = ledger.laden_axles[at];
            bench.set(slots[1], if by_ledger.si().is_nan() { ticket } else { heavier(by_ledger, ticket) });
        }
    }
}

fn axle_of(weighed: Option<Slot<Mass>>, [own, rest]: [&'static str; 2]) -> &'static str {
    if weighed.is_some() { own } else { rest }
}

/// `f64::max` would pass over what is not known.
fn heavier(a: Mass, b: Mass) -> Mass {
    if a.si() > b.si() || a.si().is_nan() { a } else { b }
}
