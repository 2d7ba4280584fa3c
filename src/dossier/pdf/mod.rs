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

use printpdf::{OffsetDateTime, Op, PdfDocument, PdfDocumentInfo, PdfFont, XObject};

use super::layout::mark::Link;
use super::layout::structure::{Element, Role};
use super::layout::{Page, Sheets, layout, size};
use super::piece::Document;
use finish::{Places, describe, tie};
use glyphs::Glyphs;
use page::{Drawn, element_at, picture_id};
use save::{Packer, Written};
use streams::{Streams, options, page};
use structure::{Content, Kind, Tree};

/// A printed document.
#[derive(Debug)]
pub(crate) struct Printed {
    pub(crate) bytes: Vec<u8>,
    /// Characters that no embedded face has, sorted, each once; a box stands for each on paper.
    pub(crate) missing_glyphs: Vec<char>,
    pub(crate) pages: usize,
}

/// Prints a document. Never fails: what can't be drawn is replaced and, if it is a character, reported.
pub(crate) fn pdf(document: &Document) -> Printed {
    let size = size(document);
    std::thread::scope(|threads| {
        let (streams, glyphs) = (Streams::new(threads), Glyphs::default());
        let mut press = Press { streams, glyphs, height: size.1, sheets: Vec::new() };
        let mut layout = layout(document, &mut press);
        let elements = std::mem::take(&mut layout.elements);
        let bytes = press.finish(document, &Places { layout: &layout, size }, elements);
        // The library fails only where a file can't be written to, and this one is in memory.
        let bytes = bytes.expect("a PDF is written to memory");
        Printed { bytes, missing_glyphs: layout.missing_glyphs, pages: layout.pages }
    })
}

/// Draws each page as soon as it is there.
struct Press<'scope, 'env> {
    streams: Streams<'scope, 'env>,
    glyphs: Glyphs,
    height: f64,
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
        sheet.draw(&page, self.height, &mut self.glyphs);
        self.streams.add(std::mem::take(&mut sheet.drawn.ops), &self.glyphs);
        self.sheets.push(sheet);
    }

    fn furniture(&mut self, place: usize, page: Page) {
        if let Some(sheet) = self.sheets.get_mut(place) {
            sheet.draw(&page, self.height, &mut self.glyphs);
        }
    }
}

impl Sheet {
    fn draw(&mut self, page: &Page, height: f64, glyphs: &mut Glyphs) {
        self.drawn.draw(page, height, glyphs);
        self.links.extend(page.links.iter().map(|link| (link.clone(), element_at(page, link.area))));
    }
}

impl Press<'_, '_> {
    fn finish(
        self,
        document: &Document,
        places: &Places<'_>,
        mut elements: Vec<Element>,
    ) -> lopdf::Result<Vec<u8>> {
        let Press { streams, glyphs, sheets, .. } = self;
        let streams = streams.finish(&glyphs);
        let mut pdf = PdfDocument::new(&document.title);
        pdf.metadata.info = info(document);
        for (place, picture) in places.layout.images.iter().enumerate() {
            if let Some(drawn) = image::image(picture) {
                pdf.resources.xobjects.map.insert(picture_id(place), XObject::External(drawn));
            }
        }
        let (mut marked, mut linked) = (Vec::new(), Vec::new());
        for (place, sheet) in (0..).zip(sheets) {
            let mut ops = sheet.drawn.ops;
            for (link, parent) in sheet.links {
                let Some(link) = places.link(&link) else { continue };
                ops.push(Op::LinkAnnotation { link });
                linked.push((elements.len() as u32, place));
                elements.push(Element { role: Role::Link, parent, alt: None });
            }
            marked.push(sheet.drawn.marked);
            pdf.pages.push(page(ops, places.size));
        }
        let specimen = glyphs.specimen();
        pdf.resources.fonts.map.extend(glyphs.embed().map(|(id, font)| (id, PdfFont::new(font))));
        pdf.pages.push(page(specimen, places.size));
        let mut file = pdf.to_lopdf_document(&options(), &mut Vec::new());
        drop(pdf);

        let pages = finish::pages(&mut file, streams)?;
        let links = linked.into_iter().zip(tie(&mut file, &pages));
        let links: Vec<Content> =
            links.map(|((element, page), id)| (element, page, Kind::Link(id))).collect();
        describe(&mut file, document)?;
        let outline = places.outline(&mut file, &pages);
        let names = places.names(&mut file, &pages);
        let tree = Tree::new(&mut file, (&elements, &pages), marked, &links);
        let catalog = file.catalog_mut()?;
        catalog.set("StructTreeRoot", tree.root);
        if let Some(outline) = outline {
            catalog.set("Outlines", outline);
            catalog.set("PageMode", "UseOutlines");
        }
        if let Some(names) = names {
            catalog.set("Names", lopdf::dictionary! { "Dests" => names });
        }
        std::thread::scope(|threads| {
            let packs = threads.spawn(|| {
                let mut packer = Packer::new();
                tree.each(|id, object| packer.add(id, object))?;
                packer.finish()
            });
            let written = Written::new(file)?;
            let packs = packs.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault));
            written.with(packs?)
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
