//! Everything that the author wrote, typed, and what the whole journal knows.

use std::collections::{BTreeMap, HashMap, HashSet};

use super::block::Block;
use super::front::Front;
use super::kind::Kind;
use super::node::{NodeDecl, Requirement};
use super::page::SourceEntry;
use crate::quantities::Unit;
use crate::source::Span;

/// Everything that the author wrote, typed.
pub(crate) struct Notebook {
    pub front: Front,
    pub blocks: Vec<BlockEntry>,
    pub live: Vec<LiveEntry>,
    /// What each block is called in findings, `kind name`. Behind those that are read stand second ones of a name.
    pub titles: Vec<String>,
    /// By id; the block that makes them known is the second.
    pub sources: HashMap<String, SourceEntry>,
    /// For each journal file and each of its fences: the block it is, or `None` for prose and what can't be read.
    pub fences: Vec<Vec<Option<usize>>>,
    /// Fences of each file that are prose, as their second word is no kind.
    pub prose_fences: Vec<HashSet<usize>>,
    /// Names of blocks that are there but can't be worked: what refers to them waits in silence.
    pub broken: HashSet<String>,
    /// Every spelling of a block's name.
    pub names: HashMap<String, usize>,
}

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
    /// The nodes that the quantity engine works, in order.
    pub engine: Vec<u32>,
    pub block: Box<dyn Block>,
    /// Sources that it names beside those of its values.
    pub cited: Vec<(String, Span)>,
    /// The files that it reads: path, and SHA-256 in hex.
    pub files: BTreeMap<String, String>,
    /// Reading it gave an error: it is worked as far as it goes, but gets no region.
    pub faulty: bool,
}

/// A live value of the prose.
pub(crate) struct LiveEntry {
    pub file: usize,
    /// Its number in the file's list.
    pub index: usize,
    pub name: String,
    pub unit: Option<Unit>,
    pub span: Span,
}
