//! The prose of a file as a tree, for the dossier; results regions are not in it.

use crate::source::Span;

/// A block of prose. Blocks nest no deeper than fifty quotes and lists; what is deeper is put in the last.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Block {
    pub span: Span,
    pub form: BlockForm,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum BlockForm {
    /// Levels 1 to 6.
    Heading {
        level: u8,
        text: Vec<Inline>,
    },
    Paragraph(Vec<Inline>),
    /// `start` is the first number of an ordered list.
    List {
        start: Option<u64>,
        entries: Vec<Entry>,
    },
    Quote(Vec<Block>),
    /// Code that is no fence of ours. The language is the first word of its info string.
    Code {
        language: String,
        text: String,
    },
    Rule,
    /// Each cell is a line of text; rows have as many cells as the head.
    Table {
        aligns: Vec<Align>,
        head: Vec<Vec<Inline>>,
        rows: Vec<Vec<Vec<Inline>>>,
    },
    /// The text of a footnote, where it was written.
    Footnote {
        label: String,
        blocks: Vec<Block>,
    },
    /// The number of the fence.
    Fence(usize),
}

/// An entry of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Entry {
    pub span: Span,
    /// `Some(true)` is ticked, `Some(false)` open, `None` an ordinary entry.
    pub task: Option<bool>,
    pub blocks: Vec<Block>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Align {
    None,
    Left,
    Centre,
    Right,
}

/// A stretch of a line. Marks nest no deeper than fifty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Inline {
    Text(String),
    Code(String),
    Emphasis(Vec<Inline>),
    Strong(Vec<Inline>),
    Struck(Vec<Inline>),
    Sub(Vec<Inline>),
    Sup(Vec<Inline>),
    SoftBreak,
    HardBreak,
    /// The address is safe to print: http, https, mailto, or a place in the journal.
    Link {
        address: String,
        title: String,
        text: Vec<Inline>,
        span: Span,
    },
    /// The number of the live value.
    Live {
        live: usize,
        text: Vec<Inline>,
        span: Span,
    },
    /// The address is safe to print, as that of a link.
    Image {
        address: String,
        title: String,
        alt: String,
        span: Span,
    },
    FootnoteReference(String),
}

/// An entry of a task list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Task {
    pub done: bool,
    /// Its first paragraph, without marks.
    pub text: String,
    pub span: Span,
}

/// The text of a line without its marks; breaks are spaces.
pub(crate) fn plain(inlines: &[Inline]) -> String {
    let mut text = String::new();
    add_plain(&mut text, inlines);
    text
}

fn add_plain(text: &mut String, inlines: &[Inline]) {
    for inline in inlines {
        match inline {
            Inline::Text(part) | Inline::Code(part) | Inline::Image { alt: part, .. } => text.push_str(part),
            Inline::SoftBreak | Inline::HardBreak => text.push(' '),
            Inline::Emphasis(inner)
            | Inline::Strong(inner)
            | Inline::Struck(inner)
            | Inline::Sub(inner)
            | Inline::Sup(inner)
            | Inline::Link { text: inner, .. }
            | Inline::Live { text: inner, .. } => add_plain(text, inner),
            Inline::FootnoteReference(_) => {}
        }
    }
}

/// All task list entries of a tree, in the order of the file.
pub(super) fn tasks(blocks: &[Block]) -> Vec<Task> {
    let mut tasks = Vec::new();
    add_tasks(&mut tasks, blocks);
    tasks
}

fn add_tasks(tasks: &mut Vec<Task>, blocks: &[Block]) {
    for block in blocks {
        match &block.form {
            BlockForm::List { entries, .. } => {
                for entry in entries {
                    if let Some(done) = entry.task {
                        let text = match entry.blocks.first().map(|block| &block.form) {
                            Some(BlockForm::Paragraph(text)) => plain(text),
                            _ => String::new(),
                        };
                        tasks.push(Task { done, text, span: entry.span });
                    }
                    add_tasks(tasks, &entry.blocks);
                }
            }
            BlockForm::Quote(inner) | BlockForm::Footnote { blocks: inner, .. } => add_tasks(tasks, inner),
            _ => {}
        }
    }
}
