//! Where first order does not do: what it says of a verdict is probed, and drawn where it is wrong.

use std::collections::BTreeSet;

use super::causes::Uncertain;
use super::crowd;
use super::draws::Asked;
use super::fixed::Fixed;
use super::replay::{Reaches, Replay, Search};
use super::uncertainty::Budget;
use crate::parallel;

/// How far from first order a probe may end, in standard uncertainties of limit − actual.
const OFF: f64 = 0.15;

/// A leaf with more than this share of the variance is probed.
const SHARE: f64 = 0.05;

/// How many standard uncertainties all leaves together go towards the limit at most.
const FAR: f64 = 3.0;

/// Fewer degrees of freedom than these, under more than that share of the variance, are no normal distribution.
const FEW: f64 = 10.0;
const MUCH: f64 = 0.1;

/// So many leaves are moved one by one.
const MANY: usize = 200;

/// Work that a core takes at once.
const AT_ONCE: usize = 4;

/// One limit of a requirement, and what the doubt about it is made of.
struct Question {
    /// The number of the requirement among those asked.
    of: usize,
    actual: usize,
    limit: usize,
    /// limit − actual, its parts by leaf, and its standard uncertainty.
    room: f64,
    parts: Vec<(u32, f64)>,
    standard: f64,
    /// All that it is worked from.
    from: Vec<u32>,
    /// Leaves that it is worked from and that do not move it at the nudge.
    flat: Vec<u32>,
}

/// The numbers of the requirements for which first order is not enough.
pub(super) fn doubtful(fixed: Fixed<'_>, budget: &Budget, asked: &[Asked]) -> Vec<usize> {
    let questions = questions(&fixed, budget, asked);
    let mut wrong: BTreeSet<usize> = BTreeSet::new();
    let crowded = crowd::crowded(&fixed, budget);
    for question in &questions {
        let rests = [question.actual, question.limit].iter().any(|value| crowded[*value]);
        if rests || few(budget, question) {
            wrong.insert(question.of);
        }
    }
    let reaches = Reaches::new(&fixed);
    let begin = || (Search::new(fixed, &reaches), Replay::new(fixed), vec![false; fixed.plan.len()]);
    let open: Vec<&Question> = questions.iter().filter(|question| !wrong.contains(&question.of)).collect();
    let corners = parallel::each_with(open.len(), AT_ONCE, begin, |(search, replay, wanted), at| {
        let question = open[at];
        mark(wanted, question, true);
        let off = corner(&fixed, budget, question, (search, replay, wanted));
        mark(wanted, question, false);
        off
    });
    wrong.extend(open.iter().zip(corners).filter(|(_, off)| *off).map(|(question, _)| question.of));
    let open: Vec<&Question> = open.into_iter().filter(|question| !wrong.contains(&question.of)).collect();
    let mut leaves: Vec<Vec<&Question>> = vec![Vec::new(); budget.leaves.len()];
    for question in open {
        let variance = question.standard.powi(2);
        let much = question.parts.iter().filter(|(_, part)| part * part > SHARE * variance);
        for leaf in much.map(|(leaf, _)| *leaf).chain(question.flat.iter().copied()) {
            leaves[leaf as usize].push(question);
        }
    }
    let probed: Vec<usize> = (0..leaves.len()).filter(|leaf| !leaves[*leaf].is_empty()).collect();
    let ends = parallel::each_with(probed.len(), AT_ONCE, begin, |(search, replay, wanted), at| {
        let questions = &leaves[probed[at]];
        questions.iter().for_each(|question| mark(wanted, question, true));
        let off = ends(&fixed, (budget, probed[at]), questions, (search, replay, wanted));
        questions.iter().for_each(|question| mark(wanted, question, false));
        off
    });
    wrong.extend(ends.into_iter().flatten());
    wrong.into_iter().collect()
}

