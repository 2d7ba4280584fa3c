//! What is made of a journal as its author wrote it: front matter, values in both forms, lists, and blocks as a whole.

use std::sync::Arc;

use super::{Evidence, EvidenceFault, Leaf, NodeDecl, Notebook, Origin, Role, read};
use crate::blocks::KINDS;
use crate::findings::Finding;
use crate::journal::{Position, scan};
use crate::quantities::{Basis, Shape, sort};
use crate::source::{FileId, Source, Sources};

const ITEMS: &str = "item,mass,x\nBattery box,70 kg,\nmotor,48 kg,0.4 m\n";

struct Files;

impl Evidence for Files {
    fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        match path {
            "items.csv" => Ok(ITEMS.as_bytes().into()),
            "../items.csv" => Err(EvidenceFault::Outside),
            "locked.csv" => Err(EvidenceFault::Unreadable("permission denied".to_owned())),
            _ => Err(EvidenceFault::Missing),
        }
    }
}

/// A journal of one file, read.
struct Given {
    notebook: Notebook,
    sources: Sources,
    findings: Vec<Finding>,
}

impl Given {
    fn new(text: &str) -> Given {
        let sources = Sources(vec![Source::new("journal.md", text)]);
        let (journal, found) = scan(FileId(0), Position::First, sources.get(FileId(0)));
        assert_eq!(found, [], "the scan finds nothing");
        let (notebook, findings) = read((&[journal], &sources), KINDS, &Files);
        Given { notebook, sources, findings }
    }

    /// A part named `it` with these lines.
    fn part(lines: &str) -> Given {
        Given::new(&format!("```yaml part it\nrole: tool\n{lines}\n```\n"))
    }

    /// The code of each finding and what it points at.
    fn told(&self) -> Vec<(&str, &str)> {
        let span = |finding: &Finding| finding.span.map_or("", |span| self.sources.text(span));
        self.findings.iter().map(|finding| (finding.code.name, span(finding))).collect()
    }

    #[track_caller]
    fn node(&self, block: &str, name: &str) -> &NodeDecl {
        let entry = self.notebook.blocks.iter().find(|entry| entry.name == block);
        let nodes = &entry.unwrap_or_else(|| panic!("no block `{block}`")).nodes;
        nodes.iter().find(|node| node.name == name).unwrap_or_else(|| panic!("no `{block}.{name}`"))
    }

    #[track_caller]
    fn leaf(&self, block: &str, name: &str) -> &Leaf {
        assert_eq!(self.told(), []);
        self.node(block, name).leaf().expect("a value that the author wrote")
    }
}

/// The part's lines give these findings, each a code and what it points at.
#[track_caller]
fn refuses(lines: &str, expected: &[(&str, &str)]) -> Given {
    let given = Given::part(lines);
    assert_eq!(given.told(), expected, "{lines}");
    given
}

#[test]
fn the_front_matter_says_whose_journal_it_is() {
    let given = Given::new(
        "---\ntitle: A van\nvehicle: {description: box van, year: 1994, registration: none yet}\nbuilder: A builder\n\
         place: A shed\nrevision: 3\nunits: us\npaper: letter\nrules: [un-r100, iso-6469-4]\nfollow: pack.energy\nshow_moves: yes\n---\n",
    );
    assert_eq!(given.told(), []);
    let front = &given.notebook.front;
    assert_eq!(front.title.as_deref(), Some("A van"));
    assert_eq!(front.builder.as_deref(), Some("A builder"));
    assert_eq!(front.place.as_deref(), Some("A shed"));
    assert_eq!(front.revision.as_deref(), Some("3"));
    assert!(front.letter_paper && front.show_moves);
    assert_eq!(front.units.unit_for(&sort::SPEED, &sort::SPEED.display_unit()).symbol, "mi/h");
    assert_eq!(front.identity.get("year"), Some("1994"));
    let keys: Vec<&str> = front.identity.0.iter().map(|(key, _)| key.as_str()).collect();
    assert_eq!(keys, ["description", "year", "registration"], "in the order written");
    let named = |list: &[(String, crate::source::Span)]| -> Vec<(String, String)> {
        list.iter().map(|(name, span)| (name.clone(), given.sources.text(*span).to_owned())).collect()
    };
    let twice = |name: &str| (name.to_owned(), name.to_owned());
    assert_eq!(named(&front.rules), ["un-r100", "iso-6469-4"].map(twice));
    assert_eq!(named(&front.follow), ["pack.energy"].map(twice));
}

