//! The tree of what the marks mean, as the file holds it (ISO 32000-1, 14.7 and 14.8).

use lopdf::{Dictionary, Document, Object, ObjectId, Result, dictionary, text_string};

use super::super::layout::structure::{Element, Role};
use super::save::{Pack, Packer};

/// The tree before its objects are made: there are many, and each is wanted only once.
pub(crate) struct Tree<'a> {
    elements: &'a [Element],
    pages: &'a [ObjectId],
    /// What stands on the pages, by its element.
    content: Vec<Content>,
    /// The elements of each page's marked sequences, then of each link.
    parents: Vec<Vec<u32>>,
    /// For each element its object, if it counts.
    ids: Vec<Option<ObjectId>>,
    root: ObjectId,
    document: ObjectId,
}

/// The element that something on a page is of; the place of the page; and what it is.
pub(crate) type Content = (u32, u32, Kind);

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Kind {
    /// A marked sequence by its number on the page.
    Marked(u32),
    Link(ObjectId),
}

impl Kind {
    /// What has no number of its own comes last.
    fn number(self) -> u32 {
        match self {
            Kind::Marked(number) => number,
            Kind::Link(_) => u32::MAX,
        }
    }
}

impl<'a> Tree<'a> {
    /// Gives numbers in `file` to the tree's objects. `marked` says for each page, and each marked sequence on it in
    /// order, the element that it is of; each of the links has an element of its own.
    pub(crate) fn new(
        file: &mut Document,
        (elements, pages): (&'a [Element], &'a [ObjectId]),
        (marked, links): (Vec<Vec<u32>>, Vec<Content>),
    ) -> Result<Tree<'a>> {
        let of_links: Vec<Vec<u32>> = links.iter().map(|link| vec![link.0]).collect();
        let mut content = links;
        for (page, own) in (0..).zip(&marked) {
            content.extend((0..).zip(own).map(|(number, element)| (*element, page, Kind::Marked(number))));
        }
        // Within an element they stay in the order of the pages.
        content.sort_unstable();
        let mut counts = vec![false; elements.len()];
        for (element, _, _) in &content {
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
            let cell = matches!(element.role, Role::Cell | Role::Head | Role::RowHead);
            counts[place] |= cell && element.parent.is_some_and(|row| counts[row]);
        }
        let (root, document) = (file.new_object_id(), file.new_object_id());
        let ids = counts.into_iter().map(|counts| counts.then(|| file.new_object_id())).collect();
        file.catalog_mut()?.set("StructTreeRoot", root);
        let parents = [marked, of_links].concat();
        Ok(Tree { elements, pages, content, parents, ids, root, document })
    }

    /// Makes every object of the tree, one by one.
    pub(crate) fn pack(&self) -> Result<Vec<Pack>> {
        let mut packer = Packer::default();
        let children = self.children();
        let begins = self.begins();
        // Headings never skip a level on the way down.
        let mut level = 0;
        let mut content = self.content.as_slice();
        let mut children = children.as_slice();
        let top = take_of(&mut children, |child| child.0 == 0);
        for (place, element) in (0..).zip(self.elements) {
            let own = take_of(&mut content, |own| own.0 == place);
            let inside = take_of(&mut children, |child| child.0 == place + 1);
            let Some(id) = self.ids[place as usize] else { continue };
            let parent = element.parent.and_then(|parent| self.ids[parent]).unwrap_or(self.document);
            let role = match element.role {
                Role::Heading(own) => {
                    level = own.min(level + 1);
                    Role::Heading(level)
                }
                other => other,
            };
            let mut dict = dictionary! { "S" => Object::Name(name(role)), "P" => parent };
            if let Some((_, first, _)) = own.first() {
                dict.set("Pg", self.pages[*first as usize]);
            }
            let first = own.first().map(|first| first.1);
            // Links stand where they do in the text; all else that is inside comes behind what is its own.
            let mut kids: Vec<((u32, u32), Object)> = own
                .iter()
                .map(|(_, page, kind)| {
                    ((*page, kind.number()), self.kid(*kind, (Some(*page) != first).then_some(*page)))
                })
                .collect();
            kids.extend(inside.iter().map(|child| (begins[child.2], child.1.into())));
            kids.sort_by_key(|kid| kid.0);
            dict.set("K", kids.into_iter().map(|kid| kid.1).collect::<Vec<Object>>());
            let scope = |scope: &str| dictionary! { "O" => "Table", "Scope" => scope };
            match element.role {
                Role::Head => dict.set("A", scope("Column")),
                Role::RowHead => dict.set("A", scope("Row")),
                _ => {}
            }
            if let Some(alt) = &element.alt {
                dict.set("Alt", text_string(alt));
            }
            packer.add(id, dict)?;
        }
        let top: Vec<Object> = top.iter().map(|child| child.1.into()).collect();
        packer.add(self.document, dictionary! { "S" => "Document", "P" => self.root, "K" => top })?;
        let root = dictionary! {
            "Type" => "StructTreeRoot",
            "K" => vec![self.document.into()],
            "ParentTree" => self.parent_tree(),
            "ParentTreeNextKey" => self.parents.len() as i64,
        };
        packer.add(self.root, root)?;
        packer.finish()
    }

    /// Where each link's text begins, by page and number on it; of all other elements beyond every place.
    fn begins(&self) -> Vec<(u32, u32)> {
        const LAST: (u32, u32) = (u32::MAX, u32::MAX);
        let mut begins = vec![LAST; self.elements.len()];
        for (element, page, kind) in &self.content {
            let place = *element as usize;
            if self.elements.get(place).is_some_and(|element| element.role == Role::Link) {
                begins[place] = begins[place].min((*page, kind.number()));
            }
        }
        begins
    }

    /// Every element that counts under its parent's place plus one, 0 for the document, in the order of reading; its
    /// object, and its place.
    fn children(&self) -> Vec<(u32, ObjectId, usize)> {
        let key = |element: &Element| element.parent.map_or(0, |parent| parent as u32 + 1);
        let known = self.elements.iter().zip(&self.ids).enumerate();
        let mut children: Vec<(u32, ObjectId, usize)> =
            known.filter_map(|(place, (element, id))| Some((key(element), (*id)?, place))).collect();
        children.sort_unstable();
        children
    }

    /// For each page the elements of its marked sequences, and the element of each link, so that a reader finds what
    /// a mark is of.
    fn parent_tree(&self) -> Dictionary {
        let id = |element: &u32| {
            self.ids.get(*element as usize).copied().flatten().map_or(Object::Null, Object::from)
        };
        let mut numbers = Vec::with_capacity(self.parents.len() * 2);
        for (key, elements) in (0_i64..).zip(&self.parents) {
            numbers.push(key.into());
            numbers.push(match elements.as_slice() {
                [link] if key >= self.pages.len() as i64 => id(link),
                all => all.iter().map(id).collect::<Vec<Object>>().into(),
            });
        }
        dictionary! { "Nums" => numbers }
    }

    /// What an element holds on its first page, or on another one.
    fn kid(&self, kind: Kind, page: Option<u32>) -> Object {
        let mut dict = match kind {
            Kind::Marked(number) if page.is_none() => return i64::from(number).into(),
            Kind::Marked(number) => dictionary! { "Type" => "MCR", "MCID" => i64::from(number) },
            Kind::Link(link) => dictionary! { "Type" => "OBJR", "Obj" => link },
        };
        if let Some(page) = page {
            dict.set("Pg", self.pages[page as usize]);
        }
        dict.into()
    }
}

/// The entries at the front of a sorted list that are of one element.
fn take_of<'a, T>(list: &mut &'a [T], of: impl Fn(&T) -> bool) -> &'a [T] {
    let count = list.iter().take_while(|entry| of(entry)).count();
    let (own, rest) = list.split_at(count);
    *list = rest;
    own
}

fn name(role: Role) -> Vec<u8> {
    match role {
        Role::Heading(level) => return format!("H{level}").into_bytes(),
        Role::Paragraph => "P",
        Role::List => "L",
        Role::Entry => "LI",
        Role::Label => "Lbl",
        Role::EntryBody => "LBody",
        Role::Quote => "BlockQuote",
        Role::Table => "Table",
        Role::Row => "TR",
        Role::Head | Role::RowHead => "TH",
        Role::Cell => "TD",
        Role::Figure => "Figure",
        Role::Box => "Div",
        Role::Contents => "TOC",
        Role::ContentsEntry => "TOCI",
        Role::Note => "Note",
        Role::Link => "Link",
    }
    .into()
}
