//! What the driven tyres hold, with the load that moves between the axles while they pull.

use super::given::RoadOf;
use super::takes::{CG_HEIGHT, CONVERTED_MASS, FRONT_AXLE, LADEN_FRONT_AXLE, LADEN_MASS, WHEELBASE};
use crate::blocks::shared::gravity::GRAVITY;
use crate::model::{Bench, BlockName, Form, Outcomes, Page, Row, Slot};
use crate::quantities::si::{Acceleration, Force, Length, Mass, Measure, Ratio, ratio};

/// Within this share of each other two masses are one.
const SAME_MASS: f64 = 0.005;

const ONE_AXLE: &str = "with one driven axle and a `ledger`";

pub(super) static FRONT_SHARE: Row<Ratio> =
    Row::procedure(
        "front_share",
        "front axle share",
        "%",
        "the ledger's front axle load over its mass: laden where the road's mass is the laden one (within 0.5 %) or more, converted where it is the converted one or less, in between the one that leaves less on the driven axle",
    )
    .when(ONE_AXLE);
pub(super) static HEIGHT_SHARE: Row<Ratio> = Row::formula(
    "height_share",
    "height over wheelbase",
    "1",
    "ledger.cg_height / ledger.wheelbase",
)
.about("of the centre of gravity: so much of what the tyres pull goes from the front axle to the rear one")
.when(ONE_AXLE);
pub(super) static DRIVEN_LOAD: Row<Force> =
    Row::formula("driven_load", "load on the driven wheels", "N", "weight")
        .about("on the level, while they pull as hard as they hold");
pub(super) static DRIVEN_LOAD_FRONT: Row<Force> =
    DRIVEN_LOAD.by("(front_share * weight + height_share * road.f0) / (1 + adhesion * height_share)");
pub(super) static DRIVEN_LOAD_REAR: Row<Force> =
    DRIVEN_LOAD.by("((1 - front_share) * weight - height_share * road.f0) / (1 - adhesion * height_share)");
pub(super) static ADHESION_FORCE: Row<Force> =
    Row::formula("adhesion_force", "grip of the driven tyres", "N", "adhesion * min(weight, driven_load)")
        .about("on the level, with the load transfer that it makes itself");

/// Which wheels drive, and what is known of the load on them.
pub(super) struct Grip {
    pub(super) adhesion: Slot<Ratio>,
    pub(super) driven: Driven,
    pub(super) cg_height: Option<Slot<Length>>,
    wheelbase: Option<Slot<Length>>,
    /// `None` without a ledger.
    pub(super) masses: Option<Masses>,
    pub(super) axles: Option<Axles>,
}

/// Of a ledger's vehicle.
#[derive(Clone, Copy)]
pub(super) struct Masses {
    pub(super) converted: Slot<Mass>,
    pub(super) laden: Slot<Mass>,
}

/// What its front axle carries.
#[derive(Clone, Copy)]
pub(super) struct Axles {
    converted: Slot<Mass>,
    pub(super) laden: Slot<Mass>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Driven {
    Both,
    Front,
    Rear,
    /// One axle, and no ledger tells the load on it.
    NoLedger,
    NotSaid,
}

/// The results about it.
pub(super) struct Held {
    pub(super) front_share: Slot<Ratio>,
    height_share: Slot<Ratio>,
    pub(super) load: Slot<Force>,
    pub(super) force: Slot<Force>,
}

/// A vehicle on its wheels.
pub(super) struct Stand {
    pub(super) weight: Force,
    /// Rolling resistance on the level.
    pub(super) rolling: Force,
    /// Of the weight on the front axle, on the level and at rest.
    pub(super) front_share: Ratio,
}

/// NaN for what is not there.
pub(super) fn known<T: Measure>(bench: &Bench<'_>, slot: Option<Slot<T>>) -> T {
    slot.map_or(T::from_si(f64::NAN), |slot| bench.get(slot))
}

impl Driven {
    /// One axle, on a load that a ledger tells.
    pub(super) fn is_axle(self) -> bool {
        matches!(self, Driven::Front | Driven::Rear)
    }

    pub(super) fn wheels(self) -> &'static str {
        match self {
            Driven::Front => "the front wheels",
            Driven::Rear => "the rear wheels",
            Driven::Both | Driven::NoLedger | Driven::NotSaid => "all wheels",
        }
    }
}

impl Grip {
    pub(super) fn read(form: &mut Form<'_, '_>, ledger: Option<&BlockName>) -> Grip {
        let adhesion = form.assumed("adhesion");
        let driven = match (form.choice("driven", &["front", "rear", "both"]), ledger) {
            (Some("both"), _) => Driven::Both,
            (Some("front"), Some(_)) => Driven::Front,
            (Some("rear"), Some(_)) => Driven::Rear,
            (Some(_), _) => Driven::NoLedger,
            (None, _) => Driven::NotSaid,
        };
        let mut lookup = form.lookup();
        let converted = lookup.if_there(&CONVERTED_MASS, ledger);
        let masses = converted
            .zip(lookup.if_there(&LADEN_MASS, ledger))
            .map(|(converted, laden)| Masses { converted, laden });
        let ledger = ledger.filter(|_| driven.is_axle());
        let front = lookup.if_there(&FRONT_AXLE, ledger);
        let axles = front
            .zip(lookup.if_there(&LADEN_FRONT_AXLE, ledger))
            .map(|(converted, laden)| Axles { converted, laden });
        Grip {
            adhesion,
            driven,
            cg_height: lookup.if_there(&CG_HEIGHT, ledger),
            wheelbase: lookup.if_there(&WHEELBASE, ledger),
            masses,
            axles,
        }
    }