#[test]
fn without_front_matter_a_journal_is_metric_on_a4() {
    for text in ["# A page\n", "---\n---\n", "---\ntitle:\npaper: a4\nshow_moves: no\n---\n"] {
        let given = Given::new(text);
        assert_eq!(given.told(), [], "{text}");
        let front = &given.notebook.front;
        assert!(front.title.is_none() && !front.letter_paper && !front.show_moves, "{text}");
        assert_eq!(front.units.unit_for(&sort::SPEED, &sort::SPEED.display_unit()).symbol, "km/h");
    }
}

#[test]
fn a_mistake_in_the_front_matter_points_at_it() {
    for (lines, expected) in [
        ("titel: A van", ("unknown-key", "titel")),
        ("paper: a5", ("bad-value", "a5")),
        ("show_moves: perhaps", ("bad-value", "perhaps")),
        ("units: metric", ("bad-value", "metric")),
        ("units: {speed: kg}", ("unit-mismatch", "kg")),
        ("units: {sped: km/h}", ("unknown-key", "sped")),
        ("title: [A, van]", ("wrong-shape", "[A, van]")),
        ("supposed: 30 %", ("wrong-shape", "30 %")),
        ("supposed: {estimated.mas: 30 %}", ("unknown-key", "estimated.mas")),
        ("supposed: {mass: 30 %}", ("unknown-key", "mass")),
        ("supposed: {estimated.mass: a lot}", ("bad-value", "a lot")),
        ("- A van", ("wrong-shape", "- A van")),
    ] {
        let given = Given::new(&format!("---\n{lines}\n---\n"));
        assert_eq!(given.told(), [expected], "{lines}");
    }
}

#[test]
fn a_value_has_number_unit_tolerance_and_note() {
    let given = Given::new(
        "```yaml sources papers\nWB-1: {title: Weigh ticket}\n```\n\n\
         ```yaml part it\nrole: tool\nmass: 64 kg ± 500 g (measured WB-1; without oil)\n```\n",
    );
    let leaf = given.leaf("it", "mass");
    assert_eq!(leaf.literal.quantity.si, 64.0);
    assert_eq!(leaf.literal.tolerance.as_ref().map(|tolerance| tolerance.half_width_si), Some(0.5));
    assert_eq!(leaf.basis(), Basis::Measured);
    assert_eq!(leaf.remark.as_deref(), Some("without oil"));
    let (id, span) = leaf.source.as_ref().expect("a source");
    assert_eq!((id.as_str(), given.sources.text(*span)), ("WB-1", "WB-1"));
    assert_eq!(
        given.sources.text(given.node("it", "mass").span),
        "64 kg ± 500 g (measured WB-1; without oil)"
    );
    assert!(given.notebook.sources.contains_key("WB-1"));
}

#[test]
fn a_block_s_basis_holds_where_a_value_has_none_of_its_own() {
    let given = Given::part("basis: estimated\nmass: 64 kg\nlength: 30 cm (measured)");
    assert_eq!(given.leaf("it", "mass").basis(), Basis::Estimated);
    assert_eq!(given.leaf("it", "length").basis(), Basis::Measured);
    assert_eq!(Given::part("mass: 64 kg").leaf("it", "mass").basis(), Basis::Assumed);
}

#[test]
fn a_value_may_be_taken_from_another_block() {
    for text in ["from other.mass * 2", "other.mass"] {
        let given = Given::part(&format!("mass: {text}"));
        assert_eq!(given.told(), []);
        let Role::Field(Origin::Reference(taken)) = &given.node("it", "mass").role else {
            panic!("`{text}` is no reference");
        };
        assert_eq!(taken.expression.names().len(), 1, "{text}");
        let span = taken.text.expect("it stands in the file");
        assert!(given.sources.text(span).starts_with("other.mass"), "{text}");
    }
}

#[test]
fn a_value_that_can_t_be_read_is_told_at_its_place_and_stays_unknown() {
    for (line, code, at) in [
        ("mass: heavy", "bad-value", "heavy"),
        ("mass: 64 V (measured)", "unit-mismatch", "64 V"),
        ("mass: 64 kgs", "unknown-unit", "kgs"),
        ("mass: 1,234 kg", "number-comma", "1,234"),
        ("mass: 64 kg ± -1 kg", "bad-tolerance", "-1 kg"),
        ("mass: [64 kg]", "wrong-shape", "[64 kg]"),
        ("mass:", "wrong-shape", ""),
        ("mass: from 2 * * 3", "bad-expression", "*"),
        ("mass: -1 kg", "out-of-range", "-1 kg"),
        // What the tolerance allows must be possible as well.
        ("mass: 1 kg ± 2 kg", "out-of-range", "1 kg ± 2 kg"),
    ] {
        let given = refuses(line, &[(code, at)]);
        assert!(matches!(given.node("it", "mass").role, Role::Field(Origin::Failed)), "{line}");
        assert!(given.notebook.blocks[0].faulty, "{line}");
    }
}

