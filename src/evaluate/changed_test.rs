//! A change gives what the journal gives when its text is edited by hand and read anew.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use super::changed::{Trial, try_all};
use super::variant::Variant;
use super::{Results, State, Verdict};
use crate::blocks::KINDS;
use crate::compile::{Worked, compile};
use crate::findings::Finding;
use crate::graph::Plan;
use crate::model::{
    BlockEntry, Change, Changeable, Evidence, EvidenceFault, NodeDecl, Notebook, Origin, Refusal, Role,
    Wanted,
};
use crate::parallel;
use crate::source::{FileId, Source, Sources};

const TWENTY: &str = include_str!("../../tests/data/changed/twenty.md");

struct Folder(PathBuf);

impl Evidence for Folder {
    fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        fs::read(self.0.join(path)).map(Arc::from).map_err(|_| EvidenceFault::Missing)
    }
}

/// A journal as text, and worked.
struct Journal {
    sources: Sources,
    folder: Folder,
    worked: Worked,
}

impl Journal {
    fn new(texts: Vec<String>, folder: PathBuf) -> Journal {
        let sources = Sources(texts.into_iter().map(|text| Source::new("journal.md", text)).collect());
        let folder = Folder(folder);
        let worked = anew(&sources, &folder);
        Journal { sources, folder, worked }
    }

    fn of(text: &str) -> Journal {
        Journal::new(vec![text.to_owned()], PathBuf::from("nowhere"))
    }

    fn demonstration() -> Journal {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("notebooks-demo/pickup");
        let entries = fs::read_dir(&folder).expect("a folder").map(|entry| entry.expect("a file").path());
        let mut paths: Vec<PathBuf> =
            entries.filter(|path| path.extension().is_some_and(|ending| ending == "md")).collect();
        paths.sort();
        let texts = paths.iter().map(|path| fs::read_to_string(path).expect("a journal")).collect();
        Journal::new(texts, folder)
    }

    fn changeable(&self) -> Changeable<'_> {
        Changeable::new((&self.worked.journals, &self.sources), KINDS, &self.folder)
    }

    fn node(&self, set: &str) -> (usize, &NodeDecl) {
        let (block, name) = set.split_once('.').expect("a full name");
        let number = self.worked.notebook.names[block];
        let nodes = &self.worked.notebook.blocks[number].nodes;
        (number, nodes.iter().find(|node| node.name == name).expect("a field"))
    }

    /// The texts with the changes made as an author makes them.
    fn by_hand(&self, changes: &[Change]) -> Sources {
        let mut edits: Vec<(usize, usize, usize, String)> = Vec::new();
        for change in changes {
            let (number, node) = self.node(&change.set);
            if node.leaf().is_some_and(|leaf| leaf.default) {
                let fences = self.worked.notebook.fences.iter().enumerate();
                let (file, fence) = fences
                    .flat_map(|(file, fences)| {
                        fences.iter().enumerate().map(move |(at, own)| (file, at, own))
                    })
                    .find_map(|(file, at, own)| (*own == Some(number)).then_some((file, at)))
                    .expect("a fence");
                let end = self.worked.journals[file].fences[fence].body_span.end as usize;
                edits.push((file, end, end, format!("{}: {}\n", node.name, change.to)));
            } else {
                let range = node.span.range();
                edits.push((node.span.file.0 as usize, range.start, range.end, change.to.clone()));
            }
        }
        edits.sort();
        let mut texts: Vec<String> = self.sources.0.iter().map(|source| source.text.to_string()).collect();
        for (file, start, end, text) in edits.into_iter().rev() {
            texts[file].replace_range(start..end, &text);
        }
        Sources(texts.into_iter().map(|text| Source::new("journal.md", text)).collect())
    }
}

fn anew(sources: &Sources, folder: &Folder) -> Worked {
    let files: Vec<FileId> = (0..sources.0.len()).map(|at| FileId(at as u32)).collect();
    compile(sources, &files, folder, None)
}

fn change(set: &str, to: &str) -> Change {
    Change { set: set.to_owned(), to: to.to_owned() }
}

/// All that a register holds of values and verdicts, by full name.
type Found = BTreeMap<String, (State, f64, f64, Option<String>, Option<Verdict>)>;

