//! Runs the programs that look at what was printed.

use std::path::Path;
use std::process::Command;

/// Standard output of a tool that must succeed.
#[track_caller]
pub(crate) fn tool(name: &str, words: &[&str], file: &Path) -> String {
    let output = Command::new(name).args(words).arg(file).output();
    let output =
        output.unwrap_or_else(|fault| panic!("{name}: {fault}; `bash tests/run --install` installs it"));
    let (out, err) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success(), "{name} {}: {}\n{out}{err}", file.display(), output.status);
    format!("{out}{err}")
}

/// The text of a PDF, each run of white space one space.
#[track_caller]
pub(crate) fn text_of(pdf: &Path) -> String {
    pages_of(pdf).join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The text of each page, its lines as they stand.
#[track_caller]
pub(crate) fn pages_of(pdf: &Path) -> Vec<String> {
    // `-` as the last word sends the text to standard output.
    let output = Command::new("pdftotext").args(["-enc", "UTF-8"]).arg(pdf).arg("-").output();
    let output =
        output.unwrap_or_else(|fault| panic!("pdftotext: {fault}; `bash tests/run --install` installs it"));
    assert!(output.status.success(), "pdftotext: {}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).expect("text");
    text.split_terminator('\u{c}').map(str::to_owned).collect()
}
