//! Holds results against limits.

use std::collections::HashMap;

use super::student::share_below;
use super::{Results, State};
use crate::findings::Finding;
use crate::graph::Plan;
use crate::model::{
    BlockEntry, Computed, Notebook, Origin, Requirement, RequirementKind, Role, Status, percent,
};
use crate::quantities::{Fault, Quantity};
use crate::words::{Words, words};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Verdict {
    Meets,
    Close,
    Fails,
    /// It can't be judged.
    Open,
}

/// One requirement with its verdict.
#[derive(Clone, Debug)]
pub(crate) struct Judged {
    pub block: usize,
    /// Its number in the block.
    pub number: usize,
    pub kind: RequirementKind,
    /// Indices into the table of values.
    pub actual: usize,
    pub low: Option<usize>,
    pub high: Option<usize>,
    /// (limit − actual)/limit for an upper limit, (actual − limit)/limit for a lower one, the smaller of both;
    /// positive when met. `None` where the limit is 0 or not known.
    pub margin: Option<f64>,
    pub verdict: Verdict,
    /// The probability that the requirement is met; `None` where all is exact.
    pub conformity: Option<f64>,
    pub reason: Words,
}

/// Limits are held within this share of themselves.
const WITHIN: f64 = 1e-9;

/// Under this probability of conformity a met requirement is only `close`.
const ENOUGH: f64 = 0.95;

impl Verdict {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Verdict::Meets => "meets",
            Verdict::Close => "close",
            Verdict::Fails => "fails",
            Verdict::Open => "open",
        }
    }
}

pub(super) fn judge(
    notebook: &Notebook,
    plan: &Plan,
    results: &Results,
    findings: &mut Vec<Finding>,
) -> Vec<Judged> {
    let mut judged = Vec::new();
    let unfit = unfit(plan, results);
    // What is replaced is no longer required.
    let current = |(_, block): &(usize, &BlockEntry)| block.replaced_by.is_none();
    for (number, block) in notebook.blocks.iter().enumerate().filter(current) {
        for (at, requirement) in block.requirements.iter().enumerate() {
            let start = plan.first[number];
            let global = |index: u32| start + index as usize;
            let mut one = Judged {
                block: number,
                number: at,
                kind: requirement.kind,
                actual: global(requirement.actual),
                low: requirement.low.map(global),
                high: requirement.high.map(global),
                margin: None,
                verdict: Verdict::Open,
                conformity: None,
                reason: Words::default(),
            };
            let parts: Vec<usize> = [Some(one.actual), one.low, one.high].into_iter().flatten().collect();
            // A limit that nobody had to state, and did not.
            let mut stated = requirement.optional.iter().map(|index| global(*index));
            if stated.any(|optional| results.states[optional] == State::Absent) {
                continue;
            }
            let missing =
                parts.iter().find(|part| matches!(results.states[**part], State::Absent | State::NotThere));
            let absent = missing.is_some_and(|part| results.states[*part] == State::Absent);
            if absent && requirement.row.is_none() {
                continue;
            }
            if parts.iter().all(|part| results.is_known(*part)) {
                let held =
                    results.said[number].held.iter().filter(|held| held.requirement == requirement.name);
                let open = held.clone().find(|held| held.due.is_some()).map(|held| &held.reason);
                let open = open.or_else(|| parts.iter().find_map(|part| unfit.get(part).copied()));
                let close = held.clone().find(|held| held.due.is_none());
                match comparable(block, start, results, &one) {
                    _ if open.is_some() => one.reason = open.cloned().unwrap_or_default(),
                    Ok(()) => {
                        one.decide(&Case { notebook, plan, results, requirement });
                        if let (Verdict::Meets, Some(close)) = (one.verdict, close) {
                            (one.verdict, one.reason) = (Verdict::Close, close.reason.clone());
                        }
                    }
                    Err(fault) => {
                        let message = words!("`{}` compares {}", requirement.name, fault.message);
                        let finding = Finding::new(fault.code, requirement.span, message, fault.help);
                        findings.push(finding.in_block(number));
                        one.reason = "its value and its limit are not of one kind".into();
                    }
                }
            } else if let Some(missing) = missing {
                one.reason = results.why_not(notebook, plan, *missing);
            } else {
                one.reason = "it could not be worked: see the findings".into();
            }
            judged.push(one);
        }
    }
    judged
}

/// What no verdict may rest on, by the table of values: what a block said so of, and all that follows from it.
fn unfit<'r>(plan: &Plan, results: &'r Results) -> HashMap<usize, &'r Words> {
    let said = results.said.iter().enumerate();
    let mut unfit: HashMap<usize, &Words> = said
        .flat_map(|(number, said)| said.unfit.iter().map(move |(slot, why)| (plan.first[number] + slot, why)))
        .collect();
    if unfit.is_empty() {
        return unfit;
    }
    for global in &plan.order {
        let of = plan.needs(*global).find_map(|need| unfit.get(&need).copied());
        if let Some(why) = of {
            unfit.entry(*global).or_insert(why);
        }
    }
    unfit
}

