//! What is handed over: one archive, whole or not at all, whose every file is as its list says.

use std::collections::BTreeMap;
use std::fs;
use std::io::{Cursor, Read};
use std::path::Path;

use sha2::{Digest, Sha256};
use zip::ZipArchive;

#[path = "support/program.rs"]
mod program;
#[path = "support/structure.rs"]
mod structure;

use program::{Folder, Run, program};

const VAN: &str = "\
---
title: A van
builder: nobody
---

```yaml sources papers
ticket: {title: A weighing ticket, file: evidence/ticket.txt}
```

```yaml mass-ledger kerb
donor: {mass: 1 000 kg ± 2 kg (measured)}
installed: {file: evidence/items.csv}
limits: {gross: 1 050 kg}
```

```yaml rescue sheet
places:
  - {name: traction battery, what: pack, at: [1.2 m, -0.5 m, 0.4 m], to: [2.2 m, 0.5 m, 0.8 m]}
  - {name: cut loop, what: cut-loop, at: [0.2 m, -0.4 m, 0.9 m], note: cut the yellow loop twice}
outline: {length: 3.9 m, width: 1.6 m, height: 1.9 m, wheelbase: 2.2 m}
make_safe:
  - Take the key out.
fire: Much water for a long time; see the cell maker's sheet.
```

![The motor](pictures/motor.png) ![Not there](pictures/none.png)

- [ ] weigh the finished van
- [x] take the engine out
";

/// A picture of one grey dot.
const DOT: &[u8] = &[
    0x89, 0x50, 0x4e, 0x47, 0xd, 0xa, 0x1a, 0xa, 0x0, 0x0, 0x0, 0xd, 0x49, 0x48, 0x44, 0x52, 0x0, 0x0, 0x0,
    0x1, 0x0, 0x0, 0x0, 0x1, 0x8, 0x0, 0x0, 0x0, 0x0, 0x3a, 0x7e, 0x9b, 0x55, 0x0, 0x0, 0x0, 0xa, 0x49, 0x44,
    0x41, 0x54, 0x78, 0x9c, 0x63, 0x68, 0x0, 0x0, 0x0, 0x82, 0x0, 0x81, 0x77, 0xcd, 0x72, 0xb6, 0x0, 0x0,
    0x0, 0x0, 0x49, 0x45, 0x4e, 0x44, 0xae, 0x42, 0x60, 0x82,
];

fn van() -> Folder {
    let folder = Folder::new();
    folder.write("van.md", VAN);
    folder.write("evidence/items.csv", "item,mass\nmotor,60 kg ± 1 kg\npack,20 kg ± 1 kg\n");
    folder.write("evidence/ticket.txt", "1 000 kg, invented\n");
    folder.write("evidence/aside.txt", "named by nobody\n");
    folder.write("pictures/motor.png", DOT);
    folder
}

/// Noon of 2 March 2026, UTC.
#[track_caller]
fn run(folder: &Folder, words: &[&str]) -> Run {
    let mut command = program(words);
    command.current_dir(&folder.path).env("SOURCE_DATE_EPOCH", "1772452800");
    Run::of(command.output().expect("the program starts"))
}

fn unpacked(archive: &Path) -> BTreeMap<String, Vec<u8>> {
    let bytes = fs::read(archive).expect("an archive");
    let mut archive = ZipArchive::new(Cursor::new(bytes)).expect("a zip file");
    (0..archive.len())
        .map(|at| {
            let mut file = archive.by_index(at).expect("a file of it");
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes).expect("all of it");
            (file.name().expect("a name").into_owned(), bytes)
        })
        .collect()
}

