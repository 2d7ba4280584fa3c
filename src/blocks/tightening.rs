//! What screws were tightened to, by whom and with which tool; and whether the target can be right.

use crate::blocks::shared::calibration::{UNTIL, read_calibration, tell_calibration};
use crate::blocks::shared::date::read_day;
use crate::blocks::shared::noted::refuse_guess;
use crate::blocks::shared::threads::{Steel, read_steel};
use crate::model::{
    Bench, Block, Calibration, Detail, Entry, Example, Family, FieldDoc, FieldSort, Form, Kind, Page,
    Purpose, Range, RequirementRow, Row, Slot, Stage, Taken, Takes,
};
use crate::quantities::si::{Area, Force, Length, Measure, Pressure, Ratio, Torque};
use crate::quantities::sort;
use crate::words::words;

pub(super) static KIND: Kind = Kind {
    name: "tightening",
    summary: "what screws were tightened to, with which tool and by whom, and whether the target can be right",
    subsystem: "tests",
    fields: &[
        FieldDoc::new("joints", Takes::List, "one for each joint").purpose(Purpose::Reading).with_items(
            "type `{joint: battery box, target: 45 N m, applied: 45 N m, tool: …, calibrated_until: …, by: …, date: …}`",
        ),
        FieldDoc::new("joints.joint", Takes::Text, "what is screwed together"),
        FieldDoc::new("joints.target", Takes::Quantity(&sort::TORQUE), "what is asked for")
            .label("target torque")
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("joints.applied", Takes::Quantity(&sort::TORQUE), "what the tool was set to or showed")
            .label("applied torque")
            .range(Range::Positive)
            .sort(FieldSort::Setting)
            .due(Stage::Build),
        FieldDoc::new("joints.tool", Takes::Text, "what it was tightened with").purpose(Purpose::About(Detail::Instrument)).due(Stage::Build),
        FieldDoc::new("joints.calibrated_until", Takes::Text, UNTIL).purpose(Purpose::About(Detail::CalibratedUntil)).due(Stage::Build),
        FieldDoc::new("joints.by", Takes::Text, "who tightened").purpose(Purpose::About(Detail::By)).label("tightened by").due(Stage::Build),
        FieldDoc::new("joints.date", Takes::Text, "on which day: `2026-03-02`").purpose(Purpose::About(Detail::Date))
            .label("date of the tightening")
            .due(Stage::Build),
        FieldDoc::new("joints.size", Takes::Text, "of its screws, metric: `M10`")
            .label("size of the screws")
            .optional(),
        FieldDoc::new("joints.class", Takes::Text, "their property class: `8.8`")
            .label("property class of the screws")
            .either(),
        FieldDoc::new(
            "joints.friction",
            Takes::Quantity(&sort::RATIO),
            "the factor K of T = K F d, by the maker of screw or coating; with size and class the target is then held against what the screw bears",
        )
        .label("factor of thread friction")
        .optional()
        .range(Range::Positive),
        FieldDoc::new("tolerance", Takes::Quantity(&sort::RATIO), "how far what was applied may be off the target")
            .label("allowed difference from the target")
            .assumed("10 %")
            .range(Range::Share)
            .sort(FieldSort::Choice),
    ],
    rows: &[&PRELOAD.row, &STRESS_AREA.row, &PROOF_LOAD.row, &SHARE.row],
    takes: &[&DIAMETER.row, &PITCH.row, &PROOF_STRESS.row],
    requires: &[&AS_ASKED, &BORNE],
    example: Example {
        journal: "\
```yaml tightening box
tolerance: 5 %
joints:
  - joint: battery box to frame
    target: 45 N m
    applied: 45 N m
    tool: torque wrench
    calibrated_until: 2026-11-30
    by: K. Ames
    date: 2026-03-02
    size: M10
    class: 8.8
    friction: 0.2 ± 0.02 (estimated)
```
",
        // By hand: F = 45 N m / (0.2 × 10 mm).
        expected: &[
            ("box.preload_battery_box_to_frame", "22500 N"),
            ("box.stress_area_battery_box_to_frame", "57.98959310706 mm^2"),
        ],
    },
    sources: &[
        "T = K F d: textbooks on screws (memory); stress area and proof stress as for fasteners that hold a battery, by ISO 724 and ISO 898-1 (second-hand)",
        "common practice, no source: nothing was found that says how far a tightening may be off its target; it is a choice",
    ],
    limits: &["creep, embedding, the strength of what is clamped and the screw's thread engagement are not calculated"],
    codes: &[],
    read,
};

static JOINTS: Family = Family { name: "joints", label: "Joint", case: "JOINT" };

static DIAMETER: Taken<Length> = Taken::new("", "joints.diameter");
static PITCH: Taken<Length> = Taken::new("", "joints.pitch");
static PROOF_STRESS: Taken<Pressure> = Taken::new("", "joints.proof_stress");

static PRELOAD: Row<Force> = Row::formula(
    "preload_JOINT",
    "preload at the target",
    "kN",
    "joints.JOINT.target / (joints.JOINT.friction * joints.JOINT.diameter)",
)
.when("with size, class and friction")
.family(&JOINTS);
static STRESS_AREA: Row<Area> = Row::formula(
    "stress_area_JOINT",
    "stress area of a screw",
    "mm²",
    "pi / 4 * (joints.JOINT.diameter - 13 * sqrt(3) / 24 * joints.JOINT.pitch)^2",
)
.when("with size and class")
.family(&JOINTS);
static PROOF_LOAD: Row<Force> = Row::formula(
    "proof_load_JOINT",
    "proof load of a screw",
    "kN",
    "joints.JOINT.proof_stress * stress_area_JOINT",
)
.about("that it bears without lasting stretch")
.when("with size and class")
.family(&JOINTS);
static SHARE: Row<Ratio> = Row::formula(
    "share_JOINT",
    "preload as a share of the proof load",
    "%",
    "preload_JOINT / proof_load_JOINT",
)
.when("with size, class and friction")
.family(&JOINTS)
.principal();

static AS_ASKED: RequirementRow = RequirementRow::safety("applied_JOINT", "joints.JOINT.applied")
    .at_least("joints.JOINT.target * (1 - tolerance)")
    .at_most("joints.JOINT.target * (1 + tolerance)")
    .family(&JOINTS)
    .due(Stage::Build);
static BORNE: RequirementRow = RequirementRow::safety("preload_JOINT", "preload_JOINT")
    .at_most("proof_load_JOINT")
    .by_rule(&["joints.JOINT.proof_stress", "joints.JOINT.diameter", "joints.JOINT.pitch"])
    .only_with(&["joints.JOINT.friction"])
    .family(&JOINTS);

struct Tightening {
    joints: Vec<Entry<Joint>>,
    calibrations: Vec<Calibration>,
}

struct Joint {
    target: Slot<Torque>,
    applied: Slot<Torque>,
    tool: String,
    /// Whether the calibration of the tool held on the day.
    calibrated: bool,
    friction: Option<Slot<Ratio>>,
    steel: Option<Steel>,
    worked: Option<Worked>,
}

#[derive(Clone, Copy)]
struct Worked {
    preload: Slot<Force>,
    stress_area: Slot<Area>,
    proof_load: Slot<Force>,
    share: Slot<Ratio>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    form.assumed::<Ratio>("tolerance");
    let mut calibrations = Vec::new();
    let mut joints = form.list("joints", &["joint"], |form, _| read_joint(form, &mut calibrations));
    let mut out = form.outcomes();
    for joint in &mut joints {
        let case = joint.case();
        if joint.read.steel.is_some() {
            let preload = out.result(PRELOAD.of(&case));
            let stress_area = out.result(STRESS_AREA.of(&case));
            let proof_load = out.result(PROOF_LOAD.of(&case));
            let share = out.result(SHARE.of(&case));
            joint.read.worked = Some(Worked { preload, stress_area, proof_load, share });
        }
        out.require(AS_ASKED.of(&case));
        out.require(BORNE.of(&case));
    }
    Box::new(Tightening { joints, calibrations })
}

fn read_joint(form: &mut Form<'_, '_>, calibrations: &mut Vec<Calibration>) -> Joint {
    form.text("joint");
    let (target, applied) = (form.required("target"), form.required("applied"));
    refuse_guess(form, applied);
    let tool = form.text("tool").map_or_else(String::new, |(text, _)| text);
    form.text("by");
    let day = read_day(form, "date");
    let calibration = read_calibration(form, &tool, day.as_deref());
    let calibrated = calibration.as_ref().is_none_or(Calibration::held);
    calibrations.extend(calibration);
    let steel = if form.has("size") || form.has("class") { read_steel(form) } else { None };
    Joint { target, applied, tool, calibrated, friction: form.optional("friction"), steel, worked: None }
}

impl Block for Tightening {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        for Entry { read, .. } in &self.joints {
            let (Some(worked), Some(steel)) = (read.worked, &read.steel) else { continue };
            let area = steel.stress_area(bench);
            bench.set(worked.stress_area, area);
            let proof_load: Force = bench.get(steel.proof_stress) * area;
            bench.set(worked.proof_load, proof_load);
            let Some(friction) = read.friction else { continue };
            let arm: Length = bench.get(friction) * bench.get(steel.diameter);
            let preload = Force::from_si(bench.get(read.target).si() / arm.si());
            bench.set(worked.preload, preload);
            bench.set(worked.share, preload / proof_load);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        self.calibrations.iter().for_each(|calibration| tell_calibration(calibration, page));
        for Entry { title, slug, read } in &self.joints {
            if !read.calibrated {
                let reason = words!("the calibration of `{}` did not hold on that day", read.tool);
                page.hold_close(&format!("applied_{slug}"), reason);
            }
            if read.friction.is_none() {
                page.note(words!("{}: without size, class and friction nobody held its target against what the screw bears.", title));
            }
        }
        let plural = if self.joints.len() == 1 { "" } else { "s" };
        let first = self.joints.first().map(|joint| (joint.title.as_str(), page.value(joint.read.applied)));
        if let Some((title, shown)) = first {
            page.sentence(
                words!("{} joint{} tightened", self.joints.len(), plural),
                words!("; {} to {}.", title, shown),
            );
        }
    }

    fn calibrations(&self) -> &[Calibration] {
        &self.calibrations
    }
}
