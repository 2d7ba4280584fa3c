//! The line of travel, from files as text to everything that is worked out of them.

use std::sync::OnceLock;

use crate::blocks::KINDS;
use crate::evaluate::{self, Draws, Results};
use crate::findings::{Finding, Severity};
use crate::graph::{self, Plan};
use crate::journal::{self, Journal, Position};
use crate::model::{self, Changeable, Evidence, Notebook};
use crate::parallel;
use crate::report::{BlockReport, Extent, Told};
use crate::source::{FileId, Sources};

/// How many blocks a core words at once.
const SHARE: usize = 32;

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
    let scanned = parallel::each(files.len(), 1, |number| {
        let position = if number == 0 { Position::First } else { Position::Later };
        journal::scan(files[number], position, sources.get(files[number]))
    });
    let (mut journals, found): (Vec<Journal>, Vec<Vec<Finding>>) = scanned.into_iter().unzip();
    let mut findings: Vec<Finding> = found.into_iter().flatten().collect();
    findings.extend(model::rename_old(&mut journals, KINDS));
    let (mut notebook, found) = model::read((&journals, sources), KINDS, evidence);
    findings.extend(found);
    if notebook.blocks.iter().any(|block| block.block.study().is_some()) {
        let changeable = Changeable::new((&journals, sources), KINDS, evidence);
        findings.extend(evaluate::study::answer_studies(&mut notebook, &changeable));
    }
    let (plan, found) = graph::plan(&notebook);
    findings.extend(found);
    let (results, found) = evaluate::run(&notebook, &plan, draws);
    findings.extend(found);
    findings.extend(Told { notebook: &notebook, plan: &plan, results: &results }.unfit_live());
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
            parallel::each(self.notebook.blocks.len(), SHARE, |number| told.block(number, Extent::Whole))
        })
    }

    /// What `make` makes of what each block's region is to say, by its number. Nothing of it is kept.
    pub(crate) fn of_reports<T: Send>(&self, make: impl Fn(&BlockReport) -> T + Sync) -> Vec<T> {
        let told = self.told();
        parallel::each(self.notebook.blocks.len(), SHARE, |number| match self.reports.get() {
            Some(reports) => make(&reports[number]),
            None => make(&told.block(number, Extent::Region)),
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

#[cfg(test)]
mod tests {
    use std::fs;
    use std::path::{Path, PathBuf};
    use std::sync::Arc;
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::{Worked, compile};
    use crate::evaluate::{Draws, Verdict};
    use crate::model::{Evidence, EvidenceFault};
    use crate::source::{FileId, Source, Sources};

    struct Folder(PathBuf);

    impl Evidence for Folder {
        fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
            fs::read(self.0.join(path)).map(Arc::from).map_err(|_| EvidenceFault::Missing)
        }
    }

    fn demonstration(draws: Option<Draws>) -> Worked {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("notebooks-demo/pickup");
        let mut paths: Vec<PathBuf> =
            fs::read_dir(&folder).expect("a folder").map(|entry| entry.expect("a file").path()).collect();
        paths.retain(|path| path.extension().is_some_and(|ending| ending == "md"));
        paths.sort();
        let source = |path: &PathBuf| Source::new("journal.md", fs::read_to_string(path).expect("a journal"));
        let sources = Sources(paths.iter().map(source).collect());
        let files: Vec<FileId> = (0..paths.len()).map(|at| FileId(at as u32)).collect();
        let worked = compile(&sources, &files, &Folder(folder), draws);
        assert!(!worked.has_errors());
        worked
    }

    /// What the probes of first order cost on the demonstration, beside first order itself.
    #[test]
    fn probes_cost_little_beside_the_nudges() {
        let worked = demonstration(None);
        let count = |runs: &AtomicUsize| runs.load(Ordering::Relaxed);
        let runs = &worked.results.runs;
        let (nudged, probed, drawn) = (count(&runs.nudged), count(&runs.probed), count(&runs.drawn));
        println!("{nudged} runs for nudges, {probed} for probes, {drawn} for draws");
        assert!(probed > 0 && drawn > 0);
        assert!(10 * (nudged + probed) <= 16 * nudged, "{nudged} runs for nudges, {probed} for probes");
        // Most verdicts by draws are settled in the first round, and none is worked over and over for a width.
        assert!(drawn <= 10 * nudged, "{nudged} runs for nudges, {drawn} for draws");
    }

    #[test]
    fn while_draws_are_to_come_nothing_is_promised_that_they_may_take_back() {
        let (now, later) = (demonstration(None), demonstration(Some(Draws::Later)));
        assert_eq!(later.results.runs.drawn.load(Ordering::Relaxed), 0);
        let mut waiting = 0;
        for (drawn, first) in now.results.judged.iter().zip(&later.results.judged) {
            assert_eq!(drawn.draws.is_some(), first.draws == Some(0));
            match first.draws {
                Some(_) => {
                    waiting += 1;
                    assert_ne!(first.verdict, Verdict::Meets, "{}", first.reason);
                }
                None => assert_eq!((drawn.verdict, &drawn.reason), (first.verdict, &first.reason)),
            }
        }
        assert!(waiting > 0, "the demonstration has a verdict by draws");
    }
}
