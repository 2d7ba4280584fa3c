//! A folder for tests of what is read from the disk and written to it.

use std::fs;
use std::path::PathBuf;

/// A folder of its own for one test, gone at the end.
pub(super) struct Folder(pub(super) PathBuf);

impl Folder {
    /// `test` is a name that no other test uses.
    pub(super) fn new(test: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("voltwright-{}-{test}", std::process::id()));
        fs::create_dir_all(&path).unwrap();
        Folder(path)
    }

    pub(super) fn put(&self, path: &str, text: impl AsRef<[u8]>) -> PathBuf {
        let path = self.0.join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, text).unwrap();
        path
    }

    pub(super) fn names(&self) -> Vec<String> {
        let entries = fs::read_dir(&self.0).unwrap();
        let mut names: Vec<String> =
            entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}
