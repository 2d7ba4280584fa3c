//! The density of the air: given, or that of the standard atmosphere.

use crate::findings::codes;
use crate::model::{Bench, Form, Page, Row, Slot};
use crate::quantities::si::{
    Length, MassDensity, Measure, Pressure, Ratio, SpecificHeatCapacity, TemperatureInterval,
    ThermodynamicTemperature,
};
use crate::words::words;

/// ISO 2533, lowest layer: values at sea level, and what makes the others of them.
const STANDARD_TEMPERATURE: f64 = 288.15;
const STANDARD_PRESSURE: f64 = 101_325.0;
/// K/m.
const LAPSE: f64 = 0.0065;
/// J/(kg K), of dry air.
const GAS_CONSTANT: f64 = 287.052_87;
const EARTH_RADIUS: f64 = 6_356_766.0;
/// How far up and down the layer reaches.
const HIGHEST: f64 = 11_000.0;
const LOWEST: f64 = -2_000.0;

pub(super) static GEOPOTENTIAL_ALTITUDE: Row<Length> = Row::formula(
    "geopotential_altitude",
    "geopotential altitude",
    "m",
    "6 356 766 m * altitude / (6 356 766 m + altitude)",
)
.about("for the standard atmosphere");
pub(super) static TEMPERATURE_RATIO: Row<Ratio> = Row::formula(
    "temperature_ratio",
    "standard temperature against that at the sea",
    "1",
    "1 - 0.0065 [K/m] * geopotential_altitude / 288.15 K",
);
pub(super) static AIR_PRESSURE: Row<Pressure> = Row::formula(
    "air_pressure",
    "air pressure",
    "kPa",
    "101.325 kPa * temperature_ratio^(9.80665 m/s^2 / (287.05287 [J/(kg K)] * 0.0065 [K/m]))",
)
.about("of the standard atmosphere at that altitude");
pub(super) static AIR_TEMPERATURE: Row<ThermodynamicTemperature> = Row::formula(
    "air_temperature",
    "air temperature",
    "°C",
    "288.15 K - 0.0065 [K/m] * geopotential_altitude",
)
.about("of the standard atmosphere")
.when("with `altitude` and without `temperature`");
pub(super) static AIR_DENSITY: Row<MassDensity> = Row::formula(
    "air_density",
    "air density",
    "kg/m^3",
    "air_pressure / (287.05287 [J/(kg K)] * temperature)",
)
.about("of dry air")
.principal();
pub(super) static STANDARD_AIR_DENSITY: Row<MassDensity> =
    AIR_DENSITY.by("air_pressure / (287.05287 [J/(kg K)] * air_temperature)");

pub(super) enum Air {
    Given(Slot<MassDensity>),
    Standard(Standard),
}

pub(super) struct Standard {
    altitude: Slot<Length>,
    geopotential_altitude: Slot<Length>,
    temperature_ratio: Slot<Ratio>,
    pressure: Slot<Pressure>,
    temperature: Slot<ThermodynamicTemperature>,
    /// The temperature is that of the standard atmosphere, worked here.
    standard_temperature: bool,
    density: Slot<MassDensity>,
}

impl Air {
    /// `None` where the resistance is given by coefficients and nothing is written about the air.
    pub(super) fn read(form: &mut Form<'_, '_>, by_coefficients: bool) -> Option<Air> {
        let (altitude, temperature) = (form.has("altitude"), form.has("temperature"));
        if form.has("air_density") {
            form.one_of(&["air_density", "altitude", "temperature"]);
            form.optional::<Length>("altitude");
            form.optional::<ThermodynamicTemperature>("temperature");
            return Some(Air::Given(form.required("air_density")));
        }
        if by_coefficients && !altitude && !temperature {
            return None;
        }
        let altitude_slot = form.assumed("altitude");
        let given = (temperature || !altitude).then(|| form.assumed("temperature"));
        let standard_temperature = given.is_none();
        let mut out = form.outcomes();
        let geopotential_altitude = out.result(&GEOPOTENTIAL_ALTITUDE);
        let temperature_ratio = out.result(&TEMPERATURE_RATIO);
        let pressure = out.result(&AIR_PRESSURE);
        let temperature = given.unwrap_or_else(|| out.result(&AIR_TEMPERATURE));
        let density = out.result(if standard_temperature { &STANDARD_AIR_DENSITY } else { &AIR_DENSITY });
        Some(Air::Standard(Standard {
            altitude: altitude_slot,
            geopotential_altitude,
            temperature_ratio,
            pressure,
            temperature,
            standard_temperature,
            density,
        }))
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) -> MassDensity {
        match self {
            Air::Given(slot) => bench.get(*slot),
            Air::Standard(standard) => standard.evaluate(bench),
        }
    }

    pub(super) fn present(&self, page: &mut Page<'_>) {
        let Air::Standard(standard) = self else { return };
        let Some(altitude) = page.get(standard.altitude) else { return };
        if !(LOWEST..=HIGHEST).contains(&altitude.si()) {
            let message = words!(
                "an altitude of {}, where the lowest layer of the standard atmosphere ends at {}",
                page.value(standard.altitude),
                page.value_as(standard.altitude, if altitude.si() > 0.0 { HIGHEST } else { LOWEST }),
            );
            page.find(
                &codes::OUT_OF_RANGE,
                standard.altitude.index(),
                message,
                "look at the number and its unit, or give `air_density`",
            );
        }
    }
}

impl Standard {
    fn evaluate(&self, bench: &mut Bench<'_>) -> MassDensity {
        let altitude = bench.get(self.altitude);
        let radius = Length::from_si(EARTH_RADIUS);
        let height: Length = radius * (altitude / (radius + altitude));
        bench.set(self.geopotential_altitude, height);
        let colder = LAPSE * height.si();
        let exponent = super::GRAVITY / (GAS_CONSTANT * LAPSE);
        let ratio = 1.0 - colder / STANDARD_TEMPERATURE;
        bench.set(self.temperature_ratio, Ratio::from_si(ratio));
        let pressure = Pressure::from_si(STANDARD_PRESSURE * ratio.powf(exponent));
        bench.set(self.pressure, pressure);
        if self.standard_temperature {
            bench.set(self.temperature, ThermodynamicTemperature::from_si(STANDARD_TEMPERATURE - colder));
        }
        let above_zero = TemperatureInterval::from_si(bench.get(self.temperature).si());
        let density: MassDensity = pressure / (SpecificHeatCapacity::from_si(GAS_CONSTANT) * above_zero);
        bench.set(self.density, density);
        density
    }
}
