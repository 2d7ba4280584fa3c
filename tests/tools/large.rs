//! Large evidence and photographs, and a disk that is full.

use std::fs::{self, File};
use std::process::Command;

use jpeg_encoder::{ColorType, Encoder};

use crate::chance::Chance;
use crate::copied::copy_of;
use crate::mutation::{journals, mutated};
use crate::program::{Folder, Run};
use crate::programs::tool;

/// The run, and the most memory that it held, in kB.
fn measured(words: &[&str], folder: &Folder) -> (Run, u64) {
    let held = folder.path.with_extension("held");
    let output = Command::new("/usr/bin/time")
        .args(["-f", "%M", "-o"])
        .arg(&held)
        .arg(env!("CARGO_BIN_EXE_voltwright"))
        .args(words)
        .arg(&folder.path)
        .env("NO_COLOR", "1")
        .output()
        .unwrap_or_else(|fault| panic!("time: {fault}; `bash tests/run --install` installs it"));
    let text = fs::read_to_string(&held).expect("what time says");
    fs::remove_file(held).expect("gone");
    let most = text.lines().last().and_then(|line| line.parse().ok()).expect("a number");
    (Run::of(output), most)
}

#[test]
fn evidence_of_3_gb_is_hashed_in_pieces() {
    const SIZE: u64 = 3_000_000_000;
    let folder = Folder::new();
    folder.write("a.md", "```yaml sources papers\nscan: {title: a scan, file: scan.bin}\n```\n");
    let held = |size: u64| {
        // A file without content takes no room on the disk.
        File::create(folder.path.join("scan.bin"))
            .and_then(|file| file.set_len(size))
            .expect("a sparse file");
        let (run, most) = measured(&["check"], &folder);
        assert_eq!(run.status, 1, "a region is to be written: {}", run.err);
        most
    };
    // What the allocator takes to begin with is not the evidence's.
    let (small, large) = (held(3), held(SIZE));
    println!("3 bytes of evidence: {small} kB, {SIZE} bytes: {large} kB");
    assert!(large < small + 4_000, "{large} kB, {small} kB for 3 bytes");
}

/// A photograph of that size as a camera with much noise gives it.
fn photograph((width, height): (u16, u16), seed: u64) -> Vec<u8> {
    let mut chance = Chance::new(seed);
    let grain: Vec<u8> = (0..1 << 20).map(|_| chance.below(120) as u8).collect();
    let mut pixels = Vec::with_capacity(usize::from(width) * usize::from(height) * 3);
    for y in 0..u32::from(height) {
        let from = chance.below(grain.len());
        for x in 0..u32::from(width) {
            let noise = grain[(from + x as usize) % grain.len()];
            let tone = (((x / 40) ^ (y / 40)) % 100) as u8;
            pixels.extend([tone + noise, tone / 2 + noise, 40 + noise]);
        }
    }
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, 95);
    encoder.set_sampling_factor(jpeg_encoder::SamplingFactor::F_2_2);
    encoder.encode(&pixels, width, height, ColorType::Rgb).expect("a photograph");
    bytes
}

#[test]
fn six_photographs_of_36_mb_become_a_small_dossier() {
    let folder = Folder::new();
    let mut journal = "# Photographs\n".to_owned();
    let mut bytes = photograph((8000, 5600), 1);
    let size = bytes.len() / 1_000_000;
    assert!((34..45).contains(&size), "{size} MB");
    for number in 0..6 {
        // What stands behind the end makes it another file, and no other picture.
        bytes.push(number);
        folder.write(&format!("p{number}.jpg"), &bytes);
        journal += &format!("\n![photograph {number}](p{number}.jpg)\n");
    }
    folder.write("a.md", journal);
    let (run, most) = measured(&["dossier"], &folder);
    assert_eq!(run.status, 0, "{}", run.err);
    let size = |name: &str| fs::metadata(folder.path.join("dossier").join(name)).expect("a file").len();
    let (html, pdf) = (size("dossier.html"), size("dossier.pdf"));
    println!("six photographs: {most} kB held, dossier.html {html} bytes, dossier.pdf {pdf} bytes");
    let page = fs::read_to_string(folder.path.join("dossier/dossier.html")).expect("a page");
    assert_eq!(page.matches("src=\"data:image/jpeg").count(), 6);
    assert!(most < 250_000, "{most} kB");
    assert!(html < 3_000_000, "{html} bytes");
    tool("qpdf", &["--check"], &folder.path.join("dossier/dossier.pdf"));
}

#[test]
fn a_full_disk_leaves_the_old_set_and_the_old_journal() {
    let folder = copy_of("notebooks-demo/first-hour");
    // In a space of its own, so that nobody else sees the disk and no rights are needed.
    let script = r#"
        set -e
        mkdir "$1/disk"
        mount -t tmpfs -o size=700k none "$1/disk"
        cd "$1/disk"
        cp ../journal.md .
        SOURCE_DATE_EPOCH=0 "$0" dossier . >&2
        sha256sum journal.md dossier/* > ../before
        for room in 0 4 16 64 100 140 180; do
            rm -f filler
            free=$(df -k --output=avail . | tail -1)
            dd if=/dev/zero of=filler bs=1024 count=$((free - room)) 2>/dev/null
            status=0
            SOURCE_DATE_EPOCH=864000000 "$0" dossier . >&2 || status=$?
            echo "$room $status" >> ../ended
            sha256sum journal.md dossier/* > ../after
            cmp ../before ../after
        done
        sed -i "s/^wanted_speed: 110/wanted_speed: 112/" journal.md
        cp journal.md ../wanted
        rm filler
        free=$(df -k --output=avail . | tail -1)
        dd if=/dev/zero of=filler bs=1024 count="$free" 2>/dev/null
        "$0" work . >&2 || echo "work $?" >> ../ended
        cmp journal.md ../wanted
        test "$(ls -A . dossier | grep -c part)" = 0
    "#;
    let output = Command::new("unshare")
        .args(["--map-root-user", "--mount", "sh", "-c", script, env!("CARGO_BIN_EXE_voltwright")])
        .arg(&folder.path)
        .output()
        .unwrap_or_else(|fault| panic!("unshare: {fault}; `bash tests/run --install` installs it"));
    let run = Run::of(output);
    assert_eq!(run.status, 0, "{}", run.err);
    let ended = fs::read_to_string(folder.path.join("ended")).expect("how they ended");
    assert_eq!(ended, "0 3\n4 3\n16 3\n64 3\n100 3\n140 3\n180 3\nwork 3\n", "{}", run.err);
}

#[test]
fn dossiers_of_damaged_journals_are_sound() {
    /// Dossiers in a run; how often a journal is damaged without one being made stands in `tests/edges/damage.rs`.
    const CASES: u64 = 60;
    let journals = journals();
    for case in 0..CASES {
        let (path, text) = &journals[case as usize * 7 % journals.len()];
        let folder = Folder::new();
        folder.write("a.md", mutated(text, &mut Chance::new(1_000_000 + case)));
        let told = format!("seed {} of {}", 1_000_000 + case, path.display());
        let run = folder.run(&["dossier"]);
        assert!(run.status <= 1, "{told}: {}", run.err);
        if folder.path.join("dossier").exists() {
            for name in ["dossier.pdf", "summary.pdf"] {
                println!("{told}");
                tool("qpdf", &["--check"], &folder.path.join("dossier").join(name));
            }
        }
    }
}
