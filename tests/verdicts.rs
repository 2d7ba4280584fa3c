//! Plausible but wrong, incomplete or milder inputs, and the verdict that each must get: nothing earns `meets` by being
//! left out, swapped or half typed.
//!
//! Each file of `data/verdicts` is a journal, named `KIND-what-is-tried.md`. The comments in it are what must come out:
//! `<!-- expect-verdict: BLOCK.REQUIREMENT VERDICT [words of its reason] -->`, where VERDICT may be `none` for a
//! requirement that must not be there, and `narrow`, `unread` or `method` for a `close` of that ground, and `<!-- expect-code: CODE -->` for a finding. Errors that are not expected are
//! faults.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use serde_json::Value;

#[path = "support/copied.rs"]
mod copied;
#[path = "support/program.rs"]
mod program;
#[path = "support/register.rs"]
mod register;

use program::Folder;
use register::register;

#[test]
fn no_wrong_input_earns_an_undeserved_verdict() {
    let mut faults = Vec::new();
    let mut paths: Vec<_> =
        fs::read_dir(folder()).expect("the journals").map(|entry| entry.expect("one").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|ending| ending == "md"));
    paths.sort();
    for path in &paths {
        let text = fs::read_to_string(path).expect("a journal");
        let folder = Folder::new();
        // Files that journals name lie with those of the bad journals.
        let evidence = copied::copy_of("tests/data/bad/evidence");
        copied::copy(&evidence.path, &folder.path.join("evidence"));
        folder.write("journal.md", &text);
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        faults.extend(
            differences(&text, &register(&folder)).into_iter().map(|fault| format!("{name}: {fault}")),
        );
    }
    assert!(!paths.is_empty());
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// The day is the clock's, or that of a build that can be repeated.
#[test]
fn a_test_is_to_come_until_the_day_of_the_journal() {
    let text = fs::read_to_string(folder().join("bonding-day-to-come.md")).expect("a journal");
    let journal = Folder::new();
    journal.write("journal.md", text.replace("2999-03-02", "2026-03-02"));
    // At 09:59 UTC of 1 March 2026 the 2nd has not begun anywhere; a minute later it has.
    for (stamp, wanted) in [("1772359140", true), ("1772359200", false)] {
        let mut command = program::program(&["check", "--json"]);
        let run = program::Run::of(
            command.arg(&journal.path).env("SOURCE_DATE_EPOCH", stamp).output().expect("it ends"),
        );
        assert_eq!(run.out.contains("invalid-test"), wanted, "{}", run.out);
    }
}

/// 10 kg/3 is 3.3333… kg.
#[test]
fn a_limit_prints_to_the_safe_side_and_a_given_value_as_it_was_given() {
    let path = folder().join("worksheet-a-limit-is-printed-to-the-safe-side.md");
    let journal = Folder::new();
    journal.write("journal.md", fs::read_to_string(path).expect("a journal"));
    assert_eq!(journal.run(&["work"]).status, 0);
    let text =
        fs::read_to_string(journal.path.join("journal.md")).expect("the journal").replace('\u{202f}', " ");
    for row in ["| at most 3.333 kg |", "| at least 3.334 kg |", "| 100 kg ± 2 kg | at most 400 kg ± 5 kg |"]
    {
        assert!(text.contains(row), "`{row}` is missing: {text}");
    }
}

/// Those of the block itself and those that it takes over, and no number of the rules.
#[test]
fn a_verdict_says_at_which_conditions_it_is_judged() {
    let register = register(&copied::copy_of("notebooks-demo/pickup"));
    let at = |block: &str, name: &str| {
        let rows = register["requirements"].as_array().expect("requirements").iter();
        let mut row = rows.filter(|row| row["block"] == block && row["name"] == name);
        row.next().unwrap_or_else(|| panic!("{block}.{name}"))["at"].clone()
    };
    assert_eq!(
        at("kerb", "laden_mass"),
        serde_json::json!(["driver mass 75 kg", "passenger mass 75 kg", "cargo mass 350 kg"])
    );
    assert_eq!(at("main_contactors", "making"), serde_json::json!(["cell voltage at worst 3.05 V ± 0.03 V"]));
    assert_eq!(at("rear_box", "utilisation_forward"), Value::Null);
}

