//! Raw HTML: marks of regions, what is hidden in it, and what of it is shown as text.

use std::ops::Range;

use super::Walk;
use crate::findings::codes;
use crate::journal::fence;
use crate::journal::lines::line_at;
use crate::journal::marks::{self, Mark};
use crate::source::Span;

impl Walk<'_> {
    /// Lines of an HTML block: marks of regions, and blocks that are hidden in it.
    pub(super) fn html_lines(&mut self, range: Range<usize>) {
        if let Some(html) = &mut self.html {
            html.end = html.end.max(range.end);
        }
        let mut at = range.start;
        while at < range.end && at >= self.region_end {
            let (line, next) = line_at(self.text, at);
            let content = self.text[line.clone()].trim_start();
            let start = line.end - content.len();
            match marks::mark(content) {
                Some(Mark::Open(_)) => {
                    let line_start = marks::stands_alone(self.text, start);
                    match line_start.and_then(|start| marks::region(self.file, self.text, start)) {
                        Some(found) => {
                            self.found(found, None);
                            if let Some(html) = &mut self.html {
                                html.end = html.end.min(at);
                            }
                        }
                        None => self.damage(&(start..line.end), "a mark that is not on a line of its own"),
                    }
                }
                // Half of a region is one finding, where it is opened.
                Some(Mark::Close(..) | Mark::Misspelt) if self.half => self.half = false,
                Some(Mark::Close(..)) => {
                    self.damage(&(start..line.end), "a results region is closed here that is not open");
                }
                Some(Mark::Misspelt) => {
                    self.damage(&(start..line.end), "a mark that is not as it was written")
                }
                None => self.hidden_fence(start..line.end),
            }
            at = next;
        }
        self.hidden_live(range);
    }

    fn hidden_fence(&mut self, line: Range<usize>) {
        let words =
            fence::info(self.text, line.start).and_then(|info| fence::words(self.file, self.text, info));
        if words.is_some() {
            let message = "a calculation block inside raw HTML, where it is not worked";
            let help = "put an empty line above the fence, or take it out of the HTML";
            self.find(&codes::HIDDEN_IN_HTML, &line, message, help);
        }
    }

    fn hidden_live(&mut self, range: Range<usize>) {
        let html = &self.text[range.clone()];
        let place = ["](result:", "](<result:", "=\"result:", "='result:", "=result:"]
            .iter()
            .filter_map(|sign| html.find(sign).map(|at| range.start + at..range.start + at + sign.len()))
            .min_by_key(|place| place.start);
        if let Some(place) = place {
            let message = "a live value inside raw HTML, where it is not kept up to date";
            let help = "type `[…](result:block.name)` in a line of plain Markdown";
            self.find(&codes::HIDDEN_IN_HTML, &place, message, help);
        }
    }

    pub(super) fn inline_html(&mut self, text: &str, range: Range<usize>) {
        self.inside_live("", &range);
        if marks::mark(text).is_some() {
            self.damage(&range, "a mark that is not on a line of its own");
        }
        self.hidden_live(range.clone());
        let span = self.span(&range);
        if self.tree.html(text, span) && !self.noted {
            self.noted = true;
            self.note_html(span);
        }
    }

    pub(super) fn note_html(&mut self, span: Span) {
        let message = "raw HTML, which the dossier shows as text";
        let help = "use Markdown; of HTML only `<br>`, `<sub>` and `<sup>` are understood";
        self.find(&codes::RAW_HTML, &span.range(), message, help);
    }
}
