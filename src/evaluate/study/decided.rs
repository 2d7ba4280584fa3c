//! What became of a choice that was made among the candidates of a trade study, and what in the journal does not follow it.

use super::candidates::{Tried, Work};
use super::trade::difference;
use crate::model::{Astray, Change, Decided, Refusal};
use crate::quantities::Unit;

impl Work<'_> {
    /// `options` are the numbers of what was chosen.
    pub(super) fn decided(&self, tried: &[Result<Tried, Vec<Refusal>>], options: &[usize]) -> Decided {
        let number = self.number(options);
        let has = |change: &Change| self.asking.changeable.has(change);
        let otherwise = self.changes(number).into_iter().filter(|change| !has(change));
        let otherwise = otherwise.map(|change| (change.set, change.to)).collect();
        let (row, whole) = self.row(number).unzip();
        let unsafe_fails = self.asked.safety && whole.as_ref().is_some_and(|whole| whole.unsafe_fails);
        let units: Vec<(usize, Unit)> = whole.map_or_else(Vec::new, |whole| whole.units);
        let missed = |at: usize, one: &Tried| match self.asked.keep.get(at) {
            None => ("safety: yes".to_owned(), None),
            Some(condition) => {
                let unit = units.iter().find(|(index, _)| *index == condition.actual);
                let by = one.kept[at].zip(unit).map(|((room, _), (_, unit))| difference(-room, unit));
                (condition.text.clone(), by)
            }
        };
        let mut decided = Decided { row, otherwise, ..Decided::default() };
        match &tried[number] {
            Ok(one) => decided.missed = self.missed(one).into_iter().map(|at| missed(at, one)).collect(),
            Err(refused) => decided.refused = refused.first().map(Refusal::words),
        }
        // The whole run knows more than the nominal values.
        if decided.missed.is_empty() && unsafe_fails {
            decided.missed.push(("safety: yes".to_owned(), None));
        }
        decided
    }

    /// The items of ledgers that install one of the parts that are varied, and not the one that the journal has.
    pub(super) fn astray(&self) -> Vec<Astray> {
        let mut all: Vec<Astray> = Vec::new();
        for varied in &self.asked.varied {
            for (at, input) in varied.inputs.iter().enumerate() {
                let parts: Vec<&str> = varied.to.iter().map(|option| option[at].as_str()).collect();
                let found = self.asking.changeable.astray(&input.set, &parts).into_iter();
                let found = found.filter(|(item, _)| all.iter().all(|known| known.item != *item));
                let astray = |(item, part)| Astray { item, part, input: input.set.clone(), span: input.span };
                let found: Vec<Astray> = found.map(astray).collect();
                all.extend(found);
            }
        }
        all
    }

    /// The number of the candidate with these options.
    fn number(&self, options: &[usize]) -> usize {
        let each = self.asked.varied.iter().zip(options);
        each.fold(0, |number, (varied, option)| number * varied.to.len() + option)
    }
}
