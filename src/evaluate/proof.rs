//! Debug builds prove that a procedure names all that it depends on: a forgotten entry would understate its uncertainty
//! in silence.

use super::fixed::{Fixed, State};
use crate::model::{Bench, BlockEntry, Computed, NodeDecl, Range, Role};

/// What an input is multiplied with: a nudge first, then steps that reach the next row of a table and other branches.
const TIMES: [f64; 9] = [1.0 + 1e-6, 0.5, 2.0, 0.9, 1.1, 0.1, 10.0, 0.01, 100.0];

/// What an input of 0 becomes, in SI.
const INSTEAD_OF_NONE: [f64; 3] = [1e-6, 1e-3, 1.0];

/// Moves each input of each block with a procedure, and panics where a result follows that does not name it.
pub(super) fn prove(fixed: Fixed<'_>) {
    for (number, block) in fixed.notebook.blocks.iter().enumerate() {
        if let Some(fault) = forgotten(&fixed, number, block) {
            panic!("{} {}: {fault}", block.kind.name, block.name);
        }
    }
}

fn forgotten(fixed: &Fixed<'_>, number: usize, block: &BlockEntry) -> Option<String> {
    let start = fixed.plan.first[number];
    let known = |index: usize| fixed.states[start + index] == State::Known;
    let procedure = |index: &usize| {
        matches!(block.nodes[*index].role, Role::Step(Computed::Procedure { .. })) && known(*index)
    };
    let procedures: Vec<(usize, Vec<bool>)> =
        (0..block.nodes.len()).filter(procedure).map(|index| (index, reached(block, index))).collect();
    let given = &fixed.nominal[start..start + block.nodes.len()];
    let run = |moved: Option<(usize, f64)>| {
        let mut values = given.to_vec();
        if let Some((index, value)) = moved {
            values[index] = value;
        }
        let curves = &fixed.curves[start..start + block.nodes.len()];
        block.block.evaluate(&mut Bench::new(&mut values, curves));
        values
    };
    let mut nominal = None;
    for (index, node) in block.nodes.iter().enumerate() {
        let silent: Vec<usize> =
            procedures.iter().filter(|(_, named)| !named[index]).map(|(result, _)| *result).collect();
        if silent.is_empty() || !matches!(node.role, Role::Field(_)) || node.is_text() || !known(index) {
            continue;
        }
        let nominal = nominal.get_or_insert_with(|| run(None));
        for moved in moves(node, given[index]) {
            let values = run(Some((index, moved)));
            let follows =
                |result: &&usize| values[**result].is_finite() && values[**result] != nominal[**result];
            if let Some(result) = silent.iter().find(follows) {
                return Some(format!(
                    "`{}` follows `{}`, which is not among what it uses",
                    block.nodes[*result].name, node.name
                ));
            }
        }
    }
    None
}

/// Other values that an input may have.
fn moves(node: &NodeDecl, value: f64) -> impl Iterator<Item = f64> {
    let near = if node.count { vec![value - 1.0, value + 1.0] } else { Vec::new() };
    let times = TIMES.iter().map(move |times| value * times);
    let others = times.chain(INSTEAD_OF_NONE.into_iter().filter(move |_| value == 0.0));
    let ends = [0.0, 1.0].into_iter().filter(|_| matches!(node.range, Range::Share | Range::ShareOrNone));
    let (count, range) = (node.count, node.range);
    near.into_iter()
        .chain(others)
        .chain(ends)
        .map(move |moved| if count { moved.round() } else { moved })
        .filter(move |moved| *moved != value && range.holds(*moved))
}

/// Which values of the block a result is worked from, by way of others too.
fn reached(block: &BlockEntry, result: usize) -> Vec<bool> {
    let mut seen = vec![false; block.nodes.len()];
    let mut open = vec![result];
    while let Some(at) = open.pop() {
        if !std::mem::replace(&mut seen[at], true) {
            open.extend(block.nodes[at].uses().iter().map(|index| *index as usize));
        }
    }
    seen
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use crate::graph::plan;
    use crate::journal::{Position, scan};
    use crate::model::{
        Bench, Block, Evidence, EvidenceFault, Example, FieldDoc, Form, Kind, Page, Row, Slot, Takes, read,
    };
    use crate::quantities::{
        si::{Mass, Measure},
        sort,
    };
    use crate::source::{FileId, Source, Sources};

    static SUM: Row<Mass> = Row::procedure("sum", "sum", "kg", "the first and whole kilograms of the other");

    /// A kind whose one procedure rests on two masses and names but one.
    static FORGETFUL: Kind = Kind {
        name: "forgetful",
        summary: "a sum that forgets",
        subsystem: "tests",
        fields: &[
            FieldDoc::new("one", Takes::Quantity(&sort::MASS), "of it"),
            FieldDoc::new("other", Takes::Quantity(&sort::MASS), "of it"),
        ],
        rows: &[&SUM.row],
        takes: &[],
        requires: &[],
        example: Example { journal: "", expected: &[] },
        sources: &[],
        limits: &[],
        codes: &[],
        read: |form: &mut Form<'_, '_>| {
            let (one, other): (Slot<Mass>, Slot<Mass>) = (form.required("one"), form.required("other"));
            let sum = form.outcomes().procedure(&SUM, &[one.index()]);
            Box::new(Forgetful { one, other, sum })
        },
    };

    struct Forgetful {
        one: Slot<Mass>,
        other: Slot<Mass>,
        sum: Slot<Mass>,
    }

    impl Block for Forgetful {
        fn evaluate(&self, bench: &mut Bench<'_>) {
            let whole = Mass::from_si(bench.get(self.other).si().floor());
            bench.set(self.sum, bench.get(self.one) + whole);
        }

        fn present(&self, page: &mut Page<'_>) {
            page.checked(self.sum, 0.0, 0.0);
        }
    }

    struct NoFiles;

    impl Evidence for NoFiles {
        fn read(&self, _path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
            Err(EvidenceFault::Missing)
        }
    }

    #[test]
    #[should_panic(expected = "`sum` follows `other`")]
    fn a_dependency_left_out_is_told() {
        static KINDS: &[&Kind] = &[&FORGETFUL];
        let text = "```yaml forgetful it\none: 1 kg ± 1 %\nother: 2.5 kg ± 1 %\n```\n";
        let sources = Sources(vec![Source::new("journal.md", text)]);
        let (journal, _) = scan(FileId(0), Position::First, sources.get(FileId(0)));
        let (notebook, _) = read((&[journal], &sources), KINDS, &NoFiles);
        let (plan, _) = plan(&notebook);
        crate::evaluate::run(&notebook, &plan, None);
    }
}
