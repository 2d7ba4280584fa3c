//! Reads a Markdown file into parts that, put end to end, are the file; knows no units and no kinds, and cannot fail.

mod address;
mod fence;
mod front;
mod html;
mod lines;
mod live;
mod marks;
mod offsets;
mod prose;
mod scan;
mod tree;
mod yaml;

#[cfg(test)]
mod tests;

use crate::source::{FileId, Span};

pub(crate) use fence::Fence;
pub(crate) use front::{Position, front_of};
pub(crate) use live::LiveValue;
pub(crate) use marks::{Region, RegionState, body_hash, can_be_marked, neutral_line, region_body};
pub(crate) use prose::{Align, Block, BlockForm, Inline, Task, plain};
pub(crate) use scan::scan;
pub(crate) use yaml::{Node, NodeValue, Quoted, read_yaml};

/// One file of a journal, as its author wrote it.
#[derive(Clone, Debug)]
pub(crate) struct Journal {
    pub file: FileId,
    /// Put end to end, these are the file, byte for byte.
    #[cfg_attr(not(test), expect(dead_code, reason = "the invariant that the tests hold the scan to"))]
    pub parts: Vec<Part>,
    /// Only of the first file, and only when its YAML is sound.
    pub front_matter: Option<Node>,
    /// Every fence that says `yaml` and a second word, in the order of the file.
    pub fences: Vec<Fence>,
    /// Every whole results region, in the order of the file; that of an orphan has no fence.
    pub regions: Vec<Region>,
    pub live: Vec<LiveValue>,
    pub tasks: Vec<Task>,
    /// What is printed in the dossier: regions are left out, fences stand as their number.
    pub prose: Vec<Block>,
    /// Marks of a results region are half there, doubled or out of order: the file must not be written.
    pub damaged: bool,
}

/// A stretch of the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Part {
    pub span: Span,
    pub form: PartForm,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum PartForm {
    FrontMatter,
    Prose,
    /// The number of the fence in [`Journal::fences`].
    Fence(usize),
    /// The number of the region in [`Journal::regions`].
    Region(usize),
}

/// A word as typed, with its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Word {
    pub text: String,
    pub span: Span,
}
