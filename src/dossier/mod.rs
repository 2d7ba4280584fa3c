//! Computes nothing: every number arrives rounded, with its unit. Templates choose marks, not facts.

mod charts;
mod drawing;
mod html;
mod layout;
mod message;
mod pdf;
mod pen;
mod pictures;
mod piece;
mod plot;
mod points;
mod screen;
mod view;

use std::collections::BTreeMap;

use crate::compile::Worked;
use crate::findings::{Finding, codes};
use crate::model::Evidence;
use crate::moves::Moves;
use crate::source::Sources;
use crate::words::words;

pub(crate) use screen::{Beside, Screen};
pub(crate) use view::date;

/// What a dossier is made from.
pub(crate) struct Given<'a> {
    pub worked: &'a Worked,
    pub sources: &'a Sources,
    pub evidence: &'a dyn Evidence,
    /// Seconds since 1970 UTC.
    pub stamp: i64,
    /// Why it is issued although a safety or legal requirement fails.
    pub despite: Option<&'a str>,
    /// What moved since an earlier state, where there is one.
    pub moves: Option<Since<'a>>,
    /// The revisions before, the first of them first.
    pub past: &'a [Past],
}

/// What a revision's register says.
pub(crate) struct Past {
    pub revision: String,
    pub date: String,
    /// In SI, with the expanded uncertainty.
    pub results: BTreeMap<String, (f64, f64)>,
}

/// The moves since an earlier state of the journal.
#[derive(Clone, Copy)]
pub(crate) struct Since<'a> {
    /// `revision A of 2026-03-02`.
    pub told: &'a str,
    pub moves: &'a Moves,
}

/// The printed documents, and what was found while printing.
pub(crate) struct Made {
    pub dossier_html: String,
    pub dossier_pdf: Vec<u8>,
    pub summary_html: String,
    pub summary_pdf: Vec<u8>,
    /// One sheet, where a block tells of rescue.
    pub rescue_pdf: Option<Vec<u8>>,
    pub findings: Vec<Finding>,
    /// Of the dossier and of the summary, on paper.
    pub pages: (usize, usize),
}

/// Builds dossier and summary once each, and prints both twice: pages for the screen on one thread, for paper on
/// another.
pub(crate) fn build(given: &Given<'_>) -> Made {
    let scene = view::Scene::new(given);
    let dossier = view::dossier(&scene);
    let (dossier_pdf, summary_pdf, [dossier_html, summary_html]) = std::thread::scope(|threads| {
        let page = threads.spawn(|| html::html(&dossier));
        let dossier = pdf::pdf(&dossier);
        // The summary says on which page of the dossier a thing stands.
        let summary = view::summary(&scene, &dossier.places);
        let (summary_pdf, summary) = (pdf::pdf(&summary), html::html(&summary));
        // A panic over there is a panic here.
        let page = page.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault));
        (dossier, summary_pdf, [page, summary])
    });
    let rescue = rescue(&scene);
    let (rescue, cut) = rescue.map_or((None, None), |(sheet, cut)| (Some(sheet), cut));
    let mut findings = scene.found;
    findings.extend(cut.map(|name| shortened(given.worked, &name)));
    let mut missing: Vec<char> = [Some(&dossier_pdf), Some(&summary_pdf), rescue.as_ref()]
        .into_iter()
        .flatten()
        .flat_map(|one| one.missing_glyphs.iter().copied())
        .collect();
    missing.sort_unstable();
    missing.dedup();
    findings.extend(missing.into_iter().map(|character| missing_glyph(given.sources, character)));
    Made {
        pages: (dossier_pdf.pages, summary_pdf.pages),
        dossier_html,
        dossier_pdf: dossier_pdf.bytes,
        summary_html,
        summary_pdf: summary_pdf.bytes,
        rescue_pdf: rescue.map(|sheet| sheet.bytes),
        findings,
    }
}

/// The sheet for a rescue crew: as large as one sheet has room for, with texts cut where nothing else helps. With the name
/// of its block where they are.
fn rescue(scene: &view::Scene<'_>) -> Option<(pdf::Printed, Option<String>)> {
    let mut made = None;
    for fit in view::Fit::ALL {
        let sheet = view::rescue(scene, fit)?;
        let printed = pdf::pdf(&sheet.document);
        let fits = printed.pages == 1;
        made = Some((printed, sheet.cut));
        if fits {
            break;
        }
    }
    made
}

/// Told at the block.
fn shortened(worked: &Worked, name: &str) -> Finding {
    let message = words!("the rescue sheet of `{}` had to be cut to fit one sheet", name);
    let help = "shorten names, notes and sentences: a crew reads nothing that is not on the sheet";
    let block = worked.notebook.blocks.iter().find(|block| block.name == name);
    let place = block.map(|block| block.name_span);
    Finding { span: place, ..Finding::placeless(&codes::RESCUE_CUT, message, help) }
}

/// The journal's title, or the first file's first heading, or its path.
pub(crate) fn title(worked: &Worked, sources: &Sources) -> String {
    view::title(worked, sources)
}

/// Told at the first place where the character stands.
fn missing_glyph(sources: &Sources, character: char) -> Finding {
    let message = words!(
        "no embedded font has `{}` ({}); the PDF shows a box",
        character,
        format!("U+{:04X}", u32::from(character))
    );
    let help = "write it in other words";
    let place = sources.0.iter().enumerate().find_map(|(file, source)| {
        let at = source.text.find(character)?;
        let file = crate::source::FileId(u32::try_from(file).unwrap_or(0));
        Some(crate::source::Span::new(file, at, at + character.len_utf8()))
    });
    match place {
        Some(span) => Finding::new(&codes::MISSING_GLYPH, span, message, help),
        None => Finding::placeless(&codes::MISSING_GLYPH, message, help),
    }
}
