//! What the page writer leaves open: outline, named places, language, and an identifier that comes from the content.

use lopdf::{Dictionary, Document as File, Object, ObjectId, StringFormat, dictionary};

use super::super::layout::{Layout, OutlineEntry, Spot};
use super::super::piece::Document;

/// How far above a place the window's top is put.
const ABOVE: f64 = 8.0;

pub(crate) fn finish(file: &mut File, document: &Document, layout: &Layout) {
    file.version = "1.7".into();
    let pages: Vec<ObjectId> = file.page_iter().collect();
    let outline = outline(file, layout, &pages);
    let places = places(file, layout, &pages);
    if let Ok(catalog) = file.catalog_mut() {
        catalog.set("Lang", Object::string_literal(document.language));
        catalog.set("ViewerPreferences", dictionary! { "DisplayDocTitle" => true });
        catalog.set("PageMode", Object::Name(b"UseNone".to_vec()));
        if let Some(outline) = outline {
            catalog.set("Outlines", Object::Reference(outline));
            catalog.set("PageMode", Object::Name(b"UseOutlines".to_vec()));
        }
        if let Some(places) = places {
            catalog.set("Names", dictionary! { "Dests" => Object::Reference(places) });
        }
    }
    let info = file.trailer.get(b"Info").and_then(Object::as_reference);
    if let Ok(info) = info.and_then(|id| file.get_dictionary_mut(id)) {
        for key in ["GTS_PDFXVersion", "Identifier", "Trapped", "Keywords", "Subject", "Author"] {
            info.remove(key.as_bytes());
        }
    }
    for page in pages {
        if let Ok(page) = file.get_dictionary_mut(page)
            && page.get(b"Annots").and_then(Object::as_array).is_ok_and(Vec::is_empty)
        {
            page.remove(b"Annots");
        }
    }
}

/// Sixteen bytes that say what is in the file; to be asked for last.
pub(crate) fn content_mark(file: &File, document: &Document) -> Vec<u8> {
    let mut hash = blake3::Hasher::new();
    hash.update(document.title.as_bytes());
    hash.update(&document.stamp.to_be_bytes());
    for ((number, _), object) in &file.objects {
        hash.update(&number.to_be_bytes());
        match object {
            Object::Stream(stream) => {
                hash.update(&stream.content);
            }
            other => {
                hash.update(format!("{other:?}").as_bytes());
            }
        }
    }
    hash.finalize().as_bytes()[..16].to_vec()
}

fn destination(layout: &Layout, pages: &[ObjectId], spot: Spot) -> Option<Object> {
    let page = pages.get(spot.page)?;
    let top = (layout.size.1 - spot.y + ABOVE).min(layout.size.1);
    Some(Object::Array(vec![
        Object::Reference(*page),
        Object::Name(b"XYZ".to_vec()),
        Object::Integer(0),
        Object::Real(((top * 100.0).round() / 100.0) as f32),
        Object::Null,
    ]))
}

/// The headings as a tree: each under the nearest one before it of a smaller level.
fn outline(file: &mut File, layout: &Layout, pages: &[ObjectId]) -> Option<ObjectId> {
    if layout.outline.is_empty() {
        return None;
    }
    let root = file.new_object_id();
    let ids: Vec<ObjectId> = layout.outline.iter().map(|_| file.new_object_id()).collect();
    let parents = parents(&layout.outline);
    let mut entries: Vec<Dictionary> = layout
        .outline
        .iter()
        .zip(&parents)
        .map(|(entry, parent)| {
            let parent = parent.map_or(root, |parent| ids[parent]);
            let mut dict =
                dictionary! { "Title" => text(&entry.title), "Parent" => Object::Reference(parent) };
            if let Some(destination) = destination(layout, pages, entry.spot) {
                dict.set("Dest", destination);
            }
            dict
        })
        .collect();
    let mut children: Vec<Vec<usize>> = vec![Vec::new(); ids.len()];
    let mut first_level = Vec::new();
    for (child, parent) in parents.iter().enumerate() {
        parent.map_or(&mut first_level, |parent| &mut children[parent]).push(child);
    }
    // Closed at first, but for the document's title: a long outline is read part by part.
    let opened = children[0].len();
    let mut top = dictionary! { "Type" => "Outlines", "Count" => (first_level.len() + opened) as i64 };
    top.extend(&siblings(&first_level, (&ids, &mut entries)));
    for (parent, children) in children.iter().enumerate().filter(|(_, children)| !children.is_empty()) {
        let links = siblings(children, (&ids, &mut entries));
        let count = children.len() as i64;
        entries[parent].extend(&links);
        entries[parent].set("Count", if parent == 0 { count } else { -count });
    }
    for (id, entry) in ids.iter().zip(entries) {
        file.objects.insert(*id, Object::Dictionary(entry));
    }
    file.objects.insert(root, Object::Dictionary(top));
    Some(root)
}

/// Links the children of one entry to each other; what their parent says of them.
fn siblings(children: &[usize], (ids, entries): (&[ObjectId], &mut [Dictionary])) -> Dictionary {
    for pair in children.windows(2) {
        entries[pair[0]].set("Next", Object::Reference(ids[pair[1]]));
        entries[pair[1]].set("Prev", Object::Reference(ids[pair[0]]));
    }
    match (children.first(), children.last()) {
        (Some(first), Some(last)) => dictionary! {
            "First" => Object::Reference(ids[*first]),
            "Last" => Object::Reference(ids[*last]),
        },
        _ => Dictionary::new(),
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

/// The ids of the document as named places, so that other files can point at them.
fn places(file: &mut File, layout: &Layout, pages: &[ObjectId]) -> Option<ObjectId> {
    if layout.anchors.is_empty() {
        return None;
    }
    let mut names = Vec::new();
    for (id, spot) in &layout.anchors {
        if let Some(destination) = destination(layout, pages, *spot) {
            names.push(Object::string_literal(id.as_str()));
            names.push(destination);
        }
    }
    Some(file.add_object(dictionary! { "Names" => names }))
}

/// Text outside the pages: UTF-16 with its mark.
fn text(text: &str) -> Object {
    let mut bytes = vec![0xfe, 0xff];
    bytes.extend(text.encode_utf16().flat_map(u16::to_be_bytes));
    Object::String(bytes, StringFormat::Hexadecimal)
}
