//! The living journal: entries, changes that are asked about, revisions, and what moved between them.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde_json::Value;

#[path = "support/chance.rs"]
mod chance;
#[path = "support/program.rs"]
mod program;

use chance::Chance;
use program::{Folder, Run, program};

/// Runs the program in a journal's folder, on a day in March 2026.
#[track_caller]
fn run(folder: &Folder, words: &[&str]) -> Run {
    let mut command = program(words);
    // Noon of 2 March, UTC.
    command.current_dir(&folder.path).env("SOURCE_DATE_EPOCH", "1772452800");
    Run::of(command.output().expect("the program starts"))
}

fn read(folder: &Folder, name: &str) -> String {
    fs::read_to_string(folder.path.join(name)).expect("a file")
}

#[test]
fn a_note_is_added_to_the_last_file_below_its_date() {
    let folder = Folder::new();
    folder.write("1.md", "---\ntitle: A van\nbuilder: nobody\n---\n");
    folder.write("2.md", "It begins.\n");
    assert_eq!(run(&folder, &["note", "Weighed it."]).out, "noted in 2.md, under 2026-03-02\n");
    assert_eq!(run(&folder, &["note", "And again."]).status, 0);
    assert_eq!(read(&folder, "2.md"), "It begins.\n\n## 2026-03-02\n\nWeighed it.\n\nAnd again.\n");
    assert_eq!(run(&folder, &["note", " "]).status, 2);
    folder.write("3.md", "```\nopen\n");
    let refused = folder.run(&["note", "Lost?", "--journal"]);
    assert_eq!(refused.status, 1);
    assert!(refused.err.contains("ends within a fence"), "{}", refused.err);
    assert_eq!(read(&folder, "3.md"), "```\nopen\n");
}

/// A position is due when the vehicle is built, and not yet while it is planned: unless the last revision had it.
#[test]
fn what_was_there_at_the_last_revision_and_is_gone_is_missing() {
    let journal = |position: &str| {
        format!(
            "---\ntitle: A van\nbuilder: nobody\nrevision: A\n---\n\n```yaml mass-ledger kerb\nbasis: measured\n\
             donor: {{mass: 900 kg ± 1 kg, front_axle: 500 kg ± 1 kg}}\nwheelbase: 2 300 mm ± 5 mm\n\
             installed:\n  - {{name: motor, mass: 50 kg ± 1 kg{position}}}\n\
             load:\n  - {{name: driver, mass: 75 kg, x: 1 100 mm}}\n\
             limits: {{gross: 1 500 kg, front_axle: 900 kg, rear_axle: 900 kg}}\n\
             unlisted: 1 kg ± 0.5 kg\nunlisted_x: 1 m\n```\n"
        )
    };
    let folder = Folder::new();
    let counts = |position: &str| {
        folder.write("journal.md", journal(position));
        run(&folder, &["check"]).out
    };
    let not_yet = counts("");
    assert!(not_yet.contains("meets 1, open 2 (2 not yet)"), "{not_yet}");
    let whole = counts(", x: 100 mm ± 10 mm");
    assert!(whole.contains("requirements: meets 3"), "{whole}");
    let issued = run(&folder, &["issue", "--revision", "A"]);
    assert_eq!(issued.status, 0, "{}", issued.err);
    let gone = counts("");
    assert!(gone.contains("meets 1, open 2 (2 missing)"), "{gone}");
}

/// A fence that says `yaml` alone is prose: whoever meant a block is told how one begins.
#[test]
fn a_journal_without_a_block_says_how_one_begins() {
    let folder = Folder::new();
    folder.write("journal.md", "# Trike\n\n```yaml\nwanted_speed: 70 km/h\n```\n");
    let check = run(&folder, &["check"]);
    assert_eq!(check.status, 0, "{}", check.err);
    assert!(check.out.starts_with("no calculation block found: one is a fence that says"), "{}", check.out);
}

/// A study is asked when the journal is worked, not of each change: its answers are not told as lost.
#[test]
fn what_studies_gave_is_left_out_of_what_would_move() {
    let folder = Folder::new();
    folder.write(
        "journal.md",
        "```yaml worksheet w\ngiven: {m: 4 kg}\nsteps:\n  - {name: twice, is: m * 2, unit: kg}\n```\n\n\
         ```yaml solve-for half\nchange: w.m\nbetween: [1 kg, 9 kg]\nuntil: w.twice == 10 kg\n```\n\n\
         ```yaml worksheet on_it\nsteps:\n  - {name: more, is: half.value + 1 kg, unit: kg}\n```\n",
    );
    let check = run(&folder, &["check"]);
    assert!(check.out.contains("3 blocks worked"), "{}{}", check.out, check.err);
    let told = run(&folder, &["what-if", "w.m=6 kg"]).out;
    assert!(told.contains("w.twice: 8.0 ± 1.8 kg → 12.0 ± 2.8 kg"), "{told}");
    assert!(!told.contains("no longer there") && told.contains("studies are not asked again"), "{told}");
}

