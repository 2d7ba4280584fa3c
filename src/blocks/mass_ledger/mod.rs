//! What comes out, what goes in, and what that does to mass, axles and centre of gravity.

mod axles;
mod items;
mod remarks;

use self::axles::{Axles, Heights, Weighed};
use self::items::{Donor, Item, add_up, read_donor, read_item, total};
use crate::findings::{Code, Severity};
use crate::model::{
    Bench, Block, Entry, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind, ResultDoc, Slot,
    Status, Takes,
};
use crate::quantities::si::{Length, Mass, Measure};
use crate::quantities::sort;

pub(super) static AXLE_GAP: Code = Code {
    name: "axle-gap",
    severity: Severity::Warning,
    about: "the donor's axle loads don't add up to its mass",
};

pub(super) static MISSING_POSITION: Code = Code {
    name: "missing-position",
    severity: Severity::Note,
    about: "an item has no position, so axle loads or the height of the centre of gravity can't be worked",
};

pub(super) static COUNTED_TWICE: Code = Code {
    name: "counted-twice",
    severity: Severity::Note,
    about: "fuel was aboard at the weighing and a full tank is removed: the fuel may be counted twice",
};

#[rustfmt::skip] // One field a line: a table.
static FIELDS: &[FieldDoc] = &[
    FieldDoc::new("donor", Takes::Group, "the vehicle as it was weighed"),
    FieldDoc::new("donor.mass", Takes::Quantity(&sort::MASS), "as weighed").range(Range::Positive),
    FieldDoc::new("donor.front_axle", Takes::Quantity(&sort::MASS), "on the front axle; one axle gives the other").optional().range(Range::Positive),
    FieldDoc::new("donor.rear_axle", Takes::Quantity(&sort::MASS), "on the rear axle").optional().range(Range::Positive),
    FieldDoc::new("donor.cg_height", Takes::Quantity(&sort::LENGTH), "of the centre of gravity above ground").optional().range(Range::Positive),
    FieldDoc::new("donor.fuel_aboard", Takes::Quantity(&sort::MASS), "mass of the fuel at the weighing, taken off").optional().range(Range::NotNegative),
    FieldDoc::new("donor.fuel_x", Takes::Quantity(&sort::LENGTH), "where that fuel was, behind the front axle").optional(),
    FieldDoc::new("donor.driver_aboard", Takes::Quantity(&sort::MASS), "mass of who sat in it, taken off").optional().range(Range::NotNegative),
    FieldDoc::new("donor.driver_x", Takes::Quantity(&sort::LENGTH), "where they sat, behind the front axle").optional(),
    FieldDoc::new("wheelbase", Takes::Quantity(&sort::LENGTH), "between the axles").optional().range(Range::Positive),
    FieldDoc::new("removed", Takes::List, "what comes out; a list, or a CSV file"),
    FieldDoc::new("installed", Takes::List, "what goes in; a list, or a CSV file"),
    FieldDoc::new("load", Takes::List, "people and cargo").optional(),
    FieldDoc::new("removed.item", Takes::Text, "what it is, or `part`").either(),
    FieldDoc::new("removed.part", Takes::BlockName, "a block with a `mass`, instead of `mass`").optional(),
    FieldDoc::new("removed.mass", Takes::Quantity(&sort::MASS), "of one").either().range(Range::NotNegative),
    FieldDoc::new("removed.count", Takes::Count, "how many; one where it is left out").optional().range(Range::AtLeastOne),
    FieldDoc::new("removed.x", Takes::Quantity(&sort::LENGTH), "behind the front axle; negative ahead of it").optional(),
    FieldDoc::new("removed.z", Takes::Quantity(&sort::LENGTH), "above ground").optional(),
    FieldDoc::new("installed.item", Takes::Text, "what it is, or `part`").either(),
    FieldDoc::new("installed.part", Takes::BlockName, "a block with a `mass`, instead of `mass`").optional(),
    FieldDoc::new("installed.mass", Takes::Quantity(&sort::MASS), "of one").either().range(Range::NotNegative),
    FieldDoc::new("installed.count", Takes::Count, "how many; one where it is left out").optional().range(Range::AtLeastOne),
    FieldDoc::new("installed.x", Takes::Quantity(&sort::LENGTH), "behind the front axle; negative ahead of it").optional(),
    FieldDoc::new("installed.z", Takes::Quantity(&sort::LENGTH), "above ground").optional(),
    FieldDoc::new("load.item", Takes::Text, "what it is, or `part`").either(),
    FieldDoc::new("load.part", Takes::BlockName, "a block with a `mass`, instead of `mass`").optional(),
    FieldDoc::new("load.mass", Takes::Quantity(&sort::MASS), "of one").either().range(Range::NotNegative),
    FieldDoc::new("load.count", Takes::Count, "how many; one where it is left out").optional().range(Range::AtLeastOne),
    FieldDoc::new("load.x", Takes::Quantity(&sort::LENGTH), "behind the front axle; negative ahead of it").optional(),
    FieldDoc::new("load.z", Takes::Quantity(&sort::LENGTH), "above ground").optional(),
    FieldDoc::new("limits", Takes::Group, "the vehicle's limits").optional(),
    FieldDoc::new("limits.gross", Takes::Quantity(&sort::MASS), "the whole vehicle laden").optional().range(Range::Positive),
    FieldDoc::new("limits.front_axle", Takes::Quantity(&sort::MASS), "front axle laden").optional().range(Range::Positive),
    FieldDoc::new("limits.rear_axle", Takes::Quantity(&sort::MASS), "rear axle laden").optional().range(Range::Positive),
    FieldDoc::new("not_above", Takes::Quantity(&sort::MASS), "what the converted mass may not exceed").optional().range(Range::Positive),
];

