//! What the results of a journal would be if one of the changes since an earlier state were put back.
//!
//! An input is put back alone where its place takes it. What no one place holds (an item that is gone, a curve, a line of
//! a file) is put back with the text of its block, all that can be put back alone left as it is now. A block that came
//! is taken out, one that replaces another with it; one that went is written again at the end.

use std::collections::BTreeMap;
use std::io::Read;
use std::sync::Arc;

use super::causes::Without;
use super::inputs::{InputChange, InputMove, inputs};
use crate::blocks::KINDS;
use crate::evaluate::Variant;
use crate::journal::{self, Fence, Journal, Position};
use crate::model::{BlockEntry, Change, Changeable, Evidence, EvidenceFault, NodeDecl, Origin, Role};
use crate::report::Told;
use crate::source::{FileId, Source, Sources, Span};

/// A worked journal with the texts and files that it was worked from.
#[derive(Clone, Copy)]
pub(crate) struct State<'s> {
    pub journals: &'s [Journal],
    pub sources: &'s Sources,
    pub evidence: &'s dyn Evidence,
    pub told: Told<'s>,
}

/// For each cause what the later results would be without it. What can't be put back is left out: it is then told among
/// what the changes do together.
pub(crate) fn put_back(before: State<'_>, after: State<'_>) -> Vec<Without> {
    let changeable = Changeable::new((after.journals, after.sources), KINDS, after.evidence);
    let mut of_block: BTreeMap<String, Vec<(String, InputMove)>> = BTreeMap::new();
    for (name, moved) in inputs(before.told, after.told) {
        let block = name.split_once('.').map_or(name.as_str(), |(block, _)| block);
        of_block.entry(block.to_owned()).or_default().push((name.clone(), moved));
    }
    let mut all = Vec::new();
    for (block, moves) in of_block {
        let whole = moves.iter().find(|(name, _)| *name == block).map(|(_, moved)| moved.change);
        let edited = match whole {
            // What came or went with nothing else resting on it moves nothing that is there on both sides.
            Some(InputChange::Added) if !feeds(after, before, &block) => continue,
            Some(InputChange::Removed) if !feeds(before, after, &block) => continue,
            Some(InputChange::Added | InputChange::Replaced) => without_fence(after, &block),
            Some(InputChange::Removed) => with_fence(before, after, &block),
            _ => {
                all.extend(of_inputs((before, after), &changeable, (&block, &moves)));
                continue;
            }
        };
        all.extend(edited.and_then(|edited| edited.without(&block, after.evidence, &[])));
    }
    all
}

/// Whether a result of a block that the other state has too rests on this block.
fn feeds(state: State<'_>, other: State<'_>, block: &str) -> bool {
    let (blocks, plan) = (&state.told.notebook.blocks, state.told.plan);
    let Some(number) = blocks.iter().position(|entry| entry.name == block) else { return false };
    let mut rests = vec![false; plan.len()];
    rests[plan.first[number]..plan.first[number + 1]].fill(true);
    for global in &plan.order {
        rests[*global] |= plan.needs(*global).any(|need| rests[need]);
    }
    let shared = |entry: &BlockEntry| other.told.notebook.blocks.iter().any(|one| one.name == entry.name);
    let moved = |number: usize| {
        let first = plan.first[number];
        blocks[number].nodes.iter().enumerate().any(|(at, node)| node.is_result() && rests[first + at])
    };
    (0..blocks.len()).any(|at| at != number && moved(at) && shared(&blocks[at]))
}

/// The causes within a block that is there before and after.
fn of_inputs(
    (before, after): (State<'_>, State<'_>),
    changeable: &Changeable<'_>,
    (block, moves): (&str, &[(String, InputMove)]),
) -> Vec<Without> {
    let mut all = Vec::new();
    // What can't be put back alone, and what of the others is typed now.
    let (mut rest, mut kept) = (Vec::new(), Vec::new());
    for (name, _) in moves {
        let text = |state: State<'_>| typed(node(state, name)?, state);
        let (was, is) = (text(before), text(after));
        let change = |to: String| Change { set: name.clone(), to };
        let variant = was.and_then(|was| Variant::of(changeable, &[change(was)]).ok());
        match variant {
            Some(variant) => {
                all.push(Without::of(name, &variant));
                kept.extend(is.map(change));
            }
            None => rest.push(name.as_str()),
        }
    }
    let cause = match rest.as_slice() {
        [] => return all,
        [alone] => alone,
        _ => block,
    };
    let files = |state: State<'_>| Some(entry(state, block)?.files.clone());
    let older = Older { paths: files(before).unwrap_or_default(), old: before.evidence, new: after.evidence };
    let edited = with_body(before, after, block);
    all.extend(edited.and_then(|edited| edited.without(cause, &older, &kept)));
    all
}

