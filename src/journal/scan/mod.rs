//! Walks over a file's Markdown once and sorts it into front matter, fences, regions, live values and prose.

mod blocks;
mod links;
mod raw;

use std::borrow::Cow;
use std::ops::Range;

use pulldown_cmark::{Alignment, CodeBlockKind, Event, Options, Parser, Tag, TagEnd};

use crate::findings::{Code, Finding};
use crate::journal::fence::Fence;
use crate::journal::front::{Front, Position, front};
use crate::journal::lines::line_at;
use crate::journal::live::{self, LiveValue};
use crate::journal::marks::Region;
use crate::journal::offsets::Offsets;
use crate::journal::prose::{self, Align, BlockForm, Inline};
use crate::journal::tree::{Frame, Tree};
use crate::journal::{Journal, Part, PartForm};
use crate::source::{FileId, Source, Span};
use crate::words::Words;
use blocks::Body;

/// Reads one file. Never fails: what can't be read is a finding, and the rest is read all the same.
pub(crate) fn scan(file: FileId, position: Position, source: &Source) -> (Journal, Vec<Finding>) {
    let text: &str = &source.text;
    let front = front(file, position, text);
    let options = Options::ENABLE_TABLES
        | Options::ENABLE_FOOTNOTES
        | Options::ENABLE_STRIKETHROUGH
        | Options::ENABLE_TASKLISTS;
    let mut walk = Walk::new(file, text);
    for (event, range) in Parser::new_ext(&with_line_feeds(&text[front.end..]), options).into_offset_iter() {
        walk.event(event, range.start + front.end..range.end + front.end);
    }
    walk.finish(front)
}

/// The same text, byte for byte, with LF where a line ends in a lone CR, which the parser takes for a space.
fn with_line_feeds(text: &str) -> Cow<'_, str> {
    let lone = |at: usize| !text[at + 1..].starts_with('\n');
    if !text.match_indices('\r').any(|(at, _)| lone(at)) {
        return Cow::Borrowed(text);
    }
    let line_fed = |(at, c): (usize, char)| if c == '\r' && lone(at) { '\n' } else { c };
    Cow::Owned(text.char_indices().map(line_fed).collect())
}

struct Walk<'a> {
    file: FileId,
    text: &'a str,
    tree: Tree,
    fences: Vec<Fence>,
    bodies: Vec<Body>,
    regions: Vec<Region>,
    live: Vec<LiveValue>,
    findings: Vec<Finding>,
    damaged: bool,
    /// The last mark opened a region that the next mark, found already, does not close.
    half: bool,
    /// The end of the last region: what begins before it is not prose.
    region_end: usize,
    /// Starts within a region whose ends have not come.
    skipped: usize,
    code: Option<OpenCode>,
    html: Option<Range<usize>>,
    open_live: Option<live::Open>,
    /// The end of the last live value that is text.
    raw_live_end: usize,
    /// Raw HTML was noted in this paragraph already.
    noted: bool,
}

/// A code block whose end has not come.
struct OpenCode {
    /// The info string of a fence; `None` for indented code.
    info: Option<String>,
    text: String,
    offsets: Offsets,
    /// The end of its last piece.
    end: usize,
}

