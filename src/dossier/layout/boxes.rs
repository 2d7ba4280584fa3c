//! Openings of blocks, large figures, cautions, drawings and places to sign.

use super::super::drawing::{Anchor, Drawing, Stroke, TextSize, Weight};
use super::super::piece::{Face, HeadlineFigure, Rich, SignatureBox};
use super::flow::{Column, Flow, pad, pad_top};
use super::inline::{Inline, look};
use super::lines::Measured;
use super::mark::{Area, Dash, Link, Mark};
use super::palette::{BLACK, Colour, INK, QUIET, RULE};
use super::slab::{BandKind, Slab};
use super::structure::Role;
use super::symbols::high_voltage;
use super::voice::{BODY, CAPTION, CELL, FIGURE, LABEL, LEAD, LOG, Voice};

/// Between the label of a figure and the figure behind it.
const AFTER_LABEL: f64 = 5.0;

/// How many figures a line of them has at least.
const TWO: usize = 2;

/// The width of the warning sign.
const SIGN: f64 = 44.0;

/// Of the one beside a caution that is told elsewhere.
const SMALL_SIGN: f64 = 12.0;

/// The height of a line to write on.
const WRITING: f64 = 19.0;

/// How wide a line to write on is at least, with the space after it.
const SIGNED: f64 = 112.0;

impl Flow {
    /// A worked block begins with a line across the page, as an entry in a logbook does.
    pub(crate) fn opening(
        &mut self,
        (kind, name, words): (&str, &str, &Rich),
        sentence: &Rich,
        column: &Column,
    ) {
        self.begin(Role::Paragraph, column);
        let first = self.slabs.len();
        let mut inline = Inline::plain(kind, LABEL);
        if !name.is_empty() {
            inline.push("   ", look(LABEL, Face::Plain));
            inline.push(name, look(LABEL, Face::Code));
        }
        if !words.is_empty() {
            inline.push("   ", look(LABEL, Face::Plain));
            inline.add(words, LABEL, None);
        }
        let lines = self.lines(inline, LABEL, column.width);
        self.text(lines, LABEL, column);
        if let Some(slab) = self.slabs.get_mut(first) {
            pad_top(slab, 2.5);
            let rule = [(column.left, 0.0), (self.frame.across(), 0.0)];
            slab.marks
                .insert(0, Mark::Line { points: rule.to_vec(), weight: 0.8, colour: INK, dash: Dash::Solid });
        }
        self.begin(Role::Paragraph, column);
        let sentence_at = self.slabs.len();
        let lines = self.lines(Inline::rich(sentence, LEAD), LEAD, column.width);
        self.text(lines, LEAD, column);
        self.space(sentence_at, 1.0, 0.0);
        for slab in &mut self.slabs[first..] {
            slab.keep = true;
        }
        self.space(first, 7.0, 2.0);
    }

    pub(crate) fn headline(&mut self, figures: &[HeadlineFigure], column: &Column) {
        let first = self.slabs.len();
        // Rather two in a line than three that take several.
        let whole = [figures, &figures[..figures.len().min(TWO)]];
        if whole.into_iter().any(|figures| self.headline_in_a_line(figures, column)) {
            self.space(first, 1.0, 3.0);
            return;
        }
        for row in figures.chunks(3) {
            let width = column.width / row.len().max(2) as f64;
            let mut slab = Slab { bands: column.bands.clone(), keep: true, after: 4.0, ..Slab::default() };
            for (index, figure) in row.iter().enumerate() {
                let element = self.element(Role::Paragraph, column.parent);
                slab.tag(Some(element));
                let left = column.left + width * index as f64;
                let room = width - 10.0;
                let label = self.lines(Inline::plain(&figure.label, LABEL), LABEL, room);
                let mut y = LABEL.baseline();
                for line in label {
                    slab.put(line, left, y);
                    y += LABEL.leading;
                }
                let mut y = y - LABEL.baseline() + FIGURE.baseline();
                slab.baseline = slab.baseline.max(LABEL.baseline());
                for line in self.lines(Inline::plain(&figure.value, FIGURE), FIGURE, room) {
                    if let Some(target) = &figure.target {
                        let area = Area {
                            left,
                            top: y - FIGURE.size,
                            right: left + line.width,
                            bottom: y + FIGURE.size * 0.25,
                        };
                        slab.links.push(Link { area, target: target.clone() });
                    }
                    slab.put(line, left, y);
                    y += FIGURE.leading;
                }
                slab.height = slab.height.max(y - FIGURE.baseline());
            }
            self.push(slab);
        }
        self.space(first, 1.0, 3.0);
    }

