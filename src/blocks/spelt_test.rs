//! Names that the code of a kind types, in whatever branch, are names of something that there is.

use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::KINDS;
use crate::compile::compile;
use crate::model::{Evidence, EvidenceFault};
use crate::rules::packs::{shipped, subjects};
use crate::rules::rules;
use crate::source::{FileId, Source, Sources};

/// What is declared under a name of its own in a branch that no example takes, or is no name of a value.
const OTHERS: [(&str, &str); 9] = [
    ("force_at_90_km_h", "a force at a speed, as one is called"),
    ("front_gap", "of axles that don't add up to the mass"),
    ("proof_stress", "a column of the table of threads"),
    ("rear_gap", "of axles that don't add up to the mass"),
    ("scatter_2", "of the fit of a coast-down"),
    ("scatter_3", "of the fit of a coast-down"),
    ("speed_unit", "of a drive cycle without units"),
    ("time_unit", "of a drive cycle without units"),
    ("traction_motor", "what stands for the motor of a traction block"),
];

struct Nothing;

impl Evidence for Nothing {
    fn read(&self, _path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        Err(EvidenceFault::Missing)
    }
}

/// A requirement that is held, a value that is looked up or spoken of: a slip would be told nowhere.
#[test]
fn every_name_in_the_code_of_a_kind_is_that_of_something() {
    let names = names();
    let mut faults = Vec::new();
    let mut count = 0;
    let mut files = Vec::new();
    walk(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/blocks"), &mut files);
    for path in files.iter().filter(|path| !path.to_string_lossy().ends_with("_test.rs")) {
        let text = fs::read_to_string(path).expect("a source file");
        let lines = text.lines().take_while(|line| line.trim() != "#[cfg(test)]");
        for (number, line) in lines.enumerate().filter(|(_, line)| !line.trim_start().starts_with("//")) {
            for kind in kinds_in(line) {
                count += 1;
                if !KINDS.iter().any(|one| one.name == kind) {
                    faults.push(format!("{}:{}: no kind `{kind}`", path.display(), number + 1));
                }
            }
            // A text of its own, or a name within one.
            let texts = line.split('"').skip(1).step_by(2);
            let marked = line.split('`').skip(1).step_by(2);
            for name in texts.chain(marked).filter(|text| is_name(text)) {
                count += 1;
                if !names.contains(name) {
                    faults.push(format!("{}:{}: `{name}`", path.display(), number + 1));
                }
            }
        }
    }
    assert!(count > 500, "{count}");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Kinds use no other kind, but may look for its blocks by its name.
fn kinds_in(line: &str) -> impl Iterator<Item = &str> {
    let marks = ["kind == \"", "kind != \"", "blocks(&[\""];
    marks.into_iter().filter_map(|mark| line.split_once(mark)?.1.split('"').next())
}

/// Of several words: a word alone may be any.
fn is_name(text: &str) -> bool {
    let word =
        |word: &str| !word.is_empty() && word.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit());
    text.contains('_') && text.split('_').all(word)
}

/// Of fields, results, requirements, families and rules, and of all that the examples declare.
fn names() -> HashSet<String> {
    let mut names: HashSet<String> = rules().names().map(str::to_owned).collect();
    names.extend(OTHERS.iter().map(|(name, _)| (*name).to_owned()));
    let packs = shipped().iter().chain([subjects()]);
    names.extend(packs.flat_map(|pack| pack.items.iter().map(|item| item.id.clone())));
    for kind in KINDS {
        names.extend(kind.fields.iter().flat_map(|doc| doc.name.split('.')).map(str::to_owned));
        names.extend(kind.rows.iter().map(|row| row.name.to_owned()));
        names.extend(kind.rows.iter().filter_map(|row| row.family).map(|family| family.name.to_owned()));
        names.extend(kind.takes.iter().map(|row| row.name.to_owned()));
        names.extend(kind.requires.iter().map(|row| row.name.to_owned()));
        let sources = Sources(vec![Source::new("example.md", kind.example.journal)]);
        let worked = compile(&sources, &[FileId(0)], &Nothing, None);
        let nodes = worked.notebook.blocks.iter().flat_map(|block| &block.nodes);
        names.extend(nodes.flat_map(|node| node.name.split('.')).map(str::to_owned));
    }
    names
}

fn walk(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        match path.is_dir() {
            true => walk(&path, files),
            false if path.extension().is_some_and(|end| end == "rs") => files.push(path),
            false => {}
        }
    }
}
