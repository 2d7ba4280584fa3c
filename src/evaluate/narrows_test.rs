//! Chains longer than what is carried one by one: exact as if all of it were, and at a cost that grows as they do.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::Arc;
use std::sync::atomic::Ordering;

use crate::compile::{Worked, compile};
use crate::model::{Evidence, EvidenceFault, RequirementKind};
use crate::source::{FileId, Source, Sources};

struct Nothing;

impl Evidence for Nothing {
    fn read(&self, _: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        Err(EvidenceFault::Missing)
    }
}

fn worked(text: String) -> Worked {
    let worked = compile(&Sources(vec![Source::new("journal.md", text)]), &[FileId(0)], &Nothing, None);
    let told: Vec<String> = worked.findings.iter().map(|finding| finding.message.to_string()).collect();
    assert!(told.is_empty(), "{told:?}");
    worked
}

/// Lengths of 1 m to 7 m, each ± 1 %, of which every step adds one; then more steps.
fn in_one_block(count: usize, more: &[(&str, String)]) -> String {
    let mut text = String::from("# Chain\n\n```yaml worksheet chain\ngiven:\n");
    (0..count).for_each(|at| writeln!(text, "  a{at}: {} m ± 1 %", size(at)).expect("a line"));
    text.push_str("steps:\n  - {name: s0, is: a0, unit: m}\n");
    for at in 1..count {
        writeln!(text, "  - {{name: s{at}, is: s{} + a{at}, unit: m}}", at - 1).expect("a line");
    }
    for (name, is) in more {
        writeln!(text, "  - {{name: {name}, is: {is}, unit: m}}").expect("a line");
    }
    text + "```\n"
}

fn in_blocks(count: usize) -> String {
    let mut text = String::from("# Chain\n\n");
    for at in 0..count {
        let before = if at == 0 { String::new() } else { format!("b{}.s + ", at - 1) };
        writeln!(
            text,
            "```yaml worksheet b{at}\ngiven:\n  a: {} m ± 1 %\nsteps:\n  - {{name: s, is: {before}a, unit: m}}\n```\n",
            size(at)
        )
        .expect("a block");
    }
    text
}

fn size(at: usize) -> f64 {
    (at % 7 + 1) as f64
}

/// The standard uncertainty of the sum of some of the lengths, each so many times: rectangular, and independent.
fn expected(of: impl Iterator<Item = usize>, times: impl Fn(usize) -> f64) -> f64 {
    of.map(|at| (times(at) * 0.01 * size(at)).powi(2) / 3.0).sum::<f64>().sqrt()
}

#[track_caller]
fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-9 * expected, "{found} and not {expected}");
}

fn at(worked: &Worked, name: &str) -> usize {
    worked.plan.find(&worked.notebook, name).expect("a value")
}

#[test]
fn every_sum_of_a_long_chain_has_its_uncertainty() {
    const COUNT: usize = 900;
    let one = worked(in_one_block(COUNT, &[]));
    let many = worked(in_blocks(COUNT));
    for last in 0..COUNT {
        let expected = expected(0..last + 1, |_| 1.0);
        near(one.results.standard[at(&one, &format!("chain.s{last}"))], expected);
        near(many.results.standard[at(&many, &format!("b{last}.s"))], expected);
    }
}

#[test]
fn what_goes_round_a_narrow_is_correlated_as_ever() {
    const COUNT: usize = 900;
    let last = format!("s{}", COUNT - 1);
    let more =
        [("twice", format!("{last} + a5")), ("less", format!("{last} - s400")), ("none", "s5 - s5".into())];
    let worked = worked(in_one_block(COUNT, &more));
    let standard = |name: &str| worked.results.standard[at(&worked, name)];
    near(standard("chain.twice"), expected(0..COUNT, |at| if at == 5 { 2.0 } else { 1.0 }));
    near(standard("chain.less"), expected(401..COUNT, |_| 1.0));
    near(standard(&format!("chain.{last}")), expected(0..COUNT, |_| 1.0));
    assert_eq!(standard("chain.none"), 0.0);
}

#[test]
fn two_values_of_a_chain_share_what_both_rest_on() {
    let worked = worked(in_one_block(900, &[]));
    let sides = (at(&worked, "chain.s899"), at(&worked, "chain.s100"));
    near(worked.results.budget.of_difference(sides, RequirementKind::Safety).0, expected(101..900, |_| 1.0));
}

#[test]
fn the_largest_shares_of_a_long_chain_are_those_of_all() {
    let mut text = in_one_block(900, &[]);
    for (was, is) in [("a3: 4 m ± 1 %", "a3: 4 m ± 90 %"), ("a700: 1 m ± 1 %", "a700: 1 m ± 50 %")] {
        text = text.replace(was, is);
    }
    let worked = worked(text);
    let budget = &worked.results.budget;
    let global = at(&worked, "chain.s899");
    let (few, all) = (budget.shares(global, 3), budget.shares(global, usize::MAX));
    assert_eq!(all.len(), 900);
    near(all.iter().map(|(_, share)| share).sum(), 1.0);
    let names = |shares: &[(&super::Uncertain, f64)]| shares[..3].iter().map(|one| one.0.global()).collect();
    let (few_names, all_names): (Vec<usize>, Vec<usize>) = (names(&few), names(&all));
    assert_eq!(few_names, all_names);
    assert_eq!(all_names[..2], [at(&worked, "chain.a3"), at(&worked, "chain.a700")]);
    for (few, all) in few.iter().zip(&all).take(3) {
        near(few.1, all.1);
    }
}

/// A chain of twice the length: about twice the parts, and runs of blocks.
#[test]
fn what_a_chain_costs_grows_with_its_length() {
    let cost = |text: String| {
        let results = worked(text).results;
        [results.budget.size(), results.runs.nudged.load(Ordering::Relaxed)]
    };
    let makers: BTreeMap<&str, fn(usize) -> String> = BTreeMap::from([
        ("one block", (|count| in_one_block(count, &[])) as fn(usize) -> String),
        ("blocks", in_blocks),
    ]);
    for (what, text) in makers {
        let (once, twice) = (cost(text(1_000)), cost(text(2_000)));
        for (once, twice) in once.into_iter().zip(twice) {
            assert!(10 * twice < 23 * once, "{what}: {once}, then {twice}");
        }
    }
}