#[rustfmt::skip]
static RESULTS: &[ResultDoc] = &[
    ResultDoc { name: "removed_total", about: "of the items that come out" },
    ResultDoc { name: "installed_total", about: "of the items that go in" },
    ResultDoc { name: "net_change", about: "installed − removed" },
    ResultDoc { name: "converted_mass", about: "without driver and fuel" },
    ResultDoc { name: "mass_room", about: "`not_above` − converted mass" },
    ResultDoc {
        name: "donor_rear_axle",
        about: "where only the front one was weighed, and the other way round",
    },
    ResultDoc { name: "front_axle", about: "converted, without driver" },
    ResultDoc { name: "rear_axle", about: "converted, without driver" },
    ResultDoc { name: "front_share", about: "of the converted mass" },
    ResultDoc { name: "cg_x", about: "centre of gravity behind the front axle" },
    ResultDoc { name: "cg_height", about: "centre of gravity above ground" },
    ResultDoc { name: "laden_mass", about: "with the load; without one, the converted mass" },
    ResultDoc { name: "laden_front_axle", about: "with the load" },
    ResultDoc { name: "laden_rear_axle", about: "with the load" },
    ResultDoc { name: "gross_room", about: "limit − laden mass" },
    ResultDoc { name: "front_axle_room", about: "limit − laden front axle" },
    ResultDoc { name: "rear_axle_room", about: "limit − laden rear axle" },
];

