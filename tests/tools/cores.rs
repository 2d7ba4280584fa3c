//! How many cores there are changes nothing of what is drawn or printed.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::copied::copy_of;
use crate::program::{Folder, Run};

#[test]
fn the_same_draws_come_out_of_one_core_and_of_all() {
    let words = ["check", "--json", "--monte-carlo", "20000"];
    let folder = Folder::new();
    let journal = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/uncertainty/propagation.md");
    folder.write("journal.md", fs::read(journal).expect("a journal"));
    let all = folder.run(&words).out;
    let pinned = Command::new("taskset")
        .args(["-c", "0", env!("CARGO_BIN_EXE_voltwright")])
        .args(words)
        .arg(&folder.path)
        .env("NO_COLOR", "1")
        .output()
        .unwrap_or_else(|fault| panic!("taskset: {fault}; `bash tests/run --install` installs it"));
    assert_eq!(Run::of(pinned).out, all);
    assert!(all.contains("monte_carlo"), "nothing was drawn");
}

#[test]
fn the_same_dossier_comes_out_of_one_core_and_of_all() {
    let folder = copy_of("notebooks-demo/first-hour");
    assert_eq!(folder.run(&["work"]).status, 0);
    let set = |start: &[&str]| {
        let output = Command::new("taskset")
            .args(start)
            .args([env!("CARGO_BIN_EXE_voltwright"), "dossier"])
            .arg(&folder.path)
            .env("SOURCE_DATE_EPOCH", "1700000000")
            .output()
            .unwrap_or_else(|fault| panic!("taskset: {fault}; `bash tests/run --install` installs it"));
        assert_eq!(Run::of(output).status, 0);
        ["dossier.html", "dossier.pdf", "summary.html", "summary.pdf", "register.json"]
            .map(|name| fs::read(folder.path.join("dossier").join(name)).expect("a file"))
    };
    assert!(set(&["-c", "0"]) == set(&["-c", "0,1"]));
}
