//! Changes bytes only inside results regions and the texts of live values; a second run changes nothing.

mod escape;
mod region;

use std::ops::Range;

use crate::findings::{Finding, codes};
use crate::journal::{Fence, Journal, Region, RegionState, body_hash, can_be_marked, region_body};
use crate::parallel;
use crate::source::Source;

use crate::words::words;
use escape::{body_text, link_text};
pub(crate) use region::{Detail, Earlier, region};

/// What a file should say.
#[derive(Clone, Debug, Default)]
pub(crate) struct Wanted {
    /// Bodies by the number of their fence, in any order; fences left out keep what they have.
    pub regions: Vec<(usize, Body)>,
    /// Texts by the number of their live value; live values left out keep what they have.
    pub live: Vec<(usize, String)>,
    pub edited: Edited,
    pub orphans: Orphans,
}

/// What stands in a results region.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Body {
    /// Lines joined by LF, without prefix and without a final line end.
    Worked(String),
    /// The block could not be worked: a region that is there says so, and none is begun.
    NotWorked,
}

/// What becomes of a region that was edited by hand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Edited {
    /// It is kept, and the file is not written.
    #[default]
    Keep,
    Overwrite,
}

/// What becomes of a region whose block is gone.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Orphans {
    #[default]
    Keep,
    Drop,
}

/// Changes of a file: byte ranges and what stands there instead, sorted and disjoint.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Edits(Vec<Edit>);

#[derive(Clone, Debug, PartialEq, Eq)]
struct Edit {
    range: Range<usize>,
    text: String,
}

/// How many regions a core writes at once.
const SHARE: usize = 64;

/// What stands in a region whose block could not be worked.
pub(crate) const NOT_WORKED: &str = "not worked: see findings";

/// The changes that make a file say what is wanted. `None` means that the file must not be written: a region
/// was edited by hand (a finding says which), or marks are damaged (the journal has complained already).
pub(crate) fn edits(source: &Source, journal: &Journal, wanted: &Wanted) -> (Option<Edits>, Vec<Finding>) {
    let findings = match wanted.edited {
        Edited::Keep => kept(journal, wanted.orphans),
        Edited::Overwrite => Vec::new(),
    };
    if journal.damaged || !findings.is_empty() {
        return (None, findings);
    }
    let text: &str = &source.text;
    let regions = parallel::each(wanted.regions.len(), SHARE, |at| {
        let (number, body) = &wanted.regions[at];
        let fence = journal.fences.get(*number)?;
        match (&fence.region, body) {
            (RegionState::Whole(region), body) => rewritten(text, journal.regions.get(*region)?, fence, body),
            (RegionState::None, Body::Worked(body)) if fence.closed => {
                let name = fence.name.as_ref().filter(|name| can_be_marked(&name.text))?;
                Some(begun(text, fence, &name.text, body))
            }
            _ => None,
        }
    });
    let live = wanted.live.iter().filter_map(|(number, shown)| {
        let live = journal.live.get(*number)?;
        let (plain, typed) = link_text(shown);
        (plain != live.text).then(|| Edit { range: live.text_span.range(), text: typed })
    });
    let dropped = journal
        .regions
        .iter()
        .filter(|region| region.fence.is_none() && wanted.orphans == Orphans::Drop)
        .map(|region| Edit { range: whole_lines(text, region), text: String::new() });
    let mut edits: Vec<Edit> = regions.into_iter().flatten().chain(live).chain(dropped).collect();
    edits.sort_by_key(|edit| (edit.range.start, edit.range.end));
    edits.dedup_by(|later, earlier| {
        let overlap = later.range.start < earlier.range.end || later.range == earlier.range;
        if overlap && later.text.is_empty() && earlier.text.is_empty() {
            // Two orphans at the end of a file share the line end between them.
            earlier.range.end = earlier.range.end.max(later.range.end);
        }
        // Two wishes for one place: the first is granted.
        overlap
    });
    (Some(Edits(edits)), Vec::new())
}

impl Edits {
    /// Whether the file says already what is wanted.
    pub(crate) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The ranges that change, each with the length of what stands there then.
    pub(crate) fn lengths(&self) -> Vec<(Range<usize>, usize)> {
        self.0.iter().map(|edit| (edit.range.clone(), edit.text.len())).collect()
    }

    /// The text with the changes made; every other byte stays.
    pub(crate) fn apply(&self, text: &str) -> String {
        let added: usize = self.0.iter().map(|edit| edit.text.len()).sum();
        let mut result = String::with_capacity(text.len() + added);
        let mut at = 0;
        for edit in &self.0 {
            result.push_str(&text[at..edit.range.start]);
            result.push_str(&edit.text);
            at = edit.range.end;
        }
        result.push_str(&text[at..]);
        result
    }
}

/// A finding for each region that was edited by hand and would have to be written.
fn kept(journal: &Journal, orphans: Orphans) -> Vec<Finding> {
    let edited = |region: &&Region| region.edited && (region.fence.is_some() || orphans == Orphans::Drop);
    journal
        .regions
        .iter()
        .filter(edited)
        .map(|region| {
            Finding::new(
                &codes::EDITED_REGION,
                region.name.span,
                words!(
                    "the results region of `{}` was edited by hand, so this file is not written",
                    region.name.text
                ),
                "put your words above the block or below the region, then run with `--overwrite-edits`",
            )
        })
        .collect()
}

/// A region that is there gets another body, if it has not that body already.
fn rewritten(text: &str, region: &Region, fence: &Fence, body: &Body) -> Option<Edit> {
    let body = match body {
        Body::Worked(body) => body_text(body),
        Body::NotWorked => NOT_WORKED.to_owned(),
    };
    if !region.edited && region_body(text, region) == body {
        return None;
    }
    let range = region.body_span.start as usize..region.closing_span.end as usize;
    let written = written(&body, &region.name.text, &region.prefix, fence.line_end);
    Some(Edit { range, text: written })
}

/// A region begins just after its fence.
fn begun(text: &str, fence: &Fence, name: &str, body: &str) -> Edit {
    let (prefix, end) = (&fence.prefix, fence.line_end);
    let after = fence.after as usize;
    let opening = format!("{prefix}<!-- worked:{name} -->{end}");
    let written = written(&body_text(body), name, prefix, end);
    // A file that ends with the fence, without a line end, ends with the region in the same way.
    let unended = !text[..after].ends_with(['\n', '\r']);
    let text = if unended { format!("{end}{opening}{written}") } else { format!("{opening}{written}{end}") };
    Edit { range: after..after, text }
}

/// The lines of a body and the closing mark, without its line end.
fn written(body: &str, name: &str, prefix: &str, line_end: &str) -> String {
    let mut text = String::with_capacity(2 * body.len());
    for line in body.split('\n') {
        text.push_str(prefix);
        text.push_str(line);
        text.push_str(line_end);
    }
    text.push_str(&format!("{prefix}<!-- /worked:{name} {} -->", body_hash(body)));
    text
}

/// The lines of an orphan. The last line of a file keeps its missing line end: the one before gives up its own.
fn whole_lines(text: &str, region: &Region) -> Range<usize> {
    let range = region.span.range();
    if text[range.clone()].ends_with(['\n', '\r']) {
        return range;
    }
    let before = &text[..range.start];
    let before = before.strip_suffix('\n').unwrap_or(before);
    before.strip_suffix('\r').unwrap_or(before).len()..range.end
}

#[cfg(test)]
mod tests;
