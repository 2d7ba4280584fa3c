//! Every standard that the journal's blocks go by: edition, clause, how well it is known, and what it decides.

use std::collections::BTreeMap;

use super::super::piece::{Align, Face, Item, Piece, Rich, Row, Style, Table};
use super::given::STANDARDS;
use super::rich::{self, block_id, column, text};
use super::{Scene, heading, item, with_id};
use crate::compile::Worked;
use crate::model::{BlockEntry, NodeDecl, capital};
use crate::rules::{Source, rules};

/// In a row's list of what it looks up: the case's own name.
const CASE: &str = "CASE";

/// Up to so many requirements of a block are named.
const NAMED: usize = 3;

const MEANING: [(&str, &str); 5] = [
    (
        "read",
        "the text, or an official extract of it, was read. A verdict on it stands; whether the clause is in force for this vehicle is for the inspector",
    ),
    (
        "confirmed",
        "somebody who is named read it for this journal, in a document whose file goes with it. It is judged as one that was read",
    ),
    ("second-hand", "another document states it. A verdict on it is at best close (limit unread)"),
    (
        "memory",
        "nobody looked it up. A verdict on it is open; where the limit as remembered is missed, that is said",
    ),
    (
        "practice",
        "what the trade does or this program supposes; no document states it. No verdict on it is better than open",
    ),
];

pub(super) fn standards(scene: &Scene<'_>) -> Vec<Item> {
    let worked = scene.given.worked;
    let mut items = vec![with_id(STANDARDS, heading(2, "Standards and rules"))];
    let by_source = values_by_source(worked);
    if by_source.is_empty() {
        items.push(said("No block of this journal goes by a standard."));
    } else {
        items.push(said("What blocks of this journal take from standards, regulations and the trade, and which requirements rest on it. How well each is known:"));
        let meaning = MEANING.map(|(word, meaning)| {
            rich::join([rich::one(capital(word), Face::Strong), Rich::plain(format!(": {meaning}. "))])
        });
        items.push(item(Piece::Paragraph { style: Style::Small, text: rich::join(meaning) }));
        let standing = |source: &'static Source| {
            let confirmed = worked.notebook.confirmed.iter().find(|one| std::ptr::eq(one.source, source));
            let word = source.standing.word();
            confirmed.map_or_else(|| word.to_owned(), |one| format!("{} (before: {word})", one.words()))
        };
        let row = |(source, values): &(&'static Source, Vec<usize>)| {
            row((source, standing(source)), decided(worked, values))
        };
        let rows = by_source.iter().map(row).collect();
        let heads =
            [("Document and clause", 4), ("Edition", 3), ("Status", 2), ("What it says, and decides", 14)];
        let columns = heads.map(|(head, share)| column(head, Align::Left, share)).into();
        items.push(item(Piece::Table(Table { columns, rows, caption: None })));
    }
    items.extend(methods(worked));
    items
}

/// The values that are taken from each source, by the table of values, in the order of document and clause.
fn values_by_source(worked: &Worked) -> Vec<(&'static Source, Vec<usize>)> {
    let mut found: BTreeMap<[&str; 3], (&'static Source, Vec<usize>)> = BTreeMap::new();
    for (number, block) in current(worked) {
        for (index, node) in block.nodes.iter().enumerate() {
            for source in sources_of(node) {
                let key = [&source.document, &source.clause, &source.about].map(String::as_str);
                found.entry(key).or_insert((source, Vec::new())).1.push(worked.plan.first[number] + index);
            }
        }
    }
    found.into_values().collect()
}

/// Where a value comes from, if from the rules: a limit or a row of a table, or what a procedure looks up in them.
fn sources_of(node: &NodeDecl) -> impl Iterator<Item = &'static Source> {
    let looked_up = node.row.map_or(&[][..], |row| row.looks_up).iter().filter_map(|name| {
        let of_case = node.case.as_ref().filter(|_| *name == CASE).map(|case| case.title.as_str());
        rules().source(of_case.unwrap_or(name))
    });
    node.leaf().and_then(|leaf| leaf.rule).into_iter().chain(looked_up)
}

