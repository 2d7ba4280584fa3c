//! The rule packs that are shipped: each item can be judged, and none is better than what is known of it.

use std::sync::Arc;

use super::KINDS;
use crate::compile::compile;
use crate::evaluate::Verdict;
use crate::model::{Evidence, EvidenceFault, Status, misfits};
use crate::report::Outcome;
use crate::rules::Standing;
use crate::rules::packs::{Ground, own, shipped, subjects};
use crate::source::{FileId, Source, Sources};

struct Files;

impl Evidence for Files {
    fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        match path {
            "shown.txt" => Ok(Arc::from(&b"what was shown"[..])),
            _ => Err(EvidenceFault::Missing),
        }
    }
}

#[test]
fn every_item_is_judged_by_what_the_program_has() {
    let all = shipped().iter().chain([subjects()]);
    let faults: Vec<String> = all
        .flat_map(|pack| {
            pack.items
                .iter()
                .flat_map(|item| misfits(item, KINDS))
                .map(|fault| format!("{}: {fault}", pack.name))
        })
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(shipped().len() == 14 && shipped().iter().all(|pack| !pack.items.is_empty()));
}

#[test]
fn every_pack_says_first_what_was_read_and_who_decides() {
    for pack in shipped() {
        assert!(
            pack.about.contains("read") || pack.about.contains("obtained"),
            "{}: {}",
            pack.name,
            pack.about
        );
        assert!(pack.about.contains("local authority"), "{}: {}", pack.name, pack.about);
    }
}

/// With every kind's example, and everything answered with evidence by everybody who is asked for.
#[test]
fn no_item_is_better_than_what_is_known_of_it() {
    let packs: Vec<&str> = shipped().iter().map(|pack| pack.name.as_str()).collect();
    let mut rest = String::from("\n```yaml inspection all_of_them\nanswers:\n");
    for (pack, item) in shipped().iter().flat_map(|pack| pack.items.iter().map(move |item| (pack, item))) {
        let answer = "{answer: yes, evidence: PH-1, by: certifier referee installer, date: 2026-03-02}";
        rest.push_str(&format!("  {}.{}: {answer}\n", pack.name, item.id));
    }
    rest.push_str("```\n\n```yaml sources shown\nPH-1: {title: Shown, file: shown.txt}\n```\n");
    let head = format!("---\nrules: [{}]\nstage: show\n---\n\n", packs.join(", "));
    let mut seen = [0; 4];
    for kind in KINDS {
        let sources =
            Sources(vec![Source::new("journal.md", format!("{head}{}{rest}", kind.example.journal))]);
        let worked = compile(&sources, &[FileId(0)], &Files, None);
        let coverage = worked.told().coverage().expect("rules");
        for row in coverage.packs.iter().flat_map(|pack| &pack.items) {
            let name =
                format!("{}: {}.{}: {} ({})", kind.name, row.pack, row.id, row.outcome.word(), row.reason);
            match row.status {
                "memory" | "practice" => {
                    assert!(matches!(row.outcome, Outcome::Open | Outcome::NotApplicable), "{name}")
                }
                "second-hand" => {
                    assert!(!matches!(row.outcome, Outcome::Meets | Outcome::Answered), "{name}")
                }
                _ => {}
            }
            seen[0] += usize::from(row.status == "memory");
            seen[1] += usize::from(row.outcome == Outcome::Close);
            seen[2] += usize::from(row.outcome == Outcome::Answered);
        }
        for judged in &worked.results.judged {
            let requirement = &worked.notebook.blocks[judged.block].requirements[judged.number];
            let name = format!("{}: {} {}", kind.name, requirement.name, judged.reason);
            match requirement.status {
                Status::Memory => assert_eq!(judged.verdict, Verdict::Open, "{name}"),
                Status::SecondHand => assert_ne!(judged.verdict, Verdict::Meets, "{name}"),
                _ => {}
            }
            seen[3] += usize::from(matches!(requirement.status, Status::Memory | Status::SecondHand));
        }
    }
    assert!(seen.iter().all(|count| *count > 5), "{seen:?}");
}

#[test]
fn a_journal_with_only_rules_lists_every_subject_as_missing() {
    let text = "---\nrules: [un-r100]\n---\n";
    let sources = Sources(vec![Source::new("journal.md", text)]);
    let coverage = compile(&sources, &[FileId(0)], &Files, None).told().coverage().expect("rules");
    assert_eq!(coverage.subjects.len(), 25);
    assert!(coverage.rows().all(|row| matches!(row.outcome, Outcome::Missing)), "not all are missing");
}

/// FMVSS 305 S3: exactly 60 V is no high voltage; the list is shorter then, and nothing of it is met by the battery alone.
#[test]
fn a_journal_with_only_a_battery_lists_every_subject_as_missing() {
    for (full, missing) in [("4 V", 15), ("4.00667 V", 25)] {
        let text = format!(
            "```yaml part cell21\nrole: cell\nnominal_voltage: 3.6 V\nfull_voltage: {full}\nempty_voltage: 3 V\ncapacity: 50 Ah\n\
             mass: 1 kg\nresistance: 1 mohm\ncontinuous_discharge: 50 A\npeak_discharge: 100 A\n```\n\n\
             ```yaml pack-layout pack\ncell: cell21\nseries: 15\nparallel: 1\nhousing_mass: 10 kg\n```\n"
        );
        let sources = Sources(vec![Source::new("journal.md", text)]);
        let worked = compile(&sources, &[FileId(0)], &Files, None);
        let coverage = worked.told().coverage().expect("a voltage");
        let count = |outcome| coverage.subjects.iter().filter(|row| row.outcome == outcome).count();
        assert_eq!(
            (count(Outcome::Missing), count(Outcome::NotApplicable)),
            (missing, 25 - missing),
            "{full}"
        );
    }
}

#[test]
fn what_is_amiss_in_a_pack_is_told_with_its_line_and_the_item_left_out() {
    let text = "# Own.\nitems:\n  good:\n    theme: a\n    kind: legal\n    document: D\n    clause: \"1\"\n    status: read\n    asks: this\n    judged_by: [{evidence: that}]\n  bad:\n    theme: b\n    kind: legal\n    document: D\n    clause: \"1\"\n    status: seen\n    asks: this\n    judged_by: [{evidence: that}]\n";
    let (pack, faults) = own("own", text);
    assert_eq!(pack.items.len(), 1);
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert!(faults[0].line == 11 && faults[0].message.contains("`seen` is no status"), "{faults:?}");
    assert_eq!(pack.items[0].judged_by, [Ground::Evidence("that".to_owned())]);
    assert_eq!(pack.items[0].source.as_ref().map(|source| source.standing), Some(Standing::Read));
}
