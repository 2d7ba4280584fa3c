//! `kinds`: what the kinds of block take and give, from the same data that reads them.

use std::fmt::Write;

use super::arguments::KindsOptions;
use super::rule_packs::rule_packs;
use super::width::{page, width, wrap};
use super::{Ended, reference, say, schema};
use crate::blocks::KINDS;
use crate::findings::suggest;

pub(super) fn kinds(options: &KindsOptions) -> Ended {
    let Some(name) = options.kind.as_deref() else {
        match (options.all, options.json) {
            (true, _) => KINDS.iter().for_each(|kind| tell(&format!("{}\n", reference::kind(kind)))),
            (_, true) => say(&schema::of_all()),
            _ => say(&list()),
        }
        return Ended::Done;
    };
    let wanted = name.replace('_', "-");
    let kind = KINDS.iter().find(|kind| kind.name == wanted);
    match (kind, wanted.as_str()) {
        (Some(kind), _) if options.json => say(&schema::of_kind(kind)),
        (Some(kind), _) if options.markdown => say(&reference::kind(kind)),
        (Some(kind), _) => tell(&reference::kind(kind)),
        (_, "limits") if options.markdown => say(&reference::limits()),
        (_, "findings") if options.markdown => say(&reference::findings()),
        (_, "rules") if options.markdown => say(&rule_packs()),
        _ => {
            let near = suggest(&wanted, KINDS.iter().map(|kind| kind.name));
            let help = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
            return Ended::WrongUsage.because(format!("no kind of block is named `{name}`{help}"));
        }
    }
    Ended::Done
}

/// A page, in the terminal's width; as it is where it goes elsewhere.
fn tell(text: &str) {
    match width() {
        Some(width) => say(&page(text, width)),
        None => say(text),
    }
}

fn list() -> String {
    let mut text = String::new();
    let width = width();
    let wide = KINDS.iter().map(|kind| kind.name.len()).max().unwrap_or(0);
    for kind in KINDS {
        let summary = width.map_or(kind.summary.to_owned(), |width| wrap(kind.summary, wide + 2, width));
        let _ = writeln!(text, "{:wide$}  {summary}", kind.name);
    }
    text.push_str(
        "\n`voltwright kinds KIND` tells all about one, `voltwright kinds --all` about every one.\n",
    );
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