    pub(super) fn declare(&self, out: &mut Outcomes<'_, '_, '_>, road_mass: Slot<Mass>) -> Held {
        Held {
            front_share: match self.masses.zip(self.axles) {
                Some((masses, axles)) => {
                    let uses = [masses.converted, masses.laden, axles.converted, axles.laden, road_mass];
                    out.procedure(&FRONT_SHARE, &uses.map(Slot::index))
                }
                None => out.unknown(&FRONT_SHARE),
            },
            height_share: out.result(&HEIGHT_SHARE),
            load: out.result(match self.driven {
                Driven::Front => &DRIVEN_LOAD_FRONT,
                Driven::Rear => &DRIVEN_LOAD_REAR,
                Driven::Both | Driven::NoLedger | Driven::NotSaid => &DRIVEN_LOAD,
            }),
            force: out.result(&ADHESION_FORCE),
        }
    }

    /// The results; what the tyres hold is given back.
    pub(super) fn evaluate(&self, bench: &mut Bench<'_>, held: &Held, road: &RoadOf) -> Force {
        let (mass, rolling) = (bench.get(road.mass), bench.get(road.f0));
        let weight = mass * Acceleration::from_si(GRAVITY);
        let front_share = self.front_share(bench, mass).unwrap_or(ratio(f64::NAN));
        set(bench, held.front_share, Some(front_share));
        bench.set(held.height_share, self.height_share(bench));
        let load = self.load(bench, &Stand { weight, rolling, front_share });
        set(bench, held.load, load);
        let force = self.force(bench, weight, load);
        bench.set(held.force, force);
        force
    }

    pub(super) fn force(&self, bench: &Bench<'_>, weight: Force, load: Option<Force>) -> Force {
        let adhesion = bench.get(self.adhesion);
        let load = load.unwrap_or(Force::from_si(f64::NAN));
        // No more than the whole weight, when the front wheels leave the ground. NaN stays.
        adhesion * if load > weight { weight } else { load }
    }

    /// On the front axle of the vehicle at that mass. `None` without a ledger. Between the converted and the laden mass
    /// nobody knows where the part of the load lies that is aboard: the share that leaves less on the driven axle is
    /// taken.
    fn front_share(&self, bench: &Bench<'_>, mass: Mass) -> Option<Ratio> {
        let (masses, axles) = self.masses.zip(self.axles)?;
        let (empty, laden) = (bench.get(masses.converted), bench.get(masses.laden));
        let converted_share = Ratio::from(bench.get(axles.converted) / empty);
        let laden_share = Ratio::from(bench.get(axles.laden) / laden);
        let front_is_less = laden_share < converted_share;
        Some(if mass >= laden * (1.0 - SAME_MASS) {
            laden_share
        } else if mass <= empty * (1.0 + SAME_MASS) || front_is_less != (self.driven == Driven::Front) {
            converted_share
        } else {
            laden_share
        })
    }

    /// The share put back: one of the two front axle loads comes out.
    pub(super) fn check(&self, page: &mut Page<'_>, held: &Held) {
        let (Some(share), Some((masses, axles))) = (page.get(held.front_share), self.masses.zip(self.axles))
        else {
            return;
        };
        let of = |mass: Slot<Mass>, axle: Slot<Mass>| {
            share.si() * page.values[mass.index()] / page.values[axle.index()] - 1.0
        };
        let (converted, laden) = (of(masses.converted, axles.converted), of(masses.laden, axles.laden));
        page.checked(held.front_share, if converted.abs() < laden.abs() { converted } else { laden }, 1e-9);
    }

    fn height_share(&self, bench: &Bench<'_>) -> Ratio {
        known(bench, self.cg_height) / known(bench, self.wheelbase)
    }

    /// Moments about the other axle's contact, with drag at the height of the centre of gravity: the driven axle
    /// carries its share of the weight and h/L of what the tyres pull beyond rolling. `None` where no pull makes rear
    /// tyres slip, for it loads them by more than they need to hold it.
    pub(super) fn load(&self, bench: &Bench<'_>, stand: &Stand) -> Option<Force> {
        let Stand { weight, rolling, front_share } = *stand;
        let (adhesion, height_share) = (bench.get(self.adhesion), self.height_share(bench));
        let one = ratio(1.0);
        match self.driven {
            Driven::Front => {
                Some((front_share * weight + height_share * rolling) / (one + adhesion * height_share))
            }
            Driven::Rear => {
                let room = one - adhesion * height_share;
                (room > ratio(0.0)).then(|| ((one - front_share) * weight - height_share * rolling) / room)
            }
            Driven::Both | Driven::NoLedger | Driven::NotSaid => Some(weight),
        }
    }
}

/// A result, or that it is not there.
pub(super) fn set<T: Measure>(bench: &mut Bench<'_>, slot: Slot<T>, value: Option<T>) {
    match value.filter(|value| value.si().is_finite()) {
        Some(value) => bench.set(slot, value),
        None => bench.not_there(slot),
    }
}
