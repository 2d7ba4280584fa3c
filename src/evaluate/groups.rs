//! Candidates that are variants of one notebook: they differ in plain numbers, or in parts that differ in plain numbers
//! alone, so that the part of the first of them can stand for the others' with their numbers.

use std::collections::{HashMap, HashSet};

use super::variant::Variant;
use crate::model::{Alike, Change, Changeable, Computed, NodeDecl, Origin, Requirement, Role};
use crate::quantities::{Dimension, Quantity, slug};

/// How many candidates of one variant are worked at once on a core.
const SHARE: usize = 256;

/// Candidates of one variant, by their numbers among all.
pub(super) struct Group<'c> {
    pub members: Vec<usize>,
    /// The full names of the inputs whose numbers differ, as the first member has them.
    pub sets: Vec<String>,
    /// Those of each member, in that order.
    pub numbers: Vec<Vec<Quantity>>,
    /// The parts that each member has where the first one has its own.
    pub parts: Vec<Vec<&'c str>>,
    /// For each of these places what is left out of what the parts there have alike.
    unread: Vec<HashSet<String>>,
}

/// What makes candidates variants of one notebook: of each change the input, and what is put there.
type Form<'c> = Vec<(&'c str, Put<'c>)>;

#[derive(PartialEq, Eq, Hash)]
enum Put<'c> {
    Number(Dimension, bool),
    Text(&'c str),
    /// A part of that form, the same one wherever its number is the same; with the field that is taken from it.
    Part(usize, String, Option<&'c str>),
}

/// What is known of the names that are put somewhere.
type Known<'c> = HashMap<&'c str, Option<Alike>>;

/// All candidates in groups. With `parts` those with other parts of one form are of one.
pub(super) fn groups<'c>(
    changeable: &Changeable<'_>,
    candidates: impl Iterator<Item = (usize, &'c [Change])>,
    parts: bool,
) -> Vec<Group<'c>> {
    let mut groups: Vec<Group<'c>> = Vec::new();
    // Where the last group of each form stands.
    let mut last: HashMap<Form<'c>, usize> = HashMap::new();
    let mut known = Known::new();
    for (number, changes) in candidates {
        let mut form: Form<'c> = Vec::with_capacity(changes.len());
        let mut numbers: Vec<(String, Quantity)> = Vec::new();
        let mut own: Vec<&'c str> = Vec::new();
        for change in changes {
            let put = match changeable.plain_number(change) {
                Some(number) => {
                    numbers.push((change.set.clone(), number));
                    Put::Number(number.dimension, number.point)
                }
                None if parts => put_part(changeable, (change, changes), (&mut known, &mut own)),
                None => Put::Text(&change.to),
            };
            form.push((&change.set, put));
        }
        for part in &own {
            let alike = known[part].as_ref().expect("a part that others can stand for");
            numbers.extend(alike.numbers.iter().map(|(name, number)| (format!("{part}.{name}"), *number)));
        }
        let (sets, numbers): (Vec<String>, Vec<Quantity>) = numbers.into_iter().unzip();
        let with_room = last.get(&form).copied().filter(|at| groups[*at].members.len() < SHARE);
        let at = with_room.unwrap_or_else(|| {
            let (members, numbers, parts) = (Vec::new(), Vec::new(), Vec::new());
            groups.push(Group { members, sets, numbers, parts, unread: vec![HashSet::new(); own.len()] });
            last.insert(form, groups.len() - 1);
            groups.len() - 1
        });
        for (unread, part) in groups[at].unread.iter_mut().zip(&own) {
            let alike = known[part].iter().flat_map(|alike| &alike.unread);
            let more: Vec<String> = alike.filter(|key| !unread.contains(*key)).cloned().collect();
            unread.extend(more);
        }
        groups[at].members.push(number);
        groups[at].numbers.push(numbers);
        groups[at].parts.push(own);
    }
    groups
}

