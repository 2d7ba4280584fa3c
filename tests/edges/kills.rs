//! A run that is killed leaves every file whole, and the next one clears up.

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use sha2::{Digest, Sha256};

use crate::chance::Chance;
use crate::copied::copy_of;
use crate::program::{Folder, program};
use crate::{SET, names, run, times};

/// Kills of each command in a run, half of them or more as soon as something is being written.
const KILLS: usize = 150;

/// Two dates give two dossiers whose files all differ.
const DATES: [&str; 2] = ["86400", "864000000"];

fn start(words: &[&str], folder: &Folder, date: &str) -> Child {
    let mut command = program(words);
    command.arg(&folder.path).env("SOURCE_DATE_EPOCH", date);
    command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("the program starts")
}

/// Kills it after a while that a counter gives; or a little after so many temporary files are seen as `parts` says, so
/// that it is writing, or putting what it wrote in place.
fn kill(mut child: Child, (watched, parts): (&Path, usize), chance: &mut Chance) {
    if parts == 0 {
        sleep(Duration::from_micros(chance.below(250_000) as u64));
    } else {
        let seen = || names(watched).iter().filter(|name| name.ends_with(".part")).count();
        // Those that earlier kills have left are swept away first.
        let mut tries = 0;
        while tries < 20_000 && child.try_wait().expect("a state").is_none() && seen() != parts {
            sleep(Duration::from_micros(30));
            tries += 1;
        }
        sleep(Duration::from_micros(chance.below(3_000) as u64));
    }
    // It may have ended by itself.
    let _ = child.kill();
    child.wait().expect("it ends");
}

