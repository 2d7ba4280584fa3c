//! `begin`: a journal that works at once.

use std::fs;
use std::io;
use std::path::Path;

use super::arguments::{BeginOptions, Paper, Units};
use super::stamp::stamp;
use super::{Ended, say};
use crate::dossier::date;

/// Names without their date, and texts with `[[date]]` and `[[metric|customary]]`.
const FILES: [(&str, &str); 3] = [
    ("1-what-it-is-to-be.md", include_str!("../../templates/begin/1-what-it-is-to-be.md")),
    ("2-drive.md", include_str!("../../templates/begin/2-drive.md")),
    ("3-pack-and-mass.md", include_str!("../../templates/begin/3-pack-and-mass.md")),
];

pub(super) fn begin(options: &BeginOptions) -> Result<Ended, Ended> {
    let folder = options.folder.as_path();
    let date = date(stamp()?);
    let empty = match fs::read_dir(folder) {
        Ok(mut entries) => entries.next().is_none(),
        Err(error) if error.kind() == io::ErrorKind::NotFound => true,
        Err(error) => {
            return Err(Ended::FileTrouble.because(format!("{} can't be read: {error}", folder.display())));
        }
    };
    if !empty {
        return Err(
            Ended::WrongUsage.because(format!("{} is not empty: name a new folder", folder.display()))
        );
    }
    for (name, text) in FILES {
        let path = folder.join(format!("{date}-{name}"));
        if let Err(error) = put(&path, &filled(text, &date, options)) {
            return Err(Ended::FileTrouble.because(format!("{} can't be written: {error}", path.display())));
        }
    }
    say(&format!(
        "{folder} is ready: three files of {date}. Work them with `voltwright work {folder}`, make their dossier with \
         `voltwright dossier {folder}`.\n",
        folder = folder.display()
    ));
    Ok(Ended::Done)
}

fn put(path: &Path, text: &str) -> io::Result<()> {
    path.parent().map_or(Ok(()), fs::create_dir_all)?;
    fs::write(path, text)
}

/// The text with its places filled.
fn filled(template: &str, date: &str, options: &BeginOptions) -> String {
    let mut pieces = template.split("[[");
    let mut text = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let (place, rest) = piece.split_once("]]").unwrap_or((piece, ""));
        let second = match place {
            "a4|letter" => options.paper == Paper::Letter,
            _ => options.units == Units::Us,
        };
        text.push_str(match place.split_once('|') {
            None => date,
            Some((_, other)) if second => other,
            Some((one, _)) => one,
        });
        text.push_str(rest);
    }
    text
}
