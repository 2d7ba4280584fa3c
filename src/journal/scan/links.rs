//! Links and pictures: live values, addresses that are safe, and those that are dropped.

use crate::words::{Words, words};
use std::ops::Range;

use pulldown_cmark::LinkType;

use super::Walk;
use crate::findings::codes;
use crate::journal::address::safe_address;
use crate::journal::live;
use crate::journal::tree::Frame;

impl Walk<'_> {
    pub(super) fn link(&mut self, form: LinkType, address: &str, title: &str, range: Range<usize>) -> Frame {
        if let Some(result) = address.strip_prefix(live::SCHEME) {
            if form == LinkType::Inline {
                self.open_live = Some(live::Open::new(range, result));
                return Frame::Live(None);
            }
            self.live_form(&range, "only an inline link is kept up to date", result);
            return Frame::Bare;
        }
        let address = if form == LinkType::Email { format!("mailto:{address}") } else { address.to_owned() };
        match self.safe(&address, &range) {
            Some(address) => Frame::Link { address, title: title.to_owned() },
            None => Frame::Bare,
        }
    }

    pub(super) fn image(&mut self, address: &str, title: &str, range: &Range<usize>) -> Frame {
        if let Some(result) = address.strip_prefix(live::SCHEME) {
            self.live_form(range, "a picture can't show a result", result);
            return Frame::Bare;
        }
        match self.safe(address, range) {
            Some(address) => Frame::Image { address, title: title.to_owned() },
            None => Frame::Bare,
        }
    }

    /// A live value that Markdown takes for text: its address holds a space, or is broken off.
    pub(super) fn raw_live(&mut self, range: &Range<usize>) {
        let whole = |at: usize| (0..=at).rev().find(|at| self.text.is_char_boundary(*at)).unwrap_or(0);
        // The bracket may be a piece of text of its own; what it encloses begins in this one.
        let start = whole(range.start.saturating_sub(2));
        let until = whole((range.end + "result:".len()).min(self.text.len()));
        for sign in ["](result:", "](<result:", "] (result:"] {
            let from = start.max(self.raw_live_end);
            let Some(found) = self.text.get(from..until).and_then(|text| text.find(sign)) else { continue };
            let start = from + found;
            let before = &self.text[..start];
            let text_at = before.rfind('[').unwrap_or(start);
            let meant = [before, &before[..text_at]].iter().any(|before| before.ends_with('\\'));
            if meant || start + sign.len() - "result:".len() > range.end {
                continue;
            }
            let rest = &self.text[start..];
            let line = rest.find(['\n', '\r']).unwrap_or(rest.len());
            let end = start + rest[..line].find(')').map_or(line, |at| at + 1);
            self.raw_live_end = end;
            let message = "a live value that Markdown takes for text";
            let help = "type it without a space, `[…](result:block.name)`, or in angle brackets: `[…](<result:block.name in unit>)`";
            self.find(&codes::LIVE_VALUE_FORM, &(start + 1..end), message, help);
        }
    }

    fn live_form(&mut self, range: &Range<usize>, message: impl Into<Words>, result: &str) {
        let address =
            if result.contains(' ') { format!("<result:{result}>") } else { format!("result:{result}") };
        let help = words!("type `[…]({})`", address);
        self.find(&codes::LIVE_VALUE_FORM, range, message, &help);
    }

    fn safe(&mut self, address: &str, range: &Range<usize>) -> Option<String> {
        let safe = safe_address(address);
        if safe.is_none() {
            let shown: String = address.chars().filter(|c| !c.is_control()).take(40).collect();
            let message = words!("a link to `{}`, which is not put into the dossier", shown);
            let help = "link to http, https, mailto, or a file in the journal folder by its relative path";
            self.find(&codes::UNSAFE_LINK, range, &message, help);
        }
        safe
    }
}
