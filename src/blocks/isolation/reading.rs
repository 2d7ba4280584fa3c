//! One reading of isolation: by a tester, or by the two-voltage method with a known shunt.

use super::VOLTAGES_DISAGREE;
use super::rows;
use super::sections::{State, Taken};
use crate::blocks::shared::date::{TO_COME, TestDay, read_test_day};
use crate::blocks::shared::invalid_test::INVALID_TEST;
use crate::blocks::shared::known_parts::{KnownPart, known_as};
use crate::blocks::shared::lists::words_of;
use crate::blocks::shared::record::{Recorded, Wanted, from_record};
use crate::findings::codes;
use crate::model::{Bench, Case, Form, Page, Regard, Slot};
use crate::quantities::si::{ElectricPotential, ElectricalResistance, Measure, Ratio};
use crate::quantities::slug;
use crate::words::{Words, words};

const VOLTAGES: &[&str] = &["v1", "v2", "shunt", "shunt_side", "v_shunted"];

/// What people call the place where the charging cable goes in.
const INLET: [&str; 3] = ["inlet", "port", "socket"];

const RECORDED: Wanted = Wanted {
    values: &["resistance", "v1", "v2", "shunt", "v_shunted", "test_voltage"],
    needed: &[("resistance", VOLTAGES), ("test_voltage", VOLTAGES)],
    texts: &["instrument", "serial", "date", "state"],
};

/// A reading, and how it was taken.
pub(super) struct Reading {
    pub method: Method,
    /// Of the tester's own, or of the method; set by [`Reading::declare`].
    pub resistance: Slot<ElectricalResistance>,
    pub bus: Option<Bus>,
    pub taken: Taken,
    /// The value that findings about the reading stand at.
    pub at: usize,
    test_voltage: Option<Slot<ElectricPotential>>,
    day: TestDay,
    /// What it was taken from.
    pub record: Option<Recorded>,
}

/// What a reading is asked for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Bus {
    Dc,
    Ac,
    /// The charge inlet, with nothing plugged in.
    Inlet,
}

/// Why a reading proves nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fault {
    NoVoltage,
    WrongPole,
    NoFall,
    Disagree,
    TestedLow,
    ToCome,
}

/// What readings are held against to be valid.
pub(super) struct Against {
    pub working: Slot<ElectricPotential>,
    pub empty: Option<Slot<ElectricPotential>>,
    pub least_share: Slot<Ratio>,
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
    pub day: TestDay,
    pub state: Vec<String>,
}

pub(super) fn read_reading(form: &mut Form<'_, '_>, place: &str, test: &Test) -> Reading {
    form.text("name");
    let record = from_record(form, &RECORDED);
    let bus = match form.choice("bus", &["dc", "ac", "inlet"]) {
        Some("dc") => Some(Bus::Dc),
        Some("ac") => Some(Bus::Ac),
        Some(_) => Some(Bus::Inlet),
        // The severe limit is not lost with a word.
        None => place.split('_').any(|word| INLET.contains(&word)).then_some(Bus::Inlet),
    };
    let by_voltages = VOLTAGES.iter().any(|key| form.has(key));
    if by_voltages && form.has("resistance") {
        let message = "a reading with `resistance` and with the voltages of the two-voltage method";
        let help = "keep one of them, or make two readings of it";
        form.report(&codes::BAD_VALUE, form.place, message, help);
    }
    let (method, resistance) = if by_voltages {
        let method = read_two_voltages(form);
        let until_declared = Slot::new(method.v_shunted.index());
        (Method::TwoVoltages(method), until_declared)
    } else {
        let all = ["resistance", "test_voltage", "instrument", "date", "state"];
        let nothing = !all.iter().any(|key| form.has(key));
        let shown = form.required::<ElectricalResistance>("resistance");
        // Nothing was read: that is one thing that is missing, not five.
        if nothing {
            form.regard(Regard::ToldElsewhere);
        }
        (Method::Tester, shown)
    };
    let own = form.optional("test_voltage");
    let test_voltage = own.or(test.voltage);
    if test_voltage.is_none() && !by_voltages {
        form.missing("test_voltage");
    }
    if form.text("instrument").is_none() && !test.given[0] && !form.has("instrument") {
        form.missing("instrument");
    }
    let day = match read_test_day(form, "date") {
        TestDay::NotSaid => test.day,
        own => own,
    };
    if day == TestDay::NotSaid && !test.given[1] && !form.has("date") {
        form.missing("date");
    }
    form.text("serial");
    let covers = words_of(form, "covers").iter().map(|name| slug(known_as(form, name))).collect();
    let own = words_of(form, "state");
    if own.is_empty() && !test.given[2] && !form.has("state") {
        form.missing("state");
    }
    let words = if own.is_empty() { &test.state } else { &own };
    let taken = Taken { covers, state: State::read(words.iter().map(String::as_str)) };
    Reading { method, resistance, bus, taken, at: resistance.index(), test_voltage, day, record }
}

