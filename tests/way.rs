//! `trace` tells the whole way from a result to its leaves, as text and as JSON.

use std::collections::BTreeMap;

use serde_json::Value;

#[path = "support/copied.rs"]
mod copied;
#[path = "support/program.rs"]
mod program;

use copied::copy_of;
use program::{Folder, Run, program};

const CHAIN: &str = "\
```yaml sources papers
WB-1: {title: Weigh ticket}
```

```yaml worksheet load
given:
  bare: {value: 900 kg, tolerance: 6 kg, basis: measured, source: WB-1}
  people: {readings: [151 kg, 149 kg, 150 kg], tolerance: 0, remark: two of them}
  share: 0.5
steps:
  - {name: total, is: bare + people, unit: kg}
  - {name: rear, is: total * share, unit: kg}
```

```yaml worksheet brake
given: {taken: from load.rear, twice: from load.rear * 2}
steps:
  - {name: sum, is: taken + twice - load.total, unit: kg}
```
";

#[test]
fn the_way_leads_from_a_result_to_its_leaves() {
    let way = traced(CHAIN, "brake.sum");
    assert_eq!(way["route"], "worksheet, one route");
    assert_eq!(way["formula"], "brake.taken + brake.twice − load.total");
    assert_eq!(names(&way["needs"]), ["brake.taken", "brake.twice", "load.total"]);
    let rear = &way["needs"][0]["needs"][0];
    assert_eq!((&rear["name"], &rear["basis"]), (&"load.rear".into(), &"worked".into()));
    assert_eq!(way["needs"][1]["formula"], "load.rear × 2");
    let [total, share] = [&rear["needs"][0], &rear["needs"][1]];
    assert_eq!((&share["basis"], &share["route"]), (&"assumed".into(), &"typed".into()));
    let [bare, people] = [&total["needs"][0], &total["needs"][1]];
    assert_eq!(bare["source"], serde_json::json!({"id": "WB-1", "title": "Weigh ticket"}));
    assert_eq!(bare["place"], serde_json::json!({"file": "journal.md", "line": 7, "column": 9}));
    assert_eq!((&bare["si"], &bare["si_unit"]), (&900.0.into(), &"kg".into()));
    assert!((bare["uncertainty_si"].as_f64().expect("u") - 6.0 / 3f64.sqrt()).abs() < 1e-12);
    assert_eq!((&people["route"], &people["remark"]), (&"readings".into(), &"two of them".into()));
    assert_eq!(way["weakest_basis"], "assumed");
}

/// A value that is needed twice is told once; where it comes again it says so.
#[test]
fn what_was_told_is_not_told_again() {
    let way = traced(CHAIN, "brake.sum");
    let second = &way["needs"][1]["needs"][0];
    assert_eq!((&second["name"], &second["again"]), (&"load.rear".into(), &"above".into()));
    assert_eq!(second["needs"], serde_json::json!([]));
    assert!(way["needs"][0]["needs"][0].get("again").is_none());
}

#[test]
fn contributions_are_all_told_largest_first_and_make_the_whole() {
    let way = traced(CHAIN, "load.total");
    let shares: Vec<(&str, f64)> = way["contributions"]
        .as_array()
        .expect("contributions")
        .iter()
        .map(|one| (one["name"].as_str().expect("a name"), one["share"].as_f64().expect("a share")))
        .collect();
    // 12 kg² of the weigh ticket, 1/3 kg² of the readings.
    assert_eq!(shares.iter().map(|(name, _)| *name).collect::<Vec<_>>(), ["load.bare", "load.people"]);
    assert!((shares[0].1 - 12.0 / (12.0 + 1.0 / 3.0)).abs() < 1e-9, "{shares:?}");
    assert!((shares.iter().map(|(_, share)| share).sum::<f64>() - 1.0).abs() < 1e-12);
    let text = text(CHAIN, "load.total");
    for line in [
        "load.bare      97.3 %",
        "load.people     2.7 %",
        "its weakest basis is `measured`",
        "mean of 3 readings",
    ] {
        assert!(text.contains(line), "{line} is missing in\n{text}");
    }
}

#[test]
fn an_exact_result_says_that_nothing_moves_it() {
    let journal = "```yaml worksheet w\ngiven: {a: 2 kg ± 0 kg (measured)}\nsteps:\n  - {name: b, is: a * 2, unit: kg}\n```\n";
    assert_eq!(traced(journal, "w.b")["contributions"], serde_json::json!([]));
    assert!(text(journal, "w.b").contains("no input that it rests on has a tolerance or readings"));
}

/// Each step refers to the one before twice: written out in full the tree would have 2³⁰⁰ branches. JSON readers refuse
/// what is nested deeper than about 100.
#[test]
fn a_long_chain_is_told_whole_and_stays_readable() {
    let mut journal = "```yaml worksheet w\ngiven: {s0: 1 kg ± 1 g (measured)}\nsteps:\n".to_owned();
    for step in 1..=300 {
        journal += &format!("  - {{name: s{step}, is: s{0} * 0.5 + s{0} * 0.5, unit: kg}}\n", step - 1);
    }
    journal += "```\n";
    let way = traced(&journal, "w.s300");
    let mut told = BTreeMap::new();
    let continued = way["continued"].as_array().expect("trees");
    for tree in std::iter::once(&way).chain(continued) {
        gather(tree, &mut told);
    }
    assert_eq!(told.len(), 301);
    assert!(told.values().all(|count| *count == 1), "{told:?}");
    let text = text(&journal, "w.s300");
    assert!(text.contains("(goes on below)"), "{text}");
    assert!((0..=300).all(|step| text.contains(&format!("w.s{step} = "))));
}

