//! Reads the pieces in order and makes strips of them, however deep they are nested.

use std::mem::take;
use std::rc::Rc;
use std::slice::Iter;

use super::super::piece::{Entry, Item, Piece, Rich, Style};
use super::frame::Frame;
use super::image::Image;
use super::inline::{Inline, Symbol};
use super::lines::{Line, Measured};
use super::palette::ACCENT;
use super::setting::Setter;
use super::slab::{Band, BandKind, Slab};
use super::structure::{Element, Role};
use super::voice::{BODY, LARGE, LOG, SMALL, Voice};

/// How far a nested column stands in.
const INDENT: f64 = 15.0;

/// How narrow nesting may make a column.
const NARROWEST: f64 = 150.0;

/// How many bars and boxes may stand inside each other; deeper ones are not drawn.
const DEEPEST: usize = 8;

/// From how many strips on they are offered to be placed.
const OFFERED: usize = 100;

/// Where text stands: from the left edge of the main column.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    pub(crate) left: f64,
    pub(crate) width: f64,
    pub(crate) bands: Vec<Band>,
    /// Inside a list, whose entries stand closer.
    pub(crate) tight: bool,
    /// The element that what stands here belongs under.
    pub(crate) parent: Option<usize>,
}

pub(crate) struct Flow {
    pub(crate) frame: Frame,
    pub(crate) setter: Setter,
    pub(crate) slabs: Vec<Slab>,
    pub(crate) images: Vec<Image>,
    pub(crate) elements: Vec<Element>,
    /// The element of the strips that follow.
    pub(crate) current: Option<usize>,
    bands: u32,
    /// What the next strip carries: anchors and notes of its item, the marker of its list entry.
    anchors: Vec<String>,
    note: Vec<Line>,
    note_parent: Option<usize>,
    marker: Option<Marker>,
    /// The block that is being told.
    block: Option<Rc<str>>,
}

/// What stands before the first line of a list's entry.
struct Marker {
    line: Line,
    x: f64,
    element: usize,
}

