//! Reads the files that a journal names, inside its folder only.

use std::collections::HashMap;
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use crate::model::{Evidence, EvidenceFault};

type Found = Result<Arc<[u8]>, EvidenceFault>;

/// The journal folder; each file is read once.
pub(crate) struct Folder {
    root: PathBuf,
    read: Mutex<HashMap<String, Found>>,
}

impl Folder {
    pub(crate) fn new(root: &Path) -> Folder {
        Folder { root: root.to_owned(), read: Mutex::default() }
    }

    fn fetch(&self, path: &str) -> Found {
        let relative = Path::new(path);
        let inside =
            relative.components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
        if !inside || path.is_empty() {
            return Err(EvidenceFault::Outside);
        }
        let full = self.root.join(relative);
        if !full.exists() {
            return Err(EvidenceFault::Missing);
        }
        // A link may lead out of the folder even where the path does not.
        let unreadable = |error: std::io::Error| EvidenceFault::Unreadable(error.to_string());
        let real = full.canonicalize().map_err(unreadable)?;
        let root = self.root.canonicalize().map_err(unreadable)?;
        if !real.starts_with(&root) {
            return Err(EvidenceFault::Outside);
        }
        if !real.is_file() {
            return Err(EvidenceFault::Unreadable("it is no file".to_owned()));
        }
        std::fs::read(&real).map(Arc::from).map_err(unreadable)
    }
}

impl Evidence for Folder {
    fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        // A panic elsewhere leaves a map that holds whole entries.
        let mut read = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = read.get(path) {
            return known.clone();
        }
        let found = self.fetch(path);
        read.insert(path.to_owned(), found.clone());
        found
    }
}
