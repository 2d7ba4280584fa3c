//! Results go back into the journal, and every other byte stays what it was.

use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
use std::process::Command;

#[path = "support/program.rs"]
mod program;
#[path = "support/regions.rs"]
mod regions;
#[path = "support/register.rs"]
mod register;

use program::{Folder, Run};
use regions::without_regions;
use register::register;

const SUM: &str = "```yaml worksheet sum\nsteps:\n  - {name: total, is: 2 kg + 3 kg, unit: kg}\n```\n";

#[test]
fn a_region_follows_its_fence() {
    let worked = check("# Sum\n\nText before.\n\nFENCE\nText after.\n");
    let at = worked.find("```\n<!-- worked:sum -->\n").expect("a region directly after the fence");
    assert!(worked[at..].contains("| `total` | 5\u{202f}kg |"), "{worked}");
    assert!(worked.ends_with(" -->\nText after.\n"), "{worked}");
}

#[test]
fn crlf_survives_write_back() {
    let worked = check(&"# Sum\n\nFENCE\nText.\n".replace("FENCE\n", SUM).replace('\n', "\r\n"));
    assert_eq!(worked.matches('\n').count(), worked.matches("\r\n").count(), "{worked:?}");
}

#[test]
fn mixed_line_ends_survive_write_back() {
    check("One\r\n\r\nTwo\nFENCE\nThree\r\n");
    let text =
        "a\r\n\n```yaml worksheet sum\r\nsteps:\n  - {name: total, is: 2 kg + 3 kg, unit: kg}\r\n```\nb\r\n";
    check(text);
}

#[test]
fn a_byte_order_mark_survives_write_back() {
    let worked = check("\u{feff}FENCE\n");
    assert!(worked.starts_with("\u{feff}```yaml"));
    check("\u{feff}---\ntitle: Marked\n---\n\nFENCE\n");
}

#[test]
fn a_missing_final_newline_stays_missing() {
    for text in ["FENCE", "FENCE\nlast line", "# A\n\nFENCE\n\n  "] {
        check(text.replace("FENCE", SUM.trim_end()).as_str());
    }
}

#[test]
fn trailing_spaces_tabs_and_blank_lines_stay() {
    check("Line  \nbreak\\\nTab\t\n\n\n\nFENCE\n \n\t\nEnd   \n");
}

#[test]
fn fences_in_lists_and_quotes_are_worked() {
    for prefix in ["  ", "> ", "> > ", ">", "   "] {
        let fence = SUM.lines().map(|line| format!("{prefix}{line}\n")).collect::<String>();
        let text =
            format!("{}\n{fence}{prefix}after\n\nEnd.\n", if prefix == "  " { "- item\n" } else { "" });
        let worked = check(&text);
        let region: Vec<&str> = worked
            .lines()
            .skip_while(|line| !line.contains("<!-- worked:sum"))
            .take_while(|line| !line.contains("after"))
            .collect();
        assert!(region.len() > 4, "{worked}");
        let prefixed = region.iter().all(|line| line.starts_with(prefix.trim_end()));
        assert!(prefixed, "{prefix:?}:\n{worked}");
    }
    let numbered = SUM.lines().map(|line| format!("    {line}\n")).collect::<String>();
    check(&format!("10. item\n\n{numbered}\n    - inner\n\n11. next\n"));
    let nested =
        SUM.lines().map(|line| format!("> -   {line}\n").replacen("> -   ", ">     ", 1)).collect::<String>();
    check(&format!("> - item\n>\n{nested}> \n> text\n"));
}

#[test]
fn fences_of_tildes_and_long_fences_are_worked() {
    check(&SUM.replace("```", "~~~"));
    check(&SUM.replace("```", "`````"));
    check(&SUM.replacen("```", "~~~~", 1).replacen("```", "~~~~~~  ", 1));
    check(&SUM.replacen("```yaml", "```   yaml  ", 1));
    check(&SUM.replacen("```yaml", "~~~yaml", 1).replacen("```", "~~~", 1));
}

