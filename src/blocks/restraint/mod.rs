//! What the fasteners of a battery must hold when the vehicle is stopped hard, from each direction.

mod fasteners;
mod held;
mod shock;

use self::fasteners::{DIAMETER, Fasteners, PITCH, PROOF_LOAD, PROOF_STRESS, STRESS_AREA, read_fasteners};
use self::held::Held;
use self::shock::{SHOCK_ACROSS, SHOCK_ALONG, read_shock};
use crate::findings::codes;
use crate::model::{
    Bench, Block, Case, Caution, Example, Family, FieldDoc, FieldSort, Form, Kind, Page, Range,
    RequirementRow, Row, Slot, Takes,
};
use crate::quantities::si::{Acceleration, Force, Length, Mass, Measure, Ratio};
use crate::quantities::sort;
use crate::rules::limit;
use crate::words::{Words, words};

pub(super) static KIND: Kind = Kind {
    name: "restraint",
    summary: "what the fasteners of the battery must hold from each direction, and how much of them that takes",
    subsystem: "battery",
    fields: &[
        FieldDoc::new("mass", Takes::Quantity(&sort::MASS), "of all that is held, boxes and cooling too")
            .usual(5.0, 2_000.0)
            .range(Range::Positive)
            .principal(),
        FieldDoc::new(
            "category",
            Takes::Text,
            "the vehicle's: `M1`, `N1`, `M2`, `N2`, `M3` or `N3`; it says how hard a shock is",
        )
        .optional(),
        FieldDoc::new("accelerations", Takes::Group, "what must be held, each with its source"),
        FieldDoc::new("accelerations.forward", Takes::Quantity(&sort::ACCELERATION), "as in a frontal crash")
            .label("acceleration forward")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Choice),
        FieldDoc::new(
            "accelerations.rear",
            Takes::Quantity(&sort::ACCELERATION),
            "as in a crash from behind",
        )
        .label("acceleration to the rear")
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Choice),
        FieldDoc::new("accelerations.sideways", Takes::Quantity(&sort::ACCELERATION), "to either side")
            .label("acceleration sideways")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Choice),
        FieldDoc::new("accelerations.up", Takes::Quantity(&sort::ACCELERATION), "off its base")
            .label("acceleration upward")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Choice),
        FieldDoc::new(
            "accelerations.down",
            Takes::Quantity(&sort::ACCELERATION),
            "taken as if the battery hung on its fasteners",
        )
        .label("acceleration downward")
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Choice),
        FieldDoc::new(
            "cg_above_base",
            Takes::Quantity(&sort::LENGTH),
            "height of the centre of gravity above the plane of the fasteners",
        )
        .optional()
        .range(Range::NotNegative)
        .label("height of the centre of gravity above the fasteners"),
        FieldDoc::new("row_spacing", Takes::Group, "between the outer rows of fasteners").optional(),
        FieldDoc::new("row_spacing.along", Takes::Quantity(&sort::LENGTH), "in the length of the vehicle")
            .range(Range::Positive)
            .label("row spacing along the vehicle"),
        FieldDoc::new("row_spacing.across", Takes::Quantity(&sort::LENGTH), "in its width")
            .range(Range::Positive)
            .label("row spacing across the vehicle"),
        FieldDoc::new("fasteners", Takes::Group, "of one kind, all alike"),
        FieldDoc::new("fasteners.count", Takes::Count, "of all of them")
            .range(Range::AtLeastOne)
            .label("number of fasteners")
            .principal(),
        FieldDoc::new("fasteners.size", Takes::Text, "metric: `M8`; with a fine thread `M10x1.25`")
            .label("size of the fasteners")
            .principal(),
        FieldDoc::new("fasteners.class", Takes::Text, "the property class on the head: `8.8`")
            .label("property class of the fasteners")
            .principal(),
        FieldDoc::new("fasteners.rows", Takes::Count, "in how many rows, seen from any side")
            .assumed("2")
            .range(Range::AtLeastOne)
            .label("rows of fasteners"),
    ],
    rows: &[
        &STRESS_AREA.row,
        &PROOF_LOAD.row,
        &FORCE.row,
        &SHEAR.row,
        &TENSION_ALONG.row,
        &TENSION_ACROSS.row,
        &TENSION_STRAIGHT.row,
        &UTILISATION.row,
        &UTILISATION_STRAIGHT.row,
        &WORST.row,
    ],
    takes: &[
        &DIAMETER.row,
        &PITCH.row,
        &PROOF_STRESS.row,
        &SHOCK_ALONG.row,
        &SHOCK_ACROSS.row,
        &held::MASS.row,
    ],
    requires: &[&HELD, &HARD_ALONG, &HARD_ACROSS],
    example: Example {
        journal: "\
```yaml restraint hold
mass: 105 kg
category: M1
accelerations: {forward: 20 g_n, rear: 20 g_n, sideways: 15 g_n, up: 10 g_n, down: 10 g_n}
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
    limits: &[
        "the brackets, and the sheet, frame or body that they are bolted to, are not calculated: they are as often what gives way",
        "preload, friction, prying, bending of fasteners, fatigue and thread engagement are not calculated",
        "no text was at hand that states an acceleration up or down: those used are the journal's own",
    ],
    codes: &[],
    read,
};

