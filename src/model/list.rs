//! Lists of items and curves, written in the block or in a CSV file of the journal folder.

use std::sync::Arc;

use super::evidence::{EMPTY, EvidenceFault, sha_256};
use super::field::Takes;
use super::form::Form;
use super::pictures::belies_its_name;
use super::row::Case;
use crate::findings::codes;
use crate::journal::{Node, NodeValue};
use crate::quantities::slug;
use crate::source::Span;
use crate::words::{Words, words};

/// What the label of a list's item may be called; the first is the language's own.
pub(crate) const LABELS: [&str; 3] = ["name", "item", "place"];

/// One item of a list: what it is called, and its slug in references.
pub(crate) struct Entry<R> {
    pub title: String,
    pub slug: String,
    pub read: R,
}

impl<R> Entry<R> {
    /// This item as a case of results over the list.
    pub(crate) fn case(&self) -> Case {
        Case { slug: self.slug.clone(), title: self.title.clone() }
    }
}

impl<'n> Form<'_, 'n> {
    /// The items under a key, each read by `read`. `naming` lists the keys that can name an item, the first one
    /// that stands is taken; their text is not otherwise read.
    pub(crate) fn list<R>(
        &mut self,
        key: &str,
        naming: &[&'static str],
        mut read: impl FnMut(&mut Form<'_, 'n>, &str) -> R,
    ) -> Vec<Entry<R>> {
        let Some(value) = self.expected(key) else { return Vec::new() };
        let Some((items, file)) = self.items(key, &value) else { return Vec::new() };
        let inside = format!("{}{key}.", self.pattern);
        let blocks = naming.iter().find(|name| self.names_a_block(&format!("{inside}{name}")));
        let bare = blocks.or_else(|| naming.last().filter(|_| self.doc(key).names));
        let mut entries: Vec<Entry<R>> = Vec::new();
        for (row, mut item) in items.into_iter().enumerate() {
            if let (Some(part), NodeValue::Scalar { text, .. }) = (bare, &item.value) {
                item.value = NodeValue::Mapping(vec![named_block(part, text, item.span)]);
            }
            let NodeValue::Mapping(mut fields) = item.value else {
                self.wrong_shape(key, &item, "a list of mappings");
                continue;
            };
            let told = self.draft.findings.len();
            self.label_as(naming[0], &inside, &mut fields);
            let Some((title, at)) = name_of(&fields, naming) else {
                let message = words!("an item of `{}` has no `{}`", key, naming[0]);
                let help = words!("type `{}: …` in it", naming[0]);
                self.report(&codes::MISSING_FIELD, item.span, message, help);
                continue;
            };
            let slug = slug(&title);
            if slug.is_empty() {
                let message = words!("`{}` has neither a letter nor a digit", title);
                self.report(&codes::BAD_NAME, at, message, "give the item a name that it can be called by");
                continue;
            }
            if entries.iter().any(|entry| entry.slug == slug) {
                let message = words!("two items of `{}` are named `{}`", key, slug);
                self.report(&codes::DUPLICATE_NAME, at, message, "give one of them another name");
                continue;
            }
            let (prefix, pattern) = (format!("{}{key}.{slug}.", self.prefix), inside.clone());
            let result = self.within((prefix, pattern), (fields, item.span), |form| {
                form.item = Some(Case { slug: slug.clone(), title: title.clone() });
                read(form, &slug)
            });
            if let Some(file) = &file {
                let place = words!(", in row {} of `{}`", row + 1, file);
                self.draft.findings[told..].iter_mut().for_each(|found| found.message.append(place.clone()));
            }
            entries.push(Entry { title, slug, read: result });
        }
        let help = self.doc(key).items;
        if entries.is_empty() && !help.is_empty() && self.draft.findings.is_empty() {
            let at = self.place_of(key);
            self.report(&codes::MISSING_FIELD, at, words!("`{}` has no items", key), help);
        }
        entries
    }

    fn names_a_block(&self, full: &str) -> bool {
        let documented = self.draft.kind.fields.iter().find(|doc| doc.name == full);
        documented.is_some_and(|doc| matches!(doc.takes, Takes::BlockName))
    }

    /// The label of an item is `name` everywhere; where a kind has another word for it, either will do.
    fn label_as(&self, word: &'static str, inside: &str, fields: &mut [(Node, Node)]) {
        if !LABELS.contains(&word) || fields.iter().any(|(key, _)| key.is_text(word)) {
            return;
        }
        let other = |key: &Node| {
            let documented = |name: &str| {
                self.draft.kind.fields.iter().any(|doc| doc.name.strip_prefix(inside) == Some(name))
            };
            key.text().is_some_and(|text| LABELS.contains(&text) && !documented(text))
        };
        if let Some((key, _)) = fields.iter_mut().find(|(key, _)| other(key)) {
            *key = Node::scalar(word, key.span);
        }
    }

    /// The items of a list, and the file that they stand in.
    fn items(&mut self, key: &str, value: &Node) -> Option<(Vec<Node>, Option<String>)> {
        match &value.value {
            NodeValue::Sequence(items) => Some((items.clone(), None)),
            NodeValue::Mapping(entries) if entries.iter().any(|(name, _)| name.is_text("file")) => {
                let file = self.named_file(entries, value.span)?;
                Some((self.rows(&file)?, Some(file.path)))
            }
            _ => {
                self.wrong_shape(key, value, "a list");
                None
            }
        }
    }

    /// The items of a CSV file: its header gives the keys, an empty cell is no key. `Mass (kg)` is the key `mass`, and
    /// the unit of the numbers below it.
    fn rows(&mut self, file: &NamedFile) -> Option<Vec<Node>> {
        let bytes = file.text();
        let mut reader = csv::ReaderBuilder::new()
            .flexible(false)
            .delimiter(delimiter(bytes))
            .trim(csv::Trim::All)
            .from_reader(bytes);
        let header: Vec<(String, Option<String>)> = match reader.headers() {
            Ok(header) => header.iter().map(key_and_unit).collect(),
            Err(error) => {
                self.bad_csv(file, error.to_string());
                return None;
            }
        };
        let mut items = Vec::new();
        for (row, record) in reader.records().enumerate() {
            let record = match record {
                Ok(record) => record,
                Err(error) => {
                    let what = match error.kind() {
                        csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
                            format!("row {} has {len} cells where the header has {expected_len}", row + 1)
                        }
                        csv::ErrorKind::Utf8 { .. } => format!("row {} is not UTF-8", row + 1),
                        _ => format!("row {} can't be read", row + 1),
                    };
                    self.bad_csv(file, what);
                    return None;
                }
            };
            let cells = header.iter().zip(record.iter()).filter(|(_, cell)| !cell.is_empty());
            let fields = cells
                .map(|((key, unit), cell)| {
                    let bare = |unit: &&String| !unit.is_empty() && !cell.contains(char::is_alphabetic);
                    let cell = match unit.as_ref().filter(bare) {
                        Some(unit) => format!("{cell} {unit}"),
                        None => cell.to_owned(),
                    };
                    (Node::scalar(key, file.span), Node::scalar(&cell, file.span))
                })
                .collect();
            items.push(Node { span: file.span, value: NodeValue::Mapping(fields) });
        }
        Some(items)
    }

    pub(super) fn named_file(&mut self, entries: &[(Node, Node)], span: Span) -> Option<NamedFile> {
        let node = entries.iter().find(|(name, _)| name.is_text("file")).map(|(_, value)| value.clone());
        let Some(node) = node else {
            self.report(
                &codes::MISSING_FIELD,
                span,
                "a mapping without `file`",
                "type `file: evidence/….csv`",
            );
            return None;
        };
        let path = self.text_of("file", &node)?;
        let bytes = self.file(&path, node.span)?;
        Some(NamedFile { path, span: node.span, bytes })
    }

    /// The bytes of a file of the journal folder, or the finding that says why not.
    pub(super) fn file(&mut self, path: &str, span: Span) -> Option<Arc<[u8]>> {
        let bytes = self.found(self.draft.evidence.read(path.trim()), path, span)?;
        if !self.draft.files.contains_key(path.trim()) {
            let hash = sha_256(&bytes[..]).unwrap_or_default();
            self.draft.files.insert(path.trim().to_owned(), hash);
        }
        Some(bytes)
    }

    /// The SHA-256 of a file of the journal folder, in hex; the finding is made where it can't be read.
    pub(crate) fn file_hash(&mut self, path: &str, span: Span) -> Option<String> {
        let path = path.trim();
        let mut hash = self.draft.evidence.sha_256(path);
        if hash.as_deref() == Ok(EMPTY) {
            hash = Err(EvidenceFault::Unreadable("it is empty".to_owned()));
        } else if belies_its_name(self.draft.evidence, path) {
            hash =
                Err(EvidenceFault::Unreadable("it is no PNG or JPEG picture, as its name says".to_owned()));
        }
        let hash = self.found(hash, path, span)?;
        self.draft.files.insert(path.to_owned(), hash.clone());
        Some(hash)
    }

    /// What was found of a file, or the finding that says why nothing was.
    fn found<T>(&mut self, found: Result<T, EvidenceFault>, path: &str, span: Span) -> Option<T> {
        found
            .map_err(|fault| {
                let code = match fault {
                    EvidenceFault::Outside => &codes::FILE_OUTSIDE,
                    EvidenceFault::Missing | EvidenceFault::Unreadable(_) => &codes::FILE_UNREADABLE,
                };
                let help = "put the file into the journal folder and type its path from there";
                self.report(code, span, fault.told(path), help);
            })
            .ok()
    }

    pub(super) fn bad_csv(&mut self, file: &NamedFile, what: impl Into<Words>) {
        let message = words!("`{}` can't be read as a table: {}", file.path, what.into());
        self.report(
            &codes::BAD_CSV,
            file.span,
            message,
            "one header line, then one line each, cells parted by commas",
        );
    }
}

