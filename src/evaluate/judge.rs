//! Which requirements there are, and whether each can be judged at all.

use std::collections::HashMap;

use super::decide::{CERTAIN, Case, enough};
use super::draws::{Asked, drawn, put_off};
use super::monte_carlo::Draws;
use super::probe;
use super::verdict::{Doubt, Judged, Verdict};
use super::width::Widths;
use super::{Results, State};
use crate::findings::Finding;
use crate::graph::Plan;
use crate::model::{
    BlockEntry, Computed, FieldSort, Leaf, Notebook, Requirement, RequirementKind, Role, Stage, unusual,
};
use crate::quantities::{Basis, Dimension, Fault, Quantity};
use crate::words::{Words, words};

/// All requirements, judged; with [`Draws::Later`] without the draws that some of them need.
pub(super) fn judge(
    (notebook, plan): (&Notebook, &Plan),
    results: &Results,
    draws: Option<Draws>,
) -> Vec<Judged> {
    let mut judged: Vec<Judged> = Vec::new();
    let mut decided: Vec<(usize, Case<'_>)> = Vec::new();
    let (unfit, doubted) = (unfit(plan, results), doubted(notebook, plan, results));
    let guessed = guessed_ratings(notebook, plan);
    let (unfit, doubted) = (following(plan, &unfit), following(plan, &doubted));
    let guessed = following(plan, &guessed);
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
    let asked: Vec<Asked> = decided
        .iter()
        .map(|(at, case)| judged[*at].asked(case.requirement, judged[*at].turning(case)))
        .collect();
    let fixed = |runs| results.fixed(notebook, plan, runs);
    let doubtful = probe::doubtful(fixed(&results.runs.probed), &results.budget, &asked);
    let odds = match draws {
        Some(Draws::Later) => put_off(asked.len(), &doubtful),
        _ => drawn(fixed(&results.runs.drawn), &results.budget, &asked, &doubtful),
    };
    let both = [fixed(&results.runs.probed), fixed(&results.runs.drawn)];
    let widths = Widths::new(both, &results.budget, draws != Some(Draws::Later));
    for ((at, case), odds) in decided.iter().zip(odds) {
        judged[*at].decide(case, odds, &widths);
        judged[*at].mind_the_kind(case);
        judged[*at].mind_doubts(&doubted);
        if judged[*at].kind != RequirementKind::Wish {
            judged[*at].mind_doubts(&guessed);
        }
    }
    judged
}

/// Values that nobody believes as they are written, or that their block asks about, and guesses that it doubts.
fn doubted(notebook: &Notebook, plan: &Plan, results: &Results) -> Vec<(usize, Words)> {
    let mut doubted = Vec::new();
    for (number, (block, first)) in notebook.blocks.iter().zip(&plan.first).enumerate() {
        for (index, node) in block.nodes.iter().enumerate() {
            if unusual(block.kind, node).is_some() {
                let name = format!("{}.{}", block.name, node.name);
                doubted.push((first + index, words!("it rests on `{}`, which is questioned", name)));
            }
        }
        for slot in &results.said[number].questioned {
            let name = format!("{}.{}", block.name, block.nodes[*slot].name);
            doubted.push((first + slot, words!("it rests on `{}`, which is questioned", name)));
        }
        let guessed =
            |slot: usize| results.grounds.weakest[first + slot].is_none_or(|basis| !basis.is_stated());
        let own = results.said[number].doubted.iter().filter(|(slot, _)| guessed(*slot));
        doubted.extend(own.map(|(slot, why)| (first + slot, why.clone())));
    }
    doubted
}

/// Ratings and the like, exact because somebody states them, of which their author says that nobody does: no verdict of
/// safety or law takes them for exact. With a tolerance they have a width as any guess.
fn guessed_ratings(notebook: &Notebook, plan: &Plan) -> Vec<(usize, Words)> {
    let mut guessed = Vec::new();
    for (block, first) in notebook.blocks.iter().zip(&plan.first) {
        for (index, node) in block.nodes.iter().enumerate() {
            let exact = |leaf: &&Leaf| leaf.sort == FieldSort::Stated && leaf.literal.tolerance.is_none();
            let Some(leaf) = node.leaf().filter(exact) else { continue };
            if let Some(basis) = leaf.basis.filter(|basis| matches!(basis, Basis::Estimated | Basis::Assumed))
            {
                let name = format!("{}.{}", block.name, node.name);
                let why =
                    words!("it rests on `{}`, which is `{}` and not stated by anybody", name, basis.word());
                guessed.push((first + index, why));
            }
        }
    }
    guessed
}

/// What a block said of its values that no verdict may rest on.
fn unfit(plan: &Plan, results: &Results) -> Vec<(usize, Words)> {
    let said = results.said.iter().zip(&plan.first);
    said.flat_map(|(said, first)| said.unfit.iter().map(move |(slot, why)| (first + slot, why.clone())))
        .collect()
}

/// The same with all that follows from them, by the table of values.
fn following<'w>(plan: &Plan, from: &'w [(usize, Words)]) -> Reasons<'w> {
    let mut found: Reasons<'_> = HashMap::new();
    from.iter().for_each(|(global, why)| _ = found.entry(*global).or_insert(why));
    if found.is_empty() {
        return found;
    }
    for global in &plan.order {
        if let Some(why) = plan.needs(*global).find_map(|need| found.get(&need).copied()) {
            found.entry(*global).or_insert(why);
        }
    }
    found
}

/// Reasons by the table of values.
type Reasons<'w> = HashMap<usize, &'w Words>;

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
    fn stands_on_numbers(&mut self, case: &Case<'_>, unfit: &Reasons<'_>) -> bool {
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

    /// Where the verdict of what misses its limit, and of what meets it, turns.
    fn turning(&self, case: &Case<'_>) -> f64 {
        match self.sides(case.requirement).missed(&case.results.values) {
            Some(_) => CERTAIN,
            None => enough(self.kind),
        }
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

    fn mind_doubts(&mut self, doubted: &Reasons<'_>) {
        let of = std::iter::once(self.actual).chain(self.limits()).find_map(|part| doubted.get(&part));
        if let (Verdict::Meets, Some(why)) = (self.verdict, of) {
            self.verdict = Verdict::Close;
            (self.doubt, self.reason) = (Some(Doubt::Method), (*why).clone());
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
