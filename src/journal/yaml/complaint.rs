//! What is wrong with broken YAML, in our own words, at the place that the author must change.

use crate::words::{Words, words};
use std::ops::Range;

use serde_yaml::granit_parser::{ErrorKind, ScanError};

use super::cut::cut_value;
use crate::findings::{Finding, codes};
use crate::journal::lines::line_at;
use crate::journal::offsets::Offsets;
use crate::source::Span;

/// Lists and mappings within each other; a journal needs about six.
pub(super) const DEEPEST: usize = 30;

/// What had been read when the parser gave up.
pub(super) struct Context<'a> {
    pub yaml: &'a str,
    pub offsets: &'a Offsets,
    /// The innermost `{` or `[` that is still open.
    pub flow: Option<usize>,
    /// The last plain scalar.
    pub last: Option<Range<usize>>,
}

/// One finding for broken YAML: `yaml-cut-value` where a cut value is the cause, else `yaml-broken`.
pub(super) fn complaint(error: &ScanError, context: &Context<'_>) -> Finding {
    let yaml = context.yaml;
    let mut at = error.marker().byte_offset().unwrap_or(0).min(yaml.len());
    while !yaml.is_char_boundary(at) {
        at -= 1;
    }
    if matches!(error.kind(), ErrorKind::RecursionLimitExceeded) {
        return too_deep(context.here(at));
    }
    if let Some(finding) = context.cut_at_colon(at).or_else(|| context.cut_at_comment(at)) {
        return finding;
    }
    if let Some(finding) = context.never_closed(error.kind(), at) {
        return finding;
    }
    let (message, help) = words(error.kind(), context, at);
    let at = match error.kind() {
        ErrorKind::TabInPlainScalar => at + yaml[at..].find('\t').unwrap_or(0),
        _ => at,
    };
    Finding::new(&codes::YAML_BROKEN, context.here(at), message, help)
}

impl Context<'_> {
    /// From `at` to the end of its line; at the end of the text, the last character.
    fn here(&self, at: usize) -> Span {
        let (line, _) = line_at(self.yaml, at);
        let end = line.start + self.yaml[line.clone()].trim_end().len();
        if end > at {
            return self.offsets.span(at..end);
        }
        let text = self.yaml[..at].trim_end();
        let last = text.char_indices().next_back().map_or(0, |(i, _)| i);
        self.offsets.span(last..text.len())
    }

    /// `remark: measured: twice`, and the same within braces.
    fn cut_at_colon(&self, at: usize) -> Option<Finding> {
        let last = self.last.clone()?;
        let colon = self.yaml[at..].starts_with(':') && last.end == at;
        let one_line = !self.yaml[last.clone()].contains(['\n', '\r']);
        (colon && one_line).then(|| {
            let (line, _) = line_at(self.yaml, at);
            let mut rest = &self.yaml[line];
            if self.flow.is_some() {
                rest = &rest[..rest.find([',', '}', ']']).unwrap_or(rest.len())];
            }
            cut_value(self.offsets.span(last.start..at + rest.trim_end().len()), ": ")
        })
    }

    /// `{mass: 64 kg (measured WB #2), count: 1}`: the comment has taken the closing bracket.
    fn cut_at_comment(&self, at: usize) -> Option<Finding> {
        let flow = self.flow?;
        let last = self.last.clone().filter(|last| last.start > flow)?;
        let mut start = flow;
        while start <= at && start < self.yaml.len() {
            let (line, next) = line_at(self.yaml, start);
            let text = &self.yaml[line.clone()];
            if let Some(hash) = comment(text)
                && text[hash..].contains([')', '}', ']'])
            {
                let hash = line.start + hash;
                let value = if last.end <= hash { last.start } else { hash };
                let end = line.start + text.trim_end().len();
                return Some(cut_value(self.offsets.span(value..end), " #"));
            }
            start = next;
        }
        None
    }

    /// A bracket or quote whose end was forgotten: the place to change is where it was opened.
    fn never_closed(&self, kind: &ErrorKind, at: usize) -> Option<Finding> {
        let flow = self.flow.filter(|flow| *flow < at)?;
        let later_line = self.yaml[flow..at].contains(['\n', '\r']);
        let ended = self.yaml[at..].trim().is_empty();
        if matches!(kind, ErrorKind::UnclosedQuotedScalar) || !(later_line || ended) {
            return None;
        }
        let bracket = if self.yaml[flow..].starts_with('{') { ('{', '}') } else { ('[', ']') };
        Some(Finding::new(
            &codes::YAML_BROKEN,
            self.here(flow),
            words!("`{}` is opened here, and what follows can't be read within it", bracket.0),
            words!("close it with `{}`, and put one comma between entries", bracket.1),
        ))
    }
}