#[test]
fn live_values_are_kept_up_to_date() {
    for (before, after) in [
        ("It is [?](result:sum.total).", "It is [5 kg](result:sum.total)."),
        ("It is [?](<result:sum.total in g>).", "It is [5 000 g](<result:sum.total in g>)."),
        ("It is [?](result:sum.total \"the title\").", "It is [5 kg](result:sum.total \"the title\")."),
        ("# Head [1 kg](result:sum.total)", "# Head [5 kg](result:sum.total)"),
        (
            "| a | b |\n|---|---|\n| [x](result:sum.total) | 1 |",
            "| a | b |\n|---|---|\n| [5 kg](result:sum.total) | 1 |",
        ),
        ("- *so [**1** kg](result:sum.total)*", "- *so [5 kg](result:sum.total)*"),
        ("[](result:sum.total)", "[5 kg](result:sum.total)"),
        ("[two\nlines](result:sum.total)", "[5 kg](result:sum.total)"),
        ("`[code](result:sum.total)`", "`[code](result:sum.total)`"),
        ("\\[no](result:sum.total)", "\\[no](result:sum.total)"),
    ] {
        let folder = Folder::new();
        folder.write("journal.md", format!("{SUM}\n{before}\n"));
        work(&folder);
        let worked = without_regions(&read(&folder));
        assert_eq!(worked, format!("{SUM}\n{after}\n"));
        assert_unchanged(&folder, &["work"]);
    }
}

#[test]
fn the_closing_mark_carries_the_hash_of_the_body() {
    let fence = SUM.lines().map(|line| format!("> {line}\r\n")).collect::<String>();
    let folder = Folder::new();
    folder.write("journal.md", fence);
    work(&folder);
    let worked = read(&folder);
    let lines: Vec<&str> =
        worked.lines().map(|line| line.strip_prefix("> ").unwrap_or(line.trim_start_matches('>'))).collect();
    let open = lines.iter().position(|line| line.starts_with("<!-- worked:sum")).expect("an opening mark");
    let close = lines.iter().position(|line| line.starts_with("<!-- /worked:sum")).expect("a closing mark");
    let hash = blake3::hash(lines[open + 1..close].join("\n").as_bytes()).to_hex();
    assert_eq!(lines[close], format!("<!-- /worked:sum {} -->", &hash[..8]));
}

#[test]
fn working_twice_touches_nothing() {
    let folder = worked(&format!("{SUM}\nIt is [5 kg](result:sum.total).\n"));
    let path = folder.path.join("journal.md");
    let before = fs::metadata(&path).expect("metadata");
    assert_eq!(folder.run(&["work"]).status, 0);
    let after = fs::metadata(&path).expect("metadata");
    assert_eq!(
        (before.ino(), before.mtime(), before.mtime_nsec()),
        (after.ino(), after.mtime(), after.mtime_nsec())
    );
}

#[test]
fn places_are_those_of_the_text_that_was_written() {
    let block = |name: &str, unit: &str| {
        format!(
            "```yaml worksheet {name}\ngiven: {{x: 3 {unit}}}\nsteps: [{{name: y, is: 2 * x, unit: m}}]\nchecks: {{long: y >= 9 m}}\n```\n"
        )
    };
    let text =
        format!("{}\nIt is [?](result:a.y).\n\n{}\n{}", block("a", "m"), block("b", "kgs"), block("c", "m"));
    let folder = Folder::new();
    folder.write("journal.md", text);
    let first = folder.run(&["work", "--format", "lines"]);
    let again = folder.run(&["check", "--format", "lines"]);
    assert_eq!((&first.out, &first.err), (&again.out, &again.err));
    let line = 1 + read(&folder).lines().position(|line| line.contains("kgs")).expect("the wrong unit");
    assert!(first.err.contains(&format!("journal.md:{line}:14: error: `kgs` is no unit")), "{}", first.err);
    assert_eq!(folder.run(&["work", "--json"]).out, folder.run(&["check", "--json"]).out);
}

#[test]
fn check_writes_nothing_and_says_what_is_stale() {
    let folder = Folder::new();
    folder.write("a.md", "No block here.\n");
    folder.write("b.md", SUM);
    assert_unchanged(&folder, &["check"]);
    assert_eq!(register(&folder)["stale"].to_string(), "[\"b.md\"]");
    work(&folder);
    assert_eq!(register(&folder)["stale"].to_string(), "[]");
}

#[test]
fn an_edited_region_is_refused_until_told_otherwise() {
    let folder = worked(&format!("{SUM}\n[5 kg](result:sum.total)\n"));
    let worked = read(&folder);
    let edited = worked.replacen("| `total` | 5", "| `total` | 6", 1);
    assert_ne!(worked, edited);
    folder.write("journal.md", &edited);
    folder.write("other.md", SUM.replace("sum", "other"));
    let run = folder.run(&["work"]);
    assert_eq!(run.status, 1);
    assert!(run.err.contains("edited-region") && run.err.contains("sum"), "{}", run.err);
    assert_eq!(read(&folder), edited);
    let other = fs::read_to_string(folder.path.join("other.md")).expect("the other file");
    assert!(other.contains("<!-- worked:other -->"), "the other file is worked all the same");
    assert_eq!(folder.run(&["work", "--overwrite-edits"]).status, 0);
    assert_eq!(read(&folder), worked);
}

