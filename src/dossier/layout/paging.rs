//! Strips to pages: what belongs together stays together, heads are said again, notes stand beside their line.

use std::collections::{BTreeMap, VecDeque};
use std::mem::take;
use std::rc::Rc;

use super::beside::NOTE_GAP;
use super::frame::Frame;
use super::lines::Line;
use super::mark::{Area, Dash, Link, Mark};
use super::palette::{Colour, RULE};
use super::slab::{Band, BandKind, PageReference, Slab};
use super::structure::Tag;
use super::voice::LOG;

/// The most space below a heading that what follows may ask for.
const CLOSE: f64 = 9.0;

#[derive(Clone, Debug, Default)]
pub(crate) struct Page {
    pub(crate) marks: Vec<Mark>,
    pub(crate) tags: Vec<Tag>,
    pub(crate) links: Vec<Link>,
}

impl Page {
    /// What is put from here on belongs to the element, or to none.
    pub(crate) fn tag(&mut self, element: Option<usize>) {
        self.tags.push((self.marks.len(), element));
    }
}

/// A place to land on; pages count from 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spot {
    pub(crate) page: usize,
    pub(crate) y: f64,
}

/// An entry of the reader's outline.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct OutlineEntry {
    pub(crate) level: u8,
    pub(crate) title: String,
    pub(crate) spot: Spot,
}

/// Takes the pages as they are finished, so that not all of them are held at once.
pub(crate) trait Sheets {
    /// The next page, without what stands on every page.
    fn page(&mut self, page: Page);

    /// What stands on a page besides, once all pages are known: head, foot, and the numbers in the contents.
    fn furniture(&mut self, place: usize, page: Page);
}

/// What paging gives besides the pages.
#[derive(Debug, Default)]
pub(crate) struct Paged {
    /// How many pages there are.
    pub(crate) count: usize,
    pub(crate) anchors: BTreeMap<String, Spot>,
    pub(crate) outline: Vec<OutlineEntry>,
    /// References with the page that they stand on, their places on it.
    pub(crate) references: Vec<(usize, PageReference)>,
    /// For each page the block that its first strip belongs to.
    pub(crate) blocks: Vec<Option<Rc<str>>>,
}

/// Puts strips on pages, as many at a time as are ready.
pub(crate) struct Press<'s, S> {
    frame: Frame,
    sheets: &'s mut S,
    paged: Paged,
    page: Page,
    pen: Pen,
    /// Nothing but a repeated head is on the page.
    fresh: bool,
    /// Bands of the strip above.
    bands: Vec<Band>,
    /// Where wide strips interrupt the log column.
    gaps: Vec<(f64, f64)>,
    /// Pictures that had no room on the page, for the top of the next.
    waiting: Vec<Slab>,
    /// Lines of a note that is longer than the page.
    carried: Vec<(Line, Option<usize>)>,
}

/// Where the next strip goes.
#[derive(Clone, Copy)]
struct Pen {
    y: f64,
    /// The space that the strip above wishes for.
    after: f64,
    /// The strip above is a heading.
    close: bool,
    /// Where the log column is free.
    floor: f64,
}

impl Pen {
    /// Steps over a strip: its top.
    fn step(&mut self, slab: &Slab, top_of_page: bool) -> f64 {
        let mut top = self.y;
        if !top_of_page {
            top += match self.close {
                true => self.after.max(slab.before.min(CLOSE)),
                false => slab.before.max(self.after),
            };
        }
        let note = note_top(slab);
        if slab.wide {
            top = top.max(self.floor);
        } else if !slab.note.is_empty() {
            top = top.max(self.floor - note);
        }
        self.y = top + slab.height;
        self.after = slab.after;
        self.close = slab.heads;
        if slab.wide {
            self.floor = self.y;
        } else if !slab.note.is_empty() {
            self.floor = top + note + slab.note.len() as f64 * LOG.leading + NOTE_GAP;
        }
        top
    }
}

/// Where a note begins below the top of its strip: its first baseline is that of one of the strip's lines.
fn note_top(slab: &Slab) -> f64 {
    slab.baseline - LOG.baseline() + slab.note_drop
}

