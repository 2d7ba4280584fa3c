//! A walk of a PDF's structure tree: what a reader that speaks a page or reflows it would miss.

use std::collections::{BTreeMap, BTreeSet};

use lopdf::content::Content;
use lopdf::{Dictionary, Document, Object, ObjectId};

/// What is amiss, a line each.
pub(crate) fn faults(file: &Document) -> Vec<String> {
    let mut walk = Walk { file, pages: marked(file), ..Walk::default_of(file) };
    walk.catalogue();
    let Some(root) = file.catalog().ok().and_then(|dict| inner(file, dict, b"StructTreeRoot")) else {
        return vec!["no structure tree".to_owned()];
    };
    walk.parents = parents(file, root);
    for kid in kids(root) {
        walk.element(kid, Above { id: None, role: "" });
    }
    walk.finish();
    walk.faults
}

/// The title that a reader's window shows, from the document's own information.
pub(crate) fn title(file: &Document) -> String {
    let information = inner(file, &file.trailer, b"Info");
    information.map(|dict| text(dict, b"Title")).unwrap_or_default()
}

struct Walk<'a> {
    file: &'a Document,
    /// For each page its marked sequences, each with how many characters are shown in it.
    pages: BTreeMap<ObjectId, BTreeMap<i64, usize>>,
    /// What the tree of parents says of each key.
    parents: BTreeMap<i64, Object>,
    reached: BTreeSet<(ObjectId, i64)>,
    links: BTreeSet<ObjectId>,
    level: usize,
    heads: usize,
    faults: Vec<String>,
}

#[derive(Debug)]
struct Cell {
    role: String,
    scope: String,
}

#[derive(Clone, Copy)]
struct Above<'a> {
    id: Option<ObjectId>,
    role: &'a str,
}

