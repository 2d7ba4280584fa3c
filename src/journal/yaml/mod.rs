//! YAML as a tree of text with places: plain scalars stay as typed, and what YAML would guess or share is refused.

mod complaint;
mod cut;
mod reader;

use std::fmt;

use super::offsets::Offsets;
use crate::findings::Finding;
use crate::source::{FileId, Span};

/// A piece of YAML with its place.
#[derive(Clone, PartialEq, Eq)]
pub(crate) struct Node {
    pub span: Span,
    pub value: NodeValue,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum NodeValue {
    Scalar {
        /// Plain text as typed (`3.70`, `yes`, `2/0`), quoted text without its quotes and escapes.
        text: String,
        quoted: Quoted,
    },
    Sequence(Vec<Node>),
    /// In the order of the file. Keys are scalars, no two of them equal.
    Mapping(Vec<(Node, Node)>),
    /// Nothing at all was typed.
    Empty,
}

/// How a scalar was typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Quoted {
    Plain,
    /// In single or double quotes.
    InQuotes,
    /// `|` or `>` and the lines under it.
    Block,
}

/// Reads a file that is YAML throughout. The tree is there only if nothing in it was refused.
pub(crate) fn read_yaml(file: FileId, text: &str) -> (Option<Node>, Vec<Finding>) {
    let yaml = text.strip_prefix('\u{feff}').unwrap_or(text);
    read(yaml, &Offsets::shifted(file, text.len() - yaml.len()))
}

/// Reads YAML whose bytes stand where `offsets` says.
pub(super) fn read(yaml: &str, offsets: &Offsets) -> (Option<Node>, Vec<Finding>) {
    reader::Reader::new(yaml, offsets).read()
}

impl Node {
    /// The text of a scalar.
    pub(crate) fn text(&self) -> Option<&str> {
        match &self.value {
            NodeValue::Scalar { text, .. } => Some(text),
            _ => None,
        }
    }

    /// Whether this is a scalar of just that text.
    pub(crate) fn is_text(&self, text: &str) -> bool {
        self.text() == Some(text)
    }

    /// The items of a list.
    pub(crate) fn items(&self) -> Option<&[Node]> {
        match &self.value {
            NodeValue::Sequence(items) => Some(items),
            _ => None,
        }
    }

    /// The keys and values of a mapping.
    pub(crate) fn entries(&self) -> Option<&[(Node, Node)]> {
        match &self.value {
            NodeValue::Mapping(entries) => Some(entries),
            _ => None,
        }
    }

    /// A plain scalar that was read from elsewhere (a cell of a table), with the place that stands for it.
    pub(crate) fn scalar(text: &str, span: Span) -> Node {
        Node { span, value: NodeValue::Scalar { text: text.to_owned(), quoted: Quoted::Plain } }
    }

    /// The value of a key of this mapping.
    pub(crate) fn get(&self, key: &str) -> Option<&Node> {
        match &self.value {
            NodeValue::Mapping(pairs) => {
                pairs.iter().find(|(k, _)| k.text() == Some(key)).map(|(_, value)| value)
            }
            _ => None,
        }
    }

    /// Whether this is a plain scalar with a parenthesis left open: YAML has cut it at ` #`, or at a comma
    /// in a list. A quantity finds this by itself; a text field asks here.
    pub(crate) fn looks_cut(&self) -> bool {
        match &self.value {
            NodeValue::Scalar { text, quoted: Quoted::Plain } => cut::open(text) > 0,
            _ => false,
        }
    }
}

/// The tree as one line of YAML flow, for tests: `{a: 1, b: [x, "y"], c: }`.
impl fmt::Debug for Node {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.value {
            NodeValue::Scalar { text, quoted: Quoted::Plain } => f.write_str(text),
            NodeValue::Scalar { text, .. } => write!(f, "{text:?}"),
            NodeValue::Empty => Ok(()),
            NodeValue::Sequence(items) => {
                f.write_str("[")?;
                for (i, item) in items.iter().enumerate() {
                    write!(f, "{}{item:?}", if i == 0 { "" } else { ", " })?;
                }
                f.write_str("]")
            }
            NodeValue::Mapping(pairs) => {
                f.write_str("{")?;
                for (i, (key, value)) in pairs.iter().enumerate() {
                    write!(f, "{}{key:?}: {value:?}", if i == 0 { "" } else { ", " })?;
                }
                f.write_str("}")
            }
        }
    }
}