/// Each leaf by its number, with the square of how far it alone brings limit − actual from what it is, a mean of both ends of its
/// distribution in its standard uncertainties: where all is straight, its variance. Of the limit that is nearer; of none
/// where there are more than so many.
pub(super) fn swings(fixed: Fixed<'_>, budget: &Budget, asked: &Asked) -> Vec<(u32, f64)> {
    let questions = questions(&fixed, budget, std::slice::from_ref(asked));
    let nearest = questions.iter().min_by(|a, b| a.room.abs().total_cmp(&b.room.abs()));
    let Some(question) = nearest.filter(|question| question.parts.len() + question.flat.len() <= MANY) else {
        return Vec::new();
    };
    let mut wanted = vec![false; fixed.plan.len()];
    mark(&mut wanted, question, true);
    let reaches = Reaches::new(&fixed);
    let (mut search, mut replay) = (Search::new(fixed, &reaches), Replay::new(fixed));
    let numbers = question.parts.iter().map(|(leaf, _)| *leaf).chain(question.flat.iter().copied());
    let swing = |number: u32| {
        let leaf = &budget.leaves[number as usize];
        let ends = [leaf.reach(), -leaf.reach()].into_iter().filter(|by| possible(&fixed, leaf, *by));
        let squares = ends.map(|by| {
            let room = |values: &[f64]| values[question.limit] - values[question.actual];
            let moved = probe(&fixed, &[(leaf, by)], (&mut search, &mut replay, &wanted), room);
            ((moved - question.room) / by).powi(2)
        });
        let squares: Vec<f64> = squares.filter(|square| square.is_finite()).collect();
        (number, squares.iter().sum::<f64>() / squares.len().max(1) as f64)
    };
    numbers.map(swing).collect()
}

/// Questions about limits that some leaf may move.
fn questions(fixed: &Fixed<'_>, budget: &Budget, asked: &[Asked]) -> Vec<Question> {
    let plan = fixed.plan;
    let mut leaf_of: Vec<Vec<u32>> = vec![Vec::new(); plan.len()];
    for (number, leaf) in budget.leaves.iter().enumerate() {
        leaf.members.iter().for_each(|member| leaf_of[member.global].push(number as u32));
    }
    let mut seen = vec![0; plan.len()];
    let mut round = 0;
    let mut questions = Vec::new();
    for (of, asked) in asked.iter().enumerate() {
        for limit in asked.sides.limits() {
            round += 1;
            let mut open = vec![asked.sides.actual, limit];
            let mut from = Vec::new();
            while let Some(at) = open.pop() {
                if std::mem::replace(&mut seen[at], round) != round {
                    from.push(at as u32);
                    open.extend(plan.needs(at));
                }
            }
            let parts = budget.counting(&budget.difference(limit, asked.sides.actual), Some(asked.kind));
            let leaves = from.iter().flat_map(|at| &leaf_of[*at as usize]);
            let mut flat: Vec<(u32, f64)> = leaves.map(|leaf| (*leaf, 0.0)).collect();
            flat.sort_unstable_by_key(|(leaf, _)| *leaf);
            flat.dedup_by_key(|(leaf, _)| *leaf);
            let moves = |leaf: &u32| parts.binary_search_by_key(leaf, |(known, _)| *known).is_ok();
            let flat = budget.counting(&flat, Some(asked.kind)).into_iter().map(|(leaf, _)| leaf);
            let question = Question {
                of,
                actual: asked.sides.actual,
                limit,
                room: fixed.nominal[limit] - fixed.nominal[asked.sides.actual],
                standard: budget.combine(&parts),
                flat: flat.filter(|leaf| !moves(leaf)).collect(),
                parts,
                from,
            };
            // What no leaf moves is exact.
            if !(question.parts.is_empty() && question.flat.is_empty()) {
                questions.push(question);
            }
        }
    }
    questions
}

/// Whether few readings hold much of the variance.
fn few(budget: &Budget, question: &Question) -> bool {
    let few = |(leaf, _): &&(u32, f64)| budget.leaves[*leaf as usize].freedom < FEW;
    let own: f64 = question.parts.iter().filter(few).map(|(_, part)| part * part).sum();
    own > MUCH * question.standard.powi(2)
}

