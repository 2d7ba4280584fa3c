//! `issue --verify`: whether the frozen revisions are as they were issued.

use std::path::Path;

use walkdir::WalkDir;

use super::files::open_file;
use super::frozen::{Frozen, RECORD, REVISIONS, revisions};
use super::{Ended, say};
use crate::model::sha_256;

pub(super) fn verify(journal: &Path) -> Result<Ended, Ended> {
    let (found, mut touched) = revisions(journal)
        .map_err(|error| Ended::FileTrouble.because(format!("{REVISIONS} can't be read: {error}")))?;
    if found.is_empty() && touched.is_empty() {
        say("no revision was issued yet\n");
        return Ok(Ended::Done);
    }
    for one in &found {
        touched.extend(of_files(one));
        touched.extend(of_previous(one, &found));
    }
    // Two that follow the same one: a revision between them was taken away, or its record was written anew.
    let of = |one: &Frozen| one.revision.previous.as_ref().map(|previous| previous.revision.clone());
    for (at, one) in found.iter().enumerate() {
        if let Some(other) = found[..at].iter().find(|other| of(other) == of(one)) {
            let (name, other) = (&one.revision.revision, &other.revision.revision);
            let follow = of(one).map_or_else(|| "no other".to_owned(), |name| format!("revision {name}"));
            touched.push(format!("revisions {other} and {name} both follow {follow}"));
        }
    }
    for one in &found {
        for path in no_longer(journal, one) {
            say(&format!("{path} is no longer as revision {} names it\n", one.revision.revision));
        }
    }
    touched.iter().for_each(|line| say(&format!("touched: {line}\n")));
    if !touched.is_empty() {
        return Ok(Ended::Wanting);
    }
    let names: Vec<&str> = found.iter().map(|one| one.revision.revision.as_str()).collect();
    say(&format!("untouched: {}\n", names.join(", ")));
    Ok(Ended::Done)
}

/// Files that are not as they were frozen, are gone, or came later.
fn of_files(one: &Frozen) -> Vec<String> {
    let place = |name: &str| format!("{REVISIONS}/{}/{name}", one.revision.revision);
    let mut touched = Vec::new();
    for (name, known) in &one.revision.files {
        match open_file(&one.folder.join(name)).and_then(sha_256) {
            Ok(now) if now == *known => {}
            Ok(_) => touched.push(format!("{} was changed", place(name))),
            Err(error) => touched.push(format!("{} can't be read: {error}", place(name))),
        }
    }
    for entry in WalkDir::new(&one.folder).sort_by_file_name().into_iter().flatten() {
        let path = entry.path().strip_prefix(&one.folder).unwrap_or(entry.path());
        let parts: Vec<String> =
            path.components().map(|part| part.as_os_str().to_string_lossy().into_owned()).collect();
        let name = parts.join("/");
        if !entry.file_type().is_dir() && name != RECORD && !one.revision.files.contains_key(&name) {
            touched.push(format!("{} was added", place(&name)));
        }
    }
    touched
}

/// Whether the revision that it follows is still the one that it followed.
fn of_previous(one: &Frozen, all: &[Frozen]) -> Option<String> {
    let previous = one.revision.previous.as_ref()?;
    let name = &one.revision.revision;
    match all.iter().find(|other| other.revision.revision == previous.revision) {
        Some(other) if other.sha256 == previous.sha256 => None,
        Some(_) => Some(format!(
            "{REVISIONS}/{}/{RECORD} is not the one that revision {name} follows",
            previous.revision
        )),
        None => Some(format!("{REVISIONS}/{} is gone, which revision {name} follows", previous.revision)),
    }
}

/// Pictures and documents of the journal that are no longer what a revision rests on. That is told, and is no fault of
/// the revision.
pub(super) fn no_longer(journal: &Path, one: &Frozen) -> Vec<String> {
    let now = |path: &String| open_file(&journal.join(path)).and_then(sha_256);
    let differs =
        one.revision.evidence.iter().filter(|(path, known)| now(path).ok().as_ref() != Some(*known));
    differs.map(|(path, _)| path.clone()).collect()
}
