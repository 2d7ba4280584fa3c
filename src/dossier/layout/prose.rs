//! Headings, paragraphs, typed text and rules.

use super::super::piece::{Rich, Style};
use super::flow::{Column, Flow, pad};
use super::inline::Inline;
use super::mark::Mark;
use super::palette::{RULE, WASH};
use super::slab::{BandKind, Slab};
use super::structure::Role;
use super::voice::{CODE, heading, paragraph};

/// The width of running text, about 75 characters.
const MEASURE: f64 = 346.0;
/// A column as wide as this has no other beside it.
const ONE_COLUMN: f64 = 450.0;

impl Flow {
    pub(super) fn heading(&mut self, level: u8, text: &Rich, column: &Column) {
        let voice = heading(level);
        self.begin(Role::Heading(level.clamp(1, 6)), column);
        let (before, after) = match level {
            0 | 1 => (10.0, 10.0),
            2 => (12.0, 3.0),
            3 => (9.0, 2.0),
            4 => (7.0, 1.0),
            _ => (7.0, 2.0),
        };
        let first = self.slabs.len();
        let lines = self.lines(Inline::rich(text, voice), voice, column.width);
        self.text(lines, voice, column);
        for slab in &mut self.slabs[first..] {
            slab.keep = true;
            slab.heads = true;
        }
        if level <= 3
            && let Some(slab) = self.slabs.get_mut(first)
        {
            slab.outline = Some((level.max(1), text.words().replace('\u{a0}', " ")));
        }
        self.space(first, before, after);
    }

    pub(super) fn paragraph(&mut self, style: Style, text: &Rich, column: &Column) {
        let voice = paragraph(style);
        self.begin(Role::Paragraph, column);
        let first = self.slabs.len();
        // On a sheet of one column stand short lines, which run to its width.
        let measured = style == Style::Body && column.width < ONE_COLUMN;
        let width = if measured { column.width.min(MEASURE) } else { column.width };
        let lines = self.lines(Inline::rich(text, voice), voice, width);
        self.text(lines, voice, column);
        if style == Style::Caption {
            self.caption(first);
        }
        // A note between what belongs together does not part it.
        let together =
            first.checked_sub(1).and_then(|above| self.slabs.get(above)).is_some_and(|slab| slab.keep);
        if style == Style::Small && together && !column.tight {
            for slab in &mut self.slabs[first..] {
                slab.keep = true;
            }
        }
        let gap = match style {
            _ if column.tight => 1.0,
            Style::Body => 4.5,
            Style::Lead => 6.0,
            Style::Large => 4.0,
            Style::Small => 3.0,
            Style::Caption => 3.0,
        };
        self.space(first, gap, gap);
    }

    /// A caption below a picture stays with it; any other stays with what it introduces.
    fn caption(&mut self, first: usize) {
        let above = first.checked_sub(1).and_then(|above| self.slabs.get_mut(above));
        match above {
            Some(slab) if slab.marks.iter().any(|mark| matches!(mark, Mark::Image { .. })) => {
                slab.keep = true;
                slab.after = 4.0;
            }
            _ => {
                if let Some(last) = self.slabs[first..].last_mut() {
                    last.keep = true;
                }
            }
        }
    }

    pub(super) fn code(&mut self, text: &str, column: &Column) {
        self.begin(Role::Paragraph, column);
        let first = self.slabs.len();
        let mut bands = column.bands.clone();
        bands.extend(self.band(column, BandKind::Ground(WASH)));
        let inner = Column { bands, ..column.inset(7.0, Vec::new()) };
        let inner = Column { width: inner.width - 7.0, ..inner };
        let shown = text.replace("\r\n", "\n").replace('\t', "    ");
        for line in shown.strip_suffix('\n').unwrap_or(&shown).split('\n') {
            let lines = self.lines(Inline::plain(line, CODE), CODE, inner.width);
            for line in lines {
                let slab = Slab::line(line, inner.left, CODE.baseline());
                self.push(Slab { height: CODE.leading, bands: inner.bands.clone(), ..slab });
            }
        }
        pad(&mut self.slabs[first..], 4.0);
        keep_ends(&mut self.slabs[first..]);
        self.space(first, 7.0, 7.0);
    }

    pub(super) fn rule(&mut self, column: &Column) {
        let middle = 3.0;
        let (left, right) = (column.left, column.left + column.width);
        let marks = vec![Mark::hairline((left, middle), (right, middle), RULE)];
        let bands = column.bands.clone();
        self.push(Slab {
            height: 6.0,
            before: 8.0,
            after: 8.0,
            baseline: 6.0,
            marks,
            bands,
            ..Slab::default()
        });
    }
}

/// The first two and the last two strips of a run stay together.
fn keep_ends(slabs: &mut [Slab]) {
    let count = slabs.len();
    if count > 1 {
        slabs[0].keep = true;
        slabs[count - 2].keep = true;
    }
}
