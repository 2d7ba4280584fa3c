//! What the README and the demonstration show is what the program gives, and reads well.

use std::fs;
use std::path::Path;

#[path = "support/copied.rs"]
mod copied;
#[path = "support/program.rs"]
mod program;
#[path = "support/regions.rs"]
mod regions;

use copied::copy_of;
use program::Folder;
use regions::without_regions;

#[test]
fn the_readme_shows_what_its_journal_gives() {
    let readme = repository("README.md");
    let (_, rest) = readme.split_once("````markdown\n").expect("a journal in the README");
    let (text, after) = rest.split_once("````\n").expect("its end");
    let journal = Folder::new();
    journal.write("journal.md", text);
    let run = journal.run(&["work"]);
    assert!(run.status <= 1, "{}{}", run.out, run.err);
    let worked = fs::read_to_string(journal.path.join("journal.md")).expect("the journal");
    let region = region(&worked, "drive");
    assert!(after.contains(&region), "README.md does not show this:\n{region}");
}

#[test]
fn the_demonstrations_stand_as_they_were_worked() {
    for name in ["first-hour", "pickup", "second-pickup"] {
        let run = copy_of(&format!("notebooks-demo/{name}")).run(&["check", "--json"]);
        let found: serde_json::Value = serde_json::from_str(&run.out).expect("JSON");
        assert_eq!(found["stale"], serde_json::json!([]), "{name}");
        let findings = found["findings"].as_array().expect("findings");
        let errors: Vec<_> = findings.iter().filter(|one| one["severity"] == "error").collect();
        assert!(errors.is_empty(), "{name}: {errors:?}");
    }
}

#[test]
fn the_revisions_of_the_demo_are_as_they_were_issued() {
    let journal = copy_of("notebooks-demo/pickup");
    let verified = journal.run(&["issue", "--verify"]);
    assert_eq!(verified.status, 0, "{}{}", verified.out, verified.err);
    assert!(verified.out.contains("A, B, C"), "{}", verified.out);
    let moved = journal.run(&["moved", "--since", "B"]);
    assert!(moved.out.contains("drive"), "{}", moved.out);
}

#[test]
fn the_regions_of_the_demo_are_a_third_of_it_at_most() {
    let (mut all, mut own) = (0, 0);
    for text in pages("notebooks-demo/pickup") {
        all += text.chars().count();
        own += without_regions(&text).chars().count();
    }
    let regions = all - own;
    assert!(regions * 3 <= all, "{regions} of {all} characters are regions");
}

#[test]
fn no_region_praises_above_what_is_not_met() {
    let mut wanting = 0;
    for text in pages("notebooks-demo/pickup") {
        for region in text.split("<!-- worked:").skip(1).filter_map(|rest| rest.split("<!-- /worked:").next())
        {
            let has = |verdict: &str| region.contains(&format!("| {verdict} |"));
            let first = region.lines().nth(1).unwrap_or_default();
            if let Some(worst) = ["fails", "open", "close"].into_iter().find(|verdict| has(verdict)) {
                wanting += 1;
                assert!(first.contains(&format!(" {worst}**, ")), "{first}");
            } else {
                assert!(!first.contains("fails**") && !first.contains("open**"), "{first}");
            }
        }
    }
    assert!(wanting >= 5, "the demo shows {wanting} blocks with something not met");
}

/// The body of a block's region.
fn region(text: &str, block: &str) -> String {
    let (_, rest) = text.split_once(&format!("<!-- worked:{block} -->\n")).expect("a region");
    rest.split_once("\n<!-- /worked:").expect("its end").0.to_owned()
}

/// The pages of a journal, worked anew.
fn pages(path: &str) -> Vec<String> {
    let journal = copy_of(path);
    journal.run(&["work"]);
    let entries = fs::read_dir(&journal.path).expect("a journal").map(|entry| entry.expect("a file").path());
    let pages = entries.filter(|path| path.extension().is_some_and(|end| end == "md"));
    pages.map(|path| fs::read_to_string(path).expect("a page")).collect()
}

fn repository(path: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).expect("a file")
}