#[test]
fn an_orphan_is_reported_and_dropped_only_on_request() {
    let gone = SUM.replace("sum", "gone");
    let folder = worked(&format!("# A\n\n{SUM}\nBetween.\n\n{gone}\nEnd.\n"));
    let without_block = read(&folder).replace(&gone, "");
    folder.write("journal.md", &without_block);
    let run = folder.run(&["work"]);
    assert_eq!(run.status, 0, "an orphan is a warning");
    assert!(run.err.contains("orphan-region"), "{}", run.err);
    assert_eq!(read(&folder), without_block);
    assert_eq!(folder.run(&["work", "--drop-orphans"]).status, 0);
    let dropped = read(&folder);
    assert!(!dropped.contains("worked:gone"), "{dropped}");
    assert_eq!(without_regions(&dropped), format!("# A\n\n{SUM}\nBetween.\n\n\nEnd.\n"));
    assert_unchanged(&folder, &["work"]);
}

#[test]
fn damaged_marks_are_an_error_and_the_file_is_not_written() {
    let whole = read(&worked(SUM));
    let lines: Vec<&str> = whole.lines().collect();
    let close = lines.iter().position(|line| line.starts_with("<!-- /worked")).expect("a closing mark");
    let open = lines.iter().position(|line| line.starts_with("<!-- worked")).expect("an opening mark");
    let mut no_end = lines.clone();
    no_end.remove(close);
    let mut no_start = lines.clone();
    no_start.remove(open);
    let mut doubled = lines.clone();
    doubled.insert(open, lines[open]);
    let mut swapped = lines.clone();
    swapped.swap(open, close);
    let mut twice = lines.clone();
    twice.extend(&lines[open..=close]);
    let other_name = whole.replacen("<!-- worked:sum", "<!-- worked:sam", 1);
    for damaged in [no_end, no_start, doubled, swapped, twice]
        .map(|lines| lines.join("\n") + "\n")
        .into_iter()
        .chain([other_name])
    {
        let folder = Folder::new();
        // Something else in the file has to be written, so that leaving it alone means something.
        let text = format!("{damaged}\n{}", SUM.replace("sum", "second"));
        folder.write("journal.md", &text);
        let run = folder.run(&["work"]);
        assert_eq!(run.status, 1, "{damaged}");
        assert!(run.err.contains("damaged-region"), "{damaged}\n{}", run.err);
        assert_eq!(read(&folder), text);
    }
}

#[test]
fn old_numbers_never_stand_beside_changed_inputs() {
    let folder = worked(&format!(
        "{SUM}\nIt is [5 kg](result:sum.total), really [5000 g](<result:sum.total in g>).\n"
    ));
    let broken = read(&folder).replace("3 kg, unit", "3 kgs, unit");
    folder.write("journal.md", &broken);
    assert_eq!(folder.run(&["work"]).status, 1);
    let text = read(&folder);
    let body: Vec<&str> = text
        .lines()
        .skip_while(|line| !line.starts_with("<!-- worked:sum"))
        .skip(1)
        .take_while(|line| !line.starts_with("<!-- /"))
        .collect();
    assert_eq!(body, ["not worked: see findings"]);
    assert!(
        text.contains("It is [not worked](result:sum.total), really [not worked](<result:sum.total in g>)."),
        "{text}"
    );
    // Put right again, all is as before.
    folder.write("journal.md", text.replace("3 kgs, unit", "3 kg, unit"));
    assert_eq!(folder.run(&["work"]).status, 0);
    assert!(read(&folder).contains("It is [5 kg](result:sum.total), really [5 000 g]"), "{}", read(&folder));
}

#[test]
fn a_block_that_never_worked_gets_no_region() {
    let folder = Folder::new();
    let broken = SUM.replace("3 kg", "3 kgs");
    folder.write("journal.md", &broken);
    assert_eq!(folder.run(&["work"]).status, 1);
    assert_eq!(read(&folder), broken);
}

#[test]
fn a_read_only_file_is_refused() {
    let folder = Folder::new();
    folder.write("journal.md", SUM);
    let path = folder.path.join("journal.md");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).expect("permissions");
    let run = folder.run(&["work"]);
    assert_eq!(run.status, 3, "{}", run.err);
    assert!(run.err.contains("read-only"), "{}", run.err);
    assert_eq!(read(&folder), SUM);
}

