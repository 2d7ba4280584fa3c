//! Masses on the inspector's form: before, after, as the finished vehicle was weighed, and what the plate allows.

use super::super::piece::{Align, Item, Rich, Row, Run};
use super::documents::documents;
use super::places::{Places, page, table};
use super::{Scene, heading, item, rich, with_id};
use crate::report::{BlockReport, InputRow, ResultRow, spaced};

/// A line of the table: the names of what stands in it.
struct Line {
    label: &'static str,
    before: &'static str,
    after: &'static str,
    weighed: &'static str,
    laden: &'static str,
    plate: &'static str,
}

const LINES: [Line; 3] = [
    Line {
        label: "whole vehicle",
        before: "donor.mass",
        after: "converted_mass",
        weighed: "weighed.mass",
        laden: "laden_mass",
        plate: "limits.gross",
    },
    Line {
        label: "front axle",
        before: "donor.front_axle",
        after: "front_axle",
        weighed: "weighed.front_axle",
        laden: "laden_front_axle",
        plate: "limits.front_axle",
    },
    Line {
        label: "rear axle",
        before: "donor.rear_axle",
        after: "rear_axle",
        weighed: "weighed.rear_axle",
        laden: "laden_rear_axle",
        plate: "limits.rear_axle",
    },
];

pub(super) fn masses(scene: &Scene<'_>, places: &Places) -> Vec<Item> {
    let ledger = |report: &&BlockReport| report.kind == "mass-ledger" && report.worked;
    let Some((number, report)) = scene.reports.iter().enumerate().rfind(|(_, report)| ledger(report)) else {
        return Vec::new();
    };
    let was_weighed = report.inputs.iter().any(|input| input.name == "weighed.mass");
    let mut columns = vec![("Mass", Align::Left), ("before", Align::Decimal), ("after", Align::Decimal)];
    // A ticket of the laden vehicle is no second opinion on the empty one.
    let laden = report.inputs.iter().any(|input| input.name == "weighed.laden" && input.shown == "yes");
    columns.extend(was_weighed.then_some((if laden { "weighed, laden" } else { "weighed" }, Align::Decimal)));
    columns.extend([
        ("laden", Align::Decimal),
        ("plate", Align::Decimal),
        ("margin", Align::Right),
        ("evidence", Align::Left),
        ("page", Align::Right),
        ("weighed here", Align::Left),
    ]);
    let rows = LINES.iter().map(|line| row((scene, number), line, (was_weighed, places)));
    let title = format!("Masses, from {}", spaced(&report.name));
    vec![with_id("masses", heading(3, &title)), item(table(&columns, rows.collect()))]
}

fn row((scene, number): (&Scene<'_>, usize), line: &Line, (was_weighed, places): (bool, &Places)) -> Row {
    let report = &scene.reports[number];
    let given = |name: &str| {
        let named = |row: &&InputRow| row.name == name;
        report.inputs.iter().find(named).map(|row| Rich::plain(row.shown.clone())).unwrap_or_default()
    };
    let result = |name: &str| {
        let named = |row: &&ResultRow| row.name == name;
        report.results.iter().find(named).map(|row| rich::label(&row.full)).unwrap_or_default()
    };
    let mut cells = vec![Rich::plain(line.label), given(line.before), result(line.after)];
    cells.extend(was_weighed.then(|| given(line.weighed)));
    let judged = scene.given.worked.results.judged.iter().filter(|judged| judged.block == number);
    let judged = judged.zip(&report.requirements);
    let judged =
        { judged }.find(|(_, row)| row.judges.as_deref() == Some(line.laden) || row.name == line.laden);
    let margin = judged.map(|(_, row)| row.margin_shown.clone()).unwrap_or_default();
    let evidence =
        judged.map(|(judged, _)| documents(scene, [judged.actual].into_iter())).unwrap_or_default();
    // Ledger or ticket, whichever is heavier: what is judged.
    let own = |of: &str| of.strip_prefix(&format!("{}.", report.name)).map(str::to_owned);
    let laden = judged.and_then(|(_, row)| own(&row.of)).filter(|name| !result(name).is_empty());
    let laden = laden.unwrap_or_else(|| line.laden.to_owned());
    cells.extend([
        result(&laden),
        given(line.plate),
        Rich::plain(margin),
        evidence,
        page(places, &format!("{}.{laden}", report.name)),
        Rich(vec![Run::Blank]),
    ]);
    Row { id: None, cells, log: Vec::new(), strong: false }
}
