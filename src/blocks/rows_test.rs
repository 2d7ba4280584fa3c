//! Each formula of each row of each kind parses, its names are there, and its dimension is right: without a journal that
//! takes that branch.

use std::collections::{HashMap, HashSet};

use super::KINDS;
use crate::model::{
    FieldDoc, Kind, Over, Purpose, ROLES, RequirementRow, ResultRow, Row, Takes, Way, fill, names_of_today,
};
use crate::quantities::si::ElectricCurrent;
use crate::quantities::{
    Curve, Expression, Name, Quantity, Scope, Sort, Unit, read_expression, read_unit, sort,
};
use crate::rules::packs::{Ground, shipped, subjects};
use crate::rules::{literal, rules, table};

#[test]
fn every_formula_of_every_result_is_of_its_dimension() {
    let mut faults = Vec::new();
    for kind in KINDS {
        for row in kind.rows {
            if let Err(fault) = check_result(kind, row) {
                faults.push(format!("{}.{}: {fault}", kind.name, row.name));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_limit_of_every_requirement_is_of_the_dimension_of_what_it_limits() {
    let mut faults = Vec::new();
    for kind in KINDS {
        for row in kind.requires {
            if let Err(fault) = check_requirement(kind, row) {
                faults.push(format!("{}.{}: {fault}", kind.name, row.name));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// As they are written, and of all kinds; how motion's are printed is measured in `printed_test.rs`.
#[test]
fn no_formula_is_printed_over_more_than_two_lines() {
    const LINE: usize = 110;
    let mut faults = Vec::new();
    for kind in KINDS {
        for row in kind.rows {
            let Way::Formula(formula) = row.way else { continue };
            let shown = row.label.chars().count() + " = ".len() + formula.chars().count();
            if shown > 2 * LINE {
                faults.push(format!("{}.{}: {shown}", kind.name, row.name));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// A name that no words have would leave the gear of a value untold without a word.
#[test]
fn what_tells_the_case_of_a_result_is_words_of_its_own_kind() {
    for kind in KINDS {
        let told = kind.rows.iter().map(|row| row.told_with).filter(|words| !words.is_empty());
        for words in told {
            let there = kind.rows.iter().any(|row| row.name == words && row.way == Way::Words);
            assert!(there, "{}: no words are called {words}", kind.name);
        }
    }
}

/// What the papers ask for by its purpose is what they take it for.
#[test]
fn every_purpose_is_that_of_a_value_of_its_dimension() {
    let mut faults = Vec::new();
    let mut cells = HashSet::new();
    for kind in KINDS {
        let fields = kind.fields.iter().map(|doc| (doc.name, doc.purpose, field(doc)));
        let rows = kind.rows.iter().map(|row| (row.name, row.purpose, row.sort));
        let taken = kind.takes.iter().map(|row| (row.name, row.purpose, row.sort));
        for (name, purpose, found) in fields.chain(rows).chain(taken) {
            let wanted = match purpose {
                Some(Purpose::Dc | Purpose::Ac | Purpose::FullVoltage | Purpose::NominalVoltage) => {
                    &sort::VOLTAGE
                }
                Some(Purpose::Mass(load, over)) => {
                    cells.insert((load as u8, over as u8));
                    let own = match over {
                        Over::Vehicle => !name.contains("_axle"),
                        Over::FrontAxle => name.contains("front_axle"),
                        Over::RearAxle => name.contains("rear_axle"),
                    };
                    if !own {
                        faults.push(format!("{}.{name} is read as that {over:?}", kind.name));
                    }
                    &sort::MASS
                }
                _ => continue,
            };
            if found.is_none_or(|found| !found.dimension.same(wanted.dimension)) {
                faults.push(format!("{}.{name} is read as {purpose:?}", kind.name));
            }
        }
    }
    assert_eq!(cells.len(), 5 * 3, "cells of the form's table of masses");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Rule packs are data, so that names in them are text.
#[test]
fn every_limit_of_a_pack_is_of_the_dimension_of_what_it_limits() {
    let items = shipped().iter().chain([subjects()]).flat_map(|pack| &pack.items);
    let mut faults = Vec::new();
    let mut count = 0;
    for ground in items.flat_map(|item| &item.judged_by) {
        let Ground::Limit { kind, result, low, high } = ground else { continue };
        let kind = KINDS.iter().find(|one| one.name == kind).unwrap_or_else(|| panic!("{kind}"));
        for limit in [low, high].into_iter().flatten() {
            count += 1;
            match (quantity(kind, result), quantity(kind, limit)) {
                (Ok(actual), Ok(limit)) if actual.dimension.same(limit.dimension) => {}
                (actual, limit) => faults.push(format!("{}.{result}: {actual:?}, {limit:?}", kind.name)),
            }
        }
    }
    assert!(count > 5 && faults.is_empty(), "{count}: {}", faults.join("\n"));
}

/// So are the fields that a part of a role is named under, and what names of before are called today.
#[test]
fn what_is_told_of_fields_as_text_is_there() {
    let takes = |field: &str| KINDS.iter().any(|kind| kind.takes.iter().any(|row| row.field == field));
    for field in ROLES.iter().flat_map(|(_, fields)| *fields) {
        assert!(takes(field), "no kind takes anything of a `{field}`");
    }
    let fields = KINDS.iter().flat_map(|kind| kind.fields).map(|doc| doc.name);
    let taken = KINDS.iter().flat_map(|kind| kind.takes).map(|row| row.name);
    let rows = KINDS.iter().flat_map(|kind| kind.rows).map(|row| row.name);
    let names: Vec<&str> = fields.chain(taken).chain(rows).collect();
    // Whole words of a name.
    let has = |name: &str, words: &str| {
        let last = name.rsplit('.').next().unwrap_or(name);
        format!("_{last}_").contains(&format!("_{}_", words))
    };
    // `_km_h` and the like are units, within names of the author's own.
    for new in names_of_today().filter(|new| !new.starts_with('_')) {
        assert!(names.iter().any(|name| has(name, new)), "`{new}`");
    }
}

#[test]
fn every_usual_size_is_that_of_a_field_of_its_dimension() {
    for row in &table("usual_sizes").rows {
        let (kind, field) = row[0].split_once('.').expect("a kind and a field");
        let kind = KINDS.iter().find(|one| one.name == kind).unwrap_or_else(|| panic!("{}", row[0]));
        let doc = kind.fields.iter().find(|doc| doc.name == field);
        // The values of a part have names of their own.
        let Some(doc) = doc.filter(|_| kind.name != "part") else {
            assert_eq!(kind.name, "part", "{} is no field", row[0]);
            continue;
        };
        if let Takes::Quantity(sort) | Takes::Quantities(sort) = doc.takes {
            for cell in &row[1..] {
                assert!(literal(cell).quantity.dimension.same(sort.dimension), "{}: {cell}", row[0]);
            }
        }
    }
}

#[test]
fn every_label_is_what_people_say() {
    for kind in KINDS {
        let fields = kind.fields.iter().map(|doc| doc.label).filter(|label| !label.is_empty());
        let labels = kind
            .rows
            .iter()
            .map(|row| row.label)
            .chain(fields)
            .chain(kind.requires.iter().map(|row| row.label));
        for label in labels {
            let bad = label.contains(['_', '`']) || label.contains("1khz") || label.contains("g_n");
            assert!(!bad, "{}: `{label}`", kind.name);
        }
        for row in kind.rows {
            assert!(!row.label.is_empty(), "{}.{} has no label", kind.name, row.name);
        }
    }
}

/// A field's name in words is its label only where people say it in that order: not within a group (`limits gross`), not
/// with what they don't say at all (`x`, `cg`, `v1`), and not with its adjective behind it (`voltage low`).
#[test]
fn no_label_is_made_of_a_name_that_nobody_says() {
    let mut faults = Vec::new();
    for kind in KINDS {
        let groups: Vec<&str> =
            kind.fields.iter().filter(|doc| matches!(doc.takes, Takes::Group)).map(|doc| doc.name).collect();
        for doc in kind.fields.iter().filter(|doc| doc.label.is_empty()) {
            let valued =
                matches!(doc.takes, Takes::Quantity(_) | Takes::Quantities(_) | Takes::Count | Takes::Text);
            let (list, name) = doc.name.rsplit_once('.').unwrap_or(("", doc.name));
            if valued && (groups.contains(&list) || name.split('_').any(unsaid) || behind(name)) {
                faults.push(format!("{}: `{}` has no label of its own", kind.name, doc.name));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(unsaid("x") && unsaid("v1") && unsaid("cg") && !unsaid("mass"));
    assert!(behind("voltage_low") && !behind("low_voltage"));
}

fn unsaid(word: &str) -> bool {
    word.len() == 1
        || word.contains(|sign: char| sign.is_ascii_digit())
        || ["ac", "cg", "dc", "max"].contains(&word)
}

fn behind(name: &str) -> bool {
    ["_low", "_high", "_least", "_most"].iter().any(|adjective| name.ends_with(adjective))
}

#[test]
fn what_a_procedure_looks_up_stands_in_the_rules() {
    let rows = KINDS.iter().flat_map(|kind| kind.rows.iter());
    let names: Vec<&str> = rows.flat_map(|row| row.looks_up.iter().copied()).collect();
    assert!(names.len() > 4);
    for name in names {
        assert!(name == "CASE" || rules().source(name).is_some(), "{name}");
    }
    assert!(rules().source("wltc-3b").is_some_and(|source| source.document == "UN GTR 15"));
}

#[test]
fn a_wrong_name_and_a_wrong_dimension_are_found() {
    let kind = KINDS.iter().find(|kind| kind.name == "fuse").expect("a kind");
    let row = |formula| Row::<ElectricCurrent>::formula("trial", "trial", "A", formula).row;
    assert!(check_result(kind, &row("current_rating * ambient_factor")).is_ok());
    assert!(check_result(kind, &row("rated_curent * ambient_factor")).is_err());
    assert!(check_result(kind, &row("current_rating * voltage_rating")).is_err());
    assert!(check_result(kind, &row("current_rating *")).is_err());
}

fn check_result(kind: &Kind, row: &ResultRow) -> Result<(), String> {
    let Some(sort) = row.sort else { return Ok(()) };
    let unit = read_unit(row.unit).map_err(|fault| fault.message.to_string())?;
    if !unit.dimension.same(sort.dimension) {
        return Err(format!("its unit `{}` is of another dimension", row.unit));
    }
    let Way::Formula(formula) = row.way else { return Ok(()) };
    let found = quantity(kind, &fill(formula, row.each))?;
    match found.dimension.same(sort.dimension) {
        true => Ok(()),
        false => Err(format!("`{formula}` comes out in {}, not in {}", found.dimension, sort.dimension)),
    }
}

fn check_requirement(kind: &Kind, row: &RequirementRow) -> Result<(), String> {
    let filled = |text: &str| fill(text, row.each);
    let actual = quantity(kind, &filled(row.actual))?;
    if row.low.is_none() && row.high.is_none() {
        return Err("it has no limit".to_owned());
    }
    for limit in [row.low, row.high].into_iter().flatten() {
        let limit = quantity(kind, &filled(limit))?;
        if !limit.dimension.same(actual.dimension) {
            return Err(format!("a limit in {} for a value in {}", limit.dimension, actual.dimension));
        }
    }
    for name in row.optional.iter().chain(row.grounds) {
        let field = kind.fields.iter().any(|doc| doc.name == *name);
        if !field && Known::of(kind).sort(&filled(name)).is_none() {
            return Err(format!("no `{name}`"));
        }
    }
    Ok(())
}

fn quantity(kind: &Kind, formula: &str) -> Result<Quantity, String> {
    let expression: Expression =
        read_expression(formula).map_err(|fault| format!("`{formula}`: {}", fault.message))?;
    let mut known = Known::of(kind);
    for name in expression.names() {
        let text = name.text();
        if known.quantity(name).is_none() && !known.curves.contains_key(&text) {
            return Err(format!("`{formula}` names `{text}`, which is not there"));
        }
    }
    // A root of a difference has a value for some values only.
    let mut tries = (0..32).map(|sample| {
        known.sample = sample;
        expression.evaluate(&known)
    });
    let first = tries.next().expect("a first try");
    let worked = if first.is_err() { tries.find(Result::is_ok).unwrap_or(first) } else { first };
    match worked {
        Ok(quantity) => Ok(quantity),
        Err(fault) => Err(format!("`{formula}`: {}", fault.message)),
    }
}

/// What a kind's formulas may name, with what it is.
struct Known {
    sorts: HashMap<String, &'static Sort>,
    curves: HashMap<String, Curve>,
    /// The number of the sample that values are taken from.
    sample: u32,
}

impl Known {
    fn of(kind: &Kind) -> Known {
        let mut sorts: HashMap<String, &'static Sort> = HashMap::new();
        let mut curves = HashMap::new();
        for doc in kind.fields {
            sorts.extend(field(doc).map(|sort| (doc.name.to_owned(), sort)));
        }
        for row in kind.rows {
            sorts.extend(row.sort.map(|sort| (row.name.to_owned(), sort)));
        }
        for taken in kind.takes {
            let name = match taken.field {
                "" => taken.name.to_owned(),
                field => format!("{field}.{}", taken.name),
            };
            sorts.extend(taken.sort.map(|sort| (name.clone(), sort)));
            // Under its own name in an item of a list, where it stands for a field that the author can't write.
            if let (false, Some(sort)) = (taken.stands_for.is_empty(), taken.sort) {
                sorts.entry(format!("*.{}", taken.stands_for)).or_insert(sort);
            }
            if let Some((x, y)) = taken.axes {
                let points = vec![(-1e12, 0.7), (1e12, 0.7)];
                let axes = (Unit::coherent(x.dimension), Unit::coherent(y.dimension));
                curves.insert(name, Curve::new(points, axes.0, axes.1).expect("a curve"));
            }
        }
        Known { sorts, curves, sample: 0 }
    }

    /// Segments and endings in capitals stand for a case: `stages.STAGE.ratio` is a stage's ratio.
    fn sort(&self, name: &str) -> Option<&'static Sort> {
        if let Some(sort) = self.sorts.get(name) {
            return Some(sort);
        }
        let segments: Vec<&str> =
            name.split('.').filter(|segment| segment.contains(|c: char| !c.is_ascii_uppercase())).collect();
        let plain = segments.join(".");
        let last = segments.len().saturating_sub(2);
        let own = || self.sorts.get(&format!("*.{}", segments.last()?));
        let found =
            self.sorts.get(&plain).or_else(|| self.sorts.get(&segments[last..].join("."))).or_else(own);
        found.copied().or_else(|| self.any_case(name))
    }

    /// Where the cases are fields: `accelerations.DIRECTION` is as `accelerations.forward`.
    fn any_case(&self, name: &str) -> Option<&'static Sort> {
        let (before, after) = name.split_once(|c: char| c.is_ascii_uppercase())?;
        let after = after.trim_start_matches(|c: char| c.is_ascii_uppercase());
        let fits =
            |known: &&String| before.ends_with('.') && known.starts_with(before) && known.ends_with(after);
        self.sorts.get(self.sorts.keys().filter(fits).min()?).copied()
    }

    /// A limit of the rules, which kinds take under its own name.
    fn ruled(name: &str) -> Option<Quantity> {
        let rule = rules().limits.iter().find(|rule| rule.name == name)?;
        Some(literal(&rule.value).quantity)
    }
}

/// What a field's value is; a count is a plain number.
fn field(doc: &FieldDoc) -> Option<&'static Sort> {
    match doc.takes {
        Takes::Quantity(sort) | Takes::Quantities(sort) => Some(sort),
        Takes::Count => Some(&sort::RATIO),
        _ => None,
    }
}

impl Scope for Known {
    fn quantity(&self, name: &Name) -> Option<Quantity> {
        let Some(sort) = self.sort(&name.text()) else { return Known::ruled(&name.text()) };
        // Between 0 and 1, in the first sample all the same.
        let mix = |seed: u32, byte: u8| seed.wrapping_mul(31).wrapping_add(u32::from(byte) * self.sample);
        let si = 0.7 + f64::from(name.text().bytes().fold(0, mix) % 100 * self.sample.min(1)) * -6e-3;
        Some(Quantity { si, dimension: sort.dimension, point: sort.point })
    }

    fn curve(&self, name: &Name) -> Option<&Curve> {
        self.curves.get(&name.text())
    }

    fn curve_scale(&self, _name: &Name) -> f64 {
        1.0
    }
}
