//! The folder of revisions: each is put there whole, and never written again.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::files::read_file;
use crate::dossier::Past;
use crate::model::sha_256;
use crate::register::{judged_of, results_of};
use crate::revision::{Revision, in_order};
use crate::writeback::Earlier;

/// Where revisions stand in a journal's folder.
pub(super) const REVISIONS: &str = "revisions";

/// What a revision's folder holds beside its other files.
pub(super) const RECORD: &str = "revision.json";

/// Its results as data.
pub(super) const REGISTER: &str = "register.json";

/// The copy of the journal in a revision's folder.
pub(super) const COPY: &str = "journal";

/// The factor of what is printed as ± (JCGM 100:2008, 6.3).
const EXPANDED: f64 = 2.0;

const BEGIN: &str = ".voltwright-";
const END: &str = ".part";

/// A revision that is there.
pub(super) struct Frozen {
    pub(super) folder: PathBuf,
    /// Of its record.
    pub(super) sha256: String,
    pub(super) revision: Revision,
}

/// All revisions of a journal's folder in their order, and what is wrong with those that can't be read.
///
/// Errors: the folder of revisions is there and can't be read.
pub(super) fn revisions(journal: &Path) -> io::Result<(Vec<Frozen>, Vec<String>)> {
    let entries = match fs::read_dir(journal.join(REVISIONS)) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok((Vec::new(), Vec::new())),
        entries => entries?,
    };
    let mut folders: Vec<PathBuf> = entries.map(|entry| Ok(entry?.path())).collect::<io::Result<_>>()?;
    folders.sort();
    let (mut found, mut wrong) = (Vec::new(), Vec::new());
    for folder in folders {
        let name = folder.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if name.starts_with('.') || !folder.is_dir() {
            continue;
        }
        let record = read_file(&folder.join(RECORD)).map_err(|error| error.to_string());
        let read = record.and_then(|bytes| Ok((mark(&bytes), Revision::read(&bytes)?)));
        match read {
            Ok((_, revision)) if revision.revision != name => {
                wrong.push(format!("{REVISIONS}/{name}/{RECORD} is of revision {}", revision.revision));
            }
            Ok((sha256, revision)) => found.push(Frozen { folder, sha256, revision }),
            Err(error) => wrong.push(format!("{REVISIONS}/{name}/{RECORD} can't be read: {error}")),
        }
    }
    let records: Vec<Revision> = found.iter().map(|one| one.revision.clone()).collect();
    let mut found: Vec<Option<Frozen>> = found.into_iter().map(Some).collect();
    let sorted = in_order(&records).into_iter().filter_map(|at| found[at].take()).collect();
    Ok((sorted, wrong))
}

/// What the last revision said that is not the one in the making; `None` where there is none.
pub(super) fn earlier(journal: &Path, making: Option<&str>) -> Option<Earlier> {
    let (found, _) = revisions(journal).ok()?;
    let last = found.into_iter().rfind(|one| making != Some(one.revision.revision.as_str()))?;
    let register = read_file(&last.folder.join(REGISTER)).ok()?;
    let shown = results_of(&register).into_iter().map(|(name, result)| (name, result.shown)).collect();
    Some(Earlier { revision: last.revision.revision, shown })
}

/// What the registers of all revisions say but that of the one in the making, the first of them first.
pub(super) fn past(journal: &Path, making: Option<&str>) -> Vec<Past> {
    let (found, _) = revisions(journal).unwrap_or_default();
    let before = found.into_iter().filter(|one| making != Some(one.revision.revision.as_str()));
    before
        .map(|one| {
            let register = read_file(&one.folder.join(REGISTER)).unwrap_or_default();
            let results = results_of(&register).into_iter();
            Past {
                revision: one.revision.revision,
                date: one.revision.date,
                results: results.map(|(name, one)| (name, (one.si, EXPANDED * one.uncertainty_si))).collect(),
            }
        })
        .collect()
}

/// `block.name` of each requirement that the last revision could judge; none where there is no revision.
pub(super) fn judged_before(journal: &Path) -> BTreeSet<String> {
    let last = revisions(journal).ok().and_then(|(found, _)| found.into_iter().next_back());
    let register = last.and_then(|last| read_file(&last.folder.join(REGISTER)).ok());
    register.map(|register| judged_of(&register)).unwrap_or_default()
}

/// Puts a folder of files there whole: they are made in a folder beside it, flushed to disk, and that is renamed.
pub(super) fn freeze(folder: &Path, files: &[(String, Vec<u8>)]) -> io::Result<()> {
    let above = folder.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(above)?;
    sweep(above);
    let part = above.join(format!("{BEGIN}{}{END}", std::process::id()));
    fs::create_dir(&part)?;
    let held = File::open(&part)?;
    // Where folders can't be locked, nothing of another run is swept either.
    let _ = held.try_lock();
    let done = fill(&part, files).and_then(|()| fs::rename(&part, folder));
    if done.is_err() {
        let _ = fs::remove_dir_all(&part);
    }
    done?;
    let _ = File::open(above).and_then(|above| above.sync_all());
    Ok(())
}

fn fill(part: &Path, files: &[(String, Vec<u8>)]) -> io::Result<()> {
    for (name, bytes) in files {
        let path = part.join(name);
        path.parent().map_or(Ok(()), fs::create_dir_all)?;
        let mut file = File::create_new(path)?;
        file.write_all(bytes)?;
        file.sync_all()?;
    }
    let _ = File::open(part).and_then(|part| part.sync_all());
    Ok(())
}

/// Removes what killed runs have left.
fn sweep(above: &Path) {
    for entry in fs::read_dir(above).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let name = name.as_encoded_bytes();
        let ours = name.starts_with(BEGIN.as_bytes()) && name.ends_with(END.as_bytes());
        if ours
            && entry.file_type().is_ok_and(|kind| kind.is_dir())
            && File::open(entry.path()).is_ok_and(|folder| folder.try_lock().is_ok())
        {
            let _ = fs::remove_dir_all(entry.path());
        }
    }
}

pub(super) fn mark(bytes: &[u8]) -> String {
    // Bytes in memory can always be read.
    sha_256(bytes).unwrap_or_default()
}
