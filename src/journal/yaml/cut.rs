//! Values that YAML has cut at a comma, seen by the parenthesis that closes in a neighbour.

use super::{Node, NodeValue, Quoted};
use crate::findings::{Finding, codes};
use crate::source::Span;
use crate::words::words;

/// Says where a value was cut, and how it is kept whole.
pub(super) fn cut_value(span: Span, at: &str) -> Finding {
    let number = if at == "," { "; a number is typed without a comma" } else { "" };
    Finding::new(
        &codes::YAML_CUT_VALUE,
        span,
        words!("YAML ends a value at `{}`, and this one goes on after it", at),
        format!("put it in quotes{number}"),
    )
}

/// A value that is cut at ` #`: `Motor #2`. A remark has a space behind its `#`. A parenthesis that is left open is
/// found elsewhere.
pub(super) fn at_hash(text: &str, after: &str, value: Span) -> Option<Finding> {
    let rest = after.trim_start_matches([' ', '\t']);
    let goes_on = open(text) <= 0
        && rest.len() < after.len()
        && rest.strip_prefix('#').is_some_and(|rest| rest.starts_with(|c: char| c.is_alphanumeric()));
    goes_on.then(|| {
        let help = "put it in quotes; or put a space after the `#`, if it begins a remark";
        let message = "YAML ends a value at ` #`, and this one goes on after it";
        Finding::new(&codes::YAML_CUT_VALUE, value, message, help)
    })
}

/// Parentheses left open in a text; negative where more are closed than opened.
pub(super) fn open(text: &str) -> i32 {
    let mut open: i32 = 0;
    for byte in text.bytes() {
        match byte {
            b'(' => open = open.saturating_add(1),
            b')' => open = open.saturating_sub(1),
            _ => {}
        }
    }
    open
}

/// The first thing that could have been cut, and the last that it was cut into: `[64 kg (measured, twice)]`.
pub(super) fn in_sequence(items: &[Node]) -> Vec<Finding> {
    let mut search = Search::default();
    for item in items {
        search.value(item);
    }
    search.findings
}

/// The same in a flow mapping: `{mass: 64 kg (measured, twice)}`. A key without a colon is the rest of the
/// value before it, whatever the parentheses: `{item: seats, three}`.
pub(super) fn in_mapping(pairs: &[(Node, Node)], bare: &[bool]) -> Vec<Finding> {
    let mut search = Search::default();
    for ((key, value), bare) in pairs.iter().zip(bare) {
        let found = search.findings.len();
        search.rest(key);
        if search.findings.len() > found {
            continue;
        }
        if *bare && search.open <= 0 {
            if let Some(before) = search.last {
                search.found(before, key.span);
            }
            continue;
        }
        search.value(value);
    }
    search.findings
}

#[derive(Default)]
struct Search {
    /// Parentheses open since `start`.
    open: i32,
    start: Option<Span>,
    /// The plain value just before.
    last: Option<Span>,
    findings: Vec<Finding>,
}

impl Search {
    /// A value may be the rest of a cut one, or the beginning of one.
    fn value(&mut self, node: &Node) {
        let found = self.findings.len();
        self.rest(node);
        if self.findings.len() > found {
            return;
        }
        let plain = plain(node);
        self.last = plain.map(|_| node.span);
        if self.open <= 0 && plain.is_some_and(|text| open(text) > 0) {
            self.open = plain.map_or(0, open);
            self.start = Some(node.span);
        }
    }

    fn rest(&mut self, node: &Node) {
        let Some(start) = self.start else { return };
        match plain(node) {
            Some(text) => {
                self.open += open(text);
                if self.open <= 0 {
                    self.found(start, node.span);
                }
            }
            None if node.value == NodeValue::Empty => {}
            // A list, a mapping or a quoted text is no rest: the parenthesis is open for another reason.
            None => self.start = None,
        }
        if self.start.is_none() {
            self.open = 0;
        }
    }

    fn found(&mut self, start: Span, end: Span) {
        self.findings.push(cut_value(Span { end: end.end, ..start }, ","));
        self.start = None;
        self.open = 0;
    }
}

fn plain(node: &Node) -> Option<&str> {
    match &node.value {
        NodeValue::Scalar { text, quoted: Quoted::Plain } => Some(text),
        _ => None,
    }
}
