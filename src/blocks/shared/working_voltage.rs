//! The voltage that a block reckons with: the full voltage of a pack, or one that is written. One that is written is
//! held against the pack's.

use crate::model::{
    BlockName, FieldDoc, FieldSort, Form, Page, Range, RequirementRow, Slot, Stage, Taken, Takes,
};
use crate::quantities::si::{Capacitance, ElectricPotential};
use crate::quantities::sort;
use crate::words::words;

pub(in crate::blocks) const PACK: FieldDoc = FieldDoc::new(
    "pack",
    Takes::BlockName,
    "a pack, whose full voltage is taken; or `voltage`. Left out, a voltage is held against the journal's only pack",
)
.either();

pub(in crate::blocks) const VOLTAGE: FieldDoc = FieldDoc::new(
    "voltage",
    Takes::Quantity(&sort::VOLTAGE),
    "the highest that can occur, the charger's end voltage; or `pack`",
)
.either()
.range(Range::Positive)
.sort(FieldSort::Condition)
.principal();

/// In the place of one that is typed.
pub(in crate::blocks) static CAPACITANCE: Taken<Capacitance> =
    Taken::new("inverter", "capacitance").stands_for("capacitance");
pub(in crate::blocks) static FULL_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("pack", "full_voltage").stands_for("voltage");

/// Of the pack that a written voltage is held against.
pub(in crate::blocks) static PACK_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "full_voltage");

pub(in crate::blocks) static NOT_UNDER_PACK: RequirementRow = RequirementRow::safety("voltage", "voltage")
    .at_least("pack.full_voltage")
    .source("the pack's full voltage")
    .only_with(&["pack.full_voltage"]);

/// A working voltage, and what it was read from.
pub(in crate::blocks) struct WorkingVoltage {
    pub slot: Slot<ElectricPotential>,
    pub pack: Option<BlockName>,
    /// Of the pack, where the voltage was written.
    against: Option<Slot<ElectricPotential>>,
}

/// The one pack of the journal, as if the block had named it; `None` where there are none or several.
fn only_pack(form: &mut Form<'_, '_>) -> Option<BlockName> {
    let packs = form.lookup().blocks(&["pack-layout"], None);
    let [only] = packs.as_slice() else { return None };
    Some(BlockName { name: only.name.to_owned(), span: form.place, field: "pack".to_owned(), within: "" })
}

impl WorkingVoltage {
    /// Reads `pack` or the voltage under `key`, or both; formulas know it as `key`. `full` is the pack's full voltage
    /// in its stead. The finding is made where neither stands.
    pub(in crate::blocks) fn read(
        form: &mut Form<'_, '_>,
        key: &'static str,
        full: &'static Taken<ElectricPotential>,
    ) -> WorkingVoltage {
        let named = form.lookup().block_name("pack");
        if !form.has(key) {
            if named.is_none() {
                form.one_of(&["pack", key]);
            }
            let slot = form.lookup().taken(full, named.as_ref());
            return WorkingVoltage { slot, pack: named, against: None };
        }
        let slot = form.required(key);
        let pack = named.or_else(|| only_pack(form));
        let against = form.lookup().if_there(&PACK_VOLTAGE, pack.as_ref());
        WorkingVoltage { slot, pack, against }
    }

    /// What was judged at too low a voltage is open.
    pub(in crate::blocks) fn hold<'a>(
        &self,
        page: &mut Page<'_>,
        requirements: impl IntoIterator<Item = &'a str>,
    ) {
        let Some(against) = self.against else { return };
        let (Some(voltage), Some(full)) = (page.get(self.slot), page.get(against)) else { return };
        if voltage >= full * (1.0 - 1e-9) {
            return;
        }
        let reason = words!(
            "it was judged at {}, and the pack has {} when full",
            page.value(self.slot),
            page.value(against)
        );
        for name in requirements {
            page.hold_open(name, Stage::Plan, reason.clone());
        }
    }
}
