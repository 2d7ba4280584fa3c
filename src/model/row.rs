//! What is known of results and of what is taken from other blocks before any journal is read.
//!
//! One static row is all there is of each: documentation, schema, reference, slots, labels, formulas and the summary
//! come from it, and tests check each formula of each row without a journal.

use std::marker::PhantomData;

use super::purpose::Purpose;
use crate::quantities::si::Measure;
use crate::quantities::{Curve, Sort};

/// A result of a kind. Capitals in its name and formula stand for names of the author's (`speed_into_STAGE`), and for
/// what the kind puts in when it reads a block ([`ResultRow::each`]).
pub(crate) struct ResultRow {
    /// As it is typed in references.
    pub name: &'static str,
    /// What people say, without capital: `short-circuit current`.
    pub label: &'static str,
    /// What a reader needs beyond the label; empty where that says it.
    pub about: &'static str,
    /// `None` for words.
    pub sort: Option<&'static Sort>,
    /// What it is shown in where nobody chose another.
    pub unit: &'static str,
    pub way: Way,
    /// When it exists, in words: `with peak_power`; empty where it always does.
    pub when: &'static str,
    /// It stands in the region and in the inspector's summary.
    pub principal: bool,
    /// It counts things and is never nudged.
    pub count: bool,
    /// It is the one result that it needs, a difference, over its expanded uncertainty (k = 2): worked when all
    /// uncertainties are.
    pub normalised: bool,
    pub family: Option<&'static Family>,
    /// What its procedure looks up in the rules, by name; `CASE` is the case's own name.
    pub looks_up: &'static [&'static str],
    /// The words of the block that say in which of several cases it holds, by name: the gear in use. Empty where there
    /// is one.
    pub told_with: &'static str,
    pub purpose: Option<Purpose>,
    /// For tests: what stands for each word in capitals that is no case of the family.
    pub each: &'static [(&'static str, &'static str)],
}

/// How a result is worked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Way {
    /// In Rust, and again by this formula of fields, of what is taken from other blocks and of earlier results.
    Formula(&'static str),
    /// In Rust by a method that no one-line formula states, told in words; `present` gives a check of it.
    Procedure(&'static str),
    /// Words that `present` finds.
    Words,
}

/// Results over a list: one row of data, a table with one row a case.
#[derive(PartialEq, Eq)]
pub(crate) struct Family {
    /// In the register, after the block's name: `cycles`.
    pub name: &'static str,
    /// The head of the column that names the cases: `Cycle`.
    pub label: &'static str,
    /// The word in capitals that stands for a case: `CYCLE`.
    pub case: &'static str,
}

/// One case of a family, as the author named it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Case {
    pub slug: String,
    pub title: String,
}

/// A result's row with the type of its values.
pub(crate) struct Row<T> {
    pub row: ResultRow,
    kind: PhantomData<fn() -> T>,
}

/// A value that a kind takes from a block that a field of its own names.
pub(crate) struct TakenRow {
    /// The field that names the block, the last word of it: `pack`, `part`. Empty for a value of this block that a word
    /// of the author's stands for, a size or a class: it comes from the rules, under `name` alone.
    pub field: &'static str,
    /// The field or result of that block; capitals stand for a name of the author's (`CYCLE_duration`).
    pub name: &'static str,
    /// `None` for a curve.
    pub sort: Option<&'static Sort>,
    /// Of a curve.
    pub axes: Option<(&'static Sort, &'static Sort)>,
    /// What it is for, where that is not plain.
    pub about: &'static str,
    /// A curve whose dimensions don't fit stays unknown in silence: another kind tells of it.
    pub told_elsewhere: bool,
    /// The name of the field of this block that it stands for; empty where it is `FIELD.NAME`.
    pub stands_for: &'static str,
    pub purpose: Option<Purpose>,
}

/// The same with the type of its values.
pub(crate) struct Taken<T> {
    pub row: TakenRow,
    kind: PhantomData<fn() -> T>,
}

