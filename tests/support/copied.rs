//! Copies of journals that are kept in the repository.

use std::fs;
use std::path::Path;

use crate::program::Folder;

/// A throw-away copy of a folder of the repository, its path given from the top.
pub(crate) fn copy_of(path: &str) -> Folder {
    let folder = Folder::new();
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path), &folder.path);
    folder
}

pub(crate) fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).unwrap_or_else(|fault| panic!("{}: {fault}", from.display())) {
        let entry = entry.expect("an entry");
        let target = to.join(entry.file_name());
        if entry.file_type().expect("a type").is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).expect("a copy");
        }
    }
}