#[test]
fn the_long_form_says_the_same_as_one_line_and_more() {
    let given = Given::part("mass: {value: 64 kg, tolerance: 500 g, basis: measured, remark: without oil}");
    let short = Given::part("mass: 64 kg ± 500 g (measured; without oil)");
    let (long, short) = (given.leaf("it", "mass"), short.leaf("it", "mass"));
    assert_eq!(long.literal.quantity, short.literal.quantity);
    assert_eq!(long.literal.tolerance, short.literal.tolerance);
    assert_eq!((long.basis, &long.remark), (short.basis, &short.remark));

    let normal = Given::part("mass: {value: 64 kg, tolerance: 2 %, shape: normal, coverage: 2.5}");
    let tolerance = normal.leaf("it", "mass").literal.tolerance.clone().expect("a tolerance");
    assert_eq!(tolerance.shape, Shape::Normal { coverage: 2.5 });
    assert!((tolerance.half_width_si - 1.28).abs() < 1e-12);
    let twice = Given::part("mass: {value: 64 kg, tolerance: 1 kg, shape: normal}");
    let tolerance = twice.leaf("it", "mass").literal.tolerance.clone().expect("a tolerance");
    assert_eq!(tolerance.shape, Shape::Normal { coverage: 2.0 }, "two standard uncertainties, unless told");
}

#[test]
fn readings_are_measured_and_their_mean_is_the_value() {
    let given = Given::part("mass: {readings: [64.0 kg, 64 300 g, 64.6 kg], remark: on three days}");
    let leaf = given.leaf("it", "mass");
    assert!((leaf.literal.quantity.si - 64.3).abs() < 1e-12);
    assert_eq!(leaf.literal.unit.symbol, "kg");
    assert_eq!((leaf.basis(), leaf.remark.as_deref()), (Basis::Measured, Some("on three days")));
    let readings = leaf.readings.as_ref().expect("readings");
    for (read, expected) in readings.values.iter().zip([64.0, 64.3, 64.6]) {
        assert!((read - expected).abs() < 1e-12);
    }
    assert!(leaf.literal.tolerance.is_none(), "scatter is no tolerance that somebody wrote");
}

#[test]
fn what_would_be_passed_over_in_the_long_form_is_told() {
    for (value, code, at) in [
        ("{value: 64 kg, readings: [64 kg, 65 kg]}", "bad-value", "[64 kg, 65 kg]"),
        ("{remark: none}", "missing-field", "{remark: none}"),
        ("{value: 64 kg, tolerence: 1 kg}", "unknown-key", "tolerence"),
        ("{value: 64 kg ± 1 kg, tolerance: 2 kg}", "bad-tolerance", "2 kg"),
        ("{value: 64 kg, tolerance: 1 V}", "unit-mismatch", "1 V"),
        ("{value: 64 kg, shape: normal}", "bad-tolerance", "normal"),
        ("{value: 64 kg, tolerance: 1 kg, shape: round}", "bad-value", "round"),
        ("{value: 64 kg, tolerance: 1 kg, coverage: 2}", "bad-tolerance", "2"),
        ("{value: 64 kg, tolerance: 1 kg, shape: normal, coverage: 0}", "bad-value", "0"),
        ("{value: 64 kg, together: morning}", "bad-value", "morning"),
        ("{value: 64 kg (measured), basis: estimated}", "bad-value", "estimated"),
        ("{value: 64 kg, basis: guessed}", "bad-value", "guessed"),
        ("{readings: [64 kg]}", "bad-value", "[64 kg]"),
        ("{readings: 64 kg}", "wrong-shape", "64 kg"),
        ("{readings: [64 kg, 65 V]}", "unit-mismatch", "65 V"),
        ("{readings: [64 kg, 65 kg ± 1 kg]}", "bad-tolerance", "65 kg ± 1 kg"),
        ("{readings: [64 kg, 65 kg], tolerance: 1 V}", "unit-mismatch", "1 V"),
        ("{readings: [64 kg, 65 kg], resolution: 1 V}", "unit-mismatch", "1 V"),
        ("{readings: [64 kg, 65 kg], of: cells}", "bad-value", "cells"),
        ("{value: 64 kg, resolution: 1 kg}", "bad-value", "1 kg"),
        ("{value: 64 kg, of: pieces}", "bad-value", "pieces"),
        ("{readings: [64 kg, -65 kg]}", "out-of-range", "[64 kg, -65 kg]"),
    ] {
        refuses(&format!("mass: {value}"), &[(code, at)]);
    }
}

