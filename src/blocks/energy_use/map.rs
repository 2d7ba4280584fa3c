//! The efficiency of a drive: one number, or a map over motor speed and torque.

use std::f64::consts::TAU;

use crate::findings::codes;
use crate::model::{Form, Table};
use crate::quantities::{Sort, Unit, sort};
use crate::words::{Words, words};

/// From battery to wheel, driving.
#[derive(Clone, Copy)]
pub(super) enum Efficiency<'a> {
    Constant(f64),
    Map(&'a Map, Gearing),
}

/// Between motor and wheel: speed up, torque down.
#[derive(Clone, Copy)]
pub(super) struct Gearing {
    /// Motor over wheel.
    pub ratio: f64,
    /// Of a wheel in rolling, in m.
    pub circumference: f64,
    pub efficiency: f64,
}

/// A full grid of efficiencies over motor speed (rad/s) and torque (N m), both rising; linear in both between.
pub(super) struct Map {
    speeds: Vec<f64>,
    torques: Vec<f64>,
    /// For each speed, each torque.
    values: Vec<f64>,
}

impl Efficiency<'_> {
    /// At a road speed (m/s) and a force at the wheels (N); NaN beyond the map.
    pub(super) fn at(&self, speed: f64, force: f64) -> f64 {
        match self {
            Efficiency::Constant(efficiency) => *efficiency,
            Efficiency::Map(map, gearing) => {
                let (turning, torque) = gearing.motor(speed, force);
                gearing.efficiency * map.at(turning, torque)
            }
        }
    }

    /// The same, a map read along its speeds first: the check of the above.
    pub(super) fn again(&self, speed: f64, force: f64) -> f64 {
        match self {
            Efficiency::Constant(efficiency) => *efficiency,
            Efficiency::Map(map, gearing) => {
                let (turning, torque) = gearing.motor(speed, force);
                gearing.efficiency * map.again(turning, torque)
            }
        }
    }
}

impl Gearing {
    /// What the motor does for a road speed and a driving force: rad/s and N m.
    pub(super) fn motor(&self, speed: f64, force: f64) -> (f64, f64) {
        let radius = self.circumference / TAU;
        (speed / radius * self.ratio, force * radius / (self.ratio * self.efficiency))
    }

    /// What a torque of the motor (N m) gives at the wheels, driving, in N.
    pub(super) fn force(&self, torque: f64) -> f64 {
        torque * self.ratio * self.efficiency / (self.circumference / TAU)
    }
}

impl Map {
    /// Below its lowest speed or torque the map's edge is taken; beyond its highest there is nothing.
    pub(super) fn at(&self, turning: f64, torque: f64) -> f64 {
        let (Some((row, up)), Some((column, across))) =
            (place(&self.speeds, turning), place(&self.torques, torque))
        else {
            return f64::NAN;
        };
        let value = |row: usize, column: usize| self.values[row * self.torques.len() + column];
        let low = value(row, column) * (1.0 - across) + value(row, column + 1) * across;
        let high = value(row + 1, column) * (1.0 - across) + value(row + 1, column + 1) * across;
        low * (1.0 - up) + high * up
    }

    /// The same, along the speeds first.
    fn again(&self, turning: f64, torque: f64) -> f64 {
        let along = |column: usize| {
            let (row, up) = place(&self.speeds, turning)?;
            let value = |row: usize| self.values[row * self.torques.len() + column];
            Some(value(row) + up * (value(row + 1) - value(row)))
        };
        let read = || {
            let (column, across) = place(&self.torques, torque)?;
            Some(along(column)? * (1.0 - across) + along(column + 1)? * across)
        };
        read().unwrap_or(f64::NAN)
    }

    pub(super) fn highest(&self) -> (f64, f64) {
        (self.speeds[self.speeds.len() - 1], self.torques[self.torques.len() - 1])
    }

    /// From rows of speed, torque and efficiency in any order. `Err` says what is wrong.
    fn new(rows: &[[f64; 3]]) -> Result<Map, Words> {
        let axis = |at: usize| {
            let mut values: Vec<f64> = rows.iter().map(|row| row[at]).collect();
            values.sort_by(f64::total_cmp);
            values.dedup();
            values
        };
        let (speeds, torques) = (axis(0), axis(1));
        if speeds.len() < 2 || torques.len() < 2 {
            return Err("it needs two speeds and two torques at least".into());
        }
        if rows.iter().flatten().any(|value| !value.is_finite()) {
            return Err("a value is no number".into());
        }
        if speeds[0] < 0.0 || torques[0] < 0.0 {
            return Err("a speed or torque is negative".into());
        }
        let mut values = vec![f64::NAN; speeds.len() * torques.len()];
        for row in rows {
            let find = |axis: &[f64], value: f64| axis.partition_point(|known| *known < value);
            let at = find(&speeds, row[0]) * torques.len() + find(&torques, row[1]);
            if !values[at].is_nan() {
                return Err("one speed and torque stand in it twice".into());
            }
            if !(row[2] > 0.0 && row[2] <= 1.0) {
                return Err("an efficiency is not above 0 and at most 1 (100 %)".into());
            }
            values[at] = row[2];
        }
        let missing = values.iter().filter(|value| value.is_nan()).count();
        if missing > 0 {
            return Err(words!("{} of its speeds and torques have no efficiency", missing));
        }
        Ok(Map { speeds, torques, values })
    }
}

