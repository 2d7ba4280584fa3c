//! The first page: whose vehicle, what could not be worked, requirements by verdict; then cautions and contents.

use std::collections::BTreeMap;

use super::super::piece::{Align, ContentsEntry, Face, Item, Piece, Rich, Row, Run, Style, Table};
use super::block::{Blocks, requirements};
use super::cautions::in_full;
use super::rich::{self, column};
use super::{Scene, date, heading, item, one_line, supposed, with_id};
use crate::evaluate::Verdict;
use crate::findings::Severity;
use crate::model::{NOT_AN_APPROVAL, RequirementKind, capital};
use crate::quantities::show_number;
use crate::report::{Counts, RequirementRow};

pub(super) const WHO_DECIDES: &str =
    "Local codes, the licensed inspector and the component maker's instructions decide.";

/// What a verdict without a note says.
const WHEN_IT_MEETS: &str = "Where no probability is told, a requirement is met with more than 99.9\u{a0}%, as far as \
    the tolerances in this journal tell, or nothing about it is uncertain. Where no word says how well a limit is known, it \
    is worked from the block's own inputs.";

/// How many requirements that are met by a narrow margin are listed on the first pages.
const CLOSE: usize = 60;

/// How much room there is for requirements.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Size {
    Whole,
    /// The counts alone: the clipboard has a list of its own.
    Summary,
}

const VERDICTS: [Verdict; 4] = [Verdict::Meets, Verdict::Close, Verdict::Fails, Verdict::Open];

pub(super) fn cover(scene: &Scene<'_>) -> Vec<Item> {
    let mut items = vec![with_id(
        "top",
        Piece::Heading { level: 1, text: Rich::plain(scene.title.clone()), listed: false },
    )];
    if let Some(description) = scene.given.worked.notebook.front.identity.get("description") {
        items.push(item(Piece::Paragraph { style: Style::Lead, text: Rich::plain(capital(description)) }));
    }
    items.push(identity(scene));
    items.extend(despite(scene));
    items.extend(not_worked(scene));
    items.extend(verdicts(scene, Size::Whole));
    items.extend(tasks(scene));
    items.extend(supposed::narrowed(scene));
    let text = Rich::plain(format!("{NOT_AN_APPROVAL} {WHO_DECIDES}"));
    items.push(item(Piece::Paragraph { style: Style::Small, text }));
    items.push(routes(scene));
    items.extend(draws(scene));
    items.extend(in_full(scene));
    items
}

/// Vehicle, builder, place, revision and date.
pub(super) fn identity(scene: &Scene<'_>) -> Item {
    let front = &scene.given.worked.notebook.front;
    let mut lines: Vec<(String, String)> = Vec::new();
    for (key, text) in &front.identity.0 {
        let label = match key.as_str() {
            "identity" => "Chassis number".to_owned(),
            other => capital(&other.replace('_', " ")),
        };
        lines.push((label, text.clone()));
    }
    let more =
        [("Builder", &front.builder), ("Place of inspection", &front.place), ("Revision", &front.revision)];
    lines.extend(more.into_iter().filter_map(|(label, text)| Some((label.to_owned(), text.clone()?))));
    lines.push(("Date of this dossier".to_owned(), date::text(scene.given.stamp)));
    lines.push(("Made with".to_owned(), format!("Voltwright {}", env!("CARGO_PKG_VERSION"))));
    let rows = lines
        .into_iter()
        .map(|(label, text)| Row {
            id: None,
            cells: vec![rich::one(label, Face::Quiet), Rich::plain(text)],
            log: Vec::new(),
            strong: false,
        })
        .collect();
    let columns = vec![column("", Align::Left, 3), column("", Align::Left, 7)];
    item(Piece::Table(Table { columns, rows, caption: None }))
}

/// Why a revision was issued although something fails stands before all else.
pub(super) fn despite(scene: &Scene<'_>) -> Vec<Item> {
    let Some(despite) = scene.given.despite else { return Vec::new() };
    let text = vec![
        rich::text("Issued although safety or legal requirements fail: ", Face::Strong),
        rich::text(despite, Face::Plain),
    ];
    let text = Piece::Paragraph { style: Style::Body, text: Rich(text) };
    vec![with_id("despite", heading(2, "Issued despite what fails")), item(text)]
}

