//! What the page library lacks: links, the outline and named places; and what the file says of itself.

use lopdf::{
    Dictionary, Document as File, Object, ObjectId, Result, Stream, StringFormat, dictionary, text_string,
};

use super::super::layout::mark::Link;
use super::super::layout::{Layout, OutlineEntry, Spot};
use super::super::piece::{Document, Target};
use super::page::points;
use super::save::{Pack, Packer};

/// How far above a place the window's top is put.
const ABOVE: f64 = 8.0;

/// Named places in one node of their tree.
const NAMES: usize = 100;

/// Where everything is.
pub(crate) struct Places<'a> {
    pub(crate) layout: &'a Layout,
    /// Width and height of every page.
    pub(crate) size: (f64, f64),
    pub(crate) pages: &'a [ObjectId],
    /// In the order of the pages.
    pub(crate) links: &'a [Annotation],
}

/// A link, the page that it stands on, and its element.
pub(crate) struct Annotation {
    pub(crate) page: u32,
    pub(crate) link: Link,
    pub(crate) element: u32,
}

/// The numbers of what is packed.
pub(crate) struct Numbers {
    pub(crate) links: Vec<ObjectId>,
    /// The outline itself, then each heading.
    outline: Vec<ObjectId>,
    /// The list of the nodes of named places, then each node.
    names: Vec<ObjectId>,
}

impl Places<'_> {
    /// Gives numbers to links, outline and named places, and refers to them in pages and catalogue.
    pub(crate) fn refer(&self, file: &mut File) -> Result<Numbers> {
        let mut numbers =
            |count: usize| -> Vec<ObjectId> { (0..count).map(|_| file.new_object_id()).collect() };
        let links = numbers(self.links.len());
        let outline = numbers(1 + self.layout.outline.len());
        let names = numbers(1 + self.layout.anchors.len().div_ceil(NAMES));
        let mut left = links.iter();
        for own in self.links.chunk_by(|link, next| link.page == next.page) {
            let own_ids: Vec<Object> = left.by_ref().take(own.len()).map(|id| (*id).into()).collect();
            file.get_dictionary_mut(self.pages[own[0].page as usize])?.set("Annots", own_ids);
        }
        let catalog = file.catalog_mut()?;
        if !self.layout.outline.is_empty() {
            catalog.set("Outlines", outline[0]);
            catalog.set("PageMode", "UseOutlines");
        }
        catalog.set("Names", dictionary! { "Dests" => names[0] });
        Ok(Numbers { links, outline, names })
    }

    /// Makes links, outline and named places.
    pub(crate) fn pack(&self, numbers: &Numbers) -> Result<Vec<Pack>> {
        let mut packer = Packer::default();
        // In the tree of what marks mean the pages have the first numbers.
        for ((key, link), id) in (self.pages.len() as i64..).zip(self.links).zip(&numbers.links) {
            packer.add(*id, self.link(&link.link, key))?;
        }
        if let Some((root, headings)) = numbers.outline.split_first() {
            self.outline(*root, headings, &mut packer)?;
        }
        if let Some((root, nodes)) = numbers.names.split_first() {
            self.names(*root, nodes, &mut packer)?;
        }
        packer.finish()
    }

    fn link(&self, link: &Link, key: i64) -> Dictionary {
        let action = match &link.target {
            Target::Inner { id } => {
                let place = self.layout.anchors.get(id).map(|spot| self.destination(*spot));
                dictionary! { "S" => "GoTo", "D" => place.unwrap_or(Object::Null) }
            }
            Target::Dossier { id } => {
                dictionary! { "S" => "GoToR", "F" => literal("dossier.pdf"), "D" => literal(id) }
            }
            Target::Outer { address } => {
                dictionary! { "S" => "URI", "URI" => literal(&encoded(address)) }
            }
        };
        let area = link.area;
        let sides = [area.left, self.size.1 - area.bottom, area.right, self.size.1 - area.top];
        let sides: Vec<Object> = sides.map(|side| points(side).0.into()).into();
        dictionary! {
            "Type" => "Annot",
            "Subtype" => "Link",
            "Border" => vec![Object::from(0); 3],
            "H" => "N",
            // Printed too.
            "F" => 4,
            "Rect" => sides,
            "StructParent" => key,
            "A" => action,
        }
    }

    fn destination(&self, spot: Spot) -> Object {
        let page = self.pages.get(spot.page).map_or(Object::Null, |page| (*page).into());
        let top = points((self.size.1 - spot.y + ABOVE).min(self.size.1)).0;
        vec![page, "XYZ".into(), 0.into(), top.into(), Object::Null].into()
    }

    /// The headings as a tree: each under the nearest one before it of a smaller level.
    fn outline(&self, root: ObjectId, ids: &[ObjectId], packer: &mut Packer) -> Result<()> {
        let outline = &self.layout.outline;
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
                "Dest" => self.destination(entry.spot),
                "Parent" => parents[place].map_or(root, |parent| ids[parent]),
            };
            for (key, id) in [("Prev", beside[place].0), ("Next", beside[place].1)] {
                id.into_iter().for_each(|id| dict.set(key, id));
            }
            let count = children[place].len() as i64;
            if count > 0 {
                ends(&mut dict, &children[place], ids);
                // Closed at first, but for the document's title: a long outline is read part by part.
                dict.set("Count", if place == 0 { count } else { -count });
            }
            packer.add(ids[place], dict)?;
        }
        let mut dict = dictionary! { "Type" => "Outlines", "Count" => (top.len() + children.first().map_or(0, Vec::len)) as i64 };
        ends(&mut dict, &top, ids);
        packer.add(root, dict)
    }

    /// The ids of the document as named places, so that other files can point at them.
    fn names(&self, root: ObjectId, ids: &[ObjectId], packer: &mut Packer) -> Result<()> {
        let all: Vec<(&String, &Spot)> = self.layout.anchors.iter().collect();
        for (node, id) in all.chunks(NAMES).zip(ids) {
            let ends = vec![literal(node[0].0), literal(node[node.len() - 1].0)];
            let named = node.iter().flat_map(|(id, spot)| [literal(id), self.destination(**spot)]);
            let named: Vec<Object> = named.collect();
            packer.add(*id, dictionary! { "Limits" => ends, "Names" => named })?;
        }
        let kids: Vec<Object> = ids.iter().map(|id| (*id).into()).collect();
        packer.add(root, dictionary! { "Kids" => kids })
    }
}

