//! Reads the journals' fences into typed blocks, and gathers what the whole journal knows.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap, HashSet};

use super::aggregate;
use super::cited;
use super::directory::{Directory, DirectoryEntry};
use super::evidence::Evidence;
use super::form::{Draft, Form};
use super::front::{Front, front};
use super::kind::Kind;
use super::node::{Computed, NodeDecl, Role};
use super::old_names;
use super::notebook::{BlockEntry, LiveEntry, Notebook};
use super::pictures;
use super::replaced::{Written, line_replaced, names_replaced, replaced};
use super::{together, worth};
use crate::findings::{Finding, codes, suggest};
use crate::journal::{Fence, Journal, Node, NodeValue, Word};
use crate::parallel;
use crate::quantities::read_unit;
use crate::source::{Sources, Span};
use crate::words::{Words, words};

/// How many blocks a core reads at once.
const SHARE: usize = 32;

/// Reads all journals, in their order.
pub(crate) fn read(
    (journals, sources): (&[Journal], &Sources),
    kinds: &'static [&'static Kind],
    evidence: &dyn Evidence,
) -> (Notebook, Vec<Finding>) {
    let mut findings = Vec::new();
    let mut notebook = Notebook {
        front: Front::default(),
        blocks: Vec::new(),
        live: Vec::new(),
        titles: Vec::new(),
        sources: HashMap::new(),
        fences: Vec::new(),
        prose_fences: Vec::new(),
        broken: HashSet::new(),
        names: HashMap::new(),
    };
    if let Some(node) = journals.first().and_then(|journal| journal.front_matter.as_ref()) {
        let (read, found) = front(node);
        notebook.front = read;
        findings.extend(found);
    }
    let mut chosen: Vec<Chosen<'_>> = Vec::new();
    let mut written: Vec<Written<'_>> = Vec::new();
    // Which of them could be read.
    let mut readable: Vec<usize> = Vec::new();
    let mut second: Vec<(String, Finding)> = Vec::new();
    let mut directory = Directory::default();
    for (file, journal) in journals.iter().enumerate() {
        notebook.fences.push(vec![None; journal.fences.len()]);
        notebook.prose_fences.push(HashSet::new());
        for (number, fence) in journal.fences.iter().enumerate() {
            let told = findings.len();
            let Some(kind) = choose(fence, kinds, &mut findings) else {
                if findings.len() == told {
                    notebook.prose_fences[file].insert(number);
                }
                continue;
            };
            let Some(name) = name_of(fence, kind, &mut findings) else { continue };
            if written.iter().any(|known| known.name == name.text) {
                let message = words!("a second block is named `{}`", name.text);
                let help = "give it another name: names are unique in the whole journal";
                let finding = Finding::new(&codes::DUPLICATE_NAME, name.span, message, help);
                second.push((title(kind, &name.text), finding));
                continue;
            }
            let Some(body) = &fence.body else {
                notebook.broken.insert(name.text.clone());
                let replaces = line_replaced(sources.text(fence.body_span)).map(|old| (old, fence.body_span));
                if let Some((old, _)) = replaces {
                    notebook.broken.insert(old.to_owned());
                }
                written.push(Written { name: &name.text, kind: kind.name, replaces, broken: true });
                continue;
            };
            readable.push(written.len());
            let replaces = names_replaced(body);
            let (body, notes) = old_names::renamed(kind, body);
            written.push(Written { name: &name.text, kind: kind.name, replaces, broken: false });
            chosen.push(Chosen { file, number, kind, body, notes, span: name.span });
        }
    }
    let replaced = replaced(&written);
    let place = |at: usize| readable.binary_search(&at).ok();
    for (at, chosen) in readable.iter().zip(&chosen) {
        if replaced.by[*at].is_none() {
            directory.of_kind.entry(chosen.kind.name).or_default().push(directory.entries.len());
        }
        directory.entries.push(DirectoryEntry {
            name: replaced.keys[*at].clone(),
            kind: chosen.kind,
            keys: keys_of(&chosen.body),
            body: &chosen.body,
        });
    }
    for (name, at) in &replaced.names {
        directory.names.extend(place(*at).map(|at| (name.clone(), at)));
    }
    notebook.names = directory.names.clone();
    notebook.titles = directory.entries.iter().map(|entry| title(entry.kind, &entry.name)).collect();
    for (title, finding) in second {
        findings.push(finding.in_block(notebook.titles.len()));
        notebook.titles.push(title);
    }
    let read = parallel::each(chosen.len(), SHARE, |at| {
        block((at, &chosen[at]), &directory, evidence)
    });
    for (Chosen { file, number, .. }, (mut entry, found)) in chosen.iter().zip(read) {
        let (file, number) = (*file, *number);
        let own = notebook.blocks.len();
        entry.replaces = replaced.replaces[readable[own]].and_then(place);
        entry.replaced_by = replaced.by[readable[own]].and_then(place);
        for (_, finding) in replaced.findings.iter().filter(|(at, _)| *at == readable[own]) {
            findings.push(finding.clone().in_block(own));
            entry.faulty = true;
        }
        findings.extend(found.into_iter().map(|finding| finding.in_block(own)));
        notebook.fences[file][number] = Some(own);
        for source in entry.block.sources() {
            let second = notebook.sources.insert(source.id.clone(), source.clone());
            if second.is_some() {
                let message = words!("a second source is named `{}`", source.id);
                let finding =
                    Finding::new(&codes::DUPLICATE_NAME, source.span, message, "give it another id");
                findings.push(finding.in_block(own));
            }
        }
        notebook.blocks.push(entry);
    }
    findings.extend(pictures::missing(journals, sources, evidence));
    cited::known(&notebook, &mut findings);
    cited::missing(&notebook, &mut findings);
    cited::unused(&notebook, &mut findings);
    together::check(&mut notebook, &mut findings);
    aggregate::expand(&mut notebook, &mut findings);
    worth::settle(&mut notebook, &mut findings);
    for (file, journal) in journals.iter().enumerate() {
        for (index, live) in journal.live.iter().enumerate() {
            if let Some(entry) = live_value(file, index, &live.address, &mut findings) {
                notebook.live.push(entry);
            }
        }
    }
    (notebook, findings)
}

