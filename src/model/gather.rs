//! Gathers the fences that are blocks, with their names, and reads them one by one.

use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;

use super::directory::{Directory, DirectoryEntry, View};
use super::evidence::Evidence;
use super::form::{Draft, Form};
use super::form_findings::told_once;
use super::front::front;
use super::kind::Kind;
use super::notebook::{BlockEntry, Notebook};
use super::replaced::{Written, line_replaced, names_replaced, replaced};
use crate::findings::{Finding, codes, suggest};
use crate::journal::{Fence, Journal, Node, NodeValue, Word};
use crate::parallel;
use crate::source::{Sources, Span};
use crate::words::{Words, words};

/// The blocks of the journals, none of them read yet.
pub(super) struct Gathered<'n> {
    pub(super) journals: &'n [Journal],
    /// What is known before any block is read.
    begun: Notebook,
    pub(super) chosen: Vec<Chosen<'n>>,
    pub(super) directory: Directory<'n>,
    /// For each block the one that it replaces, and the one that replaces it.
    replaced: Vec<[Option<usize>; 2]>,
    /// What is wrong with that, with the block.
    wrongly_replaced: Vec<(usize, Finding)>,
}

/// A block with what was found when it was read.
pub(super) type ReadBlock = (BlockEntry, Vec<Finding>);

/// How many blocks a core reads at once.
const SHARE: usize = 32;

