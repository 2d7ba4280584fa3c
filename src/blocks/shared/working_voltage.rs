//! The voltage that a block reckons with: the full voltage of a pack, or one that is written. One that is written is
//! held against the pack's.

use crate::model::{
    BlockName, FieldDoc, FieldSort, Form, Looked, Page, Purpose, Range, RequirementRow, Slot, Stage, Taken,
    Takes,
};
use crate::quantities::si::ElectricPotential;
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

pub(in crate::blocks) static FULL_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("pack", "full_voltage").purpose(Purpose::Dc).stands_for("voltage");

/// Of the pack that a written voltage is held against.
pub(in crate::blocks) static PACK_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("pack", "full_voltage").purpose(Purpose::Dc);

pub(in crate::blocks) static NOT_UNDER_PACK: RequirementRow = RequirementRow::safety("voltage", "voltage")
    .at_least("pack.full_voltage")
    .source("the pack's full voltage")
    .only_with(&["pack.full_voltage"]);

/// A working voltage, and what it was read from.
pub(in crate::blocks) struct WorkingVoltage {
    pub slot: Slot<ElectricPotential>,
    pub pack: Option<BlockName>,
    /// Of the pack, where the voltage was written; of each of several that it may be of.
    against: Vec<(String, Slot<ElectricPotential>)>,
}

/// The packs of the journal; the only one is as if the block had named it.
fn packs(form: &mut Form<'_, '_>) -> Vec<BlockName> {
    let place = form.place;
    let found = form.lookup().blocks(&["pack-layout"], Looked::Whole);
    match found.as_slice() {
        [only] => vec![BlockName { field: "pack".to_owned(), ..BlockName::found(only.name, place) }],
        several => several.iter().map(|pack| BlockName::found(pack.name, place)).collect(),
    }
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
            return WorkingVoltage { slot, pack: named, against: Vec::new() };
        }
        let slot = form.required(key);
        let packs = named.map_or_else(|| packs(form), |named| vec![named]);
        let of =
            |pack: &BlockName| Some((pack.name.clone(), form.lookup().if_there(&PACK_VOLTAGE, Some(pack))?));
        let against = packs.iter().filter_map(of).collect();
        let pack = if let [only] = packs.as_slice() { Some(only.clone()) } else { None };
        WorkingVoltage { slot, pack, against }
    }

    /// What was judged at too low a voltage is open.
    pub(in crate::blocks) fn hold<'a>(
        &self,
        page: &mut Page<'_>,
        requirements: impl IntoIterator<Item = &'a str>,
    ) {
        let Some(voltage) = page.get(self.slot) else { return };
        let above = |(_, full): &&(String, Slot<ElectricPotential>)| {
            page.get(*full).is_some_and(|full| voltage < full * (1.0 - 1e-9))
        };
        let Some((name, full)) = self.against.iter().find(above) else { return };
        let mut reason = words!(
            "it was judged at {}, and `{}` has {} when full",
            page.value(self.slot),
            name.as_str(),
            page.value(*full)
        );
        if self.against.len() > 1 {
            reason.append(": name the `pack` that it is of".into());
        }
        for name in requirements {
            page.hold_open(name, Stage::Plan, reason.clone());
        }
    }
}
