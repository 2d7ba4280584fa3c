//! A speed trace: speed against time in samples, straight lines between them, and the height of the road where known.

/// At least two samples, in s and m/s; time rises, no speed is negative.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Trace {
    samples: Vec<(f64, f64)>,
    /// In m, one to each sample; empty on a level road.
    heights: Vec<f64>,
}

/// What is wrong with a trace, and at which sample (from 0).
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct TraceFault {
    pub at: usize,
    pub what: &'static str,
    /// What was probably meant.
    pub help: &'static str,
}

const ROWS: &str =
    "a speed trace has one row for each sample: a later time than before, and a speed of 0 or more";
const SORT: &str = "sort the rows; where two drives stand in one file, make them two cycles";
const ONCE: &str = "of rows at one place keep one";
const FORWARDS: &str = "a speed is that forwards: leave its sign out, or what was driven backwards";
const BETWEEN: &str = "give a row between them, with the speed that is driven there";
const SMOOTH: &str =
    "heights from a satellite receiver jump: smooth them, or keep one for every 100 m; or look at their unit";

/// A step longer than this many usual ones is a gap.
const GAP: f64 = 1.5;
/// A step is usual within this part of the middle one; this share of all steps must be for a trace to have a usual step.
const USUAL: f64 = 0.2;
const MOST: f64 = 0.8;
/// No public road is steeper, of the distance driven; common practice, no source.
const STEEPEST: f64 = 0.3;

impl Trace {
    pub(crate) fn new(samples: Vec<(f64, f64)>) -> Result<Trace, TraceFault> {
        let fault = |at, what, help| Err(TraceFault { at, what, help });
        if samples.len() < 2 {
            return fault(samples.len(), "there are fewer than two samples", ROWS);
        }
        for (at, (time, speed)) in samples.iter().enumerate() {
            if !(time.is_finite() && speed.is_finite()) {
                return fault(at, "a value is no number", ROWS);
            }
            if *speed < 0.0 {
                return fault(at, "the speed is negative", FORWARDS);
            }
            if at > 0 && *time < samples[at - 1].0 {
                return fault(at, "time goes back", SORT);
            }
            if at > 0 && *time == samples[at - 1].0 {
                return fault(at, "time stands still", ONCE);
            }
        }
        Ok(Trace { samples, heights: Vec::new() })
    }

    /// Over a distance in m: each stretch is driven at a constant acceleration.
    pub(crate) fn over_distance(points: &[(f64, f64)]) -> Result<Trace, TraceFault> {
        let fault = |at, what, help| Err(TraceFault { at, what, help });
        let mut samples = Vec::with_capacity(points.len());
        let mut time = 0.0;
        for (at, (distance, speed)) in points.iter().enumerate() {
            if at > 0 {
                let (before, speed_before) = points[at - 1];
                if *distance < before {
                    return fault(at, "the distance goes back", SORT);
                }
                if *distance == before {
                    return fault(at, "the distance stands still", ONCE);
                }
                if *speed == 0.0 && speed_before == 0.0 {
                    return fault(at, "the vehicle stands at both ends of a stretch that it drives", BETWEEN);
                }
                time += (distance - before) / ((speed + speed_before) / 2.0);
            }
            samples.push((time, *speed));
        }
        Trace::new(samples)
    }

    /// With the height of the road at each sample.
    pub(crate) fn with_heights(self, heights: Vec<f64>) -> Result<Trace, TraceFault> {
        let fault = |at, what, help| Err(TraceFault { at, what, help });
        for at in 0..heights.len() {
            if !heights[at].is_finite() {
                return fault(at, "a height is no number", ROWS);
            }
            if at == 0 {
                continue;
            }
            let (from, to) = (self.samples[at - 1], self.samples[at]);
            let driven = (to.0 - from.0) * (from.1 + to.1) / 2.0;
            let rise = (heights[at] - heights[at - 1]).abs();
            if driven == 0.0 && rise > 0.0 {
                return fault(at, "the height changes while the vehicle stands", SMOOTH);
            }
            if rise > STEEPEST * driven {
                return fault(at, "the height jumps: steeper than 30 %", SMOOTH);
            }
        }
        Ok(Trace { heights, ..self })
    }

    pub(crate) fn heights(&self) -> Option<&[f64]> {
        (!self.heights.is_empty()).then_some(&self.heights)
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
    fn heights_are_those_of_a_road() {
        let trace = || Trace::new(vec![(0.0, 0.0), (10.0, 20.0), (20.0, 0.0), (30.0, 0.0)]).expect("a trace");
        let heights = [0.0, 30.0, 0.0, 0.0];
        assert_eq!(trace().with_heights(heights.to_vec()).expect("heights").heights(), Some(&heights[..]));
        let refused = |heights: &[f64]| trace().with_heights(heights.to_vec()).expect_err("bad heights");
        assert_eq!(refused(&[0.0, 30.1, 30.1, 30.1]).what, "the height jumps: steeper than 30 %");
        assert_eq!(refused(&[0.0, 1.0, 1.0, 1.5]).what, "the height changes while the vehicle stands");
        assert_eq!(refused(&[0.0, f64::NAN, 1.0, 1.0]).at, 1);
    }

    #[test]
    fn a_stretch_of_road_is_driven_at_a_constant_acceleration() {
        let trace = Trace::over_distance(&[(0.0, 0.0), (100.0, 20.0), (300.0, 20.0)]).expect("a trace");
        assert_eq!(trace.samples(), [(0.0, 0.0), (10.0, 20.0), (20.0, 20.0)]);
        let refused = |points: &[(f64, f64)]| Trace::over_distance(points).expect_err("a bad trace").what;
        assert_eq!(refused(&[(0.0, 5.0), (50.0, 5.0), (40.0, 5.0)]), "the distance goes back");
        assert_eq!(refused(&[(0.0, 5.0), (0.0, 5.0)]), "the distance stands still");
        let standing = "the vehicle stands at both ends of a stretch that it drives";
        assert_eq!(refused(&[(0.0, 0.0), (50.0, 0.0)]), standing);
    }

    #[test]
    fn gaps_are_steps_longer_than_usual() {
        let every_second = (0..20).filter(|second| *second != 7).map(|second| (f64::from(second), 5.0));
        assert_eq!(Trace::new(every_second.collect()).expect("a trace").gaps(), [(6.0, 8.0)]);
        let break_points = [(0.0, 0.0), (11.0, 0.0), (15.0, 4.0), (23.0, 4.0), (25.0, 2.0)];
        assert_eq!(Trace::new(break_points.to_vec()).expect("a trace").gaps(), []);
    }
}
