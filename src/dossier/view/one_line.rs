//! The circuit of high voltage, put together from the blocks that judge its parts.

use super::super::drawing::Drawing;
use super::super::pictures::{Stop, Symbol, There, one_line};
use super::super::piece::{Item, Piece, Rich};
use super::{Scene, heading, item, rich, with_id};
use crate::evaluate::Verdict;
use crate::model::{BlockEntry, Caution, Kind, capital};
use crate::report::{BlockReport, spaced};

/// From the pack to the motor: kind or, of a part, role; and what is said where a pack of high voltage has none.
const ORDER: &[(&str, Symbol, Option<&str>)] = &[
    ("pack-layout", Symbol::Cells, None),
    ("fuse", Symbol::Fuse, Some("main fuse")),
    ("contactors", Symbol::Contactor, Some("contactors")),
    ("precharge", Symbol::Resistor, Some("precharge")),
    ("discharge", Symbol::Resistor, Some("discharge")),
    ("isolation", Symbol::Earth, Some("isolation")),
    ("charging", Symbol::Converter, None),
    ("converter-budget", Symbol::Converter, None),
    ("hv-cable", Symbol::Cable, Some("cable")),
    ("inverter", Symbol::Inverter, None),
    (PHASES, Symbol::Cable, None),
    ("motor", Symbol::Motor, None),
];

/// Cables behind the inverter.
const PHASES: &str = "three-phase";

/// What a part says that is no rating.
const NO_RATING: [&str; 4] = ["price", "mass", "lead_time", "size"];

/// How many of a part's values are named.
const VALUES: usize = 5;

/// The picture under its heading, where the journal has a pack.
pub(super) fn circuit(scene: &Scene<'_>) -> Vec<Item> {
    let Some(drawing) = drawn(scene) else { return Vec::new() };
    let caption = "The circuit from the pack to the motor, by the blocks of this journal. \
        A dashed box is a part that the journal says nothing of.";
    let figure = Piece::Figure { drawing, caption: Rich::plain(caption) };
    vec![with_id("circuit", heading(2, "The circuit on one line")), item(figure)]
}

fn drawn(scene: &Scene<'_>) -> Option<Drawing> {
    let blocks = &scene.given.worked.notebook.blocks;
    let current: Vec<usize> = (0..blocks.len()).filter(|at| blocks[*at].replaced_by.is_none()).collect();
    current.iter().find(|at| blocks[**at].kind.name == "pack-layout")?;
    let high = scene.given.worked.told().cautions().contains(&Caution::HighVoltage);
    let mut stops = Vec::new();
    for (kind, symbol, missing) in ORDER {
        let before = stops.len();
        let of_kind = current.iter().filter(|at| is(scene, **at, kind));
        stops.extend(of_kind.map(|at| stop(&scene.reports[*at], *symbol, scene)));
        if let Some(name) = missing.filter(|_| high && stops.len() == before) {
            stops.push(Stop {
                symbol: *symbol,
                name: capital(name),
                figures: Vec::new(),
                verdict: None,
                faults: Vec::new(),
                there: There::Missing,
            });
        }
    }
    Some(one_line(&stops))
}

/// Whether a block is of the kind, or a part of the role that some block of another kind goes by.
fn is(scene: &Scene<'_>, at: usize, kind: &str) -> bool {
    let blocks = &scene.given.worked.notebook.blocks;
    let report = &scene.reports[at];
    let says = |name: &str| report.inputs.iter().find(|input| input.name == name).map(|input| &*input.shown);
    match blocks[at].kind.name {
        "hv-cable" if says("circuit") == Some(PHASES) => return kind == PHASES,
        "part" => {}
        own => return own == kind,
    }
    let role = says("role").is_some_and(|role| role.split_whitespace().any(|word| word == kind));
    let goes_by = |other: &&BlockEntry| {
        other.replaced_by.is_none()
            && !["part", "trade-study"].contains(&other.kind.name)
            && other.bindings.iter().any(|binding| binding.block == at)
    };
    role && blocks.iter().any(|other| goes_by(&other))
}

fn stop(report: &BlockReport, symbol: Symbol, scene: &Scene<'_>) -> Stop {
    let entry = scene.given.worked.notebook.blocks.iter().find(|block| block.name == report.name);
    let first = entry.map(|entry| first(entry.kind)).unwrap_or_default();
    let values = first.iter().filter_map(|name| {
        let result = report.results.iter().find(|row| row.name == *name && row.case.is_none());
        let result = result.map(|row| (&row.label, &row.shown));
        let input = || report.inputs.iter().find(|row| row.name == *name).map(|row| (&row.label, &row.shown));
        result.or_else(input)
    });
    let mut figures: Vec<String> = values.map(|(label, shown)| figure(label, shown)).collect();
    if figures.is_empty() {
        let numbers = report.inputs.iter().filter(|row| {
            !row.text && row.item.is_none() && !NO_RATING.iter().any(|name| row.name.starts_with(name))
        });
        figures = numbers.take(VALUES).map(|row| figure(&row.label, &row.shown)).collect();
    }
    let fails = report.requirements.iter().filter(|row| row.verdict == Verdict::Fails);
    let faults = fails.map(|row| format!("{}: {}, {}", figure(&row.label, ""), row.actual, row.limit));
    let worst = report.requirements.iter().map(|row| row.verdict).max_by_key(|one| rich::gravity(*one));
    let kind = match report.kind {
        "part" => String::new(),
        kind => format!("{}: ", kind.trim_start_matches("hv-").replace('-', " ")),
    };
    Stop {
        symbol,
        name: capital(&format!("{kind}{}", spaced(&report.name))),
        figures,
        verdict: worst.map(rich::mark),
        faults: faults.collect(),
        there: There::Yes,
    }
}

/// The fields and results that an inspector looks at first, in order.
fn first(kind: &Kind) -> Vec<&'static str> {
    let fields = kind.fields.iter().filter(|doc| doc.principal).map(|doc| doc.name);
    let mut names: Vec<&'static str> =
        fields.chain(kind.rows.iter().filter(|row| row.principal).map(|row| row.name)).collect();
    // Variants of one result share its name.
    names.dedup();
    names
}

fn figure(label: &str, shown: &str) -> String {
    spaced(&format!("{label} {shown}")).trim_end().to_owned()
}