#[test]
fn permissions_are_kept() {
    let folder = Folder::new();
    folder.write("journal.md", SUM);
    let path = folder.path.join("journal.md");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("permissions");
    work(&folder);
    assert_eq!(fs::metadata(&path).expect("metadata").permissions().mode() & 0o777, 0o640);
}

#[test]
fn a_symbolic_link_is_followed_and_stays_a_link() {
    let (real, folder) = (Folder::new(), Folder::new());
    real.write("real.txt", SUM);
    symlink(real.path.join("real.txt"), folder.path.join("journal.md")).expect("a link");
    work(&folder);
    assert!(fs::symlink_metadata(folder.path.join("journal.md")).expect("metadata").is_symlink());
    let text = fs::read_to_string(real.path.join("real.txt")).expect("the real file");
    assert!(text.contains("<!-- worked:sum -->"), "{text}");
}

#[test]
fn a_disk_that_fills_leaves_the_original_whole() {
    let folder = Folder::new();
    let text = format!("{SUM}\n{}", "A line of the journal, to make it long.\n".repeat(1_000));
    folder.write("journal.md", &text);
    // No file may grow over 8 blocks; the signal that tells so is ignored, so that the write fails as on a full disk.
    let limited = "trap '' XFSZ; ulimit -f 8; exec \"$0\" work \"$1\"";
    let mut shell = Command::new("sh");
    let run = Run::of(
        shell
            .args(["-c", limited, env!("CARGO_BIN_EXE_voltwright")])
            .arg(&folder.path)
            .output()
            .expect("a shell"),
    );
    assert_eq!(run.status, 3, "{}", run.err);
    assert!(run.err.contains("journal.md"), "{}", run.err);
    assert_eq!(read(&folder), text);
    let left: Vec<_> = fs::read_dir(&folder.path)
        .expect("a folder")
        .map(|entry| entry.expect("an entry").file_name())
        .collect();
    assert_eq!(left, ["journal.md"], "no half-written file is left behind");
    work(&folder);
}

#[test]
fn begin_makes_a_journal_that_works_and_leaves_what_is_there_alone() {
    let folder = Folder::new();
    fs::remove_dir(&folder.path).expect("an empty folder");
    assert_eq!(folder.run(&["begin"]).status, 0);
    assert_eq!(folder.run(&["work"]).status, 0);
    assert_eq!(folder.run(&["check"]).status, 0);
    let full = Folder::new();
    full.write("journal.md", SUM);
    assert_ne!(full.run(&["begin"]).status, 0);
    assert_unchanged(&full, &["begin"]);
}

/// Works a journal, `FENCE` in it being one calculation block. Everything outside the region is what it was, a second
/// run changes nothing, and there is a region. Gives the worked text.
#[track_caller]
fn check(text: &str) -> String {
    let text = text.replace("FENCE\n", SUM);
    let folder = worked(&text);
    let worked = read(&folder);
    assert!(worked.contains("<!-- worked:sum -->"), "no region:\n{worked}");
    let rest = without_regions(&worked);
    // Where the fence ended the file without a line end, the region had to begin one.
    let ends_at_fence = text.ends_with("```") && rest.trim_end_matches(['\r', '\n']) == text;
    assert!(rest == text || ends_at_fence, "before {text:?}\nafter  {rest:?}");
    assert_eq!(text.ends_with('\n'), worked.ends_with('\n'), "the end of the file: {worked:?}");
    assert_unchanged(&folder, &["work"]);
    worked
}

fn worked(text: &str) -> Folder {
    let folder = Folder::new();
    folder.write("journal.md", text);
    work(&folder);
    folder
}

#[track_caller]
fn work(folder: &Folder) {
    let run = folder.run(&["work"]);
    assert_eq!(run.status, 0, "{}", run.err);
}

/// The command leaves the journal's bytes as they are.
#[track_caller]
fn assert_unchanged(folder: &Folder, words: &[&str]) {
    let all = || -> Vec<_> {
        let mut paths: Vec<_> = fs::read_dir(&folder.path)
            .expect("a folder")
            .map(|entry| entry.expect("an entry").path())
            .collect();
        paths.sort();
        paths.into_iter().map(|path| (fs::read(&path).expect("a file"), path)).collect()
    };
    let before = all();
    folder.run(words);
    assert!(before == all(), "`{}` changed something", words.join(" "));
}

fn read(folder: &Folder) -> String {
    fs::read_to_string(folder.path.join("journal.md")).expect("the journal")
}
