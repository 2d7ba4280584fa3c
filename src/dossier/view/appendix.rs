//! What stands behind the journal: assumptions, sources, open items, findings, and what was not calculated.

use std::collections::BTreeMap;

use super::super::piece::{Align, Face, Item, Piece, Rich, Row, Run, Style, Table};
use super::given::{anchor, source_id};
use super::rich::{self, column, text};
use super::{Scene, heading, item, with_id};
use crate::evaluate::{own_basis, weakness};
use crate::findings::Finding;
use crate::model::{capital, percent};
use crate::quantities::Basis;
use crate::report::{Contributor, spaced};
use crate::words::Words;

/// Every value that is assumed, by the kinds' defaults or by the author without a basis; and every one that is
/// estimated.
pub(super) fn assumptions(scene: &Scene<'_>) -> Vec<Item> {
    let mut items = vec![with_id("assumptions", heading(2, "Assumptions and estimates"))];
    let assumed = taken_as(scene, Basis::Assumed, "Assumed to be");
    items.push(said(match assumed {
        Some(_) => "Values that nobody has measured and no document states. Each result that rests on one is no better than it.",
        None => "No value of this journal is assumed.",
    }));
    items.extend(assumed);
    items.extend(taken_as(scene, Basis::Estimated, "Estimated as"));
    items
}

/// The values of one basis by block, with what is said of each: those of which the same is said together.
fn taken_as(scene: &Scene<'_>, basis: Basis, head: &str) -> Option<Item> {
    let mut rows = Vec::new();
    // Of what was replaced nothing rests on them any more.
    let blocks = scene.reports.iter().zip(&scene.given.worked.notebook.blocks);
    for (report, _) in blocks.filter(|(_, block)| block.replaced_by.is_none()) {
        let mut told: Vec<(String, Vec<Run>)> = Vec::new();
        for input in report.inputs.iter().filter(|input| input.basis == basis.word()) {
            let why = match &input.remark {
                _ if input.assumed => format!("nothing was written; the default of {}", report.kind),
                Some(remark) => remark.clone(),
                None if basis == Basis::Assumed => "the builder's, without a basis".to_owned(),
                None => String::new(),
            };
            let id = format!("{}.{}", report.name, input.name);
            let mut value = rich::link(spaced(&input.label), anchor(&id)).0;
            value.push(text(format!("\u{a0}{}", input.shown), Face::Plain));
            match told.iter_mut().find(|(known, _)| *known == why) {
                Some((_, values)) => {
                    values.push(text("; ", Face::Quiet));
                    values.append(&mut value);
                }
                None => told.push((why, value)),
            }
        }
        rows.extend(told.into_iter().map(|(why, mut values)| {
            if !why.is_empty() {
                values.push(text(format!(" ({why})"), Face::Quiet));
            }
            row(vec![Rich(vec![rich::block(&report.name)]), Rich(values)])
        }));
    }
    let columns = vec![column("Block", Align::Left, 0), column(head, Align::Left, 0)];
    (!rows.is_empty()).then(|| item(Piece::Table(Table { columns, rows, caption: None })))
}

/// How the inputs are known, and which of them decide most.
pub(super) fn evidence(scene: &Scene<'_>) -> Vec<Item> {
    let mut items = vec![with_id("evidence", heading(2, "Evidence"))];
    let worked = scene.given.worked;
    let mut counts = [0usize; Basis::ALL.len()];
    let mut without_source: Vec<Rich> = Vec::new();
    for block in &worked.notebook.blocks {
        for node in &block.nodes {
            let Some(basis) = own_basis(node) else { continue };
            counts[usize::from(weakness(basis))] += 1;
            let named = node.leaf().is_some_and(|leaf| leaf.source.is_some());
            if basis.is_stated() && !named {
                let name = format!("{}.{}", block.name, node.name);
                without_source.push(rich::value(&name, anchor(&name)));
            }
        }
    }
    let all: usize = counts.iter().sum();
    if all == 0 {
        items.push(said("The journal has no inputs with a basis."));
        return items;
    }
    let mut bases = Basis::ALL.to_vec();
    bases.sort_by_key(|basis| weakness(*basis));
    let rows = bases.into_iter().map(|basis| {
        let count = counts[usize::from(weakness(basis))];
        let share = percent(count as f64 / all as f64);
        row(vec![Rich::plain(capital(basis.word())), Rich::plain(count.to_string()), Rich::plain(share)])
    });
    let columns = vec![
        column("Inputs by basis", Align::Left, 5),
        column("Number", Align::Right, 3),
        column("Share", Align::Right, 3),
    ];
    items.push(item(Piece::Table(Table { columns, rows: rows.collect(), caption: None })));
    let mut words = vec![text(
        match without_source.len() {
            0 => "Each measured, datasheet or published input names its source.".to_owned(),
            1 => "One measured, datasheet or published input names no source: ".to_owned(),
            many => format!("{many} measured, datasheet or published inputs name no source: "),
        },
        Face::Plain,
    )];
    for (at, name) in without_source.into_iter().enumerate() {
        words.extend((at > 0).then(|| text(", ", Face::Plain)));
        words.extend(name.0);
    }
    items.push(item(Piece::Paragraph { style: Style::Body, text: Rich(words) }));
    let movers = movers(scene);
    if !movers.is_empty() {
        items.push(said(
            "The inputs that decide most: the sum of their shares in the variance of all requirements.",
        ));
        let rows = movers.into_iter().map(|one| {
            let shown = worked.told().shown(one.global).filter(|_| one.others == 0).unwrap_or_default();
            let share = format!("{:.2}", one.share);
            row(vec![scene.mover(&one, usize::MAX), Rich::plain(shown), Rich::plain(share)])
        });
        let columns = vec![
            column("Input", Align::Left, 5),
            column("Value", Align::Left, 4),
            column("Sum of shares", Align::Decimal, 2),
        ];
        items.push(item(Piece::Table(Table { columns, rows: rows.collect(), caption: None })));
    }
    items
}