pub(super) static KIND: Kind = Kind {
    name: "mass-ledger",
    summary: "what the vehicle weighs after the conversion, on each axle, against its limits",
    subsystem: "mass",
    fields: FIELDS,
    rows: &[],
    takes: &[],
    requires: &[],
    results: RESULTS,
    example: Example {
        journal: "\
```yaml mass-ledger kerb
donor: {mass: 940 kg, front_axle: 560 kg}
wheelbase: 2 200 mm
removed:
  - {item: engine, mass: 130 kg, x: 100 mm}
installed:
  - {item: motor, mass: 60 kg, x: 100 mm}
  - {item: pack, mass: 105 kg, x: 300 mm}
limits: {gross: 1 400 kg, front_axle: 750 kg, rear_axle: 750 kg}
```
",
        expected: &[("kerb.converted_mass", "975 kg"), ("kerb.front_axle", "583.863636 kg")],
    },
    sources: &[
        "statics of a beam on two supports: an item of mass m at x puts m x / wheelbase on the rear axle",
    ],
    inspector: &[
        "donor.mass",
        "donor.front_axle",
        "donor.rear_axle",
        "removed_total",
        "installed_total",
        "converted_mass",
        "front_axle",
        "rear_axle",
        "cg_height",
        "laden_mass",
        "laden_front_axle",
        "laden_rear_axle",
        "limits.gross",
        "limits.front_axle",
        "limits.rear_axle",
    ],
    limits: &["side to side loads, springs, brakes and the strength of the body"],
    codes: &[&AXLE_GAP, &MISSING_POSITION, &COUNTED_TWICE],
    read,
};

pub(super) struct MassLedger {
    pub(super) donor_mass: Slot<Mass>,
    /// Driver and fuel at the weighing.
    pub(super) aboard: Vec<Item>,
    pub(super) removed: Vec<Item>,
    pub(super) installed: Vec<Item>,
    pub(super) load: Vec<Item>,
    pub(super) removed_total: Slot<Mass>,
    pub(super) installed_total: Slot<Mass>,
    pub(super) net_change: Slot<Mass>,
    pub(super) converted_mass: Slot<Mass>,
    pub(super) load_total: Option<Slot<Mass>>,
    pub(super) laden_mass: Slot<Mass>,
    pub(super) not_above: Option<(Slot<Mass>, Slot<Mass>)>,
    pub(super) gross: Option<(Slot<Mass>, Slot<Mass>)>,
    pub(super) axles: Option<Axles>,
    pub(super) heights: Option<Heights>,
    pub(super) donor_axles: (Option<Slot<Mass>>, Option<Slot<Mass>>),
    pub(super) wheelbase: Option<Slot<Length>>,
    pub(super) donor_cg_height: Option<Slot<Length>>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    if !form.has("donor") {
        form.missing("donor");
    }
    let donor = form.group("donor", read_donor);
    let wheelbase = form.optional("wheelbase");
    for key in ["removed", "installed"] {
        if !form.has(key) {
            form.missing(key);
        }
    }
    let mut list = |key: &str| -> Vec<Item> {
        let entries: Vec<Entry<Item>> = form.list(key, &["item", "part"], read_item);
        entries.into_iter().map(|entry| Item { title: entry.title, ..entry.read }).collect()
    };
    let (removed, installed, load) = (list("removed"), list("installed"), list("load"));
    let limits = form.group("limits", |form| {
        (
            form.optional::<Mass>("gross"),
            form.optional::<Mass>("front_axle"),
            form.optional::<Mass>("rear_axle"),
        )
    });
    let (gross, front_limit, rear_limit) = limits.unwrap_or_default();
    let not_above = form.optional("not_above");
    let Donor { mass: donor_mass, front, rear, cg_height, aboard } = donor.unwrap_or_else(|| Donor {
        mass: form.unknown_step("donor.mass"),
        front: None,
        rear: None,
        cg_height: None,
        aboard: Vec::new(),
    });

    let removed_total = form.step("removed_total", "kg", &total(form, &removed));
    let installed_total = form.step("installed_total", "kg", &total(form, &installed));
    let net_change = form.step("net_change", "kg", "installed_total - removed_total");
    let mut formula = format!("{} + net_change", form.name_of(donor_mass));
    for item in &aboard {
        formula = format!("{formula} - {}", form.name_of(item.mass));
    }
    let converted_mass = form.step("converted_mass", "kg", &formula);
    let load_total = (!load.is_empty()).then(|| form.step("load_total", "kg", &total(form, &load)));
    let formula = if load.is_empty() { "converted_mass" } else { "converted_mass + load_total" };
    let laden_mass = form.step("laden_mass", "kg", formula);
    let not_above =
        not_above.map(|limit| (limit, form.step("mass_room", "kg", "not_above - converted_mass")));
    let gross = gross.map(|limit| (limit, form.step("gross_room", "kg", "limits.gross - laden_mass")));
    let mut ledger = MassLedger {
        donor_mass,
        aboard,
        removed,
        installed,
        load,
        removed_total,
        installed_total,
        net_change,
        converted_mass,
        load_total,
        laden_mass,
        not_above,
        gross,
        axles: None,
        heights: None,
        donor_axles: (front, rear),
        wheelbase,
        donor_cg_height: cg_height,
    };
    if let Some(wheelbase) = wheelbase
        && ledger.without_x().is_empty()
        && (front.is_some() || rear.is_some())
    {
        let lists = [&ledger.aboard, &ledger.removed, &ledger.installed, &ledger.load].map(Vec::as_slice);
        let weighed = Weighed { mass: donor_mass, front, rear, wheelbase };
        ledger.axles = Some(Axles::declare(form, weighed, lists, (front_limit, rear_limit)));
    }
    if let Some(height) = cg_height
        && ledger.without_z().is_empty()
        && ledger.aboard.is_empty()
    {
        ledger.heights = Some(Heights::declare(form, height, &ledger.removed, &ledger.installed));
    }
    require(form, &ledger, front_limit.is_some(), rear_limit.is_some());
    Box::new(ledger)
}

fn require(form: &mut Form<'_, '_>, ledger: &MassLedger, front: bool, rear: bool) {
    let limit = |name, high, source| Limit {
        name,
        kind: RequirementKind::Legal,
        actual: name,
        low: None,
        high: Some(high),
        source,
        status: Status::Stated,
        span: None,
    };
    if ledger.gross.is_some() {
        form.require(limit(
            "laden_mass",
            "limits.gross",
            "the vehicle's gross mass, as the journal states it",
        ));
    }
    if ledger.axles.is_some() && front {
        form.require(limit(
            "laden_front_axle",
            "limits.front_axle",
            "the axle's rating, as the journal states it",
        ));
    }
    if ledger.axles.is_some() && rear {
        form.require(limit(
            "laden_rear_axle",
            "limits.rear_axle",
            "the axle's rating, as the journal states it",
        ));
    }
    if ledger.not_above.is_some() {
        form.require(limit("converted_mass", "not_above", "the bound that the journal states"));
    }
}

impl Block for MassLedger {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let removed = add_up(bench, &self.removed);
        let installed = add_up(bench, &self.installed);
        bench.set(self.removed_total, removed);
        bench.set(self.installed_total, installed);
        bench.set(self.net_change, installed - removed);
        let converted = bench.get(self.donor_mass) + (installed - removed) - add_up(bench, &self.aboard);
        bench.set(self.converted_mass, converted);
        let load = add_up(bench, &self.load);
        if let Some(slot) = self.load_total {
            bench.set(slot, load);
        }
        let laden = converted + load;
        bench.set(self.laden_mass, laden);
        if let Some((limit, room)) = self.not_above {
            bench.set(room, bench.get(limit) - converted);
        }
        if let Some((limit, room)) = self.gross {
            bench.set(room, bench.get(limit) - laden);
        }
        if let Some(axles) = &self.axles {
            axles.evaluate(
                bench,
                [&self.aboard, &self.removed, &self.installed, &self.load].map(Vec::as_slice),
            );
        }
        if let Some(heights) = &self.heights {
            heights.evaluate(bench, self.donor_mass, [&self.removed, &self.installed].map(Vec::as_slice));
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let mut rest = String::new();
        if let Some(change) = page.get(self.net_change) {
            let shown = page.shown(self.net_change);
            let (amount, word) = match shown.strip_prefix('−') {
                Some(less) => (less.to_owned(), "less"),
                None => (shown, "more"),
            };
            rest = if change.si() == 0.0 {
                ": as much went in as came out".to_owned()
            } else {
                format!(": {amount} {word} went in than came out")
            };
        }
        if let Some((limit, _)) = self.gross {
            rest = format!("{rest}; laden {} of {} gross", page.shown(self.laden_mass), page.shown(limit));
        }
        page.sentence(format!("Converted mass {}", page.shown(self.converted_mass)), format!("{rest}."));
        page.headline(self.converted_mass);
        page.headline(self.laden_mass);
        self.gap(page);
        self.positions(page);
        self.fuel_twice(page);
        self.draw(page);
    }
}

impl MassLedger {
    pub(super) fn without_x(&self) -> Vec<&Item> {
        self.all().filter(|item| item.x.is_none()).collect()
    }

    pub(super) fn without_z(&self) -> Vec<&Item> {
        self.removed.iter().chain(&self.installed).filter(|item| item.z.is_none()).collect()
    }

    fn all(&self) -> impl Iterator<Item = &Item> {
        self.aboard.iter().chain(&self.removed).chain(&self.installed).chain(&self.load)
    }
}
