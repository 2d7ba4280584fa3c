//! The cells of a table, measured once, and the grids that they are placed in.

use super::super::piece::{Align, Face, Rich, Table, WorkedLine};
use super::columns::{LEAST, Wish, widths};
use super::inline::{Inline, look};
use super::lines::{Line, Measured};
use super::palette::QUIET;
use super::setting::Setter;
use super::voice::{LOG, Voice, WORKING};

/// A column with words this wide may have this much before the table is parted.
pub(crate) const FAIR: f64 = 66.0;

/// Between two notes in one line of the log.
pub(crate) const NOTES_APART: f64 = 8.0;

/// Between columns, if they are not very many.
pub(crate) const GAP: f64 = 10.0;

pub(crate) struct Cells<'a> {
    pub(crate) voice: Voice,
    pub(crate) columns: Vec<Form>,
    pub(crate) heads: Vec<Measured>,
    pub(crate) rows: Vec<Lane<'a>>,
    /// Where two rows stand side by side, the column that names the second.
    pub(crate) second: Option<usize>,
}

/// What the cells of a column have in common.
#[derive(Clone, Copy)]
pub(crate) struct Form {
    pub(crate) align: Align,
    pub(crate) share: u16,
}

/// A row: its cells and what belongs to them.
#[derive(Default)]
pub(crate) struct Lane<'a> {
    pub(crate) cells: Vec<Cell>,
    pub(crate) ids: Vec<&'a str>,
    pub(crate) log: &'a [Rich],
    pub(crate) strong: bool,
    /// What the log says of the second of two that stand side by side, where it is not the same.
    pub(crate) log_right: &'a [Rich],
    /// How wide what the log says of it is in one line.
    pub(crate) said: f64,
    /// What the log says of it stands beside the row above.
    pub(crate) again: bool,
    /// The cell that takes all columns from its own on; those after it are empty.
    pub(crate) spans: Option<usize>,
    /// What explains it, under it across the table.
    pub(crate) below: Option<Measured>,
    /// What is under it may stand in the log just as well.
    pub(crate) reason: bool,
}

