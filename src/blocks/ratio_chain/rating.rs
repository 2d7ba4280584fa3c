//! What a tyre bears and how fast it may turn, by its sheet or by load index and speed symbol behind its size.

use super::results::{FRONT_TYRE_LIMIT, FRONT_TYRE_LOAD, REAR_TYRE_LIMIT, REAR_TYRE_LOAD, TYRE_SPEED_LIMIT};
use super::size::Service;
use crate::findings::codes;
use crate::model::{Bench, Form, Leaf, Outcomes, Page, Slot, Stage, Taken};
use crate::quantities::si::{Mass, Measure, Velocity};
use crate::rules::table;
use crate::words::words;

pub(super) static FRONT: Taken<Mass> = Taken::new("ledger", "laden_front_axle");
pub(super) static REAR: Taken<Mass> = Taken::new("ledger", "laden_rear_axle");
pub(super) static HEAVIER_FRONT: Taken<Mass> = Taken::new("ledger", "heavier_laden_front_axle");
pub(super) static HEAVIER_REAR: Taken<Mass> = Taken::new("ledger", "heavier_laden_rear_axle");

/// The laden axles, and what they put on one tyre.
pub(super) struct Rating {
    axles: [Option<Slot<Mass>>; 2],
    loads: [Slot<Mass>; 2],
    /// Whether the ledger knows what the vehicle is laden with.
    laden: bool,
}

/// The laden axles of the ledger that is named: the heavier of ledger and ticket where it was weighed.
pub(super) struct Axles {
    slots: [Option<Slot<Mass>>; 2],
    laden: bool,
}

/// Declares the ratings as fields of this block.
pub(super) fn read(form: &mut Form<'_, '_>, service: &Service) -> Axles {
    by_code::<Mass>(form, "tyre_load_rating", (service.load_index.as_deref(), "tyre_load_index", "load"));
    by_code::<Velocity>(
        form,
        "tyre_speed_rating",
        (service.speed_symbol.as_deref(), "tyre_speed_symbol", "speed"),
    );
    let ledger = form.lookup().block_name("ledger");
    let ledger = ledger.as_ref();
    let weighed = form.lookup().has(ledger, "weighed");
    let laden = weighed || form.lookup().has(ledger, "load");
    let rows = if weighed { [&HEAVIER_FRONT, &HEAVIER_REAR] } else { [&FRONT, &REAR] };
    let slots = rows.map(|row| form.lookup().if_there(row, ledger));
    Axles { slots, laden }
}

/// A rating as it is typed, or by what stands behind the size.
fn by_code<T: Measure>(
    form: &mut Form<'_, '_>,
    key: &'static str,
    (mark, name, column): (Option<&str>, &'static str, &'static str),
) {
    let typed = form.optional::<T>(key).is_some();
    let Some(mark) = mark else { return };
    let at = form.place_of("tyre");
    if typed {
        let message = words!("`{}` beside a size that says `{}`", key, mark);
        form.report(&codes::BAD_VALUE, form.place_of(key), message, "keep one of them");
        return;
    }
    let table = table(name);
    match table.row(mark) {
        Some(row) => {
            form.put::<T>(key, at, Leaf::ruled(table.cell(row, column), &table.source));
        }
        None => {
            let message = words!("no {} of a tyre is known for `{}`", column, mark);
            let help = words!("look at the sidewall, or type `{}: …`", key);
            form.report(&codes::NOT_IN_TABLE, at, message, help);
        }
    }
}

impl Rating {
    pub(super) fn declare(out: &mut Outcomes<'_, '_, '_>, axles: Axles) -> Rating {
        let [front, rear] = axles.slots;
        let name = |slot: Option<Slot<Mass>>, missing: &str| {
            slot.map_or_else(|| missing.to_owned(), |slot| out.names_of([slot]))
        };
        let names = [name(front, "ledger.laden_front_axle"), name(rear, "ledger.laden_rear_axle")];
        let [front, rear] = names;
        let loads =
            [out.result(FRONT_TYRE_LOAD.with("AXLE", front)), out.result(REAR_TYRE_LOAD.with("AXLE", rear))];
        out.require(&TYRE_SPEED_LIMIT);
        out.require(&FRONT_TYRE_LIMIT);
        out.require(&REAR_TYRE_LIMIT);
        Rating { axles: axles.slots, loads, laden: axles.laden }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) {
        for (axle, load) in self.axles.into_iter().zip(self.loads) {
            let axle = axle.map_or(Mass::from_si(f64::NAN), |axle| bench.get(axle));
            bench.set(load, axle / 2.0);
        }
    }

    pub(super) fn present(&self, page: &mut Page<'_>) {
        if !self.laden && self.loads.iter().any(|load| page.get(*load).is_some()) {
            for requirement in ["front_tyre_load", "rear_tyre_load"] {
                page.hold_open(
                    requirement,
                    Stage::Plan,
                    "the ledger has no `load`: its axles are those of the empty vehicle",
                );
            }
        }
    }
}
