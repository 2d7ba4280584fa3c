//! The inspector's form: what it is, what fails or is open, then every limit with room for what is measured there.

use super::super::piece::{Align, Document, Face, Item, Piece, Rich, Row, Run, SignatureBox, Style, Target};
use super::cover::{Size, WHO_DECIDES};
use super::given::source_id;
use super::places::{Places, page, table};
use super::rich;
use super::{Scene, cover, coverage, heading, item, readings, supposed, with_id};
use crate::evaluate::Verdict;
use crate::model::{Caution, NOT_AN_APPROVAL, RequirementKind, capital};
use crate::report::{BlockReport, RequirementRow, spaced};

/// How many documents a line names.
const DOCUMENTS: usize = 2;

/// How many requirements of a block are told that are met or close, those with the least margin.
const LEAST: usize = 2;

/// Identity, voltage, what fails or is open, masses, limits, readings, evidence, and where to sign.
pub(in crate::dossier) fn summary(scene: &Scene<'_>, places: &Places) -> Document {
    let title = format!("{}: summary for the inspector", scene.title);
    let heading_ = Piece::Heading { level: 1, text: Rich::plain(title.clone()), listed: false };
    let mut items = vec![with_id("top", heading_)];
    // Two to a line where they are short.
    if let Piece::Table(table) = cover::identity(scene).piece {
        items.push(item(Piece::Values(table)));
    }
    items.extend(voltage(scene));
    items.extend(cover::despite(scene));
    items.extend(cover::not_worked(scene));
    items.extend(coverage::in_short(scene));
    items.extend(cover::verdicts(scene, Size::Summary));
    items.extend(supposed::narrowed(scene));
    items.extend(open(scene));
    items.extend(masses(scene, places));
    items.extend(limits(scene, places));
    items.extend(readings::readings(scene, places));
    items.extend(evidence(scene, places));
    for caution in scene.given.worked.told().cautions() {
        items.extend((caution != Caution::HighVoltage).then(|| item(caution_in_short(caution))));
    }
    let text = Rich::plain(format!("{NOT_AN_APPROVAL} {WHO_DECIDES}"));
    items.push(item(Piece::Paragraph { style: Style::Small, text }));
    items.push(signatures());
    let ids: Vec<String> = items.iter().flat_map(ids_of).collect();
    items.iter_mut().for_each(|item| unlink(item, &ids));
    Document { title, ..scene.document(items) }
}

fn signatures() -> Item {
    let lines = |labels: &[&str]| labels.iter().map(|label| (*label).to_owned()).collect();
    item(Piece::Signatures {
        boxes: vec![
            SignatureBox {
                title: "Declared by the builder".to_owned(),
                lines: lines(&["Name", "Date and signature"]),
            },
            SignatureBox {
                title: "Seen by the inspector".to_owned(),
                lines: lines(&[
                    "Name",
                    "Date and signature",
                    "Passed, refused",
                    "Conditions",
                    "To be tested again on",
                ]),
            },
        ],
    })
}

/// The pack in a sentence, its caution beside it.
fn voltage(scene: &Scene<'_>) -> Vec<Item> {
    let pack = scene.reports.iter().rfind(|report| report.kind == "pack-layout" && report.worked);
    let mut items = Vec::new();
    items.extend(pack.map(|report| {
        let (bold, rest) = &report.sentence;
        let text = rich::join([
            Rich::plain("The pack: "),
            Rich(rich::set(bold, Face::Strong)),
            Rich(rich::set(rest, Face::Plain)),
        ]);
        item(Piece::Paragraph { style: Style::Body, text })
    }));
    let high = scene.given.worked.told().cautions().into_iter().filter(|one| *one == Caution::HighVoltage);
    items.extend(high.map(|caution| item(caution_in_short(caution))));
    items
}

