//! Fits the motion of a vehicle that rolls to a stand: dv/dt = −(a + b v + c v²), integrated, not differentiated.

use crate::quantities::Trace;

/// a (m/s²), b (1/s), c (1/m) of the deceleration, with the covariance of their estimates.
#[derive(Clone, Copy, Debug)]
pub(super) struct Decay {
    pub coefficients: [f64; 3],
    pub covariance: [[f64; 3]; 3],
    /// Sum of the squared differences of measured and fitted speed (m²/s²), their number, and what is left of it when
    /// each fitted value has taken its own.
    pub squares: f64,
    pub samples: usize,
    pub freedom: usize,
}

/// A run: time since its start (s) and speed (m/s), the standstill at its end left out.
pub(super) struct Run {
    pub samples: Vec<(f64, f64)>,
}

/// The longest step of the integration, in s. A coast-down's time constant is a minute or so: the error of a step is
/// far under the last digit of any measurement.
const STEP: f64 = 0.5;
/// No speed is known better than to this share of the highest one, however smooth the samples are; it stands in the
/// method that the reader sees.
const RESOLUTION: f64 = 1e-5;
const MOST_ITERATIONS: usize = 40;

/// Student's t at 95 % over that of infinitely many, by degrees of freedom from 1 on (JCGM 100:2008, table G.2).
const STUDENT: [f64; 10] = [6.48, 2.20, 1.62, 1.42, 1.31, 1.25, 1.21, 1.18, 1.15, 1.14];

/// By how much few degrees of freedom widen what they show.
pub(super) fn few(freedom: usize) -> f64 {
    let at = freedom.checked_sub(1).and_then(|at| STUDENT.get(at));
    at.copied().unwrap_or(1.0 + 1.3 / freedom as f64)
}

/// Speed, and how it changes with a, b, c and with the speed at the start.
type State = [f64; 5];

impl Run {
    pub(super) fn new(trace: &Trace) -> Run {
        let start = trace.samples()[0].0;
        let moving = trace.samples().iter().take_while(|(_, speed)| *speed > 0.0);
        Run { samples: moving.map(|(time, speed)| (time - start, *speed)).collect() }
    }

    /// The state at each sample, by the classical Runge–Kutta rule with `per` times the usual number of steps.
    fn integrate(
        &self,
        coefficients: &[f64; 3],
        start: f64,
        per: usize,
        mut each: impl FnMut(usize, &State),
    ) {
        let mut state: State = [start, 0.0, 0.0, 0.0, 1.0];
        each(0, &state);
        for (at, pair) in self.samples.windows(2).enumerate() {
            let lasts = pair[1].0 - pair[0].0;
            let steps = ((lasts / STEP).ceil().clamp(1.0, 10_000.0) as usize) * per;
            let step = lasts / steps as f64;
            for _ in 0..steps {
                let first = slope(coefficients, &state);
                let second = slope(coefficients, &moved(&state, &first, step / 2.0));
                let third = slope(coefficients, &moved(&state, &second, step / 2.0));
                let fourth = slope(coefficients, &moved(&state, &third, step));
                for at in 0..state.len() {
                    state[at] += step / 6.0 * (first[at] + 2.0 * (second[at] + third[at]) + fourth[at]);
                }
            }
            each(at + 1, &state);
        }
    }

    /// The fitted speed at each sample, from the best speed at the start.
    pub(super) fn fitted(&self, coefficients: &[f64; 3], per: usize) -> Vec<f64> {
        let mut start = self.samples[0].1;
        let mut speeds = vec![0.0; self.samples.len()];
        for _ in 0..4 {
            let (mut up, mut down) = (0.0, 0.0);
            self.integrate(coefficients, start, per, |at, state| {
                speeds[at] = state[0];
                up += state[4] * (self.samples[at].1 - state[0]);
                down += state[4] * state[4];
            });
            start += up / down;
        }
        speeds
    }
}

