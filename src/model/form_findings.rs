//! What a form finds: keys that are missing or unknown, values of the wrong shape, faults within a text.

use std::collections::HashMap;

use super::accuracy::ACCURACY;
use super::form::Form;
use super::node::{Origin, Role};
use super::spelling::names_a_file;
use crate::findings::{Code, Finding, codes, suggest};
use crate::journal::{Node, NodeValue};
use crate::quantities::Fault;
use crate::source::Span;
use crate::words::{Words, words};

impl Form<'_, '_> {
    pub(crate) fn report(
        &mut self,
        code: &'static Code,
        span: Span,
        message: impl Into<Words>,
        help: impl Into<Words>,
    ) {
        self.draft.findings.push(Finding::new(code, span, message, help));
    }

    /// A required field that is not there.
    pub(crate) fn missing(&mut self, key: &str) {
        if self.excused {
            return;
        }
        let doc = self.doc(key);
        let (takes, about) = (doc.takes.words(), doc.about);
        self.report(
            &codes::MISSING_FIELD,
            self.place,
            missing_message(&self.prefix, key),
            words!("type `{}: …`, {}: {}", key, takes, about),
        );
    }

    pub(super) fn fail(
        &mut self,
        index: usize,
        code: &'static Code,
        span: Span,
        message: impl Into<Words>,
        help: impl Into<Words>,
    ) {
        self.report(code, span, message, help);
        self.draft.nodes[index].role = Role::Field(Origin::Failed);
    }

    /// Turns a fault inside a text into a finding at its place in the file.
    pub(super) fn fault(&mut self, fault: Fault, span: Span, lead: usize) {
        let at = span.part(fault.at.start + lead, fault.at.len().max(1));
        self.report(fault.code, at, fault.message, fault.help);
    }

    /// A value of another shape than its key takes.
    pub(crate) fn wrong_shape(&mut self, key: &str, value: &Node, expected: impl Into<Words>) {
        let expected: Words = expected.into();
        let found = match &value.value {
            NodeValue::Scalar { .. } => "a single value",
            NodeValue::Sequence(_) => "a list",
            NodeValue::Mapping(_) => "a mapping",
            NodeValue::Empty => "nothing",
        };
        let help = match value.text().map(str::trim).filter(|text| names_a_file(text)) {
            Some(file) => words!("a file is named as `{}`", format!("{key}: {{file: {file}}}")),
            None => match self.doc(key).items {
                "" => words!("write {} after `{}:`", expected, key),
                items => items.into(),
            },
        };
        let message = words!("`{}` is {} where {} is expected", key, found, expected);
        self.report(&codes::WRONG_SHAPE, value.span, message, help);
    }

    /// Refuses every key that was not asked for.
    pub(super) fn finish(mut self) {
        // What is set here needs no word of the kind's on how exactly.
        if self.known_doc(ACCURACY).is_some()
            && !self.draft.index.contains_key(&format!("{}{ACCURACY}", self.prefix))
            && let Some(value) = self.take(ACCURACY)
        {
            self.quantity::<f64>(ACCURACY, &value, None, self.doc(ACCURACY).range);
        }
        let unknown: Vec<(Node, Node)> = self
            .entries
            .iter()
            .zip(&self.used)
            .filter(|(_, used)| !**used)
            .map(|(entry, _)| entry.clone())
            .collect();
        if unknown.is_empty() {
            return;
        }
        let known: Vec<&'static str> = self
            .draft
            .kind
            .fields
            .iter()
            .filter_map(|doc| doc.name.strip_prefix(self.pattern.as_str()))
            .filter(|rest| !rest.contains('.'))
            .collect();
        for (key, value) in unknown {
            // What is missing because it stands a level too deep is told once.
            let deeper = known.iter().filter(|known| value.get(known).is_some());
            let deeper: Vec<Words> = deeper.map(|known| missing_message(&self.prefix, known)).collect();
            if !deeper.is_empty() {
                self.draft.findings.retain(|finding| !deeper.contains(&finding.message));
            }
            let NodeValue::Scalar { text, .. } = &key.value else { continue };
            if known.contains(&text.as_str()) {
                continue;
            }
            let near = suggest(text, known.iter().copied());
            if let Some(near) = near {
                // A field that is missing because its key is misspelt is told once.
                let missing = missing_message(&self.prefix, near);
                self.draft.findings.retain(|finding| finding.message != missing);
            }
            let help = match near {
                Some(near) => words!("did you mean `{}`?", near),
                None if !deeper.is_empty() => "what stands in it belongs one level up".into(),
                None if known.is_empty() => Words::from("take it away"),
                None => words!("the keys here are {}", Words::names(known.iter().copied())),
            };
            let message = words!("`{}` has no key `{}`", self.draft.kind.name, text);
            self.report(&codes::UNKNOWN_KEY, key.span, message, help);
        }
    }
}

/// What is missing from several items of a list is told once, with all their names.
pub(super) fn told_once(findings: &mut Vec<Finding>) {
    let mut first: HashMap<String, usize> = HashMap::new();
    let mut kept: Vec<Finding> = Vec::with_capacity(findings.len());
    for finding in findings.drain(..) {
        let missing = std::ptr::eq(finding.code, &codes::MISSING_FIELD);
        let at = missing.then(|| *first.entry(finding.help.to_string()).or_insert(kept.len()));
        match at.filter(|at| *at < kept.len()) {
            Some(at) => kept[at].message = words!("{}, and {}", kept[at].message.clone(), finding.message),
            None => kept.push(finding),
        }
    }
    *findings = kept;
}

fn missing_message(prefix: &str, key: &str) -> Words {
    words!("`{}{}` is missing", prefix, key)
}