/// Whether value and limits can be held against each other.
fn comparable(block: &BlockEntry, start: usize, results: &Results, one: &Judged) -> Result<(), Fault> {
    let quantity = |global: usize| Quantity {
        si: results.values[global],
        dimension: results.dimensions[global],
        point: results.points[global],
    };
    let actual = quantity(one.actual);
    for limit in [one.low, one.high].into_iter().flatten() {
        let node = &block.nodes[limit - start];
        let literal = match &node.role {
            Role::Step(Computed::Engine { expression, .. }) if expression.names().is_empty() => {
                Some(&node.unit)
            }
            _ => None,
        };
        actual.against(&quantity(limit), literal)?;
    }
    Ok(())
}

/// What a requirement is decided from.
struct Case<'a> {
    notebook: &'a Notebook,
    plan: &'a Plan,
    results: &'a Results,
    requirement: &'a Requirement,
}

impl Judged {
    /// JCGM 106:2012: met nominally is not enough where the value may as well miss its limit.
    fn decide(&mut self, case: &Case<'_>) {
        let results = case.results;
        let actual = results.values[self.actual];
        let low = self.low.map(|limit| results.values[limit]);
        let high = self.high.map(|limit| results.values[limit]);
        let slack = |limit: f64| WITHIN * limit.abs().max(actual.abs());
        let strict = case.requirement.strict;
        let within = |room: f64, limit: f64| if strict { room > slack(limit) } else { room >= -slack(limit) };
        let above = low.is_none_or(|limit| within(actual - limit, limit));
        let below = high.is_none_or(|limit| within(limit - actual, limit));
        let share = |room: f64, limit: f64| (limit != 0.0).then(|| room / limit.abs());
        let margins = [
            low.and_then(|limit| share(actual - limit, limit)),
            high.and_then(|limit| share(limit - actual, limit)),
        ];
        self.margin = margins.into_iter().flatten().reduce(f64::min);
        self.conformity = self.probability(results);
        if case.requirement.status == Status::Memory {
            (self.verdict, self.reason) = (Verdict::Open, "its limit is from memory, unverified".into());
            return;
        }
        if !(above && below) {
            let missed = if above { self.high } else { self.low };
            let side = if above { "above" } else { "below" };
            (self.verdict, self.reason) = match missed.filter(|limit| case.assumed(*limit)) {
                Some(_) => (Verdict::Close, words!("{} a limit that the program assumed", side)),
                None => (Verdict::Fails, words!("{} the limit", side)),
            };
            return;
        }
        (self.verdict, self.reason) = match self.doubt(case) {
            Some(reason) => (Verdict::Close, reason),
            None => (Verdict::Meets, self.certainty()),
        };
    }

    /// Why a value that meets its limit nominally is only `close` to it.
    fn doubt(&self, case: &Case<'_>) -> Option<Words> {
        if let Some(probability) = self.conformity.filter(|probability| *probability < ENOUGH) {
            return Some(words!("probability of conformity {}", conformity_text(probability)));
        }
        if case.requirement.status == Status::SecondHand {
            return Some("its limit is second-hand".into());
        }
        None
    }

    fn certainty(&self) -> Words {
        match self.conformity {
            Some(probability) => words!("probability of conformity {}", conformity_text(probability)),
            None => "within the limit".into(),
        }
    }

    /// The probability that the true value is within its limits, with limit − actual as one normal result; `None`
    /// where all is exact.
    fn probability(&self, results: &Results) -> Option<f64> {
        let actual = results.values[self.actual];
        let side = |limit: Option<usize>, sign: f64| {
            let limit = limit?;
            let (spread, freedom) = results.budget.for_verdict((limit, self.actual), self.kind);
            let room = sign * (results.values[limit] - actual);
            (spread > 0.0).then(|| share_below(room / spread, freedom))
        };
        match (side(self.low, -1.0), side(self.high, 1.0)) {
            (None, None) => None,
            (Some(one), None) | (None, Some(one)) => Some(one),
            // P(low ≤ y ≤ high) = P(y ≤ high) − P(y < low).
            (Some(low), Some(high)) => Some((low + high - 1.0).max(0.0)),
        }
    }
}

