//! What a trace is asked of: a value, a requirement or a block.

use serde::Serialize;

use super::way::{Direction, needs, reached};
use crate::evaluate::{Judged, State};
use crate::findings::suggest;
use crate::report::Told;

/// The values to begin with, and the requirements that are asked of.
pub(super) struct Subject {
    pub(super) roots: Vec<usize>,
    /// Numbers among those that were judged.
    pub(super) required: Vec<usize>,
    /// A whole block was named.
    pub(super) block: bool,
}

#[derive(Serialize)]
pub(super) struct Required {
    pub(super) actual: String,
    /// The conditions that it is judged at.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) at: Vec<String>,
    pub(super) limit: String,
    pub(super) name: String,
    pub(super) reason: String,
    pub(super) verdict: &'static str,
}

/// Why there is nothing to trace.
pub(super) enum Nothing {
    /// No value, requirement or block has that name; this one is near.
    Unknown(Option<String>),
    NotWorked,
}

pub(super) fn subject(told: Told<'_>, name: &str) -> Result<Subject, Nothing> {
    let (plan, notebook) = (told.plan, told.notebook);
    let judged = || told.results.judged.iter().enumerate();
    let known = |global: &usize| told.results.states[*global] == State::Known;
    if let Some(global) = plan.find(notebook, name) {
        let required = judged().filter(|(_, one)| one.actual == global).map(|(at, _)| at).collect();
        return match known(&global) {
            true => Ok(Subject { roots: vec![global], required, block: false }),
            false => Err(Nothing::NotWorked),
        };
    }
    if let Some((at, one)) = judged().find(|(_, one)| full_name(told, one) == name) {
        let ends = [Some(one.actual), one.low, one.high].into_iter().flatten();
        let mut roots: Vec<usize> = Vec::new();
        for root in ends.flat_map(|end| seen(told, end)).filter(known) {
            if !roots.contains(&root) {
                roots.push(root);
            }
        }
        return Ok(Subject { roots, required: vec![at], block: false });
    }
    if let Some(number) = notebook.names.get(name) {
        let all = plan.first[*number]..plan.first[*number + 1];
        let shown = all.filter(|global| known(global) && !told.node(*global).1.hidden);
        let (results, fields): (Vec<usize>, Vec<usize>) =
            shown.partition(|global| told.node(*global).1.is_result());
        let roots = if results.is_empty() { fields } else { results };
        let required: Vec<usize> =
            judged().filter(|(_, one)| one.block == *number).map(|(at, _)| at).collect();
        return match roots.is_empty() && required.is_empty() {
            true => Err(Nothing::NotWorked),
            false => Ok(Subject { roots, required, block: true }),
        };
    }
    let mut names = plan.names(notebook);
    names.extend(notebook.names.keys().cloned());
    names.extend(told.results.judged.iter().map(|one| full_name(told, one)));
    names.sort_unstable();
    Err(Nothing::Unknown(suggest(name, names.iter().map(String::as_str)).map(str::to_owned)))
}

impl Subject {
    /// What is required of it or, forward, of all that rests on it.
    pub(super) fn required(&self, told: Told<'_>, direction: &Direction) -> Vec<Required> {
        let wanted: Vec<usize> = match direction {
            Direction::Back => self.required.clone(),
            Direction::Forward(users) => {
                let reached = reached(users, &self.roots);
                let rests = |one: &Judged| {
                    [Some(one.actual), one.low, one.high]
                        .into_iter()
                        .flatten()
                        .any(|end| reached.contains(&end))
                };
                let judged = told.results.judged.iter().enumerate();
                judged.filter(|(_, one)| rests(one)).map(|(at, _)| at).collect()
            }
        };
        let rows = told.requirements();
        let row = |at: &usize| {
            let row = rows.get(*at)?;
            Some(Required {
                actual: plain(&row.actual),
                at: row.conditions.iter().map(|condition| plain(condition)).collect(),
                limit: plain(&row.limit),
                name: format!("{}.{}", row.block, row.name),
                reason: plain(&row.reason.to_string()),
                verdict: row.verdict.word(),
            })
        };
        wanted.iter().filter_map(row).collect()
    }
}

fn full_name(told: Told<'_>, one: &Judged) -> String {
    let block = &told.notebook.blocks[one.block];
    format!("{}.{}", block.name, block.requirements[one.number].name)
}

/// Hidden work is told by what it was worked from.
fn seen(told: Told<'_>, global: usize) -> Vec<usize> {
    if told.node(global).1.hidden { needs(told, global) } else { vec![global] }
}

/// With plain spaces.
pub(super) fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ")
}
