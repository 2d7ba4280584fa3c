//! How long whole runs of the program take on a journal of 1,000 blocks, and on one ten times as long.
//!
//! `cargo bench` prints a table: median of several runs, and the peak of memory where the system tells it. Nothing here
//! fails for being slow: the figures are for the README, with the machine that they come from.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Runs of each command on the journal of 1,000 blocks.
const RUNS: usize = 9;
/// On the one of 10,000.
const RUNS_OF_LONG: usize = 3;

fn main() {
    let place = Path::new(env!("CARGO_TARGET_TMPDIR")).join("journal-bench");
    let short = make(&place.join("short"), 1_000);
    let long = make(&place.join("long"), 10_000);
    println!(
        "1,000 blocks of four kinds, {} kB; and 10,000 blocks, {} kB\n",
        size(&short) / 1000,
        size(&long) / 1000
    );
    println!("| command | 1,000 blocks | peak memory | 10,000 blocks | peak memory | ratio |");
    println!("|---|---|---|---|---|---|");
    for command in [Words::check(), Words::work(), Words::dossier()] {
        let (one, ten) = (median(&short, &command, RUNS), median(&long, &command, RUNS_OF_LONG));
        println!(
            "| `{}` | {} | {} | {} | {} | {:.1} |",
            command.words[0],
            seconds(one.time),
            memory(one.peak),
            seconds(ten.time),
            memory(ten.peak),
            ten.time.as_secs_f64() / one.time.as_secs_f64()
        );
    }
    println!(
        "\n10,000 candidates of a journal of 20 blocks\n\n| varied | `check` | without the study |\n|---|---|---|"
    );
    for (name, vary) in [("numbers and parts", NUMBERS), ("parts alone", PARTS)] {
        let (with, without) = (twenty(&place.join("with"), vary), twenty(&place.join("without"), ""));
        let taken =
            [with, without].map(|journal| seconds(median(&journal, &Words::check(), RUNS_OF_LONG).time));
        println!("| {name} | {} | {} |", taken[0], taken[1]);
    }
    let _ = fs::remove_dir_all(place);
}

/// Four motors, two cells, 50 ratios and 25 lengths of the pack.
const NUMBERS: &str = "
  - {name: motor, set: [drive.motor, go.motor], to: [slow, quick, curved, motor0]}
  - {name: cell, set: pack.cell, to: [cell, light_cell]}
  - {name: final, set: goals.final, to: {from: 3, to: 5.45, step: 0.05}}
  - {name: series, set: pack.series, to: {from: 80, to: 104, step: 1}}";

/// Ten each of motors, cells, inverters and chargers.
const PARTS: &str = "
  - {name: motor, set: [drive.motor, go.motor], to: [MOTORS]}
  - {name: cell, set: pack.cell, to: [CELLS]}
  - {name: inverter, set: kerb.installed.inverter.part, to: [INVERTERS]}
  - {name: charger, set: night.charger, to: [CHARGERS]}";

