//! What the conductor bears in a short circuit, which is over before it has given heat away.

use crate::findings::codes;
use crate::model::{Bench, Form, Page, Row, Slot, Taken};
use crate::quantities::si::{
    Area, CurrentSquaredTime, ElectricCurrent, HeatConstant, Measure, ThermodynamicTemperature, Time,
};
use crate::words::words;

/// Of copper, from the rules.
pub(super) static COPPER_HEAT: Taken<HeatConstant> = Taken::new("", "copper_heat_constant");

pub(super) static I2T_OF_SHEET: Row<CurrentSquaredTime> = Row::formula(
    "i2t_rating",
    "I²t that the conductor bears",
    "A²·s",
    "short_circuit_rating^2 * short_circuit_time",
)
.about("in a short circuit, the current squared times its time, without giving heat away")
.when("with `short_circuit_rating` or `short_circuit_temperature_limit`");
pub(super) static I2T_OF_COPPER: Row<CurrentSquaredTime> = I2T_OF_SHEET
    .by("copper_heat_constant * area^2 * ln((short_circuit_temperature_limit - copper_zero) / (conductor_temperature - copper_zero))");
pub(super) static BORNE_FOR: Row<Time> = Row::formula(
    "short_circuit_borne_for",
    "time for which the conductor bears the short circuit",
    "s",
    "i2t_rating / short_circuit_current^2",
)
.when("with `short_circuit_current`");

pub(super) struct ShortCircuit {
    bears: Bears,
    current: Slot<ElectricCurrent>,
    i2t: Slot<CurrentSquaredTime>,
    borne_for: Slot<Time>,
}

/// How it is known what the conductor bears.
enum Bears {
    Sheet(Slot<ElectricCurrent>, Slot<Time>),
    /// The limit of its insulation, and what copper takes up.
    Copper(Slot<ThermodynamicTemperature>, Slot<HeatConstant>),
    Unknown,
}

pub(super) fn read_short_circuit(form: &mut Form<'_, '_>) -> ShortCircuit {
    let keys = ["short_circuit_rating", "short_circuit_temperature_limit"];
    let bears = match keys.map(|key| form.has(key)) {
        [false, false] => Bears::Unknown,
        [true, false] => Bears::Sheet(form.required(keys[0]), form.assumed("short_circuit_time")),
        [false, true] => {
            Bears::Copper(form.required(keys[1]), form.limit("copper_heat_constant", "copper_heat_constant"))
        }
        [true, true] => {
            form.one_of(&keys);
            Bears::Unknown
        }
    };
    let current = form.if_given("short_circuit_current");
    let mut out = form.outcomes();
    let i2t = match bears {
        Bears::Copper(..) => out.result(&I2T_OF_COPPER),
        Bears::Sheet(..) | Bears::Unknown => out.result(&I2T_OF_SHEET),
    };
    ShortCircuit { bears, current, i2t, borne_for: out.result(&BORNE_FOR) }
}

impl ShortCircuit {
    /// `area` is of one conductor; it starts at its temperature, and the line of copper's resistance at `zero`.
    pub(super) fn evaluate(
        &self,
        bench: &mut Bench<'_>,
        (area, (temperature, zero)): (Area, (Slot<ThermodynamicTemperature>, Slot<ThermodynamicTemperature>)),
    ) {
        let i2t: CurrentSquaredTime = match self.bears {
            Bears::Sheet(rating, time) => bench.get(rating) * bench.get(rating) * bench.get(time),
            Bears::Copper(limit, constant) => {
                let above =
                    |slot: Slot<ThermodynamicTemperature>| bench.get(slot).si() - bench.get(zero).si();
                bench.get(constant) * area * area * (above(limit) / above(temperature)).ln()
            }
            Bears::Unknown => CurrentSquaredTime::from_si(f64::NAN),
        };
        bench.set(self.i2t, i2t);
        let current = bench.get(self.current);
        bench.set(self.borne_for, i2t / (current * current));
    }

    pub(super) fn present(&self, page: &mut Page<'_>, temperature: Slot<ThermodynamicTemperature>) {
        let Bears::Copper(limit, _) = self.bears else { return };
        let (Some(bears), Some(starts)) = (page.get(limit), page.get(temperature)) else { return };
        if bears.si() <= starts.si() {
            let message = words!(
                "a short circuit that starts at {}, where the insulation bears {}",
                page.value(temperature),
                page.value(limit)
            );
            let help =
                "type what the insulation bears in a short circuit, more than in use: look at its sheet";
            page.find(&codes::OUT_OF_RANGE, limit.index(), message, help);
        }
    }
}
