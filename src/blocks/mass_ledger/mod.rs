//! What comes out, what goes in, and what that does to mass, axles and centre of gravity.

mod axles;
mod front_share;
mod items;
mod judged;
mod packs;
mod picture;
mod remarks;
mod results;
mod ticket;

use self::axles::{Axles, Heights, OnAxles};
use self::front_share::FrontShare;
use self::items::{Along, Donor, Item, PART_MASS, add_up, masses, read_donor, read_extra, read_items};
use self::packs::{PACK_MASS, Packs};
use self::results::{
    ABOARD_TOTAL, ALLOWANCE, CONVERTED_BOUND, CONVERTED_BY_HEAVIER, CONVERTED_MASS, CONVERTED_WITHOUT,
    FRONT_BY_HEAVIER, FRONT_LIMIT, GROSS_BY_HEAVIER, GROSS_LIMIT, GROSS_ROOM, INSTALLED_TOTAL, LADEN_MASS,
    LADEN_WITH_LOAD, LEAST_FRONT_SHARE, LOAD_TOTAL, MASS_ROOM, NET_CHANGE, REAR_BY_HEAVIER, REAR_LIMIT,
    REMOVED_TOTAL, REQUIRES, ROWS, UNLISTED,
};
use self::ticket::{Beside, Ledger, Ticket, Weighed};
use crate::findings::{Code, Severity};
use crate::model::{
    Bench, Block, Example, FieldDoc, FieldSort, Form, Kind, Leaf, Load, Outcomes, Over, Page, Purpose, Range,
    Slot, Stage, Takes,
};
use crate::quantities::si::{Length, Mass, Measure, Ratio};
use crate::quantities::sort;
use crate::words::{Shown, words};

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
    FieldDoc::new("donor.mass", Takes::Quantity(&sort::MASS), "as weighed").purpose(Purpose::Mass(Load::Before, Over::Vehicle)).label("mass of the donor").range(Range::Positive).usual(100.0, 10_000.0).due(Stage::Build).principal(),
    FieldDoc::new("donor.front_axle", Takes::Quantity(&sort::MASS), "on the front axle; one axle gives the other").purpose(Purpose::Mass(Load::Before, Over::FrontAxle)).label("front axle of the donor").optional().range(Range::Positive).due(Stage::Build).principal(),
    FieldDoc::new("donor.rear_axle", Takes::Quantity(&sort::MASS), "on the rear axle").purpose(Purpose::Mass(Load::Before, Over::RearAxle)).label("rear axle of the donor").optional().range(Range::Positive).due(Stage::Build).principal(),
    FieldDoc::new("donor.cg_height", Takes::Quantity(&sort::LENGTH), "of the centre of gravity above ground").label("height of the donor's centre of gravity").optional().range(Range::Positive).due(Stage::Build),
    FieldDoc::new("donor.fuel_aboard", Takes::Quantity(&sort::MASS), "mass of the fuel at the weighing, taken off").label("fuel aboard the donor").optional().range(Range::NotNegative).due(Stage::Build),
    FieldDoc::new("donor.fuel_x", Takes::Quantity(&sort::LENGTH), "where that fuel was, behind the front axle").label("position of that fuel behind the front axle").optional().due(Stage::Build),
    FieldDoc::new("donor.fuel_z", Takes::Quantity(&sort::LENGTH), "how high that fuel was, above ground").label("height of that fuel above ground").optional().due(Stage::Build),
    FieldDoc::new("donor.driver_aboard", Takes::Quantity(&sort::MASS), "mass of who sat in it, taken off").label("driver aboard the donor").optional().range(Range::NotNegative).due(Stage::Build),
    FieldDoc::new("donor.driver_x", Takes::Quantity(&sort::LENGTH), "where they sat, behind the front axle").label("position of that driver behind the front axle").optional().due(Stage::Build),
    FieldDoc::new("donor.driver_z", Takes::Quantity(&sort::LENGTH), "how high they sat, above ground").label("height of that driver above ground").optional().due(Stage::Build),
    FieldDoc::new("wheelbase", Takes::Quantity(&sort::LENGTH), "between the axles").optional().range(Range::Positive).usual(0.5, 10.0).due(Stage::Build),
    FieldDoc::new("removed", Takes::List, "what comes out; a list, or a CSV file").optional(),
    FieldDoc::new("installed", Takes::List, "what goes in; a list, or a CSV file"),
    FieldDoc::new("load", Takes::List, "people and cargo").optional(),
    FieldDoc::new("removed.name", Takes::Text, "what it is, or `part`").either(),
    FieldDoc::new("removed.part", Takes::BlockName, "a block with a `mass`, instead of `mass`").optional(),
    FieldDoc::new("removed.mass", Takes::Quantity(&sort::MASS), "of one").either().range(Range::Positive),
    FieldDoc::new("removed.count", Takes::Count, "how many; one where it is left out").optional().range(Range::AtLeastOne),
    FieldDoc::new("removed.x", Takes::Quantity(&sort::LENGTH), "behind the front axle; negative ahead of it").label("position behind the front axle").optional().due(Stage::Build),
    FieldDoc::new("removed.z", Takes::Quantity(&sort::LENGTH), "above ground").label("height above ground").optional().due(Stage::Build),
    FieldDoc::new("installed.name", Takes::Text, "what it is, or `part`").either(),
    FieldDoc::new("installed.part", Takes::BlockName, "a block with a `mass`, instead of `mass`").purpose(Purpose::InstalledPart).optional(),
    FieldDoc::new("installed.mass", Takes::Quantity(&sort::MASS), "of one").either().range(Range::Positive),
    FieldDoc::new("installed.count", Takes::Count, "how many; one where it is left out").optional().range(Range::AtLeastOne),
    FieldDoc::new("installed.x", Takes::Quantity(&sort::LENGTH), "behind the front axle; negative ahead of it").label("position behind the front axle").optional().due(Stage::Build),
    FieldDoc::new("installed.z", Takes::Quantity(&sort::LENGTH), "above ground").label("height above ground").optional().due(Stage::Build),
    FieldDoc::new("load.name", Takes::Text, "what it is, or `part`").either(),
    FieldDoc::new("load.part", Takes::BlockName, "a block with a `mass`, instead of `mass`").optional(),
    FieldDoc::new("load.mass", Takes::Quantity(&sort::MASS), "of one").either().range(Range::Positive).sort(FieldSort::Condition),
    FieldDoc::new("load.count", Takes::Count, "how many; one where it is left out").optional().range(Range::AtLeastOne),
    FieldDoc::new("load.x", Takes::Quantity(&sort::LENGTH), "behind the front axle; negative ahead of it").label("position behind the front axle").optional().due(Stage::Build),
    FieldDoc::new("load.z", Takes::Quantity(&sort::LENGTH), "above ground").label("height above ground").optional().due(Stage::Build),
    FieldDoc::new("unlisted", Takes::Quantity(&sort::MASS), "what no item names: wiring, brackets, fluids; counted with what is installed").label("unlisted mass").optional().range(Range::NotNegative),
    FieldDoc::new("unlisted_x", Takes::Quantity(&sort::LENGTH), "where that is, behind the front axle").label("position of what is not listed, behind the front axle").optional().due(Stage::Build),
    FieldDoc::new("unlisted_z", Takes::Quantity(&sort::LENGTH), "how high that is, above ground").label("height of what is not listed, above ground").optional().due(Stage::Build),
    FieldDoc::new("weighed", Takes::Group, "the ticket of the finished vehicle: legal verdicts go by the heavier of ledger and ticket").optional().due(Stage::Build),
    FieldDoc::new("weighed.mass", Takes::Quantity(&sort::MASS), "without driver, or with its whole load and `laden: yes`").purpose(Purpose::Mass(Load::Weighed, Over::Vehicle)).label("weighed mass").range(Range::Positive).due(Stage::Build).principal(),
    FieldDoc::new("weighed.front_axle", Takes::Quantity(&sort::MASS), "on the front axle; one axle gives the other").purpose(Purpose::Mass(Load::Weighed, Over::FrontAxle)).label("weighed front axle").optional().range(Range::Positive).due(Stage::Build),
    FieldDoc::new("weighed.rear_axle", Takes::Quantity(&sort::MASS), "on the rear axle").purpose(Purpose::Mass(Load::Weighed, Over::RearAxle)).label("weighed rear axle").optional().range(Range::Positive).due(Stage::Build),
    FieldDoc::new("weighed.laden", Takes::Text, "`yes` where the load was aboard").purpose(Purpose::WeighedLaden).label("load aboard at the weighing").optional(),
    FieldDoc::new("weighed.source", Takes::Text, "the id of the ticket in a `sources` block, where no value names one").label("weigh ticket").optional(),
    FieldDoc::new("limits", Takes::Group, "the vehicle's limits").optional(),
    FieldDoc::new("limits.gross", Takes::Quantity(&sort::MASS), "the whole vehicle laden").purpose(Purpose::Mass(Load::Plate, Over::Vehicle)).label("gross mass by the plate").optional().range(Range::Positive).usual(100.0, 10_000.0).sort(FieldSort::Stated).principal(),
    FieldDoc::new("limits.front_axle", Takes::Quantity(&sort::MASS), "front axle laden").purpose(Purpose::Mass(Load::Plate, Over::FrontAxle)).label("front axle by the plate").optional().range(Range::Positive).usual(100.0, 10_000.0).sort(FieldSort::Stated).principal(),
    FieldDoc::new("limits.rear_axle", Takes::Quantity(&sort::MASS), "rear axle laden").purpose(Purpose::Mass(Load::Plate, Over::RearAxle)).label("rear axle by the plate").optional().range(Range::Positive).usual(100.0, 10_000.0).sort(FieldSort::Stated).principal(),
    FieldDoc::new("not_above", Takes::Quantity(&sort::MASS), "what the converted mass may not exceed").label("converted mass not to be exceeded").optional().range(Range::Positive).usual(100.0, 10_000.0).sort(FieldSort::Stated),
    FieldDoc::new("least_front_share", Takes::Quantity(&sort::SHARE), "the least share of the laden vehicle that its front axle is to carry, with its source: `40 % (published HANDBOOK)`").optional().range(Range::Share).sort(FieldSort::Choice).label("least share on the front axle, laden"),
];

