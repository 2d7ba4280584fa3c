//! Which requirements there are, and whether each can be judged at all.

use std::collections::HashMap;

use super::decide::{CERTAIN, Case, enough};
use super::draws::{Asked, drawn, put_off};
use super::monte_carlo::Draws;
use super::probe;
use super::verdict::{Doubt, Judged, Verdict};
use super::{Results, State};
use crate::findings::Finding;
use crate::graph::Plan;
use crate::model::{BlockEntry, Computed, Notebook, Requirement, Role, Stage, unusual};
use crate::quantities::{Dimension, Fault, Quantity};
use crate::words::{Words, words};

/// All requirements, judged; with [`Draws::Later`] without the draws that some of them need.
pub(super) fn judge(
    (notebook, plan): (&Notebook, &Plan),
    results: &Results,
    draws: Option<Draws>,
) -> Vec<Judged> {
    let mut judged: Vec<Judged> = Vec::new();
    let mut decided: Vec<(usize, Case<'_>)> = Vec::new();
    let unfit = unfit(plan, results);
    let questioned = questioned((notebook, plan), results);
    // What is replaced is no longer required.
    let current = |(_, block): &(usize, &BlockEntry)| block.replaced_by.is_none();
    for (number, block) in notebook.blocks.iter().enumerate().filter(current) {
        for (at, requirement) in block.requirements.iter().enumerate() {
            // A limit that nobody had to state, and did not.
            let mut stated = requirement.optional.iter().map(|index| plan.first[number] + *index as usize);
            if stated.any(|optional| results.states[optional] == State::Absent) {
                continue;
            }
            let mut one = Judged::undecided(plan, number, (at, requirement));
            let case = Case { notebook, plan, results, requirement };
            if one.stands_on_numbers(&case, &unfit) {
                decided.push((judged.len(), case));
            }
            // What was there at the last revision and is gone is missing at any stage.
            let before = || notebook.judged_before.contains(&format!("{}.{}", block.name, requirement.name));
            one.not_yet = one.due.is_some_and(|due| due > notebook.front.stage) && !before();
            judged.push(one);
        }
    }
    let asked: Vec<Asked> = decided.iter().map(|(at, case)| judged[*at].asked(case)).collect();
    let fixed = |runs| results.fixed(notebook, plan, runs);
    let doubtful = probe::doubtful(fixed(&results.runs.probed), &results.budget, &asked);
    let odds = match draws {
        Some(Draws::Later) => put_off(asked.len(), &doubtful),
        _ => drawn(fixed(&results.runs.drawn), &results.budget, &asked, &doubtful),
    };
    for ((at, case), odds) in decided.iter().zip(odds) {
        judged[*at].decide(case, odds);
        judged[*at].mind_the_kind(case);
        judged[*at].mind_what_is_unusual(case, &questioned);
    }
    judged
}

/// Values that nobody believes as they are written, or that their block asks about, and all that follows from them, each
/// with the one that it is.
fn questioned((notebook, plan): (&Notebook, &Plan), results: &Results) -> HashMap<usize, usize> {
    let mut questioned = HashMap::new();
    for ((block, first), said) in notebook.blocks.iter().zip(&plan.first).zip(&results.said) {
        let fields = block.nodes.iter().enumerate().filter(|(_, node)| unusual(block.kind, node).is_some());
        let asked = fields.map(|(index, _)| index).chain(said.questioned.iter().copied());
        questioned.extend(asked.map(|index| (first + index, first + index)));
    }
    if questioned.is_empty() {
        return questioned;
    }
    for global in &plan.order {
        if let Some(of) = plan.needs(*global).find_map(|need| questioned.get(&need).copied()) {
            questioned.entry(*global).or_insert(of);
        }
    }
    questioned
}

/// What no verdict may rest on, by the table of values: what a block said so of, and all that follows from it.
fn unfit<'r>(plan: &Plan, results: &'r Results) -> Unfit<'r> {
    let said = results.said.iter().enumerate();
    let mut unfit: Unfit<'_> = said
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

/// Values that no verdict may rest on, each with the reason.
type Unfit<'r> = HashMap<usize, &'r Words>;

/// Requirements whose value and limit can't be held against each other, each as a finding.
pub(super) fn incomparable(
    notebook: &Notebook,
    plan: &Plan,
    known: &Quantities<'_>,
    findings: &mut Vec<Finding>,
) {
    for (number, block) in notebook.blocks.iter().enumerate() {
        for (at, requirement) in block.requirements.iter().enumerate() {
            let one = Judged::undecided(plan, number, (at, requirement));
            if let Err(fault) = known.comparable(block, plan.first[number], &one) {
                let message = words!("`{}` compares {}", requirement.name, fault.message);
                findings
                    .push(Finding::new(fault.code, requirement.span, message, fault.help).in_block(number));
            }
        }
    }
}

/// Every value as a quantity.
pub(super) struct Quantities<'a> {
    pub(super) values: &'a [f64],
    pub(super) states: &'a [State],
    pub(super) dimensions: &'a [Dimension],
    pub(super) points: &'a [bool],
}

