//! The list of hashes in a hand-over is one that `sha256sum` reads.

use std::fs::{self, File};
use std::process::Command;

use zip::ZipArchive;

use crate::copied::copy_of;
use crate::program::{Folder, Run};

#[test]
fn sha256sum_finds_every_file_of_a_hand_over_as_it_is_listed() {
    let (journal, out) = (copy_of("notebooks-demo/first-hour"), Folder::new());
    let archive = out.path.join("papers.zip");
    let run = journal.run(&["hand-over", "--out", archive.to_str().expect("a path in UTF-8")]);
    assert!(run.status <= 1, "{}{}", run.out, run.err);
    let mut zip = ZipArchive::new(File::open(&archive).expect("the archive")).expect("a zip");
    let unpacked = out.path.join("unpacked");
    zip.extract(&unpacked).expect("it is unpacked");
    let check = |folder: &std::path::Path| {
        let mut sums = Command::new("sha256sum");
        Run::of(sums.args(["-c", "--strict", "SHA256SUMS"]).current_dir(folder).output().expect("sha256sum"))
    };
    let sound = check(&unpacked);
    assert_eq!(sound.status, 0, "{}{}", sound.out, sound.err);
    assert!(sound.out.lines().count() >= 5, "{}", sound.out);
    let listed = fs::read_to_string(unpacked.join("SHA256SUMS")).expect("the list");
    let (_, name) = listed.lines().next().and_then(|line| line.split_once("  ")).expect("a line of it");
    fs::write(unpacked.join(name), "touched").expect("a file is written over");
    assert_ne!(check(&unpacked).status, 0);
}
