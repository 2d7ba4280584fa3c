//! Finds the input of a journal that makes a condition true: tried over its whole range, then halved to the last digit.

use super::super::changed::Trial;
use super::super::variant::Variant;
use super::asking::Asking;
use crate::findings::{Finding, codes};
use crate::model::{Change, Goal, Solve, Solved};
use crate::quantities::{Quantity, Unit};
use crate::words::words;

/// Into how many steps a range is parted at first.
const STEPS: usize = 64;

/// Most whole numbers of a range: each of them is tried.
const MOST: f64 = 2000.0;

/// How often a step is halved: more than a number has digits.
const HALVINGS: usize = 80;

/// What is left of an equality where it is met, as a share of its sides; more is a jump past each other.
const MET: f64 = 1e-9;

/// What the condition and what is shown come to with one input, in the order of [`Prober::asked`].
type Tried = Option<Vec<Option<Quantity>>>;

/// The journal with the input set to one value after another.
struct Prober<'a, 'v> {
    asking: &'a Asking<'a>,
    asked: &'a Solve,
    /// The values that are wanted, by index in the study's block.
    wanted: &'a [usize],
    /// `None` where each input is a journal of its own.
    trial: Option<Trial<'v>>,
    whole: bool,
}

/// The range as it was tried: inputs in rising order, with what each gives.
type Grid = Vec<(f64, Tried)>;

pub(super) fn solve(asking: &Asking<'_>, asked: &Solve) -> Result<Solved, Vec<Finding>> {
    let mut ends = asked.between.map(|end| end.si);
    ends.sort_by(f64::total_cmp);
    let wanted: Vec<usize> =
        asked.condition.parts().chain(asked.shown.iter().map(|(from, _)| *from)).collect();
    let middle = 0.5 * (ends[0] + ends[1]);
    let (change, variant) = any_of(asking, asked, &[ends[0], ends[1], middle])?;
    let set = asked.input.set.as_str();
    let count = |variant: &Variant| {
        let value = variant.plan.find(&variant.notebook, set)?;
        let (block, index) = variant.plan.local(value);
        Some(variant.notebook.blocks[block].nodes[index].count)
    };
    let whole = count(&variant).unwrap_or(false);
    if whole {
        ends = [ends[0].ceil(), ends[1].floor()];
        if ends[1] - ends[0] > MOST {
            let message = words!("{} whole numbers to try", ends[1] - ends[0] + 1.0);
            let help = words!("narrow the range: at most {} are tried", MOST);
            return Err(vec![Finding::new(&codes::BAD_VALUE, asked.between_span, message, help)]);
        }
    }
    let first = variant.plan.first[asking.number];
    let globals: Vec<usize> = wanted.iter().map(|index| first + index).collect();
    let plain = asking.changeable.plain_number(&change).is_some();
    let sets: &[&str] = if plain { &[set] } else { &[] };
    let trial = Trial::new(&variant, sets, &globals);
    let units = trial.as_ref().map_or_else(Vec::new, |trial| units(trial, asked, first));
    let trial = trial.filter(|_| plain);
    let mut prober = Prober { asking, asked, wanted: &wanted, trial, whole };
    let grid = prober.grid(ends);
    prober.same_sort(&grid)?;
    let mut solved = match asked.goal {
        Goal::Equal => prober.equal(&grid),
        Goal::Largest | Goal::Smallest => prober.edge(&grid),
    };
    solved.tried = grid.len();
    solved.unknown = grid.iter().filter(|(_, tried)| prober.room(tried).is_none()).count();
    solved.units = units;
    if let Some(value) = solved.value {
        prober.settle(value, &mut solved);
    }
    Ok(solved)
}

/// The journal with the first of several inputs that it can be read with.
fn any_of(asking: &Asking<'_>, asked: &Solve, inputs: &[f64]) -> Result<(Change, Variant), Vec<Finding>> {
    let mut refused = Vec::new();
    for input in inputs {
        let change = Change { set: asked.input.set.clone(), to: typed(*input, &asked.unit) };
        match asking.variant(std::slice::from_ref(&change)) {
            Ok(variant) => return Ok((change, variant)),
            Err(found) if refused.is_empty() => refused = found,
            Err(_) => {}
        }
    }
    Err(Asking::refused(&refused, asked.input.span))
}

/// An input as it is typed.
fn typed(si: f64, unit: &Unit) -> String {
    match unit.is_one() {
        true => unit.value_of(si).to_string(),
        false => format!("{} {}", unit.value_of(si), unit.symbol),
    }
}

