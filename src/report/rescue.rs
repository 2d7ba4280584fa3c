//! The sheets for rescue crews, with their places in metres.

use super::Told;
use crate::model::{RescueThing, Slot};
use crate::quantities::si::Length;

/// Lengths are in metres.
pub(crate) struct Rescue {
    pub block: String,
    pub places: Vec<Place>,
    /// Length, width, height and wheelbase, where all are known.
    pub outline: Option<[f64; 4]>,
    pub make_safe: Vec<String>,
    pub fire: String,
}

/// Behind the front axle, right of the middle, above the ground.
pub(crate) struct Place {
    pub name: String,
    pub what: RescueThing,
    pub at: [f64; 3],
    /// The other end of a cable, the opposite corner of a pack.
    pub to: Option<[f64; 3]>,
    pub note: Option<String>,
}

impl Told<'_> {
    /// Of the blocks that could be worked and are not replaced. A place without all its lengths is left out.
    pub(crate) fn rescue(self) -> Vec<Rescue> {
        let worked = self.current().filter(|(number, _)| self.results.worked[*number]);
        let sheets = worked.filter_map(|(number, block)| {
            let sheet = block.block.rescue()?;
            let places = sheet.places.iter().filter_map(|place| {
                Some(Place {
                    name: place.name.clone(),
                    what: place.what,
                    at: self.metres(number, place.at)?,
                    to: place.to.and_then(|to| self.metres(number, to)),
                    note: place.note.clone(),
                })
            });
            Some(Rescue {
                block: block.name.clone(),
                places: places.collect(),
                outline: sheet.outline.and_then(|outline| self.metres(number, outline)),
                make_safe: sheet.make_safe.clone(),
                fire: sheet.fire.clone(),
            })
        });
        sheets.collect()
    }

    fn metres<const N: usize>(self, number: usize, slots: [Slot<Length>; N]) -> Option<[f64; N]> {
        let start = self.plan.first[number];
        let values = slots.map(|slot| self.results.values[start + slot.index()]);
        values.iter().all(|value| value.is_finite()).then_some(values)
    }
}
