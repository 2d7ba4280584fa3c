//! Work grows no faster than the journal, counted in steps and not in time.

use std::fmt::Write;

use crate::compile::{Worked, compile};
use crate::findings::COMPARED;
use crate::model::{Evidence, EvidenceFault};
use crate::source::{FileId, Source, Sources};

struct NoFiles;

impl Evidence for NoFiles {
    fn read(&self, _path: &str) -> Result<std::sync::Arc<[u8]>, EvidenceFault> {
        Err(EvidenceFault::Missing)
    }
}

fn work(text: &str) -> Worked {
    compile(&Sources(vec![Source::new("journal.md", text)]), &[FileId(0)], &NoFiles, None)
}

/// Names that are compared for so many that nothing has.
fn compared(text: &str, unknown: usize) -> usize {
    let before = COMPARED.get();
    let worked = work(text);
    let found = worked.findings.iter().filter(|finding| finding.code.name == "unknown-reference").count();
    assert_eq!(found, unknown);
    COMPARED.get() - before
}

/// Steps that each name something by a pattern.
fn steps(count: usize, of: impl Fn(usize) -> String) -> String {
    let mut text = "```yaml worksheet w\nsteps:\n".to_owned();
    for number in 0..count {
        writeln!(text, "  - {{name: s{number}, is: {}, unit: kg}}", of(number)).expect("a text");
    }
    text + "```\n"
}

fn parts(count: usize) -> String {
    (0..count).map(|number| format!("```yaml part p{number}\nrole: motor\nmass: 1 kg\n```\n")).collect()
}

fn values(count: usize) -> String {
    let values: String = (0..count).map(|number| format!("value_{number}: 1 kg\n")).collect();
    format!("```yaml part p\nrole: motor\n{values}```\n")
}

fn sources(count: usize) -> String {
    let known: String = (0..count).map(|number| format!("S-{number}: {{title: a}}\n")).collect();
    let named: String = (0..count).map(|number| format!("v{number}: 1 kg (measured T-{number})\n")).collect();
    format!("```yaml sources s\n{known}```\n```yaml part p\nrole: motor\n{named}```\n")
}

#[test]
fn names_that_nothing_has_are_compared_with_a_bounded_number() {
    type Make = fn(usize) -> String;
    let journals: [(&str, Make); 4] = [
        ("blocks", |count| parts(count) + &steps(count, |number| format!("q{number}.mass"))),
        ("values", |count| values(count) + &steps(count, |number| format!("p.valoe_{number}"))),
        ("live values", |count| {
            let live: String = (0..count).map(|number| format!("[x](result:q{number}.mass)\n\n")).collect();
            parts(count) + &live
        }),
        ("sources", sources),
    ];
    for (what, make) in journals {
        let counts = [500, 1_000, 2_000].map(|count| compared(&make(count), count));
        println!("{what}: {counts:?} names compared");
        for (count, compared) in [500, 1_000, 2_000].into_iter().zip(counts) {
            assert!(compared <= 400 * count, "{what}: {compared} comparisons for {count} names");
        }
        assert!(counts[2] <= 3 * counts[1] && counts[1] <= 3 * counts[0], "{what}: {counts:?}");
    }
}