/// The units of the study's results: that of the input, and those of the expressions.
fn units(trial: &Trial<'_>, asked: &Solve, first: usize) -> Vec<(usize, Unit)> {
    let of = |index: usize| trial.units[first + index].clone();
    let actual = of(asked.condition.actual);
    // What lies between two temperatures is none.
    let residual = if actual.is_point() { Unit::coherent(actual.dimension) } else { actual };
    let shown = asked.shown.iter().map(|(from, to)| (*to, of(*from)));
    [(asked.value, asked.unit.clone()), (asked.residual, residual)].into_iter().chain(shown).collect()
}

impl Prober<'_, '_> {
    /// What the journal gives with this input; `None` where it can't be worked with it.
    fn at(&mut self, si: f64) -> Tried {
        let change = Change { set: self.asked.input.set.clone(), to: typed(si, &self.asked.unit) };
        match (&mut self.trial, self.asking.changeable.plain_number(&change)) {
            (Some(trial), Some(number)) => {
                let first = self.asking.plan.first[self.asking.number];
                let nominal = trial.at(std::iter::once(number), self.asking.told).ok()?;
                Some(self.wanted.iter().map(|index| nominal.quantity(first + index)).collect())
            }
            _ => self.anew(change),
        }
    }

    /// The same from the journal read and worked with the input typed in.
    fn anew(&self, change: Change) -> Tried {
        let variant = self.asking.variant(&[change]).ok()?;
        let first = variant.plan.first[self.asking.number];
        let globals: Vec<usize> = self.wanted.iter().map(|index| first + index).collect();
        let mut trial = Trial::new(&variant, &[], &globals)?;
        let nominal = trial.at(std::iter::empty(), self.asking.told).ok()?;
        Some(globals.iter().map(|global| nominal.quantity(*global)).collect())
    }

    fn grid(&mut self, [low, high]: [f64; 2]) -> Grid {
        let steps = if self.whole { (high - low).max(0.0) as usize } else { STEPS };
        let input = |step: usize| match step == steps {
            true => high,
            false => low + (high - low) * step as f64 / steps as f64,
        };
        (0..=steps).map(|step| (input(step), self.at(input(step)))).collect()
    }

    /// Both sides of the condition have to be of one dimension.
    fn same_sort(&self, grid: &Grid) -> Result<(), Vec<Finding>> {
        for (_, tried) in grid {
            let Some(actual) = self.value(tried, self.asked.condition.actual) else { continue };
            for limit in self.asked.condition.parts().skip(1) {
                let Some(limit) = self.value(tried, limit) else { continue };
                if let Err(fault) = actual.against(&limit, None) {
                    let span = self.asked.condition.span;
                    let message = words!("`until` compares {}", fault.message);
                    return Err(vec![Finding::new(fault.code, span, message, fault.help)]);
                }
            }
            return Ok(());
        }
        Ok(())
    }

    fn value(&self, tried: &Tried, index: usize) -> Option<Quantity> {
        let at = self.wanted.iter().position(|wanted| *wanted == index)?;
        tried.as_ref()?[at]
    }

    /// What is left to the limit and whether the condition holds.
    fn held(&self, tried: &Tried) -> Option<(f64, bool)> {
        self.asked.condition.held(|index| self.value(tried, index))
    }

    /// Left side less right one, and how large they are.
    fn difference(&self, tried: &Tried) -> Option<(f64, f64)> {
        self.asked.condition.difference(|index| self.value(tried, index))
    }

    /// Of an equality the difference, else what is left.
    fn room(&self, tried: &Tried) -> Option<f64> {
        match self.asked.goal {
            Goal::Equal => Some(self.difference(tried)?.0),
            Goal::Largest | Goal::Smallest => Some(self.held(tried)?.0),
        }
    }

    /// Where both sides are equal.
    fn equal(&mut self, grid: &Grid) -> Solved {
        let mut solved = Solved { idle: self.idle(grid), ..Solved::default() };
        if solved.idle {
            return solved;
        }
        let mut found = Vec::new();
        for (input, tried) in grid {
            found.extend(self.difference(tried).filter(met).map(|_| *input));
        }
        if !self.whole {
            for pair in grid.windows(2) {
                let ends = [&pair[0], &pair[1]].map(|(input, tried)| (*input, self.difference(tried)));
                let [(low, Some(left)), (high, Some(right))] = ends else { continue };
                if !met(&left) && !met(&right) && (left.0 < 0.0) != (right.0 < 0.0) {
                    found.extend(self.halved([low, high], left.0 < 0.0));
                }
            }
        }
        found.sort_by(f64::total_cmp);
        let mut found = found.into_iter();
        solved.value = found.next();
        solved.others = found.collect();
        if solved.value.is_none() {
            solved.nearest = self.nearest(grid, f64::abs);
        }
        solved
    }

