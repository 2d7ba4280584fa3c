//! Reads the files of a journal in a fixed order.

use std::ffi::OsStr;
use std::fmt;
use std::fs::{self, File, FileType};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use walkdir::{DirEntry, WalkDir};

use crate::findings::{Finding, codes};
use crate::source::{FileId, Source, Sources, Span};
use crate::words::words;

/// Folders that are no journal's, wherever they are: what other programs fill.
const FILLED: [&str; 2] = ["node_modules", "target"];

/// Folders at the top of a journal that hold no journal files.
const NOT_JOURNAL: [&str; 3] = ["revisions", "rules", "dossier"];

/// How standard input is named, and told.
pub(super) const STANDARD_INPUT: &str = "-";

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

/// Reads a folder, or one file. The folder that the dossier goes to is skipped, wherever it is.
pub(crate) fn read_journal(journal: &Path, out: Option<&Path>) -> Result<ReadJournal, Unreadable> {
    let trouble = |path: &Path| {
        let path = path.to_owned();
        move |error| Unreadable { path, error }
    };
    let kind = fs::metadata(journal).map_err(trouble(journal))?.file_type();
    let is_folder = kind.is_dir();
    if let Some(what) = no_file(kind).filter(|_| !is_folder) {
        return Err(trouble(journal)(io::Error::other(format!("it is {what}, not a file"))));
    }
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
        let known = fs::metadata(&path).map_err(trouble(&path))?;
        // A pipe or device would be waited for without end.
        if let Some(what) = no_file(known.file_type()) {
            read.findings.push(Finding::placeless(
                &codes::FILE_UNREADABLE,
                words!("`{}` is {}, not a file, and is left out", relative, what),
                "put a file in its place, or give it a name that does not end in `.md`",
            ));
            continue;
        }
        if u32::try_from(known.len()).is_err() {
            let error = io::Error::new(io::ErrorKind::FileTooLarge, "larger than 4 GiB");
            return Err(Unreadable { path, error });
        }
        let bytes = fs::read(&path).map_err(trouble(&path))?;
        read.add(relative, path, bytes);
    }
    Ok(read)
}

