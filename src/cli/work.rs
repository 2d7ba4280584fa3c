//! `work` and `check`: read the journal, work it, write back what is to be written.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use super::arguments::{CheckOptions, Format, Saying, WorkOptions, Writing};
use super::evidence::Folder;
use super::files::{ReadJournal, parent, read_journal};
use super::frozen::earlier;
use super::journal::{is_standard_input, journal, mixed, prefix, standard_input};
use super::lock::lock;
use super::moved::{self, Move};
use super::progress::progress;
use super::stamp::stamp;
use super::wanting::wanting;
use super::writer::{replace, sweep};
use super::{Ended, complain, ink, say, say_bytes, show};
use crate::compile::{self, Worked, compile};
use crate::dossier;
use crate::evaluate::{Draws, Verdict};
use crate::findings::{Finding, codes, lines, print};
use crate::journal::{RegionState, region_body};
use crate::moves::State;
use crate::register::{Register, register};
use crate::report::{Counts, Coverage, ItemRow};
use crate::source::{FileId, Sources};
use crate::writeback::{Body, Detail, Earlier, Edited, Edits, Orphans, Wanted, edits, region};

/// A journal that was read and worked, with the files that it came from.
pub(super) struct Opened {
    pub(super) read: ReadJournal,
    pub(super) evidence: Folder,
    pub(super) worked: Worked,
    saying: Saying,
}

/// What is to be read, and how it is told.
pub(super) struct Asked<'a> {
    pub(super) journal: &'a Path,
    pub(super) out: Option<&'a Path>,
    pub(super) draws: Option<Draws>,
    pub(super) saying: Saying,
}

/// Reads and works a journal. The error has been told.
pub(super) fn open(asked: &Asked<'_>) -> Result<Opened, Ended> {
    let stamp = stamp()?;
    open_with(asked, |folder| Folder::new(folder, stamp))
}

/// Reads and works a journal whose files are reached through what `evidence` gives for its folder.
pub(super) fn open_with(asked: &Asked<'_>, evidence: impl FnOnce(&Path) -> Folder) -> Result<Opened, Ended> {
    let journal = asked.journal;
    let read = match is_standard_input(journal) {
        true => standard_input().map(ReadJournal::of_text).map_err(|error| ("standard input".into(), error)),
        false => read_journal(journal, asked.out)
            .map_err(|trouble| (trouble.path.display().to_string(), trouble.error)),
    };
    let mut read =
        read.map_err(|(name, error)| Ended::FileTrouble.because(format!("{name} can't be read: {error}")))?;
    let evidence = evidence(&read.folder);
    let mut mixed = mixed(&read.sources, &prefix(&read.folder));
    let files: Vec<FileId> = match mixed.is_empty() {
        true => read.files.iter().map(|file| file.file).collect(),
        // Nothing of two journals is worked or written as one.
        false => Vec::new(),
    };
    let work = || compile(&read.sources, &files, &evidence, asked.draws);
    let mut worked = if asked.saying.quiet { work() } else { progress(asked.draws, work) };
    worked.findings.append(&mut read.findings);
    worked.findings.append(&mut mixed);
    if files.is_empty() && worked.findings.is_empty() {
        let message = format!("no Markdown files in {}", journal.display());
        let help = "name a folder with `.md` files, or start one: `voltwright begin FOLDER`";
        worked.findings.push(Finding::placeless(&codes::EMPTY_JOURNAL, message, help));
    }
    compile::sort(&mut worked.findings);
    Ok(Opened { read, evidence, worked, saying: asked.saying })
}

/// What became of one file.
pub(super) struct FileEdits {
    /// The number among the journal's files.
    file: usize,
    pub(super) edits: Option<Edits>,
    /// What its regions say otherwise than before.
    moves: Vec<Move>,
}

pub(super) fn work(options: &WorkOptions) -> Result<Ended, Ended> {
    let journal = journal(options.journal.as_deref());
    let _held = lock(&journal)?;
    // Where the worked text goes to standard output, nothing else does.
    let quiet = options.saying.quiet || is_standard_input(&journal);
    let saying = Saying { quiet, ..options.saying };
    let mut opened =
        open(&Asked { journal: &journal, out: None, draws: options.spread.monte_carlo, saying })?;
    let wrote = match is_standard_input(&journal) {
        true => pass_on(&mut opened, options),
        false => write_back(&mut opened, &options.writing),
    };
    let ended = finish(&opened, wrote, options.json);
    leave(opened);
    Ok(ended)
}

