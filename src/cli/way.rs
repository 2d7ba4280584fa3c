//! The way from a result back to the leaves that it rests on, as trees of bounded depth.

use std::collections::{HashSet, VecDeque};

use crate::model::{Origin, Role};
use crate::report::Told;

/// Deeper than this a tree is cut, and goes on as one of its own: readers of JSON bear only so many brackets.
const DEEP: usize = 50;

/// A value and what it was worked from.
pub(super) struct Step {
    pub(super) global: usize,
    pub(super) told: Elsewhere,
    pub(super) needs: Vec<Step>,
}

/// Whether what a value needs is told at this place.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Elsewhere {
    Here,
    /// It was told already.
    Above,
    /// It follows as a tree of its own.
    Below,
}

/// The trees: the first is that of the value asked for, the others go on where one was cut. Each value's needs are told
/// once.
pub(super) fn way(told: Told<'_>, global: usize) -> Vec<Step> {
    let mut walker = Walker { told, seen: HashSet::new(), later: VecDeque::new() };
    let mut trees = vec![walker.step(global, 0)];
    while let Some(next) = walker.later.pop_front() {
        if !walker.seen.contains(&next) {
            trees.push(walker.step(next, 0));
        }
    }
    trees
}

struct Walker<'a> {
    told: Told<'a>,
    seen: HashSet<usize>,
    later: VecDeque<usize>,
}

impl Walker<'_> {
    fn step(&mut self, global: usize, depth: usize) -> Step {
        let needs = needs(self.told, global);
        if needs.is_empty() {
            return Step { global, told: Elsewhere::Here, needs: Vec::new() };
        }
        if self.seen.contains(&global) {
            return Step { global, told: Elsewhere::Above, needs: Vec::new() };
        }
        if depth == DEEP {
            self.later.push_back(global);
            return Step { global, told: Elsewhere::Below, needs: Vec::new() };
        }
        self.seen.insert(global);
        let needs = needs.into_iter().map(|need| self.step(need, depth + 1)).collect();
        Step { global, told: Elsewhere::Here, needs }
    }
}

/// What a value needs directly. For a reference that stands in a formula, what it refers to is taken in its place.
fn needs(told: Told<'_>, global: usize) -> Vec<usize> {
    let mut found = Vec::new();
    let mut open: Vec<usize> = told.plan.needs(global).rev().collect();
    while let Some(need) = open.pop() {
        let (_, node) = told.node(need);
        if node.hidden && matches!(node.role, Role::Field(Origin::Reference(_))) {
            open.extend(told.plan.needs(need).rev());
        } else if !found.contains(&need) {
            found.push(need);
        }
    }
    found
}
