//! The walls of the design: what each room may know, who names which crate, and how a file is made.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

#[path = "support/imports.rs"]
mod imports;

use imports::{Arrows, arrows, circles, side_by_side};

/// The rooms that each room may name in `crate::ROOM`, itself aside. `lib`, the crate's own root, names none.
const WALLS: &[(&str, &[&str])] = &[
    ("words", &[]),
    ("source", &[]),
    ("parallel", &[]),
    ("findings", &["words", "source"]),
    ("quantities", &["words", "findings"]),
    ("journal", &["words", "source", "findings", "parallel"]),
    ("rules", &["words", "source", "quantities", "journal"]),
    ("model", &["words", "source", "findings", "parallel", "quantities", "journal", "rules"]),
    ("graph", &["words", "source", "findings", "model"]),
    ("blocks", &["words", "source", "findings", "quantities", "model", "rules"]),
    ("evaluate", &["words", "source", "findings", "parallel", "quantities", "model", "graph"]),
    (
        "compile",
        &[
            "words", "source", "findings", "parallel", "journal", "model", "graph", "blocks", "evaluate",
            "report",
        ],
    ),
    ("report", &["words", "source", "findings", "quantities", "model", "rules", "graph", "evaluate"]),
    ("register", &["words", "source", "findings", "quantities", "model", "graph", "evaluate", "report"]),
    ("revision", &[]),
    (
        "moves",
        &["source", "quantities", "journal", "model", "graph", "blocks", "evaluate", "compile", "report"],
    ),
    ("writeback", &["words", "source", "findings", "parallel", "journal", "model", "report"]),
    (
        "dossier",
        &[
            "words",
            "source",
            "findings",
            "parallel",
            "quantities",
            "journal",
            "rules",
            "model",
            "graph",
            "blocks",
            "evaluate",
            "compile",
            "report",
            "moves",
        ],
    ),
    (
        "cli",
        &[
            "words",
            "source",
            "findings",
            "parallel",
            "quantities",
            "journal",
            "model",
            "rules",
            "graph",
            "blocks",
            "rules",
            "evaluate",
            "compile",
            "report",
            "register",
            "moves",
            "revision",
            "writeback",
            "dossier",
        ],
    ),
    ("main", &[]),
    ("lib", &["cli"]),
];

/// Crates that one place alone names. Test modules may look at what was made with any of them.
const CRATES: &[(&str, &[&str])] = &[
    ("uom", &["src/quantities/"]),
    ("pulldown_cmark", &["src/journal/"]),
    ("serde_yaml", &["src/journal/"]),
    ("csv", &["src/model/"]),
    ("minijinja", &["src/dossier/html/"]),
    ("printpdf", &["src/dossier/pdf/"]),
    ("lopdf", &["src/dossier/pdf/"]),
    ("allsorts", &["src/dossier/pdf/", "src/dossier/layout/fonts.rs"]),
    ("dejavu", &["src/dossier/layout/fonts.rs"]),
    ("harfrust", &["src/dossier/layout/"]),
    ("textwrap", &["src/dossier/layout/"]),
    ("unicode_linebreak", &["src/dossier/layout/"]),
    ("clap", &["src/cli/"]),
    ("clap_complete", &["src/cli/"]),
    ("clap_mangen", &["src/cli/manual.rs"]),
    ("walkdir", &["src/cli/"]),
    ("notify", &["src/cli/watch/saves.rs"]),
    ("httparse", &["src/cli/watch/request.rs"]),
    ("ctrlc", &["src/cli/watch/mod.rs"]),
    ("terminal_size", &["src/cli/"]),
    ("serde_json", &["src/register/", "src/revision.rs"]),
    (
        "serde",
        &[
            "src/register/",
            "src/revision.rs",
            "src/moves/",
            "src/cli/schema.rs",
            "src/cli/subject.rs",
            "src/cli/trace.rs",
            "src/dossier/",
        ],
    ),
    ("sha2", &["src/model/evidence.rs", "src/dossier/html/"]),
    ("blake3", &["src/journal/marks.rs", "src/dossier/pdf/"]),
    ("png", &["src/dossier/"]),
    ("jpeg_decoder", &["src/dossier/view/decode.rs"]),
    ("jpeg_encoder", &["src/dossier/view/decode.rs"]),
    ("xattr", &["src/cli/writer.rs"]),
    ("zip", &["src/cli/hand_over.rs"]),
    ("libm", &["src/evaluate/"]),
    ("flate2", &["src/dossier/pdf/"]),
];

