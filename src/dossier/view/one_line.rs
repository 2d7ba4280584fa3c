//! The circuit of high voltage, put together from the blocks that judge its parts.

use super::super::drawing::Drawing;
use super::super::pictures::{Stop, Symbol, There, one_line};
use super::super::piece::{Item, Piece, Rich};
use super::{Scene, heading, item, rich, with_id};
use crate::blocks::{
    CHARGING, CONTACTORS, CONVERTER_BUDGET, DISCHARGE, FUSE, HV_CABLE, ISOLATION, PACK_LAYOUT, PART,
    PRECHARGE, THREE_PHASE, TRADE_STUDY,
};
use crate::evaluate::Verdict;
use crate::model::{BlockEntry, Caution, INVERTER, Kind, MOTOR, Purpose, capital};
use crate::report::{BlockReport, InputRow, spaced};

/// From the pack to the motor; and what is said where a pack of high voltage has none.
static ORDER: &[(What, Symbol, Option<&str>)] = &[
    (What::Kind(&PACK_LAYOUT), Symbol::Cells, None),
    (What::Kind(&FUSE), Symbol::Fuse, Some("main fuse")),
    (What::Kind(&CONTACTORS), Symbol::Contactor, Some(CONTACTORS.name)),
    (What::Kind(&PRECHARGE), Symbol::Resistor, Some(PRECHARGE.name)),
    (What::Kind(&DISCHARGE), Symbol::Resistor, Some(DISCHARGE.name)),
    (What::Kind(&ISOLATION), Symbol::Earth, Some(ISOLATION.name)),
    (What::Kind(&CHARGING), Symbol::Converter, None),
    (What::Kind(&CONVERTER_BUDGET), Symbol::Converter, None),
    (What::Kind(&HV_CABLE), Symbol::Cable, Some("cable")),
    (What::Part(INVERTER), Symbol::Inverter, None),
    (What::MotorCable, Symbol::Cable, None),
    (What::Part(MOTOR), Symbol::Motor, None),
];

enum What {
    /// A cable of that kind stands before the inverter.
    Kind(&'static Kind),
    /// A cable behind the inverter.
    MotorCable,
    /// A part whose role has that word, where some block of another kind goes by it.
    Part(&'static str),
}

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
    current.iter().find(|at| blocks[**at].kind.name == PACK_LAYOUT.name)?;
    let high = scene.given.worked.told().cautions().contains(&Caution::HighVoltage);
    let mut stops = Vec::new();
    for (what, symbol, missing) in ORDER {
        let before = stops.len();
        let of_kind = current.iter().filter(|at| is(scene, **at, what));
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

fn is(scene: &Scene<'_>, at: usize, what: &What) -> bool {
    let blocks = &scene.given.worked.notebook.blocks;
    let own = blocks[at].kind;
    let says = |purpose: Purpose| {
        let said = scene.reports[at].inputs.iter().find(|input| input.purpose == Some(purpose));
        said.map(|input| input.shown.as_str())
    };
    let behind = says(Purpose::Circuit) == Some(THREE_PHASE);
    let goes_by = |other: &BlockEntry| {
        other.replaced_by.is_none()
            && ![PART.name, TRADE_STUDY.name].contains(&other.kind.name)
            && other.bindings.iter().any(|binding| binding.block == at)
    };
    match what {
        What::Kind(kind) => own.name == kind.name && !behind,
        What::MotorCable => behind,
        What::Part(word) => {
            let role = says(Purpose::PartRole);
            role.is_some_and(|role| role.split_whitespace().any(|one| one == *word))
                && blocks.iter().any(goes_by)
        }
    }
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
        let rating =
            |row: &&InputRow| !row.text && row.item.is_none() && row.purpose != Some(Purpose::NoRating);
        let numbers = report.inputs.iter().filter(rating);
        figures = numbers.take(VALUES).map(|row| figure(&row.label, &row.shown)).collect();
    }
    let fails = report.requirements.iter().filter(|row| row.verdict == Verdict::Fails);
    let faults = fails.map(|row| format!("{}: {}, {}", figure(&row.label, ""), row.actual, row.limit));
    let worst = report.requirements.iter().map(|row| row.verdict).max_by_key(|one| rich::gravity(*one));
    let kind = match report.kind {
        kind if kind == PART.name => String::new(),
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