/// Masses before and after, beside what the plate allows.
fn masses(scene: &Scene<'_>, places: &Places) -> Vec<Item> {
    let Some(report) = scene.reports.iter().rfind(|report| report.kind == "mass-ledger" && report.worked)
    else {
        return Vec::new();
    };
    let given = |name: &str| {
        let row = report.inputs.iter().find(|row| row.name == name);
        row.map(|row| Rich::plain(row.shown.clone())).unwrap_or_default()
    };
    let result = |name: &str| {
        let row = report.results.iter().find(|row| row.name == name);
        row.map(|row| rich::label(&row.full)).unwrap_or_default()
    };
    let lines = [
        ("whole vehicle", ["donor.mass", "converted_mass", "laden_mass", "limits.gross"]),
        ("front axle", ["donor.front_axle", "front_axle", "laden_front_axle", "limits.front_axle"]),
        ("rear axle", ["donor.rear_axle", "rear_axle", "laden_rear_axle", "limits.rear_axle"]),
    ];
    let rows = lines.iter().map(|(label, [before, after, laden, plate])| {
        let judged =
            report.requirements.iter().find(|row| row.judges.as_deref() == Some(laden) || row.name == *laden);
        let margin = judged.map(|row| row.margin_shown.clone()).unwrap_or_default();
        Row {
            id: None,
            cells: vec![
                Rich::plain(*label),
                given(before),
                result(after),
                result(laden),
                given(plate),
                Rich::plain(margin),
                page(places, &format!("{}.{laden}", report.name)),
                Rich(vec![Run::Blank]),
            ],
            log: Vec::new(),
            strong: false,
        }
    });
    let columns = [
        ("Mass", Align::Left),
        ("before", Align::Decimal),
        ("after", Align::Decimal),
        ("laden", Align::Decimal),
        ("plate", Align::Decimal),
        ("margin", Align::Right),
        ("page", Align::Right),
        ("weighed here", Align::Left),
    ];
    let table = table(&columns, rows.collect());
    vec![with_id("masses", heading(3, &format!("Masses, from {}", spaced(&report.name)))), item(table)]
}

/// Every requirement of safety and law with its documents, its page in the dossier and a box.
fn limits(scene: &Scene<'_>, places: &Places) -> Vec<Item> {
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
        ("Safety and law", Align::Left),
        ("Value", Align::Left),
        ("Limit", Align::Left),
        ("Margin", Align::Right),
        ("Verdict", Align::Left),
        ("Evidence", Align::Left),
        ("Page", Align::Right),
        ("Measured here", Align::Left),
    ];
    let words = "Of each block what fails or is open, and what is close or met by least; the dossier has all on the page named.";
    let text = Piece::Paragraph { style: Style::Small, text: Rich::plain(words) };
    vec![with_id("limits", heading(3, "Values and limits")), item(text), item(table(&columns, rows))]
}