pub(super) static KIND: Kind = Kind {
    name: "mass-ledger",
    summary: "what the vehicle weighs after the conversion, on each axle, against its limits",
    subsystem: "mass",
    fields: FIELDS,
    rows: ROWS,
    takes: &[&PART_MASS.row, &PACK_MASS.row],
    requires: REQUIRES,
    example: Example {
        journal: "\
```yaml mass-ledger kerb
donor: {mass: 940 kg, front_axle: 560 kg}
wheelbase: 2 200 mm
removed:
  - {name: engine, mass: 130 kg, x: 100 mm}
installed:
  - {name: motor, mass: 60 kg, x: 100 mm}
  - {name: pack, mass: 105 kg, x: 300 mm}
load:
  - {name: people, mass: 160 kg, x: 1 100 mm}
limits: {gross: 1 400 kg, front_axle: 750 kg, rear_axle: 750 kg}
```
",
        expected: &[("kerb.converted_mass", "975 kg"), ("kerb.front_axle", "583.863636 kg")],
    },
    sources: &[
        "statics of a beam on two supports: an item of mass m at x puts m x / wheelbase on the rear axle",
    ],
    limits: &["side to side loads, springs, brakes and the strength of the body"],
    codes: &[&AXLE_GAP, &MISSING_POSITION, &COUNTED_TWICE],
    read,
};

/// What is held on top for what no item names, until the vehicle is weighed: a share of what was installed. The
/// language's own rule; practice, no source.
const UNLISTED_SHARE: &str = "5 %";

struct MassLedger {
    given: Given,
    totals: Totals,
    axles: Axles,
    heights: Option<Heights>,
    weighed: Option<Weighed>,
    /// For what no item names, and its share of what was installed.
    allowance: Option<(Slot<Ratio>, Slot<Mass>)>,
    front_share: FrontShare,
    packs: Packs,
}

/// What the author gave.
struct Given {
    donor: Donor,
    wheelbase: Slot<Length>,
    removed: Vec<Item>,
    installed: Vec<Item>,
    load: Vec<Item>,
    limits: Limits,
    not_above: Slot<Mass>,
}

#[derive(Clone, Copy)]
struct Limits {
    gross: Slot<Mass>,
    front_axle: Slot<Mass>,
    rear_axle: Slot<Mass>,
}

struct Totals {
    removed: Slot<Mass>,
    installed: Slot<Mass>,
    net_change: Slot<Mass>,
    aboard: Option<Slot<Mass>>,
    converted: Slot<Mass>,
    mass_room: Slot<Mass>,
    load: Option<Slot<Mass>>,
    laden: Slot<Mass>,
    gross_room: Slot<Mass>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let donor = form.group("donor", read_donor);
    let donor = donor.unwrap_or_else(|| Donor {
        mass: form.if_given("donor.mass"),
        front: None,
        rear: None,
        cg_height: None,
        gap: None,
        aboard: Vec::new(),
    });
    let wheelbase = form.if_given("wheelbase");
    let [removed, mut installed, load] = ["removed", "installed", "load"].map(|key| read_items(form, key));
    installed.extend(read_extra(form, ["unlisted", "unlisted_x", "unlisted_z"], UNLISTED));
    let limits = form.group("limits", |form| Limits {
        gross: form.if_given("gross"),
        front_axle: form.if_given("front_axle"),
        rear_axle: form.if_given("rear_axle"),
    });
    let limits = limits.unwrap_or_else(|| Limits {
        gross: form.if_given("limits.gross"),
        front_axle: form.if_given("limits.front_axle"),
        rear_axle: form.if_given("limits.rear_axle"),
    });
    let not_above = form.if_given("not_above");
    let given = Given { donor, wheelbase, removed, installed, load, limits, not_above };
    let beside = Beside { load: !given.load.is_empty(), axles: form.has("wheelbase") && given.has_axles() };
    let packs = Packs::read(form, &given.installed);
    let ticket = form.group("weighed", Ticket::read);
    let share = form.put("unlisted_share", form.place, Leaf::stated(UNLISTED_SHARE));
    let mut out = form.outcomes();
    let totals = declare(&mut out, &given);
    let axles = Axles::declare(&mut out, &given);
    let heights = Heights::declare(&mut out, &given);
    let weighed = ticket.map(|ticket| Weighed::declare(&mut out, ticket, beside));
    let with_axles = weighed.as_ref().is_some_and(|weighed| weighed.axles.is_some());
    let allowance = (!with_axles).then(|| (share, out.result(ALLOWANCE.with("SHARE", "unlisted_share"))));
    let front_share = FrontShare::read(form, (weighed.as_ref(), beside));
    let by_mass = weighed.is_some();
    let mut out = form.outcomes();
    out.require(&LEAST_FRONT_SHARE);
    out.require(if by_mass { &CONVERTED_BY_HEAVIER } else { &CONVERTED_BOUND });
    out.require(if by_mass { &GROSS_BY_HEAVIER } else { &GROSS_LIMIT });
    out.require(if with_axles { &FRONT_BY_HEAVIER } else { &FRONT_LIMIT });
    out.require(if with_axles { &REAR_BY_HEAVIER } else { &REAR_LIMIT });
    Box::new(MassLedger { given, totals, axles, heights, weighed, allowance, front_share, packs })
}

fn declare(out: &mut Outcomes<'_, '_, '_>, given: &Given) -> Totals {
    let aboard = &given.donor.aboard;
    let (weighed_empty, unladen) = (aboard.is_empty(), given.load.is_empty());
    Totals {
        removed: out.result(REMOVED_TOTAL.with("MASSES", masses(out, &given.removed))),
        installed: out.result(INSTALLED_TOTAL.with("MASSES", masses(out, &given.installed))),
        net_change: out.result(&NET_CHANGE),
        aboard: (!weighed_empty).then(|| out.result(ABOARD_TOTAL.with("MASSES", masses(out, aboard)))),
        converted: out.result(if weighed_empty { &CONVERTED_MASS } else { &CONVERTED_WITHOUT }),
        mass_room: out.result(&MASS_ROOM),
        load: (!unladen).then(|| out.result(LOAD_TOTAL.with("MASSES", masses(out, &given.load)))),
        laden: out.result(if unladen { &LADEN_MASS } else { &LADEN_WITH_LOAD }),
        gross_room: out.result(&GROSS_ROOM),
    }
}

impl Block for MassLedger {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let (given, totals) = (&self.given, &self.totals);
        let removed = add_up(bench, &given.removed);
        let installed = add_up(bench, &given.installed);
        let aboard = add_up(bench, &given.donor.aboard);
        bench.set(totals.removed, removed);
        bench.set(totals.installed, installed);
        bench.set(totals.net_change, installed - removed);
        if let Some(slot) = totals.aboard {
            bench.set(slot, aboard);
        }
        let converted = bench.get(given.donor.mass) + (installed - removed) - aboard;
        bench.set(totals.converted, converted);
        bench.set(totals.mass_room, bench.get(given.not_above) - converted);
        let load = add_up(bench, &given.load);
        if let Some(slot) = totals.load {
            bench.set(slot, load);
        }
        let laden = converted + load;
        bench.set(totals.laden, laden);
        bench.set(totals.gross_room, bench.get(given.limits.gross) - laden);
        let on_axles = self.axles.evaluate(bench, given);
        if let Some(heights) = &self.heights {
            heights.evaluate(bench, given, [converted, laden]);
        }
        if let Some((share, allowance)) = self.allowance {
            bench.set(allowance, bench.get(share) * installed);
        }
        if let Some(weighed) = &self.weighed {
            let OnAxles { laden: laden_axles, load: load_on } = on_axles;
            weighed.evaluate(bench, &Ledger { converted, load, laden, load_on, laden_axles });
        }
        self.front_share.evaluate(bench, (self.weighed.as_ref(), &on_axles));
    }

    fn present(&self, page: &mut Page<'_>) {
        let totals = &self.totals;
        let mut rest = match page.get(totals.net_change).map(Measure::si) {
            None => words!(""),
            Some(0.0) => words!(": as much went in as came out"),
            Some(change) => {
                let word = if change < 0.0 { "less" } else { "more" };
                words!(": {} {} went in than came out", page.value_as(totals.net_change, change.abs()), word)
            }
        };
        if page.get(self.given.limits.gross).is_some() {
            let (laden, gross): (Shown, Shown) =
                (page.value(totals.laden), page.value(self.given.limits.gross));
            rest.append(words!("; laden {} of {} gross", laden, gross));
        }
        rest.append(words!("."));
        page.sentence(words!("Converted mass {}", page.value(totals.converted)), rest);
        self.below_nothing(page);
        self.hold(page);
        self.hold_share(page);
        self.gap(page);
        self.positions(page);
        self.fuel_twice(page);
        self.draw(page);
    }

    /// With the ticket of the finished vehicle.
    fn as_built(&self) -> bool {
        self.weighed.is_some()
    }
}

impl Given {
    /// Whether all is there that axle loads are worked from, but the wheelbase.
    fn has_axles(&self) -> bool {
        let lists = [&self.donor.aboard, &self.removed, &self.installed, &self.load];
        let placed = lists.iter().flat_map(|list| list.iter()).all(|item| item.lacks(Along::X).is_none());
        placed && (self.donor.front.is_some() || self.donor.rear.is_some())
    }
}