impl<'n> Gathered<'n> {
    pub(super) fn new(
        (journals, sources): (&'n [Journal], &Sources),
        kinds: &'static [&'static Kind],
        findings: &mut Vec<Finding>,
    ) -> Gathered<'n> {
        let mut notebook = Notebook::default();
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
        let mut directory = Directory { kinds, ..Directory::default() };
        let mut taken: HashSet<&str> = HashSet::new();
        let mut unread: HashSet<String> = HashSet::new();
        let mut broken: HashMap<String, &'static str> = HashMap::new();
        let mut of_kind: HashMap<&'static str, Vec<usize>> = HashMap::new();
        for (file, journal) in journals.iter().enumerate() {
            notebook.fences.push(vec![None; journal.fences.len()]);
            notebook.prose_fences.push(HashSet::new());
            for (number, fence) in journal.fences.iter().enumerate() {
                let told = findings.len();
                let Some(kind) = choose(fence, kinds, findings) else {
                    if findings.len() == told {
                        notebook.prose_fences[file].insert(number);
                    }
                    continue;
                };
                let Some(name) = name_of(fence, kind, findings) else { continue };
                if !taken.insert(name.text.as_str()) {
                    let message = words!("a second block is named `{}`", name.text);
                    let help = "give it another name: names are unique in the whole journal";
                    let finding = Finding::new(&codes::DUPLICATE_NAME, name.span, message, help);
                    second.push((title(kind, &name.text), finding));
                    continue;
                }
                let Some(body) = &fence.body else {
                    notebook.broken.insert(name.text.clone());
                    broken.insert(name.text.clone(), kind.name);
                    unread.extend(keys_in(sources.text(fence.body_span)).map(str::to_owned));
                    let replaces =
                        line_replaced(sources.text(fence.body_span)).map(|old| (old, fence.body_span));
                    if let Some((old, _)) = replaces {
                        notebook.broken.insert(old.to_owned());
                        broken.insert(old.to_owned(), kind.name);
                    }
                    written.push(Written { name: &name.text, kind: kind.name, replaces, broken: true });
                    continue;
                };
                readable.push(written.len());
                let replaces = names_replaced(body);
                written.push(Written { name: &name.text, kind: kind.name, replaces, broken: false });
                chosen.push(Chosen { file, number, kind, body, span: name.span });
            }
        }
        let replaced = replaced(&written);
        let place = |at: usize| readable.binary_search(&at).ok();
        for (at, chosen) in readable.iter().zip(&chosen) {
            if replaced.by[*at].is_none() {
                of_kind.entry(chosen.kind.name).or_default().push(directory.entries.len());
            }
            directory.entries.push(DirectoryEntry::new(replaced.keys[*at].clone(), chosen.kind, chosen.body));
        }
        directory.of_kind = Arc::new(of_kind);
        let meant = replaced.names.iter().filter_map(|(name, at)| Some((name.clone(), place(*at)?)));
        directory.names = Arc::new(meant.collect());
        notebook.names = directory.names.clone();
        notebook.unread = Arc::new(unread);
        directory.broken = Arc::new(broken);
        let mut titles: Vec<String> =
            directory.entries.iter().map(|entry| title(entry.kind, &entry.name)).collect();
        for (title, finding) in second {
            findings.push(finding.in_block(titles.len()));
            titles.push(title);
        }
        notebook.titles = Arc::new(titles);
        let both = |at: &usize| [replaced.replaces[*at], replaced.by[*at]].map(|other| other.and_then(place));
        let own = |(at, finding): &(usize, Finding)| Some((place(*at)?, finding.clone()));
        Gathered {
            journals,
            begun: notebook,
            replaced: readable.iter().map(both).collect(),
            wrongly_replaced: replaced.findings.iter().filter_map(own).collect(),
            chosen,
            directory,
        }
    }

    /// Reads all blocks.
    pub(super) fn each(&self, evidence: &dyn Evidence) -> Vec<ReadBlock> {
        parallel::each(self.chosen.len(), SHARE, |at| self.block(at, &self.directory, evidence))
    }

    /// All blocks in their places, each by itself as it was read.
    pub(super) fn placed(&self, read: Vec<ReadBlock>, findings: &mut Vec<Finding>) -> Notebook {
        let mut notebook = self.begun.clone();
        for (own, (Chosen { file, number, .. }, (mut entry, found))) in
            self.chosen.iter().zip(read).enumerate()
        {
            [entry.replaces, entry.replaced_by] = self.replaced[own];
            for (_, finding) in self.wrongly_replaced.iter().filter(|(at, _)| *at == own) {
                findings.push(finding.clone().in_block(own));
                entry.faulty = true;
            }
            findings.extend(found.into_iter().map(|finding| finding.in_block(own)));
            notebook.fences[*file][*number] = Some(own);
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
        notebook
    }

    pub(super) fn is_replaced(&self, number: usize) -> bool {
        self.replaced[number][1].is_some()
    }

    /// Reads one block as it stands in a directory of these blocks.
    pub(super) fn block(&self, at: usize, directory: &Directory<'_>, evidence: &dyn Evidence) -> ReadBlock {
        let chosen = &self.chosen[at];
        let mut draft = Draft {
            kind: chosen.kind,
            name: directory.entries[at].name.clone(),
            name_span: chosen.span,
            nodes: Vec::new(),
            index: HashMap::new(),
            requirements: Vec::new(),
            bindings: Vec::new(),
            shaping: RefCell::default(),
            shaping_places: Vec::new(),
            findings: Vec::new(),
            directory: View::new(directory),
            evidence,
            basis: None,
            cited: Vec::new(),
            files: BTreeMap::new(),
            unsure: Cell::new(false),
        };
        let body = directory.entries[at].body();
        let entries = match &body.value {
            NodeValue::Mapping(entries) => entries.clone(),
            NodeValue::Empty => Vec::new(),
            _ => {
                let message =
                    words!("a `{}` block is one mapping, `key: value` on each line", chosen.kind.name);
                let finding =
                    Finding::new(&codes::WRONG_SHAPE, body.span, message, "type `key: value` lines");
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
        for (word, wanted) in [("replaces", "the name of one block"), ("because", "a sentence")] {
            if let Some(node) = said(word).filter(|node| node.text().is_none()) {
                form.wrong_shape(word, node, wanted);
            }
        }
        let block = (chosen.kind.read)(&mut form);
        form.finish();
        // A body of the wrong shape is one mistake: what is therefore missing is not told again.
        if shapeless > 0 {
            draft.findings.truncate(shapeless);
        }
        told_once(&mut draft.findings);
        let faulty = draft.findings.iter().any(Finding::is_error);
        draft.nodes.shrink_to_fit();
        let entry = BlockEntry {
            kind: chosen.kind,
            name: draft.name,
            replaces: None,
            replaced_by: None,
            because,
            name_span: chosen.span,
            nodes: draft.nodes,
            cited: draft.cited,
            files: draft.files,
            requirements: draft.requirements,
            bindings: draft.bindings,
            looked_at: draft.directory.looked_at(),
            shaping: draft.shaping.into_inner(),
            shaping_places: draft.shaping_places,
            block: block.into(),
            faulty,
            unsure: faulty || draft.unsure.get(),
        };
        (entry, draft.findings)
    }
}

/// What stands before a colon in a block's text.
fn keys_in(text: &str) -> impl Iterator<Item = &str> {
    text.split(':').filter_map(|before| {
        let before = before.trim_end().trim_end_matches(['"', '\'']);
        before.rsplit(|c: char| c.is_whitespace() || "{,\"'".contains(c)).next()
    })
}

/// A fence that is a block.
pub(super) struct Chosen<'n> {
    pub(super) file: usize,
    /// Its number in the file's list.
    pub(super) number: usize,
    pub(super) kind: &'static Kind,
    body: &'n Node,
    pub(super) span: Span,
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
