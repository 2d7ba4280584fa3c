//! Pages to the bytes of a PDF file; the same pages give the same bytes.

mod finish;
mod glyphs;
mod image;
mod page;
mod save;
mod streams;
mod structure;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::mem::take;
use std::panic::resume_unwind;

use lopdf::Result;
use printpdf::{OffsetDateTime, PdfDocument, PdfDocumentInfo, PdfFont, XObject};

use super::layout::mark::Link;
use super::layout::structure::{Element, Role};
use super::layout::{Layout, Page, Sheets, layout, size};
use super::piece::{Document, Target};
use finish::{Annotation, Places, describe};
use glyphs::Glyphs;
use page::{Drawn, Of, element_at, picture_id};
use save::Written;
use streams::{Streams, options, page};
use structure::{Kind, Tree};

/// A printed document.
#[derive(Debug)]
pub(crate) struct Printed {
    pub(crate) bytes: Vec<u8>,
    /// Characters that no embedded face has, sorted, each once; a box stands for each on paper.
    pub(crate) missing_glyphs: Vec<char>,
    pub(crate) pages: usize,
    /// On which page every id stands, from 1.
    pub(crate) places: BTreeMap<String, usize>,
}

/// Prints a document. Never fails: what can't be drawn is replaced and, if it is a character, reported.
pub(crate) fn pdf(document: &Document) -> Printed {
    std::thread::scope(|threads| {
        let (streams, glyphs) = (Streams::new(threads), Glyphs::default());
        let mut press = Press { streams, glyphs, size: size(document), sheets: Vec::new() };
        let mut layout = layout(document, &mut press);
        let elements = take(&mut layout.elements);
        // The library fails only where a file can't be written to, and this one is in memory.
        let bytes = press.finish(document, &layout, elements).expect("a PDF is written to memory");
        let places = layout.anchors.into_iter().map(|(id, spot)| (id, spot.page + 1)).collect();
        Printed { bytes, missing_glyphs: layout.missing_glyphs, pages: layout.pages, places }
    })
}

/// Draws each page as soon as it is there.
struct Press<'scope, 'env> {
    streams: Streams<'scope, 'env>,
    glyphs: Glyphs,
    size: (f64, f64),
    sheets: Vec<Sheet>,
}

/// What is drawn on a page once all pages are known, and what is known of the rest.
#[derive(Default)]
struct Sheet {
    drawn: Drawn,
    /// Each with the element that its text is of.
    links: Vec<(Link, Option<usize>)>,
}

impl Sheets for Press<'_, '_> {
    fn page(&mut self, page: Page) {
        let mut sheet = Sheet::default();
        sheet.draw(&page, self.size.1, &mut self.glyphs);
        self.streams.add(take(&mut sheet.drawn.ops));
        self.sheets.push(sheet);
    }

    fn furniture(&mut self, place: usize, page: Page) {
        if let Some(sheet) = self.sheets.get_mut(place) {
            sheet.draw(&page, self.size.1, &mut self.glyphs);
        }
    }
}

impl Sheet {
    fn draw(&mut self, page: &Page, height: f64, glyphs: &mut Glyphs) {
        self.drawn.draw((page, self.links.len()), height, glyphs);
        self.links.extend(page.links.iter().map(|link| (link.clone(), element_at(page, link.area))));
    }
}

impl Press<'_, '_> {
    fn finish(self, document: &Document, layout: &Layout, mut elements: Vec<Element>) -> Result<Vec<u8>> {
        let Press { streams, glyphs, size, sheets } = self;
        let mut pdf = PdfDocument::new(&document.title);
        pdf.metadata.info = info(document);
        for (place, picture) in layout.images.iter().enumerate() {
            if let Some(drawn) = image::image(picture) {
                pdf.resources.xobjects.map.insert(picture_id(place), XObject::External(drawn));
            }
        }
        let (mut marked, mut links) = (Vec::new(), Vec::new());
        for (place, sheet) in (0..).zip(sheets) {
            pdf.pages.push(page(sheet.drawn.ops, size));
            // A link that leads nowhere is none: its text is that of the element around it.
            let mut of_links = Vec::with_capacity(sheet.links.len());
            for (link, parent) in sheet.links {
                let leads = |id| layout.anchors.contains_key(id);
                if matches!(&link.target, Target::Inner { id } if !leads(id)) {
                    of_links.push(parent);
                    continue;
                }
                of_links.push(Some(elements.len()));
                links.push(Annotation { page: place, link, element: elements.len() as u32 });
                elements.push(Element { role: Role::Link, parent, alt: None });
            }
            let element = |of: Of| match of {
                Of::Element(element) => Some(element),
                Of::Link(number) => of_links[number],
            };
            let elements = sheet.drawn.marked.into_iter().map(element);
            marked.push(elements.map(|element| element.map_or(u32::MAX, |at| at as u32)).collect());
        }
        pdf.resources.fonts.map.extend(glyphs.embed().map(|(id, font)| (id, PdfFont::new(font))));
        pdf.pages.push(page(glyphs.specimen(), size));
        let mut file = pdf.to_lopdf_document(&options(), &mut Vec::new());
        drop(pdf);

        let pages = finish::pages(&mut file, streams.finish()?)?;
        describe(&mut file, document)?;
        let places = Places { layout, size, pages: &pages, links: &links };
        let numbers = places.refer(&mut file)?;
        let content = numbers.links.iter().zip(&links);
        let content = content.map(|(id, link)| (link.element, link.page, Kind::Link(*id))).collect();
        let tree = Tree::new(&mut file, (&elements, &pages), (marked, content))?;
        std::thread::scope(|threads| {
            let tree = threads.spawn(|| tree.pack());
            let around = places.pack(&numbers);
            let written = Written::new(file);
            let tree = tree.join().unwrap_or_else(|fault| resume_unwind(fault));
            written?.with(around?.into_iter().chain(tree?))
        })
    }
}

fn info(document: &Document) -> PdfDocumentInfo {
    let date =
        OffsetDateTime::from_unix_timestamp(document.stamp).unwrap_or_else(|_| OffsetDateTime::epoch());
    PdfDocumentInfo {
        document_title: document.title.clone(),
        creator: document.generator.clone(),
        producer: document.generator.clone(),
        creation_date: date,
        modification_date: date,
        metadata_date: date,
        ..PdfDocumentInfo::default()
    }
}