/// What a command prints as JSON.
#[track_caller]
fn json(folder: &Folder, words: &[&str]) -> Value {
    let run = run(folder, words);
    serde_json::from_str(&run.out).unwrap_or_else(|error| panic!("{error}: {}{}", run.out, run.err))
}

#[track_caller]
fn is_near(found: &Value, expected: f64) {
    let found = found.as_f64().expect("a number");
    assert!((found - expected).abs() <= 1e-9 * expected.abs().max(1.0), "{found}, not {expected}");
}

const FORCE: &str = "\
---
title: A van
builder: nobody
---

```yaml worksheet w
given: {m: 100 kg ± 1 kg (measured), g: 10 m/s^2 ± 0.01 m/s^2 (measured)}
steps:
  - {name: force, is: m * g, unit: N}
checks: {light: force <= 1 050 N}
```
";

/// With both: 120 kg × 9 m/s² = 1 080 N. Without the mass 100 × 9 = 900, so the mass accounts for 180; without the
/// acceleration 120 × 10 = 1 200, so that accounts for −120; of the 80 N in all 20 are left.
#[test]
fn what_if_tells_how_much_each_change_accounts_for() {
    let folder = Folder::new();
    folder.write("journal.md", FORCE);
    let changes = ["what-if", "w.m=120 kg", "w.g=9 m/s^2"];
    let found = json(&folder, &[changes.as_slice(), &["--json"]].concat());
    let force = &found["results"]["w.force"];
    for (key, expected) in [("before_si", 1000.0), ("after_si", 1080.0), ("difference_si", 80.0)] {
        is_near(&force[key], expected);
    }
    is_near(&force["causes"]["w.m"], 180.0);
    is_near(&force["causes"]["w.g"], -120.0);
    is_near(&force["interaction"], 20.0);
    is_near(&force["per_cent"], 8.0);
    let flip = &found["verdicts"][0];
    assert_eq!(
        (&flip["name"], &flip["before"], &flip["after"]),
        (&"w.light".into(), &"meets".into(), &"fails".into())
    );
    assert_eq!(found["inputs"]["w.m"]["before"], "100 kg ± 1 kg (measured)");
    let said = run(&folder, &changes).out;
    assert!(said.contains("\n  w.light: meets → fails, 1 000 N → 1 080 N, at most 1 050 N\n"), "{said}");
    assert!(said.contains("; by w.m +180 N, w.g −120 N, together +20.0 N\n"), "{said}");
    assert_eq!(read(&folder, "journal.md"), FORCE);
}

#[test]
fn a_part_takes_the_place_of_another_wherever_it_is_named() {
    let folder = Folder::new();
    folder.write(
        "journal.md",
        "---\ntitle: A van\nbuilder: nobody\n---\n\n\
         ```yaml part motor_a\nrole: motor\nmass: 60 kg ± 1 kg\nmax_speed: 9 000 rpm\n```\n\n\
         ```yaml part motor_b\nrole: motor\nmass: 45 kg ± 1 kg\nmax_speed: 6 000 rpm\n```\n\n\
         ```yaml ratio-chain drive\nwanted_speed: 100 km/h\ntyre: 600 mm ± 1 mm\nmotor: motor_a\n\
         stages: [{name: axle, ratio: 8}]\n```\n\n\
         ```yaml mass-ledger kerb\ndonor: {mass: 1 000 kg ± 5 kg}\n\
         installed: [{item: motor, part: motor_a}]\n```\n",
    );
    let found = json(&folder, &["what-if", "motor_a=motor_b", "--json"]);
    let mass = &found["results"]["kerb.converted_mass"];
    is_near(&mass["difference_si"], -15.0);
    is_near(&mass["causes"]["motor_a"], -15.0);
    is_near(&mass["interaction"], 0.0);
    assert_eq!(found["inputs"]["drive.motor"]["after"], "motor_b");
    let flips = found["verdicts"].as_array().expect("verdicts");
    let name = |flip: &Value| (flip["name"].clone(), flip["after"].clone());
    // 100 km/h on 600 mm is 884 rpm at the wheel and 7 074 rpm at the motor.
    let expected = ("drive.motor_speed".into(), "fails".into());
    assert!(flips.iter().any(|flip| name(flip) == expected), "{flips:?}");
}

