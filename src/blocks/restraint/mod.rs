//! What the fasteners of a battery must hold when the vehicle is stopped hard, from each direction.

mod fasteners;

use self::fasteners::{Fasteners, read_fasteners};
use crate::findings::codes;
use crate::model::{
    Bench, Block, Caution, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind, ResultDoc,
    Slot, Takes,
};
use crate::quantities::si::{Acceleration, Force, Length, Mass, Measure, Ratio};
use crate::quantities::sort;
use crate::rules::limit;

pub(super) static KIND: Kind = Kind {
    name: "restraint",
    summary: "what the fasteners of the battery must hold from each direction, and how much of them that takes",
    subsystem: "battery",
    fields: &[
        FieldDoc::new("mass", Takes::Quantity(&sort::MASS), "of all that is held, boxes and cooling too")
            .range(Range::Positive),
        FieldDoc::new("accelerations", Takes::Group, "what must be held, each with its source"),
        FieldDoc::new("accelerations.forward", Takes::Quantity(&sort::ACCELERATION), "as in a frontal crash")
            .optional()
            .range(Range::Positive),
        FieldDoc::new(
            "accelerations.rear",
            Takes::Quantity(&sort::ACCELERATION),
            "as in a crash from behind",
        )
        .optional()
        .range(Range::Positive),
        FieldDoc::new("accelerations.sideways", Takes::Quantity(&sort::ACCELERATION), "to either side")
            .optional()
            .range(Range::Positive),
        FieldDoc::new("accelerations.up", Takes::Quantity(&sort::ACCELERATION), "off its base")
            .optional()
            .range(Range::Positive),
        FieldDoc::new(
            "accelerations.down",
            Takes::Quantity(&sort::ACCELERATION),
            "taken as if the battery hung on its fasteners",
        )
        .optional()
        .range(Range::Positive),
        FieldDoc::new(
            "cg_above_base",
            Takes::Quantity(&sort::LENGTH),
            "height of the centre of gravity above the plane of the fasteners",
        )
        .optional()
        .range(Range::NotNegative),
        FieldDoc::new("row_spacing", Takes::Group, "between the outer rows of fasteners").optional(),
        FieldDoc::new("row_spacing.along", Takes::Quantity(&sort::LENGTH), "in the length of the vehicle")
            .range(Range::Positive),
        FieldDoc::new("row_spacing.across", Takes::Quantity(&sort::LENGTH), "in its width")
            .range(Range::Positive),
        FieldDoc::new("fasteners", Takes::Group, "of one kind, all alike"),
        FieldDoc::new("fasteners.count", Takes::Count, "of all of them").range(Range::AtLeastOne),
        FieldDoc::new("fasteners.size", Takes::Text, "metric, coarse thread: `M8`"),
        FieldDoc::new("fasteners.class", Takes::Text, "the property class on the head: `8.8`"),
        FieldDoc::new("fasteners.rows", Takes::Count, "in how many rows, seen from any side")
            .assumed("2")
            .range(Range::AtLeastOne),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "stress_area", about: "of one fastener's thread" },
        ResultDoc { name: "proof_load", about: "that one fastener bears without lasting stretch" },
        ResultDoc { name: "force_DIRECTION", about: "on the whole battery: `force_forward` and so on" },
        ResultDoc { name: "shear_DIRECTION", about: "on each fastener, friction not counted" },
        ResultDoc {
            name: "tension_DIRECTION",
            about: "on the worst fastener; from overturning, or pulled straight",
        },
        ResultDoc {
            name: "utilisation_DIRECTION",
            about: "of the worst fastener's proof load, tension and shear together",
        },
        ResultDoc { name: "worst", about: "the direction that takes most of them" },
    ],
    example: Example {
        journal: "\
```yaml restraint hold
mass: 105 kg
accelerations: {forward: 20 g_n, sideways: 15 g_n, up: 10 g_n}
cg_above_base: 140 mm
row_spacing: {along: 600 mm, across: 400 mm}
fasteners: {count: 4, size: M10, class: 8.8}
```
",
        expected: &[
            ("hold.force_forward", "20593.965 N"),
            ("hold.force_sideways", "15445.47375 N"),
            ("hold.force_up", "10296.9825 N"),
            ("hold.shear_forward", "5148.49125 N"),
            ("hold.tension_forward", "2402.629250 N"),
            ("hold.stress_area", "57.98959310706 mm^2"),
            ("hold.utilisation_forward", "27.458698468 %"),
        ],
    },
    sources: &[
        "force = mass × acceleration, overturning about the outer row: statics; tension and shear together by von Mises, √(σ² + 3 τ²)",
        "stress area π/4 ((d2 + d3)/2)² with the diameters of ISO 724; proof stress by ISO 898-1 (both second-hand)",
    ],
    inspector: &["mass", "fasteners.count", "fasteners.size", "fasteners.class", "worst"],
    limits: &[
        "the brackets, and the sheet, frame or body that they are bolted to, are not calculated: they are as often what gives way",
        "preload, friction, prying, bending of fasteners, fatigue and thread engagement are not calculated",
        "no verified table of accelerations by direction was at hand: those used are the journal's own",
    ],
    codes: &[],
    read,
};

/// Directions: the key, and between which rows the battery would tip over.
const DIRECTIONS: [(&str, Tips); 5] = [
    ("forward", Tips::Along),
    ("rear", Tips::Along),
    ("sideways", Tips::Across),
    ("up", Tips::Not),
    ("down", Tips::Not),
];

#[derive(Clone, Copy, PartialEq, Eq)]
enum Tips {
    Along,
    Across,
    /// Pulled straight on all fasteners.
    Not,
}

struct Restraint {
    mass: Slot<Mass>,
    cg: Option<Lever>,
    fasteners: Fasteners,
    directions: Vec<Direction>,
    worst: Slot<String>,
}

struct Lever {
    height: Slot<Length>,
    along: Slot<Length>,
    across: Slot<Length>,
}

struct Direction {
    key: &'static str,
    tips: Tips,
    acceleration: Slot<Acceleration>,
    force: Slot<Force>,
    shear: Option<Slot<Force>>,
    /// Tension and utilisation.
    hold: Option<(Slot<Force>, Slot<Ratio>)>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let mass = form.required("mass");
    let at = form.place_of("accelerations");
    if !form.has("accelerations") {
        form.missing("accelerations");
    }
    let given = form.group("accelerations", |form| {
        DIRECTIONS.map(|(key, tips)| form.optional(key).map(|acceleration| (key, tips, acceleration)))
    });
    let given: Vec<_> = given.into_iter().flatten().flatten().collect();
    if given.is_empty() && form.has("accelerations") {
        let help = "type what must be held: `accelerations: {forward: 20 g_n (published GUIDE)}`";
        form.report(&codes::MISSING_FIELD, at, "no acceleration is given", help);
    }
    let height = form.optional("cg_above_base");
    let spacing = form.group("row_spacing", |form| (form.required("along"), form.required("across")));
    let cg = height.zip(spacing).map(|(height, (along, across))| Lever { height, along, across });
    let fasteners = read_fasteners(form);
    let (source, status) = fasteners.grounds(form);
    let directions: Vec<Direction> = given
        .into_iter()
        .map(|(key, tips, acceleration)| declare(form, (key, tips, acceleration), cg.is_some()))
        .collect();
    for direction in directions.iter().filter(|direction| direction.hold.is_some()) {
        let name = format!("utilisation_{}", direction.key);
        form.require(Limit {
            name: &name,
            kind: RequirementKind::Safety,
            actual: &name,
            low: None,
            high: Some("1"),
            source: &source,
            status,
            span: None,
        });
    }
    let uses: Vec<usize> =
        directions.iter().filter_map(|direction| Some(direction.hold?.1.index())).collect();
    let worst = form.text_step("worst", &uses);
    Box::new(Restraint { mass, cg, fasteners, directions, worst })
}

fn declare(
    form: &mut Form<'_, '_>,
    (key, tips, acceleration): (&'static str, Tips, Slot<Acceleration>),
    lever: bool,
) -> Direction {
    let force = form.step(&format!("force_{key}"), "N", &format!("mass * accelerations.{key}"));
    let spacing = if tips == Tips::Across { "across" } else { "along" };
    let straight = tips == Tips::Not;
    let shear = (!straight)
        .then(|| form.step(&format!("shear_{key}"), "N", &format!("force_{key} / fasteners.count")));
    let tension = if straight {
        format!("force_{key} / fasteners.count")
    } else {
        format!("force_{key} * cg_above_base / row_spacing.{spacing} / (fasteners.count / fasteners.rows)")
    };
    let utilisation = if straight {
        format!("tension_{key} / proof_load")
    } else {
        format!("sqrt(tension_{key}^2 + 3 * shear_{key}^2) / proof_load")
    };
    let hold = (straight || lever).then(|| {
        (
            form.step(&format!("tension_{key}"), "N", &tension),
            form.step(&format!("utilisation_{key}"), "%", &utilisation),
        )
    });
    Direction { key, tips, acceleration, force, shear, hold }
}

impl Block for Restraint {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let proof_load = self.fasteners.evaluate(bench);
        let count = bench.get(self.fasteners.count);
        let in_row = count / bench.get(self.fasteners.rows);
        for direction in &self.directions {
            let force: Force = bench.get(self.mass) * bench.get(direction.acceleration);
            bench.set(direction.force, force);
            let each = force / count;
            if let Some(shear) = direction.shear {
                bench.set(shear, each);
            }
            let Some((tension, utilisation)) = direction.hold else { continue };
            let (pull, shear) = match (&self.cg, direction.tips) {
                (Some(lever), Tips::Along | Tips::Across) => {
                    let arm = if direction.tips == Tips::Along { lever.along } else { lever.across };
                    (force * (bench.get(lever.height) / bench.get(arm)) / in_row, each)
                }
                _ => (each, each * 0.0),
            };
            bench.set(tension, pull);
            bench.set(utilisation, (pull * pull + 3.0 * shear * shear).sqrt() / proof_load);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let used = |direction: &Direction| page.get(direction.hold?.1).map(Measure::si);
        let worst = self
            .directions
            .iter()
            .filter_map(|direction| Some((direction, used(direction)?)))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        match worst {
            Some((direction, share)) => {
                let share = page.percent(share);
                page.say(self.worst, format!("{}: {share} of a fastener's proof load", direction.key));
                page.sentence(
                    format!("Worst {}: {share} of a fastener's proof load", direction.key),
                    format!(", from {} on the battery.", page.shown(direction.force)),
                );
            }
            None => {
                let forces: Vec<String> = self
                    .directions
                    .iter()
                    .map(|direction| format!("{} {}", direction.key, page.shown(direction.force)))
                    .collect();
                page.sentence("Forces on the battery", format!(": {}.", forces.join(", ")));
            }
        }
        for direction in &self.directions {
            page.headline(direction.force);
        }
        if self.cg.is_none() && self.directions.iter().any(|direction| direction.hold.is_none()) {
            page.note("Overturning was not worked, so the fasteners were not judged against forces along and across: give `cg_above_base` and `row_spacing`.");
        }
        self.guide(page);
        page.note("The bracket, and what it is bolted to, are not calculated.");
        page.caution(Caution::Holding);
    }
}

impl Restraint {
    /// What a guide asks, where the journal asks less.
    fn guide(&self, page: &mut Page<'_>) {
        let guide = limit("restraint_guide");
        let all = self.directions.iter().filter_map(|direction| page.get(direction.acceleration));
        let most = all.map(Measure::si).fold(f64::NEG_INFINITY, f64::max);
        if most.is_finite() && most < guide.si() * (1.0 - 1e-9) {
            page.note(format!(
                "No direction is held at the {} that {} asks ({}).",
                guide.value.replace(' ', "\u{a0}"),
                guide.source.words(),
                guide.source.standing.word()
            ));
        }
    }
}
