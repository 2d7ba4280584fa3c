//! What a value without a tolerance is worth: the table by quantity and basis, and how exactly devices act.

use std::sync::OnceLock;

use super::table;
use crate::quantities::{Basis, read_literal};

/// Half of the width of a supposed tolerance, as the table gives it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Width {
    /// Times the place value of the last digit.
    pub digits: f64,
    pub size: Size,
    /// As it is printed after `±`; with digits, where the size is the larger.
    pub text: String,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Size {
    None,
    /// Of the value.
    Part(f64),
    /// Of what is lacking to 1.
    OfLoss(f64),
    /// In SI.
    Fixed(f64),
}

/// How a value is known, as far as the table distinguishes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Knowledge {
    Measured,
    Sheet,
    Estimated,
}

impl Knowledge {
    pub(crate) fn of(basis: Basis) -> Knowledge {
        match basis {
            Basis::Measured => Knowledge::Measured,
            Basis::Datasheet | Basis::Published => Knowledge::Sheet,
            Basis::Estimated | Basis::Assumed | Basis::Target => Knowledge::Estimated,
        }
    }
}

/// One row: by the name of its sort and its own name.
#[derive(Debug)]
pub(crate) struct Worth {
    pub quantity: String,
    /// Names of sorts; `*` is any.
    of: Vec<String>,
    names: Vec<String>,
    widths: Vec<Width>,
    /// The widths as the table has them.
    pub cells: Vec<String>,
}

/// All of it.
pub(crate) struct Supposed {
    pub physical: Vec<Worth>,
    pub devices: Vec<Worth>,
    stated: Vec<String>,
    settings: Vec<String>,
    apart: Vec<String>,
}

/// Read once.
pub(crate) fn supposed() -> &'static Supposed {
    static SUPPOSED: OnceLock<Supposed> = OnceLock::new();
    SUPPOSED.get_or_init(|| Supposed {
        physical: rows("supposed_tolerances"),
        devices: rows("device_accuracies"),
        stated: names("stated_names"),
        settings: names("setting_names"),
        apart: table("errs_apart").keys().map(str::to_owned).collect(),
    })
}

impl Supposed {
    /// Whether a name of a part or worksheet states a rating or the like.
    pub(crate) fn is_stated(&self, name: &str) -> bool {
        self.stated.iter().any(|pattern| fits(pattern, name))
    }

    /// Whether it says what a device is set to.
    pub(crate) fn is_setting(&self, name: &str) -> bool {
        self.settings.iter().any(|pattern| fits(pattern, name))
    }

    /// The list that errs apart from the rest of its block.
    pub(crate) fn apart(&self, list: &str) -> Option<usize> {
        self.apart.iter().position(|known| known == list)
    }
}

impl Worth {
    /// Whether it is the row for a quantity of that sort and name.
    pub(crate) fn is_for(&self, sort: &str, name: &str) -> bool {
        self.of.iter().any(|own| own == "*" || own == sort)
            && self.names.iter().any(|pattern| fits(pattern, name))
    }

    /// Devices have one width.
    pub(crate) fn width(&self, knowledge: Knowledge) -> &Width {
        &self.widths[(knowledge as usize).min(self.widths.len() - 1)]
    }
}

impl Width {
    /// Whether it may give more; widths of unlike forms can't be held against each other, and count as wider.
    pub(crate) fn is_wider_than(&self, other: &Width) -> bool {
        let wider = match (self.size, other.size) {
            (Size::Part(own), Size::Part(other))
            | (Size::OfLoss(own), Size::OfLoss(other))
            | (Size::Fixed(own), Size::Fixed(other)) => own > other,
            (Size::None, _) => false,
            _ => true,
        };
        // What replaces a digit by a size is no less than it only where the digit stays.
        wider || self.digits > other.digits
    }

    /// Reads a cell of the table, or what stands under `supposed:` of a front matter.
    pub(crate) fn read(text: &str) -> Option<Width> {
        let text = text.trim();
        let (digits, rest) = match text {
            "half a digit" => (0.5, ""),
            _ => text.strip_prefix("a digit or ").map_or((0.0, text), |rest| (1.0, rest)),
        };
        let size = if rest.is_empty() {
            Size::None
        } else if let Some(share) = rest.strip_suffix("of the loss") {
            Size::OfLoss(percent(share)?)
        } else if let Some(points) = rest.strip_suffix("points") {
            Size::Fixed(points.trim().parse::<f64>().ok()? / 100.0)
        } else if rest.ends_with('%') {
            Size::Part(percent(rest)?)
        } else {
            let read = read_literal(rest).ok()?;
            Size::Fixed(read.quantity.si)
        };
        let sound = match size {
            Size::None => digits > 0.0,
            Size::Part(size) | Size::OfLoss(size) | Size::Fixed(size) => size >= 0.0 && size.is_finite(),
        };
        sound.then(|| Width { digits, size, text: rest.replace(' ', "\u{a0}") })
    }
}

