//! An inspector with a calculator gets what the journal shows: each working is done again from its printed digits.
//!
//! The result must agree to half a unit of its last printed digit, plus what the last digits of the operands leave
//! open. Operands carry at least two digits more than their result, so a printed operand may be off by half a unit of
//! that digit, or of its own last one where that is finer; together they may move the result by one unit of its last
//! digit at most.

use std::fs;

#[path = "support/arithmetic.rs"]
mod arithmetic;
#[path = "support/copied.rs"]
mod copied;
#[path = "support/program.rs"]
mod program;
#[path = "support/regions.rs"]
mod regions;
#[path = "support/units.rs"]
mod units;

use arithmetic::{Printed, printed, work};
use copied::copy_of;
use program::{Folder, Run, program};

#[test]
fn the_demo_s_workings_give_their_results() {
    check(&copy_of("notebooks-demo/pickup"), 100);
}

#[test]
fn the_second_pick_up_s_workings_give_their_results() {
    check(&copy_of("notebooks-demo/second-pickup"), 25);
}

#[test]
fn the_first_hour_s_workings_give_their_results() {
    check(&copy_of("notebooks-demo/first-hour"), 8);
}

#[test]
fn every_kind_s_example_can_be_done_again() {
    let listed = Run::of(program(&["kinds"]).output().expect("the program starts"));
    let folder = Folder::new();
    let mut count = 0;
    for line in listed.out.lines().take_while(|line| !line.is_empty()) {
        let kind = line.split_whitespace().next().expect("a kind");
        let told = Run::of(program(&["kinds", kind]).output().expect("the program starts"));
        let (_, example) =
            told.out.split_once("\n## Example\n\n").unwrap_or_else(|| panic!("{kind} has no example"));
        let example = example.split("\n## Fields").next().unwrap_or(example);
        // Each is a journal of its own.
        folder.write("journal.md", regions::without_regions(example));
        tell_all(&folder);
        let run = folder.run(&["work"]);
        assert_eq!(run.status, 0, "{kind}: {}", run.err);
        let faults = faults_of(&folder, &mut count);
        assert!(faults.is_empty(), "{kind}: {}", faults.join("\n"));
    }
    assert!(count >= 40, "only {count} workings");
}

#[test]
fn a_wrong_last_digit_is_noticed() {
    let redone = |shown: &str, working: &str| redo(&printed(shown).expect("a number"), working);
    assert_eq!(redone("9 591 rpm", "wheel speed × overall ratio = 1 113.9 rpm × 8.61"), Ok(()));
    assert!(redone("9 592 rpm", "wheel speed × overall ratio = 1 113.9 rpm × 8.61").is_err());
    assert!(redone("0.12 kg", "1 229.1 kg − 1 229 kg").is_err());
    assert!(redone("0.1000 kg", "1 229 kg − 1 228.9 kg").is_ok());
    assert_eq!(redone("1 231.3 ± 5.2 kg", "1 085 kg + 146.3 kg"), Ok(()));
}

#[test]
fn the_calculator_of_this_test_reads_what_is_printed() {
    for (text, expected) in [
        ("1 084.5 × 2", 2169.0),
        ("120 km/h / (1.8 m / 1 rev)", 120.0 / 3.6 / 1.8 * 2.0 * std::f64::consts::PI),
        ("2 × (3 + −4)²", 2.0),
        ("√(16) − 2^3 × 5 %", 3.6),
        ("10 N m / 2 m", 5.0),
        ("2.5e−3 + 1 mΩ", 0.0035),
        ("265 Wh/kg × 2 kg", 1_908_000.0),
        ("24 kWh / 12 kWh/(100 km)", 200_000.0),
        ("min(3 in, 1 ft)", 0.0762),
        ("2 1/h × 1 h", 2.0),
    ] {
        let (value, _) = work(text, None).unwrap_or_else(|fault| panic!("{fault}"));
        assert!((value - expected).abs() <= 1e-9 * expected.abs(), "{text} is {value}, not {expected}");
    }
}

/// Works the journal, then does each working of its regions again; there are at least so many.
#[track_caller]
fn check(folder: &Folder, at_least: usize) {
    tell_all(folder);
    let run = folder.run(&["work"]);
    assert!(run.status <= 1, "{}", run.err);
    let mut count = 0;
    let faults = faults_of(folder, &mut count);
    assert!(faults.is_empty(), "{} of {count}:\n{}", faults.len(), faults.join("\n"));
    assert!(count >= at_least, "only {count} workings");
}

