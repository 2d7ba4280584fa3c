//! The contents: entries with leaders to page numbers that are filled in when all pages are known.

use super::super::piece::{ContentsEntry, Face, Rich, Run};
use super::flow::{Column, Flow};
use super::inline::Inline;
use super::mark::{Area, Link};
use super::slab::{PageReference, Slab};
use super::structure::Role;
use super::voice::{BODY, SMALL, Voice};

/// Room for a page number and the gap before it.
const NUMBER: f64 = 30.0;

impl Flow {
    pub(crate) fn contents(&mut self, entries: &[ContentsEntry], column: &Column) {
        let shallowest = entries.iter().map(|entry| entry.level).min().unwrap_or(1);
        let parent = self.element(Role::Contents, column.parent);
        let begin = self.slabs.len();
        for entry in entries {
            let depth = entry.level.saturating_sub(shallowest).min(6);
            let voice = match depth {
                0 => Voice { even: false, ..BODY.bold() },
                1 => Voice { even: false, ..BODY },
                _ => Voice { even: false, leading: 10.2, ..SMALL },
            };
            let left = column.left + 12.0 * f64::from(depth);
            let room = column.left + column.width - NUMBER - left;
            let mut rich = entry.text.clone();
            if !entry.remark.is_empty() {
                rich.0.push(Run::Text { text: "  ".into(), face: Face::Plain });
                rich.0.extend(quiet(&entry.remark).0);
            }
            let element = self.element(Role::ContentsEntry, Some(parent));
            self.current = Some(element);
            let lines = self.lines(Inline::rich(&rich, voice), voice, room);
            let count = lines.len();
            let first = self.slabs.len();
            for (index, line) in lines.into_iter().enumerate() {
                let width = line.width;
                let mut slab = Slab::line(line, left, voice.baseline());
                slab.height = voice.leading;
                slab.bands.clone_from(&column.bands);
                slab.keep = index + 1 < count;
                let right = column.left + column.width;
                let area = Area { left, top: 0.0, right, bottom: voice.leading };
                let target = super::super::piece::Target::Inner { id: entry.id.clone() };
                slab.links.insert(0, Link { area, target });
                if index + 1 == count {
                    slab.references.push(PageReference {
                        id: entry.id.clone(),
                        left: left + width + 4.0,
                        right,
                        baseline: voice.baseline(),
                        element: Some(element),
                    });
                }
                self.push(slab);
            }
            self.space(first, if depth == 0 { 3.0 } else { 0.0 }, 0.0);
            if depth == 0
                && let Some(last) = self.slabs[first..].last_mut()
            {
                last.keep = true;
            }
        }
        if let Some(last) = self.slabs[begin..].last_mut() {
            last.keep = false;
            last.after = 10.0;
        }
    }
}

/// A remark is quieter than its entry, except for its verdicts.
fn quiet(rich: &Rich) -> Rich {
    let runs = rich.0.iter().map(|run| match run {
        Run::Text { text, face: Face::Plain } => Run::Text { text: text.clone(), face: Face::Quiet },
        other => other.clone(),
    });
    Rich(runs.collect())
}
