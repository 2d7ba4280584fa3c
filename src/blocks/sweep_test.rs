//! Each kind's example with every typed number in turn left out, or of another dimension: no requirement is met that was
//! not met before, and none that rests on the number. Halved and doubled, each moves the margins as a table says.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::fs;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

use super::KINDS;
use crate::compile::{Worked, compile};
use crate::evaluate::Verdict;
use crate::model::{Evidence, EvidenceFault, Needed};
use crate::parallel;
use crate::source::{FileId, Source, Sources};

struct NoFiles;

impl Evidence for NoFiles {
    fn read(&self, _path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        Err(EvidenceFault::Missing)
    }
}

fn work(text: &str) -> Worked {
    let sources = Sources(vec![Source::new("journal.md", text)]);
    compile(&sources, &[FileId(0)], &NoFiles, None)
}

/// Requirements by full name, with their verdicts.
fn verdicts(worked: &Worked) -> HashMap<String, Verdict> {
    let name = |block: usize, number: usize| {
        let block = &worked.notebook.blocks[block];
        format!("{}.{}", block.name, block.requirements[number].name)
    };
    let judged = worked.results.judged.iter();
    judged.map(|judged| (name(judged.block, judged.number), judged.verdict)).collect()
}

/// The requirements that rest on a value, by full name.
fn resting_on(worked: &Worked, value: usize) -> HashSet<String> {
    let needed_by = worked.plan.needed_by();
    let mut reached = vec![false; worked.plan.len()];
    let mut open = vec![value];
    while let Some(at) = open.pop() {
        if !std::mem::replace(&mut reached[at], true) {
            open.extend(needed_by.of(at).iter().map(|next| *next as usize));
        }
    }
    let judged = worked.results.judged.iter().filter(|judged| {
        [Some(judged.actual), judged.low, judged.high].into_iter().flatten().any(|part| reached[part])
    });
    judged
        .map(|judged| {
            let block = &worked.notebook.blocks[judged.block];
            format!("{}.{}", block.name, block.requirements[judged.number].name)
        })
        .collect()
}

/// A number of the example.
struct Typed {
    name: String,
    value: usize,
    /// Where number and unit stand.
    at: Range<usize>,
    /// Nothing stands in for it.
    required: bool,
    mass: bool,
}

fn typed(worked: &Worked) -> Vec<Typed> {
    let mut found = Vec::new();
    for (number, block) in worked.notebook.blocks.iter().enumerate() {
        for (index, node) in block.nodes.iter().enumerate() {
            let Some(leaf) = node.leaf().filter(|leaf| leaf.readings.is_none() && !leaf.default) else {
                continue;
            };
            if leaf.rule.is_some() || leaf.stated || node.hidden || leaf.literal.at.is_empty() {
                continue;
            }
            let start = node.span.start as usize;
            found.push(Typed {
                name: format!("{}.{}", block.name, node.name),
                value: worked.plan.first[number] + index,
                at: start + leaf.literal.at.start..start + leaf.literal.at.end,
                required: node.doc.is_some_and(|doc| doc.needed == Needed::Required),
                mass: leaf.literal.unit.symbol == "kg",
            });
        }
    }
    found
}

/// The journal without the key whose value that is; `None` where it stands in a list of values.
fn without(text: &str, at: &Range<usize>) -> Option<String> {
    let before = text[..at.start].rfind([',', '{', '[', '\n'])?;
    let after = at.end + text[at.end..].find([',', '}', ']', '\n'])?;
    let key = &text[before + 1..at.start];
    if !key.contains(':') || key.trim_start().starts_with('-') {
        return None;
    }
    let (from, to) = match (&text[before..=before], &text[after..=after]) {
        ("\n", _) => (before, after),
        (_, ",") => (before + 1, after + 1),
        (",", _) => (before, after),
        _ => (before + 1, after),
    };
    Some(format!("{}{}", &text[..from], &text[to..]))
}

/// Every number of every kind's example, with kind and journal.
fn every_number() -> Vec<(&'static str, &'static str, Typed)> {
    let numbers: Vec<_> = KINDS
        .iter()
        .flat_map(|kind| {
            let text = kind.example.journal;
            typed(&work(text)).into_iter().map(move |typed| (kind.name, text, typed))
        })
        .collect();
    assert!(numbers.len() > 100, "only {} numbers", numbers.len());
    numbers
}

/// Numbers that may be left out, and requirements that are met without them all the same: the kind says what stands
/// instead, or another requirement is open for it.
const STAYS: &[(&str, &str)] = &[
    // Defaults, which the dossier lists: 0 Ω (the current at a given power, not the voltage), 70 °C, 95 %, 60 V.
    ("pack.string_resistance", "pack.peak_current"),
    ("main.conductor_temperature", "main.drop_share"),
    ("precharge.target_share", "precharge.target_voltage"),
    ("precharge.target_share", "precharge.time_to_target"),
    ("bleeder.down_to", "bleeder.time"),
    // The full pack remains.
    ("span.charge_end_voltage", "span.inverter"),
    // The other limit of the charger remains.
    ("charger.current_limit", "night.pack_current"),
    ("charger.current_limit", "night.breaker"),
    ("charger.power_limit", "night.pack_current"),
    ("charger.power_limit", "night.breaker"),
    // `cell_temperature_high` is open.
    ("cell.charge_temperature_high", "night.cell_temperature"),
    ("cell.charge_temperature_high", "braking.cell_temperature"),
];

