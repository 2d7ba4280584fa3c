//! Limits that a block takes over from another one: what rules they rest on there counts here as well.

use super::node::{Origin, Role, Status};
use super::notebook::Notebook;
use crate::quantities::Name;
use crate::rules::Source;

/// So many take-overs are followed; a chain that is longer is a loop, which has its finding.
const MOST: usize = 32;

/// Gives each requirement the rules of the values that its limits are taken over from. Before confirmations are.
pub(super) fn apply(notebook: &mut Notebook) {
    let found: Vec<(usize, usize, &'static Source)> = {
        let view = View(notebook);
        let blocks = notebook.blocks.iter().enumerate();
        let requirements = blocks.flat_map(|(number, block)| {
            block.requirements.iter().enumerate().map(move |(at, requirement)| (number, at, requirement))
        });
        requirements
            .flat_map(|(number, at, requirement)| {
                let limits = [requirement.low, requirement.high].into_iter().flatten();
                let rules = limits.flat_map(|limit| view.rules(number, limit as usize)).collect::<Vec<_>>();
                rules.into_iter().map(move |rule| (number, at, rule))
            })
            .collect()
    };
    for (number, at, rule) in found {
        let requirement = &mut notebook.blocks[number].requirements[at];
        if requirement.rules.iter().any(|known| std::ptr::eq(*known, rule)) {
            continue;
        }
        let most = requirement.rules.iter().map(|known| known.standing).max();
        if most.is_none_or(|most| rule.standing > most) {
            requirement.status = Status::from(rule.standing);
        }
        requirement.source.push_str(&format!(": {}", rule.words()));
        requirement.rules.push(rule);
    }
}

struct View<'n>(&'n Notebook);

impl View<'_> {
    /// Of a limit that stands in a block: a value, or work of its own with several.
    fn rules(&self, number: usize, limit: usize) -> Vec<&'static Source> {
        let node = &self.0.blocks[number].nodes[limit];
        let parts = if node.hidden { node.uses() } else { &[] };
        let parts = parts.iter().map(|index| *index as usize).chain([limit]);
        parts.flat_map(|index| self.behind((number, index), 0)).collect()
    }

    /// Of what a value is taken over from; none of its own, for those are known.
    fn behind(&self, (number, index): (usize, usize), depth: usize) -> Vec<&'static Source> {
        let block = &self.0.blocks[number];
        let Role::Field(Origin::Reference(resolved)) = &block.nodes[index].role else { return Vec::new() };
        if depth > MOST {
            return Vec::new();
        }
        let source = |name: &Name| {
            let full = self.0.full_name(block, resolved, name);
            let (of, rest) = full.split_once('.')?;
            let number = *self.0.names.get(of)?;
            let nodes = &self.0.blocks[number].nodes;
            let at = nodes.iter().position(|node| node.name == rest && node.has_a_name())?;
            let own = nodes[at].leaf().and_then(|leaf| leaf.rule);
            Some(own.into_iter().chain(self.behind((number, at), depth + 1)).collect::<Vec<_>>())
        };
        resolved.expression.names().iter().filter_map(source).flatten().collect()
    }
}