fn mark(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

#[test]
fn a_dossier_that_is_killed_is_whole_or_old() {
    let folder = copy_of("notebooks-demo/first-hour");
    let out = folder.path.join("dossier");
    let mut whole: BTreeMap<&str, Vec<Vec<u8>>> = BTreeMap::new();
    let words = ["dossier", "--no-write-back"];
    for date in DATES {
        assert!(start(&words, &folder, date).wait().expect("it ends").success());
        for name in SET {
            whole.entry(name).or_default().push(fs::read(out.join(name)).expect("a file"));
        }
    }
    let kills = times("VOLTWRIGHT_KILLS", KILLS);
    let mut chance = Chance::new(1);
    let (mut mixed, mut left) = (0, 0);
    for case in 0..kills {
        kill(start(&words, &folder, DATES[case % 2]), (&out, [0, 1, 5][case % 3]), &mut chance);
        left += usize::from(names(&out).iter().any(|name| name.ends_with(".part")));
        let files = SET.map(|name| fs::read(out.join(name)).expect("a file"));
        for (name, bytes) in SET.iter().zip(&files) {
            assert!(whole[name].contains(bytes), "case {case}: {name} is torn, {} bytes", bytes.len());
        }
        // Old beside new can be told by the marks in the register.
        let register: serde_json::Value = serde_json::from_slice(&files[4]).expect("a register");
        let right = (0..4).all(|at| register["set"][SET[at]] == mark(&files[at]));
        let one = (0..2).any(|set| SET.iter().zip(&files).all(|(name, bytes)| whole[name][set] == *bytes));
        assert_eq!(right, one, "case {case}");
        mixed += usize::from(!one);
    }
    println!("{kills} kills of `dossier`: {mixed} left old beside new, {left} left a temporary file");
    // A mixed set is told and repaired by the next run, and nothing is left.
    fs::write(out.join("summary.pdf"), "of another set").expect("a file");
    let next = run(&["dossier"], &folder);
    assert_eq!(next.status, 0, "{}", next.err);
    assert!(next.err.contains("summary.pdf did not belong to the register there"), "{}", next.err);
    assert_eq!(names(&out).len(), SET.len(), "{:?}", names(&out));
    let files = SET.map(|name| fs::read(out.join(name)).expect("a file"));
    let register: serde_json::Value = serde_json::from_slice(&files[4]).expect("a register");
    assert!((0..4).all(|at| register["set"][SET[at]] == mark(&files[at])));
}

#[test]
fn an_archive_that_is_killed_is_whole_or_old() {
    let (folder, out) = (copy_of("notebooks-demo/first-hour"), Folder::new());
    let file = out.path.join("all.zip");
    let name = file.to_str().expect("a path").to_owned();
    let words = ["hand-over", "--out", &name];
    let whole = DATES.map(|date| {
        assert!(start(&words, &folder, date).wait().expect("it ends").success());
        fs::read(&file).expect("an archive")
    });
    assert!(whole[0] != whole[1]);
    let kills = times("VOLTWRIGHT_KILLS", KILLS);
    let mut chance = Chance::new(3);
    let (mut changed, mut left) = (0, 0);
    let mut before = whole[1].clone();
    for case in 0..kills {
        kill(start(&words, &folder, DATES[case % 2]), (&out.path, 1), &mut chance);
        left += usize::from(names(&out.path).iter().any(|name| name.ends_with(".part")));
        let bytes = fs::read(&file).expect("an archive");
        assert!(whole.contains(&bytes), "case {case}: torn, {} bytes", bytes.len());
        changed += usize::from(bytes != before);
        before = bytes;
    }
    println!(
        "{kills} kills of `hand-over`: {changed} had put the new archive in place, {left} left a temporary file"
    );
    assert!(start(&words, &folder, DATES[0]).wait().expect("it ends").success());
    assert_eq!(names(&out.path), ["all.zip"], "what kills have left is swept away");
}

#[test]
fn a_journal_whose_working_is_killed_is_whole_or_old() {
    killed_while_it_writes_back(&["work"], 2);
}

#[test]
fn a_journal_whose_watch_is_killed_is_whole_or_old() {
    killed_while_it_writes_back(&["watch", "--port", "0"], 5);
}

#[track_caller]
fn killed_while_it_writes_back(words: &[&str], seed: u64) {
    let folder = Folder::new();
    let block = |number: usize, mass: usize| {
        format!(
            "```yaml worksheet sum_{number}\nsteps:\n  - {{name: total, is: {mass} kg + 3 kg, unit: kg}}\n```\n"
        )
    };
    let text = |file: usize, mass: usize| -> String { (0..8).map(|at| block(file * 8 + at, mass)).collect() };
    let files = ["a.md", "b.md", "c.md", "d.md"];
    let kills = times("VOLTWRIGHT_KILLS", KILLS);
    let mut chance = Chance::new(seed);
    let (mut left, mut written) = (0, 0);
    // Worked in another folder: what each file becomes.
    let worked: Vec<Vec<String>> = (0..2)
        .map(|mass| {
            let other = Folder::new();
            files.iter().enumerate().for_each(|(at, name)| other.write(name, text(at, mass)));
            assert_eq!(run(&["work"], &other).status, 0);
            files.iter().map(|name| fs::read_to_string(other.path.join(name)).expect("a file")).collect()
        })
        .collect();
    for case in 0..kills {
        let mass = case % 2;
        files.iter().enumerate().for_each(|(at, name)| folder.write(name, text(at, mass)));
        kill(start(words, &folder, DATES[0]), (&folder.path, case % 2), &mut chance);
        for (at, name) in files.iter().enumerate() {
            let found = fs::read_to_string(folder.path.join(name)).expect("a file");
            let whole = found == text(at, mass) || found == worked[mass][at];
            assert!(whole, "case {case}: {name} is torn:\n{found}");
        }
        let all = |texts: &Vec<String>| {
            files.iter().zip(texts).all(|(name, text)| {
                fs::read_to_string(folder.path.join(name)).is_ok_and(|found| found == *text)
            })
        };
        written += usize::from(all(&worked[mass]));
        left += usize::from(names(&folder.path).len() > files.len());
    }
    println!(
        "{kills} kills of `{}`: {written} came after all was written, {left} left a temporary file",
        words[0]
    );
    assert_eq!(run(&["work"], &folder).status, 0);
    assert_eq!(names(&folder.path), files);
}

#[test]
fn a_note_that_is_killed_is_there_or_not() {
    let folder = Folder::new();
    let old = "It begins.\n".repeat(2_000);
    let new = format!("{old}\n## 1970-01-02\n\nWeighed it.\n");
    let kills = times("VOLTWRIGHT_KILLS", KILLS);
    let mut chance = Chance::new(3);
    let mut written = 0;
    for case in 0..kills {
        folder.write("a.md", &old);
        let child = start(&["note", "Weighed it.", "--journal"], &folder, DATES[0]);
        kill(child, (&folder.path, 1), &mut chance);
        let found = fs::read_to_string(folder.path.join("a.md")).expect("a file");
        assert!(found == old || found == new, "case {case}: torn, {} bytes", found.len());
        written += usize::from(found == new);
    }
    println!("{kills} kills of `note`: {written} came after it was written");
    assert_eq!(run(&["note", "Weighed it.", "--journal"], &folder).status, 0);
    assert_eq!(names(&folder.path), ["a.md"]);
}

#[test]
fn a_revision_whose_issue_is_killed_is_whole_or_not_there() {
    let folder = Folder::new();
    let text = "---\ntitle: A van\nbuilder: nobody\nrevision: A\n---\n\n```yaml worksheet sum\n\
        steps: [{name: total, is: 1 kg + 3 kg, unit: kg}]\n```\n";
    folder.write("a.md", text);
    assert_eq!(run(&["work"], &folder).status, 0);
    let revisions = folder.path.join("revisions");
    let kills = times("VOLTWRIGHT_KILLS", KILLS);
    let mut chance = Chance::new(4);
    let mut issued = 0;
    for case in 0..kills {
        let child = start(&["issue"], &folder, DATES[0]);
        kill(child, (&revisions, case % 2), &mut chance);
        let there = names(&revisions).iter().any(|name| name == "A");
        if there {
            let verified = run(&["issue", "--verify"], &folder);
            assert_eq!(verified.out, "untouched: A\n", "case {case}");
            fs::remove_dir_all(revisions.join("A")).expect("it is taken away");
        }
        issued += usize::from(there);
    }
    println!("{kills} kills of `issue`: {issued} came after it was issued");
    assert_eq!(run(&["issue"], &folder).status, 0);
    assert_eq!(names(&revisions), ["A"]);
}

/// The number of the interrupt, or of the request to end where whoever runs the tests ignores interrupts, as `nohup` and
/// jobs in the background do: a program begins with what it is started with.
fn interrupt() -> i32 {
    const INTERRUPT: i32 = 2;
    const TERMINATE: i32 = 15;
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let ignored = status.lines().find_map(|line| line.strip_prefix("SigIgn:"));
    let ignored = ignored.and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok()).unwrap_or(0);
    if ignored >> (INTERRUPT - 1) & 1 == 1 { TERMINATE } else { INTERRUPT }
}

