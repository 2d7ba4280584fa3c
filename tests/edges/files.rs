//! What is no plain file is neither read nor written through.

use std::fs;
use std::os::unix::fs::{MetadataExt, symlink};
use std::os::unix::net::UnixListener;
use std::path::Path;
use std::process::Command;

use serde_json::Value;

use crate::copied::copy_of;
use crate::program::{Folder, program};
use crate::{SET, ended, names, run};

fn pipe(path: &Path) {
    let made = Command::new("sh").args(["-c", "mkfifo \"$0\""]).arg(path).status();
    assert!(made.expect("a shell").success());
}

#[test]
fn a_pipe_or_socket_among_the_journals_is_a_finding_and_is_not_waited_for() {
    let folder = Folder::new();
    folder.write("a.md", "# A\n");
    pipe(&folder.path.join("b.md"));
    let _socket = UnixListener::bind(folder.path.join("c.md")).expect("a socket");
    symlink("/dev/zero", folder.path.join("d.md")).expect("a link");
    for command in ["check", "work", "dossier"] {
        let run = run(&[command], &folder);
        assert_eq!(run.status, 1, "{}", run.err);
        for what in ["`b.md` is a pipe", "`c.md` is a socket", "`d.md` is a device"] {
            assert!(run.err.contains(what), "{command}: {}", run.err);
        }
    }
    let alone = ended(program(&["work"]).arg(folder.path.join("b.md")));
    assert_eq!(alone.status, 3);
    assert!(alone.err.contains("it is a pipe, not a file"), "{}", alone.err);
}

#[test]
fn standard_input_without_end_is_refused() {
    let endless = fs::File::open("/dev/zero").expect("a device");
    let run = ended(program(&["check", "-"]).stdin(endless));
    assert_eq!(run.status, 3, "{}", run.err);
    assert!(run.err.contains("longer than 64 MB"), "{}", run.err);
}

#[test]
fn a_pipe_named_as_evidence_or_picture_is_a_finding() {
    let folder = Folder::new();
    folder.write(
        "a.md",
        "![front](front.png)\n\n```yaml sources papers\nplate: {title: a plate, file: plate.pdf}\n```\n\n\
         ```yaml mass-ledger ledger\nremoved: {file: items.csv}\n```\n",
    );
    for name in ["front.png", "plate.pdf", "items.csv"] {
        pipe(&folder.path.join(name));
    }
    let run = run(&["dossier"], &folder);
    assert_eq!(run.status, 1);
    for name in ["front.png", "plate.pdf", "items.csv"] {
        let told = format!("`{name}` can't be read: it is a pipe, not a file");
        assert!(run.err.contains(&told), "{told}\n{}", run.err);
    }
}

#[test]
fn a_pipe_in_the_folder_of_revisions_is_not_waited_for() {
    let folder = Folder::new();
    folder.write("front.png", "a picture");
    folder.write(
        "a.md",
        "---\ntitle: A van\nbuilder: nobody\nrevision: A\n---\n\n![front](front.png)\n\n```yaml worksheet sum\n\
         steps: [{name: total, is: 1 kg + 3 kg, unit: kg}]\n```\n",
    );
    assert_eq!(run(&["work"], &folder).status, 0);
    assert_eq!(run(&["issue"], &folder).status, 0);
    let frozen = folder.path.join("revisions/A");
    let words: [&[&str]; 4] = [&["check"], &["moved"], &["issue"], &["issue", "--verify"]];
    for name in ["register.json", "revision.json"] {
        let kept = fs::read(frozen.join(name)).expect("a file");
        fs::remove_file(frozen.join(name)).expect("it is taken away");
        pipe(&frozen.join(name));
        for words in words {
            let run = run(words, &folder);
            assert!((0..=3).contains(&run.status), "{words:?} was stopped: {}", run.err);
        }
        let verified = run(&["issue", "--verify"], &folder);
        let told = verified.out + &verified.err;
        assert!(told.contains("it is a pipe, not a file"), "{name}: {told}");
        fs::remove_file(frozen.join(name)).expect("it is taken away");
        fs::write(frozen.join(name), kept).expect("it is put back");
    }
    fs::remove_file(folder.path.join("front.png")).expect("it is taken away");
    pipe(&folder.path.join("front.png"));
    let verified = run(&["issue", "--verify"], &folder);
    assert!(verified.out.contains("front.png"), "{}{}", verified.out, verified.err);
}

#[test]
fn nothing_is_followed_in_the_output_folder() {
    for name in SET {
        let folder = copy_of("notebooks-demo/first-hour");
        let out = folder.path.join("dossier");
        fs::create_dir(&out).expect("a folder");
        folder.write("victim", "mine");
        let place = out.join(name);
        let refuse = |what: &str| {
            let journal = fs::read(folder.path.join("journal.md")).expect("the journal");
            let run = run(&["dossier"], &folder);
            assert_eq!(run.status, 3, "{}", run.err);
            assert!(run.err.contains(&format!("{} is {what}", place.display())), "{}", run.err);
            assert_eq!(names(&out), [name], "nothing else was written");
            assert_eq!(fs::read(folder.path.join("victim")).expect("the victim"), b"mine");
            assert_eq!(fs::read(folder.path.join("journal.md")).expect("the journal"), journal);
        };
        symlink(folder.path.join("victim"), &place).expect("a link");
        refuse("a link");
        fs::remove_file(&place).expect("gone");
        pipe(&place);
        refuse("a pipe");
        fs::remove_file(&place).expect("gone");
        let socket = UnixListener::bind(&place).expect("a socket");
        refuse("a socket");
        drop(socket);
        fs::remove_file(&place).expect("gone");
        fs::create_dir(&place).expect("a folder");
        refuse("a folder");
    }
}

