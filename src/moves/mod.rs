//! What moved between two states of a journal: verdicts, inputs and results, and how much of each result's move each
//! changed input accounts for.

mod causes;
mod inputs;
mod put_back;
mod told;

pub(crate) use causes::Without;
pub(crate) use inputs::InputMove;
use inputs::{InputChange, inputs};
pub(crate) use put_back::{State, put_back};
pub(crate) use told::{newly_met, told};

use std::collections::BTreeMap;

use serde::{Serialize, Serializer};

use crate::evaluate::Verdict;
use crate::quantities::{Unit, show_number, show_quantity};
use crate::report::{RequirementRow, Told};

/// All that moved, by full name.
#[derive(Serialize)]
pub(crate) struct Moves {
    pub inputs: BTreeMap<String, InputMove>,
    pub results: BTreeMap<String, ResultMove>,
    /// Flips of verdicts, in the order of the journal as it is now; what is no longer judged stands last.
    pub verdicts: Vec<VerdictMove>,
}

#[derive(Serialize)]
pub(crate) struct VerdictMove {
    /// `None` where it was not judged before, or is no longer.
    pub after: Option<&'static str>,
    pub before: Option<&'static str>,
    pub kind: &'static str,
    /// Of the later state; of the earlier where there is none.
    #[serde(serialize_with = "with_plain_spaces")]
    pub limit: String,
    pub name: String,
    #[serde(serialize_with = "with_plain_spaces_if")]
    pub shown_after: Option<String>,
    #[serde(serialize_with = "with_plain_spaces_if")]
    pub shown_before: Option<String>,
}

#[derive(Serialize)]
pub(crate) struct ResultMove {
    #[serde(serialize_with = "with_plain_spaces_if")]
    pub after: Option<String>,
    pub after_si: Option<f64>,
    #[serde(serialize_with = "with_plain_spaces_if")]
    pub before: Option<String>,
    pub before_si: Option<f64>,
    /// What each changed input accounts for, in SI: the later value less what it would be with that input alone put
    /// back. None for what is no number or was not there on both sides.
    pub causes: BTreeMap<String, f64>,
    /// As it is shown, with its unit.
    #[serde(serialize_with = "with_plain_spaces_if")]
    pub difference: Option<String>,
    pub difference_si: Option<f64>,
    /// What the causes do together and none does alone, in SI.
    pub interaction: Option<f64>,
    /// Whether it moved by more than the larger of both expanded uncertainties.
    pub more_than_uncertainty: Option<bool>,
    /// Of the earlier value; `None` of a zero and of a point on the temperature scale.
    pub per_cent: Option<f64>,
    /// The unit that the difference is shown in.
    #[serde(skip)]
    unit: Unit,
}

/// A result as a register has it.
pub(crate) struct Shown {
    pub si: f64,
    pub shown: String,
}

/// The cause of what the same journal gives otherwise than when it was frozen.
const PROGRAM: &str = "program";

/// Smaller parts of a value than this are rounding.
const ROUNDING: f64 = 1e-9;

