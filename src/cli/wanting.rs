//! What fails or is open, what would fail an inspection first: a line for each requirement and answer, and in one line what
//! the journal says nothing of, and whose limits nobody read.

use super::arguments::Format;
use crate::compile::Worked;
use crate::report::{ItemRow, OpenItem, Outcome, RequirementRow, spaced};
use crate::source::Sources;

const MISSING: &str = "not in this journal";
const UNREAD: &str = "limit unread";

/// `kerb.laden_mass fails, 1 802 kg, at most 1 750 kg: above the limit (journal.md:12:1)`; for an editor each has a line of
/// its own, the place first. What is not due yet is left out.
pub(super) fn wanting(worked: &Worked, sources: &Sources, format: Format) -> String {
    let told = worked.told();
    let coverage = told.coverage();
    let rows = told.requirements();
    let items = told.open_items(coverage.as_ref());
    let due = || items.iter().filter(|item| !item.not_yet);
    let mut text = String::new();
    match format {
        Format::Lines => due().for_each(|item| text.push_str(&line(item, (&rows, sources)))),
        Format::Text => {
            for item in due().filter(|item| item.word != MISSING && item.word != UNREAD) {
                let at = place(item, sources).map(|at| format!(" ({at})")).unwrap_or_default();
                text.push_str(&format!("{}{at}\n", said(item, &rows)));
            }
            let subjects = coverage.iter().map(|coverage| ("the subjects", &coverage.subjects));
            let packs = coverage.iter().flat_map(|coverage| &coverage.packs);
            for (name, rows) in subjects.chain(packs.map(|pack| (pack.name, &pack.items))) {
                text.push_str(&missing(name, rows));
            }
            text.push_str(&unread(&due().filter(|item| item.word == UNREAD).collect::<Vec<_>>()));
        }
    }
    text.replace('\u{a0}', " ")
}

/// An item in words.
fn said(item: &OpenItem, rows: &[RequirementRow]) -> String {
    let (what, word, reason) = (&item.what, item.word, &item.reason);
    match item.judged.map(|number| &rows[number]) {
        Some(row) => format!("{what} {word}, {}, {}: {reason}", row.actual, row.limit),
        // A subject is called by a theme of several words.
        None if what.contains(' ') => format!("`{what}` {word}: {reason}"),
        None => format!("{what} {word}: {reason}"),
    }
}

fn place(item: &OpenItem, sources: &Sources) -> Option<String> {
    let span = item.place?;
    let at = sources.place(span);
    Some(format!("{}:{}:{}", sources.get(span.file).path, at.line, at.column))
}

/// For an editor. What is nowhere in the journal is told where it begins.
fn line(item: &OpenItem, (rows, sources): (&[RequirementRow], &Sources)) -> String {
    let first = || sources.0.first().map(|source| format!("{}:1:1", source.path)).unwrap_or_default();
    let severity = match item.word {
        "fails" => "error",
        UNREAD => "note",
        _ => "warning",
    };
    let place = place(item, sources).unwrap_or_else(first);
    format!("{place}: {severity}: {} [{}]\n", said(item, rows), item.word.replace(' ', "-"))
}

/// What the journal says nothing of, though it is due.
fn missing(name: &str, rows: &[ItemRow]) -> String {
    let due = rows.iter().filter(|row| row.own && row.outcome == Outcome::Missing && !row.not_yet);
    // Items of a pack may share a theme.
    let names = due.map(|row| if row.source.is_empty() { row.theme.to_owned() } else { spaced(row.id) });
    let names: Vec<String> = names.collect();
    match names.is_empty() {
        true => String::new(),
        false => format!("{MISSING}, of {name}: {}\n", names.join("; ")),
    }
}

/// The blocks whose verdicts wait for somebody to read a limit.
fn unread(items: &[&OpenItem]) -> String {
    let mut blocks: Vec<&str> = Vec::new();
    for item in items {
        let block = item.what.split('.').next().unwrap_or(&item.what);
        if !blocks.contains(&block) {
            blocks.push(block);
        }
    }
    match items.len() {
        0 => String::new(),
        1 => format!("{UNREAD}, of {}: nobody read it where it is stated\n", items[0].what),
        count => {
            format!("{UNREAD}, {count} of {}: nobody read them where they are stated\n", blocks.join(", "))
        }
    }
}