fn movers(scene: &Scene<'_>) -> Vec<Contributor> {
    const MOST: usize = 8;
    let told = scene.given.worked.told();
    let mut sums: BTreeMap<(usize, usize), Contributor> = BTreeMap::new();
    for judged in &scene.given.worked.results.judged {
        for one in told.contributors(judged.actual, usize::MAX) {
            let share = one.share;
            sums.entry((one.global, one.others)).or_insert(Contributor { share: 0.0, ..one }).share += share;
        }
    }
    let mut movers: Vec<Contributor> = sums.into_values().filter(|one| one.share >= 0.005).collect();
    movers.sort_by(|a, b| b.share.total_cmp(&a.share));
    movers.truncate(MOST);
    movers
}

/// The documents, each with its file.
pub(super) fn sources(scene: &Scene<'_>) -> Vec<Item> {
    let notebook = &scene.given.worked.notebook;
    let mut entries: Vec<_> = notebook.sources.values().collect();
    entries.sort_by_key(|entry| entry.span);
    let mut items = vec![with_id("sources", heading(2, "Sources"))];
    if entries.is_empty() {
        items.push(said("The journal names no sources."));
        return items;
    }
    let rows = entries
        .into_iter()
        .map(|entry| {
            let mut what = vec![text(entry.title.clone(), Face::Plain)];
            for (label, detail) in &entry.details {
                what.push(text(format!("; {label} {detail}"), Face::Quiet));
            }
            if let Some(link) = &entry.link {
                what.push(text("; ", Face::Quiet));
                what.push(Run::Link {
                    text: Rich::plain(link.clone()),
                    target: super::super::piece::Target::Outer { address: link.clone() },
                });
            }
            let file = match &entry.file {
                Some((path, _)) => Rich::plain(path.clone()),
                None => rich::one("no file", Face::Quiet),
            };
            let uses = scene
                .reports
                .iter()
                .flat_map(|report| &report.inputs)
                .filter(|input| input.source.as_deref() == Some(entry.id.as_str()))
                .count();
            let id = source_id(&entry.id);
            // Of one with a file the annex has the id.
            let name = match &entry.file {
                Some(_) => rich::link(entry.id.clone(), id.clone()),
                None => rich::one(entry.id.clone(), Face::Strong),
            };
            Row {
                id: entry.file.is_none().then_some(id),
                cells: vec![name, Rich(what), file, Rich::plain(uses.to_string())],
                log: Vec::new(),
                strong: false,
            }
        })
        .collect();
    let columns = vec![
        column("Id", Align::Left, 0),
        column("Document", Align::Left, 0),
        column("File", Align::Left, 0),
        column("Values", Align::Right, 0),
    ];
    items.push(item(Piece::Table(Table { columns, rows, caption: None })));
    items
}

/// Every file that a source or a block names, each once with its hash.
pub(super) fn files(scene: &Scene<'_>) -> Option<Item> {
    let notebook = &scene.given.worked.notebook;
    let mut read: BTreeMap<&str, (&str, Vec<Run>)> = BTreeMap::new();
    let named = notebook.sources.values().filter_map(|entry| {
        let (path, hash) = entry.file.as_ref()?;
        Some((path, hash, rich::link(entry.id.clone(), source_id(&entry.id)).0))
    });
    let blocks = notebook.blocks.iter().flat_map(|block| {
        block.files.iter().map(|(path, hash)| (path, hash, vec![rich::block(&block.name)]))
    });
    let packs = notebook.pack_files.iter().map(|(path, hash)| (path, hash, Rich::plain("a rule pack").0));
    for (path, hash, by) in named.chain(blocks).chain(packs) {
        let (_, known) = read.entry(path).or_insert((hash, Vec::new()));
        if !known.is_empty() {
            known.push(text(", ", Face::Plain));
        }
        known.extend(by);
    }
    let rows: Vec<Row> = read
        .into_iter()
        .map(|(path, (hash, by))| {
            row(vec![Rich::plain(path.to_owned()), Rich(by), rich::one(hash.to_owned(), Face::Code)])
        })
        .collect();
    let columns = vec![
        column("File", Align::Left, 0),
        column("Read by", Align::Left, 0),
        column("SHA-256", Align::Left, 0),
    ];
    (!rows.is_empty()).then(|| item(Piece::Table(Table { columns, rows, caption: None })))
}