fn entry<'s>(state: State<'s>, block: &str) -> Option<&'s BlockEntry> {
    state.told.notebook.blocks.iter().find(|entry| entry.name == block)
}

fn node<'s>(state: State<'s>, name: &str) -> Option<&'s NodeDecl> {
    let (block, name) = name.split_once('.')?;
    entry(state, block)?.nodes.iter().find(|node| node.name == name)
}

/// What to type for an input to have its value; `None` where no one text does.
fn typed(node: &NodeDecl, state: State<'_>) -> Option<String> {
    match &node.role {
        Role::Field(Origin::Leaf(leaf)) => {
            let (si, unit) = (leaf.literal.quantity.si, &leaf.literal.unit);
            let value = unit.value_of(si);
            Some(if unit.is_one() { value.to_string() } else { format!("{value} {}", unit.symbol) })
        }
        Role::Field(Origin::Text(text)) => Some(text.clone()),
        Role::Field(Origin::Reference(_)) => {
            let text = state.sources.text(node.span).trim();
            text.starts_with("from ").then(|| text.to_owned()).filter(|text| !text.contains('\n'))
        }
        _ => None,
    }
}

/// A journal with its text edited.
struct Edited {
    sources: Sources,
    journals: Vec<Journal>,
}

impl Edited {
    fn new(state: State<'_>, file: FileId, edit: impl FnOnce(&mut String)) -> Edited {
        let mut sources = Sources(state.sources.0.clone());
        let source = &sources.0[file.0 as usize];
        let mut text = source.text.to_string();
        edit(&mut text);
        sources.0[file.0 as usize] = Source::new(source.path.clone(), text);
        let files = state.journals.iter().enumerate();
        let journals = files.map(|(number, journal)| {
            if journal.file != file {
                return journal.clone();
            }
            let position = if number == 0 { Position::First } else { Position::Later };
            journal::scan(file, position, sources.get(file)).0
        });
        Edited { journals: journals.collect(), sources }
    }

    fn without(&self, cause: &str, evidence: &dyn Evidence, kept: &[Change]) -> Option<Without> {
        let changeable = Changeable::new((&self.journals, &self.sources), KINDS, evidence);
        Some(Without::of(cause, &Variant::of(&changeable, kept).ok()?))
    }
}

/// Where the text of a block stands.
fn fence<'s>(state: State<'s>, block: &str) -> Option<(FileId, &'s Fence)> {
    let number = state.told.notebook.blocks.iter().position(|entry| entry.name == block)?;
    let files = state.told.notebook.fences.iter().zip(state.journals);
    files
        .filter_map(|(own, journal)| {
            let at = own.iter().position(|own| *own == Some(number))?;
            Some((journal.file, &journal.fences[at]))
        })
        .next()
}

fn without_fence(after: State<'_>, block: &str) -> Option<Edited> {
    let (file, fence) = fence(after, block)?;
    let range = fence.span.range();
    Some(Edited::new(after, file, |text| text.replace_range(range, "")))
}

fn with_fence(before: State<'_>, after: State<'_>, block: &str) -> Option<Edited> {
    let (_, old) = fence(before, block)?;
    let old = before.sources.text(old.span);
    let file = after.journals.last()?.file;
    Some(Edited::new(after, file, |text| text.push_str(&format!("\n\n{old}\n"))))
}

fn with_body(before: State<'_>, after: State<'_>, block: &str) -> Option<Edited> {
    let ((_, old), (file, new)) = (fence(before, block)?, fence(after, block)?);
    let text_of = |span: Span| before.sources.text(span);
    let (old, range) = (text_of(old.body_span), new.body_span.range());
    Some(Edited::new(after, file, |text| text.replace_range(range, old)))
}

/// The files of the later state, but some as they were.
struct Older<'e> {
    paths: BTreeMap<String, String>,
    old: &'e dyn Evidence,
    new: &'e dyn Evidence,
}

impl Older<'_> {
    fn of(&self, path: &str) -> &dyn Evidence {
        if self.paths.contains_key(path) { self.old } else { self.new }
    }
}

impl Evidence for Older<'_> {
    fn today(&self) -> Option<&str> {
        self.new.today()
    }

    fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        self.of(path).read(path)
    }

    fn open(&self, path: &str) -> Result<Box<dyn Read>, EvidenceFault> {
        self.of(path).open(path)
    }

    fn sha_256(&self, path: &str) -> Result<String, EvidenceFault> {
        self.of(path).sha_256(path)
    }
}
