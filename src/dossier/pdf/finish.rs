//! What stands around the pages: their dictionaries with the links, the outline, and the named places.

use super::super::layout::mark::Link;
use super::super::layout::{Layout, OutlineEntry, Spot};
use super::super::piece::Target;
use super::file::{File, Id};
use super::object::{integer, length, literal, reference, text};

/// How far above a place the window's top is put.
const ABOVE: f64 = 8.0;

/// Named places in one node of their tree.
const NAMES: usize = 100;

/// Where everything is.
pub(crate) struct Places<'a> {
    pub(crate) layout: &'a Layout,
    /// Width and height of every page.
    pub(crate) size: (f64, f64),
    /// The pages' objects.
    pub(crate) pages: &'a [Id],
}

/// What belongs to one page.
pub(crate) struct PageParts<'a> {
    pub(crate) parent: Id,
    pub(crate) resources: Id,
    /// What is drawn, in order.
    pub(crate) contents: [Id; 2],
    pub(crate) links: &'a [Link],
}

impl Places<'_> {
    /// A page's dictionary; `place` is also its number in the tree of what the marks mean.
    pub(crate) fn page(&self, place: usize, parts: &PageParts<'_>) -> Vec<u8> {
        let mut out = b"<</Type/Page/Parent ".to_vec();
        reference(&mut out, parts.parent);
        out.extend_from_slice(b"/Resources ");
        reference(&mut out, parts.resources);
        for sheet in ["/MediaBox", "/CropBox", "/TrimBox"] {
            out.extend_from_slice(sheet.as_bytes());
            out.extend_from_slice(b"[0 0 ");
            length(&mut out, self.size.0);
            out.push(b' ');
            length(&mut out, self.size.1);
            out.push(b']');
        }
        out.extend_from_slice(b"/Contents[");
        for content in parts.contents {
            reference(&mut out, content);
            out.push(b' ');
        }
        out.extend_from_slice(b"]/Tabs/S/StructParents ");
        integer(&mut out, place as u64);
        let before = out.len();
        for link in parts.links {
            self.link(&mut out, link, before);
        }
        if out.len() > before {
            out.push(b']');
        }
        out.extend_from_slice(b">>");
        out
    }

    /// A link, if its place is in the document; the first one opens the list.
    fn link(&self, out: &mut Vec<u8>, link: &Link, before: usize) {
        let spot = match &link.target {
            Target::Inner { id } => match self.layout.anchors.get(id) {
                Some(spot) => Some(*spot),
                None => return,
            },
            Target::Outer { .. } => None,
        };
        if out.len() == before {
            out.extend_from_slice(b"/Annots[");
        }
        out.extend_from_slice(b"<</Type/Annot/Subtype/Link/Border[0 0 0]/H/N/F 4/Rect[");
        let area = link.area;
        for side in [area.left, self.size.1 - area.bottom, area.right, self.size.1 - area.top] {
            length(out, side);
            out.push(b' ');
        }
        out.extend_from_slice(b"]/A<<");
        match (&link.target, spot) {
            (_, Some(spot)) => {
                out.extend_from_slice(b"/S/GoTo/D");
                self.destination(out, spot);
            }
            (Target::Outer { address }, None) => {
                out.extend_from_slice(b"/S/URI/URI");
                literal(out, encoded(address).as_bytes());
            }
            (Target::Inner { .. }, None) => {}
        }
        out.extend_from_slice(b">>>>");
    }

    fn destination(&self, out: &mut Vec<u8>, spot: Spot) {
        out.push(b'[');
        if let Some(page) = self.pages.get(spot.page) {
            reference(out, *page);
        }
        out.extend_from_slice(b"/XYZ 0 ");
        length(out, (self.size.1 - spot.y + ABOVE).min(self.size.1));
        out.extend_from_slice(b" null]");
    }

    /// The headings as a tree: each under the nearest one before it of a smaller level. `None` without headings.
    pub(crate) fn outline(&self, file: &mut File) -> Option<Id> {
        let outline = &self.layout.outline;
        if outline.is_empty() {
            return None;
        }
        let root = file.reserve();
        let ids: Vec<Id> = outline.iter().map(|_| file.reserve()).collect();
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
            let mut out = b"<</Title".to_vec();
            text(&mut out, &entry.title);
            out.extend_from_slice(b"/Dest");
            self.destination(&mut out, entry.spot);
            named(&mut out, b"/Parent ", Some(parents[place].map_or(root, |parent| ids[parent])));
            named(&mut out, b"/Prev ", beside[place].0);
            named(&mut out, b"/Next ", beside[place].1);
            let inside = &children[place];
            if !inside.is_empty() {
                ends(&mut out, inside, &ids);
                // Closed at first, but for the document's title: a long outline is read part by part.
                out.extend_from_slice(if place == 0 { b"/Count " } else { b"/Count -" });
                integer(&mut out, inside.len() as u64);
            }
            out.extend_from_slice(b">>");
            file.put(ids[place], &out);
        }
        let mut out = b"<</Type/Outlines".to_vec();
        ends(&mut out, &top, &ids);
        out.extend_from_slice(b"/Count ");
        integer(&mut out, (top.len() + children[0].len()) as u64);
        out.extend_from_slice(b">>");
        file.put(root, &out);
        Some(root)
    }

    /// The ids of the document as named places, so that other files can point at them. `None` without any.
    pub(crate) fn names(&self, file: &mut File) -> Option<Id> {
        let all: Vec<(&String, &Spot)> = self.layout.anchors.iter().collect();
        if all.is_empty() {
            return None;
        }
        let mut root = b"<</Kids[".to_vec();
        for node in all.chunks(NAMES) {
            let mut out = b"<</Limits[".to_vec();
            literal(&mut out, node[0].0.as_bytes());
            literal(&mut out, node[node.len() - 1].0.as_bytes());
            out.extend_from_slice(b"]/Names[");
            for (name, spot) in node {
                literal(&mut out, name.as_bytes());
                self.destination(&mut out, **spot);
            }
            out.extend_from_slice(b"]>>");
            reference(&mut root, file.add(&out));
            root.push(b' ');
        }
        root.extend_from_slice(b"]>>");
        Some(file.add(&root))
    }
}

fn named(out: &mut Vec<u8>, key: &[u8], id: Option<Id>) {
    if let Some(id) = id {
        out.extend_from_slice(key);
        reference(out, id);
    }
}

fn ends(out: &mut Vec<u8>, siblings: &[usize], ids: &[Id]) {
    named(out, b"/First ", siblings.first().map(|first| ids[*first]));
    named(out, b"/Last ", siblings.last().map(|last| ids[*last]));
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