#[test]
fn an_output_folder_that_is_a_link_is_followed_only_where_it_is_named() {
    let folder = copy_of("notebooks-demo/first-hour");
    fs::create_dir(folder.path.join("elsewhere")).expect("a folder");
    symlink(folder.path.join("elsewhere"), folder.path.join("dossier")).expect("a link");
    let refused = run(&["dossier"], &folder);
    assert_eq!(refused.status, 3, "{}", refused.err);
    assert!(names(&folder.path.join("elsewhere")).is_empty());
    let out = folder.path.join("dossier");
    let named = run(&["dossier", "--out", out.to_str().expect("a name")], &folder);
    assert_eq!(named.status, 0, "{}", named.err);
    assert_eq!(names(&folder.path.join("elsewhere")).len(), 5);
}

#[test]
fn a_hard_link_is_broken_and_not_written_through() {
    let folder = copy_of("notebooks-demo/first-hour");
    folder.write("victim", "mine");
    fs::create_dir(folder.path.join("dossier")).expect("a folder");
    for name in SET {
        let place = folder.path.join("dossier").join(name);
        fs::hard_link(folder.path.join("victim"), place).expect("a hard link");
    }
    assert_eq!(run(&["dossier"], &folder).status, 0);
    let victim = folder.path.join("victim");
    assert_eq!(fs::read(&victim).expect("the victim"), b"mine");
    assert_eq!(victim.metadata().expect("known").nlink(), 1);
}

#[test]
fn a_journal_file_with_two_names_is_told() {
    let folder = Folder::new();
    folder
        .write("a.md", "```yaml worksheet sum\nsteps:\n  - {name: total, is: 2 kg + 3 kg, unit: kg}\n```\n");
    fs::hard_link(folder.path.join("a.md"), folder.path.join("copy.txt")).expect("a hard link");
    let first = run(&["work"], &folder);
    assert_eq!(first.status, 0);
    assert!(first.err.contains("a.md had another name (a hard link)"), "{}", first.err);
    assert!(!run(&["work"], &folder).err.contains("another name"));
}

#[test]
fn extended_attributes_stay_with_a_journal_file() {
    let folder = Folder::new();
    folder
        .write("a.md", "```yaml worksheet sum\nsteps:\n  - {name: total, is: 2 kg + 3 kg, unit: kg}\n```\n");
    let path = folder.path.join("a.md");
    xattr::set(&path, "user.note", b"kept").expect("the build folder's file system has extended attributes");
    assert_eq!(run(&["work"], &folder).status, 0);
    assert!(fs::read_to_string(&path).expect("the journal").contains("<!-- worked:sum"));
    assert_eq!(xattr::get(&path, "user.note").expect("attributes"), Some(b"kept".to_vec()));
}

/// A limit on the size of files stands in for a full disk: writing fails at once, at any place.
#[test]
fn what_can_not_be_written_leaves_the_old_set() {
    let folder = copy_of("notebooks-demo/first-hour");
    assert_eq!(run(&["dossier"], &folder).status, 0);
    let out = folder.path.join("dossier");
    let read = || SET.map(|name| fs::read(out.join(name)).expect("a file"));
    let old = read();
    for blocks in [0, 1, 20, 40, 60, 80, 100, 130] {
        let script = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" dossier --no-write-back \"$1\"");
        let mut command = Command::new("sh");
        command.args(["-c", &script, env!("CARGO_BIN_EXE_voltwright")]).arg(&folder.path);
        // Another date gives other bytes.
        command.env("SOURCE_DATE_EPOCH", "86400").env("NO_COLOR", "1");
        let run = ended(&mut command);
        assert_eq!(run.status, 3, "{blocks}: {}", run.err);
        assert!(run.err.contains("could not be written and is as it was"), "{}", run.err);
        assert_eq!(read(), old, "{blocks}");
        assert_eq!(names(&out).len(), 5, "{blocks}");
    }
}

#[test]
fn a_picture_that_can_not_be_shown_says_why() {
    let folder = Folder::new();
    let mut picture = Vec::new();
    let encoder = jpeg_encoder::Encoder::new(&mut picture, 90);
    encoder.encode(&[90; 60 * 40 * 3], 60, 40, jpeg_encoder::ColorType::Rgb).expect("a picture");
    folder.write("whole.jpg", &picture);
    folder.write("cut.jpg", &picture[..picture.len() - 8]);
    folder.write("words.png", "words");
    folder.write("a.md", "# A\n\n![w](whole.jpg) ![c](cut.jpg) ![o](words.png) ![n](none.png)\n");
    let run = run(&["dossier"], &folder);
    assert_eq!(run.status, 0, "{}", run.err);
    assert!(
        run.err.contains("the picture `cut.jpg` can't be shown: it breaks off before its end"),
        "{}",
        run.err
    );
    assert!(run.err.contains("`words.png` is no PNG or JPEG picture"), "{}", run.err);
    assert!(run.err.contains("no file `none.png` in the journal folder"), "{}", run.err);
    let page = fs::read_to_string(folder.path.join("dossier/dossier.html")).expect("a page");
    assert_eq!(page.matches("class=\"no-picture\"").count(), 3);
    assert_eq!(page.matches("src=\"data:image/jpeg").count(), 1);
    let register = fs::read(folder.path.join("dossier/register.json")).expect("a register");
    let register: Value = serde_json::from_slice(&register).expect("JSON");
    let found = register["findings"].as_array().expect("findings");
    assert_eq!(found.iter().filter(|finding| finding["code"] == "missing-picture").count(), 3);
}
