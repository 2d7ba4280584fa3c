//! Write-back on every example of the CommonMark specification: no byte outside the results regions changes.
//!
//! The specification is the npm package `commonmark-spec`, which `tests/run --install` puts into the build folder;
//! `COMMONMARK_SPEC` may name its `spec.txt`.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use crate::program::Folder;
use crate::regions::without_regions;

const BLOCK: &str = "```yaml worksheet NAME\nsteps:\n  - {name: total, is: 2 kg + 3 kg, unit: kg}\n```\n";

#[test]
fn every_example_survives_write_back() {
    let examples = examples();
    assert!(examples.len() > 600, "only {} examples", examples.len());
    let next = AtomicUsize::new(0);
    let workers = thread::available_parallelism().map_or(2, usize::from);
    let mut faults: Vec<String> = thread::scope(|scope| {
        let hands: Vec<_> = (0..workers)
            .map(|_| {
                scope.spawn(|| {
                    let mut faults = Vec::new();
                    while let Some((number, example)) =
                        examples.get(next.fetch_add(1, Ordering::Relaxed)).map(|found| (&found.0, &found.1))
                    {
                        faults.extend(check(example).err().map(|fault| format!("example {number}: {fault}")));
                    }
                    faults
                })
            })
            .collect();
        hands.into_iter().flat_map(|hand| hand.join().expect("a worker")).collect()
    });
    faults.sort();
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}

/// The example alone, after a block and before one, worked twice.
fn check(example: &str) -> Result<(), String> {
    let folder = Folder::new();
    let texts = [
        ("alone.md", example.to_owned()),
        ("block-first.md", format!("{}\n{example}", BLOCK.replace("NAME", "first"))),
        ("block-last.md", format!("{example}\n\n{}", BLOCK.replace("NAME", "last"))),
    ];
    for (name, text) in &texts {
        folder.write(name, text);
    }
    let run = folder.run(&["work"]);
    if run.status > 1 {
        return Err(format!("exit status {}: {}{}", run.status, run.out, run.err));
    }
    let read = |name: &str| fs::read_to_string(folder.path.join(name)).expect("a journal");
    let worked: Vec<String> = texts.iter().map(|(name, _)| read(name)).collect();
    for ((name, text), worked) in texts.iter().zip(&worked) {
        let rest = without_regions(worked);
        if rest != *text {
            return Err(format!("{name} changed outside its region\nbefore {text:?}\nafter  {rest:?}"));
        }
    }
    if worked[0] != texts[0].1 {
        return Err(format!("a region without a block: {:?}", worked[0]));
    }
    if !worked[1].contains("<!-- worked:first -->") {
        return Err(format!("no region in {:?}\n{}", worked[1], run.err));
    }
    folder.run(&["work"]);
    match texts.iter().zip(&worked).find(|((name, _), worked)| read(name) != **worked) {
        Some(((name, _), worked)) => {
            Err(format!("{name} changes at a second run\nfirst  {worked:?}\nsecond {:?}", read(name)))
        }
        None => Ok(()),
    }
}

/// Number and Markdown of each example, arrows standing for tabs.
fn examples() -> Vec<(usize, String)> {
    let path = specification();
    let text = fs::read_to_string(&path).unwrap_or_else(|fault| {
        panic!("{}: {fault}\n`bash tests/run --install` fetches the specification", path.display())
    });
    let fence = "`".repeat(32);
    let mut examples = Vec::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if line != format!("{fence} example") {
            continue;
        }
        let mut example = String::new();
        for line in lines.by_ref().take_while(|line| *line != ".") {
            example.push_str(&line.replace('→', "\t"));
            example.push('\n');
        }
        examples.push((examples.len() + 1, example));
    }
    examples
}

fn specification() -> PathBuf {
    std::env::var_os("COMMONMARK_SPEC").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("target/tools/node_modules/commonmark-spec/spec.txt"),
        PathBuf::from,
    )
}