fn found((notebook, plan, results): (&Notebook, &Plan, &Results)) -> Found {
    let mut all = Found::new();
    // Studies are answered before a journal is worked, and never in a changed one.
    let answers = |block: &BlockEntry, node: &NodeDecl| block.block.study().is_some() && node.row.is_some();
    for (number, block) in notebook.blocks.iter().enumerate() {
        let named = |node: &NodeDecl| node.has_a_name() && !answers(block, node);
        for (index, node) in block.nodes.iter().enumerate().filter(|(_, node)| named(node)) {
            let at = plan.first[number] + index;
            let text = results.texts[at].clone();
            let value = (results.states[at], results.values[at], results.standard[at], text, None);
            all.insert(format!("{}.{}", block.name, node.name), value);
        }
    }
    for judged in &results.judged {
        let block = &notebook.blocks[judged.block];
        let name = format!("requirement {}.{}", block.name, block.requirements[judged.number].name);
        let margin = judged.margin.unwrap_or(f64::NAN);
        let conformity = judged.conformity.unwrap_or(f64::NAN);
        all.insert(name, (State::Known, margin, conformity, None, Some(judged.verdict)));
    }
    all
}

#[track_caller]
fn same(changed: &Found, by_hand: &Found, what: &str) {
    let names = |found: &Found| found.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(changed), names(by_hand), "{what}");
    let near = |a: f64, b: f64| a.to_bits() == b.to_bits() || a.is_nan() && b.is_nan() || close(a, b);
    for ((name, a), b) in changed.iter().zip(by_hand.values()) {
        assert_eq!((a.0, &a.3, a.4), (b.0, &b.3, b.4), "{what}: {name}");
        assert!(near(a.1, b.1) && near(a.2, b.2), "{what}: {name} is {a:?} and by hand {b:?}");
    }
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * a.abs().max(b.abs())
}

/// Makes the changes both ways and compares all that comes out. Says whether they could be made.
#[track_caller]
fn check(journal: &Journal, changeable: &Changeable<'_>, changes: &[Change]) -> bool {
    let what = format!("{changes:?}");
    let by_hand = anew(&journal.by_hand(changes), &journal.folder);
    let errors = |findings: &[Finding]| findings.iter().filter(|finding| finding.is_error()).count();
    match Variant::of(changeable, changes) {
        Ok(variant) => {
            let (results, findings) = variant.run(None);
            let changed = found((&variant.notebook, &variant.plan, &results));
            same(&changed, &found((&by_hand.notebook, &by_hand.plan, &by_hand.results)), &what);
            let mut findings = findings;
            findings.dedup();
            assert_eq!(errors(&findings) > 0, by_hand.has_errors(), "{what}");
            true
        }
        Err(refused) => {
            let more = errors(&by_hand.findings) > errors(&journal.worked.findings);
            assert!(more, "{what}: {refused:?}, and by hand there is no error");
            false
        }
    }
}

/// Something else for an input to be: a number a little larger, in place of a reference a value near what it gives.
fn other(journal: &Journal, number: usize, index: usize) -> Option<Change> {
    let Worked { notebook, plan, results, .. } = &journal.worked;
    let block = &notebook.blocks[number];
    let node = &block.nodes[index];
    let cut = matches!(&node.role, Role::Field(Origin::Reference(taken)) if taken.wanted == Wanted::Author);
    let leaf = node.leaf().filter(|leaf| !leaf.stated && leaf.rule.is_none());
    let curve = matches!(node.role, Role::Field(Origin::Curve { .. }));
    let global = plan.first[number] + index;
    // The ends of a stretch are parts of one text.
    let stretch = [".from", ".to"].iter().any(|end| node.name.ends_with(end));
    if stretch
        || node.hidden
        || curve
        || results.states[global] != State::Known
        || results.curves[global].is_some()
    {
        return None;
    }
    let unit = match leaf {
        // A default in an item of a list is no line of its own.
        Some(leaf) if leaf.default && (node.span != block.name_span || node.doc.is_none()) => return None,
        Some(leaf) => leaf.literal.unit.clone(),
        None if cut => results.units[global].clone(),
        None => return None,
    };
    // Items of a file have no place in the journal.
    let written = journal.sources.text(node.span);
    if leaf.is_some_and(|leaf| !leaf.default)
        && !written.starts_with(|c: char| c.is_ascii_digit() || "-−{'\"".contains(c))
    {
        return None;
    }
    let value = unit.value_of(results.values[global]);
    let to = match node.count {
        true => format!("{}", value + 1.0),
        false => format!("{:.7} {}", value * 0.97, unit.symbol),
    };
    let to = to.trim_end_matches(" 1").to_owned();
    Some(Change { set: format!("{}.{}", block.name, node.name), to })
}