/// What of a block fails or is open, and what is close or met by least; the rest by number.
fn of_block((scene, number): (&Scene<'_>, usize), report: &BlockReport, places: &Places) -> Vec<Row> {
    let judged = scene.given.worked.results.judged.iter().filter(|judged| judged.block == number);
    let all = judged.zip(&report.requirements).filter(|(_, row)| row.kind != RequirementKind::Wish);
    let mut told = Vec::new();
    let (mut close, mut met) = (Vec::new(), Vec::new());
    for one in all {
        match one.1.verdict {
            Verdict::Fails | Verdict::Open => told.push(one),
            Verdict::Close => close.push(one),
            Verdict::Meets => met.push(one),
        }
    }
    let mut rest = Vec::new();
    for (mut of, word) in [(close, "close"), (met, "met")] {
        of.sort_by(|(_, a), (_, b)| {
            a.margin.unwrap_or(f64::INFINITY).total_cmp(&b.margin.unwrap_or(f64::INFINITY))
        });
        let more = of.len().saturating_sub(LEAST);
        rest.extend((more > 0).then(|| format!("{more} more {word}")));
        told.extend(of.into_iter().take(LEAST));
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
    let block = match more {
        "" => spaced(&report.name),
        more => format!("{}; {more}", spaced(&report.name)),
    };
    let judged = row.judges.as_ref().map(|name| format!("{}.{name}", report.name));
    let place = judged.filter(|id| places.contains_key(id)).unwrap_or_else(|| rich::block_id(&report.name));
    Row {
        id: None,
        cells: vec![
            rich::join([rich::label(&format!("{} ", row.label)), rich::one(block, Face::Quiet)]),
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

/// The documents that values rest on, those that decide most first.
fn documents(scene: &Scene<'_>, of: impl Iterator<Item = usize>) -> Rich {
    let worked = scene.given.worked;
    let mut open: Vec<usize> = of.collect();
    let mut seen = open.clone();
    let decide = open.first().map(|first| worked.told().contributors(*first, usize::MAX)).unwrap_or_default();
    let mut leaves: Vec<usize> = decide.iter().map(|one| one.global).collect();
    while let Some(global) = open.pop() {
        leaves.push(global);
        for need in worked.plan.needs(global).filter(|need| !seen.contains(need)).collect::<Vec<usize>>() {
            seen.push(need);
            open.push(need);
        }
    }
    let mut names: Vec<&str> = Vec::new();
    for global in leaves {
        let (block, index) = worked.plan.local(global);
        let leaf = worked.notebook.blocks[block].nodes[index].leaf();
        let source = leaf.and_then(|leaf| leaf.source.as_ref()).map(|(id, _)| id.as_str());
        names.extend(source.filter(|id| !names.contains(id)));
    }
    let mut runs = Vec::new();
    for (at, name) in names.iter().take(DOCUMENTS).enumerate() {
        runs.extend((at > 0).then(|| rich::text(", ", Face::Plain)));
        runs.extend(rich::link(*name, source_id(name)).0);
    }
    if names.len() > DOCUMENTS {
        runs.push(rich::text(format!(", {}\u{a0}more", names.len() - DOCUMENTS), Face::Quiet));
    }
    Rich(runs)
}

/// The documents with the page of the dossier that tells more of them.
fn evidence(scene: &Scene<'_>, places: &Places) -> Vec<Item> {
    let mut entries: Vec<_> = scene.given.worked.notebook.sources.values().collect();
    entries.sort_by_key(|entry| entry.span);
    let rows: Vec<Row> = entries
        .into_iter()
        .map(|entry| {
            let id = source_id(&entry.id);
            let file = entry.file.as_ref().map(|(path, _)| path.clone());
            Row {
                cells: vec![
                    rich::one(entry.id.clone(), Face::Strong),
                    Rich::plain(entry.title.clone()),
                    Rich::plain(file.unwrap_or_else(|| "no file".to_owned())),
                    page(places, &id),
                ],
                id: Some(id),
                log: Vec::new(),
                strong: false,
            }
        })
        .collect();
    if rows.is_empty() {
        return Vec::new();
    }
    let columns =
        [("Id", Align::Left), ("Document", Align::Left), ("File", Align::Left), ("Page", Align::Right)];
    vec![with_id("evidence", heading(3, "Evidence")), item(table(&columns, rows))]
}

/// What is still to be done, two to a line.
fn open(scene: &Scene<'_>) -> Vec<Item> {
    let journals = scene.given.worked.journals.iter();
    let tasks = journals.flat_map(|journal| &journal.tasks).filter(|task| !task.done);
    let open: Vec<&str> = tasks.map(|task| task.text.as_str()).collect();
    if open.is_empty() {
        return Vec::new();
    }
    let rows = open
        .chunks(2)
        .map(|pair| Row {
            id: None,
            cells: pair.iter().map(|words| Rich::plain(format!("☐\u{a0}{words}"))).collect(),
            log: Vec::new(),
            strong: false,
        })
        .collect();
    let columns = [("", Align::Left), ("", Align::Left)];
    vec![with_id("open-items", heading(3, "Open items")), item(table(&columns, rows))]
}

/// A caution with its own lines run together.
fn caution_in_short(caution: Caution) -> Piece {
    // Who decides is said once, under the last of them.
    let own: Vec<&str> =
        caution.lines().iter().copied().filter(|line| !line.starts_with("Local codes")).collect();
    Piece::CautionNote {
        high_voltage: caution == Caution::HighVoltage,
        text: rich::join([
            rich::one(format!("{}.", caution.title()), Face::Strong),
            Rich::plain(format!(" {}", own.join(" "))),
        ]),
    }
}

fn ids_of(item: &Item) -> Vec<String> {
    let rows = match &item.piece {
        Piece::Table(table) => table.rows.iter().filter_map(|row| row.id.clone()).collect(),
        _ => Vec::new(),
    };
    item.id.iter().cloned().chain(rows).collect()
}

/// The summary stands alone: what leads into the dossier is plain text here.
fn unlink(item: &mut Item, ids: &[String]) {
    let plain = |rich: &mut Rich| {
        let runs = std::mem::take(&mut rich.0);
        rich.0 = runs
            .into_iter()
            .flat_map(|run| match run {
                Run::Link { text, target: Target::Inner { id } } if !ids.contains(&id) => text.0,
                other => vec![other],
            })
            .collect();
    };
    match &mut item.piece {
        Piece::Paragraph { text, .. } => plain(text),
        Piece::Requirements { table, reasons } => {
            for row in &mut table.rows {
                row.cells.iter_mut().chain(&mut row.log).for_each(plain);
            }
            reasons.iter_mut().for_each(plain);
        }
        Piece::Table(table) | Piece::Values(table) => {
            for row in &mut table.rows {
                row.cells.iter_mut().chain(&mut row.log).for_each(plain);
            }
        }
        _ => {}
    }
}
