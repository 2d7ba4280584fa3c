//! A document becomes pages of positioned things; knows the fonts' metrics and nothing of PDF.

mod arranged;
mod beside;
mod boxes;
mod cells;
mod columns;
mod contents;
#[cfg(test)]
pub(crate) mod everything;
mod flow;
pub(crate) mod fonts;
mod frame;
mod furniture;
pub(crate) mod image;
mod inline;
mod lines;
pub(crate) mod mark;
mod paging;
pub(crate) mod palette;
mod pictures;
mod prose;
#[cfg(test)]
pub(crate) mod sample;
mod setting;
mod slab;
pub(crate) mod structure;
mod symbols;
mod table;
#[cfg(test)]
mod tests;
mod voice;

use std::collections::BTreeMap;

use super::piece::{Document, Paper};
use flow::Flow;
use frame::Frame;
use furniture::{Running, furniture};
use image::Image;
use paging::Press;
pub(crate) use paging::{OutlineEntry, Page, Sheets, Spot};
use structure::Element;

/// A document laid out, but for its pages. Everything on a page lies within its width and height.
#[derive(Debug)]
pub(crate) struct Layout {
    /// How many pages there are.
    pub(crate) pages: usize,
    /// Headings down to level 3, in order.
    pub(crate) outline: Vec<OutlineEntry>,
    /// Where every id of the document stands.
    pub(crate) anchors: BTreeMap<String, Spot>,
    pub(crate) images: Vec<Image>,
    /// What the marks mean, in the order of reading.
    pub(crate) elements: Vec<Element>,
    /// Characters that no face has, sorted, each once; a box stands for each.
    pub(crate) missing_glyphs: Vec<char>,
}

/// Width and height of every page.
pub(crate) fn size(document: &Document) -> (f64, f64) {
    let frame = Frame::of(document);
    (frame.width, frame.height)
}

/// The width and height that a picture can have on paper, in points.
pub(crate) fn picture_room(paper: Paper) -> (f64, f64) {
    let frame = Frame::new(paper);
    (frame.main, frame.picture_depth())
}

/// Lays the document out; the pages go to `sheets` one by one.
pub(crate) fn layout(document: &Document, sheets: &mut impl Sheets) -> Layout {
    let frame = Frame::of(document);
    let mut flow = Flow::new(frame);
    let mut press = Press::new(frame, sheets);
    flow.read(&document.items, &mut |slabs| press.take(slabs));
    let Flow { mut setter, slabs, images, elements, .. } = flow;
    let mut paged = press.finish(slabs);
    let running = Running { title: &document.title, running: &document.running };
    furniture(&mut setter, frame, &running, (&mut paged, sheets));
    Layout {
        pages: paged.count,
        outline: paged.outline,
        anchors: paged.anchors,
        images,
        elements,
        missing_glyphs: setter.missing(),
    }
}
