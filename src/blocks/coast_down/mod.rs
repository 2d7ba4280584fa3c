//! Road-load coefficients from the vehicle itself: it rolls to a stand in both directions, and the motion is fitted.

mod fields;
mod fit;

use std::sync::Arc;

use self::fields::{EXAMPLE, FIELDS, RESULTS};
use self::fit::{Decay, Run, averaged, factor, fit};
use crate::findings::{Code, Severity};
use crate::model::{Axis, Bench, Block, Chart, Example, Form, Kind, LinesChart, Page, Series, Slot};
use crate::quantities::Trace;
use crate::quantities::si::{
    Acceleration, Area, Curvature, Force, ForcePerSpeed, ForcePerSpeedSquared, Frequency, Mass, MassDensity,
    Measure, Ratio, Velocity,
};

static ONE_DIRECTION: Code = Code {
    name: "one-direction",
    severity: Severity::Warning,
    about: "a coast-down in one direction only: a slope or a wind is taken for resistance",
};

static NO_FIT: Code = Code {
    name: "no-fit",
    severity: Severity::Error,
    about: "coast-down runs that don't tell the coefficients of the road load apart",
};

pub(super) static KIND: Kind = Kind {
    name: "coast-down",
    summary: "road-load coefficients from runs in which the vehicle rolls to a stand",
    subsystem: "drive",
    fields: FIELDS,
    rows: &[],
    takes: &[],
    requires: &[],
    results: RESULTS,
    example: Example {
        journal: EXAMPLE,
        // The coefficients that the decay was made of.
        expected: &[
            ("rolling.f0", "180 N"),
            ("rolling.f2", "0.45 N/(m/s)^2"),
            ("rolling.rolling_coefficient", "0.01529574319"),
            ("rolling.drag_area", "0.75 m^2"),
        ],
    },
    sources: &[
        "m dv/dt = −(f0 + f1 v + f2 v²), integrated by the classical Runge–Kutta rule and fitted by least squares (Gauss and Newton), each run with a starting speed of its own; common practice, no source",
        "standard uncertainties and correlation from the covariance of the least squares: JCGM 100:2008, H.3",
    ],
    inspector: &["f0", "f1", "f2", "rolling_coefficient", "drag_area", "residual"],
    limits: &[
        "the standard uncertainties are those of samples that scatter independently; gusts and unevenness that last longer than a sample make the true ones larger: compare several runs",
        "a steady wind leaves its own drag in f0; temperature and tyre pressure are those of the runs",
        "with the motor geared to the wheels its drag is part of the result",
    ],
    codes: &[&ONE_DIRECTION, &NO_FIT],
    read,
};

struct CoastDown {
    mass: Slot<Mass>,
    rotating_share: Slot<Ratio>,
    air_density: Option<(Slot<MassDensity>, Slot<Area>)>,
    runs: Vec<Measured>,
    found: Option<Found>,
    scatter: [Slot<f64>; 3],
    results: Results,
}

struct Measured {
    title: String,
    run: Run,
    outward: bool,
}

/// The fit, which depends on the runs alone.
struct Found {
    decay: Decay,
    /// Lower triangle of the covariance.
    factor: [[f64; 3]; 3],
    /// The coefficients of each direction: out, back.
    directions: [Option<[f64; 3]>; 2],
    /// How far the same fit on half the mesh is off.
    half_mesh: f64,
}

struct Results {
    decay: (Slot<Acceleration>, Slot<Frequency>, Slot<Curvature>),
    effective_mass: Slot<Mass>,
    load: (Slot<Force>, Slot<ForcePerSpeed>, Slot<ForcePerSpeedSquared>),
    uncertainty: (Slot<Force>, Slot<ForcePerSpeed>, Slot<ForcePerSpeedSquared>),
    /// Of f0 and f1, f0 and f2, f1 and f2.
    correlation: [Slot<Ratio>; 3],
    rolling_coefficient: Slot<Ratio>,
    residual: Slot<Velocity>,
}