/// What is supposed stands for what is not written: hardly wider, never narrower.
#[test]
fn the_demonstration_without_a_written_tolerance_has_six_more_that_are_close_at_most() {
    let written = copied::copy_of("notebooks-demo/pickup");
    let stripped = copied::copy_of("notebooks-demo/pickup");
    let mut taken = 0;
    for entry in fs::read_dir(&stripped.path).expect("the journal") {
        let path = entry.expect("a file").path();
        if path.extension().is_some_and(|ending| ending == "md") {
            let text = fs::read_to_string(&path).expect("a journal");
            let (text, count) = without_tolerances(&text);
            taken += count;
            fs::write(&path, text).expect("a journal");
        }
    }
    assert!(taken > 100, "only {taken} tolerances");
    let (before, after) = (register(&written), register(&stripped));
    let gained: Vec<_> = with(&after, "close").difference(&with(&before, "close")).cloned().collect();
    let lost: Vec<_> = with(&before, "close").difference(&with(&after, "close")).cloned().collect();
    assert!(gained.len() <= 6, "{} more: {gained:?}", gained.len());
    assert!(lost.is_empty(), "{lost:?}");
    // What does not meet any more is close, and nothing else.
    let no_more: BTreeSet<_> = with(&before, "meets").difference(&with(&after, "meets")).cloned().collect();
    assert_eq!(no_more, gained.into_iter().collect());
}

/// The requirements with that verdict.
fn with(register: &Value, verdict: &str) -> BTreeSet<String> {
    let all = register["requirements"].as_array().expect("requirements").iter();
    let name = |one: &Value| format!("{}.{}", one["block"].as_str().unwrap_or(""), one["name"]);
    all.filter(|one| one["verdict"] == verdict).map(name).collect()
}

/// The journal without `± …` in its calculation blocks, and how many there were.
fn without_tolerances(text: &str) -> (String, usize) {
    let (mut kept, mut count, mut in_block) = (String::new(), 0, false);
    for line in text.split_inclusive('\n') {
        if line.starts_with("```") {
            in_block = line.starts_with("```yaml");
        }
        let mut pieces = line.split(" ±");
        kept.push_str(pieces.next().unwrap_or_default());
        for piece in pieces {
            if in_block {
                let ends = [" (", ",", "}", "]", "\n"];
                let end = ends.iter().filter_map(|end| piece.find(end)).min().unwrap_or(piece.len());
                count += 1;
                kept.push_str(&piece[end..]);
            } else {
                kept.push_str(&format!(" ±{piece}"));
            }
        }
    }
    (kept, count)
}

fn folder() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/verdicts")
}

fn differences(text: &str, found: &Value) -> Vec<String> {
    let mut faults = Vec::new();
    let verdicts = expected(text, "expect-verdict");
    let codes = expected(text, "expect-code");
    if verdicts.is_empty() && codes.is_empty() {
        faults.push("nothing is expected of it".to_owned());
    }
    let requirements = found["requirements"].as_array().expect("requirements");
    for line in verdicts {
        let mut words = line.splitn(3, ' ');
        let (name, verdict, reason) =
            (words.next().unwrap_or(""), words.next().unwrap_or(""), words.next().unwrap_or(""));
        let own = |one: &&Value| {
            format!("{}.{}", one["block"].as_str().unwrap_or(""), one["name"].as_str().unwrap_or("")) == name
        };
        let Some(one) = requirements.iter().find(own) else {
            if verdict != "none" {
                faults.push(format!("there is no requirement `{name}`"));
            }
            continue;
        };
        // Which doubt, where that is expected.
        let close = one["close"].as_str().filter(|close| *close == verdict);
        let is = close.or(one["verdict"].as_str()).unwrap_or("");
        let why = one["reason"].as_str().unwrap_or("");
        if is != verdict || !why.contains(reason) {
            faults.push(format!("`{name}` is `{is}` ({why}), not `{verdict}` ({reason})"));
        }
    }
    let findings = found["findings"].as_array().expect("findings");
    let has = |code: &str| findings.iter().any(|one| one["code"] == code);
    faults.extend(codes.iter().filter(|code| !has(code)).map(|code| format!("no finding `{code}`")));
    for finding in findings.iter().filter(|one| one["severity"] == "error") {
        let code = finding["code"].as_str().unwrap_or("");
        if !codes.contains(&code) {
            faults.push(format!("{code}: {}", finding["message"].as_str().unwrap_or("")));
        }
    }
    faults
}

/// What stands behind a mark in the journal's comments.
fn expected<'t>(text: &'t str, mark: &str) -> Vec<&'t str> {
    let open = format!("<!-- {mark}: ");
    text.split(open.as_str()).skip(1).filter_map(|rest| rest.split(" -->").next()).map(str::trim).collect()
}
