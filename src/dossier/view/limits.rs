//! What is judged on the inspector's form: value, limit, margin, documents, page of the dossier, and a box to write in.

use super::super::piece::{Align, Face, Item, Piece, Rich, Row, Run, Style};
use super::documents::documents;
use super::given::anchor;
use super::places::{Places, page, table};
use super::{Scene, heading, item, rich, with_id};
use crate::blocks::TARGETS;
use crate::evaluate::Verdict;
use crate::model::{RequirementKind, capital};
use crate::report::{BlockReport, RequirementRow, spaced};

/// The requirements by subsystem with their documents, their page in the dossier and a box.
pub(super) fn limits(scene: &Scene<'_>, places: &Places) -> Vec<Item> {
    let mut rows = Vec::new();
    let mut order: Vec<&str> = Vec::new();
    for report in scene.reports {
        if !order.contains(&report.subsystem) {
            order.push(report.subsystem);
        }
    }
    for subsystem in order {
        let before = rows.len();
        let of = scene.reports.iter().enumerate().filter(|(_, report)| report.subsystem == subsystem);
        for (number, report) in of {
            rows.extend(of_block((scene, number), report, places));
        }
        if rows.len() > before {
            let head =
                Row { id: None, cells: vec![Rich::plain(capital(subsystem))], log: Vec::new(), strong: true };
            rows.insert(before, head);
        }
    }
    if rows.is_empty() {
        return Vec::new();
    }
    let columns = [
        ("Requirement", Align::Left),
        ("Value", Align::Left),
        ("Limit", Align::Left),
        ("Margin", Align::Right),
        ("Verdict", Align::Left),
        ("Evidence", Align::Left),
        ("Page", Align::Right),
        ("Measured here", Align::Left),
    ];
    let words = "Of each block what fails or is open, what it is about, and what is close or met by least; the dossier has all on the page named. Page numbers and documents lead into it.";
    let text = Piece::Paragraph { style: Style::Small, text: Rich::plain(words) };
    vec![with_id("limits", heading(3, "Values and limits")), item(text), item(table(&columns, rows))]
}

/// What of a block fails or is open, what its first large figure is held against, and what is close or met by least; the
/// rest by number.
fn of_block((scene, number): (&Scene<'_>, usize), report: &BlockReport, places: &Places) -> Vec<Row> {
    let judged = scene.given.worked.results.judged.iter().filter(|judged| judged.block == number);
    // Of wishes only those that were set as targets.
    let targets = report.kind == TARGETS.name;
    let all =
        judged.zip(&report.requirements).filter(|(_, row)| targets || row.kind != RequirementKind::Wish);
    let (mut told, mut held): (Vec<_>, Vec<_>) =
        all.partition(|(_, row)| targets || matches!(row.verdict, Verdict::Fails | Verdict::Open));
    let large = held
        .iter()
        .filter_map(|(judged, _)| report.headline.iter().position(|figure| *figure == judged.actual));
    let about = large
        .min()
        .and_then(|first| held.iter().position(|(judged, _)| judged.actual == report.headline[first]));
    told.extend(about.map(|at| held.remove(at)));
    held.sort_by(|(_, a), (_, b)| {
        a.margin.unwrap_or(f64::INFINITY).total_cmp(&b.margin.unwrap_or(f64::INFINITY))
    });
    let mut rest = Vec::new();
    for (verdict, word) in [(Verdict::Close, "close"), (Verdict::Meets, "met")] {
        let mut of = held.iter().filter(|(_, row)| row.verdict == verdict);
        told.extend(of.next());
        let more = of.count();
        rest.extend((more > 0).then(|| format!("{more} more {word}")));
    }
    let rest = rest.join(", ");
    let last = told.len().saturating_sub(1);
    let rows = told.into_iter().enumerate().map(|(at, (judged, row))| {
        let needed = [Some(judged.actual), judged.low, judged.high];
        let documents = documents(scene, needed.into_iter().flatten());
        let more = if at == last { rest.as_str() } else { "" };
        limit_row((report, row, more), documents, places)
    });
    rows.collect()
}

fn limit_row(
    (report, row, more): (&BlockReport, &RequirementRow, &str),
    documents: Rich,
    places: &Places,
) -> Row {
    let mut label = rich::label(&format!("{} ", row.label_in_its_case())).0;
    label.extend(rich::link(spaced(&report.name), rich::block_id(&report.name)).0);
    label.extend((!more.is_empty()).then(|| rich::text(format!("; {more}"), Face::Quiet)));
    let judged = Some(anchor(&row.of)).filter(|id| places.contains_key(id));
    let place = judged.unwrap_or_else(|| rich::block_id(&report.name));
    Row {
        id: None,
        cells: vec![
            Rich(label),
            Rich::plain(row.actual.clone()),
            Rich::plain(row.limit.clone()),
            Rich::plain(row.margin_shown.clone()),
            rich::verdict(row.verdict),
            documents,
            page(places, &place),
            Rich(vec![Run::Blank]),
        ],
        log: Vec::new(),
        strong: false,
    }
}
