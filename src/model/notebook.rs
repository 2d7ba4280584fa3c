//! Everything that the author wrote, typed, and what the whole journal knows.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use super::block::Block;
use super::directory::LookedAt;
use super::front::Front;
use super::kind::Kind;
use super::node::{Binding, NodeDecl, Requirement, Resolved};
use super::page::SourceEntry;
use super::papers::{Confirmation, Statement};
use crate::quantities::{Name, Unit};
use crate::rules::packs::{Item, Pack};
use crate::source::Span;

/// Everything that the author wrote, typed.
#[derive(Clone, Default)]
pub(crate) struct Notebook {
    pub front: Front,
    pub blocks: Vec<BlockEntry>,
    pub live: Vec<LiveEntry>,
    /// What each block is called in findings, `kind name`. Behind those that are read stand second ones of a name.
    pub titles: Arc<Vec<String>>,
    /// By id; the block that makes them known is the second.
    pub sources: HashMap<String, SourceEntry>,
    /// Limits of the rules that the journal confirms.
    pub confirmed: Vec<Confirmation>,
    /// The rule packs that the journal goes by.
    pub packs: Vec<&'static Pack>,
    /// Items of its own packs that name what the program does not have: they judge nothing.
    pub amiss: Vec<&'static Item>,
    /// Files of its own packs: path, and SHA-256 in hex.
    pub pack_files: BTreeMap<String, String>,
    /// What is answered to their items, each with the number of its block.
    pub statements: Vec<(usize, Statement)>,
    /// For each journal file and each of its fences: the block it is, or `None` for prose and what can't be read.
    pub fences: Vec<Vec<Option<usize>>>,
    /// Fences of each file that are prose, as their second word is no kind.
    pub prose_fences: Vec<HashSet<usize>>,
    /// Names of blocks that are there but can't be worked: what refers to them waits in silence.
    pub broken: HashSet<String>,
    /// What stands before a colon in blocks that can't be read: sources, perhaps.
    pub unread: Arc<HashSet<String>>,
    /// `block.name` of each requirement that the last revision could judge: what it needs is never "not yet".
    pub judged_before: Arc<BTreeSet<String>>,
    /// Every spelling of a block's name.
    pub names: Arc<HashMap<String, usize>>,
}

#[derive(Clone)]
pub(crate) struct BlockEntry {
    pub kind: &'static Kind,
    /// What it is known by: the first name of its chain of replacements, or `NAME@old`.
    pub name: String,
    /// The block that it replaces, and the one that replaces it.
    pub replaces: Option<usize>,
    pub replaced_by: Option<usize>,
    /// Why it replaces the other.
    pub because: Option<String>,
    pub name_span: Span,
    pub nodes: Vec<NodeDecl>,
    pub requirements: Vec<Requirement>,
    /// The other blocks that it takes values from.
    pub bindings: Vec<Binding>,
    /// What of other blocks' texts has a say in what values this one has.
    pub looked_at: Vec<LookedAt>,
    /// Its own fields that have one, by name and by place.
    pub shaping: BTreeSet<String>,
    pub shaping_places: Vec<Span>,
    pub block: Arc<dyn Block>,
    /// Sources that it names beside those of its values.
    pub cited: Vec<(String, Span)>,
    /// The files that it reads: path, and SHA-256 in hex.
    pub files: BTreeMap<String, String>,
    /// Reading it gave an error: it is worked as far as it goes, but gets no region.
    pub faulty: bool,
    /// Something of it, or a block that it names, could not be read: it may lack names that it would have.
    pub unsure: bool,
}

impl BlockEntry {
    /// Whether a field, by its name and place, has a say in what values there are.
    pub(super) fn shapes(&self, name: &str, place: Span) -> bool {
        let within =
            |whole: &Span| whole.file == place.file && whole.start <= place.start && place.end <= whole.end;
        self.shaping.contains(name) || self.shaping_places.iter().any(within)
    }

    /// The number of the block that a value is taken from, where it is taken through a binding.
    pub(crate) fn bound(&self, resolved: &Resolved) -> Option<usize> {
        resolved.through.map(|binding| self.bindings[binding as usize].block)
    }
}

impl Notebook {
    /// A name of what a block refers to, in full: `motor.mass`.
    pub(crate) fn full_name(&self, block: &BlockEntry, resolved: &Resolved, name: &Name) -> String {
        match block.bound(resolved) {
            Some(number) => format!("{}.{}", self.blocks[number].name, name.text()),
            None => name.text(),
        }
    }
}

/// A live value of the prose.
#[derive(Clone)]
pub(crate) struct LiveEntry {
    pub file: usize,
    /// Its number in the file's list.
    pub index: usize,
    pub name: String,
    pub unit: Option<Unit>,
    pub span: Span,
}