impl<'a> Walk<'a> {
    fn default_of(file: &'a Document) -> Walk<'a> {
        Walk {
            file,
            pages: BTreeMap::new(),
            parents: BTreeMap::new(),
            reached: BTreeSet::new(),
            links: BTreeSet::new(),
            level: 0,
            heads: 0,
            faults: Vec::new(),
        }
    }

    fn fault(&mut self, words: impl Into<String>) {
        self.faults.push(words.into());
    }

    fn catalogue(&mut self) {
        let Ok(catalogue) = self.file.catalog() else { return self.fault("no catalogue") };
        if text(catalogue, b"Lang").is_empty() {
            self.fault("no language");
        }
        let marked = inner(self.file, catalogue, b"MarkInfo").and_then(|dict| dict.get(b"Marked").ok());
        if !matches!(marked, Some(Object::Boolean(true))) {
            self.fault("not said to be marked");
        }
        let shown = inner(self.file, catalogue, b"ViewerPreferences")
            .and_then(|dict| dict.get(b"DisplayDocTitle").ok());
        if !matches!(shown, Some(Object::Boolean(true))) {
            self.fault("the window shows the file's name, not the title");
        }
        let metadata = catalogue.get(b"Metadata").and_then(Object::as_reference);
        let stream = metadata.and_then(|id| self.file.get_object(id)?.as_stream().cloned());
        let xmp = stream.map(|stream| {
            let bytes = stream.decompressed_content().unwrap_or(stream.content);
            String::from_utf8_lossy(&bytes).into_owned()
        });
        let title = title(self.file);
        match xmp {
            Ok(xmp) => {
                for needed in ["<x:xmpmeta", "dc:title", "dc:language", "pdf:Producer"] {
                    if !xmp.contains(needed) {
                        self.fault(format!("XMP without {needed}"));
                    }
                }
                if title.is_empty() || !xmp.contains(&title.replace('&', "&amp;")) {
                    self.fault(format!("XMP does not hold the title {title:?}"));
                }
            }
            Err(_) => self.fault("no XMP"),
        }
        for (number, page) in self.file.get_pages() {
            let order = self.file.get_dictionary(page).and_then(|page| page.get(b"Tabs")?.as_name());
            if order.ok() != Some(b"S")
                && self.file.get_dictionary(page).is_ok_and(|page| page.has(b"Annots"))
            {
                self.fault(format!(
                    "on page {number} the key for the next link does not go by the structure"
                ));
            }
        }
    }

    fn element(&mut self, kid: &'a Object, above: Above<'_>) {
        let Ok(id) = kid.as_reference() else { return self.fault(format!("{kid:?} is no element")) };
        let Ok(dict) = self.file.get_dictionary(id) else {
            return self.fault(format!("{id:?} is not there"));
        };
        let role = name(dict, b"S");
        if above.id.is_some() && dict.get(b"P").and_then(Object::as_reference).ok() != above.id {
            self.fault(format!("{role} does not know that it is in {}", above.role));
        }
        self.nesting(&role, above.role);
        let page = dict.get(b"Pg").and_then(Object::as_reference).ok();
        let (mut characters, mut annotations) = (0, 0);
        for kid in kids(dict) {
            match kid {
                Object::Integer(number) => characters += self.sequence(page, *number),
                Object::Dictionary(inner) if inner.has(b"MCID") => {
                    let own = inner.get(b"Pg").and_then(Object::as_reference).ok().or(page);
                    let number = inner.get(b"MCID").and_then(Object::as_i64).unwrap_or(-1);
                    characters += self.sequence(own, number);
                }
                Object::Dictionary(inner) => {
                    annotations += 1;
                    self.annotation(inner, id);
                }
                kid => self.element(kid, Above { id: Some(id), role: &role }),
            }
        }
        match role.as_str() {
            "Figure" if text(dict, b"Alt").chars().count() < 12 => {
                self.fault(format!("a figure with the text {:?}", text(dict, b"Alt")));
            }
            "Link" if characters == 0 || annotations != 1 => {
                self.fault(format!("a link with {annotations} places to click and {characters} characters"));
            }
            "Table" => self.table(dict),
            role => {
                if let Some(level) = role.strip_prefix('H').and_then(|level| level.parse::<usize>().ok()) {
                    self.heading(level, characters + self.within(dict));
                }
            }
        }
    }

    /// Characters in elements that stand within.
    fn within(&self, dict: &Dictionary) -> usize {
        let elements = kids(dict).iter().filter_map(|kid| kid.as_reference().ok());
        elements.filter(|id| self.file.get_dictionary(*id).is_ok()).count()
    }

    fn heading(&mut self, level: usize, characters: usize) {
        self.heads += usize::from(level == 1);
        if characters == 0 {
            self.fault(format!("an empty heading of level {level}"));
        }
        if level > self.level + 1 {
            self.fault(format!("a heading of level {level} after one of {}", self.level));
        }
        self.level = level;
    }

    fn nesting(&mut self, role: &str, above: &str) {
        let wanted: &[&str] = match role {
            "LI" => &["L"],
            "Lbl" | "LBody" => &["LI"],
            "TR" => &["Table", "THead", "TBody"],
            "TH" | "TD" => &["TR"],
            "TOCI" => &["TOC"],
            "Document" => &[""],
            _ => return,
        };
        if !wanted.contains(&above) {
            self.fault(format!("{role} in {above}"));
        }
    }

    /// Column heads first, then rows that each begin with their head, unless the table has one column alone.
    fn table(&mut self, dict: &Dictionary) {
        let rows: Vec<Vec<Cell>> = kids(dict)
            .iter()
            .filter_map(|row| self.file.get_dictionary(row.as_reference().ok()?).ok())
            .filter(|row| name(row, b"S") == "TR")
            .map(|row| kids(row).iter().filter_map(|cell| self.cell(cell)).collect())
            .collect();
        if rows.is_empty() {
            self.fault("a table without rows");
        }
        let head = |cell: &Cell, scope: &str| cell.role == "TH" && cell.scope == scope;
        let heads = rows.iter().take_while(|row| row.iter().all(|cell| head(cell, "Column"))).count();
        let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
        for row in &rows[heads..] {
            if columns > 1 && !row.first().is_some_and(|cell| head(cell, "Row")) {
                self.fault(format!("a row without a head: {row:?} of {} rows", rows.len()));
            }
            if row.len() != columns {
                self.fault(format!("{} cells in {columns} columns", row.len()));
            }
        }
    }

    fn cell(&self, cell: &Object) -> Option<Cell> {
        let dict = self.file.get_dictionary(cell.as_reference().ok()?).ok()?;
        let scope = inner(self.file, dict, b"A").map(|dict| name(dict, b"Scope")).unwrap_or_default();
        Some(Cell { role: name(dict, b"S"), scope })
    }

    fn sequence(&mut self, page: Option<ObjectId>, number: i64) -> usize {
        let Some(page) = page else {
            self.fault(format!("sequence {number} of no page"));
            return 0;
        };
        if !self.reached.insert((page, number)) {
            self.fault(format!("sequence {number} of {page:?} is in two elements"));
        }
        match self.pages.get(&page).and_then(|page| page.get(&number)) {
            Some(characters) => *characters,
            None => {
                self.fault(format!("sequence {number} is not on its page"));
                0
            }
        }
    }

    /// A link knows its element, by the tree of parents.
    fn annotation(&mut self, dict: &Dictionary, element: ObjectId) {
        let Ok(id) = dict.get(b"Obj").and_then(Object::as_reference) else {
            return self.fault("an element of no object");
        };
        self.links.insert(id);
        let key = self.file.get_dictionary(id).and_then(|link| link.get(b"StructParent")?.as_i64());
        let known = key.ok().and_then(|key| self.parents.get(&key)?.as_reference().ok());
        if known != Some(element) {
            self.fault(format!("the link {id:?} leads to the element {known:?}, not {element:?}"));
        }
    }

    /// What nothing in the tree has reached.
    fn finish(&mut self) {
        if self.heads != 1 {
            self.fault(format!("{} headings of level 1", self.heads));
        }
        for (page, sequences) in self.pages.clone() {
            let lost = sequences.keys().filter(|number| !self.reached.contains(&(page, **number))).count();
            if lost > 0 {
                self.fault(format!("{lost} sequences of {page:?} are in no element"));
            }
        }
        for (number, page) in self.file.get_pages() {
            let annotations = self.file.get_dictionary(page).and_then(|page| page.get(b"Annots")?.as_array());
            let own = annotations.into_iter().flatten().filter_map(|one| one.as_reference().ok());
            let lost = own.filter(|id| !self.links.contains(id)).count();
            if lost > 0 {
                self.fault(format!("{lost} links of page {number} are in no element"));
            }
        }
    }
}

/// For each page its marked sequences with the characters that they show, two bytes each.
fn marked(file: &Document) -> BTreeMap<ObjectId, BTreeMap<i64, usize>> {
    let mut pages = BTreeMap::new();
    for page in file.get_pages().into_values() {
        let content = Content::decode(&file.get_page_content(page)).expect("operators");
        let mut own: BTreeMap<i64, usize> = BTreeMap::new();
        let mut open: Vec<Option<i64>> = Vec::new();
        for operation in content.operations {
            match operation.operator.as_str() {
                "BMC" => open.push(None),
                "BDC" => {
                    let dict = operation.operands.get(1).and_then(|dict| dict.as_dict().ok());
                    let number = dict.and_then(|dict| dict.get(b"MCID").and_then(Object::as_i64).ok());
                    // What spells letters stands within a sequence.
                    open.push(number.or(open.last().copied().flatten()));
                    if let Some(number) = number {
                        own.entry(number).or_default();
                    }
                }
                "EMC" => drop(open.pop()),
                "Tj" | "TJ" => {
                    if let Some(number) = open.last().copied().flatten() {
                        *own.entry(number).or_default() += shown(&operation.operands);
                    }
                }
                _ => {}
            }
        }
        pages.insert(page, own);
    }
    pages
}

fn shown(operands: &[Object]) -> usize {
    let one = |object: &Object| match object {
        Object::String(bytes, _) => bytes.len() / 2,
        Object::Array(inner) => shown(inner),
        _ => 0,
    };
    operands.iter().map(one).sum()
}

fn parents(file: &Document, root: &Dictionary) -> BTreeMap<i64, Object> {
    let numbers =
        inner(file, root, b"ParentTree").and_then(|tree| tree.get(b"Nums").and_then(Object::as_array).ok());
    let pairs = numbers.map(|numbers| numbers.chunks_exact(2)).into_iter().flatten();
    pairs.filter_map(|pair| Some((pair[0].as_i64().ok()?, pair[1].clone()))).collect()
}

fn kids(dict: &Dictionary) -> &[Object] {
    match dict.get(b"K") {
        Ok(Object::Array(all)) => all,
        Ok(one) => std::slice::from_ref(one),
        Err(_) => &[],
    }
}

fn inner<'a>(file: &'a Document, dict: &'a Dictionary, key: &[u8]) -> Option<&'a Dictionary> {
    match dict.get(key).ok()? {
        Object::Reference(id) => file.get_dictionary(*id).ok(),
        other => other.as_dict().ok(),
    }
}

fn name(dict: &Dictionary, key: &[u8]) -> String {
    dict.get(key)
        .and_then(Object::as_name)
        .map(|name| String::from_utf8_lossy(name).into_owned())
        .unwrap_or_default()
}

fn text(dict: &Dictionary, key: &[u8]) -> String {
    dict.get(key).ok().and_then(|text| lopdf::decode_text_string(text).ok()).unwrap_or_default()
}
