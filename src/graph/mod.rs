//! Knows names and edges, never values: in what order everything is worked, what loops, and what is not there.

mod lists;
mod missing;
mod names;
mod pieces;

use std::collections::HashSet;

use crate::findings::{Finding, codes};
use crate::model::{Notebook, Origin, Role, Wanted, name_of_today};
use crate::source::Span;
use crate::words::{Words, words};

pub(crate) use lists::Lists;
use lists::{components, loop_from};
use names::{Names, block_name, old_name};

/// The order of work, and where each value of the journal stands in one flat table.
pub(crate) struct Plan {
    /// Where each block's values begin in the table; one more entry says where the last one's end.
    pub first: Vec<usize>,
    /// The block of each value.
    blocks: Vec<u32>,
    names: Names,
    /// What each value depends on directly.
    needs: Lists,
    /// For a field that refers to other values: those, in the order of its expression's names.
    pub targets: Vec<Vec<usize>>,
    pub actions: Vec<Action>,
    /// Every value, each after those that it needs.
    pub order: Vec<usize>,
    /// Values that can't be had, their finding made.
    pub failed: Vec<bool>,
    /// Blocks with a name that nothing has, or with values that need each other.
    pub wrong: Vec<bool>,
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
    let mut blocks = Vec::new();
    for (number, block) in notebook.blocks.iter().enumerate() {
        blocks.resize(blocks.len() + block.nodes.len(), number as u32);
        first.push(blocks.len());
    }
    let total = blocks.len();
    let mut plan = Plan {
        first,
        blocks,
        names: Names::new(notebook),
        needs: Lists::default(),
        targets: vec![Vec::new(); total],
        actions: Vec::new(),
        order: Vec::new(),
        failed: vec![false; total],
        wrong: vec![false; notebook.blocks.len()],
        absent: vec![false; total],
        live: Vec::new(),
    };
    let mut findings = Vec::new();
    plan.link(notebook, &mut findings);
    plan.needs = plan.direct(notebook);
    plan.spreads_lost(notebook, &mut findings);
    let order = plan.order(notebook, &mut findings);
    plan.schedule(notebook, &order);
    plan.order = order;
    (plan, findings)
}

