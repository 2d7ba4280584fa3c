//! What people type gives the value that is meant, or a finding with the words that get one going.
//!
//! `data/spellings.md` says how its sections and rows are read.

use std::fs;
use std::path::Path;

use serde_json::Value;

#[path = "support/program.rs"]
mod program;
#[path = "support/register.rs"]
mod register;

use program::Folder;
use register::register;

/// One spelling, as a block of the journal that all of them make.
struct Spelling {
    typed: String,
    gives: String,
    /// What is looked at.
    reads: String,
    name: String,
    /// The lines of its block in the journal.
    lines: (usize, usize),
}

#[test]
fn what_is_typed_gives_its_value_or_the_words_that_help() {
    let (journal, spellings) = journal();
    let folder = Folder::new();
    folder.write("journal.md", &journal);
    let found = register(&folder);
    let faults: Vec<String> = spellings
        .iter()
        .filter_map(|one| Some(format!("{} => {}", one.typed, fault(one, &found)?)))
        .collect();
    assert!(spellings.len() >= 120, "only {} spellings", spellings.len());
    assert!(faults.is_empty(), "{} of {}:\n{}", faults.len(), spellings.len(), faults.join("\n"));
}

/// The journal that holds a block for each spelling.
fn journal() -> (String, Vec<Spelling>) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/spellings.md");
    let text = fs::read_to_string(path).expect("the spellings");
    let mut journal = String::new();
    let mut spellings = Vec::new();
    for section in text.split("\n## ").skip(1) {
        let (heading, rest) = section.split_once('\n').expect("a heading");
        if heading == "shared" {
            journal.push_str(rest);
            journal.push('\n');
            continue;
        }
        let (block, rest) = rest.split_once("\n```\n").expect("a block");
        let (reads, rows) = rest.split_once('\n').expect("what is looked at");
        let reads = reads.strip_prefix("reads ").expect("`reads` and the name of a value");
        for row in rows.lines().filter(|row| !row.is_empty()) {
            let (typed, gives) = row.rsplit_once(" => ").expect("a spelling and what it gives");
            let name = format!("s{}", spellings.len());
            let first = journal.lines().count() + 1;
            journal.push_str(&block.replace("NAME", &name).replace("TYPED", typed));
            journal.push_str("\n```\n");
            let lines = (first, journal.lines().count());
            journal.push('\n');
            let (typed, gives, reads) = (typed.to_owned(), gives.to_owned(), reads.to_owned());
            spellings.push(Spelling { typed, gives, reads, name, lines });
        }
    }
    (journal, spellings)
}

/// What is not as it should be.
fn fault(one: &Spelling, found: &Value) -> Option<String> {
    let findings: Vec<&Value> = found["findings"]
        .as_array()
        .expect("findings")
        .iter()
        .filter(|finding| {
            let line = finding["line"].as_u64().expect("a line") as usize;
            (one.lines.0..=one.lines.1).contains(&line) && finding["severity"] != "note"
        })
        .collect();
    let told: Vec<String> = findings.iter().map(|finding| words(finding)).collect();
    let unasked = || Some(format!("not {}, but {}", one.gives, told.join("; ")));
    let (first, rest) = one.gives.split_once(' ').unwrap_or((&one.gives, ""));
    if let Ok(number) = first.parse::<f64>() {
        if !told.is_empty() {
            return unasked();
        }
        let name = format!("{}.{}", one.name, one.reads);
        let result = &found["results"][&name];
        let Some(si) = result["si"].as_f64() else { return Some(format!("no `{name}`")) };
        if !near(si, number) {
            return Some(format!("{si}, not {number}"));
        }
        let width = rest.strip_prefix("± ")?.parse::<f64>().expect("a standard uncertainty");
        let is = result["uncertainty_si"].as_f64().expect("an uncertainty");
        return (!near(is, width)).then(|| format!("± {is}, not {width}"));
    }
    if ["meets", "fails", "close", "open"].contains(&first) {
        if !told.is_empty() {
            return unasked();
        }
        let all = found["requirements"].as_array().expect("requirements");
        let mine =
            all.iter().find(|row| row["block"] == one.name.as_str() && row["name"] == one.reads.as_str());
        let verdict = mine.map_or("no requirement", |row| row["verdict"].as_str().expect("a verdict"));
        return (verdict != first).then(|| format!("{verdict}, not {first}"));
    }
    let told_so = findings
        .iter()
        .zip(&told)
        .any(|(finding, told)| finding["code"] == first && told.contains(rest.trim()));
    if told_so {
        return None;
    }
    if told.is_empty() {
        let name = format!("{}.{}", one.name, one.reads);
        return Some(format!("nothing is found; it is {}", found["results"][&name]["shown"]));
    }
    unasked()
}

fn words(finding: &Value) -> String {
    let text = |key: &str| finding[key].as_str().unwrap_or("").to_owned();
    format!("{}: {} / {}", text("code"), text("message"), text("help")).replace('\u{a0}', " ")
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-8 * b.abs()
}
