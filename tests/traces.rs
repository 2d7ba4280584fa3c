//! Speed traces of the author's own: each form that a file may have gives the same cycle, and a coast-down gives back
//! what it was made of, with what its noise leaves open.

use serde_json::Value;

#[path = "support/program.rs"]
mod program;
#[path = "support/register.rs"]
mod register;

use program::Folder;
use register::register;

/// A road and a pack that any energy-use block can stand on.
const BASE: &str = "\
```yaml worksheet road
steps:
  - {name: f0, is: 180 N, unit: N}
  - {name: f1, is: '0 [N/(m/s)]', unit: N/(m/s)}
  - {name: f2, is: '0.45 [N/(m/s)^2]', unit: N/(m/s)^2}
  - {name: effective_mass, is: 1 560 kg, unit: kg}
```

```yaml worksheet pack
steps:
  - {name: usable_energy, is: 30 kWh, unit: kWh}
  - {name: nominal_voltage, is: 350 V, unit: V}
  - {name: resistance, is: 80 mohm, unit: mohm}
```
";

fn si(found: &Value, name: &str) -> f64 {
    found["results"][name]["si"].as_f64().unwrap_or_else(|| panic!("no `{name}` in {}", found["findings"]))
}

/// Speeds in mi/h of a short drive, one each second.
const MILES: [f64; 12] = [0.0, 3.0, 9.5, 17.0, 22.5, 25.0, 25.0, 24.0, 20.0, 12.0, 4.0, 0.0];

/// The drive of [`MILES`] as a file of that name and content; its distance and energies.
#[track_caller]
fn check(name: &str, content: &str) -> Value {
    let folder = Folder::new();
    folder.write(&format!("evidence/{name}"), content);
    let block = format!(
        "{BASE}\n```yaml energy-use use\nroad: road\npack: pack\ndrive_efficiency: 85 %\nauxiliary_power: 300 W\n\
         cycles: [{{name: drive, file: evidence/{name}}}]\n```\n"
    );
    folder.write("journal.md", block);
    let found = register(&folder);
    assert_eq!(found["findings"], Value::Array(Vec::new()), "{name}");
    // Trapezoids of the speeds; 1 mi/h is 0.44704 m/s.
    let expected = 0.44704 * MILES.iter().sum::<f64>();
    assert!((si(&found, "use.drive_distance") / expected - 1.0).abs() < 1e-9, "{name}");
    assert_eq!(si(&found, "use.drive_duration"), 11.0, "{name}");
    found
}

fn rows(separator: &str, factor: f64) -> String {
    MILES
        .iter()
        .enumerate()
        .map(|(second, speed)| format!("{second}{separator}{:.9}\n", speed * factor))
        .collect()
}

#[test]
fn files_of_every_form_are_read_as_one_drive() {
    check("a.csv", &format!("time (s),speed (km/h)\n{}", rows(",", 1.609344)));
    check("b.csv", &format!("\u{feff}time (s);speed (m/s)\r\n{}", rows(";", 0.44704).replace('\n', "\r\n")));
    check("c.txt", &format!("time [s]\tspeed [mi/h]\n{}", rows("\t", 1.0)));
    let swapped: String =
        MILES.iter().enumerate().map(|(second, speed)| format!("run,{speed},{second}\n")).collect();
    check("d.csv", &format!("note,speed (mph),time (s)\n{swapped}"));
}

#[test]
fn text_without_units_is_seconds_and_miles_per_hour_and_says_so() {
    let found =
        check("schedule.txt", &format!("A drive\nTest time, secs.\tTarget speed, mph\n{}", rows("\t", 1.0)));
    let unit = &found["results"]["use.cycles.drive.speed_unit"];
    assert_eq!(unit["shown"], "1 mi/h");
    assert_eq!(unit["basis"], "assumed");
    assert_eq!(found["results"]["use.cycles.drive.time_unit"]["basis"], "assumed");
}

/// v = √(A/C) tan(atan(v0 √(C/A)) − t √(A C)/m), the closed form of a decay.
fn decay(a: f64, time: f64) -> f64 {
    let (c, mass) = (0.45_f64, 1200.0 * 1.04);
    (a / c).sqrt() * ((30.0 * (c / a).sqrt()).atan() - time * (a * c).sqrt() / mass).tan()
}

fn run(a: f64, off: impl Fn(usize) -> f64) -> String {
    let rows =
        (0..500).map(|at| (at, at as f64 * 0.2)).map(|(at, time)| (time, decay(a, time) * 3.6 + off(at)));
    let rows = rows.map(|(time, speed)| format!("{time:.1},{speed:.6}\n"));
    format!("time (s),speed (km/h)\n{}", rows.collect::<String>())
}

const COAST: &str = "\
```yaml coast-down rolling
mass: 1 200 kg
air_density: 1.2 kg/m^3
runs:
  - {file: evidence/out.csv, direction: out}
  - {file: evidence/back.csv, direction: back}
