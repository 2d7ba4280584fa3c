//! What the road and the air hold against a vehicle: force and power at a speed, on a grade, against the wind.

mod air;
mod coefficients;
mod fields;
mod results;

use self::air::{
    AIR_DENSITY, AIR_PRESSURE, AIR_TEMPERATURE, Air, GEOPOTENTIAL_ALTITUDE, STANDARD_AIR_DENSITY,
    TEMPERATURE_RATIO,
};
use self::coefficients::read_coefficients;
use self::fields::FIELDS;
use self::results::{
    DRAG_AT, EFFECTIVE_MASS, F0, F1, F2, FORCE_AT, GIVEN_F0, GIVEN_F1, GIVEN_F2, POWER_AT, ROLLING_AT,
    SCALED_F0, SLOPE, TAKEN_F0, TAKEN_F1, TAKEN_F2, TAKEN_MASS,
};
use crate::blocks::shared::gravity::GRAVITY;
use crate::blocks::shared::lists::quantities;
use crate::findings::codes;
use crate::model::{Axis, Bench, Block, Chart, Entry, Example, Form, Kind, LinesChart, Page, Series, Slot};
use crate::quantities::Unit;
use crate::quantities::si::{
    Acceleration, Angle, Area, Force, ForcePerSpeed, ForcePerSpeedSquared, Mass, Measure, Power, Ratio,
    Velocity, ratio,
};
use crate::words::{Words, words};

