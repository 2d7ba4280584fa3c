//! The main job checked against the world outside: published cases, each with its source beside it.
//!
//! The journals in `data/world` hold, in comments, what must come out:
//! `expect: NAME = NUMBER UNIT, relative N`, `expect: NAME = …, absolute N UNIT`, `expect: NAME begins TEXT`,
//! `expect: NAME is absent`, `verdict: BLOCK.NAME WORD`, and `source: …`, which holds for the expectations after it.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

#[path = "support/copied.rs"]
mod copied;
#[path = "support/program.rs"]
mod program;
#[path = "support/register.rs"]
mod register;
#[path = "support/units.rs"]
mod units;

use program::Folder;
use register::register;
use units::factor;

#[test]
fn tyre_sizes_give_their_published_diameters() {
    check("tyres.md", 100);
}

#[test]
fn ratio_chains_give_the_published_speeds() {
    check("ratio-chains.md", 20);
}

#[test]
fn axle_loads_follow_statics() {
    check("axle-statics.md", 25);
}

#[test]
fn packs_have_their_voltage_energy_and_sag() {
    check("packs.md", 30);
}

#[test]
fn worksheets_work_the_published_check_cases() {
    check("check-cases.md", 35);
}

#[test]
fn road_loads_are_the_published_forces() {
    check("road-loads.md", 90);
}

#[test]
fn traction_climbs_and_sprints_as_the_closed_forms() {
    check("traction.md", 43);
}

#[test]
fn coast_downs_give_back_what_they_were_made_of() {
    check("coast-down.md", 10);
}

#[test]
fn energy_over_the_published_cycles_is_that_of_an_independent_integration() {
    check("energy-use.md", 88);
}

#[test]
fn hills_take_and_give_back_what_an_independent_integration_says() {
    check("hills.md", 38);
}

#[test]
fn every_journal_beside_them_is_checked() {
    let own = include_str!("world.rs");
    let folder = fs::read_dir(data("")).expect("the cases");
    let names = folder.map(|entry| entry.expect("a file").file_name().to_string_lossy().into_owned());
    let unchecked: Vec<String> =
        names.filter(|name| name.ends_with(".md") && !own.contains(&format!("\"{name}\""))).collect();
    assert_eq!(unchecked, [""; 0]);
}

#[test]
fn packs_warm_and_hold_what_their_curve_says() {
    check("pack-heat.md", 8);
}

#[test]
fn cables_lose_and_fuses_protect_what_they_should() {
    check("cables.md", 40);
}

#[test]
fn screws_conductors_and_capacitors_are_those_of_the_published_cases() {
    check("more-cases.md", 55);
}

#[test]
fn fuses_carry_and_clear_what_their_sheets_and_packs_say() {
    check("fuses.md", 10);
}

#[test]
fn isolation_and_bonding_are_judged_by_their_limits() {
    check("isolation.md", 30);
}

#[test]
fn what_holds_the_battery_is_held_against_its_proof_load() {
    check("restraint.md", 18);
}

#[test]
fn capacitors_charge_and_discharge_as_the_closed_forms_say() {
    check("capacitors.md", 30);
}

#[test]
fn a_charge_takes_the_published_currents_and_times() {
    check("charging.md", 30);
}

#[test]
fn the_12_v_side_adds_up() {
    check("low-voltage.md", 6);
}

#[test]
fn coolants_warm_by_their_published_properties() {
    check("coolant.md", 15);
}

#[test]
fn inputs_are_solved_for_as_the_closed_forms_and_brentq_say() {
    check("solve-for.md", 12);
}