#[test]
fn what_can_not_be_set_is_told() {
    let folder = Folder::new();
    folder.write("journal.md", FORCE);
    for (change, expected) in [
        ("w.mm=1 kg", "there is no input `w.mm`; did you mean `w.m`?"),
        ("w.force=1 N", "`w.force` is calculated, no input"),
        ("w.m", "`w.m` sets nothing: type NAME=VALUE"),
        ("v=1 kg", "there is no block `v`"),
        ("w=v", "no block names `w` as a part"),
        ("w.m=", "nothing is given for `w.m`"),
    ] {
        let run = run(&folder, &["what-if", change]);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{change}");
        assert!(run.err.starts_with(expected), "{change}: {}", run.err);
    }
    // An error that it would make is told, and not what waits for it.
    let run = run(&folder, &["what-if", "w.m=3 V"]);
    assert_eq!(run.out, "");
    assert_ne!(run.status, 0);
}

/// Sums of products whose parts are worked here by hand, over random journals.
#[test]
fn causes_and_interaction_sum_to_the_move() {
    let (folder, later) = (Folder::new(), Folder::new());
    let since = folder.path.to_str().expect("a path");
    let mut chance = Chance::new(14);
    for _ in 0..24 {
        let count = 2 + chance.below(5);
        let mut number = || (1 + chance.below(900)) as f64 / 4.0;
        let factors: Vec<f64> = (0..count).map(|_| number()).collect();
        let before: Vec<f64> = (0..count).map(|_| number()).collect();
        let after: Vec<f64> = (0..count).map(|_| number()).collect();
        let mut terms: Vec<String> =
            factors.iter().enumerate().map(|(at, a)| format!("{a} * x{at}")).collect();
        terms.push("x0 * x1".to_owned());
        let journal = |values: &[f64]| {
            let given = values.iter().enumerate().map(|(at, x)| format!("x{at}: {x}"));
            let (given, is) = (given.collect::<Vec<String>>().join(", "), terms.join(" + "));
            format!(
                "```yaml worksheet w\ngiven: {{{given}}}\nsteps:\n  - {{name: y, is: {is}, unit: \"1\"}}\n```\n"
            )
        };
        folder.write("journal.md", journal(&before));
        later.write("journal.md", journal(&after));
        let work = |x: &[f64]| x.iter().zip(&factors).map(|(x, a)| a * x).sum::<f64>() + x[0] * x[1];
        let mut words: Vec<String> = vec!["what-if".to_owned(), "--json".to_owned()];
        words.extend(after.iter().enumerate().map(|(at, x)| format!("w.x{at}={x}")));
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let found = json(&folder, &words);
        let moved = &found["results"]["w.y"];
        // The same, asked of two journals.
        let of_two = json(&later, &["moved", "--since", since, "--json"]);
        assert_eq!(of_two["results"]["w.y"], *moved);
        is_near(&moved["difference_si"], work(&after) - work(&before));
        let mut sum = moved["interaction"].as_f64().expect("a number");
        for at in 0..count {
            let mut without = after.clone();
            without[at] = before[at];
            let expected = work(&after) - work(&without);
            let share = moved["causes"][format!("w.x{at}")].as_f64().unwrap_or(0.0);
            assert!((share - expected).abs() < 1e-6, "{share}, not {expected}");
            sum += share;
        }
        assert!((sum - moved["difference_si"].as_f64().expect("a number")).abs() < 1e-6);
    }
}

/// A journal whose load is legal up to 1 100 kg.
const VAN: &str = "\
---
title: A van
builder: nobody
revision: A
---

```yaml mass-ledger kerb
donor: {mass: 1 000 kg ± 2 kg (measured)}
installed: {file: evidence/items.csv}
limits: {gross: 1 100 kg}
```
";

const ITEMS: &str = "item,mass\nmotor,60 kg ± 1 kg\npack,20 kg ± 1 kg\n";

fn van() -> Folder {
    let folder = Folder::new();
    folder.write("van.md", VAN);
    folder.write("evidence/items.csv", ITEMS);
    folder
}

/// All below a folder: path and content.
fn all_below(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        if path.is_dir() {
            found.extend(
                all_below(&path).into_iter().map(|(below, bytes)| (format!("{name}/{below}"), bytes)),
            );
        } else {
            found.insert(name, fs::read(&path).expect("a file"));
        }
    }
    found
}