pub(super) fn too_deep(span: Span) -> Finding {
    Finding::new(
        &codes::YAML_TOO_DEEP,
        span,
        format!("lists and mappings more than {DEEPEST} deep"),
        "take it apart into several keys, or close a bracket that was forgotten",
    )
}

/// Where a comment begins in a line, outside quotes.
fn comment(line: &str) -> Option<usize> {
    let mut quote = None;
    let mut before = ' ';
    for (at, c) in line.char_indices() {
        match quote {
            Some(open) if c == open => quote = None,
            Some(_) => {}
            None if c == '#' && before.is_whitespace() => return Some(at),
            // A quote opens only where a value can begin; elsewhere it is an apostrophe or an inch mark.
            None if matches!(c, '"' | '\'') && matches!(before, ' ' | '{' | '[' | ',') => quote = Some(c),
            None => {}
        }
        before = c;
    }
    None
}

fn words(kind: &ErrorKind, context: &Context<'_>, at: usize) -> (Words, &'static str) {
    use ErrorKind as E;
    let plain = |message: &'static str, help: &'static str| (Words::from(message), help);
    match kind {
        E::UnexpectedCharacter { character } => (
            words!("a value can't begin with `{}`", character.escape_default().to_string()),
            "put the value in quotes",
        ),
        E::TabNotAllowed | E::TabInBlockIndentation | E::TabInIndentation | E::TabInPlainScalar => {
            plain("a tab where YAML expects spaces", "indent with spaces")
        }
        E::TabAtBlockScalarStart => plain("a tab where YAML expects spaces", "indent with spaces"),
        E::UnclosedQuotedScalar => {
            plain("a quote is opened here and never closed", "type the same quote at the end of the value")
        }
        E::InvalidTrailingSingleQuotedScalar | E::InvalidTrailingDoubleQuotedScalar => plain(
            "text after the closing quote of a value",
            "put the whole value in quotes; within them type \\\" for a quote",
        ),
        E::UnknownQuotedScalarEscape
        | E::InvalidQuotedScalarHexEscape
        | E::InvalidUnicodeEscape
        | E::InvalidLowSurrogateHexEscape
        | E::InvalidLowSurrogate
        | E::MissingLowSurrogate
        | E::UnpairedLowSurrogate => plain(
            "a backslash in double quotes that stands for nothing",
            "type \\\\ for a backslash, or use single quotes",
        ),
        E::MisplacedFlowCollectionEnd | E::MismatchedFlowCollectionEnd { .. } => plain(
            "a bracket is closed that is not open here",
            "give each `{` its `}` and each `[` its `]`; text with brackets goes in quotes",
        ),
        E::UnclosedFlowCollection { open } => {
            (words!("`{}` is never closed", open), "type the closing bracket at the end of the entries")
        }
        E::DirectiveDisallowed => {
            plain("a YAML directive", "remove the line; a value that begins with `%` goes in quotes")
        }
        E::SimpleKeyExpected => {
            plain("a line that is no `key: value`", "type `key: value`, with a space after the colon")
        }
        E::MappingValueNotAllowed if context.last.as_ref().is_some_and(|last| last.end == at) => plain(
            "a key that is indented deeper than the key above, which has a value already",
            "indent it like the keys that it belongs to",
        ),
        E::BlockSequenceEntryNotAllowed | E::BlockEntryInFlowCollection | E::InvalidBlockEntryWhitespace => {
            plain(
                "a list entry `-` where none can stand",
                "put the list under its key, each entry on a line of its own that begins with `- `",
            )
        }
        E::ExpectedBlockMappingKey | E::ExpectedBlockSequenceEntry | E::InvalidIndentation => plain(
            "a line that is not indented like its neighbours",
            "indent all keys of one mapping, and all `-` of one list, alike",
        ),
        E::ExpectedFlowMappingSeparator
        | E::ExpectedFlowSequenceSeparator
        | E::UnexpectedEofImplicitFlowMapping
        | E::InvalidColonPlacement => plain(
            "entries between brackets that can't be told apart",
            "put one comma between entries, and quotes round a value that holds `,`, `: ` or brackets",
        ),
        _ => plain(
            "YAML that can't be read from here on",
            "type `key: value` lines; a value with `: `, ` #` or brackets in it goes in quotes",
        ),
    }
}
