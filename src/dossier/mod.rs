//! Computes nothing: every number arrives rounded, with its unit. Templates choose marks, not facts.

mod charts;
mod drawing;
mod html;
mod layout;
mod pdf;
mod piece;
mod view;

use crate::compile::Worked;
use crate::findings::{Finding, codes};
use crate::model::Evidence;
use crate::source::Sources;

/// What a dossier is made from.
pub(crate) struct Given<'a> {
    pub worked: &'a Worked,
    pub sources: &'a Sources,
    pub evidence: &'a dyn Evidence,
    /// Seconds since 1970 UTC.
    pub stamp: i64,
}

/// The printed documents, and what was found while printing.
pub(crate) struct Made {
    pub dossier_html: String,
    pub dossier_pdf: Vec<u8>,
    pub summary_html: String,
    pub summary_pdf: Vec<u8>,
    pub findings: Vec<Finding>,
}

/// Builds dossier and summary once each, and prints both twice.
pub(crate) fn build(given: &Given<'_>) -> Made {
    let dossier = view::dossier(given);
    let mut findings = Vec::new();
    let summary = view::summary(given);
    let pdf = pdf::pdf(&dossier);
    let summary_pdf = pdf::pdf(&summary);
    let mut missing: Vec<char> =
        pdf.missing_glyphs.iter().chain(&summary_pdf.missing_glyphs).copied().collect();
    missing.sort_unstable();
    missing.dedup();
    for character in missing {
        findings.push(missing_glyph(given.sources, character));
    }
    Made {
        dossier_html: html::html(&dossier),
        dossier_pdf: pdf.bytes,
        summary_html: html::html(&summary),
        summary_pdf: summary_pdf.bytes,
        findings,
    }
}

/// The journal's title, or the first file's first heading, or its path.
pub(crate) fn title(worked: &Worked, sources: &Sources) -> String {
    view::title(worked, sources)
}

/// Told at the first place where the character stands.
fn missing_glyph(sources: &Sources, character: char) -> Finding {
    let message =
        format!("no embedded font has `{character}` (U+{:04X}); the PDF shows a box", u32::from(character));
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