/// What moved from one state of a journal to another. `without` tells of each cause what the results of the later state
/// would be without it; `frozen` is what the earlier state's register says: where that is not what is worked of it today,
/// the program is a cause.
pub(crate) fn moves(
    (before, frozen): (Told<'_>, &BTreeMap<String, Shown>),
    after: Told<'_>,
    without: &[Without],
) -> Moves {
    Moves {
        inputs: inputs(before, after),
        results: results((before, frozen), after, without),
        verdicts: verdicts(before, after),
    }
}

impl Moves {
    pub(crate) fn is_empty(&self) -> bool {
        self.inputs.is_empty() && self.results.is_empty() && self.verdicts.is_empty()
    }

    /// Verdicts that flipped, and what is not met among those that are new; and how many new ones are met.
    pub(crate) fn flips(&self) -> (Vec<&VerdictMove>, usize) {
        let met = |one: &&VerdictMove| one.before.is_none() && one.after == Some(Verdict::Meets.word());
        let (met, flips): (Vec<_>, Vec<_>) = self.verdicts.iter().partition(met);
        (flips, met.len())
    }

    /// Inputs that differ, and the names of the blocks that were added.
    pub(crate) fn changes(&self) -> (Vec<(&String, &InputMove)>, Vec<&str>) {
        let added =
            |(name, one): &(&String, &InputMove)| !name.contains('.') && one.change == InputChange::Added;
        let (added, changes): (Vec<_>, Vec<_>) = self.inputs.iter().partition(added);
        (changes, added.into_iter().map(|(name, _)| name.as_str()).collect())
    }

    /// All results, the largest moves first: what came or went, then by their share of what was there before.
    pub(crate) fn largest(&self) -> Vec<(&String, &ResultMove)> {
        let size = |one: &ResultMove| one.per_cent.map_or(f64::INFINITY, f64::abs);
        let mut results: Vec<(&String, &ResultMove)> = self.results.iter().collect();
        results.sort_by(|(_, one), (_, other)| size(other).total_cmp(&size(one)));
        results
    }
}

impl ResultMove {
    /// `+8 %` of what was there before.
    pub(crate) fn share(&self) -> Option<String> {
        let per_cent = self.per_cent?;
        let sign = if per_cent > 0.0 { "+" } else { "" };
        Some(format!("{sign}{}\u{a0}%", show_number(per_cent, 2)))
    }

    /// What accounts for its difference, and for how much of it as that is shown: the largest causes, `most` at most,
    /// the others as one, and what they do together.
    pub(crate) fn parts(&self, most: usize) -> Vec<(&str, String)> {
        let mut causes: Vec<(&str, f64)> =
            self.causes.iter().map(|(name, si)| (name.as_str(), *si)).collect();
        causes.sort_by(|(_, one), (_, other)| other.abs().total_cmp(&one.abs()));
        let rest: f64 = causes.iter().skip(most).map(|(_, si)| si).sum();
        causes.truncate(most);
        if rest != 0.0 {
            causes.push(("others", rest));
        }
        causes.extend(self.interaction.filter(|si| *si != 0.0).map(|si| ("together", si)));
        causes.into_iter().map(|(name, si)| (name, self.signed(si))).collect()
    }

    /// A part of its difference as it is shown, signed.
    fn signed(&self, si: f64) -> String {
        let sign = if si > 0.0 { "+" } else { "" };
        format!("{sign}{}", show_quantity(si, &self.unit, 3))
    }
}

fn verdicts(before: Told<'_>, after: Told<'_>) -> Vec<VerdictMove> {
    let name = |row: &RequirementRow| format!("{}.{}", row.block, row.name);
    let rows = |told: Told<'_>| told.requirements().into_iter().map(|row| (name(&row), row));
    let mut old: BTreeMap<String, RequirementRow> = rows(before).collect();
    let word = |row: &RequirementRow| row.verdict.word();
    let mut flips = Vec::new();
    for (name, new) in rows(after) {
        let was = old.remove(&name);
        if was.as_ref().map(word) == Some(word(&new)) {
            continue;
        }
        flips.push(VerdictMove {
            after: Some(word(&new)),
            before: was.as_ref().map(word),
            kind: new.kind.word(),
            limit: new.limit,
            shown_after: Some(new.actual),
            shown_before: was.map(|row| row.actual),
            name,
        });
    }
    flips.extend(old.into_iter().map(|(name, row)| VerdictMove {
        after: None,
        before: Some(word(&row)),
        kind: row.kind.word(),
        limit: row.limit,
        shown_after: None,
        shown_before: Some(row.actual),
        name,
    }));
    // What fails now is read first.
    flips.sort_by_key(|flip| flip.after != Some(Verdict::Fails.word()));
    flips
}

/// Every result that a state knows, with its place; by full name.
fn known(told: Told<'_>) -> BTreeMap<String, usize> {
    let blocks = told.notebook.blocks.iter().enumerate();
    let of_block = blocks.flat_map(|(number, block)| {
        let first = told.plan.first[number];
        let results = block.nodes.iter().enumerate().filter(|(_, node)| node.is_result());
        results.map(move |(index, node)| (format!("{}.{}", block.name, node.name), first + index))
    });
    of_block.filter(|(_, global)| told.results.is_known(*global)).collect()
}

fn results(
    (before, frozen): (Told<'_>, &BTreeMap<String, Shown>),
    after: Told<'_>,
    without: &[Without],
) -> BTreeMap<String, ResultMove> {
    let (old, new) = (known(before), known(after));
    // What came or went with its whole block is told by the block.
    let has = |told: Told<'_>, name: &str| {
        let block = name.split_once('.').map_or(name, |(block, _)| block);
        told.notebook.blocks.iter().any(|entry| entry.name == block)
    };
    let both = |name: &&String| has(before, name) && has(after, name);
    let mut names: Vec<&String> = old.keys().chain(new.keys()).filter(both).collect();
    names.sort_unstable();
    names.dedup();
    let moved = names.into_iter().filter_map(|name| {
        let old = old.get(name).map(|at| (before, *at));
        let new = new.get(name).map(|at| (after, *at));
        Some((name.clone(), moved(name, (old, new), without, frozen.get(name))?))
    });
    moved.collect()
}

/// A value of a state of the journal, by its place.
type At<'t> = Option<(Told<'t>, usize)>;