/// Files that truly call each other: readers and writers of what is itself nested. DEVELOPERS.md names them with why.
const RECURSIVE: &[&[&str]] = &[
    &["src/model/directory.rs", "src/model/form.rs", "src/model/kind.rs"],
    &["src/quantities/literal.rs", "src/quantities/range.rs", "src/quantities/tolerance.rs"],
    &["src/quantities/unit/part.rs", "src/quantities/unit/reader.rs"],
];

/// What a kind reads a block with, and how many calls it has for that in all. What one kind alone needs stands with
/// that kind, made of these.
const READERS: [&str; 3] = ["Form", "Outcomes", "Lookup"];
const MOST_CALLS: usize = 41;
/// From a form to the other two.
const DOORS: [&str; 2] = ["Form::lookup", "Form::outcomes"];

/// Names of kinds and results that are something else where they are typed: the file or room, and what they are there.
const SAID_ELSEWHERE: &[(&str, &[&str], &str)] = &[
    (
        "src/quantities/",
        &["area", "current", "density", "energy", "mass", "resistance", "time", "voltage"],
        "dimensions: the room knows no blocks",
    ),
    ("src/cli/schema.rs", &["value"], "the key of a value in its long form"),
    ("src/model/long_form.rs", &["value"], "the key of a value in its long form"),
    ("src/model/curves.rs", &["value"], "the key of a value in its long form"),
    ("src/rules/read.rs", &["value"], "the key of a rule's value"),
    ("src/model/possible.rs", &["value"], "the word, in a message"),
    ("src/model/aggregate.rs", &["part", "mass"], "words of the language: `sum(part.mass)`"),
    (
        "src/model/roles.rs",
        &["contactors", "fuse", "part"],
        "words for the role of a part, and the fields that name one; a test holds those against the kinds",
    ),
    (
        "src/model/old_names.rs",
        &[
            "ambient_temperature",
            "ampacity_rating",
            "ampacity_temperature",
            "charge_end_voltage",
            "current_rating",
            "pack_current",
            "pack_power",
            "pack_power_limit",
            "voltage_rating",
        ],
        "what names of before are called today; a test holds them against the kinds",
    ),
    ("src/dossier/view/appendix.rs", &["sources"], "the id of a heading"),
    ("src/dossier/view/cover.rs", &["identity"], "a key of the front matter"),
    ("src/report/asked.rs", &["answered"], "the word for an outcome"),
    ("src/report/open.rs", &["calibration"], "the label of an open item"),
];

/// Most lines of a file, its tests not counted.
const MOST_LINES: usize = 400;

#[test]
fn each_room_names_only_the_rooms_it_may() {
    let walls: BTreeMap<&str, &[&str]> = WALLS.iter().copied().collect();
    check(|file| {
        let room = room(&file.path);
        let Some(allowed) = walls.get(room) else {
            return vec![format!("the room `{room}` has no wall in tests/tidy.rs")];
        };
        let named = words_after(&file.code, "crate::");
        named
            .into_iter()
            .filter(|name| *name != room && !allowed.contains(name))
            .map(|name| format!("`{room}` names `crate::{name}`"))
            .collect()
    });
}

#[test]
fn each_crate_is_named_in_its_place_alone() {
    check(|file| {
        let strangers =
            CRATES.iter().filter(|(_, places)| !places.iter().any(|place| file.path.starts_with(place)));
        let named = strangers.filter(|(name, _)| {
            words_before(&file.code, "::").contains(name) || file.code.contains(&format!("use {name};"))
        });
        named.map(|(name, _)| format!("names the crate `{name}`")).collect()
    });
}

#[test]
fn no_kind_uses_another() {
    let kinds: Vec<String> = fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/blocks"))
        .expect("the kinds")
        .map(|entry| entry.expect("one").path())
        .map(|path| path.file_stem().expect("a name").to_string_lossy().into_owned())
        .filter(|name| !["mod", "shared", "rows_test"].contains(&name.as_str()))
        .collect();
    assert!(kinds.len() > 20, "{kinds:?}");
    check(|file| {
        let Some(path) = file.path.strip_prefix("src/blocks/") else { return Vec::new() };
        // The register of all kinds.
        if path == "mod.rs" {
            return Vec::new();
        }
        let own = path.split(['/', '.']).next().unwrap_or("");
        let (outside, folder) =
            if path.contains('/') { ("super::super::", true) } else { ("super::", false) };
        kinds
            .iter()
            .filter(|kind| *kind != own)
            .filter(|kind| {
                let at_top = path.ends_with("/mod.rs") && file.code.contains(&format!("use super::{kind}::"));
                let beside = file.code.contains(&format!("{outside}{kind}::"));
                let named = file.code.contains(&format!("crate::blocks::{kind}"));
                named || at_top || beside && !(folder && own == kind.as_str())
            })
            .map(|kind| format!("uses the kind `{kind}`"))
            .collect()
    });
}

