//! What is possible at all, and what is usual: the smallest and the largest size of each quantity and of single fields,
//! and names of what is more than 0.

use std::collections::HashMap;
use std::sync::OnceLock;

use super::supposed::{fits, names};
use super::{literal, table};
use crate::quantities::Dimension;

/// Between what the sizes of a quantity lie.
#[derive(Debug)]
pub(crate) struct Sizes {
    /// In SI.
    pub least: f64,
    pub most: f64,
    /// As the table has them.
    pub texts: [String; 2],
    pub dimension: Dimension,
}

/// The sizes of a sort of quantity, by its name; `None` of money, and of what has no sort.
pub(crate) fn sizes(sort: &str) -> Option<&'static Sizes> {
    static SIZES: OnceLock<HashMap<&str, Sizes>> = OnceLock::new();
    let all = SIZES.get_or_init(|| {
        let row = |row: &'static Vec<String>| (row[0].as_str(), Sizes::between([&row[1], &row[2]]));
        table("possible_sizes").rows.iter().map(row).collect()
    });
    all.get(sort)
}

impl Sizes {
    fn between(cells: [&String; 2]) -> Sizes {
        let [least, most] = cells.map(|cell| literal(cell).quantity);
        let texts = cells.map(String::to_owned);
        Sizes { least: least.si, most: most.si, texts, dimension: most.dimension }
    }

    /// Whether a value (SI) may be; a point of temperature is never 0.
    pub(crate) fn hold(&self, value: f64, point: bool) -> bool {
        value == 0.0 && !point || (self.least..=self.most).contains(&value.abs())
    }
}

/// Between what a field's value usually is; `None` where nothing is said of it.
pub(crate) fn usual(kind: &str, field: &str) -> Option<&'static Sizes> {
    static USUAL: OnceLock<HashMap<&str, HashMap<&str, Sizes>>> = OnceLock::new();
    let all = USUAL.get_or_init(|| {
        let mut all: HashMap<&str, HashMap<&str, Sizes>> = HashMap::new();
        for row in &table("usual_sizes").rows {
            let (kind, field) = row[0].split_once('.').unwrap_or((&row[0], ""));
            all.entry(kind).or_default().insert(field, Sizes::between([&row[1], &row[2]]));
        }
        all
    });
    all.get(kind)?.get(field)
}

/// Whether a part's value of that name is more than 0.
pub(crate) fn is_positive(name: &str) -> bool {
    static NAMES: OnceLock<Vec<String>> = OnceLock::new();
    NAMES.get_or_init(|| names("positive_names")).iter().any(|pattern| fits(pattern, name))
}

#[cfg(test)]
mod tests {
    use super::{is_positive, sizes};
    use crate::quantities::{read_literal, sort};

    #[test]
    fn every_sort_has_sizes_of_its_dimension_that_hold_its_example() {
        for sort in sort::ALL {
            let sizes = sizes(sort.name).unwrap_or_else(|| panic!("no sizes of {}", sort.name));
            for text in &sizes.texts {
                let literal = read_literal(text).expect(text);
                assert!(literal.quantity.dimension.same(sort.dimension), "{}: {text}", sort.name);
            }
            let example = read_literal(sort.example).expect(sort.example).quantity.si;
            let far = |text: f64, from: f64| text / from >= 100.0 || sort.point;
            assert!(sizes.hold(example, sort.point), "{}", sort.name);
            assert!(far(sizes.most, example) && far(example, sizes.least), "{} is too narrow", sort.name);
        }
    }

    #[test]
    fn nothing_is_a_size_but_a_point_of_temperature_is_one() {
        let mass = sizes("mass").expect("sizes of a mass");
        assert!(mass.hold(0.0, false) && mass.hold(-80.0, false));
        assert!(!mass.hold(1e300, false) && !mass.hold(f64::NAN, false) && !mass.hold(1e-300, false));
        assert!(!sizes("temperature").expect("sizes of a temperature").hold(0.0, true));
    }

    #[test]
    fn ratings_of_a_part_are_more_than_nothing() {
        assert!(is_positive("full_voltage") && is_positive("continuous_discharge"));
        assert!(!is_positive("charge_temperature_low") && !is_positive("mass_offset"));
    }
}
