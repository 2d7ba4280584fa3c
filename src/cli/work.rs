//! `work`, `check` and `dossier`: read the journal, work it, write what is to be written.

use std::fs;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use super::arguments::{CheckOptions, DossierOptions, WorkOptions, Writing};
use super::evidence::Folder;
use super::files::{ReadJournal, WriteRefused, read_journal, replace};
use super::stamp::stamp;
use super::wanting::wanting;
use super::{Ended, complain, ink, say};
use crate::compile::{self, Worked, compile};
use crate::dossier;
use crate::evaluate::{Draws, Verdict};
use crate::findings::{Finding, codes, print};
use crate::register::{Register, register};
use crate::report::Counts;
use crate::source::{FileId, Sources};
use crate::writeback::{Body, Detail, Edited, Edits, Orphans, Wanted, edits, region};

/// A journal that was read and worked, with the files that it came from.
pub(super) struct Opened {
    pub(super) read: ReadJournal,
    pub(super) evidence: Folder,
    pub(super) worked: Worked,
}

/// Reads and works a journal. The error has been told.
pub(super) fn open(journal: &Path, out: Option<&Path>, draws: Option<Draws>) -> Result<Opened, Ended> {
    let mut read = read_journal(journal, out).map_err(|trouble| {
        complain(&format!("{} can't be read: {}\n", trouble.path.display(), trouble.error));
        Ended::FileTrouble
    })?;
    let evidence = Folder::new(&read.folder);
    let files: Vec<FileId> = read.files.iter().map(|file| file.file).collect();
    if draws.is_some() && std::io::stderr().is_terminal() {
        complain("drawing the uncertain values; with many blocks this takes a while\n");
    }
    let mut worked = compile(&read.sources, &files, &evidence, draws);
    worked.findings.append(&mut read.findings);
    if files.is_empty() && worked.findings.is_empty() {
        let message = format!("no Markdown files in {}", journal.display());
        let help = "name a folder with `.md` files, or start one: `voltwright begin FOLDER`";
        worked.findings.push(Finding::placeless(&codes::EMPTY_JOURNAL, message, help));
    }
    compile::sort(&mut worked.findings);
    Ok(Opened { read, evidence, worked })
}

/// What became of one file.
pub(super) struct FileEdits {
    /// The number among the journal's files.
    file: usize,
    pub(super) edits: Option<Edits>,
}

pub(super) fn work(options: &WorkOptions) -> Ended {
    let mut opened = match open(&options.journal, None, options.spread.monte_carlo) {
        Ok(opened) => opened,
        Err(ended) => return ended,
    };
    let wrote = write_back(&mut opened, &options.writing);
    let ended = finish(&opened, wrote, options.json);
    leave(opened);
    ended
}

pub(super) fn check(options: &CheckOptions) -> Ended {
    let mut opened = match open(&options.journal, None, options.spread.monte_carlo) {
        Ok(opened) => opened,
        Err(ended) => return ended,
    };
    let writing = Writing { overwrite_edits: false, drop_orphans: false };
    let all = all_edits((&mut opened.worked, &opened.read.sources), &writing);
    let stale: Vec<String> = all
        .iter()
        .filter(|one| one.edits.as_ref().is_none_or(|edits| !edits.is_empty()))
        .map(|one| path_of(&opened, one.file))
        .collect();
    tell(&opened, options.json, &stale);
    if !options.json {
        for file in &stale {
            say(&format!("stale: {file}; `voltwright work` brings its results up to date\n"));
        }
    }
    let failed = opened.worked.results.judged.iter().any(|judged| judged.verdict == Verdict::Fails);
    let wanting = opened.worked.has_errors() || failed || !stale.is_empty();
    leave(opened);
    if wanting { Ended::Wanting } else { Ended::Done }
}

