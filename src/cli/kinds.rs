//! `kinds`: what the kinds of block take and give, from the same data that reads them.

use std::fmt::Write;

use super::{Ended, complain, reference, say, schema};
use crate::blocks::KINDS;
use crate::findings::suggest;

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
            Form::Markdown => list(),
            Form::JsonSchema => schema::of_all(),
        });
        return Ended::Done;
    };
    let page = match (form, name) {
        (Form::Markdown, "limits") => Some(reference::limits()),
        (Form::Markdown, "findings") => Some(reference::findings()),
        _ => None,
    };
    if let Some(page) = page {
        say(&page);
        return Ended::Done;
    }
    let wanted = name.replace('_', "-");
    match KINDS.iter().find(|kind| kind.name == wanted) {
        Some(kind) => {
            say(&match form {
                Form::Text | Form::Markdown => reference::kind(kind),
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

#[cfg(test)]
mod tests {
    use super::super::reference::NoFiles;
    use crate::blocks::KINDS;
    use crate::compile::{Worked, compile};
    use crate::model::Kind;
    use crate::quantities::read_literal;
    use crate::source::{FileId, Source, Sources};

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

    fn work_example(kind: &Kind) -> Worked {
        let sources = Sources(vec![Source::new("example.md", kind.example.journal)]);
        compile(&sources, &[FileId(0)], &NoFiles, None)
    }
}
