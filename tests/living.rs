//! The living journal: entries, changes that are asked about, revisions, and what moved between them.

use std::fs;

#[path = "support/program.rs"]
mod program;

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