fn slope(c: &[f64; 3], state: &State) -> State {
    let speed = state[0];
    let along = c[1] + 2.0 * c[2] * speed;
    [
        -(c[0] + speed * (c[1] + c[2] * speed)),
        -(1.0 + along * state[1]),
        -(speed + along * state[2]),
        -(speed * speed + along * state[3]),
        -along * state[4],
    ]
}

fn moved(state: &State, by: &State, step: f64) -> State {
    let mut moved = *state;
    for (value, slope) in moved.iter_mut().zip(by) {
        *value += step * slope;
    }
    moved
}

/// Least squares over runs of one direction, each with a speed at the start of its own, by Gauss and Newton from
/// the integral equation. `None` where the runs don't tell the three coefficients apart.
///
/// `per` divides the steps of the integration; twice as many are the check of one.
pub(super) fn fit(runs: &[&Run], per: usize) -> Option<Decay> {
    let samples: usize = runs.iter().map(|run| run.samples.len()).sum();
    let freedom = samples.checked_sub(3 + runs.len()).filter(|left| *left > 0)?;
    let mut coefficients = first_guess(runs)?;
    let mut starts: Vec<f64> = runs.iter().map(|run| run.samples[0].1).collect();
    let mut normal = Normal::default();
    let mut before = f64::INFINITY;
    for _ in 0..MOST_ITERATIONS {
        normal = Normal::of(runs, &coefficients, &starts, per);
        let step = solve(&normal.matrix, &normal.right)?;
        for (run, start) in starts.iter_mut().enumerate() {
            *start += normal.start_step(run, &step);
        }
        let mut largest = 0.0_f64;
        for at in 0..3 {
            coefficients[at] += step[at];
            let scale = (normal.matrix[at][at]).sqrt();
            largest = largest.max((step[at] * scale).abs());
        }
        if !largest.is_finite() {
            return None;
        }
        // Converged quadratically; a step that no longer shrinks is rounding.
        if largest < 1e-9 && largest >= before / 2.0 || largest < 1e-14 {
            break;
        }
        before = largest;
    }
    let squares = normal.squares;
    let top = runs.iter().map(|run| run.samples[0].1).fold(0.0, f64::max);
    let (seen, least) = (squares / freedom as f64, (RESOLUTION * top).powi(2));
    let residuals = |run: &&Run| -> Vec<f64> {
        let fitted = run.fitted(&coefficients, per);
        run.samples.iter().zip(fitted).map(|(sample, fitted)| sample.1 - fitted).collect()
    };
    let memory = lasting(&runs.iter().map(residuals).collect::<Vec<_>>());
    // Samples that err together are worth fewer, of which the fitted values have taken their own.
    let left = (samples as f64 / memory - (samples - freedom) as f64).max(1.0);
    let variance = if seen > least { squares / left * few(freedom).powi(2) } else { least };
    let mut covariance = inverse(&normal.matrix)?;
    covariance.iter_mut().flatten().for_each(|value| *value *= variance);
    let sound = coefficients.iter().chain(covariance.iter().flatten()).all(|value| value.is_finite());
    sound.then_some(Decay { coefficients, covariance, squares, samples, freedom })
}

/// The estimate of one direction: the mean of its runs, each fitted by itself. Taken together, runs that differ would
/// tell their difference as a course over speed. Where a run is too short to stand alone all are fitted together.
pub(super) fn of_direction(runs: &[&Run], per: usize) -> Option<Decay> {
    let alone: Option<Vec<Decay>> = runs.iter().map(|run| fit(&[run], per)).collect();
    let Some(alone) = alone.filter(|alone| alone.len() > 1) else { return fit(runs, per) };
    let count = alone.len() as f64;
    let mean = |of: &dyn Fn(&Decay) -> f64| alone.iter().map(of).sum::<f64>() / count;
    let coefficients = std::array::from_fn(|at| mean(&|run| run.coefficients[at]));
    let covariance = std::array::from_fn(|row| {
        std::array::from_fn(|column| mean(&|run| run.covariance[row][column]) / count)
    });
    let squares = |run: &&Run| -> f64 {
        let fitted = run.fitted(&coefficients, per);
        run.samples.iter().zip(fitted).map(|(sample, fitted)| (sample.1 - fitted).powi(2)).sum()
    };
    Some(Decay {
        coefficients,
        covariance,
        squares: runs.iter().map(squares).sum(),
        samples: alone.iter().map(|run| run.samples).sum(),
        freedom: alone.iter().map(|run| run.freedom).sum(),
    })
}