/// The journal of 20 blocks that the tests change, with ten more parts of each sort, and with a study where something is
/// varied.
fn twenty(folder: &Path, vary: &str) -> PathBuf {
    let mut text = include_str!("../tests/data/changed/twenty.md").to_owned();
    let mut vary = vary.to_owned();
    for (list, name) in
        [("MOTORS", "motor"), ("CELLS", "cell"), ("INVERTERS", "inverter"), ("CHARGERS", "charger")]
    {
        let names: Vec<String> = (0..10).map(|number| format!("{name}{number}")).collect();
        vary = vary.replace(list, &names.join(", "));
    }
    for number in 0..10 {
        let _ = write!(
            text,
            "\n```yaml part motor{number}\nrole: drive motor\nmass: {} kg\nprice: {} EUR\npeak_torque: 180 N m\npeak_power: 80 kW\n\
             max_speed: 10 000 rpm\nefficiency: 92 %\n```\n\n```yaml part cell{number}\nrole: cell\nnominal_voltage: 3.7 V\n\
             full_voltage: 4.2 V\nempty_voltage: 3 V\ncapacity: {} Ah\nresistance: 1 mΩ\nmass: 1.2 kg\n\
             continuous_discharge: 80 A\npeak_discharge: 240 A\ncontinuous_charge: 40 A\ncharge_temperature_low: 0 °C\n\
             charge_temperature_high: 45 °C\n```\n\n```yaml part inverter{number}\nrole: inverter\nmass: {} kg\nprice: 1 900 EUR\n\
             voltage_low: 240 V\nvoltage_high: 430 V\n```\n\n```yaml part charger{number}\nrole: charger\nefficiency: 0.9\n\
             current_limit: 40 A\npower_limit: {} kW\ncharge_end_voltage: 410 V\nprice: 1 150 EUR\n```\n",
            50 + number,
            3000 + 100 * number,
            70 + number,
            8 + number,
            5 + number
        );
    }
    if !vary.is_empty() {
        let _ = write!(
            text,
            "\n```yaml trade-study which\nvary:{vary}\nkeep: [go.grade_at_50_km_h >= 5 %, kerb.laden_mass <= 1 700 kg, night.time <= 9 h]\n\
             prefer: {{highest: pack.energy}}\n```\n"
        );
    }
    let _ = fs::remove_dir_all(folder);
    fs::create_dir_all(folder).expect("a folder");
    fs::write(folder.join("journal.md"), text).expect("the journal is written");
    folder.to_owned()
}

/// A command, and whether the journal is as first written before each run.
struct Words {
    words: Vec<&'static str>,
    fresh: bool,
}

impl Words {
    fn check() -> Words {
        Words { words: vec!["check"], fresh: false }
    }

    /// With every result still to be written.
    fn work() -> Words {
        Words { words: vec!["work"], fresh: true }
    }

    fn dossier() -> Words {
        Words { words: vec!["dossier"], fresh: true }
    }
}

struct Taken {
    time: Duration,
    /// Bytes; `None` where the system does not tell.
    peak: Option<u64>,
}

fn median(journal: &Path, command: &Words, runs: usize) -> Taken {
    let text = fs::read(journal.join("journal.md")).expect("the journal");
    let mut all: Vec<Taken> = (0..runs)
        .map(|_| {
            if command.fresh {
                fs::write(journal.join("journal.md"), &text).expect("the journal is written");
            }
            once(journal, command)
        })
        .collect();
    fs::write(journal.join("journal.md"), &text).expect("the journal is written");
    all.sort_by_key(|taken| taken.time);
    let peak = all.iter().filter_map(|taken| taken.peak).max();
    Taken { time: all[runs / 2].time, peak }
}

/// One process from its start to its end.
fn once(journal: &Path, command: &Words) -> Taken {
    let mut program = Command::new(env!("CARGO_BIN_EXE_voltwright"));
    program.args(&command.words).arg(journal).stdout(Stdio::null()).stderr(Stdio::null());
    let start = Instant::now();
    let mut child = program.spawn().expect("the program starts");
    let status = PathBuf::from(format!("/proc/{}/status", child.id()));
    let mut peak = None;
    let ended = loop {
        // The high-water mark only grows, so the last look is the one that counts.
        peak = high_water(&status).or(peak);
        match child.try_wait().expect("the program can be waited for") {
            Some(ended) => break ended,
            None => std::thread::sleep(Duration::from_micros(300)),
        }
    };
    let time = start.elapsed();
    assert!(ended.code().is_some_and(|code| code <= 1), "{} ended with {ended}", command.words[0]);
    Taken { time, peak }
}

fn high_water(status: &Path) -> Option<u64> {
    let text = fs::read_to_string(status).ok()?;
    let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    Some(line.trim().strip_suffix(" kB")?.trim().parse::<u64>().ok()? * 1024)
}

