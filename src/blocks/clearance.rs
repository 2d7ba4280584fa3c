//! How far the battery is from the edges of the body, against a rule.

use crate::blocks::shared::noted::is_known;
use crate::findings::codes;
use crate::model::{
    Bench, Block, BlockName, Case, Caution, Example, Family, FieldDoc, Form, Kind, Leaf, Looked, Page, Range,
    RequirementRow, Row, Slot, Stage, Taken, Takes,
};
use crate::quantities::si::{Force, Length};
use crate::quantities::sort;
use crate::rules::{Table, table};
use crate::words::words;

pub(super) static KIND: Kind = Kind {
    name: "clearance",
    summary: "whether the battery is far enough from the front, rear and sides of the body",
    subsystem: "battery",
    fields: &[
        FieldDoc::new("rule", Takes::Text, "`un-r100` or `leaflet-764`").principal(),
        FieldDoc::new(
            "front",
            Takes::Quantity(&sort::LENGTH),
            "from the battery to the front edge of the body",
        )
        .usual(0.05, 4.0)
        .range(Range::NotNegative)
        .label("distance to the front")
        .due(Stage::Build)
        .principal(),
        FieldDoc::new("rear", Takes::Quantity(&sort::LENGTH), "to its rear edge")
            .usual(0.05, 4.0)
            .range(Range::NotNegative)
            .label("distance to the rear")
            .due(Stage::Build)
            .principal(),
        FieldDoc::new("side", Takes::Quantity(&sort::LENGTH), "to the nearer side; not judged by `un-r100`")
            .usual(0.05, 4.0)
            .optional()
            .range(Range::NotNegative)
            .label("distance to the nearer side")
            .due(Stage::Build)
            .principal(),
        FieldDoc::new(
            "crush_force",
            Takes::Quantity(&sort::FORCE),
            "that a test of the pack has shown it to withstand: the place alone does not show it",
        )
        .optional()
        .range(Range::Positive)
        .label("crush force that the pack withstood")
        .due(Stage::Test),
    ],
    rows: &[&ROOM.row],
    takes: &[&LIMIT.row, &LENGTH.row, &WIDTH.row, &WHEELBASE.row, &PACK_FRONT.row, &PACK_REAR.row],
    requires: &[&FAR_ENOUGH, &CRUSH],
    example: Example {
        journal: "\
```yaml clearance place
rule: leaflet-764
front: 660 mm
rear: 740 mm
side: 380 mm
```
",
        expected: &[
            ("place.front_room", "240 mm"),
            ("place.rear_room", "440 mm"),
            ("place.side_room", "180 mm"),
        ],
    },
    sources: &[
        "front over 420 mm, rear over 300 mm, side over 200 mm: VdTUV leaflet 764, 5.2 (second-hand)",
        "420 mm behind the front, 300 mm ahead of the rear: UN R100, revision 2, 6.4.2.2 (read): a restriction on the place that belongs to the crush test, no rule that stands alone",
        "crush test of 100 kN: UN R100, series 03, 6.4.2 (second-hand)",
    ],
    limits: &[
        "the place alone is judged: what the structure around the battery, and the pack itself, do in a crash is for a crush test",
    ],
    codes: &[],
    read,
};

static SIDES: Family = Family { name: "sides", label: "Side", case: "SIDE" };

/// What the vehicle's rescue sheet says of it.
static LENGTH: Taken<Length> = Taken::new("sheet", "outline.length").about("of a `rescue` block");
static WIDTH: Taken<Length> = Taken::new("sheet", "outline.width").about("of a `rescue` block");
static WHEELBASE: Taken<Length> = Taken::new("sheet", "outline.wheelbase").about("of a `rescue` block");
static PACK_FRONT: Taken<Length> = Taken::new("sheet", "pack_front").about("of a `rescue` block");
static PACK_REAR: Taken<Length> = Taken::new("sheet", "pack_rear").about("of a `rescue` block");

/// What the rule asks, the name of a row of its table before `_limit`.
static LIMIT: Taken<Length> = Taken::new("", "front_limit");

static ROOM: Row<Length> = Row::formula("SIDE_room", "room beyond the limit", "mm", "SIDE - SIDE_limit")
    .family(&SIDES)
    .each(&[("SIDE", "front")])
    .principal();

static FAR_ENOUGH: RequirementRow = RequirementRow::safety("SIDE", "SIDE")
    .at_least("SIDE_limit")
    .strictly()
    .family(&SIDES)
    .each(&[("SIDE", "front")])
    .due(Stage::Build);

static CRUSH: RequirementRow =
    RequirementRow::safety("crush_force", "crush_force").at_least("crush_test").due(Stage::Test);

struct Clearance {
    sides: Vec<Side>,
    rule: Option<&'static Table>,
    /// Given, and not judged by the rule.
    unjudged: bool,
    /// The vehicle's length and width.
    outline: Option<[Slot<Length>; 2]>,
    /// Its wheelbase, and where along it the battery begins and ends.
    placed: Option<[Slot<Length>; 3]>,
    /// A crush force that nobody has tried.
    untried: bool,
}

struct Side {
    name: &'static str,
    distance: Slot<Length>,
    limit: Slot<Length>,
    room: Slot<Length>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let rule = read_rule(form);
    let mut sides = Vec::new();
    let mut unjudged = false;
    for name in ["front", "rear", "side"] {
        let asked = rule.and_then(|rule| Some((rule, rule.cell(rule.row(name)?, "distance"))));
        let at = form.place_of(name);
        // Without a rule nothing is asked of the side, and its absence not told.
        if asked.is_none() && name == "side" {
            unjudged = form.optional::<Length>(name).is_some();
            continue;
        }
        let distance = form.required(name);
        let Some((rule, text)) = asked else { continue };
        let limit = form.put(&format!("{name}_limit"), at, Leaf::ruled(text, &rule.source));
        let case = Case { slug: name.to_owned(), title: name.to_owned() };
        let mut out = form.outcomes();
        sides.push(Side { name, distance, limit, room: out.result(ROOM.of(&case)) });
        out.require(FAR_ENOUGH.of(&case));
    }
    let crush_force = form.optional::<Force>("crush_force");
    let untried = crush_force.is_some_and(|force| !is_known(form, force));
    let sheet = form
        .lookup()
        .blocks(&["rescue"], Looked::At(&["outline"]))
        .first()
        .map(|sheet| sheet.name.to_owned());
    let sheet = sheet.map(|name| BlockName::found(&name, form.place));
    let outline =
        sheet.as_ref().map(|sheet| [&LENGTH, &WIDTH].map(|row| form.lookup().taken(row, Some(sheet))));
    let placed = sheet.and_then(|sheet| {
        let [front, rear] = [&PACK_FRONT, &PACK_REAR].map(|row| form.lookup().if_there(row, Some(&sheet)));
        let ends = front.zip(rear);
        ends.map(|(front, rear)| [form.lookup().taken(&WHEELBASE, Some(&sheet)), front, rear])
    });
    form.limit::<Force>("crush_test", "crush_test");
    form.outcomes().require(&CRUSH);
    Box::new(Clearance { sides, rule, unjudged, outline, placed, untried })
}

fn read_rule(form: &mut Form<'_, '_>) -> Option<&'static Table> {
    let (text, at) = form.text("rule")?;
    let plain: String = text.to_lowercase().chars().filter(char::is_ascii_alphanumeric).collect();
    match plain.as_str() {
        "unr100" | "r100" => Some(table("clearance_un_r100")),
        "leaflet764" | "vdtuv764" | "vdtuvleaflet764" | "764" => Some(table("clearance_leaflet_764")),
        _ => {
            let help = "type `un-r100` or `leaflet-764`";
            form.report(&codes::BAD_VALUE, at, words!("`{}` is no rule of clearance", text), help);
            None
        }
    }
}

impl Clearance {
    /// What front and rear, or both sides, leave of the vehicle must be something.
    fn hold_against_outline(&self, page: &mut Page<'_>) {
        let distance = |name: &str| {
            let side = self.sides.iter().find(|side| side.name == name)?;
            page.get(side.distance)
        };
        let Some([length, width]) = self.outline else { return };
        let along = distance("front").zip(distance("rear")).map(|(front, rear)| front + rear);
        let across = distance("side").map(|side| side * 2.0);
        for (taken, of, names) in [(along, length, ["front", "rear"].as_slice()), (across, width, &["side"])]
        {
            if taken.zip(page.get(of)).is_some_and(|(taken, of)| taken >= of) {
                let reason = words!(
                    "nothing is left for the battery between them: the vehicle measures {}",
                    page.value(of)
                );
                names.iter().for_each(|name| page.hold_open(name, Stage::Build, reason.clone()));
            }
        }
    }
}

impl Clearance {
    /// With the battery where the rescue sheet has it, the body must reach beyond both axles.
    fn hold_against_place(&self, page: &mut Page<'_>) {
        let distance = |name: &str| {
            let side = self.sides.iter().find(|side| side.name == name)?;
            page.get(side.distance)
        };
        let Some(placed) = self.placed else { return };
        let [Some(wheelbase), Some(first), Some(last)] = placed.map(|slot| page.get(slot)) else { return };
        let (Some(front), Some(rear)) = (distance("front"), distance("rear")) else { return };
        let wrong = match (front <= first, rear <= wheelbase - last) {
            (true, _) => "behind the front axle",
            (_, true) => "ahead of the rear axle",
            (false, false) => return,
        };
        let reason = words!(
            "with the battery from {} to {} behind the front axle the body would end {}: front and rear may have been swapped",
            page.value(placed[1]),
            page.value(placed[2]),
            wrong
        );
        ["front", "rear"].iter().for_each(|name| page.hold_open(name, Stage::Build, reason.clone()));
    }
}

impl Block for Clearance {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        for side in &self.sides {
            bench.set(side.room, bench.get(side.distance) - bench.get(side.limit));
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let least = self
            .sides
            .iter()
            .filter_map(|side| Some((side, page.get(side.room)?)))
            .min_by(|a, b| a.1.value.total_cmp(&b.1.value));
        if let (Some((side, _)), Some(rule)) = (least, self.rule) {
            page.sentence(
                words!("Least room at the {}: {}", side.name, page.value(side.room)),
                words!(" beyond what {} asks.", rule.source.words()),
            );
        }
        self.hold_against_outline(page);
        self.hold_against_place(page);
        if self.untried {
            let reason = "it is no test's outcome: a guess or a wish shows nothing";
            page.hold_open(CRUSH.name, Stage::Test, reason);
        }
        if self.unjudged {
            page.note("The rule asks nothing of the side.");
        }
        page.caution(Caution::Holding);
    }
}