impl Decay {
    /// The deceleration at a speed (m/s), in m/s².
    fn at(&self, speed: f64) -> f64 {
        let [a, b, c] = self.coefficients;
        a + speed * (b + c * speed)
    }

    /// How far another estimate is off, as the largest share of the deceleration up to a speed.
    pub(super) fn differs_from(&self, other: &Decay, speed: f64) -> f64 {
        let off = |at: f64| (self.at(at) - other.at(at)).abs();
        let most = (0..=10).map(|tenth| off(speed * f64::from(tenth) / 10.0)).fold(0.0, f64::max);
        most / self.at(speed).abs().max(self.at(0.0).abs())
    }
}

/// Of how many samples one alone is worth, where errors last longer than a sample: 1 + twice the autocorrelations of the
/// residuals, as far as they stand out from chance.
fn lasting(residuals: &[Vec<f64>]) -> f64 {
    let count: usize = residuals.iter().map(Vec::len).sum();
    let along = |lag: usize| -> f64 {
        let products =
            |run: &Vec<f64>| -> f64 { run.iter().zip(run.iter().skip(lag)).map(|(a, b)| a * b).sum() };
        residuals.iter().map(products).sum()
    };
    let chance = 2.0 / (count as f64).sqrt();
    let longest = residuals.iter().map(Vec::len).max().unwrap_or(0) / 4;
    let correlations: Vec<f64> =
        (1..=longest).map(|lag| along(lag) / along(0)).take_while(|it| *it > chance).collect();
    // What is left of a fit shows too little of the longest ones: they are no shorter than one that fades as the first does.
    let first = correlations.first().copied().unwrap_or(0.0);
    (1.0 + 2.0 * correlations.iter().sum::<f64>()).max((1.0 + first) / (1.0 - first))
}

/// Both directions averaged: what a slope or a steady wind adds in one it takes away in the other.
pub(super) fn averaged(out: &Decay, back: &Decay) -> Decay {
    let mut decay = *out;
    for at in 0..3 {
        decay.coefficients[at] = (out.coefficients[at] + back.coefficients[at]) / 2.0;
        for other in 0..3 {
            decay.covariance[at][other] = (out.covariance[at][other] + back.covariance[at][other]) / 4.0;
        }
    }
    decay.squares = out.squares + back.squares;
    decay.samples = out.samples + back.samples;
    decay.freedom = out.freedom + back.freedom;
    decay
}

/// The wind along the road that two directions tell, in m/s, positive against the way out: in their parts with the
/// speed it stands once with each sign. No number where there is no part with the square.
pub(super) fn wind_of(out: &[f64; 3], back: &[f64; 3]) -> f64 {
    (out[1] - back[1]) / (2.0 * (out[2] + back[2]))
}

/// From v(0) − v(t) = a t + b ∫v dt + c ∫v² dt, linear in a, b, c.
fn first_guess(runs: &[&Run]) -> Option<[f64; 3]> {
    let (mut matrix, mut right) = ([[0.0; 3]; 3], [0.0; 3]);
    for run in runs {
        let (mut first, mut second) = (0.0, 0.0);
        for pair in run.samples.windows(2) {
            let (lasts, v, w) = (pair[1].0 - pair[0].0, pair[0].1, pair[1].1);
            first += lasts * (v + w) / 2.0;
            second += lasts * (v * v + v * w + w * w) / 3.0;
            let row = [pair[1].0, first, second];
            let fall = run.samples[0].1 - w;
            for at in 0..3 {
                right[at] += row[at] * fall;
                for other in 0..3 {
                    matrix[at][other] += row[at] * row[other];
                }
            }
        }
    }
    solve(&matrix, &right)
}

