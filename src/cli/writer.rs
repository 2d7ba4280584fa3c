//! Writes files whole or not at all: each is made beside its place, flushed to disk, and renamed over it.

use std::fs::{self, File, Metadata, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

use super::files::{no_file, parent};

/// Why a file was not written; it is as it was.
#[derive(Debug)]
pub(super) enum WriteRefused {
    ReadOnly(PathBuf),
    /// Somebody has changed it since it was read.
    Changed(PathBuf),
    /// What stands in its place, in words.
    NoFile(PathBuf, &'static str),
    Failed(PathBuf, io::Error),
}

/// Puts `new` in the place of a file's content, if that is still `expected`. A symbolic link is followed, not replaced;
/// owner, permissions and extended attributes stay. On failure the original is whole and nothing is left behind. Gives
/// how many other names the file had: they keep the old content.
pub(super) fn replace(path: &Path, expected: &[u8], new: &[u8]) -> Result<u64, WriteRefused> {
    let failed = |error| WriteRefused::Failed(path.to_owned(), error);
    let target = fs::canonicalize(path).map_err(failed)?;
    let original = fs::metadata(&target).map_err(failed)?;
    if original.permissions().readonly() {
        return Err(WriteRefused::ReadOnly(path.to_owned()));
    }
    let made = Temporary::made(&target, Some(&original), new).map_err(failed)?;
    let now = fs::read(&target).map_err(failed)?;
    if now == new {
        // Another working of the journal was faster.
        return Ok(0);
    }
    if now != expected {
        return Err(WriteRefused::Changed(path.to_owned()));
    }
    made.rename(&target).map_err(failed)?;
    flush(&parent(&target));
    Ok(other_names(&original))
}

/// Whether files of these names can be put into a folder: whatever stands there already is a plain file.
pub(super) fn may_put(folder: &Path, names: &[&str]) -> Result<(), WriteRefused> {
    for name in names {
        original(&folder.join(name))?;
    }
    Ok(())
}

/// Puts files into a folder: all are made before the first is renamed, so that a full disk leaves the old ones. Nothing
/// is followed there, and what had a second name is parted from it.
pub(super) fn put(folder: &Path, files: &[(&str, &[u8])]) -> Result<(), WriteRefused> {
    fs::create_dir_all(folder).map_err(|error| WriteRefused::Failed(folder.to_owned(), error))?;
    let mut all = Vec::new();
    for (name, bytes) in files {
        let target = folder.join(name);
        let made = Temporary::made(&target, original(&target)?.as_ref(), bytes);
        all.push((made.map_err(|error| WriteRefused::Failed(target.clone(), error))?, target));
    }
    for (made, target) in all {
        made.rename(&target).map_err(|error| WriteRefused::Failed(target, error))?;
    }
    flush(folder);
    Ok(())
}

/// Removes what killed runs have left in a folder.
pub(super) fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let name = name.as_encoded_bytes();
        let ours = name.starts_with(BEGIN.as_bytes()) && name.ends_with(END.as_bytes());
        if !ours || !entry.file_type().is_ok_and(|kind| kind.is_file()) {
            continue;
        }
        // Whoever still writes it holds its lock.
        if let Ok(file) = File::open(entry.path())
            && file.try_lock().is_ok()
        {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// What is known of the plain file at a place, if there is one. Anything else there is refused.
fn original(target: &Path) -> Result<Option<Metadata>, WriteRefused> {
    match fs::symlink_metadata(target) {
        Ok(known) => match no_file(known.file_type()) {
            Some(what) => Err(WriteRefused::NoFile(target.to_owned(), what)),
            None if known.permissions().readonly() => Err(WriteRefused::ReadOnly(target.to_owned())),
            None => Ok(Some(known)),
        },
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(WriteRefused::Failed(target.to_owned(), error)),
    }
}

/// A rename reaches the disk with its folder; where a folder can't be flushed, that is no failure.
fn flush(folder: &Path) {
    let _ = File::open(folder).and_then(|folder| folder.sync_all());
}

const BEGIN: &str = ".voltwright-";
const END: &str = ".part";

/// A temporary file that is gone at the end, unless it was renamed. Its lock says that it has an owner.
struct Temporary {
    path: Option<PathBuf>,
    file: File,
}

impl Temporary {
    /// The whole content on disk, in the folder of `target`, with what `original` was beside its content.
    fn made(target: &Path, original: Option<&Metadata>, bytes: &[u8]) -> io::Result<Temporary> {
        let mut made = Temporary::beside(target, original.is_some())?;
        made.file.write_all(bytes)?;
        if let Some(original) = original {
            keep_owner(&made.file, original);
            keep_attributes(&made.file, target);
            made.file.set_permissions(original.permissions())?;
        }
        made.file.sync_all()?;
        Ok(made)
    }

    /// A new file that only its owner can read yet where it takes the place of another.
    fn beside(target: &Path, in_place: bool) -> io::Result<Temporary> {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let folder = parent(target);
        loop {
            let count = COUNT.fetch_add(1, Ordering::Relaxed);
            let path = folder.join(format!("{BEGIN}{}-{count}{END}", std::process::id()));
            let mut options = File::options();
            options.write(true).create_new(true);
            if in_place {
                private(&mut options);
            }
            let file = match options.open(&path) {
                Ok(file) => file,
                // One that a killed run has left behind.
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => continue,
                Err(error) => return Err(error),
            };
            let made = Temporary { path: Some(path), file };
            // Between its making and its locking another run may have swept it away.
            let locked = !matches!(made.file.try_lock(), Err(TryLockError::WouldBlock));
            if locked && made.path.as_ref().is_some_and(|path| path.exists()) {
                return Ok(made);
            }
        }
    }

    fn rename(mut self, target: &Path) -> io::Result<()> {
        if let Some(path) = &self.path {
            fs::rename(path, target)?;
        }
        self.path = None;
        Ok(())
    }
}

impl Drop for Temporary {
    fn drop(&mut self) {
        if let Some(path) = &self.path {
            let _ = fs::remove_file(path);
        }
    }
}

#[cfg(unix)]
fn private(options: &mut fs::OpenOptions) {
    use std::os::unix::fs::OpenOptionsExt;
    options.mode(0o600);
}

/// Where we may, the new file belongs to whom the old one belonged.
#[cfg(unix)]
fn keep_owner(file: &File, original: &Metadata) {
    use std::os::unix::fs::{MetadataExt, fchown};
    let _ = fchown(file, Some(original.uid()), Some(original.gid()));
}

/// Where we may: some are the system's own.
#[cfg(unix)]
fn keep_attributes(file: &File, original: &Path) {
    use xattr::FileExt;
    for name in xattr::list(original).into_iter().flatten() {
        if let Ok(Some(value)) = xattr::get(original, &name) {
            let _ = file.set_xattr(&name, &value);
        }
    }
}

#[cfg(unix)]
fn other_names(original: &Metadata) -> u64 {
    use std::os::unix::fs::MetadataExt;
    original.nlink().saturating_sub(1)
}

#[cfg(not(unix))]
fn private(_options: &mut fs::OpenOptions) {}

#[cfg(not(unix))]
fn keep_owner(_file: &File, _original: &Metadata) {}

#[cfg(not(unix))]
fn keep_attributes(_file: &File, _original: &Path) {}

#[cfg(not(unix))]
fn other_names(_original: &Metadata) -> u64 {
    0
}

impl std::fmt::Display for WriteRefused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            WriteRefused::ReadOnly(path) => write!(
                f,
                "{} is read-only and was left as it is: make it writable and run this again",
                path.display()
            ),
            WriteRefused::Changed(path) => {
                write!(f, "{} was changed meanwhile and was left as it is: run this again", path.display())
            }
            WriteRefused::NoFile(path, what) => write!(
                f,
                "{} is {what}, not a file, and was left as it is: remove it, or name another folder with `--out`",
                path.display()
            ),
            WriteRefused::Failed(path, error) => {
                write!(f, "{} could not be written and is as it was: {error}", path.display())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::{WriteRefused, replace};
    use crate::cli::folder_test::Folder;

    #[test]
    fn a_file_is_replaced_and_nothing_else_is_left() {
        let folder = Folder::new("writer-replace");
        let path = folder.put("a.md", "old");
        replace(&path, b"old", b"new").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(folder.names(), ["a.md"]);
    }

    #[test]
    fn a_file_that_has_changed_is_not_replaced() {
        let folder = Folder::new("writer-changed");
        let path = folder.put("a.md", "other");
        assert!(matches!(replace(&path, b"old", b"new"), Err(WriteRefused::Changed(_))));
        assert_eq!(fs::read(&path).unwrap(), b"other");
        assert_eq!(folder.names(), ["a.md"]);
    }

    #[test]
    fn a_failure_leaves_no_temporary_file() {
        let folder = Folder::new("writer-failure");
        fs::create_dir(folder.0.join("a.md")).unwrap();
        assert!(matches!(replace(&folder.0.join("a.md"), b"", b"new"), Err(WriteRefused::Failed(..))));
        assert!(matches!(replace(&folder.0.join("b.md"), b"", b"new"), Err(WriteRefused::Failed(..))));
        assert_eq!(folder.names(), ["a.md"]);
    }

    #[cfg(unix)]
    #[test]
    fn permissions_stay_and_a_read_only_file_is_refused() {
        use std::os::unix::fs::PermissionsExt;
        let folder = Folder::new("writer-permissions");
        let path = folder.put("a.md", "old");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        replace(&path, b"old", b"new").unwrap();
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o7777, 0o640);
        fs::set_permissions(&path, fs::Permissions::from_mode(0o440)).unwrap();
        assert!(matches!(replace(&path, b"new", b"newer"), Err(WriteRefused::ReadOnly(_))));
        assert_eq!(fs::read(&path).unwrap(), b"new");
    }

    #[cfg(unix)]
    #[test]
    fn a_symbolic_link_is_followed_and_not_replaced() {
        let folder = Folder::new("writer-symlink");
        let real = folder.put("real/a.md", "old");
        let link = folder.0.join("b.md");
        std::os::unix::fs::symlink(&real, &link).unwrap();
        replace(&link, b"old", b"new").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read(&real).unwrap(), b"new");
    }
}