impl<'s, S: Sheets> Press<'s, S> {
    pub(crate) fn new(frame: Frame, sheets: &'s mut S) -> Press<'s, S> {
        Press {
            frame,
            sheets,
            paged: Paged { count: 1, ..Paged::default() },
            page: Page::default(),
            pen: Pen { y: frame.top, after: 0.0, close: false, floor: frame.top },
            fresh: true,
            bands: Vec::new(),
            gaps: Vec::new(),
            waiting: Vec::new(),
            carried: Vec::new(),
        }
    }

    /// Places the strips that no later one can change any more; the last one, which a caption may yet keep, and the
    /// group that it belongs to are left.
    pub(crate) fn take(&mut self, slabs: &mut Vec<Slab>) {
        let settled = &slabs[..slabs.len().saturating_sub(1)];
        let ready = settled.iter().rposition(|slab| !slab.keep).map_or(0, |last| last + 1);
        self.place_all(slabs.drain(..ready).collect());
    }

    /// Places what is left.
    pub(crate) fn finish(mut self, slabs: Vec<Slab>) -> Paged {
        self.place_all(slabs.into());
        if !self.waiting.is_empty() {
            self.turn(None);
        }
        while !self.carried.is_empty() {
            self.turn(None);
        }
        self.rule_log();
        self.sheets.page(self.page);
        self.paged
    }

    fn place_all(&mut self, mut rest: VecDeque<Slab>) {
        while !rest.is_empty() {
            let group = 1 + rest.iter().take_while(|slab| slab.keep).count().min(rest.len() - 1);
            if rest.iter().take(group).any(|slab| self.parts(slab)) {
                self.turn(None);
            }
            let mut fits = self.fits(rest.iter().take(group));
            if fits < group && rest.front().is_some_and(|slab| slab.floats) && !self.top_of_page() {
                self.waiting.extend(rest.drain(..group));
                continue;
            }
            while fits < group && !self.fresh {
                self.turn(rest.front());
                fits = self.fits(rest.iter().take(group));
            }
            // A group taller than a page breaks where the page ends; a strip taller than a page stands on its own.
            for slab in rest.drain(..fits.max(1)) {
                self.place(slab);
            }
        }
    }

    /// How many of these strips fit on the page, one after the other.
    fn fits<'a>(&self, slabs: impl Iterator<Item = &'a Slab>) -> usize {
        let mut pen = self.pen;
        let mut top_of_page = self.top_of_page();
        let mut count = 0;
        for slab in slabs {
            let top = pen.step(slab, top_of_page);
            top_of_page = false;
            let note = slab.note.len() as f64 * LOG.leading;
            // A very long note may run on to the next page.
            let note = if note > self.frame.depth() * 0.5 { 0.0 } else { note };
            let bottom = pen.y.max(top + note_top(slab) + note);
            if bottom > self.frame.bottom + 0.01 {
                break;
            }
            count += 1;
        }
        count
    }

    /// Whether a strip begins what a waiting picture does not belong to.
    fn parts(&self, slab: &Slab) -> bool {
        let Some(waiting) = self.waiting.first() else { return false };
        slab.heads || (slab.block.is_some() && slab.block != waiting.block)
    }

    fn top_of_page(&self) -> bool {
        self.pen.y <= self.frame.top + 0.01
    }

    /// Begins a page, with the head of the table that goes on.
    fn turn(&mut self, next: Option<&Slab>) {
        self.rule_log();
        self.sheets.page(take(&mut self.page));
        self.paged.count += 1;
        self.pen = Pen { y: self.frame.top, after: 0.0, close: false, floor: self.frame.top };
        self.bands.clear();
        let carried = take(&mut self.carried);
        self.write_note(carried, self.frame.top);
        self.fresh = true;
        for slab in take(&mut self.waiting) {
            self.place(slab);
        }
        let fresh = self.fresh;
        if let Some(head) = next.and_then(|slab| slab.head.clone())
            && head.iter().map(|slab| slab.height).sum::<f64>() < self.frame.depth() * 0.4
        {
            for slab in head.iter() {
                // Said again: not a second head of the table.
                self.place(Slab { tags: Vec::new(), ..slab.clone() });
            }
        }
        self.fresh = fresh;
    }

