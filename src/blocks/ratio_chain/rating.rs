//! What a tyre bears and how fast it may turn, by its sheet or by load index and speed symbol behind its size.

use super::UNUSUAL_WHEEL;
use super::results::{
    FRONT_TYRE_LIMIT, FRONT_TYRE_LOAD, REAR_TYRE_LIMIT, REAR_TYRE_LOAD, TWIN_TYRE_LIMIT, TWIN_TYRE_LOAD,
    TYRE_SPEED_LIMIT,
};
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
    rear: Rear,
    /// Whether the ledger knows what the vehicle is laden with.
    laden: bool,
}

/// The laden axles of the ledger that is named: the heavier of ledger and ticket where it was weighed.
pub(super) struct Axles {
    slots: [Option<Slot<Mass>>; 2],
    laden: bool,
    rear: Rear,
}

/// How many tyres the rear axle stands on.
enum Rear {
    Single,
    /// What a tyre bears alone and beside another.
    Twin([Option<Slot<Mass>>; 2]),
}

/// Declares the ratings as fields of this block.
pub(super) fn read(form: &mut Form<'_, '_>, service: &Service) -> Axles {
    let index = |mark: &Option<String>| mark.clone().map(|mark| (mark, "tyre_load_index", "load"));
    let alone = by_code::<Mass>(form, "tyre_load_rating", index(&service.load_index));
    let rear = match form.choice("rear_tyres", &["single", "twin"]) {
        Some("twin") => {
            Rear::Twin([alone, by_code(form, "tyre_twin_load_rating", index(&service.twin_load_index))])
        }
        _ => {
            form.optional::<Mass>("tyre_twin_load_rating");
            Rear::Single
        }
    };
    let symbol = service.speed_symbol.clone().map(|mark| (mark, "tyre_speed_symbol", "speed"));
    by_code::<Velocity>(form, "tyre_speed_rating", symbol);
    let ledger = form.lookup().block_name("ledger");
    let ledger = ledger.as_ref();
    let weighed = form.lookup().has(ledger, "weighed");
    let laden = weighed || form.lookup().has(ledger, "load");
    let rows = if weighed { [&HEAVIER_FRONT, &HEAVIER_REAR] } else { [&FRONT, &REAR] };
    let slots = rows.map(|row| form.lookup().if_there(row, ledger));
    Axles { slots, laden, rear }
}

/// A rating as it is typed, or by what stands behind the size: a mark with the table and the column that it is of.
fn by_code<T: Measure>(
    form: &mut Form<'_, '_>,
    key: &'static str,
    mark: Option<(String, &'static str, &'static str)>,
) -> Option<Slot<T>> {
    let typed = form.optional::<T>(key);
    let Some((mark, name, column)) = mark else { return typed };
    let at = form.place_of("tyre");
    if typed.is_some() {
        let message = words!("`{}` beside a size that says `{}`", key, mark);
        form.report(&codes::BAD_VALUE, form.place_of(key), message, "keep one of them");
        return None;
    }
    let table = table(name);
    match table.row(&mark) {
        Some(row) => Some(form.put::<T>(key, at, Leaf::ruled(table.cell(row, column), &table.source))),
        None => {
            let message = words!("no {} of a tyre is known for `{}`", column, mark);
            let help = words!("look at the sidewall, or type `{}: …`", key);
            form.report(&codes::NOT_IN_TABLE, at, message, help);
            None
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
        let (rear_row, rear_limit) = match axles.rear {
            Rear::Single => (&REAR_TYRE_LOAD, &REAR_TYRE_LIMIT),
            Rear::Twin(_) => (&TWIN_TYRE_LOAD, &TWIN_TYRE_LIMIT),
        };
        let loads =
            [out.result(FRONT_TYRE_LOAD.with("AXLE", front)), out.result(rear_row.with("AXLE", rear))];
        out.require(&TYRE_SPEED_LIMIT);
        out.require(&FRONT_TYRE_LIMIT);
        out.require(rear_limit);
        Rating { axles: axles.slots, loads, rear: axles.rear, laden: axles.laden }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) {
        let rear = if matches!(self.rear, Rear::Twin(_)) { 4.0 } else { 2.0 };
        for ((axle, load), tyres) in self.axles.into_iter().zip(self.loads).zip([2.0, rear]) {
            let axle = axle.map_or(Mass::from_si(f64::NAN), |axle| bench.get(axle));
            bench.set(load, axle / tyres);
        }
    }

    pub(super) fn present(&self, page: &mut Page<'_>) {
        if let Rear::Twin([Some(alone), Some(twin)]) = self.rear
            && page.get(twin).zip(page.get(alone)).is_some_and(|(twin, alone)| twin > alone)
        {
            let message =
                words!("a tyre bears {} beside another and {} alone", page.value(twin), page.value(alone));
            let help = "the first load index is that of a tyre alone, the second that of one of two, which bears less: look whether they are mixed up";
            page.find(&UNUSUAL_WHEEL, twin.index(), message, help);
            page.question(alone);
            page.question(twin);
        }
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