/// What one core works with: a search, a table, and the values that are wanted.
type Tools<'t, 'a> = (&'t mut Search<'a>, &'t mut Replay<'a>, &'t [bool]);

/// All leaves together go towards the limit, to where first order has it: the difference must be what it says.
fn corner(
    fixed: &Fixed<'_>,
    budget: &Budget,
    question: &Question,
    (search, replay, wanted): Tools<'_, '_>,
) -> bool {
    if all_flat(fixed, budget, question, (&mut *search, &mut *replay, wanted)) {
        return true;
    }
    let standard = question.standard;
    if standard == 0.0 {
        return false;
    }
    let far = (question.room / standard).clamp(-FAR, FAR);
    let mut moves = Vec::with_capacity(question.parts.len());
    let mut expected = question.room;
    for (number, part) in &question.parts {
        let leaf = &budget.leaves[*number as usize];
        let by = (-far * part / standard).clamp(-leaf.reach(), leaf.reach());
        if possible(fixed, leaf, by) {
            moves.push((leaf, by));
            expected += by * part;
        }
    }
    probe(fixed, &moves, (search, replay, wanted), |values| is_off(question, values, expected))
}

/// Leaves that do nothing alone go to their ends together, all the same way, and every other one the other: a product of
/// two that are 0 moves with both alone.
fn all_flat(
    fixed: &Fixed<'_>,
    budget: &Budget,
    question: &Question,
    (search, replay, wanted): Tools<'_, '_>,
) -> bool {
    let leaves: Vec<&Uncertain> = question.flat.iter().map(|leaf| &budget.leaves[*leaf as usize]).collect();
    let both_ways =
        |leaf: &&&Uncertain| possible(fixed, leaf, leaf.reach()) && possible(fixed, leaf, -leaf.reach());
    let leaves: Vec<&Uncertain> = leaves.iter().filter(both_ways).copied().collect();
    leaves.len() > 1
        && [1.0, -1.0].into_iter().any(|other| {
            let way = |at: usize| if at.is_multiple_of(2) { 1.0 } else { other };
            let moves: Vec<(&Uncertain, f64)> =
                leaves.iter().enumerate().map(|(at, leaf)| (*leaf, way(at) * leaf.reach())).collect();
            let tools = (&mut *search, &mut *replay, wanted);
            probe(fixed, &moves, tools, |values| is_off(question, values, question.room))
        })
}

/// One leaf goes to both ends of its distribution. The requirements for which that is not what first order says.
fn ends(
    fixed: &Fixed<'_>,
    (budget, number): (&Budget, usize),
    questions: &[&Question],
    (search, replay, wanted): Tools<'_, '_>,
) -> Vec<usize> {
    let leaf = &budget.leaves[number];
    let mut wrong = Vec::new();
    for by in [leaf.reach(), -leaf.reach()] {
        if !possible(fixed, leaf, by) {
            continue;
        }
        let tools = (&mut *search, &mut *replay, wanted);
        wrong.extend(probe(fixed, &[(leaf, by)], tools, |values| {
            let off = |question: &&&Question| {
                let at = question.parts.binary_search_by_key(&(number as u32), |(known, _)| *known);
                let part = at.map_or(0.0, |at| question.parts[at].1);
                is_off(question, values, question.room + by * part)
            };
            questions.iter().filter(off).map(|question| question.of).collect::<Vec<_>>()
        }));
    }
    wrong
}

/// Moves leaves, works what is wanted of what follows, looks at it, and puts everything back.
fn probe<T>(
    fixed: &Fixed<'_>,
    moves: &[(&Uncertain, f64)],
    (search, replay, wanted): Tools<'_, '_>,
    look: impl FnOnce(&[f64]) -> T,
) -> T {
    let members = || moves.iter().flat_map(|(leaf, by)| leaf.members.iter().map(move |member| (member, by)));
    let roots: Vec<usize> = members().map(|(member, _)| member.global).collect();
    let reach = search.within(&roots, Some(wanted));
    for (member, by) in members() {
        replay.values[member.global] += by * member.standard;
    }
    replay.work(&reach);
    let seen = look(&replay.values);
    replay.restore(&reach.values);
    roots.iter().for_each(|root| replay.values[*root] = fixed.nominal[*root]);
    seen
}

/// Whether limit − actual is another than first order says. Rounding is no difference.
fn is_off(question: &Question, values: &[f64], expected: f64) -> bool {
    let (actual, limit) = (values[question.actual], values[question.limit]);
    let rounding = 1e-9 * limit.abs().max(actual.abs());
    let off = (limit - actual - expected).abs();
    off.is_nan() || off > (OFF * question.standard).max(rounding)
}

fn possible(fixed: &Fixed<'_>, leaf: &Uncertain, by: f64) -> bool {
    leaf.members.iter().all(|member| {
        let range = fixed.node(member.global).range;
        range.holds(fixed.nominal[member.global] + by * member.standard)
    })
}

fn mark(wanted: &mut [bool], question: &Question, as_what: bool) {
    question.from.iter().for_each(|at| wanted[*at as usize] = as_what);
}
