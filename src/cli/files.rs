//! Reads the files of a journal in a fixed order, and replaces one only if it is still what was read.

use std::ffi::OsStr;
use std::fmt;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

use walkdir::{DirEntry, WalkDir};

use crate::findings::{Finding, codes};
use crate::source::{FileId, Source, Sources, Span};

/// Folders at the top of a journal that hold no journal files.
const NOT_JOURNAL: [&str; 3] = ["revisions", "rules", "dossier"];

/// The files of a journal as they were read.
#[derive(Debug)]
pub(crate) struct ReadJournal {
    /// The folder that paths in the journal are relative to.
    pub folder: PathBuf,
    /// In reading order. A file that is not UTF-8 is here up to its first bad byte, so that a finding can
    /// show its place, and is not among `files`.
    pub sources: Sources,
    /// The files to be read and written, in reading order.
    pub files: Vec<JournalFile>,
    pub findings: Vec<Finding>,
}

#[derive(Debug)]
pub(crate) struct JournalFile {
    pub file: FileId,
    /// Where it is on disk.
    pub path: PathBuf,
    /// Every byte of it.
    pub bytes: Vec<u8>,
}

/// A file or folder that can't be read.
#[derive(Debug)]
pub(crate) struct Unreadable {
    pub path: PathBuf,
    pub error: io::Error,
}

/// Why a file was not written; it is as it was.
#[derive(Debug)]
pub(crate) enum WriteRefused {
    ReadOnly(PathBuf),
    /// Somebody has changed it since it was read.
    Changed(PathBuf),
    Failed(PathBuf, io::Error),
}

/// Reads a folder, or one file. The folder that the dossier goes to is skipped, wherever it is.
pub(crate) fn read_journal(journal: &Path, out: Option<&Path>) -> Result<ReadJournal, Unreadable> {
    let trouble = |path: &Path| {
        let path = path.to_owned();
        move |error| Unreadable { path, error }
    };
    let is_folder = fs::metadata(journal).map_err(trouble(journal))?.is_dir();
    let mut read = ReadJournal {
        folder: if is_folder { journal.to_owned() } else { parent(journal) },
        sources: Sources::default(),
        files: Vec::new(),
        findings: Vec::new(),
    };
    let mut paths =
        if is_folder { journal_files(journal, out)? } else { vec![(name(journal), journal.to_owned())] };
    paths.sort();
    for (relative, path) in paths {
        let bytes = fs::read(&path).map_err(trouble(&path))?;
        if u32::try_from(bytes.len()).is_err() {
            let error = io::Error::new(io::ErrorKind::FileTooLarge, "larger than 4 GiB");
            return Err(Unreadable { path, error });
        }
        read.add(relative, path, bytes);
    }
    Ok(read)
}

/// Puts `new` in the place of a file's content, if that is still `expected`: through a temporary file in the
/// same folder that is flushed to disk, gets the permissions of the original and is renamed over it. A
/// symbolic link is followed, not replaced. On failure the original is whole and the temporary file gone.
pub(crate) fn replace(path: &Path, expected: &[u8], new: &[u8]) -> Result<(), WriteRefused> {
    let failed = |error| WriteRefused::Failed(path.to_owned(), error);
    let target = fs::canonicalize(path).map_err(failed)?;
    let original = fs::metadata(&target).map_err(failed)?;
    if original.permissions().readonly() {
        return Err(WriteRefused::ReadOnly(path.to_owned()));
    }
    let (temporary, mut file) = Temporary::beside(&target).map_err(failed)?;
    file.write_all(new).map_err(failed)?;
    keep_owner(&file, &original);
    file.set_permissions(original.permissions()).map_err(failed)?;
    file.sync_all().map_err(failed)?;
    drop(file);
    if fs::read(&target).map_err(failed)? != expected {
        return Err(WriteRefused::Changed(path.to_owned()));
    }
    temporary.rename(&target).map_err(failed)?;
    // The rename itself reaches the disk with the folder; where a folder can't be flushed, that is no failure.
    let _ = fs::File::open(parent(&target)).and_then(|folder| folder.sync_all());
    Ok(())
}

impl ReadJournal {
    fn add(&mut self, relative: String, path: PathBuf, bytes: Vec<u8>) {
        let file = FileId(self.sources.0.len() as u32);
        match std::str::from_utf8(&bytes) {
            Ok(text) => {
                self.sources.0.push(Source::new(relative, text));
                self.files.push(JournalFile { file, path, bytes });
            }
            Err(error) => {
                let good = error.valid_up_to();
                let source =
                    Source::new(relative.clone(), String::from_utf8_lossy(&bytes[..good]).into_owned());
                let line = source.place(good as u32).line;
                self.findings.push(Finding::new(
                    &codes::INVALID_UTF8,
                    Span::new(file, good, good),
                    format!(
                        "line {line} of `{relative}` is not UTF-8: byte {:#04x} can't be read",
                        bytes[good]
                    ),
                    "save the file as UTF-8 in your editor; it is left out until then",
                ));
                self.sources.0.push(source);
            }
        }
    }
}