static DIRECTIONS: Family = Family { name: "directions", label: "Direction", case: "DIRECTION" };

static FORCE: Row<Force> =
    Row::formula("force_DIRECTION", "force on the battery", "N", "mass * accelerations.DIRECTION")
        .family(&DIRECTIONS);
static SHEAR: Row<Force> =
    Row::formula("shear_DIRECTION", "shear of each fastener", "N", "force_DIRECTION / fasteners.count")
        .about("friction not counted")
        .family(&DIRECTIONS);
static TENSION_ALONG: Row<Force> = Row::formula(
    "tension_DIRECTION",
    "tension of the worst fastener",
    "N",
    "force_DIRECTION * cg_above_base / row_spacing.along / (fasteners.count / fasteners.rows)",
)
.about("from overturning, or pulled straight")
.family(&DIRECTIONS);
static TENSION_ACROSS: Row<Force> = TENSION_ALONG
    .by("force_DIRECTION * cg_above_base / row_spacing.across / (fasteners.count / fasteners.rows)");
static TENSION_STRAIGHT: Row<Force> = TENSION_ALONG.by("force_DIRECTION / fasteners.count");
static UTILISATION: Row<Ratio> = Row::formula(
    "utilisation_DIRECTION",
    "share of the proof load",
    "%",
    "sqrt(tension_DIRECTION^2 + 3 * shear_DIRECTION^2) / proof_load",
)
.about("of the worst fastener, tension and shear together")
.family(&DIRECTIONS)
.principal();
static UTILISATION_STRAIGHT: Row<Ratio> = UTILISATION.by("tension_DIRECTION / proof_load");
static WORST: Row<String> = Row::words("worst", "direction that takes most of the fasteners");

static HELD: RequirementRow = RequirementRow::safety("utilisation_DIRECTION", "utilisation_DIRECTION")
    .at_most("1")
    .by_rule(&["fasteners.proof_stress", "fasteners.diameter", "fasteners.pitch"])
    .family(&DIRECTIONS);

static HARD_ALONG: RequirementRow =
    RequirementRow::safety("acceleration_DIRECTION", "accelerations.DIRECTION")
        .label("acceleration that is held")
        .at_least("shock_along")
        .source("the shock test of the vehicle's category")
        .family(&DIRECTIONS);
static HARD_ACROSS: RequirementRow =
    RequirementRow::safety("acceleration_DIRECTION", "accelerations.DIRECTION")
        .label("acceleration that is held")
        .at_least("shock_across")
        .source("the shock test of the vehicle's category")
        .family(&DIRECTIONS);

/// How the fasteners are loaded in a direction.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Load {
    /// The battery would tip over a row along the vehicle.
    Along,
    Across,
    /// Pulled straight on all fasteners.
    Straight,
}

const LOADS: [(&str, Load); 5] = [
    ("forward", Load::Along),
    ("rear", Load::Along),
    ("sideways", Load::Across),
    ("up", Load::Straight),
    ("down", Load::Straight),
];

struct Restraint {
    mass: Slot<Mass>,
    cg_above_base: Slot<Length>,
    /// Along and across.
    row_spacing: Option<(Slot<Length>, Slot<Length>)>,
    fasteners: Fasteners,
    /// Along and across, where no category says them.
    shock: Option<[Slot<Acceleration>; 2]>,
    directions: Vec<Direction>,
    worst: Slot<String>,
    held: Held,
}

struct Direction {
    name: &'static str,
    load: Load,
    acceleration: Slot<Acceleration>,
    force: Slot<Force>,
    shear: Option<Slot<Force>>,
    tension: Slot<Force>,
    utilisation: Slot<Ratio>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let mass = form.required("mass");
    let at = form.place_of("accelerations");
    let given = form.group("accelerations", |form| {
        LOADS.map(|(name, load)| (form.has(name), (name, load, form.if_given(name))))
    });
    let mut given: Vec<_> = given.into_iter().flatten().collect();
    if form.has("accelerations") && !given.iter().any(|(there, _)| *there) {
        let help = "type what must be held: `accelerations: {forward: 20 g_n (published GUIDE)}`";
        form.report(&codes::MISSING_FIELD, at, "no acceleration is given", help);
    }
    let cg_above_base = form.if_given("cg_above_base");
    let row_spacing = form.group("row_spacing", |form| (form.required("along"), form.required("across")));
    let fasteners = read_fasteners(form);
    let shock = read_shock(form);
    let tips = form.has("cg_above_base") && row_spacing.is_some();
    // What is left out or can't be worked is no candidate for the worst.
    given.iter_mut().for_each(|(there, (_, load, _))| *there &= tips || *load == Load::Straight);
    let directions: Vec<Direction> = given.iter().map(|(_, given)| declare(form, *given)).collect();
    let worked = directions.iter().zip(&given).filter(|(_, (there, _))| *there);
    let uses: Vec<usize> = worked.map(|(direction, _)| direction.utilisation.index()).collect();
    let held = Held::read(form);
    let worst = form.outcomes().procedure(&WORST, &uses);
    Box::new(Restraint { mass, cg_above_base, row_spacing, fasteners, shock, directions, worst, held })
}

