//! What stands on every page: running head, page numbers, a line for initials; and the numbers in the contents.

use super::frame::Frame;
use super::inline::Inline;
use super::lines::{Line, Measured};
use super::mark::{Dash, Mark};
use super::paging::Paged;
use super::palette::RULE;
use super::setting::Setter;
use super::voice::{BODY, RUNNING, Voice};

/// The words of the running head.
pub(crate) struct Running<'a> {
    pub(crate) title: &'a str,
    pub(crate) running: &'a str,
}

pub(crate) fn furniture(setter: &mut Setter, frame: Frame, running: &Running<'_>, paged: &mut Paged) {
    let count = paged.pages.len();
    let right = frame.left + frame.across();
    let head = frame.top - 30.0;
    let foot = frame.bottom + 26.0;
    for place in 0..count {
        let revision = shorten(setter, running.running, frame.across() * 0.5);
        let title = shorten(setter, running.title, frame.across() - revision.width - 20.0);
        let number = one(setter, &format!("page {} of {count}", place + 1), RUNNING);
        let initials = one(setter, "initials", RUNNING);
        paged.pages[place].tag(None);
        let marks = &mut paged.pages[place].marks;
        let revision_left = right - revision.width;
        // The first page opens with the title in full.
        if place > 0 {
            put(marks, title, frame.left, head);
        }
        put(marks, revision, revision_left, head);
        marks.push(Mark::hairline((frame.left, head + 6.0), (right, head + 6.0), RULE));
        put(marks, number, frame.left, foot);
        let line_from = frame.log + initials.width + 4.0;
        put(marks, initials, frame.log, foot);
        marks.push(Mark::hairline((line_from, foot + 1.0), (right, foot + 1.0), RULE));
    }
    for (page, reference) in std::mem::take(&mut paged.references) {
        let Some(spot) = paged.anchors.get(&reference.id) else { continue };
        let voice = Voice { even: false, ..BODY };
        let number = one(setter, &(spot.page + 1).to_string(), voice);
        paged.pages[page].tag(reference.element);
        let marks = &mut paged.pages[page].marks;
        let number_left = reference.right - number.width;
        if number_left - 5.0 > reference.left {
            let points = vec![(reference.left, reference.baseline), (number_left - 5.0, reference.baseline)];
            marks.push(Mark::Line { points, weight: 0.6, colour: RULE, dash: Dash::Dotted });
        }
        put(marks, number, number_left, reference.baseline);
    }
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
