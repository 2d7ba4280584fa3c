//! What makes a run no coast-down, and what no two runs of one vehicle have.

use super::Measured;
use super::fit::Decay;
use crate::words::{Words, words};

/// What is wrong, and what to do.
pub(super) type Fault = (Words, Words);

/// In s: no vehicle rolls for longer.
const HOUR: f64 = 3600.0;

/// So much of the highest speed is more than a sample scatters by.
const GAIN: f64 = 0.03;

/// The part of a run by which its beginning and its end are judged.
const END: f64 = 0.1;

/// Of a coast-down the speed falls fastest at first: so much less there, or so much more at its end, is another motion.
const LET_GO_LATE: f64 = 0.5;
const BRAKED: f64 = 2.0;

/// So many samples that are alike are one run that was copied.
const ALIKE: usize = 5;

/// No wind and no slope makes the part with the square of one run so much greater than that of another.
const APART: f64 = 1.5;
/// So many standard uncertainties of their difference.
const SURE: f64 = 6.0;

/// Slopes under this say nothing of a direction.
const LEVEL: f64 = 0.001;

/// What is wrong with a run, or with two of them, before any is fitted.
pub(super) fn before_the_fit(runs: &[Measured]) -> Option<Fault> {
    runs.iter().find_map(of_run).or_else(|| copied(runs)).or_else(|| one_slope(runs))
}

fn of_run(run: &Measured) -> Option<Fault> {
    let (first, last) = match run.run.samples.as_slice() {
        [first, .., last] if last.1 < first.1 => (*first, *last),
        _ => {
            return Some((
                words!("in the run `{}` the vehicle does not slow down", run.title),
                "begin a run where the drive is let go, and end it at walking pace".into(),
            ));
        }
    };
    if last.0 > HOUR {
        let message = words!("the run `{}` lasts longer than an hour", run.title);
        return Some((message, "look at the unit of its times".into()));
    }
    let mut least = first.1;
    for (time, speed) in &run.run.samples {
        if speed - least > GAIN * first.1 {
            let message = words!("at {} s of the run `{}` the vehicle has become faster", *time, run.title);
            let help = "look at the sample; a road that dips is no road for a coast-down";
            return Some((message, help.into()));
        }
        least = least.min(*speed);
    }
    let usual = END * (first.1 - last.1);
    if first.1 - run.speed_at(END * last.0) < LET_GO_LATE * usual {
        let message = words!("at first the vehicle hardly slows down in the run `{}`", run.title);
        return Some((message, "begin the run where the drive is let go".into()));
    }
    if run.speed_at((1.0 - END) * last.0) - last.1 > BRAKED * usual {
        let message = words!("at its end the vehicle slows down fastest in the run `{}`", run.title);
        return Some((message, "end the run before the brakes, or a gear, slow it".into()));
    }
    None
}

/// Two runs with the same samples from their beginning on.
fn copied(runs: &[Measured]) -> Option<Fault> {
    let same = |a: &(f64, f64), b: &(f64, f64)| (a.0 - b.0).abs() < 1e-6 && (a.1 - b.1).abs() < 1e-9;
    let alike = |one: &Measured, other: &Measured| {
        let common = one.run.samples.len().min(other.run.samples.len());
        common >= ALIKE && one.run.samples.iter().zip(&other.run.samples).all(|(a, b)| same(a, b))
    };
    runs.iter().enumerate().find_map(|(at, one)| {
        let other = runs[at + 1..].iter().find(|other| alike(one, other))?;
        let message = words!("the runs `{}` and `{}` have the same samples", one.title, other.title);
        Some((message, "one of them is a copy of the other: give each run its own file".into()))
    })
}

/// Heights that fall, or rise, both ways.
fn one_slope(runs: &[Measured]) -> Option<Fault> {
    let of = |outward: bool| {
        let slopes = runs.iter().filter(move |run| run.outward == outward).filter_map(|run| run.slope);
        let slopes: Vec<f64> = slopes.collect();
        (!slopes.is_empty()).then(|| slopes.iter().sum::<f64>() / slopes.len() as f64)
    };
    let (out, back) = (of(true)?, of(false)?);
    let word = match (out, back) {
        _ if out.min(back) > LEVEL => "rise",
        _ if out.max(back) < -LEVEL => "fall",
        _ => return None,
    };
    let message = words!("the heights of the runs out and of those back {}", word);
    Some((message, "look at the directions: on one road what falls one way rises the other".into()))
}

/// Runs, each fitted by itself, whose parts with the square are no one vehicle's.
pub(super) fn of_the_fits(runs: &[Measured], alone: &[Decay]) -> Option<Fault> {
    let by_square = |a: &&(&Measured, &Decay), b: &&(&Measured, &Decay)| {
        a.1.coefficients[2].total_cmp(&b.1.coefficients[2])
    };
    let each: Vec<(&Measured, &Decay)> = runs.iter().zip(alone).collect();
    let (least, most) = (each.iter().min_by(by_square)?, each.iter().max_by(by_square)?);
    let (low, high) = (least.1.coefficients[2], most.1.coefficients[2]);
    let scatter = (least.1.covariance[2][2] + most.1.covariance[2][2]).sqrt();
    (high > APART * low && high - low > SURE * scatter).then(|| {
        let message = words!(
            "the part with the square of the speed is {} times as large in the run `{}` as in `{}`",
            format!("{:.1}", high / low),
            most.0.title,
            least.0.title
        );
        (message, "no wind or slope does that: look at the units of their speeds and times".into())
    })
}

impl Measured {
    /// Linear between the samples.
    fn speed_at(&self, time: f64) -> f64 {
        let samples = &self.run.samples;
        let after = samples.iter().position(|sample| sample.0 >= time).unwrap_or(samples.len() - 1).max(1);
        let (a, b) = (samples[after - 1], samples[after]);
        a.1 + (b.1 - a.1) * (time - a.0) / (b.0 - a.0)
    }
}
