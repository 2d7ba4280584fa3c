//! The contents: entries with leaders to page numbers that are filled in when all pages are known.

use super::super::piece::{ContentsEntry, Face, Rich, Run};
use super::flow::{Column, Flow};
use super::inline::Inline;
use super::mark::{Area, Link};
use super::slab::{PageReference, Slab};
use super::structure::Role;
use super::voice::{SMALL, Voice};

/// Room for a page number and the gap before it.
const NUMBER: f64 = 24.0;

/// How many stand side by side on the width of a page.
const COLUMNS: usize = 3;

/// How deep columns are before the next ones begin under them.
const DEEPEST: usize = 36;

/// Between two columns.
const BETWEEN: f64 = 18.0;

impl Flow {
    pub(crate) fn contents(&mut self, entries: &[ContentsEntry], column: &Column) {
        let shallowest = entries.iter().map(|entry| entry.level).min().unwrap_or(1);
        let parent = self.element(Role::Contents, column.parent);
        // Columns, read down one after the other; across the log column too, where that is empty.
        let wide = self.note_is_empty() && column.left == 0.0 && column.bands.is_empty();
        let (room, count) = if wide { (self.frame.across(), COLUMNS) } else { (column.width, 2) };
        let width = (room - BETWEEN * (count - 1) as f64) / count as f64;
        let mut strips: Vec<Slab> = Vec::new();
        for entry in entries {
            let depth = entry.level.saturating_sub(shallowest).min(6);
            let voice = match depth {
                0 => Voice { even: false, ..SMALL.bold() },
                _ => Voice { even: false, ..SMALL },
            };
            let left = 10.0 * f64::from(depth);
            let mut rich = entry.text.clone();
            if !entry.remark.is_empty() {
                rich.0.push(Run::Text { text: "  ".into(), face: Face::Plain });
                rich.0.extend(quiet(&entry.remark).0);
            }
            let element = self.element(Role::ContentsEntry, Some(parent));
            let lines = self.lines(Inline::rich(&rich, voice), voice, width - NUMBER - left);
            let last = lines.len();
            for (index, line) in lines.into_iter().enumerate() {
                let end = left + line.width;
                let mut slab = Slab::line(line, left, voice.baseline());
                slab.height = voice.leading;
                slab.tags.push((0, Some(element)));
                let area = Area { left, top: 0.0, right: width, bottom: voice.leading };
                let target = super::super::piece::Target::Inner { id: entry.id.clone() };
                slab.links.insert(0, Link { area, target });
                if index + 1 == last {
                    slab.references.push(PageReference {
                        id: entry.id.clone(),
                        left: end + 4.0,
                        right: width,
                        baseline: voice.baseline(),
                        element: Some(element),
                    });
                }
                strips.push(slab);
            }
        }
        let begin = self.slabs.len();
        let step = width + BETWEEN;
        let mut strips = strips.into_iter().peekable();
        while strips.peek().is_some() {
            let part: Vec<Slab> = strips.by_ref().take(DEEPEST * count).collect();
            let depth = part.len().div_ceil(count).max(1);
            let mut lines: Vec<Slab> = Vec::new();
            for (number, mut strip) in part.into_iter().enumerate() {
                strip.shift(column.left + step * (number / depth) as f64);
                match lines.get_mut(number % depth) {
                    Some(line) => line.join(strip),
                    None => lines.push(Slab { wide, bands: column.bands.clone(), ..strip }),
                }
            }
            // No column is read over the end of a page.
            let kept = lines.len() - 1;
            lines.iter_mut().take(kept).for_each(|line| line.keep = true);
            lines.into_iter().for_each(|line| self.push(line));
        }
        self.space(begin, 0.0, 10.0);
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