pub(super) fn dossier(options: &DossierOptions) -> Ended {
    let mut opened = match open(&options.journal, options.out.as_deref(), options.spread.monte_carlo) {
        Ok(opened) => opened,
        Err(ended) => return ended,
    };
    if opened.worked.journals.is_empty() {
        tell(&opened, false, &[]);
        return Ended::Wanting;
    }
    // They are kept, for the dossier tells them too.
    opened.worked.reports();
    let wrote = if options.no_write_back {
        let stale = all_edits((&mut opened.worked, &opened.read.sources), &options.writing);
        let stale = stale.iter().filter(|one| one.edits.as_ref().is_none_or(|edits| !edits.is_empty()));
        Written { stale: stale.map(|one| path_of(&opened, one.file)).collect(), trouble: false }
    } else {
        write_back(&mut opened, &options.writing)
    };
    let folder = options.out.clone().unwrap_or_else(|| opened.read.folder.join("dossier"));
    let made = dossier::build(&dossier::Given {
        worked: &opened.worked,
        sources: &opened.read.sources,
        evidence: &opened.evidence,
        stamp: stamp(),
    });
    opened.worked.findings.extend(made.findings.iter().cloned());
    compile::sort(&mut opened.worked.findings);
    let register = register_of(&opened, &wrote.stale).json();
    let files: [(&str, &[u8]); 5] = [
        ("dossier.html", made.dossier_html.as_bytes()),
        ("dossier.pdf", &made.dossier_pdf),
        ("summary.html", made.summary_html.as_bytes()),
        ("summary.pdf", &made.summary_pdf),
        ("register.json", register.as_bytes()),
    ];
    for (name, bytes) in files {
        if let Err((path, error)) = write(&folder, name, bytes) {
            complain(&format!("{} can't be written: {error}\n", path.display()));
            return Ended::FileTrouble;
        }
    }
    let ended = finish(&opened, wrote, false);
    let (pages, summary) = made.pages;
    say(&format!(
        "dossier: {}, {pages} pages on paper; summary: {summary}\n",
        folder.join("dossier.html").display()
    ));
    leave(opened);
    ended
}

/// The program ends: its memory is given back at once, faster than piece by piece.
fn leave(opened: Opened) {
    std::mem::forget(opened);
}

fn write(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), (PathBuf, std::io::Error)> {
    fs::create_dir_all(folder).map_err(|error| (folder.to_owned(), error))?;
    let path = folder.join(name);
    fs::write(&path, bytes).map_err(|error| (path, error))
}

/// What writing back came to.
struct Written {
    /// Files whose results are not as worked.
    stale: Vec<String>,
    trouble: bool,
}

/// The edits of every file; their findings join the others.
pub(super) fn all_edits((worked, sources): (&mut Worked, &Sources), writing: &Writing) -> Vec<FileEdits> {
    let mut all = Vec::new();
    let mut findings = Vec::new();
    let told = worked.told();
    let detail = if worked.notebook.front.full_regions { Detail::Full } else { Detail::Short };
    let mut bodies = worked.of_reports(|report| report.worked.then(|| region(report, detail)));
    for (file, journal) in worked.journals.iter().enumerate() {
        let regions = worked.notebook.fences[file].iter().enumerate().filter_map(|(fence, block)| {
            let body = match block {
                Some(block) if bodies[*block].is_some() => {
                    Body::Worked(bodies[*block].take().unwrap_or_default())
                }
                // A fence that is prose keeps what follows it.
                None if worked.notebook.prose_fences[file].contains(&fence) => return None,
                _ => Body::NotWorked,
            };
            Some((fence, body))
        });
        let live = worked.notebook.live.iter().zip(&worked.plan.live);
        let live = live.filter(|(live, _)| live.file == file);
        let wanted = Wanted {
            regions: regions.collect(),
            live: live.map(|(live, target)| (live.index, told.live(live, *target).0)).collect(),
            edited: if writing.overwrite_edits { Edited::Overwrite } else { Edited::Keep },
            orphans: if writing.drop_orphans { Orphans::Drop } else { Orphans::Keep },
        };
        let (edits, found) = edits(sources.get(journal.file), journal, &wanted);
        findings.extend(found);
        all.push(FileEdits { file, edits });
    }
    if writing.drop_orphans {
        // What is being removed needs no warning.
        worked.findings.retain(|finding| finding.code != &codes::ORPHAN_REGION);
    }
    worked.findings.extend(findings);
    compile::sort(&mut worked.findings);
    all
}

