//! Whether the ledger installs the pack that the journal has.

use super::items::{Item, Typed};
use crate::model::{BlockName, Form, Looked, Page, Slot, Taken};
use crate::quantities::si::{Mass, Measure};
use crate::words::{Words, words};

/// In formulas `NAME.mass`, with the name of the pack for the field.
pub(super) static PACK_MASS: Taken<Mass> = Taken::new("pack", "mass");

/// What people call a battery and what it is built of.
const BATTERY: [&str; 8] = ["battery", "batteries", "pack", "packs", "cell", "cells", "module", "modules"];

/// A pack that was weighed may have less than its cells and housing were reckoned to; common practice, no source.
const LEAST: f64 = 0.9;

/// Packs that are looked at: a vehicle has a few. Of more the lightest may be left out, which asks for more, not less.
const LOOKED_AT: usize = 3;

/// What of the pack the ledger lists.
pub(super) struct Packs {
    /// Of the journal; empty where the ledger takes a mass from one of them, or from where it can't be known.
    unlisted: Vec<(String, Slot<Mass>)>,
    /// Items with a mass of their own that are called a battery, by their number among what is installed.
    typed: Vec<usize>,
}

impl Packs {
    pub(super) fn read(form: &mut Form<'_, '_>, installed: &[Item]) -> Packs {
        let place = form.place;
        let mut lookup = form.lookup();
        let is_battery = |text: &str| {
            let text = text.to_lowercase();
            text.split(|c: char| !c.is_alphanumeric()).any(|word| BATTERY.contains(&word))
        };
        let listed = installed.iter().any(|item| match &item.origin {
            Typed::Here => false,
            Typed::Part(name) => lookup
                .block(name, "role")
                .is_some_and(|block| block.kind == "pack-layout" || is_battery(block.text("role"))),
            Typed::Elsewhere => true,
        });
        let packs = lookup.blocks(&["pack-layout"], Looked::First(LOOKED_AT));
        let named = packs.iter().filter(|_| !listed).map(|pack| BlockName::found(pack.name, place));
        let mass = |pack: BlockName| Some((pack.name.clone(), lookup.if_there(&PACK_MASS, Some(&pack))?));
        let typed = installed.iter().enumerate().filter(|(_, item)| is_battery(&item.title));
        Packs { typed: typed.map(|(at, _)| at).collect(), unlisted: named.filter_map(mass).collect() }
    }

    /// Why the ledger is not complete without its pack.
    pub(super) fn missing(&self, page: &Page<'_>, installed: &[Item]) -> Option<Words> {
        let known =
            self.unlisted.iter().filter_map(|(name, mass)| Some((name, *mass, page.get(*mass)?.si())));
        let (name, slot, least) = known.min_by(|a, b| a.2.total_cmp(&b.2))?;
        let mass = |at: &usize| {
            let item = &installed[*at];
            let count = item.count.map_or(Some(1.0), |count| page.get(count))?;
            Some(page.get(item.mass)?.si() * count)
        };
        let listed: f64 = self.typed.iter().filter_map(mass).sum();
        (listed < LEAST * least).then(|| {
            words!(
                "`{}`, {}, is not among what is installed: list it as `part`",
                name.as_str(),
                page.value(slot)
            )
        })
    }
}