/// Has the regions tell their workings.
fn tell_all(folder: &Folder) {
    let mut paths: Vec<_> =
        fs::read_dir(&folder.path).expect("a folder").map(|entry| entry.expect("an entry").path()).collect();
    paths.sort();
    let first = paths.iter().find(|path| path.extension().is_some_and(|end| end == "md")).expect("a journal");
    let text = fs::read_to_string(first).expect("a journal");
    let full = match text.strip_prefix("---\n") {
        Some(rest) => format!("---\nregions: full\n{rest}"),
        None => format!("---\nregions: full\n---\n{text}"),
    };
    fs::write(first, full).expect("the journal is written");
}

fn faults_of(folder: &Folder, count: &mut usize) -> Vec<String> {
    let mut faults = Vec::new();
    let mut paths: Vec<_> =
        fs::read_dir(&folder.path).expect("a folder").map(|entry| entry.expect("an entry").path()).collect();
    paths.sort();
    for path in paths.into_iter().filter(|path| path.extension().is_some_and(|end| end == "md")) {
        let text = fs::read_to_string(&path).expect("a journal");
        let mut block = "";
        for line in text.lines() {
            if let Some(name) = line.trim().strip_prefix("<!-- worked:") {
                block = name.trim_end_matches(" -->");
            }
            let cells = cells(line);
            let [name, shown, working] = &cells[..] else { continue };
            let Some(name) = name.strip_prefix('`').and_then(|name| name.strip_suffix('`')) else { continue };
            // A text has no working to do again, a method told in words has no line; a calculator can't read a curve.
            let sum = !working.is_empty() && !is_a_method(working) && !reads_a_curve(working);
            let Some(shown) = printed(shown).filter(|_| sum) else { continue };
            *count += 1;
            if let Err(fault) = redo(&shown, working) {
                faults.push(format!("{block}.{name}: {working}: {fault}"));
            }
        }
    }
    faults
}

fn redo(shown: &Printed, working: &str) -> Result<(), String> {
    let numbers = working.rsplit_once(" = ").map_or(working, |(_, numbers)| numbers);
    let (value, operands) = work(numbers, None)?;
    let value = value / shown.factor;
    let half = 0.5 * 10f64.powi(shown.place);
    let mut open = 0.0;
    for (at, operand) in operands.iter().enumerate() {
        let (moved, _) = work(numbers, Some((at, 0.5 * 10f64.powi(place(operand, shown)))))?;
        open += (moved / shown.factor - value).abs();
    }
    let off = (value - shown.number).abs();
    if open > 2.0 * half {
        return Err(format!("the operands have too few digits: they leave {open} {} open", shown.unit));
    }
    if off > half * (1.0 + 1e-6) + open {
        return Err(format!("gives {value}, and {} {} is shown", shown.number, shown.unit));
    }
    Ok(())
}

/// Whether the working tells a procedure: words, and no numbers' side.
fn is_a_method(working: &str) -> bool {
    working.contains('∫')
        || !working.contains(" = ")
            && (working.starts_with(char::is_alphabetic)
                || !working.contains(|sign: char| sign.is_ascii_digit()))
}

/// Whether the numbers' side calls a curve by its name, as in `motor torque curve(352.038 rpm)`.
fn reads_a_curve(working: &str) -> bool {
    let numbers = working.rsplit_once(" = ").map_or(working, |(_, numbers)| numbers);
    work(numbers, None).is_err_and(|fault| fault.starts_with("no number at `") && fault.contains('('))
}

/// The finest digit that is certain to be right in an operand of this result.
fn place(operand: &Printed, shown: &Printed) -> i32 {
    let top =
        |one: &Printed| if one.number == 0.0 { one.place } else { one.number.abs().log10().floor() as i32 };
    let digits = top(shown) - shown.place + 1;
    let promised = top(operand) - (digits + 2) + 1;
    let same = if operand.unit == shown.unit { shown.place - 2 } else { i32::MAX };
    operand.place.min(promised).min(same)
}

/// The cells of a table's row, marks taken off.
fn cells(line: &str) -> Vec<String> {
    let Some(inner) = line.trim().strip_prefix("| ").and_then(|rest| rest.strip_suffix(" |")) else {
        return Vec::new();
    };
    let mut cells = vec![String::new()];
    let mut signs = inner.chars().peekable();
    while let Some(sign) = signs.next() {
        match sign {
            '\\' => cells.last_mut().expect("a cell").extend(signs.next()),
            '|' => cells.push(String::new()),
            sign => cells.last_mut().expect("a cell").push(sign),
        }
    }
    cells.into_iter().map(|cell| cell.trim().replace('\u{202f}', " ")).collect()
}
