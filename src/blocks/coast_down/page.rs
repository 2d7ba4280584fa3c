//! What a coast-down block says: outcome, checks of its fit, and the measured speeds beside the fitted ones.

use super::fit::wind_of;
use super::{CoastDown, Found, Measured};
use crate::blocks::shared::gravity::GRAVITY;
use crate::findings::codes;
use crate::model::{Axis, Chart, LinesChart, Page, Series, Slot};
use crate::quantities::si::Measure;
use crate::words::words;

/// Outside these it is no road vehicle's, as its page says.
const ROLLING: [f64; 2] = [0.005, 0.03];
/// In m².
const AREA: [f64; 2] = [0.2, 6.0];

impl CoastDown {
    pub(super) fn tell(&self, page: &mut Page<'_>) {
        let r = &self.results;
        if page.get(r.load.0).is_none() {
            return;
        }
        let rolling = page.get(r.rolling_coefficient).map(|_| page.value(r.rolling_coefficient));
        let area = page.get(r.drag_area).map(|_| page.value(r.drag_area));
        let rest = match (rolling, area) {
            (Some(rolling), Some(area)) => words!(": rolling coefficient {}, drag area {}.", rolling, area),
            (Some(rolling), None) => words!(": rolling coefficient {}.", rolling),
            (None, _) => words!("."),
        };
        let (f0, f1, f2) = (page.value(r.load.0), page.value(r.load.1), page.value(r.load.2));
        page.sentence(words!("Road load {} + {} × v + {} × v²", f0, f1, f2), rest);
        if let Some(found) = &self.found {
            self.check(found, page);
            self.notes(found, page);
            self.draw(found, page);
        }
    }

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
        page.note(words!(
            "Fitted to {} samples of {} run{}; measured and fitted speed differ by {} (root mean square).",
            samples,
            runs,
            if runs == 1 { "" } else { "s" },
            page.value(self.results.residual),
        ));
        if self.runs.iter().any(|run| run.slope.is_some()) {
            page.note("The heights in the files of runs are not used: a slope is what the mean of both directions takes out.");
        }
        page.note(match found.repeated {
            true => "The ± covers what the runs show from one to the next.",
            false => "No run was repeated: of what changes from one run to the next a little wind alone is in the ±. Let it roll three times each way.",
        });
        if let [Some(out), Some(back)] = found.directions
            && let Some(mass) = page.get(self.results.effective_mass)
        {
            let half = mass.value * (out[0] - back[0]) / 2.0;
            let weight = page.get(self.mass).map_or(f64::NAN, |mass| mass.si() * GRAVITY);
            page.note(words!(
                "The two directions differ by twice {} in their constant part, as on a slope of {}: slope and wind, which their mean takes out.",
                page.value_as(self.results.load.0, half.abs()),
                format!("{:.2} %", 100.0 * half.abs() / weight)
            ));
            let wind = wind_of(&out, &back);
            let seen = (out[1] - back[1]).abs() > 4.0 * found.uncertainty(1);
            let square = mass.value * found.decay.coefficients[2];
            if seen && square > 0.0 {
                page.note(words!(
                    "In their part with the speed they differ as by a wind of {} along the road. Their mean takes it out but for its own drag, {}, which is still in f0.",
                    page.value_as(self.results.residual, wind.abs()),
                    page.value_as(self.results.load.0, square * wind * wind)
                ));
            }
        }
        self.doubt(found, page);
        const APART: &str = "the runs don't tell rolling and air apart; let the vehicle roll from a higher speed to a lower one";
        if found.decay.coefficients[0] <= 0.0 {
            page.not_there(self.results.rolling_coefficient, APART);
        }
        if self.air_density.is_some() && found.decay.coefficients[2] <= 0.0 {
            page.not_there(self.results.drag_area, APART);
        }
        if found.decay.coefficients.iter().any(|it| *it < 0.0) {
            page.note("A coefficient comes out negative: only their sum at the speeds of the runs is known.");
        }
    }

    /// What no vehicle has: a unit of the runs, or the mass, is another one.
    fn doubt(&self, found: &Found, page: &mut Page<'_>) {
        let r = &self.results;
        let beyond = |value: f64, [low, high]: [f64; 2]| value > 0.0 && !(low..=high).contains(&value);
        let rolling = page.get(r.rolling_coefficient).is_some_and(|it| beyond(it.value, ROLLING));
        let area = page.get(r.drag_area).is_some_and(|it| beyond(it.si(), AREA));
        let [first, _, third] = found.decay.coefficients;
        if rolling || area {
            let message = match rolling {
                true => words!(
                    "a rolling coefficient of {}, where 0.005 to 0.03 is usual",
                    page.value(r.rolling_coefficient)
                ),
                false => words!("a drag area of {}, where 0.2 m² to 6 m² is usual", page.value(r.drag_area)),
            };
            let help = "look at the units of speeds and times, at the mass and at `rotating_share`";
            page.find(&codes::UNUSUAL_VALUE, r.decay.0.index(), message, help);
            for slot in [r.decay.0.index(), r.decay.1.index(), r.decay.2.index()] {
                page.question(Slot::<f64>::new(slot));
            }
        }
        if first <= 0.0 || third < 0.0 {
            const SUM: &str =
                "a coefficient of the fit is negative: only their sum at the speeds of the runs is known";
            page.unfit(r.load.0, SUM);
            page.unfit(r.load.1, SUM);
            page.unfit(r.load.2, SUM);
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
