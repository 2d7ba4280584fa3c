//! The cells of a table, measured once, and the grids that they are placed in.

use super::super::piece::{Align, Rich, Table};
use super::columns::{LEAST, Wish, widths};
use super::inline::Inline;
use super::lines::{Line, Measured};
use super::palette::QUIET;
use super::setting::Setter;
use super::voice::Voice;

/// A column with words this wide may have this much before the table is parted.
const FAIR: f64 = 66.0;

pub(crate) struct Cells<'a> {
    pub(crate) table: &'a Table,
    pub(crate) voice: Voice,
    heads: Vec<Measured>,
    rows: Vec<Vec<Cell>>,
}

struct Cell {
    measured: Measured,
    /// How much of its width lies before the decimal point of its first number.
    before_point: Option<f64>,
}

/// Columns that stand side by side, as many as a page is wide.
pub(crate) struct Grid<'a> {
    pub(crate) cells: &'a Cells<'a>,
    /// Which columns of the table these are.
    pub(crate) columns: Vec<usize>,
    pub(crate) lefts: Vec<f64>,
    pub(crate) widths: Vec<f64>,
    /// For each column the widest part before a decimal point and after it.
    pub(crate) points: Vec<(f64, f64)>,
    /// How wide the table is from its left edge.
    pub(crate) room: f64,
    pub(crate) wide: bool,
    /// The first of the grids that a table with too many columns falls into.
    pub(crate) first: bool,
}

impl<'a> Cells<'a> {
    pub(crate) fn new(setter: &mut Setter, table: &'a Table, voice: Voice) -> Cells<'a> {
        let head_voice = Voice { colour: QUIET, ..voice };
        let heads = table
            .columns
            .iter()
            .map(|column| Measured::new(setter, Inline::rich(&column.head, head_voice), head_voice))
            .collect();
        let empty = Rich::default();
        let rows = table
            .rows
            .iter()
            .map(|row| {
                let voice = if row.strong { voice.bold() } else { voice };
                let cells = table.columns.iter().enumerate().map(|(index, column)| {
                    let rich = row.cells.get(index).unwrap_or(&empty);
                    let measured = Measured::new(setter, Inline::rich(rich, voice), voice);
                    let point =
                        if column.align == Align::Decimal { point(&measured.inline.text) } else { None };
                    let before_point = point.map(|point| measured.width_to(setter, point));
                    Cell { measured, before_point }
                });
                cells.collect()
            })
            .collect();
        Cells { table, voice, heads, rows }
    }

    /// Whether any column has a head.
    pub(crate) fn headed(&self) -> bool {
        self.heads.iter().any(|head| !head.inline.text.trim().is_empty())
    }

    pub(crate) fn align(&self, column: usize) -> Align {
        self.table.columns[column].align
    }

    pub(crate) fn before_point(&self, row: usize, column: usize) -> Option<f64> {
        self.rows[row][column].before_point
    }

    /// The grids: one, but for a table with more columns than the page is wide.
    pub(crate) fn grids(&self, room: f64, across: Option<f64>) -> Vec<Grid<'_>> {
        let count = self.table.columns.len();
        let gap = if count > 7 { 6.0 } else { 10.0 };
        let widest = across.unwrap_or(room);
        let least: Vec<f64> = (0..count)
            .map(|column| self.wish(column, self.points(column)).narrowest.clamp(LEAST, FAIR) + gap)
            .collect();
        let mut parts: Vec<Vec<usize>> = vec![Vec::new()];
        let mut used = 0.0;
        for (column, least_width) in least.iter().enumerate() {
            if used + least_width > widest + gap && parts.last().is_some_and(|part| part.len() > 1) {
                // Each part begins with the first column again, so that its rows can be told.
                parts.push(vec![0]);
                used = least[0];
            }
            parts.last_mut().into_iter().for_each(|part| part.push(column));
            used += least_width;
        }
        let grids = parts.into_iter().enumerate();
        grids.map(|(place, columns)| self.grid(columns, (room, across), (gap, place == 0))).collect()
    }