fn declare(
    form: &mut Form<'_, '_>,
    (name, load, acceleration): (&'static str, Load, Slot<Acceleration>),
) -> Direction {
    let case = Case { slug: name.to_owned(), title: name.to_owned() };
    let straight = load == Load::Straight;
    let tension = match load {
        Load::Along => &TENSION_ALONG,
        Load::Across => &TENSION_ACROSS,
        Load::Straight => &TENSION_STRAIGHT,
    };
    let mut out = form.outcomes();
    let direction = Direction {
        name,
        load,
        acceleration,
        force: out.result(FORCE.of(&case)),
        shear: (!straight).then(|| out.result(SHEAR.of(&case))),
        tension: out.result(tension.of(&case)),
        utilisation: out.result(if straight { &UTILISATION_STRAIGHT } else { &UTILISATION }.of(&case)),
    };
    out.require(HELD.of(&case));
    match load {
        Load::Along => out.require(HARD_ALONG.of(&case)),
        Load::Across => out.require(HARD_ACROSS.of(&case)),
        Load::Straight => {}
    }
    direction
}

impl Block for Restraint {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let bears = self.fasteners.evaluate(bench);
        for direction in &self.directions {
            let force: Force = bench.get(self.mass) * bench.get(direction.acceleration);
            bench.set(direction.force, force);
            let Some(bears) = &bears else { continue };
            let each = force / bears.count;
            let shear = match direction.shear {
                Some(slot) => {
                    bench.set(slot, each);
                    each
                }
                None => each * 0.0,
            };
            let tension = self.arm(bench, direction.load).map_or(each, |arm| force * arm / bears.in_row);
            bench.set(direction.tension, tension);
            let together = (tension * tension + 3.0 * shear * shear).sqrt();
            bench.set(direction.utilisation, together / bears.proof_load);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let used = |direction: &&Direction| page.get(direction.utilisation).map(Measure::si);
        let worst = self
            .directions
            .iter()
            .filter_map(|direction| Some((direction, used(&direction)?)))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        match worst {
            Some((direction, share)) => {
                let share = page.percent(share);
                page.say(self.worst, format!("{}: {share} of a fastener's proof load", direction.name));
                page.sentence(
                    words!("Worst {}: {} of a fastener's proof load", direction.name, share),
                    words!(", from {} on the battery.", page.value(direction.force)),
                );
            }
            None => {
                let told = |direction: &&Direction| page.get(direction.force).is_some();
                let forces = self
                    .directions
                    .iter()
                    .filter(told)
                    .map(|direction| words!("{} {}", direction.name, page.value(direction.force)));
                page.sentence("Forces on the battery", words!(": {}.", Words::joined(forces, ", ")));
            }
        }
        self.guide(page);
        self.held.hold(page, self.directions.iter().map(|direction| (direction.name, direction.utilisation)));
        for slot in self.shock.iter().flatten() {
            page.not_there(*slot, "`category` is not given: how hard a shock is goes by the vehicle's");
        }
        if self.fasteners.given.as_ref().is_some_and(|given| page.is_assumed(given.rows)) {
            for name in ["utilisation_forward", "utilisation_rear", "utilisation_sideways"] {
                page.hold_close(name, "`fasteners.rows` is assumed");
            }
        }
        page.note("The bracket, and what it is bolted to, are not calculated.");
        page.caution(Caution::Holding);
    }
}

impl Restraint {
    /// The height of the centre of gravity over the distance of the rows; `None` where it is pulled straight.
    fn arm(&self, bench: &Bench<'_>, load: Load) -> Option<Ratio> {
        let (along, across) = self.row_spacing?;
        let spacing = match load {
            Load::Along => along,
            Load::Across => across,
            Load::Straight => return None,
        };
        Some(bench.get(self.cg_above_base) / bench.get(spacing))
    }

    /// What a guide asks, where the journal asks less.
    fn guide(&self, page: &mut Page<'_>) {
        let guide = limit("restraint_guide");
        let all = self.directions.iter().filter_map(|direction| page.get(direction.acceleration));
        let most = all.map(Measure::si).fold(f64::NEG_INFINITY, f64::max);
        if let Some(direction) = self.directions.first()
            && most < guide.si() * (1.0 - 1e-9)
        {
            page.note(words!(
                "No direction is held at the {} that {} asks ({}).",
                page.value_as(direction.acceleration, guide.si()),
                guide.source.words(),
                guide.source.standing.word()
            ));
        }
    }
}
