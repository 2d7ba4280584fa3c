//! Builds the tree from the parser's events; what is refused becomes findings.

use std::collections::HashSet;
use std::ops::{ControlFlow, Range};

use serde_yaml::granit_parser::{Event, Options, Parser, ScalarStyle, StructureStyle};

use super::complaint::{Context, DEEPEST, complaint, too_deep};
use super::cut;
use super::{Node, NodeValue, Quoted};
use crate::findings::{Finding, codes};
use crate::journal::offsets::Offsets;
use crate::source::Span;
use crate::words::words;

pub(super) struct Reader<'a> {
    yaml: &'a str,
    offsets: &'a Offsets,
    stack: Vec<Collection>,
    root: Option<Node>,
    documents: usize,
    /// The last scalar, for the complaint.
    last: Option<Range<usize>>,
    /// Names of anchors and tags that were complained of.
    named: HashSet<String>,
    findings: Vec<Finding>,
}

/// A list or mapping whose end has not come.
struct Collection {
    start: usize,
    style: StructureStyle,
    form: Form,
}

enum Form {
    Sequence(Vec<Node>),
    Mapping {
        pairs: Vec<(Node, Node)>,
        /// For each pair, whether its key stands without a colon.
        bare: Vec<bool>,
        key: Option<Node>,
        seen: HashSet<String>,
    },
}