pub(super) struct NamedFile {
    pub path: String,
    pub span: Span,
    pub bytes: Arc<[u8]>,
}

impl NamedFile {
    /// Its bytes without a byte order mark.
    pub(super) fn text(&self) -> &[u8] {
        self.bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(&self.bytes)
    }
}

/// What parts the cells of a table, by its first line: spreadsheets of many countries write `;`.
pub(super) fn delimiter(bytes: &[u8]) -> u8 {
    let line = bytes.split(|byte| *byte == b'\n').next().unwrap_or_default();
    [b'\t', b';'].into_iter().find(|mark| line.contains(mark)).unwrap_or(b',')
}

/// What a column of a list is, and the unit that its title gives.
fn key_and_unit(title: &str) -> (String, Option<String>) {
    let (title, unit) = match (title.rfind(['(', '[']), title.strip_suffix([')', ']'])) {
        (Some(at), Some(open)) => (&title[..at], open.get(at + 1..).map(|unit| unit.trim().to_owned())),
        _ => (title, None),
    };
    (slug(title.trim()), unit)
}

/// An item that is the bare name of a block.
fn named_block(key: &str, text: &str, span: Span) -> (Node, Node) {
    let name = text.trim();
    let name = name.strip_prefix("from ").map_or(name, str::trim);
    (Node::scalar(key, span), Node::scalar(name, span))
}

fn name_of(fields: &[(Node, Node)], naming: &[&str]) -> Option<(String, Span)> {
    naming.iter().find_map(|key| {
        fields.iter().find(|(name, _)| name.is_text(key)).and_then(|(_, value)| match &value.value {
            NodeValue::Scalar { text, .. } if !text.trim().is_empty() => {
                Some((text.trim().to_owned(), value.span))
            }
            _ => None,
        })
    })
}
