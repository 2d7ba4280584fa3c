//! What is known of a requirement before any journal is read: what it judges, by which limit, and what happens without it.

use super::row::{Case, Family, Filled};

/// When in the life of a journal an input is due.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Stage {
    /// Design inputs.
    #[default]
    Plan,
    /// Weighings, positions, settings.
    Build,
    /// Records of tests, trips.
    Test,
    /// Evidence and signatures.
    Show,
}

impl Stage {
    pub(crate) const ALL: [Stage; 4] = [Stage::Plan, Stage::Build, Stage::Test, Stage::Show];

    /// As it is typed.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Stage::Plan => "plan",
            Stage::Build => "build",
            Stage::Test => "test",
            Stage::Show => "show",
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum RequirementKind {
    Safety,
    Legal,
    Wish,
}

impl RequirementKind {
    pub(crate) fn word(self) -> &'static str {
        match self {
            RequirementKind::Safety => "safety",
            RequirementKind::Legal => "legal",
            RequirementKind::Wish => "wish",
        }
    }
}

/// A requirement of a kind. Where something that it names is not there it is `open`, and says so; only without one of
/// the names in `optional` there is no requirement.
pub(crate) struct RequirementRow {
    /// Capitals stand for a case, as with results.
    pub name: &'static str,
    /// Without capital; empty for the label of what it judges.
    pub label: &'static str,
    pub kind: RequirementKind,
    /// A name of this block.
    pub actual: &'static str,
    /// Formulas of this block's names.
    pub low: Option<&'static str>,
    pub high: Option<&'static str>,
    /// Equality misses the limit: `under 0.1 Ω`.
    pub strict: bool,
    /// Where the limit comes from, in words; empty where it is a rule's.
    pub source: &'static str,
    /// Names of values of the rules that the limit stands by, where they are not in its formula.
    pub grounds: &'static [&'static str],
    /// Names that an author need not give; without them nothing is required.
    pub optional: &'static [&'static str],
    /// When its inputs are due.
    pub stage: Stage,
    pub family: Option<&'static Family>,
    pub each: &'static [(&'static str, &'static str)],
}

impl RequirementRow {
    /// A limit that guards life and limb.
    pub(crate) const fn safety(name: &'static str, actual: &'static str) -> RequirementRow {
        RequirementRow::new(RequirementKind::Safety, name, actual)
    }

    /// A limit of the law or of the vehicle's papers.
    pub(crate) const fn legal(name: &'static str, actual: &'static str) -> RequirementRow {
        RequirementRow::new(RequirementKind::Legal, name, actual)
    }

    pub(crate) const fn wish(name: &'static str, actual: &'static str) -> RequirementRow {
        RequirementRow::new(RequirementKind::Wish, name, actual)
    }

    const fn new(kind: RequirementKind, name: &'static str, actual: &'static str) -> RequirementRow {
        RequirementRow {
            name,
            label: "",
            kind,
            actual,
            low: None,
            high: None,
            strict: false,
            source: "",
            grounds: &[],
            optional: &[],
            stage: Stage::Plan,
            family: None,
            each: &[],
        }
    }

    pub(crate) const fn at_least(mut self, low: &'static str) -> RequirementRow {
        self.low = Some(low);
        self
    }

    pub(crate) const fn at_most(mut self, high: &'static str) -> RequirementRow {
        self.high = Some(high);
        self
    }

    /// Equality misses it.
    pub(crate) const fn strictly(mut self) -> RequirementRow {
        self.strict = true;
        self
    }

    /// Where the limit comes from, in words: `the pack's full voltage`.
    pub(crate) const fn source(mut self, source: &'static str) -> RequirementRow {
        self.source = source;
        self
    }

    /// Names of values of the rules that the limit stands by, where they are not in its formula: a proof stress behind
    /// `at most 1`.
    pub(crate) const fn by_rule(mut self, grounds: &'static [&'static str]) -> RequirementRow {
        self.grounds = grounds;
        self
    }

    pub(crate) const fn label(mut self, label: &'static str) -> RequirementRow {
        self.label = label;
        self
    }

    /// Without one of these nothing is required; without anything else that it names it is `open`.
    pub(crate) const fn only_with(mut self, optional: &'static [&'static str]) -> RequirementRow {
        self.optional = optional;
        self
    }

    pub(crate) const fn due(mut self, stage: Stage) -> RequirementRow {
        self.stage = stage;
        self
    }

    pub(crate) const fn family(mut self, family: &'static Family) -> RequirementRow {
        self.family = Some(family);
        self
    }

    pub(crate) const fn each(mut self, each: &'static [(&'static str, &'static str)]) -> RequirementRow {
        self.each = each;
        self
    }

    pub(crate) fn of(&'static self, case: &Case) -> Filled<RequirementRow> {
        Filled::from(self).of(case)
    }

    pub(crate) fn with(&'static self, hole: &'static str, what: impl Into<String>) -> Filled<RequirementRow> {
        Filled::from(self).with(hole, what)
    }
}
