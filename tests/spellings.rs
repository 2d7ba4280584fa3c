//! What people type gives the value that is meant, or a finding with the words that get one going.
//!
//! `data/spellings.md` says how its sections and rows are read.

use std::fs;
use std::path::Path;

use serde_json::Value;

#[path = "support/program.rs"]
mod program;
#[path = "support/register.rs"]
mod register;

use program::Folder;
use register::register;

/// One spelling, as a block of the journal that all of them make.
struct Spelling {
    typed: String,
    gives: String,
    /// What is looked at.
    reads: String,
    name: String,
    /// The lines of its block in the journal.
    lines: (usize, usize),
}

#[test]
fn what_is_typed_gives_its_value_or_the_words_that_help() {
    let (journal, spellings) = journal();
    let folder = Folder::new();
    folder.write("journal.md", &journal);
    let found = register(&folder);
    let faults: Vec<String> = spellings
        .iter()
        .filter_map(|one| Some(format!("{} => {}", one.typed, fault(one, &found)?)))
        .collect();
    assert!(spellings.len() >= 120, "only {} spellings", spellings.len());
    assert!(faults.is_empty(), "{} of {}:\n{}", faults.len(), spellings.len(), faults.join("\n"));
}

/// The journal that holds a block for each spelling.
fn journal() -> (String, Vec<Spelling>) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/spellings.md");
    let text = fs::read_to_string(path).expect("the spellings");
    let mut journal = String::new();
    let mut spellings = Vec::new();
    for section in text.split("\n## ").skip(1) {
        let (heading, rest) = section.split_once('\n').expect("a heading");
        if heading == "shared" {
            journal.push_str(rest);
            journal.push('\n');
            continue;
        }
        let (block, rest) = rest.split_once("\n```\n").expect("a block");
        let (reads, rows) = rest.split_once('\n').expect("what is looked at");
        let reads = reads.strip_prefix("reads ").expect("`reads` and the name of a value");
        for row in rows.lines().filter(|row| !row.is_empty()) {
            let (typed, gives) = row.rsplit_once(" => ").expect("a spelling and what it gives");
            let name = format!("s{}", spellings.len());
            let first = journal.lines().count() + 1;
            journal.push_str(&block.replace("NAME", &name).replace("TYPED", typed));
            journal.push_str("\n```\n");
            let lines = (first, journal.lines().count());
            journal.push('\n');
            let (typed, gives, reads) = (typed.to_owned(), gives.to_owned(), reads.to_owned());
            spellings.push(Spelling { typed, gives, reads, name, lines });
        }
    }
    (journal, spellings)
}

/// What is not as it should be.
fn fault(one: &Spelling, found: &Value) -> Option<String> {
    let findings: Vec<&Value> = found["findings"]
        .as_array()
        .expect("findings")
        .iter()
        .filter(|finding| {
            let line = finding["line"].as_u64().expect("a line") as usize;
            (one.lines.0..=one.lines.1).contains(&line) && finding["severity"] != "note"
        })
        .collect();
    let told: Vec<String> = findings.iter().map(|finding| words(finding)).collect();
    let unasked = || Some(format!("not {}, but {}", one.gives, told.join("; ")));
    let (first, rest) = one.gives.split_once(' ').unwrap_or((&one.gives, ""));
    if let Ok(number) = first.parse::<f64>() {
        if !told.is_empty() {
            return unasked();
        }
        let name = format!("{}.{}", one.name, one.reads);
        let result = &found["results"][&name];
        let Some(si) = result["si"].as_f64() else { return Some(format!("no `{name}`")) };
        if !near(si, number) {
            return Some(format!("{si}, not {number}"));
        }
        let width = rest.strip_prefix("± ")?.parse::<f64>().expect("a standard uncertainty");
        let is = result["uncertainty_si"].as_f64().expect("an uncertainty");
        return (!near(is, width)).then(|| format!("± {is}, not {width}"));
    }
    if ["meets", "fails", "close", "open"].contains(&first) {
        if !told.is_empty() {
            return unasked();
        }
        let all = found["requirements"].as_array().expect("requirements");
        let mine =
            all.iter().find(|row| row["block"] == one.name.as_str() && row["name"] == one.reads.as_str());
        let verdict = mine.map_or("no requirement", |row| row["verdict"].as_str().expect("a verdict"));
        return (verdict != first).then(|| format!("{verdict}, not {first}"));
    }
    let told_so = findings
        .iter()
        .zip(&told)
        .any(|(finding, told)| finding["code"] == first && told.contains(rest.trim()));
    if told_so {
        return None;
    }
    if told.is_empty() {
        let name = format!("{}.{}", one.name, one.reads);
        return Some(format!("nothing is found; it is {}", found["results"][&name]["shown"]));
    }
    unasked()
}

fn words(finding: &Value) -> String {
    let text = |key: &str| finding[key].as_str().unwrap_or("").to_owned();
    format!("{}: {} / {}", text("code"), text("message"), text("help")).replace('\u{a0}', " ")
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-8 * b.abs()
}