/// The normal equations of a, b, c, the speeds at the start already taken out of them.
#[derive(Default)]
struct Normal {
    matrix: [[f64; 3]; 3],
    right: [f64; 3],
    squares: f64,
    /// For each run: how its start goes with the three, its own weight, and its own right side.
    starts: Vec<([f64; 3], f64, f64)>,
}

impl Normal {
    fn of(runs: &[&Run], coefficients: &[f64; 3], starts: &[f64], per: usize) -> Normal {
        let mut normal = Normal::default();
        for (run, start) in runs.iter().zip(starts) {
            let (mut with, mut own, mut side) = ([0.0; 3], 0.0, 0.0);
            run.integrate(coefficients, *start, per, |at, state| {
                let residual = run.samples[at].1 - state[0];
                normal.squares += residual * residual;
                own += state[4] * state[4];
                side += state[4] * residual;
                for row in 0..3 {
                    with[row] += state[4] * state[row + 1];
                    normal.right[row] += state[row + 1] * residual;
                    for column in 0..3 {
                        normal.matrix[row][column] += state[row + 1] * state[column + 1];
                    }
                }
            });
            for row in 0..3 {
                normal.right[row] -= with[row] * side / own;
                for column in 0..3 {
                    normal.matrix[row][column] -= with[row] * with[column] / own;
                }
            }
            normal.starts.push((with, own, side));
        }
        normal
    }

    fn start_step(&self, run: usize, step: &[f64; 3]) -> f64 {
        let (with, own, side) = &self.starts[run];
        (side - with.iter().zip(step).map(|(with, step)| with * step).sum::<f64>()) / own
    }
}

/// Solves a symmetric system of three, scaled by its diagonal. `None` where it is singular to rounding.
fn solve(matrix: &[[f64; 3]; 3], right: &[f64; 3]) -> Option<[f64; 3]> {
    let inverse = inverse(matrix)?;
    let mut solution = [0.0; 3];
    for row in 0..3 {
        solution[row] = (0..3).map(|at| inverse[row][at] * right[at]).sum();
    }
    Some(solution)
}

fn inverse(matrix: &[[f64; 3]; 3]) -> Option<[[f64; 3]; 3]> {
    let scale: [f64; 3] = std::array::from_fn(|at| 1.0 / matrix[at][at].sqrt());
    if scale.iter().any(|it| !it.is_finite()) {
        return None;
    }
    let m = |row: usize, column: usize| matrix[row][column] * scale[row] * scale[column];
    let minor = |row: usize, column: usize| {
        let (a, b) = ((row + 1) % 3, (row + 2) % 3);
        let (c, d) = ((column + 1) % 3, (column + 2) % 3);
        m(a, c) * m(b, d) - m(a, d) * m(b, c)
    };
    let determinant: f64 = (0..3).map(|at| m(0, at) * minor(0, at)).sum();
    if determinant.is_nan() || determinant <= 1e-13 {
        return None;
    }
    let mut inverse = [[0.0; 3]; 3];
    for row in 0..3 {
        for column in 0..3 {
            inverse[row][column] = minor(column, row) / determinant * scale[row] * scale[column];
        }
    }
    Some(inverse)
}

#[cfg(test)]
mod tests {
    use super::{Decay, Run, averaged, fit, lasting, wind_of};
    use crate::quantities::Trace;
    use crate::quantities::cholesky;

    const MASS: f64 = 1248.0;

