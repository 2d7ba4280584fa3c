//! What the data files hold, and that what is amiss in one is told.

use super::read::read;
use super::{FILES, Standing, limit, literal, rules, table};

#[test]
fn every_entry_has_document_edition_clause_and_status() {
    let (rules, faults) = read(&FILES);
    assert_eq!(faults, Vec::<String>::new());
    assert!(rules.limits.len() >= 20 && rules.tables.len() >= 6);
    let sources = rules.limits.iter().map(|rule| &rule.source);
    for source in sources.chain(rules.tables.iter().map(|table| &table.source)) {
        assert!(!source.document.is_empty() && !source.clause.is_empty(), "{source:?}");
        // What nobody published has none.
        let published = !OF_NOBODY.iter().any(|words| source.document.contains(words));
        assert!(!published || source.edition.is_some() || source.year.is_some(), "{source:?}");
    }
}

/// Words for documents that are none.
const OF_NOBODY: [&str; 3] = ["common practice", "our own choice", "a maker's half rule"];

#[test]
fn every_limit_is_a_value_of_the_language() {
    for rule in &rules().limits {
        let read = literal(&rule.value);
        assert!(read.quantity.si.is_finite() && read.tolerance.is_none(), "{}", rule.name);
    }
}

#[test]
fn every_cell_of_numbers_is_a_value_of_the_language() {
    for table in &rules().tables {
        for (at, column) in table.columns.iter().enumerate() {
            // A column holds words, or values of one dimension.
            let cells: Vec<&str> = table.rows.iter().map(|row| row[at].as_str()).collect();
            let values: Vec<_> =
                cells.iter().filter_map(|cell| crate::quantities::read_literal(cell).ok()).collect();
            let words = ["gauge", "size", "class", "category", "ends", "meaning", "symbol"]
                .contains(&column.as_str())
                || table.source.standing == Standing::Practice;
            assert!(words || values.len() == cells.len(), "{}: {column}: {cells:?}", table.name);
            let first = values.first().map(|value| value.quantity.dimension);
            assert!(
                words || values.iter().all(|value| Some(value.quantity.dimension) == first),
                "{}: {column}",
                table.name
            );
        }
        let mut keys: Vec<&str> = table.keys().collect();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), table.rows.len(), "{} has a row twice", table.name);
    }
}

#[test]
fn a_source_is_told_with_its_edition_and_clause() {
    let rule = limit("isolation_dc");
    assert_eq!(
        (rule.value.as_str(), rule.source.words().as_str()),
        ("100 ohm/V", "UN R100 (series 03, unofficial copy), 5.1.3.1")
    );
    assert_eq!(rule.source.standing, Standing::Read);
    assert_eq!(limit("isolation_test_voltage").source.words(), "AS ISO 6469.3 (2014), 8.2.2");
}

#[test]
fn between_two_rows_the_neighbours_are_named() {
    let class_5 = table("iec_60228_class_5");
    let row = class_5.row_of(70e-6).expect("70 mm²");
    assert_eq!(class_5.cell(row, "resistance"), "0.272 ohm/km");
    assert!(class_5.row_of(60e-6).is_none());
    assert_eq!(class_5.neighbours(60e-6), (Some("50 mm^2"), Some("70 mm^2")));
    assert_eq!(class_5.neighbours(0.5e-6), (None, Some("1 mm^2")));
}

/// UN R30 and R54 as two retailers print them (second-hand); 120 to 126 from memory.
#[test]
fn tyres_bear_what_retailers_print() {
    const FROM_60: [u32; 40] = [
        250, 257, 265, 272, 280, 290, 300, 307, 315, 325, 335, 345, 355, 365, 375, 387, 400, 412, 425, 437,
        450, 462, 475, 487, 500, 515, 530, 545, 560, 580, 600, 615, 630, 650, 670, 690, 710, 730, 750, 775,
    ];
    const FROM_120: [u32; 7] = [1400, 1450, 1500, 1550, 1600, 1650, 1700];
    let loads = table("tyre_load_index");
    let printed = (60..).zip(FROM_60).chain((120..).zip(FROM_120));
    for (index, load) in printed {
        let row = loads.row(&index.to_string()).unwrap_or_else(|| panic!("{index} is not there"));
        assert_eq!(literal(loads.cell(row, "load")).quantity.si, f64::from(load), "{index}");
    }
}

#[test]
fn an_entry_without_its_source_is_told() {
    let broken = "limits:\n  a: {value: 1 V, about: x, document: y, status: read}\n  \
                  b: {value: 1 V, about: x, document: y, clause: z, status: sure}\n";
    let (rules, faults) = read(&[("test.yaml", broken)]);
    assert!(rules.limits.is_empty());
    assert_eq!(faults, ["`a` has no `clause`", "`sure` of `b` is no status"]);
}
