//! The tree of what the marks mean, as the file holds it (ISO 32000-1, 14.7 and 14.8).

use super::super::layout::structure::{Element, Role};
use super::file::{File, Id};
use super::object::{integer, reference, text};

/// A marked sequence: the element that it is of, its page and its number there.
type Sequence = (u32, u32, u32);

/// Writes the tree and gives its root and the number of each page in it. `marked` says for each page, and each
/// marked sequence on it in order, the element that it is of.
pub(crate) fn structure(file: &mut File, elements: &[Element], (pages, marked): (&[Id], &[Vec<u32>])) -> Id {
    let mut sequences: Vec<Sequence> = Vec::with_capacity(marked.iter().map(Vec::len).sum());
    for (page, own) in (0..).zip(marked) {
        sequences.extend((0..).zip(own).map(|(number, element)| (*element, page, number)));
    }
    // Within an element they stay in the order of the pages.
    sequences.sort_unstable();
    let ids = ids(file, elements, &sequences);
    let root = file.reserve();
    let document = file.reserve();
    let children = children(elements, &ids);
    let mut rest = sequences.as_slice();
    let mut children_left = children.as_slice();
    let top = take_of(&mut children_left, 0);
    for (place, element) in (0..).zip(elements) {
        let own = take_of(&mut rest, place);
        let inside = take_of(&mut children_left, place + 1);
        let Some(id) = ids[place as usize] else { continue };
        let parent = element.parent.and_then(|parent| ids[parent]).unwrap_or(document);
        let mut out = Vec::with_capacity(96);
        begin(&mut out, element, parent);
        if let Some((_, first, _)) = own.first() {
            out.extend_from_slice(b"/Pg ");
            reference(&mut out, pages[*first as usize]);
        }
        out.extend_from_slice(b"/K[");
        for (_, page, number) in own {
            content(&mut out, *number, (*page != own[0].1).then(|| pages[*page as usize]));
        }
        for (_, child) in inside {
            reference(&mut out, *child);
            out.push(b' ');
        }
        out.extend_from_slice(b"]>>");
        file.put(id, &out);
    }
    let mut out = b"<</Type/StructElem/S/Document/P ".to_vec();
    reference(&mut out, root);
    out.extend_from_slice(b"/K[");
    for (_, child) in top {
        reference(&mut out, *child);
        out.push(b' ');
    }
    out.extend_from_slice(b"]>>");
    file.put(document, &out);
    let parents = parents(file, marked, &ids);
    let mut out = b"<</Type/StructTreeRoot/K[".to_vec();
    reference(&mut out, document);
    out.extend_from_slice(b"]/ParentTree ");
    reference(&mut out, parents);
    out.extend_from_slice(b"/ParentTreeNextKey ");
    integer(&mut out, pages.len() as u64);
    out.extend_from_slice(b">>");
    file.put(root, &out);
    root
}

/// The entries at the front of a sorted list that are of one element.
fn take_of<'a, T: Keyed>(list: &mut &'a [T], key: u32) -> &'a [T] {
    let count = list.iter().take_while(|entry| entry.key() == key).count();
    let (own, rest) = list.split_at(count);
    *list = rest;
    own
}

trait Keyed {
    fn key(&self) -> u32;
}

impl Keyed for Sequence {
    fn key(&self) -> u32 {
        self.0
    }
}

impl Keyed for (u32, Id) {
    fn key(&self) -> u32 {
        self.0
    }
}

/// A number for every element that has marks or holds one that has; parents come before their children.
fn ids(file: &mut File, elements: &[Element], sequences: &[Sequence]) -> Vec<Option<Id>> {
    let mut counts = vec![false; elements.len()];
    for (element, _, _) in sequences {
        if let Some(counts) = counts.get_mut(*element as usize) {
            *counts = true;
        }
    }
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
    counts.into_iter().map(|counts| counts.then(|| file.reserve())).collect()
}

/// Every element that counts under its parent's place plus one, 0 for the document, in the order of reading.
fn children(elements: &[Element], ids: &[Option<Id>]) -> Vec<(u32, Id)> {
    let key = |element: &Element| element.parent.map_or(0, |parent| parent as u32 + 1);
    let mut children: Vec<(u32, Id)> =
        elements.iter().zip(ids).filter_map(|(element, id)| Some((key(element), (*id)?))).collect();
    children.sort_unstable();
    children
}

/// For each page the elements of its marked sequences, so that a reader finds what a mark is of.
fn parents(file: &mut File, marked: &[Vec<u32>], ids: &[Option<Id>]) -> Id {
    let mut numbers = b"<</Nums[".to_vec();
    for (page, sequences) in (0..).zip(marked) {
        let mut out = b"[".to_vec();
        for element in sequences {
            match ids.get(*element as usize).copied().flatten() {
                Some(id) => reference(&mut out, id),
                None => out.extend_from_slice(b"null"),
            }
            out.push(b' ');
        }
        out.push(b']');
        integer(&mut numbers, page);
        numbers.push(b' ');
        reference(&mut numbers, file.add(&out));
        numbers.push(b' ');
    }
    numbers.extend_from_slice(b"]>>");
    file.add(&numbers)
}

/// A marked sequence on the element's first page, or on another one.
fn content(out: &mut Vec<u8>, number: u32, page: Option<Id>) {
    match page {
        None => {
            integer(out, number.into());
            out.push(b' ');
        }
        Some(page) => {
            out.extend_from_slice(b"<</Type/MCR/Pg ");
            reference(out, page);
            out.extend_from_slice(b"/MCID ");
            integer(out, number.into());
            out.extend_from_slice(b">>");
        }
    }
}

/// The element's dictionary up to what it holds.
fn begin(out: &mut Vec<u8>, element: &Element, parent: Id) {
    let heading;
    let name = match element.role {
        Role::Heading(level) => {
            heading = format!("H{level}");
            &heading
        }
        Role::Paragraph => "P",
        Role::List => "L",
        Role::Entry => "LI",
        Role::Label => "Lbl",
        Role::EntryBody => "LBody",
        Role::Quote => "BlockQuote",
        Role::Table => "Table",
        Role::Row => "TR",
        Role::Head => "TH",
        Role::Cell => "TD",
        Role::Figure => "Figure",
        Role::Box => "Div",
        Role::Contents => "TOC",
        Role::ContentsEntry => "TOCI",
        Role::Note => "Note",
    };
    out.extend_from_slice(b"<</S/");
    out.extend_from_slice(name.as_bytes());
    out.extend_from_slice(b"/P ");
    reference(out, parent);
    if element.role == Role::Head {
        out.extend_from_slice(b"/A<</O/Table/Scope/Column>>");
    }
    if let Some(alt) = &element.alt {
        out.extend_from_slice(b"/Alt");
        text(out, alt);
    }
}