#[test]
fn papers_journal_and_evidence_are_packed_and_their_hashes_hold() {
    let folder = van();
    let handed = run(&folder, &["hand-over", "--out", "van.zip"]);
    assert_eq!(handed.status, 0, "{}{}", handed.out, handed.err);
    assert!(handed.out.contains("kerb.laden_mass fails"), "{}", handed.out);
    assert!(handed.out.ends_with("handed over: van.zip, 11 files\n"), "{}", handed.out);
    let files = unpacked(&folder.path.join("van.zip"));
    let names: Vec<&str> = files.keys().map(String::as_str).collect();
    let expected = [
        "SHA256SUMS",
        "dossier.html",
        "dossier.pdf",
        "journal/evidence/items.csv",
        "journal/evidence/ticket.txt",
        "journal/pictures/motor.png",
        "journal/van.md",
        "register.json",
        "rescue.pdf",
        "summary.html",
        "summary.pdf",
    ];
    assert_eq!(names, expected);
    let told: BTreeMap<String, String> = String::from_utf8(files["SHA256SUMS"].clone())
        .expect("text")
        .lines()
        .map(|line| line.split_once("  ").map(|(hash, name)| (name.to_owned(), hash.to_owned())))
        .collect::<Option<_>>()
        .expect("two columns");
    let hash = |bytes: &[u8]| Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    let own = files.iter().filter(|(name, _)| *name != "SHA256SUMS");
    let own: BTreeMap<String, String> = own.map(|(name, bytes)| (name.clone(), hash(bytes))).collect();
    assert_eq!(told, own);
    // What is open stands on the first page, before the cautions and the contents.
    let page = |name: &str| String::from_utf8(files[name].clone()).expect("text");
    let (dossier, summary) = (page("dossier.html"), page("summary.html"));
    let told = dossier.find("1 task of the journal is open.").expect("it says so");
    assert!(told < dossier.find("id=\"contents\"").expect("its contents"));
    assert!(summary.contains("the finished van</th>"));
    let lacks = dossier.find("Not in this journal: identity; ").expect("what nobody answers is named");
    assert!(lacks < dossier.find("id=\"requirements\"").expect("what blocks judge"));

    let sheet = lopdf::Document::load_mem(&files["rescue.pdf"]).expect("a PDF");
    assert_eq!(sheet.get_pages().len(), 1, "one sheet");
    let words = sheet.extract_text(&[1]).expect("its text");
    for told in ["rescue sheet", "Traction battery", "cut the yellow loop", "Take the key out", "Much water"]
    {
        assert!(words.contains(told), "no {told} in {words}");
    }

    // Unpacked it is a journal that works, and nothing in it is stale.
    let other = Folder::new();
    files.iter().for_each(|(name, bytes)| other.write(name, bytes));
    let worked = run(&other, &["check", "journal"]);
    assert!(worked.out.contains("kerb.laden_mass fails") && !worked.out.contains("stale"), "{}", worked.out);
}

#[test]
fn the_same_journal_gives_the_same_bytes_and_what_was_changed_since_a_revision_is_told() {
    let folder = van();
    folder.write("van.md", VAN.replace("---\n\n", "revision: A\n---\n\n").replace("1 050", "2 050"));
    assert_eq!(run(&folder, &["issue"]).status, 0);
    let archive = |name: &str| {
        let handed = run(&folder, &["hand-over", "--out", name]);
        assert_eq!(handed.status, 0, "{}", handed.err);
        (fs::read(folder.path.join(name)).expect("an archive"), handed.err)
    };
    let (first, told) = archive("a.zip");
    let (again, _) = archive("b.zip");
    assert!(first == again);
    assert!(!told.contains("no longer"), "{told}");
    folder.write("evidence/ticket.txt", "1 100 kg, invented\n");
    let (changed, told) = archive("a.zip");
    assert!(changed != again);
    assert!(
        told.contains("warning changed-evidence: `evidence/ticket.txt` is no longer as revision A"),
        "{told}"
    );
    assert!(told.contains("van.md:8:"), "not where it is named: {told}");
    let files = unpacked(&folder.path.join("a.zip"));
    let register: serde_json::Value = serde_json::from_slice(&files["register.json"]).expect("JSON");
    let codes: Vec<&str> = register["findings"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|one| one["code"].as_str())
        .collect();
    assert!(codes.contains(&"changed-evidence"), "{codes:?}");
    let page = String::from_utf8(files["dossier.html"].clone()).expect("text");
    assert!(page.contains("is no longer as revision A names it"), "the dossier tells it");
}

