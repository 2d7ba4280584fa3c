//! Text with marks as HTML: one small function, because a dossier has tens of thousands of these.

use std::cell::RefCell;
use std::collections::HashSet;

use super::anchors::is_sound;
use super::svg;
use super::text::{Host, is_gap, push_escaped, push_text};
use crate::dossier::piece::{Face, Rich, Run, Target};

/// Writes runs; knows which links have a place to land.
pub(super) struct Writer<'a> {
    pub known: HashSet<&'a str>,
    /// Where links were to lead that lead nowhere.
    pub lost: RefCell<Vec<String>>,
}

/// The part of a decimal cell that is set flush right before its decimal point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Lead {
    /// How much of the cell's first text it is, in bytes.
    pub bytes: usize,
    /// How wide it is to be, in digits.
    pub digits: usize,
}

impl Writer<'_> {
    pub(super) fn rich(&self, rich: &Rich) -> String {
        let mut out = String::new();
        self.push(&mut out, rich);
        out
    }

    pub(super) fn push(&self, out: &mut String, rich: &Rich) {
        for run in &rich.0 {
            self.run(out, run, None);
        }
    }

    /// Writes a cell whose first text begins with `lead`.
    pub(super) fn push_led(&self, out: &mut String, rich: &Rich, lead: Lead) {
        let mut lead = Some(lead);
        for run in &rich.0 {
            self.run(out, run, lead.take());
        }
    }

    /// What stands inside a link: links in it are their text, for links don't nest.
    pub(super) fn unlinked(&self, rich: &Rich) -> String {
        let mut out = String::new();
        self.push_unlinked(&mut out, rich, None);
        out
    }

    fn push_unlinked(&self, out: &mut String, rich: &Rich, mut lead: Option<Lead>) {
        for run in &rich.0 {
            match run {
                Run::Link { text, .. } => self.push_unlinked(out, text, lead.take()),
                other => self.run(out, other, lead.take()),
            }
        }
    }

    fn run(&self, out: &mut String, run: &Run, lead: Option<Lead>) {
        match run {
            Run::Text { text, face } => {
                let (open, close) = tags(*face);
                out.push_str(open);
                push_led(out, text, lead);
                out.push_str(close);
            }
            Run::Link { text, target } => {
                let opened = self.open_link(out, target);
                self.push_unlinked(out, text, lead);
                out.push_str(if opened { "</a>" } else { "" });
            }
            Run::Verdict { verdict } => svg::push_verdict(out, *verdict),
            Run::Margin { share } => svg::push_margin(out, *share),
            Run::Blank => out.push_str("<span class=\"blank\"></span>"),
            Run::Break => out.push_str("<br>"),
        }
    }

    /// Whether the target can be followed; if so, its tag is written.
    fn open_link(&self, out: &mut String, target: &Target) -> bool {
        let Some(address) = self.address(target) else { return false };
        out.push_str("<a href=\"");
        push_escaped(out, &address);
        out.push_str(match target {
            Target::Inner { .. } | Target::Dossier { .. } => "\">",
            Target::Outer { .. } => "\" rel=\"noopener noreferrer\">",
        });
        true
    }

    /// The address of a link, not yet escaped; none where it would lead nowhere or run something.
    pub(super) fn address(&self, target: &Target) -> Option<String> {
        match target {
            Target::Inner { id } => self.place(id),
            Target::Dossier { id } => is_sound(id).then(|| format!("dossier.html#{id}")),
            Target::Outer { address } => {
                let lower = address.to_ascii_lowercase();
                let safe = ["http:", "https:", "mailto:"].iter().any(|scheme| lower.starts_with(scheme));
                safe.then(|| encoded(address))
            }
        }
    }

    /// `#id`, if the document has that id.
    pub(super) fn place(&self, id: &str) -> Option<String> {
        if !self.known.contains(id) {
            self.lost.borrow_mut().push(id.to_owned());
            return None;
        }
        Some(format!("#{id}"))
    }
}

/// An address without spaces and control characters, which are percent-encoded.
fn encoded(address: &str) -> String {
    let mut out = String::with_capacity(address.len());
    for letter in address.chars() {
        if letter.is_whitespace() || letter.is_control() {
            let mut buffer = [0; 4];
            letter.encode_utf8(&mut buffer).bytes().for_each(|byte| out.push_str(&format!("%{byte:02X}")));
        } else {
            out.push(letter);
        }
    }
    out
}

/// The text of a run; a lead and the rest of its token stay on one line.
fn push_led(out: &mut String, text: &str, lead: Option<Lead>) {
    let Some((lead, (head, rest))) = lead.and_then(|lead| Some((lead, text.split_at_checked(lead.bytes)?)))
    else {
        return push_text(out, text, Host::Html);
    };
    let (near, far) = rest.split_at(rest.find(is_gap).unwrap_or(rest.len()));
    out.push_str(&format!("<span class=\"q\"><span class=\"i i{}\">", lead.digits));
    push_escaped(out, head);
    out.push_str("</span>");
    push_escaped(out, near);
    out.push_str("</span>");
    push_text(out, far, Host::Html);
}

fn tags(face: Face) -> (&'static str, &'static str) {
    match face {
        Face::Plain => ("", ""),
        Face::Strong => ("<strong>", "</strong>"),
        Face::Emphasis => ("<em>", "</em>"),
        Face::StrongEmphasis => ("<strong><em>", "</em></strong>"),
        Face::Code => ("<code>", "</code>"),
        Face::Strike => ("<s>", "</s>"),
        Face::Sub => ("<sub>", "</sub>"),
        Face::Sup => ("<sup>", "</sup>"),
        Face::Quiet => ("<small>", "</small>"),
    }
}
