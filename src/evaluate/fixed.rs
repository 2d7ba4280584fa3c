//! The journal worked once: what does not change while some of it is worked again.

use std::sync::Arc;
use std::sync::atomic::AtomicUsize;

use crate::graph::Plan;
use crate::model::{NodeDecl, Notebook};
use crate::quantities::{Curve, Dimension};

/// How far a value has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum State {
    /// Not reached yet.
    Waiting,
    Known,
    /// Optional, and not given; what needs it is not there either.
    Absent,
    /// This vehicle does not have it, for a reason that its block tells.
    NotThere,
    /// A mistake stands in the way; its finding has been made.
    Failed,
}

/// What never changes while leaves are nudged or drawn.
#[derive(Clone, Copy)]
pub(super) struct Fixed<'a> {
    pub(super) notebook: &'a Notebook,
    pub(super) plan: &'a Plan,
    pub(super) nominal: &'a [f64],
    pub(super) states: &'a [State],
    pub(super) curves: &'a [Option<Arc<Curve>>],
    pub(super) dimensions: &'a [Dimension],
    pub(super) points: &'a [bool],
    /// How often a block was run again.
    pub(super) runs: &'a AtomicUsize,
}

impl<'a> Fixed<'a> {
    pub(super) fn node(&self, global: usize) -> &'a NodeDecl {
        let (block, index) = self.plan.local(global);
        &self.notebook.blocks[block].nodes[index]
    }

    /// By the plan's table: these values, and all that they are worked from.
    pub(super) fn needed_for(&self, values: Vec<usize>) -> Vec<bool> {
        let mut needed = vec![false; self.plan.len()];
        let mut open = values;
        while let Some(at) = open.pop() {
            if !std::mem::replace(&mut needed[at], true) {
                open.extend(self.plan.needs(at));
            }
        }
        needed
    }
}
