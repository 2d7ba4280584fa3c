//! Whether all restraints of the journal together hold the mass of its pack.

use crate::model::{BlockName, Form, Looked, Page, Slot, Stage, Taken};
use crate::quantities::si::{Mass, Measure, Ratio};
use crate::words::{Words, words};

/// In formulas `NAME.mass`, with the name of each restraint, or of the pack, for the field.
pub(super) static MASS: Taken<Mass> = Taken::new("restraint", "mass");

/// A pack that was weighed may have less than its cells and housing were reckoned to; common practice, no source.
const LEAST: f64 = 0.9;

pub(super) struct Held {
    all: Vec<Slot<Mass>>,
    /// The journal's only pack.
    pack: Option<(String, Slot<Mass>)>,
}

impl Held {
    pub(super) fn read(form: &mut Form<'_, '_>) -> Held {
        let place = form.place;
        let [restraints, packs] = ["restraint", "pack-layout"].map(|kind| {
            let found = form.lookup().blocks(&[kind], Looked::Whole);
            found.iter().map(|block| BlockName::found(block.name, place)).collect::<Vec<BlockName>>()
        });
        let mut lookup = form.lookup();
        let all = restraints.iter().filter_map(|block| lookup.if_there(&MASS, Some(block))).collect();
        let pack = match packs.as_slice() {
            [only] => lookup.if_there(&MASS, Some(only)).map(|mass| (only.name.clone(), mass)),
            _ => None,
        };
        Held { all, pack }
    }

    /// What holds less than the pack is open, direction by direction with the share of its fasteners.
    pub(super) fn hold(
        &self,
        page: &mut Page<'_>,
        directions: impl Iterator<Item = (&'static str, Slot<Ratio>)>,
    ) {
        let Some(reason) = self.too_little(page) else { return };
        for (name, share) in directions {
            if page.get(share).is_some_and(|share| share.si() <= 1.0) {
                page.hold_open(&format!("utilisation_{name}"), Stage::Plan, reason.clone());
            }
        }
    }

    fn too_little(&self, page: &Page<'_>) -> Option<Words> {
        let (name, pack) = self.pack.as_ref()?;
        let whole = page.get(*pack)?.si();
        let masses: Option<Vec<Mass>> = self.all.iter().map(|mass| page.get(*mass)).collect();
        let held: f64 = masses?.into_iter().map(Measure::si).sum();
        (held < LEAST * whole).then(|| {
            words!(
                "the restraints of this journal hold {}, and `{}` has {}",
                page.value_as(*pack, held),
                name.as_str(),
                page.value(*pack)
            )
        })
    }
}
