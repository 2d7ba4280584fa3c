//! `issue`: works the journal and freezes a revision of it.

use std::fs;
use std::path::Path;

use super::arguments::IssueOptions;
use super::dossier::RESCUE;
use super::frozen::{Frozen, RECORD, REGISTER, REVISIONS, freeze, mark, revisions};
use super::journal::{is_standard_input, journal};
use super::lock::lock;
use super::settled::{copies, printed, read_from, settled, shown};
use super::stamp::stamp;
use super::verify::verify;
use super::work::{Opened, leave, register_of, tell};
use super::{Ended, complain, say};
use crate::dossier::{Made, date};
use crate::evaluate::Verdict;
use crate::model::RequirementKind;
use crate::register::json;
use crate::revision::{Previous, Revision};

pub(super) fn issue(options: &IssueOptions) -> Result<Ended, Ended> {
    let journal = journal(options.journal.as_deref());
    if is_standard_input(&journal) || !journal.is_dir() {
        return Err(Ended::WrongUsage.because("a revision is of a journal's folder: name it, or go there"));
    }
    if options.verify {
        return verify(&journal);
    }
    let stamp = stamp()?;
    let _held = lock(&journal)?;
    let mut opened = settled(&journal, options.saying, "issued")?;
    let name = name(&opened, options.revision.as_deref())?;
    let folder = journal.join(REVISIONS).join(&name);
    if fs::symlink_metadata(&folder).is_ok() {
        return Err(Ended::WrongUsage.because(format!(
            "revision {name} is there already, and is not written again: type another `revision:` in the front matter"
        )));
    }
    let previous = last(&journal)?;
    let failing = failing(&opened);
    match (&options.despite, failing.is_empty()) {
        (None, false) => {
            tell(&opened, false, &[]);
            complain(&format!(
                "not issued, for {} fails: mend it, or say why it is issued all the same: --despite \"because …\"\n",
                failing.join(", ")
            ));
            return Ok(Ended::Wanting);
        }
        (Some(_), true) => {
            return Err(
                Ended::WrongUsage.because("no safety or legal requirement fails: leave out `--despite`")
            );
        }
        _ => {}
    }
    let made = printed(&mut opened, stamp, options.despite.as_deref());
    let mut files = files(&opened, made).map_err(|why| Ended::FileTrouble.because(why))?;
    let hashes = files.iter().map(|(name, bytes)| (name.clone(), mark(bytes))).collect();
    let record = Revision {
        date: date(stamp),
        despite: options.despite.clone(),
        evidence: shown(&opened),
        files: hashes,
        note: options.note.clone(),
        previous,
        program: env!("CARGO_PKG_VERSION").to_owned(),
        revision: name.clone(),
    };
    files.push((RECORD.to_owned(), json(&record).into_bytes()));
    freeze(&folder, &files).map_err(|error| {
        Ended::FileTrouble.because(format!("{} can't be written: {error}", folder.display()))
    })?;
    tell(&opened, false, &[]);
    say(&format!("revision {name} is issued: {}, {} files\n", folder.display(), files.len()));
    leave(opened);
    Ok(Ended::Done)
}

/// What the revision is called, which the front matter says.
fn name(opened: &Opened, asked: Option<&str>) -> Result<String, Ended> {
    let said = opened.worked.notebook.front.revision.as_deref();
    let name = match (said, asked) {
        (None, Some(asked)) => {
            return Err(
                Ended::WrongUsage.because(format!("type `revision: {asked}` in the journal's front matter"))
            );
        }
        (None, None) => {
            return Err(Ended::WrongUsage
                .because("type `revision: A`, or whatever it is, in the journal's front matter"));
        }
        (Some(said), Some(asked)) if said != asked => {
            return Err(Ended::WrongUsage.because(format!(
                "the front matter says revision {said}: type `revision: {asked}` there, or leave out `--revision`"
            )));
        }
        (Some(said), _) => said,
    };
    let plain = |c: char| c.is_alphanumeric() || ['-', '_', '.'].contains(&c);
    match name.chars().all(plain) && !name.starts_with('.') && !name.is_empty() {
        true => Ok(name.to_owned()),
        false => Err(Ended::WrongUsage.because(format!(
            "a revision is called by letters, digits, `-`, `_` and points, and `{name}` names no folder"
        ))),
    }
}

/// The revision that a new one follows.
fn last(journal: &Path) -> Result<Option<Previous>, Ended> {
    let linked = fs::symlink_metadata(journal.join(REVISIONS)).is_ok_and(|known| known.is_symlink());
    if linked {
        return Err(Ended::FileTrouble.because(format!("{REVISIONS} is a link, not a folder: remove it")));
    }
    let (found, wrong) = revisions(journal)
        .map_err(|error| Ended::FileTrouble.because(format!("{REVISIONS} can't be read: {error}")))?;
    if let Some(wrong) = wrong.first() {
        return Err(Ended::Wanting
            .because(format!("not issued, for {wrong}: `voltwright issue --verify` says what was touched")));
    }
    let previous =
        |one: &Frozen| Previous { revision: one.revision.revision.clone(), sha256: one.sha256.clone() };
    Ok(found.last().map(previous))
}

/// The safety and legal requirements that fail.
fn failing(opened: &Opened) -> Vec<String> {
    let worked = &opened.worked;
    let counts = |kind| matches!(kind, RequirementKind::Safety | RequirementKind::Legal);
    let rows = worked.told().requirements();
    let rows = rows.iter().filter(|row| row.verdict == Verdict::Fails && counts(row.kind));
    rows.map(|row| format!("{}.{}", row.block, row.name)).collect()
}

/// What is frozen, by its path: the papers, the register, and the journal with the files that values are read from.
///
/// Errors: one of them can't be read any more.
fn files(opened: &Opened, made: Made) -> Result<Vec<(String, Vec<u8>)>, String> {
    let mut files = vec![
        ("dossier.pdf".to_owned(), made.dossier_pdf),
        ("summary.pdf".to_owned(), made.summary_pdf),
        (REGISTER.to_owned(), register_of(opened, &[]).json().into_bytes()),
    ];
    files.extend(made.rescue_pdf.map(|sheet| (RESCUE.to_owned(), sheet)));
    files.extend(copies(opened, read_from(opened))?);
    Ok(files)
}