/// In s: no vehicle rolls for longer.
const HOUR: f64 = 3600.0;
const PAIRS: [(usize, usize); 3] = [(0, 1), (0, 2), (1, 2)];

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let mass = form.required("mass");
    let rotating_share = form.assumed("rotating_share");
    if !form.has("runs") {
        form.missing("runs");
    }
    let written = form.list("runs", &["name", "file"], |form, _| {
        form.text("name");
        let trace = form.trace();
        let direction = form.choice("direction", &["out", "back"]);
        if direction.is_none() && !form.has("direction") {
            form.missing("direction");
        }
        Some((trace?, direction? == "out"))
    });
    let whole = !written.is_empty() && written.iter().all(|entry| entry.read.is_some());
    let runs: Vec<Measured> = written
        .into_iter()
        .filter_map(|entry| {
            let (trace, outward): (Arc<Trace>, bool) = entry.read?;
            Some(Measured { title: entry.title, run: Run::new(&trace), outward })
        })
        .collect();
    let air_density = form.optional("air_density");
    let found = if whole { find(form, &runs) } else { None };
    let scatter = ["scatter_1", "scatter_2", "scatter_3"].map(|name| form.scatter(name));
    let results = declare(form, scatter, found.is_some());
    let air_density = air_density.map(|slot| (slot, form.step("drag_area", "m²", "2 * f2 / air_density")));
    Box::new(CoastDown { mass, rotating_share, air_density, runs, found, scatter, results })
}

fn declare(form: &mut Form<'_, '_>, scatter: [Slot<f64>; 3], found: bool) -> Results {
    let uses = scatter.map(Slot::index);
    let method =
        "least squares of the integrated motion over all samples of a direction, both directions averaged";
    let decay = if found {
        (
            form.procedure("decay_0", "m/s²", method, &uses),
            form.procedure("decay_1", "1/s", method, &uses),
            form.procedure("decay_2", "1/m", method, &uses),
        )
    } else {
        (form.unknown_step("decay_0"), form.unknown_step("decay_1"), form.unknown_step("decay_2"))
    };
    let effective_mass = form.step("effective_mass", "kg", "mass * (1 + rotating_share)");
    let load = (
        form.step("f0", "N", "effective_mass * decay_0"),
        form.step("f1", "N/(km/h)", "effective_mass * decay_1"),
        form.step("f2", "N/(km/h)^2", "effective_mass * decay_2"),
    );
    let method = "effective mass × standard uncertainty of the decay, from the covariance of the least squares; each speed scatters by a hundred-thousandth of the highest one at least";
    let uses = [effective_mass.index(), decay.0.index()];
    let uncertainty = (
        form.procedure("f0_uncertainty", "N", method, &uses),
        form.procedure("f1_uncertainty", "N/(km/h)", method, &uses),
        form.procedure("f2_uncertainty", "N/(km/h)^2", method, &uses),
    );
    let method = "covariance over the product of the standard uncertainties";
    let correlation = PAIRS
        .map(|(a, b)| form.procedure(&format!("correlation_f{a}_f{b}"), "1", method, &[decay.0.index()]));
    let rolling_coefficient = form.step("rolling_coefficient", "1", "f0 / (mass * 9.80665 m/s^2)");
    let method = "root mean square of measured less fitted speed";
    let residual = form.procedure("residual", "km/h", method, &[decay.0.index()]);
    Results { decay, effective_mass, load, uncertainty, correlation, rolling_coefficient, residual }
}

/// Fits each direction by itself and averages them. The findings are made here.
fn find(form: &mut Form<'_, '_>, runs: &[Measured]) -> Option<Found> {
    let place = form.place();
    let too_little = |run: &&Measured| match run.run.samples.as_slice() {
        [first, .., last] => last.1 >= first.1,
        _ => true,
    };
    if let Some(run) = runs.iter().find(too_little) {
        let message = format!("in the run `{}` the vehicle does not slow down", run.title);
        form.report(
            &NO_FIT,
            place,
            message,
            "begin a run where the drive is let go, and end it at walking pace",
        );
        return None;
    }
    let endless = |run: &&Measured| run.run.samples.last().is_some_and(|last| last.0 > HOUR);
    if let Some(run) = runs.iter().find(endless) {
        let message = format!("the run `{}` lasts longer than an hour", run.title);
        form.report(&NO_FIT, place, message, "look at the unit of its times");
        return None;
    }
    let of = |outward: bool| -> Vec<&Run> {
        runs.iter().filter(|run| run.outward == outward).map(|run| &run.run).collect()
    };
    let mut fits = Vec::new();
    let mut directions = [None, None];
    for (at, name) in ["out", "back"].into_iter().enumerate() {
        let runs = of(at == 0);
        if runs.is_empty() {
            continue;
        }
        let Some(decay) = fit(&runs, 1) else {
            let message = format!("the runs `{name}` don't tell the three coefficients apart");
            let help = "let the vehicle roll from a high speed to walking pace, with ten samples at least";
            form.report(&NO_FIT, place, message, help);
            return None;
        };
        directions[at] = Some(decay.coefficients);
        fits.push((decay, fit(&runs, 2)?));
    }
    let (decay, again) = match fits.as_slice() {
        [out, back] => (averaged(&out.0, &back.0), averaged(&out.1, &back.1)),
        [one] => {
            let message = "all runs go one way: a slope or a wind is taken for resistance";
            form.report(&ONE_DIRECTION, place, message, "let it roll the other way on the same road too");
            *one
        }
        _ => return None,
    };
    let top = runs.iter().map(|run| run.run.samples[0].1).fold(0.0, f64::max);
    let half_mesh = decay.differs_from(&again, top);
    Some(Found { decay, factor: factor(&decay.covariance), directions, half_mesh })
}

