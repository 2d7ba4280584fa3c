//! Each documented field, result and requirement is exercised by an example, a demonstration or a journal of the tests.

use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::KINDS;
use crate::compile::compile;
use crate::evaluate::State;
use crate::model::{Evidence, EvidenceFault, READ, Takes, could_be};
use crate::source::{FileId, Source, Sources};

/// The folders of journals; a file is a journal of its own, a demonstration one journal of several files.
const ALONE: [&str; 4] =
    ["tests/data/bad", "tests/data/verdicts", "tests/data/world", "tests/data/uncertainty"];
const TOGETHER: [&str; 3] =
    ["notebooks-demo/pickup", "notebooks-demo/second-pickup", "notebooks-demo/first-hour"];

struct Folder(PathBuf);

impl Evidence for Folder {
    fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        fs::read(self.0.join(path)).map(Arc::from).map_err(|_| EvidenceFault::Missing)
    }
}

/// Fields that a kind finds in what it takes whole, or that a list takes for the name of an item: that they are read is
/// seen in what comes out.
const BY_THE_KIND: [(&str, &str); 5] = [
    ("trade-study", "vary.name"),
    ("trade-study", "prefer.lowest"),
    ("trade-study", "prefer.highest"),
    ("solve-for", "until.largest"),
    ("solve-for", "until.smallest"),
];

/// What was exercised, by address: rows and documentation are statics.
#[derive(Default)]
struct Seen(HashSet<usize>);

impl Seen {
    fn add<T>(&mut self, what: &'static T) {
        self.0.insert(std::ptr::from_ref(what) as usize);
    }

    fn has<T>(&self, what: &'static T) -> bool {
        self.0.contains(&(std::ptr::from_ref(what) as usize))
    }

    fn work(&mut self, texts: Vec<(String, String)>, folder: &Path) {
        let files: Vec<FileId> = (0..texts.len()).map(|at| FileId(at as u32)).collect();
        let sources = Sources(texts.into_iter().map(|(name, text)| Source::new(name, text)).collect());
        let worked = compile(&sources, &files, &Folder(folder.to_path_buf()), None);
        for (number, block) in worked.notebook.blocks.iter().enumerate() {
            for (index, node) in block.nodes.iter().enumerate() {
                let known = worked.results.states[worked.plan.first[number] + index] == State::Known;
                if let Some(row) = node.row.filter(|_| known) {
                    self.add(row);
                }
                if let Some(doc) = node.doc {
                    self.add(doc);
                }
            }
            block.requirements.iter().filter_map(|one| one.row).for_each(|row| self.add(row));
            // A verdict that is held under a name that there is not would be given.
            let said = &worked.results.said[number];
            let held = said.held.iter().map(|held| held.requirement.as_str());
            for name in held.chain(said.besides.iter().map(|(name, _)| *name)) {
                let known =
                    block.kind.requires.iter().any(|row| row.name == name || could_be(row.name, name));
                assert!(known, "{}: a requirement `{name}` is held", block.kind.name);
            }
        }
    }
}

#[test]
fn nothing_is_documented_that_no_journal_exercises() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut seen = Seen::default();
    for kind in KINDS {
        seen.work(vec![("example.md".to_owned(), kind.example.journal.to_owned())], top);
    }
    for folder in ALONE {
        for path in journals(&top.join(folder)) {
            let text = String::from_utf8_lossy(&fs::read(&path).expect("a journal")).into_owned();
            // Journals of verdicts share the files of the bad ones.
            let beside = if folder == "tests/data/verdicts" { "tests/data/bad" } else { folder };
            seen.work(vec![("journal.md".to_owned(), text)], &top.join(beside));
        }
    }
    for folder in TOGETHER {
        let paths = journals(&top.join(folder));
        let texts = paths
            .iter()
            .map(|path| (path.display().to_string(), fs::read_to_string(path).expect("a journal")));
        seen.work(texts.collect(), &top.join(folder));
    }
    let mut missing = Vec::new();
    let read = READ.lock().expect("what was read").clone();
    for kind in KINDS {
        for doc in kind.fields {
            let inside = format!("{}.", doc.name);
            let child = || kind.fields.iter().any(|other| other.name.starts_with(&inside) && seen.has(other));
            let value = matches!(
                doc.takes,
                Takes::Quantity(_) | Takes::Quantities(_) | Takes::Count | Takes::BlockName
            );
            if value && !seen.has(doc) && !child() {
                missing.push(format!("{}: field `{}`", kind.name, doc.name));
            } else if !read.contains(&(std::ptr::from_ref(doc) as usize))
                && !BY_THE_KIND.contains(&(kind.name, doc.name))
            {
                missing.push(format!("{}: field `{}`, which is read nowhere", kind.name, doc.name));
            }
        }
        for row in kind.rows {
            if !seen.has(*row) {
                missing.push(format!("{}: result `{}` ({:?})", kind.name, row.name, row.way));
            }
        }
        for row in kind.requires {
            if !seen.has(*row) {
                missing.push(format!("{}: requirement `{}`", kind.name, row.name));
            }
        }
    }
    assert!(missing.is_empty(), "no journal exercises\n{}", missing.join("\n"));
}

fn journals(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path());
    let mut paths: Vec<PathBuf> =
        entries.filter(|path| path.extension().is_some_and(|end| end == "md")).collect();
    paths.sort();
    paths
}