fn current(worked: &Worked) -> impl Iterator<Item = (usize, &BlockEntry)> {
    worked.notebook.blocks.iter().enumerate().filter(|(_, block)| block.replaced_by.is_none())
}

/// The requirements whose value, limit or ground rests on one of these values, each with its block.
fn decided<'a>(worked: &'a Worked, values: &[usize]) -> Vec<(&'a str, String)> {
    let plan = &worked.plan;
    let mut rests = vec![false; plan.len()];
    values.iter().for_each(|value| rests[*value] = true);
    for global in &plan.order {
        rests[*global] |= plan.needs(*global).any(|need| rests[need]);
    }
    let judged = worked.results.judged.iter().filter_map(|judged| {
        let block = &worked.notebook.blocks[judged.block];
        let requirement = &block.requirements[judged.number];
        let first = plan.first[judged.block];
        let is_ground = |value: &usize| {
            let name =
                value.checked_sub(first).and_then(|index| block.nodes.get(index)).map(|node| &node.name);
            let grounds = requirement.row.map_or(&[][..], |row| row.grounds);
            name.is_some_and(|name| grounds.iter().any(|ground| ground == name))
        };
        let parts = [Some(judged.actual), judged.low, judged.high];
        let on_it = parts.into_iter().flatten().any(|part| rests[part]) || values.iter().any(is_ground);
        on_it.then(|| (block.name.as_str(), requirement.label(&block.nodes)))
    });
    judged.collect()
}

/// Several requirements of one block are counted.
fn row((source, standing): (&Source, String), decided: Vec<(&str, String)>) -> Row {
    let mut what = vec![text(format!("{}. ", capital(&source.about)), Face::Plain)];
    if decided.is_empty() {
        what.push(text("Decides no requirement of this journal", Face::Quiet));
    } else {
        what.push(text("Decides ", Face::Quiet));
    }
    for (at, of_block) in decided.chunk_by(|a, b| a.0 == b.0).enumerate() {
        if at > 0 {
            what.push(text(", ", Face::Quiet));
        }
        let block = of_block[0].0;
        let names: Vec<&str> = of_block.iter().map(|(_, name)| name.as_str()).collect();
        let names = match names.len() {
            many if many > NAMED => format!("{many} requirements"),
            _ => names.join("; "),
        };
        what.extend(rich::link(names, block_id(block)).0);
        what.push(text(" of ", Face::Quiet));
        what.push(rich::name(block));
    }
    let edition: Vec<&str> =
        [&source.edition, &source.year].into_iter().flatten().map(String::as_str).collect();
    let document = rich::join([
        rich::one(source.document.clone(), Face::Strong),
        Rich::plain(format!(", {}", source.clause)),
    ]);
    let edition = if edition.is_empty() { "not known".to_owned() } else { edition.join(", ") };
    let cells = vec![document, Rich::plain(edition), Rich::plain(standing), Rich(what)];
    Row { id: None, cells, log: Vec::new(), strong: false }
}

/// What each kind of block goes by beside: formulas and methods, as its reference has them.
fn methods(worked: &Worked) -> Vec<Item> {
    let kinds: BTreeMap<&str, &[&str]> =
        current(worked).map(|(_, block)| (block.kind.name, block.kind.sources)).collect();
    let cells = |(kind, sources): (&str, &[&str])| {
        let mut what = Vec::new();
        for source in sources {
            if !what.is_empty() {
                what.push(text("; ", Face::Plain));
            }
            what.push(text(capital(source), Face::Plain));
        }
        Row {
            id: None,
            cells: vec![rich::one(kind, Face::Strong), Rich(what)],
            log: Vec::new(),
            strong: false,
        }
    };
    let rows: Vec<Row> = kinds.into_iter().filter(|(_, sources)| !sources.is_empty()).map(cells).collect();
    if rows.is_empty() {
        return Vec::new();
    }
    let columns = vec![column("Kind", Align::Left, 0), column("Its methods are from", Align::Left, 0)];
    vec![item(Piece::Table(Table { columns, rows, caption: None }))]
}

fn said(words: &str) -> Item {
    item(Piece::Paragraph { style: Style::Body, text: Rich::plain(words) })
}