/// Relative path, with `/`, and path on disk of each Markdown file of a folder.
fn journal_files(folder: &Path, out: Option<&Path>) -> Result<Vec<(String, PathBuf)>, Unreadable> {
    let out = out.and_then(|out| fs::canonicalize(out).ok());
    let is_out = |entry: &DirEntry| match &out {
        Some(out) => fs::canonicalize(entry.path()).is_ok_and(|path| path == *out),
        None => false,
    };
    let wanted = |entry: &DirEntry| {
        let hidden = entry.file_name().as_encoded_bytes().starts_with(b".");
        let listed = entry.depth() == 1 && NOT_JOURNAL.iter().any(|name| entry.file_name() == *name);
        let folder = entry.file_type().is_dir();
        entry.depth() == 0 || !(hidden || folder && (listed || is_out(entry)))
    };
    let mut files = Vec::new();
    for entry in WalkDir::new(folder).into_iter().filter_entry(wanted) {
        let entry = entry.map_err(|error| Unreadable {
            path: error.path().unwrap_or(folder).to_owned(),
            error: error.into_io_error().unwrap_or_else(|| io::Error::other("the folder can't be read")),
        })?;
        let markdown = entry.path().extension().and_then(OsStr::to_str).is_some_and(|extension| {
            extension.eq_ignore_ascii_case("md") || extension.eq_ignore_ascii_case("markdown")
        });
        // A link counts as what it leads to, but a linked folder is not entered.
        let linked_folder = entry.path_is_symlink() && entry.path().is_dir();
        if markdown && !entry.file_type().is_dir() && !linked_folder {
            let relative = entry.path().strip_prefix(folder).unwrap_or(entry.path());
            let parts: Vec<String> =
                relative.components().map(|part| part.as_os_str().to_string_lossy().into_owned()).collect();
            files.push((parts.join("/"), entry.into_path()));
        }
    }
    Ok(files)
}

fn name(path: &Path) -> String {
    path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned()
}

fn parent(path: &Path) -> PathBuf {
    match path.parent() {
        Some(folder) if folder != Path::new("") => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}

/// A temporary file that is gone at the end, unless it was renamed.
struct Temporary(Option<PathBuf>);

impl Temporary {
    /// A new file in the folder of `target` that only its owner can read yet.
    fn beside(target: &Path) -> io::Result<(Temporary, fs::File)> {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let folder = parent(target);
        loop {
            let count = COUNT.fetch_add(1, Ordering::Relaxed);
            let path = folder.join(format!(".voltwright-{}-{count}.part", std::process::id()));
            match private().open(&path) {
                Ok(file) => return Ok((Temporary(Some(path)), file)),
                // One that a killed run has left behind.
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error),
            }
        }
    }

    fn rename(mut self, target: &Path) -> io::Result<()> {
        if let Some(path) = &self.0 {
            fs::rename(path, target)?;
        }
        self.0 = None;
        Ok(())
    }
}

impl Drop for Temporary {
    fn drop(&mut self) {
        if let Some(path) = &self.0 {
            let _ = fs::remove_file(path);
        }
    }
}

#[cfg(unix)]
fn private() -> fs::OpenOptions {
    use std::os::unix::fs::OpenOptionsExt;
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true).mode(0o600);
    options
}

#[cfg(not(unix))]
fn private() -> fs::OpenOptions {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    options
}

/// Where we may, the new file belongs to whom the old one belonged.
#[cfg(unix)]
fn keep_owner(file: &fs::File, original: &fs::Metadata) {
    use std::os::unix::fs::{MetadataExt, fchown};
    let _ = fchown(file, Some(original.uid()), Some(original.gid()));
}

