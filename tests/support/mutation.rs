//! Journals of the repository with a few bytes or lines changed, from a seed that is printed where a case fails.

use std::fs;
use std::path::{Path, PathBuf};

use crate::chance::Chance;

/// Every journal that is kept, but the longest: demos, reference pages, and those with mistakes.
pub(crate) fn journals() -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    for folder in ["notebooks-demo", "tests/data"] {
        gather(&Path::new(env!("CARGO_MANIFEST_DIR")).join(folder), &mut found);
    }
    found.sort();
    found.into_iter().map(|path| (path.clone(), fs::read(path).expect("a journal"))).collect()
}

fn gather(folder: &Path, found: &mut Vec<PathBuf>) {
    const LONGEST: u64 = 20_000;
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            gather(&path, found);
        } else if path.extension().is_some_and(|end| end == "md")
            && path.metadata().expect("known").len() < LONGEST
        {
            found.push(path);
        }
    }
}

/// What is put between and in place of others: what the language gives a meaning to, and what no language wants.
const ODD: &[&str] = &[
    "```",
    "---",
    "<!-- worked:",
    " -->",
    "<!-- /worked:",
    ": ",
    "- ",
    "{",
    "}",
    "[",
    "]",
    "'",
    "\"",
    "|",
    "#",
    "&a",
    "*a",
    "!!",
    "±",
    " % ",
    "1e308",
    "-1",
    "0",
    "NaN",
    "99999999999999999999999999999999999999999999",
    "\u{0}",
    "\u{1b}[31m",
    "\u{202e}",
    "\r",
    "\n",
    "\t",
    "\u{feff}",
    "\u{2028}",
    "](result:",
    "![",
    "<script>",
    "~~~",
    "    ",
    "$",
    "\\",
    "1e-320 kg",
    "inf",
    "é",
    "Ω",
];

/// The journal with one to four changes.
pub(crate) fn mutated(text: &[u8], chance: &mut Chance) -> Vec<u8> {
    let mut bytes = text.to_vec();
    for _ in 0..=chance.below(4) {
        change(&mut bytes, chance);
    }
    bytes
}

fn change(bytes: &mut Vec<u8>, chance: &mut Chance) {
    let at = chance.below(bytes.len() + 1);
    let some = (at + 1 + chance.below(12)).min(bytes.len());
    let odd = ODD[chance.below(ODD.len())].as_bytes();
    match chance.below(8) {
        0 => drop(bytes.splice(at..at, odd.iter().copied())),
        1 => drop(bytes.splice(at.min(some)..some, odd.iter().copied())),
        2 => drop(bytes.drain(at.min(some)..some)),
        3 if at < bytes.len() => bytes[at] = chance.below(256) as u8,
        4 => bytes.truncate(at),
        5 => {
            let line = line(bytes, at);
            let copy = bytes[line.clone()].to_vec();
            let to = self::line(bytes, chance.below(bytes.len() + 1)).start;
            bytes.splice(to..to, copy);
        }
        6 => drop(bytes.drain(line(bytes, at))),
        // A number is changed.
        _ => {
            if let Some(digit) = (at..bytes.len()).find(|at| bytes[*at].is_ascii_digit()) {
                bytes.splice(digit..=digit, odd.iter().copied());
            }
        }
    }
}

/// The line around a byte, with its end.
fn line(bytes: &[u8], at: usize) -> std::ops::Range<usize> {
    let start = bytes[..at].iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
    let end = bytes[at..].iter().position(|byte| *byte == b'\n').map_or(bytes.len(), |end| at + end + 1);
    start..end
}
