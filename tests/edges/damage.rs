//! Damaged journals: whatever stands in one, the program ends well and loses nothing.

use std::fs;
use std::sync::atomic::{AtomicUsize, Ordering};

use crate::chance::Chance;
use crate::mutation::{journals, mutated};
use crate::program::Folder;
use crate::regions::without_regions;
use crate::{run, times};

/// How many journals are damaged in a run.
const CASES: usize = 2_000;
/// Each so many of them become a dossier too.
const PRINTED: usize = 40;

#[test]
fn whatever_stands_in_a_journal_it_is_worked_twice_and_nothing_is_lost() {
    let cases = times("VOLTWRIGHT_CASES", CASES);
    let journals = journals();
    assert!(journals.len() > 150, "{}", journals.len());
    let next = AtomicUsize::new(0);
    std::thread::scope(|threads| {
        let hands: Vec<_> = (0..4)
            .map(|_| {
                threads.spawn(|| {
                    loop {
                        let case = next.fetch_add(1, Ordering::Relaxed);
                        if case >= cases {
                            break;
                        }
                        let (path, text) = &journals[case % journals.len()];
                        let damaged = mutated(text, &mut Chance::new(case as u64));
                        let told = format!("seed {case} of {}", path.display());
                        let ended = std::panic::catch_unwind(|| hold(&damaged, case.is_multiple_of(PRINTED)));
                        assert!(ended.is_ok(), "{told}:\n{}", String::from_utf8_lossy(&damaged));
                    }
                })
            })
            .collect();
        for hand in hands {
            hand.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault));
        }
    });
}

fn hold(damaged: &[u8], printed: bool) {
    let folder = Folder::new();
    folder.write("journal.md", damaged);
    let path = folder.path.join("journal.md");
    let checked = run(&["check", "--json"], &folder);
    assert!(checked.status <= 1, "check ended with {}: {}", checked.status, checked.err);
    let register: serde_json::Value = serde_json::from_str(&checked.out).expect("a register");
    assert!(register["findings"].is_array());
    assert_eq!(fs::read(&path).expect("the journal"), damaged, "`check` wrote");

    let first = run(&["work"], &folder);
    assert!(first.status <= 1, "work ended with {}: {}", first.status, first.err);
    let worked = fs::read(&path).expect("the journal");
    let second = run(&["work"], &folder);
    assert!(second.status <= 1, "work ended with {}: {}", second.status, second.err);
    assert!(fs::read(&path).expect("the journal") == worked, "the second working changed something");
    // Where nothing stood that the program may change, nothing else is changed; a region at the very end begins a line.
    if let (Ok(before), Ok(after)) = (std::str::from_utf8(damaged), std::str::from_utf8(&worked))
        && !before.contains("worked:")
        && !before.contains("result:")
    {
        let kept = without_regions(after);
        let kept = if before.ends_with('\n') { &kept } else { kept.strip_suffix('\n').unwrap_or(&kept) };
        assert_eq!(kept, before);
    }
    if printed {
        let dossier = run(&["dossier", "--no-write-back"], &folder);
        assert!(dossier.status <= 1, "dossier ended with {}: {}", dossier.status, dossier.err);
    }
    assert!(crate::names(&folder.path).iter().all(|name| !name.ends_with(".part")));
}
