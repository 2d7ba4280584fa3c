//! Knows names and edges, never values: in what order everything is worked, what loops, and what is not there.

use std::collections::HashMap;

use crate::findings::{Finding, codes, suggest};
use crate::model::{Notebook, Origin, Resolved, Role, Wanted};
use crate::source::Span;
use crate::words::{Words, words};

/// The order of work, and where each value of the journal stands in one flat table.
pub(crate) struct Plan {
    /// Where each block's values begin in the table; one more entry says where the last one's end.
    pub first: Vec<usize>,
    /// `block.name` of every value.
    pub names: HashMap<String, usize>,
    /// For a field that refers to other values: those, in the order of its expression's names.
    pub targets: Vec<Vec<usize>>,
    pub actions: Vec<Action>,
    /// Every value, each after those that it needs.
    pub order: Vec<usize>,
    /// Values that can't be had, their finding made.
    pub failed: Vec<bool>,
    /// Values that are optional where they would come from, and are not there.
    pub absent: Vec<bool>,
    /// For each live value of the notebook: what it shows.
    pub live: Vec<Option<usize>>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Action {
    /// Take over or work out a field that refers to other values.
    Resolve(usize),
    /// Work a block as far as its known inputs reach.
    Run(usize),
}

/// Finds the order of work.
pub(crate) fn plan(notebook: &Notebook) -> (Plan, Vec<Finding>) {
    let mut first = vec![0];
    let mut names = HashMap::new();
    for block in &notebook.blocks {
        let start = first[first.len() - 1];
        for (index, node) in block.nodes.iter().enumerate() {
            if !node.hidden {
                names.entry(format!("{}.{}", block.name, node.name)).or_insert(start + index);
            }
        }
        first.push(start + block.nodes.len());
    }
    let total = first[first.len() - 1];
    let mut plan = Plan {
        first,
        names,
        targets: vec![Vec::new(); total],
        actions: Vec::new(),
        order: Vec::new(),
        failed: vec![false; total],
        absent: vec![false; total],
        live: Vec::new(),
    };
    let mut findings = Vec::new();
    plan.link(notebook, &mut findings);
    let order = plan.order(notebook, &mut findings);
    plan.schedule(notebook, &order);
    plan.order = order;
    (plan, findings)
}

impl Plan {
    pub(crate) fn block_of(&self, global: usize) -> usize {
        self.first.partition_point(|first| *first <= global) - 1
    }

    /// The block and the index in it.
    pub(crate) fn local(&self, global: usize) -> (usize, usize) {
        let block = self.block_of(global);
        (block, global - self.first[block])
    }

    pub(crate) fn len(&self) -> usize {
        self.targets.len()
    }

    /// What a value depends on directly.
    pub(crate) fn needs(&self, notebook: &Notebook, global: usize) -> Vec<usize> {
        let (block, index) = self.local(global);
        let node = &notebook.blocks[block].nodes[index];
        match &node.role {
            Role::Field(_) => self.targets[global].clone(),
            Role::Step(_) => node.uses().iter().map(|index| self.first[block] + *index as usize).collect(),
        }
    }

    fn link(&mut self, notebook: &Notebook, findings: &mut Vec<Finding>) {
        for (number, block) in notebook.blocks.iter().enumerate() {
            for (index, node) in block.nodes.iter().enumerate() {
                let Role::Field(Origin::Reference(resolved)) = &node.role else { continue };
                let global = self.first[number] + index;
                for name in resolved.expression.names() {
                    let text = name.text();
                    let otherwise = resolved.otherwise.map(|index| self.first[number] + index as usize);
                    // A bare name is one of the block's own.
                    let own = || self.names.get(&format!("{}.{text}", block.name)).copied();
                    let known = self.names.get(&text).copied();
                    let found = known.or_else(|| if text.contains('.') { None } else { own() });
                    match found.or(otherwise) {
                        Some(target) => self.targets[global].push(target),
                        None if resolved.wanted == Wanted::KindIfThere => self.absent[global] = true,
                        None => {
                            self.failed[global] = true;
                            let at = resolved
                                .text
                                .map_or(node.span, |span| span.part(name.at.start, name.at.len()));
                            let finding = self.not_there(notebook, resolved, &text, at);
                            findings.extend(
                                finding.map(|it| it.in_block(&format!("{} {}", block.kind.name, block.name))),
                            );
                        }
                    }
                }
            }
        }
        for live in &notebook.live {
            let target = self.names.get(&live.name).copied();
            if target.is_none() {
                findings.extend(self.unknown(notebook, &live.name, live.span));
            }
            self.live.push(target);
        }
    }

