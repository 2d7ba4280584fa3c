//! What stands in the journal's folder, and whether that is still what was last read or written.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Component, Path, PathBuf};
use std::time::SystemTime;

use super::super::files::{JournalFile, parent, read_file, within};

/// Size and time of a file that is not read as part of the journal.
type Mark = (u64, Option<SystemTime>);

pub(super) struct Disk {
    folder: PathBuf,
    /// The journal's files as they were read, or written since.
    journal: BTreeMap<PathBuf, Vec<u8>>,
    others: BTreeMap<PathBuf, Mark>,
}

impl Disk {
    pub(super) fn new(journal: &Path) -> Disk {
        let folder = if journal.is_dir() { journal.to_owned() } else { parent(journal) };
        Disk { folder, journal: BTreeMap::new(), others: BTreeMap::new() }
    }

    /// Every folder that a file of the journal may lie in, those that files are linked to from here included.
    pub(super) fn folders(&self) -> Vec<PathBuf> {
        let entries = within(&self.folder, None).flatten();
        let own = entries.filter(|entry| entry.file_type().is_dir()).map(|entry| entry.into_path());
        let real = self.journal.keys().filter_map(|path| Some(parent(&fs::canonicalize(path).ok()?)));
        let mut all: Vec<PathBuf> = own.chain(real).collect();
        all.sort();
        all.dedup();
        all
    }

    /// Looks at all that is not the journal's own text, before that is read; whether it is as it was.
    pub(super) fn look(&mut self) -> bool {
        let others = self.others();
        let same = others == self.others;
        self.others = others;
        same
    }

    /// The journal's files hold this now.
    pub(super) fn know(&mut self, files: &[JournalFile]) {
        self.journal = files.iter().map(|file| (plain(&file.path), file.bytes.clone())).collect();
        self.others.retain(|path, _| !self.journal.contains_key(path));
    }

    pub(super) fn is_changed(&self) -> bool {
        let other = |(path, known): (&PathBuf, &Vec<u8>)| !read_file(path).is_ok_and(|bytes| bytes == *known);
        self.journal.iter().any(other) || self.others() != self.others
    }

    fn others(&self) -> BTreeMap<PathBuf, Mark> {
        let files = within(&self.folder, None).flatten().filter(|entry| !entry.file_type().is_dir());
        let mark = |path: &Path| {
            let known = fs::metadata(path).ok();
            known.map_or((0, None), |known| (known.len(), known.modified().ok()))
        };
        files
            .map(|entry| plain(entry.path()))
            .filter(|path| !self.journal.contains_key(path))
            .map(|path| {
                let mark = mark(&path);
                (path, mark)
            })
            .collect()
    }
}

/// `./a.md` is `a.md`.
fn plain(path: &Path) -> PathBuf {
    path.components().filter(|part| *part != Component::CurDir).collect()
}