#[test]
fn every_result_of_the_demo_journal_can_be_traced() {
    let folder = copy_of("notebooks-demo/first-hour");
    let run = folder.run(&["check", "--json"]);
    let register: Value = serde_json::from_str(&run.out).expect("a register");
    for (name, result) in register["results"].as_object().expect("results") {
        let way = json(&folder, name);
        assert_eq!(way["name"], *name);
        assert_eq!(
            (&way["si"], &way["uncertainty_si"]),
            (&result["si"], &result["uncertainty_si"]),
            "{name}"
        );
        leads_to_leaves(&way);
    }
}

/// Whatever was worked needs something; whatever needs nothing has a basis.
fn leads_to_leaves(step: &Value) {
    let needs = step["needs"].as_array().expect("needs");
    if needs.is_empty() && step.get("again").is_none() {
        assert_ne!(step["basis"], "worked", "{step}");
    }
    assert!(step["place"]["line"].as_u64().is_some_and(|line| line > 0), "{step}");
    needs.iter().for_each(leads_to_leaves);
}

/// How often each value's needs are told.
fn gather(step: &Value, told: &mut BTreeMap<String, usize>) {
    if step.get("again").is_none() && (step["name"] != "w.s0" || !told.contains_key("w.s0")) {
        *told.entry(step["name"].as_str().expect("a name").to_owned()).or_default() += 1;
    }
    step["needs"].as_array().expect("needs").iter().for_each(|need| gather(need, told));
}

fn names(steps: &Value) -> Vec<&str> {
    steps.as_array().expect("steps").iter().filter_map(|step| step["name"].as_str()).collect()
}

#[track_caller]
fn traced(journal: &str, name: &str) -> Value {
    let folder = Folder::new();
    folder.write("journal.md", journal);
    json(&folder, name)
}

#[track_caller]
fn json(folder: &Folder, name: &str) -> Value {
    let run =
        Run::of(program(&["trace", "--json", name]).arg(&folder.path).output().expect("the program starts"));
    assert_eq!(run.status, 0, "{}", run.err);
    serde_json::from_str(&run.out).unwrap_or_else(|fault| panic!("{fault}:\n{}", run.out))
}

#[track_caller]
fn text(journal: &str, name: &str) -> String {
    let folder = Folder::new();
    folder.write("journal.md", journal);
    let run = folder.run(&["trace", name]);
    assert_eq!(run.status, 0, "{}", run.err);
    run.out
}