#[cfg(not(unix))]
fn keep_owner(_file: &fs::File, _original: &fs::Metadata) {}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` can't be read: {}", self.path.display(), self.error)
    }
}

impl fmt::Display for WriteRefused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            WriteRefused::ReadOnly(path) => {
                write!(f, "`{}` is read-only and was not written", path.display())
            }
            WriteRefused::Changed(path) => {
                write!(f, "`{}` has changed since it was read and was not written; run again", path.display())
            }
            WriteRefused::Failed(path, error) => {
                write!(f, "`{}` was not written: {error}", path.display())
            }
        }
    }
}

impl std::error::Error for Unreadable {}
impl std::error::Error for WriteRefused {}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::path::{Path, PathBuf};

    use super::{WriteRefused, read_journal, replace};

    /// A folder of its own for one test, gone at the end.
    struct Folder(PathBuf);

    impl Folder {
        fn new(test: &str) -> Folder {
            let path = std::env::temp_dir().join(format!("voltwright-files-{}-{test}", std::process::id()));
            fs::create_dir_all(&path).unwrap();
            Folder(path)
        }

        fn put(&self, path: &str, text: impl AsRef<[u8]>) -> PathBuf {
            let path = self.0.join(path);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(&path, text).unwrap();
            path
        }

        fn names(&self) -> Vec<String> {
            let mut names: Vec<String> =
                fs::read_dir(&self.0).unwrap().map(|entry| super::name(&entry.unwrap().path())).collect();
            names.sort();
            names
        }
    }

    impl Drop for Folder {
        fn drop(&mut self) {
            let _ = fs::remove_dir_all(&self.0);
        }
    }

    fn paths(journal: &Path, out: Option<&Path>) -> Vec<String> {
        read_journal(journal, out).unwrap().sources.0.iter().map(|source| source.path.clone()).collect()
    }

    #[test]
    fn files_are_read_in_bytewise_order_of_their_path() {
        let folder = Folder::new("order");
        for path in ["b.md", "a/z.md", "a.md", "B.markdown", "a-1.md", "notes.txt", "x/rules/y.md"] {
            folder.put(path, "x");
        }
        let expected = ["B.markdown", "a-1.md", "a.md", "a/z.md", "b.md", "x/rules/y.md"];
        assert_eq!(paths(&folder.0, None), expected);
    }

    #[test]
    fn folders_that_are_not_the_journal_are_skipped() {
        let folder = Folder::new("skip");
        for path in
            ["a.md", ".git/b.md", "revisions/c.md", "rules/d.md", "dossier/e.md", "print/f.md", ".g.md"]
        {
            folder.put(path, "x");
        }
        assert_eq!(paths(&folder.0, Some(&folder.0.join("print"))), ["a.md"]);
        assert_eq!(paths(&folder.0, Some(&folder.0.join("none"))), ["a.md", "print/f.md"]);
    }

    #[cfg(unix)]
    #[test]
    fn linked_files_are_read_and_linked_folders_are_not() {
        let folder = Folder::new("links");
        folder.put("x/a.md", "x");
        std::os::unix::fs::symlink(folder.0.join("x"), folder.0.join("y")).unwrap();
        std::os::unix::fs::symlink(folder.0.join("x"), folder.0.join("z.md")).unwrap();
        std::os::unix::fs::symlink(folder.0.join("x/a.md"), folder.0.join("b.md")).unwrap();
        assert_eq!(paths(&folder.0, None), ["b.md", "x/a.md"]);
    }

    #[test]
    fn one_file_is_a_journal() {
        let folder = Folder::new("one");
        folder.put("b.md", "x");
        let path = folder.put("a.md", "\u{feff}x\r\n");
        let read = read_journal(&path, None).unwrap();
        assert_eq!(read.folder, folder.0);
        assert_eq!(read.sources.0.len(), 1);
        assert_eq!(read.files[0].bytes, "\u{feff}x\r\n".as_bytes());
    }

    #[test]
    fn a_file_that_is_not_utf8_is_found_and_left_out() {
        let folder = Folder::new("utf8");
        folder.put("a.md", b"x\ny \xff z\n");
        folder.put("b.md", "x");
        let read = read_journal(&folder.0, None).unwrap();
        assert_eq!(read.files.len(), 1);
        assert_eq!(read.files[0].file.0, 1);
        let finding = &read.findings[0];
        let place = read.sources.place(finding.span.unwrap());
        assert_eq!((finding.code.name, place.line, place.column), ("invalid-utf8", 2, 3));
    }

    #[test]
    fn what_is_not_there_is_named() {
        let error = read_journal(Path::new("no/such/folder"), None).unwrap_err();
        assert!(error.to_string().starts_with("`no/such/folder` can't be read: "), "{error}");
    }

    #[test]
    fn a_file_is_replaced_and_nothing_else_is_left() {
        let folder = Folder::new("replace");
        let path = folder.put("a.md", "old");
        replace(&path, b"old", b"new").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(folder.names(), ["a.md"]);
    }

    #[test]
    fn a_file_that_has_changed_is_not_replaced() {
        let folder = Folder::new("changed");
        let path = folder.put("a.md", "other");
        assert!(matches!(replace(&path, b"old", b"new"), Err(WriteRefused::Changed(_))));
        assert_eq!(fs::read(&path).unwrap(), b"other");
        assert_eq!(folder.names(), ["a.md"]);
    }

    #[test]
    fn a_failure_leaves_no_temporary_file() {
        let folder = Folder::new("failure");
        fs::create_dir(folder.0.join("a.md")).unwrap();
        assert!(matches!(replace(&folder.0.join("a.md"), b"", b"new"), Err(WriteRefused::Failed(..))));
        assert!(matches!(replace(&folder.0.join("b.md"), b"", b"new"), Err(WriteRefused::Failed(..))));
        assert_eq!(folder.names(), ["a.md"]);
    }

    #[cfg(unix)]
    #[test]
    fn permissions_stay_and_a_read_only_file_is_refused() {
        use std::os::unix::fs::PermissionsExt;
        let folder = Folder::new("permissions");
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
        let folder = Folder::new("symlink");
        let real = folder.put("real/a.md", "old");
        let link = folder.0.join("b.md");
        std::os::unix::fs::symlink(&real, &link).unwrap();
        replace(&link, b"old", b"new").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read(&real).unwrap(), b"new");
    }
}