/// What a change puts somewhere that is no plain number. Parts are numbered as they come.
fn put_part<'c>(
    changeable: &Changeable<'_>,
    (change, changes): (&'c Change, &'c [Change]),
    (known, own): (&mut Known<'c>, &mut Vec<&'c str>),
) -> Put<'c> {
    let text = change.to.trim();
    let (part, field) = match text.strip_prefix("from ").and_then(|taken| taken.trim().split_once('.')) {
        Some((part, field)) => (part, Some(field)),
        None => (text, None),
    };
    // A part that is changed itself is no other one's.
    let is_set = changes.iter().any(|other| other.set.split('.').next() == Some(part));
    let alike = known.entry(part).or_insert_with(|| changeable.alike(part));
    let alike = alike.as_ref().filter(|alike| {
        !is_set && field.is_none_or(|field| alike.numbers.iter().any(|(name, _)| name == field))
    });
    let Some(alike) = alike else { return Put::Text(&change.to) };
    let number = own.iter().position(|known| *known == part).unwrap_or_else(|| {
        own.push(part);
        own.len() - 1
    });
    Put::Part(number, alike.form.clone(), field)
}

impl<'c> Group<'c> {
    /// Whether some have other parts than the first one.
    pub(super) fn has_other_parts(&self) -> bool {
        self.parts.iter().any(|parts| *parts != self.parts[0])
    }

    /// Whether the first one's parts can stand for the others': in a journal with others it is them that everything takes
    /// its values from, and all else is the same. `variant` gives the journal of a member.
    pub(super) fn stand_for_all(&self, first: &Variant, variant: impl Fn(usize) -> Option<Variant>) -> bool {
        let own = &self.parts[0];
        own.iter().enumerate().all(|(at, part)| {
            let Some(other) = self.parts.iter().position(|parts| parts[at] != *part) else { return true };
            let names = |parts: &[&str]| -> Option<Vec<usize>> {
                parts.iter().map(|part| first.notebook.names.get(*part).copied()).collect()
            };
            let stands = || {
                let number = *first.notebook.names.get(*part)?;
                let parts: HashSet<&str> = self.parts.iter().map(|parts| parts[at]).collect();
                if !is_unseen(first, number, &self.unread[at]) || takes_a_name(first, number, &parts) {
                    return None;
                }
                let (from, to) = (names(own)?, names(&self.parts[other])?);
                let second = variant(self.members[other])?;
                is_same((first, &second), &from.into_iter().zip(to).collect())
            };
            stands() == Some(true)
        })
    }
}

/// Nobody takes or looks at what is left out of what parts have alike.
fn is_unseen(variant: &Variant, part: usize, unread: &HashSet<String>) -> bool {
    let Variant { notebook, plan, .. } = variant;
    let is_unread = |name: &str| name.split('.').next().is_some_and(|key| unread.contains(key));
    let looks = notebook.blocks.iter().flat_map(|block| &block.looked_at);
    let looked_at = looks
        .filter(|(at, _)| *at as usize == part)
        .any(|(_, key)| is_unread(key) || key.is_empty() && !unread.is_empty());
    let of_part = |value: &usize| plan.block_of(*value) == part;
    let taken = (0..plan.len()).filter(|value| !of_part(value)).any(|value| {
        let mut needs = plan.needs(value).filter(of_part);
        needs.any(|need| is_unread(&notebook.blocks[part].nodes[plan.local(need).1].name))
    });
    !looked_at && !taken
}

/// Whether an item that is called by the part would have a name that another one has.
fn takes_a_name(variant: &Variant, part: usize, parts: &HashSet<&str>) -> bool {
    let blocks = &variant.notebook.blocks;
    let own = slug(&blocks[part].name);
    blocks.iter().any(|block| {
        let bound = block.bindings.iter().filter(|bound| bound.block == part);
        let mut lists = bound.filter_map(|bound| bound.field.split_once(&format!(".{own}.")));
        lists.any(|(list, _)| {
            let others = parts.iter().map(|part| slug(part)).filter(|slug| *slug != own);
            let items: Vec<String> = others.map(|slug| format!("{list}.{slug}.")).collect();
            block.nodes.iter().any(|node| items.iter().any(|item| node.name.starts_with(item)))
        })
    })
}

