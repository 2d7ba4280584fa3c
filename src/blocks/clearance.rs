//! How far the battery is from the edges of the body, against a rule.

use crate::findings::codes;
use crate::model::{
    Bench, Block, Case, Caution, Example, Family, FieldDoc, Form, Kind, Leaf, Page, Range, RequirementRow,
    Row, Slot, Stage, Taken, Takes,
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
    takes: &[&LIMIT.row],
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
    form.if_given::<Force>("crush_force");
    form.limit::<Force>("crush_test", "crush_test");
    form.outcomes().require(&CRUSH);
    Box::new(Clearance { sides, rule, unjudged })
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
        if self.unjudged {
            page.note("The rule asks nothing of the side.");
        }
        page.caution(Caution::Holding);
    }
}
