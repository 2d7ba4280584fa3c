//! A requirement in words: value, limit and margin in one unit, and why the verdict is what it is.

use super::Told;
use crate::evaluate::{Doubt, Judged, Results, Verdict};
use crate::model::{RequirementKind, fill, percent};
use crate::quantities::{Unit, show_number};
use crate::words::Words;

pub(crate) struct RequirementRow {
    pub block: String,
    pub name: String,
    pub label: String,
    /// The name of what it judges, where that is the block's own.
    pub judges: Option<String>,
    /// `block.name` of what it judges, where that is no work of the requirement's own.
    pub of: String,
    pub kind: RequirementKind,
    pub actual: String,
    /// In which of several cases it is judged, where the label does not say it: `(rural)`, `in third`.
    pub case: Option<String>,
    /// `at most 12 000 rpm`.
    pub limit: String,
    pub margin: Option<f64>,
    /// The margin as it is printed; empty where there is none.
    pub margin_shown: String,
    pub verdict: Verdict,
    /// Met, and nothing is uncertain about it that a reader must be told.
    pub sure: bool,
    /// Of what is `close`.
    pub doubt: Option<Doubt>,
    /// It is `open`, and what is missing is not due yet.
    pub not_yet: bool,
    /// The conditions that it is judged at: `surrounding temperature 40 °C`.
    pub conditions: Vec<String>,
    /// Those of them that stand in another block.
    pub from_elsewhere: Vec<String>,
    pub reason: Words,
    pub source: String,
    pub status: &'static str,
}

/// A requirement that is met with a higher probability is told without it.
const SURE: f64 = 0.999;

impl RequirementRow {
    /// The label with the case that it holds in: `motor speed in third`.
    pub(crate) fn label_in_its_case(&self) -> String {
        match &self.case {
            Some(case) => format!("{} {case}", self.label),
            None => self.label.clone(),
        }
    }

    /// The verdict in words: what is not due yet is told from what is missing.
    pub(crate) fn verdict_words(&self) -> &'static str {
        if self.not_yet { "open, not yet" } else { self.verdict.word() }
    }
}

/// How many requirements came out each way.
#[derive(Default)]
pub(crate) struct Counts {
    pub meets: usize,
    pub narrow: usize,
    pub unread: usize,
    /// `close` for a reason that the kind knows.
    pub method: usize,
    pub fails: usize,
    /// Open, and due.
    pub missing: usize,
    /// Open, and not due yet.
    pub not_yet: usize,
}

impl Counts {
    pub(crate) fn of(rows: impl IntoIterator<Item = (Verdict, Option<Doubt>, bool)>) -> Counts {
        let mut counts = Counts::default();
        for (verdict, doubt, not_yet) in rows {
            *match (verdict, doubt) {
                (Verdict::Meets, _) => &mut counts.meets,
                (Verdict::Close, Some(Doubt::Unread)) => &mut counts.unread,
                (Verdict::Close, Some(Doubt::Method)) => &mut counts.method,
                (Verdict::Close, _) => &mut counts.narrow,
                (Verdict::Fails, _) => &mut counts.fails,
                (Verdict::Open, _) if not_yet => &mut counts.not_yet,
                (Verdict::Open, _) => &mut counts.missing,
            } += 1;
        }
        counts
    }

    pub(crate) fn close(&self) -> usize {
        self.narrow + self.unread + self.method
    }

    /// `1 narrow, 8 limit unread`: the doubts that there are.
    pub(crate) fn doubts(&self) -> String {
        listed([(self.narrow, "narrow"), (self.unread, "limit unread"), (self.method, "by the method")])
    }

    /// `1 missing, 3 not yet`.
    pub(crate) fn open(&self) -> String {
        listed([(self.missing, "missing"), (self.not_yet, "not yet")])
    }
}

fn listed<const N: usize>(counts: [(usize, &str); N]) -> String {
    let some = counts.into_iter().filter(|(count, _)| *count > 0);
    some.map(|(count, word)| format!("{count} {word}")).collect::<Vec<_>>().join(", ")
}