    /// The input between two at which the difference changes its sign; `None` where it jumps there.
    fn halved(&mut self, [mut low, mut high]: [f64; 2], rising: bool) -> Option<f64> {
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                break;
            }
            let tried = self.at(middle);
            match (self.difference(&tried)?.0 < 0.0) == rising {
                true => low = middle,
                false => high = middle,
            }
        }
        let mut ends = [low, high].map(|input| (input, self.at(input)));
        ends.sort_by(|one, other| {
            let size = |tried: &Tried| self.room(tried).map_or(f64::INFINITY, f64::abs);
            size(&one.1).total_cmp(&size(&other.1))
        });
        let [(input, tried), _] = ends;
        self.difference(&tried).filter(met).map(|_| input)
    }

    /// The last input on one side that the condition holds for.
    fn edge(&mut self, grid: &Grid) -> Solved {
        let mut solved = Solved { idle: self.idle(grid), ..Solved::default() };
        let known: Vec<(f64, Option<bool>)> =
            grid.iter().map(|(input, tried)| (*input, self.held(tried).map(|(_, holds)| holds))).collect();
        let holds = |at: &usize| known[*at].1 == Some(true);
        let last = match self.asked.goal {
            Goal::Largest => (0..known.len()).rev().find(holds),
            _ => (0..known.len()).find(holds),
        };
        let Some(last) = last else {
            solved.nearest = self.nearest(grid, |room| -room);
            return solved;
        };
        let stretches = known.windows(2).filter(|pair| pair[0].1 != Some(true) && pair[1].1 == Some(true));
        solved.parted = usize::from(known[0].1 == Some(true)) + stretches.count() > 1;
        let beyond = match self.asked.goal {
            Goal::Largest => known.get(last + 1),
            _ => last.checked_sub(1).map(|at| &known[at]),
        };
        solved.at_end = beyond.is_none();
        let (mut inside, outside) = (known[last].0, beyond.map(|(input, _)| *input));
        if let (Some(mut outside), false) = (outside, self.whole) {
            for _ in 0..HALVINGS {
                let middle = 0.5 * (inside + outside);
                if middle == inside || middle == outside {
                    break;
                }
                let tried = self.at(middle);
                match self.held(&tried) {
                    Some((_, true)) => inside = middle,
                    _ => outside = middle,
                }
            }
        }
        solved.value = Some(inside);
        solved
    }

    /// Whether no part of the condition moves with the input.
    fn idle(&self, grid: &Grid) -> bool {
        let of = |tried: &Tried| -> Option<Vec<f64>> {
            let mut parts = self.asked.condition.parts();
            parts.try_fold(Vec::new(), |mut known, index| {
                known.push(self.value(tried, index)?.si);
                Some(known)
            })
        };
        let first = grid.first().and_then(|(_, tried)| of(tried));
        first.is_some() && grid.len() > 1 && grid.iter().all(|(_, tried)| of(tried) == first)
    }

    /// The input that comes nearest, by how far each is away.
    fn nearest(&self, grid: &Grid, away: impl Fn(f64) -> f64) -> Option<f64> {
        let known = grid.iter().filter_map(|(input, tried)| Some((*input, away(self.room(tried)?))));
        known.min_by(|one, other| one.1.total_cmp(&other.1)).map(|(input, _)| input)
    }

    /// What the journal gives at the solution, and the same from the journal read anew.
    fn settle(&mut self, value: f64, solved: &mut Solved) {
        let tried = self.at(value);
        solved.residual = self.room(&tried).unwrap_or(f64::NAN);
        let of = |from: &usize| self.value(&tried, *from).map(|value| value.si);
        solved.shown = self.asked.shown.iter().map(|(from, _)| of(from)).collect();
        let change = Change { set: self.asked.input.set.clone(), to: typed(value, &self.asked.unit) };
        let anew = self.anew(change);
        let apart = |index: &usize| {
            let both = (self.value(&tried, *index), self.value(&anew, *index));
            let (Some(one), Some(other)) = both else {
                return if both.0.is_some() || both.1.is_some() { f64::INFINITY } else { 0.0 };
            };
            (one.si - other.si).abs() / one.si.abs().max(other.si.abs()).max(f64::MIN_POSITIVE)
        };
        solved.apart = self.wanted.iter().map(apart).fold(0.0, f64::max);
    }
}

/// Whether an equality is met, by its difference and the size of its sides.
fn met((difference, size): &(f64, f64)) -> bool {
    difference.abs() <= MET * size
}