/// A row with what a block puts into its words in capitals.
pub(crate) struct Filled<R: 'static> {
    pub row: &'static R,
    pub case: Option<Case>,
    pub each: Vec<(&'static str, String)>,
}

impl<T: Measure> Row<T> {
    /// A result worked in Rust and again by its formula. `unit` is what it is shown in.
    pub(crate) const fn formula(
        name: &'static str,
        label: &'static str,
        unit: &'static str,
        formula: &'static str,
    ) -> Row<T> {
        Row::new(name, label, (Some(T::SORT), unit), Way::Formula(formula))
    }

    /// A result worked in Rust by a method that no one-line formula states.
    pub(crate) const fn procedure(
        name: &'static str,
        label: &'static str,
        unit: &'static str,
        method: &'static str,
    ) -> Row<T> {
        Row::new(name, label, (Some(T::SORT), unit), Way::Procedure(method))
    }

    /// The same result by another formula: a variant, which is listed as a row of its own.
    pub(crate) const fn by(&self, formula: &'static str) -> Row<T> {
        let row = &self.row;
        Row {
            row: ResultRow {
                name: row.name,
                label: row.label,
                about: row.about,
                sort: row.sort,
                unit: row.unit,
                way: Way::Formula(formula),
                when: row.when,
                principal: row.principal,
                count: row.count,
                normalised: row.normalised,
                family: row.family,
                looks_up: row.looks_up,
                told_with: row.told_with,
                purpose: row.purpose,
                each: row.each,
            },
            kind: PhantomData,
        }
    }
}

impl Row<String> {
    /// Words that `present` finds.
    pub(crate) const fn words(name: &'static str, label: &'static str) -> Row<String> {
        Row::new(name, label, (None, "1"), Way::Words)
    }
}

impl<T> Row<T> {
    const fn new(
        name: &'static str,
        label: &'static str,
        (sort, unit): (Option<&'static Sort>, &'static str),
        way: Way,
    ) -> Row<T> {
        let row = ResultRow {
            name,
            label,
            about: "",
            sort,
            unit,
            way,
            when: "",
            principal: false,
            count: false,
            normalised: false,
            family: None,
            looks_up: &[],
            told_with: "",
            purpose: None,
            each: &[],
        };
        Row { row, kind: PhantomData }
    }

    /// A result of a study, whose dimension is that of what it asks for.
    pub(crate) const fn found(name: &'static str, label: &'static str, method: &'static str) -> Row<T> {
        Row::new(name, label, (None, "1"), Way::Procedure(method))
    }

    pub(crate) const fn about(mut self, about: &'static str) -> Row<T> {
        self.row.about = about;
        self
    }

    pub(crate) const fn when(mut self, when: &'static str) -> Row<T> {
        self.row.when = when;
        self
    }

    pub(crate) const fn principal(mut self) -> Row<T> {
        self.row.principal = true;
        self
    }

    pub(crate) const fn count(mut self) -> Row<T> {
        self.row.count = true;
        self
    }

    /// Of a procedure: the difference that it needs, over its expanded uncertainty.
    pub(crate) const fn normalised(mut self) -> Row<T> {
        self.row.normalised = true;
        self
    }

    pub(crate) const fn family(mut self, family: &'static Family) -> Row<T> {
        self.row.family = Some(family);
        self
    }

    /// Of a procedure: limits, tables and cycles of the rules that it looks up; `CASE` stands for the case's own name.
    pub(crate) const fn looks_up(mut self, names: &'static [&'static str]) -> Row<T> {
        self.row.looks_up = names;
        self
    }

    /// The words of the block that say in which of several cases it holds, by name.
    pub(crate) const fn told_with(mut self, words: &'static str) -> Row<T> {
        self.row.told_with = words;
        self
    }

    pub(crate) const fn purpose(mut self, purpose: Purpose) -> Row<T> {
        self.row.purpose = Some(purpose);
        self
    }

    /// For tests: a name, or several, that may stand for a word in capitals of the formula.
    pub(crate) const fn each(mut self, each: &'static [(&'static str, &'static str)]) -> Row<T> {
        self.row.each = each;
        self
    }

    /// This row for one case of its family.
    pub(crate) fn of(&'static self, case: &Case) -> Filled<Row<T>> {
        Filled::from(self).of(case)
    }

    /// This row with something in the place of a word in capitals.
    pub(crate) fn with(&'static self, hole: &'static str, what: impl Into<String>) -> Filled<Row<T>> {
        Filled::from(self).with(hole, what)
    }
}

