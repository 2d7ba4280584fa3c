//! Road-load coefficients from the vehicle itself: it rolls to a stand in both directions, and the motion is fitted.

mod faults;
mod fields;
mod fit;
mod page;
mod spread;

use std::sync::Arc;

use self::faults::{before_the_fit, of_the_fits};
use self::fields::{
    CORRELATIONS, DECAY_0, DECAY_1, DECAY_2, DRAG_AREA, EFFECTIVE_MASS, EXAMPLE, F0, F0_UNCERTAINTY, F1,
    F1_UNCERTAINTY, F2, F2_UNCERTAINTY, FIELDS, RESIDUAL, ROLLING_COEFFICIENT,
};
use self::fit::{Decay, Run, averaged, fit, of_direction};
use self::spread::{between, sum};
use crate::blocks::shared::gravity::GRAVITY;
use crate::blocks::shared::trace::read_trace;
use crate::findings::{Code, Severity};
use crate::model::{Bench, Block, Example, Form, Kind, Leaf, Page, Slot};
use crate::quantities::si::{
    Acceleration, Area, Curvature, Force, ForcePerSpeed, ForcePerSpeedSquared, Frequency, Mass, MassDensity,
    Measure, Ratio, Velocity,
};
use crate::quantities::{Basis, Trace, cholesky, read_literal};
use crate::words::words;

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
    rows: &[
        &DECAY_0.row,
        &DECAY_1.row,
        &DECAY_2.row,
        &EFFECTIVE_MASS.row,
        &F0.row,
        &F1.row,
        &F2.row,
        &F0_UNCERTAINTY.row,
        &F1_UNCERTAINTY.row,
        &F2_UNCERTAINTY.row,
        &CORRELATIONS[0].row,
        &CORRELATIONS[1].row,
        &CORRELATIONS[2].row,
        &ROLLING_COEFFICIENT.row,
        &DRAG_AREA.row,
        &RESIDUAL.row,
    ],
    takes: &[],
    requires: &[],
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
        "standard uncertainties and correlation from the covariance of the least squares: JCGM 100:2008, H.3; of repeated runs from their scatter, wider for few of them by Student's t, G.3",
    ],
    limits: &[
        "the standard uncertainties are those of the samples, widened by the autocorrelation of what is left of them, and of what runs one after the other show; one run each way shows nothing of the latter",
        "where all runs go one way, a slope of up to 0.5 % and a wind of up to 1 m/s that nobody notes are in the ±; where one run each way was not repeated, a change of the wind of up to 1 m/s between them (common practice, no source)",
        "a wind that does not change between a run out and the run back cancels but for its own drag: a steady wind leaves its own drag in f0; temperature and tyre pressure are those of the runs",
        "with the motor geared to the wheels its drag is part of the result",
    ],
    codes: &[&ONE_DIRECTION, &NO_FIT],
    read,
};

struct CoastDown {
    mass: Slot<Mass>,
    rotating_share: Slot<Ratio>,
    air_density: Option<Slot<MassDensity>>,
    runs: Vec<Measured>,
    found: Option<Found>,
    scatter: [Slot<f64>; 3],
    results: Results,
}

struct Measured {
    title: String,
    run: Run,
    outward: bool,
    /// Of the road, where its heights are known.
    slope: Option<f64>,
}

/// The fit, which depends on the runs alone.
struct Found {
    decay: Decay,
    /// Of the covariance: three independent scatters make the estimate's.
    factor: Vec<Vec<f64>>,
    /// The coefficients of each direction: out, back.
    directions: [Option<[f64; 3]>; 2],
    /// How far the same fit on half the mesh is off.
    half_mesh: f64,
    /// Whether runs were repeated, so that their scatter is in the covariance.
    repeated: bool,
}

struct Results {
    decay: (Slot<Acceleration>, Slot<Frequency>, Slot<Curvature>),
    effective_mass: Slot<Mass>,
    load: (Slot<Force>, Slot<ForcePerSpeed>, Slot<ForcePerSpeedSquared>),
    uncertainty: (Slot<Force>, Slot<ForcePerSpeed>, Slot<ForcePerSpeedSquared>),
    /// Of f0 and f1, f0 and f2, f1 and f2.
    correlation: [Slot<Ratio>; 3],
    rolling_coefficient: Slot<Ratio>,
    drag_area: Slot<Area>,
    residual: Slot<Velocity>,
}

