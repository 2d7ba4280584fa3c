//! The way from a result back to the leaves that it rests on, as trees of bounded depth.

use std::collections::{HashSet, VecDeque};

use crate::evaluate::State;
use crate::graph::Lists;
use crate::model::{Origin, Role};
use crate::report::Told;

/// Deeper than this a tree is cut, and goes on as one of its own: readers of JSON bear only so many brackets.
const DEEP: usize = 50;

/// A value and what it was worked from, or, forward, what was worked from it.
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

/// Which way is gone.
pub(super) enum Direction {
    /// To what a value was worked from.
    Back,
    /// To what was worked from it; the lists say what needs each value.
    Forward(Lists),
}

/// The trees: the first are those of the values asked for, the others go on where one was cut. What a value leads to is
/// told once.
pub(super) fn way(told: Told<'_>, roots: &[usize], direction: &Direction) -> Vec<Step> {
    let mut walker = Walker { told, direction, seen: HashSet::new(), later: VecDeque::new() };
    let mut trees: Vec<Step> = roots.iter().map(|root| walker.step(*root, 0)).collect();
    while let Some(next) = walker.later.pop_front() {
        if !walker.seen.contains(&next) {
            trees.push(walker.step(next, 0));
        }
    }
    trees
}

struct Walker<'a> {
    told: Told<'a>,
    direction: &'a Direction,
    seen: HashSet<usize>,
    later: VecDeque<usize>,
}

impl Walker<'_> {
    fn step(&mut self, global: usize, depth: usize) -> Step {
        let needs = match self.direction {
            Direction::Back => needs(self.told, global),
            Direction::Forward(users) => feeds(self.told, users, global),
        };
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
pub(super) fn needs(told: Told<'_>, global: usize) -> Vec<usize> {
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

/// What is worked from a value directly. In the place of hidden work stands what is worked from that.
fn feeds(told: Told<'_>, users: &Lists, global: usize) -> Vec<usize> {
    let mut found = Vec::new();
    let mut open: Vec<usize> = of(users, global).rev().collect();
    while let Some(user) = open.pop() {
        // What this vehicle does not have rests on nothing.
        if told.results.states[user] != State::Known {
            continue;
        }
        if told.node(user).1.hidden {
            open.extend(of(users, user).rev());
        } else if !found.contains(&user) {
            found.push(user);
        }
    }
    found
}

/// All that rests on some values, hidden work included.
pub(super) fn reached(users: &Lists, roots: &[usize]) -> HashSet<usize> {
    let mut reached: HashSet<usize> = roots.iter().copied().collect();
    let mut open = roots.to_vec();
    while let Some(at) = open.pop() {
        open.extend(of(users, at).filter(|user| reached.insert(*user)));
    }
    reached
}

fn of(users: &Lists, global: usize) -> impl DoubleEndedIterator<Item = usize> {
    users.of(global).iter().map(|user| *user as usize)
}