    fn grid(
        &self,
        columns: Vec<usize>,
        (room, across): (f64, Option<f64>),
        (gap, first): (f64, bool),
    ) -> Grid<'_> {
        let points: Vec<(f64, f64)> = columns.iter().map(|column| self.points(*column)).collect();
        let wishes: Vec<Wish> =
            columns.iter().zip(&points).map(|(column, points)| self.wish(*column, *points)).collect();
        let gaps = gap * (columns.len() - 1) as f64;
        // A table that would be squeezed hard may run across the log column.
        let least: f64 = wishes.iter().map(|wish| wish.widest.min(wish.narrowest.max(92.0))).sum();
        let wide = across.is_some() && least + gaps > room;
        let room = across.filter(|_| wide).unwrap_or(room);
        let widths = widths(&wishes, (room - gaps).max(1.0));
        let spare = (room - gaps - widths.iter().sum::<f64>()).max(0.0);
        let gap = gap + (spare / columns.len().max(2) as f64).min(18.0);
        let mut left = 0.0;
        let mut lefts = Vec::new();
        for width in &widths {
            lefts.push(left);
            left += width + gap;
        }
        Grid { cells: self, columns, lefts, widths, points, room, wide, first }
    }

    fn points(&self, column: usize) -> (f64, f64) {
        let mut most = (0.0_f64, 0.0_f64);
        for cell in self.rows.iter().map(|row| &row[column]) {
            if let Some(before) = cell.before_point {
                most = (most.0.max(before), most.1.max(cell.measured.widest - before));
            }
        }
        most
    }

    fn wish(&self, column: usize, (before, after): (f64, f64)) -> Wish {
        let head = &self.heads[column];
        let cells = || self.rows.iter().map(|row| &row[column].measured);
        let mut narrowest = cells().map(|cell| cell.narrowest).fold(head.narrowest, f64::max);
        // A number and its unit are not parted while there is room.
        narrowest = narrowest.max((before + after).min(FAIR));
        let widest = cells().map(|cell| cell.widest).fold(head.widest, f64::max).max(before + after);
        Wish { narrowest, widest, share: self.table.columns[column].share }
    }
}

impl Grid<'_> {
    /// The lines of a row's cells, or of the head's.
    pub(crate) fn lines(&self, setter: &mut Setter, row: Option<usize>) -> Vec<Vec<Line>> {
        let cell = |column: usize| match row {
            Some(row) => &self.cells.rows[row][column].measured,
            None => &self.cells.heads[column],
        };
        let places = self.columns.iter().zip(&self.widths);
        // A hair more than measured, so that what just fits is not broken by rounding.
        places.map(|(column, width)| cell(*column).lines(setter, *width + 0.01)).collect()
    }
}

/// Where the decimal point of the first number stands, or where its digits end; `None` without a number.
fn point(text: &str) -> Option<usize> {
    let start = text.find(|character: char| character.is_ascii_digit())?;
    let mut end = start;
    let mut digits = text[start..].char_indices().peekable();
    while let Some((at, character)) = digits.next() {
        let followed = digits.peek().is_some_and(|next| next.1.is_ascii_digit());
        match character {
            '0'..='9' => end = start + at + 1,
            // Groups of three.
            '\u{a0}' | '\u{202f}' | '\u{2009}' | '_' if followed => {}
            _ => break,
        }
    }
    Some(end)
}

#[cfg(test)]
mod tests {
    use super::point;

    #[track_caller]
    fn check(text: &str, before: Option<&str>) {
        assert_eq!(point(text).map(|point| &text[..point]), before);
    }

    #[test]
    fn the_point_ends_the_first_whole_number() {
        check("12.5 kg", Some("12"));
        check("−0.36", Some("−0"));
        check("310", Some("310"));
        check("12\u{a0}133\u{a0}rpm", Some("12\u{a0}133"));
        check("± 3.2 %", Some("± 3"));
        check("not worked", None);
    }
}
