//! Where and how the program is run changes nothing of what is written.

use std::fs;
use std::path::Path;

use crate::SET;
use crate::copied::copy_of;
use crate::program::{Folder, Run, program};

const DATE: &str = "1700000000";

/// The whole set of a journal in `folder`, named as `journal` from the working folder `from`.
fn set(folder: &Folder, from: &Path, journal: &str, around: &[(&str, &str)]) -> [Vec<u8>; 5] {
    let mut command = program(&["dossier", journal]);
    command.current_dir(from).env("SOURCE_DATE_EPOCH", DATE).envs(around.iter().copied());
    let run = Run::of(command.output().expect("it ends"));
    assert_eq!(run.status, 0, "{}", run.err);
    SET.map(|name| fs::read(folder.path.join("dossier").join(name)).expect("a file"))
}

/// A journal that no run changes any more.
fn worked() -> Folder {
    let folder = copy_of("notebooks-demo/first-hour");
    assert_eq!(folder.run(&["work"]).status, 0);
    folder
}

#[test]
fn another_working_folder_gives_the_same_bytes() {
    let folder = worked();
    let whole = folder.path.to_str().expect("a name").to_owned();
    let first = set(&folder, &folder.path, ".", &[]);
    assert_eq!(set(&folder, Path::new("/"), &whole, &[]), first);
    let name = folder.path.file_name().and_then(|name| name.to_str()).expect("a name");
    let parent = folder.path.parent().expect("a parent");
    assert_eq!(set(&folder, parent, name, &[]), first);
    assert_eq!(set(&folder, parent, &format!("./{name}/../{name}/"), &[]), first);
}

#[test]
fn locales_and_time_zones_give_the_same_bytes() {
    const AROUND: [(&str, &str); 16] = [
        ("C", "UTC"),
        ("C.UTF-8", "Europe/Berlin"),
        ("de_DE.UTF-8", "Asia/Kolkata"),
        ("tr_TR.UTF-8", "America/St_Johns"),
        ("ar_EG.UTF-8", "Pacific/Kiritimati"),
        ("fr_FR.UTF-8", "Pacific/Niue"),
        ("ja_JP.UTF-8", "Asia/Tokyo"),
        ("hi_IN.UTF-8", "Asia/Kathmandu"),
        ("en_US.UTF-8", "America/New_York"),
        ("sv_SE.UTF-8", "Australia/Lord_Howe"),
        ("fa_IR.UTF-8", "Asia/Tehran"),
        ("th_TH.UTF-8", "Africa/Cairo"),
        ("zh_CN.GB18030", "Antarctica/Troll"),
        ("ru_RU.KOI8-R", "XYZ+13:59"),
        ("de_CH.UTF-8", ":nowhere"),
        ("no such locale", ""),
    ];
    let folder = worked();
    let first = set(&folder, &folder.path, ".", &[]);
    for (locale, zone) in AROUND {
        let around = [("LC_ALL", locale), ("LANG", locale), ("TZ", zone)];
        assert_eq!(set(&folder, &folder.path, ".", &around), first, "{locale} {zone}");
    }
}

#[test]
fn another_order_of_making_the_files_gives_the_same_bytes() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("notebooks-demo/pickup");
    let mut files: Vec<_> = fs::read_dir(&source)
        .expect("the demo")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|end| end == "md"))
        .collect();
    files.sort();
    assert!(files.len() > 5);
    let checked = |files: &[std::path::PathBuf]| {
        let folder = Folder::new();
        for path in files {
            let name = path.file_name().and_then(|name| name.to_str()).expect("a name");
            folder.write(name, fs::read(path).expect("a journal"));
        }
        folder.run(&["check", "--json"]).out
    };
    let first = checked(&files);
    files.reverse();
    assert_eq!(checked(&files), first);
    files.rotate_left(3);
    assert_eq!(checked(&files), first);
}