impl<'a> Walk<'a> {
    fn new(file: FileId, text: &'a str) -> Walk<'a> {
        Walk {
            file,
            text,
            tree: Tree::new(Span::new(file, 0, text.len())),
            fences: Vec::new(),
            bodies: Vec::new(),
            regions: Vec::new(),
            live: Vec::new(),
            findings: Vec::new(),
            damaged: false,
            half: false,
            region_end: 0,
            skipped: 0,
            code: None,
            html: None,
            open_live: None,
            raw_live_end: 0,
            noted: false,
        }
    }

    fn event(&mut self, event: Event<'_>, range: Range<usize>) {
        if self.in_region(&event, &range) {
            return;
        }
        match event {
            Event::Start(tag) => self.start(tag, range),
            Event::End(tag) => self.end(tag, range),
            Event::Text(text) => self.words(&text, range),
            Event::Code(text) => {
                self.inside_live(&text, &range);
                self.tree.inline(Inline::Code(text.into_string()));
            }
            Event::Html(_) => self.html_lines(range),
            Event::InlineHtml(text) => self.inline_html(&text, range),
            Event::FootnoteReference(label) => {
                self.inside_live("", &range);
                self.tree.inline(Inline::FootnoteReference(label.into_string()));
            }
            Event::SoftBreak => {
                self.inside_live(" ", &range);
                self.tree.inline(Inline::SoftBreak);
            }
            Event::HardBreak => {
                self.inside_live(" ", &range);
                self.tree.inline(Inline::HardBreak);
            }
            Event::Rule => self.tree.block(BlockForm::Rule, self.span(&range)),
            Event::TaskListMarker(done) => self.tree.task(done),
            Event::InlineMath(text) | Event::DisplayMath(text) => self.words(&text, range),
        }
    }

    /// Whether an event belongs to a results region, and so is not prose.
    fn in_region(&mut self, event: &Event<'_>, range: &Range<usize>) -> bool {
        match event {
            Event::End(_) => {
                let skipped = self.skipped > 0;
                self.skipped -= usize::from(skipped);
                skipped
            }
            Event::Start(_) => {
                let skipped = self.skipped > 0 || range.start < self.region_end;
                self.skipped += usize::from(skipped);
                skipped
            }
            _ => self.skipped > 0 || range.start < self.region_end,
        }
    }

    fn start(&mut self, tag: Tag<'_>, range: Range<usize>) {
        let span = self.span(&range);
        if !matches!(
            tag,
            Tag::Link { .. } | Tag::Image { .. } | Tag::Emphasis | Tag::Strong | Tag::Strikethrough
        ) {
            self.noted = false;
        }
        let frame = match tag {
            Tag::CodeBlock(kind) => {
                let info = match kind {
                    CodeBlockKind::Indented => None,
                    CodeBlockKind::Fenced(info) => Some(info.into_string()),
                };
                let offsets = Offsets::new(self.file, line_at(self.text, range.start).1);
                self.code = Some(OpenCode { info, text: String::new(), offsets, end: range.start });
                return;
            }
            Tag::HtmlBlock => {
                self.html = Some(range.start..range.start);
                return;
            }
            Tag::Paragraph => Frame::Paragraph,
            Tag::Heading { level, .. } => Frame::Heading(level as u8),
            Tag::BlockQuote(_) => Frame::Quote,
            Tag::List(start) => Frame::List(start),
            Tag::Item => Frame::Item,
            Tag::FootnoteDefinition(label) => Frame::Footnote(label.into_string()),
            Tag::Table(aligns) => Frame::Table(aligns.into_iter().map(align).collect()),
            Tag::TableHead => Frame::Head,
            Tag::TableRow => Frame::Row,
            Tag::TableCell => Frame::Cell,
            Tag::Emphasis => Frame::Emphasis,
            Tag::Strong => Frame::Strong,
            Tag::Strikethrough => Frame::Struck,
            Tag::Link { link_type, dest_url, title, .. } => self.link(link_type, &dest_url, &title, range),
            Tag::Image { dest_url, title, .. } => self.image(&dest_url, &title, &range),
            _ => Frame::Bare,
        };
        self.tree.start(frame, span);
    }

    fn end(&mut self, tag: TagEnd, range: Range<usize>) {
        match tag {
            TagEnd::CodeBlock => {
                if let Some(code) = self.code.take() {
                    self.end_code(code, range);
                }
            }
            TagEnd::HtmlBlock => {
                if let Some(range) = self.html.take() {
                    let span = self.span(&range);
                    if self.tree.html_block(&self.text[range], span) {
                        self.note_html(span);
                    }
                }
            }
            TagEnd::Link if self.open_live.as_ref().is_some_and(|open| open.is(&range)) => {
                let live = self.open_live.take().and_then(|open| open.close(self.file, self.text));
                let number = live.is_some().then_some(self.live.len());
                self.live.extend(live);
                self.tree.end_live(number);
            }
            _ => {
                self.inside_live("", &range);
                self.tree.end();
            }
        }
    }

    fn words(&mut self, text: &str, range: Range<usize>) {
        match &mut self.code {
            Some(code) => {
                code.end = code.end.max(range.end);
                code.offsets.add(code.text.len(), range);
                code.text.push_str(text);
            }
            None => {
                self.inside_live(text, &range);
                self.raw_live(&range);
                self.tree.inline(Inline::Text(text.to_owned()));
            }
        }
    }

    fn inside_live(&mut self, text: &str, range: &Range<usize>) {
        if let Some(open) = &mut self.open_live {
            open.inside(text, range);
        }
    }

    fn find(
        &mut self,
        code: &'static Code,
        range: &Range<usize>,
        message: impl Into<Words>,
        help: impl Into<Words>,
    ) {
        let span = self.span(range);
        self.findings.push(Finding::new(code, span, message, help));
    }

    fn span(&self, range: &Range<usize>) -> Span {
        Span::new(self.file, range.start, range.end)
    }

    fn finish(mut self, front: Front) -> (Journal, Vec<Finding>) {
        self.read_bodies();
        self.orphans();
        let mut parts = Vec::new();
        let fences = self
            .fences
            .iter()
            .enumerate()
            .map(|(i, fence)| (fence.span.start as usize..fence.after as usize, PartForm::Fence(i)));
        let regions =
            self.regions.iter().enumerate().map(|(i, region)| (region.span.range(), PartForm::Region(i)));
        let mut known: Vec<(Range<usize>, PartForm)> = fences.chain(regions).collect();
        if front.there {
            known.push((0..front.end, PartForm::FrontMatter));
        }
        known.sort_by_key(|(range, _)| range.start);
        let mut at = 0;
        for (range, form) in known {
            if range.start > at {
                parts.push(Part { span: self.span(&(at..range.start)), form: PartForm::Prose });
            }
            parts.push(Part { span: self.span(&range), form });
            at = range.end;
        }
        if at < self.text.len() {
            parts.push(Part { span: self.span(&(at..self.text.len())), form: PartForm::Prose });
        }
        let prose = self.tree.finish();
        let journal = Journal {
            file: self.file,
            parts,
            front_matter: front.node,
            fences: self.fences,
            regions: self.regions,
            live: self.live,
            tasks: prose::tasks(&prose),
            prose,
            damaged: self.damaged,
        };
        let mut findings = front.findings;
        findings.extend(self.findings);
        findings.sort_by_key(|finding| finding.span);
        (journal, findings)
    }
}

fn align(alignment: Alignment) -> Align {
    match alignment {
        Alignment::None => Align::None,
        Alignment::Left => Align::Left,
        Alignment::Center => Align::Centre,
        Alignment::Right => Align::Right,
    }
}
