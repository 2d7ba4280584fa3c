//! The documents that values rest on, each shown: pictures, text as it was typed, all else by name and hash.

use std::collections::BTreeMap;
use std::io::Read;

use super::super::piece::{Face, Item, Piece, Rich, Run, Style};
use super::appendix::files;
use super::given::source_id;
use super::{Scene, heading, item, rich, with_id};
use crate::model::is_picture;

/// Of a longer text its first page is shown.
const LINES: usize = 60;
/// No line is told beyond this.
const LONGEST: usize = 400;
/// No more of a file is read.
const LARGEST: u64 = 50_000_000;

/// A file that is named, and by what.
struct Named {
    id: Option<String>,
    title: String,
    hash: String,
    by: Vec<Run>,
}

/// The table of all files with their hashes, and each file once, those of sources by their ids first.
pub(super) fn annex(scene: &Scene<'_>) -> Vec<Item> {
    let Some(table) = files(scene) else { return Vec::new() };
    let mut items = vec![with_id("annex", heading(2, "Annex: the documents"))];
    let text = "Each document that a value, a rule or a block names, as it was when this dossier was made.";
    items.push(item(Piece::Paragraph { style: Style::Small, text: Rich::plain(text) }));
    items.push(table);
    for (path, file) in named(scene) {
        let title = Piece::Heading { level: 4, text: Rich::plain(file.title), listed: false };
        items.push(Item { id: file.id, log: log(file.by), piece: title });
        let name = rich::one(path.as_str(), Face::Code);
        items.push(item(Piece::Paragraph { style: Style::Small, text: name }));
        items.extend(shown(scene, (&path, &file.hash)));
    }
    items
}

fn log(by: Vec<Run>) -> Vec<Rich> {
    if by.is_empty() { Vec::new() } else { vec![rich::join([Rich::plain("read by "), Rich(by)])] }
}

fn named(scene: &Scene<'_>) -> Vec<(String, Named)> {
    let notebook = &scene.given.worked.notebook;
    let mut entries: Vec<_> = notebook.sources.values().collect();
    entries.sort_by_key(|entry| entry.span);
    let mut files: Vec<(String, Named)> = Vec::new();
    for entry in entries {
        let Some((path, hash)) = &entry.file else { continue };
        let title = format!("{}: {}", entry.id, entry.title);
        let id = Some(source_id(&entry.id));
        files.push((path.clone(), Named { id, title, hash: hash.clone(), by: Vec::new() }));
    }
    let mut others: BTreeMap<&str, Named> = BTreeMap::new();
    for block in &notebook.blocks {
        for (path, hash) in &block.files {
            let by = match files.iter_mut().find(|(known, _)| known == path) {
                Some((_, file)) => &mut file.by,
                None => {
                    let title = path.rsplit('/').next().unwrap_or(path).to_owned();
                    let new = || Named { id: None, title, hash: hash.clone(), by: Vec::new() };
                    &mut others.entry(path).or_insert_with(new).by
                }
            };
            by.extend((!by.is_empty()).then(|| rich::text(", ", Face::Plain)));
            by.push(rich::block(&block.name));
        }
    }
    files.extend(others.into_iter().map(|(path, file)| (path.to_owned(), file)));
    files
}

/// What a file holds.
fn shown(scene: &Scene<'_>, (path, hash): (&str, &str)) -> Vec<Item> {
    let mut bytes = Vec::new();
    let read = scene.given.evidence.open(path).map(|file| file.take(LARGEST).read_to_end(&mut bytes));
    if !matches!(read, Ok(Ok(_))) {
        return vec![told("The file can't be read now.")];
    }
    if is_picture(&bytes) {
        return vec![match scene.pictures.get(path, &format!("the document {path}")) {
            Ok(picture) => item(Piece::Picture(picture)),
            Err(why) => item(Piece::NoPicture { text: format!("Picture not shown: {path}. Reason: {why}.") }),
        }];
    }
    match String::from_utf8(bytes) {
        Ok(text) if !text.contains('\0') && !text.starts_with("%PDF-") => first_page(&text),
        Ok(_) | Err(_) => {
            vec![told(&format!("Not shown here: the file goes with this dossier, SHA-256 {hash}."))]
        }
    }
}

fn first_page(text: &str) -> Vec<Item> {
    let count = text.lines().count();
    let line = |line: &str| match line.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &line[..end]),
        None => line.to_owned(),
    };
    let first: Vec<String> = text.lines().take(LINES).map(line).collect();
    let mut items = vec![item(Piece::Code { text: first.join("\n") })];
    items
        .extend((count > LINES).then(|| {
            told(&format!("{} more lines are not printed; the file holds {count}.", count - LINES))
        }));
    items
}

fn told(words: &str) -> Item {
    item(Piece::Paragraph { style: Style::Small, text: Rich::plain(words) })
}