    /// Each figure behind its label, where all of them fit in one line.
    fn headline_in_a_line(&mut self, figures: &[HeadlineFigure], column: &Column) -> bool {
        let mut parts = Vec::new();
        for figure in figures {
            let label = Measured::new(&mut self.setter, Inline::plain(&figure.label, LABEL), LABEL);
            let value = Measured::new(&mut self.setter, Inline::plain(&figure.value, FIGURE), FIGURE);
            parts.push((figure, label, value));
        }
        let taken: f64 =
            parts.iter().map(|(_, label, value)| label.widest + AFTER_LABEL + value.widest).sum();
        let apart = (column.width - taken) / parts.len().max(2) as f64;
        if apart < 10.0 {
            return false;
        }
        let mut slab = Slab {
            height: FIGURE.leading,
            baseline: FIGURE.baseline(),
            bands: column.bands.clone(),
            keep: true,
            ..Slab::default()
        };
        let mut left = column.left;
        for (figure, label, value) in parts {
            slab.tag(Some(self.element(Role::Paragraph, column.parent)));
            let from = left;
            for part in [label, value] {
                for line in part.lines(&mut self.setter, f64::MAX) {
                    let width = line.width;
                    slab.put(line, left, FIGURE.baseline());
                    left += width + AFTER_LABEL;
                }
            }
            if let Some(target) = &figure.target {
                let area = Area { left: from, top: 0.0, right: left, bottom: FIGURE.leading };
                slab.links.push(Link { area, target: target.clone() });
            }
            left += apart - AFTER_LABEL;
        }
        self.push(slab);
        true
    }

    pub(crate) fn caution(&mut self, signed: bool, (title, lines): (&str, &[Rich]), column: &Column) {
        let first = self.slabs.len();
        // Across the log column, which has nothing to say of it.
        let wide = self.note_is_empty() && column.left == 0.0 && column.bands.is_empty();
        let column =
            &Column { width: if wide { self.frame.across() } else { column.width }, ..column.clone() };
        let mut bands = column.bands.clone();
        bands.extend(self.band(column, BandKind::Sides(BLACK)));
        let sign = if signed { SIGN + 12.0 } else { 0.0 };
        let inner = column.inset(10.0, bands.clone()).inset(sign, bands);
        let parent = Some(self.element(Role::Box, column.parent));
        let inner = Column { width: inner.width - 10.0, parent, ..inner };
        self.begin(Role::Paragraph, &inner);
        let head = self.lines(Inline::plain(title, BODY.bold()), BODY.bold(), inner.width);
        self.text(head, BODY, &inner);
        for rich in lines {
            self.begin(Role::Paragraph, &inner);
            let at = self.slabs.len();
            let lines = self.lines(Inline::rich(rich, BODY), BODY, inner.width);
            self.text(lines, BODY, &inner);
            self.space(at, 2.0, 0.0);
        }
        let height: f64 = self.slabs[first..].iter().map(|slab| slab.height + slab.before).sum();
        if signed {
            // The sign needs its height even beside a single line.
            let short = SIGN * 0.87 - height;
            if let Some(last) = self.slabs[first..].last_mut().filter(|_| short > 0.0) {
                last.height += short;
            }
            let x = column.left + 10.0;
            self.begin_figure("warning sign: dangerous voltage", &inner);
            let sign = self.current;
            if let Some(slab) = self.slabs.get_mut(first) {
                slab.tag(sign);
                for mut mark in high_voltage(SIGN) {
                    mark.shift(x, 0.0);
                    slab.marks.push(mark);
                }
            }
        }
        self.close_box(first, column, BLACK);
        self.slabs[first..].iter_mut().for_each(|slab| slab.wide = wide);
        if height < self.frame.depth() * 0.5 {
            let count = self.slabs.len() - first;
            for slab in self.slabs[first..].iter_mut().take(count.saturating_sub(1)) {
                slab.keep = true;
            }
        }
        self.space(first, 10.0, 10.0);
    }

