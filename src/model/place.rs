//! A place in a block's text, and something else put there.

use crate::journal::{Node, NodeValue};
use crate::source::Span;

/// Where a value stands in a block, or goes.
pub(super) enum Place {
    /// In place of what stands there.
    At(Span),
    /// Under a key that is not there yet, in the mapping that stands there (the block itself without one). Groups on the
    /// way are made.
    New { inside: Option<Span>, path: Vec<String> },
}

impl Place {
    /// Puts a text there. Says whether there is such a place: rows of a CSV file have none.
    pub(super) fn put(&self, body: &mut Node, text: &str) -> bool {
        match self {
            Place::At(span) => {
                let mut found = Vec::new();
                at(body, *span, &mut found);
                let [node] = found.as_mut_slice() else { return false };
                let span = node.span;
                **node = Node::scalar(text, span);
                true
            }
            Place::New { inside, path } => {
                let mut found = Vec::new();
                match inside {
                    Some(span) => at(body, *span, &mut found),
                    None => found.push(body),
                }
                let [node] = found.as_mut_slice() else { return false };
                node.get("file").is_none() && insert(node, path, text)
            }
        }
    }
}

/// The text of the value at a place.
pub(super) fn text_at(body: &Node, span: Span) -> Option<&str> {
    if body.span == span {
        return body.text();
    }
    match &body.value {
        NodeValue::Sequence(items) => items.iter().find_map(|item| text_at(item, span)),
        NodeValue::Mapping(entries) => entries.iter().find_map(|(_, value)| text_at(value, span)),
        NodeValue::Scalar { .. } | NodeValue::Empty => None,
    }
}

/// The values at a place; keys are none.
fn at<'n>(node: &'n mut Node, span: Span, found: &mut Vec<&'n mut Node>) {
    if node.span == span {
        found.push(node);
        return;
    }
    match &mut node.value {
        NodeValue::Sequence(items) => items.iter_mut().for_each(|item| at(item, span, found)),
        NodeValue::Mapping(entries) => entries.iter_mut().for_each(|(_, value)| at(value, span, found)),
        NodeValue::Scalar { .. } | NodeValue::Empty => {}
    }
}

fn insert(node: &mut Node, path: &[String], text: &str) -> bool {
    let span = node.span;
    if matches!(node.value, NodeValue::Empty) {
        node.value = NodeValue::Mapping(Vec::new());
    }
    let (NodeValue::Mapping(entries), Some((key, rest))) = (&mut node.value, path.split_first()) else {
        return false;
    };
    let at = entries.iter().position(|(name, _)| name.is_text(key)).unwrap_or_else(|| {
        entries.push((Node::scalar(key, span), Node { span, value: NodeValue::Empty }));
        entries.len() - 1
    });
    let value = &mut entries[at].1;
    if !rest.is_empty() {
        return insert(value, rest, text);
    }
    *value = Node::scalar(text, value.span);
    true
}
