//! Rows that are brought together, set side by side or run together before they are placed: what saves paper and loses
//! nothing.

use super::super::piece::{Align, Face, Rich, Table, Working};
use super::cells::{Cell, Cells, FAIR, Form, GAP, Lane, NOTES_APART, joined};
use super::columns::{LEAST, Wish, widths};
use super::inline::{Inline, look};
use super::lines::Measured;
use super::palette::QUIET;
use super::setting::Setter;
use super::voice::{LOG, Voice, WORKING};

/// From how many rows on two may stand side by side, up to how many columns, and to what part of their height.
const MANY: usize = 8;
const MOST_ABREAST: usize = 3;
const SAVED: f64 = 0.8;

impl<'a> Cells<'a> {
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
        self.second = Some(2);
        self.heads.resize_with(4, || nothing(self.voice));
    }

    /// Sets every second row of a narrow table beside the one before it, where that saves much of its height: as the
    /// table goes on over pages, it is read as it is elsewhere, from line to line.
    pub(crate) fn abreast(&mut self, setter: &mut Setter, room: f64) {
        let count = self.columns.len();
        let bare = |row: &Lane<'_>| row.log.is_empty() && !row.strong;
        if self.rows.len() < MANY || !(2..=MOST_ABREAST).contains(&count) || !self.rows.iter().all(bare) {
            return;
        }
        let wishes: Vec<Wish> = (0..count).map(|at| self.wish(at, self.points(at))).collect();
        let gaps = GAP * (count - 1) as f64;
        let mut lines = |room: f64| -> Vec<usize> {
            let widths = widths(&wishes, room - gaps);
            let mut deep = |(cell, width): (&Cell, &f64)| cell.measured.lines(setter, width + 0.01).len();
            let row = |row: &Lane<'_>| row.cells.iter().zip(&widths).map(&mut deep).max().unwrap_or(1);
            self.rows.iter().map(row).collect()
        };
        let (whole, halved) = (lines(room), lines((room - LEAST - 2.0 * GAP) / 2.0));
        let both: usize = halved.chunks(2).map(|pair| pair.iter().max().copied().unwrap_or(1)).sum();
        if both as f64 > SAVED * whole.iter().sum::<usize>() as f64 {
            return;
        }
        let nothing = Measured::new(setter, Inline::default(), self.voice);
        let empty = || Cell { measured: nothing.clone(), before_point: None };
        let mut rows = std::mem::take(&mut self.rows).into_iter();
        while let Some(mut row) = rows.next() {
            if let Some(mut second) = rows.next() {
                row.cells.push(empty());
                row.cells.append(&mut second.cells);
                row.ids.append(&mut second.ids);
            }
            row.cells.resize_with(2 * count + 1, empty);
            self.rows.push(row);
        }
        self.columns.push(Form { align: Align::Left, share: 0 });
        self.columns.extend_from_within(..count);
        self.second = Some(count + 1);
        self.heads.push(nothing);
        self.heads.extend_from_within(..count);
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

    /// Value and uncertainty as one cell, the unit once: what is saved is the formula's.
    fn merge_spread(&mut self, setter: &mut Setter, workings: &[Working]) {
        if self.columns.len() != 3 {
            return;
        }
        for (row, working) in self.rows.iter_mut().zip(workings) {
            let spread = row.cells.pop().is_some_and(|cell| !cell.measured.inline.text.is_empty());
            if spread {
                row.cells[1] = Cell::new(setter, &working.result, (self.columns[1].align, self.voice));
            }
        }
        self.columns.truncate(2);
        if let Some(spread) = self.heads.pop() {
            let value = &mut self.heads[1].inline;
            value.push(" ", look(Voice { colour: QUIET, ..self.voice }, Face::Plain));
            value.append(spread.inline, None);
            self.heads[1] = Measured::new(setter, value.clone(), self.voice);
        }
    }

    /// Tells after each name what its value was worked from, or under its row where that takes fewer lines. What
    /// is told in words alone goes on after its name.
    pub(crate) fn explain(
        &mut self,
        setter: &mut Setter,
        (table, workings): (&Table, &[Working]),
        (room, under): (f64, f64),
    ) {
        self.merge_spread(setter, workings);
        let bold = self.voice.bold();
        for ((row, of), working) in self.rows.iter_mut().zip(&table.rows).zip(workings) {
            let [name, value, ..] = &of.cells[..] else { continue };
            let alone = of.cells.get(2).is_none_or(Rich::is_empty);
            let mut inline = Inline::rich(name, bold);
            if working.from.is_empty() && alone && row.cells[1].measured.widest > FAIR {
                inline.push("  ", look(self.voice, Face::Plain));
                inline.add(value, self.voice, None);
                row.spans = Some(0);
            }
            row.cells[0].measured = Measured::new(setter, inline, self.voice);
        }
        let values: f64 = (1..self.columns.len()).map(|at| self.wish(at, self.points(at)).widest + GAP).sum();
        for (row, working) in self.rows.iter_mut().zip(workings).filter(|(_, of)| !of.from.is_empty()) {
            let Some(cell) = row.cells.first_mut() else { continue };
            let mut inline = cell.measured.inline.clone();
            let sign = if working.is_equation() { " = " } else { ": " };
            inline.push(sign, look(WORKING, Face::Plain));
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
}