    fn not_there(&self, notebook: &Notebook, resolved: &Resolved, name: &str, at: Span) -> Option<Finding> {
        let (block, field) = name.split_once('.').unwrap_or((name, ""));
        if resolved.wanted == Wanted::Author {
            return self.unknown(notebook, name, at);
        }
        if notebook.broken.contains(block) {
            return None;
        }
        let kind = notebook.blocks.iter().find(|entry| entry.name == block).map(|entry| entry.kind);
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

    fn unknown(&self, notebook: &Notebook, name: &str, at: Span) -> Option<Finding> {
        let block = name.split('.').next().unwrap_or(name);
        if notebook.broken.contains(block) {
            return None;
        }
        let help = match notebook.blocks.iter().find(|entry| entry.name == block) {
            Some(entry) => {
                let shown = entry.nodes.iter().filter(|node| !node.hidden).map(|node| node.name.as_str());
                let rest = name.split_once('.').map_or("", |(_, rest)| rest);
                match suggest(rest, shown) {
                    Some(near) => words!("did you mean `{}.{}`?", block, near),
                    None => words!(
                        "`voltwright kinds {}` lists what such a block gives, and with which fields",
                        entry.kind.name
                    ),
                }
            }
            None => match suggest(block, notebook.blocks.iter().map(|entry| entry.name.as_str())) {
                Some(near) if self.names.contains_key(&name.replacen(block, near, 1)) => {
                    words!("did you mean `{}`?", name.replacen(block, near, 1))
                }
                Some(near) => words!("did you mean the block `{}`?", near),
                None => "type the name of a block and of its field or result: `drive.motor_speed`".into(),
            },
        };
        Some(Finding::new(&codes::UNKNOWN_REFERENCE, at, words!("there is no `{}`", name), help))
    }

    /// All values, each after those it needs; the members of a loop fail.
    fn order(&mut self, notebook: &Notebook, findings: &mut Vec<Finding>) -> Vec<usize> {
        let needs: Vec<Vec<usize>> = (0..self.len()).map(|global| self.needs(notebook, global)).collect();
        let mut order = Vec::with_capacity(needs.len());
        for component in components(&needs) {
            if component.len() > 1 || needs[component[0]].contains(&component[0]) {
                for member in &component {
                    self.failed[*member] = true;
                }
                findings.push(self.cycle(notebook, &needs, &component));
            }
            order.extend(component);
        }
        order
    }

    fn cycle(&self, notebook: &Notebook, needs: &[Vec<usize>], component: &[usize]) -> Finding {
        let named = |global: usize| {
            let (block, index) = self.local(global);
            let entry = &notebook.blocks[block];
            (format!("{}.{}", entry.name, entry.nodes[index].name), &entry.nodes[index])
        };
        // Begin at a value that the author wrote, so that the finding stands where it can be mended.
        let referring = |global: &&usize| matches!(named(**global).1.role, Role::Field(Origin::Reference(_)));
        let start = component.iter().filter(referring).min().or(component.iter().min()).copied().unwrap_or(0);
        let path = loop_from(start, needs, component);
        let shown = path.iter().filter(|global| !named(**global).1.hidden);
        let mut words: Vec<Words> = shown.map(|global| words!("`{}`", named(*global).0)).collect();
        if words.is_empty() {
            words = path.iter().map(|global| words!("`{}`", named(*global).0)).collect();
        }
        // What only refers to a value may have its name.
        words.dedup();
        words.push(words[0].clone());
        let (block, _) = self.local(start);
        let entry = &notebook.blocks[block];
        Finding::new(
            &codes::CYCLE,
            named(start).1.span,
            words!("values need each other in a loop: {}", Words::joined(words, " needs ")),
            "give one of them a value of its own, or take it from something that does not need it",
        )
        .in_block(&format!("{} {}", entry.kind.name, entry.name))
    }

    /// Turns the order of values into work: a block runs when a value of it is needed, and once at the end.
    fn schedule(&mut self, notebook: &Notebook, order: &[usize]) {
        let mut seen: Vec<Vec<usize>> = vec![Vec::new(); notebook.blocks.len()];
        let mut covered = vec![false; self.len()];
        for global in order {
            let (block, index) = self.local(*global);
            match &notebook.blocks[block].nodes[index].role {
                Role::Field(Origin::Reference(_)) => {
                    for target in self.targets[*global].clone() {
                        let (from, at) = self.local(target);
                        let step = matches!(notebook.blocks[from].nodes[at].role, Role::Step(_));
                        if step && !covered[target] {
                            self.actions.push(Action::Run(from));
                            for done in seen[from].drain(..) {
                                covered[done] = true;
                            }
                        }
                    }
                    self.actions.push(Action::Resolve(*global));
                }
                Role::Field(_) => {}
                Role::Step(_) => seen[block].push(*global),
            }
        }
        let rest = seen.iter().enumerate().filter(|(_, steps)| !steps.is_empty());
        let rest: Vec<Action> = rest.map(|(block, _)| Action::Run(block)).collect();
        self.actions.extend(rest);
    }
}

/// The shortest way from `start` back to itself within a component.
fn loop_from(start: usize, needs: &[Vec<usize>], component: &[usize]) -> Vec<usize> {
    let mut came: HashMap<usize, usize> = HashMap::new();
    let mut queue = std::collections::VecDeque::from([start]);
    while let Some(at) = queue.pop_front() {
        for next in &needs[at] {
            if *next == start {
                let mut path = vec![at];
                while let Some(before) = came.get(&path[path.len() - 1]) {
                    path.push(*before);
                }
                path.reverse();
                return path;
            }
            if component.contains(next) && !came.contains_key(next) {
                came.insert(*next, at);
                queue.push_back(*next);
            }
        }
    }
    vec![start]
}

/// Strongly connected components by Tarjan's algorithm, without recursion; with edges that point at what is needed
/// they come out in the order of work.
fn components(needs: &[Vec<usize>]) -> Vec<Vec<usize>> {
    const NEW: usize = usize::MAX;
    let mut number = vec![NEW; needs.len()];
    let mut low = vec![0; needs.len()];
    let mut on_stack = vec![false; needs.len()];
    let mut stack = Vec::new();
    let mut out = Vec::new();
    let mut next = 0;
    for root in 0..needs.len() {
        if number[root] != NEW {
            continue;
        }
        let mut calls = vec![(root, 0)];
        while let Some((at, edge)) = calls.pop() {
            if edge == 0 {
                number[at] = next;
                low[at] = next;
                next += 1;
                stack.push(at);
                on_stack[at] = true;
            }
            if let Some(to) = needs[at].get(edge) {
                calls.push((at, edge + 1));
                if number[*to] == NEW {
                    calls.push((*to, 0));
                } else if on_stack[*to] {
                    low[at] = low[at].min(number[*to]);
                }
                continue;
            }
            if low[at] == number[at] {
                let mut component = Vec::new();
                while let Some(member) = stack.pop() {
                    on_stack[member] = false;
                    component.push(member);
                    if member == at {
                        break;
                    }
                }
                out.push(component);
            }
            if let Some((parent, _)) = calls.last() {
                low[*parent] = low[*parent].min(low[at]);
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::components;

    #[test]
    fn what_is_needed_comes_first_and_a_loop_stays_together() {
        let order = components(&[vec![1], vec![2], vec![], vec![4], vec![3, 0]]);
        assert_eq!(order, [vec![2], vec![1], vec![0], vec![4, 3]]);
    }
}