/// What a road may climb or fall without anyone seeing it, where runs go one way only: common practice, no source.
const UNSEEN_SLOPE: f64 = 0.005;
/// What may blow along it without anyone noting it, or change between a run out and the run back, in m/s: the same.
const UNSEEN_WIND: f64 = 1.0;
const PAIRS: [(usize, usize); 3] = [(0, 1), (0, 2), (1, 2)];

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let mass = form.required("mass");
    let rotating_share = form.assumed("rotating_share");
    let written = form.list("runs", &["name", "file"], |form, _| {
        form.text("name");
        let trace = read_trace(form);
        let direction = form.choice("direction", &["out", "back"]);
        Some((trace?, direction? == "out"))
    });
    let whole = !written.is_empty() && written.iter().all(|entry| entry.read.is_some());
    let runs: Vec<Measured> = written
        .into_iter()
        .filter_map(|entry| {
            let (trace, outward): (Arc<Trace>, bool) = entry.read?;
            let slope = slope_of(&trace);
            Some(Measured { title: entry.title, run: Run::new(&trace), outward, slope })
        })
        .collect();
    let air_density = form.optional("air_density");
    let found = if whole { find(form, &runs) } else { None };
    let scatter = ["scatter_1", "scatter_2", "scatter_3"].map(|name| form.put(name, form.place, one_sigma()));
    let results = declare(form, scatter, found.is_some());
    Box::new(CoastDown { mass, rotating_share, air_density, runs, found, scatter, results })
}

/// A leaf of 0 with a standard uncertainty of 1, from measured data. Several of them, each times a factor, make
/// estimates that scatter together.
fn one_sigma() -> Leaf {
    let zero = read_literal("0 ± 1").expect("a value with a tolerance");
    Leaf { basis: Some(Basis::Measured), ..Leaf::new(zero).scattered() }
}

fn declare(form: &mut Form<'_, '_>, scatter: [Slot<f64>; 3], found: bool) -> Results {
    let mut out = form.outcomes();
    let uses = scatter.map(Slot::index);
    let decay = if found {
        (out.procedure(&DECAY_0, &uses), out.procedure(&DECAY_1, &uses), out.procedure(&DECAY_2, &uses))
    } else {
        (out.unknown(&DECAY_0), out.unknown(&DECAY_1), out.unknown(&DECAY_2))
    };
    let effective_mass = out.result(&EFFECTIVE_MASS);
    let fit = [decay.0.index()];
    let spread = [effective_mass.index(), decay.0.index()];
    Results {
        decay,
        effective_mass,
        load: (out.result(&F0), out.result(&F1), out.result(&F2)),
        uncertainty: (
            out.procedure(&F0_UNCERTAINTY, &spread),
            out.procedure(&F1_UNCERTAINTY, &spread),
            out.procedure(&F2_UNCERTAINTY, &spread),
        ),
        correlation: CORRELATIONS.each_ref().map(|row| out.procedure(row, &fit)),
        rolling_coefficient: out.result(&ROLLING_COEFFICIENT),
        drag_area: out.result(&DRAG_AREA),
        residual: out.procedure(&RESIDUAL, &fit),
    }
}

