//! Tables: hairlines above and below, none between columns; decimal points in line; heads said again on each page.

use std::mem::take;
use std::rc::Rc;

use super::super::piece::{Align, Table};
use super::cells::{Cells, Grid};
use super::flow::{Column, Flow};
use super::inline::Inline;
use super::lines::Line;
use super::mark::Mark;
use super::palette::{Colour, INK, QUIET, RULE};
use super::slab::Slab;
use super::structure::Role;
use super::voice::{CAPTION, CELL, LABEL, Voice, WORKING};

/// Above and below the text of a row.
const AIR: f64 = 2.2;

impl Flow {
    pub(crate) fn table(&mut self, table: &Table, column: &Column) {
        self.set_table(table, column, CELL);
    }

    /// The algebra of a block: its summary, then a smaller table.
    pub(crate) fn working(&mut self, summary: &str, table: &Table, column: &Column) {
        let first = self.slabs.len();
        self.begin(Role::Paragraph, column);
        let lines = self.lines(Inline::plain(summary, LABEL.bold()), LABEL.bold(), column.width);
        self.text(lines, LABEL, column);
        keep_all(&mut self.slabs[first..]);
        self.space(first, 8.0, 0.0);
        self.set_table(table, column, WORKING);
        if let Some(slab) = self.slabs.get_mut(first + 1) {
            slab.before = slab.before.min(2.0);
        }
    }

    fn set_table(&mut self, table: &Table, column: &Column, voice: Voice) {
        if table.columns.is_empty() {
            return;
        }
        let first = self.slabs.len();
        if let Some(caption) = &table.caption {
            self.begin(Role::Paragraph, column);
            let lines = self.lines(Inline::rich(caption, CAPTION), CAPTION, column.width);
            self.text(lines, CAPTION, column);
            keep_all(&mut self.slabs[first..]);
        }
        let cells = Cells::new(&mut self.setter, table, voice);
        // Across the log column only where nothing is to be said there.
        let free =
            column.left == 0.0 && column.bands.is_empty() && table.rows.iter().all(|row| row.log.is_empty());
        let across = free.then(|| self.frame.across());
        let mut begin = self.slabs.len();
        for grid in cells.grids(column.width, across) {
            self.grid(&grid, column);
            self.space(begin, 3.0, 10.0);
            begin = self.slabs.len();
        }
        if let Some(slab) = self.slabs.get_mut(first) {
            slab.before = 9.0;
        }
    }

    fn grid(&mut self, grid: &Grid<'_>, column: &Column) {
        let cells = grid.cells;
        let element = self.element(Role::Table, column.parent);
        let mut head = None;
        let mut top_rule = true;
        if cells.headed() {
            let slab = self.head(element, grid, column);
            head = Some(Rc::new(vec![slab.clone()]));
            self.push(Slab { keep: true, ..slab });
            top_rule = false;
        }
        let count = cells.table.rows.len();
        for (index, row) in cells.table.rows.iter().enumerate() {
            let mut strips = self.row((index, element), grid, column);
            if let Some(first) = strips.first_mut() {
                if take(&mut top_rule) || (row.strong && index > 0) {
                    first.tag(None);
                    first.marks.push(grid.rule(column, 0.0, if index == 0 { INK } else { RULE }));
                }
                first.keep |= row.strong || index == 0;
                // A part after the first says its rows again: what belongs to a row is beside the first.
                if grid.first {
                    first.anchors.extend(row.id.clone());
                    first.note = self.note(&row.log);
                    if !first.note.is_empty() {
                        // Within the last cell: a row has no other place for it.
                        let cell = first.tags.iter().rev().find_map(|tag| tag.1);
                        first.note_element = Some(self.element(Role::Note, cell));
                    }
                }
            }
            if let Some(last) = strips.last_mut() {
                last.keep |= index + 2 == count;
                if index + 1 == count {
                    last.keep = false;
                    let bottom = last.height;
                    last.tag(None);
                    last.marks.push(grid.rule(column, bottom, INK));
                }
            }
            for strip in strips {
                self.push(Slab { head: head.clone(), ..strip });
            }
        }
        if count == 0
            && let Some(last) = self.slabs.last_mut()
        {
            last.keep = false;
        }
    }