    /// A caution in small type, in a ruled box.
    pub(crate) fn caution_note(&mut self, signed: bool, text: &Rich, column: &Column) {
        let first = self.slabs.len();
        let mut bands = column.bands.clone();
        bands.extend(self.band(column, BandKind::Sides(BLACK)));
        let measured = Measured::new(&mut self.setter, Inline::rich(text, CELL), CELL);
        let one_line = measured.widest + SMALL_SIGN + 25.0 < column.width;
        let side = if one_line { SMALL_SIGN } else { 2.4 * SMALL_SIGN };
        let sign = if signed { side + 7.0 } else { 0.0 };
        let inner = column.inset(6.0 + sign, bands);
        let inner = Column { width: inner.width - 6.0, ..inner };
        self.begin(Role::Note, column);
        let note = self.current;
        let lines = measured.lines(&mut self.setter, inner.width);
        let height = (lines.len() as f64 * CELL.leading).max(side * 0.87);
        self.text(lines, CELL, &inner);
        if let Some(slab) = self.slabs.get_mut(first).filter(|_| signed) {
            slab.tag(None);
            for mut mark in high_voltage(side) {
                mark.shift(column.left + 6.0, 0.5);
                slab.marks.push(mark);
            }
            slab.tag(note);
        }
        let count = self.slabs.len() - first;
        if let Some(last) = self.slabs.last_mut().filter(|_| signed) {
            // The sign needs its height even beside few lines.
            last.height += (height - count as f64 * CELL.leading).max(0.0);
        }
        self.box_in(first, if one_line { 1.5 } else { 3.0 }, (column, BLACK));
        // In one line it stands before the block that it is about.
        let kept = if one_line { count } else { count.saturating_sub(1) };
        for slab in self.slabs[first..].iter_mut().take(kept) {
            slab.keep = true;
        }
        self.space(first, 6.0, if one_line { 4.0 } else { 6.0 });
    }

    /// Closes a box whose sides are bands: its top and its bottom.
    pub(crate) fn close_box(&mut self, first: usize, column: &Column, colour: Colour) {
        self.box_in(first, 7.0, (column, colour));
    }

    fn box_in(&mut self, first: usize, air: f64, (column, colour): (&Column, Colour)) {
        pad(&mut self.slabs[first..], air);
        let across = [column.left - 0.4, column.left + column.width + 0.4];
        let edge = |y: f64| Mark::Line {
            points: vec![(across[0], y), (across[1], y)],
            weight: 0.8,
            colour,
            dash: Dash::Solid,
        };
        if let Some(slab) = self.slabs.get_mut(first) {
            slab.tag(None);
            slab.marks.push(edge(0.0));
        }
        if let Some(slab) = self.slabs[first..].last_mut() {
            let bottom = slab.height;
            slab.tag(None);
            slab.marks.push(edge(bottom));
        }
    }

    pub(crate) fn figure(&mut self, drawing: &Drawing, caption: &Rich, column: &Column) {
        // What it shows is said in the log where that has room for it: the picture stands closer to its block.
        let beside = self.frame.has_log() && self.note_is_empty() && column.left == 0.0;
        let beside = beside && column.bands.is_empty();
        let said = match beside {
            true => self.lines(Inline::rich(caption, LOG), LOG, self.frame.log_width),
            false => Vec::new(),
        };
        let under = if said.is_empty() { caption.clone() } else { Rich::default() };
        let note_element = (!said.is_empty()).then(|| self.element(Role::Note, column.parent));
        self.begin_figure(&drawing.alt, column);
        let wide = drawing.width.max(1.0);
        let high = drawing.height.max(1.0);
        let scale = (column.width / wide).min(self.frame.depth() * 0.7 / high).min(1.0);
        let mut slab = Slab {
            height: high * scale,
            before: 5.0,
            after: 3.0,
            baseline: CAPTION.baseline(),
            keep: !under.is_empty(),
            floats: column.bands.is_empty() && !caption.is_empty(),
            bands: column.bands.clone(),
            note: said,
            note_element,
            ..Slab::default()
        };
        for stroke in &drawing.marks {
            self.stroke(stroke, (column.left, scale), &mut slab);
        }
        self.push(slab);
        if !under.is_empty() {
            self.begin(Role::Paragraph, column);
            let first = self.slabs.len();
            let lines = self.lines(Inline::rich(&under, CAPTION), CAPTION, column.width);
            self.text(lines, CAPTION, column);
            self.space(first, 2.0, 5.0);
        }
    }

