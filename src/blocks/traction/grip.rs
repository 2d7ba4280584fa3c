//! What the driven tyres hold, with the load that moves between the axles while they pull.

use crate::model::{Bench, BlockName, Form, Slot};
use crate::quantities::si::{Force, Length, Mass, Ratio, ratio};

/// Which wheels drive, and what is known of the load on them.
pub(super) struct Grip {
    pub(super) adhesion: Slot<Ratio>,
    pub(super) driven: Driven,
    /// As the author said it.
    pub(super) said: Option<&'static str>,
}

pub(super) enum Driven {
    /// All of them, or nobody knows.
    All,
    Front(Statics),
    Rear(Statics),
}

pub(super) struct Statics {
    pub(super) front_share: Slot<Ratio>,
    /// 0 where it is not known: no load transfer.
    pub(super) cg_height: Slot<Length>,
    pub(super) wheelbase: Slot<Length>,
}

/// A vehicle on its wheels: names for formulas, or values.
pub(super) struct Load<T, S> {
    pub(super) weight: T,
    /// Rolling resistance on the level.
    pub(super) rolling: T,
    /// Of the weight on the front axle, on the level and at rest.
    pub(super) front_share: S,
}

impl Grip {
    pub(super) fn read(form: &mut Form<'_, '_>, ledger: Option<&BlockName>) -> Grip {
        let adhesion = form.assumed("adhesion");
        let said = form.choice("driven", &["front", "rear", "both"]);
        let statics = |form: &mut Form<'_, '_>| {
            ledger.map(|_| Statics {
                front_share: form.of_block(ledger, "front_share"),
                cg_height: form.of_block_or(ledger, "cg_height", "0 m"),
                wheelbase: form.of_block(ledger, "wheelbase"),
            })
        };
        let driven = match said {
            Some("front") => statics(form).map_or(Driven::All, Driven::Front),
            Some("rear") => statics(form).map_or(Driven::All, Driven::Rear),
            _ => Driven::All,
        };
        Grip { adhesion, driven, said }
    }

    /// Moments about the other axle's contact, with drag at the height of the centre of gravity: the driven axle
    /// carries its share of the weight and h/L of what the tyres pull beyond rolling.
    pub(super) fn formula(&self, load: &Load<&str, &str>) -> String {
        let Load { weight, rolling, front_share } = load;
        let transfer = "ledger.cg_height / ledger.wheelbase";
        match self.driven {
            Driven::All => format!("adhesion * {weight}"),
            Driven::Front(_) => format!(
                "adhesion * ({front_share} * {weight} + {transfer} * {rolling}) / (1 + adhesion * {transfer})"
            ),
            Driven::Rear(_) => format!(
                "min(adhesion * {weight}, adhesion * ((1 - {front_share}) * {weight} - {transfer} * {rolling}) / max(1e-9, 1 - adhesion * {transfer}))"
            ),
        }
    }

    pub(super) fn force(&self, bench: &Bench<'_>, load: &Load<Force, Option<Ratio>>) -> Force {
        let adhesion = bench.get(self.adhesion);
        let one = ratio(1.0);
        match &self.driven {
            Driven::All => adhesion * load.weight,
            Driven::Front(statics) => {
                let transfer = statics.transfer(bench);
                let share = load.front_share.unwrap_or_else(|| bench.get(statics.front_share));
                adhesion * (share * load.weight + transfer * load.rolling) / (one + adhesion * transfer)
            }
            Driven::Rear(statics) => {
                let transfer = statics.transfer(bench);
                let share = one - load.front_share.unwrap_or_else(|| bench.get(statics.front_share));
                let room = (one - adhesion * transfer).max(ratio(1e-9));
                let rear = adhesion * (share * load.weight - transfer * load.rolling) / room;
                // No more than the whole weight, when the front wheels leave the ground. NaN stays.
                if rear > adhesion * load.weight { adhesion * load.weight } else { rear }
            }
        }
    }

    pub(super) fn statics(&self) -> Option<&Statics> {
        match &self.driven {
            Driven::All => None,
            Driven::Front(statics) | Driven::Rear(statics) => Some(statics),
        }
    }

    pub(super) fn wheels(&self) -> &'static str {
        match &self.driven {
            Driven::All => "all wheels",
            Driven::Front(_) => "the front wheels",
            Driven::Rear(_) => "the rear wheels",
        }
    }
}

impl Statics {
    fn transfer(&self, bench: &Bench<'_>) -> Ratio {
        bench.get(self.cg_height) / bench.get(self.wheelbase)
    }
}

/// The laden vehicle of a ledger.
pub(super) struct Laden {
    pub(super) mass: Slot<Mass>,
    pub(super) front_axle: Option<Slot<Mass>>,
}

impl Laden {
    pub(super) fn read(form: &mut Form<'_, '_>, ledger: Option<&BlockName>, grip: &Grip) -> Laden {
        let needs_axles = grip.statics().is_some();
        Laden {
            mass: form.of_block(ledger, "laden_mass"),
            front_axle: needs_axles.then(|| form.of_block(ledger, "laden_front_axle")),
        }
    }
}