/// Takes the last page away, which is only there for the fonts, and puts on each other one, below what it has, what
/// its stream in `below` draws. Gives the pages.
pub(crate) fn pages(file: &mut File, below: Vec<Vec<u8>>) -> Result<Vec<ObjectId>> {
    let mut pages: Vec<ObjectId> = file.page_iter().collect();
    if let Some(Object::Dictionary(last)) = pages.pop().and_then(|last| file.delete_object(last)) {
        file.objects.remove(&last.get(b"Contents")?.as_reference()?);
        file.objects.remove(&last.get(b"Resources")?.as_reference()?);
        let parent = last.get(b"Parent")?.as_reference()?;
        file.get_dictionary_mut(parent)?.set("Count", pages.len() as i64);
    }
    for (place, (page, stream)) in (0_i64..).zip(pages.iter().zip(below)) {
        let below = file.add_object(Stream::new(dictionary! { "Filter" => "FlateDecode" }, stream));
        let dict = file.get_dictionary_mut(*page)?;
        let above = dict.get(b"Contents")?.as_reference()?;
        dict.set("Contents", vec![below.into(), above.into()]);
        dict.set("Tabs", "S");
        dict.set("StructParents", place);
    }
    Ok(pages)
}

/// What the information, the catalogue and the metadata say of the file.
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

/// Title and language where archives and readers that speak look for them.
fn xmp(document: &Document) -> String {
    let escaped = |text: &str| text.replace('&', "&amp;").replace('<', "&lt;");
    let (title, generator) = (escaped(&document.title), escaped(&document.generator));
    let language = document.language;
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

fn literal(text: &str) -> Object {
    Object::String(text.into(), StringFormat::Literal)
}

fn ends(dict: &mut Dictionary, siblings: &[usize], ids: &[ObjectId]) {
    if let (Some(first), Some(last)) = (siblings.first(), siblings.last()) {
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
