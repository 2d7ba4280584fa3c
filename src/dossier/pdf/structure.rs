//! The tree of what the marks mean, as the file holds it (ISO 32000-1, 14.7 and 14.8).

use lopdf::{Dictionary, Document as File, Object, ObjectId, StringFormat, dictionary};

use super::super::layout::structure::{Element, Role};

/// Adds the tree. `marked` says for each page, and each marked sequence on it in order, the element that it is of.
pub(crate) fn structure(file: &mut File, elements: &[Element], marked: &[Vec<usize>]) {
    let pages: Vec<ObjectId> = file.page_iter().collect();
    let mut contents: Vec<Vec<(usize, usize)>> = vec![Vec::new(); elements.len()];
    for (page, sequences) in marked.iter().enumerate() {
        for (number, element) in sequences.iter().enumerate() {
            if let Some(content) = contents.get_mut(*element) {
                content.push((page, number));
            }
        }
    }
    // An element counts if it has marks or holds one that has; parents come before their children.
    let mut counts: Vec<bool> = contents.iter().map(|content| !content.is_empty()).collect();
    for place in (0..elements.len()).rev() {
        if let Some(parent) = elements[place].parent.filter(|_| counts[place]) {
            counts[parent] = true;
        }
    }
    // An empty cell counts too: without it the cells after it would stand in the wrong column.
    for (place, element) in elements.iter().enumerate() {
        let cell = matches!(element.role, Role::Cell | Role::Head);
        counts[place] |= cell && element.parent.is_some_and(|row| counts[row]);
    }
    let root = file.new_object_id();
    let document = file.new_object_id();
    let ids: Vec<Option<ObjectId>> =
        counts.iter().map(|counts| counts.then(|| file.new_object_id())).collect();
    let mut kids: Vec<Vec<Object>> = vec![Vec::new(); elements.len()];
    let mut top = Vec::new();
    for (element, id) in elements.iter().zip(&ids) {
        if let Some(id) = id {
            element.parent.map_or(&mut top, |parent| &mut kids[parent]).push(Object::Reference(*id));
        }
    }
    for (place, element) in elements.iter().enumerate() {
        let Some(id) = ids[place] else { continue };
        let parent = element.parent.and_then(|parent| ids[parent]).unwrap_or(document);
        let mut dict = named(element, parent);
        let mut inside = std::mem::take(&mut kids[place]);
        if let Some(first) = contents[place].first().and_then(|content| pages.get(content.0)) {
            dict.set("Pg", Object::Reference(*first));
            let own = contents[place].iter().filter_map(|(page, number)| {
                let page = *pages.get(*page)?;
                Some(content(*number, (page != *first).then_some(page)))
            });
            inside.splice(0..0, own.collect::<Vec<Object>>());
        }
        dict.set("K", Object::Array(inside));
        file.objects.insert(id, Object::Dictionary(dict));
    }
    let whole = dictionary! {
        "Type" => "StructElem", "S" => "Document", "P" => Object::Reference(root), "K" => top,
    };
    file.objects.insert(document, Object::Dictionary(whole));
    let parents = parents(file, (&pages, &ids), marked);
    let tree = dictionary! {
        "Type" => "StructTreeRoot",
        "K" => vec![Object::Reference(document)],
        "ParentTree" => Object::Reference(parents),
        "ParentTreeNextKey" => pages.len() as i64,
    };
    file.objects.insert(root, Object::Dictionary(tree));
    if let Ok(catalog) = file.catalog_mut() {
        catalog.set("StructTreeRoot", Object::Reference(root));
        catalog.set("MarkInfo", dictionary! { "Marked" => true });
    }
}

/// For each page the elements of its marked sequences, so that a reader finds what a mark is of.
fn parents(
    file: &mut File,
    (pages, ids): (&[ObjectId], &[Option<ObjectId>]),
    marked: &[Vec<usize>],
) -> ObjectId {
    let mut numbers = Vec::new();
    for (number, (page, sequences)) in pages.iter().zip(marked).enumerate() {
        let of =
            |element: &usize| ids.get(*element).copied().flatten().map_or(Object::Null, Object::Reference);
        numbers.push(Object::Integer(number as i64));
        numbers.push(Object::Reference(file.add_object(sequences.iter().map(of).collect::<Vec<Object>>())));
        if let Ok(page) = file.get_dictionary_mut(*page) {
            page.set("StructParents", number as i64);
            page.set("Tabs", "S");
        }
    }
    file.add_object(dictionary! { "Nums" => numbers })
}

/// A marked sequence on the element's first page, or on another one.
fn content(number: usize, page: Option<ObjectId>) -> Object {
    let number = Object::Integer(number as i64);
    match page {
        None => number,
        Some(page) => {
            dictionary! { "Type" => "MCR", "Pg" => Object::Reference(page), "MCID" => number }.into()
        }
    }
}

fn named(element: &Element, parent: ObjectId) -> Dictionary {
    let name = match element.role {
        Role::Heading(level) => format!("H{level}"),
        Role::Paragraph => "P".into(),
        Role::List => "L".into(),
        Role::Entry => "LI".into(),
        Role::Label => "Lbl".into(),
        Role::EntryBody => "LBody".into(),
        Role::Quote => "BlockQuote".into(),
        Role::Table => "Table".into(),
        Role::Row => "TR".into(),
        Role::Head => "TH".into(),
        Role::Cell => "TD".into(),
        Role::Figure => "Figure".into(),
        Role::Box => "Div".into(),
        Role::Contents => "TOC".into(),
        Role::ContentsEntry => "TOCI".into(),
        Role::Note => "Note".into(),
    };
    let mut dict = dictionary! { "S" => Object::Name(name.into_bytes()), "P" => Object::Reference(parent) };
    if element.role == Role::Head {
        dict.set("A", dictionary! { "O" => "Table", "Scope" => "Column" });
    }
    if let Some(alt) = &element.alt {
        let mut bytes = vec![0xfe, 0xff];
        bytes.extend(alt.encode_utf16().flat_map(u16::to_be_bytes));
        dict.set("Alt", Object::String(bytes, StringFormat::Hexadecimal));
    }
    dict
}