```

```yaml road-load road
mass: 1 200 kg
coefficients: {f0: from rolling.f0, f1: from rolling.f1, f2: from rolling.f2}
speeds: [60 km/h]
```
";

#[test]
fn a_synthetic_coast_down_comes_back_and_stands_in_the_road_load() {
    let folder = Folder::new();
    folder.write("evidence/out.csv", run(212.0, |_| 0.0));
    folder.write("evidence/back.csv", run(148.0, |_| 0.0));
    folder.write("journal.md", COAST);
    let found = register(&folder);
    assert_eq!(found["findings"], Value::Array(Vec::new()));
    for (name, expected, within) in [
        ("rolling.f0", 180.0, 1e-4),
        ("rolling.f1", 0.0, 1e-5),
        ("rolling.f2", 0.45, 1e-6),
        ("rolling.drag_area", 0.75, 1e-6),
        ("rolling.rolling_coefficient", 180.0 / (1200.0 * 9.80665), 1e-8),
        ("road.force_at_60_km_h", 180.0 + 0.45 * (60.0 / 3.6) * (60.0 / 3.6), 1e-4),
    ] {
        assert!((si(&found, name) - expected).abs() <= within, "{name}: {}", si(&found, name));
    }
}

/// What samples leave open in the coefficients reaches what is worked from them, with the correlation: the force in
/// the middle of the speeds is known far better than each coefficient alone.
#[test]
fn the_scatter_of_the_samples_reaches_the_force_with_its_correlation() {
    let folder = Folder::new();
    // No two neighbours alike, and no random numbers: the fractional parts of multiples of the golden section.
    let off = |share: f64| move |at: usize| ((at as f64 * share).fract() - 0.5) * 1.0;
    // Two pairs: of one alone nobody knows what the wind did.
    let runs = [
        ("out", 212.0, 0.618_033_988_75),
        ("back", 148.0, 0.414_213_562_37),
        ("out2", 212.0, 0.732_050_807_57),
        ("back2", 148.0, 0.236_067_977_5),
    ];
    for (name, a, share) in runs {
        folder.write(&format!("evidence/{name}.csv"), run(a, off(share)));
    }
    let again = "direction: back}\n  - {file: evidence/out2.csv, direction: out}\n  - {file: evidence/back2.csv, direction: back}";
    // The mass alone would leave more open.
    let journal = COAST.replace("1 200 kg", "1 200 kg ± 0 kg").replace("direction: back}", again);
    folder.write("journal.md", journal);
    let found = register(&folder);
    let uncertainty = |name: &str| found["results"][name]["uncertainty_si"].as_f64().expect(name);
    let told = si(&found, "rolling.f0_uncertainty");
    assert!(told > 0.1, "{told}");
    assert!((uncertainty("rolling.f0") / told - 1.0).abs() < 1e-6, "{}", uncertainty("rolling.f0"));
    assert!((uncertainty("rolling.f2") / si(&found, "rolling.f2_uncertainty") - 1.0).abs() < 1e-6);
    assert!(uncertainty("road.force_at_60_km_h") < 0.5 * told);
    assert!(si(&found, "rolling.correlation_f0_f1") < -0.9);
}

#[test]
fn a_flat_map_is_one_efficiency_and_a_cycle_heats_the_pack() {
    let folder = Folder::new();
    let rows =
        [(0, 0), (0, 400), (12_000, 0), (12_000, 400)].map(|(rpm, torque)| format!("{torque},{rpm},90\n"));
    folder.write("evidence/map.csv", format!("torque (N m),speed (rpm),efficiency (%)\n{}", rows.concat()));
    let uses = "\
```yaml part cell
role: cell
nominal_voltage: 3.5 V
full_voltage: 4.2 V
empty_voltage: 2.5 V
capacity: 50 Ah
resistance: 1 mohm
mass: 0.8 kg
continuous_discharge: 80 A
peak_discharge: 150 A
```

```yaml pack-layout cells
cell: cell
series: 100
parallel: 2
housing_share: 25 %
```

```yaml ratio-chain drive
wanted_speed: 100 km/h
tyre: 0.62 m (measured)
stages: [{name: gear, ratio: 9, efficiency: 97 %}]
motor_max_speed: 12 000 rpm (measured)
```

```yaml energy-use mapped
road: road
pack: cells
chain: drive
efficiency_map: {file: evidence/map.csv}
auxiliary_power: 300 W
cycles: [nedc]
speeds: [80 km/h]
```

```yaml energy-use plain
road: road
pack: cells
drive_efficiency: from 0.9 * 0.97
auxiliary_power: 300 W
cycles: [nedc]
speeds: [80 km/h]
```

```yaml pack-heat warm
pack: cells
cycle: plain.nedc
heat_capacity: 1 000 J/(kg K)
```
";
    folder.write("journal.md", format!("{BASE}\n{uses}"));
    let found = register(&folder);
    assert_eq!(found["findings"], Value::Array(Vec::new()));
    for name in ["nedc_consumption", "nedc_rms_current", "consumption_at_80_km_h"] {
        let (mapped, plain) = (si(&found, &format!("mapped.{name}")), si(&found, &format!("plain.{name}")));
        assert!((mapped / plain - 1.0).abs() < 1e-9, "{name}: {mapped} and {plain}");
    }
    let current = si(&found, "plain.nedc_rms_current");
    assert!((si(&found, "warm.heat") / (current * current * 0.05) - 1.0).abs() < 1e-12);
    assert!((si(&found, "warm.rise") / (si(&found, "warm.heat") * 1180.0 / 160e3) - 1.0).abs() < 1e-12);
}
