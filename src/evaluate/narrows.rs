//! Narrows: a value that all further effect of many causes passes through carries them on as one, so that a long chain
//! of values costs no more than its length.

use super::causes::Uncertain;
use super::fixed::{Fixed, State};
use crate::graph::Lists;
use crate::model::{Claim, Computed, Origin, Role};

/// So many causes are carried one by one.
const MANY: usize = 256;

/// Which causes end where, and what goes on from there. Causes are numbered as the leaves, then the narrows.
#[derive(Default)]
pub(super) struct Narrows {
    /// For each cause the value that it goes no further than.
    pub(super) ends: Vec<Option<usize>>,
    /// In the order of work.
    pub(super) narrows: Vec<Narrow>,
}

/// Many causes from one value on.
pub(super) struct Narrow {
    pub(super) at: usize,
    pub(super) claim: Claim,
    /// What ends there.
    pub(super) causes: Vec<u32>,
}

impl Narrows {
    pub(super) fn find(fixed: &Fixed<'_>, leaves: &[Uncertain], correlated: impl Fn(u32) -> bool) -> Narrows {
        let mut found = Narrows { ends: vec![None; leaves.len()], narrows: Vec::new() };
        if leaves.len() <= MANY {
            return found;
        }
        let plan = fixed.plan;
        let mut carried: Vec<Vec<u32>> = vec![Vec::new(); plan.len()];
        for (number, leaf) in leaves.iter().enumerate() {
            leaf.members.iter().for_each(|member| carried[member.global].push(number as u32));
        }
        // What few readings, groups and several causes of one value say is asked of each by itself.
        let plain: Vec<bool> = (0u32..)
            .zip(leaves)
            .map(|(number, leaf)| {
                let alone = leaf.members.len() == 1 && carried[leaf.global()].len() == 1;
                alone && leaf.freedom.is_infinite() && !correlated(number)
            })
            .collect();
        let ways = Ways::find(fixed, &plan.needed_by());
        for global in plan.order.iter().copied().filter(|global| fixed.states[*global] == State::Known) {
            let mut here = std::mem::take(&mut carried[global]);
            plan.needs(global).for_each(|need| here.extend(&carried[need]));
            here.sort_unstable();
            here.dedup();
            if here.len() > MANY && can_be_moved(fixed, global) {
                found.end(&mut here, (global, leaves), |cause, root| {
                    plain.get(cause as usize).is_none_or(|plain| *plain) && ways.all_pass(root, global)
                });
            }
            carried[global] = here;
        }
        found
    }

    /// Ends what `ends` says, if it is much, and carries on one cause instead for each sort of claim.
    fn end(
        &mut self,
        here: &mut Vec<u32>,
        (at, leaves): (usize, &[Uncertain]),
        ends: impl Fn(u32, usize) -> bool,
    ) {
        for claim in [Claim::Everywhere, Claim::DoubtedExact, Claim::DeviceAccuracy, Claim::SaidAccuracy] {
            let of_claim = |cause: u32| match leaves.get(cause as usize) {
                Some(leaf) => (leaf.global(), leaf.claim),
                None => {
                    let narrow = &self.narrows[cause as usize - leaves.len()];
                    (narrow.at, narrow.claim)
                }
            };
            let ended = |cause: &u32| {
                let (root, known) = of_claim(*cause);
                known == claim && ends(*cause, root)
            };
            let (causes, rest): (Vec<u32>, Vec<u32>) = here.iter().copied().partition(ended);
            if causes.len() > MANY {
                causes.iter().for_each(|cause| self.ends[*cause as usize] = Some(at));
                *here = rest;
                here.push(self.ends.len() as u32);
                self.ends.push(None);
                self.narrows.push(Narrow { at, claim, causes });
            }
        }
    }
}

/// Whether other numbers may be put there without work that puts the old one back: a kind works all its results at once.
fn can_be_moved(fixed: &Fixed<'_>, global: usize) -> bool {
    let role = &fixed.node(global).role;
    let apart = matches!(role, Role::Field(Origin::Reference(_)) | Role::Step(Computed::Engine { .. }));
    apart && fixed.curves[global].is_none()
}

/// For each value the next one that all its effect passes through, as a tree that grows from where everything ends
/// (immediate postdominators), with jumps towards its root (Myers, 1983) that find an ancestor in logarithmic time.
struct Ways {
    next: Vec<u32>,
    jump: Vec<u32>,
    depth: Vec<u32>,
}

impl Ways {
    fn find(fixed: &Fixed<'_>, needed_by: &Lists) -> Ways {
        let end = fixed.plan.len();
        let nowhere = vec![end as u32; end + 1];
        let mut ways = Ways { next: nowhere.clone(), jump: nowhere, depth: vec![0; end + 1] };
        for global in fixed.plan.order.iter().rev().copied() {
            let users = needed_by.of(global).iter().map(|user| *user as usize);
            let known = users.filter(|user| fixed.states[*user] == State::Known);
            let next = known.reduce(|a, b| ways.meeting(a, b)).unwrap_or(end);
            let (far, depth) = (ways.jump[next] as usize, &ways.depth);
            let even = depth[next] - depth[far] == depth[far] - depth[ways.jump[far] as usize];
            ways.jump[global] = if even { ways.jump[far] } else { next as u32 };
            ways.depth[global] = depth[next] + 1;
            ways.next[global] = next as u32;
        }
        ways
    }

    /// Whether all effect of `from` on values behind `through` passes through it.
    fn all_pass(&self, from: usize, through: usize) -> bool {
        from != through && self.ancestor(from, self.depth[through]) == through
    }

    fn meeting(&self, a: usize, b: usize) -> usize {
        let depth = self.depth[a].min(self.depth[b]);
        let (mut a, mut b) = (self.ancestor(a, depth), self.ancestor(b, depth));
        while a != b {
            let by = if self.jump[a] == self.jump[b] { &self.next } else { &self.jump };
            (a, b) = (by[a] as usize, by[b] as usize);
        }
        a
    }

    fn ancestor(&self, mut of: usize, depth: u32) -> usize {
        while self.depth[of] > depth {
            let far = self.jump[of] as usize;
            of = if self.depth[far] < depth { self.next[of] as usize } else { far };
        }
        of
    }
}