#[test]
fn files_import_each_other_only_where_they_are_recursive() {
    let sources = sources();
    let files: Vec<(&str, &str)> =
        sources.iter().map(|source| (source.path.as_str(), source.code.as_str())).collect();
    let arrows = arrows(&files);
    let recursive: BTreeSet<BTreeSet<&str>> =
        RECURSIVE.iter().map(|circle| circle.iter().copied().collect()).collect();
    let found = circles(&arrows);
    let faults: Vec<String> = found.difference(&recursive).map(|circle| told(circle, &arrows)).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert_eq!(recursive, found, "named as recursive");
    let page =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md")).expect("the page");
    let (_, table) = page.split_once("| Recursive | Why |").expect("a table of recursive files");
    let rows = table.lines().skip(2).map_while(|line| line.strip_prefix("| ")?.split(" | ").next());
    let told: BTreeSet<BTreeSet<String>> = rows
        .map(|files| files.split('`').skip(1).step_by(2).map(|file| format!("src/{file}")).collect())
        .collect();
    let named = recursive.iter().map(|circle| circle.iter().map(|file| (*file).to_owned()).collect());
    assert_eq!(told, named.collect(), "told in DEVELOPERS.md");
}

#[test]
fn folders_import_each_other_nowhere() {
    let sources = sources();
    let files: Vec<(&str, &str)> =
        sources.iter().map(|source| (source.path.as_str(), source.code.as_str())).collect();
    let arrows = side_by_side(&arrows(&files));
    let of_folders = |circle: &BTreeSet<&str>| circle.iter().any(|name| !name.ends_with(".rs"));
    let found: Vec<BTreeSet<&str>> = circles(&arrows).into_iter().filter(of_folders).collect();
    let faults: Vec<String> = found.iter().map(|circle| told(circle, &arrows)).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Who takes from whom within a circle.
fn told(circle: &BTreeSet<&str>, arrows: &Arrows<'_>) -> String {
    let within = circle.iter().flat_map(|file| {
        let taken = arrows[file].iter().filter(|(other, _)| circle.contains(*other));
        taken.map(move |(other, names)| {
            let names: Vec<&str> = names.iter().copied().collect();
            format!("{file} -> {other}: {}", names.join(", "))
        })
    });
    format!("import each other:\n  {}", within.collect::<Vec<_>>().join("\n  "))
}

#[test]
fn blocks_do_no_input_or_output() {
    check(|file| {
        if room(&file.path) != "blocks" {
            return Vec::new();
        }
        let banned = [
            "std::fs",
            "std::io",
            "std::env",
            "std::net",
            "std::time",
            "std::process",
            "println!",
            "eprintln!",
        ];
        banned
            .into_iter()
            .filter(|word| file.code.contains(word))
            .map(|word| format!("uses `{word}`"))
            .collect()
    });
}

#[test]
fn the_command_line_alone_touches_files_clock_and_environment() {
    check(|file| {
        if ["cli", "main"].contains(&room(&file.path)) {
            return Vec::new();
        }
        let banned = [
            "fs::",
            "env::var",
            "env::args",
            "SystemTime",
            "Instant::",
            "io::stdout",
            "io::stderr",
            "io::stdin",
            "process::",
        ];
        let found = banned.into_iter().filter(|word| names(&file.code, word));
        found.map(|word| format!("uses `{word}`")).collect()
    });
}

#[test]
fn every_file_opens_with_a_sentence() {
    check(|file| {
        let first = file.text.lines().next().unwrap_or("");
        let sentence = first.strip_prefix("//! ").is_some_and(|words| words.len() > 15);
        if sentence { Vec::new() } else { vec![format!("opens with `{first}`")] }
    });
}

#[test]
fn no_file_is_long_without_its_tests() {
    check(|file| {
        let lines = file.code.lines().count();
        if lines > MOST_LINES { vec![format!("{lines} lines")] } else { Vec::new() }
    });
}

#[test]
fn a_block_is_read_with_few_calls() {
    let mut calls = Vec::new();
    for source in sources() {
        let mut of = None;
        for line in source.code.lines() {
            if line.starts_with("impl") {
                of = READERS.into_iter().find(|reader| names(line, &format!("{reader}<")));
            }
            if let (Some(of), Some(call)) = (of, line.strip_prefix("    pub(crate) fn ")) {
                calls.push(format!("{of}::{}", call.split(['<', '(']).next().unwrap_or("")));
            }
        }
    }
    assert!(READERS.iter().all(|reader| calls.iter().any(|call| call.starts_with(reader))), "{calls:?}");
    calls.retain(|call| !DOORS.contains(&call.as_str()));
    assert!(calls.len() <= MOST_CALLS, "{} calls:\n{}", calls.len(), calls.join("\n"));
}

/// Names of kinds, results and fields are told by their rows; elsewhere a value is asked for by what it is there for.
#[test]
fn no_name_of_a_kind_or_result_is_typed_a_second_time() {
    let names = documented();
    assert!(names.contains("full_voltage") && names.contains("donor.mass") && names.contains("hv-cable"));
    check(|file| {
        if file.path.starts_with("src/blocks/") {
            return Vec::new();
        }
        let reasons = SAID_ELSEWHERE.iter().filter(|(place, _, _)| file.path.starts_with(place));
        let excused: Vec<&str> = reasons.flat_map(|(_, words, _)| words.iter().copied()).collect();
        let typed = texts(&file.code).into_iter();
        let typed = typed.filter(|text| names.contains(text) && !excused.contains(&text.as_str()));
        typed.map(|name| format!("types `{name}`")).collect()
    });
}

/// What the pages of the reference list: kinds, results, and fields that no plain word names.
fn documented() -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("notebooks-demo/reference");
    for path in files(&top) {
        let Ok(text) = fs::read_to_string(&path) else { continue };
        let Some((_, fields)) = text.split_once("\n## Fields\n") else { continue };
        names.extend(path.file_stem().map(|name| name.to_string_lossy().into_owned()));
        let (fields, results) = fields.split_once("\n## Results\n").unwrap_or((fields, ""));
        let results = results.split("\n## ").next().unwrap_or("");
        let listed = |table: &str| -> Vec<String> {
            let rows = table.lines().filter_map(|line| line.strip_prefix("| `")?.split('`').next());
            rows.map(str::to_owned).collect()
        };
        names.extend(listed(results));
        names.extend(listed(fields).into_iter().filter(|name| name.contains(['.', '_'])));
    }
    names
}