/// What could not be worked stands before any verdict.
pub(super) fn not_worked(scene: &Scene<'_>) -> Vec<Item> {
    let failed: Vec<&str> =
        scene.reports.iter().filter(|report| !report.worked).map(|report| report.name.as_str()).collect();
    let errors =
        scene.given.worked.findings.iter().filter(|finding| finding.code.severity == Severity::Error).count();
    if failed.is_empty() && errors == 0 {
        return Vec::new();
    }
    let mut words = vec![Run::Text {
        text: format!("This journal has {errors} error{}.", if errors == 1 { "" } else { "s" }),
        face: Face::Strong,
    }];
    if !failed.is_empty() {
        words.push(rich::text(" Not worked: ", Face::Plain));
        for (at, name) in failed.iter().enumerate() {
            if at > 0 {
                words.push(rich::text(", ", Face::Plain));
            }
            words.push(rich::block(name));
        }
        words.push(rich::text(".", Face::Plain));
    }
    words.push(rich::text(" See ", Face::Plain));
    words.extend(rich::link("the findings", "findings").0);
    words.push(rich::text(".", Face::Plain));
    vec![
        with_id("not-worked", heading(2, "Not worked")),
        item(Piece::Paragraph { style: Style::Body, text: Rich(words) }),
    ]
}

/// Requirements by verdict, safety and legal apart from wishes. What fails or is open is listed; what is close too, if
/// there are not too many of them, else the blocks that they are of are named.
pub(super) fn verdicts(scene: &Scene<'_>, size: Size) -> Vec<Item> {
    let rows: Vec<&RequirementRow> = scene.reports.iter().flat_map(|report| &report.requirements).collect();
    let level = if size == Size::Whole { 2 } else { 3 };
    let mut items = vec![with_id("requirements", heading(level, "Requirements"))];
    if rows.is_empty() {
        let text = Rich::plain("No block of this journal has a requirement.");
        items.push(item(Piece::Paragraph { style: Style::Body, text }));
        return items;
    }
    items.push(item(Piece::Table(tallies(&rows))));
    if size == Size::Whole {
        items.push(item(Piece::Paragraph { style: Style::Small, text: Rich::plain(WHEN_IT_MEETS) }));
    }
    items.extend(doubts(scene, &rows));
    if size == Size::Summary {
        return items;
    }
    let whole = rows.iter().all(|row| row.verdict == Verdict::Meets) && !scene.given.worked.has_errors();
    // What is not due yet is counted, and not listed.
    let listed = rows.into_iter().filter(|row| row.verdict != Verdict::Meets && !row.not_yet);
    let mut wanting = alike(listed);
    if whole {
        let text = Rich::plain("Every requirement that its blocks have is met.");
        items.push(item(Piece::Paragraph { style: Style::Body, text }));
        return items;
    }
    // Safety first, and of each kind what fails.
    wanting.sort_by_key(|(row, _)| (urgency(row.kind), std::cmp::Reverse(rich::gravity(row.verdict))));
    let mut close = Vec::new();
    if wanting.iter().filter(|(row, _)| row.verdict == Verdict::Close).count() > CLOSE {
        (close, wanting) = wanting.into_iter().partition(|(row, _)| row.verdict == Verdict::Close);
    }
    items.extend(requirements(scene, wanting, Blocks::Named));
    items.extend(close_by_block(&close));
    items
}

/// How much of the journal is still to be done.
fn tasks(scene: &Scene<'_>) -> Option<Item> {
    let open =
        scene.given.worked.journals.iter().flat_map(|journal| &journal.tasks).filter(|task| !task.done);
    let told = match open.count() {
        0 => return None,
        1 => "1 task of the journal is open.".to_owned(),
        count => format!("{count} tasks of the journal are open."),
    };
    let text = rich::link(told, "open-items");
    Some(item(Piece::Paragraph { style: Style::Small, text }))
}

