//! One round: the journal is read and worked, shown by first order, drawn for where that does not do, written back, and
//! shown again with what has moved.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::{Arc, PoisonError};

use super::super::Ended;
use super::super::arguments::{Saying, Writing as WriteOptions};
use super::super::evidence::Folder;
use super::super::frozen::past;
use super::super::lock::lock;
use super::super::stamp::stamp;
use super::super::work::{Asked, Opened, finish, open_with, tell, write_back};
use super::Writing;
use super::board::{Board, edition};
use super::disk::Disk;
use crate::compile;
use crate::dossier::{Beside, Given, Screen, Since};
use crate::evaluate::Draws;
use crate::findings::{Code, Finding, codes};
use crate::moves::{moves, put_back};

/// Errors of a file that is half saved.
static TORN: [&Code; 6] = [
    &codes::UNCLOSED_FENCE,
    &codes::YAML_BROKEN,
    &codes::FRONT_MATTER,
    &codes::DAMAGED_REGION,
    &codes::INVALID_UTF8,
    &codes::EMPTY_JOURNAL,
];

const HALF_SAVED: &str =
    "a file is half saved, or broken off: this is the page before, with what was found since";
const NOT_WORKED: &str = "the journal could not be read or written: the terminal says why";
const FIRST_ORDER: &str =
    "by first order so far: draws are being worked, and no verdict that needs them is better than close";
const WORKING: &str = "worked; what moved is being looked at";

pub(super) struct Rounds<'j> {
    journal: &'j Path,
    saying: Saying,
    board: Arc<Board>,
    writing: Writing,
    disk: Disk,
    /// The journal as it was when the watch began.
    begun: Option<Opened>,
    /// The last page of a journal that was whole.
    good: Option<Good>,
    /// What was read of the files that the journal names.
    evidence: Option<Folder>,
    /// These files are as they were when the last page was made.
    same: bool,
}

struct Good {
    screen: Screen,
    blocks: BTreeSet<String>,
}

