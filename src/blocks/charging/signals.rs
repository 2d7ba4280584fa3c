//! What a charging station's pilot and a cable's resistor say: the published tables, looked up.

use crate::quantities::si::{ElectricCurrent, ElectricalResistance, Measure, Ratio};
use crate::rules::{Source, Table, limit, literal, table};

/// The bands of the control pilot's duty.
pub(super) struct Pilot {
    bands: Vec<Band>,
}

/// One band; a current is slope × duty + offset.
struct Band {
    from: f64,
    to: f64,
    ends: Ends,
    slope: f64,
    offset: f64,
    /// `None` where it allows a current.
    refusal: Option<&'static str>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Ends {
    From,
    To,
    Both,
}

impl Pilot {
    pub(super) fn published() -> Pilot {
        let table = table("control_pilot");
        Pilot { bands: table.rows.iter().map(|row| Band::read(table, row)).collect() }
    }

    /// The current that a duty allows; NaN where it allows none.
    pub(super) fn current(&self, duty: Ratio) -> ElectricCurrent {
        let band = self.bands.iter().find(|band| band.holds(duty.value));
        ElectricCurrent::from_si(band.map_or(f64::NAN, |band| band.current(duty.value)))
    }

    /// Why a duty allows no current, in words.
    pub(super) fn refusal(&self, duty: Ratio) -> &'static str {
        let band = self.bands.iter().find(|band| band.holds(duty.value));
        band.and_then(|band| band.refusal).unwrap_or("nothing that the standard gives a meaning")
    }

    /// The duty that allows a current, looked up from the other end: the check of [`Pilot::current`]. Where a band
    /// allows one current for all its duties the nearest of them.
    pub(super) fn duty_for(&self, current: ElectricCurrent, near: Ratio) -> Ratio {
        let current = current.si();
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-9 * b.abs();
        let found = self.bands.iter().rev().filter(|band| band.refusal.is_none()).find_map(|band| {
            let duty = match band.slope {
                0.0 if close(current, band.offset) => near.value.clamp(band.from, band.to),
                0.0 => return None,
                slope => (current - band.offset) / slope,
            };
            (duty >= band.from - 1e-9 && duty <= band.to + 1e-9 && close(duty, near.value)).then_some(duty)
        });
        Ratio::from_si(found.unwrap_or(f64::NAN))
    }
}

impl Band {
    fn read(table: &'static Table, row: &'static [String]) -> Band {
        let si = |title: &str| literal(table.cell(row, title)).quantity.si;
        let meaning = table.cell(row, "meaning");
        Band {
            from: si("from"),
            to: si("to"),
            ends: match table.cell(row, "ends") {
                "from" => Ends::From,
                "to" => Ends::To,
                _ => Ends::Both,
            },
            slope: si("slope"),
            offset: si("offset"),
            refusal: (meaning != "current").then_some(meaning),
        }
    }

    fn holds(&self, duty: f64) -> bool {
        // Ends are met within rounding: 53 % may be written in many ways.
        let at = |end: f64| (duty - end).abs() <= 1e-12;
        let inside = duty > self.from && duty < self.to && !at(self.from) && !at(self.to);
        inside || self.ends != Ends::To && at(self.from) || self.ends != Ends::From && at(self.to)
    }

    fn current(&self, duty: f64) -> f64 {
        if self.refusal.is_some() { f64::NAN } else { self.slope * duty + self.offset }
    }
}

/// The resistors in the plugs of cables, each with the current that its cable may carry.
pub(super) struct Cables {
    /// By falling resistance, so by rising current: resistor and current.
    rows: Vec<(f64, f64)>,
    /// How far above its coded value a measured resistor still counts as that.
    reach: f64,
}

impl Cables {
    pub(super) fn published() -> Cables {
        let table = table("type_2_proximity");
        let si = |row: &[String], title: &str| literal(table.cell(row, title)).quantity.si;
        let mut rows: Vec<(f64, f64)> =
            table.rows.iter().map(|row| (si(row, "resistor"), si(row, "current"))).collect();
        rows.sort_by(|a, b| b.0.total_cmp(&a.0));
        Cables { rows, reach: limit("proximity_reach").si() }
    }