fn percent(text: &str) -> Option<f64> {
    let number = text.trim().strip_suffix('%')?.trim();
    Some(number.parse::<f64>().ok()? / 100.0)
}

fn rows(name: &str) -> Vec<Worth> {
    let row = |cells: &Vec<String>| Worth {
        quantity: cells[0].clone(),
        of: cells[1].split(" or ").map(str::to_owned).collect(),
        names: patterns(&cells[2]),
        cells: cells[3..].to_vec(),
        widths: cells[3..]
            .iter()
            .map(|cell| Width::read(cell).unwrap_or_else(|| panic!("`{cell}` in `{name}` is no width")))
            .collect(),
    };
    table(name).rows.iter().map(row).collect()
}

pub(super) fn names(of: &str) -> Vec<String> {
    table(of).rows.iter().flat_map(|row| patterns(&row[0])).collect()
}

fn patterns(cell: &str) -> Vec<String> {
    cell.split_whitespace().map(str::to_owned).collect()
}

/// A pattern is a name, or a part of one with `*` for the rest before it, behind it, or both.
pub(super) fn fits(pattern: &str, name: &str) -> bool {
    let part = pattern.trim_matches('*');
    match (pattern.starts_with('*'), pattern.ends_with('*')) {
        (true, true) => name.contains(part),
        (true, false) => name.ends_with(part),
        (false, true) => name.starts_with(part),
        (false, false) => name == part,
    }
}

#[cfg(test)]
mod tests {
    use super::{Knowledge, Size, Width, supposed};

    /// The language, section 3.
    #[test]
    fn the_first_row_that_fits_is_taken() {
        let check = |sort: &str, name: &str, knowledge: Knowledge, quantity: &str, size: Size| {
            let row = supposed().physical.iter().find(|row| row.is_for(sort, name)).expect(name);
            assert_eq!((row.quantity.as_str(), row.width(knowledge).size), (quantity, size), "{name}");
        };
        check("mass", "mass", Knowledge::Estimated, "mass", Size::Part(0.2));
        check("length", "wheelbase", Knowledge::Measured, "wheelbase", Size::Fixed(0.005));
        check("length", "x", Knowledge::Sheet, "position", Size::Fixed(0.02));
        check("length", "length", Knowledge::Sheet, "other", Size::Part(0.05));
        check("plain number", "ratio", Knowledge::Sheet, "gear ratio", Size::None);
        check("plain number", "efficiency", Knowledge::Estimated, "efficiency", Size::OfLoss(0.4));
        check("share", "rolling_coefficient", Knowledge::Estimated, "rolling coefficient", Size::Part(0.2));
        check("share", "usable_share", Knowledge::Sheet, "share", Size::Fixed(0.05));
        check("plain number", "resistance_factor", Knowledge::Sheet, "resistance factor", Size::Part(0.2));
        check("power", "peak_power", Knowledge::Measured, "power", Size::Part(0.03));
    }

    #[test]
    fn a_width_that_says_nothing_is_none() {
        for text in ["", "much", "-5 %", "% of the loss", "5 points of"] {
            assert_eq!(Width::read(text), None, "{text}");
        }
        assert_eq!(Width::read("30 %").map(|width| width.size), Some(Size::Part(0.3)));
        assert_eq!(Width::read("40 mm").map(|width| width.size), Some(Size::Fixed(0.04)));
    }

    /// The language, section 3: what a device is set to, and how exactly it does that.
    #[test]
    fn a_device_has_the_accuracy_of_its_sort() {
        for (sort, name, size) in [
            ("voltage", "cell_voltage_high.cut", Size::Fixed(0.01)),
            ("voltage", "charge_end_voltage", Size::Part(0.01)),
            ("voltage", "charge_end_voltage", Size::Part(0.01)),
            ("voltage", "constant_voltage.limit", Size::Part(0.01)),
            ("current", "charge_current.cut", Size::Part(0.03)),
            ("temperature", "temperature_high.cut", Size::Fixed(2.0)),
        ] {
            let row = supposed().devices.iter().find(|row| row.is_for(sort, name)).expect(name);
            assert_eq!(row.width(Knowledge::Estimated).size, size, "{name}");
        }
        assert!(supposed().is_setting("charge_end_voltage"));
        assert!(!supposed().is_setting("full_voltage") && !supposed().is_setting("charge_efficiency"));
    }

    #[test]
    fn ratings_are_known_by_their_names() {
        for name in [
            "rated_power",
            "breaking_current",
            "max_speed",
            "price",
            "full_voltage",
            "cable_limit",
            "breaking",
            "pulse_rating",
        ] {
            assert!(supposed().is_stated(name), "{name}");
        }
        for name in ["capacity", "mass", "resistance", "peak_torque", "continuous_power"] {
            assert!(!supposed().is_stated(name), "{name}");
        }
    }
}