impl Plan {
    pub(crate) fn block_of(&self, global: usize) -> usize {
        self.blocks[global] as usize
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
    pub(crate) fn needs(&self, global: usize) -> impl DoubleEndedIterator<Item = usize> {
        self.needs.of(global).iter().map(|need| *need as usize)
    }

    /// The other way round: what depends directly on each value.
    pub(crate) fn needed_by(&self) -> Lists {
        self.needs.turned(self.len())
    }

    /// The value of that full name, `block.name`.
    pub(crate) fn find(&self, notebook: &Notebook, name: &str) -> Option<usize> {
        let (block, rest) = name.split_once('.')?;
        self.find_in(notebook, *self.names.blocks.get(block)?, rest)
    }

    /// The value that a name of before means today, and its name of today. A bare name is one of `number`'s own.
    fn renamed(&self, notebook: &Notebook, number: usize, name: &str) -> Option<(usize, String)> {
        let Some((block, rest)) = name.split_once('.') else {
            let now = name_of_today(name)?;
            return Some((self.find_in(notebook, number, &now)?, now));
        };
        let now = format!("{block}.{}", name_of_today(rest)?);
        Some((self.find(notebook, &now)?, now))
    }

    /// `block.name` of every value that can be named, in the order of the journal.
    pub(crate) fn names(&self, notebook: &Notebook) -> Vec<String> {
        let all = notebook.blocks.iter().flat_map(|block| block.nodes.iter().map(move |node| (block, node)));
        let shown = all.filter(|(_, node)| !node.hidden);
        shown.map(|(block, node)| format!("{}.{}", block.name, node.name)).collect()
    }

    /// The value of that name in one block.
    fn find_in(&self, notebook: &Notebook, number: usize, name: &str) -> Option<usize> {
        let index = self.names.index(number, &notebook.blocks[number].nodes, name)?;
        Some(self.first[number] + index)
    }

    fn direct(&self, notebook: &Notebook) -> Lists {
        let mut needs = Lists::default();
        for (number, block) in notebook.blocks.iter().enumerate() {
            let start = self.first[number];
            for (index, node) in block.nodes.iter().enumerate() {
                match &node.role {
                    Role::Field(_) => {
                        needs.push(self.targets[start + index].iter().map(|target| *target as u32))
                    }
                    Role::Step(_) => needs.push(node.uses().iter().map(|used| start as u32 + used)),
                }
            }
        }
        needs
    }

    fn link(&mut self, notebook: &Notebook, findings: &mut Vec<Finding>) {
        // What several blocks need from one that lacks it is one mistake.
        let mut lacked: HashSet<String> = HashSet::new();
        for (number, block) in notebook.blocks.iter().enumerate() {
            for (index, node) in block.nodes.iter().enumerate() {
                let Role::Field(Origin::Reference(resolved)) = &node.role else { continue };
                let global = self.first[number] + index;
                for name in resolved.expression.names() {
                    let text = name.text();
                    let part = |span: Span| span.part(name.at.start, name.at.len());
                    let at = resolved.text.map_or(node.span, part);
                    let otherwise = resolved.otherwise.map(|index| self.first[number] + index as usize);
                    let found = match block.bound(resolved) {
                        Some(bound) => self.find_in(notebook, bound, &text),
                        None if text.contains('.') => self.find(notebook, &text),
                        // A bare name is one of the block's own.
                        None => self.find_in(notebook, number, &text),
                    };
                    if found.is_none()
                        && let Some((target, now)) = self.renamed(notebook, number, &text)
                    {
                        self.targets[global].push(target);
                        if matches!(resolved.wanted, Wanted::Author | Wanted::Wish) {
                            findings.push(old_name(&text, &now, at).in_block(number));
                        }
                        continue;
                    }
                    match found.or(otherwise) {
                        Some(target) => self.targets[global].push(target),
                        None if resolved.wanted == Wanted::KindIfThere => self.absent[global] = true,
                        None if resolved.wanted == Wanted::Wish && self.may_come(notebook, &text) => {
                            self.absent[global] = true;
                            let message = words!("there is no `{}` yet", text);
                            let help =
                                words!("its line stays open until there is a block `{}`", block_name(&text));
                            findings.push(Finding::new(&codes::NOT_YET, at, message, help).in_block(number));
                        }
                        None if resolved.wanted == Wanted::Wish
                            && self.would_give(notebook, &text).is_some() =>
                        {
                            self.absent[global] = true;
                            findings.extend(self.unknown(notebook, &text, at).map(|finding| {
                                Finding { code: &codes::NOT_YET, ..finding }.in_block(number)
                            }));
                        }
                        None => {
                            self.failed[global] = true;
                            // A name of the block's own may stand where it could not be read.
                            let full = notebook.full_name(block, resolved, name);
                            let sure = full.contains('.') || !block.unsure;
                            let finding = self.not_there(notebook, resolved, &full, at);
                            if let Some(finding) = finding.filter(|_| sure) {
                                self.wrong[number] = true;
                                let named = matches!(resolved.wanted, Wanted::Author | Wanted::Wish);
                                if named || lacked.insert(full) {
                                    findings.push(finding.in_block(number));
                                }
                            }
                        }
                    }
                }
            }
        }
        for (name, at) in &notebook.front.follow {
            if self.find(notebook, name).is_none() && !self.may_come(notebook, name) {
                findings.extend(self.unknown(notebook, name, *at));
            }
        }
        for live in &notebook.live {
            let mut target = self.find(notebook, &live.name);
            if target.is_none()
                && live.name.contains('.')
                && let Some((found, now)) = self.renamed(notebook, 0, &live.name)
            {
                findings.push(old_name(&live.name, &now, live.span));
                target = Some(found);
            }
            if target.is_none() {
                findings.extend(self.unknown(notebook, &live.name, live.span));
            }
            self.live.push(target);
        }
    }

    /// All values, each after those it needs; the members of a loop fail.
    fn order(&mut self, notebook: &Notebook, findings: &mut Vec<Finding>) -> Vec<usize> {
        let mut order = Vec::with_capacity(self.len());
        let mut loops = Vec::new();
        components(&self.needs, |component| {
            if component.len() > 1 || self.needs.of(component[0]).contains(&(component[0] as u32)) {
                loops.push(component.to_vec());
            }
            order.extend_from_slice(component);
        });
        for component in loops {
            for member in &component {
                self.failed[*member] = true;
            }
            let finding = self.cycle(notebook, &component);
            if let Some(number) = finding.block {
                self.wrong[number as usize] = true;
            }
            findings.push(finding);
        }
        order
    }

    fn cycle(&self, notebook: &Notebook, component: &[usize]) -> Finding {
        let named = |global: usize| {
            let (block, index) = self.local(global);
            let entry = &notebook.blocks[block];
            (format!("{}.{}", entry.name, entry.nodes[index].name), &entry.nodes[index])
        };
        // Begin at a value that the author wrote, so that the finding stands where it can be mended.
        let referring = |global: &&usize| matches!(named(**global).1.role, Role::Field(Origin::Reference(_)));
        let start = component.iter().filter(referring).min().or(component.iter().min()).copied().unwrap_or(0);
        let path = loop_from(start, &self.needs, component);
        let shown = path.iter().filter(|global| !named(**global).1.hidden);
        let mut words: Vec<Words> = shown.map(|global| words!("`{}`", named(*global).0)).collect();
        if words.is_empty() {
            words = path.iter().map(|global| words!("`{}`", named(*global).0)).collect();
        }
        // What only refers to a value may have its name.
        words.dedup();
        words.push(words[0].clone());
        Finding::new(
            &codes::CYCLE,
            named(start).1.span,
            words!("values need each other in a loop: {}", Words::joined(words, " needs ")),
            "give one of them a value of its own, or take it from something that does not need it",
        )
        .in_block(self.block_of(start))
    }

    /// Turns the order of values into work: a block runs when a value of it is needed, and once at the end.
    fn schedule(&mut self, notebook: &Notebook, order: &[usize]) {
        let mut seen: Vec<Vec<usize>> = vec![Vec::new(); notebook.blocks.len()];
        let mut covered = vec![false; self.len()];
        for global in order {
            let (block, index) = self.local(*global);
            match &notebook.blocks[block].nodes[index].role {
                Role::Field(Origin::Reference(_)) => {
                    for at in 0..self.targets[*global].len() {
                        let target = self.targets[*global][at];
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
