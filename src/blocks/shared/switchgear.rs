//! The fuses, contactors and charges of a pack, which the journal knows by the pack that they name.

use crate::model::{BlockName, Case, Family, Form, Looked, Slot, Taken};
use crate::quantities::si::ElectricPotential;

/// In formulas `NAME.voltage_rating`, with the name of the fuse or contactors for the field.
pub(in crate::blocks) static VOLTAGE_RATING: Taken<ElectricPotential> =
    Taken::new("switch", "voltage_rating").about("of each fuse and each contactor of that pack");

/// In formulas `NAME.end_voltage`, with the name of the charge for the field.
pub(in crate::blocks) static END_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("charge", "end_voltage").about("of each charge of that pack whose end is known");

/// Requirements on each of them.
pub(in crate::blocks) static SWITCHES: Family =
    Family { name: "switches", label: "Fuse or contactors", case: "SWITCH" };

/// For tests: what stands for the word in capitals.
pub(in crate::blocks) const SAMPLE: &[(&str, &str)] = &[("SWITCH", "switch")];

/// The blocks of some kinds that name this pack; the name of each stands for the field that formulas know it by:
/// `main_fuse.voltage_rating`.
pub(in crate::blocks) fn of_pack(
    form: &mut Form<'_, '_>,
    pack: Option<&BlockName>,
    kinds: &[&str],
) -> Vec<BlockName> {
    let Some(pack) = pack else { return Vec::new() };
    let mut found = form.lookup().blocks(kinds, Looked::Whole);
    found.retain(|block| {
        let own = BlockName { name: block.name.to_owned(), ..pack.clone() };
        let named = form.lookup().block_of(Some(&own), "pack");
        !pack.name.is_empty() && named.is_some_and(|named| named.name == pack.name)
    });
    found.iter().map(|block| BlockName::found(block.name, pack.span)).collect()
}

/// Takes what each of them bears.
pub(in crate::blocks) fn of(form: &mut Form<'_, '_>, pack: Option<&BlockName>) -> Vec<Case> {
    let found = of_pack(form, pack, &["fuse", "contactors"]);
    for block in &found {
        form.lookup().taken(&VOLTAGE_RATING, Some(block));
    }
    found.into_iter().map(|block| Case { slug: block.name.clone(), title: block.name }).collect()
}

/// Takes what the pack's charges end at, where that stands anywhere.
pub(in crate::blocks) fn charge_ends(
    form: &mut Form<'_, '_>,
    pack: Option<&BlockName>,
) -> Vec<Slot<ElectricPotential>> {
    let mut found = of_pack(form, pack, &["charging"]);
    found.retain(|charge| {
        let charger = form.lookup().block_of(Some(charge), "charger");
        let own =
            ["charge_end_voltage", "constant_voltage"].iter().any(|key| form.lookup().has(Some(charge), key));
        own || form.lookup().has(charger.as_ref(), "charge_end_voltage")
    });
    found.iter().map(|charge| form.lookup().taken(&END_VOLTAGE, Some(charge))).collect()
}