/// `None` where it did not move.
fn moved(
    name: &str,
    (old, new): (At<'_>, At<'_>),
    without: &[Without],
    frozen: Option<&Shown>,
) -> Option<ResultMove> {
    let shown = |at: At<'_>| {
        let (told, at) = at?;
        told.results.shown_with_uncertainty(told.notebook, told.plan, at)
    };
    let number = |at: At<'_>| {
        let (told, at) = at?;
        let results = told.results;
        let number = !told.node(at).1.is_text() && results.curves[at].is_none();
        number.then(|| {
            (results.values[at], results.dimensions[at], results.coverage[at] * results.standard[at])
        })
    };
    let (before, after) = (shown(old), shown(new));
    let numbers = number(old).zip(number(new)).filter(|((_, one, _), (_, other, _))| one == other);
    let side = new.or(old)?;
    let mut moved = ResultMove {
        after,
        after_si: number(new).map(|(si, ..)| si),
        before,
        before_si: number(old).map(|(si, ..)| si),
        causes: BTreeMap::new(),
        difference: None,
        difference_si: None,
        interaction: None,
        more_than_uncertainty: None,
        per_cent: None,
        unit: unit_of_differences(&side.0.results.units[side.1]),
    };
    let Some(((worked_si, _, before_wide), (after_si, _, after_wide))) = numbers else {
        return (moved.before != moved.after).then_some(moved);
    };
    let mut before_si = worked_si;
    let otherwise = |frozen: &&Shown| (frozen.si - worked_si).abs() > ROUNDING * worked_si.abs();
    if let Some(frozen) = frozen.filter(otherwise) {
        before_si = frozen.si;
        moved.before = Some(frozen.shown.clone());
        moved.before_si = Some(frozen.si);
    }
    let difference = after_si - before_si;
    let least = ROUNDING * before_si.abs().max(after_si.abs());
    if difference.abs() <= least {
        return None;
    }
    let alone = |without: &Without| {
        let share = after_si - without.values.get(name)?;
        (share.abs() > least).then(|| (without.cause.clone(), share))
    };
    moved.causes = without.iter().filter_map(alone).collect();
    if worked_si != before_si {
        moved.causes.insert(PROGRAM.to_owned(), worked_si - before_si);
    }
    let rest = difference - moved.causes.values().sum::<f64>();
    moved.interaction = Some(if rest.abs() <= least { 0.0 } else { rest });
    moved.difference_si = Some(difference);
    moved.difference = Some(moved.signed(difference));
    moved.more_than_uncertainty = Some(difference.abs() > before_wide.max(after_wide));
    let point = side.0.results.points[side.1];
    moved.per_cent = (before_si != 0.0 && !point).then(|| 100.0 * difference / before_si.abs());
    Some(moved)
}

/// A difference of two temperatures is none on their scale.
fn unit_of_differences(unit: &Unit) -> Unit {
    if unit.offset == 0.0 {
        unit.clone()
    } else {
        Unit { symbol: "K", factor: 1.0, offset: 0.0, ..unit.clone() }
    }
}

/// What must stay together on a page has plain spaces for terminals and programs.
fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ")
}

fn with_plain_spaces<S: Serializer>(text: &str, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(&plain(text))
}

fn with_plain_spaces_if<S: Serializer>(text: &Option<String>, to: S) -> Result<S::Ok, S::Error> {
    text.as_deref().map(plain).serialize(to)
}