    /// The head: its cells stand on its lower rule.
    fn head(&mut self, table: usize, grid: &Grid<'_>, column: &Column) -> Slab {
        let row = self.element(Role::Row, Some(table));
        let voice = grid.cells.voice;
        let lines = grid.lines(&mut self.setter, None);
        let deepest = lines.iter().map(Vec::len).max().unwrap_or(1);
        let leading = voice.leading;
        let height = deepest as f64 * leading + 2.0 * AIR;
        let mut slab = self.strip(height, grid, column);
        for (place, cell) in lines.into_iter().enumerate() {
            let top = AIR + (deepest - cell.len()) as f64 * leading;
            slab.tag(Some(self.element(Role::Head, Some(row))));
            grid.put(Place { row: None, place, top }, cell, &mut slab);
        }
        slab.baseline = AIR + voice.baseline();
        slab.tag(None);
        slab.marks.push(grid.rule(column, 0.0, INK));
        slab.marks.push(grid.rule(column, height, QUIET));
        slab
    }

    /// A row as one strip, or as one for each of its lines where it is taller than half a page.
    fn row(&mut self, (index, table): (usize, usize), grid: &Grid<'_>, column: &Column) -> Vec<Slab> {
        let row = self.element(Role::Row, Some(table));
        let elements: Vec<usize> = grid.columns.iter().map(|_| self.element(Role::Cell, Some(row))).collect();
        let voice = grid.cells.voice;
        let mut lines = grid.lines(&mut self.setter, Some(index));
        let deepest = lines.iter().map(Vec::len).max().unwrap_or(1).max(1);
        let leading = voice.leading;
        let height = deepest as f64 * leading + 2.0 * AIR;
        let baseline = AIR + voice.baseline();
        if height <= self.frame.depth() * 0.5 {
            let mut slab = Slab { baseline, ..self.strip(height, grid, column) };
            for (place, cell) in lines.into_iter().enumerate() {
                slab.tag(Some(elements[place]));
                grid.put(Place { row: Some(index), place, top: AIR }, cell, &mut slab);
            }
            return vec![slab];
        }
        let mut strips = Vec::new();
        for depth in 0..deepest {
            let above = if depth == 0 { AIR } else { 0.0 };
            let below = if depth + 1 == deepest { AIR } else { 0.0 };
            let mut slab = self.strip(leading + above + below, grid, column);
            slab.baseline = above + voice.baseline();
            for (place, cell) in lines.iter_mut().enumerate() {
                if let Some(line) = cell.get_mut(depth).map(take) {
                    slab.tag(Some(elements[place]));
                    grid.put(Place { row: Some(index), place, top: above }, vec![line], &mut slab);
                }
            }
            strips.push(slab);
        }
        strips
    }

    fn strip(&self, height: f64, grid: &Grid<'_>, column: &Column) -> Slab {
        Slab { height, wide: grid.wide, bands: column.bands.clone(), ..Slab::default() }
    }
}

/// Where a cell's lines go: in which row (none for the head), in which column of the grid, how far down the strip.
struct Place {
    row: Option<usize>,
    place: usize,
    top: f64,
}

impl Grid<'_> {
    fn put(&self, at: Place, lines: Vec<Line>, slab: &mut Slab) {
        let (column, left, width) = (self.columns[at.place], self.lefts[at.place], self.widths[at.place]);
        let point = at.row.and_then(|row| self.cells.before_point(row, column)).filter(|_| lines.len() == 1);
        let voice = self.cells.voice;
        for (depth, line) in lines.into_iter().enumerate() {
            let spare = (width - line.width).max(0.0);
            let x = match (self.cells.align(column), point) {
                (Align::Left, _) => 0.0,
                (Align::Right, _) => spare,
                (Align::Centre, _) => spare / 2.0,
                (Align::Decimal, Some(before)) => {
                    (width - self.points[at.place].1 - before).clamp(0.0, spare)
                }
                // A head, or words among numbers.
                (Align::Decimal, None) => spare,
            };
            slab.put(line, left + x, at.top + voice.leading * depth as f64 + voice.baseline());
        }
    }

    fn rule(&self, column: &Column, y: f64, colour: Colour) -> Mark {
        Mark::hairline((column.left, y), (column.left + self.room, y), colour)
    }
}

fn keep_all(slabs: &mut [Slab]) {
    for slab in slabs {
        slab.keep = true;
    }
}
