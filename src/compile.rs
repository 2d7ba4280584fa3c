//! The line of travel, from files as text to everything that is worked out of them.

use crate::blocks::KINDS;
use crate::evaluate::{self, Draws, Results};
use crate::findings::{Finding, Severity};
use crate::graph::{self, Plan};
use crate::journal::{self, Journal, Position};
use crate::model::{self, Evidence, Notebook};
use crate::report::Told;
use crate::source::{FileId, Sources};

/// A journal that has been read and worked.
pub(crate) struct Worked {
    pub journals: Vec<Journal>,
    pub notebook: Notebook,
    pub plan: Plan,
    pub results: Results,
    /// In the order of the files; those without a place first.
    pub findings: Vec<Finding>,
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
    Worked { journals, notebook, plan, results, findings }
}

impl Worked {
    pub(crate) fn told(&self) -> Told<'_> {
        Told { notebook: &self.notebook, plan: &self.plan, results: &self.results }
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