impl<'a> Reader<'a> {
    pub(super) fn new(yaml: &'a str, offsets: &'a Offsets) -> Reader<'a> {
        Reader {
            yaml,
            offsets,
            stack: Vec::new(),
            root: None,
            documents: 0,
            last: None,
            named: HashSet::new(),
            findings: Vec::new(),
        }
    }

    /// The tree, if nothing was refused.
    pub(super) fn read(mut self) -> (Option<Node>, Vec<Finding>) {
        let mut options = Options::default();
        options.disallow_directives = true;
        options.emit_anchor_events = true;
        options.emit_unresolved_aliases = true;
        for result in Parser::new_from_str_with_options(self.yaml, options) {
            match result {
                Ok((event, span)) => {
                    let range = self.clamp(span.byte_range().unwrap_or(0..0));
                    if let Some(tag) = event.tag().and(span.tag_span()) {
                        let tag = self.clamp(tag.byte_range().unwrap_or(0..0));
                        self.shared(self.yaml[tag.clone()].to_owned(), tag);
                    }
                    if self.take(event, range).is_break() {
                        break;
                    }
                }
                Err(error) => {
                    let context = Context {
                        yaml: self.yaml,
                        offsets: self.offsets,
                        flow: self.open_flow(),
                        last: self.last.clone(),
                    };
                    self.findings.push(complaint(&error, &context));
                    break;
                }
            }
        }
        let nothing = || Node { span: self.offsets.span(0..0), value: NodeValue::Empty };
        let root = self.findings.is_empty().then(|| self.root.clone().unwrap_or_else(nothing));
        (root, self.findings)
    }

    fn take(&mut self, event: Event<'_>, range: Range<usize>) -> ControlFlow<()> {
        match event {
            Event::DocumentStart(..) => {
                self.documents += 1;
                if self.documents > 1 {
                    self.findings.push(Finding::new(
                        &codes::YAML_BROKEN,
                        self.offsets.span(range),
                        "a second YAML document begins here, and a block holds one",
                        "remove this `---`, or put what follows into a block of its own",
                    ));
                    return ControlFlow::Break(());
                }
            }
            Event::Scalar(text, style, ..) => self.scalar(text.into_owned(), style, range),
            Event::SequenceStart(style, ..) => {
                return self.open(Collection { start: range.start, style, form: Form::Sequence(Vec::new()) });
            }
            Event::MappingStart(style, ..) => {
                let form =
                    Form::Mapping { pairs: Vec::new(), bare: Vec::new(), key: None, seen: HashSet::new() };
                return self.open(Collection { start: range.start, style, form });
            }
            Event::SequenceEnd | Event::MappingEnd => self.close(range.end),
            Event::Anchor(_, name) => self.shared(name.into_owned(), range),
            Event::Alias(_) | Event::UnresolvedAlias(_) => {
                let name = self.yaml[range.clone()].trim_start_matches('*').to_owned();
                self.shared(name, range.clone());
                self.add(Node { span: self.offsets.span(range), value: NodeValue::Empty }, true);
            }
            _ => {}
        }
        ControlFlow::Continue(())
    }

    fn scalar(&mut self, text: String, style: ScalarStyle, range: Range<usize>) {
        let quoted = match style {
            ScalarStyle::Plain => Quoted::Plain,
            ScalarStyle::SingleQuoted | ScalarStyle::DoubleQuoted => Quoted::InQuotes,
            ScalarStyle::Literal | ScalarStyle::Folded => Quoted::Block,
        };
        let span = self.offsets.span(range.clone());
        if quoted == Quoted::Plain && range.is_empty() {
            let (before, after) = self.yaml.split_at(range.start);
            let colon = before.trim_end().ends_with(':') || after.trim_start().starts_with(':');
            return self.add(Node { span, value: NodeValue::Empty }, colon);
        }
        if quoted == Quoted::Plain {
            self.findings.extend(cut::at_hash(&text, &self.yaml[range.end..], span));
            self.last = Some(range);
        }
        self.add(Node { span, value: NodeValue::Scalar { text, quoted } }, true);
    }

    fn open(&mut self, collection: Collection) -> ControlFlow<()> {
        if self.stack.len() >= DEEPEST {
            let at = self.clamp(collection.start..collection.start + 1);
            self.findings.push(too_deep(self.offsets.span(at)));
            return ControlFlow::Break(());
        }
        self.stack.push(collection);
        ControlFlow::Continue(())
    }

    fn close(&mut self, end: usize) {
        let Some(Collection { start, style, form }) = self.stack.pop() else { return };
        let flow = style == StructureStyle::Flow;
        let mut span = self.offsets.span(start..if flow { end } else { start });
        let (value, last) = match form {
            Form::Sequence(items) => {
                if flow {
                    self.findings.extend(cut::in_sequence(&items));
                }
                let last = items.last().map(|item| item.span);
                (NodeValue::Sequence(items), last)
            }
            Form::Mapping { pairs, bare, .. } => {
                if flow {
                    self.findings.extend(cut::in_mapping(&pairs, &bare));
                } else {
                    self.findings.extend(pairs.iter().filter_map(cut_key));
                }
                let last = pairs.last().map(|(_, value)| value.span);
                (NodeValue::Mapping(pairs), last)
            }
        };
        if let (false, Some(last)) = (flow, last) {
            // A block collection ends with its last value, not where the next token begins.
            span.end = last.end.max(span.start);
        }
        self.add(Node { span, value }, true);
    }

    /// Puts a node where it belongs; `colon` is false only for the missing value of a key without a colon.
    fn add(&mut self, node: Node, colon: bool) {
        match self.stack.last_mut() {
            None => self.root = Some(node),
            Some(Collection { form: Form::Sequence(items), .. }) => items.push(node),
            Some(Collection { form: Form::Mapping { pairs, bare, key, seen }, .. }) => match key.take() {
                None => {
                    *key = Some(node);
                }
                Some(name) => {
                    match name.text() {
                        None => self.findings.push(Finding::new(
                            &codes::YAML_BROKEN,
                            name.span,
                            "a key that is not a word",
                            "type `key: value`; a value that begins with `{` or `[` and is text goes in quotes",
                        )),
                        Some(text) if !seen.insert(text.to_owned()) => self.findings.push(Finding::new(
                            &codes::DUPLICATE_KEY,
                            name.span,
                            words!("`{}` stands twice in one mapping", text),
                            "keep one of the two",
                        )),
                        Some(_) => {}
                    }
                    pairs.push((name, node));
                    bare.push(!colon);
                }
            },
        }
    }

    /// An anchor, alias or tag; each name once.
    fn shared(&mut self, name: String, range: Range<usize>) {
        let shown = self.yaml[range.clone()].to_owned();
        if self.named.insert(name) {
            self.findings.push(Finding::new(
                &codes::YAML_ALIAS,
                self.offsets.span(range),
                words!("`{}` is a YAML anchor, alias or tag, and a journal has none", shown),
                "write the value out here, or refer to a result by its name; if it is text, put it in quotes",
            ));
        }
    }

    /// Where the innermost `{` or `[` that is still open stands.
    fn open_flow(&self) -> Option<usize> {
        self.stack
            .last()
            .filter(|collection| collection.style == StructureStyle::Flow)
            .map(|collection| collection.start)
    }

    fn clamp(&self, range: Range<usize>) -> Range<usize> {
        let inside = |mut at: usize| {
            at = at.min(self.yaml.len());
            while !self.yaml.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let start = inside(range.start);
        start..inside(range.end).max(start)
    }
}

/// A value cut at `: ` in a list makes a key with an open parenthesis: `- seats (measured: twice)`.
fn cut_key((key, value): &(Node, Node)) -> Option<Finding> {
    let rest = value.text().map_or(0, cut::open);
    let cut = key.looks_cut() && rest < 0;
    cut.then(|| cut::cut_value(Span { end: value.span.end, ..key.span }, ": "))
}