impl Found {
    /// The coefficients with so much of each scatter.
    fn scattered(&self, by: [f64; 3]) -> [f64; 3] {
        std::array::from_fn(|row| {
            let moved: f64 = self.factor[row].iter().zip(by).map(|(factor, by)| factor * by).sum();
            self.decay.coefficients[row] + moved
        })
    }

    fn uncertainty(&self, at: usize) -> f64 {
        self.decay.covariance[at][at].sqrt()
    }

    /// 0 where one of them does not scatter at all.
    fn correlation(&self, (a, b): (usize, usize)) -> f64 {
        let product = self.uncertainty(a) * self.uncertainty(b);
        if product > 0.0 { self.decay.covariance[a][b] / product } else { 0.0 }
    }

    fn residual(&self) -> f64 {
        (self.decay.squares / self.decay.samples as f64).sqrt()
    }
}

impl Block for CoastDown {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let r = &self.results;
        let mass = bench.get(self.mass);
        let effective: Mass = mass * (1.0 + bench.get(self.rotating_share).value);
        bench.set(r.effective_mass, effective);
        let Some(found) = &self.found else { return };
        let decay = found.scattered(self.scatter.map(|slot| bench.get(slot)));
        bench.set(r.decay.0, Acceleration::from_si(decay[0]));
        bench.set(r.decay.1, Frequency::from_si(decay[1]));
        bench.set(r.decay.2, Curvature::from_si(decay[2]));
        let f0: Force = effective * Acceleration::from_si(decay[0]);
        let f2: ForcePerSpeedSquared = effective * Curvature::from_si(decay[2]);
        bench.set(r.load.0, f0);
        bench.set(r.load.1, ForcePerSpeed::from_si(effective.value * decay[1]));
        bench.set(r.load.2, f2);
        let uncertainty = |at: usize| effective.value * found.uncertainty(at);
        bench.set(r.uncertainty.0, Force::from_si(uncertainty(0)));
        bench.set(r.uncertainty.1, ForcePerSpeed::from_si(uncertainty(1)));
        bench.set(r.uncertainty.2, ForcePerSpeedSquared::from_si(uncertainty(2)));
        for (slot, pair) in r.correlation.into_iter().zip(PAIRS) {
            bench.set(slot, Ratio::from_si(found.correlation(pair)));
        }
        let weight: Force = mass * Acceleration::from_si(9.806_65);
        bench.set(r.rolling_coefficient, f0 / weight);
        bench.set(r.residual, Velocity::from_si(found.residual()));
        if let Some((density, area)) = self.air_density {
            let area_of: Area = 2.0 * f2 / bench.get(density);
            bench.set(area, area_of);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let r = &self.results;
        if page.get(r.load.0).is_none() {
            return;
        }
        let rest = match self.air_density {
            Some((_, area)) => format!(
                ": rolling coefficient {}, drag area {}.",
                page.shown(r.rolling_coefficient),
                page.shown(area)
            ),
            None => format!(": rolling coefficient {}.", page.shown(r.rolling_coefficient)),
        };
        let (f0, f1, f2) = (page.shown(r.load.0), page.shown(r.load.1), page.shown(r.load.2));
        page.sentence(format!("Road load {f0} + {f1} × v + {f2} × v²"), rest);
        page.headline(r.rolling_coefficient);
        page.headline(r.residual);
        if let Some(found) = &self.found {
            self.check(found, page);
            self.notes(found, page);
            self.draw(found, page);
        }
    }
}