#[test]
fn trade_studies_find_what_working_every_combination_finds() {
    check("trade-study.md", 13);
    let folder = Folder::new();
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/world/trade-study.md");
    folder.write("journal.md", fs::read_to_string(path).expect("a journal"));
    folder.run(&["work"]);
    let text = fs::read_to_string(folder.path.join("journal.md")).expect("a journal");
    let text = text.replace(['\u{a0}', '\u{202f}'], " ");
    // As tests/brute_force.py counts them: dropped together, and alone.
    for row in [
        "converted\\_mass \\<= 1 450 kg | 3 | 3 |",
        "top\\_speed >= 115 km/h | 12 | 7 |",
        "overall\\_ratio >= 8 | 12 | 6 |",
        "buy.weeks \\<= 56 day | 12 | 2 |",
        "full\\_voltage \\<= buy.high | 12 | 1 |",
        "empty\\_voltage >= buy.low | 8 | 6 |",
    ] {
        let plain = |text: &str| text.replace('\\', "");
        assert!(plain(&text).contains(&plain(row)), "{row}");
    }
    let set =
        ["| m1 | b2 | 100 | 11 000 EUR |", "| m2 | b2 | 92 | 9 320 EUR |", "| m2 | b2 | 80 | 8 600 EUR |"];
    let places = set.map(|row| text.rfind(row).unwrap_or_else(|| panic!("no {row}")));
    assert!(places[0] < places[1] && places[1] < places[2], "in the order of the first preference");
}

#[test]
fn temperatures_keep_their_offset() {
    check("temperatures.md", 6);
}

#[test]
fn axles_that_miss_the_stated_total_are_told_by_how_much() {
    let folder = Folder::new();
    let ledger = "```yaml mass-ledger kerb\n\
                  donor: {mass: 995 kg, front_axle: 440 kg, rear_axle: 480 kg}\n\
                  removed: []\ninstalled: []\n```\n";
    folder.write("journal.md", ledger);
    let found = register(&folder);
    let gap =
        found["findings"].as_array().expect("findings").iter().find(|finding| finding["code"] == "axle-gap");
    let message = gap.expect("an axle-gap")["message"].as_str().expect("a message");
    assert!(message.contains("75 kg"), "{message}");
}

