//! Pages to the bytes of a PDF file, one by one; the same pages give the same bytes.

mod content;
mod file;
mod finish;
mod glyphs;
mod image;
mod object;
mod parts;
mod structure;
#[cfg(test)]
mod tests;

use super::layout::mark::Link;
use super::layout::{Layout, Page, Sheets, layout, size};
use super::piece::Document;
use content::content;
use file::{File, Id};
use finish::{PageParts, Places};
use glyphs::Glyphs;
use object::{integer, reference};
use structure::structure;

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
    let mut press = Press {
        file: File::new(),
        glyphs: Glyphs::default(),
        height: size.1,
        sheets: Vec::new(),
        marked: Vec::new(),
    };
    let layout = layout(document, &mut press);
    let bytes = press.finish(document, &layout, size);
    Printed { bytes, missing_glyphs: layout.missing_glyphs, pages: layout.pages }
}

/// Writes what is drawn on a page as soon as the page is there, and holds only what needs all pages.
struct Press {
    file: File,
    glyphs: Glyphs,
    height: f64,
    sheets: Vec<Sheet>,
    /// For each page, and each marked sequence on it, the element that it is of.
    marked: Vec<Vec<u32>>,
}

/// A page that is drawn.
struct Sheet {
    contents: [Id; 2],
    links: Vec<Link>,
}

impl Sheets for Press {
    fn page(&mut self, mut page: Page) {
        let (drawn, marked) = content(&page, self.height, &mut self.glyphs, 0);
        let contents = [self.file.compressed(b"", &drawn), self.file.reserve()];
        self.sheets.push(Sheet { contents, links: std::mem::take(&mut page.links) });
        self.marked.push(marked);
    }

    fn furniture(&mut self, place: usize, page: Page) {
        let (Some(sheet), Some(marked)) = (self.sheets.get_mut(place), self.marked.get_mut(place)) else {
            return;
        };
        let (drawn, more) = content(&page, self.height, &mut self.glyphs, marked.len());
        self.file.put_compressed(sheet.contents[1], b"", &drawn);
        marked.extend(more);
        sheet.links.extend(page.links);
    }
}

impl Press {
    fn finish(self, document: &Document, layout: &Layout, size: (f64, f64)) -> Vec<u8> {
        let Press { mut file, glyphs, sheets, marked, .. } = self;
        let parts = parts::parts(&mut file, (document, layout), glyphs);
        let parent = file.reserve();
        let pages: Vec<Id> = sheets.iter().map(|_| file.reserve()).collect();
        let places = Places { layout, size, pages: &pages };
        for (place, (sheet, page)) in sheets.iter().zip(&pages).enumerate() {
            let parts = PageParts {
                parent,
                resources: parts.resources,
                contents: sheet.contents,
                links: &sheet.links,
            };
            let page_object = places.page(place, &parts);
            file.put(*page, &page_object);
        }
        let mut out = b"<</Type/Pages/Count ".to_vec();
        integer(&mut out, pages.len() as u64);
        out.extend_from_slice(b"/Kids[");
        for page in &pages {
            reference(&mut out, *page);
            out.push(b' ');
        }
        out.extend_from_slice(b"]>>");
        file.put(parent, &out);
        let outline = places.outline(&mut file);
        let names = places.names(&mut file);
        let tree = structure(&mut file, &layout.elements, (&pages, &marked));
        let mut out = b"<</Type/Catalog/PageLayout/OneColumn/MarkInfo<</Marked true>>/Pages ".to_vec();
        reference(&mut out, parent);
        out.extend_from_slice(b"/StructTreeRoot ");
        reference(&mut out, tree);
        out.extend_from_slice(b"/ViewerPreferences<</DisplayDocTitle true>>/Lang");
        object::text(&mut out, document.language);
        if let Some(outline) = outline {
            out.extend_from_slice(b"/PageMode/UseOutlines/Outlines ");
            reference(&mut out, outline);
        }
        if let Some(names) = names {
            out.extend_from_slice(b"/Names<</Dests ");
            reference(&mut out, names);
            out.extend_from_slice(b">>");
        }
        out.extend_from_slice(b">>");
        let catalog = file.add(&out);
        let seed = [document.title.as_bytes(), &document.stamp.to_be_bytes()].concat();
        file.finish(catalog, parts.info, &seed)
    }
}
