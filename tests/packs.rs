//! Published check cases through the rule packs, the clause beside each; and what is wrong with packs and answers.

use std::fs;
use std::path::Path;

#[path = "support/copied.rs"]
mod copied;
#[path = "support/program.rs"]
mod program;
#[path = "support/register.rs"]
mod register;

use program::Folder;
use register::register;
use serde_json::Value;

/// A share that results may be off.
const TOLERANCE: f64 = 0.005;

#[test]
fn published_cases_hold_through_the_packs() {
    let cases = hold("cases.md");
    assert!(cases > 30, "only {cases} cases");
}

#[test]
fn nothing_is_answered_or_met_that_does_not_deserve_it() {
    let cases = hold("attacks.md");
    assert!(cases > 10, "only {cases} cases");
}

/// Holds the journals of a file against what each expects of packs, results, limits and findings; gives how many they are.
#[track_caller]
fn hold(name: &str) -> usize {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/packs");
    let text = fs::read_to_string(data.join(name)).expect("the cases");
    let mut faults = Vec::new();
    let cases: Vec<&str> = text.split("\n# ").skip(1).collect();
    for case in &cases {
        let (title, body) = case.split_once('\n').expect("a title");
        let told = |mark: &str| -> Vec<String> {
            let mark = format!("<!-- {mark}: ");
            let marked = body.split(mark.as_str()).skip(1);
            marked.filter_map(|rest| Some(rest.split_once(" -->")?.0.to_owned())).collect()
        };
        let folder = Folder::new();
        let evidence = copied::copy_of("tests/data/bad/evidence");
        copied::copy(&evidence.path, &folder.path.join("evidence"));
        folder.write("evidence/empty.txt", "");
        for pack in told("own") {
            let pack = format!("rules/{pack}.yaml");
            folder.write(&pack, fs::read(data.join(&pack)).expect("a pack"));
        }
        let rules = told("rules").join(", ");
        folder.write("journal.md", format!("---\nrules: [{rules}]\nstage: show\n---\n\n{body}"));
        let found = register(&folder);
        let codes = told("expect-finding");
        let expected = |one: &Value| codes.iter().any(|code| one["code"] == code.as_str());
        let errors: Vec<&Value> =
            entries(&found, "findings").filter(|one| one["severity"] == "error" && !expected(one)).collect();
        if !errors.is_empty() {
            faults.push(format!("{title}: {errors:?}"));
        }
        let expected = told("expect-item");
        assert!(!expected.is_empty(), "{title} expects nothing of a pack");
        faults.extend(
            expected
                .iter()
                .filter_map(|line| wrong_item(&found, line))
                .map(|fault| format!("{title}: {fault}")),
        );
        faults.extend(told("expect-result").iter().filter_map(|line| {
            let (name, value) = line.split_once(' ').expect("a name and a value");
            off(found["results"][name]["si"].as_f64(), value)
                .map(|fault| format!("{title}: `{name}` {fault}"))
        }));
        faults.extend(told("expect-limit").iter().filter_map(|line| {
            let (name, value) = line.rsplit_once(' ').expect("a name and a value");
            let of = |one: &Value| {
                format!("{}.{}", one["block"].as_str().unwrap_or(""), one["name"].as_str().unwrap_or(""))
            };
            let limit = entries(&found, "requirements").find(|one| of(one) == name);
            off(limit.and_then(|one| one["limit_high_si"].as_f64()), value)
                .map(|fault| format!("{title}: `{name}` {fault}"))
        }));
        for name in told("expect-no-limit") {
            let of = |one: &Value| {
                format!("{}.{}", one["block"].as_str().unwrap_or(""), one["name"].as_str().unwrap_or(""))
            };
            if entries(&found, "requirements").any(|one| of(one) == name) {
                faults.push(format!("{title}: `{name}` is judged"));
            }
        }
        for code in &codes {
            if !entries(&found, "findings").any(|one| one["code"] == code.as_str()) {
                faults.push(format!("{title}: no `{code}`"));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    cases.len()
}

/// A pack of the journal's own adds its limit to the blocks that it is of, and is judged like those that are shipped.
#[test]
fn a_journal_brings_a_pack_of_its_own() {
    let folder = Folder::new();
    copied::copy(&copied::copy_of("tests/data/bad/rules").path, &folder.path.join("rules"));
    let ledger = "```yaml mass-ledger kerb\ndonor: {mass: 970 kg ± 1 kg (measured)}\ninstalled: [{item: all, mass: 140 kg ± 1 kg (measured)}]\n```\n";
    folder.write("journal.md", format!("---\nrules: [own]\n---\n\n{ledger}"));
    let found = register(&folder);
    assert_eq!(wrong_item(&found, "own.light fails"), None);
    assert_eq!(wrong_item(&found, "own.ground_lamp fails").as_deref(), Some("no item `own.ground_lamp`"));
    let limit =
        entries(&found, "requirements").find(|one| one["name"] == "own light").expect("a requirement");
    assert_eq!((limit["kind"].as_str(), limit["limit_high_si"].as_f64()), (Some("legal"), Some(1100.0)));
    assert_eq!(limit["source"], "invented order, 3");
}

/// The demonstration: some met, one failing, some open; and a first hour that says of most that it is not there.
#[test]
fn the_demonstrations_say_what_they_lack() {
    let counts = |name: &str| {
        let found = register(&copied::copy_of(&format!("notebooks-demo/{name}")));
        let subjects: Vec<&Value> =
            entries(&found, "coverage").filter(|one| one["pack"] == "coverage").collect();
        ["meets", "fails", "open", "not in this journal"]
            .map(|word| subjects.iter().filter(|one| one["verdict"] == word).count())
    };
    let [meets, fails, open, missing] = counts("pickup");
    assert!(meets >= 5 && fails == 1 && open >= 1 && missing >= 1, "{:?}", counts("pickup"));
    let [meets, .., missing] = counts("first-hour");
    assert!(meets == 0 && missing > 20, "{:?}", counts("first-hour"));
}

/// What fails comes first, and each line says where.
#[test]
fn what_is_open_is_one_list_with_the_worst_first() {
    let folder = Folder::new();
    let record = "```yaml test-record bond\ndate: 2026-03-02\ntest: bonding\ninstrument: ohmmeter\nserial: M-1\ncalibrated_until: 2026-03-01\nby: K. Ames\nplace: shed\nstate: [dry]\nvalues: {current: 10 A, resistance: 300 mohm}\n```\n\n```yaml bonding bonds\nreadings: [{name: box, record: bond}]\n```\n";
    folder.write(
        "journal.md",
        format!("---\nvehicle: {{description: invented}}\nstage: show\n---\n\n{record}"),
    );
    let found = register(&folder);
    let open: Vec<&Value> = entries(&found, "open_items").collect();
    let words: Vec<&str> = open.iter().filter_map(|one| one["word"].as_str()).collect();
    assert_eq!(words[0], "fails", "{words:?}");
    assert!(open[0]["line"].is_number() && open[0]["file"] == "journal.md", "{}", open[0]);
    let first = |word: &str| {
        words.iter().position(|one| *one == word).unwrap_or_else(|| panic!("no {word}: {words:?}"))
    };
    assert!(first("calibration ended") < first("not in this journal"));
    assert!(words.iter().filter(|word| **word == "not in this journal").count() >= 20, "{words:?}");
}

/// Limits that nobody read are told too where an answer waits for them, and what is missing says where to answer it.
#[test]
fn what_is_open_names_unread_items_and_where_to_answer() {
    let folder = Folder::new();
    folder.write("letter.txt", "an invented letter\n");
    let text = "---\nrules: [un-r100]\nstage: show\n---\n\n```yaml sources papers\nLT-1: {title: A letter, file: letter.txt}\n```\n";
    folder.write("journal.md", text);
    let open = |found: &Value, what: &str| {
        let one = entries(found, "open_items").find(|one| one["what"] == what);
        one.map(|one| (one["word"].as_str().unwrap_or_default().to_owned(), one["line"].as_u64()))
    };
    let found = register(&folder);
    // What stands in the front matter is where a pack is asked for.
    assert_eq!(open(&found, "un-r100.connectors"), Some(("not in this journal".to_owned(), Some(2))));
    let answers = "\n```yaml inspection own\nanswers:\n  connectors: {answer: yes, evidence: LT-1, by: K. Ames, date: 2026-03-02}\n```\n";
    folder.write("journal.md", text.to_owned() + answers);
    let found = register(&folder);
    assert_eq!(wrong_item(&found, "un-r100.connectors close second-hand"), None);
    assert_eq!(open(&found, "un-r100.connectors"), Some(("limit unread".to_owned(), Some(12))));
    assert_eq!(open(&found, "towing"), Some(("not in this journal".to_owned(), Some(10))));
}

/// A ledger, its laden mass under or over the plate, with or without the ticket of the finished vehicle.
fn ledger(name: &str, installed: u32, ticket: Option<u32>) -> String {
    let weighed = ticket.map(|mass| {
        format!("weighed: {{mass: {mass} kg ± 2 kg, front_axle: 520 kg ± 2 kg, source: LT-1}}\n")
    });
    format!(
        "```yaml mass-ledger {name}\ndonor: {{mass: 900 kg ± 2 kg (measured LT-1), front_axle: 500 kg ± 2 kg (measured LT-1)}}\nwheelbase: 2.4 m (measured LT-1)\n\
         installed: [{{name: pack, mass: {installed} kg ± 1 kg (measured LT-1), x: 1.2 m (measured LT-1)}}]\n\
         load: [{{name: people, mass: 150 kg (published LT-1), x: 1.2 m (measured LT-1)}}]\n\
         limits: {{gross: 1 200 kg (published LT-1), front_axle: 700 kg (published LT-1), rear_axle: 700 kg (published LT-1)}}\n{}```\n\n",
        weighed.unwrap_or_default()
    )
}

/// Once the finished vehicle was weighed, what was planned judges no longer; it still fails by itself. Without a ticket,
/// and where the ticket is of the one that fails, the worst stands.
#[test]
fn the_ledger_with_the_ticket_of_the_finished_vehicle_judges_its_mass() {
    for (plan, built, expected) in [
        (ledger("plan", 260, None), ledger("built", 60, Some(960)), "coverage.mass meets"),
        (ledger("plan", 260, None), ledger("built", 60, None), "coverage.mass fails"),
        (ledger("plan", 60, None), ledger("built", 260, Some(1160)), "coverage.mass fails"),
        // The ledger holds, its ticket does not.
        (ledger("plan", 60, None), ledger("built", 60, Some(1160)), "coverage.mass fails"),
    ] {
        let folder = Folder::new();
        folder.write("letter.txt", "an invented letter\n");
        let sources = "```yaml sources papers\nLT-1: {title: A ticket, file: letter.txt}\n```\n\n";
        let head = "---\nvehicle: {description: invented}\nstage: show\n---\n\n";
        folder.write("journal.md", format!("{head}{sources}{plan}{built}"));
        let found = register(&folder);
        assert_eq!(wrong_item(&found, expected), None, "{plan}{built}");
        let fails = entries(&found, "requirements").filter(|one| one["verdict"] == "fails").count();
        let over =
            [&plan, &built].iter().filter(|text| text.contains("260 kg") || text.contains("1160 kg")).count();
        assert!(fails >= over, "{fails} of {over}: what fails by itself still does");
    }
}

/// A discharge within the 60 s of an item that is second-hand, a restraint by an acceleration from memory, and an answer to
/// an item from memory; with what is said in `confirmed`.
fn confirming(lines: &[&str]) -> Value {
    let folder = Folder::new();
    folder.write("letter.txt", "an invented letter\n");
    let mut text = "---\nrules: [un-r100, au-ncop14, uk-iva]\nstage: show\n---\n\n\
        ```yaml sources papers\nLT-1: {title: A letter, file: letter.txt}\nLT-2: {title: A telephone call}\n```\n\n\
        ```yaml discharge bleeder\nvoltage: 400 V (measured LT-1)\ncapacitance: 1 mF (measured LT-1)\nresistance: 20 kohm (measured LT-1)\n```\n\n\
        ```yaml inspection own\nanswers:\n  uk-iva.brakes: {answer: yes, evidence: LT-1, by: K. Ames, date: 2026-03-02}\nconfirmed:\n"
        .to_owned();
    for line in lines {
        text.push_str(&format!("  - {{{line}, by: J. Marl, date: 2026-03-01}}\n"));
    }
    if lines.is_empty() {
        text = text.replace("confirmed:\n", "");
    }
    folder.write("journal.md", text + "```\n");
    register(&folder)
}

/// By name: what an item is without and with a confirmation, and that one without a file, or of another item, does nothing.
#[test]
fn an_item_of_a_pack_is_as_good_as_read_once_it_is_confirmed_with_a_file() {
    let hold = |found: &Value, expected: [&str; 2]| {
        let wrong: Vec<String> = expected.iter().filter_map(|line| wrong_item(found, line)).collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    };
    let before = ["un-r100.discharge_60_s close second-hand", "uk-iva.brakes open nobody looked up"];
    hold(&confirming(&[]), before);
    let both = [
        "limit: un-r100.discharge_60_s, document: LT-1, clause: \"3\"",
        "limit: uk-iva.brakes, document: LT-1, clause: \"4\"",
    ];
    let found = confirming(&both);
    hold(
        &found,
        [
            "un-r100.discharge_60_s meets confirmed by J. Marl on 2026-03-01, LT-1, 3",
            "uk-iva.brakes answered confirmed by J. Marl on 2026-03-01, LT-1, 4",
        ],
    );
    assert!(entries(&found, "findings").all(|one| one["severity"] != "error"), "{}", found["findings"]);
    let judged = entries(&found, "requirements").find(|one| one["name"] == "un-r100 discharge_60_s");
    let judged = judged.expect("a requirement of the pack");
    assert_eq!((judged["verdict"].as_str(), judged["status"].as_str()), (Some("meets"), Some("confirmed")));
    assert!(
        judged["reason"].as_str().is_some_and(|why| why.contains("limit confirmed by J. Marl")),
        "{judged}"
    );

    let code = |found: &Value| -> Vec<String> {
        let errors = entries(found, "findings").filter(|one| one["severity"] == "error");
        errors.filter_map(|one| one["code"].as_str().map(str::to_owned)).collect()
    };
    // Nothing shows it; a name that no pack has; one of two is wrong, so neither counts, as of every block with an error.
    for (lines, expected) in [
        (&["limit: un-r100.discharge_60_s, document: LT-2, clause: \"3\""][..], "missing-field"),
        (&["limit: un-r100.discharge_60, document: LT-1, clause: \"3\""], "unknown-reference"),
        (&["limit: un-r10.discharge_60_s, document: LT-1, clause: \"3\""], "unknown-reference"),
        (&[both[0], "limit: uk-iva.brakes, document: LT-3, clause: \"4\""], "unknown-reference"),
    ] {
        let found = confirming(lines);
        assert_eq!(wrong_item(&found, before[0]), None, "{lines:?}");
        assert!(wrong_item(&found, "uk-iva.brakes answered").is_some(), "{lines:?}");
        let codes = code(&found);
        let told = entries(&found, "findings").any(|one| one["code"] == expected);
        assert!(told, "{lines:?}: {codes:?}");
    }
}

fn entries<'v>(register: &'v Value, key: &str) -> impl Iterator<Item = &'v Value> {
    register[key].as_array().into_iter().flatten()
}

/// `PACK.ITEM OUTCOME [words of the reason]`.
fn wrong_item(register: &Value, line: &str) -> Option<String> {
    let (name, rest) = line.split_once(' ').expect("a name and an outcome");
    let (pack, item) = name.split_once('.').expect("a pack and an item");
    let found = entries(register, "coverage").find(|one| one["pack"] == pack && one["item"] == item);
    let Some(found) = found else { return Some(format!("no item `{name}`")) };
    let verdict = found["verdict"].as_str().unwrap_or_default();
    let reason = found["reason"].as_str().unwrap_or_default();
    let words = rest.strip_prefix(verdict).map(str::trim);
    let right = words.is_some_and(|words| reason.contains(words));
    (!right).then(|| format!("`{name}` is `{verdict}` ({reason}), not `{rest}`"))
}

fn off(found: Option<f64>, wanted: &str) -> Option<String> {
    let wanted: f64 = wanted.parse().expect("a number");
    match found {
        Some(found) if (found - wanted).abs() <= TOLERANCE * wanted.abs() => None,
        found => Some(format!("is {found:?}, not {wanted}")),
    }
}