    /// A decay with A (N) and C (N/(m/s)²) in closed form: v = √(A/C) tan(atan(v0 √(C/A)) − t √(A C)/m).
    fn speed(a: f64, c: f64, start: f64, time: f64) -> f64 {
        (a / c).sqrt() * ((start * (c / a).sqrt()).atan() - time * (a * c).sqrt() / MASS).tan()
    }

    fn run(step: f64, off: impl FnMut() -> f64) -> Run {
        run_with(180.0, step, off)
    }

    fn run_with(a: f64, step: f64, mut off: impl FnMut() -> f64) -> Run {
        let samples = (0..).map(|at| f64::from(at) * step).map(|time| (time, speed(a, 0.45, 30.0, time)));
        let samples = samples.take_while(|(_, speed)| *speed > 2.0);
        let samples: Vec<(f64, f64)> = samples.map(|(time, speed)| (time, speed + off())).collect();
        Run::new(&Trace::new(samples).expect("a trace"))
    }

    #[track_caller]
    fn near(decay: &Decay, a: f64, within: f64) {
        let found = decay.coefficients.map(|it| it * MASS);
        for (found, expected) in found.into_iter().zip([a, 0.0, 0.45]) {
            let scale = if expected == 0.0 { 1.0 } else { expected };
            assert!((found - expected).abs() <= within * scale, "{found}, not {expected}");
        }
    }

    #[test]
    fn a_synthetic_decay_comes_back_exactly() {
        for step in [0.1, 1.0, 7.0] {
            let run = run(step, || 0.0);
            near(&fit(&[&run], 1).expect("a fit"), 180.0, 1e-8);
            near(&fit(&[&run, &run], 1).expect("a fit"), 180.0, 1e-8);
        }
    }

    #[test]
    fn a_slope_cancels_between_the_directions() {
        let (out, back) = (run_with(215.0, 1.0, || 0.0), run_with(145.0, 1.0, || 0.0));
        let (out, back) = (fit(&[&out], 1).expect("a fit"), fit(&[&back], 1).expect("a fit"));
        near(&out, 215.0, 1e-8);
        near(&averaged(&out, &back), 180.0, 1e-8);
    }

