//! Dossiers that are printed for the tests.

use std::fs;
use std::path::PathBuf;
use std::sync::OnceLock;

use serde_json::Value;

use crate::copied::copy_of;
use crate::program::{Folder, Run, program};

/// How many cells are in series, and what the dossier of such a pack warns of.
pub(crate) const CAUTIONS: [(usize, &[&str]); 2] = [
    (18, &["lethal", "competent", "prove", "discharge", "protective", "local", "inspector"]),
    (14, &["short", "phase"]),
];

/// A journal of one pack, worked and printed.
#[track_caller]
pub(crate) fn pack_of(series: usize) -> Folder {
    let journal = Folder::new();
    let text = format!(
        "```yaml part cell\nrole: cell\nnominal_voltage: 3.3 V\nfull_voltage: 4.2 V\nempty_voltage: 2.5 V\ncapacity: 50 Ah\n\
         resistance: 1 mohm\nmass: 1 kg\ncontinuous_discharge: 100 A\npeak_discharge: 200 A\n```\n\n\
         ```yaml pack-layout pack\ncell: cell\nseries: {series}\nparallel: 1\nhousing_mass: 1 kg\n```\n"
    );
    journal.write("journal.md", text);
    let run = journal.run(&["dossier"]);
    assert_eq!(run.status, 0, "{}", run.err);
    journal
}

/// Prints the journal into a folder with a fixed date.
#[track_caller]
pub(crate) fn make(journal: &Folder, out: &Folder) {
    let mut command = program(&["dossier", "--out"]);
    let run = Run::of(
        command
            .args([&out.path, &journal.path])
            .env("SOURCE_DATE_EPOCH", "1767225600")
            .output()
            .expect("the program"),
    );
    assert!(run.status <= 1, "{}", run.err);
}

/// A file of the demo's dossier, which is printed once for all tests.
pub(crate) fn demo(name: &str) -> PathBuf {
    static DEMO: OnceLock<Folder> = OnceLock::new();
    let out = DEMO.get_or_init(|| {
        let (journal, out) = (copy_of("notebooks-demo/pickup"), Folder::new());
        make(&journal, &out);
        out
    });
    out.path.join(name)
}

/// Name and shown text of each result of the demo.
pub(crate) fn shown() -> Vec<(String, String)> {
    let register: Value =
        serde_json::from_slice(&fs::read(demo("register.json")).expect("a register")).expect("JSON");
    let results = register["results"].as_object().expect("results");
    assert!(results.len() > 200, "only {} results", results.len());
    let one = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    // Of a block that was replaced the papers have what it gave; what it was given stands in the journal.
    let given = |name: &str, entry: &Value| name.matches('.').count() > 1 || entry["basis"] != "worked";
    let printed = |(name, entry): &(&String, &Value)| !name.contains("@old.") || !given(name, entry);
    results
        .iter()
        .filter(printed)
        .map(|(name, entry)| (name.clone(), one(entry["shown"].as_str().expect("a text"))))
        .collect()
}

/// What the form says of the demo's drive, each with the gear that the register has for it.
pub(crate) fn lines_with_a_gear() -> Vec<String> {
    let results = shown();
    let gear = |name: &str| {
        let found = results.iter().find(|(known, _)| known == name);
        found.map(|(_, gear)| gear.clone()).unwrap_or_else(|| panic!("{name} is not there"))
    };
    [
        ("motor speed", "drive.gear"),
        ("speed into the stage, box", "drive.gear"),
        ("torque at the launch, box", "go.launch_gear"),
        ("hill start", "go.hill_gear"),
        ("top speed", "go.top_speed_gear"),
    ]
    .map(|(label, name)| format!("{label} in {}", gear(name)))
    .to_vec()
}

/// Whether a value stands in a text, alone or with its uncertainty before the unit: `4.0 A`, `4.0 ± 1.2 A`.
pub(crate) fn stands_in(text: &str, shown: &str) -> bool {
    let part_of_number = |c: char| c.is_ascii_digit() || " .−".contains(c);
    let digits = shown.find(|c| !part_of_number(c)).unwrap_or(shown.len());
    // The 1 of `1/s` is the unit's.
    let digits = if shown[digits..].starts_with('/') { digits - 1 } else { digits };
    let (number, unit) = shown.split_at(shown[..digits].trim_end().len());
    let bracketed = format!(") {}", unit.trim_start());
    let ends = |after: &str| {
        let follows = |unit: &str| after.find(unit).is_some_and(|at| after[..at].chars().all(part_of_number));
        follows(unit) || follows(&bracketed)
    };
    let number = format!("{number} ± ");
    text.contains(shown) || text.match_indices(&number).any(|(at, _)| ends(&text[at + number.len()..]))
}
