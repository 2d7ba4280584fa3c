//! Debug builds prove that a procedure names all that it depends on: a forgotten entry would understate its uncertainty
//! in silence.

use super::machine::State;
use super::replay::Fixed;
use crate::model::{BlockEntry, Computed, Role};

/// How far an input is moved, as a share of its value.
const NUDGE: f64 = 1e-6;

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
    let procedures: Vec<usize> = (0..block.nodes.len()).filter(procedure).collect();
    if procedures.is_empty() {
        return None;
    }
    let run = |moved: Option<(usize, f64)>| {
        let mut values = fixed.nominal[start..start + block.nodes.len()].to_vec();
        if let Some((index, value)) = moved {
            values[index] = value;
        }
        let curves = &fixed.curves[start..start + block.nodes.len()];
        block.block.evaluate(&mut crate::model::Bench::new(&mut values, curves));
        values
    };
    let nominal = run(None);
    let named: Vec<Vec<bool>> = procedures.iter().map(|index| reached(block, *index)).collect();
    for (index, node) in block.nodes.iter().enumerate() {
        if !matches!(node.role, Role::Field(_)) || node.count || node.is_text() || !known(index) {
            continue;
        }
        let value = nominal[index];
        let moved = value + if value == 0.0 { NUDGE } else { NUDGE * value };
        if !node.range.holds(moved) {
            continue;
        }
        let values = run(Some((index, moved)));
        for (at, result) in procedures.iter().enumerate() {
            let follows = values[*result].is_finite() && values[*result] != nominal[*result];
            if follows && !named[at][index] {
                return Some(format!(
                    "`{}` follows `{}`, which is not among what it uses",
                    block.nodes[*result].name, node.name
                ));
            }
        }
    }
    None
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
    use crate::quantities::{si::Mass, sort};
    use crate::source::{FileId, Source, Sources};

    static SUM: Row<Mass> = Row::procedure("sum", "sum", "kg", "both together");

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
            bench.set(self.sum, bench.get(self.one) + bench.get(self.other));
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
        let text = "```yaml forgetful it\none: 1 kg ± 1 %\nother: 2 kg ± 1 %\n```\n";
        let sources = Sources(vec![Source::new("journal.md", text)]);
        let (journal, _) = scan(FileId(0), Position::First, sources.get(FileId(0)));
        let (notebook, _) = read((&[journal], &sources), KINDS, &NoFiles);
        let (plan, _) = plan(&notebook);
        crate::evaluate::run(&notebook, &plan, None);
    }
}
