//! Tables: hairlines above and below, none between columns; decimal points in line; heads said again on each page.

use std::mem::take;
use std::rc::Rc;

use super::super::piece::{Align, Face, Rich, Table, WorkedLine, Working};
use super::beside::{NOTE_GAP, Room};
use super::cells::{Cells, Grid};
use super::flow::{Column, Flow};
use super::inline::{Inline, look};
use super::lines::{Line, Measured};
use super::mark::Mark;
use super::palette::{Colour, INK, QUIET, RULE};
use super::slab::Slab;
use super::structure::Role;
use super::voice::{CAPTION, CELL, LABEL, LOG, Voice, WORKING};

/// Above and below the text of a row.
const AIR: f64 = 0.4;

/// How far a working stands in under its result.
pub(super) const UNDER: f64 = 10.0;

impl Flow {
    pub(crate) fn table(&mut self, table: &Table, column: &Column) {
        let mut cells = Cells::new(&mut self.setter, table, CELL);
        cells.say_once();
        if column.left == 0.0 && column.bands.is_empty() {
            cells.abreast(&mut self.setter, self.frame.across());
        }
        self.set_table(table, cells, column);
    }

    /// Names and values, two rows side by side where that loses nothing.
    pub(crate) fn values(&mut self, table: &Table, column: &Column) {
        let mut cells = Cells::new(&mut self.setter, table, CELL);
        // That they are given is seen where they stand: between the outcome and what came out.
        cells.behead(&mut self.setter);
        cells.gather();
        cells.pair(&mut self.setter, (column.width, self.frame.log_width));
        cells.say_once();
        self.set_table(table, cells, column);
    }

    /// Names and values that stand elsewhere too: those of which the log says the same in one run.
    pub(crate) fn taken(&mut self, table: &Table, column: &Column) {
        let mut cells = Cells::new(&mut self.setter, table, CELL);
        cells.behead(&mut self.setter);
        cells.gather();
        cells.run_together(&mut self.setter);
        self.set_table(table, cells, column);
    }

    /// Each result with what it was worked from, then the workings of values that stand elsewhere.
    pub(crate) fn results(
        &mut self,
        table: &Table,
        (workings, lines): (&[Working], &[WorkedLine]),
        column: &Column,
    ) {
        if !table.rows.is_empty() {
            let mut cells = Cells::new(&mut self.setter, table, CELL);
            cells.explain(&mut self.setter, (table, workings), (column.width, UNDER));
            self.set_table(table, cells, column);
        }
        if !lines.is_empty() {
            let cells = Cells::of_lines(&mut self.setter, "Working of the values above", lines);
            self.set_cells(cells, (true, column));
        }
    }

    /// What is judged, and under each row why its verdict is not better.
    pub(crate) fn requirements(&mut self, table: &Table, reasons: &[Rich], column: &Column) {
        let mut cells = Cells::new(&mut self.setter, table, CELL);
        for (row, reason) in cells.rows.iter_mut().zip(reasons).filter(|(_, reason)| !reason.is_empty()) {
            row.below = Some(Measured::new(&mut self.setter, Inline::rich(reason, WORKING), WORKING));
            row.reason = true;
        }
        self.set_table(table, cells, column);
    }

    fn set_table(&mut self, table: &Table, cells: Cells<'_>, column: &Column) {
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
        // Across the log column only where nothing is to be said there.
        let free = table.rows.iter().all(|row| row.log.is_empty());
        self.set_cells(cells, (free, column));
        if let Some(slab) = self.slabs.get_mut(first) {
            slab.before = 4.0;
        }
    }

    fn set_cells(&mut self, cells: Cells<'_>, (free, column): (bool, &Column)) {
        let across = (free && column.left == 0.0 && column.bands.is_empty()).then(|| self.frame.across());
        let mut begin = self.slabs.len();
        for grid in cells.grids(column.width, across) {
            self.grid(&grid, column);
            self.space(begin, 2.0, 4.0);
            begin = self.slabs.len();
        }
    }

