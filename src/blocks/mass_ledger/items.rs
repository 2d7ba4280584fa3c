//! The items of a mass ledger: what they weigh, where they are, and the donor that they come from and go to.

use crate::model::{Bench, Form, Slot};
use crate::quantities::si::{Length, Mass, Measure};

/// An item of a list: mass of one, how many, where.
pub(super) struct Item {
    pub(super) title: String,
    pub(super) mass: Slot<Mass>,
    pub(super) count: Option<Slot<f64>>,
    pub(super) x: Option<Slot<Length>>,
    pub(super) z: Option<Slot<Length>>,
    pub(super) place: usize,
    /// The key that gives its position.
    pub(super) x_key: &'static str,
}

pub(super) struct Donor {
    pub(super) mass: Slot<Mass>,
    pub(super) front: Option<Slot<Mass>>,
    pub(super) rear: Option<Slot<Mass>>,
    pub(super) cg_height: Option<Slot<Length>>,
    pub(super) aboard: Vec<Item>,
}

pub(super) fn read_donor(form: &mut Form<'_, '_>) -> Donor {
    let mass = form.required("mass");
    let front = form.optional("front_axle");
    let rear = form.optional("rear_axle");
    let cg_height = form.optional("cg_height");
    let mut aboard = Vec::new();
    for (key, x_key, title) in
        [("driver_aboard", "driver_x", "driver"), ("fuel_aboard", "fuel_x", "fuel aboard")]
    {
        let x = form.optional(x_key);
        if let Some(mass) = form.optional::<Mass>(key) {
            aboard.push(Item {
                title: title.to_owned(),
                mass,
                count: None,
                x,
                z: None,
                place: mass.index(),
                x_key,
            });
        }
    }
    Donor { mass, front, rear, cg_height, aboard }
}

pub(super) fn read_item(form: &mut Form<'_, '_>, slug: &str) -> Item {
    form.text("item");
    let part = if form.has("part") { form.block_name("part") } else { None };
    let mass = if form.has("part") && !form.has("mass") {
        form.of_block_named("mass", part.as_ref(), "mass")
    } else {
        form.required("mass")
    };
    let count = form.count("count");
    let x = form.optional("x");
    let z = form.optional("z");
    Item { title: slug.to_owned(), mass, count, x, z, place: mass.index(), x_key: "x" }
}

/// `sum(a.mass, 2 * b.mass)` in the names of the block; `0 kg` for an empty list.
pub(super) fn total(form: &Form<'_, '_>, items: &[Item]) -> String {
    sum_of(items.iter().map(|item| term(form, item)))
}

pub(super) fn term(form: &Form<'_, '_>, item: &Item) -> String {
    match item.count {
        Some(count) => format!("{} * {}", form.name_of(count), form.name_of(item.mass)),
        None => form.name_of(item.mass),
    }
}

pub(super) fn sum_of(terms: impl Iterator<Item = String>) -> String {
    let terms: Vec<String> = terms.collect();
    if terms.is_empty() { "0 kg".to_owned() } else { terms.join(" + ") }
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