fn write_back(opened: &mut Opened, writing: &Writing) -> Written {
    let mut written = Written { stale: Vec::new(), trouble: false };
    for one in all_edits((&mut opened.worked, &opened.read.sources), writing) {
        let file = &opened.read.files[one.file];
        let Some(edits) = one.edits else {
            written.stale.push(path_of(opened, one.file));
            continue;
        };
        if edits.is_empty() {
            continue;
        }
        let new = edits.apply(&opened.read.sources.get(file.file).text);
        if let Err(refused) = replace(&file.path, &file.bytes, new.as_bytes()) {
            complain(&format!("{}\n", refusal(&refused)));
            written.stale.push(path_of(opened, one.file));
            written.trouble = true;
        }
    }
    written
}

fn refusal(refused: &WriteRefused) -> String {
    match refused {
        WriteRefused::ReadOnly(path) => {
            format!(
                "{} is read-only and was left as it is: make it writable and run this again",
                path.display()
            )
        }
        WriteRefused::Changed(path) => {
            format!("{} was changed meanwhile and was left as it is: run this again", path.display())
        }
        WriteRefused::Failed(path, error) => {
            format!("{} could not be written and is as it was: {error}", path.display())
        }
    }
}

fn path_of(opened: &Opened, file: usize) -> String {
    opened.read.sources.get(opened.read.files[file].file).path.clone()
}

fn register_of(opened: &Opened, stale: &[String]) -> Register {
    let title = opened.title();
    register(opened.worked.told(), &title, stale.to_vec(), (&opened.worked.findings, &opened.read.sources))
}

/// Findings to standard error, the register or one line of summary to standard output.
fn tell(opened: &Opened, json: bool, stale: &[String]) {
    complain(&opened.printed());
    if json {
        say(&register_of(opened, stale).json());
    } else {
        say(&wanting(&opened.worked, &opened.read.sources));
        say(&opened.counts());
    }
}

fn finish(opened: &Opened, written: Written, json: bool) -> Ended {
    tell(opened, json, &written.stale);
    if written.trouble {
        Ended::FileTrouble
    } else if opened.worked.has_errors() {
        Ended::Wanting
    } else {
        Ended::Done
    }
}

impl Opened {
    /// The journal's title, or the name of its folder.
    pub(super) fn title(&self) -> String {
        dossier::title(&self.worked, &self.read.sources)
    }

    /// All findings, for the terminal.
    pub(super) fn printed(&self) -> String {
        print(&self.worked.findings, (&self.read.sources, &self.worked.notebook.titles), ink())
    }

    /// `32 blocks worked; requirements: 14 meet, 1 fails`.
    fn counts(&self) -> String {
        let results = &self.worked.results;
        let worked = results.worked.iter().filter(|worked| **worked).count();
        let plural = if worked == 1 { "" } else { "s" };
        let mut line = format!("{worked} block{plural} worked");
        let missed = results.worked.len() - worked;
        if missed > 0 {
            line = format!("{line}, {missed} not");
        }
        let counts =
            Counts::of(results.judged.iter().map(|judged| (judged.verdict, judged.doubt, judged.not_yet)));
        let told = [
            (counts.meets, "meets", String::new()),
            (counts.close(), "close", counts.doubts()),
            (counts.fails, "fails", String::new()),
            (counts.missing + counts.not_yet, "open", counts.open()),
        ];
        let parts = told.into_iter().filter(|(count, ..)| *count > 0).map(|(count, word, of)| match of {
            of if of.is_empty() => format!("{word} {count}"),
            of => format!("{word} {count} ({of})"),
        });
        let parts: Vec<String> = parts.collect();
        if !parts.is_empty() {
            line = format!("{line}; requirements: {}", parts.join(", "));
        }
        format!("{line}\n")
    }
}
