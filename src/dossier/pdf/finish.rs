//! What the page library lacks, put into the document that it made: the outline, named places, what the file says of
//! itself, and where each link belongs.

use lopdf::{Dictionary, Document as File, Object, ObjectId, Result, Stream, dictionary, text_string};
use printpdf::{Actions, BorderArray, Destination, HighlightingMode, LinkAnnotation, Rect};

use super::super::layout::mark::Link;
use super::super::layout::{Layout, OutlineEntry, Spot};
use super::super::piece::{Document, Target};
use super::page::points;

/// How far above a place the window's top is put.
const ABOVE: f64 = 8.0;

/// Named places in one node of their tree.
const NAMES: usize = 100;

/// Where everything is.
pub(crate) struct Places<'a> {
    pub(crate) layout: &'a Layout,
    /// Width and height of every page.
    pub(crate) size: (f64, f64),
}

impl Places<'_> {
    /// A link for the page library, if its place is in the document.
    pub(crate) fn link(&self, link: &Link) -> Option<LinkAnnotation> {
        let actions = match &link.target {
            Target::Inner { id } => {
                let spot = self.layout.anchors.get(id)?;
                Actions::Goto(Destination::Xyz {
                    page: spot.page + 1,
                    left: Some(0.0),
                    top: Some(self.top(*spot)),
                    zoom: None,
                })
            }
            Target::Outer { address } => Actions::Uri(encoded(address)),
        };
        let area = link.area;
        let rect = Rect {
            x: points(area.left),
            y: points(self.size.1 - area.bottom),
            width: points(area.right - area.left),
            height: points(area.bottom - area.top),
            mode: None,
            winding_order: None,
        };
        let border = BorderArray::Solid([0.0; 3]);
        Some(LinkAnnotation::new(rect, actions, Some(border), None, Some(HighlightingMode::None)))
    }

    fn top(&self, spot: Spot) -> f32 {
        points((self.size.1 - spot.y + ABOVE).min(self.size.1)).0
    }

    fn destination(&self, pages: &[ObjectId], spot: Spot) -> Object {
        let page = pages.get(spot.page).map_or(Object::Null, |page| (*page).into());
        vec![page, "XYZ".into(), 0.into(), self.top(spot).into(), Object::Null].into()
    }

    /// The headings as a tree: each under the nearest one before it of a smaller level. `None` without headings.
    pub(crate) fn outline(&self, file: &mut File, pages: &[ObjectId]) -> Option<ObjectId> {
        let outline = &self.layout.outline;
        if outline.is_empty() {
            return None;
        }
        let root = file.new_object_id();
        let ids: Vec<ObjectId> = outline.iter().map(|_| file.new_object_id()).collect();
        let parents = parents(outline);
        let mut children: Vec<Vec<usize>> = vec![Vec::new(); ids.len()];
        let mut top = Vec::new();
        for (child, parent) in parents.iter().enumerate() {
            parent.map_or(&mut top, |parent| &mut children[parent]).push(child);
        }
        let mut beside = vec![(None, None); ids.len()];
        for siblings in children.iter().chain([&top]) {
            for pair in siblings.windows(2) {
                beside[pair[0]].1 = Some(ids[pair[1]]);
                beside[pair[1]].0 = Some(ids[pair[0]]);
            }
        }
        for (place, entry) in outline.iter().enumerate() {
            let mut dict = dictionary! {
                "Title" => text_string(&entry.title),
                "Dest" => self.destination(pages, entry.spot),
                "Parent" => parents[place].map_or(root, |parent| ids[parent]),
            };
            for (key, id) in [("Prev", beside[place].0), ("Next", beside[place].1)] {
                id.into_iter().for_each(|id| dict.set(key, id));
            }
            let count = children[place].len() as i64;
            if count > 0 {
                ends(&mut dict, &children[place], &ids);
                // Closed at first, but for the document's title: a long outline is read part by part.
                dict.set("Count", if place == 0 { count } else { -count });
            }
            file.set_object(ids[place], dict);
        }
        let mut dict =
            dictionary! { "Type" => "Outlines", "Count" => (top.len() + children[0].len()) as i64 };
        ends(&mut dict, &top, &ids);
        file.set_object(root, dict);
        Some(root)
    }

    /// The ids of the document as named places, so that other files can point at them. `None` without any.
    pub(crate) fn names(&self, file: &mut File, pages: &[ObjectId]) -> Option<ObjectId> {
        let all: Vec<(&String, &Spot)> = self.layout.anchors.iter().collect();
        let name = |name: &str| Object::string_literal(name);
        let nodes = all.chunks(NAMES).map(|node| {
            let ends = [node[0].0, node[node.len() - 1].0].map(|end| name(end));
            let named = node.iter().flat_map(|(id, spot)| [name(id), self.destination(pages, **spot)]);
            let named: Vec<Object> = named.collect();
            file.add_object(dictionary! { "Limits" => ends.to_vec(), "Names" => named }).into()
        });
        let nodes: Vec<Object> = nodes.collect();
        (!nodes.is_empty()).then(|| file.add_object(dictionary! { "Kids" => nodes }))
    }
}

