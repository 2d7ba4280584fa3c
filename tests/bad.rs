//! Every mistake is a finding at its place, one run shows them all, and no input makes the program panic.
//!
//! Each file of `data/bad` is a journal, named `CODE-what-it-shows.md`; the comments
//! `<!-- expect: CODE SEVERITY LINE:COLUMN -->` in it are what it must raise, and nothing else. Notes that are not
//! expected are left aside. `<!-- with: WORDS -->` adds to the command.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

#[path = "support/copied.rs"]
mod copied;
#[path = "support/program.rs"]
mod program;
#[path = "support/register.rs"]
mod register;

use copied::copy_of;
use program::{Folder, Run, program};
use register::register;

/// What is only found by printing.
const PRINTING: &[&str] = &["missing-glyph", "missing-picture", "rescue-cut"];

#[test]
fn each_mistake_is_found_at_its_place_and_nothing_else_is() {
    let mut faults = Vec::new();
    let mut count = 0;
    for path in files("bad") {
        count += 1;
        let folder = copy_of("tests/data/bad/evidence");
        let inner = Folder::new();
        copied::copy(&folder.path, &inner.path.join("evidence"));
        copied::copy(&copy_of("tests/data/bad/rules").path, &inner.path.join("rules"));
        let bytes = fs::read(&path).expect("a journal");
        let text = String::from_utf8_lossy(&bytes);
        inner.write("journal.md", &bytes);
        // Something that can be worked whatever the other file is like.
        inner.write("later.md", "A second file.\n");
        let found = match text.split_once("<!-- with: ") {
            Some((_, words)) => checked(&inner, words.split(" -->").next().unwrap_or("")),
            None if PRINTING.iter().any(|code| text.contains(&format!("expect: {code} "))) => printed(&inner),
            None => register(&inner),
        };
        faults.extend(differences(&path, &text, &found));
    }
    assert!(count >= 40, "only {count} journals");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn each_journal_is_named_for_a_code_that_it_raises_and_what_it_shows() {
    let mut faults = Vec::new();
    for path in files("bad") {
        let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
        let text = String::from_utf8_lossy(&fs::read(&path).expect("a journal")).into_owned();
        let codes = text.split("<!-- expect: ").skip(1).filter_map(|rest| rest.split(' ').next());
        let shown: Vec<&str> = codes.filter_map(|code| name.strip_prefix(code)?.strip_prefix('-')).collect();
        // A number tells a reader nothing.
        let says = |words: &&str| words.contains(|sign: char| sign.is_ascii_alphabetic());
        if !shown.iter().any(|words| says(words) && !words.ends_with(|sign: char| sign.is_ascii_digit())) {
            faults.push(name);
        }
    }
    assert!(faults.is_empty(), "name them `CODE-what-it-shows.md`: {}", faults.join(", "));
}

#[test]
fn one_run_shows_ten_mistakes_as_ten_findings() {
    let path = data("ten-mistakes.md");
    let text = fs::read_to_string(&path).expect("a journal");
    assert_eq!(text.matches("<!-- expect: ").count(), 10);
    let folder = Folder::new();
    folder.write("journal.md", &text);
    let faults = differences(&path, &text, &register(&folder));
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_finding_names_its_place_quotes_the_line_and_says_what_to_do() {
    let folder = Folder::new();
    folder.write("journal.md", "Text.\n\n```yaml part motor\nrole: motor\nmass: 64 kgs\n```\n");
    let run = folder.run(&["check"]);
    assert_eq!(run.status, 1);
    for needed in ["journal.md", "5", "mass: 64 kgs", "part motor", "`kg`"] {
        assert!(run.err.contains(needed), "{needed} is missing in\n{}", run.err);
    }
    assert!(!run.err.contains('\u{1b}'), "colour outside a terminal");
}

#[test]
fn a_folder_without_a_journal_is_a_finding() {
    let folder = Folder::new();
    folder.write("notes.txt", "no Markdown");
    assert_eq!(codes(&register(&folder)), ["empty-journal"]);
}

#[test]
fn what_depends_on_a_failed_value_waits_in_silence() {
    check_codes(
        "```yaml worksheet a\nsteps:\n  - {name: x, is: 1 kg / 0, unit: kg}\n  - {name: y, is: x + 1 kg, unit: kg}\n\
         \x20 - {name: z, is: y + x, unit: kg}\n```\n\nA [1 kg](result:a.z).\n\n```yaml targets t\nlight: a.z <= 2 kg\n```\n",
        &["not-finite"],
    );
}

#[test]
fn deep_yaml_is_one_finding() {
    for (open, close) in [("[", "]"), ("{a: ", "}")] {
        let deep = format!("x: {}{}", open.repeat(100_000), close.repeat(100_000));
        check_codes(&format!("```yaml part motor\nrole: motor\n{deep}\n```\n"), &["yaml-too-deep"]);
        check_codes(
            &format!("```yaml part motor\nrole: motor\nx: {}\n```\n", open.repeat(100_000)),
            &["yaml-too-deep"],
        );
    }
    let mut block = String::new();
    for depth in 0..3_000 {
        block += &format!("{}a:\n", " ".repeat(depth));
    }
    check_codes(&format!("```yaml part motor\n{block}```\n"), &["yaml-too-deep"]);
}

#[test]
fn a_deep_expression_is_one_finding() {
    let many = 100_000;
    for expression in [
        format!("{}1{}", "(".repeat(many), ")".repeat(many)),
        format!("{}1", "-".repeat(many)),
        format!("{}1", "2^".repeat(many)),
        format!("{}1{}", "sqrt(".repeat(many), ")".repeat(many)),
    ] {
        check_codes(&worksheet(&format!("'{expression}'")), &["expression-too-deep"]);
    }
}

#[test]
fn a_long_expression_is_worked() {
    let folder = Folder::new();
    folder.write("journal.md", worksheet(&format!("1{}", " + 1".repeat(20_000))));
    let found = register(&folder);
    assert_eq!(found["results"]["sum.total"]["value"].as_f64(), Some(20_001.0), "{}", found["findings"]);
}

#[test]
fn long_lines_are_read() {
    let long = "word ".repeat(2 * 1024 * 1024);
    for text in [
        long.clone(),
        "x".repeat(10 * 1024 * 1024),
        format!("> {long}"),
        format!("[{}](result:a.b)", "[".repeat(100_000)),
        format!("{}text", "> ".repeat(20_000)),
        format!("{}text", "- ".repeat(20_000)),
        format!("{}text", "*_".repeat(50_000)),
        format!("<!-- {long} -->"),
        "`".repeat(1024 * 1024),
    ] {
        let folder = Folder::new();
        folder.write("journal.md", text);
        let run = folder.run(&["check"]);
        assert!(run.status <= 1, "{}", run.err);
    }
    check_codes(
        &format!("```yaml part motor\nrole: motor\nmass: {}\n```\n", "9".repeat(10 * 1024 * 1024)),
        &["not-finite"],
    );
    check_codes(
        &format!("```yaml part motor\nrole: {}\nmass: 1 kg\n```\n", "a".repeat(10 * 1024 * 1024)),
        &[],
    );
}

#[test]
fn files_that_are_no_lists_are_findings() {
    let ledger =
        "```yaml mass-ledger kerb\ndonor: {mass: 900 kg}\nremoved: []\ninstalled: {file: items.csv}\n```\n";
    for (content, code) in [
        (&b"item,mass\nbox,\xff kg\n"[..], "bad-csv"),
        (&b"\xff\xfe\x00"[..], "bad-csv"),
        (&b"item,mass\nbox,4 kg,7\n"[..], "bad-csv"),
    ] {
        let folder = Folder::new();
        folder.write("journal.md", ledger);
        folder.write("items.csv", content);
        assert_eq!(codes(&register(&folder)), [code], "{content:?}");
    }
    let folder = Folder::new();
    folder.write("journal.md", ledger);
    fs::create_dir(folder.path.join("items.csv")).expect("a folder in the file's place");
    assert_eq!(codes(&register(&folder)), ["file-unreadable"]);
}

#[test]
fn bytes_that_are_no_text_never_reach_a_panic() {
    // A small generator without a seed from outside: the same bytes at every run.
    let mut state = 0x2545_F491_4F6C_DD1D_u64;
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state
    };
    let seed = fs::read(data("ten-mistakes.md")).expect("a journal");
    for _ in 0..60 {
        let mut bytes = seed.clone();
        for _ in 0..20 {
            let at = usize::try_from(next() % u64::try_from(bytes.len()).expect("small")).expect("small");
            match next() % 3 {
                0 => bytes[at] = u8::try_from(next() % 256).expect("a byte"),
                1 => drop(bytes.remove(at)),
                _ => bytes
                    .insert(at, b"`[]{}:#&*!|>'\"%@\n\t \r-"[usize::try_from(next() % 21).expect("small")]),
            }
        }
        let folder = Folder::new();
        folder.write("journal.md", &bytes);
        let run = folder.run(&["check", "--json"]);
        assert!(run.status <= 1, "{}\n{}", run.err, String::from_utf8_lossy(&bytes));
    }
}

#[test]
fn the_exit_status_tells_what_happened() {
    let good = "```yaml worksheet sum\nsteps:\n  - {name: total, is: 2 kg + 3 kg, unit: kg}\n```\n";
    let folder = Folder::new();
    folder.write("journal.md", good);
    assert_eq!(folder.run(&["check"]).status, 1, "results are stale");
    assert_eq!(folder.run(&["work"]).status, 0);
    assert_eq!(folder.run(&["check"]).status, 0);

    let failing = format!("{good}\n```yaml targets wishes\nlight: sum.total <= 4 kg\n```\n");
    folder.write("journal.md", failing);
    assert_eq!(folder.run(&["work"]).status, 0, "a failed requirement is no error of the journal");
    assert_eq!(folder.run(&["check"]).status, 1, "a failed requirement");

    folder.write("journal.md", good.replace("3 kg", "3 kgs"));
    assert_eq!(folder.run(&["work"]).status, 1);
    assert_eq!(folder.run(&["check"]).status, 1);

    assert_eq!(run(&["calculate"]).status, 2);
    assert_eq!(run(&["check", "--no-such-option"]).status, 2);
    assert_eq!(run(&["trace"]).status, 2);
    assert_eq!(run(&["check", "no/such/journal"]).status, 3);
    assert_eq!(run(&["work", "no/such/journal"]).status, 3);
    assert_eq!(run(&["--version"]).out.trim(), "voltwright 0.1.0");
}

/// The register of `check` with further words.
#[track_caller]
fn checked(folder: &Folder, words: &str) -> Value {
    let words: Vec<&str> = ["check", "--json"].into_iter().chain(words.split(' ')).collect();
    serde_json::from_str(&folder.run(&words).out).expect("a register")
}

/// The register that comes with the printed dossier.
#[track_caller]
fn printed(folder: &Folder) -> Value {
    let run = folder.run(&["dossier", "--no-write-back"]);
    let text = fs::read(folder.path.join("dossier/register.json"))
        .unwrap_or_else(|fault| panic!("{fault}: {}", run.err));
    serde_json::from_slice(&text).expect("a register")
}

fn run(words: &[&str]) -> Run {
    Run::of(program(words).output().expect("the program starts"))
}

fn worksheet(expression: &str) -> String {
    format!("```yaml worksheet sum\nsteps:\n  - name: total\n    is: {expression}\n    unit: 1\n```\n")
}

/// The journal raises these errors and warnings, in this order, and no others.
#[track_caller]
fn check_codes(text: &str, expected: &[&str]) {
    let folder = Folder::new();
    folder.write("journal.md", text);
    assert_eq!(codes(&register(&folder)), expected, "{}", text.chars().take(200).collect::<String>());
}

fn codes(found: &Value) -> Vec<&str> {
    let findings = found["findings"].as_array().expect("findings").iter();
    findings
        .filter(|finding| finding["severity"] != "note")
        .filter_map(|finding| finding["code"].as_str())
        .collect()
}

/// What was expected and is not there, what is there and was not expected, and findings whose words are not usable.
fn differences(path: &Path, text: &str, found: &Value) -> Vec<String> {
    let name = path.file_name().expect("a name").to_string_lossy();
    let mut expected: Vec<String> = text
        .split("<!-- expect: ")
        .skip(1)
        .filter_map(|rest| Some(rest.split_once(" -->")?.0.to_owned()))
        .collect();
    let mut faults = Vec::new();
    if expected.is_empty() {
        faults.push(format!("{name}: expects nothing"));
    }
    for finding in found["findings"].as_array().expect("findings") {
        let word = |key: &str| finding[key].as_str().unwrap_or_default();
        let place =
            format!("{} {} {}:{}", word("code"), word("severity"), finding["line"], finding["column"]);
        let (message, help) = (word("message"), word("help"));
        if let Some(at) = expected.iter().position(|wanted| *wanted == place) {
            expected.remove(at);
        } else if word("severity") != "note" {
            faults.push(format!("{name}: not expected: {place}: {message}"));
        }
        let usable =
            !message.is_empty() && !message.contains('\n') && !message.ends_with('.') && !help.is_empty();
        if !usable {
            faults.push(format!("{name}: {place}: message {message:?}, help {help:?}"));
        }
    }
    faults.extend(expected.into_iter().map(|wanted| format!("{name}: missing: {wanted}")));
    faults
}

fn files(folder: &str) -> Vec<PathBuf> {
    let entries = fs::read_dir(data(folder)).expect("a folder").map(|entry| entry.expect("an entry").path());
    let mut files: Vec<PathBuf> =
        entries.filter(|path| path.extension().is_some_and(|end| end == "md")).collect();
    files.sort();
    files
}

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)
}
