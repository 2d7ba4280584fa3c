//! What a revision and a hand-over are made of: the journal as it stands on disk, its papers, its files and evidence.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use super::arguments::{Saying, Writing};
use super::frozen::{COPY, past};
use super::moved_since::since_last;
use super::work::{Asked, Opened, open, stale, tell, write_back};
use super::{Ended, complain};
use crate::blocks::SOURCES;
use crate::compile;
use crate::dossier::{Given, Made, Since, build};
use crate::model::{Evidence, PictureName, picture_path, pictures_of};
use crate::source::Span;

const KEPT: Writing = Writing { overwrite_edits: false, drop_orphans: false };

/// The journal, worked and written back, as it now stands on disk and without errors; else it is not `done`.
pub(super) fn settled(journal: &Path, saying: Saying, done: &str) -> Result<Opened, Ended> {
    let asked = Asked { journal, out: None, draws: None, saying };
    let mut opened = open(&asked)?;
    if !opened.worked.has_errors() {
        let wrote = write_back(&mut opened, &KEPT);
        if wrote.trouble {
            return Err(Ended::FileTrouble);
        }
        opened = open(&asked)?;
    }
    let stale = stale(&mut opened, &KEPT);
    if opened.worked.has_errors() || !stale.is_empty() {
        tell(&opened, false, &stale);
        complain(&match stale.first().filter(|_| !opened.worked.has_errors()) {
            Some(file) => format!("not {done}, for the results in {file} are not as worked\n"),
            None => format!("not {done}, for the journal has errors\n"),
        });
        return Err(Ended::Wanting);
    }
    Ok(opened)
}

/// Its papers; what is found by printing joins the findings.
pub(super) fn printed(opened: &mut Opened, stamp: i64, despite: Option<&str>) -> Made {
    opened.worked.reports();
    let since = since_last(opened);
    let past = past(&opened.read.folder, opened.worked.notebook.front.revision.as_deref());
    let made = build(&Given {
        worked: &opened.worked,
        sources: &opened.read.sources,
        evidence: &opened.evidence,
        stamp,
        despite,
        moves: since.as_ref().map(|(told, moves)| Since { told, moves }),
        past: &past,
    });
    opened.worked.findings.extend(made.findings.iter().cloned());
    compile::sort(&mut opened.worked.findings);
    made
}

/// The journal's own files and others of its folder, by the paths that copies of them have.
///
/// Errors: one of them can't be read any more.
pub(super) fn copies<'a>(
    opened: &Opened,
    others: impl IntoIterator<Item = &'a String>,
) -> Result<Vec<(String, Vec<u8>)>, String> {
    let place = |path: &str| format!("{COPY}/{path}");
    let own = opened.read.files.iter();
    let mut files: BTreeMap<String, Vec<u8>> =
        own.map(|file| (place(&opened.read.sources.get(file.file).path), file.bytes.clone())).collect();
    for path in others {
        let bytes = opened.evidence.read(path).map_err(|fault| fault.told(path).to_string())?;
        files.entry(place(path)).or_insert_with(|| bytes.to_vec());
    }
    Ok(files.into_iter().collect())
}

/// The files that values and rules are read from; the documents that a block of sources names are none.
pub(super) fn read_from(opened: &Opened) -> BTreeSet<&String> {
    let notebook = &opened.worked.notebook;
    let blocks = notebook.blocks.iter().filter(|block| block.kind.name != SOURCES.name);
    blocks.flat_map(|block| block.files.keys()).chain(notebook.pack_files.keys()).collect()
}

/// The pictures and documents that values are not read from, by their hash.
pub(super) fn shown(opened: &Opened) -> BTreeMap<String, String> {
    let notebook = &opened.worked.notebook;
    let documents = notebook.sources.values().filter_map(|source| source.file.clone());
    let mut all: BTreeMap<String, String> = documents.collect();
    let hashed = |(path, _): (String, Span)| opened.evidence.sha_256(&path).ok().map(|hash| (path, hash));
    all.extend(pictures(opened).filter_map(hashed));
    read_from(opened).iter().for_each(|path| drop(all.remove(*path)));
    all
}

/// The pictures of the prose, each with the place where it is named.
pub(super) fn pictures(opened: &Opened) -> impl Iterator<Item = (String, Span)> {
    opened.worked.journals.iter().flat_map(|journal| {
        let here = &opened.read.sources.get(journal.file).path;
        let path = |one: PictureName<'_>| Some((picture_path(here, one.address)?, one.span));
        pictures_of(journal).into_iter().filter_map(path)
    })
}