impl Quantities<'_> {
    /// Whether value and limits can be held against each other; what is not known can.
    fn comparable(&self, block: &BlockEntry, start: usize, one: &Judged) -> Result<(), Fault> {
        let quantity = |global: usize| Quantity {
            si: self.values[global],
            dimension: self.dimensions[global],
            point: self.points[global],
        };
        let known = |global: &usize| self.states[*global] == State::Known;
        for limit in one.limits().filter(known).filter(|_| known(&one.actual)) {
            let node = &block.nodes[limit - start];
            let literal = match &node.role {
                Role::Step(Computed::Engine { expression, .. }) if expression.names().is_empty() => {
                    Some(&node.unit)
                }
                _ => None,
            };
            quantity(one.actual).against(&quantity(limit), literal)?;
        }
        Ok(())
    }
}

impl Judged {
    fn undecided(plan: &Plan, block: usize, (number, requirement): (usize, &Requirement)) -> Judged {
        let global = |index: u32| plan.first[block] + index as usize;
        Judged {
            block,
            number,
            kind: requirement.kind,
            actual: global(requirement.actual),
            low: requirement.low.map(global),
            high: requirement.high.map(global),
            margin: None,
            verdict: Verdict::Open,
            doubt: None,
            due: None,
            not_yet: false,
            conformity: None,
            draws: None,
            reason: Words::default(),
        }
    }

    /// Whether there are numbers to decide from; else it stays open, with the reason.
    fn stands_on_numbers(&mut self, case: &Case<'_>, unfit: &Unfit<'_>) -> bool {
        let Case { notebook, plan, results, requirement } = *case;
        let block = &notebook.blocks[self.block];
        if results.broken[self.block] {
            self.reason = "its block has an error: see the findings".into();
            return false;
        }
        let held = results.said[self.block].held.iter();
        let mut held = held.filter(|held| held.requirement == requirement.name);
        let open = held.find(|held| held.due.is_some());
        let missing = |part: &usize| matches!(results.states[*part], State::Absent | State::NotThere);
        let parts = || std::iter::once(self.actual).chain(self.limits());
        if parts().any(|part| results.states[part] == State::Failed) {
            self.reason = "it could not be worked: see the findings".into();
        } else if let Some(missing) = parts().find(missing) {
            let why = results.why_not(notebook, plan, missing);
            let of_row = requirement.row.map_or(Stage::Plan, |row| row.stage);
            let due = why.due.or(open.and_then(|held| held.due)).unwrap_or(of_row);
            (self.due, self.reason) = (Some(due), why.reason);
        } else if let Some(open) = open {
            (self.due, self.reason) = (open.due, open.reason.clone());
        } else if parts().any(|part| !results.is_known(part)) {
            self.reason = "it could not be worked: see the findings".into();
        } else if !results.worked[self.block] {
            self.reason = "its block could not be worked: see the findings".into();
        } else if results.quantities().comparable(block, plan.first[self.block], self).is_err() {
            self.reason = "its value and its limit are not of one kind".into();
        } else if let Some(why) = parts().find_map(|part| unfit.get(&part)) {
            self.reason = (*why).clone();
        }
        self.reason.is_empty()
    }

    fn asked(&self, case: &Case<'_>) -> Asked {
        let sides = self.sides(case.requirement);
        let threshold = match sides.missed(&case.results.values) {
            Some(_) => CERTAIN,
            None => enough(self.kind),
        };
        Asked { sides, kind: self.kind, threshold }
    }

    /// What the kind knows beyond the numbers.
    fn mind_the_kind(&mut self, case: &Case<'_>) {
        let held = case.results.said[self.block].held.iter();
        let mut close = held.filter(|held| held.due.is_none() && held.requirement == case.requirement.name);
        if let (Verdict::Meets, Some(close)) = (self.verdict, close.next()) {
            self.verdict = Verdict::Close;
            (self.doubt, self.reason) = (Some(Doubt::Method), close.reason.clone());
        }
        let besides = case.results.said[self.block].besides.iter();
        for (_, words) in besides.filter(|(name, _)| *name == case.requirement.name) {
            self.reason.append(words!("; {}", words.clone()));
        }
    }

    fn mind_what_is_unusual(&mut self, case: &Case<'_>, questioned: &HashMap<usize, usize>) {
        let of = std::iter::once(self.actual).chain(self.limits()).find_map(|part| questioned.get(&part));
        if let (Verdict::Meets, Some(of)) = (self.verdict, of) {
            let (block, node) = case.node(*of);
            let name = format!("{}.{}", case.notebook.blocks[block].name, node.name);
            self.verdict = Verdict::Close;
            (self.doubt, self.reason) =
                (Some(Doubt::Method), words!("it rests on `{}`, which is questioned", name));
        }
    }
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
        check("value: 90.0 (measured)", ["meets", "meets", "close", "open", "close"]);
    }

    #[test]
    fn a_miss_is_told_but_not_by_a_limit_from_memory_nor_one_that_was_assumed() {
        check("value: 110.0 (measured)", ["fails", "fails", "fails", "open", "open"]);
        // Stated by the journal, the same limit can fail.
        check(
            "value: 110.0 (measured)\nallowed: 100 (measured)",
            ["fails", "fails", "fails", "open", "fails"],
        );
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
        example: Example { journal: "", expected: &[] },
        sources: &[],
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
