//! What the PDF library makes for us: fonts, pictures, and what the file says of itself.

use std::collections::BTreeMap;

use lopdf::{Document as Made, Object, ObjectId};
use printpdf::{
    Codepoint, OffsetDateTime, Op, PdfDocument, PdfDocumentInfo, PdfFont, PdfFontHandle, PdfMetadata,
    PdfPage, PdfSaveOptions, Pt, Rect, TextItem, XObject, XObjectId,
};

use super::super::layout::Layout;
use super::super::piece::Document;
use super::file::{File, Id};
use super::glyphs::Glyphs;
use super::image;
use super::object::{entries, object};

/// Objects of the file that all pages share.
pub(crate) struct Parts {
    pub(crate) resources: Id,
    pub(crate) info: Id,
}

/// Has the library make one page that uses every glyph and holds every picture, and takes from it what our pages need.
pub(crate) fn parts(file: &mut File, (document, layout): (&Document, &Layout), glyphs: Glyphs) -> Parts {
    let mut pdf = PdfDocument::new(&document.title);
    pdf.metadata = PdfMetadata { info: info(document), xmp: None };
    let mut ops = vec![Op::StartTextSection];
    for embedded in glyphs.embed() {
        let font = PdfFontHandle::External(embedded.id.clone());
        ops.push(Op::SetFont { font, size: Pt(1.0) });
        let glyphs = embedded.glyphs.into_iter().map(|(number, text)| Codepoint::with_cid(number, 0.0, text));
        ops.push(Op::ShowText { items: vec![TextItem::GlyphIds(glyphs.collect())] });
        pdf.resources.fonts.map.insert(embedded.id, PdfFont::new(embedded.font));
    }
    ops.push(Op::EndTextSection);
    for (place, picture) in layout.images.iter().enumerate() {
        if let Some(drawn) = image::image(picture) {
            pdf.resources.xobjects.map.insert(XObjectId(format!("Picture{place}")), XObject::External(drawn));
        }
    }
    let sheet =
        || Rect { x: Pt(0.0), y: Pt(0.0), width: Pt(1.0), height: Pt(1.0), mode: None, winding_order: None };
    pdf.pages = vec![PdfPage { media_box: sheet(), trim_box: sheet(), crop_box: sheet(), ops }];
    let options =
        PdfSaveOptions { subset_fonts: false, image_optimization: None, ..PdfSaveOptions::default() };
    let mut made = pdf.to_lopdf_document(&options, &mut Vec::new());
    drop(pdf);
    take(file, &mut made)
}

/// Moves resources and information over, with all that they refer to.
fn take(file: &mut File, made: &mut Made) -> Parts {
    let page = made.page_iter().next().and_then(|page| made.get_dictionary(page).ok());
    let resources = page.and_then(|page| page.get(b"Resources").and_then(Object::as_reference).ok());
    let info = made.trailer.get(b"Info").and_then(Object::as_reference).ok();
    if let Some(info) = info.and_then(|info| made.get_dictionary_mut(info).ok()) {
        for key in ["GTS_PDFXVersion", "Identifier", "Trapped", "Keywords", "Subject", "Author"] {
            info.remove(key.as_bytes());
        }
    }
    let mut numbers: BTreeMap<u32, Id> = BTreeMap::new();
    let mut order = Vec::new();
    for wanted in resources.iter().chain(&info) {
        reach(made, *wanted, (&mut numbers, &mut order), file);
    }
    let number = |from: u32| numbers.get(&from).copied();
    for from in order {
        let (Some(id), Some(found)) = (number(from), made.objects.remove(&(from, 0))) else { continue };
        let mut out = Vec::new();
        match found {
            Object::Stream(mut stream) => {
                stream.dict.remove(b"Length");
                entries(&mut out, &stream.dict, &number);
                if stream.allows_compression && !stream.dict.has(b"Filter") {
                    file.put_compressed(id, &out, &stream.content);
                } else {
                    file.put_stream(id, &out, &stream.content);
                }
            }
            other => {
                object(&mut out, &other, &number);
                file.put(id, &out);
            }
        }
    }
    let of = |wanted: Option<ObjectId>| wanted.and_then(|wanted| number(wanted.0));
    let mut none = || file.add(b"<<>>");
    Parts { resources: of(resources).unwrap_or_else(&mut none), info: of(info).unwrap_or_else(&mut none) }
}

/// Gives a new number to an object and to all that it refers to.
fn reach(
    made: &Made,
    from: ObjectId,
    (numbers, order): (&mut BTreeMap<u32, Id>, &mut Vec<u32>),
    file: &mut File,
) {
    let mut wanted = vec![from.0];
    while let Some(from) = wanted.pop() {
        let Some(found) = made.objects.get(&(from, 0)).filter(|_| !numbers.contains_key(&from)) else {
            continue;
        };
        numbers.insert(from, file.reserve());
        order.push(from);
        let mut inside = vec![found];
        while let Some(object) = inside.pop() {
            match object {
                Object::Reference((to, _)) => wanted.push(*to),
                Object::Array(items) => inside.extend(items),
                Object::Dictionary(dict) => inside.extend(dict.iter().map(|entry| entry.1)),
                Object::Stream(stream) => inside.extend(stream.dict.iter().map(|entry| entry.1)),
                _ => {}
            }
        }
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
