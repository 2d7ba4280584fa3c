//! `begin`: a journal that works at once.

use std::fs;
use std::path::Path;

use super::{Ended, complain, say};

const JOURNAL: &str = include_str!("../../templates/begin/journal.md");

pub(super) fn begin(folder: &Path) -> Ended {
    let empty = match fs::read_dir(folder) {
        Ok(mut entries) => entries.next().is_none(),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => true,
        Err(error) => {
            complain(&format!("{} can't be read: {error}\n", folder.display()));
            return Ended::FileTrouble;
        }
    };
    if !empty {
        complain(&format!("{} is not empty: name a new folder\n", folder.display()));
        return Ended::WrongUsage;
    }
    let path = folder.join("journal.md");
    let written = fs::create_dir_all(folder).and_then(|()| fs::write(&path, JOURNAL));
    if let Err(error) = written {
        complain(&format!("{} can't be written: {error}\n", path.display()));
        return Ended::FileTrouble;
    }
    say(&format!(
        "{} is ready. Work it with `voltwright work {folder}`, make its dossier with `voltwright dossier {folder}`.\n",
        path.display(),
        folder = folder.display()
    ));
    Ended::Done
}
