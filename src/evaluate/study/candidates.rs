//! The candidates of a trade study: what each changes, what is looked at, and its whole run.

use std::collections::HashSet;

use super::super::Results;
use super::super::changed::{Nominal, try_all};
use super::super::variant::Variant;
use super::super::verdict::{Judged, Verdict};
use super::asking::Asking;
use crate::findings::Finding;
use crate::model::{Change, Condition, RequirementKind, Trade, TradedRow, Varied, held};
use crate::quantities::{Quantity, Unit};
use crate::words::words;

/// What a candidate came to.
pub(super) struct Tried {
    /// Of each condition what is left, and whether it holds; `None` where it could not be worked.
    pub(super) kept: Vec<Option<(f64, bool)>>,
    pub(super) prefer: Vec<Option<f64>>,
    /// A requirement of safety or law is missed, or could not be worked.
    pub(super) unsafe_by: Option<Unsafe>,
    /// What is drawn over the one number that is varied.
    pub(super) over: Vec<f64>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Unsafe {
    Fails,
    Open,
}

/// One study while it is worked.
pub(super) struct Work<'a> {
    pub(super) asking: &'a Asking<'a>,
    pub(super) asked: &'a Trade,
    /// Requirements, by block and name, that no varied input has a say in.
    pub(super) aside: HashSet<(usize, String)>,
    /// The values that are drawn over the one number that is varied.
    pub(super) over: Vec<usize>,
}

/// What a whole run gives beside its row.
pub(super) struct Whole {
    pub(super) variant: Variant,
    pub(super) results: Results,
    pub(super) unsafe_fails: bool,
    pub(super) prefer: Vec<f64>,
    pub(super) shown: Vec<Option<f64>>,
    pub(super) units: Vec<(usize, Unit)>,
}

impl<'a> Work<'a> {
    pub(super) fn new(asking: &'a Asking<'a>, asked: &'a Trade) -> Work<'a> {
        let over = match asked.varied.as_slice() {
            [Varied { numbers: Some(_), .. }] => {
                let parts = asked.keep.iter().flat_map(Condition::parts);
                let others = asked.prefer.iter().map(|one| one.from);
                parts.chain(others).chain(asked.shown.iter().map(|column| column.from)).collect()
            }
            _ => Vec::new(),
        };
        Work { asking, asked, aside: aside(asking, asked), over }
    }
}

impl Work<'_> {
    /// The number of the option of each varied name; the last one changes fastest.
    pub(super) fn options(&self, mut number: usize) -> Vec<usize> {
        let mut options = vec![0; self.asked.varied.len()];
        for (at, varied) in self.asked.varied.iter().enumerate().rev() {
            options[at] = number % varied.to.len();
            number /= varied.to.len();
        }
        options
    }

    pub(super) fn changes(&self, number: usize) -> Vec<Change> {
        let options = self.options(number);
        let each = self.asked.varied.iter().zip(options);
        each.flat_map(|(varied, option)| {
            let texts = varied.inputs.iter().zip(&varied.to[option]);
            texts.map(|(input, to)| Change { set: input.set.clone(), to: to.clone() })
        })
        .collect()
    }

    /// The values that a candidate is looked at for.
    pub(super) fn wanted(&self, variant: &Variant) -> Vec<usize> {
        let first = variant.plan.first[self.asking.number];
        let parts = self.asked.keep.iter().flat_map(Condition::parts);
        let own = parts.chain(self.asked.prefer.iter().map(|one| one.from)).chain(self.over.iter().copied());
        let mut wanted: Vec<usize> = own.map(|index| first + index).collect();
        if self.asked.safety {
            for (number, block) in variant.notebook.blocks.iter().enumerate() {
                let judged = block.requirements.iter().filter(|one| one.kind != RequirementKind::Wish);
                let parts = judged.flat_map(|one| [Some(one.actual), one.low, one.high]).flatten();
                wanted.extend(parts.map(|part| variant.plan.first[number] + part as usize));
            }
        }
        wanted
    }

    pub(super) fn look(&self, nominal: &Nominal<'_, '_>) -> Tried {
        self.look_at(nominal.variant, &|value| nominal.quantity(value))
    }