    pub(super) fn source() -> &'static Source {
        &table("type_2_proximity").source
    }

    /// The cable's current: of the smallest coded resistor that the measured one does not pass. Between two codes
    /// that is the lower current. NaN where it is no code: above the largest, or well below the smallest.
    pub(super) fn current(&self, resistor: ElectricalResistance) -> ElectricCurrent {
        let resistor = resistor.si();
        let lowest = self.rows.last().map_or(f64::NAN, |row| row.0 * (1.0 - self.reach));
        let fits = |row: &&(f64, f64)| resistor <= row.0 * (1.0 + self.reach) && resistor >= lowest;
        let found = self.rows.iter().rev().find(fits);
        ElectricCurrent::from_si(found.map_or(f64::NAN, |row| row.1))
    }

    /// Whether a resistor lies in the band of that current: the check of [`Cables::current`].
    pub(super) fn agrees(&self, resistor: ElectricalResistance, current: ElectricCurrent) -> bool {
        let Some(at) = self.rows.iter().position(|row| row.1 == current.si()) else { return false };
        let above = self.rows.get(at + 1).map_or(0.0, |next| next.0 * (1.0 + self.reach));
        resistor.si() > above && resistor.si() <= self.rows[at].0 * (1.0 + self.reach)
    }

    /// The coded resistors in words.
    pub(super) fn codes() -> String {
        let table = table("type_2_proximity");
        table.keys().map(|key| literal(key).written()).collect::<Vec<_>>().join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::{Cables, Pilot};
    use crate::quantities::si::{ElectricalResistance, Measure, ratio};

    /// Standards, check case 8: IEC 61851-1.
    #[test]
    fn the_pilot_allows_the_published_currents() {
        let pilot = Pilot::published();
        for (percent, amps) in [
            (8.0, 6.0),
            (16.0, 9.6),
            (53.0, 31.8),
            (85.0, 51.0),
            (85.1, 52.75),
            (86.0, 55.0),
            (96.0, 80.0),
            (97.0, 80.0),
        ] {
            let duty = ratio(percent / 100.0);
            let current = pilot.current(duty);
            assert!((current.si() - amps).abs() < 1e-9, "{percent} %: {} A", current.si());
            assert!((pilot.duty_for(current, duty).si() - duty.si()).abs() < 1e-12, "{percent} % put back");
        }
        assert_eq!(pilot.current(ratio(0.09)).si(), 6.0);
    }

    #[test]
    fn duties_outside_the_bands_allow_nothing_and_say_why() {
        let pilot = Pilot::published();
        for (percent, why) in [
            (0.0, "no charging"),
            (2.9, "no charging"),
            (3.0, "nothing"),
            (5.0, "digital communication"),
            (7.0, "an error"),
            (7.9, "an error"),
            (97.5, "nothing"),
            (100.0, "no charging"),
            (f64::NAN, "nothing"),
        ] {
            let duty = ratio(percent / 100.0);
            assert!(pilot.current(duty).si().is_nan(), "{percent} %");
            assert!(pilot.refusal(duty).starts_with(why), "{percent} %: {}", pilot.refusal(duty));
        }
    }

    /// The coded values: IEC 61851-1, second-hand. Between them the lower current is taken.
    #[test]
    fn a_cable_s_resistor_gives_its_current_or_the_next_lower() {
        let cables = Cables::published();
        for (ohms, amps) in [
            (1500.0, 13.0),
            (680.0, 20.0),
            (700.0, 20.0),
            (220.0, 32.0),
            (100.0, 63.0),
            (97.0, 63.0),
            (160.0, 32.0),
            (330.0, 20.0),
            (1000.0, 13.0),
        ] {
            let resistor = ElectricalResistance::from_si(ohms);
            let current = cables.current(resistor);
            assert_eq!(current.si(), amps, "{ohms} Ω");
            assert!(cables.agrees(resistor, current), "{ohms} Ω");
        }
        for ohms in [0.0, 50.0, 2700.0, f64::INFINITY, f64::NAN] {
            assert!(cables.current(ElectricalResistance::from_si(ohms)).si().is_nan(), "{ohms} Ω");
        }
    }
}
