//! Reads the journals' fences into typed blocks, and settles what needs all of them.

use std::sync::Arc;

use super::aggregate;
use super::cited;
use super::confirmed;
use super::evidence::Evidence;
use super::gather::Gathered;
use super::kind::Kind;
use super::notebook::{LiveEntry, Notebook};
use super::ruled;
use super::{packs, pictures};
use super::{together, worth};
use crate::findings::Finding;
use crate::journal::{Journal, Word};
use crate::quantities::read_unit;
use crate::source::Sources;

/// Reads all journals, in their order.
pub(crate) fn read(
    (journals, sources): (&[Journal], &Sources),
    kinds: &'static [&'static Kind],
    evidence: &dyn Evidence,
) -> (Notebook, Vec<Finding>) {
    let mut findings = Vec::new();
    let gathered = Gathered::new((journals, sources), kinds, &mut findings);
    let read = gathered.each(evidence);
    let mut notebook = gathered.placed(read, &mut findings);
    notebook.judged_before = Arc::new(evidence.judged_before());
    findings.extend(pictures::missing(journals, sources, evidence));
    packs::select(&mut notebook, (kinds, evidence), &mut findings);
    settle(&mut notebook, gathered.journals, &mut findings);
    (notebook, findings)
}

/// What can be settled only when all blocks are read.
pub(super) fn settle(notebook: &mut Notebook, journals: &[Journal], findings: &mut Vec<Finding>) {
    cited::known(notebook, findings);
    cited::missing(notebook, findings);
    cited::unused(notebook, findings);
    packs::require(notebook);
    packs::answer(notebook, findings);
    ruled::apply(notebook);
    confirmed::apply(notebook, findings);
    together::check(notebook, findings);
    aggregate::expand(notebook, findings);
    worth::settle(notebook, findings);
    for (file, journal) in journals.iter().enumerate() {
        for (index, live) in journal.live.iter().enumerate() {
            if let Some(entry) = live_value(file, index, &live.address, findings) {
                notebook.live.push(entry);
            }
        }
    }
}

fn live_value(file: usize, index: usize, address: &Word, findings: &mut Vec<Finding>) -> Option<LiveEntry> {
    // Some editors type a space in an address so.
    let text = address.text.replace("%20", " ");
    let text = text.trim();
    let (name, unit) = match text.split_once(" in ") {
        Some((name, unit)) => (name.trim(), Some(unit.trim())),
        None => (text, None),
    };
    let unit = match unit.map(read_unit) {
        None => None,
        Some(Ok(unit)) => Some(unit),
        Some(Err(fault)) => {
            findings.push(Finding::new(fault.code, address.span, fault.message, fault.help));
            return None;
        }
    };
    Some(LiveEntry { file, index, name: name.to_owned(), unit, span: address.span })
}