impl<R> Filled<R> {
    pub(crate) fn of(mut self, case: &Case) -> Filled<R> {
        self.case = Some(case.clone());
        self
    }

    pub(crate) fn with(mut self, hole: &'static str, what: impl Into<String>) -> Filled<R> {
        self.each.push((hole, what.into()));
        self
    }
}

impl<R> From<&'static R> for Filled<R> {
    fn from(row: &'static R) -> Filled<R> {
        Filled { row, case: None, each: Vec::new() }
    }
}

impl<T: Measure> Taken<T> {
    /// `name` of the block that `field` names; in formulas it is `field.name`.
    pub(crate) const fn new(field: &'static str, name: &'static str) -> Taken<T> {
        Taken { row: TakenRow::of(field, name, Some(T::SORT), None), kind: PhantomData }
    }
}

impl Taken<Curve> {
    pub(crate) const fn curve(
        field: &'static str,
        name: &'static str,
        axes: (&'static Sort, &'static Sort),
    ) -> Taken<Curve> {
        Taken { row: TakenRow::of(field, name, None, Some(axes)), kind: PhantomData }
    }
}

impl<T> Taken<T> {
    pub(crate) const fn about(mut self, about: &'static str) -> Taken<T> {
        self.row.about = about;
        self
    }

    /// Where its dimensions don't fit, another kind tells of it.
    pub(crate) const fn told_elsewhere(mut self) -> Taken<T> {
        self.row.told_elsewhere = true;
        self
    }

    /// It stands for a field of this block, under whose name formulas know it.
    pub(crate) const fn stands_for(mut self, field: &'static str) -> Taken<T> {
        self.row.stands_for = field;
        self
    }

    pub(crate) const fn purpose(mut self, purpose: Purpose) -> Taken<T> {
        self.row.purpose = Some(purpose);
        self
    }

    /// This value with something in the place of a word in capitals of its name.
    pub(crate) fn with(&'static self, hole: &'static str, what: impl Into<String>) -> Filled<Taken<T>> {
        Filled::from(self).with(hole, what)
    }
}

impl TakenRow {
    const fn of(
        field: &'static str,
        name: &'static str,
        sort: Option<&'static Sort>,
        axes: Option<(&'static Sort, &'static Sort)>,
    ) -> TakenRow {
        TakenRow { field, name, sort, axes, about: "", told_elsewhere: false, stands_for: "", purpose: None }
    }
}

/// A text of a row with its words in capitals replaced: whole words only.
pub(crate) fn fill(template: &str, each: &[(&str, &str)]) -> String {
    let word = |c: char| c.is_ascii_uppercase();
    let mut text = String::with_capacity(template.len() + 16);
    let mut rest = template;
    while let Some(start) = rest.find(word) {
        text.push_str(&rest[..start]);
        let end = rest[start..].find(|c| !word(c)).map_or(rest.len(), |at| start + at);
        let hole = &rest[start..end];
        match each.iter().find(|(name, _)| *name == hole) {
            Some((_, what)) => text.push_str(what),
            None => text.push_str(hole),
        }
        rest = &rest[end..];
    }
    text.push_str(rest);
    text
}

#[cfg(test)]
mod tests {
    use super::fill;

    #[test]
    fn words_in_capitals_are_replaced_whole() {
        assert_eq!(
            fill("speed_into_STAGE * stages.STAGE.ratio", &[("STAGE", "box")]),
            "speed_into_box * stages.box.ratio"
        );
        assert_eq!(fill("max(EACH)", &[("EACH", "a, b")]), "max(a, b)");
        assert_eq!(fill("STAGES", &[("STAGE", "x")]), "STAGES");
    }
}
