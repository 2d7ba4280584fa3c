//! Several runs at one journal at once, and an editor beside them.

use std::fs;
use std::process::Stdio;
use std::thread::sleep;
use std::time::Duration;

use crate::copied::copy_of;
use crate::program::{Folder, Run, program};
use crate::{names, run};

#[test]
fn three_writers_at_once_wait_for_each_other() {
    const ROUNDS: usize = 20;
    for round in 0..ROUNDS {
        let folder = copy_of("notebooks-demo/first-hour");
        // What was worked is out of date.
        let journal = folder.path.join("journal.md");
        let text = fs::read_to_string(&journal).expect("the journal");
        let wanted = text.replacen("110 km/h", "112 km/h", 1);
        assert_ne!(text, wanted);
        fs::write(&journal, &wanted).expect("the journal");
        let writers: Vec<_> =
            [&["work"][..], &["work"], if round % 4 == 0 { &["dossier"] } else { &["work"] }]
                .into_iter()
                .map(|words| {
                    let mut command = program(words);
                    command.arg(&folder.path).stdout(Stdio::piped()).stderr(Stdio::piped());
                    command.spawn().expect("the program starts")
                })
                .collect();
        for writer in writers {
            let run = Run::of(writer.wait_with_output().expect("it ends"));
            assert_eq!(run.status, 0, "round {round}: {}", run.err);
            assert!(!run.err.contains("meanwhile"), "round {round}: {}", run.err);
        }
        let checked = run(&["check"], &folder);
        assert!(checked.status == 0 && !checked.out.contains("stale"), "round {round}: {}", checked.out);
        assert!(names(&folder.path).iter().all(|name| !name.starts_with('.')), "a lock leaves no file");
    }
}

#[test]
fn an_editor_that_saves_meanwhile_loses_nothing() {
    const ROUNDS: usize = 20;
    let folder = Folder::new();
    let path = folder.path.join("a.md");
    let text = |mass: usize| {
        let block = |number: usize| {
            format!(
                "```yaml worksheet sum_{number}\nsteps:\n  - {{name: total, is: {mass} kg + 3 kg, unit: kg}}\n```\n"
            )
        };
        (0..30).map(block).collect::<String>()
    };
    for round in 0..ROUNDS {
        folder.write("a.md", text(round));
        let mut command = program(&["work"]);
        command.arg(&folder.path).stdout(Stdio::null()).stderr(Stdio::null());
        let mut writer = command.spawn().expect("the program starts");
        sleep(Duration::from_millis(5 * round as u64 / 2));
        // As editors save: beside, then renamed.
        folder.write("saved.tmp", text(round + 1000));
        fs::rename(folder.path.join("saved.tmp"), &path).expect("saved");
        writer.wait().expect("it ends");
        let found = fs::read_to_string(&path).expect("the journal");
        assert!(
            found.contains(&format!("is: {} kg", round + 1000)),
            "round {round}: the editor's text is gone"
        );
    }
    assert_eq!(run(&["work"], &folder).status, 0);
    let run = run(&["check"], &folder);
    assert!(run.status == 0 && !run.out.contains("stale"), "{}", run.out);
}

#[test]
fn a_lock_dies_with_its_holder() {
    let folder = copy_of("notebooks-demo/first-hour");
    for pause in 0..10 {
        let mut command = program(&["dossier"]);
        command.arg(&folder.path).stdout(Stdio::null()).stderr(Stdio::null());
        let mut holder = command.spawn().expect("the program starts");
        sleep(Duration::from_millis(10 * pause));
        let _ = holder.kill();
        holder.wait().expect("it ends");
        let next = run(&["work"], &folder);
        assert_eq!(next.status, 0, "{}", next.err);
    }
}
