//! `kinds`: what the kinds of block take and give, from the same data that reads them.

use std::fmt::Write;

use super::{Ended, complain, reference, say, schema};
use crate::blocks::KINDS;
use crate::compile::{Worked, compile};
use crate::findings::suggest;
use crate::model::{Computed, Evidence, EvidenceFault, Kind, Needed, Role, label};
use crate::source::{FileId, Source, Sources};

/// What the kinds are told as.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    Text,
    Markdown,
    JsonSchema,
}

pub(super) fn kinds(name: Option<&str>, form: Form) -> Ended {
    let Some(name) = name else {
        say(&match form {
            Form::Text => list(),
            Form::Markdown => reference::all(),
            Form::JsonSchema => schema::of_all(),
        });
        return Ended::Done;
    };
    let wanted = name.replace('_', "-");
    match KINDS.iter().find(|kind| kind.name == wanted) {
        Some(kind) => {
            say(&match form {
                Form::Text => one(kind),
                Form::Markdown => reference::kind(kind),
                Form::JsonSchema => schema::of_kind(kind),
            });
            Ended::Done
        }
        None => {
            let near = suggest(&wanted, KINDS.iter().map(|kind| kind.name));
            let help = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
            complain(&format!("no kind of block is named `{name}`{help}\n"));
            Ended::WrongUsage
        }
    }
}

fn list() -> String {
    let mut text = String::new();
    let wide = KINDS.iter().map(|kind| kind.name.len()).max().unwrap_or(0);
    for kind in KINDS {
        let _ = writeln!(text, "{:wide$}  {}", kind.name, kind.summary);
    }
    text.push_str("\n`voltwright kinds KIND` tells all about one.\n");
    text
}

fn one(kind: &Kind) -> String {
    let mut text = format!("{}: {}\n\nFields\n", kind.name, kind.summary);
    for field in kind.fields {
        let _ = writeln!(
            text,
            "  {}\n      {}; {}",
            field.name,
            needed(field.needed, &field.takes.words()),
            field.about
        );
    }
    if !kind.results.is_empty() {
        text.push_str("\nResults\n");
        let formulas = Formulas::of(kind);
        for result in kind.results {
            let _ = writeln!(text, "  {}\n      {}", result.name, result.about);
            if let Some(formula) = formulas.of_result(result.name) {
                let _ = writeln!(text, "      = {formula}");
            }
        }
    }
    for (title, lines) in [("Sources", kind.sources), ("Not calculated", kind.limits)] {
        if !lines.is_empty() {
            let _ = writeln!(text, "\n{title}");
            for line in lines {
                let _ = writeln!(text, "  {line}");
            }
        }
    }
    if !kind.codes.is_empty() {
        text.push_str("\nFindings of its own\n");
        for code in kind.codes {
            let _ = writeln!(text, "  {} ({}): {}", code.name, code.severity.word(), code.about);
        }
    }
    let _ = write!(text, "\nExample\n\n{}", kind.example.journal);
    text.push_str("\nIt gives\n");
    for (name, value) in kind.example.expected {
        let _ = writeln!(text, "  {name} = {value}");
    }
    text
}

pub(super) fn needed(needed: Needed, takes: &str) -> String {
    match needed {
        Needed::Required => takes.to_owned(),
        Needed::Optional => format!("{takes}, may be left out"),
        Needed::Either => format!("{takes}, or another field in its place"),
        Needed::Assumed(default) => format!("{takes}, assumed {default}"),
    }
}

/// The formulas of a kind, read off its worked example.
pub(super) struct Formulas(Vec<(String, String)>);

impl Formulas {
    pub(super) fn of(kind: &Kind) -> Formulas {
        let worked = work_example(kind);
        let mut formulas = Vec::new();
        for block in worked.notebook.blocks.iter().filter(|block| block.kind.name == kind.name) {
            for node in &block.nodes {
                match &node.role {
                    Role::Step(Computed::Formula { expression, .. }) if !node.hidden => {
                        let shown = expression.show(&mut |name| label(&name.text())).replace('\u{a0}', " ");
                        formulas.push((node.name.clone(), shown));
                    }
                    Role::Step(Computed::Procedure { method, .. }) => {
                        formulas.push((node.name.clone(), (*method).to_owned()));
                    }
                    _ => {}
                }
            }
        }
        Formulas(formulas)
    }

    pub(super) fn of_result(&self, name: &str) -> Option<String> {
        self.0.iter().find(|(known, _)| known == name).map(|(_, formula)| formula.clone())
    }
}

/// Examples name no files.
struct NoFiles;

impl Evidence for NoFiles {
    fn read(&self, _path: &str) -> Result<std::sync::Arc<[u8]>, EvidenceFault> {
        Err(EvidenceFault::Missing)
    }
}

pub(super) fn work_example(kind: &Kind) -> Worked {
    let sources = Sources(vec![Source::new("example.md", kind.example.journal)]);
    compile(&sources, &[FileId(0)], &NoFiles, None)
}

#[cfg(test)]
mod tests {
    use super::work_example;
    use crate::blocks::KINDS;
    use crate::quantities::read_literal;

    #[test]
    fn every_example_gives_the_results_that_it_promises() {
        for kind in KINDS {
            let worked = work_example(kind);
            assert!(
                worked.findings.iter().all(|finding| !finding.is_error()),
                "{}: {:#?}",
                kind.name,
                worked.findings
            );
            assert!(!kind.example.expected.is_empty(), "{} promises nothing", kind.name);
            for (name, expected) in kind.example.expected {
                let global =
                    worked.plan.find(&worked.notebook, name).unwrap_or_else(|| panic!("{name} is not there"));
                let expected =
                    read_literal(expected).unwrap_or_else(|fault| panic!("{}", fault.message)).quantity.si;
                let found = worked.results.values[global];
                assert!((found - expected).abs() <= 1e-8 * expected.abs(), "{name}: {found}, not {expected}");
            }
        }
    }
}