/// A fence that is a block.
struct Chosen<'n> {
    file: usize,
    /// Its number in the file's list.
    number: usize,
    kind: &'static Kind,
    /// With each key under the name of today.
    body: Cow<'n, Node>,
    /// What is to be said of the names of before.
    notes: Vec<Finding>,
    span: Span,
}

/// The kind that a fence's second word names. A word that is no kind is prose where it has no third word and is
/// not close to any kind.
fn choose(
    fence: &Fence,
    kinds: &'static [&'static Kind],
    findings: &mut Vec<Finding>,
) -> Option<&'static Kind> {
    let word = fence.kind.text.replace('_', "-");
    if let Some(kind) = kinds.iter().find(|kind| kind.name == word) {
        if let Some(spelling) = fence.spelling {
            let help = words!("type `yaml {} NAME` behind the marks: other viewers know `yaml`", kind.name);
            let message = "a block whose fence is not spelt `yaml`";
            findings.push(Finding::new(&codes::FENCE_SPELLING, spelling, message, help));
        }
        return Some(kind);
    }
    let near = suggest(&word, kinds.iter().map(|kind| kind.name));
    if near.is_none() && fence.name.is_none() {
        return None;
    }
    let help = match near {
        Some(near) => words!("did you mean `{}`?", near),
        None => words!(
            "the kinds are {}; a fence that says only `yaml` is prose",
            Words::names(kinds.iter().map(|kind| kind.name))
        ),
    };
    let message = words!("no kind of block is named `{}`", fence.kind.text);
    findings.push(Finding::new(&codes::UNKNOWN_KIND, fence.kind.span, message, help));
    None
}

fn title(kind: &Kind, name: &str) -> String {
    format!("{} {name}", kind.name)
}

