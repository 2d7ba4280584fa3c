//! One reading of isolation: by a tester, or by the two-voltage method with a known shunt.

use super::rows;
use crate::blocks::shared::invalid_test::INVALID_TEST;
use crate::findings::codes;
use crate::model::{Bench, Case, Form, Page, Slot, Stage};
use crate::quantities::si::{ElectricPotential, ElectricalResistance, Measure, Ratio};
use crate::words::words;

/// A reading, and how it was taken.
pub(super) struct Reading {
    pub method: Method,
    /// Of the tester's own, or of the method; set by [`Reading::declare`].
    pub resistance: Slot<ElectricalResistance>,
    /// `dc` or `ac`, where it was said.
    pub bus: Option<&'static str>,
    /// The value that findings about the reading stand at.
    pub at: usize,
    test_voltage: Option<Slot<ElectricPotential>>,
}

pub(super) enum Method {
    Tester,
    TwoVoltages(TwoVoltages),
}

pub(super) struct TwoVoltages {
    /// Negative bus to chassis.
    pub v1: Slot<ElectricPotential>,
    /// Positive bus to chassis.
    pub v2: Slot<ElectricPotential>,
    shunt: Slot<ElectricalResistance>,
    v_shunted: Slot<ElectricPotential>,
    side: Side,
    /// Set by [`Reading::declare`].
    worked: Option<Worked>,
}

/// What the two voltages give.
#[derive(Clone, Copy)]
struct Worked {
    bus_voltage: Slot<ElectricPotential>,
    fall: Slot<Ratio>,
    resistance: Slot<ElectricalResistance>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Negative,
    Positive,
}

/// What stands beside the list, for readings without their own.
pub(super) struct Test {
    pub voltage: Option<Slot<ElectricPotential>>,
    /// Whether instrument, date and state stand there.
    pub given: [bool; 3],
}

pub(super) fn read_reading(form: &mut Form<'_, '_>, test: &Test) -> Reading {
    form.text("place");
    let bus = form.choice("bus", &["dc", "ac"]);
    let by_voltages = ["v1", "v2", "shunt", "shunt_side", "v_shunted"].iter().any(|key| form.has(key));
    if by_voltages && form.has("resistance") {
        let message = "a reading with `resistance` and with the voltages of the two-voltage method";
        let help = "keep one of them, or make two readings of it";
        form.report(&codes::BAD_VALUE, form.place(), message, help);
    }
    let (method, resistance) = if by_voltages {
        let method = read_two_voltages(form);
        let until_declared = Slot::new(method.v_shunted.index());
        (Method::TwoVoltages(method), until_declared)
    } else {
        (Method::Tester, form.required::<ElectricalResistance>("resistance"))
    };
    let own = form.optional("test_voltage");
    let test_voltage = own.or(test.voltage);
    if test_voltage.is_none() && !by_voltages {
        form.missing("test_voltage");
    }
    for (key, given) in ["instrument", "date", "state"].into_iter().zip(test.given) {
        if form.text(key).is_none() && !given && !form.has(key) {
            form.missing(key);
        }
    }
    form.text("serial");
    Reading { method, resistance, bus, at: resistance.index(), test_voltage }
}

fn read_two_voltages(form: &mut Form<'_, '_>) -> TwoVoltages {
    let (v1, v2, shunt) = (form.required("v1"), form.required("v2"), form.required("shunt"));
    let side = match form.required_choice("shunt_side", &["negative", "positive"]) {
        Some("positive") => Side::Positive,
        _ => Side::Negative,
    };
    TwoVoltages { v1, v2, shunt, v_shunted: form.required("v_shunted"), side, worked: None }
}

impl Reading {
    /// Declares what the two-voltage method gives; it needs the names of the reading's values.
    pub(super) fn declare(&mut self, form: &mut Form<'_, '_>, case: &Case) {
        let Method::TwoVoltages(method) = &mut self.method else { return };
        let mut out = form.outcomes();
        let fall = match method.side {
            Side::Negative => &rows::FALL_NEGATIVE,
            Side::Positive => &rows::FALL_POSITIVE,
        };
        let worked = Worked {
            bus_voltage: out.result(rows::BUS_VOLTAGE.of(case)),
            fall: out.result(fall.of(case)),
            resistance: out.result(rows::RESISTANCE.of(case)),
        };
        self.resistance = worked.resistance;
        method.worked = Some(worked);
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) -> ElectricalResistance {
        if let Method::TwoVoltages(method) = &self.method {
            method.evaluate(bench);
        }
        bench.get(self.resistance)
    }

    /// What the isolation was tested at: by the two-voltage method the bus itself.
    pub(super) fn test_voltage(&self, page: &Page<'_>) -> Option<ElectricPotential> {
        match &self.method {
            Method::TwoVoltages(method) => Some(page.get(method.v1)? + page.get(method.v2)?),
            Method::Tester => page.get(self.test_voltage?),
        }
    }
}

impl TwoVoltages {
    /// Ri = Ro (Vb/V′ − Vb/V) where V is the larger voltage. With the shunt on the other pole the method measures the
    /// stronger one; the larger voltage in the divisor brings that down to the weaker.
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let Some(worked) = self.worked else { return };
        let (v1, v2, shunted) = (bench.get(self.v1), bench.get(self.v2), bench.get(self.v_shunted));
        let side = if self.side == Side::Negative { v1 } else { v2 };
        let larger = if v1 >= v2 { v1 } else { v2 };
        let (bus, fall): (_, Ratio) = (v1 + v2, (side - shunted) / larger);
        bench.set(worked.bus_voltage, bus);
        bench.set(worked.fall, fall);
        bench.set(worked.resistance, bench.get(self.shunt) * bus / shunted * fall);
    }

    /// Whether the test was made as told; where not, says so and holds the requirement open.
    pub(super) fn judge(&self, page: &mut Page<'_>, (name, place): (&str, &str)) -> bool {
        let (Some(v1), Some(v2), Some(shunted)) =
            (page.get(self.v1), page.get(self.v2), page.get(self.v_shunted))
        else {
            return true;
        };
        let (side, other) = if self.side == Side::Negative { (v1, v2) } else { (v2, v1) };
        if (v1 + v2).si() <= 0.0 {
            let message = words!("v1 and v2 of `{}` are both 0: there was no voltage to measure with", place);
            let help = "measure with the battery connected to the bus";
            page.find(&codes::OUT_OF_RANGE, self.v1.index(), message, help);
            return false;
        }
        if side < other {
            let (larger, smaller) = match self.side {
                Side::Negative => ("positive", "negative"),
                Side::Positive => ("negative", "positive"),
            };
            let message = words!(
                "the shunt of `{}` was on the {} pole, but the {} one shows the larger voltage",
                place,
                smaller,
                larger
            );
            let help = "measure again with the shunt between chassis and the pole with the larger voltage: on the other one the method measures the wrong pole, and can pass a dangerous battery";
            page.find(&INVALID_TEST, self.v_shunted.index(), message, help);
            page.hold_open(
                name,
                Stage::Test,
                "the shunt was on the pole with the smaller voltage, which tests the wrong pole",
            );
            return false;
        }
        if shunted >= side {
            let message = words!("the voltage of `{}` did not fall when the shunt was put in", place);
            let help = "look whether the shunt had contact, and measure again";
            page.find(&INVALID_TEST, self.v_shunted.index(), message, help);
            page.hold_open(name, Stage::Test, "the voltage did not fall when the shunt was put in");
            return false;
        }
        true
    }
}
