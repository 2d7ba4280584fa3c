//! How the commands are told what to work, and what they say of it.

use std::fs;
use std::io::Write;
use std::process::Stdio;

use serde_json::Value;

#[path = "support/program.rs"]
mod program;

use program::{Folder, Run, program};

const FRONT: &str = "---\ntitle: A van\nbuilder: nobody\n---\n\n";

/// A mass that a target holds against a limit.
const BLOCKS: &str = "\
```yaml worksheet load
given: {bare: 900 kg ± 6 kg (measured), people: 150 kg ± 1 kg (measured)}
steps:
  - {name: total, is: bare + people, unit: kg}
```

```yaml targets goals
light: load.total <= 1 100 kg
```
";

/// Runs the program in a folder below that of the journal.
#[track_caller]
fn run_in(folder: &Folder, below: &str, words: &[&str]) -> Run {
    let here = folder.path.join(below);
    fs::create_dir_all(&here).expect("a folder");
    Run::of(program(words).current_dir(here).output().expect("the program starts"))
}

/// Runs the program with this as its standard input.
#[track_caller]
fn fed(words: &[&str], text: &str) -> Run {
    let pipe = Stdio::piped;
    let mut child =
        program(words).stdin(pipe()).stdout(pipe()).stderr(pipe()).spawn().expect("the program starts");
    child.stdin.take().expect("a pipe").write_all(text.as_bytes()).expect("it reads");
    Run::of(child.wait_with_output().expect("it ends"))
}

fn read(folder: &Folder, name: &str) -> String {
    fs::read_to_string(folder.path.join(name)).expect("a file")
}

#[test]
fn the_journal_is_found_upward_and_places_are_told_from_where_one_stands() {
    let folder = Folder::new();
    folder.write("shop/days/a.md", "No block.\n");
    folder.write("0.md", format!("{FRONT}{}", BLOCKS.replace("900 kg", "900 kgs")));
    let run = run_in(&folder, "shop/days", &["check"]);
    assert_eq!(run.status, 1);
    assert!(run.err.starts_with("../../0.md:7:19  in worksheet load\n"), "{}", run.err);
    let run = run_in(&folder, "", &["check"]);
    assert!(run.err.starts_with("0.md:7:19  in "), "{}", run.err);
    let run = run_in(&folder, "shop", &["check", ".."]);
    assert!(run.err.starts_with("../0.md:7:19  in "), "{}", run.err);
    let register: Value =
        serde_json::from_str(&run_in(&folder, "shop", &["check", "--json"]).out).expect("a register");
    assert_eq!(register["findings"][0]["file"], "0.md", "programs are told from the journal's folder");
}

#[test]
fn an_empty_marker_makes_a_folder_a_journal_and_a_title_alone_does_not() {
    let folder = Folder::new();
    folder.write("0.md", format!("{FRONT}{BLOCKS}"));
    let own = BLOCKS.replace("load", "own").replace("goals", "wishes");
    folder.write("van/1.md", format!("---\ntitle: only a title\n---\n\n{own}"));
    let both = |wanted: [i32; 2]| {
        let found = ["load.total", "own.total"].map(|name| run_in(&folder, "van", &["trace", name]).status);
        assert_eq!(found, wanted);
    };
    both([0, 0]);
    folder.write("van/voltwright.yaml", "");
    both([2, 0]);
}

#[test]
fn two_journals_below_one_folder_are_refused_and_nothing_is_written() {
    let folder = Folder::new();
    folder.write("a/0.md", format!("{FRONT}{BLOCKS}"));
    folder.write("b/0.md", format!("{FRONT}{BLOCKS}"));
    for words in [&["work"][..], &["dossier"], &["work", "--overwrite-edits"]] {
        let run = folder.run(words);
        assert_eq!(run.status, 1, "{}", run.err);
        assert_eq!(run.err.matches("two-journals").count(), 1, "{}", run.err);
        assert_eq!(run.err.matches("  error ").count(), 1, "{}", run.err);
    }
    let one = read(&folder, "a/0.md");
    assert_eq!((one, read(&folder, "b/0.md")), (format!("{FRONT}{BLOCKS}"), format!("{FRONT}{BLOCKS}")));
    assert!(!folder.path.join("dossier").exists());
    assert_eq!(run_in(&folder, "a", &["work"]).status, 0, "each alone is worked");
}

#[test]
fn front_matter_that_says_nothing_of_a_vehicle_is_a_warning_where_it_does_not_belong() {
    let folder = Folder::new();
    folder.write("0.md", format!("{FRONT}{BLOCKS}"));
    folder.write("1.md", "---\ntags: welding\n---\n\nA day in the shop.\n");
    let run = folder.run(&["work"]);
    assert_eq!(run.status, 0, "{}", run.err);
    assert!(run.err.contains("warning stray-front-matter"), "{}", run.err);
    // One journal whose front matter stands in its second file is no second journal.
    folder.write("0.md", "Read me.\n");
    folder.write("1.md", format!("{FRONT}{BLOCKS}"));
    let run = folder.run(&["check"]);
    assert!(run.err.contains("error front-matter") && !run.err.contains("two-journals"), "{}", run.err);
}

#[test]
fn what_other_programs_fill_is_passed_over() {
    let folder = Folder::new();
    folder.write("0.md", format!("{FRONT}{BLOCKS}"));
    for path in ["node_modules/a/README.md", "x/target/doc.md", ".cache/y.md"] {
        folder.write(path, format!("{FRONT}{BLOCKS}"));
    }
    assert_eq!(folder.run(&["work"]).status, 0);
}

#[test]
fn lines_for_editors_have_place_severity_message_and_code() {
    let folder = Folder::new();
    folder.write("0.md", format!("{FRONT}{}", BLOCKS.replace("people: 150 kg", "people: 150 kgs")));
    folder.write(
        "1.md",
        "```yaml worksheet own\nsteps:\n  - {name: a, is: 2 kg, unit: kg}\nchecks: {b: a <= 1 kg}\n```\n",
    );
    let run = run_in(&folder, "sub", &["check", "--format", "lines"]);
    assert_eq!(run.status, 1);
    let found: Vec<&str> = run.err.lines().collect();
    assert_eq!(found.len(), 1, "{}", run.err);
    assert!(found[0].starts_with("../0.md:7:") && found[0].contains(": error: "), "{}", run.err);
    assert!(found[0].ends_with(" [unknown-unit]"), "{}", run.err);
    let fails = run.out.lines().find(|line| line.contains("own.b fails")).expect("a requirement that fails");
    assert!(fails.starts_with("../1.md:4:"), "{fails}");
    assert!(
        fails.contains(": error: own.b fails, 2 kg, at most 1 kg: ") && fails.ends_with(" [fails]"),
        "{fails}"
    );
    assert!(run.out.contains("../1.md:1:1: warning: its results are stale [stale]\n"), "{}", run.out);
}

#[test]
fn what_fails_is_named_with_place_value_limit_and_reason() {
    let folder = Folder::new();
    folder.write("0.md", format!("{FRONT}{}", BLOCKS.replace("1 100 kg", "1 000 kg")));
    // The region that is written above it takes seven lines.
    for (words, place) in [(&["check"], "(0.md:13:"), (&["work"], "(0.md:20:")] {
        let run = run_in(&folder, "", words);
        let line = run.out.lines().find(|line| line.starts_with("goals.light fails, ")).expect("the target");
        assert!(line.contains("1 050 kg, at most 1 000 kg: ") && line.contains(place), "{line}");
    }
}

#[test]
fn work_says_what_moved_verdicts_first_and_nothing_where_nothing_did() {
    let folder = Folder::new();
    folder.write("0.md", format!("{FRONT}{BLOCKS}"));
    assert!(!folder.run(&["work"]).out.contains("moved"), "there was nothing before");
    assert!(!folder.run(&["work"]).out.contains("moved"));
    folder.write("0.md", read(&folder, "0.md").replace("bare: 900 kg", "bare: 980 kg"));
    assert!(!folder.run(&["check"]).out.contains("moved"));
    let out = folder.run(&["work"]).out;
    let moved: Vec<&str> = out.lines().take(3).collect();
    assert_eq!(moved[0], "moved since the last working:");
    assert!(
        moved[1].contains("light") && moved[1].contains("→ fails, 1 050 kg → 1 130 kg, at most 1 100 kg"),
        "{out}"
    );
    assert!(moved[2].starts_with("  load.total: 1 050 ± 7 kg → 1 130 ± 7 kg"), "{out}");
}

#[test]
fn a_requirement_a_block_and_what_rests_on_a_value_can_be_traced() {
    let folder = Folder::new();
    folder.write("0.md", format!("{FRONT}{BLOCKS}"));
    let traced = |words: &[&str]| {
        let run = folder.run(&[&["trace"], words].concat());
        assert_eq!(run.status, 0, "{}", run.err);
        run.out
    };
    let target = traced(&["goals.light"]);
    assert!(target.starts_with("load.total = 1 050 ± 7 kg "), "{target}");
    assert!(target.contains("\nrequired:\n  goals.light meets, 1 050 kg, at most 1 100 kg: "), "{target}");
    let block = traced(&["load"]);
    assert!(block.starts_with("load.total = ") && block.contains("  load.people = 150 kg"), "{block}");
    let forward = traced(&["--forward", "load.bare"]);
    assert!(forward.starts_with("load.bare = 900 kg"), "{forward}");
    assert!(forward.contains("\n  load.total = 1 050 ± 7 kg"), "{forward}");
    assert!(forward.contains("required of what rests on it:\n  goals.light meets"), "{forward}");
    let json: Value = serde_json::from_str(&traced(&["--json", "--forward", "load.bare"])).expect("JSON");
    assert_eq!((&json["feeds"][0]["name"], json.get("needs")), (&"load.total".into(), None));
    assert_eq!(json["requirements"][0]["verdict"], "meets");
    let json: Value = serde_json::from_str(&traced(&["--json", "load"])).expect("JSON");
    assert_eq!(json["traces"][0]["needs"][1]["name"], "load.people");
    let wrong = folder.run(&["trace", "goals.lihgt"]);
    assert_eq!(wrong.status, 2);
    assert!(wrong.err.contains("did you mean `goals.light`?"), "{}", wrong.err);
}

#[test]
fn quiet_leaves_findings_and_what_was_asked_for() {
    let folder = Folder::new();
    folder.write("0.md", format!("{FRONT}{BLOCKS}"));
    for words in [&["check", "--quiet"][..], &["work", "--quiet"], &["check", "-q", "--format", "lines"]] {
        let run = folder.run(words);
        assert_eq!((run.out.as_str(), run.err.as_str()), ("", ""), "{words:?}");
    }
    assert!(folder.run(&["check", "--quiet", "--json"]).out.starts_with('{'));
    folder.write("1.md", "```yaml part x\nmass: 3 kgs\n```\n");
    let run = folder.run(&["check", "--quiet"]);
    assert!(run.err.contains("unknown-unit") && run.out.is_empty(), "{run:?}");
}

#[test]
fn standard_input_is_worked_to_standard_output() {
    let text = format!("{FRONT}{BLOCKS}\nIt is [?](result:load.total).\r\n");
    let run = fed(&["work", "-"], &text);
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    assert!(run.out.starts_with(FRONT) && run.out.contains("<!-- worked:load -->"), "{}", run.out);
    assert!(run.out.ends_with("It is [1 050 kg](result:load.total).\r\n"), "{}", run.out);
    assert_eq!(fed(&["work", "-"], &run.out).out, run.out, "working twice changes nothing");
    let broken = fed(&["check", "-", "--format", "lines"], &text.replace("900 kg", "900 kgs"));
    assert!(broken.err.starts_with("-:7:"), "{}", broken.err);
    let register: Value =
        serde_json::from_str(&fed(&["work", "-", "--json"], &text).out).expect("a register");
    assert_eq!(register["results"]["load.total"]["shown"], "1 050 kg");
    assert!(fed(&["trace", "goals.light", "-"], &text).out.contains("load.bare = 900 kg"));
}

#[test]
fn begin_writes_three_dated_files_that_work_without_a_word() {
    for words in [&["begin"][..], &["begin", "--units", "us", "--paper", "letter"]] {
        let folder = Folder::new();
        fs::remove_dir(&folder.path).expect("an empty folder");
        let mut begin = program(words);
        begin.env("SOURCE_DATE_EPOCH", "1772409600").arg(&folder.path);
        assert_eq!(Run::of(begin.output().expect("it starts")).status, 0);
        let mut names: Vec<String> = fs::read_dir(&folder.path)
            .expect("a folder")
            .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        assert_eq!(names.len(), 3, "{names:?}");
        assert!(
            names.iter().all(|name| name.starts_with("2026-03-02-") && name.ends_with(".md")),
            "{names:?}"
        );
        let first = read(&folder, &names[0]);
        let us = words.len() > 1;
        assert_eq!(first.contains("\nunits: us\npaper: letter\n"), us, "{first}");
        assert!(first.contains("```yaml sources ") && first.contains("```yaml targets "), "{first}");
        assert!(names.iter().all(|name| !read(&folder, name).contains("[[")), "a place was left empty");
        let run = folder.run(&["work"]);
        assert_eq!((run.status, run.err.as_str()), (0, ""), "{words:?}");
        let last = read(&folder, &names[2]);
        let shown =
            last.split("comes to [").nth(1).and_then(|rest| rest.split(']').next()).expect("a live value");
        assert!(shown.ends_with(if us { " lb" } else { " kg" }), "{shown}");
        assert_eq!(run_in(&folder, "evidence", &["check"]).status, 0, "it is found from below");
    }
}

#[test]
fn each_command_has_help_with_an_example_and_the_manual_its_sections() {
    for command in ["begin", "work", "check", "dossier", "trace", "kinds", "completions"] {
        let help = Run::of(program(&["help", command]).output().expect("it starts"));
        assert_eq!(help.status, 0);
        assert!(help.out.contains(&format!("Examples:\n  voltwright {command}")), "{}", help.out);
    }
    let manual = Run::of(program(&["manual"]).output().expect("it starts")).out;
    for section in ["EXIT STATUS", "FILES", "ENVIRONMENT", "EXAMPLES"] {
        assert_eq!(manual.matches(&format!("\n.SH \"{section}\"\n")).count(), 1, "{section}");
    }
    for told in ["voltwright.yaml", "NO_COLOR", "SOURCE_DATE_EPOCH", "voltwright check my\\-van"] {
        assert!(manual.contains(told), "{told}");
    }
}

#[test]
fn all_kinds_are_told_at_once() {
    let all = Run::of(program(&["kinds", "--all"]).output().expect("it starts")).out;
    let list = Run::of(program(&["kinds"]).output().expect("it starts")).out;
    for kind in list.lines().take_while(|line| !line.is_empty()) {
        let name = kind.split(' ').next().expect("a name");
        assert!(all.contains(&format!("# {name}\n")), "{name}");
    }
}

/// What would fail an inspection is named with its place, an answer `no` too; what the journal says nothing of, and what
/// waits for a limit to be read, is a line each, however much it is; what is not due yet is left out.
#[test]
fn check_names_all_that_is_open_the_worst_first() {
    let folder = Folder::new();
    let text = "---\nvehicle: {description: invented}\nstage: build\nrules: [un-r100]\n---\n\n\
        ```yaml targets goals\nlight: load.total <= 100 kg\n```\n\n\
        ```yaml worksheet load\nsteps:\n  - {name: total, is: 900 kg + 3 kg, unit: kg}\n```\n\n\
        ```yaml discharge bleeder\nvoltage: 400 V (target)\ncapacitance: 1 mF (target)\nresistance: 20 kohm (target)\n```\n\n\
        ```yaml inspection own\nanswers:\n  brakes_and_steering: {answer: no, because: not tried, by: K. Ames, date: 2026-03-02}\n```\n";
    folder.write("journal.md", text);
    let run = folder.run(&["check"]);
    let at = |words: &str| {
        let found = run.out.lines().position(|line| line.starts_with(words));
        found.unwrap_or_else(|| panic!("no {words}:\n{}", run.out))
    };
    let no = at("`brakes and steering kept` fails: answered no by K. Ames: not tried (");
    assert!(run.out.lines().nth(no).is_some_and(|line| line.ends_with("journal.md:24:3)")), "{}", run.out);
    let wish = at("goals.light fails, ");
    let missing = at("not in this journal, of the subjects: identity; mass and axles; ");
    let unread = at("limit unread, of bleeder.un-r100 discharge_60_s: ");
    assert!(no < wish && wish < missing && missing < unread, "{}", run.out);
    // Evidence is due when the vehicle is shown.
    let subjects = run.out.lines().nth(missing).expect("a line");
    assert!(!subjects.contains("towing") && !subjects.contains("brakes"), "{subjects}");
    // An editor is told each at a place.
    let lines = folder.run(&["check", "--format", "lines"]).out;
    assert!(lines.contains("journal.md:24:3: error: `brakes and steering kept` fails: "), "{lines}");
    assert!(lines.contains("journal.md:22:20: warning: `mass and axles` not in this journal: "), "{lines}");
    assert!(lines.contains(": note: bleeder.un-r100 discharge_60_s limit unread, "), "{lines}");
}
