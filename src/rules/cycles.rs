//! The published drive cycles and the classes of the WLTC, read from their data files once.

use std::sync::{Arc, OnceLock};

use super::{Source, Standing};
use crate::quantities::{Trace, read_literal, read_unit};

/// A published speed trace.
pub(crate) struct Cycle {
    pub title: &'static str,
    pub source: &'static str,
    pub status: Standing,
    pub trace: Arc<Trace>,
    /// The same, as other rules have it.
    pub cited: Source,
}

/// Which class of the WLTC a vehicle belongs to, by its power to mass (W/kg) and top speed (m/s).
pub(crate) struct Classes {
    pub source: &'static str,
    /// What holds for all electric vehicles, and how it is known.
    pub electric: &'static str,
    pub electric_status: &'static str,
    pub class_1_at_most: f64,
    pub class_2_at_most: f64,
    pub class_3b_from: f64,
}

struct File {
    name: &'static str,
    text: &'static str,
    read: OnceLock<Cycle>,
}

const fn file(name: &'static str, text: &'static str) -> File {
    File { name, text, read: OnceLock::new() }
}

static FILES: [File; 5] = [
    file("wltc-1", include_str!("cycles/wltc-1.txt")),
    file("wltc-2", include_str!("cycles/wltc-2.txt")),
    file("wltc-3a", include_str!("cycles/wltc-3a.txt")),
    file("wltc-3b", include_str!("cycles/wltc-3b.txt")),
    file("nedc", include_str!("cycles/nedc.txt")),
];

/// The names of the published cycles.
pub(crate) fn names() -> impl Iterator<Item = &'static str> {
    FILES.iter().map(|file| file.name)
}

/// The published cycle of that name.
pub(crate) fn cycle(name: &str) -> Option<&'static Cycle> {
    let file = FILES.iter().find(|file| file.name == name)?;
    Some(file.read.get_or_init(|| read(file.text)))
}

/// The boundaries of the WLTC's classes.
pub(crate) fn classes() -> &'static Classes {
    static CLASSES: OnceLock<Classes> = OnceLock::new();
    CLASSES.get_or_init(|| {
        let (head, _) = split(include_str!("cycles/classes.txt"));
        let si = |key| read_literal(entry(head, key)).map_or(f64::NAN, |literal| literal.quantity.si);
        Classes {
            source: entry(head, "source"),
            electric: entry(head, "electric"),
            electric_status: entry(head, "electric_status"),
            class_1_at_most: si("class_1_at_most"),
            class_2_at_most: si("class_2_at_most"),
            class_3b_from: si("class_3b_from"),
        }
    })
}

/// A file is `key: value` lines, `values:`, and numbers: speeds at a `step` of the head, or pairs of time (s) and speed.
fn read(text: &'static str) -> Cycle {
    let (head, values) = split(text);
    let unit = read_unit(entry(head, "speed_unit")).expect("a shipped file names a unit");
    let numbers: Vec<f64> =
        values.split_whitespace().map(|word| word.parse().expect("a shipped file holds numbers")).collect();
    let samples = match entry(head, "step") {
        "" => numbers.chunks_exact(2).map(|pair| (pair[0], unit.to_si(pair[1]))).collect(),
        step => {
            let step = read_literal(step).expect("a shipped file's step is a time").quantity.si;
            numbers.iter().enumerate().map(|(at, speed)| (at as f64 * step, unit.to_si(*speed))).collect()
        }
    };
    let status = match entry(head, "status") {
        "read" => Standing::Read,
        "second-hand" => Standing::SecondHand,
        _ => Standing::Memory,
    };
    let trace = Arc::new(Trace::new(samples).expect("a shipped trace is sound"));
    let (title, source) = (entry(head, "title"), entry(head, "source"));
    let (document, clause) = source.split_once(", ").unwrap_or((source, ""));
    let cited = Source {
        about: format!("speed against time of {title}"),
        document: document.to_owned(),
        edition: None,
        year: None,
        clause: clause.to_owned(),
        standing: status,
    };
    Cycle { title, source, status, trace, cited }
}

fn split(text: &'static str) -> (&'static str, &'static str) {
    text.split_once("values:").unwrap_or((text, ""))
}