pub(super) fn check(options: &CheckOptions) -> Result<Ended, Ended> {
    let journal = journal(options.journal.as_deref());
    let draws = options.spread.monte_carlo;
    let mut opened = open(&Asked { journal: &journal, out: None, draws, saying: options.saying })?;
    let stale = stale(&mut opened, &Writing { overwrite_edits: false, drop_orphans: false });
    tell(&opened, options.json, &stale);
    if !options.json {
        let prefix = prefix(&opened.read.folder);
        for file in &stale {
            opened.say(&match options.saying.format {
                Format::Text => {
                    format!("stale: {prefix}{file}; `voltwright work` brings its results up to date\n")
                }
                Format::Lines => format!("{prefix}{file}:1:1: warning: its results are stale [stale]\n"),
            });
        }
    }
    let failed = opened.worked.results.judged.iter().any(|judged| judged.verdict == Verdict::Fails);
    let wanting = opened.worked.has_errors() || failed || !stale.is_empty();
    leave(opened);
    Ok(if wanting { Ended::Wanting } else { Ended::Done })
}

/// The program ends: its memory is given back at once, faster than piece by piece.
pub(super) fn leave(opened: Opened) {
    std::mem::forget(opened);
}

/// What writing back came to.
#[derive(Default)]
pub(super) struct Written {
    /// Files whose results are not as worked.
    pub(super) stale: Vec<String>,
    pub(super) trouble: bool,
    pub(super) moves: Vec<Move>,
}

/// The edits of every file; their findings join the others.
pub(super) fn all_edits(
    (worked, sources): (&mut Worked, &Sources),
    writing: &Writing,
    earlier: Option<&Earlier>,
) -> Vec<FileEdits> {
    let mut all = Vec::new();
    let mut findings = Vec::new();
    let told = worked.told();
    let detail = if worked.notebook.front.full_regions { Detail::Full } else { Detail::Short };
    let mut bodies = worked.of_reports(|report| report.worked.then(|| region(report, detail, earlier)));
    for (file, journal) in worked.journals.iter().enumerate() {
        let mut moves = Vec::new();
        let text = &sources.get(journal.file).text;
        let regions = worked.notebook.fences[file].iter().enumerate().filter_map(|(fence, block)| {
            let body = match block {
                Some(block) if bodies[*block].is_some() => {
                    Body::Worked(bodies[*block].take().unwrap_or_default())
                }
                // A fence that is prose keeps what follows it.
                None if worked.notebook.prose_fences[file].contains(&fence) => return None,
                _ => Body::NotWorked,
            };
            if let RegionState::Whole(region) = journal.fences[fence].region {
                let region = &journal.regions[region];
                let new = if let Body::Worked(new) = &body { new } else { "" };
                let known = block.map(|block| worked.notebook.blocks[block].name.as_str());
                let name = known.unwrap_or(&region.name.text);
                moves.extend(moved::moves(name, &region_body(text, region), new));
            }
            Some((fence, body))
        });
        let regions = regions.collect();
        let live = worked.notebook.live.iter().zip(&worked.plan.live);
        let live = live.filter(|(live, _)| live.file == file);
        let wanted = Wanted {
            regions,
            live: live.map(|(live, target)| (live.index, told.live(live, *target).0)).collect(),
            edited: if writing.overwrite_edits { Edited::Overwrite } else { Edited::Keep },
            orphans: if writing.drop_orphans { Orphans::Drop } else { Orphans::Keep },
        };
        let (edits, found) = edits(sources.get(journal.file), journal, &wanted);
        findings.extend(found);
        all.push(FileEdits { file, edits, moves });
    }
    if writing.drop_orphans {
        // What is being removed needs no warning.
        worked.findings.retain(|finding| finding.code != &codes::ORPHAN_REGION);
    }
    worked.findings.extend(findings);
    compile::sort(&mut worked.findings);
    all
}

/// The files that `work` would change.
pub(super) fn stale(opened: &mut Opened, writing: &Writing) -> Vec<String> {
    let earlier = opened.earlier();
    let all = all_edits((&mut opened.worked, &opened.read.sources), writing, earlier.as_ref());
    let stale = all.iter().filter(|one| one.edits.as_ref().is_none_or(|edits| !edits.is_empty()));
    stale.map(|one| path_of(opened, one.file)).collect()
}