    fn stroke(&mut self, stroke: &Stroke, (left, scale): (f64, f64), slab: &mut Slab) {
        let place = |points: &[(f64, f64)]| -> Vec<(f64, f64)> {
            points.iter().map(|(x, y)| (left + x * scale, y * scale)).collect()
        };
        match stroke {
            Stroke::Line { points, weight, ink, dashed } => {
                let weight = match weight {
                    Weight::Thin => 0.5,
                    Weight::Thick => 1.25,
                };
                let dash = if *dashed { Dash::Dashed } else { Dash::Solid };
                let points = place(points);
                slab.marks.push(Mark::Line { points, weight, colour: (*ink).into(), dash });
            }
            Stroke::Area { points, ink } => {
                slab.marks.push(Mark::Shape { points: place(points), colour: (*ink).into() });
            }
            Stroke::Text { x, y, text, size, anchor, ink } => {
                let size = match size {
                    TextSize::Small => 7.5,
                    TextSize::Label => 9.0,
                    TextSize::Large => 12.0,
                };
                let voice = Voice { size: size * scale, colour: (*ink).into(), ..CELL };
                let line = self.lines(Inline::plain(text, voice), voice, f64::MAX).remove(0);
                let start = match anchor {
                    Anchor::Start => 0.0,
                    Anchor::Middle => line.width / 2.0,
                    Anchor::End => line.width,
                };
                slab.put(line, left + x * scale - start, y * scale);
            }
        }
    }

    pub(crate) fn signatures(&mut self, boxes: &[SignatureBox], column: &Column) {
        let gap = 14.0;
        for pair in boxes.chunks(2) {
            // Who has more to write has more room.
            let wanted = |of: &SignatureBox| of.lines.len() as f64 + 1.0;
            let share = (column.width - gap) / pair.iter().map(wanted).sum::<f64>();
            let widths: Vec<f64> = match pair {
                [_] => vec![(column.width - gap) / 2.0],
                both => both.iter().map(|of| share * wanted(of)).collect(),
            };
            let mut slab = Slab { before: 6.0, after: 4.0, bands: column.bands.clone(), ..Slab::default() };
            for (index, signature) in pair.iter().enumerate() {
                let element = self.element(Role::Paragraph, column.parent);
                slab.tag(Some(element));
                let width = widths[index];
                let left = column.left + widths[..index].iter().map(|width| width + gap).sum::<f64>();
                let mut y = 6.0 + CELL.baseline();
                slab.baseline = y;
                for line in
                    self.lines(Inline::plain(&signature.title, CELL.bold()), CELL.bold(), width - 16.0)
                {
                    slab.put(line, left + 8.0, y);
                    y += CELL.leading;
                }
                y -= CELL.baseline();
                // What fits stands side by side.
                let abreast = ((width - 8.0) / SIGNED).floor().max(1.0) as usize;
                for labels in signature.lines.chunks(abreast) {
                    y += WRITING;
                    let room = (width - 8.0) / labels.len() as f64 - 8.0;
                    let mut deepest = 0.0_f64;
                    for (place, label) in labels.iter().enumerate() {
                        let from = left + 8.0 + (room + 8.0) * place as f64;
                        slab.marks.push(Mark::hairline((from, y), (from + room, y), QUIET));
                        let mut below = 0.0;
                        for line in self.lines(Inline::plain(label, LABEL), LABEL, room) {
                            slab.put(line, from, y + below + LABEL.baseline() + 1.0);
                            below += LABEL.leading;
                        }
                        deepest = deepest.max(below);
                    }
                    y += deepest;
                }
                slab.height = slab.height.max(y + 6.0);
            }
            slab.tag(None);
            for index in 0..pair.len() {
                let width = widths[index];
                let left = column.left + widths[..index].iter().map(|width| width + gap).sum::<f64>();
                let area = Area { left, top: 0.0, right: left + width, bottom: slab.height };
                slab.marks.push(Mark::outline(area, 0.5, RULE));
            }
            self.push(slab);
        }
    }
}