#[test]
fn a_long_study_that_is_interrupted_leaves_the_journal_untouched() {
    let folder = Folder::new();
    let twenty = fs::read_to_string("tests/data/changed/twenty.md").expect("a journal");
    // Some 800 000 candidates: far longer than is waited for.
    let study = "\n```yaml trade-study which\nvary:\n  - {name: final, set: goals.final, to: {from: 3, to: 4, step: 0.001}}\n  \
        - {name: share, set: pack.usable_share, to: {from: 0.5, to: 0.9, step: 0.0005}}\nprefer: {highest: pack.energy}\n```\n";
    let text = format!("{twenty}{study}");
    let mut chance = Chance::new(5);
    let interrupts = times("VOLTWRIGHT_KILLS", KILLS) / 15;
    let signal = interrupt();
    for case in 0..interrupts {
        folder.write("a.md", &text);
        let mut child = start(&[["check", "work"][case % 2]], &folder, DATES[0]);
        sleep(Duration::from_millis(300 + chance.below(700) as u64));
        assert!(child.try_wait().expect("a state").is_none(), "case {case}: the study was too short");
        let interrupt = format!("kill -{signal} {}", child.id());
        assert!(Command::new("sh").args(["-c", &interrupt]).status().expect("a shell").success());
        let ended = child.wait().expect("it ends");
        assert_eq!(ended.signal(), Some(signal), "case {case}: {ended}");
        assert_eq!(fs::read_to_string(folder.path.join("a.md")).expect("a file"), text, "case {case}");
        assert_eq!(names(&folder.path), ["a.md"], "case {case}");
    }
    println!("{interrupts} studies interrupted");
}