impl CoastDown {
    fn check(&self, found: &Found, page: &mut Page<'_>) {
        const MESH: f64 = 1e-7;
        let r = &self.results;
        for slot in [r.decay.0.index(), r.decay.1.index(), r.decay.2.index()] {
            page.checked(Slot::<f64>::new(slot), found.half_mesh, MESH);
        }
        // The factor put back must give the covariance.
        let mut off = 0.0_f64;
        for row in 0..3 {
            for column in 0..3 {
                let back: f64 = (0..3).map(|at| found.factor[row][at] * found.factor[column][at]).sum();
                let scale = found.uncertainty(row) * found.uncertainty(column);
                if scale > 0.0 {
                    off = off.max((back - found.decay.covariance[row][column]).abs() / scale);
                }
            }
        }
        let correlation = r.correlation.map(Slot::index);
        let spread = [r.uncertainty.0.index(), r.uncertainty.1.index(), r.uncertainty.2.index()];
        for slot in spread.into_iter().chain(correlation) {
            page.checked(Slot::<f64>::new(slot), off, MESH);
        }
        let squares: f64 = self.fitted(found, 2).map(|(run, speeds)| squares(run, &speeds)).sum();
        let residual = (squares / found.decay.samples as f64).sqrt();
        let top = self.runs.iter().map(|run| run.run.samples[0].1).fold(0.0, f64::max);
        page.checked(r.residual, (residual - found.residual()) / top, MESH);
    }

    /// Each run with its speeds as the coefficients of its own direction have them.
    fn fitted<'s>(&'s self, found: &'s Found, per: usize) -> impl Iterator<Item = (&'s Measured, Vec<f64>)> {
        self.runs.iter().map(move |run| {
            let own = found.directions[usize::from(!run.outward)].unwrap_or(found.decay.coefficients);
            (run, run.run.fitted(&own, per))
        })
    }

    fn notes(&self, found: &Found, page: &mut Page<'_>) {
        let samples = found.decay.samples;
        let runs = self.runs.len();
        page.note(format!(
            "Fitted to {samples} samples of {runs} run{}; measured and fitted speed differ by {} (root mean square).",
            if runs == 1 { "" } else { "s" },
            page.shown(self.results.residual),
        ));
        if let [Some(out), Some(back)] = found.directions
            && let Some(mass) = page.get(self.results.effective_mass)
        {
            let half = mass.value * (out[0] - back[0]) / 2.0;
            page.note(format!(
                "The two directions differ by twice {} in their constant part: slope and wind, which their mean takes out.",
                page.shown_as(self.results.load.0, half.abs())
            ));
        }
        if found.decay.coefficients[0] < 0.0 || found.decay.coefficients[2] < 0.0 {
            page.note("A coefficient comes out negative: the runs don't tell rolling and air apart. Let the vehicle roll from a higher speed to a lower one.");
        }
    }

    fn draw(&self, found: &Found, page: &mut Page<'_>) {
        let unit = page.unit_of(self.results.residual);
        let mut series = Vec::new();
        for (run, speeds) in self.fitted(found, 1).take(4) {
            let way = if run.outward { "out" } else { "back" };
            let line = |speed: &dyn Fn(usize) -> f64| -> Vec<(f64, f64)> {
                let samples = run.run.samples.iter().enumerate();
                samples.map(|(at, sample)| (sample.0, unit.value_of(speed(at)))).collect()
            };
            series.push(Series {
                label: format!("{}, {way}", run.title),
                points: line(&|at| run.run.samples[at].1),
                dashed: false,
            });
            let fitted = format!("fitted, {way}");
            series.push(Series { label: fitted, points: line(&|at| speeds[at]), dashed: true });
        }
        page.said.chart = Some(Chart::Lines(LinesChart {
            caption: "Measured and fitted speed.".to_owned(),
            x: Axis { label: "time".to_owned(), unit: "s".to_owned() },
            y: Axis { label: "speed".to_owned(), unit: unit.symbol.to_owned() },
            series,
            ..LinesChart::default()
        }));
    }
}

fn squares(run: &Measured, speeds: &[f64]) -> f64 {
    run.run.samples.iter().zip(speeds).map(|(sample, speed)| (sample.1 - speed).powi(2)).sum()
}
