//! What stands on every page: running head, page numbers, a line for initials; and the numbers in the contents.

use std::mem::take;

use super::fonts::Family;
use super::frame::Frame;
use super::inline::Inline;
use super::lines::{Line, Measured};
use super::mark::{Dash, Mark};
use super::paging::{Page, Paged, Sheets};
use super::palette::RULE;
use super::setting::Setter;
use super::slab::PageReference;
use super::voice::{RUNNING, SMALL, Voice};

/// The words of the running head.
pub(crate) struct Running<'a> {
    pub(crate) title: &'a str,
    pub(crate) running: &'a str,
}

pub(crate) fn furniture(
    setter: &mut Setter,
    frame: Frame,
    running: &Running<'_>,
    (paged, sheets): (&mut Paged, &mut impl Sheets),
) {
    let count = paged.count;
    let right = frame.left + frame.across();
    let head = frame.top - 11.0;
    let foot = frame.bottom + 13.0;
    let revision = shorten(setter, running.running, frame.across() * 0.5);
    let title = shorten(setter, running.title, frame.across() - revision.width - 20.0);
    let initials = one(setter, "initials", RUNNING);
    let revision_left = right - revision.width;
    let line_from = frame.log + initials.width + 4.0;
    let mut references = take(&mut paged.references).into_iter().peekable();
    for place in 0..count {
        let mut page = Page::default();
        page.tag(None);
        // The first page opens with the title in full.
        if place > 0 {
            put(&mut page.marks, title.clone(), frame.left, head);
            if let Some(block) = paged.blocks.get(place).cloned().flatten() {
                let voice = Voice { family: Family::Mono, ..RUNNING };
                let name = one(setter, &block, voice);
                let left = frame.left + title.width + 14.0;
                if left + name.width < revision_left - 14.0 {
                    put(&mut page.marks, name, left, head);
                }
            }
        }
        put(&mut page.marks, revision.clone(), revision_left, head);
        page.marks.push(Mark::hairline((frame.left, head + 4.0), (right, head + 4.0), RULE));
        let number = one(setter, &format!("page {} of {count}", place + 1), RUNNING);
        put(&mut page.marks, number, frame.left, foot);
        if frame.has_log() {
            put(&mut page.marks, initials.clone(), frame.log, foot);
            page.marks.push(Mark::hairline((line_from, foot + 1.0), (right, foot + 1.0), RULE));
        }
        while let Some((_, reference)) = references.next_if(|reference| reference.0 == place) {
            if let Some(spot) = paged.anchors.get(&reference.id) {
                refer(setter, &reference, spot.page, &mut page);
            }
        }
        sheets.furniture(place, page);
    }
}

/// The number of the page that an entry of the contents leads to, with its leader.
fn refer(setter: &mut Setter, reference: &PageReference, to: usize, page: &mut Page) {
    let voice = Voice { even: false, ..SMALL };
    let number = one(setter, &(to + 1).to_string(), voice);
    page.tag(reference.element);
    let number_left = reference.right - number.width;
    if number_left - 5.0 > reference.left {
        let points = vec![(reference.left, reference.baseline), (number_left - 5.0, reference.baseline)];
        page.marks.push(Mark::Line { points, weight: 0.6, colour: RULE, dash: Dash::Dotted });
    }
    put(&mut page.marks, number, number_left, reference.baseline);
}

fn one(setter: &mut Setter, text: &str, voice: Voice) -> Line {
    let measured = Measured::new(setter, Inline::plain(text, voice), voice);
    measured.lines(setter, f64::MAX).into_iter().next().unwrap_or_default()
}

/// A text on one line, its end cut off where there is no room.
fn shorten(setter: &mut Setter, text: &str, room: f64) -> Line {
    let line = one(setter, text, RUNNING);
    if line.width <= room {
        return line;
    }
    let mut lines = Measured::new(setter, Inline::plain(text, RUNNING), RUNNING)
        .lines(setter, (room - RUNNING.size).max(1.0))
        .into_iter();
    let mut line = lines.next().unwrap_or_default();
    let width = line.width;
    let mut end = one(setter, "…", RUNNING);
    end.shift(width, 0.0);
    line.width += end.width;
    line.marks.append(&mut end.marks);
    line
}

fn put(marks: &mut Vec<Mark>, mut line: Line, x: f64, baseline: f64) {
    line.shift(x, baseline);
    marks.append(&mut line.marks);
}