const PART: &str = "part a\nrole: thing\nmass: 3 kg ± 1 kg\nrise: 5 K\n";

/// The codes that a journal of these files raises, and its register.
fn checked(files: &[(&str, &str)]) -> (Vec<String>, Value) {
    let folder = Folder::new();
    files.iter().for_each(|(name, content)| folder.write(name, content));
    let found = register(&folder);
    let all = found["findings"].as_array().expect("findings");
    (all.iter().map(|finding| finding["code"].as_str().expect("a code").to_owned()).collect(), found)
}

#[test]
fn a_block_is_one_however_its_fence_is_spelt() {
    for (opening, notes) in [
        ("```yaml ", 0),
        ("~~~yaml ", 0),
        ("``` yaml ", 0),
        ("```yml ", 1),
        ("```YAML ", 1),
        ("```Yml ", 1),
        ("```{yaml ", 1),
        ("```{.yaml ", 1),
    ] {
        let (first, rest) = PART.split_once('\n').expect("lines");
        let closing = if opening.contains('{') { "}" } else { "" };
        let marks = &opening[..3];
        let text = format!("Some words.\n\n{opening}{first}{closing}\n{rest}{marks}\n");
        for text in [text.clone(), text.replace('\n', "\r\n"), text.replace('\n', "\r")] {
            let (codes, found) = checked(&[("journal.md", &text)]);
            assert_eq!(codes, vec!["fence-spelling"; notes], "{text:?}");
            assert_eq!(found["results"]["a.mass"]["si"], 3.0, "{text:?}");
        }
    }
    for prose in ["```yml\na: 1\n```\n", "```{yaml}\na: 1\n```\n", "```yml compose\na: 1\n```\n"] {
        assert_eq!(checked(&[("journal.md", prose)]).0, [""; 0], "{prose}");
    }
    let (codes, found) = checked(&[("journal.md", "```yml prat a\nrole: x\n```\n")]);
    assert_eq!(
        (codes.as_slice(), found["results"].as_object().map(serde_json::Map::len)),
        (&["unknown-kind".to_owned()][..], Some(0))
    );
}

#[test]
fn a_live_value_is_shown_or_told() {
    for (live, code) in [
        ("[3 kg](result:a.mass)", ""),
        ("[3000 g](<result:a.mass in g>)", ""),
        ("[3000 g](result:a.mass%20in%20g)", ""),
        ("\\[3 kg](result:a.mass in g)", ""),
        ("`[3 kg](result:a.mass in g)`", ""),
        ("[3 kg](result:a.mass in g)", "live-value-form"),
        ("[3 kg] (result:a.mass)", "live-value-form"),
        ("[3 kg](result: a.mass)", "live-value-form"),
        ("[3 kg](<result:a.mass in m>)", "unit-mismatch"),
        ("[5 K](<result:a.rise in °C>)", "unit-mismatch"),
        ("[3 kg](<result:a.mass in kgs>)", "unknown-unit"),
        ("[3 kg](result:a.weight)", "unknown-reference"),
    ] {
        let (codes, _) = checked(&[("journal.md", &format!("```yaml {PART}```\n\nIt is {live}.\n"))]);
        assert_eq!(codes.first().map_or("", String::as_str), code, "{live}");
        assert!(codes.len() <= 1, "{live}: {codes:?}");
    }
}

