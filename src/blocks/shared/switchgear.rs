//! The fuses, contactors and charges of a pack, which the journal knows by the pack that they name.

use crate::model::{BlockName, Case, Family, Form, Slot, Taken};
use crate::quantities::si::ElectricPotential;

/// In formulas `NAME.rated_voltage`, with the name of the fuse or contactors for the field.
pub(in crate::blocks) static RATED_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("switch", "rated_voltage").about("of each fuse and each contactor of that pack");

/// In formulas `NAME.end_voltage`, with the name of the charge for the field.
pub(in crate::blocks) static END_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("charge", "end_voltage").about("of each charge of that pack whose end is known");

/// Requirements on each of them.
pub(in crate::blocks) static SWITCHES: Family =
    Family { name: "switches", label: "Fuse or contactors", case: "SWITCH" };

/// For tests: what stands for the word in capitals.
pub(in crate::blocks) const SAMPLE: &[(&str, &str)] = &[("SWITCH", "switch")];

/// Takes what each of them bears.
pub(in crate::blocks) fn of(form: &mut Form<'_, '_>, pack: Option<&BlockName>) -> Vec<Case> {
    let found = form.blocks_with("pack", pack, &["fuse", "contactors"]);
    for block in &found {
        form.lookup().taken(&RATED_VOLTAGE, Some(block));
    }
    found.into_iter().map(|block| Case { slug: block.name.clone(), title: block.name }).collect()
}

/// Takes what the pack's charges end at, where that stands anywhere.
pub(in crate::blocks) fn charge_ends(
    form: &mut Form<'_, '_>,
    pack: Option<&BlockName>,
) -> Vec<Slot<ElectricPotential>> {
    let mut found = form.blocks_with("pack", pack, &["charging"]);
    found.retain(|charge| {
        let charger = form.block_of(Some(charge), "charger");
        let own =
            ["charge_end_voltage", "constant_voltage"].iter().any(|key| form.block_has(Some(charge), key));
        own || form.block_has(charger.as_ref(), "charge_end_voltage")
    });
    found.iter().map(|charge| form.lookup().taken(&END_VOLTAGE, Some(charge))).collect()
}
