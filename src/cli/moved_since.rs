//! `moved`: what moved since a revision or an earlier copy of the journal, and why.

use std::collections::BTreeMap;
use std::path::Path;

use super::arguments::MovedOptions;
use super::evidence::Folder;
use super::files::{ReadJournal, read_file, read_journal};
use super::frozen::{COPY, Frozen, REGISTER, REVISIONS, revisions};
use super::journal::journal;
use super::stamp::stamp;
use super::work::{Asked, Opened, leave, open, tell};
use super::{Ended, complain, say, show};
use crate::compile::{Worked, compile};
use crate::moves::{Moves, Shown, State, moves, put_back, told};
use crate::register::{json, results_of};
use crate::source::FileId;

/// An earlier state of the journal, worked anew.
pub(super) struct Earlier {
    read: ReadJournal,
    evidence: Folder,
    worked: Worked,
    /// What its register says, where it has one.
    frozen: BTreeMap<String, Shown>,
    /// `revision A of 2026-03-02`.
    pub(super) told: String,
}

pub(super) fn moved(options: &MovedOptions) -> Result<Ended, Ended> {
    let journal = journal(options.journal.as_deref());
    let opened = open(&Asked { journal: &journal, out: None, draws: None, saying: options.saying })?;
    if opened.worked.journals.is_empty() {
        tell(&opened, false, &[]);
        return Ok(Ended::Wanting);
    }
    let earlier = Earlier::of(&opened.read.folder, options.since.as_deref())?;
    let moves = earlier.moves(&opened);
    if opened.worked.has_errors() {
        show(&opened.printed());
    }
    if earlier.worked.has_errors() {
        complain(&format!("{} has errors; what waits for them is told as not there\n", earlier.told));
    }
    say(&match options.json {
        true => json(&moves),
        false => told(&moves, &format!("moved since {}", earlier.told)),
    });
    let ended = if opened.worked.has_errors() { Ended::Wanting } else { Ended::Done };
    leave(opened);
    Ok(ended)
}

/// The last revision that is not the one in the making, and what moved since; `None` where there is none, or where its
/// copy can't be read, which has been told.
pub(super) fn since_last(opened: &Opened) -> Option<(String, Moves)> {
    let folder = &opened.read.folder;
    let making = opened.worked.notebook.front.revision.as_deref();
    let (found, _) = revisions(folder).ok()?;
    let last = found.iter().rfind(|one| making != Some(one.revision.revision.as_str()))?;
    let earlier = Earlier::revision(folder, last).ok()?;
    let moves = earlier.moves(opened);
    Some((earlier.told, moves))
}

impl Earlier {
    /// The state that is meant: a revision, the last one where nothing is said, or a folder. The error has been told.
    fn of(folder: &Path, since: Option<&str>) -> Result<Earlier, Ended> {
        let (found, _) = revisions(folder)
            .map_err(|error| Ended::FileTrouble.because(format!("{REVISIONS} can't be read: {error}")))?;
        let revision = match since {
            None => found.last(),
            Some(name) => found.iter().find(|one| one.revision.revision == name),
        };
        let wrong = |text: String| {
            complain(&text);
            Ended::WrongUsage
        };
        match (revision, since) {
            (Some(revision), _) => Earlier::revision(folder, revision),
            (None, Some(other)) if Path::new(other).is_dir() => {
                Earlier::worked((folder, Path::new(other)), other.to_owned(), BTreeMap::new())
            }
            (None, Some(other)) => {
                let names: Vec<&str> = found.iter().map(|one| one.revision.revision.as_str()).collect();
                let known = if names.is_empty() { "none was issued".to_owned() } else { names.join(", ") };
                Err(wrong(format!("`{other}` is neither a revision nor a folder; revisions: {known}\n")))
            }
            (None, None) => Err(wrong(
                "no revision was issued yet: freeze one with `voltwright issue`, or name a folder with `--since`\n"
                    .to_owned(),
            )),
        }
    }

    fn revision(folder: &Path, frozen: &Frozen) -> Result<Earlier, Ended> {
        let register = read_file(&frozen.folder.join(REGISTER)).unwrap_or_default();
        let shown = results_of(&register)
            .into_iter()
            .map(|(name, one)| (name, Shown { si: one.si, shown: one.shown }));
        let told = format!("revision {} of {}", frozen.revision.revision, frozen.revision.date);
        Earlier::worked((folder, &frozen.folder.join(COPY)), told, shown.collect())
    }

    fn worked(
        (live, old): (&Path, &Path),
        told: String,
        frozen: BTreeMap<String, Shown>,
    ) -> Result<Earlier, Ended> {
        let read =
            read_journal(old, None).map_err(|trouble| Ended::FileTrouble.because(format!("{trouble}")))?;
        // Pictures and documents are not copied.
        let evidence = Folder::new(old, stamp()?).else_in(live);
        let files: Vec<FileId> = read.files.iter().map(|file| file.file).collect();
        let worked = compile(&read.sources, &files, &evidence, None);
        Ok(Earlier { read, evidence, worked, frozen, told })
    }

    pub(super) fn moves(&self, opened: &Opened) -> Moves {
        let before = State {
            journals: &self.worked.journals,
            sources: &self.read.sources,
            evidence: &self.evidence,
            told: self.worked.told(),
        };
        let after = opened.state();
        moves((before.told, &self.frozen), after.told, &put_back(before, after))
    }
}