fn others(journal: &Journal) -> Vec<Change> {
    let blocks = journal.worked.notebook.blocks.iter().enumerate();
    let nodes = blocks.flat_map(|(number, block)| (0..block.nodes.len()).map(move |index| (number, index)));
    nodes.filter_map(|(number, index)| other(journal, number, index)).collect()
}

#[test]
fn every_number_of_every_example_changes_as_by_hand() {
    let made = parallel::each(KINDS.len(), 1, |at| {
        let journal = Journal::of(KINDS[at].example.journal);
        let changeable = journal.changeable();
        others(&journal)
            .into_iter()
            .filter(|one| check(&journal, &changeable, std::slice::from_ref(one)))
            .count()
    });
    assert!(made.iter().sum::<usize>() > 300, "{made:?}");
}

#[test]
fn every_number_of_twenty_blocks_changes_as_by_hand() {
    let journal = Journal::of(TWENTY);
    assert!(!journal.worked.has_errors());
    let changeable = journal.changeable();
    let changes: Vec<Change> = others(&journal).into_iter().step_by(3).collect();
    let made = parallel::each(changes.len(), 1, |at| check(&journal, &changeable, &changes[at..=at]));
    assert!(made.iter().filter(|made| **made).count() > 40, "{} of {}", made.len(), changes.len());
}

#[test]
fn the_demonstration_changes_as_by_hand() {
    let journal = Journal::demonstration();
    let changeable = journal.changeable();
    let changes: Vec<Change> = others(&journal).into_iter().step_by(61).collect();
    let made = parallel::each(changes.len(), 1, |at| check(&journal, &changeable, &changes[at..=at]));
    assert!(made.iter().filter(|made| **made).count() > 4, "{made:?}");
}

#[test]
fn parts_change_as_by_hand_whatever_their_shape() {
    let journal = Journal::of(TWENTY);
    let changeable = journal.changeable();
    // What hangs on the bus, and which motor there is, go by what is installed: precharge and voltage span look there too.
    for (changes, again) in [
        (
            vec![
                change("drive.motor", "quick"),
                change("go.motor", "quick"),
                change("kerb.installed.motor.part", "quick"),
            ],
            5,
        ),
        (
            vec![
                change("drive.motor", "curved"),
                change("go.motor", "curved"),
                change("kerb.installed.motor.part", "curved"),
            ],
            5,
        ),
        (
            vec![
                change("drive.motor", "curved"),
                change("go.motor", "curved"),
                change("kerb.installed.motor.part", "slow"),
            ],
            5,
        ),
        (vec![change("kerb.installed.inverter.part", "quick")], 3),
        (vec![change("pack.cell", "light_cell")], 5),
        (
            vec![
                change("pack.series", "90"),
                // The traction block reads which gears the chain has.
                change("drive.stages.final.ratio", "4.1"),
                change("kerb.installed.brackets.count", "9"),
            ],
            6,
        ),
        (vec![change("main.pack", "from pack"), change("goals.budget", "8 000 EUR")], 4),
    ] {
        assert!(check(&journal, &changeable, &changes), "{changes:?}");
        let variant = Variant::of(&changeable, &changes).unwrap_or_else(|refused| panic!("{refused:?}"));
        assert!(variant.read_again.len() <= again, "{changes:?}: {:?}", variant.read_again);
    }
}

#[test]
fn a_ledger_s_item_follows_the_part() {
    let journal = Journal::of(TWENTY);
    let changeable = journal.changeable();
    let both = [change("go.motor", "quick"), change("drive.motor", "quick")];
    let variant = Variant::of(&changeable, &both).unwrap_or_else(|refused| panic!("{refused:?}"));
    assert_eq!(variant.followed, ["kerb.installed.motor.part"]);
    let mut all = both.to_vec();
    all.push(change("kerb.installed.motor.part", "quick"));
    let by_hand = anew(&journal.by_hand(&all), &journal.folder);
    let results = variant.run(None).0;
    let changed = found((&variant.notebook, &variant.plan, &results));
    same(&changed, &found((&by_hand.notebook, &by_hand.plan, &by_hand.results)), "following");
}