    fn grid(&mut self, grid: &Grid<'_>, column: &Column) {
        let cells = grid.cells;
        let element = self.element(Role::Table, column.parent);
        let mut again: Vec<Slab> = self.goes_on(grid, column).into_iter().collect();
        let mut top_rule = true;
        if cells.headed() {
            let slab = self.head(element, grid, column);
            self.push(Slab { keep: true, ..slab });
            // What the log says beside the head is said again with it.
            again.extend(self.slabs.last().map(|slab| Slab {
                anchors: Vec::new(),
                note_element: None,
                ..slab.clone()
            }));
            top_rule = false;
        }
        let head = (!again.is_empty()).then(|| Rc::new(again));
        let count = cells.rows.len();
        let mut lines: Vec<Vec<Vec<Line>>> =
            (0..count).map(|index| grid.lines(&mut self.setter, Some(index))).collect();
        let heights: Vec<f64> = lines.iter().map(|lines| height((lines, cells.voice))).collect();
        // How far the log is taken below the row above.
        let mut taken = 0.0;
        for (index, row) in cells.rows.iter().enumerate() {
            let mut strips = self.row((index, element), (grid, take(&mut lines[index])), column);
            // What else belongs to the row stands within its last cell: a row has no other place for it.
            let cell = strips.first().and_then(|strip| strip.tags.iter().rev().find_map(|tag| tag.1));
            if grid.first && row.again {
                // Said again where the row begins a page.
                let again = self.notes(row);
                strips.iter_mut().take(1).for_each(|first| first.note_again.clone_from(&again));
            }
            if grid.first && !row.again {
                let more = cells.rows[index + 1..].iter().take_while(|next| next.again).count();
                let next = cells.rows.get(index + 1 + more);
                // Where the next has to begin beside its own last line; below the table there is some space.
                let free = match next.zip(heights.get(index + 1 + more)) {
                    Some((next, height)) if !next.log.is_empty() => height - LOG.leading - NOTE_GAP,
                    _ => LOG.leading,
                };
                let height = heights[index] + heights[index + 1..][..more].iter().sum::<f64>();
                let beside = self.beside(row, Room { height, taken, free }, column.width - UNDER);
                if let Some(below) = beside.below {
                    let element = self.element(Role::Paragraph, cell);
                    self.below((&below, element), &mut strips, column);
                }
                if let Some(first) = strips.first_mut().filter(|_| !beside.note.is_empty()) {
                    taken = beside.drop + beside.note.len() as f64 * LOG.leading + NOTE_GAP;
                    first.note_drop = beside.drop;
                    first.note = beside.note;
                    first.note_element = Some(self.element(Role::Note, cell));
                }
            }
            taken = (taken - strips.iter().map(|strip| strip.height).sum::<f64>()).max(0.0);
            if let Some(first) = strips.first_mut() {
                if take(&mut top_rule) || (row.strong && index > 0) {
                    first.tag(None);
                    first.marks.push(grid.rule(column, 0.0, if index == 0 { INK } else { RULE }));
                }
                first.keep |= row.strong || index == 0;
                // A part after the first says its rows again: what belongs to a row is beside the first.
                if grid.first {
                    first.anchors.extend(row.ids.iter().map(|id| (*id).to_owned()));
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

    /// Whose table it is, said where it goes on.
    fn goes_on(&mut self, grid: &Grid<'_>, column: &Column) -> Option<Slab> {
        let block = self.block()?;
        let mut inline = Inline::plain(&block, LABEL);
        inline.push(", continued", look(LABEL, Face::Plain));
        let line = self.lines(inline, LABEL, column.width).into_iter().next()?;
        let mut slab = Slab { block: Some(block), ..self.strip(LABEL.leading + 2.0, grid, column) };
        slab.put(line, column.left, LABEL.baseline());
        Some(slab)
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
            grid.put(Place { row: None, place, top, left: column.left, leading }, cell, &mut slab);
        }
        slab.baseline = AIR + voice.baseline();
        slab.tag(None);
        slab.marks.push(grid.rule(column, 0.0, INK));
        slab.marks.push(grid.rule(column, height, QUIET));
        slab
    }

    /// A row as one strip, or as one for each of its lines where it is taller than half a page.
    fn row(
        &mut self,
        (index, table): (usize, usize),
        (grid, mut lines): (&Grid<'_>, Vec<Vec<Line>>),
        column: &Column,
    ) -> Vec<Slab> {
        let row = self.element(Role::Row, Some(table));
        let names =
            |place, column| grid.columns.len() > 1 && (place == 0 || grid.cells.second == Some(column));
        let places = grid.columns.iter().enumerate();
        let roles =
            places.map(|(place, column)| if names(place, *column) { Role::RowHead } else { Role::Cell });
        let elements: Vec<usize> = roles.map(|role| self.element(role, Some(row))).collect();
        let voice = grid.cells.voice;
        let leading = voice.leading;
        let height = height((&lines, voice));
        let baseline = AIR + voice.baseline();
        if height <= self.frame.depth() * 0.5 {
            let mut slab = Slab { baseline, ..self.strip(height, grid, column) };
            for (place, cell) in lines.into_iter().enumerate() {
                slab.tag(Some(elements[place]));
                let at = Place { row: Some(index), place, top: AIR, left: column.left, leading };
                grid.put(at, cell, &mut slab);
            }
            return vec![slab];
        }
        let mut strips = Vec::new();
        let deepest = lines.iter().map(Vec::len).max().unwrap_or(1).max(1);
        for depth in 0..deepest {
            let above = if depth == 0 { AIR } else { 0.0 };
            let below = if depth + 1 == deepest { AIR } else { 0.0 };
            let mut slab = self.strip(leading + above + below, grid, column);
            slab.baseline = above + voice.baseline();
            for (place, cell) in lines.iter_mut().enumerate() {
                if let Some(line) = cell.get_mut(depth).map(take) {
                    slab.tag(Some(elements[place]));
                    let at = Place { row: Some(index), place, top: above, left: column.left, leading };
                    grid.put(at, vec![line], &mut slab);
                }
            }
            strips.push(slab);
        }
        strips
    }

    /// Adds lines under a row: to its own strip, or in strips of their own where it would grow too tall.
    fn below(&mut self, (below, element): (&Measured, usize), strips: &mut Vec<Slab>, column: &Column) {
        let lines = below.lines(&mut self.setter, column.width - UNDER);
        let leading = below.voice.leading;
        let height = lines.len() as f64 * leading;
        let most = self.frame.depth() * 0.5;
        for line in lines {
            if let Some(last) = strips.last_mut().filter(|last| last.height + height <= most) {
                let top = last.height - AIR;
                last.tag(Some(element));
                last.put(line, column.left + UNDER, top + below.voice.baseline());
                last.height += leading;
            } else if let Some(above) = strips.last() {
                let mut slab =
                    Slab { height: leading, wide: above.wide, bands: above.bands.clone(), ..Slab::default() };
                slab.tag(Some(element));
                slab.put(line, column.left + UNDER, below.voice.baseline());
                strips.push(slab);
            }
        }
    }

    fn strip(&self, height: f64, grid: &Grid<'_>, column: &Column) -> Slab {
        Slab { height, wide: grid.wide, bands: column.bands.clone(), ..Slab::default() }
    }
}

/// Where a cell's lines go: in which row (none for the head), in which column of the grid, how far down the strip,
/// where the table begins, and how far from line to line.
struct Place {
    row: Option<usize>,
    place: usize,
    top: f64,
    left: f64,
    leading: f64,
}

impl Grid<'_> {
    fn put(&self, at: Place, lines: Vec<Line>, slab: &mut Slab) {
        let (column, left) = (self.columns[at.place], at.left + self.lefts[at.place]);
        let width = self.width(at.row, at.place);
        let spans = at.row.is_some_and(|row| self.cells.rows[row].spans == Some(column));
        let point = at.row.and_then(|row| self.cells.before_point(row, column)).filter(|_| lines.len() == 1);
        let voice = self.cells.voice;
        for (depth, line) in lines.into_iter().enumerate() {
            let spare = (width - line.width).max(0.0);
            let x = match (self.cells.align(column), point) {
                _ if spans => 0.0,
                (Align::Left, _) => 0.0,
                (Align::Right, _) => spare,
                (Align::Centre, _) => spare / 2.0,
                (Align::Decimal, Some(before)) => {
                    (width - self.points[at.place].1 - before).clamp(0.0, spare)
                }
                // A head, or words among numbers.
                (Align::Decimal, None) => spare,
            };
            slab.put(line, left + x, at.top + at.leading * depth as f64 + voice.baseline());
        }
    }

    fn rule(&self, column: &Column, y: f64, colour: Colour) -> Mark {
        Mark::hairline((column.left, y), (column.left + self.room, y), colour)
    }
}

/// How tall a row is by its cells.
fn height((lines, voice): (&[Vec<Line>], Voice)) -> f64 {
    lines.iter().map(Vec::len).max().unwrap_or(1).max(1) as f64 * voice.leading + 2.0 * AIR
}

fn keep_all(slabs: &mut [Slab]) {
    for slab in slabs {
        slab.keep = true;
    }
}
