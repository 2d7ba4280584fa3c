//! A speed trace: speed against time in samples, straight lines between them.

/// At least two samples, in s and m/s; time rises, no speed is negative.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Trace {
    samples: Vec<(f64, f64)>,
}

/// What is wrong with a trace, and at which sample (from 0).
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct TraceFault {
    pub at: usize,
    pub what: &'static str,
}

/// A step longer than this many usual ones is a gap.
const GAP: f64 = 1.5;
/// A step is usual within this part of the middle one; this share of all steps must be for a trace to have a usual step.
const USUAL: f64 = 0.2;
const MOST: f64 = 0.8;

impl Trace {
    pub(crate) fn new(samples: Vec<(f64, f64)>) -> Result<Trace, TraceFault> {
        let fault = |at, what| Err(TraceFault { at, what });
        if samples.len() < 2 {
            return fault(samples.len(), "there are fewer than two samples");
        }
        for (at, (time, speed)) in samples.iter().enumerate() {
            if !(time.is_finite() && speed.is_finite()) {
                return fault(at, "a value is no number");
            }
            if *speed < 0.0 {
                return fault(at, "the speed is negative");
            }
            if at > 0 && *time < samples[at - 1].0 {
                return fault(at, "time goes back");
            }
            if at > 0 && *time == samples[at - 1].0 {
                return fault(at, "time stands still");
            }
        }
        Ok(Trace { samples })
    }

    pub(crate) fn samples(&self) -> &[(f64, f64)] {
        &self.samples
    }

    pub(crate) fn top_speed(&self) -> f64 {
        self.samples.iter().map(|(_, speed)| *speed).fold(0.0, f64::max)
    }

    /// Where samples are missing: from and to in s. None where the trace has no usual step, as break points have none.
    pub(crate) fn gaps(&self) -> Vec<(f64, f64)> {
        let pairs = || self.samples.windows(2).map(|pair| (pair[0].0, pair[1].0));
        let mut steps: Vec<f64> = pairs().map(|(from, to)| to - from).collect();
        steps.sort_by(f64::total_cmp);
        let middle = steps[steps.len() / 2];
        let usual = steps.iter().filter(|step| (*step - middle).abs() <= USUAL * middle).count();
        if (usual as f64) < MOST * steps.len() as f64 {
            return Vec::new();
        }
        pairs().filter(|(from, to)| to - from > GAP * middle).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::Trace;

    #[track_caller]
    fn refused(samples: &[(f64, f64)], at: usize, what: &str) {
        let fault = Trace::new(samples.to_vec()).expect_err("a bad trace");
        assert_eq!((fault.at, fault.what), (at, what));
    }

    #[test]
    fn bad_traces_are_refused_at_their_sample() {
        refused(&[(0.0, 1.0)], 1, "there are fewer than two samples");
        refused(&[(0.0, 1.0), (1.0, f64::NAN)], 1, "a value is no number");
        refused(&[(0.0, 1.0), (1.0, -1.0)], 1, "the speed is negative");
        refused(&[(0.0, 1.0), (2.0, 1.0), (1.0, 1.0)], 2, "time goes back");
        refused(&[(0.0, 1.0), (0.0, 1.0)], 1, "time stands still");
    }

    #[test]
    fn gaps_are_steps_longer_than_usual() {
        let every_second = (0..20).filter(|second| *second != 7).map(|second| (f64::from(second), 5.0));
        assert_eq!(Trace::new(every_second.collect()).expect("a trace").gaps(), [(6.0, 8.0)]);
        let break_points = [(0.0, 0.0), (11.0, 0.0), (15.0, 4.0), (23.0, 4.0), (25.0, 2.0)];
        assert_eq!(Trace::new(break_points.to_vec()).expect("a trace").gaps(), []);
    }
}