#[test]
fn a_revision_is_frozen_whole_and_never_written_again() {
    let folder = van();
    let run_a = run(&folder, &["issue", "--revision", "A", "--note", "as planned"]);
    assert_eq!(run_a.status, 0, "{}{}", run_a.out, run_a.err);
    assert!(run_a.out.ends_with("revision A is issued: ./revisions/A, 6 files\n"), "{}", run_a.out);
    let frozen = all_below(&folder.path.join("revisions"));
    let names: Vec<&str> = frozen.keys().map(String::as_str).collect();
    let expected = [
        "A/dossier.pdf",
        "A/journal/evidence/items.csv",
        "A/journal/van.md",
        "A/register.json",
        "A/revision.json",
        "A/summary.pdf",
    ];
    assert_eq!(names, expected);
    // The copy is the journal as it was written back.
    assert_eq!(frozen["A/journal/van.md"], fs::read(folder.path.join("van.md")).expect("the journal"));
    let record: Value = serde_json::from_slice(&frozen["A/revision.json"]).expect("a record");
    assert_eq!((&record["date"], &record["note"]), (&"2026-03-02".into(), &"as planned".into()));
    assert_eq!(record["previous"], Value::Null);
    let again = run(&folder, &["issue"]);
    assert_eq!(again.status, 2);
    assert!(
        again.err.ends_with(
            "is there already, and is not written again: type another `revision:` in the front matter\n"
        ),
        "{}",
        again.err
    );
    let other = run(&folder, &["issue", "--revision", "B"]);
    assert!(
        other.err.starts_with("the front matter says revision A: type `revision: B` there"),
        "{}",
        other.err
    );
    assert_eq!(all_below(&folder.path.join("revisions")), frozen);
    // Frozen copies are no part of the journal.
    assert_eq!(run(&folder, &["check"]).status, 0);
}

#[test]
fn what_was_touched_in_a_chain_of_revisions_is_named() {
    let folder = van();
    assert_eq!(run(&folder, &["issue", "--verify"]).out, "no revision was issued yet\n");
    for name in ["A", "B", "C"] {
        let text = read(&folder, "van.md").replace("revision: A", &format!("revision: {name}"));
        folder.write("van.md", text.replace("revision: B", &format!("revision: {name}")));
        assert_eq!(run(&folder, &["issue", "--revision", name]).status, 0);
    }
    let verify = || run(&folder, &["issue", "--verify"]);
    assert_eq!((verify().status, verify().out.as_str()), (0, "untouched: A, B, C\n"));
    let cases: [(&str, &str, &str); 3] = [
        ("revisions/A/journal/van.md", "x", "touched: revisions/A/journal/van.md was changed\n"),
        (
            "revisions/B/revision.json",
            "\n",
            "touched: revisions/B/revision.json is not the one that revision C follows\n",
        ),
        ("revisions/C/more.txt", "x", "touched: revisions/C/more.txt was added\n"),
    ];
    for (name, more, expected) in cases {
        let path = folder.path.join(name);
        let whole = fs::read(&path).ok();
        fs::write(&path, [whole.as_deref().unwrap_or_default(), more.as_bytes()].concat()).expect("tampered");
        assert_eq!((verify().status, verify().out.as_str()), (1, expected));
        match whole {
            Some(whole) => fs::write(&path, whole).expect("mended"),
            None => fs::remove_file(&path).expect("mended"),
        }
    }
    fs::remove_file(folder.path.join("revisions/A/dossier.pdf")).expect("removed");
    assert!(verify().out.starts_with("touched: revisions/A/dossier.pdf can't be read"), "{}", verify().out);
    fs::remove_dir_all(folder.path.join("revisions/A")).expect("removed");
    assert_eq!(verify().out, "touched: revisions/A is gone, which revision B follows\n");
}

#[test]
fn what_fails_is_issued_only_despite_it() {
    let folder = van();
    folder.write("evidence/items.csv", ITEMS.replace("60 kg", "160 kg"));
    let refused = run(&folder, &["issue"]);
    assert_eq!(refused.status, 1);
    assert!(refused.err.contains("not issued, for kerb.laden_mass fails: mend it"), "{}", refused.err);
    assert!(!folder.path.join("revisions").exists());
    let despite = run(&folder, &["issue", "--despite", "the plate is being raised"]);
    assert_eq!(despite.status, 0, "{}", despite.err);
    let record: Value = serde_json::from_str(&read(&folder, "revisions/A/revision.json")).expect("a record");
    assert_eq!(record["despite"], "the plate is being raised");
    let pdf = lopdf::Document::load(folder.path.join("revisions/A/dossier.pdf")).expect("a PDF");
    let first = pdf.extract_text(&[1]).expect("its text").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(first.contains("requirements fail: the plate is being raised"), "{first}");
    // Where nothing fails there is nothing to be issued despite.
    let well = van();
    assert_eq!(run(&well, &["issue", "--despite", "no reason"]).status, 2);
    well.write("van.md", VAN.replace("1 000 kg ± 2 kg", "1 000 kgs"));
    assert_eq!(run(&well, &["issue"]).status, 1);
    assert!(!well.path.join("revisions").exists());
}

