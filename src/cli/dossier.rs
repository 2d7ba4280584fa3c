//! `dossier`: works the journal, then writes dossier, summary and register as one set.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use super::arguments::DossierOptions;
use super::frozen::mark;
use super::journal::{is_standard_input, journal};
use super::lock::lock;
use super::settled::printed;
use super::stamp::stamp;
use super::work::{Asked, Written, finish, leave, open, register_of, stale, tell, write_back};
use super::writer::{WriteRefused, may_put, put, sweep};
use super::{Ended, complain};
use crate::register::set_of;

/// The register comes last: its marks say whether the others are of its set.
const NAMES: [&str; 5] = ["dossier.html", "dossier.pdf", "summary.html", "summary.pdf", "register.json"];

/// Written where the journal tells of rescue.
pub(super) const RESCUE: &str = "rescue.pdf";

pub(super) fn dossier(options: &DossierOptions) -> Result<Ended, Ended> {
    let stamp = stamp()?;
    let journal = journal(options.journal.as_deref());
    let _held = lock(&journal)?;
    let mut opened = open(&Asked {
        journal: &journal,
        out: options.out.as_deref(),
        draws: options.spread.monte_carlo,
        saying: options.saying,
    })?;
    if opened.worked.journals.is_empty() {
        tell(&opened, false, &[]);
        return Ok(Ended::Wanting);
    }
    let folder = options.out.clone().unwrap_or_else(|| opened.read.folder.join("dossier"));
    // A folder that was named may be a link; one that was only found may lead anywhere.
    let linked = || fs::symlink_metadata(&folder).is_ok_and(|known| known.is_symlink());
    if options.out.is_none() && linked() {
        return Err(told(&WriteRefused::NoFile(folder, "a link")));
    }
    may_put(&folder, &[&NAMES[..], &[RESCUE]].concat()).map_err(|refused| told(&refused))?;
    repair(&folder);
    // They are kept, for the dossier tells them too.
    opened.worked.reports();
    let wrote = if options.no_write_back || is_standard_input(&journal) {
        Written { stale: stale(&mut opened, &options.writing), ..Written::default() }
    } else {
        write_back(&mut opened, &options.writing)
    };
    let made = printed(&mut opened, stamp, None);
    let printed: [&[u8]; 4] =
        [made.dossier_html.as_bytes(), &made.dossier_pdf, made.summary_html.as_bytes(), &made.summary_pdf];
    let mut files: Vec<(&str, &[u8])> = NAMES.into_iter().zip(printed).collect();
    files.extend(made.rescue_pdf.as_deref().map(|sheet| (RESCUE, sheet)));
    let set = files.iter().map(|(name, bytes)| ((*name).to_owned(), mark(bytes))).collect();
    let register = register_of(&opened, &wrote.stale).beside(set).json();
    files.push((NAMES[4], register.as_bytes()));
    put(&folder, &files).map_err(|refused| told(&refused))?;
    if made.rescue_pdf.is_none() && folder.join(RESCUE).is_file() {
        complain(&format!(
            "{} is of an earlier working, for the journal has no sheet for a rescue crew: write a `rescue` block, or remove it\n",
            folder.join(RESCUE).display()
        ));
    }
    let ended = finish(&opened, wrote, false);
    let (pages, summary) = made.pages;
    opened.say(&format!(
        "dossier: {}, {pages} pages on paper; summary: {summary}\n",
        folder.join(NAMES[0]).display()
    ));
    leave(opened);
    Ok(ended)
}

fn told(refused: &WriteRefused) -> Ended {
    Ended::FileTrouble.because(format!("{refused}"))
}

/// Clears away what a killed run has left, and says where its files stand beside older ones: they are all replaced.
fn repair(folder: &Path) {
    sweep(folder);
    let read = |name: &str| fs::read(folder.join(name)).unwrap_or_default();
    let set: BTreeMap<String, String> = set_of(&read(NAMES[4]));
    let strays: Vec<&str> = NAMES[..4]
        .iter()
        .filter(|name| set.get(**name).is_some_and(|known| *known != mark(&read(name))))
        .copied()
        .collect();
    if !strays.is_empty() {
        complain(&format!(
            "in {} {} did not belong to the register there; all are made anew\n",
            folder.display(),
            strays.join(", ")
        ));
    }
}
