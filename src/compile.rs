//! The line of travel, from files as text to everything that is worked out of them.

use std::num::NonZero;
use std::ops::Range;
use std::panic::resume_unwind;
use std::sync::OnceLock;
use std::thread::{ScopedJoinHandle, available_parallelism};

use crate::blocks::KINDS;
use crate::evaluate::{self, Draws, Results};
use crate::findings::{Finding, Severity};
use crate::graph::{self, Plan};
use crate::journal::{self, Journal, Position};
use crate::model::{self, Evidence, Notebook};
use crate::report::{BlockReport, Told};
use crate::source::{FileId, Sources};

/// How many blocks make it worth the while to begin a thread.
const WORTH_A_THREAD: usize = 100;

/// A journal that has been read and worked.
pub(crate) struct Worked {
    pub journals: Vec<Journal>,
    pub notebook: Notebook,
    pub plan: Plan,
    pub results: Results,
    /// In the order of the files; those without a place first.
    pub findings: Vec<Finding>,
    reports: OnceLock<Vec<BlockReport>>,
}

/// Scans, reads, plans and evaluates the files named by `files`, in that order.
pub(crate) fn compile(
    sources: &Sources,
    files: &[FileId],
    evidence: &dyn Evidence,
    draws: Option<Draws>,
) -> Worked {
    let mut findings = Vec::new();
    let mut journals = Vec::new();
    for (number, file) in files.iter().enumerate() {
        let position = if number == 0 { Position::First } else { Position::Later };
        let (journal, found) = journal::scan(*file, position, sources.get(*file));
        journals.push(journal);
        findings.extend(found);
    }
    let (notebook, found) = model::read((&journals, sources), KINDS, evidence);
    findings.extend(found);
    let (plan, found) = graph::plan(&notebook);
    findings.extend(found);
    let (results, found) = evaluate::run(&notebook, &plan, draws);
    findings.extend(found);
    sort(&mut findings);
    Worked { journals, notebook, plan, results, findings, reports: OnceLock::new() }
}

impl Worked {
    pub(crate) fn told(&self) -> Told<'_> {
        Told { notebook: &self.notebook, plan: &self.plan, results: &self.results }
    }

    /// What is said of each block, by its number; worded once, however often it is told.
    pub(crate) fn reports(&self) -> &[BlockReport] {
        self.reports.get_or_init(|| {
            let told = self.told();
            let count = self.notebook.blocks.len();
            let helpers = available_parallelism().map_or(1, NonZero::get).min(count / WORTH_A_THREAD).max(1);
            if helpers == 1 {
                return (0..count).map(|number| told.block(number)).collect();
            }
            let share = count.div_ceil(helpers);
            let ranges = (0..count).step_by(share).map(|start| start..(start + share).min(count));
            // Each block is worded alone, so that who does it makes no difference.
            std::thread::scope(|threads| {
                let work = |range: Range<usize>| move || range.map(|number| told.block(number)).collect();
                let workers: Vec<ScopedJoinHandle<'_, Vec<BlockReport>>> =
                    ranges.map(|range| threads.spawn(work(range))).collect();
                let done = workers.into_iter().flat_map(|worker| match worker.join() {
                    Ok(reports) => reports,
                    Err(fault) => resume_unwind(fault),
                });
                done.collect()
            })
        })
    }

    pub(crate) fn has_errors(&self) -> bool {
        self.findings.iter().any(Finding::is_error)
    }
}

/// By place; what has none comes first. One finding is told once.
pub(crate) fn sort(findings: &mut Vec<Finding>) {
    let rank = |severity| match severity {
        Severity::Error => 0,
        Severity::Warning => 1,
        Severity::Note => 2,
    };
    findings.sort_by_key(|finding| {
        (finding.span.map(|span| (span.file, span.start)), rank(finding.code.severity))
    });
    findings.dedup();
}