/// The interval that a value lies in and its share of it.
fn place(axis: &[f64], value: f64) -> Option<(usize, f64)> {
    const SLACK: f64 = 1e-9;
    let last = axis[axis.len() - 1];
    if value.is_nan() || value > last * (1.0 + SLACK) {
        return None;
    }
    let value = value.clamp(axis[0], last);
    let after = axis.partition_point(|known| *known < value).clamp(1, axis.len() - 1);
    Some((after - 1, (value - axis[after - 1]) / (axis[after] - axis[after - 1])))
}

/// The map that `efficiency_map` names: columns of motor speed, torque and efficiency, units in their titles.
pub(super) fn read_map(form: &mut Form<'_, '_>) -> Option<Map> {
    let table = form.table("efficiency_map")?;
    let help = "type its first line as `speed (rpm),torque (N m),efficiency (%)`, then a line for each speed and torque";
    let mut columns = Vec::new();
    for sort in [&sort::ANGULAR_SPEED, &sort::TORQUE] {
        let Some(at) = table.of_sort(sort).next() else {
            table.refuse(form, words!("none of its columns is {}", sort.words()), help);
            return None;
        };
        columns.push((at, unit(&table, at, sort)));
    }
    let named = |at: &usize| table.columns[*at].title.to_lowercase().contains("efficiency");
    let Some(at) = (0..table.columns.len()).find(named) else {
        table.refuse(form, "none of its columns is named `efficiency`", help);
        return None;
    };
    columns.push((at, unit(&table, at, &sort::RATIO)));
    let mut read = Vec::new();
    for (at, unit) in &columns {
        read.push(table.column(form, *at, unit)?);
    }
    let rows: Vec<[f64; 3]> =
        (0..table.len()).map(|row| [read[0][row], read[1][row], read[2][row]]).collect();
    match Map::new(&rows) {
        Ok(map) => Some(map),
        Err(what) => {
            form.report(&codes::BAD_CURVE, table.span, words!("`{}`: {}", table.path, what), help);
            None
        }
    }
}

fn unit(table: &Table, at: usize, sort: &Sort) -> Unit {
    match &table.columns[at].unit {
        Some(Ok(unit)) if unit.dimension.same(sort.dimension) => unit.clone(),
        _ => Unit::one(),
    }
}

#[cfg(test)]
mod tests {
    use super::Map;

    fn map() -> Map {
        let rows = [[100.0, 10.0, 0.8], [100.0, 50.0, 0.9], [500.0, 10.0, 0.85], [500.0, 50.0, 0.95]];
        Map::new(&rows).unwrap_or_else(|what| panic!("{what}"))
    }

    #[test]
    fn a_map_is_linear_between_and_ends_at_its_highest() {
        assert!((map().at(300.0, 30.0) - 0.875).abs() < 1e-12);
        assert!((map().again(230.0, 17.0) - map().at(230.0, 17.0)).abs() < 1e-12);
        assert!((map().at(0.0, 0.0) - 0.8).abs() < 1e-12, "the edge below");
        assert!(map().at(501.0, 30.0).is_nan());
        assert!(map().at(300.0, 51.0).is_nan());
        assert!(map().at(f64::NAN, 30.0).is_nan());
    }

    #[test]
    fn a_map_is_a_full_grid() {
        let refused = |rows: &[[f64; 3]]| Map::new(rows).err().expect("no map").to_string();
        let holes = refused(&[[100.0, 10.0, 0.8], [500.0, 50.0, 0.9]]);
        assert_eq!(holes, "2 of its speeds and torques have no efficiency");
        let full = [[1.0, 1.0, 0.8], [1.0, 2.0, 0.9], [2.0, 1.0, 0.8], [2.0, 2.0, 1.1]];
        assert_eq!(refused(&full), "an efficiency is not above 0 and at most 1 (100 %)");
    }
}
