//! What a study is answered from, what it may not rest on, and why a change that it wants can't be made.

use super::super::variant::Variant;
use crate::findings::{Finding, codes};
use crate::graph::Plan;
use crate::model::{Change, Changeable, Notebook, Refusal};
use crate::source::Span;
use crate::words::{Words, words};

/// What every study is answered from.
pub(super) struct Asking<'a> {
    pub(super) changeable: &'a Changeable<'a>,
    pub(super) notebook: &'a Notebook,
    pub(super) plan: &'a Plan,
    /// The number of the study's own block.
    pub(super) number: usize,
    /// The errors that the unchanged journal has.
    pub(super) told: &'a [Finding],
}

impl Asking<'_> {
    /// An input that is changed must not come from the study itself, nor from another one.
    pub(super) fn free(&self, set: &str, span: Span) -> Result<(), Vec<Finding>> {
        let Some(value) = self.plan.find(self.notebook, set) else { return Ok(()) };
        match self.reached(value) {
            None => Ok(()),
            Some(study) => {
                let message = words!("`{}` comes from the study `{}`", set, self.notebook.blocks[study].name);
                let help = "give it a value of its own: an input that is searched can't rest on an answer";
                Err(vec![Finding::new(&codes::CYCLE, span, message, help)])
            }
        }
    }

    /// What a study asks of the journal must not rest on an answer, of itself or another one.
    pub(super) fn single(&self, mut asks: impl Iterator<Item = usize>) -> Result<(), Vec<Finding>> {
        let first = self.plan.first[self.number];
        let Some((at, study)) = asks.find_map(|index| Some((index, self.reached(first + index)?))) else {
            return Ok(());
        };
        let entry = &self.notebook.blocks[self.number];
        let message = words!("what is asked here rests on the study `{}`", self.notebook.blocks[study].name);
        let help = "studies stand alone: type that answer into the journal, and ask again";
        Err(vec![Finding::new(&codes::CYCLE, entry.nodes[at].span, message, help)])
    }

    /// The first study that a value rests on.
    fn reached(&self, value: usize) -> Option<usize> {
        let mut seen = vec![false; self.plan.len()];
        let mut open = vec![value];
        while let Some(at) = open.pop() {
            if std::mem::replace(&mut seen[at], true) {
                continue;
            }
            let (number, index) = self.plan.local(at);
            let entry = &self.notebook.blocks[number];
            if entry.block.study().is_some() && entry.nodes[index].row.is_some() {
                return Some(number);
            }
            open.extend(self.plan.needs(at));
        }
        None
    }

    /// The journal with changes made, or why it can't be had.
    pub(super) fn variant(&self, changes: &[Change]) -> Result<Variant, Vec<Refusal>> {
        Variant::of(self.changeable, changes)
    }

    /// Why no change can be made, as findings at the place of what asks for it.
    pub(super) fn refused(refused: &[Refusal], span: Span) -> Vec<Finding> {
        refused.iter().map(|refusal| told(refusal, span)).collect()
    }
}

fn told(refusal: &Refusal, span: Span) -> Finding {
    let (code, help): (_, Words) = match refusal {
        Refusal::Unknown { .. } => (
            &codes::UNKNOWN_REFERENCE,
            "type the name of a block and of its field: `drive.motor`, `pack.series`".into(),
        ),
        Refusal::Calculated { .. } => (
            &codes::BAD_VALUE,
            "name a field that is typed in the journal, not what is worked from it".into(),
        ),
        Refusal::Curve { .. } | Refusal::Elsewhere { .. } => {
            (&codes::BAD_VALUE, "name a field with one value that stands in a block of the journal".into())
        }
        Refusal::Twice { .. } => (&codes::BAD_VALUE, "name it once".into()),
        Refusal::Nothing { .. } => (&codes::BAD_VALUE, "type what is to stand there".into()),
        Refusal::Lacks { part, fields, .. } => {
            (&codes::MISSING_FIELD, words!("type `{}: …` in `{}`", fields.join(": …`, `"), part))
        }
        Refusal::Wrong(finding) => (finding.code, finding.help.clone()),
    };
    Finding::new(code, span, refusal.words(), help)
}
