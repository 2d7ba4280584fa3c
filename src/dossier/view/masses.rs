//! Masses on the inspector's form: before, after, as the finished vehicle was weighed, and what the plate allows.

use super::super::piece::{Align, Item, Rich, Row, Run};
use super::documents::documents;
use super::places::{Places, page, table};
use super::{Scene, heading, item, rich, with_id};
use crate::model::{Load, Over, Purpose};
use crate::report::{BlockReport, ResultRow, spaced};

/// The lines of the table.
const LINES: [(&str, Over); 3] =
    [("whole vehicle", Over::Vehicle), ("front axle", Over::FrontAxle), ("rear axle", Over::RearAxle)];

pub(super) fn masses(scene: &Scene<'_>, places: &Places) -> Vec<Item> {
    let converted = Some(Purpose::Mass(Load::After, Over::Vehicle));
    let ledger = |report: &BlockReport| {
        report.worked && report.results.iter().any(|result| result.purpose == converted)
    };
    let Some((number, report)) = scene.reports.iter().enumerate().rfind(|(_, report)| ledger(report)) else {
        return Vec::new();
    };
    let given = |purpose: Purpose| report.inputs.iter().find(|input| input.purpose == Some(purpose));
    let was_weighed = given(Purpose::Mass(Load::Weighed, Over::Vehicle)).is_some();
    let mut columns = vec![("Mass", Align::Left), ("before", Align::Decimal), ("after", Align::Decimal)];
    // A ticket of the laden vehicle is no second opinion on the empty one.
    let laden = given(Purpose::WeighedLaden).is_some_and(|input| input.shown == "yes");
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

fn row(
    (scene, number): (&Scene<'_>, usize),
    (label, over): &(&str, Over),
    (was_weighed, places): (bool, &Places),
) -> Row {
    let report = &scene.reports[number];
    let mass = |load: Load| Some(Purpose::Mass(load, *over));
    let given = |load: Load| {
        let given = report.inputs.iter().find(|row| row.purpose == mass(load));
        given.map(|row| Rich::plain(row.shown.clone())).unwrap_or_default()
    };
    let shown = |row: Option<&ResultRow>| row.map(|row| rich::label(&row.full)).unwrap_or_default();
    let result = |load: Load| report.results.iter().find(|row| row.purpose == mass(load));
    let mut cells = vec![Rich::plain(*label), given(Load::Before), shown(result(Load::After))];
    cells.extend(was_weighed.then(|| given(Load::Weighed)));
    let told = scene.given.worked.told();
    let judged = scene.given.worked.results.judged.iter().filter(|judged| judged.block == number);
    let judged = { judged.zip(&report.requirements) }
        .find(|(judged, _)| told.node(judged.actual).1.purpose == mass(Load::Laden));
    let margin = judged.map(|(_, row)| row.margin_shown.clone()).unwrap_or_default();
    let evidence =
        judged.map(|(judged, _)| documents(scene, [judged.actual].into_iter())).unwrap_or_default();
    // Ledger or ticket, whichever is heavier: what is judged.
    let own = judged.map(|(judged, _)| &told.node(judged.actual).1.name);
    let laden = report.results.iter().find(|row| Some(&row.name) == own).or_else(|| result(Load::Laden));
    let laden_page = laden.map(|row| page(places, &format!("{}.{}", report.name, row.name)));
    cells.extend([
        shown(laden),
        given(Load::Plate),
        Rich::plain(margin),
        evidence,
        laden_page.unwrap_or_default(),
        Rich(vec![Run::Blank]),
    ]);
    Row { id: None, cells, log: Vec::new(), strong: false }
}
