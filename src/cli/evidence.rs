//! Reads the files that a journal names, inside its folder only.

use std::collections::{BTreeSet, HashMap};
use std::fs::File;
use std::io::Read;
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use super::files::{is_markdown, open_file};
use super::frozen::judged_before;
use crate::dossier::date;
use crate::model::{Evidence, EvidenceFault, sha_256};

/// What was found of each path.
type Known<T> = Mutex<HashMap<String, Result<T, EvidenceFault>>>;

/// Seconds by which a day begins earlier than in UTC where it begins first: nobody is told that today is to come.
const AHEAD: i64 = 14 * 3_600;

/// The journal folder; each file is read once, and hashed once.
pub(crate) struct Folder {
    root: PathBuf,
    /// Where files are looked for that are not in it.
    other: Option<PathBuf>,
    today: String,
    read: Known<Arc<[u8]>>,
    hashed: Known<String>,
}

impl Folder {
    /// `stamp` is in seconds since 1970 UTC.
    pub(crate) fn new(root: &Path, stamp: i64) -> Folder {
        let today = date(stamp + AHEAD);
        let (read, hashed) = (Mutex::default(), Mutex::default());
        Folder { root: root.to_owned(), other: None, today, read, hashed }
    }

    /// A copy of a journal that leaves some files where they are: what is not in it is looked for in `other`.
    pub(crate) fn else_in(self, other: &Path) -> Folder {
        Folder { other: Some(other.to_owned()), ..self }
    }

    /// The same folder when only Markdown files of it have changed.
    pub(super) fn without_markdown(self) -> Folder {
        fn keep<T>(known: &Known<T>) {
            let mut known = known.lock().unwrap_or_else(PoisonError::into_inner);
            known.retain(|path, _| !is_markdown(Path::new(path)));
        }
        keep(&self.read);
        keep(&self.hashed);
        self
    }

    fn find(&self, path: &str) -> Result<File, EvidenceFault> {
        match (Folder::find_in(&self.root, path), &self.other) {
            (Err(EvidenceFault::Missing), Some(other)) => Folder::find_in(other, path),
            (found, _) => found,
        }
    }

    fn find_in(root: &Path, path: &str) -> Result<File, EvidenceFault> {
        let relative = Path::new(path);
        let inside =
            relative.components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
        if !inside || path.is_empty() {
            return Err(EvidenceFault::Outside);
        }
        let full = root.join(relative);
        if !full.exists() {
            return Err(EvidenceFault::Missing);
        }
        // A link may lead out of the folder even where the path does not.
        let real = full.canonicalize().map_err(EvidenceFault::of)?;
        let root = root.canonicalize().map_err(EvidenceFault::of)?;
        if !real.starts_with(&root) {
            return Err(EvidenceFault::Outside);
        }
        open_file(&real).map_err(EvidenceFault::of)
    }
}

impl Evidence for Folder {
    fn today(&self) -> Option<&str> {
        Some(&self.today)
    }

    fn judged_before(&self) -> BTreeSet<String> {
        judged_before(&self.root)
    }

    fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        once(&self.read, path, || {
            let mut bytes = Vec::new();
            self.find(path)?.read_to_end(&mut bytes).map_err(EvidenceFault::of)?;
            Ok(Arc::from(bytes))
        })
    }

    fn open(&self, path: &str) -> Result<Box<dyn Read>, EvidenceFault> {
        Ok(Box::new(self.find(path)?))
    }

    fn sha_256(&self, path: &str) -> Result<String, EvidenceFault> {
        once(&self.hashed, path, || sha_256(self.find(path)?).map_err(EvidenceFault::of))
    }
}

fn once<T: Clone>(
    known: &Known<T>,
    path: &str,
    find: impl FnOnce() -> Result<T, EvidenceFault>,
) -> Result<T, EvidenceFault> {
    // A panic elsewhere leaves a map that holds whole entries.
    let mut known = known.lock().unwrap_or_else(PoisonError::into_inner);
    known.entry(path.to_owned()).or_insert_with(find).clone()
}
