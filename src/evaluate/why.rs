//! Why a value is not there, told from where it begins.

use super::{Results, State};
use crate::findings::{Finding, codes};
use crate::graph::Plan;
use crate::model::{BlockEntry, FieldDoc, NodeDecl, Notebook, Origin, Resolved, Role, Stage, Takes, Wanted};
use crate::source::Span;
use crate::words::{Words, words};

pub(crate) struct WhyNot {
    pub reason: Words,
    /// When what is missing is due, where that is an input that its kind knows.
    pub due: Option<Stage>,
}

/// What of a journal is not there.
pub(super) struct Gone<'a> {
    pub(super) notebook: &'a Notebook,
    pub(super) plan: &'a Plan,
    pub(super) states: &'a [State],
}

impl Results {
    /// The reason that a value is not there: what its block said of it, or what was not given.
    pub(crate) fn why_not(&self, notebook: &Notebook, plan: &Plan, global: usize) -> WhyNot {
        let told = |number: usize, index: usize| {
            let mut told = self.said[number].not_there.iter().filter(|(slot, _)| *slot == index);
            told.next().map(|(_, reason)| reason.clone())
        };
        Gone { notebook, plan, states: &self.states }.why(global, told)
    }
}

impl Gone<'_> {
    /// `told` gives what a block said of one of its results, by their numbers.
    pub(super) fn why(&self, global: usize, told: impl Fn(usize, usize) -> Option<Words>) -> WhyNot {
        let mut at = global;
        // Values form no loop, so this ends; the bound is for a plan that has one all the same.
        for _ in 0..self.plan.len() {
            let (number, index) = self.plan.local(at);
            if let Some(reason) = told(number, index) {
                return WhyNot { reason, due: None };
            }
            let gone = |state| matches!(state, State::Absent | State::NotThere);
            match self.plan.needs(at).find(|need| gone(self.states[*need])) {
                Some(next) => at = next,
                None => {
                    let block = &self.notebook.blocks[number];
                    return self.not_given(block, &block.nodes[index]);
                }
            }
        }
        WhyNot { reason: Words::default(), due: None }
    }

    /// Of a name whose value is not there; `targets` are the values that its expression needs.
    pub(super) fn finding(&self, targets: &[usize], resolved: &Resolved, span: Span) -> Finding {
        let mut gone = targets.iter().copied().filter(|target| self.states[*target] == State::Absent);
        let target = gone.next().unwrap_or(0);
        let (number, index) = self.plan.local(target);
        let block = &self.notebook.blocks[number];
        let code = match resolved.wanted {
            Wanted::Author => &codes::UNKNOWN_REFERENCE,
            Wanted::Wish => &codes::NOT_YET,
            Wanted::Kind | Wanted::KindIfThere => &codes::MISSING_FIELD,
        };
        let name = format!("{}.{}", block.name, block.nodes[index].name);
        let why = self.why(target, |_, _| None).reason;
        let message = words!("`{}` is not there: {}", name, why);
        let help = words!("`voltwright kinds {}` says which fields it needs", block.kind.name);
        Finding::new(code, resolved.text.unwrap_or(span), message, help)
    }

    fn not_given(&self, block: &BlockEntry, node: &NodeDecl) -> WhyNot {
        if let Role::Field(Origin::Reference(resolved)) = &node.role {
            let name = resolved.expression.names().first();
            let name = name.map_or_else(String::new, |name| self.notebook.full_name(block, resolved, name));
            return match (resolved.wanted, self.plan.would_give(self.notebook, &name)) {
                (Wanted::Wish, Some(when)) => WhyNot { reason: lacks(&name, when), due: None },
                (Wanted::Wish, None) => {
                    WhyNot { reason: words!("`{}` is not there yet", name), due: Some(Stage::Test) }
                }
                _ => WhyNot { reason: words!("`{}` is not given", name), due: None },
            };
        }
        let reason = match block.kind.gives_when(&node.name) {
            Some(when) => lacks(&format!("{}.{}", block.name, node.name), when),
            None => words!("`{}` is not given", self.name_of(block, node)),
        };
        WhyNot { reason, due: due(block, node) }
    }

    /// Of a value that is taken from a block that a field names: its name there, or of the field where it names none.
    fn name_of(&self, block: &BlockEntry, node: &NodeDecl) -> String {
        let Some((field, rest)) = node.name.split_once('.') else {
            return format!("{}.{}", block.name, node.name);
        };
        let names_a_block = |doc: &&FieldDoc| doc.name == field && matches!(doc.takes, Takes::BlockName);
        match block.bindings.iter().find(|binding| binding.field == field) {
            Some(binding) => format!("{}.{rest}", self.notebook.blocks[binding.block].name),
            None if block.kind.fields.iter().any(|doc| names_a_block(&doc)) => {
                format!("{}.{field}", block.name)
            }
            None => format!("{}.{}", block.name, node.name),
        }
    }
}

/// Of a result that a block does not have as its author wrote it.
fn lacks(name: &str, when: Words) -> Words {
    words!("`{}` is not given: it is worked {}", name, when)
}

/// When a field is due that its author left out. The kind knows a field of a list's item by the names of both.
fn due(block: &BlockEntry, node: &NodeDecl) -> Option<Stage> {
    let known = |name: &str| block.kind.fields.iter().find(|doc| doc.name == name);
    let of_item = || {
        let (list, rest) = node.name.split_once('.')?;
        known(&format!("{list}.{}", rest.rsplit('.').next()?))
    };
    node.doc.or_else(|| known(&node.name)).or_else(of_item).map(|doc| doc.due)
}