/// Half of the width that is supposed of `it.NAME`, and how it is printed; `None` where nothing is.
fn supposed(lines: &str, name: &str) -> Option<(f64, String)> {
    let supposed = Given::part(lines).node("it", name).leaf()?.supposed.clone()?;
    Some((0.5 * (supposed.high - supposed.low), supposed.text.replace('\u{a0}', " ")))
}

/// The table of the language, section 3.
#[test]
fn a_physical_value_without_a_tolerance_gets_one_by_what_it_is_and_how_it_is_known() {
    for (value, half, text) in [
        ("mass: 64.0 kg (measured)", 0.32, "0.5 %"),
        ("mass: 64 kg (measured)", 1.0, "1 kg"),
        ("mass: 64 kg (datasheet)", 3.2, "5 %"),
        ("mass: 64 kg (published)", 3.2, "5 %"),
        ("mass: 64 kg (estimated)", 12.8, "20 %"),
        ("mass: 64 kg", 12.8, "20 %"),
        ("wheelbase: 2.4 m (measured)", 0.005, "5 mm"),
        ("x: 0.4 m (datasheet)", 0.02, "20 mm"),
        ("cg_height: 0.4 m", 0.05, "50 mm"),
        ("ratio: 4.10 (datasheet)", 0.005, "0.005"),
        ("ratio: 4.1", 0.05, "0.05"),
        ("rolling_factor: 0.97 (measured)", 0.00485, "0.5 %"),
        ("efficiency: 0.9 (measured)", 0.01, "10 % of the loss"),
        ("efficiency: 90 % (datasheet)", 0.02, "20 % of the loss"),
        ("gearbox_efficiency: 0.9", 0.04, "40 % of the loss"),
        ("resistance: 0.9 mohm (datasheet)", 0.18e-3, "20 %"),
        ("peak_torque: 310 N m (datasheet)", 15.5, "5 %"),
        ("peak_power: 80 kW (estimated)", 8e3, "10 %"),
        ("outside: 20 °C (measured)", 2.0, "2 K"),
        ("usable: 50 % (measured)", 0.02, "2 points"),
        ("energy: 20.0 kWh (measured)", 0.01 * 72e6, "1 %"),
        ("energy: 20 kWh (datasheet)", 3.6e6, "5 %"),
        ("charge_end_voltage: 400 V (datasheet)", 4.0, "1 %"),
        // Zeros fill a whole number up; but no number is worse than an estimate of it.
        ("mass: 1 230 kg (measured)", 10.0, "10 kg"),
        ("mass: 20 kg (measured)", 4.0, "4 kg"),
        // Nothing beyond what is possible.
        ("usable: 99 % (datasheet)", 0.03, "5 points"),
        ("charged: 120 % (datasheet)", 0.05, "5 points"),
    ] {
        let (name, _) = value.split_once(':').expect("a name");
        let (found, shown) = supposed(value, name).unwrap_or_else(|| panic!("{value}: nothing supposed"));
        assert!((found - half).abs() <= 1e-9 * half, "{value}: {found}");
        assert_eq!(shown, text, "{value}");
    }
}

#[test]
fn what_is_counted_stated_or_has_a_tolerance_gets_none() {
    for value in [
        "ratio: 35/8",
        "ratio: 4.375 (measured; 35 and 8 teeth)",
        "ratio: 35:8 (measured)",
        "mass: 64 kg ± 1 kg",
        "share: 100 %",
        "share: 0 %",
        "max_speed: 9 000 rpm",
        "rated_power: 60 kW (datasheet)",
        "fuse_rating: 200 A",
        "price: 250 EUR",
        "mass: {readings: [64 kg, 65 kg], tolerance: 1 kg}",
    ] {
        let (name, _) = value.split_once(':').expect("a name");
        assert_eq!(supposed(value, name), None, "{value}");
    }
    assert!(supposed("mass: {readings: [64.0 kg, 65.0 kg]}", "mass").is_some(), "of the instrument");
}

