//! What comes with the code: licences, notices, metadata, and that no test is left out by whoever runs them all.
//!
//! `UPDATE=1` writes the fonts' licence and the table of crates in `THIRD-PARTY.md` anew, after `cargo fetch`.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Once;

use serde_json::Value;
use sha2::{Digest, Sha256};

/// What tests with Rust alone may start: the program itself, Cargo, and the shell that every Unix has.
const STARTED: [&str; 3] = ["env!(\"CARGO_BIN_EXE_voltwright\")", "cargo_itself()", "\"sh\""];

#[test]
fn what_plain_cargo_test_leaves_out_is_run_and_linted_by_name() {
    let own = package();
    let targets = own["targets"].as_array().expect("targets").iter();
    let left_out: Vec<&str> = targets
        .filter(|target| target["kind"][0] == "test")
        .filter(|target| target["test"] == false || target.get("required-features").is_some())
        .map(|target| target["name"].as_str().expect("a name"))
        .collect();
    assert!(!left_out.is_empty());
    for name in left_out {
        for (script, command) in [("tests/run", "cargo test --no-fail-fast"), (".ci/run", "cargo clippy")] {
            let wanted = format!("{command} --test {name} ");
            let named = read(script).lines().any(|line| format!("{} ", line.trim()).starts_with(&wanted));
            assert!(named, "{script} has no line `{wanted}…`");
        }
    }
    let all = read("tests/run").lines().any(|line| line.starts_with("cargo test --no-fail-fast ||"));
    assert!(all, "tests/run does not run plain `cargo test`");
    assert!(read(".ci/run").contains("bash tests/run"), ".ci/run does not run tests/run");
}

#[test]
fn plain_cargo_test_starts_no_program_that_may_not_be_there() {
    let mut faults = Vec::new();
    let tools = top().join("tests/tools");
    for path in sources(&top().join("src")).into_iter().chain(sources(&top().join("tests"))) {
        if path.starts_with(&tools) {
            continue;
        }
        let text = fs::read_to_string(&path).expect("a source file");
        let mark = concat!("Command::", "new(");
        for rest in text.split(mark).skip(1) {
            if !STARTED.iter().any(|program| rest.starts_with(program)) {
                faults.push(format!("{}: starts {:.40}", path.display(), rest));
            }
        }
    }
    assert!(faults.is_empty(), "move it to tests/tools:\n{}", faults.join("\n"));
}

#[test]
fn the_notice_names_every_crate_and_the_licence_that_it_declares() {
    update_if_asked();
    let told: BTreeMap<(String, String), String> = between("crates")
        .lines()
        .skip(2)
        .map(|row| {
            let cells: Vec<String> =
                row.trim_matches('|').split('|').map(|cell| cell.trim().to_owned()).collect();
            let [name, version, licence] = cells.try_into().expect("three cells");
            ((name, version), licence)
        })
        .collect();
    let named: BTreeSet<_> = told.keys().cloned().collect();
    assert_eq!(named, locked(), "{UPDATE}");
    // Only what this machine builds is there for certain; the rest was read when the table was written.
    let here = licences(&metadata(&["--locked", "--filter-platform", &host()]));
    assert!(here.len() > 100, "only {} crates", here.len());
    for (crate_, licence) in here {
        assert_eq!(told[&crate_], licence, "{}: {UPDATE}", crate_.0);
    }
}

#[test]
fn the_notice_holds_the_licence_of_the_fonts_word_for_word() {
    update_if_asked();
    let (version, text) = fonts();
    assert!(between("fonts") == text, "{UPDATE}");
    assert!(read("THIRD-PARTY.md").contains(&format!("DejaVu {version}")), "of another version");
}

#[test]
fn the_notice_names_the_font_files_that_are_in_the_tree_by_their_hash() {
    let notice = read("THIRD-PARTY.md");
    let files: Vec<_> =
        fs::read_dir("templates/fonts").expect("fonts").map(|entry| entry.expect("a font").path()).collect();
    assert_eq!(files.len(), 6);
    for file in files {
        let hash = Sha256::digest(fs::read(&file).expect("readable"));
        let hash: String = hash.iter().map(|byte| format!("{byte:02x}")).collect();
        let name = file.file_name().expect("a name").to_string_lossy().into_owned();
        assert!(notice.contains(&format!("| `{name}` | `{hash}` |")), "{name} is {hash}");
    }
}

#[test]
fn the_crate_s_metadata_is_complete_and_the_package_holds_what_it_names() {
    let own = package();
    assert_eq!(own["license"], "MIT OR Apache-2.0");
    assert!(read("LICENSE-MIT").starts_with("MIT License\n\nCopyright (c) "));
    assert!(read("LICENSE-APACHE").contains("   END OF TERMS AND CONDITIONS\n"));
    for text in ["description", "rust_version", "edition"] {
        assert!(own[text].as_str().is_some_and(|text| !text.is_empty()), "no {text}");
    }
    for list in ["keywords", "categories"] {
        let count = own[list].as_array().map_or(0, Vec::len);
        // More than five are refused by the registry.
        assert!((1..=5).contains(&count), "{count} {list}");
    }
    let changes = read("CHANGELOG.md");
    let version = own["version"].as_str().expect("a version");
    assert!(changes.contains("\n## Unreleased\n") && changes.contains(&format!("\n## {version} (")));

    let listed = cargo(&["package", "--list", "--offline", "--allow-dirty"]);
    let listed: BTreeSet<&str> = listed.lines().collect();
    let mut needed: BTreeSet<String> =
        ["LICENSE-MIT", "LICENSE-APACHE", "THIRD-PARTY.md", "CHANGELOG.md", "README.md"]
            .map(str::to_owned)
            .into();
    for folder in ["src", "templates", "tests", "notebooks-demo"] {
        needed.extend(files(&top().join(folder)).into_iter().map(|path| relative(&path)));
    }
    // A journal's own dossier is printed into its folder, and Git leaves it aside.
    let left_out: Vec<&String> = needed
        .iter()
        .filter(|path| !(path.starts_with("notebooks-demo/") && path.contains("/dossier/")))
        .filter(|path| !listed.contains(path.as_str()))
        .collect();
    assert!(left_out.is_empty(), "not in the package: {left_out:?}");
}