    /// `known` gives the values of the variant's table, where they are known.
    pub(super) fn look_at(&self, variant: &Variant, known: &dyn Fn(usize) -> Option<Quantity>) -> Tried {
        let first = variant.plan.first[self.asking.number];
        let value = |index: usize| known(first + index);
        let number = |index: usize| value(index).map(|value| value.si);
        Tried {
            kept: self.asked.keep.iter().map(|condition| condition.held(value)).collect(),
            prefer: self.asked.prefer.iter().map(|one| number(one.from)).collect(),
            unsafe_by: if self.asked.safety { self.unsafe_by(variant, known) } else { None },
            over: self.over.iter().map(|index| number(*index).unwrap_or(f64::NAN)).collect(),
        }
    }

    /// Whether a requirement of safety or law is missed, by nominal values. One that is not known counts where the varied
    /// inputs have a say in it.
    fn unsafe_by(&self, variant: &Variant, known: &dyn Fn(usize) -> Option<Quantity>) -> Option<Unsafe> {
        let mut found = None;
        for (number, block) in variant.notebook.blocks.iter().enumerate() {
            if block.replaced_by.is_some() {
                continue;
            }
            let value = |index: usize| known(variant.plan.first[number] + index);
            for one in block.requirements.iter().filter(|one| one.kind != RequirementKind::Wish) {
                if one.optional.iter().any(|index| value(*index as usize).is_none()) {
                    continue;
                }
                let limits = (one.low.map(|low| low as usize), one.high.map(|high| high as usize));
                match held((one.actual as usize, limits.0, limits.1), one.strict, value) {
                    Some((_, true)) => {}
                    Some((_, false)) => return Some(Unsafe::Fails),
                    None if self.aside.contains(&(number, one.name.clone())) => {}
                    None => found = Some(Unsafe::Open),
                }
            }
        }
        found
    }

    /// Both sides of each condition are of one dimension, as the first candidate has them.
    pub(super) fn same_sorts(&self) -> Result<(), Vec<Finding>> {
        let look = |nominal: &Nominal<'_, '_>| {
            let first = nominal.variant.plan.first[self.asking.number];
            let value = |index: usize| nominal.quantity(first + index);
            let mut findings = Vec::new();
            for condition in &self.asked.keep {
                let Some(actual) = value(condition.actual) else { continue };
                let limits = condition.parts().skip(1).filter_map(value);
                let faults = limits.filter_map(|limit| actual.against(&limit, None).err());
                findings.extend(faults.take(1).map(|fault| {
                    let message = words!("`keep` compares {}", fault.message);
                    Finding::new(fault.code, condition.span, message, fault.help)
                }));
            }
            findings
        };
        let (found, _) =
            try_all(self.asking.changeable, &[self.changes(0)], |variant| self.wanted(variant), look);
        let findings: Vec<Finding> = found.into_iter().flatten().flatten().collect();
        if findings.is_empty() { Ok(()) } else { Err(findings) }
    }

    /// Which conditions a candidate misses; the last one is that of safety.
    pub(super) fn missed(&self, one: &Tried) -> Vec<usize> {
        let misses = |kept: &Option<(f64, bool)>| kept.is_some_and(|(_, holds)| !holds);
        let mut missed: Vec<usize> = (0..one.kept.len()).filter(|at| misses(&one.kept[*at])).collect();
        if one.unsafe_by.is_some() || self.asked.safety && one.kept.contains(&None) {
            missed.push(one.kept.len());
        }
        missed
    }

    pub(super) fn keeps(&self, one: &Tried) -> bool {
        self.missed(one).is_empty() && !one.prefer.contains(&None)
    }