pub(super) static KIND: Kind = Kind {
    name: "road-load",
    summary: "what force and power rolling, air and grade take at a speed",
    subsystem: "drive",
    fields: FIELDS,
    rows: &[
        &GEOPOTENTIAL_ALTITUDE.row,
        &TEMPERATURE_RATIO.row,
        &AIR_PRESSURE.row,
        &AIR_TEMPERATURE.row,
        &AIR_DENSITY.row,
        &STANDARD_AIR_DENSITY.row,
        &SLOPE.row,
        &F0.row,
        &GIVEN_F0.row,
        &SCALED_F0.row,
        &F1.row,
        &GIVEN_F1.row,
        &F2.row,
        &GIVEN_F2.row,
        &EFFECTIVE_MASS.row,
        &ROLLING_AT.row,
        &DRAG_AT.row,
        &FORCE_AT.row,
        &POWER_AT.row,
    ],
    takes: &[&TAKEN_F0.row, &TAKEN_F1.row, &TAKEN_F2.row, &TAKEN_MASS.row],
    requires: &[],
    example: Example {
        journal: "\
```yaml road-load road
mass: 1 500 kg
drag_coefficient: 0.35
frontal_area: 2 m^2
rolling_coefficient: 0.012
air_density: 1.2 kg/m^3
speeds: [50 km/h, 80 km/h, 100 km/h]
```
",
        // Computed apart from the program, in closed form.
        expected: &[
            ("road.force_at_50_km_h", "257.5382189 N"),
            ("road.power_at_50_km_h", "3.576919707 kW"),
            ("road.force_at_80_km_h", "383.9271074 N"),
            ("road.force_at_100_km_h", "500.5937741 N"),
        ],
    },
    sources: &[
        "road load f0 cos θ + f1 v + f2 (v + w)|v + w| + m g sin θ with θ = atan(grade), w the headwind; common practice, no source",
        "f0 = m g × rolling coefficient, f2 = air density × drag coefficient × area / 2: Newton's drag law and Coulomb's rolling law; common practice, no source",
        "density of the air: ISO 2533, standard atmosphere, its formulas and constants; second-hand, through tables made of it",
        "standard gravity 9.80665 m/s²: NIST SP 811 (read)",
    ],
    limits: &[
        "moist air (up to about 1 % thinner), wind from the side, curves, and rolling resistance that changes with temperature and tyre pressure are not calculated",
        "the standard atmosphere is that of its lowest layer, up to 11 000 m",
        "drag and rolling coefficients from a table are good to about 10 %; a coast-down of the vehicle itself is better",
    ],
    codes: &[],
    read,
};

struct RoadLoad {
    mass: Slot<Mass>,
    rotating_share: Slot<Ratio>,
    resistance: Resistance,
    air: Option<Air>,
    headwind: Slot<Velocity>,
    grade: Slot<Ratio>,
    slope: Slot<Angle>,
    f0: Slot<Force>,
    f1: Slot<ForcePerSpeed>,
    f2: Slot<ForcePerSpeedSquared>,
    effective_mass: Slot<Mass>,
    speeds: Vec<AtSpeed>,
}

/// What the coefficients come from.
enum Resistance {
    Derived {
        drag_coefficient: Slot<Ratio>,
        frontal_area: Slot<Area>,
        rolling_coefficient: Slot<Ratio>,
    },
    Given {
        f0: Slot<Force>,
        f1: Slot<ForcePerSpeed>,
        f2: Slot<ForcePerSpeedSquared>,
        /// Of the vehicle as it was fitted.
        fit_mass: Option<Slot<Mass>>,
    },
}

struct AtSpeed {
    speed: Slot<Velocity>,
    rolling: Slot<Force>,
    drag: Slot<Force>,
    force: Slot<Force>,
    power: Slot<Power>,
}

/// The force at a speed by its causes, all positive when they hold the vehicle back.
#[derive(Clone, Copy)]
struct Causes {
    rolling: Force,
    air: Force,
    climbing: Force,
}

/// The nominal values that the pictures are drawn from.
struct Road {
    f0: Force,
    f1: ForcePerSpeed,
    f2: ForcePerSpeedSquared,
    mass: Mass,
    slope: Angle,
    headwind: Velocity,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let mass = form.required("mass");
    let given = form.has("coefficients");
    let resistance = if given { read_coefficients(form) } else { read_parts(form) };
    let rotating_share = form.assumed("rotating_share");
    let headwind = form.assumed("headwind");
    let grade = form.assumed("grade");
    let written: Vec<Entry<Slot<Velocity>>> = quantities(form, "speeds");
    let air = Air::read(form, given);

    let mut out = form.outcomes();
    let slope = out.result(&SLOPE);
    let f0 = out.result(match &resistance {
        Resistance::Derived { .. } => &F0,
        Resistance::Given { fit_mass: None, .. } => &GIVEN_F0,
        Resistance::Given { fit_mass: Some(_), .. } => &SCALED_F0,
    });
    let f1 = out.result(if given { &GIVEN_F1 } else { &F1 });
    let f2 = out.result(if given { &GIVEN_F2 } else { &F2 });
    let effective_mass = out.result(&EFFECTIVE_MASS);
    let mut at_speed = |entry: &Entry<Slot<Velocity>>| {
        let case = entry.case();
        AtSpeed {
            speed: entry.read,
            rolling: out.result(ROLLING_AT.of(&case)),
            drag: out.result(DRAG_AT.of(&case)),
            force: out.result(FORCE_AT.of(&case)),
            power: out.result(POWER_AT.of(&case)),
        }
    };
    let speeds = written.iter().map(&mut at_speed).collect();
    Box::new(RoadLoad {
        mass,
        rotating_share,
        resistance,
        air,
        headwind,
        grade,
        slope,
        f0,
        f1,
        f2,
        effective_mass,
        speeds,
    })
}

fn read_parts(form: &mut Form<'_, '_>) -> Resistance {
    let keys = ["drag_coefficient", "frontal_area", "rolling_coefficient"];
    if !keys.iter().any(|key| form.has(key)) {
        let message = "`coefficients` are missing, and so is what stands for them";
        let help = "type `drag_coefficient`, `frontal_area` and `rolling_coefficient`, or `coefficients: {f0: …, f2: …}`";
        form.report(&codes::MISSING_FIELD, form.place, message, help);
        return Resistance::Derived {
            drag_coefficient: form.if_given("drag_coefficient"),
            frontal_area: form.if_given("frontal_area"),
            rolling_coefficient: form.if_given("rolling_coefficient"),
        };
    }
    Resistance::Derived {
        drag_coefficient: form.required("drag_coefficient"),
        frontal_area: form.required("frontal_area"),
        rolling_coefficient: form.required("rolling_coefficient"),
    }
}

impl Road {
    fn at(&self, speed: Velocity) -> Causes {
        let wind = speed + self.headwind;
        Causes {
            rolling: self.f0 * self.slope.cos() + self.f1 * speed,
            air: self.f2 * wind * wind.abs(),
            climbing: self.mass * Acceleration::from_si(GRAVITY) * self.slope.sin(),
        }
    }
}

impl Causes {
    fn sum(self) -> Force {
        self.rolling + self.air + self.climbing
    }
}

impl Block for RoadLoad {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let mass = bench.get(self.mass);
        let density = self.air.as_ref().map(|air| air.evaluate(bench));
        let (f0, f1, f2) = match &self.resistance {
            Resistance::Derived { drag_coefficient, frontal_area, rolling_coefficient } => {
                let Some(density) = density else { return };
                let f0: Force = mass * Acceleration::from_si(GRAVITY) * bench.get(*rolling_coefficient);
                let f2 = density * bench.get(*drag_coefficient) * bench.get(*frontal_area) / 2.0;
                (f0, ForcePerSpeed::from_si(0.0), f2)
            }
            Resistance::Given { f0, f1, f2, fit_mass } => {
                let heavier = fit_mass.map_or(ratio(1.0), |fit_mass| mass / bench.get(fit_mass));
                (bench.get(*f0) * heavier, bench.get(*f1), bench.get(*f2))
            }
        };
        bench.set(self.f0, f0);
        bench.set(self.f1, f1);
        bench.set(self.f2, f2);
        bench.set(self.effective_mass, mass * (ratio(1.0) + bench.get(self.rotating_share)));
        let slope = bench.get(self.grade).atan();
        bench.set(self.slope, slope);
        let road = Road { f0, f1, f2, mass, slope, headwind: bench.get(self.headwind) };
        for at in &self.speeds {
            let speed = bench.get(at.speed);
            let causes = road.at(speed);
            bench.set(at.rolling, causes.rolling);
            bench.set(at.drag, causes.air);
            let force = causes.sum();
            bench.set(at.force, force);
            bench.set(at.power, force * speed);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        if let Some(air) = &self.air {
            air.present(page);
        }
        let Some(road) = self.nominal(page) else { return };
        self.ideal(page, &road);
        match self.speeds.last() {
            Some(last) => self.tell_speed(page, &road, last),
            None => page.sentence(
                words!("{} at a crawl", page.value_as(self.f0, road.at(Velocity::from_si(0.0)).sum().si())),
                words!(", and {} more with the square of the speed.", page.value(self.f2)),
            ),
        }
        if road.slope.si() != 0.0 {
            page.note("f0, f1 and f2 are those of the level road; the grade is in the forces at each speed.");
        }
        if let Resistance::Given { fit_mass: Some(fit_mass), .. } = self.resistance {
            page.note(words!(
                "The coefficients were found at {}; f0, which is rolling for the most part, is taken as growing with the mass (common practice, no source).",
                page.value(fit_mass)
            ));
        }
        if matches!(self.resistance, Resistance::Given { .. }) && self.air.is_some() {
            page.note("f2 is taken as it is given: the density of the air does not change it.");
        }
        if page.read {
            self.draw(page, &road);
        }
    }
}

impl RoadLoad {
    fn nominal(&self, page: &Page<'_>) -> Option<Road> {
        Some(Road {
            f0: page.get(self.f0)?,
            f1: page.get(self.f1)?,
            f2: page.get(self.f2)?,
            mass: page.get(self.mass)?,
            slope: page.get(self.slope)?,
            headwind: page.get(self.headwind)?,
        })
    }

    /// A textbook's road without rolling or air is worked, but no vehicle is judged by it.
    fn ideal(&self, page: &mut Page<'_>, road: &Road) {
        if road.f0.si() == 0.0 {
            page.unfit(self.f0, "no vehicle rolls without resistance");
        }
        if road.f2.si() == 0.0 {
            page.unfit(self.f2, "no vehicle drives without drag");
        }
    }

    fn tell_speed(&self, page: &mut Page<'_>, road: &Road, last: &AtSpeed) {
        let Some(speed) = page.get(last.speed) else { return };
        let causes = road.at(speed);
        let total = causes.sum();
        let shares = [("air", causes.air), ("rolling", causes.rolling), ("climbing", causes.climbing)];
        let parts = shares
            .iter()
            .filter(|(_, force)| force.si() != 0.0 && total.si() > 0.0)
            .map(|(name, force)| words!("{} {}", name, page.percent(force.si() / total.si())));
        let parts = Words::joined(parts, ", ");
        let rest = if parts.is_empty() { ".".into() } else { words!(": {}.", parts) };
        page.sentence(
            words!("{} and {}", page.value(last.force), page.value(last.power)),
            words!(" at the wheels at {}{}", page.value(last.speed), rest),
        );
    }

    /// Force and power against speed, each cause on the one before it.
    fn draw(&self, page: &mut Page<'_>, road: &Road) {
        /// A speed that most roads allow, where the journal asks for none.
        const USUAL: f64 = 36.0;
        const POINTS: usize = 60;
        let asked = self.speeds.iter().filter_map(|at| page.get(at.speed)).map(Measure::si);
        let top = asked.fold(0.0, f64::max);
        let top = if top > 0.0 { top * 1.1 } else { USUAL };
        let speed_unit = match self.speeds.first() {
            Some(at) => page.unit_of(at.speed),
            None => page.unit_of(self.headwind),
        };
        let speeds: Vec<f64> = (0..=POINTS).map(|at| top * at as f64 / POINTS as f64).collect();
        let force_unit = page.unit_of(self.f0);
        let power_unit =
            self.speeds.first().map_or_else(|| Power::SORT.display_unit(), |at| page.unit_of(at.power));
        let chart = |caption: &str, y: Axis, value: &dyn Fn(f64, Force) -> f64| {
            let layers = |count: usize| {
                let points = speeds.iter().map(|speed| {
                    let causes = road.at(Velocity::from_si(*speed));
                    let parts = [causes.climbing, causes.rolling, causes.air];
                    let sum = parts[..=count].iter().fold(Force::from_si(0.0), |sum, part| sum + *part);
                    (speed_unit.value_of(*speed), value(*speed, sum))
                });
                points.collect::<Vec<_>>()
            };
            let names = ["climbing", "rolling", "air"];
            let first = usize::from(road.slope.si() == 0.0);
            let series = (first..names.len()).map(|at| Series {
                label: names[at].to_owned(),
                points: layers(at),
                dashed: false,
            });
            Chart::Lines(LinesChart {
                caption: caption.to_owned(),
                x: axis("speed", &speed_unit),
                y,
                series: series.collect(),
                limits: Vec::new(),
                stacked: true,
            })
        };
        let force = chart("Force at the wheels by cause.", axis("force", &force_unit), &|_, force| {
            force_unit.value_of(force.si())
        });
        let power = chart("Power at the wheels by cause.", axis("power", &power_unit), &|speed, force| {
            power_unit.value_of(force.si() * speed)
        });
        page.said.chart = Some(force);
        page.said.more_charts.push(power);
    }
}

fn axis(label: &str, unit: &Unit) -> Axis {
    Axis { label: label.to_owned(), unit: unit.symbol.to_owned() }
}