#[test]
fn unit_conversions_give_the_printed_factors() {
    let rows = conversions();
    assert!(rows.len() >= 40, "only {} conversions", rows.len());
    let mut journal = "```yaml worksheet units\nsteps:\n".to_owned();
    for (at, row) in rows.iter().enumerate() {
        journal += &format!("  - {{name: u{at}, is: '1 [{}]', unit: '{}'}}\n", row.from, row.to);
    }
    journal += "```\n";
    let folder = Folder::new();
    folder.write("journal.md", journal);
    let found = register(&folder);
    assert_eq!(errors(&found), Vec::<String>::new());
    let mut faults = Vec::new();
    for (at, row) in rows.iter().enumerate() {
        let value = found["results"][format!("units.u{at}")]["value"].as_f64().unwrap_or(f64::NAN);
        let within = if row.exact { row.factor * 1e-14 } else { row.half * (1.0 + 1e-9) };
        // NaN is a fault, so the comparison is not turned round.
        let holds = (value - row.factor).abs() <= within;
        if !holds {
            faults.push(format!("1 {} is {value} {}, printed as {}", row.from, row.to, row.factor));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

struct Conversion {
    from: String,
    to: String,
    factor: f64,
    /// Half a unit of the last printed digit.
    half: f64,
    exact: bool,
}

fn conversions() -> Vec<Conversion> {
    let text = fs::read_to_string(data("nist-sp-811-b8.md")).expect("the table");
    let mut rows = Vec::new();
    for line in text.lines().skip_while(|line| !line.starts_with("|---")).skip(1) {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        let [_, _, from, to, printed, exact, _] = cells[..] else { panic!("not a row: {line}") };
        let digits = printed.replace(' ', "");
        let (mantissa, power) = digits.split_once('E').expect("a power of ten");
        let decimals = mantissa.len() - mantissa.find('.').expect("a point") - 1;
        let half =
            format!("0.5e{}", power.parse::<i32>().expect("a power") - i32::try_from(decimals).expect("few"));
        rows.push(Conversion {
            from: from.to_owned(),
            to: to.to_owned(),
            factor: digits.parse().expect("a number"),
            half: half.parse().expect("a number"),
            exact: exact == "exact",
        });
    }
    rows
}

/// The journal's expectations hold, each after a source, and there are at least so many.
#[track_caller]
fn check(name: &str, at_least: usize) {
    let text = fs::read_to_string(data(name)).expect("a journal");
    let folder = Folder::new();
    folder.write("journal.md", &text);
    // Files that journals name lie beside them.
    let evidence = copied::copy_of("tests/data/world/evidence");
    copied::copy(&evidence.path, &folder.path.join("evidence"));
    let found = register(&folder);
    let mut faults = errors(&found);
    let mut source = None;
    let mut count = 0;
    for comment in comments(&text) {
        if let Some(named) = comment.strip_prefix("source: ") {
            source = Some(named);
            continue;
        }
        if source.is_none() {
            faults.push(format!("no source before: {comment}"));
        }
        count += 1;
        if let Err(fault) = holds(&found, comment) {
            faults.push(fault);
        }
    }
    assert!(faults.is_empty(), "{name}:\n{}", faults.join("\n"));
    assert!(count >= at_least, "{name} has only {count} expectations");
}

fn holds(found: &Value, comment: &str) -> Result<(), String> {
    if let Some(rest) = comment.strip_prefix("verdict: ") {
        let (name, wanted) = rest.split_once(' ').ok_or(format!("can't be read: {comment}"))?;
        let verdict = found["requirements"].as_array().into_iter().flatten().find(|requirement| {
            format!(
                "{}.{}",
                requirement["block"].as_str().unwrap_or(""),
                requirement["name"].as_str().unwrap_or("")
            ) == name
        });
        let verdict = verdict.map_or("absent", |requirement| requirement["verdict"].as_str().unwrap_or(""));
        return if verdict == wanted { Ok(()) } else { Err(format!("{comment}, but it is {verdict}")) };
    }
    let rest = comment.strip_prefix("expect: ").ok_or(format!("can't be read: {comment}"))?;
    if let Some((name, wanted)) = rest.split_once(" begins ") {
        let text = found["results"][name]["text"].as_str().unwrap_or("absent");
        return if text.starts_with(wanted) { Ok(()) } else { Err(format!("{comment}, but it is {text:?}")) };
    }
    if let Some(name) = rest.strip_suffix(" is absent") {
        let there = &found["results"][name];
        return if there.is_null() { Ok(()) } else { Err(format!("{comment}, but it is {there}")) };
    }
    let unreadable = || format!("can't be read: {comment}");
    let (name, rest) = rest.split_once(" = ").ok_or_else(unreadable)?;
    let (value, tolerance) = rest.split_once(", ").ok_or_else(unreadable)?;
    let wanted = si(value).ok_or_else(unreadable)?;
    let (manner, amount) = tolerance.split_once(' ').ok_or_else(unreadable)?;
    let amount = si(amount).ok_or_else(unreadable)?;
    let within = if manner == "relative" { amount * wanted.abs() } else { amount };
    let actual = found["results"][name]["si"].as_f64().ok_or_else(|| format!("{name} is absent"))?;
    if (actual - wanted).abs() <= within {
        Ok(())
    } else {
        Err(format!("{comment}, but it is {actual} where {wanted} is expected (SI)"))
    }
}

/// `NUMBER UNIT` in SI.
fn si(text: &str) -> Option<f64> {
    let (number, unit) = text.split_once(' ').unwrap_or((text, "1"));
    Some(number.parse::<f64>().ok()? * factor(unit)?)
}

fn comments(text: &str) -> impl Iterator<Item = &str> {
    text.lines().filter_map(|line| line.strip_prefix("<!-- ")?.strip_suffix(" -->"))
}

fn errors(found: &Value) -> Vec<String> {
    let findings = found["findings"].as_array().expect("findings");
    findings.iter().filter(|finding| finding["severity"] == "error").map(ToString::to_string).collect()
}

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/world").join(name)
}