#[test]
fn what_can_t_be_changed_is_told() {
    let journal = Journal::of(TWENTY);
    let changeable = journal.changeable();
    let refused = |changes: &[Change]| match changeable.with(changes) {
        Ok(_) => panic!("{changes:?} is made"),
        Err(refused) => refused,
    };
    let told = |set: &str, to: &str| refused(&[change(set, to)]).remove(0).words().to_string();
    assert_eq!(told("drive.motro", "quick"), "there is no input `drive.motro`; did you mean `drive.motor`?");
    assert_eq!(told("nobody.mass", "1 kg"), "there is no input `nobody.mass`");
    assert_eq!(told("pack.mass", "200 kg"), "`pack.mass` is calculated, no input");
    assert_eq!(told("curved.torque_curve", "200 N m"), "`curved.torque_curve` is a curve, not one value");
    assert_eq!(told("pack.series", " "), "nothing is given for `pack.series`");
    assert_eq!(told("pack.series", "96.5"), "`96.5` where a whole number is expected");
    assert_eq!(told("pack.cell", "nobody"), "no block is named `nobody`");
    let twice = refused(&[change("pack.series", "90"), change("pack.series", "92")]);
    assert_eq!(twice, [Refusal::Twice { set: "pack.series".to_owned() }]);
    // Of another motor than the drive's the chain would be refused for that.
    let bare = refused(&[change("drive.motor", "bare"), change("go.motor", "bare")]);
    let lacks = Refusal::Lacks {
        part: "bare".to_owned(),
        fields: vec!["max_speed".to_owned()],
        needed_by: "drive".to_owned(),
    };
    assert!(bare.contains(&lacks), "{bare:?}");
}

/// Candidates of numbers, parts and counts.
fn candidates(count: usize) -> Vec<Vec<Change>> {
    let motors = ["slow", "quick", "curved", "bare"];
    let candidate = |at: usize| {
        let motor = motors[at % 4];
        vec![
            change("drive.motor", motor),
            change("go.motor", motor),
            change("pack.cell", ["cell", "light_cell"][at / 4 % 2]),
            change("drive.stages.final.ratio", &format!("{:.4}", 2.5 + (at / 8 % 40) as f64 * 0.05)),
            change("pack.series", &format!("{}", 80 + at / 320 % 32)),
        ]
    };
    (0..count).map(candidate).collect()
}

#[test]
fn nominal_values_of_candidates_are_those_of_whole_runs() {
    let journal = Journal::of(TWENTY);
    let mut candidates: Vec<Vec<Change>> = candidates(10_000).into_iter().step_by(331).collect();
    // A pack that collapses, a van that does not start, a supply that there is not.
    for (set, to) in [("pack.series", "12"), ("road.rolling_coefficient", "3"), ("night.supply.phases", "4")]
    {
        candidates.push(vec![change(set, to)]);
        candidates.push(vec![change(set, "1"), change("cable.length", "2 m")]);
    }
    let (made, wrong, variants) = as_whole_runs(&journal, &candidates);
    assert!(variants <= 14, "{variants} variants");
    assert!(made > 15 && wrong > 2, "{made} made, {wrong} wrong");
}

/// Motors of one form, and some that can't stand for them: one more field, another currency, a mass from elsewhere, one
/// that is none, a chain of names.
const MOTORS: &str = "
```yaml part m0
role: drive motor
title: The first
mass: 40 kg ± 1 kg (datasheet SHEET)
price: 3 000 EUR
peak_torque: 150 N m
peak_power: 60 kW
max_speed: 9 000 rpm
efficiency: 91 %
```

```yaml part m1
role: drive motor
title: The second, in another order
efficiency: 93 %
max_speed: 12 000 rpm
peak_power: 70 kW
peak_torque: 180 N m
price: 4 000 EUR
mass: 50 kg
```

```yaml part m2
role: drive motor
mass: 60 kg
price: 2 500 EUR
peak_torque: 210 N m
peak_power: 80 kW
max_speed: 8 000 rpm
efficiency: 95 %
```

```yaml part m3
role: drive motor
title: Named by others too
mass: 70 kg
price: 5 500 EUR
peak_torque: 240 N m
peak_power: 90 kW
max_speed: 10 500 rpm
efficiency: 90 %
```

```yaml part dollars
role: drive motor
mass: 55 kg
price: 3 300 USD
peak_torque: 200 N m
peak_power: 75 kW
max_speed: 10 000 rpm
efficiency: 92 %
```

