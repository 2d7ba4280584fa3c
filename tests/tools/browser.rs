//! What only a browser can tell of the printed pages: links, scrolling, contrast, that nothing is loaded and no script runs.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::copied::copy_of;
use crate::printed::{demo, make};
use crate::program::Folder;
use crate::programs::pages_of;

#[test]
fn a_browser_finds_nothing_wrong_with_the_demo() {
    browse(&[demo("dossier.html"), demo("summary.html")]);
}

#[test]
fn a_browser_finds_nothing_wrong_with_a_hostile_journal() {
    let (journal, out) = (copy_of("tests/data/hostile"), Folder::new());
    make(&journal, &out);
    browse(&["dossier.html", "summary.html"].map(|name| out.path.join(name)));
}

#[test]
fn the_demo_printed_from_a_browser_has_few_pages_more_than_its_pdf() {
    let (page, out) = (demo("dossier.html"), Folder::new());
    let text = node("browser.mjs", &[page.as_os_str(), OsStr::new("--paper"), out.path.as_os_str()]);
    let printed = out.path.join("dossier.pdf");
    let [browser, pdf] = [printed, demo("dossier.pdf")].map(|file| pages_of(&file).len());
    assert!(browser.abs_diff(pdf) <= 4, "{browser} pages against {pdf}: {text}");
}

/// At three widths, in a light theme and a dark one.
#[test]
fn a_checker_of_accessible_pages_finds_nothing() {
    let pages = [demo("dossier.html"), demo("summary.html")];
    let text = node("axe.mjs", &pages);
    assert_eq!(text.lines().filter(|line| line.starts_with("ok ")).count(), 6 * pages.len(), "{text}");
}

/// The browser's own checks of printed pages.
#[track_caller]
fn browse(pages: &[PathBuf]) {
    let text = node("browser.mjs", pages);
    assert!(text.lines().filter(|line| line.starts_with("ok ")).count() >= 10 * pages.len(), "{text}");
}

/// What a script says of pages in which it finds no fault.
#[track_caller]
fn node<Word: AsRef<OsStr>>(script: &str, words: &[Word]) -> String {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/tools").join(script);
    let output = Command::new("node").arg(script).args(words).output();
    let output =
        output.unwrap_or_else(|fault| panic!("node: {fault}; `bash tests/run --install` installs it"));
    let text =
        format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success(), "{text}");
    text
}