/// Takes the last page away, which is only there for the fonts, and puts on each other one, below what it has, what its
/// stream in `below` draws. Gives the pages.
pub(crate) fn pages(file: &mut File, below: Vec<Vec<u8>>) -> Result<Vec<ObjectId>> {
    let mut pages: Vec<ObjectId> = file.page_iter().collect();
    if let Some(Object::Dictionary(last)) = pages.pop().and_then(|last| file.delete_object(last)) {
        file.objects.remove(&last.get(b"Contents")?.as_reference()?);
        file.objects.remove(&last.get(b"Resources")?.as_reference()?);
        let parent = last.get(b"Parent")?.as_reference()?;
        file.get_dictionary_mut(parent)?.set("Count", pages.len() as i64);
    }
    for (page, stream) in pages.iter().zip(below) {
        let below = file.add_object(Stream::new(dictionary! { "Filter" => "FlateDecode" }, stream));
        let dict = file.get_dictionary_mut(*page)?;
        let above = dict.get(b"Contents")?.as_reference()?;
        dict.set("Contents", vec![below.into(), above.into()]);
    }
    Ok(pages)
}

/// Makes the links of each page objects of their own and ties them, and the page's marks, to the tree of what marks
/// mean: the pages have its first numbers, then the links in order. Gives the links.
pub(crate) fn tie(file: &mut File, pages: &[ObjectId]) -> Vec<ObjectId> {
    let mut links = Vec::new();
    for (place, page) in (0_i64..).zip(pages) {
        let Ok(dict) = file.get_dictionary_mut(*page) else { continue };
        dict.set("Tabs", "S");
        dict.set("StructParents", place);
        let Some(Object::Array(mut own)) = dict.remove(b"Annots") else { continue };
        for link in &mut own {
            let Object::Dictionary(mut dict) = std::mem::replace(link, Object::Null) else { continue };
            dict.remove(b"C");
            // Printed too.
            dict.set("F", 4);
            dict.set("StructParent", (pages.len() + links.len()) as i64);
            let id = file.add_object(dict);
            links.push(id);
            *link = id.into();
        }
        if let (false, Ok(dict)) = (own.is_empty(), file.get_dictionary_mut(*page)) {
            dict.set("Annots", own);
        }
    }
    links
}

/// What the catalogue and the information say of the file.
pub(crate) fn describe(file: &mut File, document: &Document) -> Result<()> {
    let info = file.trailer.get(b"Info").and_then(Object::as_reference)?;
    let info = file.get_dictionary_mut(info)?;
    for key in ["GTS_PDFXVersion", "Identifier", "Trapped", "Keywords", "Subject", "Author"] {
        info.remove(key.as_bytes());
    }
    let kind = dictionary! { "Type" => "Metadata", "Subtype" => "XML" };
    let about = file.add_object(Stream::new(kind, xmp(document).into_bytes()).with_compression(false));
    let catalog = file.catalog_mut()?;
    catalog.set("Metadata", about);
    catalog.set("MarkInfo", dictionary! { "Marked" => true });
    catalog.set("ViewerPreferences", dictionary! { "DisplayDocTitle" => true });
    catalog.set("Lang", text_string(document.language));
    Ok(())
}

/// Title and language where readers for the blind and archives look for them.
fn xmp(document: &Document) -> String {
    let mut title = String::new();
    for character in document.title.chars() {
        match character {
            '<' => title.push_str("&lt;"),
            '&' => title.push_str("&amp;"),
            other => title.push(other),
        }
    }
    let Document { language, generator, .. } = document;
    format!(
        "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
         <x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n\
         <rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n\
         <rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" \
         xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\">\n\
         <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{title}</rdf:li></rdf:Alt></dc:title>\n\
         <dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>\n\
         <pdf:Producer>{generator}</pdf:Producer>\n\
         </rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"r\"?>"
    )
}

fn ends(dict: &mut Dictionary, siblings: &[usize], ids: &[ObjectId]) {
    if let [first, .., last] | [first @ last] = siblings {
        dict.set("First", ids[*first]);
        dict.set("Last", ids[*last]);
    }
}
/// For each entry the place of its parent.
fn parents(outline: &[OutlineEntry]) -> Vec<Option<usize>> {
    let mut open: Vec<usize> = Vec::new();
    let mut parents = Vec::new();
    for (place, entry) in outline.iter().enumerate() {
        while open.last().is_some_and(|last| outline[*last].level >= entry.level) {
            open.pop();
        }
        parents.push(open.last().copied());
        open.push(place);
    }
    parents
}

/// An address as a PDF may hold it: everything outside ASCII and what has no place in an address in `%XX`.
fn encoded(address: &str) -> String {
    let mut encoded = String::new();
    for byte in address.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~:/?#[]@!$&'*+,;=%".contains(&byte) {
            encoded.push(char::from(byte));
        } else {
            encoded.push_str(&format!("%{byte:02X}"));
        }
    }
    encoded
}

#[cfg(test)]
mod tests {
    use super::encoded;

    #[test]
    fn addresses_are_ascii_and_keep_their_escapes() {
        assert_eq!(
            encoded("https://example.org/a b?q=ü#%20(x)"),
            "https://example.org/a%20b?q=%C3%BC#%20%28x%29"
        );
    }
}