```yaml part long
role: drive motor
mass: from m3.mass
price: 3 300 EUR
peak_torque: 200 N m
peak_power: 75 kW
max_speed: 10 000 rpm
efficiency: 92 %
```

```yaml part wrong
role: drive motor
mass: 50 kg
price: 3 300 EUR
peak_torque: 200 N m
peak_power: 75 kW
max_speed: -10 000 rpm
efficiency: 92 %
```

```yaml worksheet beside
given: {budget: 5 000 EUR, other: from m1.mass}
steps:
  - {name: left, is: budget - m3.price, unit: EUR}
  - {name: both, is: other + m3.mass, unit: kg}
```
";

#[test]
fn parts_of_one_form_stand_for_each_other_as_in_whole_runs() {
    let journal = Journal::of(&format!("{TWENTY}{MOTORS}"));
    let motors = ["m0", "m1", "m2", "m3", "quick", "slow", "dollars", "long", "wrong"];
    let mut candidates = Vec::new();
    for first in [0, 3, 4] {
        for motor in (0..motors.len()).map(|at| motors[(first + at) % motors.len()]) {
            for inverter in ["charger", motor, motors[first]] {
                candidates.push(vec![
                    change("drive.motor", motor),
                    change("go.motor", motor),
                    change("kerb.installed.inverter.part", inverter),
                    change("beside.budget", &format!("from {motor}.price")),
                ]);
            }
        }
    }
    let (made, wrong, variants) = as_whole_runs(&journal, &candidates);
    assert!(made > 30 && wrong > 10, "{made} made, {wrong} wrong, {variants} variants");
    // Each by itself, but for those that others name too.
    let each = |sets: &[(&str, &str)]| -> usize {
        let of = |motor: &&str| {
            sets.iter().map(|(set, before)| change(set, &format!("{before}{motor}"))).collect()
        };
        let candidates: Vec<Vec<Change>> = ["m0", "m2", "slow", "quick"].iter().map(of).collect();
        as_whole_runs(&journal, &candidates).2
    };
    assert_eq!(each(&[("drive.motor", ""), ("go.motor", "")]), 3, "the first twice, and one held against it");
    // The chain of another motor than the one driven is refused, whichever it is.
    let named = |motors: &[&str]| -> usize {
        let of = |motor: &&str| vec![change("drive.motor", motor), change("go.motor", motor)];
        as_whole_runs(&journal, &motors.iter().map(of).collect::<Vec<_>>()).2
    };
    assert!(named(&["m3", "m2", "m0", "slow"]) > 4, "m3 stands for nobody, as others name it");
}

/// Works candidates, and each of them whole: how many can be worked, how many have errors, and how many notebooks it took.
#[track_caller]
fn as_whole_runs(journal: &Journal, candidates: &[Vec<Change>]) -> (usize, usize, usize) {
    let changeable = journal.changeable();
    let (nominal, effort) = try_all(
        &changeable,
        candidates,
        |_| Vec::new(),
        |nominal| {
            let plan = &nominal.variant.plan;
            let notebook = &nominal.variant.notebook;
            plan.names(notebook)
                .into_iter()
                .filter_map(|name| Some((plan.find(notebook, &name)?, name)))
                .map(|(value, name)| (name, nominal.quantity(value).map(|quantity| quantity.si)))
                .collect::<BTreeMap<String, Option<f64>>>()
        },
    );
    let variants = effort.variants.load(Ordering::Relaxed);
    let (mut made, mut wrong) = (0, 0);
    for (changes, nominal) in candidates.iter().zip(nominal) {
        let variant = match (&nominal, Variant::of(&changeable, changes)) {
            (_, Ok(variant)) => variant,
            (Err(nominal), Err(whole)) => {
                assert_eq!(*nominal, whole);
                wrong += 1;
                continue;
            }
            (Ok(_), Err(whole)) => panic!("{changes:?}: {whole:?}"),
        };
        let (results, findings) = variant.run(None);
        let told = &journal.worked.findings;
        let errors = findings.iter().filter(|finding| finding.is_error() && !told.contains(finding)).count();
        assert_eq!(nominal.is_err(), errors > 0, "{changes:?}: {findings:?}");
        let Ok(values) = nominal else {
            wrong += 1;
            continue;
        };
        // A part that stands for others has their numbers, and items that are called by it keep its name.
        let swapped = |name: &str| {
            let mut options = candidates.iter().flatten().map(|change| change.to.as_str());
            options.any(|option| name.split('.').any(|segment| segment == option))
        };
        for name in variant.plan.names(&variant.notebook).iter().filter(|name| !swapped(name)) {
            let value = variant.plan.find(&variant.notebook, name).expect("a value of that name");
            let (block, index) = variant.plan.local(value);
            let node = &variant.notebook.blocks[block].nodes[index];
            let known =
                results.states[value] == State::Known && !node.is_text() && results.curves[value].is_none();
            let whole = known.then_some(results.values[value]);
            let nominal = values.get(name).copied().flatten();
            let alike = match (nominal, whole) {
                (Some(a), Some(b)) => a == b || close(a, b),
                (a, b) => a.is_none() && b.is_none(),
            };
            assert!(alike, "{changes:?}: {name} is {nominal:?}, and whole {whole:?}");
        }
        made += 1;
    }
    (made, wrong, variants)
}