/// The texts in quotes of a piece of code.
fn texts(code: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut signs = code.chars();
    while let Some(sign) = signs.next() {
        match sign {
            // A quotation mark of its own, as a character.
            '\'' if signs.as_str().starts_with("\"'") => drop(signs.nth(1)),
            '\'' if signs.as_str().starts_with("\\\"'") => drop(signs.nth(2)),
            '"' => {
                let mut text = String::new();
                while let Some(sign) = signs.next().filter(|sign| *sign != '"') {
                    text.push(sign);
                    text.extend(if sign == '\\' { signs.next() } else { None });
                }
                found.push(text);
            }
            _ => {}
        }
    }
    found
}

#[test]
fn nothing_is_left_unfinished() {
    // Put together, so that this file does not find itself.
    let marks = ["todo", "unimplemented", "dbg"].map(|word| format!("{word}{}", "!(")).into_iter();
    let marks: Vec<String> = marks
        .chain(
            ["#[ig", "TO", "FIX", "XX"].iter().zip(["nore", "DO", "ME", "X"]).map(|(a, b)| format!("{a}{b}")),
        )
        .collect();
    check(|file| {
        let found = marks.iter().filter(|mark| file.text.contains(mark.as_str()));
        found.map(|mark| format!("has `{mark}`")).collect()
    });
}

#[test]
fn imports_are_explicit_and_no_lint_is_silenced_for_a_whole_file() {
    check(|file| {
        let lines = file.text.lines().map(str::trim);
        let bad = lines.filter(|line| {
            line.starts_with("use ") && line.ends_with("::*;") || line.starts_with("#![allow")
        });
        bad.map(|line| format!("has `{line}`")).collect()
    });
}