fn urgency(kind: RequirementKind) -> u8 {
    match kind {
        RequirementKind::Safety => 0,
        RequirementKind::Legal => 1,
        RequirementKind::Wish => 2,
    }
}

/// What is close by which doubt, and what is open by when it is due.
fn doubts(scene: &Scene<'_>, rows: &[&RequirementRow]) -> Option<Item> {
    let counts = counts(rows.iter().copied());
    let mut parts = Vec::new();
    if counts.close() > 0 {
        parts.push(format!("Close: {}.", counts.doubts()));
    }
    if counts.missing + counts.not_yet > 0 {
        let stage = scene.given.worked.notebook.front.stage.word();
        parts.push(format!("Open at the stage “{stage}”: {}.", counts.open()));
    }
    let text = Rich::plain(parts.join(" "));
    (!parts.is_empty()).then(|| item(Piece::Paragraph { style: Style::Small, text }))
}

fn counts<'r>(rows: impl Iterator<Item = &'r RequirementRow>) -> Counts {
    Counts::of(rows.map(|row| (row.verdict, row.doubt, row.not_yet)))
}

/// Of several that are close for the same reason in one block, the closest, with the number of the others.
fn alike<'r>(rows: impl Iterator<Item = &'r RequirementRow>) -> Vec<(&'r RequirementRow, usize)> {
    let mut told: Vec<(&RequirementRow, usize)> = Vec::new();
    for row in rows {
        let same = |known: &&mut (&RequirementRow, usize)| {
            row.verdict == Verdict::Close
                && (known.0.verdict, &known.0.block, &known.0.reason)
                    == (row.verdict, &row.block, &row.reason)
        };
        match told.iter_mut().find(same) {
            Some((first, more)) => {
                *more += 1;
                if row.margin < first.margin {
                    *first = row;
                }
            }
            None => told.push((row, 0)),
        }
    }
    told
}

/// How many requirements of each block are close, where they are too many for a row each.
fn close_by_block(close: &[(&RequirementRow, usize)]) -> Option<Item> {
    let mut blocks: Vec<(&str, usize)> = Vec::new();
    for (row, more) in close {
        match blocks.last_mut() {
            Some((block, count)) if *block == row.block => *count += 1 + more,
            _ => blocks.push((&row.block, 1 + more)),
        }
    }
    let all: usize = blocks.iter().map(|(_, count)| count).sum();
    let mut words = rich::verdict(Verdict::Close).0;
    words.push(rich::text(format!(", {all} requirements, told with their blocks: "), Face::Plain));
    for (at, (block, count)) in blocks.iter().enumerate() {
        if at > 0 {
            words.push(rich::text(", ", Face::Plain));
        }
        words.push(rich::block(block));
        if *count > 1 {
            words.push(rich::text(format!("\u{a0}({count})"), Face::Quiet));
        }
    }
    let piece = Piece::Paragraph { style: Style::Small, text: Rich(words) };
    (!blocks.is_empty()).then(|| item(piece))
}

fn tallies(rows: &[&RequirementRow]) -> Table {
    let kinds = [
        (RequirementKind::Safety, "Safety"),
        (RequirementKind::Legal, "Legal"),
        (RequirementKind::Wish, "The builder's wishes"),
    ];
    let mut columns = vec![column("Requirements", Align::Left, 4)];
    columns.extend(VERDICTS.iter().map(|verdict| super::super::piece::Column {
        head: rich::verdict(*verdict),
        align: Align::Centre,
        share: 2,
    }));
    let rows = kinds
        .into_iter()
        .map(|(kind, word)| {
            let counts = counts(rows.iter().copied().filter(|row| row.kind == kind));
            let open = match counts.not_yet {
                0 => counts.missing.to_string(),
                later => format!("{} ({later} not yet)", counts.missing),
            };
            let mut cells = vec![Rich::plain(word)];
            cells.extend([counts.meets, counts.close(), counts.fails].map(|n| Rich::plain(n.to_string())));
            cells.push(Rich::plain(open));
            Row { id: None, cells, log: Vec::new(), strong: false }
        })
        .collect();
    Table { columns, rows, caption: None }
}