/// Whether the second journal is the first one, with each of these blocks in the place of another. `None` where something
/// is not to be found.
fn is_same((one, other): (&Variant, &Variant), swapped: &HashMap<usize, usize>) -> Option<bool> {
    if one.plan.first != other.plan.first || one.plan.wrong != other.plan.wrong {
        return Some(false);
    }
    // What a value of the first journal is in the second.
    let there = |value: usize| {
        let (block, index) = one.plan.local(value);
        let Some(to) = swapped.get(&block).filter(|to| **to != block) else { return Some(value) };
        let name = &one.notebook.blocks[block].nodes[index].name;
        let at = other.notebook.blocks[*to].nodes.iter().position(|node| node.name == *name)?;
        Some(other.plan.first[*to] + at)
    };
    let leads_there = |ours: &mut dyn Iterator<Item = usize>, theirs: &mut dyn Iterator<Item = usize>| {
        let ours: Option<Vec<usize>> = ours.map(there).collect();
        Some(ours? == theirs.collect::<Vec<usize>>())
    };
    for (number, (block, second)) in one.notebook.blocks.iter().zip(&other.notebook.blocks).enumerate() {
        if swapped.contains_key(&number) {
            continue;
        }
        if block.faulty != second.faulty || !same_requirements(&block.requirements, &second.requirements) {
            return Some(false);
        }
        for (index, (node, twin)) in block.nodes.iter().zip(&second.nodes).enumerate() {
            let value = one.plan.first[number] + index;
            let names_it = || block.bindings.iter().any(|bound| bound.written == Some(index as u32));
            let (plan, twins) = (&one.plan, &other.plan);
            let renamed = || {
                let pairs = swapped.iter().map(|(from, to)| {
                    [&one.notebook.blocks[*from].name, &one.notebook.blocks[*to].name].map(|name| slug(name))
                });
                let mut pairs = pairs.map(|names| names.map(|name| format!(".{name}.")));
                pairs.any(|[from, to]| node.name.replacen(&from, &to, 1) == twin.name)
            };
            let same = same_node(node, twin, &names_it)
                && (node.name == twin.name || node.hidden || renamed())
                && (plan.failed[value], plan.absent[value]) == (twins.failed[value], twins.absent[value])
                && leads_there(&mut plan.needs(value), &mut twins.needs(value))?
                && leads_there(
                    &mut plan.targets[value].iter().copied(),
                    &mut twins.targets[value].iter().copied(),
                )?;
            if !same {
                return Some(false);
            }
        }
    }
    Some(true)
}

/// But for the names of what they take their values from.
fn same_node(one: &NodeDecl, other: &NodeDecl, names_a_block: &dyn Fn() -> bool) -> bool {
    let shape = |expression: &crate::quantities::Expression| expression.show(&mut |_| "_".to_owned());
    let role = match (&one.role, &other.role) {
        (Role::Field(Origin::Leaf(one)), Role::Field(Origin::Leaf(other))) => one.literal == other.literal,
        (Role::Field(Origin::Reference(one)), Role::Field(Origin::Reference(other))) => {
            let same = (one.wanted, one.whole_curve, one.otherwise, one.through.is_some());
            same == (other.wanted, other.whole_curve, other.otherwise, other.through.is_some())
                && shape(&one.expression) == shape(&other.expression)
        }
        (Role::Field(Origin::Curve { curve: one, .. }), Role::Field(Origin::Curve { curve: other, .. })) => {
            one == other
        }
        (Role::Field(Origin::Text(one)), Role::Field(Origin::Text(other))) => one == other || names_a_block(),
        (Role::Field(Origin::Failed), Role::Field(Origin::Failed)) => true,
        (Role::Field(Origin::Absent), Role::Field(Origin::Absent)) => true,
        (Role::Step(one), Role::Step(other)) => match (one, other) {
            (
                Computed::Formula { expression: one, uses: ones },
                Computed::Formula { expression: other, uses: others },
            )
            | (
                Computed::Engine { expression: one, uses: ones },
                Computed::Engine { expression: other, uses: others },
            ) => shape(one) == shape(other) && ones == others,
            (Computed::Procedure { uses: one, .. }, Computed::Procedure { uses: other, .. })
            | (Computed::Text { uses: one }, Computed::Text { uses: other }) => one == other,
            _ => false,
        },
        _ => false,
    };
    role && (one.range, one.hidden, one.count) == (other.range, other.hidden, other.count)
}

fn same_requirements(one: &[Requirement], other: &[Requirement]) -> bool {
    let same = |(one, other): (&Requirement, &Requirement)| {
        let parts = (one.actual, one.low, one.high, one.strict, one.kind);
        one.name == other.name
            && parts == (other.actual, other.low, other.high, other.strict, other.kind)
            && one.optional == other.optional
    };
    one.len() == other.len() && one.iter().zip(other).all(same)
}