/// What is left to read at one depth.
enum Rest<'a> {
    Items(Iter<'a, Item>, Column),
    Entries(Iter<'a, Entry>, Option<u64>, Column),
}

impl Flow {
    pub(crate) fn new(frame: Frame) -> Flow {
        Flow {
            frame,
            setter: Setter::default(),
            slabs: Vec::new(),
            images: Vec::new(),
            elements: Vec::new(),
            current: None,
            bands: 0,
            anchors: Vec::new(),
            note: Vec::new(),
            note_parent: None,
            marker: None,
            block: None,
        }
    }

    /// Reads all items; what is ready by then is offered now and again.
    pub(crate) fn read(&mut self, items: &[Item], offer: &mut dyn FnMut(&mut Vec<Slab>)) {
        let column =
            Column { left: 0.0, width: self.frame.main, bands: Vec::new(), tight: false, parent: None };
        // A stack of our own: nesting has no limit that the program's stack would set.
        let mut stack = vec![Rest::Items(items.iter(), column)];
        while let Some(mut rest) = stack.pop() {
            if self.slabs.len() >= OFFERED {
                offer(&mut self.slabs);
            }
            match &mut rest {
                Rest::Items(items, column) => {
                    let Some(item) = items.next() else { continue };
                    let inner = self.item(item, column);
                    stack.push(rest);
                    stack.extend(inner);
                }
                Rest::Entries(entries, number, column) => {
                    let Some(entry) = entries.next() else { continue };
                    let inner = self.entry(entry, *number, column);
                    *number = number.map(|number| number.saturating_add(1));
                    stack.push(rest);
                    stack.push(inner);
                }
            }
        }
        // Whatever the last items wished for still has its place.
        self.current = None;
        if !(self.anchors.is_empty() && self.note.is_empty() && self.marker.is_none()) {
            self.push(Slab { height: BODY.leading, baseline: BODY.baseline(), ..Slab::default() });
        }
    }

    fn item<'a>(&mut self, item: &'a Item, column: &Column) -> Option<Rest<'a>> {
        if let Some(id) = &item.id {
            self.anchors.push(id.clone());
        }
        self.current = None;
        let note = self.note(&item.log);
        self.note.extend(note);
        self.note_parent = column.parent;
        self.block = match &item.piece {
            Piece::Opening { name, .. } => Some(name.as_str().into()),
            // Prose goes on.
            Piece::Heading { .. } | Piece::List { .. } | Piece::Paragraph { style: Style::Body, .. } => None,
            _ => self.block.take(),
        };
        match &item.piece {
            Piece::Heading { level, text, .. } => self.heading(*level, text, column),
            Piece::Paragraph { style, text } => self.paragraph(*style, text, column),
            Piece::List { start, entries } => {
                let column = column.inset(INDENT, column.bands.clone());
                let parent = Some(self.element(Role::List, column.parent));
                return Some(Rest::Entries(entries.iter(), *start, Column { tight: true, parent, ..column }));
            }
            Piece::Quote { items } => {
                let band = self.band(column, BandKind::Bar(ACCENT));
                let mut bands = column.bands.clone();
                bands.extend(band);
                let parent = Some(self.element(Role::Quote, column.parent));
                return Some(Rest::Items(items.iter(), Column { parent, ..column.inset(INDENT, bands) }));
            }
            Piece::Code { text } => self.code(text, column),
            Piece::Rule => self.rule(column),
            Piece::Table(table) => self.table(table, column),
            Piece::Picture(picture) => self.picture(picture, column),
            Piece::NoPicture { text } => self.broken(text, column),
            Piece::Figure { drawing, caption } => self.figure(drawing, caption, column),
            Piece::Caution { high_voltage, title, lines } => {
                self.caution(*high_voltage, (title, lines), column);
            }
            Piece::Opening { kind, name, words, sentence } => {
                self.opening((kind, name, words), sentence, column);
            }
            Piece::Headline { figures } => self.headline(figures, column),
            Piece::Values(table) => self.values(table, column),
            Piece::Taken(table) => self.taken(table, column),
            Piece::Results { table, workings, lines, .. } => {
                self.results(table, (workings, lines), column);
            }
            Piece::Requirements { table, reasons } => self.requirements(table, reasons, column),
            Piece::CautionNote { high_voltage, text } => self.caution_note(*high_voltage, text, column),
            Piece::Contents { entries } => self.contents(entries, column),
            Piece::Signatures { boxes } => self.signatures(boxes, column),
        }
        None
    }

    fn entry<'a>(&mut self, entry: &'a Entry, number: Option<u64>, column: &Column) -> Rest<'a> {
        let mut inline = Inline::default();
        // A mark is as large as what it stands before.
        let voice = match entry.items.first().map(|item| &item.piece) {
            Some(Piece::Paragraph { style: Style::Large, .. }) => LARGE,
            Some(Piece::Paragraph { style: Style::Small, .. }) => SMALL,
            _ => BODY,
        };
        match (entry.task, number) {
            (Some(true), _) => inline.symbol(Symbol::Ticked, voice),
            (Some(false), _) => inline.symbol(Symbol::Unticked, voice),
            (None, Some(number)) => inline = Inline::plain(&format!("{number}."), voice),
            (None, None) => inline = Inline::plain("–", voice),
        }
        let marker =
            Measured::new(&mut self.setter, inline, voice).lines(&mut self.setter, f64::MAX).remove(0);
        let x = if number.is_some() && entry.task.is_none() {
            column.left - 4.0 - marker.width
        } else {
            column.left - INDENT + 2.0
        };
        let element = self.element(Role::Entry, column.parent);
        // An entry that holds nothing, or only another list, has its marker all the same.
        if self.marker.is_some() {
            self.push(Slab { height: BODY.leading, baseline: BODY.baseline(), ..Slab::default() });
        }
        let label = self.element(Role::Label, Some(element));
        self.marker = Some(Marker { line: marker, x: x.max(-30.0), element: label });
        self.current = None;
        if entry.items.is_empty() {
            self.push(Slab { height: BODY.leading, baseline: BODY.baseline(), ..Slab::default() });
        }
        let parent = Some(self.element(Role::EntryBody, Some(element)));
        Rest::Items(entry.items.iter(), Column { parent, ..column.clone() })
    }

    /// A band for a piece in this column; none when too many are open.
    pub(crate) fn band(&mut self, column: &Column, kind: BandKind) -> Option<Band> {
        self.bands += 1;
        let band = Band { id: self.bands, left: column.left, right: column.left + column.width, kind };
        (column.bands.len() < DEEPEST).then_some(band)
    }

    /// Lines for the log column.
    pub(crate) fn note(&mut self, log: &[Rich]) -> Vec<Line> {
        let width = self.frame.log_width;
        let mut lines = Vec::new();
        for rich in log.iter().filter(|rich| !rich.is_empty()) {
            lines.extend(self.lines(Inline::rich(rich, LOG), LOG, width));
        }
        lines
    }

    /// Nothing of the log waits for the next strip.
    pub(crate) fn note_is_empty(&self) -> bool {
        self.note.is_empty()
    }

    pub(crate) fn lines(&mut self, inline: Inline, voice: Voice, width: f64) -> Vec<Line> {
        Measured::new(&mut self.setter, inline, voice).lines(&mut self.setter, width)
    }

    /// Adds a strip, with what was waiting for one.
    pub(crate) fn push(&mut self, mut slab: Slab) {
        if slab.tags.is_empty() && self.current.is_some() {
            slab.tags.push((0, self.current));
        }
        if let Some(Marker { line, x, element }) = self.marker.take() {
            slab.tag(Some(element));
            slab.put(line, x, slab.baseline);
        }
        let mut anchors = take(&mut self.anchors);
        anchors.append(&mut slab.anchors);
        slab.anchors = anchors;
        let mut note = take(&mut self.note);
        note.append(&mut slab.note);
        slab.note = note;
        if !slab.note.is_empty() && slab.note_element.is_none() {
            // After the words that it stands beside.
            slab.note_element = Some(self.element(Role::Note, self.note_parent));
        }
        slab.block.clone_from(&self.block);
        self.slabs.push(slab);
    }

    /// The name of the block that is being told.
    pub(crate) fn block(&self) -> Option<Rc<str>> {
        self.block.clone().filter(|name| !name.is_empty())
    }

    pub(crate) fn element(&mut self, role: Role, parent: Option<usize>) -> usize {
        self.elements.push(Element { role, parent, alt: None });
        self.elements.len() - 1
    }

    /// What is added from here on is an element of its own.
    pub(crate) fn begin(&mut self, role: Role, column: &Column) {
        self.current = Some(self.element(role, column.parent));
    }

    /// A picture with what it shows.
    pub(crate) fn begin_figure(&mut self, alt: &str, column: &Column) {
        self.begin(Role::Figure, column);
        if let Some(element) = self.elements.last_mut() {
            element.alt = Some(alt.to_owned());
        }
    }

    /// Adds lines of text, kept so that none stands alone at the foot or the head of a page.
    pub(crate) fn text(&mut self, lines: Vec<Line>, voice: Voice, column: &Column) {
        let count = lines.len();
        for (index, line) in lines.into_iter().enumerate() {
            let slab = Slab::line(line, column.left, voice.baseline());
            let keep = count > 1 && (index == 0 || index + 2 == count);
            self.push(Slab { height: voice.leading, keep, bands: column.bands.clone(), ..slab });
        }
    }

    /// Space above and below what was added since `first`.
    pub(crate) fn space(&mut self, first: usize, before: f64, after: f64) {
        if let Some(slab) = self.slabs.get_mut(first) {
            slab.before = before;
        }
        if let Some(slab) = self.slabs[first..].last_mut() {
            slab.after = after;
        }
    }
}

impl Column {
    pub(crate) fn inset(&self, by: f64, bands: Vec<Band>) -> Column {
        let by = by.min((self.width - NARROWEST).max(0.0));
        Column { left: self.left + by, width: self.width - by, bands, tight: self.tight, parent: self.parent }
    }
}

/// Room inside a box: above the first strip and below the last.
pub(crate) fn pad(slabs: &mut [Slab], by: f64) {
    if let Some(first) = slabs.first_mut() {
        pad_top(first, by);
    }
    if let Some(last) = slabs.last_mut() {
        last.height += by;
    }
}

pub(crate) fn pad_top(slab: &mut Slab, by: f64) {
    slab.height += by;
    slab.baseline += by;
    for mark in &mut slab.marks {
        mark.shift(0.0, by);
    }
    for link in &mut slab.links {
        link.area = link.area.shifted(0.0, by);
    }
}
