//! The kinds of block: each is registered, its example works, its findings are raised somewhere, a page tells of it.
//!
//! `UPDATE=1` rewrites the pages of the kinds in `notebooks-demo/reference/`.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

#[path = "support/program.rs"]
mod program;
#[path = "support/regions.rs"]
mod regions;
#[path = "support/register.rs"]
mod register;

use program::{Folder, Run, program};
use register::register;

/// Faults of the program itself, what is said of a folder without a file, of several files or of a revision, and what only
/// draws tell: no one journal file raises them.
const NOBODY_S: &[&str] = &[
    "routes-differ",
    "check-failed",
    "empty-journal",
    "stray-front-matter",
    "two-journals",
    "changed-evidence",
    "draws-not-stable",
];

#[test]
fn every_kind_that_a_file_declares_is_registered() {
    let mut declared = BTreeSet::new();
    for path in files("src/blocks", "rs") {
        let text = fs::read_to_string(&path).expect("a source file");
        let Some((_, kind)) = text.split_once("static KIND: Kind = Kind {") else { continue };
        declared.insert(quoted(kind, "name: ").expect("a name"));
    }
    assert!(declared.len() >= 7, "{declared:?}");
    assert_eq!(listed(), declared);
}

#[test]
fn every_kind_s_example_works_and_is_worked_by_the_rules_it_shows() {
    for kind in listed() {
        let told = told(&["kinds", &kind]);
        let (_, example) =
            told.split_once("\n## Example\n\n").unwrap_or_else(|| panic!("{kind} has no example:\n{told}"));
        let example = example.split("\n## Fields").next().unwrap_or(example);
        assert!(example.contains(&format!("```yaml {kind} ")), "the example of {kind} has no {kind}");
        let folder = Folder::new();
        folder.write("journal.md", example);
        let run = folder.run(&["work"]);
        assert_eq!(run.status, 0, "{kind}: {}", run.err);
        let found = register(&folder);
        assert_eq!(found["stale"].as_array().map(Vec::len), Some(0), "{kind}");
        let results = found["results"].as_object().expect("results");
        assert!(!results.is_empty(), "the example of {kind} gives nothing");
        // Whoever reads about a field can look for it in the text.
        assert!(told.contains("\n## Fields\n"), "{told}");
    }
}

/// A result keeps the unit of its own quantity: a torque per pressure is no volume in gallons.
#[test]
fn every_kind_s_example_works_in_si_and_in_customary_units() {
    for kind in listed() {
        let page = told(&["kinds", &kind]);
        let (_, example) = page.split_once("\n## Example\n\n").expect("an example");
        let example = regions::without_regions(example.split("\n## Fields").next().unwrap_or(example));
        for units in ["si", "us"] {
            let folder = Folder::new();
            folder.write("journal.md", format!("---\nunits: {units}\n---\n{example}"));
            let run = folder.run(&["work"]);
            assert_eq!(run.status, 0, "{kind} in {units}: {}", run.err);
            let text = fs::read_to_string(folder.path.join("journal.md")).expect("the journal");
            let gallons = text.contains("US_gal") && !example.contains("US_gal") && kind != "coolant-loop";
            assert!(!gallons, "{kind}: {text}");
        }
    }
}

#[test]
fn a_kind_is_found_by_a_name_with_underscores_and_a_wrong_one_gets_a_suggestion() {
    assert_eq!(told(&["kinds", "ratio_chain"]), told(&["kinds", "ratio-chain"]));
    let run = Run::of(program(&["kinds", "ratio-chian"]).output().expect("the program starts"));
    assert_eq!(run.status, 2);
    assert!(run.err.contains("`ratio-chain`"), "{}", run.err);
}

#[test]
fn every_finding_is_raised_by_a_journal_of_the_tests() {
    let mut expected = BTreeSet::new();
    for path in files("tests/data/bad", "md") {
        let text = String::from_utf8_lossy(&fs::read(&path).expect("a journal")).into_owned();
        let codes = text.split("<!-- expect: ").skip(1).filter_map(|rest| rest.split(' ').next());
        expected.extend(codes.map(str::to_owned));
    }
    let all = codes();
    assert!(all.len() >= 45, "only {} codes", all.len());
    let missing: Vec<_> =
        all.iter().filter(|code| !expected.contains(*code) && !NOBODY_S.contains(&code.as_str())).collect();
    assert!(missing.is_empty(), "no journal in tests/data/bad raises {missing:?}");
    let unknown: Vec<_> = expected.difference(&all).collect();
    assert!(unknown.is_empty(), "no such code: {unknown:?}");
}

#[test]
fn the_reference_is_what_the_kinds_say() {
    let mut stale = Vec::new();
    let own = ["limits".to_owned(), "findings".to_owned(), "rules".to_owned()];
    for name in listed().into_iter().chain(own) {
        let path = top().join(format!("notebooks-demo/reference/{name}.md"));
        let new = told(&["kinds", "--markdown", &name]);
        if std::env::var_os("UPDATE").is_some() {
            fs::write(&path, &new).expect("the page is written");
        } else if fs::read_to_string(&path).ok().as_ref() != Some(&new) {
            stale.push(name);
        }
    }
    assert!(stale.is_empty(), "`UPDATE=1 cargo test --test kinds` brings these pages up to date: {stale:?}");
}