fn read_two_voltages(form: &mut Form<'_, '_>) -> TwoVoltages {
    let (v1, v2, shunt) = (form.required("v1"), form.required("v2"), form.required("shunt"));
    let side = match form.choice("shunt_side", &["negative", "positive"]) {
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

    /// Whether it is of an AC bus: it says so, or what it covers is a motor or an inverter and it does not say `dc`.
    pub(super) fn is_of_ac(&self, parts: &[KnownPart]) -> bool {
        match self.bus {
            Some(bus) => bus == Bus::Ac,
            None => self.covers_role(parts, &["motor", "inverter"]),
        }
    }

    /// A motor that an inverter feeds hangs on the AC side, whatever the reading says: the higher limit holds.
    pub(super) fn doubt_dc(&mut self, parts: &[KnownPart]) {
        let inverter = parts.iter().any(|part| part.role == "inverter");
        if inverter && self.bus == Some(Bus::Dc) && self.covers_role(parts, &["motor"]) {
            self.bus = None;
        }
    }

    fn covers_role(&self, parts: &[KnownPart], roles: &[&str]) -> bool {
        let covered = |part: &&KnownPart| self.taken.covers.contains(&part.name);
        parts.iter().filter(covered).any(|part| roles.contains(&part.role.as_str()))
    }

    /// The fields that it rests on.
    pub(super) fn uses(&self) -> Vec<usize> {
        match &self.method {
            Method::Tester => {
                vec![self.resistance.index()].into_iter().chain(self.test_voltage.map(Slot::index)).collect()
            }
            Method::TwoVoltages(method) => {
                vec![method.v1.index(), method.v2.index(), method.shunt.index(), method.v_shunted.index()]
            }
        }
    }

    /// Its value; NaN where it proves nothing.
    pub(super) fn evaluate(&self, against: &Against, bench: &mut Bench<'_>) -> f64 {
        let fault = self.fault(against, &|slot| bench.as_read(slot));
        if let Method::TwoVoltages(method) = &self.method {
            method.evaluate(fault, bench);
        }
        if fault.is_some() { f64::NAN } else { bench.get(self.resistance).si() }
    }

    /// Why it proves nothing, from the values (SI) of this block; what is not known is NaN and no fault.
    pub(super) fn fault(&self, against: &Against, value: &dyn Fn(usize) -> f64) -> Option<Fault> {
        if self.day == TestDay::ToCome {
            return Some(Fault::ToCome);
        }
        let working = value(against.working.index());
        let test = match &self.method {
            Method::TwoVoltages(method) => {
                let (v1, v2) = (value(method.v1.index()), value(method.v2.index()));
                let (side, other) = if method.side == Side::Negative { (v1, v2) } else { (v2, v1) };
                let sum = v1 + v2;
                // A twentieth is left for the meters.
                let above = sum > 1.05 * working;
                let below = against.empty.is_some_and(|empty| sum < 0.95 * value(empty.index()));
                let faults = [
                    (sum <= 0.0, Fault::NoVoltage),
                    (side < other, Fault::WrongPole),
                    (value(method.v_shunted.index()) >= side, Fault::NoFall),
                    (above || below, Fault::Disagree),
                ];
                if let Some((_, fault)) = faults.into_iter().find(|(holds, _)| *holds) {
                    return Some(fault);
                }
                sum
            }
            Method::Tester => self.test_voltage.map_or(f64::NAN, |slot| value(slot.index())),
        };
        (test < working * value(against.least_share.index())).then_some(Fault::TestedLow)
    }

    /// What the isolation was tested at: by the two-voltage method the bus itself.
    pub(super) fn test_voltage(&self, page: &Page<'_>) -> Option<ElectricPotential> {
        match &self.method {
            Method::TwoVoltages(method) => Some(page.get(method.v1)? + page.get(method.v2)?),
            Method::Tester => page.get(self.test_voltage?),
        }
    }

    /// How far the shunt moved the voltage.
    pub(super) fn fall(&self) -> Option<Slot<Ratio>> {
        match &self.method {
            Method::TwoVoltages(method) => Some(method.worked?.fall),
            Method::Tester => None,
        }
    }

    /// Tells of a reading that proves nothing, and gives the reason.
    pub(super) fn tell(
        &self,
        fault: Fault,
        page: &mut Page<'_>,
        (place, working): (&str, Slot<ElectricPotential>),
    ) -> Words {
        let sum = self.test_voltage(page).map_or(f64::NAN, Measure::si);
        let shown = page.value_as(working, sum);
        let (code, message, help, reason): (_, _, _, Words) = match fault {
            // Told where the date stands, once for all readings that it is of.
            Fault::ToCome => return self.told(page, TO_COME.into()),
            Fault::NoVoltage => (
                &codes::OUT_OF_RANGE,
                words!("v1 and v2 of `{}` are both 0: there was no voltage to measure with", place),
                "measure with the battery connected to the bus",
                "there was no voltage to measure with".into(),
            ),
            Fault::WrongPole => (
                &INVALID_TEST,
                words!("the shunt of `{}` was on the pole that shows the smaller voltage", place),
                "measure again with the shunt between chassis and the pole with the larger voltage: on the other one the method measures the wrong pole, and can pass a dangerous battery",
                "the shunt was on the pole with the smaller voltage, which tests the wrong pole".into(),
            ),
            Fault::NoFall => (
                &INVALID_TEST,
                words!("the voltage of `{}` did not fall when the shunt was put in", place),
                "look whether the shunt had contact, and measure again",
                "the voltage did not fall when the shunt was put in".into(),
            ),
            Fault::Disagree => (
                &VOLTAGES_DISAGREE,
                words!(
                    "v1 and v2 of `{}` add up to {}, more than 5 % outside what the bus can have",
                    place,
                    shown
                ),
                "measure again: both from the same moment, with a meter of 10 MΩ or more",
                "its voltages don't add up to what the bus can have".into(),
            ),
            Fault::TestedLow => (
                &INVALID_TEST,
                words!(
                    "`{}` was tested at {}, less than half of the working voltage of {}",
                    place,
                    shown,
                    page.value(working)
                ),
                "test at the highest working voltage",
                "the test voltage was too low".into(),
            ),
        };
        let at = match (&self.method, fault) {
            (Method::TwoVoltages(method), Fault::NoVoltage | Fault::Disagree) => method.v1.index(),
            _ => self.at,
        };
        page.find(code, at, message, help);
        self.told(page, reason)
    }

    /// Takes away what the method would give, for a reason that has been told.
    fn told(&self, page: &mut Page<'_>, reason: Words) -> Words {
        if let Method::TwoVoltages(TwoVoltages { worked: Some(worked), .. }) = &self.method {
            page.not_there(worked.resistance, &reason);
            page.not_there(worked.fall, &reason);
        }
        reason
    }
}

impl TwoVoltages {
    /// Ri = Ro (Vb/V′ − Vb/V) with the shunt on the pole that shows the larger voltage V. An invalid test gives nothing:
    /// on the other pole the method measures the stronger one.
    fn evaluate(&self, fault: Option<Fault>, bench: &mut Bench<'_>) {
        let Some(worked) = self.worked else { return };
        let (v1, v2, shunted) = (bench.get(self.v1), bench.get(self.v2), bench.get(self.v_shunted));
        let side = if self.side == Side::Negative { v1 } else { v2 };
        let (bus, fall): (_, Ratio) = (v1 + v2, (side - shunted) / side);
        bench.set(worked.bus_voltage, bus);
        if fault.is_some() {
            bench.not_there(worked.fall);
            bench.not_there(worked.resistance);
            return;
        }
        bench.set(worked.fall, fall);
        bench.set(worked.resistance, bench.get(self.shunt) * bus / shunted * fall);
    }
}