/// Fits each direction by itself and averages them. The findings are made here.
fn find(form: &mut Form<'_, '_>, runs: &[Measured]) -> Option<Found> {
    let place = form.place;
    if let Some((message, help)) = before_the_fit(runs) {
        form.report(&NO_FIT, place, message, help);
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
        let Some(decay) = of_direction(&runs, 1) else {
            let message = words!("the runs `{}` don't tell the three coefficients apart", name);
            let help = "let the vehicle roll from a high speed to walking pace, with ten samples at least";
            form.report(&NO_FIT, place, message, help);
            return None;
        };
        directions[at] = Some(decay.coefficients);
        fits.push((decay, of_direction(&runs, 2)?));
    }
    if let Some((run, at)) = stray(runs, &directions) {
        let message = words!("the sample at {} s of the run `{}` is far off any coast-down", at, run.title);
        form.report(&NO_FIT, place, message, "look at the sample, or cut the run before it");
        return None;
    }
    let each: Vec<Option<Decay>> = runs.iter().map(|run| fit(&[&run.run], 1)).collect();
    let alone = |outward: Option<bool>| -> Vec<Decay> {
        let of = runs.iter().zip(&each).filter(|(run, _)| outward.is_none_or(|way| run.outward == way));
        of.filter_map(|(_, fit)| *fit).collect()
    };
    let all = alone(None);
    if let Some((message, help)) = of_the_fits(runs, &all).filter(|_| all.len() == runs.len()) {
        form.report(&NO_FIT, place, message, help);
        return None;
    }
    let shown = between(&alone(Some(true)), &alone(Some(false)));
    let (mut decay, again) = match fits.as_slice() {
        [out, back] => (averaged(&out.0, &back.0), averaged(&out.1, &back.1)),
        [one] => *one,
        _ => return None,
    };
    // Half of a change is left in the mean of both directions, and where runs are repeated it shows.
    let unseen_wind = match (fits.len(), &shown) {
        (1, _) => {
            let message = "all runs go one way: a slope or a wind is taken for resistance";
            form.report(&ONE_DIRECTION, place, message, "let it roll the other way on the same road too");
            decay.covariance[0][0] += (UNSEEN_SLOPE * GRAVITY).powi(2) / 3.0;
            UNSEEN_WIND
        }
        (_, None) => UNSEEN_WIND / 2.0,
        (_, Some(_)) => 0.0,
    };
    decay.covariance[1][1] += (2.0 * decay.coefficients[2] * unseen_wind).powi(2) / 3.0;
    let decay = match &shown {
        Some(shown) => Decay { covariance: sum(&decay.covariance, shown), ..decay },
        None => decay,
    };
    let top = runs.iter().map(|run| run.run.samples[0].1).fold(0.0, f64::max);
    let half_mesh = decay.differs_from(&again, top);
    let repeated = shown.is_some();
    Some(Found { decay, factor: cholesky(&decay.covariance), directions, half_mesh, repeated })
}

/// What the road climbs from the first sample to the last, over its length.
fn slope_of(trace: &Trace) -> Option<f64> {
    let (heights, samples) = (trace.heights()?, trace.samples());
    let way = |pair: &[(f64, f64)]| (pair[1].0 - pair[0].0) * f64::midpoint(pair[0].1, pair[1].1);
    let distance: f64 = samples.windows(2).map(way).sum();
    Some((heights.last()? - heights.first()?) / distance).filter(|slope| slope.is_finite())
}

/// The first run with a sample that its fit misses by a tenth of the highest speed, and its time (s): brakes, a gear, a
/// slip of the pen. No fit of such runs says anything, and their curves are beyond what its mesh was made for.
fn stray<'r>(runs: &'r [Measured], directions: &[Option<[f64; 3]>; 2]) -> Option<(&'r Measured, f64)> {
    const FAR: f64 = 0.1;
    let top = runs.iter().map(|run| run.run.samples[0].1).fold(0.0, f64::max);
    runs.iter().find_map(|run| {
        let fitted = run.run.fitted(directions[usize::from(!run.outward)].as_ref()?, 1);
        let off = |(sample, fitted): (&(f64, f64), f64)| (sample.0, (sample.1 - fitted).abs());
        let far = |(_, off): &(f64, f64)| off.is_nan() || *off > FAR * top;
        let offs: Vec<(f64, f64)> = run.run.samples.iter().zip(fitted).map(off).filter(far).collect();
        let worst = offs.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        Some((run, worst.0))
    })
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
        let weight: Force = mass * Acceleration::from_si(GRAVITY);
        bench.set(r.rolling_coefficient, f0 / weight);
        if f0.si() <= 0.0 {
            bench.not_there(r.rolling_coefficient);
        }
        bench.set(r.residual, Velocity::from_si(found.residual()));
        if let Some(density) = self.air_density {
            let area: Area = 2.0 * f2 / bench.get(density);
            bench.set(r.drag_area, area);
            if area.si() <= 0.0 {
                bench.not_there(r.drag_area);
            }
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        self.tell(page);
    }
}
