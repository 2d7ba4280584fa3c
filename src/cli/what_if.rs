//! `what-if`: what would move if some inputs were set to something else. Nothing is written.

use std::collections::{BTreeMap, HashSet};

use super::arguments::WhatIfOptions;
use super::journal::journal;
use super::work::{Asked, Opened, leave, open, tell};
use super::{Ended, complain, ink, say, show};
use crate::blocks::KINDS;
use crate::compile::Worked;
use crate::evaluate::Variant;
use crate::findings::{Finding, print};
use crate::model::{Change, Changeable, Notebook, Refusal};
use crate::moves::{Without, moves, told};
use crate::register::json;
use crate::report::Told;

/// What was asked for in one go, and the changes that it comes to: one, or several where a part is swapped.
struct Wish<'o> {
    name: &'o str,
    changes: Vec<Change>,
}

pub(super) fn what_if(options: &WhatIfOptions) -> Result<Ended, Ended> {
    let journal = journal(options.journal.as_deref());
    let opened = open(&Asked { journal: &journal, out: None, draws: None, saying: options.saying })?;
    if opened.worked.journals.is_empty() {
        tell(&opened, false, &[]);
        return Ok(Ended::Wanting);
    }
    let wishes: Vec<Wish<'_>> = options
        .changes
        .iter()
        .map(|text| wish(text, &opened.worked.notebook))
        .collect::<Result<_, String>>()
        .map_err(|why| wrong(&[why]))?;
    let worked = &opened.worked;
    let changeable = Changeable::new((&worked.journals, &opened.read.sources), KINDS, &opened.evidence);
    let all: Vec<Change> = wishes.iter().flat_map(|wish| wish.changes.clone()).collect();
    let variant = Variant::of(&changeable, &all)
        .map_err(|refused| wrong(&refused.iter().map(refusal_text).collect::<Vec<String>>()))?;
    let (results, findings) = variant.run(None);
    let without: Vec<Without> = wishes
        .iter()
        .enumerate()
        .filter_map(|(at, wish)| {
            let others = wishes.iter().enumerate().filter(|(other, _)| *other != at);
            let others: Vec<Change> = others.flat_map(|(_, other)| other.changes.clone()).collect();
            // What can't be without the others has no part of its own.
            Some(Without::of(wish.name, &Variant::of(&changeable, &others).ok()?))
        })
        .collect();
    let after = Told { notebook: &variant.notebook, plan: &variant.plan, results: &results };
    let mut moves = moves((worked.told(), &BTreeMap::new()), after, &without);
    let answers = answers(worked);
    moves.results.retain(|name, _| !answers.contains(name));
    let fresh: Vec<Finding> =
        findings.into_iter().filter(|finding| !worked.findings.contains(finding)).collect();
    let broken = fresh.iter().any(Finding::is_error);
    show_findings(&opened, &fresh);
    // All that waits for what is wrong would be told as lost.
    if options.json {
        say(&json(&moves));
    } else if !broken {
        say(&told(&moves, &format!("with {}", options.changes.join(", "))));
        if !answers.is_empty() {
            say("studies are not asked again: what they give, and what rests on it, is left out\n");
        }
    }
    let ended = if broken { Ended::Wanting } else { Ended::Done };
    leave(opened);
    Ok(ended)
}

/// What studies gave, and all that rests on it: a change does not ask them again.
fn answers(worked: &Worked) -> HashSet<String> {
    let (notebook, plan) = (&worked.notebook, &worked.plan);
    let mut rests = vec![false; plan.len()];
    let mut names = HashSet::new();
    for (number, block) in notebook.blocks.iter().enumerate() {
        let own = plan.first[number]..plan.first[number + 1];
        own.for_each(|global| rests[global] = block.block.study().is_some());
    }
    for global in &plan.order {
        rests[*global] |= plan.needs(*global).any(|need| rests[need]);
    }
    for (number, block) in notebook.blocks.iter().enumerate() {
        for (index, node) in block.nodes.iter().enumerate() {
            if rests[plan.first[number] + index] {
                names.insert(format!("{}.{}", block.name, node.name));
            }
        }
    }
    names
}

/// What the journal would be told then, and is not now.
fn show_findings(opened: &Opened, fresh: &[Finding]) {
    if !fresh.is_empty() {
        show(&print(fresh, (&opened.placed(), &opened.worked.notebook.titles), ink()));
    }
}

fn wrong(reasons: &[String]) -> Ended {
    reasons.iter().for_each(|reason| complain(&format!("{reason}\n")));
    Ended::WrongUsage
}

fn refusal_text(refusal: &Refusal) -> String {
    refusal.words().to_string().replace('\u{a0}', " ")
}

/// Errors: what to type instead.
fn wish<'o>(text: &'o str, notebook: &Notebook) -> Result<Wish<'o>, String> {
    let Some((name, to)) = text.split_once('=').map(|(name, to)| (name.trim(), to.trim())) else {
        return Err(format!("`{text}` sets nothing: type NAME=VALUE, as in \"drive.wanted_speed=120 km/h\""));
    };
    let change = |set: String| Change { set, to: to.to_owned() };
    if name.contains('.') {
        return Ok(Wish { name, changes: vec![change(name.to_owned())] });
    }
    let Some(part) = notebook.names.get(name) else {
        return Err(format!("there is no block `{name}`; an input is named with its block: `block.{name}`"));
    };
    // A block that was replaced is no part of the vehicle any more.
    let naming = notebook.blocks.iter().filter(|block| block.replaced_by.is_none()).flat_map(|block| {
        let bound = block.bindings.iter().filter(|bound| bound.block == *part && bound.written.is_some());
        bound.map(|bound| format!("{}.{}", block.name, bound.field))
    });
    let mut fields: Vec<String> = naming.collect();
    fields.dedup();
    match fields.is_empty() {
        true => Err(format!("no block names `{name}` as a part, so nothing can take its place")),
        false => Ok(Wish { name, changes: fields.into_iter().map(change).collect() }),
    }
}