impl Case<'_> {
    /// Whether a limit is a default of the kind: the limit itself, the value that it takes over, or part of its formula.
    fn assumed(&self, limit: usize) -> bool {
        let mut open = vec![limit];
        let mut seen = std::collections::HashSet::new();
        while let Some(at) = open.pop() {
            let (block, index) = self.plan.local(at);
            let node = &self.notebook.blocks[block].nodes[index];
            if node.leaf().is_some_and(|leaf| leaf.default) {
                return true;
            }
            let passes_on = match &node.role {
                Role::Field(Origin::Reference(_)) => true,
                Role::Step(_) => node.hidden,
                Role::Field(_) => false,
            };
            if passes_on && seen.insert(at) {
                open.extend(self.plan.needs(at));
            }
        }
        false
    }
}

fn conformity_text(probability: f64) -> String {
    if probability > 0.999 { "over 99.9\u{a0}%".to_owned() } else { percent(probability) }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::{Judged, Verdict};
    use crate::graph::plan;
    use crate::journal::{Position, scan};
    use crate::model::{
        Bench, Block, Evidence, EvidenceFault, Example, FieldDoc, Form, Kind, Page, RequirementRow, Takes,
        read,
    };
    use crate::quantities::sort;
    use crate::source::{FileId, Source, Sources};

    #[test]
    fn a_verdict_is_no_better_than_the_standing_of_its_limit() {
        check("value: 90.0 (measured)", ["meets", "meets", "close", "open", "meets"]);
    }

    #[test]
    fn a_miss_is_told_but_not_by_a_limit_from_memory_nor_one_that_was_assumed() {
        check("value: 110 (measured)", ["fails", "fails", "fails", "open", "close"]);
        // Stated by the journal, the same limit can fail.
        check("value: 110 (measured)\nallowed: 100 (measured)", ["fails", "fails", "fails", "open", "fails"]);
    }

    static STATED: RequirementRow = RequirementRow::safety("stated", "value").at_most("100").source("a test");
    static READ: RequirementRow =
        RequirementRow::safety("read", "value").at_most("isolation_test_voltage * 100");
    static SECOND_HAND: RequirementRow =
        RequirementRow::safety("second_hand", "value").at_most("fuse_profile_share * 200");
    static MEMORY: RequirementRow =
        RequirementRow::safety("memory", "value").at_most("isolation_difference * 50");
    static ASSUMED: RequirementRow =
        RequirementRow::safety("assumed", "value").at_most("allowed").source("a test");

    /// A kind that holds one number against the same limit from sources of every standing.
    static PROBE: Kind = Kind {
        name: "probe",
        summary: "a number against limits",
        subsystem: "tests",
        fields: &[
            FieldDoc::new("value", Takes::Quantity(&sort::RATIO), "of it"),
            FieldDoc::new("allowed", Takes::Quantity(&sort::RATIO), "at most").assumed("100"),
        ],
        rows: &[],
        takes: &[],
        requires: &[&STATED, &READ, &SECOND_HAND, &MEMORY, &ASSUMED],
        results: &[],
        example: Example { journal: "", expected: &[] },
        sources: &[],
        inspector: &[],
        limits: &[],
        codes: &[],
        read: read_probe,
    };

    static KINDS: &[&Kind] = &[&PROBE];

    struct Probe;

    fn read_probe(form: &mut Form<'_, '_>) -> Box<dyn Block> {
        form.required::<f64>("value");
        form.assumed::<f64>("allowed");
        for rule in ["isolation_test_voltage", "fuse_profile_share", "isolation_difference"] {
            form.limit::<f64>(rule, rule);
        }
        let mut out = form.outcomes();
        PROBE.requires.iter().for_each(|row| out.require(*row));
        Box::new(Probe)
    }

    impl Block for Probe {
        fn evaluate(&self, _bench: &mut Bench<'_>) {}

        fn present(&self, _page: &mut Page<'_>) {}
    }

    struct NoFiles;

    impl Evidence for NoFiles {
        fn read(&self, _path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
            Err(EvidenceFault::Missing)
        }
    }

    #[track_caller]
    fn check(body: &str, expected: [&str; 5]) {
        let source = Source::new("journal.md", format!("```yaml probe it\n{body}\n```\n"));
        let sources = Sources(vec![source]);
        let (journal, _) = scan(FileId(0), Position::First, sources.get(FileId(0)));
        let (notebook, found) = read((&[journal], &sources), KINDS, &NoFiles);
        assert_eq!(found.len(), 0, "{found:?}");
        let (plan, _) = plan(&notebook);
        let (results, _) = crate::evaluate::run(&notebook, &plan, None);
        let word = |judged: &Judged| judged.verdict.word();
        assert_eq!(results.judged.iter().map(word).collect::<Vec<_>>(), expected, "{:?}", results.judged);
        assert!(results.judged.iter().all(|judged| !judged.reason.is_empty()));
        assert!(
            results.judged.iter().all(|judged| judged.verdict != Verdict::Open || judged.margin.is_some())
        );
    }
}