#[test]
fn only_what_depends_on_a_number_is_worked_again() {
    let journal = Journal::of(TWENTY);
    let changeable = journal.changeable();
    let variant = Variant::of(&changeable, &[]).unwrap_or_else(|refused| panic!("{refused:?}"));
    assert!(variant.read_again.is_empty());
    let runs = |set: &str, asked: &[&str]| {
        let plan = &variant.plan;
        let asked: Vec<usize> = asked.iter().filter_map(|name| plan.find(&variant.notebook, name)).collect();
        let mut trial = Trial::new(&variant, &[set], &asked).expect("an input");
        let before = trial.machine.runs;
        let input = plan.find(&variant.notebook, set).expect("an input");
        let leaf = variant.notebook.blocks[plan.block_of(input)].nodes[plan.local(input).1].leaf();
        let quantity = leaf.expect("a number").literal.quantity;
        trial.at([quantity].into_iter(), &[]).unwrap_or_else(|refused| panic!("{refused:?}"));
        trial.machine.runs - before
    };
    // Nothing but the block itself takes them.
    assert_eq!(runs("cable.length", &[]), 1);
    assert_eq!(runs("precharge.resistance", &[]), 1);
    // A part has no work of its own, its ledger, road and drive have.
    assert_eq!(runs("inverter.mass", &["kerb.converted_mass"]), 1);
    // What is not asked for is left alone.
    assert_eq!(runs("cable.length", &["kerb.converted_mass"]), 0);
    assert!(runs("pack.series", &["pack.full_voltage"]) < runs("pack.series", &[]));
}

/// Not timed but told: how long 10,000 candidates take, of numbers and parts, and where each is a variant of its own.
/// `CANDIDATES=10000 cargo test --release --lib many_candidates_are_worked -- --nocapture`.
#[test]
fn many_candidates_are_worked() {
    let count = std::env::var("CANDIDATES").ok().and_then(|count| count.parse().ok()).unwrap_or(320);
    let journal = Journal::of(TWENTY);
    let together = candidates(count);
    let mut apart = together.clone();
    for changes in &mut apart {
        changes[3].to = format!("from 1 * {}", changes[3].to);
        changes[4].to = format!("from 1 * {}", changes[4].to);
    }
    let asked =
        ["drive.motor_speed", "kerb.laden_mass", "pack.energy", "goals.parts_price", "go.grade_at_50_km_h"];
    let work = |candidates: &[Vec<Change>]| {
        let begun = Instant::now();
        let changeable = journal.changeable();
        let (outcomes, effort) = try_all(
            &changeable,
            candidates,
            |variant| asked.iter().filter_map(|name| variant.plan.find(&variant.notebook, name)).collect(),
            |nominal| asked.map(|name| nominal.named(name).map(|quantity| quantity.si)),
        );
        let taken = begun.elapsed();
        let told = |count: &AtomicUsize| count.load(Ordering::Relaxed);
        let (variants, again, runs) = (told(&effort.variants), told(&effort.read_again), told(&effort.runs));
        println!(
            "{count} candidates in {taken:?}: {variants} variants, {again} blocks read again, {runs} runs"
        );
        outcomes
    };
    let (together, apart) = (work(&together), work(&apart));
    // One motor of four lacks what the drive needs.
    assert_eq!(together.iter().flatten().count(), count - count / 4);
    assert!(together.iter().flatten().flatten().all(Option::is_some));
    for (one, other) in together.iter().flatten().zip(apart.iter().flatten()) {
        assert!(one.iter().flatten().zip(other.iter().flatten()).all(|(a, b)| close(*a, *b)));
    }
}
