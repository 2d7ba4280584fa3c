//! The inspector's form: what it is, what fails or is open, then every limit with room for what is measured there.

use super::super::piece::{
    Align, Columns, Document, Face, Item, Piece, Rich, Row, Run, SignatureBox, Style, Target,
};
use super::cover::{Size, WHO_DECIDES};
use super::given::source_id;
use super::limits::limits;
use super::masses::masses;
use super::places::{Places, page, table};
use super::rich;
use super::{Scene, cover, coverage, heading, item, readings, supposed, with_id};
use crate::model::{Caution, NOT_AN_APPROVAL, SourceEntry};
use crate::report::spaced;

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
    items.extend(wanting(scene, places));
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
    items.iter_mut().for_each(|item| lead(item, (&ids, places)));
    Document { title, columns: Columns::One, ..scene.document(items) }
}

/// Everything that fails or is open, what would fail an inspection first.
fn wanting(scene: &Scene<'_>, places: &Places) -> Vec<Item> {
    let covered = scene.given.worked.told().coverage();
    let table = coverage::open_table(scene, covered.as_ref(), Some(places));
    table.map_or_else(Vec::new, |table| {
        vec![with_id("open-first", heading(3, "What fails or is open")), table]
    })
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
                    "☐ Passed     ☐ Refused",
                    "To be tested again on",
                    "Conditions",
                ]),
            },
        ],
    })
}

/// Each pack in a sentence, its caution beside it; and where a voltage is not known, that.
fn voltage(scene: &Scene<'_>) -> Vec<Item> {
    let mut items = Vec::new();
    let several = scene.packs().count() > 1;
    let packs = scene.packs().filter(|report| report.worked);
    items.extend(packs.map(|report| {
        let (bold, rest) = &report.sentence;
        let text = rich::join([
            Rich::plain(match several {
                true => format!("The pack {}: ", spaced(&report.name)),
                false => "The pack: ".to_owned(),
            }),
            Rich(rich::set(bold, Face::Strong)),
            Rich(rich::set(rest, Face::Plain)),
        ]);
        item(Piece::Paragraph { style: Style::Body, text })
    }));
    let told = scene.given.worked.told();
    if told.coverage().is_some() && !told.knows_voltage() {
        let text = "Not every voltage of this vehicle is known here: take it to be high voltage.";
        items.push(item(Piece::Paragraph { style: Style::Body, text: Rich::plain(text) }));
    }
    let high = told.cautions().into_iter().filter(|one| *one == Caution::HighVoltage);
    items.extend(high.map(|caution| item(caution_in_short(caution))));
    items
}

/// The documents with the page of the dossier that shows each, two to a line.
fn evidence(scene: &Scene<'_>, places: &Places) -> Vec<Item> {
    let mut entries: Vec<_> = scene.given.worked.notebook.sources.values().collect();
    entries.sort_by_key(|entry| entry.span);
    if entries.is_empty() {
        return Vec::new();
    }
    let cells = |entry: &&SourceEntry| {
        let id = source_id(&entry.id);
        let title = match &entry.file {
            Some(_) => entry.title.clone(),
            None => format!("{}, no file", entry.title),
        };
        [rich::link(entry.id.clone(), id.clone()), Rich::plain(title), page(places, &id)]
    };
    let rows = entries.chunks(2).map(|pair| Row {
        id: None,
        cells: pair.iter().flat_map(cells).collect(),
        log: Vec::new(),
        strong: false,
    });
    let columns = [("Id", Align::Left), ("Document", Align::Left), ("Page", Align::Right)];
    let columns = [columns, columns].concat();
    vec![with_id("evidence", heading(3, "Evidence")), item(table(&columns, rows.collect()))]
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
    let own: Vec<&str> = caution.own_lines().collect();
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

/// What leads to a place that is not in the summary leads into the dossier, or nowhere.
fn lead(item: &mut Item, (ids, places): (&[String], &Places)) {
    let within = |rich: &mut Rich| {
        let runs = std::mem::take(&mut rich.0);
        rich.0 = runs
            .into_iter()
            .flat_map(|run| match run {
                Run::Link { text, target: Target::Inner { id } } if !ids.contains(&id) => {
                    match places.contains_key(&id) {
                        true => vec![Run::Link { text, target: Target::Dossier { id } }],
                        false => text.0,
                    }
                }
                other => vec![other],
            })
            .collect();
    };
    match &mut item.piece {
        Piece::Paragraph { text, .. } | Piece::CautionNote { text, .. } => within(text),
        Piece::Table(table) | Piece::Values(table) => {
            for row in &mut table.rows {
                row.cells.iter_mut().chain(&mut row.log).for_each(within);
            }
        }
        _ => {}
    }
}
