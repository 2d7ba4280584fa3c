//! Builds the prose tree from starts and ends, never deeper than can be dropped and walked safely.

use super::html::{self, Piece, Script};
use super::prose::{Align, Block, BlockForm, Entry, Inline};
use crate::source::Span;

/// Quotes, lists and footnotes within each other.
const DEEPEST_BLOCK: usize = 50;
/// Marks within each other.
const DEEPEST_INLINE: usize = 50;

/// Something that holds other things.
#[derive(Debug)]
pub(super) enum Frame {
    Root,
    Quote,
    List(Option<u64>),
    Item,
    Footnote(String),
    Paragraph,
    Heading(u8),
    Table(Vec<Align>),
    Head,
    Row,
    Cell,
    Emphasis,
    Strong,
    Struck,
    Script(Script),
    Link {
        address: String,
        title: String,
    },
    /// Its number is known only at its end.
    Live(Option<usize>),
    Image {
        address: String,
        title: String,
    },
    /// What it holds stands in what holds it.
    Bare,
}

/// The tree while it grows.
pub(super) struct Tree {
    stack: Vec<Open>,
    /// For each start whose end has not come, what its end does.
    ends: Vec<End>,
    blocks: usize,
    inlines: usize,
}

#[derive(Clone, Copy)]
enum End {
    /// Its frame stands on the stack.
    Closes,
    /// It was too deep: its text is only set apart from what follows.
    Breaks,
    /// Nothing.
    Bare,
}

struct Open {
    frame: Frame,
    span: Span,
    task: Option<bool>,
    blocks: Vec<Block>,
    inlines: Vec<Inline>,
    entries: Vec<Entry>,
    head: Vec<Vec<Inline>>,
    rows: Vec<Vec<Vec<Inline>>>,
    cells: Vec<Vec<Inline>>,
}

impl Tree {
    pub(super) fn new(span: Span) -> Tree {
        Tree { stack: vec![Open::new(Frame::Root, span)], ends: Vec::new(), blocks: 0, inlines: 0 }
    }

    pub(super) fn start(&mut self, frame: Frame, span: Span) {
        let end = match &frame {
            Frame::Bare => End::Bare,
            Frame::Quote | Frame::List(_) | Frame::Footnote(_) if self.blocks >= DEEPEST_BLOCK => End::Breaks,
            Frame::Item if !matches!(self.top().frame, Frame::List(_)) => End::Breaks,
            frame if frame.is_inline() && self.inlines >= DEEPEST_INLINE => End::Bare,
            _ => End::Closes,
        };
        self.ends.push(end);
        if let End::Closes = end {
            self.push(frame, span);
        }
    }

    pub(super) fn end(&mut self) {
        match self.ends.pop() {
            Some(End::Closes) => {
                self.end_scripts();
                self.close();
            }
            Some(End::Breaks) => self.inline(Inline::SoftBreak),
            Some(End::Bare) | None => {}
        }
    }

    /// Ends a live value, whose number is known now; without one it is plain text.
    pub(super) fn end_live(&mut self, number: Option<usize>) {
        if let Some(End::Closes) = self.ends.last() {
            self.end_scripts();
            if let Frame::Live(live) = &mut self.top().frame {
                *live = number;
            }
        }
        self.end();
    }

    pub(super) fn inline(&mut self, inline: Inline) {
        self.top().add_inline(inline);
    }

    pub(super) fn block(&mut self, form: BlockForm, span: Span) {
        self.top().add_block(Block { span, form });
    }

    pub(super) fn task(&mut self, done: bool) {
        // A tight entry has no paragraph of its own.
        if let Some(item) = self.stack.iter_mut().rev().take(2).find(|open| matches!(open.frame, Frame::Item))
        {
            item.task = Some(done);
        }
    }

    /// Adds raw HTML. Says whether some of it is shown as text.
    pub(super) fn html(&mut self, text: &str, span: Span) -> bool {
        let mut shown = false;
        for piece in html::pieces(text) {
            match piece {
                Piece::Comment => {}
                Piece::Break => self.inline(Inline::HardBreak),
                Piece::Open(script) => {
                    if self.inlines < DEEPEST_INLINE {
                        self.push(Frame::Script(script), span);
                    }
                }
                Piece::Close(script) if matches!(self.top().frame, Frame::Script(open) if open == script) => {
                    self.close();
                }
                Piece::Text(text) => self.lines(text),
                Piece::Close(Script::Sub) => self.stray("</sub>", &mut shown),
                Piece::Close(Script::Sup) => self.stray("</sup>", &mut shown),
                Piece::Tag(tag) => {
                    shown = true;
                    self.lines(tag);
                }
            }
        }
        shown
    }

    /// A paragraph of raw HTML that stands by itself. Says whether some of it is shown as text.
    pub(super) fn html_block(&mut self, text: &str, span: Span) -> bool {
        self.start(Frame::Paragraph, span);
        let shown = self.html(text.trim(), span);
        self.end();
        shown
    }

    pub(super) fn finish(mut self) -> Vec<Block> {
        while self.stack.len() > 1 {
            self.close();
        }
        let mut root = self.stack.pop().unwrap_or_else(|| unreachable!("the root is never closed"));
        root.wrap();
        root.blocks
    }

    fn stray(&mut self, tag: &str, shown: &mut bool) {
        *shown = true;
        self.inline(Inline::Text(tag.to_owned()));
    }