#[test]
fn the_repository_names_no_machine_and_no_place_on_it() {
    // Put together, so that this file does not find itself.
    let banned = [
        ["/wo", "rk/"],
        ["/ro", "ot/"],
        ["/ho", "me/"],
        ["far", "m-"],
        ["dupli", "cates --"],
        ["/tm", "p/h_"],
    ]
    .map(|halves| halves.concat());
    let mut faults = Vec::new();
    for path in tracked() {
        let Ok(text) = fs::read_to_string(&path) else { continue };
        faults.extend(
            banned
                .iter()
                .filter(|word| text.contains(word.as_str()))
                .map(|word| format!("{}: `{word}`", path.display())),
        );
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

struct Source {
    /// From the top of the repository, with `/`.
    path: String,
    text: String,
    /// Without comments and without the tests at its end.
    code: String,
}

/// Every source file holds the claim; a claim gives the faults of one file.
#[track_caller]
fn check(claim: impl Fn(&Source) -> Vec<String>) {
    let mut faults = Vec::new();
    let mut count = 0;
    for source in sources() {
        count += 1;
        faults.extend(claim(&source).into_iter().map(|fault| format!("{}: {fault}", source.path)));
    }
    assert!(count > 50, "only {count} files were looked at");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

fn sources() -> Vec<Source> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut sources = Vec::new();
    // Beside the code lie the rules' data files.
    let is_code = |path: &PathBuf| path.extension().is_some_and(|end| end == "rs");
    for path in files(&top.join("src")).into_iter().filter(is_code) {
        let relative = path.strip_prefix(top).expect("inside").to_string_lossy().replace('\\', "/");
        // Modules of tests alone, declared under `#[cfg(test)]`.
        let text = fs::read_to_string(&path).expect("a source file");
        let is_tests = relative.ends_with("/tests.rs") || is_only_for_tests(&path);
        let code = if is_tests { String::new() } else { code(&text) };
        sources.push(Source { path: relative, text, code });
    }
    sources
}

/// Whether the parent declares this file's module under `#[cfg(test)]`.
fn is_only_for_tests(path: &Path) -> bool {
    let (Some(folder), Some(name)) = (path.parent(), path.file_stem()) else { return false };
    let above = folder.with_extension("rs");
    [folder.join("mod.rs"), folder.join("lib.rs"), above]
        .iter()
        .filter_map(|file| fs::read_to_string(file).ok())
        .any(|text| {
            let module = format!("mod {};", name.to_string_lossy());
            text.split("#[cfg(test)]").skip(1).any(|rest| {
                let declared =
                    rest.lines().map(str::trim).find(|line| !line.is_empty() && !line.starts_with("#["));
                declared.is_some_and(|line| line.ends_with(&module))
            })
        })
}

fn code(text: &str) -> String {
    let mut code = String::new();
    let mut lines = text.lines().peekable();
    while let Some(line) = lines.next() {
        // Tests stand at the end of a file; a lone test module in a file of its own is named in one line.
        let inline_tests = line.trim() == "#[cfg(test)]" && lines.peek().is_some_and(|next| is_module(next));
        if inline_tests {
            break;
        }
        if !line.trim_start().starts_with("//") {
            code.push_str(line);
        }
        code.push('\n');
    }
    code
}

/// Whether a module is opened in this line.
fn is_module(line: &str) -> bool {
    line.trim_start().starts_with("mod ") && line.trim_end().ends_with('{')
}

/// `blocks` of `src/blocks/part.rs`, `compile` of `src/compile.rs`.
fn room(path: &str) -> &str {
    let inner = path.strip_prefix("src/").unwrap_or(path);
    inner.split(['/', '.']).next().unwrap_or("")
}

/// The names that follow `mark` directly: `findings` in `crate::findings::Code`.
fn words_after<'a>(code: &'a str, mark: &str) -> Vec<&'a str> {
    code.split(mark)
        .skip(1)
        .map(|rest| rest.split(|sign: char| !is_word(sign)).next().unwrap_or(""))
        .collect()
}

/// The names that stand directly before `mark`.
fn words_before<'a>(code: &'a str, mark: &str) -> Vec<&'a str> {
    let before = code.match_indices(mark).map(|(at, _)| &code[..at]);
    before.map(|text| text.rsplit(|sign: char| !is_word(sign)).next().unwrap_or("")).collect()
}

/// Whether the word stands in the code, and not as the end of a longer one.
fn names(code: &str, word: &str) -> bool {
    code.match_indices(word).any(|(at, _)| !code[..at].ends_with(is_word))
}

fn is_word(sign: char) -> bool {
    sign.is_ascii_alphanumeric() || sign == '_'
}

/// Text files of the repository: all but what is built and what Git keeps.
fn tracked() -> Vec<PathBuf> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    for entry in fs::read_dir(top).expect("the top").map(|entry| entry.expect("an entry").path()) {
        let name = entry.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        match (entry.is_dir(), name.as_str()) {
            (_, "target" | ".git" | "dossier") => {}
            (true, _) => found.extend(files(&entry)),
            (false, _) => found.push(entry),
        }
    }
    found
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut entries: Vec<PathBuf> =
        fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path()).collect();
    entries.sort();
    for entry in entries {
        if entry.is_dir() {
            found.extend(files(&entry));
        } else {
            found.push(entry);
        }
    }
    found
}