    fn place(&mut self, mut slab: Slab) {
        let above = self.pen.y;
        if self.fresh {
            // Nothing reaches down beside it from above.
            slab.note_drop = 0.0;
            if slab.note.is_empty() {
                slab.note = take(&mut slab.note_again);
            }
        }
        let top = self.pen.step(&slab, self.top_of_page());
        let note = note_top(&slab);
        if self.paged.blocks.len() < self.paged.count {
            self.paged.blocks.resize(self.paged.count, slab.block.clone());
        }
        self.fresh = false;
        let (x, bottom) = (self.frame.left, self.pen.y);
        let bands = take(&mut slab.bands);
        for band in &bands {
            let begun = self.bands.iter().any(|other| other.id == band.id);
            let area = Area {
                left: x + band.left,
                top: if begun { above } else { top },
                right: x + band.right,
                bottom,
            };
            self.draw(*band, area);
        }
        self.bands = bands;
        let place = self.paged.count - 1;
        let spot = Spot { page: place, y: top };
        for anchor in slab.anchors {
            self.paged.anchors.entry(anchor).or_insert(spot);
        }
        if let Some((level, title)) = slab.outline {
            self.paged.outline.push(OutlineEntry { level, title, spot });
        }
        for reference in slab.references {
            let moved = PageReference {
                left: reference.left + x,
                right: reference.right + x,
                baseline: reference.baseline + top,
                ..reference
            };
            self.paged.references.push((place, moved));
        }
        let page = &mut self.page;
        if slab.tags.first().is_none_or(|tag| tag.0 > 0) {
            page.tag(None);
        }
        let marks = page.marks.len();
        page.tags.extend(slab.tags.iter().map(|(from, element)| (marks + from, *element)));
        for mut mark in slab.marks {
            mark.shift(x, top);
            page.marks.push(mark);
        }
        for link in slab.links {
            page.links.push(Link { area: link.area.shifted(x, top), target: link.target });
        }
        if slab.wide {
            self.gaps.push((top, bottom));
        }
        if !slab.note.is_empty() {
            let (element, from) = (slab.note_element, top + note);
            self.write_note(slab.note.into_iter().map(|line| (line, element)).collect(), from);
        }
    }

    /// Writes lines into the log column from a height on; those below the page's foot are carried over.
    fn write_note(&mut self, lines: Vec<(Line, Option<usize>)>, from: f64) {
        let mut y = from;
        let page = &mut self.page;
        for (mut line, element) in lines {
            if y + LOG.leading > self.frame.bottom + 0.01 && y > self.frame.top {
                self.carried.push((line, element));
                continue;
            }
            page.tag(element);
            line.shift(self.frame.log, y + LOG.baseline());
            page.marks.append(&mut line.marks);
            page.links.append(&mut line.links);
            y += LOG.leading;
        }
        if y > from {
            self.pen.floor = self.pen.floor.max(y + NOTE_GAP);
        }
    }

    fn draw(&mut self, band: Band, area: Area) {
        self.page.tag(None);
        let marks = &mut self.page.marks;
        let upright = |x: f64, weight: f64, colour: Colour| Mark::Line {
            points: vec![(x, area.top), (x, area.bottom)],
            weight,
            colour,
            dash: Dash::Solid,
        };
        match band.kind {
            BandKind::Bar(colour) => marks.push(upright(area.left + 3.0, 1.25, colour)),
            BandKind::Ground(colour) => marks.push(Mark::filled(area, colour)),
            BandKind::Sides(colour) => {
                marks.push(upright(area.left, 0.8, colour));
                marks.push(upright(area.right, 0.8, colour));
            }
        }
    }

    /// The double line before the log column, where no table runs across it.
    fn rule_log(&mut self) {
        let mut from = self.frame.top - 8.0;
        let end = self.frame.bottom + 6.0;
        let mut stretches = Vec::new();
        for (top, bottom) in take(&mut self.gaps) {
            if top - 3.0 > from {
                stretches.push((from, top - 3.0));
            }
            from = bottom + 3.0;
        }
        stretches.push((from, end));
        let page = &mut self.page;
        page.tag(None);
        let drawn = |(top, bottom): &(f64, f64)| self.frame.has_log() && bottom - top > 14.0;
        for (top, bottom) in stretches.into_iter().filter(drawn) {
            for x in [self.frame.log - 8.0, self.frame.log - 6.4] {
                page.marks.push(Mark::hairline((x, top), (x, bottom), RULE));
            }
        }
    }
}