fn name_of<'f>(fence: &'f Fence, kind: &Kind, findings: &mut Vec<Finding>) -> Option<&'f Word> {
    let help =
        words!("type ```yaml {} NAME, NAME in lower-case letters, digits and `_`, a letter first", kind.name);
    let Some(name) = &fence.name else {
        let message = words!("a `{}` block without a name", kind.name);
        findings.push(Finding::new(&codes::BAD_NAME, fence.kind.span, message, help));
        return None;
    };
    let good = name.text.starts_with(|first: char| first.is_ascii_lowercase())
        && name.text.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
    if !good {
        let message = words!("`{}` is no name for a block", name.text);
        findings.push(Finding::new(&codes::BAD_NAME, name.span, message, help));
        return None;
    }
    if let Some(extra) = fence.extra.first() {
        let message = words!("`{}` stands after the block's name", extra.text);
        findings.push(Finding::new(&codes::BAD_NAME, extra.span, message, help));
        return None;
    }
    Some(name)
}

fn keys_of(body: &Node) -> Vec<&str> {
    match &body.value {
        NodeValue::Mapping(entries) => entries
            .iter()
            .filter_map(|(key, _)| match &key.value {
                NodeValue::Scalar { text, .. } => Some(text.as_str()),
                _ => None,
            })
            .collect(),
        _ => Vec::new(),
    }
}

fn block(
    (at, chosen): (usize, &Chosen<'_>),
    directory: &Directory<'_>,
    evidence: &dyn Evidence,
) -> (BlockEntry, Vec<Finding>) {
    let mut draft = Draft {
        kind: chosen.kind,
        name: directory.entries[at].name.clone(),
        name_span: chosen.span,
        nodes: Vec::new(),
        index: HashMap::new(),
        requirements: Vec::new(),
        findings: chosen.notes.clone(),
        directory,
        evidence,
        basis: None,
        cited: Vec::new(),
        files: BTreeMap::new(),
    };
    let entries = match &chosen.body.value {
        NodeValue::Mapping(entries) => entries.clone(),
        NodeValue::Empty => Vec::new(),
        _ => {
            let message = words!("a `{}` block is one mapping, `key: value` on each line", chosen.kind.name);
            let span = chosen.body.span;
            let finding = Finding::new(&codes::WRONG_SHAPE, span, message, "type `key: value` lines");
            draft.findings.push(finding);
            Vec::new()
        }
    };
    // What every block may say, whatever its kind.
    let everywhere = |key: &Node| ["basis", "replaces", "because"].iter().any(|word| key.is_text(word));
    let (own, entries): (Vec<_>, Vec<_>) = entries.into_iter().partition(|(key, _)| everywhere(key));
    let said = |word: &str| own.iter().find(|(key, _)| key.is_text(word)).map(|(_, node)| node);
    let because = said("because").and_then(|node| node.text()).map(|text| text.trim().to_owned());
    let shapeless = draft.findings.len();
    let mut form = Form::new(&mut draft, entries, chosen.span);
    if let Some(node) = said("basis") {
        form.block_basis(node);
    }
    let block = (chosen.kind.read)(&mut form);
    form.finish();
    // A body of the wrong shape is one mistake: what is therefore missing is not told again.
    if shapeless > 0 {
        draft.findings.truncate(shapeless);
    }
    let faulty = draft.findings.iter().any(Finding::is_error);
    draft.nodes.shrink_to_fit();
    let entry = BlockEntry {
        kind: chosen.kind,
        name: draft.name,
        replaces: None,
        replaced_by: None,
        because,
        name_span: chosen.span,
        engine: engine_steps(&draft.nodes),
        nodes: draft.nodes,
        cited: draft.cited,
        files: draft.files,
        requirements: draft.requirements,
        block,
        faulty,
    };
    (entry, draft.findings)
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

fn engine_steps(nodes: &[NodeDecl]) -> Vec<u32> {
    let engine = |(_, node): &(usize, &NodeDecl)| matches!(node.role, Role::Step(Computed::Engine { .. }));
    nodes.iter().enumerate().filter(engine).map(|(index, _)| index as u32).collect()
}