fn entry(head: &'static str, key: &str) -> &'static str {
    let value = |line: &'static str| line.split_once(": ").filter(|(name, _)| *name == key);
    head.lines().find_map(value).map_or("", |(_, value)| value.trim())
}

#[cfg(test)]
mod tests {
    use super::{FILES, classes, cycle, entry, names, split};

    /// Samples, duration, distance in km by trapezoids, largest and mean speed in km/h, largest and least acceleration:
    /// published totals of the traces (UN GTR 15, UN R83), recomputed.
    #[track_caller]
    fn check(name: &str, duration: f64, distance: f64, top: f64, steepest: [f64; 2]) {
        let trace = &cycle(name).expect(name).trace;
        let pairs = || trace.samples().windows(2);
        let found: f64 = pairs().map(|p| (p[1].0 - p[0].0) * (p[0].1 + p[1].1) / 2.0).sum();
        let slope = |p: &[(f64, f64)]| (p[1].1 - p[0].1) / (p[1].0 - p[0].0);
        let (first, last) = (trace.samples()[0].0, trace.samples()[trace.samples().len() - 1].0);
        assert_eq!(last - first, duration, "{name}");
        assert!((found / 1000.0 - distance).abs() < 1e-4 * distance, "{name}: {found}");
        assert!((trace.top_speed() * 3.6 - top).abs() < 1e-9, "{name}");
        let largest = pairs().map(slope).fold(f64::MIN, f64::max);
        let least = pairs().map(slope).fold(f64::MAX, f64::min);
        assert!((largest - steepest[0]).abs() < 1e-4, "{name}: {largest}");
        assert!((least - steepest[1]).abs() < 1e-4, "{name}: {least}");
    }

    #[test]
    fn traces_have_their_published_totals() {
        check("wltc-1", 1611.0, 11.42767, 64.4, [0.8056, -1.1111]);
        check("wltc-2", 1800.0, 22.64914, 123.1, [0.9722, -1.1111]);
        check("wltc-3a", 1800.0, 23.19358, 131.3, [1.6667, -1.5]);
        check("wltc-3b", 1800.0, 23.26628, 131.3, [1.6667, -1.5]);
        check("nedc", 1180.0, 11.01319, 120.0, [1.0417, -1.3889]);
    }

    /// Sums of speed in km/h, whole and by phase (UN GTR 15, as carried by the PyPI package wltp).
    #[track_caller]
    fn check_sums(name: &str, whole: f64, phases: &[(usize, f64)]) {
        let trace = &cycle(name).expect(name).trace;
        let sum = |from: usize, count: usize| {
            trace.samples().iter().skip(from).take(count).map(|(_, speed)| speed * 3.6).sum::<f64>()
        };
        assert!((sum(0, usize::MAX) - whole).abs() < 0.05, "{name}: {}", sum(0, usize::MAX));
        let mut from = 1;
        for (length, expected) in phases {
            assert!((sum(from, *length) - expected).abs() < 0.05, "{name}: {}", sum(from, *length));
            from += length;
        }
    }

    #[test]
    fn sums_of_speed_are_those_of_the_regulation() {
        check_sums("wltc-1", 41139.6, &[(589, 11988.4), (433, 17162.8), (589, 11988.4)]);
        let phases = [(589, 11162.2), (433, 17054.3), (455, 24450.6), (323, 28869.8)];
        check_sums("wltc-2", 81536.9, &phases);
        check_sums("wltc-3a", 83496.9, &[]);
        let phases = [(589, 11140.3), (433, 17121.2), (455, 25782.2), (323, 29714.9)];
        check_sums("wltc-3b", 83758.6, &phases);
    }

    #[test]
    fn every_file_names_its_source_and_status() {
        for name in names() {
            let cycle = cycle(name).expect(name);
            assert!(!cycle.title.is_empty() && cycle.source.starts_with("UN "), "{name}");
        }
        assert_eq!(entry(split(FILES[4].text).0, "status"), "second-hand");
        let classes = classes();
        assert!(classes.class_1_at_most < classes.class_2_at_most && classes.class_3b_from > 30.0);
    }
}
