//! Which block a name means: the newest of a chain of replacements.
//!
//! From `replaces: drive` on, `drive` means the new block everywhere; `drive@old` still names the old one. Results are
//! known by the first name of the chain, those of a replaced block by the name that it was written under and `@old`.

use std::collections::HashMap;

use crate::findings::{Finding, Nearby, codes};
use crate::journal::{Node, NodeValue};
use crate::source::Span;
use crate::words::words;

/// A block as far as replacement goes.
pub(super) struct Written<'n> {
    pub name: &'n str,
    pub kind: &'static str,
    /// What stands under `replaces`.
    pub replaces: Option<(&'n str, Span)>,
    /// It could not be read: what it replaces is broken too, and nothing falls back.
    pub broken: bool,
}

/// What every spelling of a block's name means.
#[derive(Default)]
pub(super) struct Replaced {
    /// What each block is known by.
    pub keys: Vec<String>,
    /// The block that each one replaces, and the one that replaces it.
    pub replaces: Vec<Option<usize>>,
    pub by: Vec<Option<usize>>,
    /// Every spelling, those of broken blocks aside.
    pub names: HashMap<String, usize>,
    /// With the block that each belongs to.
    pub findings: Vec<(usize, Finding)>,
}

/// The name of the block that a mapping replaces.
pub(super) fn names_replaced(body: &Node) -> Option<(&str, Span)> {
    let node = body.get("replaces")?;
    match &node.value {
        NodeValue::Scalar { text, .. } => Some((text.trim(), node.span)),
        _ => None,
    }
}

/// The same of a block whose YAML can't be read, from its lines.
pub(super) fn line_replaced(text: &str) -> Option<&str> {
    let line = text.lines().find_map(|line| line.trim_start_matches([' ', '>']).strip_prefix("replaces:"))?;
    Some(line.split('#').next().unwrap_or(line).trim().trim_matches(['"', '\'']))
}

/// Follows all replacements.
pub(super) fn replaced(blocks: &[Written<'_>]) -> Replaced {
    let written: HashMap<&str, usize> =
        blocks.iter().enumerate().map(|(at, block)| (block.name, at)).collect();
    let mut near: Option<Nearby> = None;
    let mut all =
        Replaced { replaces: vec![None; blocks.len()], by: vec![None; blocks.len()], ..Replaced::default() };
    for (at, block) in blocks.iter().enumerate() {
        let Some((name, span)) = block.replaces else { continue };
        let fault = |message, help| {
            let finding = Finding::new(&codes::BAD_REPLACEMENT, span, message, help);
            (at, finding)
        };
        let Some(old) = written.get(name).copied() else {
            let near = near.get_or_insert_with(|| Nearby::new(blocks.iter().map(|block| block.name)));
            let help = match near.suggest(name) {
                Some(near) => words!("did you mean `{}`?", near),
                None => "type the name of a block of this journal".into(),
            };
            all.findings.push(fault(words!("no block is named `{}`", name), help));
            continue;
        };
        let other = &blocks[old];
        if !block.broken && !other.broken && other.kind != block.kind {
            let message = words!("`{}` is a {}, and this is a {}", name, other.kind, block.kind);
            all.findings.push(fault(message, "a block is replaced by one of its own kind".into()));
        } else if let Some(first) = all.by[old] {
            let message = words!("`{}` is replaced by `{}` already", name, blocks[first].name);
            let help = words!("type `replaces: {}`, the newest block", blocks[newest(&all.by, first)].name);
            all.findings.push(fault(message, help));
        } else if newest(&all.by, at) == old || at == old {
            let message = match at == old {
                true => words!("`{}` replaces itself", name),
                false => words!("`{}` and `{}` replace each other", name, block.name),
            };
            all.findings.push(fault(message, "take one `replaces` away".into()));
        } else {
            all.replaces[at] = Some(old);
            all.by[old] = Some(at);
        }
    }
    for (at, block) in blocks.iter().enumerate() {
        let key = match all.by[at] {
            Some(_) => format!("{}@old", block.name),
            None => blocks[oldest(&all.replaces, at)].name.to_owned(),
        };
        let means = newest(&all.by, at);
        if !blocks[means].broken {
            all.names.insert(block.name.to_owned(), means);
        }
        if !block.broken {
            all.names.insert(key.clone(), at);
        }
        all.keys.push(key);
    }
    all
}

fn newest(by: &[Option<usize>], at: usize) -> usize {
    std::iter::successors(Some(at), |at| by[*at]).last().unwrap_or(at)
}

fn oldest(replaces: &[Option<usize>], at: usize) -> usize {
    std::iter::successors(Some(at), |at| replaces[*at]).last().unwrap_or(at)
}

#[cfg(test)]
mod tests {
    use super::{Written, line_replaced, replaced};
    use crate::source::{FileId, Span};

    fn block(name: &'static str, replaces: Option<&'static str>) -> Written<'static> {
        let span = Span::new(FileId(0), 0, 1);
        Written { name, kind: "part", replaces: replaces.map(|old| (old, span)), broken: false }
    }

    #[test]
    fn names_mean_the_newest_and_results_keep_the_first_name() {
        let all =
            replaced(&[block("drive", None), block("second", Some("drive")), block("third", Some("second"))]);
        assert!(all.findings.is_empty());
        assert_eq!(all.keys, ["drive@old", "second@old", "drive"]);
        for (name, means) in [("drive", 2), ("second", 2), ("third", 2), ("drive@old", 0), ("second@old", 1)]
        {
            assert_eq!(all.names.get(name), Some(&means), "{name}");
        }
    }

    #[test]
    fn where_the_new_block_is_broken_nothing_falls_back() {
        let new = Written { broken: true, ..block("new", Some("drive")) };
        let all = replaced(&[block("drive", None), new]);
        assert_eq!(all.names.get("drive"), None);
        assert_eq!(all.names.get("drive@old"), Some(&0));
    }

    #[test]
    fn what_can_not_be_replaced_is_told() {
        for (blocks, words) in [
            (vec![block("a", Some("nobody"))], "no block is named"),
            (vec![block("a", Some("a"))], "replaces itself"),
            (vec![block("a", Some("b")), block("b", Some("a"))], "replace each other"),
            (vec![block("a", None), block("b", Some("a")), block("c", Some("a"))], "already"),
            (vec![Written { kind: "fuse", ..block("a", None) }, block("b", Some("a"))], "is a fuse"),
        ] {
            let found = replaced(&blocks).findings;
            assert_eq!(found.len(), 1, "{words}");
            assert!(found[0].1.message.to_string().contains(words), "{}", found[0].1.message);
        }
    }

    #[test]
    fn a_broken_body_still_says_what_it_replaces() {
        assert_eq!(line_replaced("x: [1\n  replaces: drive # since May\n"), Some("drive"));
        assert_eq!(line_replaced("mass: 3 kg"), None);
    }
}
