//! Pages to the bytes of a PDF file; the same pages give the same bytes.

mod finish;
mod fonts;
mod image;
mod ops;
mod structure;
#[cfg(test)]
mod tests;

use lopdf::Object;
use printpdf::{
    OffsetDateTime, PdfDocument, PdfDocumentInfo, PdfFont, PdfMetadata, PdfSaveOptions, XObject, XObjectId,
};

use super::layout::{Layout, layout};
use super::piece::Document;
use fonts::Subsets;

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
    let layout = layout(document);
    let bytes = write(document, &layout);
    Printed { bytes, missing_glyphs: layout.missing_glyphs, pages: layout.pages.len() }
}

fn write(document: &Document, layout: &Layout) -> Vec<u8> {
    let mut subsets = Subsets::new(&layout.pages);
    let mut pdf = PdfDocument::new(&document.title);
    pdf.metadata = PdfMetadata { info: info(document), xmp: None };
    for (id, face) in subsets.embed() {
        pdf.resources.fonts.map.insert(id, PdfFont::new(face));
    }
    for (place, picture) in layout.images.iter().enumerate() {
        if let Some(drawn) = image::image(picture) {
            pdf.resources.xobjects.map.insert(image_id(place), XObject::External(drawn));
        }
    }
    let pages = layout.pages.iter().map(|page| ops::page(page, layout, &subsets));
    let (pages, marked): (Vec<_>, Vec<_>) = pages.unzip();
    pdf.pages = pages;

    let options =
        PdfSaveOptions { subset_fonts: false, image_optimization: None, ..PdfSaveOptions::default() };
    let mut file = pdf.to_lopdf_document(&options, &mut Vec::new());
    drop(pdf);
    finish::finish(&mut file, document, layout);
    structure::structure(&mut file, &layout.elements, &marked);
    file.compress();
    let mark = finish::content_mark(&file, document);
    let mark = Object::string_literal(mark);
    file.trailer.set("ID", Object::Array(vec![mark.clone(), mark]));
    let mut bytes = Vec::new();
    // Writing to memory does not fail.
    let _ = file.save_modern(&mut bytes);
    bytes
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

/// The name of a picture by its place in the list.
fn image_id(place: usize) -> XObjectId {
    XObjectId(format!("Picture{place}"))
}