#[test]
fn files_of_items_and_curves_are_read_with_the_units_of_their_headers() {
    let ledger = |file: &str| {
        format!("```yaml mass-ledger k\ndonor: {{mass: 1 000 kg}}\ninstalled: {{file: {file}}}\n```\n")
    };
    for (items, gives) in [
        ("item,mass,count\nbox,12 kg,2\n", Ok(24.0)),
        ("Item,Mass (kg),Count\nbox,12,2\n", Ok(24.0)),
        ("Item;Mass (kg);Count\r\nbox;12;2\r\n", Ok(24.0)),
        ("\u{feff}Name\tMass [g]\tCount\nbox\t12 kg\t\nlid\t500\t2\n", Ok(13.0)),
        ("Item,Mass (kg)\nbox,12 ± 1\n", Ok(12.0)),
        ("Item;Mass (kg)\nbox;12\nlid;0,5\n", Err("in row 2 of `items.csv`")),
        ("Item,Mass (kg)\nbox,12,3\n", Err("row 1 has 3 cells where the header has 2")),
        ("Item,Mass (kgs)\nbox,12\n", Err("in row 1 of `items.csv`")),
    ] {
        let (codes, found) = checked(&[("journal.md", &ledger("items.csv")), ("items.csv", items)]);
        match gives {
            Ok(mass) => assert_eq!(found["results"]["k.installed_total"]["si"], mass, "{items}: {codes:?}"),
            Err(told) => {
                assert!(found["findings"].to_string().contains(told), "{items}: {}", found["findings"])
            }
        }
    }
    for (points, columns, gives) in [
        ("Speed (rpm),Torque (N m)\n0,100\n1000,80\n", "", Ok(90.0)),
        ("Speed (rpm);Torque (N m)\n0;100\n1000;80\n", "", Ok(90.0)),
        ("n,Torque (N m),Speed (rpm)\n1,100,0\n2,80,1000\n", ", columns: [speed, torque]", Ok(90.0)),
        ("0,100\n1000,80\n", ", columns: [speed (rpm), torque (N m)]", Ok(90.0)),
        ("Speed (rpm);Torque (N m)\n0;100,5\n1000;80\n", "", Err("line 2 has `100,5`, with a decimal comma")),
        ("Speed,Torque (N m)\n0,100\n1000,80\n", "", Err("`Speed` names no unit")),
        ("Speed (rpm),Torque (N m)\n0,100\n1000,x\n", "", Err("line 3 has no number under `Torque (N m)`")),
    ] {
        let text = format!(
            "```yaml part p\nrole: motor\ncurve: {{file: points.csv{columns}}}\n```\n```yaml worksheet w\nsteps:\n  \
             - {{name: x, is: p.curve(500 rpm), unit: N m}}\n```\n"
        );
        let (codes, found) = checked(&[("journal.md", &text), ("points.csv", points)]);
        match gives {
            Ok(torque) => assert_eq!(found["results"]["w.x"]["si"], torque, "{points}: {codes:?}"),
            Err(told) => {
                assert!(found["findings"].to_string().contains(told), "{points}: {}", found["findings"])
            }
        }
    }
}

#[test]
fn a_sum_over_a_list_is_that_of_its_items_with_their_uncertainty() {
    let text = "\
```yaml part motor
role: motor
mass: 40 kg ± 1 kg (measured)
price: 900 EUR
```
```yaml mass-ledger first
donor: {mass: 1 000 kg}
installed: [motor, {name: chains, mass: 9 kg}]
```
```yaml mass-ledger kerb
replaces: first
donor: {mass: 1 000 kg ± 5 kg (measured)}
removed:
  - {name: engine, mass: 100 kg ± 2 kg (measured)}
  - {place: seat, mass: 15 kg ± 1 kg (measured), count: 2}
  - {part: motor, count: 3}
installed: [motor]
```
```yaml worksheet w
given:
  far: from sum(kerb.removed.mass * kerb.removed.count)
steps:
  - {name: total, is: sum(kerb.removed.mass * kerb.removed.count), unit: kg}
  - {name: price, is: sum(part.price), unit: EUR}
  - {name: net, is: sum(kerb.removed.mass * kerb.removed.count) - 3 * motor.mass, unit: kg}
```
";
    let (codes, found) = checked(&[("journal.md", text)]);
    let of = |name: &str, key: &str| found["results"][name][key].as_f64().unwrap_or(f64::NAN);
    for key in ["si", "uncertainty_si"] {
        assert!(near(of("w.total", key), of("first.removed_total", key)), "{key}: {codes:?} {found:#}");
        assert!(near(of("w.far", key), of("w.total", key)), "{key}");
    }
    assert_eq!(of("w.price", "si"), 900.0, "the ledger that is replaced buys no motor");
    // What both sides rest on cancels: two rectangles of 2 kg and of twice 1 kg are left.
    assert!(near(of("w.net", "si"), 130.0) && near(of("w.net", "uncertainty_si"), (8.0_f64 / 3.0).sqrt()));
}

#[test]
fn a_result_is_named_by_the_digits_and_the_standard_unit_of_its_number() {
    let road = |speeds: &str, more: &str| {
        format!(
            "```yaml road-load r\nmass: 1 000 kg\ndrag_coefficient: 0.3\nfrontal_area: 2 m^2\nrolling_coefficient: 0.01\n\
             rotating_share: 5 %\nair_density: 1.2 kg/m^3\nheadwind: 0 km/h\ngrade: 0 %\nspeeds: {speeds}\n```\n{more}"
        )
    };
    for (speeds, name) in [
        ("[55 mph]", "r.force_at_55_mi_h"),
        ("[55 mi/h]", "r.force_at_55_mi_h"),
        ("[90 kph]", "r.force_at_90_km_h"),
        ("[88.5 km/h]", "r.force_at_88_5_km_h"),
        ("[25 m/s]", "r.force_at_25_m_s"),
    ] {
        let (codes, found) = checked(&[("journal.md", &road(speeds, ""))]);
        assert!(found["results"][name]["si"].is_f64(), "{speeds}: no `{name}`, {codes:?}");
    }
    let both = road("[55 mph, 55 mi/h]", "");
    assert_eq!(checked(&[("journal.md", &both)]).0, ["duplicate-name"]);
    let before = road("[55 mph]", "\nIt is [x](result:r.force_at_55_mph).\n");
    assert_eq!(checked(&[("journal.md", &before)]).0, ["old-name"]);
}