/// The motor of a ledger; what stands beside it in the list is `more`.
fn motor_van(donor: &str, more: &str) -> String {
    format!(
        "```yaml part van_motor\nrole: motor\nmass: 60 kg ± 1 kg (datasheet)\n```\n\n\
         ```yaml mass-ledger van_ledger\ndonor: {{mass: {donor}}}\n\
         installed:\n  - {{item: motor, part: van_motor}}\n{more}load:\n  - {{item: people, mass: 75 kg ± 1 kg}}\nlimits: {{gross: 1 144 kg}}\n```\n"
    )
}

const HEAVIER: &str = "\n```yaml part heavier\nreplaces: van_motor\nbecause: the first one was sold\nrole: motor\n\
    mass: 82 kg ± 1 kg (measured)\n```\n";

/// A journal is begun and filled; revision A is issued; the donor is weighed and the motor replaced, so that its mass is
/// 990 + 82 = 1 072 kg in place of 1 000 + 60 = 1 060 kg: 12 kg more, 22 by the motor and −10 by the donor, which makes
/// the laden mass fail, with 75 kg of people; it was close at best, for this ledger does not list the pack that the journal
/// begins with. B is issued despite that. What is tampered with then is named.
#[test]
fn a_journal_lives_from_its_beginning_to_its_second_revision() {
    let folder = Folder::new();
    assert_eq!(run(&folder, &["begin", "van"]).status, 0);
    let first = "van/2026-03-02-1-what-it-is-to-be.md";
    folder.write("van/4-motor.md", motor_van("1 000 kg ± 2 kg (estimated)", ""));
    let issued = run(&folder, &["issue", "van", "--revision", "A"]);
    assert_eq!(issued.status, 0, "{}{}", issued.out, issued.err);
    assert_eq!(run(&folder, &["moved", "van"]).out, "moved since revision A of 2026-03-02: nothing moved\n");

    let filled =
        read(&folder, "van/4-motor.md").replace("1 000 kg ± 2 kg (estimated)", "990 kg ± 1 kg (measured)");
    folder.write("van/4-motor.md", format!("{filled}{HEAVIER}"));
    let found = json(&folder, &["moved", "van", "--json"]);
    let mass = &found["results"]["van_ledger.converted_mass"];
    for (key, expected) in
        [("before_si", 1060.0), ("after_si", 1072.0), ("difference_si", 12.0), ("interaction", 0.0)]
    {
        is_near(&mass[key], expected);
    }
    is_near(&mass["causes"]["van_motor"], 22.0);
    is_near(&mass["causes"]["van_ledger.donor.mass"], -10.0);
    assert_eq!(mass["causes"].as_object().map(|causes| causes.len()), Some(2));
    let motor = &found["inputs"]["van_motor"];
    assert_eq!((&motor["change"], &motor["because"]), (&"replaced".into(), &"the first one was sold".into()));
    assert_eq!(found["inputs"]["van_motor.mass"]["before"], "60 kg ± 1 kg (datasheet)");
    assert!(found["inputs"]["van_motor@old"].is_null());
    let said = run(&folder, &["moved", "van", "--since", "A"]).out;
    let flip = "moved since revision A of 2026-03-02:\n  van_ledger.laden_mass: close → fails, 1 135.0 kg → 1 147.0 kg, \
                at most 1 144 kg\n";
    assert!(said.starts_with(flip), "{said}");
    assert!(said.contains("\n  van_motor is replaced, because: the first one was sold\n"), "{said}");
    assert!(said.contains("; by van_motor +22.0 kg, van_ledger.donor.mass −10.0 kg\n"), "{said}");

    folder.write(
        first,
        read(&folder, first).replacen("revision: A", "revision: B\nfollow: van_ledger.converted_mass", 1),
    );
    assert_eq!(run(&folder, &["dossier", "van"]).status, 0);
    tells_what_moved(&read(&folder, "van/dossier/dossier.html"));
    assert_eq!(run(&folder, &["issue", "van"]).status, 1);
    let issued = run(&folder, &["issue", "van", "--despite", "the plate is being raised"]);
    assert_eq!(issued.status, 0, "{}{}", issued.out, issued.err);
    assert_eq!(run(&folder, &["moved", "van"]).out, "moved since revision B of 2026-03-02: nothing moved\n");
    let since_a = json(&folder, &["moved", "van", "--since", "A", "--json"]);
    assert_eq!(since_a["results"]["van_ledger.converted_mass"], *mass);
    assert_eq!(run(&folder, &["issue", "van", "--verify"]).out, "untouched: A, B\n");
    let copy = "van/revisions/A/journal/4-motor.md";
    folder.write(copy, read(&folder, copy).replace("60 kg", "70 kg"));
    let verified = run(&folder, &["issue", "van", "--verify"]);
    assert_eq!(
        (verified.status, verified.out.as_str()),
        (1, "touched: revisions/A/journal/4-motor.md was changed\n")
    );
}

