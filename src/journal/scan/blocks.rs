//! Code blocks: ours with their YAML and results regions, and all others.

use crate::words::{Words, words};
use std::collections::HashSet;
use std::ops::Range;

use super::{OpenCode, Walk};
use crate::findings::codes;
use crate::journal::fence::{self, Fence};
use crate::journal::lines::line_at;
use crate::journal::marks::{self, Found, RegionState};
use crate::journal::offsets::Offsets;
use crate::journal::prose::BlockForm;
use crate::journal::yaml;
use crate::parallel;

/// How many fences a core reads at once.
const SHARE: usize = 64;

/// The YAML of a fence, not yet read.
pub(super) struct Body {
    fence: usize,
    text: String,
    offsets: Offsets,
}

impl Walk<'_> {
    pub(super) fn end_code(&mut self, code: OpenCode, range: Range<usize>) {
        let span = self.span(&range);
        let words = code
            .info
            .as_ref()
            .and_then(|_| fence::info(self.text, range.start))
            .and_then(|info| fence::words(self.file, self.text, info));
        let Some(words) = words else {
            let language = code.info.as_deref().and_then(|info| info.split_whitespace().next());
            let language = language.unwrap_or_default().to_owned();
            return self.tree.block(BlockForm::Code { language, text: code.text }, span);
        };
        let geometry = fence::geometry(self.text, range, code.end);
        let number = self.fences.len();
        let mut region = RegionState::None;
        if !geometry.closed {
            let (line, _) = line_at(self.text, geometry.span.start);
            let opening = &self.text[line.clone()];
            let words = opening.trim_start_matches(['`', '~']);
            let fence = &opening[..opening.len() - words.len()];
            let message = "a fence that is opened here and never closed".to_owned();
            let help =
                words!("type `{}` on a line of its own after the block, indented like this one", fence);
            self.find(&codes::UNCLOSED_FENCE, &line, &message, &help);
        } else {
            self.bodies.push(Body { fence: number, text: code.text, offsets: code.offsets });
            if let Some(name) = &words.name {
                region = self.region_after(&geometry, number, &name.text);
            }
        }
        self.fences.push(Fence {
            spelling: words.spelling,
            kind: words.kind,
            name: words.name,
            extra: words.extra,
            span: self.span(&geometry.span),
            body_span: self.span(&geometry.body),
            body: None,
            closed: geometry.closed,
            prefix: self.text[geometry.prefix].to_owned(),
            line_end: geometry.line_end,
            after: geometry.after as u32,
            region,
        });
        self.tree.block(BlockForm::Fence(number), span);
    }

    /// Reads the YAML of all fences.
    pub(super) fn read_bodies(&mut self) {
        let bodies = std::mem::take(&mut self.bodies);
        let read =
            parallel::each(bodies.len(), SHARE, |at| yaml::read(&bodies[at].text, &bodies[at].offsets));
        for (body, (node, findings)) in bodies.iter().zip(read) {
            let fence = &mut self.fences[body.fence];
            fence.body = node;
            if fence.name.is_some() {
                self.findings.extend(findings);
            }
        }
    }

    fn region_after(&mut self, geometry: &fence::Geometry, fence: usize, name: &str) -> RegionState {
        let prefix = &self.text[geometry.prefix.clone()];
        let opening = marks::opening_after(self.text, geometry.after, prefix, name);
        match opening.and_then(|start| marks::region(self.file, self.text, start)) {
            None => RegionState::None,
            Some(found) => {
                if let Found::Whole(region) = &found {
                    self.region_end = region.span.end as usize;
                }
                self.found(found, Some(fence))
            }
        }
    }

    pub(super) fn found(&mut self, found: Found, fence: Option<usize>) -> RegionState {
        match found {
            Found::Whole(mut region) => {
                region.fence = fence;
                self.region_end = self.region_end.max(region.span.end as usize);
                self.half = false;
                self.regions.push(region);
                RegionState::Whole(self.regions.len() - 1)
            }
            Found::Half(span) => {
                let message = "a results region is opened here and not closed before the next mark";
                self.damage(&span.range(), message);
                self.half = true;
                // Its mark is not to be found a second time as raw HTML.
                self.region_end = self.region_end.max(span.end as usize);
                RegionState::Damaged
            }
        }
    }

    /// A region that no fence stands before: its block is gone, or it is a second one of its block.
    pub(super) fn orphans(&mut self) {
        let mut owned = HashSet::new();
        let mut damaged = HashSet::new();
        for fence in &self.fences {
            let names = match fence.region {
                RegionState::None => continue,
                RegionState::Whole(_) => &mut owned,
                RegionState::Damaged => &mut damaged,
            };
            names.extend(fence.name.as_ref().map(|name| name.text.clone()));
        }
        let orphans: Vec<(String, Range<usize>)> = self
            .regions
            .iter()
            .filter(|region| region.fence.is_none() && !damaged.contains(&region.name.text))
            .map(|region| (region.name.text.clone(), region.name.span.range()))
            .collect();
        for (name, range) in orphans {
            if owned.contains(&name) {
                self.damage(&range, words!("a second results region of `{}`", name));
            } else {
                let message = words!("a results region of `{}`, and no such block stands above it", name);
                let help = "run with `--drop-orphans` to remove it, or put the block back";
                self.find(&codes::ORPHAN_REGION, &range, &message, help);
            }
        }
    }

    pub(super) fn damage(&mut self, range: &Range<usize>, message: impl Into<Words>) {
        self.damaged = true;
        let help = "remove what is left of this results region, from `<!-- worked:` to the last `-->`; it is written anew";
        self.find(&codes::DAMAGED_REGION, range, message, help);
    }
}