/// A journal of so many blocks of four kinds, with prose between them.
fn make(folder: &Path, blocks: usize) -> PathBuf {
    let mut text = String::from(
        "---\ntitle: A long journal\nvehicle: {description: Van, identity: DEMO-1000}\n---\n\n# A long journal\n\n",
    );
    text.push_str(
        "```yaml part cell\nrole: cell\nnominal_voltage: 3.2 V\nfull_voltage: 3.65 V\nempty_voltage: 2.5 V\n\
         capacity: 86 Ah ± 1 Ah\nresistance: 0.9 mΩ ± 0.1 mΩ\nmass: 1.95 kg\ncontinuous_discharge: 129 A\npeak_discharge: 258 A\n```\n",
    );
    for number in 1..blocks {
        let varied = number % 37;
        let _ = write!(
            text,
            "\n## Entry {number}\n\nWeighed and worked again after the change of the day before, with the same tools. "
        );
        let _ = match number % 4 {
            0 => write!(
                text,
                "The motor turns at [0](result:b{number}.motor_speed).\n\n```yaml ratio-chain b{number}\nwanted_speed: {} km/h (target)\n\
                 tyre: 185/70R13\nrolling_factor: 0.97 ± 0.01 (estimated)\nstages:\n  - {{name: axle, ratio: 4.10, efficiency: 0.96}}\n\
                 \x20 - {{name: gears, ratio: 1.85, efficiency: 0.97, speed_limit: 10 000 rpm}}\nmotor_max_speed: 9 000 rpm\n```\n",
                90 + varied
            ),
            1 => write!(
                text,
                "It comes to [0](result:b{number}.converted_mass).\n\n```yaml mass-ledger b{number}\n\
                 donor: {{mass: 1 085 kg ± 5 kg, front_axle: 652 kg, rear_axle: 433 kg}}\nwheelbase: 2.48 m\nremoved:\n\
                 \x20 - {{item: engine, mass: {} kg ± 1 kg (estimated), x: 0.1 m}}\ninstalled:\n  - {{item: motor, mass: 48 kg, x: 0.4 m}}\n\
                 \x20 - {{item: pack, mass: 210 kg ± 2 kg, x: 1.2 m}}\nlimits: {{gross: 1 750 kg}}\n```\n",
                100 + varied
            ),
            2 => write!(
                text,
                "It holds [0](result:b{number}.energy).\n\n```yaml pack-layout b{number}\ncell: cell\nseries: {}\nparallel: 1\n\
                 string_resistance: 20 mΩ ± 4 mΩ (estimated)\nusable_share: 0.9\nhousing_mass: 34 kg ± 1.5 kg (estimated)\n\
                 window: {{low: 120 V, high: 500 V}}\npeak_power: 40 kW\nworst: {{cell_voltage: 3.05 V, resistance_factor: 2}}\n```\n",
                80 + varied
            ),
            _ => write!(
                text,
                "It takes [0](result:b{number}.time).\n\n```yaml worksheet b{number}\ngiven:\n  energy: {} kWh ± 0.2 kWh (estimated)\n\
                 \x20 power: 3.3 kW\n  efficiency: 0.93 ± 0.01\nsteps:\n  - {{name: drawn, is: energy / efficiency, unit: kWh}}\n\
                 \x20 - {{name: time, is: drawn / power, unit: h}}\nchecks:\n  overnight: time <= 10 h\n```\n",
                20 + varied
            ),
        };
    }
    let _ = fs::remove_dir_all(folder);
    fs::create_dir_all(folder).expect("a folder");
    fs::write(folder.join("journal.md"), text).expect("the journal is written");
    folder.to_owned()
}

fn size(journal: &Path) -> u64 {
    fs::metadata(journal.join("journal.md")).expect("the journal").len()
}

fn seconds(time: Duration) -> String {
    format!("{:.3} s", time.as_secs_f64())
}

fn memory(peak: Option<u64>) -> String {
    peak.map_or("not told".to_owned(), |bytes| format!("{} MB", bytes / 1_000_000))
}