const UPDATE: &str =
    "THIRD-PARTY.md is not up to date: `cargo fetch`, then `UPDATE=1 cargo test --test package`";

/// Writes both parts of the notice once, before a test reads it.
fn update_if_asked() {
    static DONE: Once = Once::new();
    DONE.call_once(|| {
        if std::env::var_os("UPDATE").is_none() {
            return;
        }
        let rows = licences(&metadata(&["--locked"]));
        let rows = rows
            .into_iter()
            .map(|((name, version), licence)| format!("| {name} | {version} | {licence} |\n"));
        write_between(
            "crates",
            &format!("| Crate | Version | Licence |\n|---|---|---|\n{}", rows.collect::<String>()),
        );
        write_between("fonts", &fonts().1);
    });
}

/// The version of the fonts, and their licence as it stands in the notice.
fn fonts() -> (String, String) {
    let all = metadata(&["--locked", "--filter-platform", &host()]);
    let mut packages = all["packages"].as_array().expect("packages").iter();
    let dejavu = packages.find(|package| package["name"] == "dejavu").expect("the crate of the fonts");
    let folder = Path::new(dejavu["manifest_path"].as_str().expect("a path")).parent().expect("a folder");
    let (version, _) = dejavu["version"].as_str().and_then(|text| text.rsplit_once('.')).expect("a version");
    let licence = fs::read_to_string(folder.join(format!("assets/dejavu-fonts-ttf-{version}/LICENSE")));
    let licence = licence.expect("the fonts' licence");
    (version.to_owned(), format!("```text\n{}\n```\n", licence.trim_end()))
}

/// Name and version of each crate that `Cargo.lock` holds, but ourselves.
fn locked() -> BTreeSet<(String, String)> {
    let text = read("Cargo.lock");
    let blocks = text.split("[[package]]").skip(1);
    blocks
        .map(|block| {
            let field = |key: &str| {
                let line = block.lines().find_map(|line| line.strip_prefix(key)?.strip_prefix(" = "));
                line.expect("a field").trim_matches('"').to_owned()
            };
            (field("name"), field("version"))
        })
        .filter(|(name, _)| name != env!("CARGO_PKG_NAME"))
        .collect()
}

/// The licence that each crate declares, but ourselves.
fn licences(metadata: &Value) -> BTreeMap<(String, String), String> {
    let packages = metadata["packages"].as_array().expect("packages").iter();
    packages
        .filter(|package| package["name"] != env!("CARGO_PKG_NAME"))
        .map(|package| {
            let text = |key: &str| package[key].as_str().map(str::to_owned);
            let licence = text("license").or_else(|| Some(format!("see its `{}`", text("license_file")?)));
            let name = text("name").expect("a name");
            let licence = licence.unwrap_or_else(|| panic!("{name} declares no licence"));
            ((name, text("version").expect("a version")), licence)
        })
        .collect()
}

/// What Cargo knows of this package.
fn package() -> Value {
    metadata(&["--no-deps"])["packages"][0].take()
}

#[track_caller]
fn metadata(words: &[&str]) -> Value {
    let words = [&["metadata", "--offline", "--format-version", "1"], words].concat();
    serde_json::from_str(&cargo(&words)).expect("JSON")
}

/// The platform that Cargo itself runs on.
fn host() -> String {
    let told = cargo(&["-vV"]);
    told.lines().find_map(|line| line.strip_prefix("host: ")).expect("a host").to_owned()
}

#[track_caller]
fn cargo(words: &[&str]) -> String {
    let output = Command::new(cargo_itself()).args(words).current_dir(top()).output().expect("Cargo starts");
    assert!(output.status.success(), "cargo {words:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("text")
}

/// The Cargo that runs the tests.
fn cargo_itself() -> PathBuf {
    std::env::var_os("CARGO").map_or_else(|| PathBuf::from("cargo"), PathBuf::from)
}

/// What stands in `THIRD-PARTY.md` between the two marks of this name.
fn between(name: &str) -> String {
    let text = read("THIRD-PARTY.md");
    let (start, end) = marks(&text, name);
    text[start..end].to_owned()
}

fn write_between(name: &str, new: &str) {
    let text = read("THIRD-PARTY.md");
    let (start, end) = marks(&text, name);
    let text = format!("{}{new}{}", &text[..start], &text[end..]);
    fs::write(top().join("THIRD-PARTY.md"), text).expect("the notice is written");
}

fn marks(text: &str, name: &str) -> (usize, usize) {
    let (opening, closing) = (format!("<!-- {name} -->\n"), format!("<!-- /{name} -->\n"));
    let start = text.find(&opening).expect("an opening mark") + opening.len();
    (start, text.find(&closing).expect("a closing mark"))
}

#[track_caller]
fn read(path: &str) -> String {
    fs::read_to_string(top().join(path)).unwrap_or_else(|fault| panic!("{path}: {fault}"))
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    files(folder).into_iter().filter(|path| path.extension().is_some_and(|end| end == "rs")).collect()
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path());
    entries.flat_map(|path| if path.is_dir() { files(&path) } else { vec![path] }).collect()
}

/// From the top of the repository, with `/`.
fn relative(path: &Path) -> String {
    path.strip_prefix(top()).expect("inside").to_string_lossy().replace('\\', "/")
}

fn top() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}
