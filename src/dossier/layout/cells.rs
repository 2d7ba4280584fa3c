//! The cells of a table, measured once, and the grids that they are placed in.

use super::super::piece::{Align, Face, Rich, Table, WorkedLine, Working};
use super::columns::{LEAST, Wish, widths};
use super::inline::{Inline, look};
use super::lines::{Line, Measured};
use super::palette::QUIET;
use super::setting::Setter;
use super::voice::{LOG, Voice, WORKING};

/// A column with words this wide may have this much before the table is parted.
const FAIR: f64 = 66.0;

/// Between two notes in one line of the log.
pub(crate) const NOTES_APART: f64 = 8.0;

/// Between columns, if they are not very many.
const GAP: f64 = 10.0;

pub(crate) struct Cells<'a> {
    pub(crate) voice: Voice,
    columns: Vec<Form>,
    heads: Vec<Measured>,
    pub(crate) rows: Vec<Lane<'a>>,
}

/// What the cells of a column have in common.
#[derive(Clone, Copy)]
struct Form {
    align: Align,
    share: u16,
}

/// A row: its cells and what belongs to them.
#[derive(Default)]
pub(crate) struct Lane<'a> {
    cells: Vec<Cell>,
    pub(crate) ids: Vec<&'a str>,
    pub(crate) log: &'a [Rich],
    pub(crate) strong: bool,
    /// What the log says of the second of two that stand side by side, where it is not the same.
    pub(crate) log_right: &'a [Rich],
    /// How wide what the log says of it is in one line.
    said: f64,
    /// What the log says of it stands beside the row above.
    pub(crate) again: bool,
    /// The cell that takes all columns from its own on; those after it are empty.
    pub(crate) spans: Option<usize>,
    /// What explains it, under it across the table.
    pub(crate) below: Option<Measured>,
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
                    let measured = Measured::new(setter, Inline::rich(rich, voice), voice);
                    let point =
                        if column.align == Align::Decimal { point(&measured.inline.text) } else { None };
                    let before_point = point.map(|point| measured.width_to(setter, point));
                    Cell { measured, before_point }
                });
                let cells = cells.collect();
                let ids = row.id.as_deref().into_iter().collect();
                Lane { cells, ids, log: &row.log, strong: row.strong, ..Lane::default() }
            })
            .collect();
        Cells { voice, columns, heads, rows }
    }

    /// Takes the heads away.
    pub(crate) fn behead(&mut self, setter: &mut Setter) {
        let voice = self.voice;
        self.heads.fill_with(|| Measured::new(setter, Inline::default(), voice));
    }

    /// Brings rows together of which the log says the same, in the order of the first of each; a group's head keeps its
    /// rows under it. Of the rest it is said once.
    pub(crate) fn gather(&mut self) {
        let mut rows: Vec<Lane<'a>> = Vec::new();
        let mut section = 0;
        for row in std::mem::take(&mut self.rows) {
            if row.strong {
                section = rows.len() + 1;
            }
            let same = |other: &Lane<'_>| !row.log.is_empty() && !other.strong && other.log == row.log;
            let from = section.min(rows.len());
            match rows[from..].iter().rposition(same).filter(|_| !row.strong) {
                Some(at) => rows.insert(from + at + 1, row),
                None => rows.push(row),
            }
        }
        self.rows = rows;
    }

    /// Marks the rows of which the log says what it says of the row above.
    pub(crate) fn say_once(&mut self) {
        for at in 1..self.rows.len() {
            let (above, row) = (&self.rows[at - 1], &self.rows[at]);
            self.rows[at].again =
                !row.log.is_empty() && (above.log, above.log_right) == (row.log, row.log_right);
        }
    }

    /// Puts two rows of a name and a value side by side where nothing of the log is lost by it: it says the same of
    /// both, or little of each. What is too wide for half a line keeps a whole one.
    pub(crate) fn pair(&mut self, setter: &mut Setter, (room, log_room): (f64, f64)) {
        let half = (room - GAP) / 2.0;
        if self.columns.len() != 2 {
            return;
        }
        for row in &mut self.rows {
            let note = joined(Inline::default(), row.log);
            row.said = Measured::new(setter, note, LOG).widest;
        }
        let widths = |row: &Lane<'_>| (row.cells[0].measured.widest, row.cells[1].measured.widest);
        let fits = |row: &Lane<'_>, share: f64| {
            let (name, value) = widths(row);
            // A name may take two lines.
            let named = row.cells[0].measured.narrowest.max(name / 1.9) <= (half - GAP) * share;
            !row.strong && named && value <= (half - GAP) * (1.0 - share)
        };
        let partners = |one: &Lane<'_>, other: &Lane<'_>, share| {
            let said =
                one.log == other.log || one.said.max(log_room / 2.0) + other.said + NOTES_APART < log_room;
            said && fits(one, share) && fits(other, share)
        };
        // The share of the names that lets most rows have a partner, and then most rows stay unbroken.
        let merit = |share: f64| {
            let mut count = 0;
            let mut rows = self.rows.iter().peekable();
            while let Some(row) = rows.next() {
                count += usize::from(rows.next_if(|next| partners(row, next, share)).is_some());
            }
            let whole = |row: &&Lane<'_>| fits(row, share) && widths(row).0 <= (half - GAP) * share;
            (count, self.rows.iter().filter(whole).count())
        };
        let best = (20..36).map(|step| f64::from(step) * 0.02).map(|share| (merit(share), share));
        let best = best.max_by(|a, b| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)));
        let Some((_, share)) = best.filter(|best| best.0.0 > 0) else { return };
        let mut nothing = |voice: Voice| Measured::new(setter, Inline::default(), voice);
        let mut rows: Vec<Lane<'a>> = Vec::new();
        let mut left = std::mem::take(&mut self.rows).into_iter().peekable();
        while let Some(mut row) = left.next() {
            if let Some(next) = left.next_if(|next| partners(&row, next, share)) {
                if next.log != row.log {
                    row.log_right = next.log;
                }
                row.cells.extend(next.cells);
                row.ids.extend(next.ids);
            } else {
                // A group's head takes the line; a wide value what its name leaves, and a long name is broken.
                row.spans = (!fits(&row, share)).then_some(usize::from(!row.strong));
                let name = &mut row.cells[0].measured;
                name.widest = name.widest.min((half - GAP) * share).max(name.narrowest);
                row.cells.resize_with(4, || Cell { measured: nothing(self.voice), before_point: None });
            }
            rows.push(row);
        }
        self.rows = rows;
        // Side by side the values are of different kinds: their points have nothing to be in line for.
        let form = |share| Form { align: Align::Left, share };
        let shares = [(share * 20.0).round() as u16, ((1.0 - share) * 20.0).round() as u16];
        self.columns = [shares, shares].concat().into_iter().map(form).collect();
        self.heads.resize_with(4, || nothing(self.voice));
    }

    /// Rows of which the log says the same become one, which names their values one after the other.
    pub(crate) fn run_together(&mut self, setter: &mut Setter) {
        let (voice, quiet) = (self.voice, Voice { colour: QUIET, ..self.voice });
        let mut runs: Vec<(Inline, Lane<'a>)> = Vec::new();
        for mut row in std::mem::take(&mut self.rows) {
            let mut run = Inline::default();
            for (at, cell) in row.cells.drain(..).enumerate() {
                if at > 0 {
                    run.push("\u{a0}", look(quiet, Face::Plain));
                }
                run.append(cell.measured.inline, (at == 0).then_some(QUIET));
            }
            match runs.last_mut().filter(|(_, last)| last.log == row.log) {
                Some((known, last)) => {
                    known.push("; ", look(quiet, Face::Plain));
                    known.append(run, None);
                    last.ids.append(&mut row.ids);
                }
                None => runs.push((run, row)),
            }
        }
        let lane = |(run, row): (Inline, Lane<'a>)| {
            let measured = Measured::new(setter, run, voice);
            Lane { cells: vec![Cell { measured, before_point: None }], ..row }
        };
        self.rows = runs.into_iter().map(lane).collect();
        self.columns = vec![Form { align: Align::Left, share: 1 }];
        self.heads.truncate(1);
    }

    /// Tells after each name what its value was worked from, or under its row where that takes fewer lines. What
    /// is told in words alone goes on after its name.
    pub(crate) fn explain(
        &mut self,
        setter: &mut Setter,
        (table, workings): (&Table, &[Working]),
        (room, under): (f64, f64),
    ) {
        let bold = self.voice.bold();
        let values: f64 = (1..self.columns.len()).map(|at| self.wish(at, self.points(at)).widest + GAP).sum();
        for ((row, of), working) in self.rows.iter_mut().zip(&table.rows).zip(workings) {
            let alone = row.cells.len() < 3 || row.cells[2].measured.inline.text.is_empty();
            let (Some(cell), Some(name)) = (row.cells.first_mut(), of.cells.first()) else { continue };
            let mut inline = Inline::rich(name, bold);
            cell.measured = Measured::new(setter, inline.clone(), self.voice);
            if working.from.is_empty() {
                if let Some(value) = of.cells.get(1).filter(|_| alone && row.cells[1].measured.widest > FAIR)
                {
                    inline.push("  ", look(self.voice, Face::Plain));
                    inline.add(value, self.voice, None);
                    row.cells[0].measured = Measured::new(setter, inline, self.voice);
                    row.spans = Some(0);
                }
                continue;
            }
            // An equation goes on from the name; a method is told of it.
            let words = working.from.words();
            let equation = words.contains(" = ") || words.starts_with(|c: char| c.is_ascii_digit());
            inline.push(if equation { " = " } else { ": " }, look(WORKING, Face::Plain));
            inline.add(&working.from, WORKING, None);
            let within = Measured::new(setter, inline, self.voice);
            let below = Measured::new(setter, Inline::rich(&working.from, WORKING), WORKING);
            let own = cell.measured.lines(setter, room - values).len();
            if within.lines(setter, room - values).len() > own + below.lines(setter, room - under).len() {
                row.below = Some(below);
            } else {
                cell.measured = within;
            }
        }
        if let Some(first) = self.columns.first_mut() {
            first.share = 1;
        }
        self.columns.iter_mut().skip(1).for_each(|column| column.share = 0);
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
        Cells { voice: WORKING, columns: vec![Form { align: Align::Left, share: 1 }], heads, rows }
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

    fn points(&self, column: usize) -> (f64, f64) {
        let mut most = (0.0_f64, 0.0_f64);
        let own = self.rows.iter().filter(|row| row.spans.is_none_or(|first| column < first));
        for cell in own.map(|row| &row.cells[column]) {
            if let Some(before) = cell.before_point {
                most = (most.0.max(before), most.1.max(cell.measured.widest - before));
            }
        }
        most
    }

    fn wish(&self, column: usize, (before, after): (f64, f64)) -> Wish {
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