/// How the results were checked.
fn routes(scene: &Scene<'_>) -> Item {
    let routes = scene.given.worked.results.routes;
    let mut text =
        format!("{} formulas were worked a second time, by another route, and agreed", routes.agreed);
    if routes.differed > 0 {
        text = format!("{text}; {} did NOT agree: see the findings", routes.differed);
    }
    if routes.procedures > 0 {
        text = format!("{text}; {} procedures were held to a check of their own", routes.procedures);
    }
    text = format!("{text}; {} results of worksheets stand on one route.", routes.single);
    item(Piece::Paragraph { style: Style::Small, text: Rich::plain(text) })
}

/// Whether the uncertain values were drawn, and how often.
fn draws(scene: &Scene<'_>) -> Option<Item> {
    let results = &scene.given.worked.results;
    let drawn = results.drawn.as_ref()?;
    let leaves = results.budget.leaves.len();
    let text = match leaves {
        0 => "Draws were asked for, but no value of the journal has a tolerance or readings.".to_owned(),
        _ => format!(
            "The {leaves} uncertain value{} were drawn {} times (Monte Carlo, JCGM 101:2008); the log column gives what came out beside the first-order uncertainties of the tables.",
            if leaves == 1 { "" } else { "s" },
            show_number(drawn.draws as f64, 1)
        ),
    };
    Some(item(Piece::Paragraph { style: Style::Small, text: Rich::plain(text) }))
}

/// The circuit, the contents of what follows and the index by subsystem.
pub(super) fn contents(scene: &Scene<'_>, parts: [&[Item]; 2]) -> Vec<Item> {
    let mut items = one_line::circuit(scene);
    let mut entries = Vec::new();
    for (part, title) in parts.into_iter().zip([Some(("journal", "The journal")), None]) {
        if let Some((id, title)) = title {
            let entry = ContentsEntry {
                level: 2,
                text: Rich::plain(title),
                id: id.to_owned(),
                remark: Rich::default(),
            };
            entries.push(entry);
        }
        entries.extend(part.iter().filter_map(|item| match &item.piece {
            Piece::Heading { level, text, listed: true } => Some(ContentsEntry {
                level: *level,
                text: text.clone(),
                id: item.id.clone()?,
                remark: Rich::default(),
            }),
            _ => None,
        }));
    }
    items
        .push(with_id("contents", Piece::Heading { level: 2, text: Rich::plain("Contents"), listed: false }));
    items.push(item(Piece::Contents { entries }));
    items.push(with_id("index", heading(2, "By subsystem")));
    items.push(item(Piece::Table(subsystems(scene))));
    items
}

fn subsystems(scene: &Scene<'_>) -> Table {
    let mut order: Vec<&str> = Vec::new();
    let mut blocks: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (number, report) in scene.reports.iter().enumerate() {
        if !order.contains(&report.subsystem) {
            order.push(report.subsystem);
        }
        blocks.entry(report.subsystem).or_default().push(number);
    }
    let rows = order
        .into_iter()
        .map(|subsystem| {
            let members = &blocks[subsystem];
            let mut names = Vec::new();
            for (at, number) in members.iter().enumerate() {
                let name = &scene.reports[*number].name;
                if at > 0 {
                    names.push(rich::text(", ", Face::Plain));
                }
                names.push(rich::block(name));
            }
            let verdicts = VERDICTS.iter().map(|verdict| {
                let all = members.iter().flat_map(|number| &scene.reports[*number].requirements);
                let count = all.filter(|row| row.verdict == *verdict).count();
                Rich::plain(if count > 0 { count.to_string() } else { String::new() })
            });
            let mut cells = vec![Rich::plain(capital(subsystem)), Rich(names)];
            cells.extend(verdicts);
            Row { id: None, cells, log: Vec::new(), strong: false }
        })
        .collect();
    let mut columns = vec![column("Subsystem", Align::Left, 0), column("Blocks", Align::Left, 1)];
    columns.extend(VERDICTS.iter().map(|verdict| super::super::piece::Column {
        head: rich::verdict(*verdict),
        align: Align::Right,
        share: 0,
    }));
    Table { columns, rows, caption: None }
}
