//! What the log says of the rows of a table: it begins beside its row and stretches none, or stands under it.

use super::super::piece::Face;
use super::cells::{Lane, NOTES_APART, joined};
use super::flow::Flow;
use super::inline::{Inline, look};
use super::lines::{Line, Measured};
use super::voice::{CELL, LOG, WORKING};

/// Between two notes of the log column.
pub(super) const NOTE_GAP: f64 = 0.4;

/// By how much a note may be taller than its row.
const SLIP: f64 = 3.0;

/// What room there is for a note.
pub(super) struct Room {
    /// How tall the row is, with those below it of which the log says the same.
    pub(super) height: f64,
    /// How far the notes of the rows above reach down beside it.
    pub(super) taken: f64,
    /// How far its note may reach down beside the next.
    pub(super) free: f64,
}

pub(super) struct Beside {
    /// What stands under the row across the table.
    pub(super) below: Option<Measured>,
    pub(super) note: Vec<Line>,
    /// How far below the row's first line the note begins.
    pub(super) drop: f64,
}

impl Room {
    /// Beside which line of the row a note can begin.
    fn begins(&self) -> f64 {
        (self.taken / CELL.leading).ceil() * CELL.leading
    }
}

impl Flow {
    /// The lines of the log for a row; for two side by side, that of the second beside that of the first.
    pub(super) fn notes(&mut self, row: &Lane<'_>) -> Vec<Line> {
        let width = self.frame.log_width;
        let mut note = match row.log.iter().any(|part| !part.is_empty()) {
            true => self.lines(joined(Inline::default(), row.log), LOG, width),
            false => Vec::new(),
        };
        if row.log_right.iter().any(|part| !part.is_empty()) {
            note.resize_with(note.len().max(1), Line::default);
            let left = (note[0].width + NOTES_APART).max(width / 2.0);
            for mut right in self.lines(joined(Inline::default(), row.log_right), LOG, f64::MAX) {
                right.shift(left, 0.0);
                note[0].marks.append(&mut right.marks);
                note[0].links.append(&mut right.links);
            }
        }
        note
    }

    /// What stands under a row, and what the log says beside it. A note begins beside its row and may reach down as far
    /// as the next row's can begin beside that; one for which there is no such room runs on under its row, if that
    /// takes less than pushing the next one down.
    pub(super) fn beside(&mut self, row: &Lane<'_>, room: Room, width: f64) -> Beside {
        let note = self.notes(row);
        let own = self.height(row.below.as_ref(), width);
        let over = |lines: &[Line], own: f64| {
            let last = room.height + own - LOG.leading;
            let over = room.begins() + lines.len() as f64 * LOG.leading - room.height - own;
            // Beside its own last line at least.
            if room.begins() > last { f64::MAX } else { over }
        };
        let fits = |over: f64| over <= SLIP.max(room.free);
        if note.is_empty() {
            return Beside { below: row.below.clone(), note, drop: 0.0 };
        }
        let drop = room.begins();
        if let Some(reason) = row.below.as_ref().filter(|_| row.reason) {
            let mut inline = joined(Inline::default(), row.log);
            inline.push("; ", look(LOG, Face::Plain));
            inline.append(reason.inline.clone(), Some(LOG.colour));
            let both = self.lines(inline, LOG, self.frame.log_width);
            if fits(over(&both, 0.0)) {
                return Beside { below: None, note: both, drop };
            }
        }
        let over = over(&note, own);
        if fits(over) || !row.log_right.is_empty() {
            return Beside { below: row.below.clone(), note, drop };
        }
        let mut inline = row.below.as_ref().map(|below| below.inline.clone()).unwrap_or_default();
        if row.below.is_some() {
            inline.push("   ", look(LOG, Face::Plain));
        }
        let run_on = Measured::new(&mut self.setter, joined(inline, row.log), WORKING);
        if self.height(Some(&run_on), width) - own < over + SLIP {
            return Beside { below: Some(run_on), note: Vec::new(), drop: 0.0 };
        }
        Beside { below: row.below.clone(), note, drop }
    }

    fn height(&mut self, below: Option<&Measured>, width: f64) -> f64 {
        below.map_or(0.0, |below| below.lines(&mut self.setter, width).len() as f64 * LOG.leading)
    }
}