    fn lines(&mut self, text: &str) {
        for (i, line) in text.lines().enumerate() {
            if i > 0 {
                self.inline(Inline::SoftBreak);
            }
            if !line.is_empty() {
                self.inline(Inline::Text(line.to_owned()));
            }
        }
        if text.ends_with('\n') {
            self.inline(Inline::SoftBreak);
        }
    }

    fn top(&mut self) -> &mut Open {
        let last = self.stack.len() - 1;
        &mut self.stack[last]
    }

    fn push(&mut self, frame: Frame, span: Span) {
        self.blocks += usize::from(frame.is_container());
        self.inlines += usize::from(frame.is_inline());
        self.stack.push(Open::new(frame, span));
    }

    /// `<sub>` that is not closed ends with what holds it.
    fn end_scripts(&mut self) {
        while matches!(self.top().frame, Frame::Script(_)) {
            self.close();
        }
    }

    fn close(&mut self) {
        if self.stack.len() < 2 {
            return;
        }
        let Some(open) = self.stack.pop() else { return };
        self.blocks -= usize::from(open.frame.is_container());
        self.inlines -= usize::from(open.frame.is_inline());
        open.close_into(self.top());
    }
}

impl Frame {
    fn is_container(&self) -> bool {
        matches!(self, Frame::Quote | Frame::List(_) | Frame::Footnote(_))
    }

    fn is_inline(&self) -> bool {
        matches!(
            self,
            Frame::Emphasis
                | Frame::Strong
                | Frame::Struck
                | Frame::Script(_)
                | Frame::Link { .. }
                | Frame::Live(_)
                | Frame::Image { .. }
        )
    }
}

impl Open {
    fn new(frame: Frame, span: Span) -> Open {
        Open {
            frame,
            span,
            task: None,
            blocks: Vec::new(),
            inlines: Vec::new(),
            entries: Vec::new(),
            head: Vec::new(),
            rows: Vec::new(),
            cells: Vec::new(),
        }
    }

    fn add_block(&mut self, block: Block) {
        self.wrap();
        self.blocks.push(block);
    }

    fn add_inline(&mut self, inline: Inline) {
        match (self.inlines.last_mut(), inline) {
            (Some(Inline::Text(last)), Inline::Text(more)) => last.push_str(&more),
            (_, inline) => self.inlines.push(inline),
        }
    }

    /// Text that stands in a container without a paragraph, as in a tight list, gets one.
    fn wrap(&mut self) {
        let inlines = trimmed(std::mem::take(&mut self.inlines));
        if !inlines.is_empty() {
            self.blocks.push(Block { span: self.span, form: BlockForm::Paragraph(inlines) });
        }
    }

    fn close_into(mut self, parent: &mut Open) {
        let span = self.span;
        let holds_blocks =
            matches!(self.frame, Frame::Quote | Frame::Item | Frame::Footnote(_) | Frame::List(_));
        if holds_blocks {
            self.wrap();
        }
        let mut block = |form| parent.add_block(Block { span, form });
        match self.frame {
            Frame::Root | Frame::Bare => {}
            Frame::Quote => block(BlockForm::Quote(self.blocks)),
            Frame::List(start) => block(BlockForm::List { start, entries: self.entries }),
            Frame::Footnote(label) => block(BlockForm::Footnote { label, blocks: self.blocks }),
            Frame::Item => parent.entries.push(Entry { span, task: self.task, blocks: self.blocks }),
            Frame::Paragraph => {
                let text = trimmed(self.inlines);
                if !text.is_empty() {
                    block(BlockForm::Paragraph(text));
                }
            }
            Frame::Heading(level) => block(BlockForm::Heading { level, text: trimmed(self.inlines) }),
            Frame::Table(aligns) => {
                block(BlockForm::Table { aligns, head: self.head, rows: self.rows });
            }
            Frame::Head => parent.head = self.cells,
            Frame::Row => parent.rows.push(self.cells),
            Frame::Cell => parent.cells.push(trimmed(self.inlines)),
            Frame::Emphasis => parent.add_inline(Inline::Emphasis(self.inlines)),
            Frame::Strong => parent.add_inline(Inline::Strong(self.inlines)),
            Frame::Struck => parent.add_inline(Inline::Struck(self.inlines)),
            Frame::Script(Script::Sub) => parent.add_inline(Inline::Sub(self.inlines)),
            Frame::Script(Script::Sup) => parent.add_inline(Inline::Sup(self.inlines)),
            Frame::Link { address, title } => {
                parent.add_inline(Inline::Link { address, title, text: self.inlines, span });
            }
            Frame::Live(Some(live)) => parent.add_inline(Inline::Live { live, text: self.inlines, span }),
            Frame::Live(None) => self.inlines.into_iter().for_each(|inline| parent.add_inline(inline)),
            Frame::Image { address, title } => {
                let alt = super::prose::plain(&self.inlines);
                parent.add_inline(Inline::Image { address, title, alt, span });
            }
        }
    }
}

/// Without breaks at either end.
fn trimmed(mut inlines: Vec<Inline>) -> Vec<Inline> {
    let is_break = |inline: &Inline| matches!(inline, Inline::SoftBreak | Inline::HardBreak);
    while inlines.last().is_some_and(is_break) {
        inlines.pop();
    }
    let first = inlines.iter().position(|inline| !is_break(inline)).unwrap_or(0);
    inlines.drain(..first);
    inlines
}