pub(crate) struct Cell {
    pub(crate) measured: Measured,
    /// How much of its width lies before the decimal point of its first number.
    pub(crate) before_point: Option<f64>,
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
        let columns: Vec<Form> = (0..table.columns.len())
            .map(|at| Form { align: table.align(at), share: table.columns[at].share })
            .collect();
        let empty = Rich::default();
        let rows = table
            .rows
            .iter()
            .map(|row| {
                let voice = if row.strong { voice.bold() } else { voice };
                let cells = columns.iter().enumerate().map(|(index, column)| {
                    let rich = row.cells.get(index).unwrap_or(&empty);
                    Cell::new(setter, rich, (column.align, voice))
                });
                let cells = cells.collect();
                let ids = row.id.as_deref().into_iter().collect();
                Lane { cells, ids, log: &row.log, strong: row.strong, ..Lane::default() }
            })
            .collect();
        Cells { voice, columns, heads, rows, second: None }
    }

    /// Lines across the page under one head, each the workings of a column of another table.
    pub(crate) fn of_lines(setter: &mut Setter, head: &str, lines: &'a [WorkedLine]) -> Cells<'a> {
        let head_voice = Voice { colour: QUIET, ..WORKING };
        let row = |line: &'a WorkedLine| Lane {
            cells: vec![Cell {
                measured: Measured::new(setter, Inline::rich(&line.text, WORKING), WORKING),
                before_point: None,
            }],
            ids: line.ids.iter().map(String::as_str).collect(),
            ..Lane::default()
        };
        let rows = lines.iter().map(row).collect();
        let heads = vec![Measured::new(setter, Inline::plain(head, head_voice), head_voice)];
        let columns = vec![Form { align: Align::Left, share: 1 }];
        Cells { voice: WORKING, columns, heads, rows, second: None }
    }

    /// Whether any column has a head.
    pub(crate) fn headed(&self) -> bool {
        self.heads.iter().any(|head| !head.inline.text.trim().is_empty())
    }

    pub(crate) fn align(&self, column: usize) -> Align {
        self.columns[column].align
    }

    pub(crate) fn before_point(&self, row: usize, column: usize) -> Option<f64> {
        self.rows[row].cells[column].before_point
    }

    /// The grids: one, but for a table with more columns than the page is wide.
    pub(crate) fn grids(&self, room: f64, across: Option<f64>) -> Vec<Grid<'_>> {
        let count = self.columns.len();
        let gap = if count > 7 { 6.0 } else { GAP };
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
        // A table whose cells would be broken may run across the log column.
        let widest: f64 = wishes.iter().map(|wish| wish.widest).sum();
        let wide = across.is_some() && widest + gaps > room;
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

    pub(crate) fn points(&self, column: usize) -> (f64, f64) {
        let mut most = (0.0_f64, 0.0_f64);
        let own = self.rows.iter().filter(|row| row.spans.is_none_or(|first| column < first));
        for cell in own.map(|row| &row.cells[column]) {
            if let Some(before) = cell.before_point {
                most = (most.0.max(before), most.1.max(cell.measured.widest - before));
            }
        }
        most
    }

    pub(crate) fn wish(&self, column: usize, (before, after): (f64, f64)) -> Wish {
        let head = &self.heads[column];
        let cells = || {
            let own = self.rows.iter().filter(move |row| row.spans.is_none_or(|first| column < first));
            own.map(move |row| &row.cells[column].measured)
        };
        let mut narrowest = cells().map(|cell| cell.narrowest).fold(head.narrowest, f64::max);
        // A number and its unit are not parted while there is room.
        narrowest = narrowest.max((before + after).min(FAIR));
        let widest = cells().map(|cell| cell.widest).fold(head.widest, f64::max).max(before + after);
        Wish { narrowest, widest, share: self.columns[column].share }
    }
}

impl Cell {
    pub(crate) fn new(setter: &mut Setter, rich: &Rich, (align, voice): (Align, Voice)) -> Cell {
        let measured = Measured::new(setter, Inline::rich(rich, voice), voice);
        let point = if align == Align::Decimal { point(&measured.inline.text) } else { None };
        let before_point = point.map(|point| measured.width_to(setter, point));
        Cell { measured, before_point }
    }
}

impl Grid<'_> {
    /// The lines of a row's cells, or of the head's.
    pub(crate) fn lines(&self, setter: &mut Setter, row: Option<usize>) -> Vec<Vec<Line>> {
        let cell = |column: usize| match row {
            Some(row) => &self.cells.rows[row].cells[column].measured,
            None => &self.cells.heads[column],
        };
        let spans = row.and_then(|row| self.cells.rows[row].spans);
        let places = self.columns.iter().enumerate();
        places
            .map(|(place, column)| {
                if spans.is_some_and(|first| *column > first) {
                    return Vec::new();
                }
                // A hair more than measured, so that what just fits is not broken by rounding.
                cell(*column).lines(setter, self.width(row, place) + 0.01)
            })
            .collect()
    }

    /// How wide a cell is; of the head, for no row.
    pub(crate) fn width(&self, row: Option<usize>, place: usize) -> f64 {
        let spans = row.and_then(|row| self.cells.rows[row].spans);
        if spans == Some(self.columns[place]) { self.room - self.lefts[place] } else { self.widths[place] }
    }
}

/// What the log says, in one run behind what is there.
pub(crate) fn joined(mut inline: Inline, log: &[Rich]) -> Inline {
    for (at, part) in log.iter().filter(|part| !part.is_empty()).enumerate() {
        if at > 0 {
            inline.push("; ", look(LOG, Face::Plain));
        }
        inline.add(part, LOG, None);
    }
    inline
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
