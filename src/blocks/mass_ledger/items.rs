//! The items of a mass ledger: what they weigh, where they are, and the donor that they come from and go to.

use super::results::{DRIVER, FUEL};
use crate::model::{Bench, Entry, Form, Leaf, Origin, Outcomes, Role, Slot, Taken};
use crate::quantities::si::{Length, Mass, MassMoment, Measure};

/// An item of a list: mass of one, how many, where.
pub(super) struct Item {
    pub(super) title: String,
    pub(super) mass: Slot<Mass>,
    pub(super) count: Option<Slot<f64>>,
    pub(super) x: Slot<Length>,
    pub(super) z: Slot<Length>,
    pub(super) origin: Typed,
    /// The keys that give its position, and which of them stand there.
    pub(super) keys: [(&'static str, bool); 2],
}

/// Where an item's mass comes from.
#[derive(PartialEq, Eq)]
pub(super) enum Typed {
    Here,
    /// The block that `part` names.
    Part(String),
    /// `from …`.
    Elsewhere,
}

/// What of an item's position.
#[derive(Clone, Copy)]
pub(super) enum Along {
    X,
    Z,
}

pub(super) struct Donor {
    pub(super) mass: Slot<Mass>,
    pub(super) front: Option<Slot<Mass>>,
    pub(super) rear: Option<Slot<Mass>>,
    pub(super) cg_height: Option<Slot<Length>>,
    /// What front and rear axle may be off by, where they don't add up to the mass.
    pub(super) gap: Option<[Slot<Mass>; 2]>,
    /// Driver and fuel at the weighing.
    pub(super) aboard: Vec<Item>,
}

pub(super) static PART_MASS: Taken<Mass> = Taken::new("part", "mass").stands_for("mass");

pub(super) fn read_donor(form: &mut Form<'_, '_>) -> Donor {
    let mass = form.required("mass");
    let front = form.optional("front_axle");
    let rear = form.optional("rear_axle");
    let cg_height = form.optional("cg_height");
    let gap = read_gap(form, mass, [front, rear]);
    let driver = read_extra(form, ["driver_aboard", "driver_x", "driver_z"], DRIVER);
    let fuel = read_extra(form, ["fuel_aboard", "fuel_x", "fuel_z"], FUEL);
    Donor { mass, front, rear, cg_height, gap, aboard: driver.into_iter().chain(fuel).collect() }
}

/// Each axle is as uncertain as the gap between both and the mass is wide.
fn read_gap(
    form: &mut Form<'_, '_>,
    mass: Slot<Mass>,
    axles: [Option<Slot<Mass>>; 2],
) -> Option<[Slot<Mass>; 2]> {
    let weighed = [mass, axles[0]?, axles[1]?];
    let [whole, front, rear] = weighed.map(|slot| form.node(slot).si());
    let written = weighed.iter().filter_map(|slot| form.node(*slot).leaf()?.literal.tolerance.as_ref());
    let tolerances = written.map(|tolerance| tolerance.half_width_si).sum();
    let gap = gap(whole?, [front?, rear?], tolerances)?;
    let place = form.place;
    Some(["front_gap", "rear_gap"].map(|key| form.put(key, place, Leaf::stated(&format!("0 kg ± {gap} kg")))))
}

/// By how much axles miss a mass, in kg, where it is more than their tolerances and a thousandth of it.
pub(super) fn gap(mass: f64, axles: [f64; 2], tolerances: f64) -> Option<f64> {
    let gap = (mass - axles[0] - axles[1]).abs();
    (gap > tolerances.max(mass * 1e-3)).then_some(gap)
}

/// A mass with a place of its own beside the lists.
pub(super) fn read_extra(form: &mut Form<'_, '_>, keys: [&'static str; 3], title: &str) -> Option<Item> {
    let [key, x_key, z_key] = keys;
    let keys = [(x_key, form.has(x_key)), (z_key, form.has(z_key))];
    let (x, z) = (form.if_given(x_key), form.if_given(z_key));
    let mass = form.optional(key)?;
    Some(Item { title: title.to_owned(), mass, count: None, x, z, origin: Typed::Here, keys })
}

pub(super) fn read_items(form: &mut Form<'_, '_>, key: &str) -> Vec<Item> {
    let entries: Vec<Entry<Item>> = form.list(key, &["name", "part"], read_item);
    entries.into_iter().map(|entry| Item { title: entry.title, ..entry.read }).collect()
}

fn read_item(form: &mut Form<'_, '_>, slug: &str) -> Item {
    form.text("name");
    let part = form.lookup().block_name("part");
    let mass: Slot<Mass> = match &part {
        Some(part) => form.own_or_parts(&PART_MASS, Some(part)),
        None => form.required("mass"),
    };
    let origin = match (part, &form.node(mass).role) {
        (Some(part), _) => Typed::Part(part.name),
        (None, Role::Field(Origin::Reference(_))) => Typed::Elsewhere,
        (None, _) => Typed::Here,
    };
    let count = form.optional::<f64>("count");
    let keys = [("x", form.has("x")), ("z", form.has("z"))];
    Item { title: slug.to_owned(), mass, count, x: form.if_given("x"), z: form.if_given("z"), origin, keys }
}

/// Mass of all of an item.
pub(super) fn mass_of(bench: &Bench<'_>, item: &Item) -> Mass {
    match item.count {
        Some(count) => bench.get(count) * bench.get(item.mass),
        None => bench.get(item.mass),
    }
}

pub(super) fn add_up(bench: &Bench<'_>, items: &[Item]) -> Mass {
    items.iter().fold(Mass::from_si(0.0), |sum, item| sum + mass_of(bench, item))
}

pub(super) fn moment(bench: &Bench<'_>, items: &[Item], along: Along) -> MassMoment {
    items.iter().fold(MassMoment::from_si(0.0), |sum, item| {
        sum + mass_of(bench, item) * bench.get(item.position(along))
    })
}

/// `2 * a.mass + b.mass` in the names of the block; `0 kg` for an empty list.
pub(super) fn masses(out: &Outcomes<'_, '_, '_>, items: &[Item]) -> String {
    sum(items.iter().map(|item| term(out, item)), "0 kg")
}

/// The same, each times its position.
pub(super) fn moments(out: &Outcomes<'_, '_, '_>, items: &[Item], along: Along) -> String {
    let terms =
        items.iter().map(|item| format!("{} * {}", term(out, item), out.names_of([item.position(along)])));
    sum(terms, "0 [kg m]")
}

fn term(out: &Outcomes<'_, '_, '_>, item: &Item) -> String {
    match item.count {
        Some(count) => format!("{} * {}", out.names_of([count]), out.names_of([item.mass])),
        None => out.names_of([item.mass]),
    }
}

fn sum(terms: impl Iterator<Item = String>, nothing: &str) -> String {
    let terms: Vec<String> = terms.collect();
    if terms.is_empty() { nothing.to_owned() } else { terms.join(" + ") }
}

impl Item {
    fn position(&self, along: Along) -> Slot<Length> {
        match along {
            Along::X => self.x,
            Along::Z => self.z,
        }
    }

    /// The key of its position, where that is not there.
    pub(super) fn lacks(&self, along: Along) -> Option<&'static str> {
        let (key, there) = self.keys[along as usize];
        (!there).then_some(key)
    }
}
