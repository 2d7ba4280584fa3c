//! Which journal is meant, whether it is one, and how its places are told from where one stands.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};

use super::files::{STANDARD_INPUT, is_markdown};
use crate::findings::{Finding, codes};
use crate::journal::front_of;
use crate::source::{FileId, Source, Sources};
use crate::words::words;

/// An empty file of this name makes a folder a journal.
const MARKER: &str = "voltwright.yaml";

/// How much of a file is read to see whether it has front matter.
const TOP: u64 = 64 * 1024;

/// Bytes of standard input.
const MOST: u64 = 64_000_000;

/// The journal that is named, as it is; else the nearest folder from here upward that is one, else this folder.
pub(super) fn journal(named: Option<&Path>) -> PathBuf {
    if let Some(named) = named {
        return named.to_owned();
    }
    let here = std::env::current_dir().unwrap_or_default();
    let mut up = PathBuf::new();
    for folder in here.ancestors() {
        if is_journal(folder) {
            return if up == Path::new("") { PathBuf::from(".") } else { up };
        }
        up.push("..");
    }
    PathBuf::from(".")
}

pub(super) fn is_standard_input(journal: &Path) -> bool {
    journal == Path::new(STANDARD_INPUT)
}

/// Errors: those of the system, and `FileTooLarge` for what is longer than a journal ever gets, or has no end.
pub(super) fn standard_input() -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    io::stdin().lock().take(MOST + 1).read_to_end(&mut bytes)?;
    match bytes.len() as u64 <= MOST {
        true => Ok(bytes),
        false => Err(io::Error::new(io::ErrorKind::FileTooLarge, "longer than 64 MB")),
    }
}

/// What stands before the path of a file of the journal's folder, seen from where one stands.
pub(super) fn prefix(folder: &Path) -> String {
    let here = std::env::current_dir().unwrap_or_default();
    let seen = folder.strip_prefix(&here).unwrap_or(folder);
    let parts = seen.components().filter(|part| *part != Component::CurDir);
    let mut text = parts.collect::<PathBuf>().display().to_string();
    if !text.is_empty() && !text.ends_with('/') {
        text.push('/');
    }
    text
}

/// Two files with front matter of their own are two journals: a finding at each but the first. `prefix` is what stands
/// before their paths.
pub(super) fn mixed(sources: &Sources, prefix: &str) -> Vec<Finding> {
    let files = sources.0.iter().enumerate();
    let fronts = files.filter_map(|(number, source)| {
        let (span, root) = front_of(FileId(number as u32), &source.text)?;
        // That of the first file is the journal's, whatever it says.
        (root || number == 0).then_some((span, source))
    });
    let mut fronts = fronts.collect::<Vec<_>>().into_iter();
    let Some((_, first)) = fronts.next() else { return Vec::new() };
    fronts
        .map(|(span, source)| {
            Finding::new(
                &codes::TWO_JOURNALS,
                span,
                words!("`{}` begins a journal of its own beside that of `{}`", source.path, first.path),
                words!(
                    "name the folder of one of them: `voltwright work {}`; or remove this front matter, if they are one",
                    alone(prefix, source)
                ),
            )
        })
        .collect()
}

/// What to type for the journal that a file begins.
fn alone(prefix: &str, source: &Source) -> String {
    let path = source.path.rsplit_once('/').map_or(source.path.as_str(), |(folder, _)| folder);
    format!("{prefix}{path}")
}

fn is_journal(folder: &Path) -> bool {
    if folder.join(MARKER).is_file() {
        return true;
    }
    let Ok(entries) = fs::read_dir(folder) else { return false };
    let paths = entries.filter_map(|entry| entry.ok().map(|entry| entry.path()));
    paths.filter(|path| is_markdown(path) && path.is_file()).any(|path| {
        let mut top = Vec::new();
        let read = File::open(&path).and_then(|file| file.take(TOP).read_to_end(&mut top));
        let text = String::from_utf8_lossy(&top);
        read.is_ok() && front_of(FileId(0), &text).is_some_and(|(_, root)| root)
    })
}