#[test]
fn the_front_matter_may_suppose_more_and_less() {
    let given = |lines: &str| {
        let body = "```yaml part it\nrole: tool\nmass: 64 kg (estimated)\n```\n";
        let given = Given::new(&format!("---\nsupposed: {{{lines}}}\n---\n{body}"));
        let supposed = given.leaf("it", "mass").supposed.clone().expect("a tolerance");
        let half = (500.0 * (supposed.high - supposed.low)).round() / 1000.0;
        (half, given.notebook.front.supposed[0].narrower)
    };
    assert_eq!(given("estimated.mass: 50 %"), (32.0, false));
    assert_eq!(given("estimated.mass: 10 %"), (6.4, true));
    // In kilograms it can't be held against 20 %: the first page says it.
    assert_eq!(given("estimated.mass: 2 kg"), (2.0, true));
    // More doubt spreads to the other words of its column, less does not.
    assert_eq!(given("assumed.mass: 50 %"), (32.0, false));
    assert_eq!(given("assumed.mass: 10 %"), (12.8, true));
    assert_eq!(given("measured.gear_ratio: a digit or 1 %"), (12.8, false));
}

#[test]
fn a_tolerance_of_nought_on_a_physical_value_is_told() {
    refuses("mass: 64 kg ± 0 kg (measured)", &[("exact-physical", "64 kg ± 0 kg (measured)")]);
    refuses("max_speed: 9 000 rpm ± 0 rpm", &[]);
}

/// A ledger whose `installed` is this.
fn ledger(installed: &str) -> Given {
    let front = "```yaml mass-ledger kerb\ndonor: {mass: 900 kg}\nwheelbase: 2.4 m\nremoved: []\n";
    Given::new(&format!("{front}installed: {installed}\n```\n"))
}

#[test]
fn a_list_is_the_same_in_the_block_and_in_a_file() {
    let written = ledger("[{item: Battery box, mass: 70 kg}, {item: motor, mass: 48 kg, x: 0.4 m}]");
    let filed = ledger("{file: items.csv}");
    for (name, expected) in
        [("installed.battery_box.mass", 70.0), ("installed.motor.mass", 48.0), ("installed.motor.x", 0.4)]
    {
        for given in [&written, &filed] {
            let leaf = given.node("kerb", name).leaf().expect("a value");
            assert_eq!(leaf.literal.quantity.si, expected, "{name}");
        }
    }
    // An empty cell is no key.
    let names = |given: &Given| -> Vec<String> {
        let nodes = given.notebook.blocks[0].nodes.iter();
        nodes
            .filter(|node| !node.hidden)
            .map(|node| node.name.clone())
            .filter(|name| name.starts_with("installed."))
            .collect()
    };
    assert_eq!(names(&filed), names(&written));
    assert!(!names(&filed).contains(&"installed.battery_box.x".to_owned()));
    let files: Vec<(&str, &str)> =
        filed.notebook.blocks[0].files.iter().map(|(path, hash)| (path.as_str(), hash.as_str())).collect();
    // By another program (Python's hashlib).
    assert_eq!(files, [("items.csv", "a56921b63dfa68996b7a4bfc8b526613f81872d1ca419be10b290eeb13fd9578")]);
    assert!(written.notebook.blocks[0].files.is_empty());
}

#[test]
fn a_list_that_can_t_be_read_is_told() {
    for (installed, code, at) in [
        ("motor", "wrong-shape", "motor"),
        ("[motor]", "unknown-reference", "motor"),
        ("[{name: ???, mass: 4 kg}]", "bad-name", "???"),
        ("installed.csv", "wrong-shape", "installed.csv"),
        ("[{mass: 4 kg}]", "missing-field", "{mass: 4 kg}"),
        ("[{item: Box A, mass: 4 kg}, {item: box-a, mass: 5 kg}]", "duplicate-name", "box-a"),
        ("[{item: box, mass: 4 kg, colour: red}]", "unknown-key", "colour"),
        ("{file: none.csv}", "file-unreadable", "none.csv"),
        ("{file: locked.csv}", "file-unreadable", "locked.csv"),
        ("{file: ../items.csv}", "file-outside", "../items.csv"),
    ] {
        let given = ledger(installed);
        let errors: Vec<(&str, &str)> = given
            .told()
            .into_iter()
            .zip(&given.findings)
            .filter(|(_, finding)| finding.is_error())
            .map(|(told, _)| told)
            .collect();
        assert_eq!(errors, [(code, at)], "{installed}");
    }
}