    /// A candidate run whole, as far as its own inputs have a say in it.
    pub(super) fn row(&self, number: usize) -> Option<(TradedRow, Whole)> {
        let variant = self.asking.variant(&self.changes(number)).ok()?;
        let Variant { notebook, plan, followed, .. } = &variant;
        let inputs = self.asked.varied.iter().flat_map(|varied| &varied.inputs).map(|input| &input.set);
        let blocks = inputs.chain(followed).filter_map(|set| notebook.names.get(set.split('.').next()?));
        let moved = variant.resting_on(blocks.copied());
        let judged = notebook.blocks.iter().enumerate().filter(|(number, block)| {
            block.requirements.iter().any(|one| {
                let parts = [Some(one.actual), one.low, one.high].into_iter().flatten();
                block.replaced_by.is_none() && { parts }
                    .any(|part| moved[plan.first[*number] + part as usize])
            })
        });
        let judged = judged.map(|(number, _)| number);
        let results = variant.run_some(judged.chain([self.asking.number]));
        let first = plan.first[self.asking.number];
        let shown = self.asked.shown.iter().map(|column| {
            let shown = results.shown_with_uncertainty(notebook, plan, first + column.from);
            shown.unwrap_or_else(|| "not known".to_owned())
        });
        let mut verdicts = [0; 3];
        let mut unsafe_fails = false;
        let of_it = |judged: &&Judged| {
            [Some(judged.actual), judged.low, judged.high].into_iter().flatten().any(|part| moved[part])
        };
        for judged in results.judged.iter().filter(of_it) {
            match judged.verdict {
                Verdict::Fails => verdicts[0] += 1,
                Verdict::Close => verdicts[1] += 1,
                Verdict::Open => verdicts[2] += 1,
                Verdict::Meets => {}
            }
            unsafe_fails |= judged.verdict == Verdict::Fails && judged.kind != RequirementKind::Wish;
        }
        let doubt = self.doubt(&results, first);
        let row = TradedRow { options: self.options(number), shown: shown.collect(), doubt, verdicts };
        let known = |index: usize| results.is_known(first + index).then(|| results.values[first + index]);
        let of = |index: usize| results.units[first + index].clone();
        let columns = self.asked.shown.iter().map(|column| (column.best, of(column.from)));
        let limits = self.asked.keep.iter().map(|condition| (condition.actual, of(condition.actual)));
        let numbers = self.asked.varied.iter();
        let numbers = numbers.filter_map(|varied| Some((varied.best, varied.numbers.as_ref()?.1.clone())));
        let drawn = self.asked.prefer.iter().map(|one| one.from).chain(self.over.iter().copied());
        let drawn = drawn.map(|index| (index, of(index)));
        let whole = Whole {
            unsafe_fails,
            prefer: self.asked.prefer.iter().map(|one| known(one.from).unwrap_or(f64::NAN)).collect(),
            shown: self.asked.shown.iter().map(|column| known(column.from)).collect(),
            units: columns.chain(numbers).chain(limits).chain(drawn).collect(),
            variant,
            results,
        };
        Some((row, whole))
    }

    /// What is said of a kept candidate: that a condition could not be worked, or that it is met by less than what is
    /// uncertain.
    fn doubt(&self, results: &Results, first: usize) -> &'static str {
        let mut doubt = "";
        for condition in &self.asked.keep {
            if condition.parts().any(|part| !results.is_known(first + part)) {
                return "open";
            }
            for limit in [condition.low, condition.high].into_iter().flatten() {
                let (actual, limit) = (first + condition.actual, first + limit);
                let left = (results.values[actual] - results.values[limit]).abs();
                if left < results.budget.expanded_difference(actual, limit) {
                    doubt = "close";
                }
            }
        }
        doubt
    }
}

/// The requirements of safety and law that don't rest on the block of any varied input.
fn aside(asking: &Asking<'_>, asked: &Trade) -> HashSet<(usize, String)> {
    let (notebook, plan) = (asking.notebook, asking.plan);
    let inputs = || asked.varied.iter().flat_map(|varied| &varied.inputs);
    let of = |set: &str| set.split_once('.').and_then(|(block, _)| notebook.names.get(block).copied());
    let blocks: HashSet<usize> = inputs().filter_map(|input| of(&input.set)).collect();
    let mut aside = HashSet::new();
    for (number, block) in notebook.blocks.iter().enumerate() {
        for requirement in block.requirements.iter().filter(|one| one.kind != RequirementKind::Wish) {
            let parts = [Some(requirement.actual), requirement.low, requirement.high];
            let mut open: Vec<usize> =
                parts.into_iter().flatten().map(|part| plan.first[number] + part as usize).collect();
            let mut seen = HashSet::new();
            let mut reached = false;
            while let Some(value) = open.pop() {
                if seen.insert(value) {
                    reached |= blocks.contains(&plan.block_of(value));
                    open.extend(plan.needs(value));
                }
            }
            if !reached {
                aside.insert((number, requirement.name.clone()));
            }
        }
    }
    aside
}