/// The chapters of the moves since revision A, and of what is followed.
#[track_caller]
fn tells_what_moved(page: &str) {
    let (_, chapter) = page.split_once(" id=\"moved\"").expect("a chapter");
    let chapter = plain_text(chapter);
    let mut rest = chapter.as_str();
    for words in [
        "van ledger.laden mass close , 1 135.0 kg fails , 1 147.0 kg, at most 1 144 kg",
        "van motor replaced because: the first one was sold",
        "van motor.mass 60 kg ± 1 kg (datasheet) 82 kg ± 1 kg (measured)",
        "The largest moves, in per cent of what was there before.",
        "van ledger.converted mass 1 060.0 ± 2.6 kg 1 072.0 ± 1.6 kg +12.0 kg, +1.1 % : van motor +22.0 kg, \
         van ledger.donor.mass −10.0 kg",
        "From revision to revision",
        "A 2026-03-02 1 060.0 ± 2.6 kg",
        "B, now 2026-03-02 1 072.0 ± 1.6 kg",
    ] {
        let Some((_, after)) = rest.split_once(words) else { panic!("no `{words}` in `{chapter:.4000}`") };
        rest = after;
    }
}

/// The words of a page, one space between them.
fn plain_text(page: &str) -> String {
    let mut text = String::new();
    for piece in page.split('<').skip(1) {
        let (tag, words) = piece.split_once('>').unwrap_or((piece, ""));
        // What only keeps words together is no gap between them.
        let inline =
            ["span", "/span", "wbr", "code", "/code", "a ", "/a"].iter().any(|name| tag.starts_with(name));
        text.push_str(if inline { "" } else { " " });
        text.push_str(words);
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Two copies of a journal, what differs between them, and what each cause accounts for in the converted mass.
#[track_caller]
fn accounts(before: &[(&str, &str)], after: &[(&str, &str)], causes: &[(&str, f64)]) {
    let (old, new) = (Folder::new(), Folder::new());
    before.iter().for_each(|(name, text)| old.write(name, text));
    after.iter().for_each(|(name, text)| new.write(name, text));
    let since = old.path.to_str().expect("a path");
    let found = json(&new, &["moved", "--since", since, "--json"]);
    let mass = &found["results"]["van_ledger.converted_mass"];
    let told = mass["causes"].as_object().unwrap_or_else(|| panic!("no causes: {found}"));
    assert_eq!(told.keys().collect::<Vec<_>>(), causes.iter().map(|(name, _)| name).collect::<Vec<_>>());
    for (name, expected) in causes {
        is_near(&told[*name], *expected);
    }
    is_near(&mass["interaction"], 0.0);
    is_near(&mass["difference_si"], causes.iter().map(|(_, share)| share).sum());
}

#[test]
fn what_no_one_place_holds_is_put_back_with_its_block_or_file() {
    let donor = "1 000 kg ± 2 kg";
    let pack = "  - {item: pack, mass: 200 kg ± 1 kg}\n";
    let (plain, with_pack) = (motor_van(donor, ""), motor_van("990 kg ± 2 kg", pack));
    // An item comes, and beside it the donor changes.
    accounts(
        &[("a.md", &plain)],
        &[("a.md", &with_pack)],
        &[("van_ledger", 200.0), ("van_ledger.donor.mass", -10.0)],
    );
    accounts(
        &[("a.md", &with_pack)],
        &[("a.md", &plain)],
        &[("van_ledger", -200.0), ("van_ledger.donor.mass", 10.0)],
    );
    // A line of a file.
    let filed =
        "```yaml mass-ledger van_ledger\ndonor: {mass: 1 000 kg ± 2 kg}\ninstalled: {file: items.csv}\n```\n";
    let heavier = ITEMS.replace("60 kg", "75 kg");
    accounts(
        &[("a.md", filed), ("items.csv", ITEMS)],
        &[("a.md", filed), ("items.csv", &heavier)],
        &[("van_ledger.installed.motor.mass", 15.0)],
    );
    // Another part, which came with the change.
    let lighter = format!(
        "{}\n```yaml part light\nrole: motor\nmass: 41 kg ± 1 kg\n```\n",
        plain.replace("part: van_motor}", "part: light}")
    );
    accounts(&[("a.md", &plain)], &[("a.md", &lighter)], &[("van_ledger.installed.motor.part", -19.0)]);
}

#[test]
fn what_the_program_itself_gives_otherwise_is_a_cause() {
    let folder = van();
    assert_eq!(run(&folder, &["issue"]).status, 0);
    let register = "revisions/A/register.json";
    let mut frozen: Value = serde_json::from_str(&read(&folder, register)).expect("a register");
    let mass = &mut frozen["results"]["kerb.converted_mass"];
    is_near(&mass["si"], 1080.0);
    (mass["si"], mass["shown"]) = (1075.0.into(), "1 075 kg".into());
    folder.write(register, frozen.to_string());
    folder.write("evidence/items.csv", ITEMS.replace("60 kg", "61 kg"));
    let found = json(&folder, &["moved", "--json"]);
    let mass = &found["results"]["kerb.converted_mass"];
    is_near(&mass["before_si"], 1075.0);
    is_near(&mass["causes"]["program"], 5.0);
    is_near(&mass["causes"]["kerb.installed.motor.mass"], 1.0);
    is_near(&mass["interaction"], 0.0);
}

#[test]
fn a_state_that_is_not_there_is_told() {
    let folder = van();
    let run_none = run(&folder, &["moved"]);
    assert_eq!(run_none.status, 2);
    assert!(run_none.err.starts_with("no revision was issued yet"), "{}", run_none.err);
    let empty = Folder::new();
    for words in [&["moved", "--since", "X"][..], &["what-if", "a.b=1 kg"]] {
        let nothing = run(&empty, words);
        assert_eq!(nothing.status, 1);
        assert!(nothing.err.contains("no Markdown files"), "{}", nothing.err);
    }
    let run_x = run(&folder, &["moved", "--since", "X"]);
    assert_eq!(
        (run_x.status, run_x.err.as_str()),
        (2, "`X` is neither a revision nor a folder; revisions: none was issued\n")
    );
}

#[test]
fn regions_say_what_a_result_was_at_the_revision_before() {
    let folder = van();
    folder.write("van.md", VAN.replace("revision: A\n", "revision: A\nshow_moves: yes\n"));
    assert_eq!(run(&folder, &["issue"]).status, 0);
    let issued = read(&folder, "van.md");
    assert!(!issued.contains(" was "), "{issued}");
    // The revision in the making is compared with the one before, not with itself once it is issued.
    folder.write(
        "van.md",
        issued.replace("revision: A", "revision: B").replace("1 000 kg ± 2", "1 004 kg ± 2"),
    );
    assert_eq!(run(&folder, &["issue"]).status, 0);
    let worked = read(&folder, "van.md");
    // 1 004 + 60 + 20 kg, and before 1 000 + 60 + 20.
    let plain = worked.replace('\u{202f}', " ");
    assert!(plain.contains("| `converted_mass` | 1 084"), "{worked}");
    assert!(plain.contains("`converted_mass` was 1 080.0 kg at A"), "{worked}");
    assert_eq!(run(&folder, &["check"]).status, 0);
    folder.write("van.md", worked.replace("show_moves: yes", "show_moves: no"));
    assert_eq!(run(&folder, &["work"]).status, 0);
    assert!(!read(&folder, "van.md").contains(" at A"));
}

/// Two rectangles of ± 10 around 100 and 105, of which the lower one is best and at most 105 is kept: integrals of
/// triangles, textbook knowledge. What both rest on is drawn once, and decides nothing.
#[test]
fn the_best_few_are_drawn_together() {
    let folder = Folder::new();
    folder.write(
        "journal.md",
        "---\ntitle: firm\n---\n```yaml worksheet van\ngiven: {a: 100 ± 10, b: 105 ± 10, pick: from a, both: 50 ± 40, plus: 0 ± 0 (measured; exact)}\n\
         steps: [{name: sum, is: both + plus, unit: 1}, {name: own, is: 1 * pick, unit: 1}]\n```\n\
         ```yaml trade-study apart\nvary: [{name: of, set: van.pick, to: [from a, from b]}]\nkeep: [van.own <= 105]\n\
         prefer: {lowest: van.own}\nrows: 2\n```\n\
         ```yaml trade-study together\nvary: [{name: plus, set: van.plus, to: [0 ± 0 (measured; exact), 1 ± 0 (measured; exact)]}]\nkeep: [van.sum >= 0]\n\
         prefer: {lowest: van.sum}\nrows: 2\n```\n",
    );
    assert_eq!(run(&folder, &["dossier", "--no-write-back"]).status, 0);
    let register: Value = serde_json::from_str(&read(&folder, "dossier/register.json")).expect("a register");
    let shares = |block: &str| -> Vec<[f64; 2]> {
        let table = &register["tables"][block][0];
        let column = |name: &str| {
            let head = table["head"].as_array().expect("a head");
            head.iter().position(|cell| cell == name).expect("a column")
        };
        let (best, kept) = (column("Best in"), column("Kept in"));
        let number = |cell: &Value| {
            let text = cell.as_str().and_then(|text| text.strip_suffix(" %")).expect("a share");
            text.parse::<f64>().expect("a number") / 100.0
        };
        let rows = table["rows"].as_array().expect("rows");
        rows.iter().map(|row| [number(&row[best]), number(&row[kept])]).collect()
    };
    let near = |found: [f64; 2], expected: [f64; 2]| {
        assert!((found[0] - expected[0]).abs() < 0.05 && (found[1] - expected[1]).abs() < 0.05, "{found:?}");
    };
    let apart = shares("apart");
    near(apart[0], [0.625, 0.75]);
    near(apart[1], [0.25, 0.50]);
    assert_eq!(shares("together"), [[1.0, 1.0], [0.0, 1.0]]);
}

/// What `drive` was called before is `drive@old` now, and its old results are told so.
#[test]
fn what_moved_in_a_replaced_block_is_told_by_its_old_name() {
    let folder = Folder::new();
    let sum = |name: &str, more: &str| {
        format!(
            "```yaml worksheet {name}\n{more}steps: [{{name: total, is: w.m * 2, unit: kg}}]\nchecks: {{light: total <= 10 kg}}\n```\n\n"
        )
    };
    let given =
        |mass: &str| format!("```yaml worksheet w\ngiven: {{m: {mass} ± 0.1 kg}}\nsteps: []\n```\n\n");
    folder.write("journal.md", given("4 kg") + &sum("first", ""));
    assert_eq!(run(&folder, &["work"]).status, 0);
    let text = read(&folder, "journal.md").replace("m: 4 kg", "m: 3 kg");
    folder.write("journal.md", text + &sum("second", "replaces: first\n"));
    let told = run(&folder, &["work"]).out;
    assert!(told.contains("  first@old.total: 8.00 ± 0.23 kg → 6.00 ± 0.23 kg\n"), "{told}");
    assert!(told.contains("  first@old: light: meets → no longer judged\n"), "{told}");
    let text = read(&folder, "journal.md").replace("m: 3 kg", "m: 2 kg");
    folder.write("journal.md", text);
    let told = run(&folder, &["work"]).out;
    assert!(told.contains("  first.total: 6.00 ± 0.23 kg → 4.00 ± 0.23 kg\n"), "{told}");
}

/// Half a digit of a ratio counts: the 2 between 1.8 and 2.2 is known as well as they are.
#[test]
fn options_of_a_range_have_the_digits_of_the_range() {
    let folder = Folder::new();
    folder.write(
        "journal.md",
        "```yaml ratio-chain drive\nwanted_speed: 90 km/h\nrolling_circumference: 2 m ± 0 m\nstages: [{name: box, ratio: 3.0}]\n\
         motor_max_speed: 9 000 rpm\n```\n\n```yaml trade-study which\nvary:\n\
         \x20 - {name: box, set: drive.stages.box.ratio, to: {from: 1.8, to: 2.2, step: 0.2}}\n\
         show: {ratio: drive.overall_ratio}\nprefer: {lowest: drive.overall_ratio}\n```\n",
    );
    run(&folder, &["work"]);
    let text = read(&folder, "journal.md").replace(['\u{a0}', '\u{202f}'], " ");
    assert!(text.contains("| 2.0 | 2.00 ± 0.06 |"), "{text}");
}
