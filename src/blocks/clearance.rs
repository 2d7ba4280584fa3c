//! How far the battery is from the edges of the body, against a rule.

use crate::findings::codes;
use crate::model::{
    Bench, Block, Caution, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind, ResultDoc,
    Slot, Status, Takes,
};
use crate::quantities::si::Length;
use crate::quantities::sort;
use crate::rules::{Table, table};

pub(super) static KIND: Kind = Kind {
    name: "clearance",
    summary: "whether the battery is far enough from the front, rear and sides of the body",
    subsystem: "battery",
    fields: &[
        FieldDoc::new("rule", Takes::Text, "`un-r100` or `leaflet-764`"),
        FieldDoc::new(
            "front",
            Takes::Quantity(&sort::LENGTH),
            "from the battery to the front edge of the body",
        )
        .range(Range::NotNegative),
        FieldDoc::new("rear", Takes::Quantity(&sort::LENGTH), "to its rear edge").range(Range::NotNegative),
        FieldDoc::new("side", Takes::Quantity(&sort::LENGTH), "to the nearer side; not judged by `un-r100`")
            .optional()
            .range(Range::NotNegative),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "front_room", about: "distance − limit" },
        ResultDoc { name: "rear_room", about: "distance − limit" },
        ResultDoc { name: "side_room", about: "distance − limit" },
    ],
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
        "420 mm behind the front, 300 mm ahead of the rear: UN R100, revision 2, component crush route (read)",
    ],
    inspector: &["rule", "front", "rear", "side"],
    limits: &["what the structure around the battery does in a crash is not calculated"],
    codes: &[],
    read,
};

const SIDES: [&str; 3] = ["front", "rear", "side"];

struct Clearance {
    sides: Vec<Side>,
    rule: Option<&'static Table>,
    /// Given, and not judged by the rule.
    unjudged: bool,
}

struct Side {
    distance: Slot<Length>,
    limit: Slot<Length>,
    room: Slot<Length>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let rule = read_rule(form);
    let mut sides = Vec::new();
    let mut unjudged = false;
    for key in SIDES {
        let row = rule.and_then(|rule| rule.row(key).map(|row| rule.cell(row, "distance")));
        let at = form.place_of(key);
        // Without a rule nothing is asked of the side, and its absence not told.
        let asked = row.is_some() || key != "side";
        let distance = if asked { Some(form.required(key)) } else { form.optional(key) };
        let (Some(distance), Some(rule)) = (distance, rule) else { continue };
        let Some(text) = row else {
            unjudged = true;
            continue;
        };
        let limit = form.ruled(&format!("{key}_limit"), text, (&rule.source, at));
        let room = form.step(&format!("{key}_room"), "mm", &format!("{key} - {key}_limit"));
        let low = format!("{key}_limit");
        form.require_strictly(Limit {
            name: key,
            kind: RequirementKind::Safety,
            actual: key,
            low: Some(&low),
            high: None,
            source: &rule.source.words(),
            status: Status::from(rule.source.standing),
            span: None,
        });
        sides.push(Side { distance, limit, room });
    }
    Box::new(Clearance { sides, rule, unjudged })
}

fn read_rule(form: &mut Form<'_, '_>) -> Option<&'static Table> {
    if !form.has("rule") {
        form.missing("rule");
    }
    let (text, at) = form.text("rule")?;
    let plain: String = text.to_lowercase().chars().filter(char::is_ascii_alphanumeric).collect();
    match plain.as_str() {
        "unr100" | "r100" => Some(table("clearance_un_r100")),
        "leaflet764" | "vdtuv764" | "vdtuvleaflet764" | "764" => Some(table("clearance_leaflet_764")),
        _ => {
            let help = "type `un-r100` or `leaflet-764`";
            form.report(&codes::BAD_VALUE, at, format!("`{text}` is no rule of clearance"), help);
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
            let which = page.nodes[side.distance.index()].label();
            page.sentence(
                format!("Least room at the {which}: {}", page.shown(side.room)),
                format!(" beyond what {} asks.", rule.source.words()),
            );
            page.headline(side.room);
        }
        if self.unjudged {
            page.note("The rule asks nothing of the side.");
        }
        page.caution(Caution::Holding);
    }
}