#[test]
fn what_has_errors_is_not_handed_over_and_the_archive_before_stays() {
    let folder = van();
    assert_eq!(run(&folder, &["hand-over", "--out", "van.zip"]).status, 0);
    let before = fs::read(folder.path.join("van.zip")).expect("an archive");
    let outside = VAN.replace("evidence/ticket.txt", "../ticket.txt");
    for broken in [VAN.replace("donor:", "doner:"), outside] {
        folder.write("van.md", &broken);
        let refused = run(&folder, &["hand-over", "--out", "van.zip"]);
        assert_eq!(refused.status, 1, "{}", refused.err);
        assert!(refused.err.ends_with("not handed over, for the journal has errors\n"), "{}", refused.err);
        assert!(fs::read(folder.path.join("van.zip")).expect("an archive") == before);
    }
    let left: Vec<_> = fs::read_dir(&folder.path)
        .expect("the folder")
        .map(|entry| entry.expect("a file").file_name())
        .filter(|name| name.to_string_lossy().contains("voltwright"))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

/// Its own rules go with a journal: a copy is judged by them, and says the same.
#[test]
fn a_revision_and_an_archive_hold_the_rules_of_the_journal() {
    let pack = "# Invented for a test, read by nobody. The local authority decides.\nitems:\n  light:\n    theme: mass\n    kind: legal\n    document: invented order\n    clause: \"3\"\n    status: read\n    asks: at most 1 100 kg\n    judged_by: [{limit: {kind: mass-ledger, result: converted_mass, at_most: 1 100 kg}}]\n";
    let folder = van();
    folder.write("rules/own.yaml", pack);
    folder.write("rules/other.yaml", pack);
    let ours =
        VAN.replace("---\n\n", "revision: A\nrules: [own, un-r100]\n---\n\n").replace("1 050", "2 050");
    folder.write("van.md", ours);
    assert_eq!(run(&folder, &["issue"]).status, 0);
    let frozen = folder.path.join("revisions/A/journal/rules");
    assert_eq!(fs::read_to_string(frozen.join("own.yaml")).expect("the pack"), pack);
    assert!(!frozen.join("other.yaml").exists(), "a pack that nobody goes by");
    let handed = run(&folder, &["hand-over", "--out", "van.zip"]);
    assert_eq!(handed.status, 0, "{}", handed.err);
    let other = Folder::new();
    unpacked(&folder.path.join("van.zip")).iter().for_each(|(name, bytes)| other.write(name, bytes));
    let told = |run: Run| run.out.lines().filter(|line| line.starts_with("own: ")).collect::<String>();
    let there = run(&other, &["check", "journal"]);
    assert!(!there.err.contains("error"), "{}", there.err);
    assert_eq!(told(there), told(run(&folder, &["check"])));
    // What was frozen is seen when it is touched.
    fs::write(frozen.join("own.yaml"), pack.replace("1 100", "9 100")).expect("a write");
    let verified = run(&folder, &["issue", "--verify"]);
    assert_eq!(verified.status, 1);
    assert!(verified.out.contains("rules/own.yaml was changed"), "{}", verified.out);
}

/// What is found by printing is told by a hand-over too: a photograph that breaks off is a frame and a finding.
#[test]
fn a_picture_that_breaks_off_is_told_wherever_it_is_named() {
    let folder = van();
    folder.write("evidence/half.png", &DOT[..50]);
    let text = VAN.replace("ticket: {", "half: {title: A photograph, file: evidence/half.png}\nticket: {");
    folder.write("van.md", text);
    for words in [&["dossier"][..], &["hand-over", "--out", "van.zip"]] {
        let told = run(&folder, words);
        assert_eq!(told.status, 0, "{}", told.err);
        assert!(
            told.err.contains("missing-picture: the picture `evidence/half.png` can't be shown"),
            "{}",
            told.err
        );
        assert!(told.err.contains("van.md:7:"), "{}", told.err);
        assert_eq!(told.err.matches("half.png` can't be shown").count(), 1, "{}", told.err);
    }
    let files = unpacked(&folder.path.join("van.zip"));
    assert_eq!(files["journal/evidence/half.png"], DOT[..50], "as it is");
    let page = String::from_utf8(files["dossier.html"].clone()).expect("text");
    assert!(page.contains("Picture not shown: evidence&#x2f;half.png"), "a frame says so");
}

#[test]
fn no_file_of_the_journal_is_overwritten() {
    let folder = van();
    for name in ["van.md", ".."] {
        let refused = folder.run(&["hand-over", "--out", name]);
        assert_eq!(refused.status, 2);
        assert!(refused.err.contains("an archive's name ends in `.zip`"), "{}", refused.err);
    }
    folder.write("van.md", VAN.replace("ticket.txt", "scans.zip"));
    folder.write("evidence/scans.zip", "scans");
    let refused = run(&folder, &["hand-over", "--out", "evidence/scans.zip"]);
    assert_eq!(refused.status, 2);
    assert!(refused.err.starts_with("`evidence/scans.zip` is evidence of the journal"), "{}", refused.err);
    assert_eq!(fs::read(folder.path.join("evidence/scans.zip")).expect("it"), b"scans");
    fs::create_dir(folder.path.join("a.zip")).expect("a folder");
    assert_eq!(run(&folder, &["hand-over", "--out", "a.zip"]).status, 3);
}

/// One sheet whatever stands on it, each place with its number, and a finding where texts were cut.
#[test]
fn a_rescue_sheet_is_one_sheet_whatever_stands_on_it() {
    let long = "the very long-winded junction box with its orange cover behind the second row of seats ";
    let sheet = |(places, steps): (usize, usize), words: &str, paper: &str| {
        let mut text = format!(
            "---\ntitle: {words} invented\npaper: {paper}\nvehicle: {{description: {words} invented}}\n---\n\n```yaml rescue sheet\nplaces:\n"
        );
        for place in 1..=places {
            text += &format!(
                "  - {{name: {words} box {place}, what: pack, at: [0.3 m, 0.2 m, 0.9 m], to: [0.9 m, 0.4 m, 1 m], note: {words} pull}}\n"
            );
        }
        text += "outline: {length: 3.9 m, width: 1.6 m, height: 2.6 m, wheelbase: 2.2 m}\nmake_safe:\n";
        text.extend((0..steps).map(|_| format!("  - {words} step\n")));
        text + &format!("fire: {words} much water\n```\n")
    };
    let very = long.repeat(5);
    for (counts, words, paper, cut) in [
        ((1, 1), "", "a4", false),
        ((12, 4), "", "letter", false),
        ((30, 20), "", "letter", false),
        ((30, 20), very.as_str(), "a4", true),
        ((30, 20), very.as_str(), "letter", true),
    ] {
        let folder = Folder::new();
        folder.write("van.md", sheet(counts, words, paper));
        let made = run(&folder, &["dossier", "--out", "out"]);
        assert_eq!(made.status, 0, "{}", made.err);
        let file = lopdf::Document::load(folder.path.join("out/rescue.pdf")).expect("a sheet");
        assert_eq!(file.get_pages().len(), 1, "{counts:?}, {paper}, {} letters", words.len());
        let faults = structure::faults(&file);
        assert!(faults.is_empty(), "{counts:?}: {faults:#?}");
        assert!(structure::title(&file).ends_with("rescue sheet"), "{}", structure::title(&file));
        let told = file.extract_text(&[1]).expect("its text");
        for needed in ["Make safe", "In a fire", &format!("{}.", counts.0), &format!("{}.", counts.1)] {
            assert!(told.contains(needed), "no `{needed}` of {counts:?}: {told}");
        }
        assert_eq!(told.contains('…'), cut, "{counts:?}: {told}");
        assert_eq!(made.err.contains("rescue-cut"), told.contains('…'), "{}", made.err);
    }
}

/// Every pack that stands is told of; where one could not be worked nobody knows how high the voltage is.
#[test]
fn the_voltage_on_a_rescue_sheet_is_that_of_every_pack() {
    let cell = "```yaml part cell21\nrole: cell\nnominal_voltage: 3.6 V\nfull_voltage: 4.2 V\nempty_voltage: 3 V\ncapacity: 50 Ah\nmass: 1 kg\nresistance: 1 mohm\ncontinuous_discharge: 50 A\npeak_discharge: 100 A\n```\n\n";
    let pack = |name: &str, series: usize, more: &str| {
        format!(
            "```yaml pack-layout {name}\n{more}cell: cell21\nseries: {series}\nparallel: 1\nhousing_mass: 10 kg\n```\n\n"
        )
    };
    let (large, small) = (pack("front_box", 96, ""), pack("rear_box", 12, ""));
    for (packs, on_sheet, in_form) in [
        (large.clone(), "Up to 403.2 V DC", None),
        (format!("{large}{small}"), "front box up to 403.2 V DC, rear box up to 50.4 V DC", None),
        (format!("{large}{}", pack("later", 100, "replaces: front_box\n")), "Up to 420 V DC", None),
        (
            format!("{}{small}", pack("front_box", 96, "boxes: 2\n")),
            "is not in this journal",
            Some("take it to be high voltage"),
        ),
    ] {
        let folder = Folder::new();
        folder.write("van.md", format!("{VAN}\n{cell}{packs}"));
        folder.write("evidence/items.csv", "item,mass\nmotor,60 kg ± 1 kg\n");
        folder.write("evidence/ticket.txt", "1 000 kg, invented\n");
        run(&folder, &["dossier", "--out", "out"]);
        let file = lopdf::Document::load(folder.path.join("out/rescue.pdf")).expect("a sheet");
        let told = file.extract_text(&[1]).expect("its text").replace(['\u{a0}', '\n'], " ");
        assert!(told.contains(on_sheet), "no `{on_sheet}`: {told}");
        let form = fs::read_to_string(folder.path.join("out/summary.html")).expect("a page");
        assert_eq!(form.contains("take it to be high voltage"), in_form.is_some(), "{on_sheet}");
    }
}

/// Spaces and letters of any language in names; the original of a picture goes as it is, its copies in the papers without
/// what the camera wrote.
#[test]
fn names_are_kept_and_places_of_photographs_stay_in_their_files_alone() {
    let told = b"GPS 52.0 N 13.0 E, invented";
    // Before its end a text, after it what some cameras append.
    let chunk = [&(told.len() as u32).to_be_bytes()[..], b"tEXt", told, &[0xfc, 0x7b, 0x2a, 0x11]].concat();
    let picture = [&DOT[..33], &chunk, &DOT[33..], told].concat();
    let folder = van();
    folder.write("Belege süd/Foto größer.png", &picture);
    let text =
        VAN.replace("ticket: {", "foto: {title: A photograph, file: Belege süd/Foto größer.png}\nticket: {");
    folder.write("van.md", text);
    let handed = run(&folder, &["hand-over", "--out", "für die Prüfung.zip"]);
    assert_eq!(handed.status, 0, "{}", handed.err);
    let files = unpacked(&folder.path.join("für die Prüfung.zip"));
    assert_eq!(files["journal/Belege süd/Foto größer.png"], picture, "as it is");
    let sums = String::from_utf8(files["SHA256SUMS"].clone()).expect("text");
    assert!(sums.contains("  journal/Belege süd/Foto größer.png\n"), "{sums}");
    assert!(!handed.err.contains("größer.png` can't be shown"), "{}", handed.err);
    // In a page pictures stand in base 64, where three bytes begin at any of three places.
    let written = [0, 1, 2].map(|from| base_64(&told[from..from + 18]));
    let within = |bytes: &[u8], some: &[u8]| bytes.windows(some.len()).any(|part| part == some);
    let holds = |bytes: &[u8]| within(bytes, told) || written.iter().any(|some| within(bytes, some));
    let original = [b"data:image/png;base64,".as_slice(), &base_64(&picture)].concat();
    assert!(holds(&original), "it would be seen");
    let with: Vec<&String> = files.iter().filter(|(_, bytes)| holds(bytes)).map(|(name, _)| name).collect();
    assert_eq!(with, ["journal/Belege süd/Foto größer.png"]);
}

/// Of a length that three divides no more is needed; what is left of others is left out.
fn base_64(bytes: &[u8]) -> Vec<u8> {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let four = |three: &[u8]| {
        let whole = three.iter().fold(0_usize, |whole, byte| whole * 256 + usize::from(*byte));
        [18, 12, 6, 0].map(|by| SIGNS[whole >> by & 63])
    };
    bytes.chunks_exact(3).flat_map(four).collect()
}