#[test]
fn a_fence_is_a_block_by_its_kind_and_prose_without_one() {
    let given = Given::new(
        "```yaml mass_ledger kerb\ndonor: {mass: 900 kg}\nremoved: []\ninstalled: []\n```\n\n\
         ```yaml configuration\na: 1\n```\n\n```yaml part motor\nrole: tool\n```\n",
    );
    assert_eq!(given.told(), []);
    let blocks: Vec<(&str, &str)> =
        given.notebook.blocks.iter().map(|entry| (entry.kind.name, entry.name.as_str())).collect();
    assert_eq!(blocks, [("mass-ledger", "kerb"), ("part", "motor")]);
    assert_eq!(given.notebook.fences, [[Some(0), None, Some(1)]]);
    assert_eq!(given.notebook.prose_fences[0].iter().copied().collect::<Vec<_>>(), [1]);
}

#[test]
fn a_block_needs_a_kind_and_a_name_that_is_free() {
    for (fence, code, at) in [
        ("yaml prat motor", "unknown-kind", "prat"),
        ("yaml trailer hitch", "unknown-kind", "trailer"),
        ("yaml prat", "unknown-kind", "prat"),
        ("yaml part", "bad-name", "part"),
        ("yaml part Motor", "bad-name", "Motor"),
        ("yaml part 2nd", "bad-name", "2nd"),
        ("yaml part front-motor", "bad-name", "front-motor"),
        ("yaml part motor two", "bad-name", "two"),
    ] {
        let given = Given::new(&format!("```{fence}\nrole: tool\n```\n"));
        assert_eq!(given.told(), [(code, at)], "{fence}");
        assert!(given.notebook.blocks.is_empty(), "{fence}");
    }
    let given = Given::new("```yaml part a\nrole: first\n```\n\n```yaml part a\nrole: second\n```\n");
    assert_eq!(given.told(), [("duplicate-name", "a")]);
    assert_eq!(given.notebook.blocks.len(), 1, "the first one stands");
}

#[test]
fn a_body_of_the_wrong_shape_is_one_mistake() {
    let given = Given::new("```yaml ratio-chain drive\n- 100 km/h\n```\n");
    assert_eq!(given.told(), [("wrong-shape", "- 100 km/h")]);
    assert!(given.notebook.blocks[0].faulty);
}

#[test]
fn a_block_whose_yaml_is_broken_is_known_by_name() {
    let text = "```yaml part motor\nrole: [\n```\n\n```yaml part motor\nrole: tool\n```\n";
    let sources = Sources(vec![Source::new("journal.md", text)]);
    let (journal, found) = scan(FileId(0), Position::First, sources.get(FileId(0)));
    assert_eq!(found.iter().map(|finding| finding.code.name).collect::<Vec<_>>(), ["yaml-broken"]);
    let (notebook, found) = read((&[journal], &sources), KINDS, &Files);
    // Nothing is told of what refers to it, and its name is not free.
    assert!(notebook.broken.contains("motor") && notebook.blocks.is_empty());
    assert_eq!(found.iter().map(|finding| finding.code.name).collect::<Vec<_>>(), ["duplicate-name"]);
}

#[test]
fn a_live_value_may_name_its_unit() {
    let given = Given::new("Of [64 kg](<result:motor.mass in lb>) and [5 m](result:drive.length).\n");
    assert_eq!(given.told(), []);
    let live: Vec<(&str, Option<&str>)> = given
        .notebook
        .live
        .iter()
        .map(|entry| (entry.name.as_str(), entry.unit.as_ref().map(|unit| unit.symbol)))
        .collect();
    assert_eq!(live, [("motor.mass", Some("lb")), ("drive.length", None)]);
    let given = Given::new("Of [64 kg](<result:motor.mass in stones>).\n");
    assert_eq!(given.told(), [("unknown-unit", "motor.mass in stones")]);
}

#[test]
fn each_source_has_one_block_that_makes_it_known() {
    let given = Given::new(
        "```yaml sources one\nA-1: {title: First}\n```\n\n```yaml sources two\nA-1: {title: Second}\n```\n\n\
         ```yaml part it\nrole: tool\nmass: 4 kg (measured A-1)\nlength: 1 m (measured A-2)\n```\n",
    );
    assert_eq!(given.told(), [("duplicate-name", "A-1"), ("unknown-reference", "A-2")]);
}
