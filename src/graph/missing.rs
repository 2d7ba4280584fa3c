//! What is said of a name that nothing has.

use super::Plan;
use super::names::block_name;
use crate::findings::{Finding, codes};
use crate::model::{ALL_PARTS, NodeDecl, Notebook, Resolved, Stage, Wanted};
use crate::source::Span;
use crate::words::{Words, words};

impl Plan {
    /// With what the block of a name would have that result: one that such a block may have, and this one has not as its
    /// author wrote it.
    pub(crate) fn would_give(&self, notebook: &Notebook, name: &str) -> Option<Words> {
        let (block, rest) = name.split_once('.')?;
        notebook.blocks[*self.names.blocks.get(block)?].kind.gives_when(rest)
    }

    pub(super) fn not_there(
        &self,
        notebook: &Notebook,
        resolved: &Resolved,
        name: &str,
        at: Span,
    ) -> Option<Finding> {
        let (block, field) = name.split_once('.').unwrap_or((name, ""));
        if matches!(resolved.wanted, Wanted::Author | Wanted::Wish) {
            return self.unknown(notebook, name, at);
        }
        if notebook.broken.contains(block) {
            return None;
        }
        let entry = self.names.blocks.get(block).map(|number| &notebook.blocks[*number]);
        let kind = entry.map(|entry| entry.kind);
        if entry.is_some_and(|entry| entry.unsure) {
            return None;
        }
        let message = words!(
            "`{} {}` has no `{}`, which is needed here",
            kind.map_or("", |kind| kind.name),
            block,
            field
        );
        let worked = kind.filter(|kind| kind.gives(field));
        let help = match worked {
            Some(kind) => words!("`voltwright kinds {}` says which of its fields that needs", kind.name),
            None => words!("type `{}: …` in `{}`, or name a block that has it", field, block),
        };
        Some(Finding::new(&codes::MISSING_FIELD, at, message, help))
    }

    /// Whether the block of a name may be written later: it is no near miss of one that there is.
    pub(super) fn may_come(&self, notebook: &Notebook, name: &str) -> bool {
        let block = block_name(name);
        notebook.front.stage < Stage::Test
            && !self.names.blocks.contains_key(block)
            && !notebook.broken.contains(block)
            && self.names.near_block(notebook, block).is_none()
    }

    pub(super) fn unknown(&self, notebook: &Notebook, name: &str, at: Span) -> Option<Finding> {
        let block = block_name(name);
        if notebook.broken.contains(block) {
            return None;
        }
        if name.is_empty() {
            let help = "type the name of a block and of its field or result: `result:drive.motor_speed`";
            return Some(Finding::new(
                &codes::UNKNOWN_REFERENCE,
                at,
                "a live value that names no result",
                help,
            ));
        }
        let help = match self.names.blocks.get(block).map(|number| (*number, &notebook.blocks[*number])) {
            Some((number, entry)) => {
                let rest = name.split_once('.').map_or("", |(_, rest)| rest);
                let in_items = |(list, key): (&str, &str)| {
                    let of_item = |node: &NodeDecl| {
                        let inside = node.name.strip_prefix(list).and_then(|rest| rest.strip_suffix(key));
                        inside.is_some_and(|slug| {
                            slug.len() > 2 && slug.starts_with('.') && slug.ends_with('.')
                        })
                    };
                    entry.nodes.iter().any(of_item)
                };
                match self.names.near_value(notebook, number, rest) {
                    _ if let Some(when) = self.would_give(notebook, name) => words!(
                        "it is worked {}: `voltwright kinds {}` says by which fields",
                        when,
                        entry.kind.name
                    ),
                    _ if rest.rsplit_once('.').is_some_and(in_items) => {
                        words!(
                            "each item has one: type `sum({})`, or `min`, `max`, `mean`, `count` of it",
                            name
                        )
                    }
                    Some(near) => words!("did you mean `{}.{}`?", block, near),
                    // The name may stand where nothing could be read.
                    None if entry.unsure => return None,
                    None => words!(
                        "`voltwright kinds {}` lists what such a block gives, and with which fields",
                        entry.kind.name
                    ),
                }
            }
            None => match self.names.near_block(notebook, block) {
                Some(near) if self.find(notebook, &name.replacen(block, near, 1)).is_some() => {
                    words!("did you mean `{}`?", name.replacen(block, near, 1))
                }
                Some(near) => words!("did you mean the block `{}`?", near),
                None if block == ALL_PARTS => {
                    "it is that of the parts that a `mass-ledger` has under `installed`, and none of them has one".into()
                }
                None => "type the name of a block and of its field or result: `drive.motor_speed`".into(),
            },
        };
        Some(Finding::new(&codes::UNKNOWN_REFERENCE, at, words!("there is no `{}`", name), help))
    }
}
