//! The units that a journal wants its results in.

use super::fault::Fault;
use super::quantity::accept_unit;
use super::sort::{DISTANCE, Group, Sort};
use super::unit::{Unit, read_unit};
use crate::findings::{codes, suggest};
use crate::words::words;

/// A display unit for each group, or none where that of the result stays.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Preferences {
    chosen: [Option<Unit>; Group::ALL.len()],
}

const SI: [(Group, &str); 11] = [
    (Group::Speed, "m/s"),
    (Group::Mass, "kg"),
    (Group::Length, "m"),
    (Group::Volume, "m^3"),
    (Group::Force, "N"),
    (Group::Torque, "N m"),
    (Group::Power, "kW"),
    (Group::Energy, "MJ"),
    (Group::Consumption, "kJ/km"),
    (Group::Pressure, "kPa"),
    (Group::Temperature, "°C"),
];

const US: [(Group, &str); 11] = [
    (Group::Speed, "mi/h"),
    (Group::Mass, "lb"),
    (Group::Length, "in"),
    (Group::Volume, "US_gal"),
    (Group::Force, "lbf"),
    (Group::Torque, "lbf ft"),
    (Group::Power, "hp"),
    (Group::Energy, "kWh"),
    (Group::Consumption, "Wh/mi"),
    (Group::Pressure, "psi"),
    (Group::Temperature, "°F"),
];

/// Units of length of the customary system, whose distances are in miles.
const CUSTOMARY_LENGTHS: [&str; 3] = ["in", "ft", "mi"];

impl Preferences {
    /// `si` or `us`; `None` for another name.
    pub(crate) fn preset(name: &str) -> Option<Preferences> {
        let units = match name {
            "si" => SI,
            "us" => US,
            _ => return None,
        };
        let mut preferences = Preferences::default();
        for (group, unit) in units {
            preferences.chosen[group as usize] = read_unit(unit).ok();
        }
        Some(preferences)
    }

    /// Takes one entry of `units`. The fault is placed within the unit's text, or at `0..0` for a group that is not
    /// there (`unknown-key`). Errors: also `unknown-unit` and `unit-mismatch`.
    pub(crate) fn read(&mut self, group_name: &str, unit_text: &str) -> Result<(), Fault> {
        let Some(group) = Group::ALL.into_iter().find(|group| group.name() == group_name) else {
            let names = Group::ALL.map(Group::name);
            let help = match suggest(group_name, names) {
                Some(near) => words!("type `{}`, if that is meant", near),
                None => words!("units are chosen for `{}`", names.join("` `")),
            };
            return Err(Fault::new(
                &codes::UNKNOWN_KEY,
                0..0,
                words!("`{}` has no display unit", group_name),
                help,
            ));
        };
        let unit = read_unit(unit_text)?;
        accept_unit(&unit, group.sort(), unit_text.trim()).map_err(|fault| fault.over(0..unit_text.len()))?;
        self.chosen[group as usize] = Some(unit);
        Ok(())
    }

    /// The unit that a result is shown in; `default` where nothing else was chosen.
    ///
    /// A distance is in miles where lengths are chosen in `in`, `ft` or `mi`, else in km where they are chosen.
    pub(crate) fn unit_for(&self, sort: &Sort, default: &Unit) -> Unit {
        let chosen = |group: Group| self.chosen[group as usize].as_ref();
        if sort == &DISTANCE {
            let Some(length) = chosen(Group::Length) else { return default.clone() };
            let miles = CUSTOMARY_LENGTHS.contains(&length.symbol);
            return read_unit(if miles { "mi" } else { "km" }).unwrap_or_else(|_| default.clone());
        }
        match sort.group.and_then(chosen) {
            Some(unit) if unit.dimension.same(default.dimension) => unit.clone(),
            _ => default.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Preferences;
    use crate::quantities::sort::{CURRENT, DISTANCE, LENGTH, MASS, MONEY, SPEED, Sort, TEMPERATURE};
    use crate::quantities::unit::read_unit;

    #[track_caller]
    fn check(preferences: &Preferences, sort: &Sort, symbol: &str) {
        assert_eq!(preferences.unit_for(sort, &sort.display_unit()).symbol, symbol);
    }

    #[test]
    fn units_follow_the_front_matter() {
        let none = Preferences::default();
        check(&none, &SPEED, "km/h");
        check(&none, &DISTANCE, "km");
        let us = Preferences::preset("us").expect("a preset");
        check(&us, &SPEED, "mi/h");
        check(&us, &DISTANCE, "mi");
        check(&us, &TEMPERATURE, "°F");
        check(&us, &CURRENT, "A");
        let mut own = Preferences::preset("si").expect("a preset");
        own.read("length", "ft").expect("a length");
        check(&own, &LENGTH, "ft");
        check(&own, &DISTANCE, "mi");
        check(&own, &MASS, "kg");
        assert!(Preferences::preset("metric").is_none());
    }

    #[test]
    fn currencies_are_never_converted() {
        let mut own = Preferences::default();
        own.read("money", "EUR").expect("a currency");
        let usd = read_unit("USD").expect("a currency");
        assert_eq!(own.unit_for(&MONEY, &usd).symbol, "USD");
    }

    #[test]
    fn a_wrong_group_or_unit_is_refused() {
        let mut own = Preferences::default();
        let code = |result: Result<(), crate::quantities::Fault>| result.expect_err("refused").code.name;
        assert_eq!(
            own.read("sped", "km/h").expect_err("refused").help.to_string(),
            "type `speed`, if that is meant"
        );
        assert_eq!(code(own.read("speed", "kg")), "unit-mismatch");
        assert_eq!(code(own.read("speed", "kmh")), "unknown-unit");
        assert_eq!(code(own.read("torque", "J")), "unit-mismatch");
        assert_eq!(own, Preferences::default());
    }
}
