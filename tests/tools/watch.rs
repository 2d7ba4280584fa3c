//! `watch` in a real browser: the page changes in place as the journal is saved.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use crate::program::{Folder, program};

#[test]
fn the_page_follows_the_journal_and_keeps_the_reader_s_place() {
    let folder = Folder::new();
    let paragraphs: String = (0..40).map(|at| format!("Paragraph {at} of the story.\n\n")).collect();
    folder.write(
        "van.md",
        format!(
            "---\ntitle: A van\nbuilder: nobody\n---\n\n{paragraphs}\
             ```yaml worksheet w\ngiven: {{m: 100 kg ± 1 kg (measured), g: 10 m/s^2 ± 0.01 m/s^2 (measured)}}\n\
             steps:\n  - {{name: force, is: m * g, unit: N}}\nchecks: {{light: force <= 1 150 N}}\n```\n\n{paragraphs}\
             ```yaml worksheet later\nsteps:\n  - {{name: twice, is: w.force * 2, unit: N}}\n```\n\n{paragraphs}"
        ),
    );
    let mut command = program(&["watch", "--port", "0"]);
    command.arg(&folder.path).stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::null());
    let mut watch = command.spawn().expect("the program starts");
    let mut lines = BufReader::new(watch.stdout.take().expect("its output")).lines().map_while(Result::ok);
    let line = lines.find(|line| line.starts_with("watching ")).expect("it watches");
    // What it says later is not looked at, and must not fill the pipe.
    std::thread::spawn(move || lines.for_each(drop));
    let address =
        line.split_once("http://").and_then(|(_, rest)| rest.split_once(',')).expect("an address").0;
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/tools/watch.mjs");
    let output = Command::new("node")
        .arg(script)
        .arg(format!("http://{address}"))
        .arg(folder.path.join("van.md"))
        .output();
    let _ = watch.kill();
    watch.wait().expect("it ends");
    let output =
        output.unwrap_or_else(|fault| panic!("node: {fault}; `bash tests/run --install` installs it"));
    let text =
        format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success(), "{text}");
    assert!(text.lines().filter(|line| line.starts_with("ok ")).count() >= 15, "{text}");
}