impl ReadJournal {
    /// A journal of one text that comes from no file; what it names lies in the folder where one stands.
    pub(super) fn of_text(bytes: Vec<u8>) -> ReadJournal {
        let mut read = ReadJournal {
            folder: PathBuf::from("."),
            sources: Sources::default(),
            files: Vec::new(),
            findings: Vec::new(),
        };
        read.add(STANDARD_INPUT.to_owned(), PathBuf::from(STANDARD_INPUT), bytes);
        read
    }

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

/// All in a folder that may belong to its journal.
pub(super) fn within(
    folder: &Path,
    out: Option<&Path>,
) -> impl Iterator<Item = walkdir::Result<DirEntry>> + use<> {
    let out = out.and_then(|out| fs::canonicalize(out).ok());
    let is_out = move |entry: &DirEntry| match &out {
        Some(out) => fs::canonicalize(entry.path()).is_ok_and(|path| path == *out),
        None => false,
    };
    let wanted = move |entry: &DirEntry| {
        let hidden = entry.file_name().as_encoded_bytes().starts_with(b".");
        let listed = entry.depth() == 1 && NOT_JOURNAL.iter().any(|name| entry.file_name() == *name)
            || FILLED.iter().any(|name| entry.file_name() == *name);
        let folder = entry.file_type().is_dir();
        entry.depth() == 0 || !(hidden || folder && (listed || is_out(entry)))
    };
    WalkDir::new(folder).into_iter().filter_entry(wanted)
}

/// Relative path, with `/`, and path on disk of each Markdown file of a folder.
fn journal_files(folder: &Path, out: Option<&Path>) -> Result<Vec<(String, PathBuf)>, Unreadable> {
    let mut files = Vec::new();
    for entry in within(folder, out) {
        let entry = entry.map_err(|error| Unreadable {
            path: error.path().unwrap_or(folder).to_owned(),
            error: error.into_io_error().unwrap_or_else(|| io::Error::other("the folder can't be read")),
        })?;
        let markdown = is_markdown(entry.path());
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

pub(super) fn is_markdown(path: &Path) -> bool {
    path.extension().and_then(OsStr::to_str).is_some_and(|extension| {
        extension.eq_ignore_ascii_case("md") || extension.eq_ignore_ascii_case("markdown")
    })
}

fn name(path: &Path) -> String {
    path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned()
}

/// The folder that a file is in.
pub(super) fn parent(path: &Path) -> PathBuf {
    match path.parent() {
        Some(folder) if folder != Path::new("") => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}

/// Opens a file to read it. To open a pipe would be to wait for who writes into it.
///
/// Errors: it can't be read, or is a pipe, a device or the like.
pub(super) fn open_file(path: &Path) -> io::Result<File> {
    match no_file(fs::metadata(path)?.file_type()) {
        Some(what) => Err(io::Error::new(io::ErrorKind::InvalidInput, format!("it is {what}, not a file"))),
        None => File::open(path),
    }
}

/// The same, and reads it whole.
pub(super) fn read_file(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    open_file(path)?.read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// What stands where a file should be, in words; nothing for a file.
pub(super) fn no_file(kind: FileType) -> Option<&'static str> {
    if kind.is_file() {
        return None;
    }
    Some(if kind.is_dir() {
        "a folder"
    } else if kind.is_symlink() {
        "a link"
    } else {
        special(kind)
    })
}

#[cfg(unix)]
fn special(kind: FileType) -> &'static str {
    use std::os::unix::fs::FileTypeExt;
    if kind.is_fifo() {
        "a pipe"
    } else if kind.is_socket() {
        "a socket"
    } else {
        "a device"
    }
}

#[cfg(not(unix))]
fn special(_kind: FileType) -> &'static str {
    "no file"
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` can't be read: {}", self.path.display(), self.error)
    }
}

impl std::error::Error for Unreadable {}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::read_journal;
    use crate::cli::folder_test::Folder;

    fn paths(journal: &Path, out: Option<&Path>) -> Vec<String> {
        read_journal(journal, out).unwrap().sources.0.iter().map(|source| source.path.clone()).collect()
    }

    #[test]
    fn files_are_read_in_bytewise_order_of_their_path() {
        let folder = Folder::new("files-order");
        for path in ["b.md", "a/z.md", "a.md", "B.markdown", "a-1.md", "notes.txt", "x/rules/y.md"] {
            folder.put(path, "x");
        }
        let expected = ["B.markdown", "a-1.md", "a.md", "a/z.md", "b.md", "x/rules/y.md"];
        assert_eq!(paths(&folder.0, None), expected);
    }

    #[test]
    fn folders_that_are_not_the_journal_are_skipped() {
        let folder = Folder::new("files-skip");
        for path in [
            "a.md",
            ".git/b.md",
            "revisions/c.md",
            "rules/d.md",
            "dossier/e.md",
            "print/f.md",
            ".g.md",
            "x/node_modules/h.md",
            "target/i.md",
        ] {
            folder.put(path, "x");
        }
        assert_eq!(paths(&folder.0, Some(&folder.0.join("print"))), ["a.md"]);
        assert_eq!(paths(&folder.0, Some(&folder.0.join("none"))), ["a.md", "print/f.md"]);
    }

    #[cfg(unix)]
    #[test]
    fn linked_files_are_read_and_linked_folders_are_not() {
        let folder = Folder::new("files-links");
        folder.put("x/a.md", "x");
        std::os::unix::fs::symlink(folder.0.join("x"), folder.0.join("y")).unwrap();
        std::os::unix::fs::symlink(folder.0.join("x"), folder.0.join("z.md")).unwrap();
        std::os::unix::fs::symlink(folder.0.join("x/a.md"), folder.0.join("b.md")).unwrap();
        assert_eq!(paths(&folder.0, None), ["b.md", "x/a.md"]);
    }

    #[test]
    fn one_file_is_a_journal() {
        let folder = Folder::new("files-one");
        folder.put("b.md", "x");
        let path = folder.put("a.md", "\u{feff}x\r\n");
        let read = read_journal(&path, None).unwrap();
        assert_eq!(read.folder, folder.0);
        assert_eq!(read.sources.0.len(), 1);
        assert_eq!(read.files[0].bytes, "\u{feff}x\r\n".as_bytes());
    }

    #[test]
    fn a_file_that_is_not_utf8_is_found_and_left_out() {
        let folder = Folder::new("files-utf8");
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
}
