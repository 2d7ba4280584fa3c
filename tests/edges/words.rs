//! What reaches a terminal, the exit status of what can't be said, and dates.

use std::fs::OpenOptions;
use std::os::unix::ffi::OsStrExt;
use std::process::Stdio;

use crate::copied::copy_of;
use crate::program::{Folder, Run, program};
use crate::run;

/// All that a terminal would obey or hide, from categories Cc and Cf, and a few without shape.
const HOSTILE: &str = "\u{1}\u{7}\u{8}\u{b}\u{1b}]0;mine\u{7}\u{7f}\u{9b}31m\u{ad}\u{61c}\u{200b}\u{200e}\u{202e}\u{2066}\u{2028}\u{2060}\u{fe0f}\u{feff}\u{fff9}\u{e0041}";

#[track_caller]
fn nothing_hidden(run: &Run) {
    for text in [&run.out, &run.err] {
        for hidden in HOSTILE.chars().filter(|c| !"]0;mine31".contains(*c)) {
            assert!(!text.contains(hidden), "{hidden:?} in {text:?}");
        }
    }
}

#[test]
fn no_name_or_message_reaches_the_terminal_unseen() {
    let folder = Folder::new();
    let name = format!("a{}.md", HOSTILE.replace(['/', '\0'], ""));
    let journal = format!(
        "# {HOSTILE}\n\n```yaml part mo{HOSTILE}tor\nrole: motor\n```\n\n```yaml worksheet sum\nsteps:\n  \
         - {{name: total, title: \"{HOSTILE}\", is: 2 kg + {HOSTILE}, unit: kg}}\n{HOSTILE}: 1\n```\n\n\
         ![{HOSTILE}]({HOSTILE}.png)\n\n```yaml part m\nrole: motor\nsomething: \"x{HOSTILE}\"\n```\n"
    );
    folder.write(&name, journal);
    for words in [&["check"][..], &["check", "--json"], &["work"], &["dossier"], &["trace", HOSTILE]] {
        let run = run(words, &folder);
        assert!(!run.err.is_empty());
        nothing_hidden(&run);
        if words == ["check"] {
            assert!(run.err.contains("\\u{1b}") && run.err.contains("\\u{202e}"), "{}", run.err);
        }
        if words.len() == 2 && words[1] == "--json" {
            serde_json::from_str::<serde_json::Value>(&run.out).expect("a register");
        }
    }
    nothing_hidden(&Run::of(program(&[HOSTILE]).output().expect("it ends")));
    nothing_hidden(&Run::of(program(&["check", "--monte-carlo", HOSTILE]).output().expect("it ends")));
    nothing_hidden(&Run::of(program(&["kinds", HOSTILE]).output().expect("it ends")));
}

#[test]
fn odd_names_are_read_and_written() {
    let folder = Folder::new();
    let sum = "```yaml worksheet sum\nsteps:\n  - {name: total, is: 2 kg + 3 kg, unit: kg}\n```\n";
    let odd: [&[u8]; 7] = [
        b"a b.md",
        b"-rf.md",
        "\u{e9}\u{2009}.md".as_bytes(),
        b"a\nb.md",
        b"\xff\xfe.md",
        b"'\".md",
        b"*?.md",
    ];
    for (number, name) in odd.iter().enumerate() {
        let path = folder.path.join(std::ffi::OsStr::from_bytes(name));
        std::fs::write(path, sum.replace("sum", &format!("sum_{number}"))).expect("a file");
    }
    let run = run(&["work"], &folder);
    assert_eq!(run.status, 0, "{}", run.err);
    for name in odd {
        let path = folder.path.join(std::ffi::OsStr::from_bytes(name));
        assert!(std::fs::read_to_string(path).expect("a journal").contains("<!-- worked:sum_"), "{name:?}");
    }
}

#[test]
fn standard_output_that_fails_is_status_3_and_a_reader_that_left_is_none() {
    let folder = copy_of("notebooks-demo/first-hour");
    assert_eq!(run(&["work"], &folder).status, 0);
    let full = || OpenOptions::new().write(true).open("/dev/full").expect("the full device");
    let journal = folder.path.to_str().expect("a name");
    let name = "drive.motor_speed";
    let commands: [&[&str]; 8] = [
        &["check", journal],
        &["check", "--json", journal],
        &["work", journal],
        &["dossier", journal],
        &["trace", name, journal],
        &["kinds"],
        &["manual"],
        &["--help"],
    ];
    for words in commands {
        let run = Run::of(program(words).stdout(full()).output().expect("it ends"));
        assert_eq!(run.status, 3, "{words:?}");
        assert!(run.err.contains("standard output can't be written"), "{words:?}: {}", run.err);
        let mut child =
            program(words).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().expect("it starts");
        drop(child.stdout.take());
        assert_eq!(child.wait().expect("it ends").code(), Some(0), "{words:?}");
    }
}

#[test]
fn a_malformed_date_is_wrong_usage_with_what_was_found() {
    let folder = copy_of("notebooks-demo/first-hour");
    for wrong in ["", "yesterday", "1.5", "-1", "1e9", "0x10", "253402300800", "99999999999999999999"] {
        let mut command = program(&["dossier"]);
        let run =
            Run::of(command.arg(&folder.path).env("SOURCE_DATE_EPOCH", wrong).output().expect("it ends"));
        assert_eq!(run.status, 2, "{wrong}");
        assert!(run.err.contains(&format!("SOURCE_DATE_EPOCH is `{wrong}`")), "{}", run.err);
        assert!(!folder.path.join("dossier").exists());
    }
    for right in ["0", "1700000000", "253402300799"] {
        let mut command = program(&["dossier"]);
        let run =
            Run::of(command.arg(&folder.path).env("SOURCE_DATE_EPOCH", right).output().expect("it ends"));
        assert_eq!(run.status, 0, "{right}: {}", run.err);
    }
}
