//! Each kind's example with every typed number in turn left out, or of another dimension: no requirement is met that was
//! not met before, and none that rests on the number.

use std::collections::{HashMap, HashSet};
use std::ops::Range;
use std::sync::Arc;

use super::KINDS;
use crate::compile::{Worked, compile};
use crate::evaluate::Verdict;
use crate::model::{Evidence, EvidenceFault, Needed};
use crate::parallel;
use crate::source::{FileId, Source, Sources};

struct NoFiles;

impl Evidence for NoFiles {
    fn read(&self, _path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        Err(EvidenceFault::Missing)
    }
}

fn work(text: &str) -> Worked {
    let sources = Sources(vec![Source::new("journal.md", text)]);
    compile(&sources, &[FileId(0)], &NoFiles, None)
}

/// Requirements by full name, with their verdicts.
fn verdicts(worked: &Worked) -> HashMap<String, Verdict> {
    let name = |block: usize, number: usize| {
        let block = &worked.notebook.blocks[block];
        format!("{}.{}", block.name, block.requirements[number].name)
    };
    let judged = worked.results.judged.iter();
    judged.map(|judged| (name(judged.block, judged.number), judged.verdict)).collect()
}

/// The requirements that rest on a value, by full name.
fn resting_on(worked: &Worked, value: usize) -> HashSet<String> {
    let needed_by = worked.plan.needed_by();
    let mut reached = vec![false; worked.plan.len()];
    let mut open = vec![value];
    while let Some(at) = open.pop() {
        if !std::mem::replace(&mut reached[at], true) {
            open.extend(needed_by.of(at).iter().map(|next| *next as usize));
        }
    }
    let judged = worked.results.judged.iter().filter(|judged| {
        [Some(judged.actual), judged.low, judged.high].into_iter().flatten().any(|part| reached[part])
    });
    judged
        .map(|judged| {
            let block = &worked.notebook.blocks[judged.block];
            format!("{}.{}", block.name, block.requirements[judged.number].name)
        })
        .collect()
}

/// A number of the example.
struct Typed {
    name: String,
    value: usize,
    /// Where number and unit stand.
    at: Range<usize>,
    /// Nothing stands in for it.
    required: bool,
    mass: bool,
}

fn typed(worked: &Worked) -> Vec<Typed> {
    let mut found = Vec::new();
    for (number, block) in worked.notebook.blocks.iter().enumerate() {
        for (index, node) in block.nodes.iter().enumerate() {
            let Some(leaf) = node.leaf().filter(|leaf| leaf.readings.is_none() && !leaf.default) else {
                continue;
            };
            if leaf.rule.is_some() || leaf.stated || node.hidden || leaf.literal.at.is_empty() {
                continue;
            }
            let start = node.span.start as usize;
            found.push(Typed {
                name: format!("{}.{}", block.name, node.name),
                value: worked.plan.first[number] + index,
                at: start + leaf.literal.at.start..start + leaf.literal.at.end,
                required: node.doc.is_some_and(|doc| doc.needed == Needed::Required),
                mass: leaf.literal.unit.symbol == "kg",
            });
        }
    }
    found
}

/// What an author may leave unsaid, after which less is asked: without a number of attempts a resistor is held to one.
const ASKS_LESS: [(&str, &str); 1] = [("precharge.energy_into_short", "precharge.attempts")];

/// The journal without the key whose value that is; `None` where it stands in a list of values.
fn without(text: &str, at: &Range<usize>) -> Option<String> {
    let before = text[..at.start].rfind([',', '{', '[', '\n'])?;
    let after = at.end + text[at.end..].find([',', '}', ']', '\n'])?;
    let key = &text[before + 1..at.start];
    if !key.contains(':') || key.trim_start().starts_with('-') {
        return None;
    }
    let (from, to) = match (&text[before..=before], &text[after..=after]) {
        ("\n", _) => (before, after),
        (_, ",") => (before + 1, after + 1),
        (",", _) => (before, after),
        _ => (before + 1, after),
    };
    Some(format!("{}{}", &text[..from], &text[to..]))
}

#[test]
fn no_requirement_is_met_without_what_it_rests_on() {
    let jobs: Vec<(&str, &str, Typed)> = KINDS
        .iter()
        .flat_map(|kind| {
            let text = kind.example.journal;
            typed(&work(text)).into_iter().map(move |typed| (kind.name, text, typed))
        })
        .collect();
    assert!(jobs.len() > 100, "only {} numbers", jobs.len());
    let faults = parallel::each(jobs.len(), 1, |at| {
        let (kind, text, typed) = &jobs[at];
        let full = work(text);
        let (before, rests) = (verdicts(&full), resting_on(&full, typed.value));
        let met = |name: &String| before.get(name) == Some(&Verdict::Meets);
        let mut faults = Vec::new();
        let other = if typed.mass { "7 m" } else { "7 kg" };
        let other = format!("{}{other}{}", &text[..typed.at.start], &text[typed.at.end..]);
        for (name, verdict) in verdicts(&work(&other)) {
            if verdict == Verdict::Meets && (rests.contains(&name) || !met(&name)) {
                faults.push(format!("{kind}: `{name}` is met with `{}` of another dimension", typed.name));
            }
        }
        for (name, verdict) in without(text, &typed.at).map(|text| verdicts(&work(&text))).unwrap_or_default()
        {
            let less = ASKS_LESS.contains(&(name.as_str(), typed.name.as_str()));
            if verdict == Verdict::Meets && (typed.required && rests.contains(&name) || !met(&name) && !less)
            {
                faults.push(format!("{kind}: `{name}` is met without `{}`", typed.name));
            }
        }
        faults
    });
    let faults: Vec<String> = faults.into_iter().flatten().collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