impl Told<'_> {
    pub(super) fn requirement(&self, judged: &Judged) -> RequirementRow {
        let block = &self.notebook.blocks[judged.block];
        let requirement = &block.requirements[judged.number];
        // Actual and limit are shown in one unit, the actual's; where that is hidden work, the limit's own.
        let unit = [Some(judged.actual), judged.high, judged.low]
            .into_iter()
            .flatten()
            .map(|global| &self.results.units[global])
            .find(|unit| !unit.is_one())
            .unwrap_or(&self.results.units[judged.actual]);
        // What was typed in that unit stands as it was typed; a limit that is worked is rounded to the safe side.
        let show_by = |global: usize, show: fn(&Results, usize, &Unit) -> String| {
            let typed = self.results.typed(self.notebook, self.plan, global);
            match typed.filter(|literal| literal.unit.symbol == unit.symbol) {
                Some(literal) => literal.written(),
                None if self.results.is_known(global) => show(self.results, global, unit),
                None => "not known".to_owned(),
            }
        };
        let show = |global: usize| show_by(global, Results::shown_in);
        let at_least = |global: usize| show_by(global, Results::least_in);
        let at_most = |global: usize| show_by(global, Results::most_in);
        let (least, most) =
            if requirement.strict { ("more than", "less than") } else { ("at least", "at most") };
        let known = [judged.low, judged.high].into_iter().flatten().all(|limit| self.results.is_known(limit));
        let limit = match (judged.low, judged.high) {
            _ if !known => "not known".to_owned(),
            (Some(low), Some(high))
                if low == high || self.results.values[low] == self.results.values[high] =>
            {
                format!("exactly {}", show(low))
            }
            (Some(low), Some(high)) => format!("{} to {}", at_least(low), at_most(high)),
            (Some(low), None) => format!("{least} {}", at_least(low)),
            (None, Some(high)) => format!("{most} {}", at_most(high)),
            (None, None) => String::new(),
        };
        RequirementRow {
            block: block.name.clone(),
            name: requirement.name.clone(),
            label: requirement.label(&block.nodes),
            judges: self.own(judged),
            of: self.full_name(self.open_value(judged.actual)),
            kind: judged.kind,
            actual: show(judged.actual),
            case: self.case_of(judged),
            limit,
            margin: judged.margin.filter(|_| !self.is_point(judged.actual)),
            margin_shown: self.margin_shown(judged),
            verdict: judged.verdict,
            sure: judged.verdict == Verdict::Meets && judged.conformity.is_none_or(|likely| likely > SURE),
            doubt: judged.doubt,
            not_yet: judged.not_yet,
            conditions: self.conditions(judged, |_| true),
            from_elsewhere: self.conditions(judged, |at| self.plan.local(at).0 != judged.block),
            reason: judged.reason.clone(),
            source: requirement.source.clone(),
            status: requirement.status.word(),
        }
    }

    /// By the family of what is judged, where another block judges it and so has not named the case; and by the words of
    /// its own block that say in which gear it holds.
    fn case_of(&self, judged: &Judged) -> Option<String> {
        let actual = self.open_value(judged.actual);
        let (block, node) = self.node(actual);
        let row = node.row?;
        let elsewhere = self.plan.block_of(actual) != judged.block;
        let mut parts = Vec::new();
        if let (true, Some(case)) = (elsewhere, &node.case) {
            parts.push(format!("({})", case.title));
        }
        let slug = node.case.as_ref().map_or("", |case| case.slug.as_str());
        let told_with = fill(row.told_with, &[(row.family.map_or("", |family| family.case), slug)]);
        if let Some(at) = block.nodes.iter().position(|node| node.name == told_with) {
            let words = &self.results.texts[self.plan.first[self.plan.block_of(actual)] + at];
            parts.extend(words.as_ref().map(|words| format!("in {words}")));
        }
        (!parts.is_empty()).then(|| parts.join(" "))
    }

    /// A value, or the one value that hidden work passes on.
    fn open_value(&self, global: usize) -> usize {
        let mut at = global;
        loop {
            let (block, index) = self.plan.local(at);
            let mut needs = self.plan.needs(at);
            match (self.notebook.blocks[block].nodes[index].hidden, needs.next(), needs.next()) {
                (true, Some(only), None) => at = only,
                _ => return at,
            }
        }
    }

    fn conditions(&self, judged: &Judged, told: impl Fn(usize) -> bool) -> Vec<String> {
        let ends = [Some(judged.actual), judged.low, judged.high].into_iter().flatten();
        let mut places: Vec<usize> = Vec::new();
        for at in ends.flat_map(|end| &self.results.conditions[end]) {
            // What it judges, and its limit, stand beside it.
            let itself = [Some(judged.actual), judged.low, judged.high].contains(&Some(*at));
            if !itself && !places.contains(at) {
                places.push(*at);
            }
        }
        places
            .into_iter()
            .filter(|at| self.results.is_known(*at) && told(*at))
            .map(|at| {
                let unit = &self.results.units[at];
                let shown = match self.results.typed(self.notebook, self.plan, at) {
                    Some(literal) => literal.written(),
                    None => self.results.shown_in(at, unit),
                };
                format!("{} {shown}", self.node(at).1.label())
            })
            .collect()
    }

    fn own(&self, judged: &Judged) -> Option<String> {
        let (block, index) = self.plan.local(judged.actual);
        (block == judged.block).then(|| self.notebook.blocks[block].nodes[index].name.clone())
    }

    /// Whether a value is a point on the temperature scale.
    fn is_point(&self, global: usize) -> bool {
        self.results.points[global]
    }

    /// A share of the limit; of a temperature, whose share says nothing, the distance from it.
    fn margin_shown(&self, judged: &Judged) -> String {
        if !self.is_point(judged.actual) {
            return judged.margin.map(percent).unwrap_or_default();
        }
        let known = |global: usize| Some(self.results.values[global]).filter(|value| value.is_finite());
        let rooms = [
            judged.low.and_then(|limit| Some(known(judged.actual)? - known(limit)?)),
            judged.high.and_then(|limit| Some(known(limit)? - known(judged.actual)?)),
        ];
        match rooms.into_iter().flatten().reduce(f64::min) {
            Some(room) => format!("{}\u{a0}K", show_number(room, 2)),
            None => String::new(),
        }
    }
}
