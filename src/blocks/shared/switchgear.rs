//! The fuses and contactors of a pack, which the journal knows by the pack that they name.

use crate::model::{BlockName, Case, Family, Form, Taken};
use crate::quantities::si::ElectricPotential;

/// In formulas `NAME.rated_voltage`, with the name of the fuse or contactors for the field.
pub(in crate::blocks) static RATED_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("switch", "rated_voltage").about("of each fuse and each contactor of that pack");

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
