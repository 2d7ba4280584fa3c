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