    /// A generator of its own, so that the test never changes: two uniform values make one normal one.
    fn noise(seed: &mut u64) -> f64 {
        let mut uniform = || {
            *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((*seed >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
        };
        let (first, second) = (uniform(), uniform());
        (-2.0 * first.ln()).sqrt() * (std::f64::consts::TAU * second).cos()
    }

    #[test]
    fn standard_uncertainties_are_the_scatter_of_repeated_runs() {
        const RUNS: usize = 200;
        let mut seed = 7;
        let fits: Vec<Decay> =
            (0..RUNS).map(|_| fit(&[&run(1.0, || 0.05 * noise(&mut seed))], 1).expect("a fit")).collect();
        let mean = |of: &dyn Fn(&Decay) -> f64| fits.iter().map(of).sum::<f64>() / RUNS as f64;
        for at in 0..3 {
            let centre = mean(&|decay| decay.coefficients[at]);
            let scatter = mean(&|decay| (decay.coefficients[at] - centre).powi(2)).sqrt();
            let told = mean(&|decay| decay.covariance[at][at]).sqrt();
            // 200 runs know a standard deviation to 5 %.
            assert!((scatter / told - 1.0).abs() < 0.15, "{at}: {scatter} and {told}");
        }
        let told =
            mean(&|decay| decay.covariance[0][2] / (decay.covariance[0][0] * decay.covariance[2][2]).sqrt());
        assert!(told > 0.9, "{told}");
    }

    #[test]
    fn errors_that_last_for_seconds_are_told_as_such() {
        const RUNS: usize = 200;
        let mut seed = 5;
        let fits: Vec<Decay> = (0..RUNS)
            .map(|_| {
                let mut gust = 0.0;
                let off = || {
                    gust = 0.8 * gust + 0.03 * noise(&mut seed);
                    gust
                };
                fit(&[&run(1.0, off)], 1).expect("a fit")
            })
            .collect();
        let mean = |of: &dyn Fn(&Decay) -> f64| fits.iter().map(of).sum::<f64>() / RUNS as f64;
        for at in 0..3 {
            let centre = mean(&|decay| decay.coefficients[at]);
            let scatter = mean(&|decay| (decay.coefficients[at] - centre).powi(2)).sqrt();
            let told = mean(&|decay| decay.covariance[at][at]).sqrt();
            // Taken as independent they would be told at a third.
            assert!((0.8..1.25).contains(&(scatter / told)), "{at}: {scatter} and {told}");
        }
    }

    /// A decay with a steady wind along the road, by the rule of the fit with steps of its own.
    fn against_the_wind(wind: f64) -> Run {
        let (mut speed, mut samples) = (30.0, Vec::new());
        let slows = |speed: f64| -(180.0 + 0.45 * (speed + wind) * (speed + wind).abs()) / MASS;
        for step in 0.. {
            if step % 100 == 0 {
                samples.push((f64::from(step) / 100.0, speed));
            }
            let middle = speed + slows(speed) * 0.005;
            speed += slows(middle) * 0.01;
            if speed < 4.0 {
                break;
            }
        }
        Run::new(&Trace::new(samples).expect("a trace"))
    }

    #[test]
    fn a_wind_along_the_road_cancels_to_first_order() {
        let of = |wind: f64| fit(&[&against_the_wind(wind)], 1).expect("a fit");
        let (out, back) = (of(3.0), of(-3.0));
        assert!((out.coefficients[1] * MASS - 2.0 * 0.45 * 3.0).abs() < 0.02, "the wind is there");
        assert!((wind_of(&out.coefficients, &back.coefficients) - 3.0).abs() < 0.01);
        let both = averaged(&out, &back).coefficients.map(|it| it * MASS);
        // The wind's own drag stays in the constant part.
        assert!((both[0] - (180.0 + 0.45 * 9.0)).abs() < 0.1, "{both:?}");
        assert!(both[1].abs() < 0.02, "{both:?}");
        assert!((both[2] - 0.45).abs() < 1e-3, "{both:?}");
    }

    #[test]
    fn three_independent_scatters_make_the_covariance() {
        let mut seed = 11;
        let decay = fit(&[&run(1.0, || 0.05 * noise(&mut seed))], 1).expect("a fit");
        let lower = cholesky(&decay.covariance);
        for row in 0..3 {
            for column in 0..3 {
                let back: f64 = (0..3).map(|at| lower[row][at] * lower[column][at]).sum();
                let scale = (decay.covariance[row][row] * decay.covariance[column][column]).sqrt();
                assert!((back - decay.covariance[row][column]).abs() < 1e-9 * scale);
            }
        }
    }

    #[test]
    fn runs_that_say_nothing_have_no_fit() {
        let of = |samples: &[(f64, f64)]| Run::new(&Trace::new(samples.to_vec()).expect("a trace"));
        assert!(fit(&[&of(&[(0.0, 20.0), (1.0, 19.0), (2.0, 18.0)])], 1).is_none(), "too few samples");
        let steady: Vec<(f64, f64)> = (0..20).map(|at| (f64::from(at), 20.0)).collect();
        assert!(fit(&[&of(&steady)], 1).is_none_or(|fit| fit.coefficients.iter().all(|it| it.is_finite())));
    }

    #[test]
    fn residuals_without_memory_widen_nothing() {
        let alternating: Vec<f64> = (0..100).map(|at| if at % 2 == 0 { 1.0 } else { -1.0 }).collect();
        assert_eq!(lasting(&[alternating]), 1.0);
        let gusts: Vec<f64> = (0..100).map(|at| if at / 10 % 2 == 0 { 1.0 } else { -1.0 }).collect();
        assert!(lasting(&[gusts]) > 5.0);
    }
}
