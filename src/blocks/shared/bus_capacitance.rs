//! The capacitance of all that hangs on the bus: one that is written, or that of the inverter. What a part of the
//! journal has by itself is the least that there is.

use super::known_parts::KnownPart;
use crate::model::{BlockName, FieldDoc, Form, Page, Range, Slot, Stage, Taken, Takes};
use crate::quantities::si::Capacitance;
use crate::quantities::sort;
use crate::words::words;

pub(in crate::blocks) const INVERTER: FieldDoc = FieldDoc::new(
    "inverter",
    Takes::BlockName,
    "a part with the `capacitance` of all that hangs on the bus, where none is typed here",
)
.optional();

pub(in crate::blocks) const CAPACITANCE: FieldDoc = FieldDoc::new(
    "capacitance",
    Takes::Quantity(&sort::CAPACITANCE),
    "of all that hangs on the bus; no less than any part of the journal has",
)
.usual(50e-6, 0.02)
.either()
.range(Range::Positive);

/// In the place of one that is typed.
pub(in crate::blocks) static OF_INVERTER: Taken<Capacitance> =
    Taken::new("inverter", "capacitance").stands_for("capacitance");

/// Of each part that has one, by its name in the place of the field's.
pub(in crate::blocks) static OF_PART: Taken<Capacitance> = Taken::new("part", "capacitance");

pub(in crate::blocks) struct BusCapacitance {
    pub slot: Slot<Capacitance>,
    parts: Vec<(String, Slot<Capacitance>)>,
}

impl BusCapacitance {
    pub(in crate::blocks) fn read(form: &mut Form<'_, '_>) -> BusCapacitance {
        let inverter = form.lookup().block_name("inverter");
        let slot = form.own_or_parts(&OF_INVERTER, inverter.as_ref());
        let (place, known) = (form.place, KnownPart::all(form));
        let named = known.iter().map(|part| BlockName::found(&part.name, place));
        let of = |part: BlockName| Some((part.name.clone(), form.lookup().if_there(&OF_PART, Some(&part))?));
        BusCapacitance { slot, parts: named.filter_map(of).collect() }
    }

    /// What was judged with less than one part has by itself is open.
    pub(in crate::blocks) fn hold<'a>(
        &self,
        page: &mut Page<'_>,
        requirements: impl IntoIterator<Item = &'a str>,
    ) {
        let Some(own) = page.get(self.slot) else { return };
        let above = |(_, part): &&(String, Slot<Capacitance>)| {
            page.get(*part).is_some_and(|part| own < part * (1.0 - 1e-9))
        };
        let Some((name, part)) = self.parts.iter().find(above) else { return };
        let reason = words!(
            "it was judged with {} on the bus, and `{}` alone has {}",
            page.value(self.slot),
            name.as_str(),
            page.value(*part)
        );
        for name in requirements {
            page.hold_open(name, Stage::Plan, reason.clone());
        }
    }
}