#[test]
fn each_page_of_a_kind_is_a_journal_that_works_and_is_up_to_date() {
    for name in listed() {
        let folder = Folder::new();
        folder.write("journal.md", told(&["kinds", "--markdown", &name]));
        let found = register(&folder);
        assert_eq!(found["stale"].as_array().map(Vec::len), Some(0), "{name}");
        let errors =
            found["findings"].as_array().expect("findings").iter().filter(|one| one["severity"] == "error");
        assert_eq!(errors.count(), 0, "{name}: {}", found["findings"]);
    }
}

#[test]
fn the_readme_can_be_read_and_its_links_lead_somewhere() {
    let text = fs::read_to_string(top().join("README.md")).expect("the README");
    assert!(text.len() <= 12_000, "{} bytes", text.len());
    let pages = files("notebooks-demo/reference", "md");
    let texts = pages.iter().map(|path| (path.clone(), fs::read_to_string(path).expect("a page")));
    for (path, text) in texts.chain([(top().join("README.md"), text)]) {
        for (_, rest) in text.match_indices("](").map(|(at, _)| text.split_at(at + 2)) {
            let address = rest.split([')', '#', ' ']).next().unwrap_or("");
            let inside = !address.is_empty() && !address.contains(':') && !address.starts_with('<');
            let from = path.parent().expect("a folder");
            assert!(!inside || from.join(address).exists(), "{}: {address}", path.display());
        }
    }
}

#[test]
fn the_help_names_every_command_that_there_is_and_no_other() {
    let help = told(&["--help"]);
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|line| !line.starts_with("Commands:"))
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(commands.len() >= 6, "{help}");
    for command in commands {
        assert!(told(&["help", command]).contains("Usage:"), "{command}");
    }
}

#[test]
fn a_trace_goes_down_to_the_leaves() {
    let folder = Folder::new();
    folder.write(
        "journal.md",
        "```yaml sources papers\nWB-1: {title: Weigh ticket}\n```\n\n\
         ```yaml worksheet first\ngiven:\n  mass: 64 kg ± 1 kg (measured WB-1; without oil)\nsteps:\n  - {name: twice, is: 2 * mass, unit: kg}\n```\n\n\
         ```yaml worksheet second\nsteps:\n  - {name: total, is: first.twice + 3 kg, unit: kg}\n```\n",
    );
    let run = folder.run(&["trace", "second.total"]);
    assert_eq!(run.status, 0, "{}", run.err);
    for needed in [
        "131.0 ",
        "first.twice",
        "first.mass",
        "64 kg ± 1 kg",
        "measured",
        "WB-1",
        "Weigh ticket",
        "journal.md",
        "7",
    ] {
        assert!(run.out.contains(needed), "`{needed}` is missing in\n{}", run.out);
    }
    let wrong = folder.run(&["trace", "second.totl"]);
    assert_ne!(wrong.status, 0);
    assert!(wrong.err.contains("second.total"), "{}", wrong.err);
}

/// The codes that the sources declare.
fn codes() -> BTreeSet<String> {
    let table = fs::read_to_string(top().join("src/findings/codes.rs")).expect("the codes");
    let rows = table.lines().filter_map(|line| {
        let (name, rest) = line.trim().split_once(" = \"")?;
        let constant =
            name.chars().all(|sign| sign.is_ascii_uppercase() || sign.is_ascii_digit() || sign == '_');
        constant.then(|| rest.split('"').next().unwrap_or("").to_owned())
    });
    let mut all: BTreeSet<String> = rows.collect();
    for path in files("src/blocks", "rs") {
        let text = fs::read_to_string(&path).expect("a source file");
        all.extend(text.split(": Code = Code {").skip(1).filter_map(|rest| quoted(rest, "name: ")));
    }
    all
}

/// The names in the first column of `voltwright kinds`.
fn listed() -> BTreeSet<String> {
    let out = told(&["kinds"]);
    let rows = out.lines().take_while(|line| !line.is_empty());
    rows.filter_map(|line| line.split_whitespace().next()).map(str::to_owned).collect()
}

#[track_caller]
fn told(words: &[&str]) -> String {
    let run = Run::of(program(words).output().expect("the program starts"));
    assert_eq!(run.status, 0, "{}", run.err);
    run.out
}

/// The first text in quotes after `mark`.
fn quoted(text: &str, mark: &str) -> Option<String> {
    let (_, rest) = text.split_once(mark)?;
    Some(rest.trim_start().strip_prefix('"')?.split('"').next()?.to_owned())
}

fn files(folder: &str, end: &str) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(top().join(folder)).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            let inner = path.strip_prefix(top()).expect("a folder of ours").to_string_lossy().into_owned();
            files.extend(self::files(&inner, end));
        } else if path.extension().is_some_and(|found| found == end) {
            files.push(path);
        }
    }
    files.sort();
    files
}

fn top() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}