/// Writes what is to be written, and notes in `opened` what the files hold then.
pub(super) fn write_back(opened: &mut Opened, writing: &Writing) -> Written {
    // Beside a file that is reached by a link nothing is written, but beside what it leads to.
    let real = opened.read.files.iter().filter_map(|file| fs::canonicalize(&file.path).ok());
    real.map(|path| parent(&path)).collect::<BTreeSet<_>>().iter().for_each(|folder| sweep(folder));
    let mut written = Written::default();
    let earlier = opened.earlier();
    for one in all_edits((&mut opened.worked, &opened.read.sources), writing, earlier.as_ref()) {
        let Some(edits) = one.edits else {
            written.stale.push(path_of(opened, one.file));
            continue;
        };
        if edits.is_empty() {
            continue;
        }
        let file = &mut opened.read.files[one.file];
        let source = &mut opened.read.sources.0[file.file.0 as usize];
        let new = edits.apply(&source.text);
        match replace(&file.path, &file.bytes, new.as_bytes()) {
            Ok(others) => {
                file.bytes = new.clone().into_bytes();
                source.rewritten(new, edits.lengths());
                written.moves.extend(one.moves);
                if others > 0 {
                    complain(&format!(
                        "{} had another name (a hard link), and that keeps the old text: link it again, or delete it\n",
                        file.path.display()
                    ));
                }
            }
            Err(refused) => {
                complain(&format!("{refused}\n"));
                written.stale.push(path_of(opened, one.file));
                written.trouble = true;
            }
        }
    }
    written
}

/// Standard input, worked, goes on to standard output, unless the register was asked for.
fn pass_on(opened: &mut Opened, options: &WorkOptions) -> Written {
    let mut written = Written::default();
    let earlier = opened.earlier();
    for one in all_edits((&mut opened.worked, &opened.read.sources), &options.writing, earlier.as_ref()) {
        let text = &opened.read.sources.get(opened.read.files[one.file].file).text;
        if one.edits.is_none() {
            written.stale.push(path_of(opened, one.file));
        }
        if !options.json {
            say_bytes(one.edits.map_or(text.to_string(), |edits| edits.apply(text)).as_bytes());
        }
    }
    written
}

fn path_of(opened: &Opened, file: usize) -> String {
    opened.read.sources.get(opened.read.files[file].file).path.clone()
}

pub(super) fn register_of(opened: &Opened, stale: &[String]) -> Register {
    let title = opened.title();
    register(opened.worked.told(), &title, stale.to_vec(), (&opened.worked.findings, &opened.read.sources))
}

/// Findings to standard error, the register or one line of summary to standard output.
pub(super) fn tell(opened: &Opened, json: bool, stale: &[String]) {
    show(&opened.printed());
    if json {
        say(&register_of(opened, stale).json());
    } else {
        opened.say(&wanting(&opened.worked, &opened.placed(), opened.saying.format));
        opened.say(&opened.counts());
    }
}

pub(super) fn finish(opened: &Opened, written: Written, json: bool) -> Ended {
    if !json {
        opened.say(&moved::told(&written.moves));
    }
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

    /// Beside which another state of the journal is put.
    pub(super) fn state(&self) -> State<'_> {
        State {
            journals: &self.worked.journals,
            sources: &self.read.sources,
            evidence: &self.evidence,
            told: self.worked.told(),
        }
    }

    /// What the regions are to name beside today's results, where the front matter asks for it.
    fn earlier(&self) -> Option<Earlier> {
        let front = &self.worked.notebook.front;
        front.show_moves.then(|| earlier(&self.read.folder, front.revision.as_deref())).flatten()
    }

    /// All findings, for the terminal.
    pub(super) fn printed(&self) -> String {
        match self.saying.format {
            Format::Text => {
                print(&self.worked.findings, (&self.placed(), &self.worked.notebook.titles), ink())
            }
            Format::Lines => lines(&self.worked.findings, &self.placed()),
        }
    }

    /// The files by their paths from where one stands.
    pub(super) fn placed(&self) -> Sources {
        self.read.sources.under(&prefix(&self.read.folder))
    }

    /// What was not asked for, for standard output.
    pub(super) fn say(&self, text: &str) {
        if !self.saying.quiet {
            say(text);
        }
    }

    /// `32 blocks worked; requirements: 14 meet, 1 fails`.
    fn counts(&self) -> String {
        let results = &self.worked.results;
        let worked = results.worked.iter().filter(|worked| **worked).count();
        let plural = if worked == 1 { "" } else { "s" };
        let mut line = match results.worked.len() {
            0 => {
                "no calculation block found: one is a fence that says `yaml`, a kind and a name, like `yaml \
                  ratio-chain drive`"
                    .to_owned()
            }
            _ => format!("{worked} block{plural} worked"),
        };
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
        format!("{line}\n{}", self.covered())
    }

    /// `coverage: 25 subjects: 6 meets, 14 not in this journal`, and a line for each rule pack.
    fn covered(&self) -> String {
        let Some(coverage) = self.worked.told().coverage() else { return String::new() };
        let line = |name: &str, what: &str, rows: &[ItemRow]| {
            format!("{name}: {} {what}: {}\n", rows.len(), Coverage::counts(rows.iter()))
        };
        let packs = coverage.packs.iter().map(|pack| line(pack.name, "items", &pack.items));
        let subjects = line("coverage", "subjects", &coverage.subjects);
        std::iter::once(subjects).chain(packs).collect()
    }
}