impl<'j> Rounds<'j> {
    pub(super) fn new(journal: &'j Path, saying: Saying, board: Arc<Board>, writing: Writing) -> Rounds<'j> {
        let disk = Disk::new(journal);
        Rounds { journal, saying, board, writing, disk, begun: None, good: None, evidence: None, same: true }
    }

    /// Where files of the journal may lie.
    pub(super) fn folders(&self) -> Vec<PathBuf> {
        self.disk.folders()
    }

    /// What this program itself has written is no change.
    pub(super) fn round_if_changed(&mut self) {
        if self.disk.is_changed() {
            self.again();
        }
    }

    /// What goes wrong has been told, and the next save is another chance.
    fn again(&mut self) {
        if self.round().is_err()
            && let Some(good) = &self.good
        {
            self.put(&good.screen, NOT_WORKED, &[]);
        }
    }

    pub(super) fn round(&mut self) -> Result<(), Ended> {
        self.same &= self.disk.look();
        let same = std::mem::replace(&mut self.same, false);
        let before = self.good.as_ref().map(|good| &good.screen).filter(|_| same);
        let evidence = self.evidence.take().filter(|_| same);
        let mut opened = self.open(Some(Draws::Later), evidence)?;
        self.disk.know(&opened.read.files);
        if let Some(good) = self.good.as_ref().filter(|good| good.is_torn(&opened)) {
            self.put(&good.screen, HALF_SAVED, &beside(&opened));
            tell(&opened, false, &[]);
            self.same = same;
            return Ok(());
        }
        let screen = screen(&mut opened, before, None)?;
        let drawn = opened.worked.results.judged.iter().any(|judged| judged.draws == Some(0));
        let status = if drawn { FIRST_ORDER } else { WORKING };
        self.put(&screen, status, &beside(&opened));
        self.good = Some(Good { screen, blocks: names(&opened) });
        self.same = true;
        if self.disk.is_changed() {
            // A later save waits already.
            return Ok(());
        }
        if drawn {
            opened = self.open(None, Some(opened.evidence.without_markdown()))?;
            self.disk.know(&opened.read.files);
        }
        let wrote = {
            let _lock = lock(self.journal)?;
            if self.disk.is_changed() {
                return Ok(());
            }
            let _writing = self.writing.lock().unwrap_or_else(PoisonError::into_inner);
            write_back(&mut opened, &WriteOptions { overwrite_edits: false, drop_orphans: false })
        };
        self.disk.know(&opened.read.files);
        self.show_moves(&mut opened)?;
        finish(&opened, wrote, false);
        if self.begun.is_none() {
            self.begun = Some(opened);
        } else {
            self.evidence = Some(opened.evidence);
        }
        Ok(())
    }

    fn open(&self, draws: Option<Draws>, evidence: Option<Folder>) -> Result<Opened, Ended> {
        let stamp = stamp()?;
        let asked = Asked { journal: self.journal, out: None, draws, saying: self.saying };
        open_with(&asked, |folder| {
            evidence.map_or_else(|| Folder::new(folder, stamp), Folder::without_markdown)
        })
    }

    /// The page with what has moved since the watch began.
    fn show_moves(&mut self, opened: &mut Opened) -> Result<(), Ended> {
        let moved = self.begun.as_ref().map(|begun| {
            let (before, after) = (begun.state(), opened.state());
            moves((before.told, &Default::default()), after.told, &put_back(before, after))
        });
        let since = moved.as_ref().map(|moves| Since { told: "the watch began", moves });
        let before = self.good.as_ref().map(|good| &good.screen);
        let screen = screen(opened, before, since)?;
        self.put(&screen, "", &beside(opened));
        self.good = Some(Good { screen, blocks: names(opened) });
        Ok(())
    }

    fn put(&self, screen: &Screen, status: &str, beside: &[Beside]) {
        let status = [status.to_owned()];
        let status = if status[0].is_empty() { &[][..] } else { &status };
        self.board.put(|number| screen.html((status, &edition(number)), beside));
    }
}

impl Good {
    /// A file breaks off, or blocks are lost and others ask for them.
    fn is_torn(&self, opened: &Opened) -> bool {
        let worked = &opened.worked;
        let emptied = opened.read.files.iter().any(|file| file.bytes.is_empty());
        emptied && worked.notebook.blocks.len() < self.blocks.len()
            || worked.findings.iter().any(|finding| TORN.contains(&finding.code))
            || worked.has_errors() && !self.blocks.is_subset(&names(opened))
    }
}

fn names(opened: &Opened) -> BTreeSet<String> {
    opened.worked.notebook.names.keys().cloned().collect()
}

fn screen(opened: &mut Opened, before: Option<&Screen>, moves: Option<Since<'_>>) -> Result<Screen, Ended> {
    let (screen, found) = Screen::new(
        &Given {
            worked: &opened.worked,
            sources: &opened.read.sources,
            evidence: &opened.evidence,
            stamp: stamp()?,
            despite: None,
            moves,
            past: &past(&opened.read.folder, opened.worked.notebook.front.revision.as_deref()),
        },
        before,
    );
    opened.worked.findings.extend(found);
    compile::sort(&mut opened.worked.findings);
    Ok(screen)
}

/// Every finding, with the block that it stands in.
fn beside(opened: &Opened) -> Vec<Beside> {
    opened.worked.findings.iter().map(|finding| one_beside(opened, finding)).collect()
}

fn one_beside(opened: &Opened, finding: &Finding) -> Beside {
    let severity = finding.code.severity.word();
    let (sources, worked) = (&opened.read.sources, &opened.worked);
    let block = finding.span.and_then(|span| {
        let journal = worked.journals.iter().find(|journal| journal.file == span.file)?;
        let around = |whole: &crate::source::Span| whole.start <= span.start && span.start < whole.end;
        let fence = journal.fences.iter().find(|fence| around(&fence.span))?;
        Some(fence.name.as_ref()?.text.clone())
    });
    let title = match finding.span {
        Some(span) => {
            let path = &sources.get(span.file).path;
            format!("{severity}: {path}, line {}", sources.place(span).line)
        }
        None => severity.to_owned(),
    };
    Beside { block, title, lines: vec![finding.message.clone(), finding.help.clone()] }
}
