//! How long the formulas of motion are as they are printed, with the labels of what they name.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::compile::compile;
use crate::model::{Evidence, EvidenceFault, Way};
use crate::report::Extent;
use crate::source::{FileId, Source, Sources};

/// The kinds whose formulas are split into steps with names.
const KINDS: [&str; 5] = ["ratio-chain", "traction", "energy-use", "coast-down", "road-load"];

/// Journals with each variant of these kinds: their examples, and the cases of the world outside.
const JOURNALS: [&str; 7] =
    ["traction", "ratio-chains", "energy-use", "hills", "road-loads", "coast-down", "tyres"];

/// So many characters stand in a line of the column of workings, on the narrower paper.
const LINE: usize = 78;

struct Folder(PathBuf);

impl Evidence for Folder {
    fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        fs::read(self.0.join(path)).map(Arc::from).map_err(|_| EvidenceFault::Missing)
    }
}

/// Formulas of a journal that take more than two lines, and how many were measured.
fn measure(text: &str, folder: &Path, faults: &mut Vec<String>) -> usize {
    let sources = Sources(vec![Source::new("journal.md", text.to_owned())]);
    let worked = compile(&sources, &[FileId(0)], &Folder(folder.to_path_buf()), None);
    let told = worked.told();
    let of_motion = |number: &usize| KINDS.contains(&worked.notebook.blocks[*number].kind.name);
    let mut measured = 0;
    for number in (0..worked.notebook.blocks.len()).filter(of_motion) {
        for result in told.block(number, Extent::Whole).results {
            if !result.row.is_some_and(|row| matches!(row.way, Way::Formula(_))) {
                continue;
            }
            // What it is called, the formula with labels, and behind it the numbers.
            let formula = result.working.rsplit_once(" = ").map_or(&*result.working, |(formula, _)| formula);
            let shown = format!("{} = {formula}", result.label);
            measured += 1;
            if shown.chars().count() > 2 * LINE {
                faults.push(format!("{}: {shown}", result.name));
            }
        }
    }
    measured
}

#[test]
fn no_formula_of_motion_is_printed_over_more_than_two_lines() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let world = root.join("tests/data/world");
    let mut faults = Vec::new();
    let mut measured = 0;
    for name in JOURNALS {
        let text = fs::read_to_string(world.join(format!("{name}.md"))).expect("a journal");
        measured += measure(&text, &world, &mut faults);
    }
    for kind in super::KINDS.iter().filter(|kind| KINDS.contains(&kind.name)) {
        measured += measure(kind.example.journal, root, &mut faults);
    }
    let verdicts = root.join("tests/data/verdicts");
    for entry in fs::read_dir(&verdicts).expect("journals") {
        let path = entry.expect("a file").path();
        let text = fs::read_to_string(&path).expect("a journal");
        if KINDS.iter().any(|kind| text.contains(&format!("```yaml {kind} "))) {
            measured += measure(&text, &verdicts, &mut faults);
        }
    }
    faults.sort();
    faults.dedup();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(measured > 3000, "only {measured} formulas");
}