/// Task-list lines that are not ticked.
pub(super) fn open_items(scene: &Scene<'_>) -> Vec<Item> {
    let mut items = vec![with_id("open-items", heading(2, "Open items"))];
    let mut rows = Vec::new();
    for journal in &scene.given.worked.journals {
        for task in journal.tasks.iter().filter(|task| !task.done) {
            let place = scene.given.sources.place(task.span);
            let from = rich::one(format!("{}:{}", scene.path(journal.file), place.line), Face::Quiet);
            let cells = vec![Rich::plain(task.text.clone()), from];
            rows.push(Row { id: None, cells, log: Vec::new(), strong: false });
        }
    }
    items.push(if rows.is_empty() {
        said("The journal has no open task.")
    } else {
        let columns = vec![column("To be done", Align::Left, 5), column("Where", Align::Left, 0)];
        item(Piece::Table(Table { columns, rows, caption: None }))
    });
    items
}

/// Everything that the program found, those of printing included.
pub(super) fn findings(scene: &Scene<'_>) -> Vec<Item> {
    let mut all: Vec<&Finding> = scene.given.worked.findings.iter().chain(&scene.found).collect();
    all.sort_by_key(|finding| finding.span.map(|span| (span.file, span.start)));
    let mut items = vec![with_id("findings", heading(2, "Findings"))];
    if all.is_empty() {
        items.push(said("Nothing was found in the journal that needs mending."));
        return items;
    }
    let rows = all
        .into_iter()
        .map(|finding| {
            let place = match finding.span {
                Some(span) => {
                    let at = scene.given.sources.place(span);
                    format!("{}, line {}", scene.path(span.file), at.line)
                }
                None => "the journal".into(),
            };
            let mut what = rich::set(&finding.message, Face::Plain);
            what.push(text(". ", Face::Plain));
            what.extend(rich::set(&finding.help, Face::Plain));
            Row {
                id: None,
                cells: vec![Rich::plain(finding.code.severity.word()), Rich::plain(place), Rich(what)],
                log: vec![rich::one(finding.code.name, Face::Quiet)],
                strong: false,
            }
        })
        .collect();
    let columns =
        vec![column("Kind", Align::Left, 2), column("Place", Align::Left, 3), column("What", Align::Left, 8)];
    items.push(item(Piece::Table(Table { columns, rows, caption: None })));
    items
}

/// What no line of this dossier answers.
pub(super) fn not_calculated(scene: &Scene<'_>) -> Vec<Item> {
    let mut items = vec![with_id("not-calculated", heading(2, "What was not calculated"))];
    items.push(said("The program works only the blocks that the journal holds. Of what they are about it does not calculate:"));
    let mut told: Vec<&str> = Vec::new();
    let mut rows: Vec<Row> = Vec::new();
    for block in &scene.given.worked.notebook.blocks {
        let new: Vec<&'static str> =
            block.kind.limits.iter().copied().filter(|limit| !told.contains(limit)).collect();
        if !new.is_empty() {
            rows.push(row(vec![rich::one(block.kind.name, Face::Strong), run_together(&new)]));
            told.extend(new);
        }
    }
    let general = [
        "strength and stiffness of mounts, brackets, adapter and battery boxes",
        "brakes, steering, electromagnetic compatibility, behaviour in a crash or a fire",
        "whether parts, insulation, fuses and contactors are fit for their place",
        "whether the vehicle may be used on the road: that is for the licensed inspector and the local code",
    ];
    rows.push(row(vec![rich::one("all", Face::Strong), run_together(&general)]));
    let columns = vec![column("Kind", Align::Left, 0), column("Not calculated", Align::Left, 0)];
    items.push(item(Piece::Table(Table { columns, rows, caption: None })));
    items
}

/// Several phrases in one cell.
fn run_together(phrases: &[&'static str]) -> Rich {
    let mut runs = Vec::new();
    for (at, phrase) in phrases.iter().enumerate() {
        if at > 0 {
            runs.push(text("; ", Face::Plain));
        }
        runs.extend(rich::set(&Words::from(*phrase), Face::Plain));
    }
    Rich(runs)
}

fn said(words: &str) -> Item {
    item(Piece::Paragraph { style: Style::Body, text: Rich::plain(words) })
}

fn row(cells: Vec<Rich>) -> Row {
    Row { id: None, cells, log: Vec::new(), strong: false }
}