#[test]
fn no_requirement_is_met_without_what_it_rests_on() {
    let jobs = every_number();
    let faults = parallel::each(jobs.len(), 1, |at| {
        let (kind, text, typed) = &jobs[at];
        let full = work(text);
        let (before, rests) = (verdicts(&full), resting_on(&full, typed.value));
        let met = |name: &String| before.get(name) == Some(&Verdict::Meets);
        let mut faults = Vec::new();
        let other = if typed.mass { "7 m" } else { "7 kg" };
        let other = format!("{}{other}{}", &text[..typed.at.start], &text[typed.at.end..]);
        for (name, verdict) in verdicts(&work(&other)) {
            if verdict == Verdict::Meets && (rests.contains(&name) || !met(&name)) {
                faults.push(format!("{kind}: `{name}` is met with `{}` of another dimension", typed.name));
            }
        }
        for (name, verdict) in without(text, &typed.at).map(|text| verdicts(&work(&text))).unwrap_or_default()
        {
            let stays = !typed.required && STAYS.contains(&(typed.name.as_str(), name.as_str()));
            if verdict == Verdict::Meets && (rests.contains(&name) && !stays || !met(&name)) {
                faults.push(format!("{kind}: `{name}` is met without `{}`", typed.name));
            }
        }
        faults
    });
    let faults: Vec<String> = faults.into_iter().flatten().collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Which way margins go as a number grows away from 0, by `KIND FIELD`: `+`, `-`, or `~` between two limits. What is not
/// named does not move, or can't be worked with half and twice as much. Each line was held against the physics. A kind
/// that is added tells them in a journal of `tests/data/verdicts`, each line as `<!-- sign: … -->`.
const SIGNS: &str = include_str!("sweep_signs.txt");

fn signs_of_journals() -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/verdicts");
    let journals = fs::read_dir(folder).expect("the journals").map(|entry| entry.expect("one").path());
    let texts = journals.map(|path| fs::read_to_string(path).unwrap_or_default());
    let line = |line: &str| Some(format!("{}\n", line.strip_prefix("<!-- sign: ")?.strip_suffix(" -->")?));
    texts.flat_map(|text| text.lines().filter_map(line).collect::<Vec<String>>()).collect()
}

#[test]
fn doubled_and_halved_each_number_moves_the_margins_the_right_way() {
    let jobs: Vec<(&str, &str, Typed)> = every_number();
    let found = parallel::each(jobs.len(), 1, |at| {
        let (kind, text, typed) = &jobs[at];
        let moved = |by: f64| {
            let other = times(&text[typed.at.clone()], by)?;
            let text = format!("{}{other}{}", &text[..typed.at.start], &text[typed.at.end..]);
            Some(margins(&work(&text)))
        };
        let (half, own, twice) = (moved(0.5)?, margins(&work(text)), moved(2.0)?);
        let signs = own.iter().filter_map(|(name, own)| {
            let sides = [half.get(name).map(|half| own - half), twice.get(name).map(|twice| twice - own)];
            Some(format!("{name} {}", sign(sides, *own)?))
        });
        Some((format!("{kind} {}", typed.name), signs.collect::<BTreeSet<String>>()))
    });
    let found: BTreeMap<String, BTreeSet<String>> =
        found.into_iter().flatten().filter(|(_, signs)| !signs.is_empty()).collect();
    let added = signs_of_journals();
    let lines = SIGNS.lines().chain(added.lines());
    let told: BTreeMap<String, BTreeSet<String>> = lines
        .filter_map(|line| line.split_once(": "))
        .map(|(number, signs)| (number.to_owned(), signs.split(", ").map(str::to_owned).collect()))
        .collect();
    let line = |(number, signs): (&String, &BTreeSet<String>)| {
        format!("{number}: {}", signs.iter().cloned().collect::<Vec<_>>().join(", "))
    };
    let wrong: Vec<String> =
        found.iter().filter(|(name, signs)| told.get(*name) != Some(*signs)).map(line).collect();
    let gone: Vec<&String> = told.keys().filter(|name| !found.contains_key(*name)).collect();
    assert!(wrong.is_empty() && gone.is_empty(), "not as told:\n{}\nnot moved: {gone:?}", wrong.join("\n"));
}

fn margins(worked: &Worked) -> HashMap<String, f64> {
    let judged = worked.results.judged.iter();
    judged
        .filter_map(|judged| {
            let block = &worked.notebook.blocks[judged.block];
            Some((format!("{}.{}", block.name, block.requirements[judged.number].name), judged.margin?))
        })
        .collect()
}

/// `+` where the margin grows with the number, on each side that it can be worked on; `None` where it stays.
fn sign(sides: [Option<f64>; 2], own: f64) -> Option<char> {
    let flat = 1e-9 * own.abs().max(1e-3);
    let ways: Vec<bool> =
        sides.into_iter().flatten().filter(|by| by.abs() > flat).map(|by| by > 0.0).collect();
    match ways.as_slice() {
        [] => None,
        ways if ways.iter().all(|up| *up) => Some('+'),
        ways if !ways.iter().any(|up| *up) => Some('-'),
        _ => Some('~'),
    }
}

/// `18 kWh` by 2 is `36 kWh`; `None` for what is no plain number with a unit.
fn times(text: &str, by: f64) -> Option<String> {
    let in_number = |(at, sign): &(usize, char)| {
        let group = *sign == ' ' && text[at + 1..].starts_with(|next: char| next.is_ascii_digit());
        !group && !sign.is_ascii_digit() && !".-".contains(*sign)
    };
    let end = text.char_indices().find(in_number).map_or(text.len(), |(at, _)| at);
    let (number, rest) = text.split_at(end);
    let number: f64 = number.replace(' ', "").parse().ok()?;
    (!rest.starts_with(['/', ':'])).then(|| format!("{}{rest}", number * by))
}
