//! The edges: odd files, kills, several writers, hostile terminals and damaged journals.
//!
//! Nothing here waits for a clock to decide: loops are bounded by counters. How often is told in
//! `notebooks-demo/reference/edges.md`; `VOLTWRIGHT_CASES=N` damages N journals, `VOLTWRIGHT_KILLS=N` kills N runs.
#![cfg(unix)]

#[path = "../support/chance.rs"]
mod chance;
#[path = "../support/copied.rs"]
mod copied;
#[path = "../support/mutation.rs"]
mod mutation;
#[path = "../support/program.rs"]
mod program;
#[path = "../support/regions.rs"]
mod regions;

mod damage;
mod files;
mod kills;
mod places;
mod together;
mod words;

use std::io::Read;
use std::process::{Command, Output, Stdio};
use std::thread;
use std::time::Duration;

use program::{Folder, Run};

/// What the program left behind, if it ended at all: one that waits for a pipe never would.
#[track_caller]
fn ended(command: &mut Command) -> Run {
    let mut child =
        command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the program starts");
    let (mut out, mut err) = (child.stdout.take().expect("a pipe"), child.stderr.take().expect("a pipe"));
    let (mut stdout, mut stderr) = (Vec::new(), Vec::new());
    let status = thread::scope(|threads| {
        threads.spawn(|| out.read_to_end(&mut stdout).expect("its output"));
        threads.spawn(|| err.read_to_end(&mut stderr).expect("its findings"));
        // A minute, far more than any run here takes.
        for _ in 0..12_000 {
            if let Some(status) = child.try_wait().expect("a state") {
                return status;
            }
            thread::sleep(Duration::from_millis(5));
        }
        child.kill().expect("it is stopped");
        child.wait().expect("it ends")
    });
    Run::of(Output { status, stdout, stderr })
}

/// Runs `voltwright WORDS… FOLDER`, which must come to an end.
#[track_caller]
fn run(words: &[&str], folder: &Folder) -> Run {
    ended(program::program(words).arg(&folder.path))
}

/// How often something is tried: as a variable of the environment says, or as usual.
fn times(variable: &str, usual: usize) -> usize {
    match std::env::var(variable) {
        Ok(given) => given.parse().unwrap_or_else(|_| panic!("{variable} is no number")),
        Err(_) => usual,
    }
}

/// The names in a folder, sorted; none where it is not there.
fn names(folder: &std::path::Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).into_iter().flatten();
    let mut names: Vec<String> =
        entries.map(|entry| entry.expect("one").file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// The files of a dossier; the register is the last.
const SET: [&str; 5] = ["dossier.html", "dossier.pdf", "summary.html", "summary.pdf", "register.json"];
