//! Pictures of the prose and of the documents, made ready for both printers: each is decoded once, and a large
//! one is kept in the size that it is printed at.

use std::collections::HashMap;
use std::io::Read;

use super::super::layout::picture_room;
use super::super::piece::{Paper, Picture};
use super::decode::ready;
use crate::compile::Worked;
use crate::findings::{Finding, codes};
use crate::model::{BlockEntry, Evidence, is_picture, picture_path, pictures_of};
use crate::source::{Sources, Span};
use crate::words::words;

/// Pixels for each point of the column: 300 to the inch, so that what is written on a plate can be read.
const DENSE: f64 = 300.0 / 72.0;
/// The largest file that is read.
const LARGEST: u64 = 200_000_000;

/// By path, what is shown; or why nothing can be.
#[derive(Clone)]
pub(in crate::dossier) struct Pictures {
    all: HashMap<String, Result<Picture, String>>,
    paper: Paper,
}

impl Pictures {
    /// Makes every picture ready, one by one, for a photograph takes much room while it is decoded. What is no picture at
    /// all has been found when the journal was read; what else can't be shown is found here. What `before` has is not made
    /// again.
    pub(super) fn new(
        (worked, sources): (&Worked, &Sources),
        evidence: &dyn Evidence,
        paper: Paper,
        before: Option<&Pictures>,
    ) -> (Pictures, Vec<Finding>) {
        let before = before.filter(|before| before.paper == paper);
        let most = most_pixels(paper);
        let mut all = HashMap::new();
        let mut findings = Vec::new();
        for Asked { path, name, span } in asked(worked, sources) {
            if all.contains_key(&path) {
                continue;
            }
            let before = before.and_then(|before| before.all.get(&path).cloned());
            let made =
                before.or_else(|| Some(picture_bytes(evidence, &path)?.and_then(|bytes| ready(bytes, most))));
            let Some(made) = made else { continue };
            if let Err(why) = &made {
                let message = words!("the picture `{}` can't be shown: {}", name, why);
                let help = "save it again as PNG or JPEG from the program that you look at it with";
                findings.push(Finding::new(&codes::MISSING_PICTURE, span, message, help));
            }
            all.insert(path, made);
        }
        (Pictures { all, paper }, findings)
    }

    /// What is shown for the picture of this path.
    pub(super) fn get(&self, path: &str, alt: &str) -> Result<Picture, String> {
        match self.all.get(path) {
            Some(Ok(picture)) => Ok(Picture { alt: alt.to_owned(), ..picture.clone() }),
            Some(Err(why)) => Err(why.clone()),
            None => Err(NOT_THERE.to_owned()),
        }
    }
}

/// A file that may be a picture, as it is named.
struct Asked {
    path: String,
    name: String,
    span: Span,
}

/// What the prose shows, then what the annex does: documents of sources, and files of blocks.
fn asked(worked: &Worked, sources: &Sources) -> Vec<Asked> {
    let notebook = &worked.notebook;
    let mut all = Vec::new();
    for journal in &worked.journals {
        let here = &sources.get(journal.file).path;
        let names = pictures_of(journal).into_iter();
        all.extend(names.filter_map(|one| {
            Some(Asked {
                path: picture_path(here, one.address)?,
                name: one.address.to_owned(),
                span: one.span,
            })
        }));
    }
    let mut documents: Vec<_> = notebook.sources.values().collect();
    documents.sort_by_key(|one| one.span);
    let document = |path: &String, span| Asked { path: path.clone(), name: path.clone(), span };
    all.extend(documents.iter().filter_map(|one| Some(document(&one.file.as_ref()?.0, one.span))));
    let files = |block: &BlockEntry| {
        let span = block.name_span;
        block.files.keys().map(|path| document(path, span)).collect::<Vec<_>>()
    };
    all.extend(notebook.blocks.iter().flat_map(files));
    all
}

/// The most pixels across and down that are printed.
fn most_pixels(paper: Paper) -> (u32, u32) {
    let (width, height) = picture_room(paper);
    ((width * DENSE) as u32, (height * DENSE) as u32)
}

/// Why a picture is not shown that the journal folder does not hold.
pub(super) const NOT_THERE: &str = "it is no PNG or JPEG file of the journal folder";

/// The whole file, if it begins as a picture does.
fn picture_bytes(evidence: &dyn Evidence, path: &str) -> Option<Result<Vec<u8>, String>> {
    let mut file = evidence.open(path).ok()?;
    let mut bytes = Vec::new();
    file.by_ref().take(8).read_to_end(&mut bytes).ok().filter(|_| is_picture(&bytes))?;
    Some(match file.take(LARGEST).read_to_end(&mut bytes) {
        Err(error) => Err(format!("it can't be read: {error}")),
        Ok(_) if bytes.len() as u64 >= LARGEST => Err("it is too large: over 200 MB".to_owned()),
        Ok(_) => Ok(bytes),
    })
}
